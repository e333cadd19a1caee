package drill_test

import (
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/bench"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/score"
)

// BenchmarkCompile makes an exercise of the whole first start, which is done once for many sittings.
func BenchmarkCompile(b *testing.B) {
	lib, err := library.Builtin()
	if err != nil {
		b.Fatal(err)
	}
	docs := planOf(b, lib, "first-start").Documents()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := drill.Compile(docs); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCompilePart makes an exercise of the last phase alone, for which all the others are gone through.
func BenchmarkCompilePart(b *testing.B) {
	lib, err := library.Builtin()
	if err != nil {
		b.Fatal(err)
	}
	docs := planOf(b, lib, "first-start").Documents()
	docs.Scenario = docs.Scenario.Only(docs.Procedure, []string{"shutdown"})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := drill.Compile(docs); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkBeginPart begins a sitting of that.
func BenchmarkBeginPart(b *testing.B) {
	lib, err := library.Builtin()
	if err != nil {
		b.Fatal(err)
	}
	setup := planOf(b, lib, "first-start").Documents()
	setup.Scenario = setup.Scenario.Only(setup.Procedure, []string{"shutdown"})
	plan := compiled(b, setup)
	b.ReportAllocs()
	for b.Loop() {
		plan.begin()
	}
}

// BenchmarkBegin begins a sitting of an exercise that has been compiled.
func BenchmarkBegin(b *testing.B) {
	lib, err := library.Builtin()
	if err != nil {
		b.Fatal(err)
	}
	plan := planOf(b, lib, "first-start")
	b.ReportAllocs()
	for b.Loop() {
		plan.begin()
	}
}

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
		entries = len(plan.playOut(b, perfect()))
	}
	b.ReportMetric(float64(entries), "entries")
}

// BenchmarkScored is the same sitting as whoever tries a scenario out a thousand times has it: begun, gone through by a trainee on
// paper, and scored from its log.
func BenchmarkScored(b *testing.B) {
	lib, err := library.Builtin()
	if err != nil {
		b.Fatal(err)
	}
	plan := planOf(b, lib, "first-start")
	answers, sheet := perfect(), plan.Sheet(plan.seed)
	b.ReportAllocs()
	for b.Loop() {
		s := plan.begin()
		trainee, err := bench.NewTrainee(plan.Exercise, s, answers)
		if err != nil {
			b.Fatal(err)
		}
		var log []logbook.Entry
		err = drill.Run(s, trainee, drill.EstimatedLength, func(o drill.Output) error {
			if l, ok := o.(drill.Log); ok {
				log = append(log, l.Entry)
			}
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
		if !score.Judge(sheet, log).Passed {
			b.Fatal("a perfect sitting has not been passed")
		}
	}
}

// BenchmarkTick is one step of a sitting in which nothing happens, with both engines running.
func BenchmarkTick(b *testing.B) {
	plan := planOf(b, deskLibrary(b), "horn")
	s := plan.begin()
	b.ReportAllocs()
	at := aircraft.StepLength
	for b.Loop() {
		if at >= drill.MaxLength { // it would end here
			b.StopTimer()
			s, at = plan.begin(), aircraft.StepLength
			b.StartTimer()
		}
		if err := s.Advance(at); err != nil {
			b.Fatal(err)
		}
		at += aircraft.StepLength
	}
}

// A step in which nothing happens takes nothing from the heap, nor does a look at it, also while an injection is in the aircraft beside
// its healthy twin: a sitting goes on for hours beside sound that must not wait, and a trainee on paper looks at every step.
func TestStepsAllocateNothing(t *testing.T) {
	lib := deskLibrary(t)
	for name, from := range map[string]time.Duration{"horn": time.Second, "desk-unseen": 10 * time.Second} {
		s := planOf(t, lib, name).begin()
		at := from
		var seen drill.View
		advance := func() {
			if err := s.Advance(at); err != nil {
				t.Fatal(err)
			}
			s.Glance(&seen)
			at += aircraft.StepLength
		}
		advance()
		s.Outputs()
		if n := testing.AllocsPerRun(1000, advance); n > 0 {
			t.Errorf("%s: a step allocates %v times", name, n)
		}
		if out := s.Outputs(); len(out) > 0 {
			t.Errorf("%s: something happened: %s", name, out[0].Describe())
		}
	}
}
