package record

import (
	"cmp"
	"database/sql"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"hornlark/drill/logbook"
)

// Filter chooses among the sittings. A field that is empty does not choose.
type Filter struct {
	ID       int64
	Trainee  string
	Scenario string
	State    State
	Since    time.Time
	Limit    int // the newest so many
}

// stateOf tells a sitting's state by its result.
const stateOf = "CASE r.complete WHEN 1 THEN 'complete' WHEN 0 THEN 'stopped' ELSE 'unended' END"

const sittingQuery = `SELECT s.id, s.uid, coalesce(t.name, ''), s.scenario, s.procedure, s.profile, s.policy, s.seed, s.started_ns, s.version,
	s.plan, s.layout, s.lead_ns, s.buffer_ns, s.latency_ns, s.heard, s.moved_ns, s.log_version, ` + stateOf + `, r.ended_ns, r.body
	FROM sitting s LEFT JOIN trainee t ON t.id = s.trainee LEFT JOIN result r ON r.sitting = s.id`

// Sittings gives the sittings that the filter chooses, the newest first.
func (s *Store) Sittings(f Filter) ([]Sitting, error) {
	where, args := f.where()
	query := sittingQuery + where + " ORDER BY s.place DESC, s.id DESC"
	if f.Limit > 0 {
		query += fmt.Sprintf(" LIMIT %d", f.Limit)
	}
	return collect(s, query, args, scanSitting)
}

// fromSittings is where a filter looks.
const fromSittings = " FROM sitting s LEFT JOIN trainee t ON t.id = s.trainee LEFT JOIN result r ON r.sitting = s.id"

// IDs gives the numbers of the sittings that the filter chooses, the oldest first. Many sittings are to be taken out one by one.
func (s *Store) IDs(f Filter) ([]int64, error) {
	where, args := f.where()
	return collect(s, "SELECT s.id"+fromSittings+where+" ORDER BY s.place, s.id", args, func(rows *sql.Rows) (id int64, err error) {
		return id, rows.Scan(&id)
	})
}

// plans gives the names of the documents that the sittings went by which the filter chooses, in order.
func (s *Store) plans(f Filter) ([]string, error) {
	where, args := f.where()
	return collect(s, "SELECT DISTINCT s.plan"+fromSittings+where+" ORDER BY s.plan", args, func(rows *sql.Rows) (plan string, err error) {
		return plan, rows.Scan(&plan)
	})
}

func (f Filter) where() (where string, args []any) {
	var terms []string
	term := func(given bool, condition string, arg any) {
		if given {
			terms, args = append(terms, condition), append(args, arg)
		}
	}
	term(f.ID != 0, "s.id = ?", f.ID)
	term(f.Trainee != "", "t.name = ?", f.Trainee)
	term(f.Scenario != "", "s.scenario = ?", f.Scenario)
	term(f.State != "", stateOf+" = ?", string(f.State))
	term(!f.Since.IsZero(), "s.started_ns >= ?", f.Since.UnixNano())
	if len(terms) == 0 {
		return "", nil
	}
	return " WHERE " + strings.Join(terms, " AND "), args
}

func scanSitting(rows *sql.Rows) (Sitting, error) {
	var s Sitting
	var seed, started int64
	var ended sql.NullInt64
	var body sql.NullString
	err := rows.Scan(&s.ID, &s.UID, &s.Trainee, &s.Scenario, &s.Procedure, &s.Profile, &s.Policy, &seed, &started, &s.Version,
		&s.Plan, &s.Layout, &s.Lead, &s.Buffer, &s.Latency, &s.Heard, &s.Moved, &s.LogVersion, &s.State, &ended, &body)
	s.Seed, s.Started = uint64(seed), time.Unix(0, started)
	if ended.Valid {
		s.Ended, s.Result = time.Unix(0, ended.Int64), json.RawMessage(body.String)
	}
	return s, err
}

// Log gives the log of a sitting, in order and in the words of today: one that an earlier version wrote is converted, see
// logbook.ConvertLog. A log with a gap in it is an error, and so is one of a version that is not known: a score must not be
// computed from it.
func (s *Store) Log(sitting int64) ([]logbook.Entry, error) {
	log, err := s.log(sitting)
	if (err != nil || s.lacksEnd(sitting, log)) && s.wasDamaged() {
		log, err = s.log(sitting)
	}
	return log, err
}

