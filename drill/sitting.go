package drill

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
)

// ErrTimeRanBack is returned for an input or an advance that is earlier than one before it.
var ErrTimeRanBack = errors.New("time ran back: every call must be at the time of the one before it, or later")

// Sitting is one run of an exercise by one trainee. It is not safe for concurrent use: one driver owns it.
//
// It moves in the steps of the aircraft's model. Whatever it does by itself happens on a step; inputs keep the time at
// which they arrived. How often Advance is called therefore changes nothing.
type Sitting struct {
	*Exercise
	seed    uint64
	lead    time.Duration                                    // how far ahead of now a sound has to be asked for
	craft   *aircraft.Aircraft                               // as it is
	healthy *aircraft.Aircraft                               // as it would be without what is in it, in the same hands; nil while nothing is
	observe func(at time.Duration, craft *aircraft.Aircraft) // after each step, if not nil
	draw    *rand.Rand

	clock  logbook.Clock
	outer  time.Duration // the latest time that a caller gave
	now    time.Duration // running time: pauses are left out
	step   time.Duration // when the model is next stepped, running time
	paused bool
	ended  bool

	speech     speech
	cues       []cue // by number, from 1
	partner    partner
	flow       flow
	pilot      pilot
	injections injections
	settling   settling
	phases     map[int]*aircraft.Aircraft // as each phase began, for the instructor
	station    station

	seq  int
	out  []Output
	said [SaidLines]Line
	says int // lines said so far
	last Response

	asking *Question // the one that a View was given last
}

// stream tells the draws of a sitting from any others that a program makes with the same seed.
const stream = 0x686f726e6c61726b

// Begin makes a sitting at time zero; its first outputs are there once it has been advanced. seed is what it draws from;
// lead is how far ahead of now a sound has to be asked for, to begin when it is due.
func (ex *Exercise) Begin(seed uint64, lead time.Duration) *Sitting {
	s := &Sitting{
		Exercise: ex, seed: seed, lead: lead, craft: ex.part.begins.Clone(),
		draw:   rand.New(rand.NewPCG(seed, stream)),
		step:   aircraft.StepLength,
		phases: map[int]*aircraft.Aircraft{},
	}
	s.flow = newFlow(ex.order(seed))
	s.flow.beginPart(&ex.part)
	s.injections = newInjections(ex)
	s.station = newStation(ex)
	s.log(logbook.Entry{Kind: logbook.Begin, Text: ex.docs.Scenario.Name, Name: string(ex.policy.Name), Seed: seed, Number: logbook.Version})
	return s
}

// Seed is what the sitting draws from.
func (s *Sitting) Seed() uint64 { return s.seed }

// profile is the aircraft's.
func (s *Sitting) profile() *aircraft.Profile { return s.docs.Profile }

// Input tells the sitting of something that happened at a time since it began.
func (s *Sitting) Input(at time.Duration, event Event) error {
	if err := s.Advance(at); err != nil {
		return err
	}
	if s.ended {
		return nil
	}
	switch e := event.(type) {
	case Press:
		e.Seat = logbook.Trainee
		s.press(e)
	case Heard:
		s.heard(e)
	case SoundHealth:
		s.soundHealth(e)
	case Instruct:
		s.instruct(e)
	case Jumped:
		s.holdFor(logbook.Entry{Kind: logbook.Paused, Why: logbook.Jumped, Length: e.By})
	case Stop:
		s.end(logbook.Outside, e.Why)
	}
	return nil
}

// Advance tells the sitting what time it is.
func (s *Sitting) Advance(at time.Duration) error {
	if at < s.outer {
		return fmt.Errorf("%w: %v after %v", ErrTimeRanBack, at, s.outer)
	}
	s.outer = at
	if s.paused {
		return nil
	}
	to := s.clock.Running(at)
	for !s.ended && s.step <= to {
		s.now = s.step
		s.step += aircraft.StepLength
		s.tick()
	}
	if !s.ended {
		s.now = to
	}
	return nil
}

// Observe has a function called after every step of the model, with the running time and the aircraft, which it may read
// and must not change.
func (s *Sitting) Observe(each func(at time.Duration, craft *aircraft.Aircraft)) { s.observe = each }

// tick is one step: first the aircraft, then what it shows, then what the sitting makes of it.
func (s *Sitting) tick() {
	s.craft.Step()
	if s.healthy != nil {
		s.healthy.Step()
	}
	s.craft.Drain(s.changed)
	s.tickSpeech()
	s.tickInjections()
	s.tickFlow()
	if s.observe != nil {
		s.observe(s.now, s.craft)
	}
	if s.now >= MaxLength && !s.ended {
		s.end(logbook.TooLong, "a sitting may last three hours at the most")
	}
}

