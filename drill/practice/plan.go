package practice

import (
	"math"
	"slices"
	"time"

	"hornlark/drill/score"
)

// Unit is what can be practised by itself, in its flow: a phase of a procedure, an abnormal, the limits of an aircraft.
type Unit struct {
	Kind   UnitKind      `json:"kind"`
	Of     string        `json:"of"`   // the procedure of a phase; the profile of everything else
	Name   string        `json:"name"` // of the phase or the abnormal; of limits, the profile's
	Title  string        `json:"title"`
	Things []Thing       `json:"-"` // what is to be known for it
	Length time.Duration `json:"length"`
}

// UnitKind is what kind of thing a unit is.
type UnitKind string

// The kinds of unit.
const (
	PhaseUnit    UnitKind = "phase"
	AbnormalUnit UnitKind = "abnormal"
	LimitsUnit   UnitKind = "limits"
)

// Weight is how much a thing counts against others: what stands between a fault and its end counts more than one item of a flow. Our own
// figures.
func (t Thing) Weight() float64 {
	switch t.Kind {
	case score.TrialNotice, score.TrialActions:
		return 4
	case score.TrialFigure:
		return 0.5
	}
	return 1
}

// FirstRight is how likely something is right the first time that it is met. Our own estimate, for what nothing is known about.
const FirstRight = 0.5

// Outlook is a memory as it is expected to be, for looking ahead: a mixture of what it would be if it had been known and if it had not.
type outlook struct {
	Memory
	last float64 // day, as a plan counts them
}

// practised is what is expected after the thing is met on a day: right as likely as it is known then.
func (w *ready) practised(o outlook, day float64) outlook {
	p, days := FirstRight, 0.0
	if o.Met() {
		days = max(0, day-o.last)
		p = w.recall(o.Memory, days)
	}
	right, wrong := w.afterAt(o.Memory, days, p, Good, 1), w.afterAt(o.Memory, days, p, Again, 1)
	return outlook{Memory{
		Stability:  math.Exp(float64(p*math.Log(right.Stability)) + float64((1-p)*math.Log(wrong.Stability))),
		Difficulty: float64(p*right.Difficulty) + float64((1-p)*wrong.Difficulty),
	}, day}
}

// Course is what there is to be planned: the units, how many days there are until the day, and the time on each of them.
type Course struct {
	Units  []Unit
	From   time.Time             // the first day, at the hour of practice
	Days   int                   // from the first day to the day, which is not one of practice: at least 1, at most MostDays
	Budget func(day int) float64 // seconds on a day, the first being 0; none on a rest day
}

// MostDays is how far ahead a course may reach.
const MostDays = 366

// Session is the practice of one day.
type Session struct {
	Day   int       `json:"day"` // the first day being 0
	Date  time.Time `json:"date"`
	Units []int     `json:"units"` // places in the units of the course, what helps most first
	Takes float64   `json:"takes_s"`
}

// Plan is what to practise on each day, and what is expected of it.
type Plan struct {
	Sessions []Session  `json:"sessions"` // of the days with time on them
	With     float64    `json:"with"`     // expected on the day, with the plan: weighted mean of the probabilities that things are known, 0 to 1
	Without  float64    `json:"without"`  // the same, without any practice
	Units    []Outlook  `json:"units"`    // as the units of the course
	Days     []Expected `json:"days"`     // from the first day to the day itself
}

// Expected is what is expected to be known on a day, before its practice: weighted means of probabilities, 0 to 1.
type Expected struct {
	With    float64 `json:"with"`
	Without float64 `json:"without"`
}

// Outlook is what is expected of one unit on the day.
type Outlook struct {
	With    float64 `json:"with"`
	Without float64 `json:"without"`
	Times   int     `json:"times"` // how often it is practised
}

// plan is one being made.
type plan struct {
	w      ready // for learners in general while it is chosen, the trainee's when it is told what to expect
	course *Course
	groups [][]group // of every unit
	day    float64   // the day
	after  []float64 // seconds of practice after each day
	all    float64   // seconds that everything once takes
	gains  []float64
}

// group is things of a unit that stand alike: they were met alike, and what is done with one is done with all. weight is that of them all.
type group struct {
	outlook
	weight float64
}

// MakePlan lays out practice until the day. It is laid out in every one of a few ways, and the one of which most is expected on the day, as far as
// the memory model can tell, is the plan: to fill each day with what adds most, a second, to what will be known on the day; with what was practised
// longest ago; or with what is known worst. No one of them is best for everybody: the first where time is short or much is forgotten, the second where
// there is time for everything several times over. There the plan can end up behind the second by a little (DEVELOPERS.md has the figures), since what it is
// chosen by is a model, and people forget otherwise. The same things known and the same course make the same plan.
//
// What is known now, and what is told to be expected, goes by the weights fitted to the trainee, if there are any; but what practice adds is chosen by those
// for learners in general. Plans chosen by fitted weights, which take what was forgotten a few times for hopeless, left it alone: simulated trainees who learn
// slowly came to as much as 0.1 less by them.
func MakePlan(k *Known, course *Course) *Plan {
	p := &plan{
		w: k.Prior.ready(), course: course, day: float64(course.Days), gains: make([]float64, len(course.Units)), after: make([]float64, course.Days),
	}
	begin := make([][]group, len(course.Units))
	for i := range course.Units {
		p.all += course.Units[i].Length.Seconds()
		begin[i] = groupsOf(k, course.From, course.Units[i].Things)
	}
	for day := course.Days - 1; day > 0; day-- {
		p.after[day-1] = p.after[day] + max(0, course.Budget(day))
	}
	var best []Session
	most := math.Inf(-1)
	for _, w := range []way{p.gain, p.longestAgo, p.worst} {
		p.begin(begin)
		sessions := p.fill(w)
		if known := p.expected(p.day, nil); known > most {
			best, most = sessions, known
		}
	}
	p.begin(begin)
	p.w = k.Weights.ready()
	return p.tell(best)
}

