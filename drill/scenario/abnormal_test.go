package scenario_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

// mine is a sound abnormal with two actions in a group, and its profile.
func mine(t *testing.T) (*scenario.Abnormal, *aircraft.Profile) {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	b, err := lib.Resolve("first-start")
	if err != nil {
		t.Fatal(err)
	}
	act := func(control, position string) scenario.Action {
		return scenario.Action{Set: aircraft.Put(control, position), Within: 5 * time.Second, Say: "It is done"}
	}
	a := &scenario.Abnormal{
		Name: "mine", Title: "Mine", Profile: b.Profile.Name, Call: "There is something.", Cues: []string{"nr"}, Timeout: 20 * time.Second,
		Actions: []scenario.Action{act("collective", "20"), act("autopilot", "off"), act("lever1", "shut")},
		Also:    []scenario.Move{{Set: aircraft.Put("radio", "base"), Say: "Somebody knows."}},
		Worse:   []scenario.Move{{Set: aircraft.Put("lever2", "shut"), Say: "That one runs."}},
		Handled: "nr > 97", Lost: "nr_lowest < 80",
		Ends: []scenario.Ending{{When: "nr_lowest < 85 and since_onset > 2", Text: "It sank."}, {When: "nr > 97", For: 2 * time.Second, Text: "It came back."}},
	}
	a.Actions[0].Group, a.Actions[1].Group = "first", "first"
	if err := a.Check(b.Profile).Err(); err != nil {
		t.Fatal(err)
	}
	return a, b.Profile
}

// Each thing that can be wrong with an abnormal is told with its place, and with what to write instead.
func TestFaultsOfAbnormals(t *testing.T) {
	for _, c := range []struct {
		name          string
		spoil         func(*scenario.Abnormal)
		path, problem string
	}{
		{"group that is interrupted", func(a *scenario.Abnormal) { a.Actions[1].Group, a.Actions[2].Group = "", "first" }, "actions[2].group", "interrupted"},
		{"group of one", func(a *scenario.Abnormal) { a.Actions[1].Group = "second" }, "actions[1].group", "nothing else is in group second"},
		{"action in two ways", func(a *scenario.Abnormal) { a.Actions[0].Silence = true }, "actions[0]", "in 2 ways"},
		{"answer that is none", func(a *scenario.Abnormal) { a.Actions[0].Set, a.Actions[0].Answer = nil, "maybe" }, "actions[0].answer", `"maybe" is not an answer`},
		{"action without a time", func(a *scenario.Abnormal) { a.Actions[0].Within = 0 }, "actions[0].within", "out of range"},
		{"no actions", func(a *scenario.Abnormal) { a.Actions, a.Handled = nil, "" }, "actions", "nothing ends it"},
		{"also without a move", func(a *scenario.Abnormal) { a.Also[0].Set = nil }, "also[0]", "which move"},
		{"also without a reason", func(a *scenario.Abnormal) { a.Also[0].Say = "" }, "also[0].say", "reason"},
		{"also with a control that is none", func(a *scenario.Abnormal) { a.Also[0].Set = aircraft.Put("radioo", "base") }, "also[0].set.radioo", `"radioo"`},
		{"worse with a position that is none", func(a *scenario.Abnormal) { a.Worse[0].Set = aircraft.Put("lever2", "shot") }, "worse[0].set.lever2", `"shot"`},
		{"reset to a state that is none", func(a *scenario.Abnormal) { a.Reset = "hovver" }, "reset", `"hovver"`},
		{"reset of what remains", func(a *scenario.Abnormal) { a.Reset, a.Remains = "hover", true }, "remains", "nothing left in it"},
		{"reset after nothing", func(a *scenario.Abnormal) { a.Reset, a.Harmless = "hover", true }, "reset", "something harmless"},
		{"too many moves", func(a *scenario.Abnormal) { a.Also = slices.Repeat(a.Also, 13) }, "also", "13 moves"},
		{"ending without a condition", func(a *scenario.Abnormal) { a.Ends[0].When = "" }, "ends[0]", "when the sentence is true"},
		{"ending with a name that is none", func(a *scenario.Abnormal) { a.Ends[0].When = "nr_least < 85" }, "ends[0].when", "nr_least"},
		{"ending that is no condition", func(a *scenario.Abnormal) { a.Ends[0].When = "nr_lowest" }, "ends[0].when", ""},
		{"ending without words", func(a *scenario.Abnormal) { a.Ends[0].Text = "" }, "ends[0].text", "ending"},
		{"ending that has to hold too long", func(a *scenario.Abnormal) { a.Ends[1].For = time.Hour }, "ends[1].for", "out of range"},
		{"too many endings", func(a *scenario.Abnormal) { a.Ends = slices.Repeat(a.Ends, 5) }, "ends", "10 endings"},
		{"end state that is no condition", func(a *scenario.Abnormal) { a.Handled = "nr >" }, "handled", ""},
		{"lost by a name that is none", func(a *scenario.Abnormal) { a.Lost = "nrr < 80" }, "lost", "nrr"},
		{"cue that is none", func(a *scenario.Abnormal) { a.Cues = []string{"nrr"} }, "cues[0]", `"nrr"`},
		{"call without words", func(a *scenario.Abnormal) { a.Call, a.Cues = "", []string{"call"} }, "cues[0]", "no words"},
		{"harmless, and acted on", func(a *scenario.Abnormal) { a.Harmless = true }, "actions", "harmless"},
		{"harmless without an end", func(a *scenario.Abnormal) { a.Harmless, a.Actions, a.Timeout = true, nil, 0 }, "timeout", "end by itself"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a, prof := mine(t)
			c.spoil(a)
			faults := a.Check(prof)
			for _, f := range faults {
				if f.Path == c.path && strings.Contains(f.Problem, c.problem) {
					return
				}
			}
			t.Errorf("%v; wanted %s: %s", faults.Err(), c.path, c.problem)
		})
	}
}