// expected is the aircraft as everybody takes it to be: what is not known of yet is not in it. The partner and the other
// pilot go by it, so that nothing that they do or leave tells what is in the real one.
func (s *Sitting) expected() *aircraft.Aircraft {
	if s.healthy != nil {
		return s.healthy
	}
	return s.craft
}

// put moves a control, in the aircraft and in its healthy twin.
func (s *Sitting) put(control, position int) {
	s.craft.Move(control, position)
	if s.healthy != nil {
		s.healthy.Move(control, position)
	}
}

// NextDeadline says when the sitting wants to be called at the latest; false if it is paused or has ended.
func (s *Sitting) NextDeadline() (time.Duration, bool) {
	if s.paused || s.ended {
		return 0, false
	}
	return s.clock.Callers(s.step), true
}

// Ended reports whether the sitting has ended.
func (s *Sitting) Ended() bool { return s.ended }

// Outputs hands out what has come up since the last call, in order. The slice is the caller's.
func (s *Sitting) Outputs() []Output {
	out := s.out
	s.out = nil
	return out
}

// end closes the sitting: what is in the aircraft is over, everything stops sounding, and the extremes of the aircraft go
// into the log.
func (s *Sitting) end(why logbook.Reason, text string) {
	if s.ended {
		return
	}
	s.ended = true
	s.endInjection(why)
	s.hushAll()
	for i := range s.profile().Gauges {
		s.logExtremes(i)
	}
	complete := why == logbook.Complete || why == logbook.Refused
	s.log(logbook.Entry{Kind: logbook.End, Why: why, Text: text, OK: complete})
	s.out = append(s.out, Ended{Complete: complete})
}

// logExtremes records how far a gauge went, and for how long it was in its red band.
func (s *Sitting) logExtremes(gauge int) {
	peak, known := s.craft.Peak(gauge)
	if !known {
		return
	}
	id := s.profile().Gauges[gauge].ID
	s.log(logbook.Entry{Kind: logbook.Peak, Name: id, Class: logbook.Highest, Value: peak.Highest})
	s.log(logbook.Entry{Kind: logbook.Peak, Name: id, Class: logbook.Lowest, Value: peak.Lowest})
	if peak.InRed > 0 {
		s.log(logbook.Entry{Kind: logbook.Exceeded, Name: id, Length: peak.InRed})
	}
}

// inspect ends the sitting: a limit has been passed beyond which nobody goes on.
func (s *Sitting) inspect(limit int) {
	in := &s.profile().Inspections[limit]
	s.log(logbook.Entry{Kind: logbook.Inspect, Name: in.ID, Text: in.Text})
	s.end(logbook.Inspection, in.Text)
}

// log appends an entry, stamped with the present.
func (s *Sitting) log(e logbook.Entry) {
	s.seq++
	e.Seq, e.At = s.seq, s.now
	s.out = append(s.out, Log{Entry: e})
}

// note keeps a line of what was said or pressed, for the screen.
func (s *Sitting) note(who, text string) {
	s.said[s.says%SaidLines] = Line{At: s.clock.Callers(s.now), Who: who, Text: text}
	s.says++
}

func (s *Sitting) soundHealth(e SoundHealth) {
	kind := logbook.SoundBad
	if e.Good {
		kind = logbook.SoundGood
	}
	s.log(logbook.Entry{Kind: kind, Text: e.Why})
}

// hold holds the sitting. While it is held nothing moves and nothing sounds.
func (s *Sitting) hold(seat logbook.Seat) { s.holdFor(logbook.Entry{Kind: logbook.Paused, Seat: seat}) }

// holdFor holds it for what an entry says. One that is held already stays held.
func (s *Sitting) holdFor(why logbook.Entry) {
	if s.paused {
		return
	}
	s.log(why)
	s.hushAll()
	s.paused = true
	s.clock.Hold(s.outer)
}

// release lets the sitting go on. What was being asked is asked again, because nobody knows how long it was looked at.
func (s *Sitting) release(seat logbook.Seat) {
	if !s.paused {
		return
	}
	length := s.clock.Release(s.outer)
	s.paused = false
	s.log(logbook.Entry{Kind: logbook.Unpaused, Seat: seat, Length: length})
	s.resound()
	if owed := s.station.owed; owed.text != "" { // the instructor has taken something out meanwhile
		s.station.owed = words{}
		s.crewSays(owed.text, owed.moved)
		return
	}
	s.askAnew(logbook.Anew)
}
