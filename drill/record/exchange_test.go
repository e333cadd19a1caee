package record

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

var anything = Checks{
	Documents: func(json.RawMessage) error { return nil },
	Input:     func(int, json.RawMessage) error { return nil },
	Digest:    func(json.RawMessage) (Digest, error) { return judgedDigest(), nil },
}

const judged = `{"passed":true,"items":[{"outcome":"right"},{"outcome":"late"},{"outcome":"not-asked"}],` +
	`"reactions":{"count":2,"median_ms":812.5},"injections":[{"abnormal":"hot-start","outcome":"handled","detection_ms":900,"handling_ms":null},` +
	`{"abnormal":"chip","outcome":"unseen"}]}`

// judgedDigest is the digest of judged.
func judgedDigest() Digest {
	reaction, detection := 812.5, 900.0
	return Digest{
		Passed: true, Asked: 2, Right: 1, Reactions: 2, ReactionMS: &reaction,
		Injections: []Injection{{Abnormal: "hot-start", Outcome: "handled", DetectionMS: &detection}, {Abnormal: "chip", Outcome: "unseen"}},
	}
}

// keep stores a sitting of a trainee; without a result it has not ended.
func keep(t testing.TB, s *Store, trainee, result string, entries int) {
	t.Helper()
	sitting := example()
	sitting.Trainee, sitting.Documents = trainee, json.RawMessage(`{"for":"`+trainee+`"}`)
	sitting.Plan = HashOf(sitting.Documents)
	w, err := s.Begin(sitting)
	if err != nil {
		t.Fatal(err)
	}
	for i := range entries {
		w.Append(entry(i + 1))
		w.Input(time.Duration(i), []byte(`{"press":"<"}`))
	}
	if result != "" {
		if err := w.End([]byte(result), true, judgedDigest()); err != nil {
			t.Fatal(err)
		}
		return
	}
	eventually(t, "everything is stored", func() bool { return stored(w) == entries })
	w.Abandon()
}

// testCaution goes over what is exported.
const testCaution = "Training aid. Not for flight; \"<&>\"."

