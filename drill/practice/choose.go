package practice

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"hornlark/drill/score"
)

// Surprise is what may come in between: an abnormal, or what only looks like one.
type Surprise struct {
	Name     string
	Title    string
	Harmless bool
	Things   []Thing // what is to be known for it; none of a look-alike
	Places   []Place // where it may come in a flow
	Watches  []int   // where it may come while nothing flows, as places in the watches of an evening
}

// Place is an item during which something may come.
type Place struct {
	Of    string // procedure
	Phase string
	Item  string
	After time.Duration // from when the item is asked
	Loose bool          // how long after it does not matter
	Asked bool          // it belongs to an answer that is asked for, and has no place in a flow from memory
}

// Evening is what there is to choose from, and for how long.
type Evening struct {
	Units     []Unit // phases of a procedure as neighbours, in their order; abnormals among them are left to the surprises
	Surprises []Surprise
	Watches   int    // how many kinds of watch there are, in which nothing flows and what comes is drawn
	Main      string // the procedure that is begun with
	Time      time.Duration
	Wish      Wish
	At        time.Time
	Seed      uint64 // of what is drawn; what is chosen to be gone through does not hang on it
}

// Wish is what a trainee wants to practise. The zero value leaves it to what helps most.
type Wish struct {
	Phase  string         // one phase, by its name
	Limits bool           // limits and nothing else
	Only   map[Thing]bool // these things and nothing else, if there are any
}

// Choice is what an evening has.
type Choice struct {
	First bool          `json:"first"` // nothing is known of the trainee yet
	Legs  []Leg         `json:"legs"`  // one after the other
	Takes time.Duration `json:"takes"` // at the most, as far as can be said
}

// Leg is one sitting.
type Leg struct {
	Kind      UnitKind      `json:"kind"`            // phases of a flow; AbnormalUnit for a watch, in which nothing flows; limits
	Units     []int         `json:"units,omitempty"` // places in the units of the evening: neighbouring phases, or the limits
	Recall    bool          `json:"recall"`          // from memory, since it is known well from prompts
	Questions int           `json:"questions,omitempty"`
	Length    time.Duration `json:"length"`
	Why       []Why         `json:"why"`       // of each unit
	Watch     int           `json:"watch"`     // which kind of watch; drawn
	Surprises []Coming      `json:"surprises"` // what comes in a flow; of a watch, what it is drawn from, some more than once
	Seed      uint64        `json:"seed"`
}

// Coming is something that comes in between, and why it was drawn.
type Coming struct {
	Surprise int           `json:"surprise"` // place in the surprises of the evening
	Place    int           `json:"place"`    // in its places; in a watch none
	After    time.Duration `json:"after"`
	Why      Why           `json:"why"`
}

// Why is how much of something is known, and so why it was chosen.
type Why struct {
	Things int     `json:"things"`
	Met    int     `json:"met"`   // of them
	Now    float64 `json:"now"`   // mean of the probabilities that they are known, 0 to 1
	Ahead  float64 `json:"ahead"` // the same LookAhead from now, without practice
	Weak   []Thing `json:"weak"`  // of those met: what will be known least then and less likely than SureFrom, the least first, at most MostWeak
}

// What a choice goes by. Our own figures.
const (
	LookAhead  = 7    // days from now, for which is chosen
	RecallFrom = 0.85 // mean probability from which a phase that was met often enough is gone through from memory
	recallMet  = 2    // how often each thing of it has to have been met
	SureFrom   = 0.9  // probability from which something is not called weak
	MostWeak   = 3

	QuietShare     = 0.25             // of the legs have nothing wrong in them, whoever practises
	lookAlikeShare = 1.0 / 3          // of what comes is harmless, whoever practises
	slotEvery      = 3 * time.Minute  // of a flow, for each thing more than one that may come
	slotTakes      = 20 * time.Second // for dealing with one
	pace           = 1.25             // a person takes so much longer than one without a mistake
	newPace        = 1.75             // for what was never met
	watchTime      = 4 * time.Minute
	watchLeast     = 2 * time.Minute
	watchEvery     = 50 * time.Second // for something to come in a watch and to be dealt with
	watchOf        = 6                // kinds of thing that one is drawn from
	leastQuestions = 5
)

