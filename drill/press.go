package drill

import (
	"fmt"
	"slices"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
)

// press is the one door for keys, whoever presses them.
func (s *Sitting) press(p Press) {
	if p.Key == Hold {
		if s.paused {
			s.release(p.Seat)
		} else {
			s.hold(p.Seat)
		}
		return
	}
	if s.paused {
		return
	}
	if p.Seat == logbook.Trainee {
		s.partner.since = s.now
	}
	s.log(logbook.Entry{Kind: logbook.Press, Seat: p.Seat, Key: p.String(), Began: s.began(p), Length: p.Off})
	switch p.Key {
	case SayAgain:
		s.note(string(p.Seat), "say again")
		s.sayAgain()
	case Quiet:
		s.quiet(p)
	case StopCall:
		s.note(string(p.Seat), stopOrGo(s.partner.stopped))
		s.stopCall(p.Seat)
	case Yes, No:
		s.note(string(p.Seat), word(p.Key == Yes))
		if !s.replies(p) {
			s.answer(p.Key == Yes, p)
		}
	default:
		if !s.digit(p.Key) {
			s.move(p)
		}
	}
}

// stopOrGo is what the stop call says.
func stopOrGo(stopped bool) string {
	if stopped {
		return "resume"
	}
	return "stop"
}

// String names the press as the log and the answers do: "a", "shift+a".
func (p Press) String() string {
	if p.Shift {
		return "shift+" + string(p.Key)
	}
	return string(p.Key)
}

// ParsePress reads a press as Press.String writes it.
func ParsePress(text string) (Press, error) {
	p := Press{}
	name, shifted := strings.CutPrefix(text, "shift+")
	p.Key, p.Shift = Key(name), shifted
	if slices.Contains([]Key{Yes, No, Quiet, SayAgain, Hold, StopCall}, p.Key) && !shifted {
		return p, nil
	}
	for _, row := range aircraft.KeyRows() {
		if slices.Contains(row.Keys, name) {
			return p, nil
		}
	}
	return Press{}, fmt.Errorf("there is no key %q; write its label on a US keyboard, as in \"a\" or \"shift+a\", or enter, backspace, space, tab, stop or esc", text)
}

// quiet silences what sounds and can be silenced.
func (s *Sitting) quiet(by Press) {
	s.note(string(by.Seat), "silence")
	if !s.silence(by, (*aircraft.Aircraft).SilenceAlerts) {
		s.log(logbook.Entry{Kind: logbook.Silence, Seat: by.Seat})
	}
}

// silence has alerts silenced in the aircraft and its healthy twin, and reports whether any was. One that would not sound in a
// healthy aircraft has to do with what shows.
func (s *Sitting) silence(by Press, how func(*aircraft.Aircraft) []int) bool {
	usual := func(alert int) bool {
		return s.healthy == nil || s.healthy.AlertState(alert) == aircraft.Sounding
	}
	silenced := slices.Clone(how(s.craft))
	odd := slices.DeleteFunc(slices.Clone(silenced), usual)
	if s.healthy != nil {
		how(s.healthy)
	}
	for _, i := range silenced {
		s.log(logbook.Entry{Kind: logbook.Silence, Seat: by.Seat, Name: s.profile().Alerts[i].ID, OK: slices.Contains(odd, i)})
	}
	s.craft.Drain(s.changed)
	if by.Seat == logbook.Trainee {
		s.silenced(odd)
	}
	return len(silenced) > 0
}

// move puts a control into its next position, or with shift into the one before. A switch of two positions goes to and
// fro; anything longer stops at its ends, as a selector does.
func (s *Sitting) move(p Press) {
	control, ok := s.profile().ControlAt(string(p.Key))
	if !ok {
		s.stray(Key(p.String()), p)
		return
	}
	from, count := s.craft.Position(control), s.profile().Controls[control].Count()
	to := from + 1
	if p.Shift {
		to = from - 1
	}
	if count == 2 {
		to = 1 - from
	}
	if to < 0 || to >= count {
		s.log(logbook.Entry{Kind: logbook.Stray, Seat: p.Seat, Key: p.String(), Control: s.controlID(control)})
		return
	}
	if p.Seat == logbook.Trainee && s.crewHasControls() {
		s.note(string(p.Seat), s.profile().Controls[control].Name+" is being reset")
		s.log(logbook.Entry{Kind: logbook.Blocked, Seat: p.Seat, Key: p.String(), Control: s.controlID(control), Position: s.position(control), Why: logbook.Reset})
		return
	}
	if s.craft.Locked(control) {
		s.note(string(p.Seat), s.profile().Controls[control].Name+" is locked")
		s.log(logbook.Entry{Kind: logbook.Blocked, Seat: p.Seat, Key: p.String(), Control: s.controlID(control), Position: s.position(control)})
		return
	}
	s.put(control, to)
	s.settling.hand = s.now
	s.note(string(p.Seat), s.profile().Controls[control].Name+" "+s.position(control))
	asked := s.askedFor(control, from, p)
	s.log(logbook.Entry{Kind: logbook.Moved, Seat: p.Seat, Item: asked, Control: s.controlID(control), Position: s.position(control)})
	muted := s.silence(p, (*aircraft.Aircraft).Mute)
	if s.acts(control, asked, p) {
		return
	}
	if !s.moved(control, from, p) && !muted {
		s.log(logbook.Entry{Kind: logbook.Stray, Seat: p.Seat, Key: p.String(), Control: s.controlID(control), Position: s.position(control)})
	}
}

func (s *Sitting) controlID(i int) string { return s.profile().Controls[i].ID }

func (s *Sitting) position(i int) string {
	return s.profile().Controls[i].Label(s.craft.Position(i))
}
