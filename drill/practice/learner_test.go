package practice

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"hornlark/drill/score"
)

var seeds = flag.Int("plan.seeds", 2, "simulated trainees of each kind that plans are tried on; from 10 on, also courses of a month and more")

// learner is a simulated trainee whose forgetting is known, and is not that of the model.
type learner struct {
	name      string
	forgets   func(days, strength float64) float64 // probability that something is known so many days after
	first     float64                              // strength after the first time, in days
	known     float64                              // how likely something is right the first time
	grows     float64                              // what a success at a probability of a half multiplies the strength by
	sinks     float64                              // what a failure leaves of it
	differ    float64                              // spread of things: standard deviation of the logarithm of their strength
	remembers map[Thing]*trace
}

type trace struct {
	strength, last, ease float64
}

func exponential(days, strength float64) float64 { return math.Exp(-days / strength) }

func power(days, strength float64) float64 { return math.Pow(1+days/strength, -0.5) }

// learners are the kinds that are tried: what they forget by is exponential, as savings are often drawn, or a power of time (Wixted and
// Ebbesen 1991, from memory).
func learners() []learner {
	return []learner{
		{name: "exponential, slow learner", forgets: exponential, first: 3, known: 0.3, grows: 1.8, sinks: 0.5, differ: 0.5},
		{name: "exponential, fast learner", forgets: exponential, first: 8, known: 0.6, grows: 3, sinks: 0.7, differ: 0.5},
		{name: "power, slow learner", forgets: power, first: 2, known: 0.3, grows: 1.8, sinks: 0.5, differ: 0.5},
		{name: "power, fast learner", forgets: power, first: 6, known: 0.6, grows: 3, sinks: 0.7, differ: 0.5},
		{name: "power, things very different", forgets: power, first: 4, known: 0.5, grows: 2.2, sinks: 0.6, differ: 1.2},
	}
}

// recall is how likely the learner knows something on a day.
func (l *learner) recall(t Thing, day float64) float64 {
	if tr := l.remembers[t]; tr != nil {
		return l.forgets(day-tr.last, tr.strength)
	}
	return 0
}

// meets is one time that the learner meets something: whether it was known, and what that leaves behind.
func (l *learner) meets(r *rand.Rand, t Thing, day float64) bool {
	tr := l.remembers[t]
	if tr == nil {
		ease := math.Exp(l.differ * r.NormFloat64())
		l.remembers[t] = &trace{l.first * ease, day, ease}
		return r.Float64() < l.known
	}
	p := l.forgets(day-tr.last, tr.strength)
	right := r.Float64() < p
	if right {
		tr.strength *= 1 + (l.grows-1)*2*(1-p)
	} else {
		tr.strength = max(l.first*tr.ease/2, tr.strength*l.sinks)
	}
	tr.last = day
	return right
}

// chooser says what is practised on a day.
type chooser func(k *Known, course *Course, day int, r *rand.Rand) []int

func fill(course *Course, budget float64, order []int) (list []int) {
	for _, i := range order {
		if takes := course.Units[i].Length.Seconds(); takes <= budget {
			budget -= takes
			list = append(list, i)
		}
	}
	return list
}

func choosers() map[string]chooser {
	return map[string]chooser{
		"plan": func(k *Known, course *Course, day int, _ *rand.Rand) []int {
			rest := *course
			rest.From, rest.Days = course.From.AddDate(0, 0, day), course.Days-day
			rest.Budget = func(d int) float64 { return course.Budget(day + d) }
			if p := MakePlan(k, &rest); len(p.Sessions) > 0 && p.Sessions[0].Day == 0 {
				return p.Sessions[0].Units
			}
			return nil
		},
		"everything in turn": func() chooser {
			next := 0
			return func(_ *Known, course *Course, day int, _ *rand.Rand) (list []int) {
				budget := course.Budget(day)
				if day == 0 {
					next = 0
				}
				for range course.Units {
					takes := course.Units[next].Length.Seconds()
					if takes > budget {
						break
					}
					budget -= takes
					list = append(list, next)
					next = (next + 1) % len(course.Units)
				}
				return list
			}
		}(),
		"worst first": func(k *Known, course *Course, day int, _ *rand.Rand) []int {
			order := make([]int, len(course.Units))
			known := make([]float64, len(course.Units))
			for i := range course.Units {
				order[i] = i
				for _, t := range course.Units[i].Things {
					known[i] += k.Recall(t, course.From.AddDate(0, 0, day)) / float64(len(course.Units[i].Things))
				}
			}
			slices.SortStableFunc(order, func(a, b int) int { return int(math.Copysign(1, known[a]-known[b])) })
			return fill(course, course.Budget(day), order)
		},
		"random": func(_ *Known, course *Course, day int, r *rand.Rand) []int {
			return fill(course, course.Budget(day), r.Perm(len(course.Units)))
		},
	}
}

