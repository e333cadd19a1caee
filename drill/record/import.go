package record

import (
	"bytes"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"time"

	"hornlark/drill/logbook"
)

// Checks are what this package cannot know of what it imports. Each says what is wrong with a JSON value, or nil.
type Checks struct {
	Documents func(json.RawMessage) error
	Input     func(version int, event json.RawMessage) error // of the log that it belongs to
	Digest    func(result json.RawMessage) (Digest, error)   // of a result by the rules of today or by earlier ones
	Sitting   func(*Claim) error                             // whether all of it is what the documents, the log and the rules come to; nil: it is not looked at
}

// Claim is a sitting that is to be imported, as its file has it.
type Claim struct {
	Sitting                 // with its documents
	Log     []logbook.Entry // in the words of today
}

// Imported is what an import came to.
type Imported struct {
	New     int            // sittings that were not here before
	Known   int            // sittings that were, and are the same
	Refused []*ImportError // for each sitting that has not been taken in, the first thing that is wrong with it
}

// ImportError is what is wrong with a file that was to be imported, or with one sitting in it, and where. Nothing of that has
// been taken in.
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

// Import takes in what Export wrote at this or another desk, each sitting whole or not at all. A sitting is known by its content, its
// log, plan, trainee and start, and by its uid. One that is here already and the same is skipped, so that the same file may be
// imported twice; one that is here and different is refused, and so is one that no program could have written. What is
// here is never touched. Trainees of the same name are one. The error is an *ImportError if the file as a whole is at fault; then
// nothing of it is taken in.
func (s *Store) Import(in io.Reader, checks Checks) (Imported, error) {
	im := importer{checks: checks, plans: map[string]json.RawMessage{}, stored: map[string]bool{}, dec: json.NewDecoder(io.LimitReader(in, maxImport))}
	im.dec.DisallowUnknownFields()
	err := s.write(func(tx *sql.Tx) error {
		if im.tx != nil {
			return errors.New("the records were damaged, and have been put right; import the file again")
		}
		im.tx = tx
		return im.file()
	})
	if err != nil {
		return Imported{}, err
	}
	return im.imported, nil
}

// maxPlans bounds the documents of a file, in bytes. A course has some dozens, of a tenth of a megabyte each.
const maxPlans = 256 << 20

// importer reads a file in one go. A sitting that is wrong is left out; whatever else is wrong ends the transaction, and nothing
// has happened.
type importer struct {
	version  int // of the file
	checks   Checks
	dec      *json.Decoder
	tx       *sql.Tx
	plans    map[string]json.RawMessage // of the file, by their names
	size     int                        // of them
	last     int64                      // place of the sitting before: their order in the file stays
	stored   map[string]bool            // plans that are in the records
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
		case "caution": // for who reads it; what is imported is shown under that of this program
			var text string
			if err := im.value(name, &text); err != nil {
				return err
			}
			if err := shown(text); err != nil {
				return im.wrong(name, "%w", err)
			}
			return nil
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
	if im.size += len(body); im.size > maxPlans {
		return im.wrong(path, "there is too much of documents; export fewer sittings at a time")
	}
	if _, twice := im.plans[hash]; twice {
		return im.wrong(path, "these documents stand twice in the file")
	}
	if HashOf(body) != hash {
		if again, err := asWritten(body); err == nil {
			body = again
		}
	}
	if HashOf(body) != hash {
		return im.wrong(path, "the documents are not those that the name stands for; they have been changed")
	}
	if _, err := canonical(body); err != nil {
		return im.wrong(path, "%w", err)
	}
	if err := im.checks.Documents(body); err != nil {
		return im.wrong(path, "%w", err)
	}
	im.plans[hash] = body // they are stored with the first sitting that goes by them
	return nil
}

func (im *importer) sittings() error {
	if err := im.delim("sittings", '['); err != nil {
		return err
	}
	for i := 0; im.dec.More(); i++ {
		path := fmt.Sprintf("sittings[%d]", i)
		offset := im.dec.InputOffset()
		var body json.RawMessage
		if err := im.value(path, &body); err != nil {
			return err
		}
		where, err := im.sitting(body)
		var ours *failed
		switch {
		case err == nil:
		case errors.As(err, &ours):
			return ours.err
		default:
			im.imported.Refused = append(im.imported.Refused, &ImportError{Offset: offset, Path: path + where, Err: err})
		}
	}
	return im.delim("sittings", ']')
}

// failed is an error of the database, and no fault of the sitting's.
type failed struct{ err error }

func (f *failed) Error() string { return f.err.Error() }

// sitting takes in one sitting, if nothing is wrong with it and it is not here.
func (im *importer) sitting(body json.RawMessage) (where string, err error) {
	if err := onceEach(body); err != nil {
		return "", err
	}
	var c copied
	if err := exactly(body, &c); err != nil {
		return "", err
	}
	if where, err := c.update(im.version); err != nil {
		return where, err
	}
	if where, err := c.check(im.checks); err != nil {
		return where, err
	}
	documents, err := im.documents(c.Plan)
	switch {
	case err != nil:
		return "", &failed{err}
	case documents == nil:
		return ".plan", errors.New("the documents that it went by are neither in the file nor in the records")
	}
	claim := Claim{Sitting: c.sitting(), Log: c.read}
	claim.Documents = documents
	if im.checks.Sitting != nil {
		if err := im.checks.Sitting(&claim); err != nil {
			return "", err
		}
	}
	switch known, err := im.known(&c); {
	case err != nil:
		return "", err
	case known:
		im.imported.Known++
		return "", nil
	}
	if im.stored[c.Plan] {
		claim.Documents = nil
	}
	if err := im.insert(&c, &claim.Sitting); err != nil {
		return "", &failed{err}
	}
	im.last = max(c.Started.UnixNano(), im.last+1)
	im.stored[c.Plan] = true
	im.imported.New++
	return "", nil
}

