package drill_test

import (
	"fmt"
	"reflect"
	"slices"
	"testing"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/bench"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// undisturbed is the quietest exercise of every built-in procedure: in the weather and state of the first scenario that has it, with
// nothing coming in.
func undisturbed(t testing.TB, lib *library.Library) map[string]drilltest.Setup {
	t.Helper()
	setups := map[string]drilltest.Setup{}
	for _, sc := range lib.Scenarios() {
		setup := drilltest.Of(t, lib, sc.Name)
		rules, _ := sc.Rules("")
		if _, known := setups[sc.Procedure]; known || rules.Flow != scenario.Checklist {
			continue
		}
		quiet := *sc
		quiet.Injections, quiet.Drawn, quiet.Seed = nil, nil, 0
		quiet.Feedback, quiet.Tell = "", ""
		setup.Scenario = &quiet
		setups[sc.Procedure] = setup
	}
	return setups
}

// of is the setup gone through by a policy, and from one phase up to another.
func of(setup drilltest.Setup, policy scenario.PolicyName, phases ...string) drilltest.Setup {
	sc := *setup.Scenario
	sc.Policy, sc.Phases = policy, phases
	setup.Scenario, setup.Policy = &sc, ""
	return setup
}

// parts is every phase of a procedure alone, and every pair of neighbours.
func parts(proc *procedure.Procedure) [][]string {
	ids := proc.PhaseIDs()
	var list [][]string
	for i := range ids {
		list = append(list, ids[i:i+1])
		if i+1 < len(ids) {
			list = append(list, ids[i:i+2])
		}
	}
	return list
}

// shows is all that can be seen, heard and felt of an aircraft in a sitting.
func shows(s *drill.Sitting) drill.View {
	var v drill.View
	s.View(&v)
	return drill.View{
		Readings: slices.Clone(v.Readings), Bands: slices.Clone(v.Bands), Alive: slices.Clone(v.Alive), Lit: slices.Clone(v.Lit),
		Sounding: slices.Clone(v.Sounding), Silenced: slices.Clone(v.Silenced), Positions: slices.Clone(v.Positions), Locked: slices.Clone(v.Locked),
		Facts: slices.Clone(v.Facts), Seen: slices.Clone(v.Seen), Signs: slices.Clone(v.Signs),
	}
}

// atPhases goes through a whole sitting perfectly and gives what it shows as each phase begins.
func atPhases(t *testing.T, setup drilltest.Setup) map[string]drill.View {
	t.Helper()
	ex, err := drill.Compile(setup.Documents)
	if err != nil {
		t.Fatal(err)
	}
	s := ex.Begin(setup.Seed, 0)
	hand, err := bench.NewTrainee(ex, s, perfect())
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]drill.View{}
	err = drill.Run(s, hand, drill.EstimatedLength, func(o drill.Output) error {
		if l, ok := o.(drill.Log); ok && l.Entry.Kind == logbook.Phase {
			if _, again := seen[l.Entry.Name]; again {
				return fmt.Errorf("phase %s begins twice", l.Entry.Name)
			}
			seen[l.Entry.Name] = shows(s)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return seen
}

// Every phase, and every pair of neighbours, of every built-in procedure begins with the aircraft as it is in the same step of a
// whole sitting in which the other pilot does the flow and a trainee who makes no mistakes silences what sounds. Where the
// trainee does the whole flow as it is asked, the same switches, captions and alerts are found, though at other times.
func TestPartsBeginAsInTheWhole(t *testing.T) {
	lib := deskLibrary(t)
	for name, setup := range undisturbed(t, lib) {
		t.Run(name, func(t *testing.T) {
			watched, asked := atPhases(t, of(setup, scenario.Watch)), atPhases(t, of(setup, scenario.Prompted))
			for _, phases := range parts(setup.Procedure) {
				ex, err := drill.Compile(of(setup, scenario.Prompted, phases...).Documents)
				if err != nil {
					t.Fatal(err)
				}
				here := shows(ex.Begin(1, 0))
				// The first phase of all begins a step after the sitting has.
				if whole := watched[phases[0]]; phases[0] != setup.Procedure.Phases[0].ID && !reflect.DeepEqual(here, whole) {
					t.Errorf("%v: what is shown at the beginning\n%v\nis not what the whole shows\n%v", phases, here, whole)
				}
				byHand := asked[phases[0]]
				for k := range here.Positions {
					if here.Positions[k] != byHand.Positions[k] {
						t.Errorf("%v: %s is at %d, and at %d where the trainee has done all before", phases, setup.Profile.Controls[k].ID, here.Positions[k], byHand.Positions[k])
					}
				}
				for k := range here.Lit {
					if here.Lit[k] != byHand.Lit[k] {
						t.Errorf("%v: %s is lit: %v, and %v where the trainee has done all before", phases, setup.Profile.Captions[k].ID, here.Lit[k], byHand.Lit[k])
					}
				}
				for k := range here.Silenced {
					if here.Silenced[k] != byHand.Silenced[k] || here.Sounding[k] != byHand.Sounding[k] {
						t.Errorf("%v: %s differs from where the trainee has done all before", phases, setup.Profile.Alerts[k].ID)
					}
				}
			}
		})
	}
}

// A trainee who makes no mistakes passes every part, asked and from memory, and has nothing in the result of what lies outside;
// going through it again from its log gives the same log, with documents that have been packed and unpacked.
func TestPartsCanBePassed(t *testing.T) {
	lib := deskLibrary(t)
	for name, setup := range undisturbed(t, lib) {
		t.Run(name, func(t *testing.T) {
			for _, phases := range parts(setup.Procedure) {
				for _, policy := range []scenario.PolicyName{scenario.Prompted, scenario.Recall} {
					part := of(setup, policy, phases...)
					done := part.Through(t, perfect(), nil)
					if r := done.Result; !r.Passed || !r.Completed {
						t.Errorf("%v, %s: passed %v, completed %v (%s), omitted %v, %d deviations", phases, policy, r.Passed, r.Completed, r.EndedWhy, r.Order.Omitted, len(r.Order.Deviations))
					}
					onlyOf(t, setup.Procedure, phases, done)
					again(t, lib, part, done.Log)
				}
			}
		})
	}
}

// onlyOf holds a sitting to having nothing in its log and its result but what is of some phases.
func onlyOf(t *testing.T, proc *procedure.Procedure, phases []string, done *drilltest.Sitting) {
	t.Helper()
	wanted := map[string]bool{}
	var items []string
	proc.Each(func(ph *procedure.Phase, it *procedure.Item) {
		if slices.Contains(phases, ph.ID) {
			wanted[it.ID], items = true, append(items, it.ID)
		}
	})
	var judged, begun []string
	for _, it := range done.Result.Items {
		judged = append(judged, it.ID)
	}
	for i := range done.Log {
		e := &done.Log[i]
		if e.Kind == logbook.Phase {
			begun = append(begun, e.Name)
		}
		if e.Item != "" && !wanted[e.Item] {
			t.Errorf("%v: the log has %s", phases, drill.Log{Entry: *e}.Describe())
		}
	}
	if !slices.Equal(judged, items) || !slices.Equal(begun, phases) {
		t.Errorf("%v: judged were %v of phases %v", phases, judged, begun)
	}
}

// again goes through a sitting from its log, by documents that have been kept with it.
func again(t *testing.T, lib *library.Library, setup drilltest.Setup, log []logbook.Entry) {
	t.Helper()
	b, err := lib.Bundle(setup.Scenario)
	if err != nil {
		t.Fatal(err)
	}
	if b, err = library.Unpack(b.Pack()); err != nil {
		t.Fatal(err)
	}
	ex, err := drill.Compile(drill.Documents{Profile: b.Profile, Procedure: b.Procedure, Scenario: b.Scenario, Abnormals: b.Abnormals})
	if err != nil {
		t.Fatal(err)
	}
	var log2 []logbook.Entry
	last := log[len(log)-1].At
	err = ex.Begin(setup.Seed, setup.Lead).Replay(drill.InputsOf(log), last, func(o drill.Output) error {
		if l, ok := o.(drill.Log); ok {
			log2 = append(log2, l.Entry)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(log, log2) {
		t.Errorf("%v: gone through again the log is another", setup.Scenario.Phases)
	}
}

// Before a part begins everything has been done right: what is not so at first has been refused and put right.
func TestBeforeAPartWhatIsNotSoIsPutRight(t *testing.T) {
	setup := cockpitOf(t, func(*aircraft.Profile) {})
	setup.Procedure.Phases = []procedure.Phase{
		{ID: "one", Title: "One", Items: answerItems("doors")},
		{ID: "two", Title: "Two", Items: []procedure.Item{{
			ID: "pump", Challenge: "Pump", Response: "On", Check: "pump2", IfNot: &procedure.IfNot{Say: "Put it on.", Set: aircraft.Put("pump2", "on")},
		}}},
		{ID: "three", Title: "Three", Items: answerItems("lights")},
	}
	setup.Scenario = setup.Scenario.Only(setup.Procedure, []string{"three"})
	_, log, result := pressed(t, setup, "0")
	if !result.Completed || len(kinds(log, logbook.Done)) != 1 {
		t.Errorf("%v", log)
	}
	s := compiled(t, setup.Documents).begin()
	var v drill.View
	s.View(&v)
	i, _ := setup.Profile.ControlIndex("pump2")
	if got := setup.Profile.Controls[i].Label(v.Positions[i]); got != "on" {
		t.Errorf("the pump is %s as the part begins", got)
	}
}
