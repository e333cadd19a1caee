package drill_test

import (
	"fmt"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/bench"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// fataller is a test, or one try of a property.
type fataller interface{ Fatal(...any) }

// deskLibrary is the built-in library with the short flows of the transcripts.
func deskLibrary(t testing.TB) *library.Library {
	t.Helper()
	builtin, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	lib, err := builtin.With("testdata/desk")
	if err != nil {
		t.Fatal(err)
	}
	return lib
}

// plan is an exercise, and what a sitting of it begins with. The exercise is shared by many sittings.
type plan struct {
	*drill.Exercise
	seed uint64
	lead time.Duration
}

// planOf compiles a scenario of a library, with its own seed.
func planOf(t testing.TB, lib *library.Library, name string) plan {
	t.Helper()
	return compiled(t, drilltest.Of(t, lib, name).Documents)
}

// compiled compiles documents.
func compiled(t fataller, docs drill.Documents) plan {
	ex, err := drill.Compile(docs)
	if err != nil {
		t.Fatal(err)
	}
	return plan{ex, docs.Scenario.Seed, drilltest.Lead}
}

// sown is the plan with another seed.
func (p plan) sown(seed uint64) plan {
	p.seed = seed
	return p
}

// begin begins a sitting.
func (p plan) begin() *drill.Sitting { return p.Begin(p.seed, p.lead) }

// playOut goes through a sitting to its end; without a trainee nobody answers.
func (p plan) playOut(t fataller, answers *scenario.Answers) []logbook.Entry {
	s := p.begin()
	var hand drill.Hand
	if answers != nil {
		trainee, err := bench.NewTrainee(p.Exercise, s, answers)
		if err != nil {
			t.Fatal(err)
		}
		hand = trainee
	}
	r := &run{}
	if err := drill.Run(s, hand, drill.EstimatedLength, r.take); err != nil {
		t.Fatal(err)
	}
	return r.entries
}

// run is what a sitting handed out.
type run struct {
	lines   []string
	entries []logbook.Entry
}

func (r *run) take(o drill.Output) error {
	r.lines = append(r.lines, fmt.Sprintf("%s %#v", o.Describe(), o))
	if l, ok := o.(drill.Log); ok {
		r.entries = append(r.entries, l.Entry)
	}
	return nil
}

func perfect() *scenario.Answers { return &scenario.Answers{StartFrom: scenario.Perfect} }
