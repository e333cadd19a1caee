package drill

import (
	"cmp"
	"math"
	"strconv"
	"strings"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// flow is the checklist: whose turn it is, and what has been done.
type flow struct {
	items []item
	turn  int           // index of the item whose turn it is; len(items) when all have been dealt with; -1 before the first
	last  int           // index of the item done last, -1 before the first
	since time.Duration // when the turn came

	asked  bool          // the challenge has been given, or in recall the turn's time runs
	cue    int           // the challenge, 0 if none was spoken
	timed  bool          // from is known
	from   time.Duration // the answer is timed from here
	again  bool          // asked a second time
	cut    bool          // other words have cut the challenge short: it has to be given anew
	typing bool          // a reading is being typed
	typed  string
	fixing bool // rightly refused: what is wrong has to be put right before the flow goes on

	passing passing
	hand    time.Duration // in watch: when the other pilot last moved something

	resuming   bool          // an abnormal is over and the flow has not been gone on with
	resumeFrom time.Duration // since when it could have been
}

// passing watches a gauge for the value that is to be called.
type passing struct {
	passed  bool // the value has been passed
	at      time.Duration
	early   bool // called before it was passed
	earlyAt time.Duration
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

func (f *flow) current() *item {
	if f.turn < 0 || f.turn >= len(f.items) {
		return nil
	}
	return &f.items[f.turn]
}

// expects reports whether the item whose turn it is makes an alert itself, or the one before it did.
func (f *flow) expects(alert string) bool {
	for i := max(0, f.last); i <= f.turn && i < len(f.items); i++ {
		for _, id := range f.items[i].Expect {
			if id == alert {
				return true
			}
		}
	}
	return false
}

// tickFlow gives the next challenge when it is time, and loses patience with one that is not answered.
func (s *Sitting) tickFlow() {
	f := &s.flow
	if s.mode == scenario.Alerts || s.ended {
		return
	}
	if f.turn < 0 {
		s.turnTo(0)
	}
	if s.suspended() {
		return
	}
	it := f.current()
	switch {
	case it == nil:
		if s.quietFor() && !s.threats.open() {
			s.end(true, "complete")
		}
	case f.cut:
		s.tickPassing(it)
		if s.quietFor() {
			s.askAnew(anew)
		}
	case s.mode == scenario.Watch:
		s.tickWatch(it)
	case f.resuming:
		s.tickPassing(it)
		s.tickResume(it)
	case f.fixing:
		s.tickFix(it)
	case !f.asked:
		if s.ready(it) {
			s.ask(it)
		}
	default:
		s.tickPassing(it)
		s.tickPatience(it)
	}
}

// ready reports whether an item can be asked now: the aircraft has come to where it makes sense, or that has taken too
// long; and nobody is speaking.
func (s *Sitting) ready(it *item) bool {
	if it.after != nil && !it.after.Holds(s.craft.Readings()) && s.now < s.flow.since+cmp.Or(it.Wait, waitMost) {
		return false
	}
	return s.mode == scenario.Recall || s.quietFor()
}

// ask gives the challenge. In recall nothing is said: the time for remembering begins.
func (s *Sitting) ask(it *item) {
	f := &s.flow
	f.asked, f.again, f.timed, f.cut = true, false, false, false
	f.typed, f.typing = "", false
	f.passing = passing{}
	entry := logbook.Entry{Kind: logbook.Ask, Item: it.ID, Text: it.Challenge, Name: string(it.kind)}
	if s.mode == scenario.Recall {
		f.timed, f.from = true, s.now
		s.log(entry)
	} else {
		f.typing = it.typed() && s.prompts()
		f.cue = s.say(Challenger, ClassSpeech, it.Challenge)
		entry.Cue = f.cue
		s.log(entry)
	}
	s.threats.asked(s, f.turn)
}

// Why a challenge is given again, as the log has it; nothing is for want of an answer.
const (
	wanted = "wanted" // the trainee asked for it
	anew   = "anew"   // it was interrupted: no time of the trainee's
)

// askAnew repeats the challenge that is open, if one is, or what the crew said has to be put right. The answer is timed
// from its end.
func (s *Sitting) askAnew(why string) {
	f := &s.flow
	it := f.current()
	if it == nil || !f.asked || s.mode == scenario.Recall || s.suspended() {
		return
	}
	if f.fixing {
		s.sayFix(it)
		return
	}
	f.cue = s.say(Challenger, ClassSpeech, it.Challenge)
	f.timed, f.cut = false, false
	s.log(logbook.Entry{Kind: logbook.AskAgain, Item: it.ID, Cue: f.cue, Text: it.Challenge, Name: why})
}

// cutShort takes note that an utterance has been cut short; if it was a challenge that is still open, nobody can be
// expected to have understood it.
func (f *flow) cutShort(cue int) {
	if f.asked && f.cue == cue && f.current().stage == pending {
		f.cut, f.timed = true, false
	}
}

// challengeHeard starts the time for the answer: from the end of the challenge.
func (s *Sitting) challengeHeard(cue int, end time.Duration) {
	if s.flow.asked && s.flow.cue == cue && !s.flow.timed {
		s.flow.timed, s.flow.from = true, end
	}
}

// tickPatience repeats a challenge once and then goes on without its answer.
func (s *Sitting) tickPatience(it *item) {
	f := &s.flow
	limit := it.Limit()
	if it.kind == procedure.Callout && !f.passing.passed {
		limit = max(limit, cmp.Or(it.Wait, waitMost))
	}
	if s.mode == scenario.Recall {
		limit = max(2*limit, recallWithin)
	}
	if !f.timed || s.now < f.from+limit {
		return
	}
	if s.prompts() && !f.again && it.kind != procedure.Callout {
		f.again = true
		s.askAnew("")
		return
	}
	it.stage = omitted
	s.log(logbook.Entry{Kind: logbook.TimedOut, Item: it.ID})
	s.turnTo(f.turn + 1)
}

// turnTo makes it the turn of the first item from i on that still has to be done.
func (s *Sitting) turnTo(i int) {
	f := &s.flow
	before := f.turn
	if it := f.current(); it != nil && it.typed() {
		f.typing, f.typed = false, ""
	}
	f.asked, f.cue, f.cut, f.fixing, f.since = false, 0, false, false, s.now
	for ; i < len(f.items); i++ {
		it := &f.items[i]
		if it.stage == pending && !s.applies(it) {
			it.stage = skipped
			s.log(logbook.Entry{Kind: logbook.Skip, Item: it.ID})
		}
		if it.stage == pending {
			break
		}
	}
	f.turn = i
	if it := f.current(); it != nil && (before < 0 || f.items[before].phase != it.phase) {
		s.beginPhase(it.phase)
	}
}

func (s *Sitting) beginPhase(phase int) {
	ph := &s.plan.Procedure.Phases[phase]
	s.log(logbook.Entry{Kind: logbook.Phase, Name: ph.ID, Text: ph.Title})
}

// applies reports whether an item is to be done at all.
func (s *Sitting) applies(it *item) bool {
	if it.Fitted != nil && !*it.Fitted {
		return false
	}
	return it.when == nil || it.when.Holds(s.craft.Readings())
}

// moved matches a control that the trainee has moved with the item that wanted it.
func (s *Sitting) moved(control, from int) (wanted bool) {
	if s.mode == scenario.Watch {
		return false
	}
	undone := s.undo(control)
	if s.flow.fixing {
		return s.fixMoved(control)
	}
	if i, ok := s.wants(control); ok {
		it := &s.flow.items[i]
		switch {
		case s.inPosition(it.set):
			s.complete(i, true)
		case !undone && s.passedBy(it, control, from):
			s.overshoot(it, control)
		}
		return true
	}
	return s.movedAgain(control, from)
}

// wants finds the item that a move of this control is for: the first that is still to be done, from the turn to the end
// of the phase after it; and if there is none, one that has been omitted. What lies further ahead is no slip of order,
// and a move that only an item far away wants is a stray.
func (s *Sitting) wants(control int) (int, bool) {
	f := &s.flow
	it := f.current()
	if it == nil {
		return s.omittedWants(control)
	}
	for i := f.turn; i < len(f.items) && f.items[i].phase <= it.phase+1; i++ {
		// Whether the item of the turn applies was judged when that came; the move itself may have changed it since.
		if f.items[i].stage == pending && mentions(f.items[i].set, control) && (i == f.turn || s.applies(&f.items[i])) {
			return i, true
		}
	}
	return s.omittedWants(control)
}

func (s *Sitting) omittedWants(control int) (int, bool) {
	for i := min(s.flow.turn, len(s.flow.items)) - 1; i >= 0; i-- {
		if it := &s.flow.items[i]; it.stage == omitted && mentions(it.set, control) {
			return i, true
		}
	}
	return 0, false
}

// undo takes back every item ahead of its turn that the moved control has been taken out of again, and reports whether
// there was one.
func (s *Sitting) undo(control int) (undone bool) {
	for i := s.flow.turn + 1; i < len(s.flow.items); i++ {
		it := &s.flow.items[i]
		if it.stage == done && mentions(it.set, control) && !s.inPosition(it.set) {
			it.stage = pending
			s.log(logbook.Entry{Kind: logbook.Undone, Item: it.ID})
			undone = true
		}
	}
	return undone
}

// movedAgain logs a move of something that has been done already: on past its position, back into it, or away from it.
func (s *Sitting) movedAgain(control, from int) bool {
	for i := min(s.flow.turn, len(s.flow.items)) - 1; i >= 0; i-- {
		it := &s.flow.items[i]
		if it.stage != done || !mentions(it.set, control) {
			continue
		}
		switch {
		case s.inPosition(it.set) && it.overshot:
			it.overshot = false
			s.log(logbook.Entry{Kind: logbook.Fixed, Item: it.ID, OK: true})
		case s.inPosition(it.set):
			s.log(logbook.Entry{Kind: logbook.Again, Item: it.ID})
			s.respond(it, "done again", false, 0)
			s.resumedWith(i, "twice")
		case it.overshot:
		case i == s.flow.last && s.plan.Profile.Controls[control].Count() > 2 && s.passedBy(it, control, from):
			it.overshot = true
			s.overshoot(it, control)
		default:
			return false
		}
		return true
	}
	return false
}

func (s *Sitting) overshoot(it *item, control int) {
	s.log(logbook.Entry{Kind: logbook.Overshoot, Item: it.ID, Control: s.controlID(control), Position: s.position(control)})
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
	for _, want := range set {
		if want.control == control {
			return true
		}
	}
	return false
}

func (s *Sitting) inPosition(set []setting) bool {
	for _, want := range set {
		if s.craft.Position(want.control) != want.position {
			return false
		}
	}
	return true
}

// answer takes Enter or Backspace.
func (s *Sitting) answer(yes bool) {
	i, ok := s.answerable()
	if !ok {
		s.stray(key(yes))
		return
	}
	it := &s.flow.items[i]
	switch it.kind {
	case procedure.Set:
		s.answerSet(i, yes)
	case procedure.Read, procedure.Figure:
		s.answerReading(i, yes)
	case procedure.Callout:
		s.answerCallout(i, yes)
	default:
		truth := it.truth.Holds(s.craft.Readings())
		s.log(logbook.Entry{Kind: logbook.Answer, Item: it.ID, Text: word(yes), Name: word(truth)})
		if !yes && !truth {
			s.refuse(i)
			return
		}
		s.complete(i, yes == truth)
	}
}

// answerable finds the item that a spoken answer is for. In a prompted sitting that is the one that has been asked. In
// recall it is the item after the last one done, if that takes an answer, and otherwise the first open one that does:
// having skipped one is likelier than having come back to it.
func (s *Sitting) answerable() (int, bool) {
	f := &s.flow
	it := f.current()
	if it == nil || s.mode == scenario.Watch {
		return 0, false
	}
	if s.prompts() {
		return f.turn, f.asked || f.resuming || s.suspended()
	}
	if next := f.last + 1; next > f.turn && next < len(f.items) && f.items[next].stage == pending &&
		f.items[next].kind != procedure.Set && s.applies(&f.items[next]) {
		return next, true
	}
	for i := f.turn; i < len(f.items) && f.items[i].phase <= it.phase+1; i++ {
		if f.items[i].stage == pending && f.items[i].kind != procedure.Set && s.applies(&f.items[i]) {
			return i, true
		}
	}
	return 0, false
}

// answerSet takes "yes" for a control that stands where it should already; for one that does not it is a wrong answer,
// and the item stays open.
func (s *Sitting) answerSet(i int, yes bool) {
	it := &s.flow.items[i]
	truth := s.inPosition(it.set)
	s.log(logbook.Entry{Kind: logbook.Answer, Item: it.ID, Text: word(yes), Name: word(truth)})
	if yes && truth {
		s.complete(i, true)
		return
	}
	s.respond(it, "not "+it.Response, false, 0)
}

// answerReading ends a reading that is being typed; in recall it opens one first.
func (s *Sitting) answerReading(i int, yes bool) {
	f := &s.flow
	it := &f.items[i]
	switch {
	case !yes:
		f.typed = f.typed[:max(0, len(f.typed)-1)]
	case !f.typing:
		f.typing, f.typed = true, ""
	case f.typed != "":
		value, err := strconv.ParseFloat(f.typed, 64)
		wanted, known := s.wantedValue(it)
		s.log(logbook.Entry{Kind: logbook.Answer, Item: it.ID, Text: f.typed, Name: s.digitsOf(it, wanted)})
		f.typing = false
		s.complete(i, err == nil && known && math.Abs(value-wanted) <= s.plan.Profile.Gauges[it.gauge].Tolerance)
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
	return strconv.FormatFloat(value, 'f', s.plan.Profile.Gauges[it.gauge].Decimals, 64)
}

// digit takes a key as part of a reading, if one is being typed.
func (s *Sitting) digit(k Key) bool {
	f := &s.flow
	if !f.typing || s.suspended() || len(k) != 1 || !strings.Contains("0123456789.-", string(k)) {
		return false
	}
	if len(f.typed) < maxDigits {
		f.typed += string(k)
	}
	return true
}

// answerCallout takes the call of a passing value. One that comes early may still turn out to lie within the window.
func (s *Sitting) answerCallout(i int, yes bool) {
	f := &s.flow
	if !yes || i != f.turn {
		s.stray(key(yes))
		return
	}
	if !f.passing.passed {
		f.passing.early, f.passing.earlyAt = true, s.now
		return
	}
	s.called(i, s.now)
}

func (s *Sitting) called(i int, at time.Duration) {
	it := &s.flow.items[i]
	off := at - s.flow.passing.at
	s.log(logbook.Entry{Kind: logbook.Answer, Item: it.ID, Text: off.String(), Name: "passing", Onset: s.flow.passing.at})
	s.complete(i, max(off, -off) <= cmp.Or(it.Callout.Window, procedure.DefaultWindow))
}

// tickPassing watches the gauge of a callout. A value that has been passed already when it is asked for counts as
// passed at that moment.
func (s *Sitting) tickPassing(it *item) {
	if it.kind != procedure.Callout {
		return
	}
	p := &s.flow.passing
	value, _, alive := s.craft.Gauge(it.gauge)
	beyond := alive && value >= it.Callout.Value
	if it.Callout.Down {
		beyond = alive && value <= it.Callout.Value
	}
	if beyond && !p.passed {
		p.passed, p.at = true, s.now
		s.newCue(cue{class: ClassGauge, id: s.plan.Profile.Gauges[it.gauge].ID}, it.ID, true)
		s.flow.timed, s.flow.from = true, s.now
		if p.early {
			s.called(s.flow.turn, p.earlyAt)
		}
		return
	}
	if p.early && !p.passed && s.now > p.earlyAt+cmp.Or(it.Callout.Window, procedure.DefaultWindow) {
		p.passed, p.at = true, s.now // far too early: it is judged against now, and is wrong
		s.called(s.flow.turn, p.earlyAt)
	}
}

// complete records that an item has been answered, echoes a right response, and goes on.
func (s *Sitting) complete(i int, ok bool) {
	it := &s.flow.items[i]
	early := s.suspended()
	if ok {
		s.credit(i, true, it.Response)
	} else {
		s.credit(i, false, "wrong")
	}
	if ok && s.prompts() && !early {
		s.say(Responder, ClassEcho, it.Response)
	}
	if i == s.flow.turn {
		s.turnTo(i + 1)
	}
}

// credit enters an item into the log as done, rightly or not.
func (s *Sitting) credit(i int, ok bool, text string) {
	f := &s.flow
	it := &f.items[i]
	it.stage = done
	if s.suspended() {
		s.log(logbook.Entry{Kind: logbook.Early, Item: it.ID})
	}
	s.resumedWith(i, "")
	s.log(logbook.Entry{Kind: logbook.Done, Item: it.ID, OK: ok})
	reaction := time.Duration(0)
	if i == f.turn && f.asked && f.timed {
		reaction = s.now - f.from
	}
	f.last = i
	s.respond(it, text, ok, reaction)
}

// refuse takes a "no" that was right: the crew says what is done about it, and the trainee does his part.
func (s *Sitting) refuse(i int) {
	it := &s.flow.items[i]
	s.credit(i, true, "refused, rightly")
	s.sayFix(it)
	if i != s.flow.turn {
		return
	}
	if len(it.fix) > 0 && !s.inPosition(it.fix) {
		s.flow.fixing, s.flow.since = true, s.now
		return
	}
	s.turnTo(i + 1)
}

// sayFix has the crew say what is done about an item that was rightly refused.
func (s *Sitting) sayFix(it *item) {
	if it.IfNot != nil && it.IfNot.Say != "" {
		s.say(Crew, ClassSpeech, it.IfNot.Say)
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
	if s.now >= s.flow.since+2*it.Limit() {
		s.fixed(it, false)
	}
}

func (s *Sitting) fixed(it *item, ok bool) {
	s.log(logbook.Entry{Kind: logbook.Fixed, Item: it.ID, OK: ok})
	s.turnTo(s.flow.turn + 1)
}

// respond keeps what the last press amounted to, for the screen.
func (s *Sitting) respond(it *item, text string, right bool, reaction time.Duration) {
	s.last = Response{Item: it.ID, Text: text, Right: right, Reaction: reaction, At: s.clock.out(s.now)}
}

// stray logs a press that nothing wanted.
func (s *Sitting) stray(k Key) {
	spoken := k == Yes || k == No
	if spoken && s.flow.resuming && s.flow.last >= 0 && s.flow.items[s.flow.last].kind != procedure.Set {
		s.resumedWith(s.flow.last, "twice")
	}
	s.log(logbook.Entry{Kind: logbook.Stray, Key: string(k)})
}

func key(yes bool) Key {
	if yes {
		return Yes
	}
	return No
}

func word(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}
