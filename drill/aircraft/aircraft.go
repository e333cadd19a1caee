package aircraft

import (
	"errors"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"time"

	"hornlark/drill/condition"
)

// StepLength is the length of one step of the model.
const StepLength = 20 * time.Millisecond

// stepSeconds is the same for the equations.
const stepSeconds = 0.02

// Aircraft is one aircraft of a profile in one moment. It advances only in steps, and only Move, Fail and SilenceAlerts
// reach into it. It is not safe for concurrent use.
type Aircraft struct {
	profile *Profile
	now     time.Duration

	positions []int           // of the controls
	springsAt []time.Duration // when a control springs back; zero if it is not going to
	severity  []float64       // of the failure points
	seen      []bool          // facts that are in sight
	facts     []bool          // outside

	board    condition.Board // the readings, and what the profile's conditions say of them
	model    model
	truths   uint64 // of the model, as they were last read
	captions []captionState
	alerts   []alertState
	gauges   []gaugeState
	needles  []float64 // what they point at, unless moved
	alive    []bool    // whether a gauge shows anything
	calm     []span    // readings of each gauge that bring nothing new
	moved    bool      // the needles have not been moved since the last step
	changes  []Change
	shows    uint64 // Shows

	inspections []inspectionState
	silenced    []int  // what SilenceAlerts, or Mute, returned last
	muted       []bool // alerts whose mute held when it was last looked at

	powered, testing bool          // of the annunciator when the captions were last gone through
	lighting         bool          // one of them counts time, or has just been lit
	alertsOn         bool          // the annunciator was when the alerts were last gone through
	striking         bool          // one sounds that is made once
	agoUntil         time.Duration // until then how long ago alerts began to sound changes no condition
	agoAt            time.Duration // when that was written last
	passing          bool          // a limit counts time
	springs          time.Duration // when the next control springs back; zero: none will
}

// ErrNotCompiled is returned for a profile that has not been compiled, or has faults.
var ErrNotCompiled = errors.New("the profile has not been compiled")

// New makes an aircraft and takes it into one of the profile's states; "" is cold and dark. What it took to get there
// is not reported by Drain or Peak.
func New(p *Profile, w Weather, state string) (*Aircraft, error) {
	if !p.ready {
		return nil, ErrNotCompiled
	}
	if err := w.check(); err != nil {
		return nil, err
	}
	a := &Aircraft{
		profile:   p,
		positions: make([]int, len(p.Controls)),
		springsAt: make([]time.Duration, len(p.Controls)),
		severity:  make([]float64, len(p.points)),
		facts:     make([]bool, len(p.Outside)),
		seen:      make([]bool, len(p.Outside)),
		muted:     make([]bool, len(p.Alerts)),
		board:     condition.NewBoard(p.asked),
		captions:  make([]captionState, len(p.Captions)),
		alerts:    make([]alertState, len(p.Alerts)),
		gauges:    make([]gaugeState, len(p.Gauges)),
		needles:   make([]float64, len(p.Gauges)),
		alive:     make([]bool, len(p.Gauges)),
		calm:      make([]span, len(p.Gauges)),

		inspections: make([]inspectionState, len(p.Inspections)),
		changes:     make([]Change, 0, changesAtOnce),
		silenced:    make([]int, 0, len(p.Alerts)),
	}
	for i := range p.Controls {
		a.Move(i, p.Controls[i].start())
	}
	for i := range p.Outside {
		a.facts[i] = p.Outside[i].So
		a.board.Put(p.factSlot+i, bit(a.facts[i]))
	}
	a.model = newModel(p, w)
	for i := range a.alerts {
		a.alerts[i].began = -longAgo
	}
	a.writeAgo()
	a.read()
	a.sight()
	if err := a.enter(state); err != nil {
		return nil, err
	}
	a.Forget()
	return a, nil
}

