package drill_test

import (
	"testing"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// droop is alerts in the hover with the low rotor of the built-in library, changed.
func droop(t *testing.T, change func(*scenario.Abnormal)) drilltest.Setup {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	setup := drilltest.Of(t, lib, "hover-alerts")
	sc := *setup.Scenario
	sc.Drawn, sc.Injections = nil, []scenario.Injection{{Abnormal: "low-rotor-hover", At: 5 * time.Second}, {Abnormal: "low-rotor-hover", At: 60 * time.Second}}
	setup.Scenario = &sc
	var own []*scenario.Abnormal
	for _, ab := range setup.Abnormals {
		if ab.Name == "low-rotor-hover" {
			changed := *ab
			change(&changed)
			ab = &changed
		}
		own = append(own, ab)
	}
	setup.Abnormals = own
	return setup
}

// An exercise that is reset has the aircraft where it was before: in the hover, with nothing of the landing left in it. The next
// abnormal begins with nothing done, and how far the gauges went is told all the same.
func TestResetPutsTheAircraftBack(t *testing.T) {
	for _, to := range []string{scenario.Before, "hover"} {
		setup := droop(t, func(ab *scenario.Abnormal) {
			ab.Reset, ab.Afterwards, ab.Handled = to, nil, "not airborne"
		})
		heights := map[time.Duration]float64{}
		s := setup.Through(t, perfect(), func(at time.Duration, craft *aircraft.Aircraft) {
			heights[at] = craft.Readings()[setup.Profile.Scope()["height"].Slot]
		})
		handled, before := 0, 0.0
		for i, e := range s.Log {
			if e.Kind == logbook.Inject {
				before = heights[e.At.Truncate(aircraft.StepLength)-aircraft.StepLength]
			}
			if e.Kind == logbook.Handled {
				handled++
				if next := s.Log[i+1]; next.Kind != logbook.Moved || next.Control != "collective" || next.Position != "60" || next.Seat != logbook.Instructor {
					t.Errorf("%s: after it was handled: %+v", to, next)
				}
				landed, after := heights[e.At.Truncate(aircraft.StepLength)-aircraft.StepLength], heights[(e.At+time.Second).Truncate(aircraft.StepLength)]
				if after < 0.7*before || after > 1.3*before || landed > 0.5 {
					t.Errorf("%s: %.2f m a second after the reset; %.2f m before", to, after, before)
				}
			}
			if e.Kind == logbook.Action && e.Why == logbook.Already {
				t.Errorf("%s: an action stood there already: %+v", to, e)
			}
		}
		if handled != 2 {
			t.Errorf("%s: handled %d times", to, handled)
		}
		if !(&whole{s}).holds(lowestUnder("nr", 98)) {
			t.Errorf("%s: how low NR was is not told", to)
		}
	}
}

// A flow that is reset goes back as well: to where it was when the abnormal came, or to where it says.
func TestResetTakesTheFlowBack(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for name, backTo := range map[string]string{"lift-off": "", "light-on-skids": "light-on-skids"} {
		setup := drilltest.Of(t, lib, "first-start-quiet")
		sc := *setup.Scenario
		sc.Injections = []scenario.Injection{{Abnormal: "low-rotor-hover", During: "lift-off", After: 4500 * time.Millisecond}}
		setup.Scenario = &sc
		var own []*scenario.Abnormal
		for _, ab := range setup.Abnormals {
			if ab.Name == "low-rotor-hover" {
				changed := *ab
				changed.Reset, changed.Afterwards, changed.BackTo, changed.Cues = scenario.Before, nil, backTo, []string{"nr"}
				ab = &changed
			}
			own = append(own, ab)
		}
		setup.Abnormals = own
		s := setup.Through(t, perfect(), nil)
		reopened := map[string]bool{}
		for _, e := range s.Log {
			if e.Kind == logbook.Reopen {
				reopened[e.Item] = true
			}
		}
		if backTo != "" && !reopened[name] {
			t.Errorf("back to %s: reopened %v", backTo, reopened)
		}
		if !s.Result.Passed || !s.Result.Completed {
			t.Errorf("back to %q: passed %v, completed %v, held %v", backTo, s.Result.Passed, s.Result.Completed, s.Result.Held)
		}
	}
}

// An action that has a moment is not done before that: what is moved too early counts for nothing, and its time runs from the
// moment on.
func TestActionsHaveTheirMoment(t *testing.T) {
	early := perfect()
	for name, answers := range map[string]*scenario.Answers{"in its moment": early, "too early": {
		StartFrom: scenario.Perfect, Answers: []scenario.Answer{{Abnormal: "low-rotor-hover", After: time.Second, Every: 200 * time.Millisecond, Press: []string{"k", "shift+z", "shift+z", "shift+z"}}},
	}} {
		setup := droop(t, func(ab *scenario.Abnormal) {
			ab.Actions = append(ab.Actions[:len(ab.Actions):len(ab.Actions)], scenario.Action{
				Set: aircraft.Put("autopilot", "off"), After: "not airborne", Within: 2 * time.Second, Say: "Autopilot off on the ground",
			})
			ab.Handled, ab.Timeout, ab.Afterwards, ab.Reset = "", 20*time.Second, nil, ""
		})
		setup.Scenario.Injections = setup.Scenario.Injections[:1]
		height := map[time.Duration]float64{}
		s := setup.Through(t, answers, func(at time.Duration, craft *aircraft.Aircraft) {
			height[at] = craft.Readings()[setup.Profile.Scope()["height"].Slot]
		})
		var done *logbook.Entry
		for i, e := range s.Log {
			if e.Kind == logbook.Action && e.Number == 2 {
				done = &s.Log[i]
			}
		}
		if done == nil {
			t.Fatalf("%s: never done", name)
		}
		// In the step in which it is done the exercise is reset: what counts is the one before.
		if at := done.At.Truncate(aircraft.StepLength) - aircraft.StepLength; height[at] > 0.3 || done.At-done.Onset > 2*time.Second {
			t.Errorf("%s: done at %v, its time ran from %v, at %.2f m", name, done.At, done.Onset, height[at])
		}
		if already := done.Why == logbook.Already; already != (name == "too early") {
			t.Errorf("%s: %+v", name, done)
		}
	}
}
