package drill

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// flow is the checklist: whose turn it is, and what has been done.
type flow struct {
	items []*item       // shared, and never changed
	state []progress    // of each
	dealt int           // how many have been dealt with, from first on
	first int           // place of the first that is gone through; those before it have been done
	gated []bool        // the items before which others had to be right have been held to that
	turn  int           // place of the item whose turn it is; len(items) when all have been dealt with; -1 before the first
	last  int           // place of the item done last, -1 before the first
	since time.Duration // when the turn came

	asked  bool          // the challenge has been given, or in recall the turn's time runs
	cue    int           // the challenge, 0 if none was spoken
	timed  bool          // from is known
	from   time.Duration // the answer is timed from here
	spoken time.Duration // end of the challenge; zero while it is not known
	again  bool          // asked a second time
	known  time.Duration // what is being spoken was heard to its end before, here, and was not answered: an answer cannot be too early; or zero
	cut    bool          // other words have cut the challenge short: it has to be given anew
	typing bool          // a reading is being typed
	typed  string
	fixing bool // rightly refused: what is wrong has to be put right before the flow goes on

	refused string // why the flow ends, once the crew has spoken: a check was rightly refused that ends it

	passing passing

	resuming   bool          // an abnormal is over and the flow has not been resumed
	resumeFrom time.Duration // since when it could have been
}

// passing watches a gauge for the value that is to be called.
type passing struct {
	passed  bool // the value has been passed
	at      time.Duration
	early   bool // called before it was passed
	earlyAt time.Duration

	expected   bool // it should have been passed
	expectedAt time.Duration
}

const (
	// placeFinding is the time to find one's place again after an abnormal, on top of the time that the item has.
	placeFinding = 5 * time.Second

	// recallWithin is how long nothing may happen in recall before an item counts as forgotten.
	recallWithin = 30 * time.Second

	// waitMost is how long an item waits for its condition if it does not say.
	waitMost = 60 * time.Second

	// maxDigits bounds a reading that is typed.
	maxDigits = 8
)

func newFlow(items []*item) flow {
	return flow{items: items, state: make([]progress, len(items)), gated: make([]bool, len(items)), turn: -1, last: -1}
}

func (f *flow) current() *item {
	if f.turn < 0 || f.turn >= len(f.items) {
		return nil
	}
	return f.items[f.turn]
}

// pending reports whether an item is still to be done.
func (f *flow) pending(i int) bool { return f.state[i].stage == pending }

// put takes an item to a stage.
func (f *flow) put(i int, to stage) {
	if i >= f.first {
		f.dealt -= one(!f.pending(i))
		f.dealt += one(to != pending)
	}
	f.state[i].stage = to
}

// reopen has an item to be done again as if it never had been.
func (f *flow) reopen(i int) {
	f.put(i, pending)
	f.state[i] = progress{}
}

func one(so bool) int {
	if so {
		return 1
	}
	return 0
}

// expects reports whether the item whose turn it is makes an alert itself, or the one before it did.
func (f *flow) expects(alert string) bool {
	for i := max(0, f.last); i <= f.turn && i < len(f.items); i++ {
		if slices.Contains(f.items[i].Expect, alert) {
			return true
		}
	}
	return false
}

// turnTo makes it the turn of the first item from i on that still has to be done: of the next one, once that at i has been dealt with.
func (s *Sitting) turnTo(i int) {
	f := &s.flow
	before := f.turn
	if it := f.current(); it != nil && it.typed() {
		f.typing, f.typed = false, ""
	}
	f.asked, f.cue, f.cut, f.fixing, f.since, f.spoken = false, 0, false, false, s.now, 0
	for ; i < len(f.items); i++ {
		if s.skipUnless(i); f.pending(i) {
			break
		}
	}
	f.turn = i
	it := f.current()
	if it == nil {
		return
	}
	if before < 0 || before >= len(f.items) || f.items[before].phase != it.phase {
		s.beginPhase(it.phase)
	}
	if s.policy.Asks != "" {
		s.passGate(i)
	}
}

// skipUnless passes over an item that is not to be done at all.
func (s *Sitting) skipUnless(i int) {
	if f := &s.flow; f.pending(i) && !s.applies(f.items[i]) {
		f.put(i, skipped)
		s.log(logbook.Entry{Kind: logbook.Skip, Item: f.items[i].ID})
	}
}

