package bench_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/bench"
	"hornlark/drill/drilltest"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

func perfect() *scenario.Answers { return &scenario.Answers{StartFrom: scenario.Perfect} }

func costsOf(t testing.TB, s *drilltest.Sitting, log []logbook.Entry) []bench.Costs {
	t.Helper()
	all, err := bench.CostsOf(s.Exercise, s.Seed, s.Lead, log, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// What an abnormal cost is what its gauges showed from its onset until a while after its end, as seen at every step; what a
// gauge would show while it is dead is none of it.
func TestCostsAreWhatWasSeen(t *testing.T) {
	for _, name := range []string{"first-start", "watch-noon", "first-start-dawn", "hover-alerts"} {
		type look struct {
			at    time.Duration
			value float64
		}
		seen := map[string][]look{}
		var profile *aircraft.Profile
		answers := &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"hot-start"}}
		w := drilltest.Through(t, name, answers, func(p *drilltest.Setup) { profile = p.Profile }, func(at time.Duration, craft *aircraft.Aircraft) {
			for i := range profile.Gauges {
				if value, _, alive := craft.Gauge(i); alive {
					seen[profile.Gauges[i].ID] = append(seen[profile.Gauges[i].ID], look{at, value})
				}
			}
		})
		onset, end := map[string]time.Duration{}, map[string]time.Duration{}
		reset := map[string]bool{} // what the aircraft shows after a reset is nobody's doing
		for _, e := range w.Log {
			switch e.Kind {
			case logbook.Inject:
				reset[e.Injection] = slices.ContainsFunc(w.Setup.Abnormals, func(a *scenario.Abnormal) bool { return a.Name == e.Abnormal && a.Reset != "" })
			case logbook.Onset:
				onset[e.Injection] = e.At
			case logbook.Handled, logbook.Lost, logbook.Cleared:
				end[e.Injection] = e.At
			}
		}
		all := costsOf(t, w, w.Log)
		if len(all) == 0 {
			t.Fatalf("%s: no costs", name)
		}
		for _, costs := range all {
			until := end[costs.Injection]
			if !reset[costs.Injection] {
				until += bench.CostAfter
			}
			for _, c := range costs.AsWas {
				lowest, highest := math.Inf(1), math.Inf(-1)
				for _, l := range seen[c.Gauge] {
					if l.at >= onset[costs.Injection] && l.at <= until {
						lowest, highest = min(lowest, l.value), max(highest, l.value)
					}
				}
				if c.Lowest != lowest || c.Highest != highest {
					t.Errorf("%s, %s: %s cost %v to %v, and showed %v to %v", name, costs.Injection, c.Gauge, c.Lowest, c.Highest, lowest, highest)
				}
			}
		}
	}
}

// What a late hand costs is the aircraft's own answer: with half the delay a hot start stays cooler.
func TestHalfTheDelayCostsLess(t *testing.T) {
	answers := perfect()
	answers.Answers = []scenario.Answer{{Abnormal: "hot-start", After: 14 * time.Second, Press: []string{"a", "d"}}}
	w := drilltest.Through(t, "first-start", answers, nil, nil)
	all := costsOf(t, w, w.Log)
	n := slices.IndexFunc(all, func(c bench.Costs) bool { return c.Injection == "hot-start#2" })
	if n < 0 {
		t.Fatalf("the hot start cost nothing: %+v", all)
	}
	as, moved := all[n].AsWas, all[n].Moved
	i := slices.IndexFunc(as, func(c bench.Cost) bool { return c.Gauge == "tot1" })
	if i < 0 {
		t.Fatalf("TOT 1 cost nothing: %+v", as)
	}
	if !(moved[i].Highest < as[i].Highest && moved[i].InRed < as[i].InRed) {
		t.Errorf("half the delay: %+v; as it was: %+v", moved[i], as[i])
	}
}

// A look-alike, an abnormal that never showed, and one in which the sitting was paused cost nothing; an abnormal that was there
// costs something, paused before it or not.
func TestCostsOfWhatCostsNothing(t *testing.T) {
	for name, want := range map[string]int{"desk-quiet": 0, "desk-passer-by": 0, "desk-unseen": 0, "desk-walker": 1} {
		s := desk(t, name).Through(t, perfect(), nil)
		if all := costsOf(t, s, s.Log); len(all) != want {
			t.Errorf("%s: %d costs; wanted %d", name, len(all), want)
		}
	}
	before := pausedThrough(t, desk(t, "desk-walker"), 3*time.Second)
	if n := len(costsOf(t, before, before.Log)); n != 1 {
		t.Errorf("paused before it, the walker has %d costs; wanted 1", n)
	}
	i := slices.IndexFunc(before.Log, func(e logbook.Entry) bool { return e.Kind == logbook.Onset })
	during := pausedThrough(t, desk(t, "desk-walker"), before.Log[i].At+time.Second)
	if n := len(costsOf(t, during, during.Log)); n != 0 {
		t.Errorf("paused while it was there, the walker has %d costs; wanted none", n)
	}
}

// pausedThrough goes through a sitting that is held for a while at a time, and in which nobody does anything.
func pausedThrough(t *testing.T, setup drilltest.Setup, at time.Duration) *drilltest.Sitting {
	t.Helper()
	ex, err := drill.Compile(setup.Documents)
	if err != nil {
		t.Fatal(err)
	}
	s := &drilltest.Sitting{Setup: setup, Exercise: ex}
	hold := drill.Press{Key: drill.Hold}
	inputs := []drill.Stored{{At: at, Event: hold}, {At: at + 7*time.Second + 1, Event: hold}}
	err = ex.Begin(setup.Seed, setup.Lead).Replay(inputs, 2*time.Minute, func(o drill.Output) error {
		if l, ok := o.(drill.Log); ok {
			s.Log = append(s.Log, l.Entry)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// BenchmarkCosts is what a report takes to tell what three abnormals cost: the whole first start is gone through once, and
// once more for each of them.
func BenchmarkCosts(b *testing.B) {
	s := drilltest.Through(b, "first-start", perfect(), nil, nil)
	for b.Loop() {
		if all := costsOf(b, s, s.Log); len(all) != 3 {
			b.Fatalf("%d costs", len(all))
		}
	}
}