// BetweenLegs is the part of the length of each leg that is for the report on it, and for finding one's place in it. Our own figure.
const BetweenLegs = 20 * time.Second

// Choose chooses the sittings of an evening: what adds most a second to what will be known some days ahead, gone through as the flow goes. Phases that were
// never met come in the order of the flow and undisturbed. What is gone through hangs on what is known of items, steps and limits and, for whether there is a
// watch, on abnormals as a whole; which of these come is drawn, weighted by what is known of each. Whether a leg is quiet, how many come and how many of
// them are harmless is drawn alike for everybody. Without a leg there is not time enough for any.
func Choose(k *Known, e *Evening) *Choice {
	c := choosing{needs: newNeeds(k, e.At, e.Wish.Only), e: e, choice: &Choice{}}
	c.look()
	switch {
	case e.Wish.Limits:
		c.limits()
	case e.Wish.Phase != "":
		c.onePhase()
	default:
		c.fill()
	}
	c.order()
	c.draw()
	return c.choice
}

// choosing is a choice being made.
type choosing struct {
	needs
	e      *Evening
	choice *Choice
	own    []float64 // need of each unit by itself
	join   []float64 // what a phase has more when the one before it is gone through too
	met    []bool    // something of a unit has been
	taken  []bool
	begun  bool // the flow to begin with has been met from end to end, or some of a flow and abnormals have
	watch  float64
}

// look finds out how much each unit is in need.
func (c *choosing) look() {
	n := len(c.e.Units)
	c.own, c.join, c.met, c.taken = make([]float64, n), make([]float64, n), make([]bool, n), make([]bool, n)
	mainMet, any := true, false
	for i := range c.e.Units {
		u := &c.e.Units[i]
		items := map[string]bool{}
		for _, t := range u.Things {
			if t.Kind == score.TrialItem {
				items[t.Name] = true
			}
			c.met[i] = c.met[i] || c.known.States[t] != nil
		}
		for _, t := range u.Things {
			if t.Kind == score.TrialStep && !within(t, items) {
				c.join[i] += c.of(t)
			} else {
				c.own[i] += c.of(t)
			}
		}
		any = any || c.met[i]
		if u.Kind == PhaseUnit && u.Of == c.e.Main {
			mainMet = mainMet && c.met[i]
		}
	}
	surprised := false
	mean, count := 0.0, 0
	for i := range c.e.Surprises {
		s := &c.e.Surprises[i]
		need := 0.0
		for _, t := range s.Things {
			need += c.of(t)
			surprised = surprised || c.known.States[t] != nil
		}
		if len(s.Watches) > 0 && !s.Harmless && (need > 0 || c.only == nil) {
			mean, count = mean+need, count+1
		}
		if c.only != nil { // what was asked for by name may be looked for where it comes
			c.wanted(s, need)
		}
	}
	c.choice.First = !any && !surprised
	c.begun = any && (mainMet || surprised)
	if count > 0 {
		c.watch = mean / float64(count)
	}
}

// wanted adds the need of a surprise to the phases in which it may come.
func (c *choosing) wanted(s *Surprise, need float64) {
	for i := range c.e.Units {
		u := &c.e.Units[i]
		if u.Kind == PhaseUnit && slices.ContainsFunc(s.Places, func(p Place) bool { return p.Of == u.Of && p.Phase == u.Name }) {
			c.own[i] += need
		}
	}
}

// within reports whether a step begins at one of some items.
func within(step Thing, items map[string]bool) bool {
	from, _, _ := strings.Cut(step.Name, score.StepName("", ""))
	return items[from]
}

// run is neighbouring phases, from one unit up to and with another.
type run struct{ from, to int }