func (s *Sitting) beginPhase(phase int) {
	ph := &s.procedureNow().Phases[phase]
	s.log(logbook.Entry{Kind: logbook.Phase, Name: ph.ID, Text: ph.Title})
	if _, known := s.phases[phase]; !known {
		s.phases[phase] = s.expected().Clone()
	}
	s.injections.phaseBegins(s, phase)
}

// procedureNow is what is gone through, and what has been before it.
func (s *Sitting) procedureNow() *procedure.Procedure {
	if s.policy.Flow == scenario.Figures {
		return figuresPhase
	}
	return s.part.upTo
}

// figuresPhase is the one phase that figures are asked in.
var figuresPhase = &procedure.Procedure{Phases: []procedure.Phase{{ID: procedure.LimitsPhase, Title: "Limits"}}}

// applies reports whether an item is to be done at all. What is out of sight nobody can be asked about.
func (s *Sitting) applies(it *item) bool {
	if it.Fitted != nil && !*it.Fitted {
		return false
	}
	if slices.ContainsFunc(it.facts, func(fact int) bool { return !s.expected().Seen(fact) }) {
		return false
	}
	return it.when == nil || it.when.Holds(s.expected().Readings())
}

// moved matches a control that has been moved with the item that wanted it.
func (s *Sitting) moved(control, from int, by Press) (wanted bool) {
	if by.Seat != s.policy.Acts {
		return false
	}
	undone := s.undo(control, from)
	if s.flow.fixing {
		return s.fixMoved(control)
	}
	i, ok := s.wants(control)
	if !ok || s.goesBeyond(i, control, from) {
		return s.movedAgain(control, from)
	}
	if !s.passGate(i) {
		return true
	}
	it := s.flow.items[i]
	switch {
	case s.inPosition(it.set):
		s.complete(i, true, true, by)
	case !undone && s.passedBy(it, control, from):
		s.overshoot(it, control)
	}
	return true
}

// askedFor is the item that has been asked and that a move of the trainee's brings nearer, or empty.
func (s *Sitting) askedFor(control, from int, by Press) string {
	it := s.flow.current()
	asked := s.flow.asked || s.policy.Asks == ""
	if it == nil || !asked || s.partner.stopped || s.flow.resuming || by.Seat != logbook.Trainee || s.policy.Acts != by.Seat {
		return ""
	}
	set := it.set
	if s.flow.fixing {
		set = it.fix
	}
	if s.nearer(set, control, from) {
		return it.ID
	}
	return ""
}

// nearer reports whether a move has brought a control nearer to where a set wants it.
func (s *Sitting) nearer(set []setting, control, from int) bool {
	for _, want := range set {
		if want.control == control && distance(s.craft.Position(control), want.position) < distance(from, want.position) {
			return true
		}
	}
	return false
}

// horizon is the phase up to which items can be done ahead of their turn: the one after that of the turn, or of the item done
// last where that lies further on. What lies beyond is no slip of order.
func (f *flow) horizon() int {
	phase := f.items[min(f.turn, len(f.items)-1)].phase
	if f.last >= 0 {
		phase = max(phase, f.items[f.last].phase)
	}
	return phase + 1
}

// wants finds the item that a move of this control is for: the first that is still to be done, from the turn to the horizon;
// and if there is none, one that has been omitted. A move that only an item beyond the horizon wants is a stray.
func (s *Sitting) wants(control int) (int, bool) {
	f := &s.flow
	if f.current() == nil {
		return s.omittedWants(control)
	}
	if s.policy.Asks == "" && f.last > f.turn {
		return s.wantsFromMemory(control)
	}
	return s.wantsFrom(f.turn, control)
}

// wantsFromMemory finds the item that a move is for, of somebody who has gone past the turn: the next one on from where they
// are, unless the move puts right exactly what an earlier one wants.
func (s *Sitting) wantsFromMemory(control int) (int, bool) {
	f := &s.flow
	i, ok := s.wantsFrom(f.last+1, control)
	if ok && i > f.last && s.isWhere(f.items[i].set, control) {
		return i, true
	}
	for k := f.last; k >= 0; k-- {
		if open := f.pending(k) || f.state[k].stage == omitted; open && mentions(f.items[k].set, control) && s.isWhere(f.items[k].set, control) {
			return k, true
		}
	}
	return i, ok
}

