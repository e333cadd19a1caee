package main

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill/logbook"
	"hornlark/drill/practice"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// sat goes through a scenario of the short ones by a policy, with something of it changed.
func sat(t *testing.T, name, policy string, answers *scenario.Answers, change func(*scenario.Scenario)) *played {
	t.Helper()
	lib, err := openLibrary([]string{filepath.Join("testdata", "short")})
	if err != nil {
		t.Fatal(err)
	}
	s, err := lib.Scenario(name)
	if err != nil {
		t.Fatal(err)
	}
	own := *s
	if change != nil {
		change(&own)
	}
	bundle, err := lib.Bundle(&own)
	if err != nil {
		t.Fatal(err)
	}
	ex, err := desk.NewExercise(bundle, scenario.PolicyName(policy), 7)
	if err != nil {
		t.Fatal(err)
	}
	if ex.Answers = answers; answers == nil {
		ex.Answers = &scenario.Answers{StartFrom: scenario.Perfect}
	}
	if err := ex.RunVirtual(context.Background(), desk.Virtual{}); err != nil {
		t.Fatal(err)
	}
	ex.Documents = bundle.Pack()
	return &played{ex, ex.Judge()}
}

// readiness runs "hornlark ready" by the clock of the records and gives what it said.
func readiness(t *testing.T, data string, args ...string) (status int, out, errs string) {
	t.Helper()
	t.Setenv("HORNLARK_DATA", data)
	t.Setenv(clockVariable, "2027-03-12T19:00:00Z")
	var said, told strings.Builder
	status = run(context.Background(), append([]string{"ready"}, args...), streams{in: strings.NewReader(""), out: &said, err: &told})
	return status, said.String(), told.String()
}