// fill takes what helps most a second, as long as there is time.
func (c *choosing) fill() {
	watched := false
	for {
		best, rate := run{-1, -1}, 0.0
		for i := range c.e.Units {
			for j := i; j < len(c.e.Units) && c.mayRun(i, j); j++ {
				if r := c.rate(run{i, j}); r > rate {
					best, rate = run{i, j}, r
				}
			}
		}
		left := c.e.Time - c.takes()
		watch := min(watchTime, left-BetweenLegs)
		watchRate := 0.0
		if !watched && (c.begun || c.only != nil) && c.e.Watches > 0 && watch >= watchLeast {
			watchRate = c.watch * watch.Seconds() / watchEvery.Seconds() / (watch + BetweenLegs).Seconds()
		}
		questions, perQuestion := c.mayAsk(left)
		limitsRate := 0.0
		if questions > 0 {
			i := c.limitsUnit()
			limitsRate = c.own[i] / float64(len(c.e.Units[i].Things)) * float64(questions) / (time.Duration(questions)*perQuestion + BetweenLegs).Seconds()
		}
		switch {
		case watchRate > rate && watchRate >= limitsRate:
			watched = true
			c.choice.Legs = append(c.choice.Legs, Leg{Kind: AbnormalUnit, Length: watch + BetweenLegs})
		case limitsRate > rate:
			c.ask(questions, perQuestion)
		case best.from >= 0:
			for i := best.from; i <= best.to; i++ {
				c.taken[i] = true
			}
			c.choice.Legs = slices.DeleteFunc(c.choice.Legs, func(l Leg) bool { return l.Kind == PhaseUnit })
			c.choice.Legs = append(c.choice.Legs, c.phases()...)
		default:
			return
		}
	}
}

// mayRun reports whether units i to j, of which those before j are known to be, are phases of one procedure that may be gone through in one go.
func (c *choosing) mayRun(i, j int) bool {
	u := &c.e.Units[j]
	if u.Kind != PhaseUnit || c.taken[j] || u.Of != c.e.Units[i].Of {
		return false
	}
	if c.met[j] || j > i {
		return true
	}
	before := i - 1
	if before >= 0 && c.e.Units[before].Of == u.Of && c.e.Units[before].Kind == PhaseUnit {
		return c.met[before] || c.taken[before]
	}
	return u.Of == c.e.Main || c.begun
}

// rate is what a run adds a second to what has been taken; 0 if there is no time for it.
func (c *choosing) rate(r run) float64 {
	before := c.takes()
	for i := r.from; i <= r.to; i++ {
		c.taken[i] = true
	}
	after, need := c.takes(), 0.0
	for i := r.from; i <= r.to; i++ {
		need += c.own[i]
		if c.joined(i) {
			need += c.join[i]
		}
	}
	if next := r.to + 1; next < len(c.taken) && c.taken[next] && c.joined(next) {
		need += c.join[next]
	}
	for i := r.from; i <= r.to; i++ {
		c.taken[i] = false
	}
	if after > c.e.Time {
		return 0
	}
	return need / max(1, (after-before).Seconds())
}

// joined reports whether the phase before a unit is taken too.
func (c *choosing) joined(i int) bool {
	return i > 0 && c.taken[i-1] && c.e.Units[i-1].Kind == PhaseUnit && c.e.Units[i-1].Of == c.e.Units[i].Of
}

// takes is how long everything takes that has been taken.
func (c *choosing) takes() (sum time.Duration) {
	for i := range c.choice.Legs {
		if c.choice.Legs[i].Kind != PhaseUnit {
			sum += c.choice.Legs[i].Length
		}
	}
	for _, l := range c.phases() {
		sum += l.Length
	}
	return sum
}

// phases makes legs of the phases that have been taken: neighbours are one.
func (c *choosing) phases() (legs []Leg) {
	for i := range c.taken {
		if !c.taken[i] || c.e.Units[i].Kind != PhaseUnit {
			continue
		}
		if !c.joined(i) {
			legs = append(legs, Leg{Kind: PhaseUnit})
		}
		l := &legs[len(legs)-1]
		l.Units = append(l.Units, i)
	}
	for i := range legs {
		flow := c.flow(&legs[i])
		legs[i].Length = flow + time.Duration(slots(flow))*slotTakes + BetweenLegs
	}
	return legs
}

// flow is how long the items of a leg take.
func (c *choosing) flow(l *Leg) (sum time.Duration) {
	for _, i := range l.Units {
		factor := pace
		if !c.met[i] {
			factor = newPace
		}
		sum += time.Duration(factor * float64(c.e.Units[i].Length)).Round(time.Second)
	}
	return sum
}