// isWhere reports whether a control is where a set wants it.
func (s *Sitting) isWhere(set []setting, control int) bool {
	return slices.Contains(set, setting{control, s.craft.Position(control)})
}

// wantsFrom finds the first item from a place on that is still to be done and wants a control.
func (s *Sitting) wantsFrom(place, control int) (int, bool) {
	f := &s.flow
	horizon := f.horizon()
	for i := place; i < len(f.items) && f.items[i].phase <= horizon; i++ {
		// Whether the item of the turn applies was judged when that came; the move itself may have changed it since.
		if f.pending(i) && mentions(f.items[i].set, control) && (i == f.turn || s.applies(f.items[i])) {
			return i, true
		}
	}
	return s.omittedWants(control)
}

func (s *Sitting) omittedWants(control int) (int, bool) {
	for i := min(s.flow.turn, len(s.flow.items)) - 1; i >= 0; i-- {
		if s.flow.state[i].stage == omitted && mentions(s.flow.items[i].set, control) {
			return i, true
		}
	}
	return 0, false
}

// undo takes back every item ahead of its turn that the moved control has been taken out of again, and reports whether
// there was one. Who goes by memory, and takes a lever on to where the next item wants it, takes nothing back.
func (s *Sitting) undo(control, from int) (undone bool) {
	f := &s.flow
	if s.policy.Asks == "" && f.current() != nil && f.last > f.turn {
		if next, ok := s.wantsFrom(f.last+1, control); ok && s.nearer(f.items[next].set, control, from) {
			return false
		}
	}
	for i := f.turn + 1; i < len(f.items); i++ {
		it := f.items[i]
		if f.state[i].stage == done && mentions(it.set, control) && !s.inPosition(it.set) {
			f.put(i, pending)
			s.log(logbook.Entry{Kind: logbook.Undone, Item: it.ID})
			undone = true
		}
	}
	return undone
}

// movedAgain logs a move of something that has been done already: on past its position, back into it, or away from it.
func (s *Sitting) movedAgain(control, from int) bool {
	f := &s.flow
	for i := min(f.turn, len(f.items)) - 1; i >= f.first; i-- {
		it, state := f.items[i], &f.state[i]
		if state.stage != done || !mentions(it.set, control) {
			continue
		}
		switch {
		case s.inPosition(it.set) && state.overshot:
			state.overshot = false
			s.log(logbook.Entry{Kind: logbook.Fixed, Item: it.ID, OK: true})
		case s.inPosition(it.set):
			s.log(logbook.Entry{Kind: logbook.Again, Item: it.ID})
			s.respond(it, "done again", false, 0)
			s.resumedWith(i, logbook.Twice)
		case state.overshot:
		case i == f.last && s.profile().Controls[control].Count() > 2 && s.passedBy(it, control, from):
			state.overshot = true
			s.overshoot(it, control)
		default:
			return false
		}
		return true
	}
	return false
}

// goesBeyond reports whether a move has to do with the item done last, and not with one further on that wants the same control:
// it leads away from that, or back to what was gone beyond. Where nobody asks, one further on may be what it is for.
func (s *Sitting) goesBeyond(i, control, from int) bool {
	f := &s.flow
	if !s.policy.Waits || i == f.turn || f.last < 0 || f.state[f.last].stage != done || !mentions(f.items[f.last].set, control) {
		return false
	}
	return f.state[f.last].overshot || s.passedBy(f.items[i], control, from)
}

func (s *Sitting) overshoot(it *item, control int) {
	s.log(logbook.Entry{Kind: logbook.Overshoot, Item: it.ID, Control: s.controlID(control), Position: s.position(control)})
	s.respond(it, "beyond: "+it.Response, false, 0)
}

// passedBy reports whether a move went through the position that an item wants, or away from it.
func (s *Sitting) passedBy(it *item, control, from int) bool {
	for _, want := range it.set {
		if want.control == control {
			return distance(s.craft.Position(control), want.position) > distance(from, want.position)
		}
	}
	return false
}

func distance(a, b int) int { return max(a-b, b-a) }

