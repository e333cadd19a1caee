package desk

import (
	"time"

	"hornlark/drill"
	"hornlark/drill/logbook"
)

// InputsHeld is how many inputs a channel of them should hold: whoever reads keys waits once so many have not been taken.
const InputsHeld = 256

// Input is something that somebody did, as it is handed in by whoever noticed it: the reader of a terminal, a page, an instructor's station.
// Whose act it is stands in the event.
type Input struct {
	At          time.Time     // when, by the clock of the sitting, taken before anything was decoded
	Uncertainty time.Duration // by how much At may be off; zero where it was taken on the spot
	Deed        Deed          // what it is
	Event       drill.Event   // of Acts: a drill.Press, or what an instructor does; a press without a key is nothing
	Reading     drill.Event   // what it is instead while a reading is being typed; nil: the same

	Asker Asker // who wants to know what has come of it; nil: nobody
}

// Asker wants to know what has come of an input.
type Asker interface {
	// Told tells what the log has of it: nothing, if it was not taken. It is called by the goroutine of the sitting, which must not wait.
	Told(log []logbook.Entry)
}

// Deed sorts inputs.
type Deed int

// The deeds.
const (
	Acts     Deed = iota // something is done in the sitting
	Leaves               // the trainee wants to end it
	Suspends             // whoever shows the sitting is about to be stopped: it is to be held
)

// take tells the sitting of an input.
func (l *Live) take(in Input) error {
	at := in.At.Sub(l.began)
	l.asker = in.Asker
	if at < l.deafTo && in.Deed == Acts {
		return nil
	}
	l.uncertainty = max(l.uncertainty, in.Uncertainty)
	switch in.Deed {
	case Leaves:
		l.why = EndedEarly
		return l.put(at, drill.Stop{Why: "stopped by the trainee"})
	case Suspends:
		if l.sitting.View(&l.view); !l.view.Paused {
			return l.put(at, drill.Press{Key: drill.Hold})
		}
	case Acts:
		event := in.Event
		if l.view.Typing && in.Reading != nil {
			event = in.Reading
		}
		if !l.takes(event) {
			return nil
		}
		if press, is := event.(drill.Press); is && in.Uncertainty > 0 && press.Key != drill.Hold {
			// It has been on its way: the sitting may have been told a later time by now, and the press is timed by its own.
			press.Off = in.Uncertainty
			if at < l.told {
				press.Began = max(at, 1)
			}
			event = press
		}
		return l.put(at, event)
	}
	return nil
}

// takes reports whether an event is anything to the sitting. Where answers are played for the trainee, their keys only hold it and let it go on.
func (l *Live) takes(e drill.Event) bool {
	press, is := e.(drill.Press)
	switch {
	case !is:
		return e != nil
	case press.Key == "":
		return false
	case l.trainee == nil, press.Key == drill.Hold:
		return true
	}
	return press.Seat != "" && press.Seat != logbook.Trainee
}
