package practice

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The example of brier_score_loss in the documentation of scikit-learn: outcomes 0 1 1 0, probabilities 0.1 0.9 0.8 0.3, score 0.0375.
func TestBrierOfAWorkedExample(t *testing.T) {
	var c Calibration
	for i, said := range []float64{0.1, 0.9, 0.8, 0.3} {
		c.Add(said, i == 1 || i == 2)
	}
	near(t, "Brier score", c.Brier(), 0.0375, 1e-12)
}

// Forecasts of rain, with how often each probability was given and how often it then rained: Wilks, Statistical Methods in the Atmospheric
// Sciences, table 7.3, as the R package verification reproduces it (its pages reliability.plot and attribute; the shares from the comment
// in the source of the former, since those of the example have two slips and add up to 1.63). It rained 0.162 of the time. The parts are those of
// Murphy's formulas (J. Appl. Meteorol. 12:595-600) on that table, by another program, with 0 and 0.05 taken together, and 0.9 and 1.
func TestMurphyOfAWorkedExample(t *testing.T) {
	rained := []float64{0.006, 0.019, 0.059, 0.15, 0.277, 0.377, 0.511, 0.587, 0.723, 0.779, 0.934, 0.933}
	share := []float64{0.4112, 0.0671, 0.1833, 0.0986, 0.0616, 0.0366, 0.0303, 0.0275, 0.0245, 0.022, 0.017, 0.0203}
	const days = 100_000
	var c Calibration
	for i, said := range []float64{0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1} {
		n := int(math.Round(share[i] * days))
		wet := int(math.Round(rained[i] * float64(n)))
		for range wet {
			c.Add(said, true)
		}
		for range n - wet {
			c.Add(said, false)
		}
	}
	all := c.All()
	near(t, "how often it rained", all.Came(), 0.162, 0.0006)
	reliability, resolution, uncertainty := c.Murphy()
	near(t, "reliability", reliability, 0.00065, 0.00002)
	near(t, "resolution", resolution, 0.06278, 0.00002)
	near(t, "uncertainty", uncertainty, 0.13542, 0.00005)
	near(t, "Brier score", c.Brier(), 0.07346, 0.00005)
}

// By definition: the score is the mean square over the looks one by one, and where all of a bin were given the same, it is reliability -
// resolution + uncertainty.
func TestCalibrationByDefinition(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		type look struct {
			said  float64
			right bool
		}
		draw := rapid.Custom(func(r *rapid.T) look {
			return look{float64(rapid.IntRange(0, 9).Draw(r, "bin"))/10 + 0.03, rapid.Bool().Draw(r, "right")}
		})
		looks := rapid.SliceOfN(draw, 1, 60).Draw(r, "looks")
		var c Calibration
		sum, right := 0.0, 0
		for _, l := range looks {
			c.Add(l.said, l.right)
			came := 0.0
			if l.right {
				came = 1
				right++
			}
			sum += (l.said - came) * (l.said - came) / float64(len(looks))
		}
		reliability, resolution, uncertainty := c.Murphy()
		all := c.All()
		if all.Looks != len(looks) || all.Right != right {
			r.Fatalf("%d of %d looks right, want %d of %d", all.Right, all.Looks, right, len(looks))
		}
		for what, got := range map[string]float64{"Brier": c.Brier(), "its parts": reliability - resolution + uncertainty} {
			if math.Abs(got-sum) > 1e-9 {
				r.Fatalf("%s: %g, want %g", what, got, sum)
			}
		}
	})
}

// The bounds of the bins, and nothing of nothing.
func TestCalibrationBins(t *testing.T) {
	var c Calibration
	if reliability, resolution, uncertainty := c.Murphy(); c.Brier() != 0 || reliability != 0 || resolution != 0 || uncertainty != 0 {
		t.Error("no looks, and a score")
	}
	for said, bin := range map[float64]int{0: 0, 0.0999: 0, 0.1: 1, 0.55: 5, 0.9: 9, 1: 9} {
		var c Calibration
		c.Add(said, true)
		if c.Bins[bin].Looks != 1 || c.Bins[bin].Right != 1 || c.Bins[bin].Said() != said {
			t.Errorf("%g is not in bin %d: %+v", said, bin, c.Bins)
		}
	}
}
