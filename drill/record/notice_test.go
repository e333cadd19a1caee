package record

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/logbook"
)

// What is in the records under the same number has to be the same: then it is taken for that, and otherwise nothing is taken in.
func TestWhatContradictsIsNotTakenIn(t *testing.T) {
	s := open(t, fresh(t))
	documents := []byte(`{"for":"kim"}`)
	sitting := example()
	sitting.LogVersion, sitting.Documents, sitting.Plan = logbook.Version, documents, HashOf(documents)
	kept := result{Ended: began.Add(time.Minute), Complete: true, Body: []byte(`{"a":1}`), Digest: &Digest{}}
	var id int64
	err := s.write(func(tx *sql.Tx) (err error) {
		if id, err = insertSitting(tx, "UID-1", &sitting, 0); err != nil {
			return err
		}
		return errors.Join(insertEvents(tx, id, []event{eventOf(entry(1))}),
			insertInputs(tx, id, []numbered{{1, Input{5, []byte(`{"press":"a"}`)}}}), insertResult(tx, id, &kept))
	})
	if err != nil {
		t.Fatal(err)
	}
	other := entry(1)
	other.Text = "another"
	for _, c := range []struct {
		name   string
		insert func(*sql.Tx) error
		says   string // empty: the same
	}{
		{"the same entry", func(tx *sql.Tx) error { return insertEvents(tx, id, []event{eventOf(entry(1))}) }, ""},
		{"another entry", func(tx *sql.Tx) error { return insertEvents(tx, id, []event{eventOf(other)}) }, "entry 1: the records have it otherwise"},
		{"the same input", func(tx *sql.Tx) error {
			return insertInputs(tx, id, []numbered{{1, Input{5, []byte(`{ "press": "a"}`)}}})
		}, ""},
		{"an input at another time", func(tx *sql.Tx) error {
			return insertInputs(tx, id, []numbered{{1, Input{6, []byte(`{"press":"a"}`)}}})
		}, "input 1: the records have it otherwise"},
		{"another input", func(tx *sql.Tx) error {
			return insertInputs(tx, id, []numbered{{1, Input{5, []byte(`{"press":"b"}`)}}})
		}, "input 1: the records have it otherwise"},
		{"the same result", func(tx *sql.Tx) error { return insertResult(tx, id, &kept) }, ""},
		{"another result", func(tx *sql.Tx) error {
			return insertResult(tx, id, &result{Ended: kept.Ended, Complete: true, Body: []byte(`{"a":2}`)})
		}, "the result: the records have it otherwise"},
		{"another end", func(tx *sql.Tx) error { return insertResult(tx, id, &result{Ended: kept.Ended, Body: kept.Body}) }, "the result: the records have it otherwise"},
		{"the same sitting", func(tx *sql.Tx) error { _, err := insertSitting(tx, "UID-1", &sitting, 0); return err }, ""},
		{"another version of its log", func(tx *sql.Tx) error {
			earlier := sitting
			earlier.LogVersion = 1
			_, err := insertSitting(tx, "UID-1", &earlier, 0)
			return err
		}, "the records have this sitting with a log of version"},
	} {
		tx, err := s.db.Begin()
		if err != nil {
			t.Fatal(err)
		}
		err = c.insert(tx)
		if (err != nil) != (c.says != "") || err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v; wanted %q", c.name, err, c.says)
		}
		tx.Rollback()
	}
}

