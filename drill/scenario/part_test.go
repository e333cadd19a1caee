package scenario_test

import (
	"slices"
	"testing"
	"time"

	"hornlark/drill/scenario"
)

// The phases of a scenario are neighbours in the order of its procedure; without any it goes through all.
func TestPhasesOfAScenario(t *testing.T) {
	ids := sound(t).proc.PhaseIDs()
	last := len(ids) - 1
	for _, c := range []struct {
		name          string
		policy        scenario.PolicyName
		phases        []string
		from, until   int
		path, problem string // empty: they are sound
	}{
		{"all", scenario.Prompted, nil, 0, len(ids), "", ""},
		{"the first", scenario.Prompted, ids[:1], 0, 1, "", ""},
		{"two", scenario.Recall, ids[1:3], 1, 3, "", ""},
		{"the last", scenario.Prompted, ids[last:], last, len(ids), "", ""},
		{"every one", scenario.Prompted, ids, 0, len(ids), "", ""},
		{"one that is none", scenario.Prompted, []string{ids[0], "tea"}, 0, 0, "phases[1]", `"tea"`},
		{"one left out", scenario.Prompted, []string{ids[0], ids[2]}, 0, 0, "phases[1]", "does not come right after"},
		{"turned round", scenario.Prompted, []string{ids[1], ids[0]}, 0, 0, "phases[1]", "does not come right after"},
		{"twice", scenario.Prompted, []string{ids[1], ids[1]}, 0, 0, "phases[1]", "does not come right after"},
		{"of limits", scenario.Limits, ids[:1], 0, 0, "phases", "no phase runs"},
	} {
		x := sound(t)
		x.Injections, x.Policy, x.Phases = nil, c.policy, c.phases
		only(t, c.name, x.check(), c.path, c.problem)
		if from, until := x.Part(x.proc); c.path == "" && (from != c.from || until != c.until) {
			t.Errorf("%s: %d to %d; wanted %d to %d", c.name, from, until, c.from, c.until)
		}
	}
}

// In a scenario of some phases nothing can come at an item or in a phase outside of them, and that is told once for each.
func TestOutsideOfThePhases(t *testing.T) {
	first, second := sound(t).proc.Phases[0], sound(t).proc.Phases[1]
	for _, c := range []struct {
		name          string
		set           func(*exercise)
		path, problem string // empty: it is sound
	}{
		{"at an item of it", func(x *exercise) {
			x.Injections = []scenario.Injection{{Abnormal: "hot-start", During: second.Items[0].ID}}
		}, "", ""},
		{"at the last item of it", func(x *exercise) {
			x.Injections = []scenario.Injection{{Abnormal: "hot-start", During: second.Items[len(second.Items)-1].ID}}
		}, "", ""},
		{"at an item of another", func(x *exercise) {
			x.Injections = []scenario.Injection{{Abnormal: "hot-start", During: first.Items[0].ID}}
		}, "injections[0].during", first.ID},
		{"drawn in it", func(x *exercise) { x.drawn().Phases = []string{second.ID} }, "", ""},
		{"drawn in another", func(x *exercise) { x.drawn().Phases = []string{second.ID, first.ID} }, "drawn.phases[1]", first.ID},
		{"drawn in none", func(x *exercise) { x.drawn().Phases = []string{"tea"} }, "drawn.phases[0]", `"tea"`},
	} {
		x := sound(t)
		x.Injections, x.Phases = nil, []string{second.ID}
		c.set(x)
		only(t, c.name, x.check(), c.path, c.problem)
	}
}

