package drill_test

import (
	"bytes"
	"cmp"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gopkg.in/yaml.v3"

	"hornlark/drill/debrief"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// verdict is one case of testdata/verdicts/verdicts.yaml: a sitting with the answers of the file that has its name, and what a
// flight instructor says of it. The table was written before any of it was run; where the program says something else, it is the
// program that is looked at first.
type verdict struct {
	Case       string                   `yaml:"case"`     // its answers are in <case>.yaml
	Says       string                   `yaml:"says"`     // the instructor, in a sentence or two
	Scenario   string                   `yaml:"scenario"` // of the built-in library
	Policy     scenario.PolicyName      `yaml:"policy"`   // empty: the scenario's
	Seed       uint64                   `yaml:"seed"`     // zero: drilltest.Seed
	State      string                   `yaml:"state"`    // to begin in; empty: the scenario's
	Inject     []scenario.Injection     `yaml:"inject"`   // in place of what the scenario has; all of it has to be handled, and look-alikes left alone
	Ended      logbook.Reason           `yaml:"ended"`    // empty: complete
	Passed     bool                     `yaml:"passed"`
	Outcomes   map[string]score.Outcome `yaml:"outcomes"`   // of every abnormal that came, by its name
	Departures []string                 `yaml:"departures"` // all of them, in order: the kind, then the items or the control
	Inspect    []string                 `yaml:"inspect"`    // a part of each sentence about a limit that was passed
	Held       []string                 `yaml:"held"`       // items that had to be right, and were not
	Items      map[string]score.Outcome `yaml:"items"`      // of some items
	Said       int                      `yaml:"said"`       // how often "yes" was said to what was not so
	Alarms     int                      `yaml:"alarms"`     // how often something was taken for wrong that was not
	Least      float64                  `yaml:"least"`      // of the index, if one is given
	Most       float64                  `yaml:"most"`       // of the index; zero: 100
	Stands     []string                 `yaml:"stands"`     // in the report
	Never      []string                 `yaml:"never"`      // in the report
	Disputed   string                   `yaml:"disputed"`   // why the program does not say so yet; empty where it does
}

// verdicts reads the table.
func verdicts(t *testing.T) []verdict {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "verdicts", "verdicts.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	var all []verdict
	decoder := yaml.NewDecoder(bytes.NewReader(data))
	decoder.KnownFields(true)
	if err := decoder.Decode(&all); err != nil {
		t.Fatal(err)
	}
	return all
}

// Every file of answers is judged as a flight instructor would judge it.
func TestVerdicts(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	all := verdicts(t)
	policies, profiles := map[scenario.PolicyName]int{}, map[string]int{}
	for _, v := range all {
		t.Run(v.Case, func(t *testing.T) {
			s := v.sit(t, lib)
			policies[s.Exercise.Policy().Name]++
			profiles[s.Profile.Name]++
			v.hold(t, s)
		})
	}
	disputed := 0
	for _, v := range all {
		if v.Disputed != "" {
			disputed++
		}
	}
	t.Logf("%d cases, %d of them disputed: %v, %v", len(all), disputed, policies, profiles)
}

// sit goes through the sitting of a case.
func (v *verdict) sit(t *testing.T, lib *library.Library) *drilltest.Sitting {
	t.Helper()
	answers, err := library.ReadAnswers(filepath.Join("testdata", "verdicts", v.Case+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	setup := drilltest.Of(t, lib, v.Scenario)
	setup.Policy = v.Policy
	if v.Seed != 0 {
		setup.Seed = v.Seed
	}
	sc := *setup.Scenario
	if v.State != "" {
		sc.State = v.State
	}
	if v.Inject != nil {
		all, none := 1.0, 0
		sc.Injections, sc.Drawn = v.Inject, nil
		sc.Pass.Handled, sc.Pass.LookAlikes = &all, &none
	}
	setup.Scenario = &sc
	return setup.Through(t, answers, nil)
}

// hold holds the result, and the report, to what the instructor says.
func (v *verdict) hold(t *testing.T, s *drilltest.Sitting) {
	t.Helper()
	differs := v.differs(s)
	switch {
	case v.Disputed == "":
		for _, text := range differs {
			t.Error(text)
		}
		if len(differs) > 0 {
			t.Logf("the instructor: %s", v.Says)
		}
	case len(differs) == 0:
		t.Error("the program says what the instructor says: it is disputed no longer")
	default:
		t.Logf("disputed: %s (%s)", v.Disputed, strings.Join(differs, "; "))
	}
}

// differs is where the program says something else than the instructor.
func (v *verdict) differs(s *drilltest.Sitting) (all []string) {
	r := s.Result
	same := func(what string, want, got any) {
		if a, b := fmt.Sprint(want), fmt.Sprint(got); a != b {
			all = append(all, fmt.Sprintf("%s: %v; the instructor says %v", what, b, a))
		}
	}
	same("ended", cmp.Or(v.Ended, logbook.Complete), r.EndedWhy)
	same("passed", v.Passed, r.Passed)
	same("outcomes", words(v.Outcomes), words(outcomesOf(r)))
	same("departures", v.Departures, departuresOf(r))
	same("inspections", len(v.Inspect), len(r.Inspections))
	same("held", v.Held, r.Held)
	same("yes to what was not so", v.Said, r.False)
	same("false alarms", v.Alarms, r.Looking.FalseAlarms)
	for _, it := range r.Items {
		if want, named := v.Items[it.ID]; named {
			same(it.ID, want, it.Outcome)
		}
	}
	switch index, most := r.Index.Value, cmp.Or(v.Most, 100); {
	case index == nil:
		all = append(all, "there is no index")
	case *index < v.Least || *index > most:
		all = append(all, fmt.Sprintf("index %g; the instructor gives %g to %g", *index, v.Least, most))
	}
	report := strings.Join(strings.Fields(strings.Join(reportOf(s), " ")), " ")
	for _, text := range slices.Concat(v.Stands, v.Inspect) {
		if !strings.Contains(report, text) {
			all = append(all, fmt.Sprintf("the report does not say %q", text))
		}
	}
	for _, text := range v.Never {
		if strings.Contains(report, text) {
			all = append(all, fmt.Sprintf("the report says %q", text))
		}
	}
	return all
}

// outcomesOf gives the outcome of every abnormal; of one that came twice, the last.
func outcomesOf(r *score.Result) map[string]score.Outcome {
	all := map[string]score.Outcome{}
	for _, in := range r.Injections {
		all[in.Abnormal] = in.Outcome
	}
	return all
}

// words writes outcomes in order.
func words(of map[string]score.Outcome) []string {
	var all []string
	for _, name := range slices.Sorted(maps.Keys(of)) {
		all = append(all, name+" "+string(of[name]))
	}
	return all
}

// departuresOf gives the departures as the table writes them.
func departuresOf(r *score.Result) []string {
	var all []string
	for _, d := range r.Order.Deviations {
		what := strings.Join(d.Items, " ")
		if what == "" {
			what = d.Control
		}
		all = append(all, string(d.Kind)+" "+what)
	}
	return all
}

// reportOf is the whole report.
func reportOf(s *drilltest.Sitting) []string {
	return debrief.Text(debrief.Head{Scenario: s.Scenario.Name, Title: s.Scenario.Title, Seed: s.Seed}, s.Result, 110)
}

// Each file of answers belongs to a case, so that none is left unjudged.
func TestEveryFileOfAnswersHasItsVerdict(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("testdata", "verdicts", "*.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	named := map[string]bool{"verdicts": true}
	for _, v := range verdicts(t) {
		if named[v.Case] {
			t.Errorf("%s is there twice", v.Case)
		}
		named[v.Case] = true
		if v.Says == "" {
			t.Errorf("%s: the instructor says nothing", v.Case)
		}
	}
	for _, file := range files {
		if name := strings.TrimSuffix(filepath.Base(file), ".yaml"); !named[name] {
			t.Errorf("%s has answers and no verdict", name)
		}
	}
	const least = 60
	if len(named)-1 < least {
		t.Errorf("%d cases; %d is the least", len(named)-1, least)
	}
}