// enter goes through the moves of a state.
func (a *Aircraft) enter(state string) error {
	if state == "" {
		return nil
	}
	i := slices.IndexFunc(a.profile.States, func(s State) bool { return s.Name == state })
	if i < 0 {
		return fmt.Errorf("%s has no state %q", a.profile.Name, state)
	}
	for _, m := range a.profile.moves[i] {
		for _, set := range m.set {
			if a.Locked(set.control) && a.positions[set.control] != set.position {
				return fmt.Errorf("state %q of %s moves %s while it is locked: %s; move what locks it first",
					state, a.profile.Name, a.profile.Controls[set.control].ID, a.profile.Controls[set.control].Locked)
			}
			a.Move(set.control, set.position)
		}
		for end := a.now + m.wait; a.now < end; {
			a.Step()
			a.changes = a.changes[:0]
		}
	}
	a.SilenceAlerts()
	return nil
}

// Forget drops everything that has happened, and leaves how things are: what came before is not reported by Drain or Peak.
func (a *Aircraft) Forget() {
	a.changes = a.changes[:0]
	for i := range a.gauges {
		a.gauges[i].peak = Peak{}
		a.gauges[i].seen = false
		a.gauges[i].within, a.calm[i] = nowhere, nowhere
	}
}

// Clone makes an aircraft that goes on by itself from this moment.
func (a *Aircraft) Clone() *Aircraft {
	c := *a
	c.positions = slices.Clone(a.positions)
	c.springsAt = slices.Clone(a.springsAt)
	c.severity = slices.Clone(a.severity)
	c.facts = slices.Clone(a.facts)
	c.seen = slices.Clone(a.seen)
	c.muted = slices.Clone(a.muted)
	c.board = a.board.Clone()
	c.captions = slices.Clone(a.captions)
	c.alerts = slices.Clone(a.alerts)
	c.gauges = slices.Clone(a.gauges)
	c.needles, c.alive, c.calm = slices.Clone(a.needles), slices.Clone(a.alive), slices.Clone(a.calm)
	c.inspections = slices.Clone(a.inspections)
	c.changes = append(make([]Change, 0, changesAtOnce), a.changes...)
	c.silenced = make([]int, 0, cap(a.silenced))
	return &c
}

// Become puts the aircraft into the place of another one of its profile: its controls, its machinery, what is outside. Its own
// time goes on, and so does what it has shown so far: what has changed by this is reported as it is shown.
func (a *Aircraft) Become(other *Aircraft) {
	a.moveNeedles() // they stay where they are until the next step
	for i, position := range other.positions {
		a.Move(i, position)
	}
	copy(a.severity, other.severity)
	a.board.Stir(watchAll)
	a.model = other.model
	a.model.elec.switched, a.model.still = true, false
	a.read()
}

// Step advances the aircraft by StepLength: the hands, then the machinery, then what it shows.
func (a *Aircraft) Step() {
	a.now += StepLength
	a.spring()
	a.look()
	a.model.step(a)
	a.read()
	a.sight()
	a.lightCaptions()
	a.Mute()
	a.soundAlerts()
	a.showGauges()
	a.passLimits()
}

// Shows goes up whenever a control, a caption, an alert or anything outside changes, or comes into sight: whoever has taken those in
// need not look at them again until then. Needles move without it.
func (a *Aircraft) Shows() uint64 { return a.shows }

// Now is the model time since New began.
func (a *Aircraft) Now() time.Duration { return a.now }

// Move puts a control into a position. One that springs will return by itself. A control or position that does not
// exist changes nothing.
func (a *Aircraft) Move(control, position int) {
	if control < 0 || control >= len(a.positions) {
		return
	}
	c := &a.profile.Controls[control]
	if position < 0 || position >= c.Count() {
		return
	}
	a.positions[control] = position
	a.board.Stir(watchMachinery) // levers are read as they are
	a.shows++
	a.board.Put(control, c.reading(position))
	a.springsAt[control] = 0
	if c.Springs > 0 && position != 0 {
		a.springsAt[control] = a.now + c.Springs
		if a.springs == 0 || a.springsAt[control] < a.springs {
			a.springs = a.springsAt[control]
		}
	}
}

