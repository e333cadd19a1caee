package record

import (
	"bytes"
	"database/sql"
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
			if err := s.share(0); err != nil {
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

// The journal of a sitting that was killed is taken in as it is found, which is said if the records had not got all of it, and is then gone.
func TestAJournalThatIsTakenIn(t *testing.T) {
	path := fresh(t)
	when := time.Date(2026, 4, 2, 9, 30, 0, 0, time.UTC).Local().Format("2006-01-02 15:04")
	name := filepath.Join(filepath.Dir(path), "unsaved", "a.jsonl")
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ result, says string }{
		{"", "unended sitting 1 (first-start, kim, " + when + ") has been taken in from " + name},
		{"", ""}, // it is all there
		{judged, "sitting 1 (first-start, kim, " + when + ") has been taken in from " + name},
		{judged, ""},
	} {
		write(t, name, unsavedOf1(c.result))
		s := open(t, path)
		if got := strings.Join(s.Notices(), "\n"); got != c.says {
			t.Errorf("told %q; wanted %q", got, c.says)
		}
		if _, err := os.Lstat(name); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("the journal is still there: %v", err)
		}
		wantLogOf1(t, s, 1)
		s.Close()
	}
	// Of two only the one is told of that brought something.
	first := filepath.Join(filepath.Dir(name), "0.jsonl")
	write(t, first, strings.Replace(unsavedOf1(judged), "UNSAVED-1", "UNSAVED-2", 1))
	write(t, name, unsavedOf1(judged))
	if got := strings.Join(open(t, path).Notices(), "\n"); got != "sitting 2 (first-start, kim, "+when+") has been taken in from "+first {
		t.Errorf("told %q", got)
	}
}

// Every version of damaged records is put right, and what is not ours, or says nothing of itself, is not taken for records.
func TestWhichRecordsAreRescued(t *testing.T) {
	steps, err := filepath.Glob("migration/*.sql")
	if err != nil {
		t.Fatal(err)
	}
	for step := 1; step <= len(steps); step++ {
		path := earlier(t, step)
		db, err := sql.Open("sqlite", dataSource(path))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec("INSERT INTO trainee (name) VALUES ('kim')"); err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			application, version int
			want                 int // names
		}{{applicationID, step, 1}, {applicationID, 0, 0}, {applicationID, -1, 0}, {applicationID, 99, 1}, {applicationID + 1, step, 0}, {0, step, 0}} {
			for _, statement := range []string{fmt.Sprintf("PRAGMA application_id = %d", c.application), fmt.Sprintf("PRAGMA user_version = %d", c.version)} {
				if _, err := db.Exec(statement); err != nil {
					t.Fatal(err)
				}
			}
			if got, err := rebuild(path); err != nil || got.String() != "without any sitting: nothing could be read" {
				t.Errorf("version %d, %+v: %q, %v", step, c, got, err)
			}
			rescued(t, newPath(path), func(_ func(string, ...any) int, names []string) {
				if len(names) != c.want {
					t.Errorf("version %d, %+v: %q", step, c, names)
				}
			})
		}
		db.Close()
	}
}

// What is asked for and is not there is not there, and no error.
func TestWhatIsNotThere(t *testing.T) {
	s := open(t, fresh(t))
	keep(t, s, "kim", judged, 2)
	if log, err := s.Log(99); err != nil || len(log) != 0 {
		t.Errorf("a log: %+v, %v", log, err)
	}
	if inputs, err := s.Inputs(99); err != nil || len(inputs) != 0 {
		t.Errorf("inputs: %+v, %v", inputs, err)
	}
	if body, err := s.Documents("none"); err != nil || body != nil {
		t.Errorf("documents: %s, %v", body, err)
	}
	if body, err := s.Known("kim"); err != nil || body != nil {
		t.Errorf("what is known: %s, %v", body, err)
	}
	if goesOn(filepath.Join(filepath.Dir(s.Path()), "unsaved", "gone.jsonl")) {
		t.Error("the sitting of a journal that is gone goes on")
	}
	if isOf(filepath.Join(filepath.Dir(s.Path()), "unsaved", "gone.jsonl"), "kim") {
		t.Error("a journal that is gone is of somebody")
	}
	if notices := s.Notices(); len(notices) != 0 {
		t.Errorf("told %q", notices)
	}
}

