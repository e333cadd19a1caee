package practice

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"hornlark/drill/score"
)

// Past is a sitting that has ended, and how it went as a whole.
type Past struct {
	Sitting
	Complete bool // to its end: nobody stopped it
	Passed   bool
}

// Kin is what sittings have in common that can be compared.
type Kin struct {
	Procedure, Profile, Policy string
}

func (s *Past) kin() Kin { return Kin{s.Procedure, s.Profile, s.Policy} }

func (k Kin) compare(other Kin) int {
	return cmp.Or(cmp.Compare(k.Procedure, other.Procedure), cmp.Compare(k.Profile, other.Profile), cmp.Compare(k.Policy, other.Policy))
}

// Review is what the sittings of a trainee show, looked back on.
type Review struct {
	Series    []Series   // those that were sat latest first
	Abnormals []Standing // worst first; by their notice
}

// Series is all sittings of one kin, and what they show. What was not reached in a sitting is not in it.
type Series struct {
	Kin
	Sittings, Complete, Passed int
	Latest                     time.Time  // when the latest began
	Flow                       bool       // it is about items; otherwise, where nobody goes through any, about the abnormals
	Standings                  []Standing // worst first
	Last, First                *Change    // the latest complete sitting against the one before it, and against the first; nil if that is no other one
	Pace                       *Pace      // nil with fewer than LeastPace complete sittings, or nothing in common
	Curve                      Curve
	whole                      []*attempt // the complete ones, the earliest first
	last                       int        // place of the latest among all sittings
}

// attempt is one sitting of a series.
type attempt struct {
	past *Past
	did  []did
	by   map[Thing]int // places in did; of what was met twice, the first
}

// did is one thing that was done in a sitting: an item, or an abnormal.
type did struct {
	thing     Thing
	right     bool
	unnoticed bool
	told      bool
	ms, par   float64 // zero without a reaction
}

// MakeReview looks back on the sittings of one trainee, in the order in which they were sat. When they began is only told: a clock may have been wrong.
func MakeReview(past []Past) *Review {
	r := &Review{}
	at := make(map[*Past]int, len(past))
	for i := range past {
		at[&past[i]] = i
	}
	for _, family := range families(past) {
		s := seriesOf(family)
		s.last = at[family[len(family)-1]]
		r.Series = append(r.Series, *s)
	}
	slices.SortFunc(r.Series, func(a, b Series) int { return cmp.Compare(b.last, a.last) })
	var met [][]did
	for i := range past {
		met = append(met, meetings(&past[i].Sitting))
	}
	r.Abnormals = standings(met)
	return r
}

// families puts sittings together by their kin, in the order of those.
func families(past []Past) [][]*Past {
	by := map[Kin][]*Past{}
	var kin []Kin
	for i := range past {
		k := past[i].kin()
		if by[k] == nil {
			kin = append(kin, k)
		}
		by[k] = append(by[k], &past[i])
	}
	slices.SortFunc(kin, Kin.compare)
	list := make([][]*Past, len(kin))
	for i, k := range kin {
		list[i] = by[k]
	}
	return list
}

func seriesOf(family []*Past) *Series {
	s := &Series{Kin: family[0].kin(), Sittings: len(family), Latest: family[len(family)-1].Began}
	s.Flow = slices.ContainsFunc(family, func(p *Past) bool { return slices.ContainsFunc(p.Trials, ofItem) })
	var all []*attempt
	var lists [][]did
	for _, p := range family {
		a := &attempt{past: p, by: map[Thing]int{}}
		if s.Flow {
			a.did = items(&p.Sitting)
		} else {
			a.did = meetings(&p.Sitting)
		}
		for i := range a.did {
			if _, twice := a.by[a.did[i].thing]; !twice {
				a.by[a.did[i].thing] = i
			}
		}
		all, lists = append(all, a), append(lists, a.did)
		if p.Complete {
			s.Complete++
			s.whole = append(s.whole, a)
		}
		if p.Passed {
			s.Passed++
		}
	}
	if s.Flow {
		s.Standings = standings(lists)
	}
	if n := len(s.whole); n > 1 {
		s.Last = changeOf(s.whole[n-2], s.whole[n-1])
		if n > 2 {
			s.First = changeOf(s.whole[0], s.whole[n-1])
		}
	}
	s.Pace = paceOf(s.whole)
	s.Curve = curveOf(all)
	return s
}