// Position is where a control is.
func (a *Aircraft) Position(control int) int { return a.positions[control] }

// Locked reports whether a control cannot be moved as things stand. Move does not ask: whoever moves it for a hand does.
func (a *Aircraft) Locked(control int) bool {
	return a.holds(a.profile.controlLocked[control])
}

// Guarded reports whether a control is locked by a guard or a latch that can be seen: by where other controls are, and by nothing
// that hangs on the machinery.
func (a *Aircraft) Guarded(control int) bool {
	return a.profile.guardSeen[control] && a.Locked(control)
}

// HasGuard reports whether a guard or a latch that can be seen may hold a control. A profile that has not been compiled has none.
func (p *Profile) HasGuard(control int) bool {
	return control < len(p.guardSeen) && p.guardSeen[control]
}

// spring returns the controls whose time is up.
func (a *Aircraft) spring() {
	if a.springs == 0 || a.now < a.springs {
		return
	}
	a.springs = 0
	for i, at := range a.springsAt {
		switch {
		case at == 0:
		case a.now >= at:
			a.Move(i, 0)
			a.report(Change{Kind: ControlSprang, Index: i})
		case a.springs == 0 || at < a.springs:
			a.springs = at
		}
	}
}

// Fail sets how badly a failure point has failed; a severity beyond 0 to 1 is taken as the nearer of the two. A point
// that does not exist changes nothing.
func (a *Aircraft) Fail(point int, severity float64) {
	if point < 0 || point >= len(a.severity) {
		return
	}
	if math.IsNaN(severity) {
		severity = 0
	}
	if severity = clamp(severity, 0, 1); severity != a.severity[point] {
		a.severity[point] = severity
		a.board.Stir(watchAll)
	}
}

// Severity is how badly a failure point has failed.
func (a *Aircraft) Severity(point int) float64 { return a.severity[point] }

// look takes in what is to be seen outside.
func (a *Aircraft) look() {
	if !a.board.Stirred(watchOutside) {
		return
	}
	for i := range a.facts {
		so := a.profile.Outside[i].So != (a.severity[a.profile.outsidePoint+i] > 0)
		if so == a.facts[i] {
			continue
		}
		a.facts[i] = so
		a.shows++
		a.board.Put(a.profile.factSlot+i, bit(so))
		if !a.seen[i] {
			continue
		}
		a.report(Change{Kind: FactChanged, Index: i, So: so})
	}
}

// Fact reports whether something outside is so, in sight or not.
func (a *Aircraft) Fact(i int) bool { return a.facts[i] }

// sight follows what is in sight outside.
func (a *Aircraft) sight() {
	if !a.board.Stirred(watchSight) {
		return
	}
	a.shows++
	for i, when := range a.profile.factSeen {
		a.seen[i] = a.always(when)
	}
}

// Seen reports whether something outside is in sight: only then can it be known whether it is so. It goes by the controls as they
// stand at this moment, since a flow goes on with the press that brings it there.
func (a *Aircraft) Seen(i int) bool {
	return a.always(a.profile.factSeen[i])
}

// FactsOf gives the facts outside that a condition on this profile hangs on.
func (p *Profile) FactsOf(c *condition.Condition) []int {
	var facts []int
	for i := range p.Outside {
		if c != nil && c.Reads(p.factSlot+i) {
			facts = append(facts, i)
		}
	}
	return facts
}

// Readings is what conditions read: those of the profile's Scope. It belongs to the aircraft, changes with every call
// that changes the aircraft, and is only to be read.
func (a *Aircraft) Readings() []float64 {
	if a.agoAt != a.now {
		a.writeAgo()
	}
	return a.board.Readings
}

// Reading is the one of them in a slot, for whoever needs no other.
func (a *Aircraft) Reading(slot int) float64 {
	if slot >= a.profile.agoSlot {
		return a.Readings()[slot]
	}
	return a.board.Readings[slot]
}

