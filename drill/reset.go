package drill

import (
	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// reset has the crew put the exercise back: every control to where it is in a state of the profile, or was before, and the
// machinery to what it is there. It gives the item from which the flow is done again, and the controls that this has moved.
func (s *Sitting) reset(in *inserted) (back int, moved []setting) {
	if in.Reset == scenario.Before {
		back, then := s.asBefore(in)
		return back, s.become(then, s.reopen(back))
	}
	other, err := s.inState(in.Reset)
	if err != nil {
		return in.backTo, nil // the state is one of the profile's, or the abnormal would not have been compiled
	}
	return in.backTo, s.become(other, nil)
}

// become puts the aircraft into the place of another, but for the controls that are kept, and gives those that this has moved. The air
// and the ground power stay as the instructor has made them: they are not the aircraft's.
func (s *Sitting) become(other *aircraft.Aircraft, kept []setting) (moved []setting) {
	stood := s.positions()
	s.craft.Become(other)
	if s.healthy != nil {
		s.healthy.Become(other)
	}
	s.keepAround()
	for _, set := range kept {
		s.craft.Move(set.control, set.position)
	}
	for i, was := range stood {
		if now := s.craft.Position(i); now != was {
			moved = append(moved, setting{i, now})
		}
	}
	return moved
}

// logMoved logs what the crew has moved.
func (s *Sitting) logMoved(moved []setting) {
	for _, now := range moved {
		s.log(logbook.Entry{Kind: logbook.Moved, Seat: logbook.Instructor, Control: s.controlID(now.control), Position: s.position(now.control)})
	}
}

// asBefore is the item from which the flow is done again, and the aircraft as it was then.
func (s *Sitting) asBefore(in *inserted) (back int, then *aircraft.Aircraft) {
	if in.backTo < 0 || in.backTo > s.flow.turn {
		return in.turn, in.before
	}
	if began := s.phases[s.flow.items[in.backTo].phase]; began != nil {
		return in.backTo, began
	}
	return in.backTo, in.before
}

// reopen has everything from an item on that had been done ahead of its turn to be done again, and gives what stays done: what
// items before it had wanted, late or in their turn. Of a control that several of them move the last one counts.
func (s *Sitting) reopen(back int) (kept []setting) {
	f := &s.flow
	decided := make([]bool, len(s.profile().Controls))
	for i := len(f.items) - 1; i >= 0; i-- {
		it := f.items[i]
		switch {
		case f.state[i].stage != done || len(it.set) == 0:
		case i > f.turn && s.inPosition(it.set):
			f.reopen(i)
			s.log(logbook.Entry{Kind: logbook.Reopen, Item: it.ID})
		case i < back:
			for _, set := range it.set {
				if !decided[set.control] && s.craft.Position(set.control) == set.position {
					kept = append(kept, set)
				}
				decided[set.control] = true
			}
		}
	}
	return kept
}