// What is answered for histories of sittings that were gone through for it, each kept as a live one is.
func TestReadyByTheRecords(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	const hover = "short-hover"
	pass := sat(t, hover, "recall", nil, nil)
	fail := sat(t, hover, "recall", &scenario.Answers{StartFrom: scenario.Perfect, LeaveOut: []string{"needles"}}, nil)
	letGo := sat(t, hover, "recall", &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"low-rotor-hover"}}, nil)
	prompted := sat(t, hover, "prompted", nil, nil)
	told := sat(t, hover, "recall", nil, func(s *scenario.Scenario) { s.Tell = "at once" })
	lax := sat(t, hover, "recall", nil, func(s *scenario.Scenario) { s.Pass = scenario.Criteria{} })
	bent := sat(t, "short-start", "recall", &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"hot-start"}}, func(s *scenario.Scenario) {
		s.Pass = scenario.Criteria{OutOfOrder: new(int)} // nothing else is asked, and that is reached
	})
	part := sat(t, "short-start", "recall", nil, func(s *scenario.Scenario) { s.Phases, s.Injections = []string{"power"}, nil })
	broken := &played{&desk.Exercise{}, nil}
	*broken.ex = *pass.ex
	broken.ex.Log = slices.Clone(pass.ex.Log[:len(pass.ex.Log)/2])
	broken.result = broken.ex.Judge()
	for name, p := range map[string]*played{"pass": pass, "prompted": prompted} {
		if !p.result.Passed {
			t.Fatalf("%s is not passed: %+v", name, p.result.Criteria)
		}
	}
	if !told.result.Completed || fail.result.Passed || letGo.result.Passed || broken.result.Completed || len(bent.result.Inspections) == 0 || bent.result.EndedWhy != logbook.Inspection {
		t.Fatalf("the sittings do not show what they are for: told %v, failed %v, let go %v, broken off %v, bent %v", told.result.EndedWhy,
			fail.result.Passed, letGo.result.Passed, broken.result.Completed, bent.result.EndedWhy)
	}

	criteria := filepath.Join(t.TempDir(), "criteria.yaml")
	if err := os.WriteFile(criteria, []byte("passes_in_a_row: 3\ndays_apart: 2\nsurprises: 1\nwithin_days: 14\nhandled: 1\nrecall: 0.5\nparts: [short-hover, short-start]\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	type one struct {
		day  float64 // before the day
		what *played
	}
	for name, c := range map[string]struct {
		sat    []one
		answer practice.Readiness
		row    int
		passes string // count and of
		reason string // part of one; empty: there is none
	}{
		"three in a row":            {[]one{{8, pass}, {6, pass}, {3, pass}}, practice.IsReady, 3, "3 of 3", ""},
		"all of one day":            {[]one{{3.2, pass}, {3.1, pass}, {3, pass}}, practice.NotEnough, 1, "3 of 3", "between them: 1; wanted: 3"},
		"a failed one in between":   {[]one{{9, pass}, {7, pass}, {5, fail}, {3, pass}}, practice.NotEnough, 1, "3 of 4", "between them: 1"},
		"a failed one at last":      {[]one{{8, pass}, {6, pass}, {3, pass}, {1, fail}}, practice.NotYet, 0, "3 of 4", "was not passed"},
		"broken off in between":     {[]one{{9, pass}, {7, broken}, {5, pass}, {3, pass}}, practice.NotEnough, 2, "3 of 3", "between them: 2"},
		"broken off at last":        {[]one{{8, pass}, {6, pass}, {3, pass}, {1, broken}}, practice.NotEnough, 0, "3 of 3", "was broken off"},
		"prompted":                  {[]one{{8, prompted}, {6, prompted}, {3, prompted}}, practice.NotEnough, 0, "0 of 0", "no unannounced sitting"},
		"told":                      {[]one{{8, told}, {6, told}, {3, told}}, practice.NotYet, 0, "0 of 0", "no unannounced sitting"},
		"nothing to pass":           {[]one{{8, lax}, {6, lax}, {3, lax}}, practice.NotEnough, 0, "0 of 0", "no unannounced sitting"},
		"prompted between counts":   {[]one{{8, pass}, {6, pass}, {5, prompted}, {3, pass}}, practice.IsReady, 3, "3 of 3", ""},
		"let go by, and it passed":  {[]one{{8, pass}, {6, pass}, {3, pass}, {2, letGo}}, practice.NotYet, 0, "3 of 4", "handled, the latest time of each: 0 of 1"},
		"too long ago":              {[]one{{28, pass}, {26, pass}, {23, pass}}, practice.NotEnough, 3, "3 of 3", "more than 14 days before the day"},
		"another part of it":        {[]one{{8, part}, {6, part}, {3, part}}, practice.NotEnough, 0, "0 of 0", "no unannounced sitting"},
		"met before, prompted":      {[]one{{9, prompted}, {8, pass}, {6, pass}, {3, pass}}, practice.NotEnough, 3, "3 of 3", "not come before at the same places: 0; wanted: 1"},
		"a clock that says nothing": {[]one{{8, pass}, {6, pass}, {20_000, pass}, {3, pass}}, practice.IsReady, 3, "4 of 4", ""}, // 1972
		"a clock far ahead":         {[]one{{8, pass}, {6, pass}, {-400, pass}}, practice.NotEnough, 3, "3 of 3", "a clock was wrong"},
		"nothing":                   {nil, practice.NotEnough, 0, "0 of 0", "no unannounced sitting"},
	} {
		t.Run(name, func(t *testing.T) {
			data := t.TempDir()
			store := recordsIn(t, data)
			part.keep(t, store, "kim", time.Date(2027, 1, 2, 19, 0, 0, 0, time.UTC), false, false)  // so that there are records
			fail.keep(t, store, "ann", time.Date(2027, 3, 11, 19, 0, 0, 0, time.UTC), false, false) // another's
			for _, s := range c.sat {
				s.what.keep(t, store, "kim", time.Date(2027, 3, 12, 19, 0, 0, 0, time.UTC).Add(-time.Duration(s.day*24*float64(time.Hour))), false, false)
			}
			status, out, errs := readiness(t, data, "--trainee", "kim", "--with", filepath.Join("testdata", "short"), "--criteria", criteria, "--procedure", hover, "--json")
			var said struct {
				Answer practice.Readiness
				Parts  []struct {
					Name             string
					InARow           int `json:"in_a_row"`
					Passes           practice.Share
					Against, Lacking []string
				}
				NoLicence string `json:"no_licence"`
			}
			if err := json.Unmarshal([]byte(out), &said); err != nil || len(said.Parts) != 1 {
				t.Fatalf("%v: %s%s", err, out, errs)
			}
			want := exitNotPassed
			if c.answer == practice.IsReady {
				want = exitPassed
			}
			p := said.Parts[0]
			reasons := strings.Join(append(p.Against, p.Lacking...), "\n")
			if said.Answer != c.answer || status != want || p.InARow != c.row || !strings.HasPrefix(withInterval(p.Passes), c.passes) ||
				(c.reason == "") != (reasons == "") || !strings.Contains(reasons, c.reason) || said.NoLicence != practice.NoLicence {
				t.Errorf("status %d: %s%s", status, out, errs)
			}
		})
	}

	// Phases alone are no sitting of the whole; and metal that was bent is never passed, whatever was asked for.
	data := t.TempDir()
	store := recordsIn(t, data)
	part.keep(t, store, "kim", time.Date(2027, 3, 10, 19, 0, 0, 0, time.UTC), false, false)
	if _, out, errs := readiness(t, data, "--trainee", "kim", "--with", filepath.Join("testdata", "short"), "--criteria", criteria, "--procedure", "short-start"); !strings.Contains(out, "There is no unannounced sitting of it") {
		t.Errorf("phases alone: %s%s", out, errs)
	}
	bent.keep(t, store, "kim", time.Date(2027, 3, 11, 19, 0, 0, 0, time.UTC), false, false)
	status, out, errs := readiness(t, data, "--trainee", "kim", "--with", filepath.Join("testdata", "short"), "--criteria", criteria, "--procedure", "short-start")
	if status != exitNotPassed || !strings.Contains(out, ": NOT YET") || !strings.Contains(out, "of 11 Mar 2027, was not passed") || !strings.Contains(out, "unannounced: 0 of 1") {
		t.Errorf("status %d: %s%s", status, out, errs)
	}
}