// holds reports whether a condition of the profile is there and true.
func (a *Aircraft) holds(c condition.Asked) bool { return a.board.Holds(c) }

// always is the same where no condition at all means that it is so.
func (a *Aircraft) always(c condition.Asked) bool { return c == 0 || a.board.Holds(c) }

// read brings what the model shows into the readings, but for what cannot have changed: numbers of machinery at rest, truths that are as
// they were, and switches.
func (a *Aircraft) read() {
	m, p := &a.model, a.profile
	if m.still && !m.elec.switched {
		m.indicateResting((*[restingCount]float64)(a.board.Readings[p.modelSlot:]))
		a.board.Changed(p.modelSlot, p.modelSlot+restingCount)
	} else {
		m.indicateNumbers(a.board.Readings[p.modelSlot:p.switchSlot])
		for _, numbers := range p.numberRuns {
			a.board.Changed(numbers.from, numbers.to)
		}
	}
	truths := m.truths()
	for changed := truths ^ a.truths; changed != 0; changed &= changed - 1 {
		i := bits.TrailingZeros64(changed)
		a.board.Put(p.truths[i], float64(truths>>i&1))
	}
	a.truths = truths
	if m.elec.switched {
		m.elec.switched = false
		m.elec.indicate(&p.Systems.Electrical, a.board.Readings[p.switchSlot:p.captionSlot])
		a.board.Changed(p.switchSlot, p.captionSlot)
	}
}

// ChangeKind says what changed.
type ChangeKind int

// The kinds of change.
const (
	CaptionLit    ChangeKind = iota // Index: of the caption; its cause, and not the lamp test, has lit it
	CaptionOut                      // Index: of the caption
	AlertStarted                    // Index: of the alert
	AlertStopped                    // Index: of the alert, its cause being gone; not reported for one that sounds once
	AlertSilenced                   // Index: of the alert
	BandChanged                     // Index: of the gauge; Colour: of the band it is now in, Green as well if it no longer matters
	ControlSprang                   // Index: of the control, which is in its first position again
	FactChanged                     // Index: of the fact, which is in sight; So: how it is now
	InspectionDue                   // Index: of the limit that has been passed
)

// Change is something that the aircraft did by itself.
type Change struct {
	Kind   ChangeKind
	Index  int
	Colour Colour
	So     bool
}

// changesAtOnce is how many changes there is room for from the beginning: more than one step brings about, as a rule. Most aircraft are
// copied to be looked at or to be gone back to, and nobody drains them.
const changesAtOnce = 32

// changesKept is how many changes wait for Drain: more than a few steps can bring about.
func changesKept(p *Profile) int {
	return 8 * (len(p.Captions) + len(p.Alerts) + len(p.Gauges) + len(p.Controls) + len(p.Outside) + len(p.Inspections) + 1)
}

// report keeps a change for Drain. Nobody who drains after every step can miss one; somebody who never drains loses
// the newest.
func (a *Aircraft) report(c Change) {
	if len(a.changes) < changesKept(a.profile) {
		a.changes = append(a.changes, c)
	}
}

// Drain hands every change since the last call to f, in the order in which they came about.
func (a *Aircraft) Drain(f func(Change)) {
	for _, c := range a.changes {
		f(c)
	}
	a.changes = a.changes[:0]
}

func bit(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// lesser, greater and clamp are asked at every turn of the model, whose figures are numbers. What a builtin takes to tell zeros and what
// is no number apart costs more than the rest, and whoever needs the result has to wait for it: a branch is foreseen.
func lesser(a, b float64) float64 {
	if b < a {
		return b
	}
	return a
}

func greater(a, b float64) float64 {
	if b > a {
		return b
	}
	return a
}

// clamp holds a figure to a range.
func clamp(v, least, most float64) float64 {
	if v <= least {
		return least
	}
	if v >= most {
		return most
	}
	return v
}
