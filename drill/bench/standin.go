package bench

import (
	"math/rand/v2"
	"time"

	"hornlark/drill"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
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

	dirty   bool          // something has been said, sounded or logged since
	next    time.Duration // when to look again at what there is to do
	planned wish
	plans   bool

	reopened  int  // the first item, from 1, that is to be done again; 0: none
	rehearses bool // it takes in what it sees, and makes no slips
}

// How often it considers what there is to do while nothing happens, and while it waits for a value to be passed.
const (
	considers = 160 * time.Millisecond
	watches   = 60 * time.Millisecond
)

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

// reactionOf is how long it takes over what it does with an item, or with an alert.
func (s *standIn) reactionOf() time.Duration { return s.slips.wait }