// What is said of readiness names no abnormal that can come, by name or title, and says that there is no licence; an instructor can
// have them named.
func TestReadyNamesNoAbnormal(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	data := t.TempDir()
	store := recordsIn(t, data)
	letGo := sat(t, "short-hover", "recall", &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"low-rotor-hover"}}, nil)
	letGo.keep(t, store, "kim", time.Date(2027, 3, 10, 19, 0, 0, 0, time.UTC), false, false)
	lib, err := openLibrary(nil)
	if err != nil {
		t.Fatal(err)
	}
	flat := func(out string) string { return strings.Join(strings.Fields(out), " ") }
	for _, form := range [][]string{nil, {"--json"}} {
		_, hidden, _ := readiness(t, data, append([]string{"--trainee", "kim"}, form...)...)
		status, shown, errs := readiness(t, data, append([]string{"--trainee", "kim", "--reveal"}, form...)...)
		if status != exitNotPassed || !strings.Contains(flat(hidden), practice.NoLicence) || !strings.Contains(flat(hidden), ownChoice) {
			t.Errorf("status %d: %s%s", status, hidden, errs)
		}
		named := 0
		for _, a := range lib.Abnormals() {
			if regexp.MustCompile(`\b`+regexp.QuoteMeta(a.Name)+`\b`).MatchString(hidden) || strings.Contains(flat(hidden), a.Title) {
				t.Errorf("%v names %s (%s)", form, a.Name, a.Title)
			}
			if strings.Contains(flat(shown), a.Title) {
				named++
			}
		}
		if named < 20 {
			t.Errorf("%v: --reveal names %d abnormals: %s", form, named, shown)
		}
		for line := range strings.SplitSeq(shown, "\n") {
			if form == nil && len([]rune(line)) > reportWidth {
				t.Errorf("%q is wider than %d", line, reportWidth)
			}
		}
	}
}