// documents gives documents by their name, of the file or of the records.
func (im *importer) documents(plan string) (json.RawMessage, error) {
	if body, ok := im.plans[plan]; ok {
		return body, nil
	}
	var body string
	err := im.tx.QueryRow("SELECT body FROM plan WHERE hash = ?", plan).Scan(&body)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	return json.RawMessage(body), err
}

// known reports whether a sitting is in the records as it is. That one is there under its uid, or with its content, and differs is
// an error.
func (im *importer) known(c *copied) (here bool, err error) {
	alike, err := gather(im.tx, sittingQuery+" WHERE s.uid = ? OR s.started_ns = ?", []any{c.UID, c.Started.UnixNano()}, scanSitting)
	if err != nil {
		return here, &failed{err}
	}
	for i := range alike {
		kept, err := copyOf(im.tx, &alike[i])
		if err != nil {
			return here, &failed{err}
		}
		if kept.UID != c.UID && kept.identity() != c.identity() {
			continue // another that began at the same moment
		}
		if what := kept.difference(c); what != "" {
			return here, fmt.Errorf("sitting %d of the records is this one, and has another %s; what is kept is not changed", alike[i].ID, what)
		}
		return true, nil
	}
	return here, nil
}

// identity is what a sitting is known by: a hash of what was, by whom, when.
func (c *copied) identity() [sha256.Size]byte {
	h := sha256.New()
	for _, part := range []any{c.Plan, c.Trainee, c.Started.UnixNano(), c.Log} {
		form, _ := canonical(toJSON(part)) // it has been read as JSON
		fmt.Fprintf(h, "%d:", len(form))
		h.Write(form)
	}
	return [sha256.Size]byte(h.Sum(nil))
}

// difference names the first thing in which two sittings differ, but for their uids; it is empty if there is none.
func (c *copied) difference(other *copied) string {
	for _, part := range []struct {
		name string
		a, b any
	}{
		{"trainee", c.Trainee, other.Trainee}, {"start", c.Started.UnixNano(), other.Started.UnixNano()}, {"plan", c.Plan, other.Plan},
		{"log", c.Log, other.Log}, {"version of its log", c.LogVersion, other.LogVersion}, {"list of inputs", c.Inputs, other.Inputs},
		{"state", c.State, other.State}, {"result", c.Result, other.Result}, {"end", nanoseconds(c.Ended), nanoseconds(other.Ended)},
		{"scenario", c.Scenario, other.Scenario}, {"procedure", c.Procedure, other.Procedure}, {"profile", c.Profile, other.Profile},
		{"policy", c.Policy, other.Policy}, {"seed", c.Seed, other.Seed}, {"version", c.Version, other.Version}, {"layout", c.Layout, other.Layout},
		{"lead", c.Lead, other.Lead}, {"buffer", c.Buffer, other.Buffer}, {"latency", c.Latency, other.Latency}, {"account of its sound", c.Heard, other.Heard},
		{"account of its date", c.Moved, other.Moved},
	} {
		if a, b := toJSON(part.a), toJSON(part.b); !bytes.Equal(a, b) && !same(a, b) {
			return part.name
		}
	}
	return ""
}

func nanoseconds(t *time.Time) int64 {
	if t == nil {
		return 0
	}
	return t.UnixNano()
}

// sitting is what the records keep of it besides its lists.
func (c *copied) sitting() Sitting {
	seed, _ := strconv.ParseUint(c.Seed, 10, 64) // it has been checked
	s := Sitting{
		UID: c.UID, Trainee: c.Trainee, Scenario: c.Scenario, Procedure: c.Procedure, Profile: c.Profile, Policy: c.Policy, Seed: seed,
		Started: c.Started, Version: c.Version, Plan: c.Plan, Layout: c.Layout, Lead: c.Lead, Buffer: c.Buffer, Latency: c.Latency, Heard: c.Heard, Moved: c.Moved,
		LogVersion: c.LogVersion, State: c.State, Result: c.Result,
	}
	if c.Ended != nil {
		s.Ended = *c.Ended
	}
	return s
}

func (im *importer) insert(c *copied, s *Sitting) error {
	id, err := insertSitting(im.tx, c.UID, s, im.last+1)
	if err != nil {
		return err
	}
	inputs := make([]numbered, len(c.Inputs))
	for i, in := range c.Inputs {
		inputs[i] = numbered{i + 1, Input{in.At, in.Event}}
	}
	if err := insertEvents(im.tx, id, c.events); err != nil {
		return err
	}
	if err := insertInputs(im.tx, id, inputs); err != nil || c.State == Unended {
		return err
	}
	return insertResult(im.tx, id, &result{Ended: *c.Ended, Complete: c.State == Complete, Body: c.Result, Digest: c.digest})
}
