// Package practice says what to rehearse: what a trainee knows of each thing to know, how much of it will be left on a day to
// come, what helps most in the time that there is, and whether it is enough. It reads what score says of sittings, and nothing else.
package practice

import "math"

// Grade is how well something was known.
type Grade int

// The grades of the memory model.
const (
	Again Grade = 1 + iota // not known
	Hard                   // known, late or with more time than a practised hand takes
	Good                   // known in its time
	Easy                   // known in half of its time, unprompted
)

// Weights are the parameters of the memory model. What each is stands in the formulas of Memory.
type Weights [21]float64

// PublishedWeights are those that the model was published with: FSRS-6, as in version 5.4.2 of the package ts-fsrs (MIT licence). They
// were fitted by its authors to a great many learners of vocabulary and facts.
var PublishedWeights = Weights{
	0.212, 1.2931, 2.3065, 8.2956, 6.4133, 0.8334, 3.0194, 0.001, 1.8722, 0.1666, 0.796,
	1.4835, 0.0614, 0.2629, 1.6483, 0.6014, 1.8729, 0.5425, 0.0912, 0.0658, 0.1542,
}

// DefaultWeights are those for a trainee of whom nothing is known yet: the published ones, but forgetting goes on more steeply. By those, somebody who has
// practised for three or four weeks and then left off would still know half after three years. Of procedures, half of what was gained is gone after
// 6.5 months by accuracy, and after 13 by speed (Tatel and Ackerman, Psychological Bulletin, doi 10.1037/bul0000481): by w20 = 0.3 it takes some ten.
var DefaultWeights = func() Weights {
	w := PublishedWeights
	w[20] = 0.3
	return w
}()

// Bounds of the model, in days and on its scale of difficulty.
const (
	LeastStability = 0.001
	MostStability  = 36500
	leastDifficult = 1
	mostDifficult  = 10
)

// sameSession is the time in days below which something is done again in the same session, where the model has another formula. It
// counts in calendar days; half a day keeps an evening and the next morning apart whatever the hour.
const sameSession = 0.5

// Memory is what is left in a trainee's memory of one thing. The zero value is something that was never met.
type Memory struct {
	Stability  float64 // days after which it is recalled nine times in ten; 0 if it was never met
	Difficulty float64 // 1 (easy) to 10
}

// Met reports whether the thing was ever met.
func (m Memory) Met() bool { return m.Stability > 0 }

// Recall is the probability, 0 to 1, that the thing is known so many days after it was last met: (1 + f t/S)^-w20, with f such that
// it is 0.9 after S days. What was never met is not known.
func (w *Weights) Recall(m Memory, days float64) float64 { r := w.ready(); return r.recall(m, days) }

// ready is the weights with what is made of them once and used often.
type ready struct {
	*Weights
	factor float64 // f
	gain   float64 // e^w8
	loss   float64 // e^(w17 w18)
	easy   float64 // w7 D0(Easy)
}

func (w *Weights) ready() ready {
	return ready{w, math.Pow(0.9, -1/w[20]) - 1, math.Exp(w[8]), math.Exp(float64(w[17] * w[18])), float64(w[7] * w.firstDifficulty(Easy))}
}

func (w *ready) recall(m Memory, days float64) float64 {
	if !m.Met() {
		return 0
	}
	return math.Pow(1+float64(w.factor*max(0, days))/m.Stability, -w.Weights[20])
}

// Lasts is the number of days after which the probability has fallen to r, 0 < r <= 1.
func (w *Weights) Lasts(m Memory, r float64) float64 {
	return m.Stability / w.ready().factor * (math.Pow(r, -1/w[20]) - 1)
}

// After is the memory after the thing was met again, so many days after the last time, with that grade. How much of what is gained
// by that comes about is given by the weight, 0 to 1: what was told leaves less behind than what was found by oneself. A loss is one in full.
func (w *Weights) After(m Memory, days float64, g Grade, weight float64) Memory {
	r := w.ready()
	return r.after(m, days, g, weight)
}

