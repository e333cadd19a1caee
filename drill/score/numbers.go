package score

import (
	"math"
	"slices"
)

// The figures of this file come out the same on every platform: each product is rounded before it is added to anything,
// and nothing is called whose last bit depends on the processor but the square root, which IEEE 754 fixes.

// Quantile is the value below which the share p of a sample lies, by definition 7 of Hyndman and Fan (1996), The American
// Statistician 50(4):361-365: linear between the order statistics, the first of which is at p = 0 and the last at p = 1.
// The values are sorted and not empty; p is from 0 to 1.
func Quantile(sorted []float64, p float64) float64 {
	place := float64(p * float64(len(sorted)-1))
	below := int(place)
	if below >= len(sorted)-1 {
		return sorted[len(sorted)-1]
	}
	part := place - float64(below)
	return sorted[below] + float64(part*(sorted[below+1]-sorted[below]))
}

// mean of values that are not empty.
func mean(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}

// TauB is Kendall's rank agreement of two samples of the same length, with his correction for ties:
//
//	(P - Q) / sqrt((P + Q + X) * (P + Q + Y))
//
// P and Q count the pairs that are in the same and in opposite order in both, X and Y those that are tied in x alone and in
// y alone. It is 1 for the same order and -1 for the opposite one; false if a sample is all ties, or shorter than two.
func TauB(x, y []float64) (tau float64, ok bool) {
	var p, q, tiedX, tiedY float64
	for i := range x {
		for k := range i {
			dx, dy := x[i]-x[k], y[i]-y[k]
			switch same := dx * dy; {
			case same > 0:
				p++
			case same < 0:
				q++
			case dx != 0:
				tiedY++
			case dy != 0:
				tiedX++
			}
		}
	}
	under := float64((p + q + tiedX) * (p + q + tiedY))
	if under == 0 {
		return 0, false
	}
	return (p - q) / math.Sqrt(under), true
}

// Detect gives sensitivity and criterion of an observer who found so many of the signals, and took so much of the noise for
// one (Stanislaw and Todorov 1999, Behavior Research Methods, Instruments & Computers 31(1):137-149):
//
//	d' = z(H) - z(F)        c = -(z(H) + z(F)) / 2
//
// H and F are the rates with the log-linear correction of Hautus (1995), same journal 27:46-51, which keeps both finite:
// half a hit is added to the hits and one to the signals, and so for the noise. d' is 0 for guessing; c is 0 for no leaning,
// and above it for somebody who needs a lot to call something a signal.
func Detect(hits, signals, falseAlarms, noise int) (dPrime, c float64) {
	h := z((float64(hits) + 0.5) / float64(signals+1))
	f := z((float64(falseAlarms) + 0.5) / float64(noise+1))
	return h - f, -(h + f) / 2
}

// z is the standard normal deviate below which a share p lies, to within 1e-9; p has to be between 1e-6 and 1 - 1e-6,
// which a share of half a hit in fewer than 500,000 looks always is.
func z(p float64) float64 {
	low, high := -6.0, 6.0
	for range 60 {
		middle := (low + high) / 2
		if normal(middle) < p {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// normal is the share of a standard normal distribution below x, for x from -6 to 6, by the power series of its density:
//
//	1/2 + (x - x^3/(2*1!*3) + x^5/(4*2!*5) - ...) / sqrt(2 pi)
func normal(x float64) float64 {
	const rootOfTwoPi = 2.50662827463100050241576528481104525300698674060993831662992357
	square := float64(x*x) / 2
	power, sum := x, x
	for n := 1; n <= 100; n++ {
		power = -float64(power*square) / float64(n)
		sum += power / float64(2*n+1)
	}
	return 0.5 + sum/rootOfTwoPi
}

// ranksOf gives the place of each value in its sample once it is sorted; equal values keep their order, so that no two
// places are the same.
func ranksOf(values []int) []float64 {
	order := make([]int, len(values))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return values[a] - values[b] })
	ranks := make([]float64, len(values))
	for place, i := range order {
		ranks[i] = float64(place)
	}
	return ranks
}