// aCourse is a helicopter's worth: 9 phases of 12 items, 30 abnormals, limits.
func aCourse(days int, minutes float64) *Course {
	c := &Course{From: day0, Days: days, Budget: func(int) float64 { return minutes * 60 }}
	for p := range 9 {
		u := Unit{Kind: PhaseUnit, Of: "start", Name: fmt.Sprint("phase ", p), Length: 70 * time.Second}
		for i := range 12 {
			u.Things = append(u.Things, Thing{score.TrialItem, "start", fmt.Sprint(p, "-", i)}, Thing{score.TrialStep, "start", fmt.Sprint(p, "-", i)})
		}
		c.Units = append(c.Units, u)
	}
	for a := range 30 {
		name := fmt.Sprint("abnormal ", a)
		c.Units = append(c.Units, Unit{Kind: AbnormalUnit, Of: "twin", Name: name, Length: 75 * time.Second,
			Things: []Thing{{score.TrialNotice, "twin", name}, {score.TrialActions, "twin", name}}})
	}
	u := Unit{Kind: LimitsUnit, Of: "twin", Name: "twin", Length: 4 * time.Minute}
	for i := range 30 {
		u.Things = append(u.Things, Thing{score.TrialFigure, "twin", fmt.Sprint(i)})
	}
	c.Units = append(c.Units, u)
	return c
}

// course goes through a course as the chooser says, and gives what the learner really knows on the day, weighted as the plan does. Weights are fitted as
// they become due, if the chooser goes by them.
func (l learner) course(course *Course, choose chooser, seed uint64, fits bool) float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	l.remembers = map[Thing]*trace{}
	k := NewKnown(DefaultWeights)
	var sittings []Sitting
	for day := range course.Days {
		s := Sitting{Began: course.From.AddDate(0, 0, day), Procedure: "start", Profile: "twin"}
		for _, i := range choose(k, course, day, r) {
			for _, t := range course.Units[i].Things {
				s.Trials = append(s.Trials, score.Trial{Kind: t.Kind, Name: t.Name, Right: l.meets(r, t, float64(day))})
			}
		}
		k.Learn(&s)
		if sittings = append(sittings, s); fits && k.FitDue() {
			k.Refit(sittings)
		}
	}
	sum, weights := 0.0, 0.0
	for _, u := range course.Units {
		for _, t := range u.Things {
			sum += t.Weight() * l.recall(t, float64(course.Days))
			weights += t.Weight()
		}
	}
	return sum / weights
}

// TestPlansAgainstOthers: at equal minutes, somebody who goes by the plan knows more on the day than by practising at random, and about as much or
// more than by going through everything in turn or by beginning with what is known worst. -v shows by how much.
func TestPlansAgainstOthers(t *testing.T) {
	for _, size := range []struct {
		days    int
		minutes float64
	}{{7, 15}, {14, 20}, {30, 15}, {60, 10}} {
		if size.days > 14 && *seeds < 10 {
			continue
		}
		course := aCourse(size.days, size.minutes)
		for _, l := range learners() {
			line := fmt.Sprintf("%2d days of %g min, %-30s", size.days, size.minutes, l.name)
			var plan []float64
			for _, name := range []string{"plan", "everything in turn", "worst first", "random"} {
				choose := choosers()[name]
				var got []float64
				for seed := range *seeds {
					got = append(got, l.course(course, choose, uint64(seed), name == "plan" || name == "worst first"))
				}
				if name == "plan" {
					plan = got
					line += fmt.Sprintf(" plan %.3f", mean(got))
					continue
				}
				var margins []float64
				for i := range got {
					margins = append(margins, plan[i]-got[i])
				}
				line += fmt.Sprintf("; %s %+.3f (sd %.3f)", name, mean(margins), deviation(margins))
				if name == "random" && mean(margins) < 0 || mean(margins) < -0.03 {
					t.Errorf("%s: %s is better", line, name)
				}
			}
			t.Log(line)
		}
	}
}

func mean(list []float64) (m float64) {
	for _, v := range list {
		m += v / float64(len(list))
	}
	return m
}

func deviation(list []float64) float64 {
	m, sum := mean(list), 0.0
	for _, v := range list {
		sum += (v - m) * (v - m)
	}
	return math.Sqrt(sum / float64(len(list)-1))
}

func BenchmarkMakePlan(b *testing.B) {
	c := aCourse(60, 20)
	for len(c.Units) < 9*9 { // some 2,000 things
		u := c.Units[len(c.Units)%9]
		u.Name = fmt.Sprint("more ", len(c.Units))
		things := make([]Thing, 0, 48)
		for i := range 48 {
			things = append(things, Thing{score.TrialItem, u.Name, fmt.Sprint(i)})
		}
		u.Things = things
		c.Units = append(c.Units, u)
	}
	n := 0
	for _, u := range c.Units {
		n += len(u.Things)
	}
	for _, met := range []bool{false, true} {
		b.Run(map[bool]string{false: "nothing known", true: "all met, each otherwise"}[met], func(b *testing.B) {
			k := NewKnown(DefaultWeights)
			if met {
				r := rand.New(rand.NewPCG(1, 1))
				for _, u := range c.Units {
					for _, t := range u.Things {
						k.States[t] = &State{Memory: Memory{0.2 + 20*r.Float64(), 1 + 9*r.Float64()}, Last: day0.Add(-time.Duration(r.IntN(60*24)) * time.Hour)}
					}
				}
			}
			for b.Loop() {
				MakePlan(k, c)
			}
			b.ReportMetric(float64(n), "things")
		})
	}
}