func ofItem(t score.Trial) bool { return t.Kind == score.TrialItem || t.Kind == score.TrialFigure }

// items are what was done with each item of a sitting: right is what it asked for, at its place.
func items(s *Sitting) []did {
	astray := map[string]bool{}
	for i := range s.Trials {
		if t := &s.Trials[i]; t.Kind == score.TrialStep && !t.Right {
			if _, to, ok := strings.Cut(t.Name, score.StepName("", "")); ok {
				astray[to] = true
			}
		}
	}
	var list []did
	for i := range s.Trials {
		t := &s.Trials[i]
		if !ofItem(*t) {
			continue
		}
		d := did{thing: OfTrial(t, s.Procedure, s.Profile), right: t.Right && (t.Kind == score.TrialFigure || !astray[t.Name])}
		d.time(t)
		list = append(list, d)
	}
	return list
}

// meetings are the abnormals of a sitting, each time that one was met: right is noticed untold and acted on rightly, in time. Where the
// sitting ended before anybody had to act, noticing is all there is.
func meetings(s *Sitting) []did {
	var list []did
	open := map[string]int{}
	for i := range s.Trials {
		t := &s.Trials[i]
		switch t.Kind {
		case score.TrialNotice:
			d := did{thing: OfTrial(t, s.Procedure, s.Profile), right: t.Right, unnoticed: !t.Right}
			d.time(t)
			open[t.Name] = len(list)
			list = append(list, d)
		case score.TrialActions:
			if at, ok := open[t.Name]; ok {
				d := &list[at]
				d.right = d.right && t.Right && !t.Slow && !t.Told
				d.told = t.Told
			}
		}
	}
	return list
}

func (d *did) time(t *score.Trial) {
	if t.ReactionMS != nil && *t.ReactionMS > 0 {
		d.ms, d.par = *t.ReactionMS, t.ParMS
	}
}

// Standing is how well one thing went the latest times that it was met, RecentMost at the most.
type Standing struct {
	Thing
	Met       int     // ever
	Latest    int     // of them are looked at
	Wrong     int     // of Latest: not right, or not at its place
	Unnoticed int     // of Latest, of an abnormal
	Told      int     // of Latest, of an abnormal: acted on only after it was told
	Timed     int     // of Latest
	MS        float64 // median reaction
	Pace      float64 // median of the reactions, each by its par; zero without any
}

// Flawless reports whether nothing was wrong of late, and often enough to say so.
func (s *Standing) Flawless() bool { return s.Wrong == 0 && s.Latest >= LeastFlawless }

// LeastFlawless is how often something has to have been right, and never wrong, to be among the best. Our own figure.
const LeastFlawless = 3

// share is how much of the latest was wrong.
func (s *Standing) share() float64 { return float64(s.Wrong) / float64(s.Latest) }

// standings puts what was done in order, worst first: by the share that was wrong, how often, and how slow it was for its par.
func standings(sittings [][]did) []Standing {
	by := map[Thing][]did{}
	for _, list := range sittings {
		for _, d := range list {
			by[d.thing] = append(by[d.thing], d)
		}
	}
	list := make([]Standing, 0, len(by))
	for thing, met := range by {
		s := Standing{Thing: thing, Met: len(met)}
		met = met[max(0, len(met)-RecentMost):]
		s.Latest = len(met)
		var times, paces []float64
		for _, d := range met {
			s.Wrong += one(!d.right)
			s.Unnoticed += one(d.unnoticed)
			s.Told += one(d.told)
			if d.ms > 0 {
				times = append(times, d.ms)
				if d.par > 0 {
					paces = append(paces, d.ms/d.par)
				}
			}
		}
		s.Timed, s.MS, s.Pace = len(times), median(times), median(paces)
		list = append(list, s)
	}
	slices.SortFunc(list, func(a, b Standing) int {
		return cmp.Or(cmp.Compare(b.share(), a.share()), cmp.Compare(b.Wrong, a.Wrong), cmp.Compare(b.Pace, a.Pace), a.Thing.compare(b.Thing))
	})
	return list
}

