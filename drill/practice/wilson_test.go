package practice

import (
	"math"
	"testing"
)

// Newcombe 1998, Statistics in Medicine 17:857-872, the examples of table I by method 3, the score interval without a correction (the figures
// from memory, to the four places given there).
func TestWilson(t *testing.T) {
	for _, c := range []struct {
		count, of int
		low, high float64
	}{{81, 263, 0.2553, 0.3662}, {15, 148, 0.0624, 0.1605}, {0, 20, 0, 0.1611}, {1, 29, 0.0061, 0.1718}, {20, 20, 0.8389, 1}, {0, 0, 0, 1}} {
		low, high := Wilson(c.count, c.of)
		if math.Abs(low-c.low) > 0.00005 || math.Abs(high-c.high) > 0.00005 {
			t.Errorf("%d of %d: %.5f to %.5f; want %.4f to %.4f", c.count, c.of, low, high, c.low, c.high)
		}
	}
}

// The bounds are those shares at which the score test is just not rejected: (p - share)² = z² share (1 - share) / n (Wilson 1927).
func TestWilsonSolvesItsEquation(t *testing.T) {
	for of := 1; of <= 40; of++ {
		for count := 0; count <= of; count++ {
			low, high := Wilson(count, of)
			p := float64(count) / float64(of)
			if low > p || high < p || low < 0 || high > 1 {
				t.Fatalf("%d of %d: %v to %v", count, of, low, high)
			}
			for _, share := range []float64{low, high} {
				if off := (p-share)*(p-share) - 1.959963984540054*1.959963984540054*share*(1-share)/float64(of); math.Abs(off) > 1e-12 && share != 0 && share != 1 {
					t.Errorf("%d of %d: %v is off by %g", count, of, share, off)
				}
			}
			if mirrored, _ := Wilson(of-count, of); math.Abs(mirrored-(1-high)) > 1e-12 {
				t.Errorf("%d of %d and the others together: %v and %v", count, of, high, mirrored)
			}
		}
	}
}
