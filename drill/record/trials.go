package record

import (
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Trials is what a sitting showed of each thing to know, as whoever judged it has packed it. It is never taken from a file: it is drawn
// from the log.
type Trials struct {
	Rules   int    // that it was judged by
	Version string // of the program that did
	Body    []byte // nil: it could not be judged
}

// Judging is how sittings are judged at present.
type Judging struct {
	Rules   int    // trials by others are drawn again
	Version string // of the program: what another one could not judge is tried again
	// Trials gives what a sitting showed, packed, or nil if it cannot be judged. An error ends what was asked for, and nothing is
	// concluded from it.
	Trials func(*Sitting) ([]byte, error)
}

// Counted is a sitting that counts for what its trainee knows.
type Counted struct {
	ID    int64
	UID   string
	Began time.Time // of one without a date: when the one before it did, or else the one after it
	Plan  string    // hash of the documents that it went by
	Seed  uint64
}

// Shown is what one sitting showed.
type Shown struct {
	Counted
	Procedure, Profile, Policy string
	Trials                     []byte // packed
}

// Counted gives the sittings of a trainee that count for what is known: those that have ended and can be judged, in the order in
// which they were sat. Those whose trials are missing, or were drawn by other rules, are judged
// first, and their trials kept. Sittings without a name are nobody's, and give none.
func (s *Store) Counted(trainee string, by Judging) ([]Counted, error) {
	list, lacking, err := s.counted(trainee, by)
	if err != nil || len(lacking) == 0 {
		return list, err
	}
	for len(lacking) > 0 {
		n := min(len(lacking), judgedAtOnce)
		if err := s.judge(lacking[:n], by); err != nil {
			return nil, err
		}
		lacking = lacking[n:]
	}
	list, _, err = s.counted(trainee, by)
	return list, err
}

// judgedAtOnce is how many sittings are judged between two commits: whoever stops the program loses no more than those.
const judgedAtOnce = 50

// counted gives the sittings that have trials, and the numbers of those that lack them. A sitting without documents cannot be judged,
// and is not tried: should they come, it is.
func (s *Store) counted(trainee string, by Judging) (list []Counted, lacking []int64, err error) {
	if trainee == "" {
		return nil, nil, nil
	}
	type found struct {
		Counted
		rules   int
		version string
		none    bool
	}
	all, err := collect(s, `SELECT s.id, s.uid, s.started_ns, s.plan, s.seed, coalesce(k.rules, 0), coalesce(k.version, ''), typeof(k.body) = 'null'
		FROM sitting s LEFT JOIN trials k ON k.sitting = s.id
		WHERE s.trainee = (SELECT id FROM trainee WHERE name = ?)
			AND (k.sitting IS NOT NULL OR EXISTS (SELECT 1 FROM result WHERE sitting = s.id) AND EXISTS (SELECT 1 FROM plan WHERE hash = s.plan))
		ORDER BY s.place, s.id`, []any{trainee}, func(rows *sql.Rows) (f found, err error) {
		var started, seed int64
		err = rows.Scan(&f.ID, &f.UID, &started, &f.Plan, &seed, &f.rules, &f.version, &f.none)
		f.Began, f.Seed = time.Unix(0, started), uint64(seed)
		return f, err
	})
	for i := range all {
		switch f := &all[i]; {
		case f.rules != by.Rules || f.none && f.version != by.Version:
			lacking = append(lacking, f.ID)
		case !f.none:
			list = append(list, f.Counted)
		}
	}
	date(list)
	return list, lacking, err
}

// date gives those without a date the one of a neighbour: when they were sat is not known, and between which others is.
func date(list []Counted) {
	dated := func(c Counted) bool { return !Undated(c.Began) }
	first := slices.IndexFunc(list, dated)
	for i := range list {
		switch {
		case dated(list[i]) || first < 0:
		case i < first:
			list[i].Began = list[first].Began
		default:
			list[i].Began = list[i-1].Began
		}
	}
}

// judge draws the trials of sittings and keeps them.
func (s *Store) judge(ids []int64, by Judging) error {
	drawn := make(map[int64]*Trials, len(ids))
	for _, id := range ids {
		found, err := s.Sittings(Filter{ID: id})
		if err != nil {
			return err
		}
		if len(found) == 0 {
			continue // forgotten meanwhile
		}
		body, err := by.Trials(&found[0])
		if err != nil {
			return err
		}
		drawn[id] = &Trials{Rules: by.Rules, Version: by.Version, Body: body}
	}
	return s.write(func(tx *sql.Tx) error {
		for _, id := range ids {
			if err := insertTrials(tx, id, drawn[id]); err != nil {
				return err
			}
		}
		return nil
	})
}

// insertTrials keeps the trials of a sitting, if there are any and it is still there.
func insertTrials(tx *sql.Tx, id int64, t *Trials) error {
	if t == nil {
		return nil
	}
	_, err := tx.Exec(`INSERT INTO trials (sitting, rules, version, body) SELECT id, ?2, ?3, ?4 FROM sitting WHERE id = ?1
		ON CONFLICT DO UPDATE SET rules = ?2, version = ?3, body = ?4`, id, t.Rules, t.Version, t.Body)
	return err
}

// Unread makes the trials of a sitting be drawn again: they could not be read.
func (s *Store) Unread(sitting int64) error {
	return s.write(func(tx *sql.Tx) error {
		_, err := tx.Exec("DELETE FROM trials WHERE sitting = ?", sitting)
		return err
	})
}

// shownAtOnce is how many sittings are read with one query.
const shownAtOnce = 500

// ErrGone is for a sitting that has been forgotten while it was being asked for.
var ErrGone = errors.New("a sitting has been deleted meanwhile; do it again")

// Shown gives what sittings showed, in their order.
func (s *Store) Shown(of []Counted) ([]Shown, error) {
	list := make([]Shown, 0, len(of))
	for len(of) > 0 {
		n := min(len(of), shownAtOnce)
		place, args := make(map[int64]int, n), make([]any, n)
		for i := range of[:n] {
			list = append(list, Shown{Counted: of[i]})
			place[of[i].ID], args[i] = len(list)-1, of[i].ID
		}
		found, err := collect(s, `SELECT s.id, s.procedure, s.profile, s.policy, k.body FROM sitting s JOIN trials k ON k.sitting = s.id
			WHERE k.body IS NOT NULL AND s.id IN (?`+strings.Repeat(", ?", n-1)+")", args, func(rows *sql.Rows) (c Shown, err error) {
			return c, rows.Scan(&c.ID, &c.Procedure, &c.Profile, &c.Policy, &c.Trials)
		})
		if err != nil {
			return nil, err
		}
		if len(found) != n {
			return nil, ErrGone
		}
		for i := range found {
			at := &list[place[found[i].ID]]
			found[i].Counted = at.Counted
			*at = found[i]
		}
		of = of[n:]
	}
	return list, nil
}

// Known gives what KeepKnown kept for a trainee; nil if there is nothing.
func (s *Store) Known(trainee string) ([]byte, error) {
	found, err := collect(s, "SELECT k.body FROM known k JOIN trainee t ON t.id = k.trainee WHERE t.name = ?", []any{trainee}, func(rows *sql.Rows) (body []byte, err error) {
		return body, rows.Scan(&body)
	})
	if err != nil || len(found) == 0 {
		return nil, err
	}
	return found[0], nil
}

// KeepKnown keeps what is known of everything that a trainee has met, in a form of the caller's, in place of what was kept before. Of a
// trainee who is not in the records nothing is kept.
func (s *Store) KeepKnown(trainee string, body []byte) error {
	return s.write(func(tx *sql.Tx) error {
		_, err := tx.Exec(`INSERT INTO known (trainee, body) SELECT id, ?2 FROM trainee WHERE name = ?1
			ON CONFLICT DO UPDATE SET body = ?2`, trainee, body)
		return err
	})
}

// LogError is for a log that cannot be read: it has a gap, or is in a form that is not known.
type LogError struct {
	Sitting int64
	Program string // the version that kept it
	Err     error
}

// Error says which log it is, and what is wrong with it.
func (e *LogError) Error() string {
	return fmt.Sprintf("the log of sitting %d, kept by version %s of the program: %v", e.Sitting, e.Program, e.Err)
}

// Unwrap gives what is wrong.
func (e *LogError) Unwrap() error { return e.Err }
