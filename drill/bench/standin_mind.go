package bench

import (
	"slices"
	"time"

	"hornlark/drill"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

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

// thinksAgain is how long it takes to see that something was taken for what it is not: 6 s to recognise and up to 4 s to decide, of the
// chain that Koonce gives (as told in Flight Safety Australia).
const thinksAgain = 8 * time.Second

// busy reports whether it has its hands full with what it has noticed.
func (s *standIn) busy() bool {
	a := s.mind.about
	return s.mind.noticed && a != nil && !a.Harmless && !refusal(a)
}

// ponders reports whether it has noticed something, and does not know what that is.
func (s *standIn) ponders() bool { return s.mind.noticed && s.mind.about == nil }

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
