package record

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"hornlark/drill/logbook"
)

var began = time.Date(2026, 4, 2, 9, 30, 0, 123456789, time.UTC)

func example() Sitting {
	return Sitting{
		Trainee: "Trainee A", Scenario: "first-start", Procedure: "dunlin-start", Profile: "dunlin-lt", Policy: "prompted",
		Seed: math.MaxUint64 - 1, Started: began, Version: "test", Plan: "abc", Layout: "qwertz",
		Lead: 80 * time.Millisecond, Buffer: 40 * time.Millisecond, Latency: 39400 * time.Microsecond,
	}
}

// fresh points the temporary files and the records of a test to folders of its own.
func fresh(t testing.TB) string {
	t.Setenv("TMPDIR", t.TempDir())
	return filepath.Join(t.TempDir(), "records", "hornlark.db")
}

func open(t testing.TB, path string) *Store {
	t.Helper()
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func begin(t testing.TB, s *Store) *Writer {
	t.Helper()
	w, err := s.Begin(example())
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func entry(seq int) logbook.Entry {
	return logbook.Entry{
		Seq: seq, At: time.Duration(seq) * time.Millisecond, Kind: logbook.Cue, Cue: seq, Class: logbook.Horn,
		Text: "low_nr \"and\" ü", Value: 0.1 + float64(seq), Onset: time.Duration(seq)*time.Millisecond + 1,
	}
}

// wantLog checks that a sitting has the entries 1 to n, and is in a state.
func wantLog(t *testing.T, s *Store, id int64, n int, state State) {
	t.Helper()
	entries, err := s.Log(id)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != n {
		t.Fatalf("%d entries, want %d", len(entries), n)
	}
	for i, e := range entries {
		if e != entry(i+1) {
			t.Fatalf("entry %d is %+v", i+1, e)
		}
	}
	sittings, err := s.Sittings(Filter{ID: id})
	if err != nil || len(sittings) != 1 || sittings[0].State != state {
		t.Fatalf("sittings %+v, %v; want one that is %s", sittings, err, state)
	}
}

// eventually waits for something that another goroutine brings about.
func eventually(t testing.TB, what string, f func() bool) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); !f(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("never: %s", what)
		}
	}
}

func TestSittingComesBackAsItWas(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	w := begin(t, s)
	for i := range 1000 {
		w.Append(entry(i + 1))
		w.Input(time.Duration(i), fmt.Appendf(nil, `{"press":"%d"}`, i))
	}
	id := w.ID()
	if err := w.End([]byte(`{"passed":true}`), true, Digest{}); err != nil {
		t.Fatal(err)
	}
	if err := w.End(nil, false, Digest{}); err != nil {
		t.Fatalf("a second end: %v", err)
	}
	s.Close()

	s = open(t, path)
	wantLog(t, s, id, 1000, Complete)
	sittings, err := s.Sittings(Filter{})
	if err != nil || len(sittings) != 1 {
		t.Fatal(sittings, err)
	}
	got := sittings[0]
	if !got.Started.Equal(began) || string(got.Result) != `{"passed":true}` || got.Ended.Before(began) || got.Ended.Sub(began) > time.Minute {
		t.Errorf("%+v", got)
	}
	want := example()
	want.ID, want.UID, want.LogVersion, want.State, want.Started, want.Ended, want.Result = id, got.UID, logbook.Version, Complete, got.Started, got.Ended, got.Result
	if !reflect.DeepEqual(got, want) {
		t.Errorf("sitting\n%+v, want\n%+v", got, want)
	}
	inputs, err := s.Inputs(id)
	if err != nil || len(inputs) != 1000 {
		t.Fatal(len(inputs), err)
	}
	for i, in := range inputs {
		if in.At != time.Duration(i) || string(in.Body) != fmt.Sprintf(`{"press":"%d"}`, i) {
			t.Fatalf("input %d is %+v", i, in)
		}
	}
}

