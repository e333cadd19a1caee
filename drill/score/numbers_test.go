package score

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %v; wanted %v", what, got, want)
	}
}

// Definition 7 of Hyndman and Fan (1996), The American Statistician 50(4):361-365. The values are those of
// statistics.quantiles(..., method="inclusive") of Python 3.11, which its manual says is that definition.
func TestQuantileAgainstPython(t *testing.T) {
	for _, c := range []struct {
		sample []float64
		n      int
		want   []float64
	}{
		{[]float64{180, 210, 230, 250, 275, 310, 405, 520, 640}, 4, []float64{230, 275, 405}},
		{[]float64{180, 210, 230, 250, 275, 310, 405, 520, 640}, 10, []float64{204, 222, 238, 255, 275, 303, 367, 451, 544}},
		{[]float64{0.7, 0.9, 1.2, 3.4}, 4, []float64{0.85, 1.05, 1.75}},
		{[]float64{1, 2}, 4, []float64{1.25, 1.5, 1.75}},
		{[]float64{5}, 4, []float64{5, 5, 5}},
	} {
		for i, want := range c.want {
			p := float64(i+1) / float64(c.n)
			near(t, "quantile", Quantile(c.sample, p), want, 1e-9)
		}
		near(t, "first", Quantile(c.sample, 0), c.sample[0], 0)
		near(t, "last", Quantile(c.sample, 1), c.sample[len(c.sample)-1], 0)
	}
}

// Definition 7 takes the place 1 + (n-1)p among the order statistics, and definition 4, which gonum has, np: definition 7
// at p is definition 4 at (1 + (n-1)p)/n.
func TestQuantileAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sample := rapid.SliceOfN(rapid.Float64Range(0, 10000), 1, 60).Draw(t, "sample")
		slices.Sort(sample)
		p, n := rapid.Float64Range(0, 1).Draw(t, "p"), float64(len(sample))
		want := stat.Quantile(min(1, (1+(n-1)*p)/n), stat.LinInterp, sample, nil)
		if got := Quantile(sample, p); math.Abs(got-want) > 1e-6 {
			t.Fatalf("quantile %v of %v is %v; gonum says %v", p, sample, got, want)
		}
	})
}

func TestTauB(t *testing.T) {
	for _, c := range []struct {
		name string
		x, y []float64
		want float64
	}{
		// The worked example of SciPy's manual for kendalltau, which its tests cross-check with R; with ties in both.
		{"with ties", []float64{12, 2, 1, 12, 2}, []float64{1, 4, 7, 1, 0}, -0.47140452079103173},
		// By hand from the definition: of ten pairs of five, so many are in opposite order.
		{"in order", []float64{1, 2, 3, 4, 5}, []float64{1, 2, 3, 4, 5}, 1},
		{"one swap", []float64{1, 2, 3, 4, 5}, []float64{2, 1, 3, 4, 5}, 0.8},
		{"two swaps", []float64{1, 2, 3, 4, 5}, []float64{2, 1, 4, 3, 5}, 0.6},
		{"first moved last", []float64{1, 2, 3, 4, 5}, []float64{2, 3, 4, 5, 1}, 0.2},
		{"reversed", []float64{1, 2, 3, 4, 5}, []float64{5, 4, 3, 2, 1}, -1},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, ok := TauB(c.x, c.y)
			if !ok {
				t.Fatal("there is none")
			}
			near(t, "tau-b", got, c.want, 1e-15)
		})
	}
	for _, none := range [][]float64{{}, {1}, {3, 3, 3}} {
		if tau, ok := TauB(none, none); ok {
			t.Errorf("tau-b of %v is %v; there is none", none, tau)
		}
	}
}

// Without ties tau-b is tau-a, which is what gonum computes.
func TestTauBAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 30).Draw(t, "n")
		x := make([]float64, n)
		for i := range x {
			x[i] = float64(i)
		}
		y := rapid.Permutation(slices.Clone(x)).Draw(t, "y")
		got, ok := TauB(x, y)
		if want := stat.Kendall(x, y, nil); !ok || math.Abs(got-want) > 1e-12 {
			t.Fatalf("tau-b %v, %v; gonum says %v", got, ok, want)
		}
	})
}

// Stanislaw and Todorov (1999), Behavior Research Methods, Instruments & Computers 31(1):137-149: 20 hits of 25 and 10
// false alarms of 25 (that these are the sample data of the paper is from memory). First the rates as they are; then with
// the log-linear correction of Hautus (1995), same journal 27:46-51. The other corrected values are computed from that
// rule with the inverse of the normal distribution of Python 3.11.
func TestDetect(t *testing.T) {
	near(t, "z(H)", z(0.8), 0.84162, 1e-5)
	near(t, "z(F)", z(0.4), -0.25335, 1e-5)
	near(t, "d'", z(0.8)-z(0.4), 1.09497, 1e-5)
	near(t, "c", -(z(0.8)+z(0.4))/2, -0.29414, 1e-5)
	for _, c := range []struct {
		hits, signals, alarms, noise int
		d, c                         float64
	}{
		{20, 25, 10, 25, 1.044498707092581, -0.2788451757356595},
		{50, 50, 17, 25, 1.8853430915012037, -1.3910970290565365},
		{20, 20, 0, 20, 3.961504793294557, 0},  // nothing wrong, and yet finite
		{0, 20, 20, 20, -3.961504793294557, 0}, // everything wrong
		{3, 4, 0, 36, 2.7355277537933675, 0.8433633641886432},
		{10, 20, 10, 20, 0, 0}, // guessing
	} {
		d, criterion := Detect(c.hits, c.signals, c.alarms, c.noise)
		near(t, "d'", d, c.d, 1e-8)
		near(t, "c", criterion, c.c, 1e-8)
	}
	// Published to two decimals, uncorrected: H .70 and F .40 give d' 0.78 (manual page of dprime of the STAT programs, 1985).
	near(t, "d' of the manual page", z(0.7)-z(0.4), 0.78, 0.005)
}

func TestNormalDeviateAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(1e-6, 1-1e-6).Draw(t, "p")
		if got, want := z(p), distuv.UnitNormal.Quantile(p); math.Abs(got-want) > 1e-6*max(1, math.Abs(want)) {
			t.Fatalf("z(%v) is %v; gonum says %v", p, got, want)
		}
	})
}
