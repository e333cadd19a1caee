package practice

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// needs says how much things are in need of practice.
type needs struct {
	known *Known
	at    time.Time
	only  map[Thing]bool // nothing else is, if there are any
	w     ready          // by which things are chosen, as in a plan
	usual float64        // difficulty of what is right the first time
	fresh float64        // need of what was never met
}

func newNeeds(k *Known, at time.Time, only map[Thing]bool) needs {
	n := needs{known: k, at: at, w: k.Prior.ready(), usual: k.Prior.first(Good).Difficulty}
	if len(only) > 0 {
		n.only = only
	}
	n.fresh = n.gain(Memory{}, 0)
	return n
}

// leastNeed is of what practising adds nothing to: what is known well is still practised where nothing else is in need.
const leastNeed = 0.001

// of is how much practising a thing now adds to the probability that it is known LookAhead days from now, as a plan reckons it, times its weight.
// Something hopeless would gain little by that; here it gains no less than the same thing known better would. So to know something worse never makes it
// less in need, and what was never met is most.
func (n *needs) of(t Thing) float64 {
	if n.only != nil && !n.only[t] {
		return 0
	}
	st := n.known.States[t]
	if st == nil {
		return t.Weight() * n.fresh
	}
	days, best := st.since(n.at), leastNeed
	// Stabilities from that of the thing upwards, two to a doubling. What they gain is at most what is missing, which gets less and less.
	for k := math.Ceil(2 * math.Log2(st.Stability)); ; k++ {
		m := Memory{Stability: math.Exp2(k / 2), Difficulty: n.usual}
		if m.Stability > MostStability || 1-n.w.recall(m, days+LookAhead) <= best {
			break
		}
		best = max(best, n.gain(m, days))
	}
	return t.Weight() * min(best, n.fresh)
}

// gain is what practising now adds to the probability LookAhead days from now.
func (n *needs) gain(m Memory, days float64) float64 {
	o := outlook{m, -days}
	after := n.w.practised(o, 0)
	return n.w.recall(after.Memory, LookAhead) - n.w.recall(m, days+LookAhead)
}

// why says how much of some things is known.
func (n *needs) why(things []Thing) Why {
	y := Why{Things: len(things)}
	if len(things) == 0 {
		return y
	}
	w := n.known.Weights.ready() // told is what is likely
	type weak struct {
		Thing
		ahead float64
	}
	var list []weak
	for _, t := range things {
		st := n.known.States[t]
		if st == nil {
			continue
		}
		days := st.since(n.at)
		now, ahead := w.recall(st.Memory, days), w.recall(st.Memory, days+LookAhead)
		y.Met, y.Now, y.Ahead = y.Met+1, y.Now+now, y.Ahead+ahead
		if ahead < SureFrom {
			list = append(list, weak{t, ahead})
		}
	}
	y.Now, y.Ahead = y.Now/float64(len(things)), y.Ahead/float64(len(things))
	slices.SortStableFunc(list, func(a, b weak) int { return cmp.Or(cmp.Compare(a.ahead, b.ahead), a.compare(b.Thing)) })
	for _, thing := range list[:min(len(list), MostWeak)] {
		y.Weak = append(y.Weak, thing.Thing)
	}
	return y
}