// A condition of an abnormal knows how far each gauge went since the onset, not before, and how long ago that was.
func TestLasting(t *testing.T) {
	_, prof := mine(t)
	scope := scenario.Scope(prof)
	lasting := scenario.NewLasting(prof)
	nr, _ := prof.GaugeIndex("nr")
	readings := make([]float64, prof.Slots())
	at := func(value, seconds float64) []float64 {
		readings[prof.GaugeSlot(nr)] = value
		return lasting.Since(readings, seconds)
	}
	holds := func(src string, readings []float64) bool {
		t.Helper()
		c, err := condition.Compile(src, scope)
		if err != nil {
			t.Fatal(err)
		}
		return c.Holds(readings)
	}
	for _, step := range []struct {
		value, seconds float64
		holds          string
	}{
		{98, 0, "nr == 98 and nr_highest == 98 and nr_lowest == 98 and since_onset == 0"},
		{90, 1, "nr == 90 and nr_highest == 98 and nr_lowest == 90 and since_onset == 1"},
		{103, 2.5, "nr == 103 and nr_highest == 103 and nr_lowest == 90 and since_onset > 2"},
		{100, 3, "nr == 100 and nr_highest == 103 and nr_lowest == 90 and trq1_highest == 0"},
	} {
		if now := at(step.value, step.seconds); !holds(step.holds, now) || holds("not ("+step.holds+")", now) {
			t.Errorf("at %g s, %g: %s does not hold", step.seconds, step.value, step.holds)
		}
	}
	if own := prof.Scope(); len(own)+2*len(prof.Gauges)+1 != len(scope) {
		t.Errorf("%d names, and %d of the profile with %d gauges", len(scope), len(own), len(prof.Gauges))
	}
}

// What the crew says tells an exercise from the flow, and is something in any case.
func TestWordsOfTheCrew(t *testing.T) {
	a := &scenario.Abnormal{Title: "Hot start"}
	for got, want := range map[string]string{a.Closing(): "Carry on.", a.Takeover(): "Exercise: carry on.", a.Telling(): "Exercise: Hot start."} {
		if got != want {
			t.Errorf("%q; wanted %q", got, want)
		}
	}
	a.Say = "Valve freed."
	if a.Closing() != "Valve freed." || a.Takeover() != "Exercise: Valve freed." {
		t.Errorf("%q, %q", a.Closing(), a.Takeover())
	}
}