func mentions(set []setting, control int) bool {
	return slices.ContainsFunc(set, func(want setting) bool { return want.control == control })
}

func (s *Sitting) inPosition(set []setting) bool {
	return !slices.ContainsFunc(set, func(want setting) bool { return s.craft.Position(want.control) != want.position })
}

// answer takes Enter or Backspace.
func (s *Sitting) answer(yes bool, by Press) {
	i, ok := s.answerable(by)
	if !ok {
		s.stray(key(yes), by)
		return
	}
	it := s.flow.items[i]
	if !s.passGate(i) {
		return
	}
	switch it.kind {
	case procedure.Set:
		s.answerSet(i, yes, by)
	case procedure.Read, procedure.Figure:
		s.answerReading(i, yes, by)
	case procedure.Callout:
		s.answerCallout(i, yes, by)
	default:
		truth := it.truth.Holds(s.craft.Readings())
		entry := logbook.Entry{Item: it.ID, Text: word(yes), Truth: word(truth), OK: !yes && !truth && s.spoilt(it)}
		s.logAnswer(entry, i, by)
		s.flow.state[i].wasNot = yes && !truth
		if !yes && !truth {
			s.refuse(i, by)
			return
		}
		s.complete(i, yes == truth, yes, by)
	}
}

// logAnswer logs an answer, and whether it came over the challenge.
func (s *Sitting) logAnswer(e logbook.Entry, i int, by Press) {
	e.Kind, e.Seat, e.Began = logbook.Answer, by.Seat, s.began(by)
	if e.Why == "" {
		e.Why = s.tooEarly(i)
	}
	s.log(e)
}

// tooEarly is Over if what is done for an item comes while its challenge is still being spoken, or has not been.
func (s *Sitting) tooEarly(i int) logbook.Reason {
	if i == s.flow.turn && s.overChallenge() {
		return logbook.Over
	}
	return ""
}

// began is the running time at which a press began, or zero if that is when it arrived.
func (s *Sitting) began(p Press) time.Duration {
	if p.Began == 0 {
		return 0
	}
	return s.clock.Running(p.Began)
}

// answerable finds the item that a spoken answer is for. Where items are asked and waited for, that is the one that has been
// asked. In recall it is the item after the last one done, if that takes an answer, and otherwise the first open one that
// does: having skipped one is likelier than having come back to it.
func (s *Sitting) answerable(by Press) (int, bool) {
	f := &s.flow
	if f.current() == nil || by.Seat != s.policy.Acts {
		return 0, false
	}
	if s.policy.Waits {
		return f.turn, f.asked || f.resuming || s.partner.stopped
	}
	open := func(i int) bool {
		return f.pending(i) && f.items[i].kind != procedure.Set && s.applies(f.items[i])
	}
	if next := f.last + 1; next > f.turn && next < len(f.items) && open(next) {
		return next, true
	}
	horizon := f.horizon()
	for i := f.turn; i < len(f.items) && f.items[i].phase <= horizon; i++ {
		if open(i) && (i > f.last || i == f.turn) {
			return i, true
		}
	}
	for i := range f.last {
		if open(i) {
			return i, true
		}
	}
	return 0, false
}

// answerSet takes "yes" for a control that stands where it should already; for one that does not it is a wrong answer,
// and the item stays open.
func (s *Sitting) answerSet(i int, yes bool, by Press) {
	it := s.flow.items[i]
	truth := s.inPosition(it.set)
	s.logAnswer(logbook.Entry{Item: it.ID, Text: word(yes), Truth: word(truth)}, i, by)
	if yes && truth {
		s.complete(i, true, true, by)
		return
	}
	s.respond(it, "not "+it.Response, false, 0)
}

// answerReading ends a reading that is being typed; in recall it opens one first.
func (s *Sitting) answerReading(i int, yes bool, by Press) {
	f := &s.flow
	it := f.items[i]
	switch {
	case !yes:
		f.typed = f.typed[:max(0, len(f.typed)-1)]
	case !f.typing:
		f.typing, f.typed = true, ""
	case f.typed != "":
		value, err := strconv.ParseFloat(f.typed, 64)
		wanted, known := s.wantedValue(it)
		typed, truth := f.typed, ""
		if known {
			truth = s.digitsOf(it, wanted)
		}
		tolerance := s.profile().Gauges[it.gauge].Tolerance
		right := err == nil && known && math.Abs(value-wanted) <= tolerance
		s.logAnswer(logbook.Entry{Item: it.ID, Text: typed, Truth: truth, Value: wanted}, i, by)
		f.typing = false
		s.complete(i, right, true, by)
		if !right {
			s.respond(it, fmt.Sprintf("typed %s, it was %s, within %g", typed, cmp.Or(truth, "dead"), tolerance), false, 0)
		}
	}
}

