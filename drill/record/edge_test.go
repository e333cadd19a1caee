package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A name is found wherever it stands in a file, and in whatever way a version of the program has written it.
func TestANameIsFoundAnywhere(t *testing.T) {
	const name, piece = "Kim <&> \"Ü\"", 1 << 20 // a file is read in pieces of this size
	inJSON, err := json.Marshal(name)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "file")
	for _, form := range []string{name, strings.Trim(string(inJSON), `"`), `Kim <&> \"Ü\"`} {
		if mentions(path, name) {
			t.Errorf("%q is found where it is not", form)
		}
		for _, at := range []int{0, piece - len(form), piece - len(form)/2, piece - 1, piece, 2*piece - 1, 3*piece - len(form) + 1, 3*piece + 5} {
			body := bytes.Repeat([]byte{'x'}, 3*piece+100)
			copy(body[at:], form)
			if err := os.WriteFile(path, body, 0o600); err != nil {
				t.Fatal(err)
			}
			if !mentions(path, name) {
				t.Errorf("%q at %d is not found", form, at)
			}
			copy(body[at:], "y")
			if err := os.WriteFile(path, body, 0o600); err != nil {
				t.Fatal(err)
			}
			if mentions(path, name) {
				t.Errorf("%q is found at %d without its beginning", form, at)
			}
		}
	}
}

// A database in which there is nothing is taken away, and nothing else is: it may be somebody's.
func TestWhatIsTakenAwayIsEmpty(t *testing.T) {
	for _, c := range []struct {
		name    string
		prepare func(t *testing.T, path string)
		gone    bool
	}{
		{"empty", func(t *testing.T, path string) { write(t, path, "") }, true},
		{"with something in it", func(t *testing.T, path string) { write(t, path, "x") }, false},
		{"with a log beside it", func(t *testing.T, path string) { write(t, path, ""); write(t, path+"-wal", "x") }, false},
		{"a folder", func(t *testing.T, path string) {
			if err := os.Mkdir(path, 0o700); err != nil {
				t.Fatal(err)
			}
		}, false},
		{"a link", func(t *testing.T, path string) {
			write(t, path+".elsewhere", "")
			if err := os.Symlink(path+".elsewhere", path); err != nil {
				t.Fatal(err)
			}
		}, false},
		{"open elsewhere", func(t *testing.T, path string) {
			write(t, path, "")
			lock, err := os.OpenFile(path+".lock", os.O_RDWR|os.O_CREATE, 0o600)
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { lock.Close() })
			if free, err := lockWithOthers(lock); err != nil || !free {
				t.Fatal(free, err)
			}
		}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "hornlark.db")
			c.prepare(t, path)
			s := &Store{path: path}
			s.removeEmpty()
			if _, err := os.Lstat(path); err != nil {
				t.Fatal("taken away by somebody who does not know whether it is open elsewhere")
			}
			if err := s.share(); err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			s.removeEmpty()
			if _, err := os.Lstat(path); errors.Is(err, os.ErrNotExist) != c.gone {
				t.Errorf("afterwards: %v", err)
			}
			other, err := os.OpenFile(path+".lock", os.O_RDWR, 0)
			if err != nil {
				t.Fatal(err)
			}
			defer other.Close()
			if free, err := lockWithOthers(other); err != nil || !free {
				t.Errorf("others cannot open the records: %v, %v", free, err)
			}
			if free, err := lockAlone(other); err != nil || free {
				t.Errorf("this one does not count as having the records open: %v, %v", free, err)
			}
		})
	}
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// A mark beside the records has them looked at when they are opened, and goes when they are sound.
func TestAMarkHasTheRecordsLookedAt(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	keep(t, s, "kim", judged, 3)
	s.Close()
	good, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	bad := bytes.Replace(good, []byte(`{"for":"kim"}`), []byte(`{"for":"kin"}`), 1) // which opening does not meet
	if bytes.Equal(good, bad) {
		t.Fatal("the documents are not in the file")
	}
	for _, c := range []struct {
		body    []byte
		mark    bool
		notices int
	}{{good, false, 0}, {good, true, 0}, {bad, false, 0}, {bad, true, 1}} {
		write(t, path, string(c.body))
		if c.mark {
			write(t, path+".damaged", "")
		}
		s := open(t, path)
		if notices := s.Notices(); len(notices) != c.notices || c.notices > 0 && !strings.Contains(notices[0], "were damaged") {
			t.Errorf("damaged %v, marked %v: told %q", &c.body[0] == &bad[0], c.mark, notices)
		}
		if s.marked() {
			t.Errorf("damaged %v, marked %v: the mark stays", &c.body[0] == &bad[0], c.mark)
		}
		s.Close()
	}
}