// way is how urgent it is to practise a unit on a day; none is not at all.
type way func(i, day int) float64

// begin goes back to how things stand on the first day.
func (p *plan) begin(groups [][]group) {
	p.groups = make([][]group, len(groups))
	for i := range groups {
		p.groups[i] = slices.Clone(groups[i])
	}
}

// fill lays out the whole course in one way.
func (p *plan) fill(urgent way) (list []Session) {
	for day := range p.course.Days {
		if budget := p.course.Budget(day); budget > 0 {
			list = append(list, p.session(day, budget, urgent))
		}
	}
	return list
}

// tell goes through the practice of the days, and says what is expected of it.
func (p *plan) tell(sessions []Session) *Plan {
	made := &Plan{Units: make([]Outlook, len(p.course.Units)), Sessions: sessions}
	for day := range p.course.Days {
		made.Days = append(made.Days, Expected{Without: p.expected(float64(day), nil)})
	}
	made.Without = p.expected(p.day, func(i int) *float64 { return &made.Units[i].Without })
	for day := range made.Days {
		made.Days[day].With = p.expected(float64(day), nil)
		for len(sessions) > 0 && sessions[0].Day == day {
			for _, i := range sessions[0].Units {
				p.practise(i, day)
				made.Units[i].Times++
			}
			sessions = sessions[1:]
		}
	}
	made.With = p.expected(p.day, func(i int) *float64 { return &made.Units[i].With })
	made.Days = append(made.Days, Expected{made.With, made.Without})
	return made
}

// practise is what is expected after a unit has been practised on a day.
func (p *plan) practise(i, day int) {
	for n := range p.groups[i] {
		g := &p.groups[i][n]
		g.outlook = p.w.practised(g.outlook, float64(day))
	}
}

// groupsOf puts things together that stand alike, in the order in which they come.
func groupsOf(k *Known, from time.Time, things []Thing) (list []group) {
	place := map[outlook]int{}
	for _, t := range things {
		var o outlook
		if st := k.States[t]; st != nil {
			o = outlook{st.Memory, st.Last.Sub(from).Hours() / 24}
		}
		i, known := place[o]
		if !known {
			i = len(list)
			place[o] = i
			list = append(list, group{outlook: o})
		}
		list[i].weight += t.Weight()
	}
	return list
}

// session fills the time of one day, what is most urgent first.
func (p *plan) session(day int, budget float64, urgent way) Session {
	s := Session{Day: day, Date: p.course.From.AddDate(0, 0, day)}
	for i := range p.gains {
		p.gains[i] = urgent(i, day)
	}
	for {
		best := -1
		for i, gain := range p.gains {
			if gain > 0 && s.Takes+p.course.Units[i].Length.Seconds() <= budget && (best < 0 || gain > p.gains[best]) {
				best = i
			}
		}
		if best < 0 {
			return s
		}
		s.Units, s.Takes = append(s.Units, best), s.Takes+p.course.Units[best].Length.Seconds()
		p.gains[best] = 0
		p.practise(best, day)
	}
}

// gain is what a unit adds, a second, to what is known on the day, if it is practised on this one. Where everything can be gone through once more
// before the day, that is reckoned in: half-way to the day, as good a guess as any.
func (p *plan) gain(i, day int) (sum float64) {
	now, once := float64(day), p.after[day] >= p.all
	for n := range p.groups[i] {
		g := &p.groups[i][n]
		with, without := p.w.practised(g.outlook, now), g.outlook
		if once {
			half := (now + p.day) / 2
			with, without = p.w.practised(with, half), p.w.practised(without, half)
		}
		sum += float64(g.weight * (p.w.recall(with.Memory, p.day-with.last) - p.w.recall(without.Memory, p.day-without.last)))
	}
	return sum / p.course.Units[i].Length.Seconds()
}

// longestAgo goes by how long ago a unit was practised, the things of it together; what was never met comes first, in the order of the course.
func (p *plan) longestAgo(i, day int) float64 {
	ago, weights := 0.0, 0.0
	for n := range p.groups[i] {
		g := &p.groups[i][n]
		weights += g.weight
		if !g.Met() {
			ago += float64(g.weight * 10 * MostDays)
			continue
		}
		ago += float64(g.weight * max(0, float64(day)-g.last))
	}
	return ago / weights
}

// worst goes by how little of a unit is known.
func (p *plan) worst(i, day int) float64 {
	lost, weights := 0.0, 0.0
	for n := range p.groups[i] {
		g := &p.groups[i][n]
		weights += g.weight
		lost += float64(g.weight * (1 - p.w.recall(g.Memory, max(0, float64(day)-g.last))))
	}
	return lost / weights
}

// expected is what is expected on a day as things stand, of every unit, if that is asked for, and of all together.
func (p *plan) expected(day float64, of func(i int) *float64) float64 {
	all, allWeights := 0.0, 0.0
	for i := range p.groups {
		sum, weights := 0.0, 0.0
		for n := range p.groups[i] {
			g := &p.groups[i][n]
			sum += float64(g.weight * p.w.recall(g.Memory, max(0, day-g.last)))
			weights += g.weight
		}
		if weights > 0 && of != nil {
			*of(i) = sum / weights
		}
		all, allWeights = all+sum, allWeights+weights
	}
	if allWeights == 0 {
		return 0
	}
	return all / allWeights
}