// lacksEnd reports whether a sitting has ended of whose end its log does not know. None is written so.
func (s *Store) lacksEnd(sitting int64, log []logbook.Entry) bool {
	if slices.ContainsFunc(log, func(e logbook.Entry) bool { return e.Kind == logbook.End }) {
		return false
	}
	ended, err := collect(s, "SELECT 1 FROM result WHERE sitting = ?", []any{sitting}, func(rows *sql.Rows) (n int, err error) {
		return n, rows.Scan(&n)
	})
	return err == nil && len(ended) > 0
}

func (s *Store) log(sitting int64) ([]logbook.Entry, error) {
	kept, err := s.keeping(sitting)
	if err != nil {
		return nil, err
	}
	bodies, err := s.bodies(sitting)
	if err != nil {
		return nil, err
	}
	log, err := logbook.ConvertLog(kept.logVersion, bodies)
	if err != nil {
		return nil, &LogError{sitting, cmp.Or(kept.program, "?"), err}
	}
	if len(log) > 0 && log[0].Kind == logbook.Begin {
		log[0].Seed = kept.seed // of which the log has not always had the whole
	}
	return log, nil
}

// keeping is how a sitting was kept.
type keeping struct {
	logVersion int
	program    string // its version
	seed       uint64
}

// keeping says how a sitting was kept; of one that is not there, as one would be now.
func (s *Store) keeping(sitting int64) (keeping, error) {
	found, err := collect(s, "SELECT log_version, version, seed FROM sitting WHERE id = ?", []any{sitting}, func(rows *sql.Rows) (keeping, error) {
		var k keeping
		var seed int64
		err := rows.Scan(&k.logVersion, &k.program, &seed)
		k.seed = uint64(seed)
		return k, err
	})
	if err != nil || len(found) == 0 {
		return keeping{logVersion: logbook.Version}, err
	}
	return found[0], nil
}

// bodies gives the entries of a log as they were written.
func (s *Store) bodies(sitting int64) (bodies [][]byte, err error) {
	err = s.using(func(db *sql.DB) (err error) {
		bodies, err = bodiesOf(db, sitting)
		return err
	})
	return bodies, err
}

func bodiesOf(from queries, sitting int64) ([][]byte, error) {
	return gather(from, "SELECT body FROM event WHERE sitting = ? ORDER BY seq", []any{sitting}, func(rows *sql.Rows) ([]byte, error) {
		var body []byte
		err := rows.Scan(&body)
		return body, err
	})
}

// Inputs gives the inputs of a sitting, in order, in the words of the version that LogVersion names.
func (s *Store) Inputs(sitting int64) (inputs []Input, err error) {
	err = s.using(func(db *sql.DB) (err error) {
		inputs, err = inputsOf(db, sitting)
		return err
	})
	return inputs, err
}

func inputsOf(from queries, sitting int64) ([]Input, error) {
	return gather(from, "SELECT at_ns, body FROM input WHERE sitting = ? ORDER BY seq", []any{sitting}, func(rows *sql.Rows) (Input, error) {
		var in Input
		var body string
		err := rows.Scan(&in.At, &body)
		in.Body = json.RawMessage(body)
		return in, err
	})
}

// Documents gives what a sitting went by, by its Plan; nil if there are none: it was kept without them, or they were damaged.
func (s *Store) Documents(plan string) (json.RawMessage, error) {
	documents, err := s.documents(plan)
	if err == nil && documents != nil && HashOf(documents) != plan && s.wasDamaged() {
		return s.documents(plan)
	}
	return documents, err
}

func (s *Store) documents(plan string) (json.RawMessage, error) {
	found, err := collect(s, "SELECT body FROM plan WHERE hash = ?", []any{plan}, func(rows *sql.Rows) (json.RawMessage, error) {
		var body string
		err := rows.Scan(&body)
		return json.RawMessage(body), err
	})
	if err != nil || len(found) == 0 {
		return nil, err
	}
	return found[0], nil
}

// collect gives what scan makes of every row.
func collect[T any](s *Store, query string, args []any, scan func(*sql.Rows) (T, error)) (out []T, err error) {
	err = s.using(func(db *sql.DB) (err error) {
		out, err = gather(db, query, args, scan)
		return err
	})
	return out, err
}

// queries is a database, or a transaction in it.
type queries interface {
	Query(query string, args ...any) (*sql.Rows, error)
}

func gather[T any](from queries, query string, args []any, scan func(*sql.Rows) (T, error)) (out []T, err error) {
	rows, err := from.Query(query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		v, err := scan(rows)
		if err != nil {
			return nil, fmt.Errorf("%w: %w", errOdd, err)
		}
		out = append(out, v)
	}
	return out, rows.Err()
}
