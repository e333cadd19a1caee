package drill

import (
	"fmt"
	"slices"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
)

// gate is an item before which others have to be right.
type gate struct {
	before int // place of the item
	held   []int
}

// gatesOf gathers what has to be right before what. The procedure has been checked.
func gatesOf(items []*item) []gate {
	var gates []gate
	for before, it := range items {
		g := gate{before: before}
		for i := range before {
			if items[i].Hold == it.ID {
				g.held = append(g.held, i)
			}
		}
		if g.held != nil {
			gates = append(gates, g)
		}
	}
	return gates
}

// passGate holds the flow to what has to be right before an item: once, as its turn comes, or as it is done where nobody
// asks. What was not done, the crew does, in words. A check that was not so, and was let pass, ends the flow. It reports
// whether the flow goes on.
func (s *Sitting) passGate(i int) bool {
	f := &s.flow
	if f.gated[i] || s.policy.Acts != logbook.Trainee {
		return true
	}
	f.gated[i] = true
	for _, g := range s.gates {
		if g.before != i {
			continue
		}
		for _, k := range g.held {
			if !s.stands(k, i) && !s.putRight(k, i) {
				return false
			}
		}
	}
	return true
}

// stands reports whether an item is right, or was never to be done. A check is taken by what it was when it was answered, a
// light that is lit by a test is out afterwards; one that was rightly refused has its course.
func (s *Sitting) stands(i, before int) bool {
	it, state := s.flow.items[i], s.flow.state[i]
	switch {
	case state.stage == skipped || state.stage == pending && !s.applies(it):
		return true
	case it.kind == procedure.Set:
		return s.inPosition(s.leftBy(i, before))
	}
	return state.stage == done && !state.wasNot || it.truth.Holds(s.craft.Readings())
}

// leftBy is what of the settings of item i has to be so still as the turn of a later item comes: a control that one in between
// has been done with, as a guard that is shut again, is where that one wants it, and one that springs back has been there if the
// item was done.
func (s *Sitting) leftBy(i, before int) []setting {
	f := &s.flow
	return slices.DeleteFunc(slices.Clone(f.items[i].set), func(one setting) bool {
		if f.state[i].stage == done && s.profile().Controls[one.control].Springs > 0 {
			return true
		}
		for k := range before {
			if k > i && f.state[k].stage == done && mentions(f.items[k].set, one.control) {
				return true
			}
		}
		return false
	})
}

// putRight has the crew put an item right before another, or ends the flow there.
func (s *Sitting) putRight(i, before int) bool {
	f := &s.flow
	it, next, state := f.items[i], f.items[before], &f.state[i]
	goesOn := it.kind == procedure.Set || !state.wasNot
	s.log(logbook.Entry{Kind: logbook.Held, Item: it.ID, Name: next.ID, OK: goesOn})
	if !goesOn {
		s.end(logbook.NotRight, fmt.Sprintf("%s has to be right before %s, and was not", it.Challenge, next.Challenge))
		return false
	}
	s.crewMoves(s.leftBy(i, before))
	if state.stage == pending {
		f.put(i, omitted)
	}
	s.say(Crew, logbook.Speech, it.Takeover())
	return true
}

// crewMoves has the crew put controls where they belong, and gives those that were not there.
func (s *Sitting) crewMoves(set []setting) (moved []setting) {
	for _, want := range set {
		if s.craft.Position(want.control) != want.position {
			s.put(want.control, want.position)
			moved = append(moved, want)
		}
	}
	s.logMoved(moved)
	return moved
}