// Of a scenario that is gone through in part stays what can come in that part: injections during its items or on a condition, and what
// is drawn in its phases, at any time of it. What was to come at a time, or elsewhere, is left out. The scenario itself stays as it is.
func TestOnlySomePhases(t *testing.T) {
	x := sound(t)
	first, second := x.proc.Phases[0], x.proc.Phases[1]
	at := func(in scenario.Injection) scenario.Injection { in.Abnormal = "hot-start"; return in }
	x.Injections = []scenario.Injection{
		at(scenario.Injection{During: first.Items[0].ID}), at(scenario.Injection{During: second.Items[0].ID}), at(scenario.Injection{When: "nr > 90"}), at(scenario.Injection{At: time.Second}),
	}
	for _, c := range []struct {
		name   string
		drawn  []string // phases
		draws  bool
		phases []string
	}{
		{"in any phase", nil, true, nil},
		{"in this one", []string{second.ID}, true, []string{second.ID}},
		{"in both", []string{first.ID, second.ID}, true, []string{second.ID}},
		{"in another", []string{first.ID}, false, nil},
	} {
		x.Drawn = &scenario.Drawn{From: []string{"hot-start"}, Phases: c.drawn, Window: scenario.Window{From: time.Minute}}
		got := x.Only(x.proc, []string{second.ID})
		if !slices.Equal(got.Injections, x.Injections[1:3]) || !slices.Equal(got.Phases, []string{second.ID}) {
			t.Errorf("%+v, %q", got.Injections, got.Phases)
		}
		if (got.Drawn != nil) != c.draws || c.draws && (!slices.Equal(got.Drawn.Phases, c.phases) || got.Drawn.Window != (scenario.Window{})) {
			t.Errorf("drawn %s: %+v", c.name, got.Drawn)
		}
		if len(x.Injections) != 4 || !slices.Equal(x.Drawn.Phases, c.drawn) || x.Drawn.Window.From != time.Minute || x.Phases != nil {
			t.Errorf("drawn %s: the scenario has changed: %+v", c.name, x.Scenario)
		}
	}
	x.Drawn = nil
	if got := x.Only(x.proc, []string{second.ID}); got.Drawn != nil {
		t.Errorf("%+v", got.Drawn)
	}
}

// Nothing may be put into what is not gone through.
func TestOutsideOfAPart(t *testing.T) {
	for _, c := range []struct {
		name          string
		change        func(*exercise)
		path, problem string
	}{
		{"injected outside", func(x *exercise) {
			x.Phases = []string{"start-2"}
			x.Injections = []scenario.Injection{{Abnormal: "hot-start", During: "start-1"}}
		}, "injections[0].during", "phase start-1 is not gone through here"},
		{"injected inside", func(x *exercise) {
			x.Phases = []string{"start-2", "start-1"}
			x.Injections = []scenario.Injection{{Abnormal: "hot-start", During: "start-1"}}
		}, "", ""},
		{"drawn outside", func(x *exercise) {
			x.Phases = []string{"start-2", "start-1"}
			x.drawn().Phases = []string{"start-1", "hover"}
		}, "drawn.phases[1]", "phase hover is not gone through here"},
		{"drawn anywhere", func(x *exercise) {
			x.Phases = []string{"start-2", "start-1"}
			x.drawn()
		}, "", ""},
	} {
		x := sound(t)
		x.Injections = nil
		c.change(x)
		only(t, c.name, x.check(), c.path, c.problem)
	}
}

// What is made of a scenario for some phases alone is sound, whatever phases they are, and keeps what comes in them.
func TestOnlyIsSound(t *testing.T) {
	x := sound(t)
	x.Injections = append(x.Injections, scenario.Injection{Abnormal: "hot-start", At: time.Minute})
	x.Drawn = &scenario.Drawn{
		From: []string{"hot-start"}, Count: 1, MeanGap: 20 * time.Second, MaxGap: time.Minute,
		Window: scenario.Window{From: 10 * time.Minute}, Phases: []string{"start-2", "start-1", "hover"},
	}
	whole := x.Scenario
	ids := x.proc.PhaseIDs()
	kept := 0
	for i, id := range ids {
		x.Scenario = whole.Only(x.proc, ids[i:i+1])
		only(t, id, x.check(), "", "")
		kept += len(x.Injections)
		inWindow := id == "start-2" || id == "start-1" || id == "hover"
		if (x.Drawn != nil) != inWindow || x.Drawn != nil && (!slices.Equal(x.Drawn.Phases, []string{id}) || x.Drawn.Window != scenario.Window{}) {
			t.Errorf("%s: drawn is %+v", id, x.Drawn)
		}
	}
	if kept != len(whole.Injections)-1 {
		t.Errorf("%d of %d injections come in a phase, want all but the one at a time", kept, len(whole.Injections))
	}
	if len(whole.Phases) > 0 || whole.Drawn.Window.From == 0 {
		t.Error("the scenario itself was changed")
	}
}