// slots is how many things may come in a flow of that length, at the most.
func slots(flow time.Duration) int { return 1 + int(flow/slotEvery) }

// onePhase takes the phase that was asked for.
func (c *choosing) onePhase() {
	i := slices.IndexFunc(c.e.Units, func(u Unit) bool {
		return u.Kind == PhaseUnit && u.Name == c.e.Wish.Phase && u.Of == c.e.Main
	})
	if i < 0 {
		i = slices.IndexFunc(c.e.Units, func(u Unit) bool { return u.Kind == PhaseUnit && u.Name == c.e.Wish.Phase })
	}
	if i < 0 {
		return
	}
	c.taken[i] = true
	if legs := c.phases(); legs[0].Length <= c.e.Time {
		c.choice.Legs = legs
	}
}

// limits takes as many questions as there is time for.
func (c *choosing) limits() {
	if n, each := c.mayAsk(c.e.Time); n > 0 {
		c.ask(n, each)
	}
}

// limitsUnit is the unit of the limits, or -1.
func (c *choosing) limitsUnit() int {
	return slices.IndexFunc(c.e.Units, func(u Unit) bool { return u.Kind == LimitsUnit && len(u.Things) > 0 })
}

// mayAsk is how many limits may be asked in that time, and how long each takes; none if they are asked already, or too few could be.
func (c *choosing) mayAsk(left time.Duration) (n int, each time.Duration) {
	i := c.limitsUnit()
	if i < 0 || c.taken[i] || c.choice.First && !c.e.Wish.Limits || !c.e.Wish.Limits && c.own[i] == 0 {
		return 0, 0
	}
	all := len(c.e.Units[i].Things)
	each = time.Duration(float64(c.e.Units[i].Length) * pace / float64(all)).Round(time.Second)
	n = min(all, int((left-BetweenLegs)/max(time.Second, each)))
	if n < min(all, leastQuestions) {
		return 0, 0
	}
	return n, each
}

// ask takes so many limits.
func (c *choosing) ask(n int, each time.Duration) {
	i := c.limitsUnit()
	c.taken[i] = true
	c.choice.Legs = append(c.choice.Legs, Leg{Kind: LimitsUnit, Units: []int{i}, Questions: n, Length: time.Duration(n)*each + BetweenLegs})
}

// order puts legs in the order in which they are sat: flows as they flow, the watch, the limits.
func (c *choosing) order() {
	place := map[UnitKind]int{PhaseUnit: 0, AbnormalUnit: 1, LimitsUnit: 2}
	slices.SortStableFunc(c.choice.Legs, func(a, b Leg) int { return cmp.Compare(place[a.Kind], place[b.Kind]) })
	for i := range c.choice.Legs {
		l := &c.choice.Legs[i]
		c.choice.Takes += l.Length
		l.Recall = l.Kind == PhaseUnit
		for _, u := range l.Units {
			things := c.e.Units[u].Things
			why := c.why(things)
			l.Why = append(l.Why, why)
			l.Recall = l.Recall && why.Now >= RecallFrom && c.often(things)
		}
	}
}

// often reports whether everything has been met often enough to be tried from memory.
func (c *choosing) often(things []Thing) bool {
	return !slices.ContainsFunc(things, func(t Thing) bool {
		st := c.known.States[t]
		return (st == nil || st.Met < recallMet) && t.Kind != score.TrialStep
	})
}

// draw draws what comes in between. As many numbers are drawn for each leg whatever is known.
func (c *choosing) draw() {
	draw := rand.New(rand.NewPCG(c.e.Seed, 0x746f6e69676874))
	came := map[int]bool{}
	for i := range c.choice.Legs {
		l := &c.choice.Legs[i]
		l.Seed = 1 + uint64(draw.Uint32())
		lots := make([]float64, len(c.e.Surprises))
		for k := range lots {
			lots[k] = 1 - draw.Float64()
		}
		quiet, more, where := draw.Float64() < QuietShare, draw.Float64(), draw.Float64()
		harmless := make([]bool, watchOf)
		for k := range harmless {
			harmless[k] = draw.Float64() < lookAlikeShare
		}
		spots := make([]float64, 2*watchOf)
		for k := range spots {
			spots[k] = draw.Float64()
		}
		switch l.Kind {
		case PhaseUnit:
			if c.only == nil && !c.allMet(l) {
				continue
			}
			n := min(1+int(more*float64(slots(c.flow(l)))), watchOf)
			c.interrupt(l, lots, harmless[:n], quiet, spots, came)
		case AbnormalUnit:
			l.Watch = int(where * float64(c.e.Watches))
			c.fromWatch(l, lots, quiet)
		}
	}
}

