package drill

import (
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
)

// pilot is the other pilot, who does the flow, aloud, in a sitting that the trainee watches. They hold a seat like
// everybody else, and their hand comes through the same door. They do the flow from habit: what shows in the aircraft and is
// not as it always is, is left for the trainee to see.
type pilot struct {
	hand time.Duration // when they last moved something
}

const (
	// pilotLooks is how long the other pilot takes over an item once it has been read.
	pilotLooks = 900 * time.Millisecond

	// pilotMoves is the time between two moves of their hand.
	pilotMoves = 400 * time.Millisecond
)

// tickPilot has the other pilot do the item that has been asked.
func (s *Sitting) tickPilot(it *item) {
	if s.now < s.pilotFrom(it)+pilotLooks || s.now < s.pilot.hand+pilotMoves {
		return
	}
	s.pilot.hand = s.now
	for _, want := range it.set {
		if at := s.craft.Position(want.control); at != want.position {
			if s.craft.Locked(want.control) && s.now >= s.pilotFrom(it)+2*it.Limit() {
				s.giveUp(s.flow.turn) // it cannot be moved: they leave it at that
				s.turnTo(s.flow.turn + 1)
				return
			}
			c := &s.profile().Controls[want.control]
			s.press(Press{Key: Key(c.Key), Shift: at > want.position && c.Count() > 2, Seat: logbook.Pilot})
			return
		}
	}
	if s.pilotSees(it) {
		s.pilotAnswers()
	}
}

// pilotFrom is when the other pilot turns to an item: once its challenge has been spoken, and for a call once the value should
// have been passed. Until then it lies ahead.
func (s *Sitting) pilotFrom(it *item) time.Duration {
	f := &s.flow
	switch {
	case f.spoken == 0:
		return s.now
	case it.kind == procedure.Callout:
		if f.passing.expected {
			return max(f.spoken, f.passing.expectedAt)
		}
		return f.spoken + waitMost
	}
	return f.spoken
}

// pilotSees reports whether what the item asks for is there, as the other pilot takes it to be, or has been waited for long
// enough.
func (s *Sitting) pilotSees(it *item) bool {
	switch it.kind {
	case procedure.Check, procedure.Confirm:
		return it.truth.Holds(s.expected().Readings()) || s.now >= s.flow.spoken+it.Limit()
	}
	return true
}

// pilotAnswers has the other pilot say the response.
func (s *Sitting) pilotAnswers() {
	by := Press{Key: Yes, Seat: logbook.Pilot}
	s.log(logbook.Entry{Kind: logbook.Press, Seat: by.Seat, Key: by.String()})
	s.complete(s.flow.turn, true, true, by)
}
