package drill

import (
	"slices"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// Between one abnormal and the next the aircraft is put back: in words, by acts that are in the log, and before anything else
// comes in. Where there is no flow, and the hands of the trainee are what the sitting is about, all of it is: the next
// abnormal must not find an action of its own done, or an aircraft that is still on its way.

// settling is how far the aircraft has come to rest where nothing flows.
type settling struct {
	reset    int           // cue of the words with which the crew puts controls back; 0: none
	from     time.Duration // since when it is waited for: when the crew last said that something is over
	hand     time.Duration // when a hand last moved a control
	away     time.Duration // since when a control stands elsewhere than in the state of the scenario
	still    time.Duration // since when no gauge has moved so that somebody could see it
	readings []float64     // of the gauges then
}

const (
	// stillFor is for how long nothing has to have moved on the gauges for an aircraft to have settled. Our own figure.
	stillFor = 3 * time.Second

	// restsMS is how fast an aircraft may climb or sink that is at rest in the hover, m/s. Our own figure.
	restsMS = 0.3

	// settleMost is how long an aircraft is waited for at the most. Our own figure.
	settleMost = time.Minute

	// leftAlone is for how long a trainee leaves controls as they are, with nothing in the aircraft, before the crew puts them
	// back. Our own figure.
	leftAlone = 20 * time.Second
)

// crewHasControls reports whether the crew is putting controls back, in words that are still being spoken: until they have been,
// nobody can know whose hand a control follows.
func (s *Sitting) crewHasControls() bool {
	return s.speech.busy && s.speech.cue == s.settling.reset
}

// crewSays has the crew say how an abnormal is over, or that the exercise is reset; the next injection waits for the aircraft from
// here on. Where they have moved something the hands of the trainee are off until that has been said.
func (s *Sitting) crewSays(text string, moved bool) {
	if s.paused { // nothing sounds while a sitting is held
		s.station.owed = words{text, moved || s.station.owed.moved}
		return
	}
	cue := s.say(Crew, logbook.Speech, text)
	s.settling.from, s.settling.away = s.now, 0
	if moved {
		s.settling.reset = cue
	}
}

// putBack is the controls that the crew puts back after an abnormal. Where nothing flows the aircraft is in the state of the
// scenario again, and nothing is left to be put back. Otherwise it is, of those that the abnormal names, the ones that have been
// moved since it came, and those that are moved in what is done again, from its first item to its last: what stood elsewhere
// before is no affair of it.
func (s *Sitting) putBack(in *inserted, first, last int) []setting {
	var set []setting
	for _, want := range in.afterwards {
		again := false
		for i := max(first, 0); first >= 0 && i <= last && i < len(s.flow.items); i++ {
			again = again || mentions(s.flow.items[i].set, want.control)
		}
		if again || s.craft.Position(want.control) != in.was[want.control] {
			set = append(set, want)
		}
	}
	return set
}

// asInState reports whether the controls that stay where they are put are where the state of the scenario has them.
func (s *Sitting) asInState() bool {
	for i := range s.profile().Controls {
		if s.profile().Controls[i].Springs == 0 && s.craft.Position(i) != s.Exercise.settled.Position(i) {
			return false
		}
	}
	return true
}

// tickSettling follows how still the aircraft is, where nothing flows, and has the crew put back what was left elsewhere.
func (s *Sitting) tickSettling() {
	t := &s.settling
	if s.policy.Flow != scenario.Nothing {
		return
	}
	s.tickStill()
	if s.asInState() {
		t.away = 0
		return
	}
	if t.away == 0 {
		t.away = s.now
	}
	showing := s.injections.showing() != nil
	if !showing && s.injections.more() && s.quietFor() && s.now >= max(t.away, t.from, t.hand)+leftAlone {
		s.logMoved(s.become(s.Exercise.settled, nil))
		s.crewSays(scenario.ControlsReset, true)
	}
}

// more reports whether something may still come. Where abnormals are drawn nobody is to be told that none are left.
func (t *injections) more() bool {
	return t.draw != nil || t.open() || slices.ContainsFunc(t.list, func(in *inserted) bool { return in.how == waiting })
}

// tickStill takes down when a gauge was last seen to move.
func (s *Sitting) tickStill() {
	t, gauges := &s.settling, s.profile().Gauges
	first, moved := t.readings == nil, false
	if first {
		t.readings = make([]float64, len(gauges))
	}
	needles, alive := s.craft.Needles()
	for i := range gauges {
		off := max(needles[i]-t.readings[i], t.readings[i]-needles[i])
		moved = moved || alive[i] && off > gauges[i].Legible()
	}
	switch {
	case first:
		t.still = s.now - stillFor // it has been made to settle
	case moved:
		t.still = s.now
	default:
		return
	}
	copy(t.readings, needles)
}

// settled reports whether the aircraft has come to rest for the next injection, or has been waited for for long enough. Where
// nothing flows that is once the crew has spoken, the controls are where they belong, and the gauges have stood still. In a flow,
// whose gauges move as it goes on, it is once what the crew has put back neither climbs nor sinks.
func (s *Sitting) settled() bool {
	t := &s.settling
	waited := s.now >= t.from+settleMost
	if s.policy.Flow != scenario.Nothing {
		return !s.crewHasControls() && (t.reset == 0 || waited || s.rests())
	}
	return s.quietFor() && t.away == 0 && (waited || s.now >= t.still+stillFor)
}

// rests reports whether the aircraft neither climbs nor sinks.
func (s *Sitting) rests() bool {
	climb := s.craft.Reading(s.climbs)
	return max(climb, -climb) < restsMS
}
