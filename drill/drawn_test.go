package drill_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// blips gives a plan that draws as many injections as it can, each over as soon as it has begun.
func blips(t testing.TB, lib *library.Library, change func(*scenario.Drawn)) plan {
	docs := drilltest.Of(t, lib, "blips").Documents
	return redrawn(t, docs, change)
}

// redrawn compiles documents that draw otherwise.
func redrawn(t fataller, docs drill.Documents, change func(*scenario.Drawn)) plan {
	sc, drawn := *docs.Scenario, *docs.Scenario.Drawn
	change(&drawn)
	sc.Drawn = &drawn
	docs.Scenario = &sc
	return compiled(t, docs)
}

// drawnGaps gives the waits between drawn injections over many seeds, in eligible time and without the least gap: from
// the end of one, or the opening of the window, to the next.
func drawnGaps(t *testing.T, seeds int, change func(*scenario.Drawn)) []float64 {
	plan := blips(t, deskLibrary(t), change)
	drawn := plan.Documents().Scenario.Drawn
	var gaps []float64
	for seed := range uint64(seeds) {
		// The first step of the window counts; one is found half a step after its moment, on average.
		from := drawn.Window.From - aircraft.StepLength
		count := 0
		for _, e := range plan.sown(seed).playOut(t, nil) {
			switch e.Kind {
			case logbook.Inject:
				gap := e.At - from - drawn.MinGap - aircraft.StepLength/2
				gaps = append(gaps, max(0, gap.Seconds()))
				count++
			case logbook.Cleared:
				from = e.At
			}
		}
		if count != drawn.Count {
			t.Fatalf("seed %d: %d were injected of %d, though nothing was in the way", seed, count, drawn.Count)
		}
	}
	return gaps
}

// distance is the statistic of Kolmogorov and Smirnov for one sample against a distribution function.
func distance(sample []float64, cdf func(float64) float64) float64 {
	sorted := slices.Sorted(slices.Values(sample))
	n, worst := float64(len(sorted)), 0.0
	for i, x := range sorted {
		f := cdf(x)
		worst = max(worst, math.Abs(f-float64(i)/n), math.Abs(float64(i+1)/n-f))
	}
	return worst
}

// critical is what the statistic exceeds in one of a thousand samples that do come from the distribution: 1.949 over the
// root of n (Smirnov 1948, from memory; it follows from 2 exp(-2 x^2) = 0.001).
func critical(n int) float64 { return 1.949 / math.Sqrt(float64(n)) }

func TestDrawnGaps(t *testing.T) {
	const mean = 4 * time.Second
	open := drawnGaps(t, 50, func(d *scenario.Drawn) { d.MeanGap, d.MaxGap = mean, time.Minute })
	cut := drawnGaps(t, 40, func(d *scenario.Drawn) { d.MeanGap, d.MaxGap = mean, 2*mean })
	t.Run("distribution", func(t *testing.T) {
		areTruncatedExponential(t, open, mean, time.Minute)
		areTruncatedExponential(t, cut, mean, 2*mean)
	})
	t.Run("quantiles", func(t *testing.T) { haveQuantiles(t, open) })
	t.Run("hazard", func(t *testing.T) { doNotAge(t, open, mean.Seconds()) })
}

// areTruncatedExponential holds gaps against the exponential that is cut off, as gonum has it.
func areTruncatedExponential(t *testing.T, gaps []float64, mean, most time.Duration) {
	full := distuv.Exponential{Rate: 1 / mean.Seconds()}
	bound := critical(len(gaps))
	if d := distance(gaps, func(x float64) float64 { return min(1, full.CDF(x)/full.CDF(most.Seconds())) }); d > bound {
		t.Errorf("mean %v, at most %v: %d gaps are %.4f from the distribution, over %.4f", mean, most, len(gaps), d, bound)
	}
	// The test has to be able to fail: a mean that is a quarter off, and an even spread, are told apart.
	longer := distuv.Exponential{Rate: 0.8 / mean.Seconds()}
	if d := distance(gaps, func(x float64) float64 { return min(1, longer.CDF(x)/longer.CDF(most.Seconds())) }); d < bound {
		t.Errorf("mean %v, at most %v: a mean of %v would have passed, at %.4f under %.4f", mean, most, mean*5/4, d, bound)
	}
	if d := distance(gaps, distuv.Uniform{Min: 0, Max: most.Seconds()}.CDF); d < bound {
		t.Errorf("mean %v, at most %v: an even spread would have passed", mean, most)
	}
	if worst := slices.Max(gaps); worst > (most + aircraft.StepLength).Seconds() {
		t.Errorf("a gap of %.2f s is over %v", worst, most)
	}
}

// haveQuantiles holds gaps against the quantiles of an exponential with a mean of 4 s: -4 ln(1-p).
func haveQuantiles(t *testing.T, gaps []float64) {
	sorted := slices.Sorted(slices.Values(gaps))
	for _, q := range []struct{ p, want float64 }{{0.10, 0.4214}, {0.50, 2.7726}, {0.90, 9.2103}} {
		// The standard error of a quantile is sqrt(p(1-p)/n) over the density there, which is (1-p)/mean.
		margin := 4 * math.Sqrt(q.p*(1-q.p)/float64(len(sorted))) / ((1 - q.p) / 4)
		if got := stat.Quantile(q.p, stat.Empirical, sorted, nil); math.Abs(got-q.want) > margin {
			t.Errorf("%.0f %% of the gaps are below %.3f s; wanted %.3f within %.3f", 100*q.p, got, q.want, margin)
		}
	}
}

