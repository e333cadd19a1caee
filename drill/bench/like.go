package bench

import (
	"math"

	"hornlark/drill/score"
)

// Past is what one sitting of somebody showed.
type Past struct {
	FromMemory bool // nobody asked
	Trials     []score.Trial
}

// Rest is on how much a stand-in that is like somebody rests. The weight of what they showed is 0, where there is nothing, to 1; the rest of it
// is the typical stand-in.
type Rest struct {
	Sittings       int     `json:"sittings"`
	Reactions      int     `json:"reactions"` // to spoken challenges
	ReactionWeight float64 `json:"reaction_weight"`
	Pace           float64 `json:"pace"` // times of the typical stand-in are multiplied by it
	Asked          int     `json:"asked"`
	Wrong          int     `json:"wrong"`
	AskedWeight    float64 `json:"asked_weight"`
	Slips          float64 `json:"slips"` // rates of the typical stand-in are multiplied by it
	FromMemory     int     `json:"from_memory"`
	Forgotten      int     `json:"forgotten"`
	MemoryWeight   float64 `json:"from_memory_weight"`
	Omissions      float64 `json:"omissions"` // the rate of omissions from memory of the typical one is multiplied by it
}

// How many times of somebody's own weigh as much as the typical stand-in does. Our own choice: a few dozen reactions tell a pace, rates of error
// of a few in a thousand take hundreds of items.
const (
	reactionsFor = 30
	itemsFor     = 300
	mostFactor   = 10 // either way: beyond that it is another trade
)

// Like makes a stand-in that is like somebody: the typical one, with the pace, its variation and the slips moved towards what they showed,
// the further the more that is. How it looks, and what it takes things for, stays as it is: sittings do not show that by itself.
func Like(past []Past) (Person, Rest) {
	p, _ := PersonOf("typical")
	rest := Rest{Sittings: len(past), Pace: 1, Slips: 1, Omissions: 1}
	var logs []float64
	for i := range past {
		logs = append(logs, logsOf(&past[i])...)
		for _, t := range past[i].Trials {
			switch {
			case t.Kind != score.TrialItem:
			case past[i].FromMemory:
				rest.FromMemory++
				if !t.Right {
					rest.Forgotten++
				}
			default:
				rest.Asked++
				if !t.Right {
					rest.Wrong++
				}
			}
		}
	}
	p.likeTimes(logs, &rest)
	p.likeSlips(&rest)
	return p, rest
}

// logsOf are the logarithms of the reactions to spoken challenges, in seconds: those of the least par of the sitting, which is that of one control, or
// of a look.
func logsOf(past *Past) (logs []float64) {
	if past.FromMemory {
		return nil
	}
	par := math.Inf(1)
	for _, t := range past.Trials {
		if t.Kind == score.TrialItem && t.ReactionMS != nil && t.ParMS > 0 {
			par = min(par, t.ParMS)
		}
	}
	for _, t := range past.Trials {
		if t.Kind == score.TrialItem && t.ReactionMS != nil && t.ParMS == par && *t.ReactionMS > 0 {
			logs = append(logs, math.Log(*t.ReactionMS/1000))
		}
	}
	return logs
}

// whole is the logarithm, and its deviation, of what the stand-in takes from a challenge to its key, as one lognormal distribution: the sum of both by
// its mean and variance (Fenton 1960, IRE Trans. Commun. Syst. 8:57-67, from memory).
func (p *Person) whole() (mu, sigma float64) {
	mean := p.Challenge.Mean() + p.Key.Mean()
	variance := p.Challenge.variance() + p.Key.variance()
	sigma = math.Sqrt(math.Log(1 + variance/(mean*mean)))
	return math.Log(mean) - float64(sigma*sigma)/2, sigma
}

// variance is that of the times, in seconds squared.
func (d LogNormal) variance() float64 {
	return (math.Exp(float64(d.Sigma*d.Sigma)) - 1) * float64(d.Mean()*d.Mean())
}

// likeTimes moves the times towards reactions, by their logarithms.
func (p *Person) likeTimes(logs []float64, rest *Rest) {
	rest.Reactions = len(logs)
	if len(logs) == 0 {
		return
	}
	n := float64(len(logs))
	weight := n / (n + reactionsFor)
	mean, err := meanOf(logs)
	mu, sigma := p.whole()
	shift := max(-math.Log(mostFactor), min(math.Log(mostFactor), weight*(mean-mu)))
	own := float64(err*err) * n // variance
	spread := math.Sqrt(float64((1-weight)*sigma*sigma)+float64(weight*own)) / sigma
	rest.ReactionWeight, rest.Pace = weight, math.Exp(shift)
	for _, d := range []*LogNormal{&p.Challenge, &p.Surprise, &p.Expected, &p.Key, &p.Answer} {
		d.Mu += shift
	}
	p.Challenge.Sigma *= max(1.0/mostFactor, min(mostFactor, spread))
}

// likeSlips moves the rates of slips towards how much was wrong.
func (p *Person) likeSlips(rest *Rest) {
	s := &p.Slips
	factor := func(wrong, of int, usual float64) (factor, weight float64) {
		n := float64(of)
		rate := (float64(wrong) + float64(itemsFor*usual)) / (n + itemsFor)
		return max(1.0/mostFactor, min(mostFactor, rate/usual)), n / (n + itemsFor)
	}
	// What goes wrong with an item that is asked for: it is left out for good, or half of the items are checks, and said to be so without, or after, a look.
	rest.Slips, rest.AskedWeight = factor(rest.Wrong, rest.Asked, float64(s.Omission*s.Uncorrected)+(s.Rote+s.CheckReading)/2)
	rest.Omissions, rest.MemoryWeight = factor(rest.Forgotten, rest.FromMemory, s.FromMemory)
	for _, rate := range []*float64{&s.Omission, &s.WrongControl, &s.WrongPosition, &s.Misreading, &s.CheckReading, &s.Rote, &s.Order} {
		*rate = min(0.5, float64(*rate*rest.Slips))
	}
	s.FromMemory = min(0.5, float64(s.FromMemory*rest.Omissions))
}