func (w *ready) after(m Memory, days float64, g Grade, weight float64) Memory {
	return w.afterAt(m, days, w.recall(m, days), g, weight)
}

// afterAt is the same for whoever has already reckoned how likely it was known then.
func (w *ready) afterAt(m Memory, days, r float64, g Grade, weight float64) Memory {
	if !m.Met() {
		first := w.first(g)
		if g > Again {
			first.Stability = between(w.Weights[0], first.Stability, weight)
		}
		return first
	}
	next := Memory{Difficulty: w.nextDifficulty(m.Difficulty, g)}
	switch {
	case days < sameSession:
		next.Stability = w.again(m, g)
	case g == Again:
		next.Stability = w.forgotten(m, r)
	default:
		next.Stability = w.remembered(m, r, g)
	}
	next.Stability = clamp(next.Stability, LeastStability, MostStability)
	if next.Stability > m.Stability {
		next.Stability = between(m.Stability, next.Stability, weight)
	}
	if next.Difficulty < m.Difficulty {
		next.Difficulty = m.Difficulty + float64(weight*(next.Difficulty-m.Difficulty))
	}
	return next
}

// between goes a part of the way from one stability to another, in equal ratios.
func between(from, to, part float64) float64 {
	if part >= 1 {
		return to
	}
	return from * math.Pow(to/from, max(0, part))
}

// first is the memory after the first time: S0 = w[g-1], D0 = w4 - e^(w5 (g-1)) + 1.
func (w *Weights) first(g Grade) Memory {
	return Memory{Stability: clamp(w[g-1], LeastStability, MostStability), Difficulty: clamp(w.firstDifficulty(g), leastDifficult, mostDifficult)}
}

func (w *Weights) firstDifficulty(g Grade) float64 {
	return w[4] - math.Exp(float64(w[5]*float64(g-1))) + 1
}

// nextDifficulty is D - w6 (g-3) (10-D)/9, drawn towards D0(Easy) by w7.
func (w *ready) nextDifficulty(d float64, g Grade) float64 {
	moved := d - float64(w.Weights[6]*float64(g-3)*(10-d))/9
	return clamp(w.easy+float64((1-w.Weights[7])*moved), leastDifficult, mostDifficult)
}

// remembered is S (1 + e^w8 (11-D) S^-w9 (e^(w10 (1-R)) - 1) h e), with h = w15 for Hard and e = w16 for Easy.
func (w *ready) remembered(m Memory, r float64, g Grade) float64 {
	gain := w.gain * (11 - m.Difficulty) * math.Pow(m.Stability, -w.Weights[9]) * (math.Exp(float64(w.Weights[10]*(1-r))) - 1)
	switch g {
	case Hard:
		gain *= w.Weights[15]
	case Easy:
		gain *= w.Weights[16]
	}
	return m.Stability + float64(m.Stability*gain)
}

// forgotten is the lesser of w11 D^-w12 ((S+1)^w13 - 1) e^(w14 (1-R)) and S / e^(w17 w18).
func (w *ready) forgotten(m Memory, r float64) float64 {
	s := w.Weights[11] * math.Pow(m.Difficulty, -w.Weights[12]) * (math.Pow(m.Stability+1, w.Weights[13]) - 1) * math.Exp(float64(w.Weights[14]*(1-r)))
	return min(s, m.Stability/w.loss)
}

// again is what doing it again in the same session makes of the stability: S e^(w17 (g-3+w18)) S^-w19, and never less for what was known.
func (w *Weights) again(m Memory, g Grade) float64 {
	ratio := math.Exp(float64(w[17]*(float64(g-3)+w[18]))) * math.Pow(m.Stability, -w[19])
	if g >= Good {
		ratio = max(1, ratio)
	}
	return m.Stability * ratio
}

func clamp(v, least, most float64) float64 { return max(least, min(most, v)) }
