package scenario_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// The table says of each policy what the words for it say: nobody asks in recall, nothing is gone through in alerts, the other pilot
// acts in watch, and figures take the place of the checklist in limits. Where nobody asks, nothing stands on the screen and feedback
// waits, for both would say what comes next.
func TestPolicies(t *testing.T) {
	want := map[scenario.PolicyName]scenario.Policy{
		scenario.Prompted: {Flow: scenario.Checklist, Asks: logbook.Partner, Waits: true, Acts: logbook.Trainee, Shown: true, Echoed: true, Feedback: scenario.AtOnce},
		scenario.Recall:   {Flow: scenario.Checklist, Acts: logbook.Trainee, Feedback: scenario.AtTheEnd},
		scenario.Alerts:   {Flow: scenario.Nothing, Feedback: scenario.AtTheEnd},
		scenario.Watch:    {Flow: scenario.Checklist, Asks: logbook.Partner, Waits: true, Acts: logbook.Pilot, Shown: true, Echoed: true, Feedback: scenario.AtTheEnd},
		scenario.Limits:   {Flow: scenario.Figures, Asks: logbook.Partner, Waits: true, Acts: logbook.Trainee, Shown: true, Echoed: true, Feedback: scenario.AtOnce},
	}
	names := scenario.PolicyNames()
	if len(names) != len(want) || len(scenario.Policies()) != len(want) {
		t.Fatalf("policies %v; wanted %d of them", names, len(want))
	}
	for _, p := range scenario.Policies() {
		found, ok := scenario.PolicyOf(p.Name)
		if !ok || found != p || !slices.Contains(names, string(p.Name)) || p.About == "" {
			t.Errorf("%s is found as %+v, %v", p.Name, found, ok)
		}
		bare := p
		bare.Name, bare.About = "", ""
		if bare != want[p.Name] {
			t.Errorf("%s: %+v; wanted %+v", p.Name, bare, want[p.Name])
		}
	}
	if _, ok := scenario.PolicyOf("watching"); ok {
		t.Error("there is a policy called watching")
	}
}

// A scenario changes of its policy what it says, and another policy can be taken for it; what it says holds for that one too.
func TestRules(t *testing.T) {
	sc := &scenario.Scenario{Policy: scenario.Prompted}
	p, tell := sc.Rules("")
	if p.Name != scenario.Prompted || p.Feedback != scenario.AtOnce || tell.Tells {
		t.Errorf("%+v, %+v", p, tell)
	}
	sc.Feedback, sc.Tell = scenario.AtTheEnd, "after 10s"
	for _, name := range []scenario.PolicyName{"", scenario.Limits} {
		p, tell = sc.Rules(name)
		if p.Feedback != scenario.AtTheEnd || tell != (scenario.Tell{Tells: true, After: 10 * time.Second}) {
			t.Errorf("%q: %+v, %+v", name, p, tell)
		}
	}
	if p.Name != scenario.Limits {
		t.Errorf("asked for limits and got %s", p.Name)
	}
	if again, _ := scenario.PolicyOf(scenario.Limits); again.Feedback != scenario.AtOnce {
		t.Error("the table has changed")
	}
	if p, _ = sc.Rules("nothing"); p.Name != "" {
		t.Errorf("there is a policy %q", p.Name)
	}
}

func TestParseTell(t *testing.T) {
	for text, want := range map[string]scenario.Tell{
		"": {}, "never": {}, "at once": {Tells: true}, "after 10s": {Tells: true, After: 10 * time.Second},
		"after 1m30s": {Tells: true, After: 90 * time.Second}, "after 5m": {Tells: true, After: 5 * time.Minute},
	} {
		if got, err := scenario.ParseTell(text); err != nil || got != want {
			t.Errorf("%q: %+v, %v", text, got, err)
		}
	}
	for _, text := range []string{"always", "after", "after ", "after 10", "after -1s", "after 0s", "after 6m", "after 10s please", "After 10s", " after 10s", "10s", "after  10s"} {
		if got, err := scenario.ParseTell(text); err == nil || !strings.Contains(err.Error(), text) {
			t.Errorf("%q: %+v, %v; wanted an error that names it", text, got, err)
		}
	}
}

// What is wrong with the rules of a scenario is told with its place and what to write.
func TestRulesThatAreWrong(t *testing.T) {
	base := strings.Replace(parScenario, "policy: prompted\n", "", 1)
	for _, c := range []struct{ lines, problem string }{
		{"policy: prompt", `mine.yaml:7:9: there is no policy "prompt"`},
		{"policy: prompted\nfeedback: later", `mine.yaml:8:11: there is no feedback "later"`},
		{"policy: prompted\ntell: after tea", `mine.yaml:8:7: "after tea" is no time to be told something; write never, at once, or a time up to 5m0s`},
		{"policy: limits\ninjections: [{abnormal: hot-start, at: 5s}]", "nothing interrupts a scenario of limits"},
		{"policy: alerts", "a scenario of alerts has no abnormals"},
		{"policy: prompted\ninjections: [{abnormal: hot-start, when: tot2_highest > 500}]", `"tot2_highest"`},
	} {
		t.Run(c.lines, func(t *testing.T) {
			_, err := resolve(t, base+c.lines+"\n")
			if err == nil || !strings.Contains(err.Error(), c.problem) {
				t.Errorf("%v\nwanted %s", err, c.problem)
			}
		})
	}
}