// allMet reports whether all phases of a leg have been met.
func (c *choosing) allMet(l *Leg) bool {
	return !slices.ContainsFunc(l.Units, func(i int) bool { return !c.met[i] })
}

// interrupt draws what comes in a flow. Nothing comes twice on an evening.
func (c *choosing) interrupt(l *Leg, lots []float64, harmless []bool, quiet bool, spots []float64, came map[int]bool) {
	items := map[string]bool{} // two at once would be one too many
	fits := func(s *Surprise) (places []int) {
		for i := range s.Places {
			if !items[s.Places[i].Item] && slices.ContainsFunc(l.Units, func(u int) bool { return c.e.Units[u].Of == s.Places[i].Of && c.e.Units[u].Name == s.Places[i].Phase }) {
				places = append(places, i)
			}
		}
		return places
	}
	for slot, alike := range harmless {
		if quiet && !alike {
			continue
		}
		best := c.first(lots, func(i int, s *Surprise) bool { return s.Harmless == alike && !came[i] && len(fits(s)) > 0 })
		if best < 0 {
			continue
		}
		came[best] = true
		s := &c.e.Surprises[best]
		places := fits(s)
		at := places[int(spots[2*slot]*float64(len(places)))]
		items[s.Places[at].Item] = true
		after := s.Places[at].After
		if s.Places[at].Loose {
			after += time.Duration(spots[2*slot+1] * float64(mostAfter)).Round(10 * time.Millisecond)
		}
		l.Surprises = append(l.Surprises, Coming{Surprise: best, Place: at, After: after, Why: c.why(s.Things)})
	}
}

// mostAfter is how much later than it might something may come, where that does not matter.
const mostAfter = 3 * time.Second

// fromWatch draws what a watch is drawn from: two kinds of abnormal for one that is harmless.
func (c *choosing) fromWatch(l *Leg, lots []float64, quiet bool) {
	taken := map[int]bool{}
	pick := func(alike bool, n int) (picked []int) {
		for range n {
			best := c.first(lots, func(i int, s *Surprise) bool {
				return s.Harmless == alike && !taken[i] && slices.Contains(s.Watches, l.Watch)
			})
			if best < 0 {
				break
			}
			taken[best] = true
			picked = append(picked, best)
		}
		return picked
	}
	const alikes = watchOf / 3
	alike := pick(true, alikes)
	wrong := pick(false, watchOf-alikes)
	if quiet && len(alike) > 0 {
		wrong = nil
	}
	for _, i := range wrong {
		l.Surprises = append(l.Surprises, Coming{Surprise: i, Place: -1, Why: c.why(c.e.Surprises[i].Things)})
	}
	for i := range alikes { // with only one kind of these, that one more often
		if len(alike) > 0 {
			l.Surprises = append(l.Surprises, Coming{Surprise: alike[i%len(alike)], Place: -1})
		}
	}
}

// first is the surprise whose lot, by its weight, comes first among those that may: the lot of what is more in need is never later for it. -1 if none may.
func (c *choosing) first(lots []float64, may func(int, *Surprise) bool) int {
	best, least := -1, 0.0
	for i := range c.e.Surprises {
		s := &c.e.Surprises[i]
		if !may(i, s) {
			continue
		}
		weight := 1.0
		if !s.Harmless {
			weight = 0
			for _, t := range s.Things {
				weight += c.of(t)
			}
			if weight <= 0 {
				continue
			}
		}
		if lot := lots[i] / weight; best < 0 || lot < least {
			best, least = i, lot
		}
	}
	return best
}
