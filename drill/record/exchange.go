package record

import (
	"bytes"
	"database/sql"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"hornlark/drill/inert"
	"hornlark/drill/logbook"
)

// Schema is the JSON Schema, of draft 2020-12, of what Export writes and Import reads.
//
//go:embed records.schema.json
var Schema []byte

// What an exported file says of itself. A file of version 1 has a mode in place of the policy, by the same names, and logs
// of version 1 without saying so.
const (
	format        = "hornlark-records"
	formatVersion = 2
)

// The bounds of an exported file. Those of a sitting are far above what three hours of one can hold.
const (
	maxImport  = 4 << 30 // bytes
	maxEntries = 1_000_000
	maxText    = 4000 // characters
)

// copied is a sitting with everything that is kept about it, as it goes from one desk to another.
type copied struct {
	UID        string            `json:"uid"`
	Trainee    string            `json:"trainee"`
	Scenario   string            `json:"scenario"`
	Procedure  string            `json:"procedure"`
	Profile    string            `json:"profile"`
	Policy     string            `json:"policy"`
	Mode       string            `json:"mode,omitempty"` // only in a file of version 1, in place of the policy
	Seed       string            `json:"seed"`           // in digits: many readers of JSON have no whole numbers of 64 bits
	Started    time.Time         `json:"started"`
	Version    string            `json:"version"`
	LogVersion int               `json:"log_version"` // of the inputs and the log, which are as they were written
	Plan       string            `json:"plan"`
	Layout     string            `json:"layout"`
	Lead       time.Duration     `json:"lead_ns"`
	Buffer     time.Duration     `json:"buffer_ns"`
	Latency    time.Duration     `json:"latency_ns"`
	Heard      bool              `json:"heard,omitempty"`
	Moved      time.Duration     `json:"moved_ns,omitempty"`
	State      State             `json:"state"`
	Ended      *time.Time        `json:"ended"`
	Result     json.RawMessage   `json:"result"`
	Inputs     []copiedInput     `json:"inputs"`
	Log        []json.RawMessage `json:"log"`

	events []event         // of Log, once it has been checked
	read   []logbook.Entry // of Log, in the words of today
	digest *Digest         // of Result, once it has been checked
}

type copiedInput struct {
	At    time.Duration   `json:"at_ns"`
	Event json.RawMessage `json:"event"`
}

// Export writes the sittings that the filter chooses, the oldest first, with the documents that they went by: all that
// the store knows of them, a sitting to a line. It takes one after the other out of the store and holds no more than that one; far,
// if it is not nil, is told after each how many there have been, and of how many. One that is deleted meanwhile is left out. So is
// one that goes on, since it would be another once it has ended, and one that cannot be read; the error is a *LeftOut then, and the
// file whole all the same. caution goes over all of it, unless it is empty; an import takes any, or none.
func (s *Store) Export(out io.Writer, f Filter, caution string, far func(done, total int)) (n int, err error) {
	ids, err := s.IDs(f)
	if err != nil {
		return 0, err
	}
	w := exporter{out: out}
	w.print("{\n\"format\": %q, \"version\": %d,\n", format, formatVersion)
	if caution != "" {
		w.print("\"caution\": %s,\n", toJSON(caution))
	}
	w.print("\"plans\": {")
	if err := s.exportPlans(&w, f); err != nil {
		return 0, err
	}
	w.print("\n},\n\"sittings\": [")
	comma := ""
	left := &LeftOut{}
	going := s.goingOn()
	for i, id := range ids {
		found, err := s.Sittings(Filter{ID: id})
		if err != nil {
			return 0, err
		}
		if len(found) == 0 {
			continue
		}
		if going[found[0].UID] {
			left.Sittings = append(left.Sittings, fmt.Errorf("sitting %d goes on; export it when it has ended", id))
			continue
		}
		c, err := s.copy(&found[0])
		if err != nil {
			left.Sittings = append(left.Sittings, err)
			continue
		}
		w.print("%s\n%s", comma, toJSON(c))
		if w.err != nil {
			return n, w.err
		}
		comma = ","
		n++
		if far != nil {
			far(i+1, len(ids))
		}
	}
	w.print("\n]\n}\n")
	if w.err == nil && len(left.Sittings) > 0 {
		return n, left
	}
	return n, w.err
}

