package screen

import (
	"strings"
	"time"

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