// What was let go of while the database could not be written is taken in from the journal as the sitting ends.
func TestWhatWasLetGoOfComesFromTheJournal(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	w := begin(t, s)
	other, err := sql.Open("sqlite", dataSource(path))
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	lock, err := other.Begin()
	if err != nil {
		t.Fatal(err)
	}
	for i := range 10 {
		w.Append(entry(i + 1))
	}
	eventually(t, "all ten wait, and are in the journal", func() bool {
		w.mu.Lock()
		defer w.mu.Unlock()
		return w.err != nil && len(w.waiting.entries) == 10 && len(w.unwritten) == 0
	})
	waiting := func() int { w.mu.Lock(); defer w.mu.Unlock(); return len(w.waiting.entries) + len(w.waiting.inputs) }
	eventually(t, "ten are not more than ten", func() bool { w.relieve(10); return waiting() == 10 })
	for _, c := range []struct {
		name string
		set  func(on bool)
	}{
		{"the journal has not got them", func(on bool) {
			if w.unwritten = nil; on {
				w.unwritten = []byte("\n")
			}
		}},
		{"the journal is not whole", func(on bool) {
			if w.notWhole = nil; on {
				w.notWhole = errors.New("full")
			}
		}},
	} {
		w.mu.Lock()
		b := w.waiting
		w.waiting = batch{entries: []event{eventOf(entry(1)), eventOf(entry(2))}}
		c.set(true)
		w.mu.Unlock()
		w.relieve(1)
		w.mu.Lock()
		if n := len(w.waiting.entries); n < 2 {
			t.Errorf("%s: let go of, %d wait", c.name, n)
		}
		w.waiting = b
		c.set(false)
		w.mu.Unlock()
	}
	eventually(t, "let go of", func() bool { w.relieve(9); return waiting() == 0 })
	// The folder of the journal cannot be written any more: the next one has what follows.
	w.journal.mu.Lock()
	w.journal.retry[0] = time.Now().Add(time.Hour)
	w.journal.mu.Unlock()
	for i := range 3 {
		w.Append(entry(i + 11))
		w.Input(time.Duration(i), []byte(`{"press":"a"}`))
	}
	eventually(t, "entries and inputs are both let go of", func() bool { w.relieve(5); return waiting() == 0 && len(w.journal.names()) == 2 })
	lock.Rollback()
	if err := w.End([]byte("{}"), true, Digest{}); err != nil {
		t.Fatal(err)
	}
	wantLog(t, s, w.ID(), 13, Complete)
	if inputs, err := s.Inputs(w.ID()); err != nil || len(inputs) != 3 {
		t.Errorf("%d inputs, %v", len(inputs), err)
	}
}

