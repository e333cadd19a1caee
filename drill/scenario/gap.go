package scenario

import (
	"math"
	"time"
)

// Gap is the wait before the next drawn injection, for a u drawn uniformly from [0, 1):
//
//	gap = MinGap - MeanGap * ln(1 - u*(1 - exp(-MaxGap/MeanGap)))
//
// This is the inverse of the distribution function of an exponential that is cut off at MaxGap, moved by MinGap. An
// exponential has no memory (its hazard is constant: Luce 1986, Response Times; attribution from memory), so to have
// waited tells nothing about how much longer the wait will be, until the cut-off comes near.
//
// The result is the same on every platform: no step of it can be fused with the next, and it is rounded to whole
// microseconds. MeanGap and MaxGap must be positive, as Check makes sure.
func (d *Drawn) Gap(u float64) time.Duration {
	mean := float64(d.MeanGap)
	kept := 1 - exp(-float64(d.MaxGap)/mean)
	wait := -mean * ln(1-float64(u*kept))
	return d.MinGap + time.Duration(min(wait, float64(d.MaxGap))).Round(time.Microsecond)
}

// The library's own exp and log may be built with fused multiply-adds on some platforms and without them on others, and
// then differ in their last bit. These two round after every operation, everywhere.

// ln is the natural logarithm of x, which must be positive and finite.
//
// With x = f * 2^e and s = (f-1)/(f+1), it is e*ln 2 + 2*(s + s^3/3 + s^5/5 + ...).
func ln(x float64) float64 {
	f, e := math.Frexp(x)
	if f < math.Sqrt2/2 {
		f, e = 2*f, e-1
	}
	s := (f - 1) / (f + 1) // at most 0.172, so that the term after the last is below 1e-17 of the first
	square, power, sum := float64(s*s), s, 0.0
	for n := 1; n <= 21; n += 2 {
		sum += power / float64(n)
		power = float64(power * square)
	}
	return float64(float64(e)*math.Ln2) + float64(2*sum)
}

// exp is e to the power of x, which must not be positive.
//
// With x = k*ln 2 + r, it is 2^k * (1 + r + r^2/2! + r^3/3! + ...).
func exp(x float64) float64 {
	k := math.Round(x / math.Ln2)
	r := x - float64(k*math.Ln2) // at most 0.35, so that the term after the last is below 1e-17
	term, sum := 1.0, 1.0
	for n := 1; n <= 14; n++ {
		term = float64(term*r) / float64(n)
		sum += term
	}
	return math.Ldexp(sum, int(max(k, -2000)))
}
