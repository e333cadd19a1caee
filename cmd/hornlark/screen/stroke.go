package screen

import (
	"strings"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
)

// Stroke is one key as it came from the terminal.
type Stroke struct {
	At    time.Time   // monotonic, taken as the read that brought its first byte returned
	Kind  StrokeKind  // what it is
	Press drill.Press // for a Pressed that has a place in the cockpit; otherwise empty
	Char  rune        // the character that the terminal sent, zero if it is none

	move move // for Other: how it moves through a text
}

// StrokeKind sorts strokes.
type StrokeKind int

// The kinds of stroke.
const (
	Pressed   StrokeKind = iota // a key of the cockpit, or one that is the same on every profile
	Interrupt                   // Ctrl-C: the trainee wants to end
	Suspended                   // the process is about to be stopped: hold the sitting
	Continued                   // the process goes on and has the terminal again
	Other                       // any other key: arrows, and characters that have no place in the cockpit
)

// typed reports whether the stroke is a key that pasted text can have in it. What moves through a text is none, and Ctrl-C is one at
// any time.
func (s *Stroke) typed() bool { return s.Kind == Pressed || s.Kind == Other && s.Char != 0 }

// Reading is what the stroke counts as while a reading is being typed. Digits are those of the digits row, whatever
// the layout needs shift for; a point, a comma and a minus count as themselves wherever the layout has put them. The stop
// call stays what it is.
func (s Stroke) Reading() drill.Press {
	if s.Press.Key == drill.StopCall {
		return s.Press
	}
	if line, column, ok := row(s.Press.Key); ok && line == 0 && column > 0 {
		return drill.Press{Key: s.Press.Key}
	}
	switch s.Char {
	case '.', ',':
		return drill.Press{Key: "."}
	case '-':
		return drill.Press{Key: "-"}
	}
	if strings.ContainsRune("0123456789", s.Char) && s.Char != 0 {
		return drill.Press{Key: drill.Key(s.Char)}
	}
	return s.Press
}

// input is the stroke as whoever drives a sitting takes it. That the process goes on is nothing to it.
func (s Stroke) input() desk.Input {
	switch s.Kind {
	case Interrupt:
		return desk.Input{At: s.At, Deed: desk.Leaves}
	case Suspended:
		return desk.Input{At: s.At, Deed: desk.Suspends}
	case Continued:
		return desk.Input{At: s.At}
	}
	return desk.Input{At: s.At, Event: s.counts(false), Reading: s.counts(true)}
}

// counts gives the press that the stroke is, by whether a reading is being typed. The screen of a held sitting is that of the keys.
func (s Stroke) counts(typing bool) drill.Press {
	switch {
	case s.AsksForKeys(typing):
		return drill.Press{Key: drill.Hold}
	case typing:
		return s.Reading()
	}
	return s.Press
}

// Struck gives what a key counts as that was pressed elsewhere than on a terminal, by the place that it has and the character that it would
// send there, zero if it is none: event, and reading while a reading is being typed.
func Struck(press drill.Press, char rune) (event, reading drill.Press) {
	s := Stroke{Press: press, Char: char}
	return s.counts(false), s.counts(true)
}

// move is a way through a text that is longer than the screen.
type move int

const (
	moveNone move = iota
	moveUp
	moveDown
	movePageUp
	movePageDown
	moveTop
	moveBottom
	moveLeft
	moveRight
)