// Who opens the records while another puts them right waits for that; and a folder that could not be written is left alone for a while.
func TestWaits(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	s.Close()
	lock, err := os.OpenFile(path+".lock", os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	if free, err := lockAlone(lock); err != nil || !free {
		t.Fatal(free, err)
	}
	if err := (&Store{path: path}).share(10 * time.Millisecond); err == nil || !strings.Contains(err.Error(), "being put right by another program; wait for it") {
		t.Errorf("who does not wait for it is told %v", err)
	}
	time.AfterFunc(100*time.Millisecond, func() { lock.Close() })
	s = open(t, path)
	w := begin(t, s)
	w.Append(entry(1))
	eventually(t, "nothing more is to be written", func() bool { w.mu.Lock(); defer w.mu.Unlock(); return w.oldest.IsZero() })
	if err := w.End([]byte("{}"), true, Digest{}); err != nil {
		t.Fatal(err)
	}

	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	sitting := example()
	j := newJournal([]string{filepath.Join(file, "unsaved")}, "UID", &sitting)
	before := time.Now()
	if err := j.write([]byte("{}\n")); err == nil {
		t.Error("a folder was made below a file")
	}
	if j.retry[0].Before(before.Add(50 * time.Millisecond)) {
		t.Errorf("it is tried again after %v", j.retry[0].Sub(before))
	}
}

func TestAboveHome(t *testing.T) {
	t.Setenv("HOME", "/home/kim")
	for folder, want := range map[string]bool{"/home/kim": true, "/home": true, "/": true, "/home/kim/records": false, "/home/lee": false, "/srv": false} {
		if got := aboveHome(folder); got != want {
			t.Errorf("%s: %v", folder, got)
		}
	}
	t.Setenv("HOME", "")
	for folder, want := range map[string]bool{"/": true, "/home": false} {
		if got := aboveHome(folder); got != want {
			t.Errorf("%s without a home: %v", folder, got)
		}
	}
}

// Leftovers are looked for where only this user can write; what does not say whose it is is nobody's; and what cannot be
// deleted is said, and not counted.
func TestLeftovers(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	folder := filepath.Join(filepath.Dir(path), "unsaved")
	if err := os.MkdirAll(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(folder, "a.jsonl")
	if err := os.WriteFile(file, []byte(`{"uid":"A","sitting":{"trainee":"kim"}}`+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	headless := filepath.Join(folder, "b.jsonl.unreadable")
	if err := os.WriteFile(headless, []byte(`{"entry":{"seq":1,"at":0,"kind":"say","text":"kim"}}`+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	os.Chmod(folder, 0o755)
	if files, left := s.Leftovers("kim"); len(files)+len(left) != 0 {
		t.Errorf("in a folder that others can read: %q, %q", files, left)
	}
	os.Chmod(folder, 0o700)
	if files, _ := s.Leftovers("kim"); !slices.Equal(files, []string{file, headless}) {
		t.Errorf("%q", files)
	}
	stuck := newPath(path) + ".part"
	if err := os.MkdirAll(filepath.Join(stuck, "inside"), 0o700); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Forget("kim"); err == nil || !strings.Contains(err.Error(), stuck) || !slices.Equal(got.Files, []string{file, headless}) {
		t.Errorf("%+v, %v", got, err)
	}
}

// Documents that another program has passed on with other escapes are what they were.
func TestDocumentsWithOtherEscapes(t *testing.T) {
	documents := json.RawMessage(`{"when":"nr < 95"}`)
	im := importer{
		checks: Checks{Documents: func(json.RawMessage) error { return nil }}, plans: map[string]json.RawMessage{},
		dec: json.NewDecoder(strings.NewReader(`{"when": "nr \u003c 95"}`)),
	}
	hash := HashOf(documents)
	if err := im.plan(hash); err != nil || !bytes.Equal(im.plans[hash], documents) {
		t.Errorf("%q, %v", im.plans[hash], err)
	}
}

// A log that is not as it was written has the records looked at, and put right if they were damaged: one that cannot be read, and one that
// has lost its end.
func TestALogThatIsNotAsItWasWritten(t *testing.T) {
	for _, c := range []struct {
		name, was, is string
		ended         bool
		entries       int
	}{
		{"no entry", `{"seq":4,`, `{"seq"~4,`, true, 3},
		{"no end", `"kind":"end"`, `"kind":"cue"`, true, 6},
		{"no entry of one that was killed", `{"seq":4,`, `{"seq"~4,`, false, 3},
	} {
		path := fresh(t)
		s := open(t, path)
		if c.ended {
			ended(t, s, "kim", 6)
		} else {
			keep(t, s, "kim", "", 6)
		}
		s.Close()
		if err := os.RemoveAll(filepath.Join(filepath.Dir(path), "unsaved")); err != nil { // with the journal nothing would be missing
			t.Fatal(err)
		}
		body, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		changed := bytes.Replace(body, []byte(c.was), []byte(c.is), 1)
		changed = bytes.Replace(changed, []byte(`{"for":"kim"}`), []byte(`{"for":"kin"}`), 1)
		if bytes.Count(changed, []byte(c.is)) == bytes.Count(body, []byte(c.is)) || !bytes.Contains(changed, []byte("kin")) {
			t.Fatalf("%s: nothing was changed", c.name)
		}
		if err := os.WriteFile(path, changed, 0o600); err != nil {
			t.Fatal(err)
		}
		s = open(t, path)
		log, err := s.Log(1)
		if err != nil || len(log) != c.entries || len(s.Notices()) != 1 || !strings.Contains(s.Notices()[0], "were damaged") {
			t.Errorf("%s: %d entries, %v, told %q", c.name, len(log), err, s.Notices())
		}
		s.Close()
	}
}
