package practice

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Power is the power law of practice, fitted: the Nth time takes A * N^-B, or, with a floor, Floor + A * N^-B (Newell and Rosenbloom 1981).
type Power struct {
	A, B      float64
	Low, High float64 // the 95 % interval of B, by the law without a floor
	R2        float64 // the share of the variance of ln T that the law explains, 0 to 1
	Of        int     // how many times it was fitted to
	Floor     float64 // what practice does not get below, in the unit of the times; zero where it is not warranted
	Gain      float64 // by how much AICc is lower with the floor than without; zero without one
}

// At is the time that the law has for the nth time.
func (p *Power) At(n float64) float64 { return p.Floor + float64(p.A*math.Pow(n, -p.B)) }

// Doubling is what each doubling of practice takes a time to, above the floor: a share of it.
func (p *Power) Doubling() float64 { return math.Pow(2, -p.B) }

// Learning is what times show of the power law.
type Learning string

// What times can show.
const (
	TooFewTimes Learning = "too few"   // to tell anything: below LeastTimes
	Learns      Learning = "supported" // times fall: the interval of B lies above 0
	Flat        Learning = "no trend"  // the interval of B has 0 in it
	Unlearns    Learning = "slower"    // times rise: the interval of B lies below 0
)

// LeastTimes is how many times there have to be for a law to be fitted: with fewer the interval of B is wider than any B that was ever
// found. LeastFloor is how many there have to be for a floor, which is a third figure. Both are our own.
const (
	LeastTimes = 5
	LeastFloor = 8
)

// FitPower fits the law to times t, all above zero, of the nth times n, all above zero too, by least squares of ln T on ln N. Times that are
// none, and times that were all the same time, show nothing.
func FitPower(n, t []float64) (Power, Learning) {
	if len(n) < LeastTimes {
		return Power{Of: len(n)}, TooFewTimes
	}
	x, y := make([]float64, len(n)), make([]float64, len(n))
	for i := range n {
		if !(n[i] > 0) || !(t[i] > 0) {
			return Power{Of: len(n)}, TooFewTimes
		}
		x[i], y[i] = math.Log(n[i]), math.Log(t[i])
	}
	intercept, slope, rest, ok := straight(x, y)
	if !ok {
		return Power{Of: len(n)}, TooFewTimes
	}
	p := Power{A: math.Exp(intercept), B: -slope, R2: explained(y, rest), Of: len(n)}
	free := float64(len(n) - 2)
	wide := math.Sqrt(rest/free/spread(x)) * distuv.StudentsT{Sigma: 1, Nu: free}.Quantile(0.975)
	p.Low, p.High = p.B-wide, p.B+wide
	switch {
	case p.Low > 0:
		p.level(x, y, rest)
		return p, Learns
	case p.High < 0:
		return p, Unlearns
	}
	return p, Flat
}

// straight is the straight line through points by least squares, and the sum of squares that it leaves. It is none through points of one x.
func straight(x, y []float64) (intercept, slope, rest float64, ok bool) {
	mx, my := average(x), average(y)
	sxx, sxy := 0.0, 0.0
	for i := range x {
		sxx += float64((x[i] - mx) * (x[i] - mx))
		sxy += float64((x[i] - mx) * (y[i] - my))
	}
	if !(sxx > 0) {
		return 0, 0, 0, false
	}
	slope = sxy / sxx
	intercept = my - float64(slope*mx)
	for i := range x {
		off := y[i] - intercept - float64(slope*x[i])
		rest += float64(off * off)
	}
	return intercept, slope, rest, true
}

func average(list []float64) float64 {
	sum := 0.0
	for _, v := range list {
		sum += v
	}
	return sum / float64(len(list))
}

// spread is the sum of squares around the mean.
func spread(list []float64) float64 {
	mean, sum := average(list), 0.0
	for _, v := range list {
		sum += float64((v - mean) * (v - mean))
	}
	return sum
}

// explained is the share of the variance of y that a law explains which leaves rest. Where y does not vary there is nothing to explain.
func explained(y []float64, rest float64) float64 {
	whole := spread(y)
	if !(whole > 0) {
		return 0
	}
	return max(0, 1-rest/whole)
}

// level gives the law a floor if that is warranted: if the corrected criterion of Akaike (Hurvich and Tsai 1989) is lower by more than 2 for it.
// plain is what the law without one leaves of the squares.
func (p *Power) level(x, y []float64, plain float64) {
	if len(x) < LeastFloor {
		return
	}
	// With the floor as a share of A, ln T = ln A + ln(N^-B + share): A follows from the other two.
	left := func(share, b float64) (rest, a float64) {
		off := make([]float64, len(x))
		for i := range x {
			off[i] = y[i] - math.Log(math.Exp(-float64(b*x[i]))+share)
		}
		return spread(off), math.Exp(average(off))
	}
	const most, steps = 3.0, 120 // a floor of three times what practice takes away is a flat line
	best, share, b, a := math.Inf(1), 0.0, 0.0, 0.0
	try := func(s float64) float64 {
		at := lowest(func(b float64) float64 { rest, _ := left(s, b); return rest }, 0.01, 4)
		rest, scale := left(s, at)
		if rest < best {
			best, share, b, a = rest, s, at, scale
		}
		return rest
	}
	for i := 1; i <= steps; i++ {
		try(most * float64(i*i) / (steps * steps))
	}
	width := 2 * most / steps
	lowest(try, max(1e-6, share-width), share+width)
	gain := akaike(plain, len(x), 3) - akaike(best, len(x), 4)
	if gain > 2 {
		p.A, p.B, p.Floor, p.Gain, p.R2 = a, b, float64(a*share), gain, explained(y, best)
	}
}

// akaike is the corrected criterion of a law with so many parameters, the spread of the times among them.
func akaike(rest float64, n, parameters int) float64 {
	const exact = 1e-12 // squares of ln T below it are rounding, and no better than one another
	k := float64(parameters)
	return float64(float64(n)*math.Log(max(rest/float64(n), exact))) + 2*k + 2*k*(k+1)/(float64(n)-k-1)
}

// lowest finds where a function with one valley is lowest, by golden sections.
func lowest(f func(float64) float64, from, to float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	a, b := to-float64(ratio*(to-from)), from+float64(ratio*(to-from))
	fa, fb := f(a), f(b)
	for range 40 {
		if fa < fb {
			to, b, fb = b, a, fa
			a = to - float64(ratio*(to-from))
			fa = f(a)
		} else {
			from, a, fa = a, b, fb
			b = from + float64(ratio*(to-from))
			fb = f(b)
		}
	}
	return (from + to) / 2
}