// What came before at the same places is told from what is new: the same documents, and nothing drawn or the same draw.
func TestCameBefore(t *testing.T) {
	at := func(plan string, seed uint64) record.Counted { return record.Counted{Plan: plan, Seed: seed} }
	fixed := &scenario.Scenario{Injections: []scenario.Injection{{Abnormal: "fire"}}}
	drawn := &scenario.Scenario{Drawn: &scenario.Drawn{From: []string{"fire"}}}
	for name, c := range map[string]struct {
		s    *scenario.Scenario
		sat  []record.Counted
		want bool
	}{
		"the first":      {fixed, []record.Counted{at("a", 1)}, false},
		"the second":     {fixed, []record.Counted{at("a", 1), at("b", 1), at("a", 2)}, true},
		"another's":      {fixed, []record.Counted{at("b", 1), at("a", 1)}, false},
		"drawn anew":     {drawn, []record.Counted{at("a", 1), at("a", 2)}, false},
		"drawn the same": {drawn, []record.Counted{at("a", 2), at("a", 1), at("a", 2)}, true},
	} {
		if got := cameBefore(c.s, c.sat); got != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
}

// Every part of a built-in aircraft can be shown by a command, which goes through it unannounced, and has something to be known for it.
func TestEveryPartCanBeShown(t *testing.T) {
	lib, err := openLibrary(nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, prof := range lib.Profiles() {
		a := &assessed{options: &readyOptions{}, lib: lib, all: lib, aircraft: prof}
		parts, err := a.partsOf(prof.Name)
		if err != nil {
			t.Fatal(err)
		}
		kinds := map[practice.PartKind]int{}
		for _, p := range parts {
			kinds[p.seen.Kind]++
			a.plans = nil
			how, known := strings.CutPrefix(a.howToShow(p), "hornlark drill ")
			name, policy, _ := strings.Cut(how, " --policy ")
			s, err := lib.Scenario(name)
			if !known || err != nil || !practice.Unannounced(p.seen.Kind, s, scenario.PolicyName(policy)) || p.title == "" {
				t.Errorf("%s, %s: %q, %v", prof.Name, p.name, how, err)
			}
			if len(s.Abnormals()) == 0 && p.seen.Kind != practice.LimitsPart {
				t.Errorf("%s, %s: %s brings nothing", prof.Name, p.name, how)
			}
			bundle, err := lib.Bundle(s)
			if err != nil {
				t.Fatal(err)
			}
			a.plans = map[string]bool{record.HashOf(bundle.Pack()): true}
			if again := a.howToShow(p); (again == "hornlark drill "+how) != (s.Drawn != nil || p.seen.Kind == practice.LimitsPart) {
				t.Errorf("%s, %s: %s, and once that was sat %s", prof.Name, p.name, how, again)
			}
			if len(p.seen.Things) == 0 || (p.seen.Kind == practice.LimitsPart) != (len(p.seen.Abnormals) == 0) {
				t.Errorf("%s, %s: %d things to know, %d abnormals", prof.Name, p.name, len(p.seen.Things), len(p.seen.Abnormals))
			}
			if notices := count(p.seen.Things, score.TrialNotice); notices != len(p.seen.Abnormals) {
				t.Errorf("%s, %s: %d abnormals, and %d to notice", prof.Name, p.name, len(p.seen.Abnormals), notices)
			}
		}
		if kinds[practice.FlowPart] == 0 || kinds[practice.WatchPart] != 1 || kinds[practice.LimitsPart] != 1 {
			t.Errorf("%s: %v", prof.Name, kinds)
		}
	}
}

func count(things []practice.Thing, kind score.TrialKind) (n int) {
	for _, t := range things {
		if t.Kind == kind {
			n++
		}
	}
	return n
}

// TestWithInterval: intervals are never shown narrower than they are.
func TestWithInterval(t *testing.T) {
	for want, s := range map[string]practice.Share{
		"3 of 3 (43 to 100 %)": {Count: 3, Of: 3, Low: 0.4385, High: 1},
		"1 of 4 (4 to 70 %)":   {Count: 1, Of: 4, Low: 0.0456, High: 0.6994},
		"0 of 0 (0 to 100 %)":  {High: 1},
	} {
		if got := withInterval(s); got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}
