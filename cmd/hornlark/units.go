package main

import (
	"context"
	"fmt"
	"slices"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill/aircraft"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/practice"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// unitsOf gives what can be practised by itself with a profile: the phases of its procedures, in their order, then its abnormals, then
// its limits. What there is to be known for a phase, and how long it takes, is what one undisturbed sitting without a mistake shows.
// A procedure that no scenario goes through with the trainee has no units.
func unitsOf(lib *library.Library, profile string) ([]practice.Unit, error) {
	prof, err := lib.Profile(profile)
	if err != nil {
		return nil, err
	}
	lib, _ = lib.For(profile)
	var units []practice.Unit
	var limits *scenario.Scenario
	for _, proc := range lib.Procedures() {
		if proc.Profile != profile {
			continue
		}
		if limits == nil {
			limits = figuresOf(proc)
		}
		if plain := undisturbed(lib, proc); plain != nil {
			phases, err := phaseUnits(lib, proc, plain)
			if err != nil {
				return nil, err
			}
			units = append(units, phases...)
		}
	}
	for _, a := range lib.Abnormals() {
		if a.Profile == profile && !a.Harmless {
			units = append(units, abnormalUnit(lib, a))
		}
	}
	if limits == nil || procedure.Limits(prof, 0, 0).Count() == 0 {
		return units, nil
	}
	unit, err := limitsUnit(lib, prof, limits)
	return append(units, unit), err
}

// templates gives the scenarios in which the trainee goes through a procedure, in the order of their names.
func templates(lib *library.Library, proc *procedure.Procedure) []*scenario.Scenario {
	var list []*scenario.Scenario
	for _, s := range lib.Scenarios() {
		policy, _ := scenario.PolicyOf(s.Policy)
		if s.Procedure == proc.Name && (s.Profile == "" || s.Profile == proc.Profile) && policy.Flow == scenario.Checklist && policy.Acts == logbook.Trainee && len(s.Phases) == 0 {
			list = append(list, s)
		}
	}
	return list
}

// undisturbed is a scenario that goes through a procedure, as prompted, with nothing in between; nil if none goes through it. One that
// begins where the procedure does, cold and dark, is taken before others.
func undisturbed(lib *library.Library, proc *procedure.Procedure) *scenario.Scenario {
	list := templates(lib, proc)
	if len(list) == 0 {
		return nil
	}
	plain := *list[max(0, slices.IndexFunc(list, func(s *scenario.Scenario) bool { return s.State == "" }))]
	plain.Policy, plain.Feedback, plain.Tell = scenario.Prompted, "", ""
	plain.Injections, plain.Drawn = nil, nil
	return &plain
}

// figuresOf is a scenario of all limits of the profile of a procedure.
func figuresOf(proc *procedure.Procedure) *scenario.Scenario {
	return &scenario.Scenario{
		Name: "limits", Title: "Limits", Procedure: proc.Name, Policy: scenario.Limits, Map: scenario.None, Weather: aircraft.Weather{OAT: 15},
	}
}

// onPaper goes through a scenario without a mistake, and gives what that showed and what was logged.
func onPaper(lib *library.Library, s *scenario.Scenario) ([]score.Trial, []logbook.Entry, error) {
	bundle, err := lib.Bundle(s)
	if err != nil {
		return nil, nil, err
	}
	ex, err := desk.NewExercise(bundle, "", 1)
	if err != nil {
		return nil, nil, err
	}
	ex.Answers = &scenario.Answers{StartFrom: scenario.Perfect}
	if err := ex.RunVirtual(context.Background(), desk.Virtual{}); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", s.Name, err)
	}
	return score.Trials(ex.Judge(), ex.Sheet(ex.Seed)), ex.Log, nil
}

// phaseUnits makes the units of a procedure. A step from one phase to the next is one of the later of them.
func phaseUnits(lib *library.Library, proc *procedure.Procedure, plain *scenario.Scenario) ([]practice.Unit, error) {
	trials, log, err := onPaper(lib, plain)
	if err != nil {
		return nil, err
	}
	of := map[string]int{} // phases, by item
	units := make([]practice.Unit, len(proc.Phases))
	for i := range proc.Phases {
		ph := &proc.Phases[i]
		units[i] = practice.Unit{Kind: practice.PhaseUnit, Of: proc.Name, Name: ph.ID, Title: ph.Title}
		for k := range ph.Items {
			of[ph.Items[k].ID] = i
		}
	}
	at := 0
	for i := range trials {
		t := &trials[i]
		if t.Kind == score.TrialItem {
			at = of[t.Name] // a step follows the item that it leads to
		}
		units[at].Things = append(units[at].Things, practice.OfTrial(t, proc.Name, proc.Profile))
	}
	began, phase := time.Duration(0), -1
	for i := range log {
		switch e := &log[i]; e.Kind {
		case logbook.Phase, logbook.End:
			if phase >= 0 {
				units[phase].Length += e.At - began
			}
			began, phase = e.At, slices.IndexFunc(proc.Phases, func(ph procedure.Phase) bool { return ph.ID == e.Name })
		}
	}
	return slices.DeleteFunc(units, func(u practice.Unit) bool { return len(u.Things) == 0 || u.Length == 0 }), nil
}

// limitsUnit makes the unit of the limits of a profile.
func limitsUnit(lib *library.Library, prof *aircraft.Profile, limits *scenario.Scenario) (practice.Unit, error) {
	unit := practice.Unit{Kind: practice.LimitsUnit, Of: prof.Name, Name: prof.Name, Title: "Limits"}
	trials, log, err := onPaper(lib, limits)
	if err != nil {
		return unit, err
	}
	for i := range trials {
		unit.Things = append(unit.Things, practice.OfTrial(&trials[i], limits.Procedure, prof.Name))
	}
	unit.Length = log[len(log)-1].At
	return unit, nil
}

// abnormalUnit makes the unit of an abnormal. Its length is what it takes to meet it: the wait before it, on average, where scenarios
// draw it; and the longest time that one of its immediate actions has.
func abnormalUnit(lib *library.Library, a *scenario.Abnormal) practice.Unit {
	unit := practice.Unit{Kind: practice.AbnormalUnit, Of: a.Profile, Name: a.Name, Title: a.Title, Length: scenario.ParGauge}
	unit.Things = append(unit.Things, practice.Thing{Kind: score.TrialNotice, Of: a.Profile, Name: a.Name})
	if len(a.Actions) > 0 {
		unit.Things = append(unit.Things, practice.Thing{Kind: score.TrialActions, Of: a.Profile, Name: a.Name})
	}
	for i := range a.Actions {
		unit.Length = max(unit.Length, a.Actions[i].Within)
	}
	wait := time.Duration(0)
	for _, s := range lib.Scenarios() {
		if d := s.Drawn; d != nil && slices.Contains(d.From, a.Name) {
			wait = max(wait, d.MinGap+d.MeanGap)
		}
	}
	unit.Length += wait
	return unit
}