func one(so bool) int {
	if so {
		return 1
	}
	return 0
}

// median of values in any order; zero of none.
func median(list []float64) float64 {
	if len(list) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(list))
	return score.Quantile(sorted, 0.5)
}

// Change is one complete sitting against an earlier one of its kin, over what both asked.
type Change struct {
	Then, Now           time.Time // when they began
	Things              int       // that both asked
	RightThen, RightNow int       // of Things
	Timed               int       // of Things: with a reaction in both
	MSThen, MSNow       float64   // medians of those
	PassedThen          bool
	PassedNow           bool
}

func changeOf(then, now *attempt) *Change {
	c := &Change{Then: then.past.Began, Now: now.past.Began, PassedThen: then.past.Passed, PassedNow: now.past.Passed}
	var was, is []float64
	for i, d := range now.did {
		at, both := then.by[d.thing]
		if !both || now.by[d.thing] != i {
			continue
		}
		before := then.did[at]
		c.Things++
		c.RightThen += one(before.right)
		c.RightNow += one(d.right)
		if before.ms > 0 && d.ms > 0 {
			c.Timed++
			was, is = append(was, before.ms), append(is, d.ms)
		}
	}
	c.MSThen, c.MSNow = median(was), median(is)
	return c
}

// Curve is how reactions fell with practice, and the power law that was fitted to it.
type Curve struct {
	Power
	Learning
	Points []CurvePoint
}

// CurvePoint is the reaction of one complete sitting: the geometric mean over what was done rightly in it, made up for what it had to do
// with and others had not.
type CurvePoint struct {
	Began time.Time
	N     float64 // the how manieth time it was, on (geometric) average over what was done
	MS    float64
}

// curveOf fits the power law to a series, a point for each complete sitting. Each thing has its own time and all have one B, so that it does
// not matter which of them a sitting asked: with the logarithms of N and T less their means for each thing, the law is one line. Times
// within a sitting go up and down together, which is why a sitting is a point, and not each reaction.
func curveOf(all []*attempt) Curve {
	type entry struct {
		sitting int
		x, y    float64
	}
	entries, met := map[Thing][]entry{}, map[Thing]int{}
	var order []Thing
	for i, a := range all {
		for k, d := range a.did {
			if a.by[d.thing] != k {
				continue
			}
			if met[d.thing]++; met[d.thing] == 1 {
				order = append(order, d.thing)
			}
			if a.past.Complete && d.right && d.ms > 0 {
				entries[d.thing] = append(entries[d.thing], entry{i, math.Log(float64(met[d.thing])), math.Log(d.ms)})
			}
		}
	}
	sumX, sumY, count := make([]float64, len(all)), make([]float64, len(all)), make([]float64, len(all))
	allX, allY, n := 0.0, 0.0, 0.0
	for _, thing := range order {
		list := entries[thing]
		if len(list) < 2 {
			continue // by itself it says nothing of a change
		}
		meanX, meanY := 0.0, 0.0
		for _, e := range list {
			meanX, meanY = meanX+e.x, meanY+e.y
		}
		allX, allY, n = allX+meanX, allY+meanY, n+float64(len(list))
		meanX, meanY = meanX/float64(len(list)), meanY/float64(len(list))
		for _, e := range list {
			sumX[e.sitting] += e.x - meanX
			sumY[e.sitting] += e.y - meanY
			count[e.sitting]++
		}
	}
	c := Curve{}
	var nth, times []float64
	for i, a := range all {
		if count[i] == 0 {
			continue
		}
		x, y := allX/n+sumX[i]/count[i], allY/n+sumY[i]/count[i]
		c.Points = append(c.Points, CurvePoint{a.past.Began, math.Exp(x), math.Exp(y)})
		nth, times = append(nth, math.Exp(x)), append(times, math.Exp(y))
	}
	c.Power, c.Learning = FitPower(nth, times)
	return c
}