// wantedValue is what has to be typed: the figure itself, or what the gauge shows; false if that is dead.
func (s *Sitting) wantedValue(it *item) (float64, bool) {
	if it.Figure != nil {
		return it.Figure.Value, true
	}
	value, _, alive := s.craft.Gauge(it.gauge)
	return value, alive
}

func (s *Sitting) digitsOf(it *item, value float64) string {
	return strconv.FormatFloat(value, 'f', s.profile().Gauges[it.gauge].Decimals, 64)
}

// digit takes a key as part of a reading, if one is being typed.
func (s *Sitting) digit(k Key) bool {
	f := &s.flow
	if !f.typing || len(k) != 1 || !strings.Contains("0123456789.-", string(k)) {
		return false
	}
	if len(f.typed) < maxDigits {
		f.typed += string(k)
	}
	return true
}

// answerCallout takes the call of a passing value. One that comes early may still turn out to lie within the window.
func (s *Sitting) answerCallout(i int, yes bool, by Press) {
	f := &s.flow
	if !yes || i != f.turn {
		s.stray(key(yes), by)
		return
	}
	if !f.passing.passed {
		f.passing.early, f.passing.earlyAt = true, s.now
		return
	}
	s.called(i, s.now, by)
}

func (s *Sitting) called(i int, at time.Duration, by Press) {
	it := s.flow.items[i]
	off, window := at-s.flow.passing.at, cmp.Or(it.Callout.Window, procedure.DefaultWindow)
	asked := max(s.flow.passing.at, s.flow.spoken) // passed under the challenge, it may be called as soon as that has been spoken
	right := off >= -window && at-asked <= window
	s.logAnswer(logbook.Entry{Item: it.ID, Length: off, Why: logbook.Passing, Onset: s.flow.passing.at}, i, by)
	s.complete(i, right, true, by)
	if !right {
		s.respond(it, fmt.Sprintf("called %.1f s %s", max(off, -off).Seconds(), earlyOrLate(off)), false, 0)
	}
}

func earlyOrLate(off time.Duration) string {
	if off < 0 {
		return "early"
	}
	return "late"
}

// tickPassing watches the gauge of a callout. A value that has been passed already when it is asked for counts as
// passed at that moment.
func (s *Sitting) tickPassing(it *item) {
	if it.kind != procedure.Callout {
		return
	}
	p := &s.flow.passing
	beyond := func(value float64, alive bool) bool {
		if it.Callout.Down {
			return alive && value <= it.Callout.Value
		}
		return alive && value >= it.Callout.Value
	}
	if value, alive := s.expected().Shown(it.gauge); beyond(value, alive) && !p.expected {
		p.expected, p.expectedAt = true, s.now
		s.flow.timed = s.flow.timed || s.flow.asked
	}
	value, alive := s.craft.Shown(it.gauge)
	if beyond(value, alive) && !p.passed {
		p.passed, p.at = true, s.now
		s.newCue(cue{class: logbook.Gauge, id: s.profile().Gauges[it.gauge].ID}, it.ID, true)
		s.flow.timed, s.flow.from = true, s.now
		if p.early {
			s.called(s.flow.turn, p.earlyAt, s.calledEarly())
		}
		return
	}
	if p.early && !p.passed && s.now > p.earlyAt+cmp.Or(it.Callout.Window, procedure.DefaultWindow) {
		p.passed, p.at = true, s.now // far too early: it is judged against now, and is wrong
		s.called(s.flow.turn, p.earlyAt, s.calledEarly())
	}
}

// calledEarly is the call that was made before the value was passed.
func (s *Sitting) calledEarly() Press {
	return Press{Key: Yes, Seat: s.policy.Acts, Began: s.clock.Callers(s.flow.passing.earlyAt)}
}

