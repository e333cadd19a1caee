package record

import (
	"bytes"
	"database/sql"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

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
	State      State             `json:"state"`
	Ended      *time.Time        `json:"ended"`
	Result     json.RawMessage   `json:"result"`
	Inputs     []copiedInput     `json:"inputs"`
	Log        []json.RawMessage `json:"log"`

	events []event // of Log, once it has been checked
	digest *Digest // of Result, once it has been checked
}

type copiedInput struct {
	At    time.Duration   `json:"at_ns"`
	Event json.RawMessage `json:"event"`
}

// Export writes the sittings that the filter chooses, the oldest first, with the documents that they went by: all that
// the store knows of them, a sitting to a line.
func (s *Store) Export(out io.Writer, f Filter) (n int, err error) {
	sittings, err := s.Sittings(f)
	if err != nil {
		return 0, err
	}
	slices.Reverse(sittings)
	w := exporter{out: out}
	w.print("{\n\"format\": %q, \"version\": %d,\n\"plans\": {", format, formatVersion)
	comma := ""
	for _, plan := range plansOf(sittings) {
		body, err := s.Documents(plan)
		if err != nil {
			return 0, err
		}
		if body != nil {
			w.print("%s\n%q: %s", comma, plan, body)
			comma = ","
		}
	}
	w.print("\n},\n\"sittings\": [")
	comma = ""
	for i := range sittings {
		c, err := s.copy(&sittings[i])
		if err != nil {
			return 0, err
		}
		w.print("%s\n%s", comma, toJSON(c))
		comma = ","
	}
	w.print("\n]\n}\n")
	return len(sittings), w.err
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

func plansOf(sittings []Sitting) []string {
	var plans []string
	for i := range sittings {
		plans = append(plans, sittings[i].Plan)
	}
	slices.Sort(plans)
	return slices.Compact(plans)
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

func (s *Store) copy(of *Sitting) (*copied, error) {
	if _, err := s.Log(of.ID); err != nil { // what cannot be read here would be refused there
		return nil, err
	}
	bodies, err := s.bodies(of.ID)
	if err != nil {
		return nil, err
	}
	inputs, err := s.Inputs(of.ID)
	if err != nil {
		return nil, err
	}
	c := &copied{
		UID: of.UID, Trainee: of.Trainee, Scenario: of.Scenario, Procedure: of.Procedure, Profile: of.Profile, Policy: of.Policy,
		Seed: strconv.FormatUint(of.Seed, 10), Started: of.Started.UTC(), Version: of.Version, Plan: of.Plan, Layout: of.Layout,
		Lead: of.Lead, Buffer: of.Buffer, Latency: of.Latency, Heard: of.Heard, LogVersion: of.LogVersion,
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

// Checks are what this package cannot know of what it imports. Each says what is wrong with a JSON value, or nil.
type Checks struct {
	Documents func(json.RawMessage) error
	Input     func(version int, event json.RawMessage) error // of the log that it belongs to
	Digest    func(result json.RawMessage) (Digest, error)   // of a result by the rules of today or by earlier ones
}

// Imported is what an import came to.
type Imported struct {
	New   int // sittings that were not here before
	Known int // sittings that were; what was missing of them has been added
}

// ImportError is what is wrong with a file that was to be imported, and where. Nothing of it has been taken in.
type ImportError struct {
	Offset int64  // bytes from the beginning of the file, at most as far as the value that is wrong
	Path   string // as in sittings[2].log[7]; empty for the file as a whole
	Err    error
}

// Error gives the path and what is wrong.
func (e *ImportError) Error() string {
	if e.Path == "" {
		return e.Err.Error()
	}
	return e.Path + ": " + e.Err.Error()
}

// Unwrap gives what is wrong.
func (e *ImportError) Unwrap() error { return e.Err }

// Import takes in what Export wrote at this or another desk. What is here already is not touched, so that the same file
// may be imported twice; trainees of the same name are one. The error is an *ImportError if the file is at fault.
func (s *Store) Import(in io.Reader, checks Checks) (Imported, error) {
	im := importer{checks: checks, dec: json.NewDecoder(io.LimitReader(in, maxImport))}
	im.dec.DisallowUnknownFields()
	err := s.write(func(tx *sql.Tx) error {
		im.tx = tx
		return im.file()
	})
	return im.imported, err
}

// importer reads a file in one go. Whatever it finds wrong ends the transaction, and nothing has happened.
type importer struct {
	version  int // of the file
	checks   Checks
	dec      *json.Decoder
	tx       *sql.Tx
	imported Imported
}

func (im *importer) wrong(path, format string, args ...any) error {
	return &ImportError{Offset: im.dec.InputOffset(), Path: path, Err: fmt.Errorf(format, args...)}
}

// delim takes one bracket or brace.
func (im *importer) delim(path string, want json.Delim) error {
	token, err := im.dec.Token()
	if err != nil {
		return im.wrong(path, "%w", plainSyntax(err))
	}
	if token != want {
		return im.wrong(path, "%q is wanted here, not %v; export the records again", want.String(), token)
	}
	return nil
}

func plainSyntax(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return errors.New("the file ends too early; copy it again")
	}
	return err
}

func (im *importer) value(path string, v any) error {
	offset := im.dec.InputOffset()
	if err := im.dec.Decode(v); err != nil {
		return &ImportError{Offset: offset, Path: path, Err: plainSyntax(err)}
	}
	return nil
}

// members takes the members of an object, each by its name.
func (im *importer) members(path string, take func(name string) error) error {
	if err := im.delim(path, '{'); err != nil {
		return err
	}
	for im.dec.More() {
		token, err := im.dec.Token()
		if err != nil {
			return im.wrong(path, "%w", plainSyntax(err))
		}
		name, _ := token.(string)
		if err := take(name); err != nil {
			return err
		}
	}
	return im.delim(path, '}')
}

func (im *importer) file() error {
	var of string
	var sittings bool
	err := im.members("", func(name string) error {
		if name != "format" && of != format {
			return im.wrong("", `this is not an export of records: it does not begin with "format": %q`, format)
		}
		switch name {
		case "format":
			return im.value(name, &of)
		case "version":
			if err := im.value(name, &im.version); err != nil || im.version >= 1 && im.version <= formatVersion {
				return err
			}
			return im.wrong(name, "the file is of version %d, and this program reads versions 1 to %d; use the program that wrote it, or a newer one", im.version, formatVersion)
		case "plans":
			return im.members(name, im.plan)
		case "sittings":
			if im.version == 0 {
				return im.wrong(name, "the version has to stand before them; export the records again")
			}
			sittings = true
			return im.sittings()
		}
		return im.wrong(name, "there is nothing of that name in such a file")
	})
	switch {
	case err != nil:
		return err
	case im.version == 0 || !sittings:
		return im.wrong("", "the version or the sittings are missing; export the records again")
	}
	if _, err := im.dec.Token(); !errors.Is(err, io.EOF) {
		return im.wrong("", "something follows the end of the records")
	}
	return nil
}

func (im *importer) plan(hash string) error {
	path := "plans." + hash
	var body json.RawMessage
	if err := im.value(path, &body); err != nil {
		return err
	}
	body = compact(body) // it has been read, so that it is JSON
	if HashOf(body) != hash {
		return im.wrong(path, "the documents are not those that the name stands for; they have been changed")
	}
	if err := im.checks.Documents(body); err != nil {
		return im.wrong(path, "%w", err)
	}
	_, err := im.tx.Exec("INSERT INTO plan (hash, body) VALUES (?, ?) ON CONFLICT DO NOTHING", hash, string(body))
	return err
}

func (im *importer) sittings() error {
	if err := im.delim("sittings", '['); err != nil {
		return err
	}
	for i := 0; im.dec.More(); i++ {
		path := fmt.Sprintf("sittings[%d]", i)
		offset := im.dec.InputOffset()
		var c copied
		if err := im.value(path, &c); err != nil {
			return err
		}
		where, err := c.update(im.version)
		if err == nil {
			where, err = c.check(im.checks)
		}
		if err != nil {
			return &ImportError{Offset: offset, Path: path + where, Err: err}
		}
		if err := im.insert(path, &c); err != nil {
			return err
		}
	}
	return im.delim("sittings", ']')
}

func (im *importer) insert(path string, c *copied) error {
	var version int
	switch err := im.tx.QueryRow("SELECT log_version FROM sitting WHERE uid = ?", c.UID).Scan(&version); {
	case errors.Is(err, sql.ErrNoRows):
		im.imported.New++
	case err != nil:
		return err
	case version != c.LogVersion:
		return im.wrong(path+".log_version", "the records have this sitting with a log of version %d, not %d; one of them has been changed", version, c.LogVersion)
	default:
		im.imported.Known++
	}
	seed, err := strconv.ParseUint(c.Seed, 10, 64)
	if err != nil {
		return err
	}
	id, err := insertSitting(im.tx, c.UID, &Sitting{
		Trainee: c.Trainee, Scenario: c.Scenario, Procedure: c.Procedure, Profile: c.Profile, Policy: c.Policy, Seed: seed,
		Started: c.Started, Version: c.Version, Plan: c.Plan, Layout: c.Layout, Lead: c.Lead, Buffer: c.Buffer, Latency: c.Latency, Heard: c.Heard,
		LogVersion: c.LogVersion,
	})
	if err != nil {
		return err
	}
	inputs := make([]numbered, len(c.Inputs))
	for i, in := range c.Inputs {
		inputs[i] = numbered{i + 1, Input{in.At, in.Event}}
	}
	err = errors.Join(insertEvents(im.tx, id, c.events), insertInputs(im.tx, id, inputs))
	if err == nil && c.State != Unended {
		err = insertResult(im.tx, id, &result{Ended: *c.Ended, Complete: c.State == Complete, Body: c.Result, Digest: c.digest})
	}
	if errors.Is(err, errContradicts) {
		return im.wrong(path, "%w", err)
	}
	return err
}

var (
	uidForm  = regexp.MustCompile(`^[A-Za-z0-9-]{8,64}$`)
	hashForm = regexp.MustCompile(`^[0-9a-f]{32}$`)
)

// The instants that the store can hold.
var (
	earliest = time.Unix(0, 0)
	latest   = time.Unix(0, 1<<63-1)
)

// update puts a sitting out of a file of an earlier version into the words of today.
func (c *copied) update(version int) (where string, err error) {
	if version > 1 {
		if c.Mode != "" {
			return ".mode", errors.New("it is called the policy in a file of this version")
		}
		return "", nil
	}
	if c.Policy != "" || c.LogVersion != 0 {
		return ".policy", errors.New("a file of version 1 has a mode in its place, and no versions of logs")
	}
	if c.Mode == "" {
		return ".mode", errors.New("it is missing")
	}
	c.Policy, c.Mode, c.LogVersion = c.Mode, "", 1
	return "", nil
}

// check says what is wrong with a sitting, and where in it.
func (c *copied) check(checks Checks) (where string, err error) {
	if err := CheckTrainee(c.Trainee); err != nil {
		return ".trainee", err
	}
	for _, text := range []struct {
		name, value string
		wanted      bool
	}{
		{"scenario", c.Scenario, true}, {"procedure", c.Procedure, true},
		{"profile", c.Profile, true}, {"policy", c.Policy, true}, {"version", c.Version, false}, {"layout", c.Layout, false},
	} {
		if text.wanted && text.value == "" {
			return "." + text.name, errors.New("it is missing")
		}
		if err := shown(text.value); err != nil {
			return "." + text.name, err
		}
	}
	if err := logbook.Known(c.LogVersion); err != nil {
		return ".log_version", err
	}
	_, seedErr := strconv.ParseUint(c.Seed, 10, 64)
	ended := c.State == Complete || c.State == Stopped
	switch {
	case !uidForm.MatchString(c.UID):
		return ".uid", fmt.Errorf("%q is not the uid of a sitting", c.UID)
	case !hashForm.MatchString(c.Plan):
		return ".plan", fmt.Errorf("%q is not the name of documents", c.Plan)
	case seedErr != nil:
		return ".seed", fmt.Errorf("%q is not a seed", c.Seed)
	case !c.Started.After(earliest) || !c.Started.Before(latest):
		return ".started", fmt.Errorf("%v is no time at which a sitting began", c.Started)
	case c.Lead < 0 || c.Buffer < 0 || c.Latency < 0:
		return "", errors.New("a length of time is negative")
	case !ended && c.State != Unended:
		return ".state", fmt.Errorf("%q is not a state; it is complete, stopped or unended", c.State)
	case ended && (c.Ended == nil || !c.Ended.After(earliest) || !c.Ended.Before(latest)):
		return ".ended", errors.New("a sitting that has ended did so at a time")
	case !ended && (c.Ended != nil || !none(c.Result)):
		return ".result", errors.New("a sitting that has not ended has no result")
	case len(c.Log) > maxEntries || len(c.Inputs) > maxEntries:
		return ".log", fmt.Errorf("no sitting has more than %d entries", maxEntries)
	}
	if ended {
		digest, err := checks.Digest(c.Result)
		if err != nil {
			return ".result", err
		}
		c.digest = digest.finite()
	}
	return c.checkLists(checks)
}

func none(body json.RawMessage) bool { return len(body) == 0 || string(body) == "null" }

func (c *copied) checkLists(checks Checks) (where string, err error) {
	var before time.Duration
	for i, in := range c.Inputs {
		where := fmt.Sprintf(".inputs[%d]", i)
		if in.At < before {
			return where, errors.New("it is earlier than the one before it")
		}
		if err := checks.Input(c.LogVersion, in.Event); err != nil {
			return where, err
		}
		before = in.At
	}
	return c.checkLog()
}

// checkLog takes the entries of the log, each as it was written.
func (c *copied) checkLog() (where string, err error) {
	var before time.Duration
	for i, body := range c.Log {
		where := fmt.Sprintf(".log[%d]", i)
		e, err := eventIn(compact(body))
		if err != nil {
			return where, err
		}
		_, err = logbook.Convert(c.LogVersion, body)
		switch {
		case err != nil && !errors.Is(err, logbook.ErrLeftOut):
			return where, err
		case e.Seq != i+1:
			return where, fmt.Errorf("its seq is %d; %d is wanted, since a log has no gaps", e.Seq, i+1)
		case e.At < before:
			return where, errors.New("it is earlier than the one before it")
		}
		for _, member := range membersOf(body) {
			if err := shown(stringOf(member)); err != nil {
				return where, err
			}
		}
		before = e.At
		c.events = append(c.events, e)
	}
	return "", nil
}

// compact is a JSON value without blanks.
func compact(body json.RawMessage) json.RawMessage {
	var b bytes.Buffer
	if err := json.Compact(&b, body); err != nil {
		return body
	}
	return b.Bytes()
}

// shown says what is wrong with a text that a terminal is to show: it must not be able to move the cursor about.
func shown(text string) error {
	switch {
	case utf8.RuneCountInString(text) > maxText:
		return fmt.Errorf("a text is longer than %d characters", maxText)
	case strings.ContainsFunc(text, func(r rune) bool { return unicode.IsControl(r) || r == utf8.RuneError }):
		return fmt.Errorf("the text %.60q has characters in it that cannot be shown", text)
	}
	return nil
}
