package bench

import (
	"slices"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
)

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

// Looks at several signs at once: the captions, and what is outside.
const (
	panel   = -1
	outside = -2
)

// stayCalm is how long after an abnormal nothing that differs is news: everybody knows why.
const stayCalm = 4 * time.Second

// calmOfAlerts is the same of what sounds: an alert that begins later is a new one.
const calmOfAlerts = 2 * time.Second

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