// A sitting that goes on while its records are replaced by others is kept in those, and as one of its own.
func TestRecordsReplacedUnderASitting(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	w := begin(t, s)
	w.Append(entry(1))
	eventually(t, "the first entry is stored", func() bool { return stored(w) == 1 })
	s.mu.Lock()
	s.db.Close()
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	err := s.open()
	s.mu.Unlock()
	if err != nil {
		t.Fatal(err)
	}
	keep(t, s, "max", judged, 2) // has the number that the sitting had
	w.Append(entry(2))
	if err := w.End([]byte("{}"), false, Digest{}); err != nil {
		t.Fatal(err)
	}
	wantLog(t, s, w.ID(), 2, Stopped)
	if found, err := s.Sittings(Filter{Trainee: "max"}); err != nil || len(found) != 1 || found[0].ID == w.ID() || found[0].State != Complete {
		t.Errorf("the other one: %+v, %v", found, err)
	}
}

// Every text that a sitting cannot be without is asked for, by an import and before one is begun; what it may be without is not.
func TestWhatASittingNeeds(t *testing.T) {
	from := open(t, fresh(t))
	keep(t, from, "kim", judged, 1)
	body := string(export(t, from))
	for name, was := range map[string]string{
		"trainee": "", "scenario": "first-start", "procedure": "dunlin-start", "profile": "dunlin-lt", "policy": "prompted", "version": "", "layout": "",
	} {
		at := strings.Index(body, fmt.Sprintf("%q:\"", name)) + len(name) + len(`"":"`)
		changed := body[:at] + body[at+strings.IndexByte(body[at:], '"'):]
		got, err := open(t, fresh(t)).Import(strings.NewReader(changed), anything)
		if needed := was != ""; err != nil || (got.New == 0) != needed || needed && got.Refused[0].Path != "sittings[0]."+name {
			t.Errorf("an import without %s: %+v, %v", name, got, err)
		}
		sitting := example()
		for _, field := range []*string{&sitting.Trainee, &sitting.Scenario, &sitting.Procedure, &sitting.Profile, &sitting.Policy, &sitting.Version, &sitting.Layout} {
			if *field == was {
				*field = ""
			}
		}
		if err := sitting.begun(); (err != nil) != (was != "") {
			t.Errorf("without %s: %v", name, err)
		}
	}
	undated := example()
	undated.Started = time.Time{}
	if undated.begun() == nil {
		t.Error("a sitting without a beginning was begun")
	}
}

// An export that a program has written anew, with other blanks, is what it was: it is kept, and exported again, as the same bytes.
func TestOtherBlanksAreNotKept(t *testing.T) {
	from, to := open(t, fresh(t)), open(t, fresh(t))
	keep(t, from, "kim", judged, 3)
	body := export(t, from)
	var wide bytes.Buffer
	if err := json.Indent(&wide, body, " ", "\t"); err != nil {
		t.Fatal(err)
	}
	if got, err := takeIn(to, &wide, anything); err != nil || got.New != 1 {
		t.Fatalf("%+v, %v", got, err)
	}
	if again := export(t, to); !bytes.Equal(again, body) {
		t.Errorf("exported again:\n%s\nwas\n%s", again, body)
	}
}