// A journal has half a megabyte of the disk ahead of it, however much is written at once; and it says if its file cannot be deleted.
func TestWhatAJournalReserves(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "unsaved")
	f, err := createJournal(folder, "UID-1")
	if err != nil {
		t.Fatal(err)
	}
	written := 0
	for _, n := range []int{1, 1000, 400_000, 600_000, 3_000_000, 1, 500_000} {
		if err := f.append(bytes.Repeat([]byte{'\n'}, n)); err != nil {
			t.Fatal(err)
		}
		if written += n; f.size != int64(written) || f.reserved < f.size+reserve/2 || f.reserved > f.size+reserve {
			t.Errorf("after %d bytes, the last %d of them: %d, and %d are reserved", written, n, f.size, f.reserved)
		}
	}
	if err := os.Remove(f.name); err != nil {
		t.Fatal(err)
	}
	if err := f.remove(); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("it was deleted by somebody else: %v", err)
	}
}

// No sitting has more than a million entries or inputs.
func TestTooMuchOfASitting(t *testing.T) {
	from := open(t, fresh(t))
	keep(t, from, "kim", judged, 1)
	found, err := from.Sittings(Filter{})
	if err != nil || len(found) != 1 {
		t.Fatal(found, err)
	}
	for _, c := range []struct {
		log, inputs int
		where       string
	}{
		{maxEntries + 1, 0, ".log"}, {0, maxEntries + 1, ".log"},
		{maxEntries, 0, ".log[0]"}, {0, maxEntries, ".inputs[0]"}, // there is nothing in them
	} {
		one, err := from.copy(&found[0])
		if err != nil {
			t.Fatal(err)
		}
		one.Log, one.Inputs = make([]json.RawMessage, c.log), make([]copiedInput, c.inputs)
		checks := anything
		checks.Input = func(int, json.RawMessage) error { return errors.New("nothing in it") }
		if where, err := one.check(checks); err == nil || where != c.where {
			t.Errorf("%d entries, %d inputs: %s, %v", c.log, c.inputs, where, err)
		}
	}
}

// A sitting is kept nowhere if neither a journal nor the database takes it, and then it is said why not, of each place.
func TestWhereASittingIsKept(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	w := begin(t, s)
	if err := w.Nowhere(); err != nil {
		t.Errorf("with both: %v", err)
	}
	w.mu.Lock()
	w.notWhole = errors.New("no journal")
	w.mu.Unlock()
	if err := w.Nowhere(); err != nil {
		t.Errorf("with the database: %v", err)
	}
	w.mu.Lock()
	w.notWhole = nil
	w.mu.Unlock()
	if err := w.End([]byte("{}"), true, Digest{}); err != nil {
		t.Fatal(err)
	}

	file := filepath.Join(t.TempDir(), "file")
	write(t, file, "")
	none := filepath.Join(file, "x.db")
	w = begin(t, WithoutDatabase(none, errors.New("no database")))
	if err := w.Nowhere(); err != nil {
		t.Errorf("with a journal: %v", err)
	}
	w.Abandon()
	t.Setenv("TMPDIR", file)
	w = begin(t, WithoutDatabase(none, errors.New("no database")))
	want := fmt.Sprintf("it could be kept nowhere: not in %s (no database), and not in %s (not a directory), and not in %s (not a directory); make room",
		none, filepath.Join(file, "unsaved"), Fallback())
	if err := w.Nowhere(); err == nil || !strings.HasPrefix(err.Error(), want) {
		t.Errorf("without either: %v; wanted %s", err, want)
	}
	w.Abandon()
}

// Documents of a file are taken in up to a bound, and texts and names may have so many letters, of whatever script.
func TestBoundsOfAnImport(t *testing.T) {
	documents := json.RawMessage(`{"for":"kim"}`)
	for free, refused := range map[int]bool{len(documents): false, len(documents) - 1: true} {
		im := importer{
			checks: anything, plans: map[string]json.RawMessage{}, size: maxPlans - free, dec: json.NewDecoder(bytes.NewReader(documents)),
		}
		if err := im.plan(HashOf(documents)); (err != nil) != refused || refused && !strings.Contains(err.Error(), "too much of documents") {
			t.Errorf("with room for %d bytes: %v", free, err)
		}
	}
	for _, letter := range []string{"k", "ü", "語"} {
		if err := shown(strings.Repeat(letter, 4000)); err != nil {
			t.Errorf("4000 of %s: %v", letter, err)
		}
		if err := shown(strings.Repeat(letter, 4001)); err == nil || !strings.Contains(err.Error(), "longer than 4000 characters") {
			t.Errorf("4001 of %s: %v", letter, err)
		}
		if err := CheckTrainee(strings.Repeat(letter, 80)); err != nil {
			t.Errorf("80 of %s: %v", letter, err)
		}
		if err := CheckTrainee(strings.Repeat(letter, 81)); err == nil || !strings.Contains(err.Error(), "longer than 80 characters") {
			t.Errorf("81 of %s: %v", letter, err)
		}
	}
}

