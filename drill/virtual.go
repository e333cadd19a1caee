package drill

import (
	"errors"
	"slices"
	"time"
)

// Length says how long a phrase takes to say.
type Length func(voice Voice, text string) time.Duration

// EstimatedLength is a Length for when there is nothing to measure.
func EstimatedLength(_ Voice, text string) time.Duration { return Estimate(text) }

// errStuck is returned by Run for a sitting that waits for something that can never come.
var errStuck = errors.New("the sitting waits for something that nobody will do")

// Hand is who presses the keys of a sitting that has no keyboard.
type Hand interface {
	// Take hands it an output of the sitting, in order.
	Take(Output)

	// Next says what will be pressed next and when, as far as can be said at this moment: it is asked again after every call
	// of the sitting. The time is never before the sitting's present. False: nothing, as things stand.
	Next() (at time.Duration, p Press, ok bool)

	// Pressed says that what Next gave is being handed to the sitting, at this time.
	Pressed(at time.Duration)
}

// Actor is a hand beside whom an instructor acts, at times that are known beforehand.
type Actor interface {
	// NextAct says what the instructor does next and when, in the callers' time. False: nothing.
	NextAct() (at time.Duration, act Instruct, ok bool)

	// Acted says that what NextAct gave is being handed to the sitting.
	Acted()
}

// Run plays a sitting to its end without a clock, jumping from deadline to deadline, as fast as it goes. Every cue is
// heard exactly when it is due. Each output is handed to take, whose error ends the run, as does a nil hand's silence, in
// the end.
func Run(s *Sitting, hand Hand, length Length, take func(Output) error) error {
	ear := ear{length: length}
	var out []Output // in turn with the one that the sitting fills
	for {
		out, s.out = s.out, out[:0]
		for _, o := range out {
			if err := take(o); err != nil {
				return err
			}
			ear.take(o)
			if hand != nil {
				hand.Take(o)
			}
		}
		if s.ended {
			return nil
		}
		if err := runOne(s, hand, &ear); err != nil {
			return err
		}
	}
}

// runOne does whatever comes first.
func runOne(s *Sitting, hand Hand, ear *ear) error {
	deadline, ok := s.NextDeadline()
	if at, due := ear.next(); due && (!ok || at <= deadline) {
		return s.Input(max(at, s.outer), ear.pop())
	}
	if actor, is := hand.(Actor); is {
		if at, act, will := actor.NextAct(); will && (!ok || at <= deadline) {
			actor.Acted()
			return s.Input(max(at, s.outer), act)
		}
	}
	if hand != nil {
		if at, press, will := hand.Next(); will && (!ok || at <= deadline) {
			at = max(at, s.outer)
			hand.Pressed(at)
			return s.Input(at, press)
		}
	}
	if !ok {
		return errStuck
	}
	return s.Advance(deadline)
}

// ear reports cues as heard when they were due.
type ear struct {
	length Length
	queue  []Heard // by onset
}

func (e *ear) take(o Output) {
	switch o := o.(type) {
	case Say:
		e.push(Heard{Cue: o.Cue, Onset: o.Due, End: o.Due + e.length(o.Voice, o.Text)})
	case Sound:
		e.push(Heard{Cue: o.Cue, Onset: o.Due})
	case Hush:
		e.queue = slices.DeleteFunc(e.queue, func(h Heard) bool { return h.Cue == o.Cue && h.Onset > o.Due })
	}
}

func (e *ear) push(h Heard) {
	i := len(e.queue)
	for i > 0 && e.queue[i-1].Onset > h.Onset {
		i--
	}
	e.queue = slices.Insert(e.queue, i, h)
}

func (e *ear) next() (time.Duration, bool) {
	if len(e.queue) == 0 {
		return 0, false
	}
	return e.queue[0].Onset, true
}

func (e *ear) pop() Heard {
	h := e.queue[0]
	e.queue = e.queue[1:]
	return h
}
