package drill

import (
	"time"

	"hornlark/drill/logbook"
)

// Stored is an input of a sitting as it was kept.
type Stored struct {
	At    time.Duration // since the sitting began
	Event Event
}

// Replay goes through a new sitting from its inputs, in their order, and then on to until, the time of the last thing that is
// known of it. Each output is handed to take, whose error ends the replay. A sitting that ended says so by then; one that was
// killed does not. Other errors are those of an input that the sitting does not take.
func (s *Sitting) Replay(inputs []Stored, until time.Duration, take func(Output) error) error {
	r := replay{s: s, take: take}
	for _, in := range inputs {
		if err := r.input(in); err != nil {
			return err
		}
	}
	return r.advance(until)
}

// replay drives a sitting from what was kept.
type replay struct {
	s    *Sitting
	take func(Output) error
}

// advance goes on to a time, a step at a time.
func (r *replay) advance(to time.Duration) error {
	for !r.s.ended {
		next, ok := r.s.NextDeadline()
		if !ok || next > to {
			break
		}
		if err := r.s.Advance(next); err != nil {
			return err
		}
		if err := r.drain(); err != nil {
			return err
		}
	}
	return r.drain()
}

func (r *replay) input(in Stored) error {
	if err := r.advance(in.At); err != nil {
		return err
	}
	if err := r.s.Input(in.At, in.Event); err != nil {
		return err
	}
	return r.drain()
}

func (r *replay) drain() error {
	for _, o := range r.s.Outputs() {
		if err := r.take(o); err != nil {
			return err
		}
	}
	return nil
}

// InputsOf gives the inputs that a log tells of: the trainee's presses, pauses, what the instructor did, and what was reported
// of its sounds. What a sitting took no notice of is in no log, so that the sitting goes the same way again with these.
func InputsOf(log []logbook.Entry) []Stored {
	var inputs []Stored
	var clock logbook.Clock
	for i := range log {
		e := &log[i]
		at := clock.Follow(e)
		add := func(event Event) { inputs = append(inputs, Stored{At: at, Event: event}) }
		switch e.Kind {
		case logbook.Press:
			if e.Seat == logbook.Pilot {
				continue
			}
			press := pressed(e.Key)
			press.Off = e.Length
			if e.Began != 0 {
				press.Began = clock.When(e.Began)
			}
			add(press)
		case logbook.Heard:
			if e.Why != logbook.Assumed {
				add(reported(e, &clock))
			}
		case logbook.SoundBad, logbook.SoundGood:
			add(SoundHealth{Good: e.Kind == logbook.SoundGood, Why: e.Text})
		case logbook.Paused:
			if e.Why == logbook.Jumped {
				add(Jumped{By: e.Length})
			} else {
				add(holding(e.Seat, Freeze))
			}
		case logbook.Unpaused:
			add(holding(e.Seat, Release))
		case logbook.Instruct:
			add(instructed(e))
		}
	}
	return inputs
}

// holding is how a seat holds the sitting, or lets it go on.
func holding(seat logbook.Seat, do Instruction) Event {
	if seat == logbook.Instructor {
		return Instruct{Do: do}
	}
	return Press{Key: Hold}
}

// reported is the report that an entry tells of, in the time of the callers.
func reported(e *logbook.Entry, clock *logbook.Clock) Heard {
	h := Heard{Cue: e.Cue, Onset: clock.When(e.Onset), Why: e.Why}
	if e.Until > 0 {
		h.End = clock.When(e.Until)
	}
	return h
}
