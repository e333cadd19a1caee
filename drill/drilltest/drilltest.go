// Package drilltest goes through built-in scenarios without a clock, for the tests of others.
package drilltest

import (
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// Sitting is one that was gone through.
type Sitting struct {
	Plan   *drill.Plan
	Log    []logbook.Entry
	Result *score.Result
}

// Seed is what a sitting draws from, unless it is changed.
const Seed = 7

// Through goes through a built-in scenario with answers from paper. The plan can be changed before, and the aircraft is shown
// after each step; either may be nil. Whatever goes wrong ends the test.
func Through(t testing.TB, name string, answers *scenario.Answers, change func(*drill.Plan), each func(time.Duration, *aircraft.Aircraft)) *Sitting {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	b, err := lib.Resolve(name)
	if err != nil {
		t.Fatal(err)
	}
	s := &Sitting{Plan: &drill.Plan{
		Profile: b.Profile, Procedure: b.Procedure, Scenario: b.Scenario, Abnormals: lib.Abnormals(),
		Mode: b.Scenario.Mode, Seed: Seed, Lead: 60 * time.Millisecond,
	}}
	if change != nil {
		change(s.Plan)
	}
	if s.Plan.Mode == scenario.Limits {
		s.Plan.Procedure = procedure.Limits(b.Profile, b.Scenario.Questions, s.Plan.Seed)
	}
	sitting, err := drill.New(s.Plan)
	if err != nil {
		t.Fatal(err)
	}
	sitting.Watch(each)
	trainee, err := drill.NewTrainee(sitting, answers)
	if err != nil {
		t.Fatal(err)
	}
	err = drill.Run(sitting, trainee, drill.EstimatedLength, func(o drill.Output) error {
		if l, ok := o.(drill.Log); ok {
			s.Log = append(s.Log, l.Entry)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	s.Result = score.Judge(score.NewSheet(s.Plan.Procedure, s.Plan.Scenario, s.Plan.Abnormals, s.Plan.Mode), s.Log)
	return s
}