// LeftOut is the error for an export that does not have all that was asked for, and says why for each sitting.
type LeftOut struct{ Sittings []error }

// Error gives the reasons, a line each.
func (l *LeftOut) Error() string { return errors.Join(l.Sittings...).Error() }

// exportPlans writes the documents that the sittings went by.
func (s *Store) exportPlans(w *exporter, f Filter) error {
	plans, err := s.plans(f)
	if err != nil {
		return err
	}
	comma := ""
	for _, plan := range plans {
		body, err := s.Documents(plan)
		if err != nil {
			return err
		}
		if body != nil {
			w.print("%s\n%q: %s", comma, plan, body)
			comma = ","
		}
	}
	return w.err
}

type exporter struct {
	out io.Writer
	err error
}

func (w *exporter) print(format string, args ...any) {
	if w.err == nil {
		_, w.err = fmt.Fprintf(w.out, format, args...)
	}
}

func toJSON(v any) []byte {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		panic(err) // it was read from JSON
	}
	return bytes.TrimSpace(b.Bytes())
}

func (s *Store) copy(of *Sitting) (c *copied, err error) {
	if _, err := s.Log(of.ID); err != nil { // what cannot be read here would be refused there
		return nil, err
	}
	err = s.using(func(db *sql.DB) (err error) {
		c, err = copyOf(db, of)
		return err
	})
	return c, err
}

func copyOf(from queries, of *Sitting) (*copied, error) {
	bodies, err := bodiesOf(from, of.ID)
	if err != nil {
		return nil, err
	}
	inputs, err := inputsOf(from, of.ID)
	if err != nil {
		return nil, err
	}
	c := &copied{
		UID: of.UID, Trainee: of.Trainee, Scenario: of.Scenario, Procedure: of.Procedure, Profile: of.Profile, Policy: of.Policy,
		Seed: strconv.FormatUint(of.Seed, 10), Started: of.Started.UTC(), Version: of.Version, Plan: of.Plan, Layout: of.Layout,
		Lead: of.Lead, Buffer: of.Buffer, Latency: of.Latency, Heard: of.Heard, Moved: of.Moved, LogVersion: of.LogVersion,
		State: of.State, Result: of.Result, Inputs: []copiedInput{}, Log: []json.RawMessage{},
	}
	for _, body := range bodies {
		c.Log = append(c.Log, body)
	}
	if of.State != Unended {
		ended := of.Ended.UTC()
		c.Ended = &ended
	}
	for _, in := range inputs {
		c.Inputs = append(c.Inputs, copiedInput{in.At, in.Body})
	}
	return c, nil
}

// compact is a JSON value, which has been read as one, without blanks.
func compact(body json.RawMessage) json.RawMessage {
	var b bytes.Buffer
	json.Compact(&b, body)
	return b.Bytes()
}

// shown says what is wrong with a text that a terminal is to show: nothing in it may move the cursor about, or the letters
// of the line (Unicode Standard Annex 9 has the characters that turn their direction; they are all of the class of formats). Of
// that class, what joins letters or keeps them apart is a part of names in several scripts.
func shown(text string) error {
	hidden := func(r rune) bool { return inert.Acts(r) || r == utf8.RuneError }
	switch {
	case utf8.RuneCountInString(text) > maxText:
		return fmt.Errorf("a text is longer than %d characters", maxText)
	case strings.ContainsFunc(text, hidden):
		return fmt.Errorf("the text %.60q has characters in it that cannot be shown", text)
	}
	return nil
}
