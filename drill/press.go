package drill

import (
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// press is the one door for the trainee's keys.
func (s *Sitting) press(p Press) {
	if p.Key == Hold {
		s.togglePause()
		return
	}
	if s.paused {
		return
	}
	s.log(logbook.Entry{Kind: logbook.Press, Key: p.String()})
	switch p.Key {
	case SayAgain:
		s.sayAgain()
	case Quiet:
		s.quiet()
	case Yes, No:
		word := word(p.Key == Yes)
		if !s.didFirst(func(a scenario.Action) bool { return a.Answer == word }) {
			s.answer(p.Key == Yes)
		}
	default:
		if !s.digit(p.Key) {
			s.move(p)
		}
	}
}

// String names the press as the log and the answers do: "a", "shift+a".
func (p Press) String() string {
	if p.Shift {
		return "shift+" + string(p.Key)
	}
	return string(p.Key)
}

// sayAgain repeats the challenge, or what the crew said has to be put right. The answer stays timed from the end of the
// first challenge, if that was heard to its end: asking costs time.
func (s *Sitting) sayAgain() {
	f := &s.flow
	it := f.current()
	if it == nil || !f.asked || s.mode == scenario.Recall {
		return
	}
	if f.fixing {
		s.sayFix(it)
		return
	}
	cue := s.say(Challenger, ClassSpeech, it.Challenge)
	if f.cut = false; !f.timed {
		f.cue = cue
	}
	s.log(logbook.Entry{Kind: logbook.AskAgain, Item: it.ID, Cue: cue, Text: it.Challenge, Name: wanted})
}

// quiet silences what sounds and can be silenced.
func (s *Sitting) quiet() {
	silenced := s.craft.SilenceAlerts()
	if len(silenced) == 0 {
		s.log(logbook.Entry{Kind: logbook.Silence, Text: "nothing"})
		return
	}
	for _, i := range silenced {
		s.log(logbook.Entry{Kind: logbook.Silence, Text: s.plan.Profile.Alerts[i].ID})
	}
	s.craft.Drain(s.changed)
	s.didFirst(func(a scenario.Action) bool { return a.Silence })
}

// move puts a control into its next position, or with shift into the one before. A switch of two positions goes to and
// fro; anything longer stops at its ends, as a selector does.
func (s *Sitting) move(p Press) {
	control, ok := s.plan.Profile.ControlAt(string(p.Key))
	if !ok {
		s.stray(Key(p.String()))
		return
	}
	from, count := s.craft.Position(control), s.plan.Profile.Controls[control].Count()
	to := from + 1
	if p.Shift {
		to = from - 1
	}
	if count == 2 {
		to = 1 - from
	}
	if to < 0 || to >= count {
		s.log(logbook.Entry{Kind: logbook.Stray, Key: p.String(), Control: s.controlID(control)})
		return
	}
	s.craft.Move(control, to)
	s.log(logbook.Entry{Kind: logbook.Moved, Control: s.controlID(control), Position: s.position(control)})
	if s.acts(control) {
		return
	}
	if !s.moved(control, from) {
		s.log(logbook.Entry{Kind: logbook.Stray, Key: p.String(), Control: s.controlID(control), Position: s.position(control)})
	}
	s.tested(control)
}

func (s *Sitting) controlID(i int) string { return s.plan.Profile.Controls[i].ID }

func (s *Sitting) position(i int) string {
	return s.plan.Profile.Controls[i].Label(s.craft.Position(i))
}