func TestEveryConnectionHasThePragmas(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a folder with ?, # and %41", "x.db")
	os.MkdirAll(filepath.Dir(path), 0o700)
	db, err := sql.Open("sqlite", dataSource(path))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for range 3 {
		conn, err := db.Conn(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close() // only at the end, so that each is another connection
		for pragma, want := range map[string]string{
			"journal_mode": "wal", "busy_timeout": "1000", "foreign_keys": "1", "synchronous": "2",
		} {
			var got string
			if err := conn.QueryRowContext(t.Context(), "PRAGMA "+pragma).Scan(&got); err != nil || got != want {
				t.Errorf("%s is %q, %v; want %q", pragma, got, err, want)
			}
		}
	}
	if _, err := os.Stat(path); err != nil {
		t.Error(err)
	}
}

func TestRecordsAreOnlyAddedTo(t *testing.T) {
	s := open(t, fresh(t))
	sitting := example()
	sitting.Documents, sitting.Plan = []byte("{}"), HashOf([]byte("{}"))
	w, err := s.Begin(sitting)
	if err != nil {
		t.Fatal(err)
	}
	w.Append(entry(1))
	w.Input(0, []byte("{}"))
	if err := w.End([]byte("{}"), true, Digest{}); err != nil {
		t.Fatal(err)
	}
	for _, table := range []string{"sitting", "event", "input", "result", "plan"} {
		key := "sitting"
		switch table {
		case "sitting":
			key = "id"
		case "plan":
			key = "hash"
		}
		for _, statement := range []string{"DELETE FROM " + table, "UPDATE " + table + " SET " + key + " = 7"} {
			if _, err := s.db.Exec(statement); err == nil || !strings.Contains(err.Error(), "only added to") {
				t.Errorf("%s: %v", statement, err)
			}
		}
	}
	for _, statement := range []string{
		"INSERT INTO event VALUES (1, 'two', 0, 'cue', '{}')",
		"INSERT INTO event VALUES (1, 2, 0, 'cue', 'no JSON')",
		"INSERT INTO event VALUES (99, 1, 0, 'cue', '{}')",
		"INSERT INTO result VALUES (1, 0, 5, '{}')",
	} {
		if _, err := s.db.Exec(statement); err == nil {
			t.Errorf("%s: accepted", statement)
		}
	}
	wantLog(t, s, w.ID(), 1, Complete)
}

func TestFilter(t *testing.T) {
	s := open(t, fresh(t))
	for i := range 6 {
		sitting := example()
		sitting.Started = began.Add(time.Duration(i) * time.Hour)
		if i%2 == 1 {
			sitting.Trainee, sitting.Scenario = "", "hover-alerts"
		}
		w, err := s.Begin(sitting)
		if err != nil {
			t.Fatal(err)
		}
		switch {
		case i >= 4: // as if it had been killed
		default:
			if err := w.End([]byte("{}"), i < 2, Digest{}); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, test := range []struct {
		name string
		f    Filter
		want []int64
	}{
		{"all", Filter{}, []int64{6, 5, 4, 3, 2, 1}},
		{"newest", Filter{Limit: 2}, []int64{6, 5}},
		{"trainee", Filter{Trainee: "Trainee A"}, []int64{5, 3, 1}},
		{"nobody", Filter{Trainee: "Trainee B"}, nil},
		{"scenario", Filter{Scenario: "hover-alerts"}, []int64{6, 4, 2}},
		{"complete", Filter{State: Complete}, []int64{2, 1}},
		{"stopped", Filter{State: Stopped}, []int64{4, 3}},
		{"unended", Filter{State: Unended}, []int64{6, 5}},
		{"since", Filter{Since: began.Add(4 * time.Hour)}, []int64{6, 5}},
		{"both", Filter{Scenario: "hover-alerts", State: Stopped}, []int64{4}},
	} {
		sittings, err := s.Sittings(test.f)
		if err != nil {
			t.Fatal(err)
		}
		var got []int64
		for _, sitting := range sittings {
			got = append(got, sitting.ID)
		}
		if !reflect.DeepEqual(got, test.want) {
			t.Errorf("%s: %v, want %v", test.name, got, test.want)
		}
	}
}

func TestBeginRefusesASittingOfNothing(t *testing.T) {
	s := open(t, fresh(t))
	for _, sitting := range []Sitting{{}, {Scenario: "x", Procedure: "x", Profile: "x", Policy: "x"}} {
		if _, err := s.Begin(sitting); err == nil {
			t.Errorf("%+v was begun", sitting)
		}
	}
}

func TestOddValuesAreKept(t *testing.T) {
	s := open(t, fresh(t))
	w := begin(t, s)
	w.Append(logbook.Entry{Seq: 1, Kind: logbook.Peak, Text: "peak", Value: math.Inf(1)})
	w.Append(logbook.Entry{Seq: 2, Kind: logbook.End, Text: "bad \xff bytes"})
	w.Input(0, []byte("no JSON"))
	w.Input(0, nil)
	if err := w.End([]byte("{"), false, Digest{}); err != nil {
		t.Fatal(err)
	}
	entries, err := s.Log(w.ID())
	if err != nil || len(entries) != 2 || entries[0].Text != "peak (value +Inf)" || entries[1].Text != "bad \ufffd bytes" {
		t.Errorf("%+v, %v", entries, err)
	}
	inputs, err := s.Inputs(w.ID())
	if err != nil || len(inputs) != 2 || string(inputs[0].Body) != `"no JSON"` || string(inputs[1].Body) != `""` {
		t.Errorf("%q, %v", inputs, err)
	}
	if sittings, err := s.Sittings(Filter{}); err != nil || string(sittings[0].Result) != `"{"` {
		t.Errorf("%+v, %v", sittings, err)
	}
}

func TestALogWithAGapIsAnError(t *testing.T) {
	s := open(t, fresh(t))
	w := begin(t, s)
	w.Append(entry(1))
	w.Append(entry(3))
	if err := w.End([]byte("{}"), true, Digest{}); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Log(w.ID()); err == nil || !strings.Contains(err.Error(), "no entry 2") {
		t.Error(err)
	}
}

// full makes the database as full as it can be, as a full disk would: SQLite gives the same error.
func full(t *testing.T, s *Store) {
	t.Helper()
	var pages int
	if err := s.db.QueryRow("PRAGMA page_count").Scan(&pages); err != nil {
		t.Fatal(err)
	}
	limit(t, s, pages)
}

func limit(t *testing.T, s *Store, pages int) {
	t.Helper()
	if _, err := s.db.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages)); err != nil {
		t.Fatal(err)
	}
}

func TestAFullDiskThatIsEmptiedAgain(t *testing.T) {
	s := open(t, fresh(t))
	w := begin(t, s)
	full(t, s)
	for i := range 2000 {
		w.Append(entry(i + 1))
	}
	eventually(t, "an error", func() bool { return w.Err() != nil })
	if err := w.Err(); !strings.Contains(err.Error(), "the disk is full; make room") {
		t.Error(err)
	}
	for i := range 10 {
		w.Append(entry(2001 + i))
	}
	limit(t, s, 1e6)
	eventually(t, "no error", func() bool { return w.Err() == nil })
	if err := w.End([]byte("{}"), true, Digest{}); err != nil {
		t.Fatal(err)
	}
	wantLog(t, s, w.ID(), 2010, Complete)
}

func TestAFullDiskUntilTheEnd(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	w := begin(t, s)
	for i := range 10 {
		w.Append(entry(i + 1))
	}
	eventually(t, "entries stored", func() bool { entries, err := s.Log(w.ID()); return err == nil && len(entries) == 10 })
	full(t, s)
	for i := range 2000 {
		w.Append(entry(i + 11))
		w.Input(time.Duration(i), []byte(`{"press":"a"}`))
	}
	err := w.End([]byte(`{"passed":false}`), true, Digest{})
	var unsaved *Unsaved
	if !errors.As(err, &unsaved) || !strings.Contains(err.Error(), "the disk is full") {
		t.Fatal(err)
	}
	if filepath.Dir(unsaved.Path) != filepath.Join(filepath.Dir(path), "unsaved") || !strings.Contains(err.Error(), "it is in "+unsaved.Path+", and is taken in the next time") {
		t.Errorf("it is in %s: %v", unsaved.Path, err)
	}
	s.Close()

	s = open(t, path)
	if notices := s.Notices(); len(notices) != 1 || !strings.Contains(notices[0], unsaved.Path) {
		t.Errorf("notices %q", notices)
	}
	wantLog(t, s, w.ID(), 2010, Complete)
	if inputs, err := s.Inputs(w.ID()); err != nil || len(inputs) != 2000 {
		t.Errorf("%d inputs, %v", len(inputs), err)
	}
	if sittings, _ := s.Sittings(Filter{}); string(sittings[0].Result) != `{"passed":false}` {
		t.Errorf("result %s", sittings[0].Result)
	}
	if left, _ := filepath.Glob(unsaved.Path + "*"); len(left) != 0 {
		t.Errorf("it is in the records, and still in %q", left)
	}
	if s := open(t, path); len(s.Notices()) != 0 {
		t.Errorf("taken in again: %q", s.Notices())
	}
}

func TestWithoutADatabase(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	// A folder cannot be made below a file, not even by a user who may do everything.
	path := filepath.Join(file, "records", "hornlark.db")
	_, why := Open(path)
	if why == nil || !strings.Contains(why.Error(), "HORNLARK_DATA") {
		t.Fatal(why)
	}
	s := WithoutDatabase(path, why)
	w := begin(t, s)
	if !errors.Is(w.Err(), why) || w.ID() != 0 {
		t.Errorf("error %v, id %d", w.Err(), w.ID())
	}
	const n = maxWaiting + 20
	for i := range n {
		w.Append(entry(i + 1))
	}
	// So much does not wait for the end.
	eventually(t, "set aside", func() bool { w.mu.Lock(); defer w.mu.Unlock(); return len(w.waiting.entries) == 0 })
	for i := range 5 {
		w.Append(entry(n + i + 1))
	}
	err := w.End([]byte("{}"), false, Digest{})
	var unsaved *Unsaved
	if !errors.As(err, &unsaved) || !errors.Is(err, why) || unsaved.Path == "" {
		t.Fatal(err)
	}
	if _, err := s.Sittings(Filter{}); !errors.Is(err, why) {
		t.Error(err)
	}

	s = open(t, filepath.Join(t.TempDir(), "hornlark.db"))
	wantLog(t, s, 1, n+5, Stopped)
}

func TestNowhereToWrite(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv("TMPDIR", file)
	w := begin(t, WithoutDatabase(filepath.Join(file, "x.db"), errors.New("no database")))
	w.Append(entry(1))
	err := w.End([]byte("{}"), true, Digest{})
	var unsaved *Unsaved
	if !errors.As(err, &unsaved) || unsaved.Path != "" || !strings.HasPrefix(err.Error(), "the sitting could not be stored: no database") || strings.Contains(err.Error(), "it is in") {
		t.Error(err)
	}
}

// What lies where others could write is not taken in: one of this user's is made private, with what is in it set aside, and one that is
// for everybody's files is left as it is.
func TestAFolderThatOthersCanWriteIsNotTrusted(t *testing.T) {
	for mode, want := range map[os.FileMode]struct {
		sittings int
		notice   string
		left     string
	}{
		0o700:                 {1, "has been taken in from", ""},
		0o777:                 {0, "planted.jsonl: others could write to its folder; it has been set aside as planted.jsonl.untrusted", "planted.jsonl.untrusted"},
		0o777 | os.ModeSticky: {0, "", "planted.jsonl"},
	} {
		path := fresh(t)
		folder := filepath.Join(filepath.Dir(path), "unsaved")
		if err := os.MkdirAll(folder, 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, "planted.jsonl"), []byte(unsavedOf1("")), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(folder, mode); err != nil {
			t.Fatal(err)
		}
		s := open(t, path)
		if sittings, err := s.Sittings(Filter{}); err != nil || len(sittings) != want.sittings {
			t.Errorf("%v: %+v, %v", mode, sittings, err)
		}
		if told := strings.Join(s.Notices(), "\n"); !strings.Contains(told, want.notice) || want.notice == "" && told != "" {
			t.Errorf("%v: told %q", mode, told)
		}
		left, _ := filepath.Glob(filepath.Join(folder, "*"))
		if got := strings.Join(left, " "); got != want.left && got != filepath.Join(folder, want.left) {
			t.Errorf("%v: left is %q", mode, left)
		}
	}
}

func TestFilesThatCannotBeTakenIn(t *testing.T) {
	path := fresh(t)
	folder := filepath.Join(filepath.Dir(path), "unsaved")
	if err := os.MkdirAll(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	header := `{"uid":"x","sitting":{"scenario":"a","procedure":"b","profile":"c","mode":"d","started":"2026-04-02T09:30:00Z"}}` + "\n"
	when := time.Date(2026, 4, 2, 9, 30, 0, 0, time.UTC).Local().Format("2006-01-02 15:04")
	files := []struct{ name, text, says, aside string }{
		{"1-empty.jsonl", "", "it does not begin with a sitting: it is empty", ".unreadable"},
		{"2-binary.jsonl", "\x00\xff\n", "it does not begin with a sitting", ".unreadable"},
		{"3-other.jsonl", "{}\n", "it does not begin with a sitting", ".unreadable"},
		{"4-cut-off.jsonl", header + `{"entry":{"seq":1,"at":0,"kind":"begin"}}` + "\n" + `{"entry":{"seq":2,"a`,
			"unended sitting 1 (a, no name, " + when + "); 1 of its lines could not be read", ".torn"},
		{"5-broken.jsonl", strings.Replace(header, `"x"`, `"y"`, 1) + "not JSON\n",
			"unended sitting 2 (a, no name, " + when + "); 1 of its lines could not be read", ".torn"},
		{"6-without-uid.jsonl", strings.Replace(header, `"uid":"x",`, "", 1), "it does not begin with a sitting", ".unreadable"},
		{"7-without-sitting.jsonl", `{"uid":"z","entry":{"seq":1,"at":0,"kind":"begin"}}` + "\n", "it does not begin with a sitting", ".unreadable"},
		{"8-without-scenario.jsonl", strings.Replace(header, `"scenario":"a",`, "", 1), "it does not begin with a sitting: a sitting needs a scenario, a procedure, a profile, a policy and a beginning", ".unreadable"},
		{"9-differs.jsonl", header + `{"entry":{"seq":1,"at":0,"kind":"end"}}` + "\n",
			"the sitting in it could not be taken in: entry 1: the records have it otherwise", ".differs"},
		{"a-other-lines.jsonl", strings.Replace(header, `"x"`, `"v"`, 1) + "{}\n" + `{"input":{"seq":1,"at":0,"body":{}},"result":7}` + "\n",
			"unended sitting 3 (a, no name, " + when + "); 2 of its lines could not be read", ".torn"},
	}
	for _, file := range files {
		if err := os.WriteFile(filepath.Join(folder, file.name), []byte(file.text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s := open(t, path)
	notices := s.Notices()
	if len(notices) != len(files) {
		t.Fatalf("notices %q", notices)
	}
	for i, file := range files {
		if want := fmt.Sprintf("%s: %s; it has been set aside as %s%s", filepath.Join(folder, file.name), file.says, file.name, file.aside); notices[i] != want {
			t.Errorf("told %q; wanted %q", notices[i], want)
		}
	}
	// What was written before the program was killed is there, and nothing of the others.
	sittings, err := s.Sittings(Filter{})
	if err != nil || len(sittings) != 3 {
		t.Fatalf("%+v, %v", sittings, err)
	}
	for i, want := range []int{0, 0, 1} {
		if inputs, err := s.Inputs(sittings[i].ID); err != nil || len(inputs) != 0 || sittings[i].State != Unended {
			t.Errorf("%+v: %+v, %v", sittings[i], inputs, err)
		}
		if entries, err := s.Log(sittings[i].ID); err != nil || len(entries) != want {
			t.Errorf("%+v, %v", entries, err)
		}
	}
	// It is said once: they have been set aside.
	if again := open(t, path).Notices(); len(again) != 0 {
		t.Errorf("a second time: %q", again)
	}
	if left, _ := filepath.Glob(filepath.Join(folder, "*")); len(left) != len(files) {
		t.Errorf("set aside: %q", left)
	}
}

func TestLockedByAnotherProgram(t *testing.T) {
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
	eventually(t, "an error", func() bool { return w.Err() != nil })
	if err := w.Err(); !strings.Contains(err.Error(), "another program holds the records") {
		t.Error(err)
	}
	lock.Rollback()
	if err := w.End([]byte("{}"), true, Digest{}); err != nil {
		t.Fatal(err)
	}
	wantLog(t, s, w.ID(), 10, Complete)
}

func TestSeveralAtOnce(t *testing.T) {
	path := fresh(t)
	const stores, n = 4, 300
	done := make(chan error, stores)
	for range stores {
		go func() {
			s, err := Open(path) // they also race to make the tables
			if err != nil {
				done <- err
				return
			}
			defer s.Close()
			w, err := s.Begin(example())
			if err != nil {
				done <- err
				return
			}
			for i := range n {
				w.Append(entry(i + 1))
				time.Sleep(100 * time.Microsecond)
			}
			done <- w.End([]byte("{}"), true, Digest{})
		}()
	}
	for range stores {
		if err := <-done; err != nil {
			t.Fatal(err)
		}
	}
	s := open(t, path)
	for id := range int64(stores) {
		wantLog(t, s, id+1, n, Complete)
	}
}

func TestADamagedFileIsMovedAside(t *testing.T) {
	sound := fresh(t)
	s := open(t, sound)
	w := begin(t, s)
	for i := range 200 {
		w.Append(entry(i + 1))
	}
	if err := w.End([]byte("{}"), true, Digest{}); err != nil {
		t.Fatal(err)
	}
	s.Close()
	good, err := os.ReadFile(sound)
	if err != nil {
		t.Fatal(err)
	}
	scribbled := bytes.Clone(good)
	for i := 100; i < 4096; i++ {
		scribbled[i] = byte(i)
	}
	for name, bad := range map[string][]byte{
		"other":     []byte(strings.Repeat("This was never a database. ", 400)),
		"binary":    bytes.Repeat([]byte{0, 1, 2, 255}, 5000),
		"cut off":   good[:len(good)/2+100],
		"scribbled": scribbled,
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "hornlark.db")
			if err := os.WriteFile(path, bad, 0o600); err != nil {
				t.Fatal(err)
			}
			s := open(t, path)
			if len(s.Notices()) != 1 || !strings.Contains(s.Notices()[0], path) {
				t.Fatalf("notices %q", s.Notices())
			}
			aside, _ := filepath.Glob(path + ".damaged-*-1")
			if len(aside) != 1 {
				t.Fatalf("moved to %q", aside)
			}
			if kept, err := os.ReadFile(aside[0]); err != nil || !bytes.Equal(kept, bad) {
				t.Errorf("the damaged file was changed: %v", err)
			}
			w := begin(t, s)
			w.Append(entry(1))
			if err := w.End([]byte("{}"), true, Digest{}); err != nil {
				t.Fatal(err)
			}
			wantLog(t, s, 1, 1, Complete)
		})
	}
}

func TestDatabasesThatAreNotOurs(t *testing.T) {
	for name, test := range map[string]struct{ statement, want string }{
		"another program": {"CREATE TABLE accounts (id)", "another program"},
		"a newer version": {fmt.Sprintf("CREATE TABLE x (id); PRAGMA application_id = %d; PRAGMA user_version = 99", applicationID), "version 99"},
	} {
		t.Run(name, func(t *testing.T) {
			path := fresh(t)
			os.MkdirAll(filepath.Dir(path), 0o700)
			db, err := sql.Open("sqlite", path)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := db.Exec(test.statement); err != nil {
				t.Fatal(err)
			}
			db.Close()
			before, _ := os.ReadFile(path)
			_, err = Open(path)
			if err == nil || !strings.Contains(err.Error(), test.want) || !strings.Contains(err.Error(), path) {
				t.Errorf("error %v", err)
			}
			db, _ = sql.Open("sqlite", path)
			defer db.Close()
			var tables int
			if err := db.QueryRow("SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil || tables != 1 {
				t.Errorf("%d tables, %v", tables, err)
			}
			if len(before) == 0 {
				t.Error("the test wrote nothing")
			}
		})
	}
}

func TestAFileThatMayNotBeWritten(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("this user may write everything")
	}
	path := fresh(t)
	open(t, path).Close()
	os.Chmod(filepath.Dir(path), 0o500)
	os.Chmod(path, 0o400)
	defer os.Chmod(filepath.Dir(path), 0o700)
	if _, err := Open(path); err == nil || !strings.Contains(err.Error(), "HORNLARK_DATA") {
		t.Errorf("error %v", err)
	}
}

func TestDefaultPath(t *testing.T) {
	t.Setenv("HORNLARK_DATA", "/somewhere")
	if path, err := DefaultPath(); err != nil || path != filepath.Join("/somewhere", "hornlark.db") {
		t.Error(path, err)
	}
}
