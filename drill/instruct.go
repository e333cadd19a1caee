package drill

import (
	"slices"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
)

// instruct carries out what the instructor does. What cannot be done is logged, and changes nothing.
func (s *Sitting) instruct(e Instruct) {
	switch e.Do {
	case Freeze:
		s.hold(logbook.Instructor)
		return
	case Release:
		s.release(logbook.Instructor)
		return
	}
	entry := logbook.Entry{Kind: logbook.Instruct, Seat: logbook.Instructor, Name: string(e.Do)}
	if e.Do == SayOut {
		entry.Text = e.What
	} else {
		entry.Abnormal = e.What
	}
	s.log(entry)
	switch e.Do {
	case Insert:
		s.insert(e.What)
	case Delete:
		s.injections.list = slices.DeleteFunc(s.injections.list, func(in *inserted) bool {
			return in.Name == e.What && (in.how == waiting || in.how == due)
		})
	case Clear:
		if in := s.injections.active; in != nil {
			s.clear(in)
		}
	case SayOut:
		if !s.paused {
			s.say(Crew, logbook.Speech, e.What)
		}
	case SetBack:
		s.setBack(e.What)
	}
}

// insert has an abnormal come as soon as nothing else is in the aircraft.
func (s *Sitting) insert(name string) {
	t := &s.injections
	i := slices.IndexFunc(s.every, func(a *abnormal) bool { return a.Name == name })
	if i < 0 || len(t.list) >= 2*MaxInjections {
		return
	}
	in := t.named(s.every[i], nil)
	in.how, in.at = due, s.now
	t.list = append(t.list, in)
}

// clear takes what is in the aircraft out again. The partner, if they were stopped, waits to be told to go on.
func (s *Sitting) clear(in *inserted) {
	for _, c := range in.causes {
		s.craft.Fail(c.point, 0)
	}
	s.finish(in, logbook.Entry{Kind: logbook.Cleared})
}

// setBack puts everything back to where it was when a phase began: the aircraft, healthy, and the flow.
func (s *Sitting) setBack(phase string) {
	phases := s.procedureNow().Phases
	i := slices.IndexFunc(phases, func(ph procedure.Phase) bool { return ph.ID == phase })
	then, began := s.phases[i]
	if !began {
		return
	}
	if in := s.injections.active; in != nil {
		s.clear(in)
	}
	s.hushAll()
	s.craft = then.Clone()
	for point := range s.profile().FailurePoints() {
		s.craft.Fail(point, 0)
	}
	s.craft.Drain(func(aircraft.Change) {})
	f := &s.flow
	f.resuming, f.refused, s.partner.stopped = false, "", false
	first := slices.IndexFunc(f.items, func(it *item) bool { return it.phase == i })
	for k := first; k < len(f.items); k++ {
		if f.state[k].stage != pending {
			f.reopen(k)
			s.log(logbook.Entry{Kind: logbook.Reopen, Item: f.items[k].ID})
		}
		f.gated[k] = false
	}
	f.last = first - 1
	s.turnTo(first)
	if !s.paused {
		s.resound()
	}
}