// complete records that an item has been answered, echoes the response, and goes on. yes is what the trainee said of it.
func (s *Sitting) complete(i int, ok, yes bool, by Press) {
	f := &s.flow
	it, before := f.items[i], f.last
	text := it.Response
	inPlace := i == f.turn || s.sameGroup(i, f.turn)
	early := s.tooEarly(i)
	switch {
	case !ok && (it.kind == procedure.Check || it.kind == procedure.Confirm):
		text = "it was so: " + it.Response
		if yes {
			text = "it was not so"
		}
	case !ok:
		text = "not " + it.Response
	case early != "":
		text = "too early: " + it.Response
	case s.byRote(i):
		text = "too soon to have looked: " + it.Response
	case !inPlace:
		text = "out of order: " + it.Response
	}
	s.credit(i, ok, text, by)
	s.echo(it, ok && inPlace && early == "", yes)
	switch {
	case i == f.turn:
		s.turnTo(i)
	case s.policy.Asks == "" && i > f.turn && (before > f.turn || s.calledNext(i)):
		// Who goes by memory has left the turn behind: two items in a row lie beyond it, or one after which a value has to be called.
		// What they passed over has been left out, unless they come back to it.
		for k := f.turn; k < i; k++ {
			if s.skipUnless(k); f.pending(k) {
				s.giveUp(k)
			}
		}
		s.turnTo(i)
	}
}

// calledNext reports whether the item after this one is the call of a value.
func (s *Sitting) calledNext(i int) bool {
	next := i + 1
	return next < len(s.flow.items) && s.flow.pending(next) && s.flow.items[next].kind == procedure.Callout
}

// echo speaks a response back. Where feedback waits for the end it says nothing about whether the answer was right.
func (s *Sitting) echo(it *item, ok, yes bool) {
	if s.policy.Echoed && (ok || yes && s.policy.Feedback == scenario.AtTheEnd) {
		s.say(Responder, logbook.Echo, it.Response)
	}
}

func (s *Sitting) sameGroup(i, k int) bool {
	f := &s.flow
	return k < len(f.items) && f.items[i].Group != "" && f.items[i].Group == f.items[k].Group && f.items[i].phase == f.items[k].phase
}

// credit enters an item into the log as done, rightly or not.
func (s *Sitting) credit(i int, ok bool, text string, by Press) {
	f := &s.flow
	it := f.items[i]
	early, rote := s.tooEarly(i), s.byRote(i)
	inPlace := i == f.turn || s.sameGroup(i, f.turn)
	s.goOn(logbook.Answered)
	f.put(i, done)
	s.resumedWith(i, "")
	s.log(logbook.Entry{Kind: logbook.Done, Seat: by.Seat, Began: s.began(by), Item: it.ID, OK: ok, Why: early})
	r := Response{Item: it.ID, Text: text, Right: ok && inPlace && early == "" && !rote}
	if from, timed := s.answeredFrom(); i == f.turn && timed && early == "" {
		r.Reaction = s.now - from
		r.Late = r.Right && it.kind != procedure.Callout && r.Reaction > it.Limit()
	}
	f.last = i
	s.show(r)
}

// answeredFrom is when the time for an answer to the open item began: at the end of its challenge, the first of two where nobody answered that
// one. False if it has not begun.
func (s *Sitting) answeredFrom() (time.Duration, bool) {
	f := &s.flow
	if f.asked && f.known > 0 {
		return f.known, true
	}
	return f.from, f.asked && f.timed
}

// byRote reports whether an answer to the open item comes sooner than anybody can have looked.
func (s *Sitting) byRote(i int) bool {
	from, timed := s.answeredFrom()
	return i == s.flow.turn && timed && s.policy.Asks != "" && s.flow.items[i].kind.Looked() && s.now-from < score.ShortestLook
}

// spoilt reports whether a check is only not so because of something that is going wrong: a healthy aircraft would pass it.
func (s *Sitting) spoilt(it *item) bool {
	in := s.injections.showing()
	return in != nil && !in.Harmless && it.truth.Holds(s.expected().Readings())
}

