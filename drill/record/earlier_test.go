package record

import (
	"bytes"
	"compress/gzip"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"hornlark/drill/logbook"
)

// earlier makes a file of records as the program made it whose tables had been brought as far as a step, and puts rows into it.
func earlier(t *testing.T, step int, statements ...string) (path string) {
	t.Helper()
	path = fresh(t)
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", dataSource(path))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	steps, err := filepath.Glob("migration/*.sql")
	if err != nil || len(steps) < step {
		t.Fatal(steps, err)
	}
	for _, name := range steps[:step] {
		script, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec(string(script)); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
	}
	statements = append([]string{
		fmt.Sprintf("PRAGMA application_id = %d", applicationID), fmt.Sprintf("PRAGMA user_version = %d", step),
	}, statements...)
	for _, statement := range statements {
		if _, err := db.Exec(statement); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
	return path
}

// logOf1 is a log of version 1, an entry each.
var logOf1 = []string{
	`{"seq":1,"at":0,"kind":"begin","name":"recall","text":"first-start","value":18446744073709552000}`,
	`{"seq":2,"at":1000000000,"kind":"press","key":"shift+a"}`,
	`{"seq":3,"at":1000000000,"kind":"inject","abnormal":"hot-start#1","name":"hot-start"}`,
	`{"seq":4,"at":1020000000,"kind":"cue","cue":1,"name":"gauge","text":"tot1 red","onset":1020000000}`,
	`{"seq":5,"at":1020000000,"kind":"onset","abnormal":"hot-start#1","name":"gauge","cue":1}`,
	`{"seq":6,"at":1500000000,"kind":"paused"}`,
	`{"seq":7,"at":1500000000,"kind":"unpaused","value":83.886080033}`,
	`{"seq":8,"at":1600000000,"kind":"early","item":"brake"}`,
	`{"seq":9,"at":1600000000,"kind":"done","item":"brake","ok":true}`,
	`{"seq":10,"at":1700000000,"kind":"lost","abnormal":"hot-start#1","item":"brake","name":"time","text":"the engine is gone"}`,
	`{"seq":11,"at":1800000000,"kind":"end","text":"stopped by the trainee"}`,
}

// logOf1Today is what it says.
func logOf1Today() []logbook.Entry {
	const ms = time.Millisecond
	log := []logbook.Entry{
		{Kind: logbook.Begin, Name: "recall", Text: "first-start", Number: 2, Seed: 1<<64 - 2},
		{At: 1000 * ms, Kind: logbook.Press, Seat: logbook.Trainee, Key: "shift+a"},
		{At: 1000 * ms, Kind: logbook.Inject, Injection: "hot-start#1", Abnormal: "hot-start"},
		{At: 1020 * ms, Kind: logbook.Cue, Cue: 1, Class: logbook.Gauge, Name: "tot1", Text: "red", Onset: 1020 * ms},
		{At: 1020 * ms, Kind: logbook.Onset, Injection: "hot-start#1", Class: logbook.Gauge, Name: "tot1", Cue: 1},
		{At: 1500 * ms, Kind: logbook.Paused, Seat: logbook.Trainee},
		{At: 1500 * ms, Kind: logbook.Unpaused, Seat: logbook.Trainee, Length: 83886080033},
		{At: 1600 * ms, Kind: logbook.Done, Seat: logbook.Trainee, Item: "brake", OK: true},
		{At: 1700 * ms, Kind: logbook.Lost, Injection: "hot-start#1", Item: "brake", Why: logbook.Timeout},
		{At: 1800 * ms, Kind: logbook.End, Why: logbook.Outside, Text: "stopped by the trainee"},
	}
	for i := range log {
		log[i].Seq = i + 1
	}
	return log
}

// sittingOf1 are the rows of a sitting that an earlier program kept.
func sittingOf1(id int) []string {
	rows := []string{fmt.Sprintf("INSERT INTO sitting VALUES (%d, 'EARLIER-%d', NULL, 'first-start', 'dunlin-start', 'dunlin-lt', 'recall', -2, %d, '0.9', 'h', 'qwerty', 0, 0, 0)",
		id, id, began.UnixNano()+int64(id))}
	for i, body := range logOf1 {
		e, err := eventIn([]byte(body))
		if err != nil {
			panic(err)
		}
		rows = append(rows, fmt.Sprintf("INSERT INTO event VALUES (%d, %d, %d, '%s', '%s')", id, i+1, e.At, e.Kind, body))
	}
	return append(rows, fmt.Sprintf(`INSERT INTO input VALUES (%d, 1, 1000000000, '{"press":"shift+a"}')`, id))
}

// wantLogOf1 checks that the log of a sitting is what logOf1 says.
func wantLogOf1(t *testing.T, s *Store, id int64) {
	t.Helper()
	log, err := s.Log(id)
	if err != nil {
		t.Fatal(err)
	}
	if want := logOf1Today(); !reflect.DeepEqual(log, want) {
		t.Errorf("the log is\n%+v, wanted\n%+v", log, want)
	}
}

// Records of each earlier program are read as they were, and added to.
func TestEarlierRecords(t *testing.T) {
	for step := 1; step <= 2; step++ {
		t.Run(fmt.Sprint(step), func(t *testing.T) {
			rows := append(sittingOf1(4), fmt.Sprintf("INSERT INTO result VALUES (4, %d, 0, '%s')", began.UnixNano()+5, judged))
			path := earlier(t, step, append(rows, sittingOf1(9)...)...)
			s := open(t, path)
			sittings, err := s.Sittings(Filter{})
			if err != nil || len(sittings) != 2 {
				t.Fatal(sittings, err)
			}
			for _, sitting := range sittings {
				if sitting.Policy != "recall" || sitting.LogVersion != 1 || sitting.Seed != 1<<64-2 {
					t.Errorf("%+v", sitting)
				}
				wantLogOf1(t, s, sitting.ID)
			}
			summaries, err := s.Summaries(Filter{ID: 4})
			if err != nil || len(summaries) != 1 {
				t.Fatal(summaries, err)
			}
			if u := summaries[0]; u.Policy != "recall" || !u.Passed || u.Asked != 2 || u.Right != 1 || u.Reactions != 2 || *u.ReactionMS != 812.5 {
				t.Errorf("%+v", u)
			}
			injections, err := s.Injections(Filter{})
			if err != nil || len(injections) != 2 || injections[0].Abnormal != "hot-start" || *injections[0].DetectionMS != 900 {
				t.Errorf("%+v, %v", injections, err)
			}
			if body, err := s.Documents("h"); err != nil || body != nil {
				t.Errorf("documents %s, %v", body, err)
			}
			for _, statement := range []string{"DELETE FROM result", "DELETE FROM event", "UPDATE sitting SET policy = 'watch'", "UPDATE sitting SET log_version = 2"} {
				if _, err := s.db.Exec(statement); err == nil {
					t.Errorf("%s: done", statement)
				}
			}
			var triggers int
			if err := s.db.QueryRow("SELECT count(*) FROM sqlite_schema WHERE type = 'trigger' AND sql LIKE '%json_extract%'").Scan(&triggers); err != nil || triggers != 0 {
				t.Errorf("%d triggers still judge, %v", triggers, err)
			}

			w := begin(t, s)
			w.Append(entry(1))
			if err := w.End([]byte(judged), true, judgedDigest()); err != nil {
				t.Fatal(err)
			}
			wantLog(t, s, w.ID(), 1, Complete)
			if now, err := s.Sittings(Filter{ID: w.ID()}); err != nil || now[0].LogVersion != logbook.Version {
				t.Errorf("%+v, %v", now, err)
			}

			// It goes to another desk as it is.
			to := open(t, fresh(t))
			body := withPlan(export(t, s))
			if got, err := takeIn(to, bytes.NewReader(body), anything); err != nil || got.New != 3 {
				t.Fatal(got, err)
			}
			if again := export(t, to); !bytes.Equal(again, body) {
				t.Errorf("exported again:\n%s\nwas\n%s", again, body)
			}
			wantLogOf1(t, to, 1) // those of the earlier version first: they were sat before, whatever the clock said
			wantLogOf1(t, to, 2)
		})
	}
}

// A log of a version that is not known is not read, and it is said which it is and who wrote it.
func TestALogOfALaterVersion(t *testing.T) {
	s := open(t, fresh(t))
	for _, statement := range []string{
		fmt.Sprintf("INSERT INTO sitting VALUES (3, 'LATER', NULL, 's', 'p', 'd', 'recall', 1, %d, '7.5', 'h', '', 0, 0, 0, 3, 0, 0, 0)", began.UnixNano()),
		`INSERT INTO event VALUES (3, 1, 0, 'begin', '{"seq":1,"at":0,"kind":"begin"}')`,
	} {
		if _, err := s.db.Exec(statement); err != nil {
			t.Fatal(err)
		}
	}
	_, err := s.Log(3)
	if err == nil {
		t.Fatal("it was read")
	}
	for _, want := range []string{"sitting 3", "version 7.5 of the program", "of version 3", "reads versions 1 to 2", "use the program that wrote it"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%v; wanted %q", err, want)
		}
	}
}

// A word that the version does not have is an error as well: it could be anything.
func TestALogWithAnUnknownWord(t *testing.T) {
	s := open(t, fresh(t))
	w := begin(t, s)
	w.Append(logbook.Entry{Seq: 1, Kind: "crew"})
	if err := w.End([]byte("{}"), true, Digest{}); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Log(w.ID()); err == nil || !strings.Contains(err.Error(), `no kind "crew"`) {
		t.Error(err)
	}
}

// unsavedOf1 is a sitting that an earlier program could not store.
func unsavedOf1(result string) string {
	lines := []string{`{"uid":"UNSAVED-1","sitting":{"trainee":"kim","scenario":"first-start","procedure":"dunlin-start","profile":"dunlin-lt",` +
		`"mode":"recall","seed":18446744073709551614,"started":"2026-04-02T09:30:00Z","version":"0.9","plan":"abc","layout":"","lead":0,"buffer":0,"latency":0}}`}
	for _, body := range logOf1 {
		lines = append(lines, `{"entry":`+body+`}`)
	}
	lines = append(lines, `{"input":{"seq":1,"at":1000000000,"body":{"press":"shift+a"}}}`)
	if result != "" {
		lines = append(lines, `{"result":{"ended":"2026-04-02T09:31:00Z","complete":true,"body":`+result+`}}`)
	}
	return strings.Join(lines, "\n") + "\n"
}

// A sitting that an earlier program could not store is taken in with all that it had, whatever its result is.
func TestAnEarlierUnsavedSitting(t *testing.T) {
	for _, c := range []struct {
		result string
		want   Summary
		met    int
	}{
		{judged, Summary{Passed: true, Asked: 2, Right: 1, Reactions: 2}, 2},
		{`{}`, Summary{}, 0},
		{`"text"`, Summary{}, 0},
		{`[]`, Summary{}, 0},
		{`7`, Summary{}, 0},
		{`{"reactions":{"count":0,"median_ms":0}}`, Summary{}, 0}, // there was none
		{`{"items":7,"reactions":[],"injections":{"a":1},"passed":"x"}`, Summary{}, 0},
		{`{"items":[7,{"outcome":1}],"reactions":{"count":2,"median_ms":"x"},"injections":[{"abnormal":3}],"passed":null}`, Summary{Reactions: 2}, 1},
	} {
		path := fresh(t)
		folder := filepath.Join(filepath.Dir(path), "unsaved")
		if err := os.MkdirAll(folder, 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, "a.jsonl"), []byte(unsavedOf1(c.result)), 0o600); err != nil {
			t.Fatal(err)
		}
		s := open(t, path)
		wantLogOf1(t, s, 1)
		if inputs, err := s.Inputs(1); err != nil || len(inputs) != 1 {
			t.Errorf("%+v, %v", inputs, err)
		}
		sittings, err := s.Sittings(Filter{})
		if err != nil || len(sittings) != 1 || sittings[0].Policy != "recall" || sittings[0].LogVersion != 1 || sittings[0].State != Complete {
			t.Fatalf("%+v, %v", sittings, err)
		}
		got, err := s.Summaries(Filter{})
		if err != nil || len(got) != 1 {
			t.Fatal(got, err)
		}
		if u := got[0]; u.Passed != c.want.Passed || u.Asked != c.want.Asked || u.Right != c.want.Right || u.Reactions != c.want.Reactions ||
			(u.ReactionMS != nil) != (c.result == judged) {
			t.Errorf("%s: %+v", c.result, u)
		}
		if met, err := s.Injections(Filter{}); err != nil || len(met) != c.met {
			t.Errorf("%s: %+v, %v", c.result, met, err)
		}
		// It is the sitting of that trainee to forget, and its journal is in the records and gone.
		if gone, err := s.Forget("kim"); err != nil || gone.Sittings != 1 || len(gone.Files) != 0 {
			t.Errorf("%+v, %v", gone, err)
		}
	}
}

// The digest of a sitting that could not be stored waits with it.
func TestTheDigestOfAnUnsavedSitting(t *testing.T) {
	path := fresh(t)
	why := os.ErrPermission
	if err := os.MkdirAll(path, 0o700); err != nil { // a folder is no database
		t.Fatal(err)
	}
	w := begin(t, WithoutDatabase(path, why))
	w.Append(entry(1))
	if err := w.End([]byte(`{"rules":99}`), true, judgedDigest()); err == nil {
		t.Fatal("it was stored")
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	s := open(t, path)
	wantLog(t, s, 1, 1, Complete)
	if sittings, err := s.Sittings(Filter{}); err != nil || sittings[0].LogVersion != logbook.Version || sittings[0].Policy != "prompted" {
		t.Errorf("%+v, %v", sittings, err)
	}
	got, err := s.Summaries(Filter{})
	if err != nil || len(got) != 1 || !got[0].Passed || got[0].Right != 1 || *got[0].ReactionMS != 812.5 {
		t.Errorf("%+v, %v", got, err)
	}
	if met, err := s.Injections(Filter{}); err != nil || len(met) != 2 || met[1].Outcome != "unseen" {
		t.Errorf("%+v, %v", met, err)
	}
}

// exportOf1 is a file of version 1 with one sitting.
func exportOf1() string {
	return `{
"format": "hornlark-records", "version": 1,
"plans": {
"` + HashOf([]byte("{}")) + `": {}
},
"sittings": [
{"uid":"EXPORTED-1","trainee":"kim","scenario":"first-start","procedure":"dunlin-start","profile":"dunlin-lt","mode":"recall",` +
		`"seed":"18446744073709551614","started":"2026-04-02T09:30:00Z","version":"0.9","plan":"` + HashOf([]byte("{}")) + `","layout":"qwerty",` +
		`"lead_ns":0,"buffer_ns":0,"latency_ns":0,"state":"complete","ended":"2026-04-02T09:31:00Z","result":` + judged +
		`,"inputs":[{"at_ns":1000000000,"event":{"press":"shift+a"}}],"log":[` + strings.Join(logOf1, ",") + `]}
]
}
`
}

// What an earlier program exported is taken in as it is: with its mode as the policy, its log to be converted, and a digest
// of its result.
func TestImportOfVersion1(t *testing.T) {
	s := open(t, fresh(t))
	checks := anything
	checks.Input = func(version int, event json.RawMessage) error {
		if version != 1 {
			t.Errorf("an event of version %d", version)
		}
		return nil
	}
	for _, want := range []Imported{{New: 1}, {Known: 1}} {
		if got, err := takeIn(s, strings.NewReader(exportOf1()), checks); err != nil || got.New != want.New || got.Known != want.Known {
			t.Fatal(got, err)
		}
	}
	wantLogOf1(t, s, 1)
	sittings, err := s.Sittings(Filter{})
	if err != nil || len(sittings) != 1 || sittings[0].Policy != "recall" || sittings[0].LogVersion != 1 {
		t.Fatalf("%+v, %v", sittings, err)
	}
	if got, err := s.Summaries(Filter{}); err != nil || !got[0].Passed || got[0].Asked != 2 {
		t.Errorf("%+v, %v", got, err)
	}
	body := string(export(t, s))
	for _, want := range []string{`"version": 2`, `"policy":"recall"`, `"log_version":1`, logOf1[7]} {
		if !strings.Contains(body, want) {
			t.Errorf("exported again it has no %s", want)
		}
	}
	// The same sitting with a log of another version would be two logs in one.
	other := strings.Replace(body, `"log_version":1`, `"log_version":2`, 1)
	other = other[:strings.Index(other, `"log":[`)] + `"log":[]}` + "\n]\n}\n"
	if _, err := takeIn(s, strings.NewReader(other), anything); err == nil || !strings.Contains(err.Error(), "sittings[0]: sitting 1 of the records is this one, and has another log") {
		t.Error(err)
	}
}

// testdata/version-1.json.gz was written by the last program whose logs are of version 1, with
//
//	hornlark export
//
// out of records of one sitting of its scenario piston-start-busy, gone through without a clock and answered perfectly.
func TestWhatTheEarlierProgramWrote(t *testing.T) {
	file, err := os.Open("testdata/version-1.json.gz")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	packed, err := gzip.NewReader(file)
	if err != nil {
		t.Fatal(err)
	}
	before, err := io.ReadAll(packed)
	if err != nil {
		t.Fatal(err)
	}
	s := open(t, fresh(t))
	if got, err := takeIn(s, bytes.NewReader(before), anything); err != nil || got.New != 1 {
		t.Fatal(got, err)
	}
	log, err := s.Log(1)
	if err != nil {
		t.Fatal(err)
	}
	kinds, classes := map[logbook.Kind]int{}, map[logbook.Class]int{}
	for _, e := range log {
		kinds[e.Kind]++
		if e.Kind == logbook.Onset {
			classes[e.Class]++
		}
	}
	// A radio call that is a look-alike, a magneto whose check shows nothing, and ice that a gauge shows.
	if fmt.Sprint(classes) != "map[call:1 gauge:1 missing:1]" || kinds[logbook.Cleared] != 1 || kinds[logbook.Handled] != 2 {
		t.Errorf("%v, %v", classes, kinds)
	}
	if len(log) != 670 || log[0].Name != "prompted" || !log[669].OK || log[669].Why != logbook.Complete {
		t.Errorf("%d entries, from %+v to %+v", len(log), log[0], log[len(log)-1])
	}
	// What is kept of it is what was written.
	want := before[bytes.Index(before, []byte(`"inputs":[`)):]
	if after := export(t, s); !bytes.HasSuffix(after, want) {
		t.Error("the inputs or the log have been changed")
	}
}

func TestBadFilesOfVersion1(t *testing.T) {
	s := open(t, fresh(t))
	for _, c := range []struct{ from, to, want string }{
		{`"mode":"recall"`, `"mode":""`, "sittings[0].mode"},
		{`"mode":"recall"`, `"policy":"recall"`, "sittings[0].policy"},
		{`"mode":"recall"`, `"mode":"recall","log_version":1`, "sittings[0].policy"},
		{`"kind":"press"`, `"kind":"stop-call"`, "sittings[0].log[1]"},
		{`"name":"time"`, `"name":"timeout"`, "sittings[0].log[9]"},
		{`"text":"the engine is gone"`, `"text":"the \u001b[2J is gone"`, "sittings[0].log[9]"},
		{`"seq":8,`, `"seq":9,`, "sittings[0].log[7]"},
	} {
		if _, err := takeIn(s, strings.NewReader(strings.Replace(exportOf1(), c.from, c.to, 1)), anything); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v; wanted %s", c.to, err, c.want)
		}
	}
}

// The schema has every member of an entry and every word of the contract, and no other.
func TestSchemaNamesTheLog(t *testing.T) {
	var schema struct {
		Properties struct {
			Version struct{ Const int }
		}
		Defs map[string]struct {
			Properties map[string]struct{ Enum []any }
		} `json:"$defs"`
	}
	if err := json.Unmarshal(Schema, &schema); err != nil {
		t.Fatal(err)
	}
	if schema.Properties.Version.Const != formatVersion {
		t.Errorf("the schema is of version %d", schema.Properties.Version.Const)
	}
	if got := schema.Defs["sitting"].Properties["log_version"].Enum; fmt.Sprint(got) != fmt.Sprint([]int{1, logbook.Version}) {
		t.Errorf("the schema has logs of the versions %v", got)
	}
	members := schema.Defs["entry"].Properties
	of := reflect.TypeFor[logbook.Entry]()
	for f := range of.Fields() {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if _, ok := members[name]; !ok {
			t.Errorf("an entry has %s, and the schema does not", name)
		}
	}
	if len(members) != of.NumField() {
		t.Errorf("%d members, of an entry's %d", len(members), of.NumField())
	}
	for name, want := range map[string]any{"kind": logbook.Kinds, "seat": logbook.Seats, "why": logbook.Reasons, "class": logbook.Classes} {
		if got := fmt.Sprint(members[name].Enum); got != fmt.Sprint(want) {
			t.Errorf("%s: %s, wanted %v", name, got, want)
		}
	}
}
