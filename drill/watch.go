package drill

import (
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
)

// In a sitting of mode watch the other pilot does the flow, aloud. The trainee has nothing to do as long as all goes
// well, and everything to do when it does not: to see it, and to put his hand on the right control.

const (
	// crewLooks is how long the other pilot takes over an item once it has been read.
	crewLooks = 900 * time.Millisecond

	// crewMoves is the time between two moves of his hand.
	crewMoves = 400 * time.Millisecond
)

// tickWatch has the other pilot do the item whose turn it is.
func (s *Sitting) tickWatch(it *item) {
	f := &s.flow
	if !f.asked {
		if s.ready(it) {
			s.ask(it)
		}
		return
	}
	s.tickPassing(it)
	if !f.timed || s.now < f.from+crewLooks || s.now < f.hand+crewMoves {
		return
	}
	if len(it.set) > 0 && !s.inPosition(it.set) {
		s.crewMoves(it)
		return
	}
	if s.crewSees(it) {
		s.crewDone(it)
	}
}

// crewMoves moves the first control that is out of place a step nearer to its place.
func (s *Sitting) crewMoves(it *item) {
	for _, want := range it.set {
		at := s.craft.Position(want.control)
		if at == want.position {
			continue
		}
		step := 1
		if want.position < at {
			step = -1
		}
		s.craft.Move(want.control, at+step)
		s.flow.hand = s.now
		s.log(logbook.Entry{Kind: logbook.Moved, Control: s.controlID(want.control), Position: s.position(want.control), Name: "crew"})
		return
	}
}

// crewSees reports whether what the item asks for is there, or has been waited for long enough.
func (s *Sitting) crewSees(it *item) bool {
	switch it.kind {
	case procedure.Callout:
		return s.flow.passing.passed || s.now >= s.flow.from+waitMost
	case procedure.Check, procedure.Confirm:
		return it.truth.Holds(s.craft.Readings()) || s.now >= s.flow.from+it.Limit()
	}
	return true
}

func (s *Sitting) crewDone(it *item) {
	it.stage = done
	s.log(logbook.Entry{Kind: logbook.Crew, Item: it.ID})
	s.say(Responder, ClassEcho, it.Response)
	s.turnTo(s.flow.turn + 1)
}