func export(t testing.TB, s *Store) []byte {
	t.Helper()
	var b bytes.Buffer
	if _, err := s.Export(&b, Filter{}, testCaution, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// takeIn imports a file; the first sitting that is refused is an error, too.
func takeIn(s *Store, in io.Reader, checks Checks) (Imported, error) {
	got, err := s.Import(in, checks)
	if err == nil && len(got.Refused) > 0 {
		err = got.Refused[0]
	}
	return got, err
}

// withPlan gives the sittings of an export documents, where they were kept without.
func withPlan(body []byte) []byte {
	plan := HashOf([]byte("{}"))
	for _, none := range []string{"abc", "h"} {
		body = bytes.ReplaceAll(body, []byte(`"plan":"`+none+`"`), []byte(`"plan":"`+plan+`"`))
	}
	return bytes.Replace(body, []byte("\n},\n\"sittings\""), []byte("\n\""+plan+"\": {}\n},\n\"sittings\""), 1)
}

func TestExportedAndImported(t *testing.T) {
	from, to := open(t, fresh(t)), open(t, fresh(t))
	keep(t, from, "kim", judged, 20)
	keep(t, from, "", judged, 3)
	keep(t, from, "lee", "", 5)
	keep(t, to, "kim", judged, 1)
	body := export(t, from)
	for i, want := range []Imported{{New: 3}, {Known: 3}} {
		got, err := takeIn(to, bytes.NewReader(body), anything)
		if err != nil || got.New != want.New || got.Known != want.Known {
			t.Fatalf("import %d: %+v, %v; want %+v", i+1, got, err, want)
		}
	}
	// All of it is there: without what the other desk had, it would be exported as the same bytes.
	third := open(t, fresh(t))
	if _, err := takeIn(third, bytes.NewReader(body), anything); err != nil {
		t.Fatal(err)
	}
	var far []string
	if n, err := third.Export(io.Discard, Filter{}, "", func(done, total int) { far = append(far, fmt.Sprintf("%d of %d", done, total)) }); err != nil || n != 3 || strings.Join(far, ", ") != "1 of 3, 2 of 3, 3 of 3" {
		t.Errorf("%d are exported, %q, %v", n, far, err)
	}
	if again := export(t, third); !bytes.Equal(again, body) {
		t.Errorf("exported again:\n%s\nwas\n%s", again, body)
	}
	var some bytes.Buffer
	n, err := third.Export(&some, Filter{}, "", func(done, _ int) {
		if done == 1 {
			if _, err := third.Forget("lee"); err != nil {
				t.Error(err)
			}
		}
	})
	if got, imported := takeIn(open(t, fresh(t)), &some, anything); n != 2 || err != nil || imported != nil || got.New != 2 {
		t.Errorf("with one forgotten meanwhile: %d, %v; %+v, %v", n, err, got, imported)
	}
	if names, err := to.Trainees(); err != nil || fmt.Sprint(names) != "[kim lee]" {
		t.Errorf("trainees %v, %v", names, err)
	}
	if got, err := to.Summaries(Filter{Trainee: "kim"}); err != nil || len(got) != 2 {
		t.Errorf("summaries %+v, %v", got, err)
	}
}

// What is kept is not changed: a sitting that is here is skipped if it is the same, however it is written, and refused if
// anything in it differs, under whatever uid.
func TestAKnownSittingIsSkippedOrRefused(t *testing.T) {
	from, to := open(t, fresh(t)), open(t, fresh(t))
	keep(t, from, "kim", judged, 3)
	keep(t, from, "lee", "", 3)
	body := string(export(t, from))
	if got, err := takeIn(to, strings.NewReader(body), anything); err != nil || got.New != 2 {
		t.Fatal(got, err)
	}
	before := string(export(t, to))
	var loose any
	if err := json.Unmarshal([]byte(body), &loose); err != nil {
		t.Fatal(err)
	}
	m := loose.(map[string]any)
	other, err := json.MarshalIndent(struct { // in an order that can be read
		Format   any `json:"format"`
		Version  any `json:"version"`
		Plans    any `json:"plans"`
		Sittings any `json:"sittings"`
	}{m["format"], m["version"], m["plans"], m["sittings"]}, "", "\t")
	if err != nil {
		t.Fatal(err)
	}
	uids := regexp.MustCompile(`"uid":"[A-Z0-9]+"`)
	for name, same := range map[string]string{
		"the file": body, "white space and order": string(other), "escapes": strings.ReplaceAll(body, "ü", `\u00fc`),
		"numbers": strings.ReplaceAll(body, `"value":1.1,`, `"value":11e-1,`), "another uid": uids.ReplaceAllString(body, `"uid":"ANOTHER-ONE-OF-ITS-OWN"`),
	} {
		if name == "another uid" {
			same = body[:strings.LastIndex(body, ",\n{")] + "\n]\n}\n" // one of them
			same = uids.ReplaceAllString(same, `"uid":"ANOTHER-ONE-OF-ITS-OWN"`)
		}
		if got, err := takeIn(to, strings.NewReader(same), anything); err != nil || got.New != 0 || got.Known == 0 {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
	three := `{"seq":3,`
	longer := `,{"seq":4,"at":4000000,"kind":"cue","class":"horn"}`
	line := body[strings.Index(body, three):]
	line = line[:strings.Index(line, "}")+1]
	for _, c := range []struct{ name, from, to, want string }{
		{"an entry more", line, line + longer, "another log"},
		{"an entry less", "," + line, "", "another log"},
		{"another entry", `"value":1.1,`, `"value":1.2,`, "another log"},
		{"another name", `"trainee":"kim"`, `"trainee":"max"`, "another trainee"},
		{"no name", `"trainee":"kim"`, `"trainee":""`, "another trainee"},
		{"a nanosecond", `"started":"2026-04-02T09:30:00.123456789Z"`, `"started":"2026-04-02T09:30:00.123456788Z"`, "another start"},
		{"another result", `"passed":true`, `"passed":false`, "another result"},
		{"another state", `"state":"complete"`, `"state":"stopped"`, "another state"},
		{"another key", `{"press":"<"}`, `{"press":"a"}`, "another list of inputs"},
		{"another seed", `"seed":"18446744073709551614"`, `"seed":"1"`, "another seed"},
		{"another policy", `"policy":"prompted"`, `"policy":"recall"`, "another policy"},
	} {
		changed := strings.Replace(body, c.from, c.to, 1)
		if changed == body {
			t.Fatalf("%s: there is no %s", c.name, c.from)
		}
		got, err := to.Import(strings.NewReader(changed), anything)
		if err != nil || got.New != 0 || got.Known != 1 || len(got.Refused) != 1 || !strings.Contains(got.Refused[0].Error(), c.want) ||
			!strings.Contains(got.Refused[0].Error(), "sittings[0]: sitting 1 of the records") {
			t.Errorf("%s: %+v, %v", c.name, got, err)
		}
	}
	if after := string(export(t, to)); after != before {
		t.Errorf("what is kept has been changed:\n%s\nwas\n%s", after, before)
	}
	if names, err := to.Trainees(); err != nil || fmt.Sprint(names) != "[kim lee]" {
		t.Errorf("a name came in without a sitting: %v, %v", names, err)
	}
}

// A sitting that goes on would be another once it has ended: it is left out, and said to be, and so is one that cannot be read.
func TestWhatAnExportLeavesOut(t *testing.T) {
	s := open(t, fresh(t))
	keep(t, s, "kim", judged, 2)
	gap := begin(t, s)
	gap.Append(entry(1))
	gap.Append(entry(3))
	if err := gap.End([]byte(judged), true, judgedDigest()); err != nil {
		t.Fatal(err)
	}
	w := begin(t, s)
	var b bytes.Buffer
	n, err := s.Export(&b, Filter{}, testCaution, nil)
	var left *LeftOut
	if n != 1 || !errors.As(err, &left) || len(left.Sittings) != 2 || !strings.Contains(err.Error(), "no entry 2") || !strings.Contains(err.Error(), "sitting 3 goes on") {
		t.Errorf("%d, %v", n, err)
	}
	if got, err := takeIn(open(t, fresh(t)), &b, anything); err != nil || got.New != 1 {
		t.Errorf("%+v, %v", got, err)
	}
	w.Abandon()
	if n, err := s.Export(io.Discard, Filter{Trainee: "Trainee A"}, "", nil); n != 1 || err == nil {
		t.Errorf("%d, %v", n, err)
	}
}

// An alias is the same each time, another for everybody and at every desk, and only its owner can read the key.
func TestAlias(t *testing.T) {
	path := fresh(t)
	s, other := open(t, path), open(t, fresh(t))
	seen := map[string]bool{}
	for _, desk := range []*Store{s, other} {
		for _, name := range []string{"kim", "lee", "Kim"} {
			alias, err := desk.Alias(name)
			again, _ := desk.Alias(name)
			if err != nil || alias != again || CheckTrainee(alias) != nil || strings.Contains(alias, name) {
				t.Errorf("%s: %q, %q, %v", name, alias, again, err)
			}
			seen[alias] = true
		}
	}
	if alias, err := s.Alias(""); err != nil || alias != "" {
		t.Errorf("nobody: %q, %v", alias, err)
	}
	key := filepath.Join(filepath.Dir(path), aliasKey)
	info, err := os.Stat(key)
	if len(seen) != 6 || err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v, %v", seen, info, err)
	}
	// One that has been cut off could be guessed: it is not used, and not written over, since who has the rest may want to put it back.
	if err := os.Truncate(key, info.Size()-1); err != nil {
		t.Fatal(err)
	}
	if alias, err := s.Alias("kim"); err == nil || alias != "" || !strings.Contains(err.Error(), key+" is not whole; delete it") {
		t.Errorf("by a key that is not whole: %q, %v", alias, err)
	}
	if info, err := os.Stat(key); err != nil || info.Size() == 0 {
		t.Errorf("the key: %v, %v", info, err)
	}
}

// The caution over an export is there for who reads it. Files of earlier versions had none, and are taken as before; what it says elsewhere
// changes nothing of what is taken in.
func TestImportsTakeAnyCaution(t *testing.T) {
	from := open(t, fresh(t))
	keep(t, from, "kim", judged, 3)
	body := string(export(t, from))
	var said struct {
		Caution string `json:"caution"`
	}
	if err := json.Unmarshal([]byte(body), &said); err != nil || said.Caution != testCaution {
		t.Fatalf("%q, %v", said.Caution, err)
	}
	quoted := string(toJSON(testCaution))
	for name, file := range map[string]string{
		"as it is": body, "none": strings.Replace(body, `"caution": `+quoted+",\n", "", 1), "another": strings.Replace(body, quoted, `"Übungsgerät"`, 1),
		"empty": strings.Replace(body, quoted, `""`, 1),
		"last":  strings.Replace(strings.Replace(body, `"caution": `+quoted+",\n", "", 1), "\n]\n}", "\n], \"caution\": "+quoted+"}", 1),
	} {
		if name != "as it is" && file == body {
			t.Fatalf("%s: nothing was changed", name)
		}
		to := open(t, fresh(t))
		if got, err := takeIn(to, strings.NewReader(file), anything); err != nil || got.New != 1 {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
		if again := string(export(t, to)); again != body {
			t.Errorf("%s: it is exported again as %.200s", name, again)
		}
	}
}

func TestWhatIsWrongIsRefusedWhole(t *testing.T) {
	from := open(t, fresh(t))
	keep(t, from, "kim", judged, 3)
	keep(t, from, "lee", judged, 3)
	body := string(export(t, from))
	refuse := anything
	refuse.Input = func(int, json.RawMessage) error { return errors.New("no such key") }
	for _, c := range []struct{ from, to, path, want string }{
		{`"format": "hornlark-records"`, `"format": "other"`, "", "not an export"},
		{`"version": 2`, `"version": 3`, "version", "version 3, and this program reads versions 1 to 2"},
		{`"version": 2`, `"version": 0`, "version", "version 0"},
		{`"version": 2`, `"version": "2"`, "version", "cannot unmarshal"},
		{`"version": 2`, `"version": 1`, "sittings[0].policy", "has a mode in its place"},
		{`"version": 2,`, ``, "sittings", "the version has to stand before"},
		{`"policy":"prompted"`, `"policy":"prompted","mode":"recall"`, "sittings[0].mode", "called the policy"},
		{`"policy":"prompted"`, `"mode":"prompted"`, "sittings[0].mode", "called the policy"},
		{`"policy":"prompted"`, `"policy":""`, "sittings[0].policy", "missing"},
		{`"log_version":2`, `"log_version":1`, "sittings[0].log[0]", "unknown field"},
		{`"log_version":2`, `"log_version":7`, "sittings[0].log_version", "version 7"},
		{`"log_version":2,`, ``, "sittings[0].log_version", "version 0"},
		{`"kind":"cue"`, `"kind":"crew"`, "sittings[0].log[0]", `no kind "crew"`},
		{`"class":"horn"`, `"class":"trumpet"`, "sittings[0].log[0]", `no class "trumpet"`},
		{`"sittings": [`, `"sitting": [`, "sitting", "nothing of that name"},
		{`"caution": "`, `"caution": "\u001b[2J`, "caution", "cannot be shown"},
		{`"caution": "`, `"caution": 1, "x": "`, "caution", "cannot unmarshal"},
		{`"caution": "`, `"Caution": "`, "Caution", "nothing of that name"},
		{`{"for":"lee"}`, `{"for":"max"}`, "plans.", "have been changed"},
		{`"trainee":"lee"`, `"trainee":"\u001b[2J"`, "sittings[1].trainee", "cannot be shown"},
		{`"trainee":"lee"`, `"trainee":"=1+1"`, "sittings[1].trainee", "begin with a letter"},
		{`"trainee":"lee"`, `"trainee":"lee","extra":1`, "sittings[1]", "unknown field"},
		{`"scenario":"first-start"`, `"scenario":""`, "sittings[0].scenario", "missing"},
		{`"seed":"18`, `"seed":"-8`, "sittings[0].seed", "not a seed"},
		{`"seq":3`, `"seq":4`, "sittings[0].log[2]", "its seq is 4; 3 is wanted, since a log has no gaps"},
		{`"at":2000000,`, `"at":5,`, "sittings[0].log[1]", "earlier"},
		{`"at_ns":2`, `"at_ns":0`, "sittings[0].inputs[2]", "earlier"},
		{`{"at_ns":0,"event":{"press":"<"}}`, `{"at_ns":0}`, "sittings[0].inputs[0]", "no event"},
		{`{"at_ns":0,"event":{"press":"<"}}`, `{"at_ns":0,"event":null}`, "sittings[0].inputs[0]", "no event"},
		{`"state":"complete"`, `"state":"unended"`, "sittings[0].result", "has no result"},
		{`"state":"complete"`, `"state":"fine"`, "sittings[0].state", "not a state"},
		{`"started":"2026`, `"started":"1826`, "sittings[0].started", "no time"},
		{`"started":"2026`, `"started":"1970`, "sittings[0].started", "from 2000 to 2099"},
		{`"started":"2026`, `"started":"2262`, "sittings[0].started", "from 2000 to 2099"},
		{`"started":"2026`, `"started":"2099`, "sittings[0].ended", "not before it began"},
		{`"trainee":"lee"`, `"trainee":"l\u202eee"`, "sittings[1].trainee", "cannot be shown"},
		{`"trainee":"lee"`, `"trainee":"lee","trainee":"kim"`, "sittings[1]", "stands twice"},
		{`"trainee":"lee"`, `"Trainee":"lee"`, "sittings[1]", "unknown field"},
		{`"lead_ns":80000000`, `"lead_ns":80000000000000`, "sittings[0]", "more than a minute"},
		{`"lead_ns":80000000`, `"lead_ns":60000000001`, "sittings[0]", "more than a minute"},
		{`"buffer_ns":40000000`, `"buffer_ns":60000000001`, "sittings[0]", "more than a minute"},
		{`"latency_ns":39400000`, `"latency_ns":60000000001`, "sittings[0]", "more than a minute"},
		{`"lead_ns":80000000`, `"lead_ns":-1`, "sittings[0]", "below zero"},
		{`"latency_ns":39400000`, `"latency_ns":-1`, "sittings[0]", "below zero"},
		{`"state":"complete"`, `"moved_ns":3155760000000000001,"state":"complete"`, "sittings[0].moved_ns", "moved so far"},
		{`"state":"complete"`, `"moved_ns":-3155760000000000001,"state":"complete"`, "sittings[0].moved_ns", "moved so far"},
		{`"plan":"` + HashOf([]byte(`{"for":"lee"}`)), `"plan":"` + strings.Repeat("0", 32), "sittings[1].plan", "neither in the file nor in the records"},
		{"\n]\n}", "\n]\n} {}", "", "follows the end"},
		{"\n]\n}", "", "sittings", "too early"},
		{body, body[:len(body)/2], "sittings", ""},
		{body, "", "", "too early"},
		{body, `{"format": "hornlark-records", "version": 2}`, "", "the version or the sittings are missing"},
		{body, `{"format": "hornlark-records", "plans": {}}`, "", "the version or the sittings are missing"},
		{body, "[]", "", "wanted"},
	} {
		to := open(t, fresh(t))
		changed := strings.Replace(body, c.from, c.to, 1)
		done, err := to.Import(strings.NewReader(changed), anything)
		whole := err != nil
		if len(done.Refused) > 0 {
			err = done.Refused[0]
		}
		var wrong *ImportError
		if !errors.As(err, &wrong) || !strings.HasPrefix(wrong.Path, c.path) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v; want %s: %s", c.to, err, c.path, c.want)
			continue
		}
		if wrong.Offset < 0 || wrong.Offset > int64(len(changed)) {
			t.Errorf("%s: offset %d of %d", c.to, wrong.Offset, len(changed))
		}
		// All of the file is out if the file is at fault, and all of the sitting if that is.
		for i, name := range []string{"kim", "lee"} {
			want := 1
			if whole || slices.ContainsFunc(done.Refused, func(e *ImportError) bool { return strings.HasPrefix(e.Path, fmt.Sprintf("sittings[%d]", i)) }) {
				want = 0
			}
			var events int
			got, err := to.Sittings(Filter{Trainee: name})
			to.db.QueryRow("SELECT count(*) FROM event e JOIN sitting s ON s.id = e.sitting JOIN trainee t ON t.id = s.trainee WHERE t.name = ?", name).Scan(&events)
			if err != nil || len(got) != want || events != 3*want {
				t.Errorf("%s: %d sittings of %s with %d entries, %v; wanted %d", c.to, len(got), name, events, err, want)
			}
		}
		if names, err := to.Trainees(); err != nil || len(names) != done.New {
			t.Errorf("%s: names have come in: %v, %v", c.to, names, err)
		}
	}
	if _, err := takeIn(open(t, fresh(t)), strings.NewReader(body), refuse); err == nil || !strings.Contains(err.Error(), "sittings[0].inputs[0]: no such key") {
		t.Error(err)
	}
}

// What stands just within a bound, or may be left empty, is taken in.
func TestWhatIsJustWithinIsTakenIn(t *testing.T) {
	from := open(t, fresh(t))
	keep(t, from, "kim", judged, 3)
	body := string(export(t, from))
	for _, c := range [][2]string{
		{`"lead_ns":80000000`, `"lead_ns":60000000000`},
		{`"lead_ns":80000000`, `"lead_ns":0`},
		{`"version":"test"`, `"version":""`},
		{`"layout":"qwertz"`, `"layout":""`},
		{`"started":"2026-04-02T09:30:00.123456789Z"`, `"started":"2000-01-01T00:00:00Z"`},
		{`"at_ns":2`, `"at_ns":1`}, // at the same time as the one before it
		{`"at":2000000,`, `"at":1000000,`},
		{`"state":"complete"`, `"moved_ns":3155760000000000000,"state":"complete"`}, // from 2000 to 2100: 36,525 days
		{`"state":"complete"`, `"moved_ns":-3155760000000000000,"state":"complete"`},
	} {
		changed := strings.Replace(body, c[0], c[1], 1)
		if changed == body {
			t.Errorf("%s is not in the file", c[0])
		}
		if got, err := takeIn(open(t, fresh(t)), strings.NewReader(changed), anything); err != nil || got.New != 1 {
			t.Errorf("%s: %+v, %v", c[1], got, err)
		}
	}
}

// However a file is spoilt, it is taken in or refused, and nothing in between.
func TestSpoiltFiles(t *testing.T) {
	from, to := open(t, fresh(t)), open(t, fresh(t))
	keep(t, from, "kim", judged, 2)
	body := export(t, from)
	draw := rand.New(rand.NewPCG(1, 2))
	refused := 0
	for range 1000 {
		spoilt := bytes.Clone(body)
		at := draw.IntN(len(spoilt))
		switch draw.IntN(3) {
		case 0:
			spoilt[at] = byte(draw.IntN(256))
		case 1:
			spoilt = spoilt[:at]
		default:
			spoilt = append(spoilt[:at:at], spoilt[min(len(spoilt), at+1+draw.IntN(40)):]...)
		}
		before, _ := to.Sittings(Filter{})
		done, err := takeIn(to, bytes.NewReader(spoilt), anything)
		var wrong *ImportError
		if err != nil && !errors.As(err, &wrong) {
			t.Fatalf("%v: %s", err, spoilt)
		}
		after, _ := to.Sittings(Filter{})
		if err != nil {
			refused++
			done.New = 0
		}
		if len(after)-len(before) != done.New {
			t.Fatalf("%d sittings more, %+v, %v: %s", len(after)-len(before), done, err, spoilt)
		}
	}
	if refused < 700 {
		t.Errorf("only %d were refused", refused)
	}
}

func TestTrend(t *testing.T) {
	s := open(t, fresh(t))
	keep(t, s, "kim", judged, 1)
	keep(t, s, "kim", "", 1)
	for i, body := range []string{`{}`, `"text"`, `[]`, `7`} {
		keep(t, s, fmt.Sprint(i), body, 1) // what a result holds is the affair of who judges
	}
	got, err := s.Summaries(Filter{Trainee: "kim"})
	if err != nil || len(got) != 2 {
		t.Fatal(got, err)
	}
	if u := got[0]; !u.Passed || u.Asked != 2 || u.Right != 1 || u.Reactions != 2 || u.ReactionMS == nil || *u.ReactionMS != 812.5 ||
		u.State != Complete || u.Policy != "prompted" {
		t.Errorf("%+v", u)
	}
	if u := got[1]; u.State != Unended || u.Asked != 0 || u.ReactionMS != nil {
		t.Errorf("%+v", u)
	}
	injections, err := s.Injections(Filter{Trainee: "kim"})
	if err != nil || len(injections) != 2 {
		t.Fatal(injections, err)
	}
	if i := injections[0]; i.Abnormal != "hot-start" || i.Outcome != "handled" || *i.DetectionMS != 900 || i.HandlingMS != nil ||
		i.Trainee != "kim" || !i.Started.Equal(began) {
		t.Errorf("%+v", i)
	}
	if i := injections[1]; i.Abnormal != "chip" || i.Outcome != "unseen" || i.DetectionMS != nil {
		t.Errorf("%+v", i)
	}
	if all, err := s.Summaries(Filter{}); err != nil || len(all) != 6 {
		t.Error(len(all), err)
	}
}

// A figure that is none does not keep a sitting from being kept.
func TestDigestsOfOddFigures(t *testing.T) {
	s := open(t, fresh(t))
	w := begin(t, s)
	nan, inf := math.NaN(), math.Inf(1)
	d := Digest{ReactionMS: &nan, Injections: []Injection{{Abnormal: "a", DetectionMS: &inf, HandlingMS: &nan}}}
	if err := w.End([]byte("{}"), true, d); err != nil {
		t.Fatal(err)
	}
	got, err := s.Summaries(Filter{})
	if err != nil || len(got) != 1 || got[0].ReactionMS != nil {
		t.Error(got, err)
	}
	injections, err := s.Injections(Filter{})
	if err != nil || len(injections) != 1 || injections[0].DetectionMS != nil || injections[0].HandlingMS != nil {
		t.Error(injections, err)
	}
	if d.ReactionMS != &nan || d.Injections[0].DetectionMS != &inf {
		t.Error("the caller's digest was changed")
	}
}

// What is forgotten is in no file any more; what is somebody else's is as it was.
func TestForget(t *testing.T) {
	path := fresh(t)
	s := open(t, path)
	const name = "Unmistakable Name"
	keep(t, s, name, strings.Replace(judged, "chip", name, 1), 200)
	if _, err := s.db.Exec("INSERT INTO injection VALUES (1, 2, ?, 0, '', NULL, NULL)", name); err != nil { // it could stand there too
		t.Fatal(err)
	}
	keep(t, s, "kim", judged, 20)
	keep(t, s, name, "", 20)
	secrets := []string{name}
	for i, of := range []string{name, "kim"} {
		// What was kept before is overwritten by something shorter, and leaves no traces either.
		for _, n := range []int{3000, 20} {
			known := fmt.Sprintf("what %d knows: %s", i, strings.Repeat("all of it, ", n))
			if err := s.KeepKnown(of, []byte(known)); err != nil {
				t.Fatal(err)
			}
		}
		trials := fmt.Sprintf("what %d showed", i)
		err := s.write(func(tx *sql.Tx) error {
			return insertTrials(tx, int64(i+1), &Trials{Rules: 1, Version: "test", Body: []byte(trials)})
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	secrets = append(secrets, "what 0 knows", "what 0 showed")
	folder := filepath.Join(filepath.Dir(path), "unsaved")
	if err := os.MkdirAll(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	aside := filepath.Join(folder, "a.jsonl.stored")
	if err := os.WriteFile(aside, []byte(`{"uid":"A","sitting":{"trainee":"`+name+"\"}}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	before, err := s.Sittings(Filter{Trainee: "kim"})
	if err != nil {
		t.Fatal(err)
	}
	got, err := s.Forget(name)
	if err != nil || got.Sittings != 2 || len(got.Files) != 2 || !slices.Contains(got.Files, aside) {
		t.Fatalf("%+v, %v", got, err)
	}
	found := 0
	err = filepath.WalkDir(filepath.Dir(path), func(file string, entry os.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		found++
		body, err := os.ReadFile(file)
		for _, secret := range secrets {
			if bytes.Contains(body, []byte(secret)) {
				t.Errorf("%s still has %q", file, secret)
			}
		}
		return err
	})
	if err != nil || found == 0 {
		t.Fatal(found, err)
	}
	if known, err := s.Known("kim"); err != nil || !bytes.HasPrefix(known, []byte("what 1 knows")) {
		t.Errorf("what kim knows: %.40s, %v", known, err)
	}
	if known, err := s.Known(name); err != nil || known != nil {
		t.Errorf("what is known of somebody forgotten: %.40s, %v", known, err)
	}
	if err := s.KeepKnown(name, []byte("again")); err != nil {
		t.Error(err)
	}
	if names, err := s.Trainees(); err != nil || !slices.Equal(names, []string{"kim"}) {
		t.Errorf("there are %q, %v", names, err)
	}
	after, err := s.Sittings(Filter{})
	if err != nil || len(after) != 1 || fmt.Sprintf("%+v", after) != fmt.Sprintf("%+v", before) {
		t.Errorf("left is %+v, %v; was %+v", after, err, before)
	}
	wantLog(t, s, after[0].ID, 20, Complete)
	if _, err := s.db.Exec("DELETE FROM event"); err == nil {
		t.Error("events can be deleted")
	}
	if got, err := s.Forget(name); err != nil || got.Sittings != 0 {
		t.Errorf("a second time: %+v, %v", got, err)
	}

	// Whatever was left behind goes too: sittings of nobody, journals that nobody could read, damaged records.
	keep(t, s, "", judged, 5)
	keep(t, s, "", "", 5)
	damaged := path + ".damaged-20260402-093000-1"
	for file, text := range map[string]string{
		filepath.Join(folder, "b.jsonl.unreadable"): "\x00" + name + "\x00", damaged: strings.Repeat("x", 1<<20-5) + name,
		filepath.Join(folder, "c.jsonl.torn"): `{"uid":"C","sitting":{"trainee":""}}` + "\n", path + ".damaged-20260402-093000-2": "of others",
	} {
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := s.Forget(""); err != nil || got.Sittings != 2 || len(got.Files) != 2 || len(got.Left) != 2 {
		t.Errorf("of nobody: %+v, %v", got, err)
	}
	if got, err := s.Forget(name); err != nil || got.Sittings != 0 || len(got.Files) != 2 || !slices.Contains(got.Files, damaged) || len(got.Left) != 1 {
		t.Errorf("leftovers: %+v, %v", got, err)
	}
	w := begin(t, s)
	if _, err := s.Forget(example().Trainee); !errors.Is(err, ErrGoingOn) {
		t.Errorf("while a sitting goes on: %v", err)
	}
	w.Abandon()
	if body, err := s.Documents(before[0].Plan); err != nil || body == nil {
		t.Errorf("kim's documents: %s, %v", body, err)
	}
}