// doNotAge checks that having waited tells nothing: whatever the wait has been, the chance of the next second is
// 1 - exp(-d/m). A constant hazard is what sets the exponential apart (Luce 1986, Response Times; attribution from
// memory).
func doNotAge(t *testing.T, gaps []float64, mean float64) {
	const d = 1.0
	want := 1 - math.Exp(-d/mean)
	for waited := 0.0; waited <= 12; waited += 2 {
		still, fired := 0, 0
		for _, g := range gaps {
			if g > waited {
				still++
				if g <= waited+d {
					fired++
				}
			}
		}
		got := float64(fired) / float64(still)
		if margin := 4 * math.Sqrt(want*(1-want)/float64(still)); math.Abs(got-want) > margin {
			t.Errorf("after %.0f s of waiting, %d of %d come within a second: %.3f; wanted %.3f within %.3f", waited, fired, still, got, want, margin)
		}
	}
}

// Each of the abnormals to draw from comes as often as the others.
func TestDrawnAbnormalsAreEven(t *testing.T) {
	plan := blips(t, deskLibrary(t), func(d *scenario.Drawn) {
		d.From, d.MeanGap, d.MaxGap = []string{"blip", "chatter", "passer-by"}, time.Second, 5*time.Second
	})
	counts := map[string]int{}
	total := 0
	for seed := range uint64(30) {
		for _, e := range plan.sown(seed).playOut(t, nil) {
			if e.Kind == logbook.Inject {
				counts[e.Abnormal]++
				total++
			}
		}
	}
	// Pearson's statistic; 13.82 is exceeded in one of a thousand with two degrees of freedom.
	chi := 0.0
	for _, name := range []string{"blip", "chatter", "passer-by"} {
		chi += math.Pow(float64(counts[name])-float64(total)/3, 2) / (float64(total) / 3)
	}
	if most := (distuv.ChiSquared{K: 2}).Quantile(0.999); chi > most {
		t.Errorf("%v: statistic %.1f over %.1f", counts, chi, most)
	}
}

// Whatever the seed, the window, the phases, the count and whoever answers: no injection outside the window or the
// phases, never more than the count, never two at a time, and never sooner after another than the least gap.
func TestDrawnStayWithinLimits(t *testing.T) {
	docs := drilltest.Of(t, deskLibrary(t), "desk-drawn").Documents
	second := func(rt *rapid.T, name string, least, most int) time.Duration {
		return time.Duration(rapid.IntRange(least, most).Draw(rt, name)) * time.Second
	}
	rapid.Check(t, func(t *rapid.T) {
		docs := docs
		docs.Policy = rapid.SampledFrom([]scenario.PolicyName{scenario.Prompted, scenario.Recall, scenario.Watch}).Draw(t, "policy")
		plan := redrawn(t, docs, func(d *scenario.Drawn) {
			d.Count = rapid.IntRange(1, 5).Draw(t, "count")
			d.MinGap, d.MeanGap = second(t, "min gap", 0, 4), second(t, "mean gap", 1, 4)
			d.MaxGap = d.MeanGap * 3
			d.Window.From = second(t, "from", 0, 15)
			d.Window.Until = d.Window.From + d.MinGap + second(t, "until", 1, 40)
			d.Phases = rapid.SampledFrom([][]string{nil, {"cold"}, {"live"}, {"cold", "live"}}).Draw(t, "phases")
		})
		plan = plan.sown(rapid.Uint64().Draw(t, "seed"))
		var answers *scenario.Answers
		if rapid.Bool().Draw(t, "answered") {
			answers = perfect()
		}
		withinLimits(t, plan.Documents().Scenario.Drawn, plan.playOut(t, answers))
	})
}

func withinLimits(t *rapid.T, drawn *scenario.Drawn, log []logbook.Entry) {
	phase, count, open, ended := "", 0, false, -time.Hour
	for _, e := range log {
		switch e.Kind {
		case logbook.Phase:
			phase = e.Name
		case logbook.Inject:
			count++
			switch {
			case open:
				t.Fatalf("two at a time: %s", e.Describe())
			case e.At < drawn.Window.From+drawn.MinGap-aircraft.StepLength || e.At > drawn.Window.Until:
				t.Fatalf("outside of the window %+v: %s", drawn.Window, e.Describe())
			case drawn.Phases != nil && !slices.Contains(drawn.Phases, phase):
				t.Fatalf("in phase %q and not in %v: %s", phase, drawn.Phases, e.Describe())
			case e.At < ended+drawn.MinGap:
				t.Fatalf("%v after the end of another: %s", e.At-ended, e.Describe())
			}
			open = true
		case logbook.Handled, logbook.Lost, logbook.Cleared:
			open, ended = false, e.At
		}
	}
	if count > drawn.Count {
		t.Fatalf("%d were injected, of at most %d", count, drawn.Count)
	}
}
