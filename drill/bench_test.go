package drill_test

import (
	"testing"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/library"
)

// BenchmarkSitting goes through the whole first start, virtually and perfectly: some seven minutes of sitting.
func BenchmarkSitting(b *testing.B) {
	lib, err := library.Builtin()
	if err != nil {
		b.Fatal(err)
	}
	plan := planOf(b, lib, "first-start")
	b.ReportAllocs()
	entries := 0
	for b.Loop() {
		entries = len(playOut(b, plan, perfect()))
	}
	b.ReportMetric(float64(entries), "entries")
}

// BenchmarkTick is one step of a sitting in which nothing happens, with both engines running.
func BenchmarkTick(b *testing.B) {
	plan := planOf(b, deskLibrary(b), "horn")
	s, err := drill.New(plan)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	at := aircraft.StepLength
	for b.Loop() {
		if at >= drill.MaxLength { // it would end here
			b.StopTimer()
			if s, err = drill.New(plan); err != nil {
				b.Fatal(err)
			}
			at = aircraft.StepLength
			b.StartTimer()
		}
		if err := s.Advance(at); err != nil {
			b.Fatal(err)
		}
		at += aircraft.StepLength
	}
}

// BenchmarkCosts is what a report takes to tell what three abnormals cost: the whole first start is gone through once, and
// once more for each of them.
func BenchmarkCosts(b *testing.B) {
	builtin, err := library.Builtin()
	if err != nil {
		b.Fatal(err)
	}
	plan := planOf(b, builtin, "first-start")
	log := playOut(b, plan, perfect())
	for b.Loop() {
		all, err := drill.CostsOf(plan, log, 0.5)
		if err != nil || len(all) != 3 {
			b.Fatalf("%d costs, %v", len(all), err)
		}
	}
}
