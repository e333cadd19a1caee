package drill

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// ErrTimeRanBack is returned for an input or an advance that is earlier than one before it.
var ErrTimeRanBack = errors.New("time ran back: every call must be at the time of the one before it, or later")

// Sitting is one run of a scenario by one trainee. It is not safe for concurrent use: one driver owns it.
//
// It moves in the steps of the aircraft's model. Whatever it does by itself happens on a step; inputs keep the time at
// which they arrived. How often Advance is called therefore changes nothing.
type Sitting struct {
	plan  *Plan
	mode  scenario.Mode
	craft *aircraft.Aircraft
	watch func(at time.Duration, craft *aircraft.Aircraft) // after each step, if not nil
	draw  *rand.Rand

	clock  clock
	now    time.Duration // running time: pauses are left out
	step   time.Duration // when the model is next stepped, running time
	paused bool
	ended  bool

	speech  speech
	cues    []cue // by number, from 1
	flow    flow
	threats threats

	seq    int
	out    []Output
	recent [RecentLines]string
	last   Response
}

// stream tells the draws of a sitting from any others that a program makes with the same seed.
const stream = 0x686f726e6c61726b

// New makes a sitting ready at time zero; its first outputs are there once it has been advanced.
func New(plan *Plan) (*Sitting, error) {
	mode := plan.Mode
	if mode == "" {
		mode = plan.Scenario.Mode
	}
	c := &compiler{profile: plan.Profile, scope: plan.Profile.Scope()}
	items := c.items(plan.Procedure)
	fixed, drawn := c.injections(plan, items)
	if c.err != nil {
		return nil, c.err
	}
	craft, err := aircraft.New(plan.Profile, plan.Scenario.Weather, plan.Scenario.State)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", plan.Scenario.Name, err)
	}
	s := &Sitting{
		plan: plan, mode: mode, craft: craft,
		draw: rand.New(rand.NewPCG(plan.Seed, stream)),
		step: aircraft.StepLength,
		flow: flow{items: items, turn: -1, last: -1},
	}
	if mode == scenario.Alerts {
		s.flow.items = nil
	}
	s.threats = newThreats(plan, fixed, drawn)
	s.log(logbook.Entry{Kind: logbook.Begin, Text: plan.Scenario.Name, Name: string(mode), Value: float64(plan.Seed)})
	return s, nil
}

// prompts reports whether each item is asked and waited for, one after the other.
func (s *Sitting) prompts() bool { return s.mode == scenario.Prompted || s.mode == scenario.Limits }

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
		s.press(e)
	case Heard:
		s.heard(e)
	case SoundHealth:
		s.soundHealth(e)
	case Stop:
		s.end(false, e.Why)
	}
	return nil
}

// Advance tells the sitting what time it is.
func (s *Sitting) Advance(at time.Duration) error {
	if at < s.clock.outer {
		return fmt.Errorf("%w: %v after %v", ErrTimeRanBack, at, s.clock.outer)
	}
	s.clock.outer = at
	if s.paused {
		return nil
	}
	to := s.clock.inner(at)
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

// Watch has a function called after every step of the model, with the running time and the aircraft, which it may read and
// must not change.
func (s *Sitting) Watch(each func(at time.Duration, craft *aircraft.Aircraft)) { s.watch = each }

// tick is one step: first the aircraft, then what it shows, then what the sitting makes of it.
func (s *Sitting) tick() {
	s.craft.Step()
	s.craft.Drain(s.changed)
	s.tickSpeech()
	s.tickThreats()
	s.tickFlow()
	if s.watch != nil {
		s.watch(s.now, s.craft)
	}
	if s.now >= MaxLength && !s.ended {
		s.end(false, "a sitting may last three hours at the most")
	}
}

// NextDeadline says when the sitting wants to be called at the latest; false if it is paused or has ended.
func (s *Sitting) NextDeadline() (time.Duration, bool) {
	if s.paused || s.ended {
		return 0, false
	}
	return s.clock.out(s.step), true
}

// Outputs hands out what has come up since the last call, in order. The slice is the caller's.
func (s *Sitting) Outputs() []Output {
	out := s.out
	s.out = nil
	return out
}

// end closes the sitting: everything stops sounding, and the extremes of the aircraft go into the log.
func (s *Sitting) end(complete bool, why string) {
	s.hushAll()
	for i := range s.plan.Profile.Gauges {
		s.logExtremes(i)
	}
	s.log(logbook.Entry{Kind: logbook.End, Text: why, OK: complete})
	s.ended = true
	s.out = append(s.out, Ended{Complete: complete})
}

// logExtremes records how far a gauge went, and for how long it was in its red band.
func (s *Sitting) logExtremes(gauge int) {
	peak, known := s.craft.Peak(gauge)
	if !known {
		return
	}
	id := s.plan.Profile.Gauges[gauge].ID
	s.log(logbook.Entry{Kind: logbook.Peak, Name: id, Value: peak.Highest, Text: "highest"})
	s.log(logbook.Entry{Kind: logbook.Peak, Name: id, Value: peak.Lowest, Text: "lowest"})
	if peak.InRed > 0 {
		s.log(logbook.Entry{Kind: logbook.Exceeded, Name: id, Value: peak.InRed.Seconds()})
	}
}

// log appends an entry, stamped with the present.
func (s *Sitting) log(e logbook.Entry) {
	s.seq++
	e.Seq, e.At = s.seq, s.now
	s.recent[s.seq%RecentLines] = e.Describe()
	s.out = append(s.out, Log{Entry: e})
}

func (s *Sitting) soundHealth(e SoundHealth) {
	kind := logbook.SoundBad
	if e.Good {
		kind = logbook.SoundGood
	}
	s.log(logbook.Entry{Kind: kind, Text: e.Why})
}

// togglePause holds the sitting, or lets it go on. While it is held nothing moves and nothing sounds; what was being
// asked is asked again afterwards, because nobody knows how long it was looked at.
func (s *Sitting) togglePause() {
	if !s.paused {
		s.log(logbook.Entry{Kind: logbook.Paused})
		s.hushAll()
		s.paused = true
		s.clock.hold()
		return
	}
	held := s.clock.release()
	s.paused = false
	s.log(logbook.Entry{Kind: logbook.Unpaused, Value: held.Seconds()})
	s.resound()
	s.askAnew(anew)
}

// clock converts between the time of the callers, which never stops, and the running time of the sitting, which leaves
// the pauses out.
type clock struct {
	outer    time.Duration // the latest time that a caller gave
	held     time.Duration // all pauses that are over
	heldFrom time.Duration // outer time at which the present or last pause began
	heldLast time.Duration // how long the last pause lasted
}

func (c *clock) hold() { c.heldFrom, c.heldLast = c.outer, 0 }

func (c *clock) release() time.Duration {
	c.heldLast = c.outer - c.heldFrom
	c.held += c.heldLast
	return c.heldLast
}

// inner is the running time of an outer time; one from before the last pause keeps the place that it had then.
func (c *clock) inner(at time.Duration) time.Duration {
	if c.heldLast > 0 && at < c.heldFrom {
		return at - (c.held - c.heldLast)
	}
	return at - c.held
}

func (c *clock) out(inner time.Duration) time.Duration { return inner + c.held }