// A sitting that has ended did so at a time and with a result, and one that has not has neither.
func TestTheEndOfASitting(t *testing.T) {
	from := open(t, fresh(t))
	keep(t, from, "kim", judged, 1)
	found, err := from.Sittings(Filter{})
	if err != nil || len(found) != 1 {
		t.Fatal(found, err)
	}
	at, before, never := found[0].Ended, found[0].Started.Add(-1), latest
	for _, state := range []State{Complete, Stopped, Unended} {
		for _, ended := range []*time.Time{nil, &before, &found[0].Started, &at, &never} {
			for _, result := range []string{"", "null", judged} {
				one, err := from.copy(&found[0])
				if err != nil {
					t.Fatal(err)
				}
				one.State, one.Ended, one.Result = state, ended, json.RawMessage(result)
				want := ""
				switch {
				case state == Unended && (ended != nil || result == judged):
					want = ".result"
				case state != Unended && (ended == nil || ended == &before || ended == &never):
					want = ".ended"
				case state != Unended && result != judged:
					want = ".result"
				}
				if where, err := one.check(anything); where != want || (err != nil) != (want != "") {
					t.Errorf("%s, ended %v, with %q: %s, %v; wanted %q", state, ended, result, where, err, want)
				}
			}
		}
	}
}

// What is to be told is handed over whenever it is asked for: what there was, and what comes.
func TestTell(t *testing.T) {
	s := &Store{}
	s.notice("the %s", "first")
	s.notice("the second")
	var told []string
	s.Tell(func(notice string) { told = append(told, notice) })
	s.notice("the third")
	s.notice("the fourth")
	if got := strings.Join(told, ", "); got != "the first, the second, the third, the fourth" || len(s.Notices()) != 4 {
		t.Errorf("told %q, %q", got, s.Notices())
	}
}

// Damaged records are never moved to a name that is taken.
func TestMovedAsideToANameOfItsOwn(t *testing.T) {
	path := filepath.Join(t.TempDir(), "hornlark.db")
	write(t, path, "damaged")
	now := time.Now().UTC()
	for i := range 60 { // whatever second it is by then
		write(t, fmt.Sprintf("%s.damaged-%s-1", path, now.Add(time.Duration(i)*time.Second).Format("20060102-150405")), "of before")
	}
	aside, err := moveAside(path)
	if err != nil || !strings.HasSuffix(aside, "-2") {
		t.Fatal(aside, err)
	}
	if body, err := os.ReadFile(strings.TrimSuffix(aside, "2") + "1"); err != nil || string(body) != "of before" {
		t.Errorf("what was there before is %q, %v", body, err)
	}
	if body, err := os.ReadFile(aside); err != nil || string(body) != "damaged" {
		t.Errorf("moved: %q, %v", body, err)
	}
}

// Somebody may be forgotten while it is being asked what they know: then nothing is known of them, and nothing is left.
func TestForgottenMeanwhile(t *testing.T) {
	s := open(t, fresh(t))
	for range 3 {
		keep(t, s, "kim", judged, 1)
	}
	by := Judging{Rules: 1, Version: "test", Trials: func(*Sitting) ([]byte, error) {
		_, err := s.Forget("kim")
		return []byte("shown"), err
	}}
	if got, err := s.Counted("kim", by); err != nil || len(got) != 0 {
		t.Errorf("%+v, %v", got, err)
	}
	var n int
	if err := s.db.QueryRow("SELECT count(*) FROM trials").Scan(&n); err != nil || n != 0 {
		t.Errorf("%d trials are left, %v", n, err)
	}
}

