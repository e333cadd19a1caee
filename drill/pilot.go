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
	hand  time.Duration // when they last moved something
	alone bool          // nobody watches them: what is not so they refuse, and put right
}

const (
	// pilotLooks is how long the other pilot takes over an item once it has been read.
	pilotLooks = 900 * time.Millisecond

	// pilotMovesEvery is the time between two moves of their hand.
	pilotMovesEvery = 400 * time.Millisecond
)

// tickPilot has the other pilot do the item that has been asked.
func (s *Sitting) tickPilot(it *item) {
	if s.now < s.pilotFrom(it)+pilotLooks || s.now < s.pilot.hand+pilotMovesEvery {
		return
	}
	s.pilot.hand = s.now
	next, left := s.outOfPlace(it.set)
	switch {
	case left && s.craft.Locked(next.control) && s.now >= s.pilotFrom(it)+2*it.Limit():
		s.giveUp(s.flow.turn) // it cannot be moved: they leave it at that
		s.turnTo(s.flow.turn)
	case left:
		s.pilotMoves(next)
	case !s.pilotSees(it):
	case s.pilot.alone && it.truth != nil && !it.truth.Holds(s.craft.Readings()):
		s.refuse(s.flow.turn, Press{Key: No, Seat: logbook.Pilot})
	default:
		s.pilotAnswers()
	}
}

// outOfPlace is the first of some controls that is not where a set wants it.
func (s *Sitting) outOfPlace(set []setting) (next setting, any bool) {
	for _, want := range set {
		if s.craft.Position(want.control) != want.position {
			return want, true
		}
	}
	return setting{}, false
}

// pilotMoves has the other pilot take a control a step nearer to where it is wanted.
func (s *Sitting) pilotMoves(want setting) {
	c := &s.profile().Controls[want.control]
	shift := s.craft.Position(want.control) > want.position && c.Count() > 2
	s.press(Press{Key: Key(c.Key), Shift: shift, Seat: logbook.Pilot})
}

// pilotFixes has the other pilot put right what they have refused, once the crew has spoken.
func (s *Sitting) pilotFixes(it *item) {
	if next, left := s.outOfPlace(it.fix); left && s.quietFor() && s.now >= s.pilot.hand+pilotMovesEvery {
		s.pilot.hand = s.now
		s.pilotMoves(next)
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
