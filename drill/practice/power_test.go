package practice

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"
)

// upTo are the numbers from 1 to n.
func upTo(n int) []float64 {
	list := make([]float64, n)
	for i := range list {
		list[i] = float64(i + 1)
	}
	return list
}

// The power law of practice with a of 10 s: check-values, section 7, to the places given there (the form of Newell and Rosenbloom 1981).
func TestPowerOfCleanTimes(t *testing.T) {
	n := []float64{1, 2, 4, 8, 16, 32, 64, 100}
	times := []float64{10, 7.5786, 5.7435, 4.3528, 3.2988, 2.5, 1.8946, 1.5849}
	p, is := FitPower(n, times)
	if is != Learns || math.Abs(p.A-10) > 0.001 || math.Abs(p.B-0.4) > 0.0001 || p.R2 < 0.99999 || p.Floor != 0 {
		t.Errorf("%s, %+v; want a 10, b 0.4 and no floor", is, p)
	}
	if p.Low > 0.4 || p.High < 0.4 || p.High-p.Low > 0.001 {
		t.Errorf("b lies between %g and %g", p.Low, p.High)
	}
	for i, want := range times {
		if got := p.At(n[i]); math.Abs(got-want) > 0.0006 {
			t.Errorf("time %g takes %g s, want %g", n[i], got, want)
		}
	}
	for b, want := range map[float64]float64{0.3: 0.812252, 0.4: 0.757858, 0.5: 0.707107} {
		law := Power{A: 10, B: b}
		var clean []float64
		for _, n := range upTo(12) {
			clean = append(clean, law.At(n))
		}
		p, is := FitPower(upTo(12), clean)
		if math.Abs(p.Doubling()-want) > 5e-7 || is != Learns || p.Floor != 0 {
			t.Errorf("b %g: a doubling takes it to %.6f with a floor of %g (%s), want %.6f", b, p.Doubling(), p.Floor, is, want)
		}
	}
}

// Noisy times: the line is that of gonum's stat.LinearRegression, and R2 that of its stat.RSquared.
func TestPowerAgainstGonum(t *testing.T) {
	draw := rand.New(rand.NewPCG(7, 13))
	for range 200 {
		n := upTo(5 + draw.IntN(30))
		law := Power{A: 1 + 4*draw.Float64(), B: draw.Float64() - 0.3}
		times, x, y := make([]float64, len(n)), make([]float64, len(n)), make([]float64, len(n))
		for i := range n {
			times[i] = law.At(n[i]) * math.Exp(0.3*draw.NormFloat64())
			x[i], y[i] = math.Log(n[i]), math.Log(times[i])
		}
		alpha, beta := stat.LinearRegression(x, y, nil, false)
		p, is := FitPower(n, times)
		if p.Floor > 0 {
			continue // another law than a straight line
		}
		if math.Abs(math.Log(p.A)-alpha) > 1e-10 || math.Abs(p.B+beta) > 1e-10 || math.Abs(p.R2-stat.RSquared(x, y, nil, alpha, beta)) > 1e-10 {
			t.Fatalf("%+v; gonum has ln a %g, b %g", p, alpha, -beta)
		}
		if want := p.Low > 0; (is == Learns) != want {
			t.Fatalf("b between %g and %g: %s", p.Low, p.High, is)
		}
	}
}

// The interval of b has the true b in it as often as it says: 95 % of the time (an interval of 1000 draws is some 1.4 % wide on either side).
func TestPowerIntervalHolds(t *testing.T) {
	draw := rand.New(rand.NewPCG(3, 5))
	law, n, in := Power{A: 3, B: 0.2}, upTo(7), 0
	for range 1000 {
		times := make([]float64, len(n))
		for i := range n {
			times[i] = law.At(n[i]) * math.Exp(0.1*draw.NormFloat64())
		}
		if p, _ := FitPower(n, times); p.Low <= law.B && law.B <= p.High {
			in++
		}
	}
	if in < 930 || in > 970 {
		t.Errorf("b lay in its interval %d times of 1000", in)
	}
}

// What times have to show before a law is said to hold.
func TestPowerIsNotSupported(t *testing.T) {
	for name, test := range map[string]struct {
		n, times []float64
		want     Learning
	}{
		"none":                   {nil, nil, TooFewTimes},
		"four":                   {upTo(4), []float64{8, 6, 5, 4}, TooFewTimes},
		"five that fall":         {upTo(5), []float64{8, 6, 5, 4.5, 4.2}, Learns},
		"five that rise":         {upTo(5), []float64{4.2, 4.5, 5, 6, 8}, Unlearns},
		"up and down":            {upTo(6), []float64{4, 5, 4.2, 4.9, 4.1, 4.8}, Flat},
		"all the same":           {upTo(6), []float64{2, 2, 2, 2, 2, 2}, Flat},
		"all the same time of N": {[]float64{2, 2, 2, 2, 2}, []float64{4, 5, 4, 5, 4}, TooFewTimes},
		"a time of nothing":      {upTo(5), []float64{8, 6, 0, 4.5, 4.2}, TooFewTimes},
		"before the first":       {[]float64{0, 1, 2, 3, 4}, []float64{8, 6, 5, 4.5, 4.2}, TooFewTimes},
	} {
		if _, is := FitPower(test.n, test.times); is != test.want {
			t.Errorf("%s: %s, want %s", name, is, test.want)
		}
	}
}

// A floor is found where there is one, and only there: of 200 laws without one, few get one by chance.
func TestPowerWithAFloor(t *testing.T) {
	law := Power{A: 4, B: 0.6, Floor: 1.5}
	var clean []float64
	for _, n := range upTo(20) {
		clean = append(clean, law.At(n))
	}
	p, is := FitPower(upTo(20), clean)
	if is != Learns || math.Abs(p.Floor-1.5) > 0.01 || math.Abs(p.A-4) > 0.01 || math.Abs(p.B-0.6) > 0.01 || p.Gain < 10 {
		t.Errorf("%s, %+v; want 1.5 + 4 N^-0.6", is, p)
	}
	if p, _ := FitPower(upTo(7), clean[:7]); p.Floor != 0 {
		t.Errorf("seven times have a floor of %g", p.Floor)
	}
	draw := rand.New(rand.NewPCG(11, 2))
	floors := 0
	for range 200 {
		plain, times := Power{A: 4, B: 0.4}, []float64(nil)
		for _, n := range upTo(15) {
			times = append(times, plain.At(n)*math.Exp(0.1*draw.NormFloat64()))
		}
		if p, _ := FitPower(upTo(15), times); p.Floor > 0 {
			floors++
		}
	}
	if floors > 20 {
		t.Errorf("%d of 200 laws without a floor were given one", floors)
	}
}
