package practice

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// LeastPace is how many complete sittings there have to be to say how speed and correctness move together: two halves of two.
const LeastPace = 4

// Pace is how speed and correctness went together, over what both halves of the complete sittings of a series asked.
type Pace struct {
	Half                int // sittings in either half: the earlier, and the later; of an odd number the middle one is in neither
	Things              int
	WrongThen, OfThen   int     // times in the earlier half, not right or not at its place
	WrongNow, OfNow     int     // and in the later
	More                float64 // what was wrong now less what was then, as shares
	MoreLow, MoreHigh   float64 // its 95 % interval
	Timed               int     // of Things: with reactions in both halves
	Ratio               float64 // reactions now to those then: geometric mean over Timed of the ratios of medians
	RatioLow, RatioHigh float64 // its 95 % interval
}

// Move is which way something went, as far as chance does not make that by itself.
type Move int

// The ways.
const (
	Untold  Move = iota // too little to say anything
	Less                // the interval lies below no change
	Level               // no change is in the interval
	Greater             // the interval lies above no change
)

// LeastTimed is how many things have to have reactions in both halves to say whether somebody got faster. Our own figure.
const LeastTimed = 3

// Times says whether reactions got shorter (Less) or longer.
func (p *Pace) Times() Move {
	if p.Timed < LeastTimed {
		return Untold
	}
	return moved(p.RatioLow, p.RatioHigh, 1)
}

// Slips says whether less or more was wrong.
func (p *Pace) Slips() Move { return moved(p.MoreLow, p.MoreHigh, 0) }

func moved(low, high, none float64) Move {
	switch {
	case high < none:
		return Less
	case low > none:
		return Greater
	}
	return Level
}

func paceOf(whole []*attempt) *Pace {
	if len(whole) < LeastPace {
		return nil
	}
	p := &Pace{Half: len(whole) / 2}
	type half struct {
		of, wrong int
		times     []float64
	}
	gather := func(list []*attempt) (by map[Thing]*half, order []Thing) {
		by = map[Thing]*half{}
		for _, a := range list {
			for _, d := range a.did {
				h := by[d.thing]
				if h == nil {
					h = &half{}
					by[d.thing] = h
					order = append(order, d.thing)
				}
				h.of++
				h.wrong += one(!d.right)
				if d.right && d.ms > 0 {
					h.times = append(h.times, d.ms)
				}
			}
		}
		return by, order
	}
	then, order := gather(whole[:p.Half])
	now, _ := gather(whole[len(whole)-p.Half:])
	var ratios []float64
	for _, thing := range order {
		a, b := then[thing], now[thing]
		if b == nil {
			continue
		}
		p.Things++
		p.WrongThen, p.OfThen = p.WrongThen+a.wrong, p.OfThen+a.of
		p.WrongNow, p.OfNow = p.WrongNow+b.wrong, p.OfNow+b.of
		if len(a.times) > 0 && len(b.times) > 0 {
			ratios = append(ratios, math.Log(median(b.times)/median(a.times)))
		}
	}
	if p.Things == 0 {
		return nil
	}
	p.More, p.MoreLow, p.MoreHigh = difference(p.WrongNow, p.OfNow, p.WrongThen, p.OfThen)
	if p.Timed = len(ratios); p.Timed >= LeastTimed {
		mean, free := average(ratios), float64(len(ratios)-1)
		wide := math.Sqrt(spread(ratios)/free/float64(len(ratios))) * distuv.StudentsT{Sigma: 1, Nu: free}.Quantile(0.975)
		p.Ratio, p.RatioLow, p.RatioHigh = math.Exp(mean), math.Exp(mean-wide), math.Exp(mean+wide)
	}
	return p
}

// difference is the share a of m less the share b of n, with its 95 % interval: the hybrid of two score intervals (Newcombe 1998, Statistics in
// Medicine 17:873-890, method 10).
func difference(a, m, b, n int) (d, low, high float64) {
	p, q := float64(a)/float64(m), float64(b)/float64(n)
	lowP, highP := Wilson(a, m)
	lowQ, highQ := Wilson(b, n)
	d = p - q
	return d, d - math.Hypot(p-lowP, highQ-q), d + math.Hypot(highP-p, q-lowQ)
}
