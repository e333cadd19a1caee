// Package drilltest goes through built-in scenarios without a clock, for the tests of others.
package drilltest

import (
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/bench"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// Setup is what a sitting is made of.
type Setup struct {
	drill.Documents
	Seed uint64
	Lead time.Duration
}

// Sitting is one that was gone through.
type Sitting struct {
	Setup
	Exercise *drill.Exercise
	Outputs  []drill.Output
	Log      []logbook.Entry
	Result   *score.Result
}

// Seed is what a sitting draws from, unless it is changed.
const Seed = 7

// Lead is how far ahead sounds are asked for, unless it is changed.
const Lead = 60 * time.Millisecond

// Of is the setup of a scenario of a library. Whatever goes wrong ends the test.
func Of(t testing.TB, lib *library.Library, name string) Setup {
	t.Helper()
	b, err := lib.Resolve(name)
	if err != nil {
		t.Fatal(err)
	}
	return Setup{
		Documents: drill.Documents{Profile: b.Profile, Procedure: b.Procedure, Scenario: b.Scenario, Abnormals: lib.Abnormals()},
		Seed:      Seed, Lead: Lead,
	}
}

// Through goes through a built-in scenario with answers from paper. What it is made of can be changed before, and the aircraft
// is shown after each step; either may be nil. Whatever goes wrong ends the test.
func Through(t testing.TB, name string, answers *scenario.Answers, change func(*Setup), each func(time.Duration, *aircraft.Aircraft)) *Sitting {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	setup := Of(t, lib, name)
	if change != nil {
		change(&setup)
	}
	return setup.Through(t, answers, each)
}

// Through goes through what was set up.
func (setup Setup) Through(t testing.TB, answers *scenario.Answers, each func(time.Duration, *aircraft.Aircraft)) *Sitting {
	t.Helper()
	ex, err := drill.Compile(setup.Documents)
	if err != nil {
		t.Fatal(err)
	}
	return setup.On(t, ex, answers, each)
}

// On goes through an exercise that has been compiled.
func (setup Setup) On(t testing.TB, ex *drill.Exercise, answers *scenario.Answers, each func(time.Duration, *aircraft.Aircraft)) *Sitting {
	t.Helper()
	s := &Sitting{Setup: setup, Exercise: ex}
	sitting := ex.Begin(setup.Seed, setup.Lead)
	sitting.Observe(each)
	trainee, err := bench.NewTrainee(ex, sitting, answers)
	if err != nil {
		t.Fatal(err)
	}
	err = drill.Run(sitting, trainee, drill.EstimatedLength, func(o drill.Output) error {
		s.Outputs = append(s.Outputs, o)
		if l, ok := o.(drill.Log); ok {
			s.Log = append(s.Log, l.Entry)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	s.Result = score.Judge(ex.Sheet(setup.Seed), s.Log)
	return s
}
