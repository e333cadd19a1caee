package practice

import (
	"math"
	"slices"
	"time"
)

// A look is a trial that shows whether something was still known: it had been met before, not within the same session, and nobody told.
// Before each one the model says how likely it is known, and so it can be held against what came true, and fitted to it.
func isLook(met, told bool, days float64) bool { return met && !told && days >= sameSession }

// When weights are fitted to a trainee: with the first sitting that brings the looks to FirstFit, and again each time that there are half as many
// more, LatestFit being the last that counts. So it hangs on the sittings alone, and not on when somebody asks. Our own figures: a hundred looks are an
// evening or two of what was met before, and by the last nothing changes any more.
const (
	FirstFit  = 100
	LatestFit = 12921
)

// nextFit is with how many looks weights are fitted next, if they were with so many; 0: not any more.
func nextFit(looks int) int {
	for at := FirstFit; at <= LatestFit; at += at / 2 {
		if at > looks {
			return at
		}
	}
	return 0
}

// Fit says whether weights were fitted to a trainee, from how much, and how much better they foretell.
type Fit struct {
	Looks  int     // that there were when it was last tried; 0 if it has not been
	Held   int     // looks of the latest sittings, held out: foretold by weights that were fitted to those before
	Before float64 // mean logarithmic loss over them, in nats, by the weights for learners in general
	After  float64 // the same, by the fitted ones
	Used   bool    // they are used, since they foretold clearly better
}

// What counts as clearly better: by that part of the loss at least, and by so many standard errors of the mean. Our own figures.
const (
	leastGain   = 0.02
	leastErrors = 1
)

// folds is how often weights are tried before they are used: fitted to what came before, and tried on what came next.
const folds = 2

// mostFitted is how many trials, about, weights are fitted to at most, which bounds the time that it takes. Of more, every second, third, ... thing is
// taken with all of its trials: four figures need no more.
const mostFitted = 4000

// surest is how near to 0 and 1 a probability is taken for the loss: one slip is no proof against a whole model.
const surest = 0.01

// seen is one trial as it bears upon the weights.
type seen struct {
	days   float64 // since the time before
	weight float64 // how much it counts
	n      int     // the sitting
	grade  Grade
	right  bool
	look   bool
}

// history is the trials of each thing.
type history [][]seen

// historyOf draws the trials of each thing from sittings, the earliest first, in an order that hangs on nothing else.
func historyOf(sittings []Sitting) history {
	type state struct {
		list []seen
		last time.Time
	}
	states, trials := map[Thing]*state{}, 0
	var at time.Time
	for n := range sittings {
		s := &sittings[n]
		if s.Began.After(at) {
			at = s.Began
		}
		for i := range s.Trials {
			t := &s.Trials[i]
			thing := OfTrial(t, s.Procedure, s.Profile)
			st := states[thing]
			if st == nil {
				st = &state{last: at}
				states[thing] = st
			}
			one := seen{days: daysSince(st.last, at), n: n, right: t.Right}
			one.grade, one.weight = GradeOf(t)
			one.look = isLook(len(st.list) > 0, t.Told, one.days)
			st.list, st.last = append(st.list, one), at
		}
		trials += len(s.Trials)
	}
	things := make([]Thing, 0, len(states))
	for t := range states {
		things = append(things, t)
	}
	slices.SortFunc(things, Thing.compare)
	var h history
	every := max(1, (trials+mostFitted-1)/mostFitted)
	for i := 0; i < len(things); i += every {
		h = append(h, states[things[i]].list)
	}
	return h
}

// each goes through the looks of the sittings from one to before another, and gives the loss of each by those weights.
func (h history) each(w *Weights, from, to int, take func(loss float64)) {
	r := w.ready()
	for _, list := range h {
		var m Memory
		for i := range list {
			one := &list[i]
			if one.n >= to {
				break
			}
			known := r.recall(m, one.days)
			if one.look && one.n >= from {
				p := clamp(known, surest, 1-surest)
				if !one.right {
					p = 1 - p
				}
				take(-math.Log(p))
			}
			m = r.afterAt(m, one.days, known, one.grade, one.weight)
		}
	}
}

// cuts are the sittings from which on looks are held out, one after the other, the last being where the sittings end: between two of them lies a fold. Before
// the first lies a part of the looks as large as a fold, as nearly as whole sittings allow. Fewer come out where there are fewer sittings with looks.
func (h history) cuts(sittings int) (cuts []int) {
	looks, all := make([]int, sittings), 0
	for _, list := range h {
		for i := range list {
			if list[i].look {
				looks[list[i].n]++
				all++
			}
		}
	}
	before, in := 0, 0 // looks before the sitting, and since the latest cut
	for n, more := range looks {
		share := float64(len(cuts)+1) * float64(all) / (folds + 1)
		if len(cuts) < folds && in > 0 && more > 0 && float64(before)+float64(more)/2 > share {
			cuts, in = append(cuts, n), 0
		}
		before, in = before+more, in+more
	}
	return append(cuts, sittings)
}

// What is fitted: not all that the model has, but what differs most from one trainee to another, each as a ratio to what learners in general have, on a scale
// of steps of e^1/4. Whatever the place on it, a right answer still leaves no less behind than a wrong one.
type place [4]int

const (
	stepRatio = 1.2840254166877414 // e^(1/4)
	mostSteps = 16                 // either way: a factor of 55
	usualStep = 2.8                // as many steps as a factor of two: by so much trainees are taken to differ (a standard deviation). Our own estimate
)

