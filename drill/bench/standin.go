package bench

import (
	"math/rand/v2"
	"slices"
	"time"

	"hornlark/drill"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// standIn is a trainee on paper with the times, the slips and the eyes of a person. It finds its way through the flow as Trainee does,
// and notices an abnormal in no other way than a person: an alert sounds that it does not expect, somebody says something, or it looks
// at something that differs from what it has learnt to expect there (expectation). Once it has noticed something it mostly takes it for
// what it is, as somebody trained does, and does what is to be done, which it knows.
type standIn struct {
	*Trainee
	Person
	draw   *rand.Rand
	expect *expectation
	eyes   eyes
	ears   ears
	mind   mind
	slips  slips

	looked  bool          // the view is that of the present
	dirty   bool          // something has been said, sounded or logged since
	next    time.Duration // when to look again at what there is to do
	planned wish
	plans   bool

	reopened  int  // the first item, from 1, that is to be done again; 0: none
	rehearses bool // it takes in what it sees, and makes no slips
}

// eyes is where it looks.
type eyes struct {
	next      time.Duration // when the look ends
	at        int           // sign; panel: the captions
	sure      int           // sign that is being looked at a second time; -1: none
	accepted  []bool        // signs that differ and are known to
	moved     int           // item at which a control was last moved, from 1
	movedAt   time.Duration
	positions []int
	lit       []bool // captions, when it last looked at anything
	litBefore []bool // captions as a control was last moved
	own       []bool // controls that it has moved itself: it knows where they stand
	furthest  int    // item that has been dealt with, from 1
	again     int    // up to this one the flow is being done again
	sureness  sureness
	startled  bool // an alert has sounded: the next look goes to the captions
	calm      time.Duration
}

// ears is what it has heard since it last considered.
type ears struct {
	alert int    // sign, from 1
	words string // of the crew, or from outside
}

// mind is what it makes of what it has noticed.
type mind struct {
	noticed bool
	about   *scenario.Abnormal // what it takes it for; nil: it has no idea
	wrongly bool
	since   time.Duration
	rethink time.Duration // when it thinks again
	did     []bool        // of what it wrongly does
	left    []bool        // actions that it forgets
	drawn   []bool        // whether that has been drawn
	step    int           // action in hand, from 1
	from    time.Duration
	wait    time.Duration
	calls   bool // it will tell the partner to stop
}

// slip is what goes wrong with an item.
type slip int

const (
	noSlip slip = iota
	omits
	takesNeighbour
	goesTooFar
	misreads
	answersByRote
	swaps
)

// slips is what goes wrong with the item that is dealt with, and what is pressed by mistake or to put that right.
type slips struct {
	item    int // that it was drawn for
	dealt   time.Duration
	kind    slip
	gone    bool // the slip has been made
	insists bool // it does not answer when it is asked again either
	digit   int
	wait    time.Duration
	queue   [3]drill.Press
	queued  int
	from    time.Duration
	every   time.Duration
	own     bool // something of its own doing is as it should not be
	count   [swaps + 1]int
	chances [swaps + 1]int
}

// Looks at several signs at once: the captions, and what is outside.
const (
	panel   = -1
	outside = -2
)

// How often it considers what there is to do while nothing happens, and while it waits for a value to be passed.
const (
	considers = 160 * time.Millisecond
	watches   = 60 * time.Millisecond
)

// stayCalm is how long after an abnormal nothing that differs is news: everybody knows why.
const stayCalm = 4 * time.Second

// calmOfAlerts is the same of what sounds: an alert that begins later is a new one.
const calmOfAlerts = 2 * time.Second

// thinksAgain is how long it takes to see that something was taken for what it is not: 6 s to recognise and up to 4 s to decide, of the
// chain that Koonce gives (as told in Flight Safety Australia).
const thinksAgain = 8 * time.Second

func (s *standIn) begin() {
	s.eyes = eyes{sure: -1, at: panel, accepted: make([]bool, len(s.expect.signs)), own: make([]bool, len(s.flow.profile.Controls))}
	s.slips = slips{item: -1, dealt: -1}
	s.standIn = s
	s.slips.wait, s.slips.every = s.Expected.Draw(s.draw)+s.Answer.Draw(s.draw), s.Answer.Draw(s.draw)
	s.dirty = true
}

// Take hands it an output of the sitting.
func (s *standIn) Take(o drill.Output) {
	s.dirty = true
	s.Trainee.Take(o)
	switch o := o.(type) {
	case drill.Log:
		s.undone(&o.Entry)
	case drill.Sound:
		s.heard(o.Alert)
	case drill.Say:
		if o.Voice == drill.Crew {
			s.ears.words = o.Text
		}
	}
}

// undone has it resume at the first item that is to be done again, as everybody sees by where the controls stand.
func (s *standIn) undone(e *logbook.Entry) {
	switch e.Kind {
	case logbook.Reopen:
		if i, err := s.flow.index(e.Item); err == nil && (s.reopened == 0 || i+1 < s.reopened) {
			s.reopened = i + 1
		}
	case logbook.Handled, logbook.Lost, logbook.Cleared:
		if s.resumes && s.reopened > 0 && s.reopened <= s.at {
			s.Trainee.deal(s.reopened - 1)
		}
		s.reopened = 0
	}
}

// Next says what it will press next and when.
func (s *standIn) Next() (time.Duration, drill.Press, bool) {
	now, _ := s.sitting.NextDeadline()
	if s.dirty || now >= s.next {
		s.consider()
	}
	if !s.plans {
		return 0, drill.Press{}, false
	}
	return s.when(s.planned), s.planned.press, true
}

// consider looks at the view, and plans the next press by it.
func (s *standIn) consider() {
	t := s.Trainee
	t.sitting.Glance(&t.view)
	s.dirty = false
	s.last, s.plans = wish{}, false
	s.next = t.view.At + considers
	if t.view.Ended || t.view.Paused {
		return
	}
	t.look()
	s.listen()
	s.see()
	s.reflect()
	s.planned, s.plans = s.wants()
	s.last = s.planned
	if t.at >= 0 && t.at < len(t.flow.items) && t.flow.items[t.at].kind == procedure.Callout && t.passed == 0 {
		s.next = t.view.At + watches
	}
	s.next = min(s.next, s.eyes.next)
}

// Pressed tells it that what Next gave is being pressed.
func (s *standIn) Pressed(at time.Duration) {
	p := s.planned.press
	queued := s.slips.queued > 0
	s.Trainee.Pressed(at)
	for i := range s.eyes.own {
		s.eyes.own[i] = s.eyes.own[i] || s.flow.profile.Controls[i].Key == string(p.Key)
	}
	if queued {
		copy(s.slips.queue[:], s.slips.queue[1:])
		s.slips.queued--
	}
	s.slips.every = s.again(p)
	s.slips.from = at
	if s.mind.calls && p.Key == drill.StopCall {
		s.mind.calls = false
	}
	s.dirty = true
	if s.mind.wrongly && s.mind.step > 0 {
		s.mind.rethink = min(s.mind.rethink, at+thinksAgain)
	}
}

// again is how long after a press the next can come: the finger rests on a key that is pressed once more, and on digits a hand is quicker.
func (s *standIn) again(p drill.Press) time.Duration {
	if s.view.Typing || p.Key == drill.Yes || p.Key == drill.No || p.Key == drill.Quiet || p.Key == drill.StopCall {
		return s.Answer.Draw(s.draw)
	}
	return s.Key.Draw(s.draw)
}

// wants decides what to press: what is wrong first, then the horn, then the flow.
func (s *standIn) wants() (wish, bool) {
	t := s.Trainee
	if s.slips.queued > 0 {
		return wish{press: s.slips.queue[0], since: s.slips.from, wait: s.slips.every}, true
	}
	if s.mind.calls {
		return wish{press: drill.Press{Key: drill.StopCall}, since: s.mind.since, wait: s.mind.wait}, true
	}
	if w, ok := s.act(); ok {
		return w, true
	}
	if w, ok := t.silence(); ok {
		return w, true
	}
	if s.busy() {
		return wish{}, false
	}
	if w, ok := t.goOn(); ok {
		return w, true
	}
	return s.doItem()
}

// busy reports whether it has its hands full with what it has noticed.
func (s *standIn) busy() bool {
	a := s.mind.about
	return s.mind.noticed && a != nil && !a.Harmless && !refusal(a)
}

// ponders reports whether it has noticed something, and does not know what that is.
func (s *standIn) ponders() bool { return s.mind.noticed && s.mind.about == nil }

// stress is by what the chances of slips are multiplied.
func (s *standIn) stress() float64 {
	if s.mind.noticed {
		return s.Slips.Stress
	}
	return 1
}

// chance draws whether something happens.
func (s *standIn) chance(p float64) bool { return !s.rehearses && s.draw.Float64() < p }

// err draws whether a slip is made, and counts.
func (s *standIn) err(kind slip, p float64) bool {
	s.slips.chances[kind]++
	if !s.chance(min(1, float64(p*s.stress()))) {
		return false
	}
	s.slips.count[kind]++
	return true
}

// reactionOf is how long it takes over what it does with an item, or with an alert.
func (s *standIn) reactionOf() time.Duration { return s.slips.wait }

// doItem goes on with the flow, with whatever goes wrong in it.
func (s *standIn) doItem() (wish, bool) {
	t := s.Trainee
	if t.at < 0 || t.at >= len(t.flow.items) {
		return wish{}, false
	}
	it := t.flow.items[t.at]
	if t.since > 0 && (s.slips.item != t.at || s.slips.dealt != t.since) {
		s.deal(it)
	}
	w, ok := t.item()
	if !ok || t.fixing {
		return w, ok
	}
	switch s.slips.kind {
	case omits:
		if t.policy.Asks == "" {
			t.next()
			return wish{}, false
		}
		if again := t.view.Asked != nil && t.view.Asked.Again; !again || s.slips.insists {
			return wish{}, false
		}
	case takesNeighbour, goesTooFar:
		if w.item && it.kind == procedure.Set && !s.slips.gone && w.press.Key != drill.Yes {
			return s.goAstray(it, w)
		}
	case misreads:
		return s.misread(it, w), true
	case answersByRote:
		w.press, w.wait = drill.Press{Key: drill.Yes}, s.slips.wait
	}
	return w, true
}

// deal draws how an item goes.
func (s *standIn) deal(it *item) {
	t, sl := s.Trainee, &s.slips
	fresh := sl.item != t.at
	sl.item, sl.dealt = t.at, t.since
	switch it.kind {
	case procedure.Callout:
		sl.wait = s.Expected.Draw(s.draw) + s.Answer.Draw(s.draw)
	case procedure.Check, procedure.Confirm:
		sl.wait = max(score.ShortestLook, s.Challenge.Draw(s.draw)+s.Dwell.Draw(s.draw)+s.Answer.Draw(s.draw)) // sooner nobody has looked
	default:
		sl.wait = s.Challenge.Draw(s.draw) + s.Key.Draw(s.draw)
	}
	if !fresh {
		return // it is asked again
	}
	sl.kind, sl.gone, sl.insists = noSlip, false, false
	omission := s.Slips.Omission
	if t.policy.Asks == "" {
		omission = s.Slips.FromMemory
	}
	if s.err(omits, omission) {
		sl.kind, sl.insists = omits, s.chance(s.Slips.Uncorrected)
		return
	}
	switch {
	case it.kind == procedure.Set:
		s.dealMove(it)
	case it.typed():
		if s.err(misreads, s.Slips.Misreading) {
			sl.kind, sl.digit = misreads, s.draw.IntN(1<<10)
		}
	case it.kind == procedure.Check || it.kind == procedure.Confirm:
		if s.err(answersByRote, s.Slips.Rote) {
			sl.kind, sl.wait = answersByRote, s.Expected.Draw(s.draw) // sooner than anybody could have looked
		} else if s.err(misreads, s.Slips.CheckReading) {
			sl.kind = misreads
		}
	}
}

// dealMove draws how a move goes.
func (s *standIn) dealMove(it *item) {
	t, sl := s.Trainee, &s.slips
	if s.err(takesNeighbour, s.Slips.WrongControl) {
		sl.kind = takesNeighbour
		return
	}
	if len(it.set) > 0 && t.flow.profile.Controls[it.set[0].control].Count() > 2 && s.err(goesTooFar, s.Slips.WrongPosition) {
		sl.kind = goesTooFar
		return
	}
	if t.policy.Asks == "" && t.at+1 < len(t.flow.items) && t.flow.items[t.at+1].kind == procedure.Set && s.err(swaps, s.Slips.Order) {
		sl.kind = swaps
		t.flow.swapped[t.at] = t.at + 1
	}
}

// goAstray presses the neighbour, or once too often, and mostly puts it right at once.
func (s *standIn) goAstray(it *item, w wish) (wish, bool) {
	t, sl := s.Trainee, &s.slips
	corrects := !s.chance(s.Slips.Uncorrected)
	controls := t.flow.profile.Controls
	control := it.set[0].control
	for _, want := range it.set {
		if t.view.Positions[want.control] != want.position {
			control = want.control
			break
		}
	}
	sl.from = w.since + w.wait - sl.every
	if sl.kind == goesTooFar {
		away := w.press.Shift
		if dist := t.view.Positions[control] - s.wanted(it, control); dist != 1 && dist != -1 {
			return w, true // not there yet
		}
		sl.gone = true
		sl.queue = [3]drill.Press{w.press, w.press, {Key: w.press.Key, Shift: !away}}
		sl.queued = 3
	} else {
		sl.gone = true
		other := control + 1
		if other == len(controls) {
			other = control - 1
		}
		sl.queue = [3]drill.Press{{Key: drill.Key(controls[other].Key)}, {Key: drill.Key(controls[other].Key), Shift: controls[other].Count() > 2}}
		sl.queued = 2
	}
	if !corrects {
		sl.queued--
		sl.own = true
	}
	return wish{press: sl.queue[0], since: sl.from, wait: sl.every}, true
}

// wanted is where an item wants a control.
func (s *standIn) wanted(it *item, control int) int {
	for _, want := range it.set {
		if want.control == control {
			return want.position
		}
	}
	return s.view.Positions[control]
}

// misread types a digit wrong, or says the opposite of what is so.
func (s *standIn) misread(it *item, w wish) wish {
	t := s.Trainee
	if !it.typed() {
		if w.press.Key == drill.Yes {
			w.press.Key = drill.No
		} else if w.press.Key == drill.No {
			w.press.Key, w.wait = drill.Yes, s.slips.wait
		}
		return w
	}
	if t.view.Typing && t.view.Typed == "" && t.reading != "" {
		digits := []byte(t.reading)
		i := s.slips.digit % len(digits)
		if digits[i] >= '0' && digits[i] <= '9' {
			digits[i] = '0' + (digits[i]-'0'+1+byte(s.slips.digit/len(digits)%9))%10
		}
		t.reading = string(digits)
		w.press = drill.Press{Key: drill.Key(digits[:1])}
	}
	return w
}

// act does the immediate actions of what it takes to be the case.
func (s *standIn) act() (wish, bool) {
	m, t := &s.mind, s.Trainee
	a := m.about
	if !m.noticed || a == nil || a.Harmless {
		return wish{}, false
	}
	did := m.did
	if a == t.key.active {
		did = t.key.did
	}
	for i := range a.Actions {
		if did[i] || m.left[i] {
			continue
		}
		action := &a.Actions[i]
		var press drill.Press
		switch {
		case len(action.Set) > 0:
			toward, ok := t.toward(t.flow.settings(action.Set))
			if !ok {
				did[i] = did[i] || m.wrongly
				continue
			}
			press = toward
		case action.Answer != "" && a.Call == "":
			continue
		case action.Answer != "":
			press.Key = drill.No
			if action.Answer == logbook.Yes {
				press.Key = drill.Yes
			}
		default:
			press.Key = drill.Quiet
		}
		if !m.drawn[i] {
			m.drawn[i] = true
			if m.left[i] = s.err(omits, s.Slips.Omission); m.left[i] {
				continue
			}
		}
		if m.step != i+1 {
			if m.step > 0 {
				m.from, m.wait = t.view.At, s.Expected.Draw(s.draw)+s.Key.Draw(s.draw)
			}
			m.step = i + 1
		}
		if after := t.after[a.Name]; after != nil && after[i] != nil && !after[i].Holds(t.view.Signs) {
			m.from = t.view.At // it waits, and reacts once the moment has come
			return wish{}, false
		}
		if m.wrongly && len(action.Set) == 0 {
			did[i] = true
		}
		return wish{press: press, since: m.from, wait: m.wait}, true
	}
	return wish{}, false
}

// see takes in what the eyes fall on.
func (s *standIn) see() {
	t, e := s.Trainee, &s.eyes
	s.follow()
	if s.rehearses {
		s.expect.learn(e.moved, t.view.At-e.movedAt, &t.view)
		e.next = t.view.At + considers
		return
	}
	if t.view.At < e.next {
		return
	}
	e.furthest = max(e.furthest, t.at+1)
	since := t.view.At - e.movedAt
	switch {
	case since < time.Second || s.expect.strange(e.moved, since, &t.view):
		e.sureness = unsure
	case t.at+1 <= e.again:
		e.sureness = aboutSure
	default:
		e.sureness = quiteSure
	}
	for i, differs := range e.accepted {
		if differs && e.sureness == quiteSure && !s.differs(i) {
			e.accepted[i] = false // as it should be again: the next time is news
		}
	}
	if t.view.At < e.calm {
		s.accept()
		e.next = t.view.At + s.Dwell.Draw(s.draw)
		return
	}
	if found := s.foundAt(e.at); found >= 0 {
		if e.sure == found {
			e.sure = -1
			s.notice(s.expect.signs[found].about)
		} else {
			e.sure = found
		}
	} else {
		e.sure = -1
	}
	s.lookOn()
}

// follow keeps in mind when a control was last moved.
func (s *standIn) follow() {
	t, e := s.Trainee, &s.eyes
	if len(e.positions) == 0 {
		e.positions, e.lit, e.litBefore = slices.Clone(t.view.Positions), slices.Clone(t.view.Lit), slices.Clone(t.view.Lit)
		return
	}
	for control, at := range t.view.Positions {
		if e.positions[control] != at {
			e.moved, e.movedAt = s.movedFor(control)+1, t.view.At
			e.positions[control] = at
			copy(e.litBefore, e.lit)
		}
	}
	copy(e.lit, t.view.Lit)
}

// movedFor is the item that a control has been moved for: of those around the one in hand the nearest that wants it, or that one.
func (s *standIn) movedFor(control int) int {
	const back, ahead = 3, 1
	items, at := s.flow.items, s.Trainee.at
	mentioned := func(i int) bool {
		return i >= 0 && i < len(items) && slices.ContainsFunc(items[i].set, func(want setting) bool { return want.control == control })
	}
	for by := range back + 1 {
		if mentioned(at - by) {
			return at - by
		}
		if by <= ahead && mentioned(at+by) {
			return at + by
		}
	}
	return at
}

// differs reports whether a sign is not as expected. A light that ought to have gone out at the last move, and has not, is clear enough also
// where the flow is done again.
func (s *standIn) differs(i int) bool {
	sure := s.eyes.sureness
	if sg := &s.expect.signs[i]; sg.kind == captionSign && sure == aboutSure && s.view.Lit[sg.index] && s.eyes.litBefore[sg.index] {
		sure = quiteSure
	}
	return s.expect.differs(i, s.eyes.moved, s.view.At-s.eyes.movedAt, s.Blur, sure, &s.view)
}

// accept takes everything that differs as known.
func (s *standIn) accept() {
	for i := range s.eyes.accepted {
		s.eyes.accepted[i] = s.differs(i)
	}
}

// foundAt is a sign that differs, is news, and is seen to, where it has been looking; -1: none.
func (s *standIn) foundAt(at int) int {
	for i := range s.expect.signs {
		sg := &s.expect.signs[i]
		here := i == at && (sg.kind != controlSign || len(sg.about) > 0) || at == panel && sg.kind == captionSign || at == outside && sg.kind == factSign
		if !here || sg.kind == alertSign || sg.kind == controlSign && s.eyes.own[sg.index] || s.eyes.accepted[i] || !s.differs(i) {
			continue
		}
		if s.eyes.sure == i || !s.chance(s.Miss) {
			return i
		}
	}
	return -1
}

// lookOn chooses where it looks next, and for how long: back at what was odd, at the captions where something has sounded, at what the
// item is about for half of the time while there is one in hand (a quarter while a value is waited for), and else at anything.
func (s *standIn) lookOn() {
	t, e := s.Trainee, &s.eyes
	e.next = t.view.At + s.Dwell.Draw(s.draw)
	switch {
	case e.sure >= 0:
		e.at = e.sure
		return
	case e.startled:
		e.at, e.startled = panel, false
		return
	}
	inHand := t.since > 0 && !t.done() && t.policy.Acts == logbook.Trainee
	waits := inHand && t.flow.items[t.at].kind == procedure.Callout && t.passed == 0
	if inHand && s.draw.IntN(2) == 0 && (!waits || s.draw.IntN(2) == 0) {
		e.at = s.aboutItem(t.flow.items[t.at])
		return
	}
	switch u := s.draw.Float64(); {
	case u < panelPull:
		e.at = panel
	case u < panelPull+outsidePull:
		e.at = outside
	default:
		e.at = s.expect.drawn(e.moved, t.view.At-e.movedAt, (u-panelPull-outsidePull)/(1-panelPull-outsidePull))
	}
}

// aboutItem is where an item has it look: at a sign that the item is about, or at nothing from which anything could be told.
func (s *standIn) aboutItem(it *item) int {
	from := s.draw.IntN(max(1, len(s.expect.signs)))
	for k := range s.expect.signs {
		i := (from + k) % len(s.expect.signs)
		sg := &s.expect.signs[i]
		switch {
		case sg.kind == gaugeSign && sg.index == it.gauge && (it.typed() || it.kind == procedure.Callout):
			return i
		case it.truth != nil && sg.slot >= 0 && it.truth.Reads(sg.slot):
			return i
		}
	}
	return len(s.expect.signs)
}

// heard is an alert that begins to sound.
func (s *standIn) heard(alert string) {
	s.eyes.startled = true
	p := s.flow.profile
	for i := range s.expect.signs {
		if sg := &s.expect.signs[i]; sg.kind == alertSign && p.Alerts[sg.index].ID == alert {
			s.ears.alert = i + 1
		}
	}
}

// listen makes something of what has been heard.
func (s *standIn) listen() {
	heard := s.ears
	s.ears = ears{}
	if s.rehearses {
		return
	}
	switch {
	case heard.words != "":
		s.told(heard.words)
	case heard.alert > 0 && !s.mind.noticed && s.view.At >= s.eyes.calm-stayCalm+calmOfAlerts && !s.expected(heard.alert-1):
		if !s.chance(s.MissAlert) {
			s.notice(s.expect.signs[heard.alert-1].about)
		}
	}
}

// expected reports whether an alert sounded here in a healthy aircraft.
func (s *standIn) expected(i int) bool {
	sec := s.expect.at(s.eyes.moved, s.view.At-s.eyes.movedAt)
	return sec == nil || sec.signs[i].high > 0
}

// told is words from outside, or from the crew.
func (s *standIn) told(text string) {
	for _, a := range s.key.abnormals {
		if text == a.Call || text == a.Telling() {
			s.notice([]*scenario.Abnormal{a})
			return
		}
	}
	s.eyes.again = s.phaseEnd(s.eyes.furthest)
	s.eyes.calm = s.view.At + stayCalm // the crew says that it is over, or what it has put right
}

// phaseEnd is the last item, from 1, of the phase of an item.
func (s *standIn) phaseEnd(item int) int {
	items := s.flow.items
	for item > 0 && item < len(items) && items[item].phase == items[item-1].phase {
		item++
	}
	return item
}

// notice is the moment at which it has seen or heard that something is not as it should be. What it takes it for is what it is, or one
// of those that can show themselves so.
func (s *standIn) notice(could []*scenario.Abnormal) {
	m, t := &s.mind, s.Trainee
	if s.rehearses || m.noticed {
		return
	}
	now := t.view.At
	*m = mind{noticed: true, since: now, from: now, wait: s.Surprise.Draw(s.draw) + s.Key.Draw(s.draw), rethink: now + thinksAgain}
	is := t.key.showing()
	switch {
	case is == nil && s.slips.own:
		s.accept()
		*m = mind{} // its own doing, and it knows
		return
	case is == nil:
		m.calls = true
	case s.chance(s.Misjudge):
		m.wrongly = true
		if others := slices.DeleteFunc(slices.Clone(could), func(a *scenario.Abnormal) bool { return a == is || refusal(a) }); len(others) > 0 {
			m.about = others[s.draw.IntN(len(others))]
		} else {
			m.calls = true
		}
	default:
		m.about = is
	}
	s.getReady()
}

// getReady has it begin with what is to be done.
func (s *standIn) getReady() {
	m := &s.mind
	if m.about != nil {
		n := len(m.about.Actions)
		m.did, m.left, m.drawn = make([]bool, n), make([]bool, n), make([]bool, n)
	}
	m.step = 0
}

// reflect comes back to what has been noticed: it is over, or was taken for what it is not.
func (s *standIn) reflect() {
	m, t := &s.mind, s.Trainee
	if !m.noticed {
		return
	}
	is := t.key.showing()
	switch {
	case is == nil && !m.calls:
		*m = mind{}
		s.eyes.calm = t.view.At + stayCalm
		s.accept()
	case is != nil && m.about != is && t.view.At >= m.rethink:
		m.from, m.wait = t.view.At, s.Surprise.Draw(s.draw)
		if s.chance(s.Misjudge) {
			m.rethink = t.view.At + thinksAgain
			return
		}
		m.about, m.wrongly, m.calls = is, false, false
		s.getReady()
	}
}

// String is the kind of slip, in words.
func (k slip) String() string {
	return [...]string{"none", "omission", "wrong control", "wrong position", "misreading", "rote", "order"}[k]
}