// refuse takes a "no" that was right: the crew says what is done about it, and the trainee does their part. What is only so
// because of something that is going wrong stops the partner.
func (s *Sitting) refuse(i int, by Press) {
	it := s.flow.items[i]
	ofIt := s.spoilt(it)
	s.credit(i, true, "refused, rightly", by)
	if ofIt {
		s.noticed()
		s.injections.refused(s)
		if i == s.flow.turn {
			s.turnTo(i)
		}
		s.stopPartner()
		return
	}
	s.sayFix(it)
	switch {
	case it.IfNot != nil && it.IfNot.Stop:
		s.turnTo(len(s.flow.items))
		s.flow.refused = "the flow ended where it had to: " + it.Challenge
	case i != s.flow.turn:
	case !s.inPosition(it.fix):
		s.flow.fixing, s.flow.since = true, s.now
	default:
		s.turnTo(i)
	}
}

// sayFix has the crew say what is done about an item that was rightly refused.
func (s *Sitting) sayFix(it *item) {
	if it.IfNot != nil && it.IfNot.Say != "" {
		s.say(Crew, logbook.Speech, it.IfNot.Say)
	}
}

func (s *Sitting) fixMoved(control int) bool {
	it := s.flow.current()
	if !mentions(it.fix, control) {
		return false
	}
	if s.inPosition(it.fix) {
		s.fixed(it, true)
	}
	return true
}

func (s *Sitting) tickFix(it *item) {
	if s.pilot.alone {
		s.pilotFixes(it)
	}
	if s.flow.fixing && s.now >= s.flow.since+2*it.Limit() {
		s.fixed(it, false)
	}
}

func (s *Sitting) fixed(it *item, ok bool) {
	s.log(logbook.Entry{Kind: logbook.Fixed, Item: it.ID, OK: ok})
	s.turnTo(s.flow.turn)
}

// respond keeps what the last answer amounted to, for the screen.
func (s *Sitting) respond(it *item, text string, right bool, reaction time.Duration) {
	s.show(Response{Item: it.ID, Text: text, Right: right, Reaction: reaction})
}

func (s *Sitting) show(r Response) {
	r.At = s.clock.Callers(s.now)
	s.last = r
}

// stray logs a press that nothing wanted.
func (s *Sitting) stray(k Key, by Press) {
	spoken := k == Yes || k == No
	if f := &s.flow; spoken && f.resuming && f.last >= f.first && f.items[f.last].kind != procedure.Set {
		s.resumedWith(f.last, logbook.Twice)
	}
	s.log(logbook.Entry{Kind: logbook.Stray, Seat: by.Seat, Key: string(k)})
}

// tickResume waits for the trainee to go on, and asks them to when they do not.
func (s *Sitting) tickResume(it *item) {
	f := &s.flow
	if !s.ready(it) {
		f.resumeFrom = s.now
	}
	f.typing = f.typing || it.typed() && s.waits()
	if s.now >= f.resumeFrom+it.Limit()+placeFinding {
		f.resuming, f.typing = false, false
		s.log(logbook.Entry{Kind: logbook.Prompted, Item: it.ID})
	}
}

// resumedWith notes the first item after an abnormal: the one that was left, another, or one that had been done.
func (s *Sitting) resumedWith(i int, how logbook.Reason) {
	f := &s.flow
	if !f.resuming {
		return
	}
	if how == "" {
		how = logbook.Elsewhere
		if i == f.turn || s.sameGroup(i, f.turn) {
			how = logbook.AtPlace
		}
	}
	f.resuming, f.typing = false, false
	s.log(logbook.Entry{Kind: logbook.Resumed, Item: f.items[i].ID, Why: how, Length: s.now - f.resumeFrom})
}

// goBack opens again every item from one on, up to the present turn.
func (s *Sitting) goBack(to int) {
	f := &s.flow
	if to < 0 || to > f.turn || f.turn < 0 || f.refused != "" {
		return
	}
	for i := to; i <= f.turn && i < len(f.items); i++ {
		f.gated[i] = false // what had to be right before it has to be so anew
		if stage := f.state[i].stage; stage == done || stage == omitted {
			f.reopen(i)
			s.log(logbook.Entry{Kind: logbook.Reopen, Item: f.items[i].ID})
		}
	}
	f.last = to - 1
	s.turnTo(to)
}

func key(yes bool) Key {
	if yes {
		return Yes
	}
	return No
}

func word(yes bool) string {
	if yes {
		return logbook.Yes
	}
	return logbook.No
}