// weights are those at a place, from the ones for learners in general.
func (p place) weights(prior *Weights) Weights {
	w := *prior
	first := ratio(p[0])
	for i := range 4 { // how long something lasts that was met once
		w[i] *= first
	}
	w[20] *= ratio(p[1])         // how steeply it goes on to be forgotten
	w[8] += 0.25 * float64(p[2]) // what a success adds
	w[11] *= ratio(p[3])         // what a failure leaves
	return w
}

// allowed reports whether somebody may be taken to be there. That forgetting goes on less steeply than for learners in general is never concluded: looks
// some days apart fit that as well as they do a longer memory, and what would be left after months is then foretold far too high.
func (p place) allowed() bool {
	for _, steps := range p {
		if steps < -mostSteps || steps > mostSteps {
			return false
		}
	}
	return p[1] >= 0
}

// ratio is e^(steps/4), by nothing but multiplications: they are the same on every machine.
func ratio(steps int) float64 {
	r := 1.0
	for range max(steps, -steps) {
		r *= stepRatio
	}
	if steps < 0 {
		return 1 / r
	}
	return r
}

// search looks for the place with the least loss over the sittings before one, from a place on. Being far from learners in general counts as loss, as
// if trainees were spread around them.
//
// It is a search of our own, in ever smaller steps, and no library's: what there is for Go runs goroutines, which the core has none of, and
// sums in assembler in another order than elsewhere; here, a place is only left for one that is better by far more than machines differ.
func (h history) search(prior *Weights, before int, from place) place {
	loss := func(p place) (sum float64) {
		w := p.weights(prior)
		h.each(&w, 0, before, func(loss float64) { sum += loss })
		for _, steps := range p {
			off := float64(steps) / usualStep
			sum += float64(off*off) / 2
		}
		return sum
	}
	best := loss(from)
	better := func(by place) bool {
		next := from
		for i := range next {
			next[i] += by[i]
		}
		if !next.allowed() {
			return false
		}
		l := loss(next)
		if l >= best-clearly {
			return false
		}
		best, from = l, next
		return true
	}
	any := func(ways []place, step int) (moved bool) {
		for _, way := range ways {
			for better(way.times(step)) {
				moved = true
			}
		}
		return moved
	}
	for step := 4; step > 0; step /= 2 {
		for round := 0; round < mostRounds && (any(alone, step) || step == 1 && any(together, step)); round++ {
		}
	}
	return from
}

// The ways to go from a place: one figure, and two at once, where only both together make it better.
var alone, together = ways()

func ways() (alone, together []place) {
	for i := range (place{}) {
		for _, by := range [2]int{1, -1} {
			var way place
			way[i] = by
			alone = append(alone, way)
			for j := range i {
				for _, by := range [2]int{1, -1} {
					both := way
					both[j] = by
					together = append(together, both)
				}
			}
		}
	}
	return alone, together
}

func (p place) times(n int) place {
	for i := range p {
		p[i] *= n
	}
	return p
}

const (
	clearly    = 1e-4 // nats, in sum
	mostRounds = 8    // with steps of one size
)

// fitted fits weights to sittings, the earliest first, and says whether they are to be used: if those fitted to earlier looks foretell later ones
// clearly better than the weights for learners in general do. Where they are used, they are fitted to all.
func fitted(prior *Weights, sittings []Sitting, looks int) (Weights, Fit) {
	f := Fit{Looks: looks}
	h := historyOf(sittings)
	cuts := h.cuts(len(sittings))
	var at place
	var gains []float64 // of each look held out
	for i, from := range cuts[:len(cuts)-1] {
		at = h.search(prior, from, at)
		w := at.weights(prior)
		before := len(gains)
		h.each(prior, from, cuts[i+1], func(loss float64) { gains, f.Before = append(gains, loss), f.Before+loss })
		h.each(&w, from, cuts[i+1], func(loss float64) {
			gains[before] -= loss
			before, f.After = before+1, f.After+loss
		})
	}
	if f.Held = len(gains); f.Held == 0 {
		return *prior, f
	}
	n := float64(f.Held)
	f.Before, f.After = f.Before/n, f.After/n
	gain, squares := f.Before-f.After, 0.0
	for _, g := range gains {
		squares += float64((g - gain) * (g - gain))
	}
	if f.Used = gain >= max(float64(leastGain*f.Before), float64(leastErrors*math.Sqrt(squares)/n)); !f.Used {
		return *prior, f
	}
	return h.search(prior, len(sittings), at).weights(prior), f
}

// FitDue reports whether so many looks have come together that weights are to be fitted (again): Refit does it.
func (k *Known) FitDue() bool {
	at := nextFit(k.Fit.Looks)
	return at > 0 && k.Said.Looks >= at
}

// Refit fits the weights to the sittings that are in it, all of them as they were learnt, and learns them anew by those. What was said before each
// look stays as it was said.
func (k *Known) Refit(sittings []Sitting) {
	w, f := fitted(&k.Prior, sittings, k.Said.Looks)
	k.Fit = f
	if w == k.Weights {
		return
	}
	anew := NewKnown(w)
	for i := range sittings {
		anew.Learn(&sittings[i])
	}
	k.Weights, k.States = w, anew.States
}

// LearnAll is what is known by sittings, the earliest first, with weights fitted whenever that is due.
func LearnAll(prior Weights, sittings []Sitting) *Known {
	k := NewKnown(prior)
	for i := range sittings {
		k.Learn(&sittings[i])
		if k.FitDue() {
			k.Refit(sittings[:i+1])
		}
	}
	return k
}