// What has been written to a journal since it was last synced is synced, and nothing else.
func TestWhatIsSynced(t *testing.T) {
	sitting := example()
	j := newJournal([]string{filepath.Join(t.TempDir(), "unsaved")}, "UID-1", &sitting)
	dirty := func() bool { return j.files[0].dirty }
	for range 2 {
		if err := j.write([]byte("{}\n")); err != nil || !dirty() {
			t.Errorf("written: %v, %v", dirty(), err)
		}
		if err := j.write(nil); err != nil || !dirty() {
			t.Errorf("nothing more written: %v, %v", dirty(), err)
		}
		if err := j.sync(); err != nil || dirty() {
			t.Errorf("synced: %v, %v", dirty(), err)
		}
		if err := j.write(nil); err != nil || dirty() {
			t.Errorf("nothing written: %v, %v", dirty(), err)
		}
	}
	if err := j.close(false); err != nil {
		t.Error(err)
	}
}

// What is as it was written is read without the whole of the records being checked, which takes as long as reading all of them.
func TestReadingChecksNothing(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	ended(t, s, "kim", 6)
	keep(t, s, "lee", "", 3)
	keep(t, s, "max", judged, 3)
	s.Close()
	if err := os.RemoveAll(filepath.Join(filepath.Dir(path), "unsaved")); err != nil {
		t.Fatal(err)
	}
	good, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	bad := bytes.Replace(good, []byte(`{"for":"max"}`), []byte(`{"for":"may"}`), 1) // by which a check would be known
	write(t, path, string(bad))
	s = open(t, path)
	for id, entries := range map[int64]int{1: 6, 2: 3, 99: 0} {
		if log, err := s.Log(id); err != nil || len(log) != entries {
			t.Errorf("sitting %d: %d entries, %v", id, len(log), err)
		}
	}
	for _, name := range []string{"kim", "lee", "nobody"} {
		documents := []byte(`{"for":"` + name + `"}`)
		if got, err := s.Documents(HashOf(documents)); err != nil || name != "nobody" && !bytes.Equal(got, documents) {
			t.Errorf("documents of %s: %s, %v", name, got, err)
		}
	}
	if notices := s.Notices(); len(notices) != 0 {
		t.Errorf("all of it was checked: %q", notices)
	}
	if got, err := s.Documents(HashOf([]byte(`{"for":"max"}`))); err != nil || got != nil || len(s.Notices()) != 1 {
		t.Errorf("what is not as it was: %s, %v, told %q", got, err, s.Notices())
	}
}

// What a journal could not take is tried again by itself, and is there once its folder can be written, without another entry.
func TestAJournalIsTriedAgain(t *testing.T) {
	blocked := filepath.Join(t.TempDir(), "records")
	write(t, blocked, "")
	t.Setenv("TMPDIR", blocked)
	w := begin(t, WithoutDatabase(filepath.Join(blocked, "hornlark.db"), errors.New("no database")))
	defer w.Abandon()
	w.Append(entry(1))
	eventually(t, "it could not be written", func() bool { w.mu.Lock(); defer w.mu.Unlock(); return w.notWhole != nil && len(w.unwritten) > 0 })
	if err := os.Remove(blocked); err != nil {
		t.Fatal(err)
	}
	eventually(t, "it has been written", func() bool { w.mu.Lock(); defer w.mu.Unlock(); return w.notWhole == nil && len(w.unwritten) == 0 })
	body, err := os.ReadFile(w.journal.names()[0])
	if err != nil || !bytes.Contains(body, lineOf(line{Entry: encode(entry(1))})) {
		t.Errorf("%s, %v", body, err)
	}
}

// Whoever imports is shown each sitting whole, with its documents and its log, and has the last word.
func TestAClaimCanBeRefused(t *testing.T) {
	from, to := open(t, fresh(t)), open(t, fresh(t))
	for _, name := range []string{"kim", "lee", "max"} {
		ended(t, from, name, 4)
	}
	checks := anything
	checks.Sitting = func(c *Claim) error {
		if len(c.Log) != 4 || string(c.Documents) != `{"for":"`+c.Trainee+`"}` || c.State != Complete {
			t.Errorf("shown %+v", c)
		}
		if c.Trainee == "lee" {
			return errors.New("it was not so")
		}
		return nil
	}
	got, err := to.Import(bytes.NewReader(export(t, from)), checks)
	if err != nil || got.New != 2 || len(got.Refused) != 1 || got.Refused[0].Error() != "sittings[1]: it was not so" {
		t.Errorf("%+v, %v", got, err)
	}
	if names, err := to.Trainees(); err != nil || strings.Join(names, " ") != "kim max" {
		t.Errorf("names %q, %v", names, err)
	}
}
