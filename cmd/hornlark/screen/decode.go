package screen

import (
	"bytes"
	"time"
	"unicode"
	"unicode/utf8"

	"hornlark/drill"
)

// escWait is how long an Esc may stay the last byte before it is a key of its own and not the beginning of a sequence.
const escWait = 50 * time.Millisecond

// pasteWait is how long a paste may stall before it is taken to be over.
const pasteWait = time.Second

// Nobody presses so many keys within one read, nor lets go of them that soon: a terminal that does not mark what is pasted pastes.
const (
	burst      = 40                     // keys of the cockpit in one read
	burstQuiet = 100 * time.Millisecond // that has to pass after one before keys are keys again
)

// longestSequence bounds what is kept of a sequence that does not end.
const longestSequence = 4096

// decoder turns the bytes that a terminal sends into strokes. It reads no clock: time reaches it with the bytes.
type decoder struct {
	layout  Layout
	buf     []byte    // an incomplete sequence or character
	at      time.Time // when its first byte was read
	pasting bool
	wasCR   bool

	strokes []Stroke  // of the present read
	flood   time.Time // when a burst of them was read last
}

// feed decodes what one read brought. All keys in it share its time. Of a paste, marked or not, only Ctrl-C is one.
func (d *decoder) feed(at time.Time, data []byte, emit func(Stroke)) {
	d.strokes = d.strokes[:0]
	d.decode(at, data, func(s Stroke) { d.strokes = append(d.strokes, s) })
	keys := 0
	for i := range d.strokes {
		if d.strokes[i].typed() {
			keys++
		}
	}
	if keys >= burst || keys > 0 && !d.flood.IsZero() && at.Sub(d.flood) < burstQuiet {
		d.flood = at
	}
	for _, s := range d.strokes {
		if !s.typed() || d.flood != at {
			emit(s)
		}
	}
}

// decode decodes what one read brought.
func (d *decoder) decode(at time.Time, data []byte, emit func(Stroke)) {
	if len(d.buf) == 0 {
		d.at = at
	}
	d.buf = append(d.buf, data...)
	for len(d.buf) > 0 {
		n := d.next(emit)
		if n == 0 {
			break
		}
		d.buf = d.buf[n:]
		d.at = at
	}
	if len(d.buf) > longestSequence {
		d.buf = d.buf[:0]
	}
}

// wait is how long to wait for more bytes before expire is called; zero is for ever.
func (d *decoder) wait() time.Duration {
	switch {
	case d.pasting:
		return pasteWait
	case len(d.buf) > 0:
		return escWait
	}
	return 0
}

// expire decides about what has been left incomplete for as long as wait says: a lone Esc is a key, and everything else
// is dropped.
func (d *decoder) expire(emit func(Stroke)) {
	if !d.pasting && len(d.buf) == 1 && d.buf[0] == esc {
		emit(Stroke{At: d.at, Press: drill.Press{Key: drill.Hold}})
	}
	d.pasting, d.buf = false, d.buf[:0]
}

const esc = 0x1b

// next decodes one key, character or sequence at the head of the buffer and gives its length, or 0 if it is incomplete.
func (d *decoder) next(emit func(Stroke)) int {
	if d.pasting {
		return d.paste()
	}
	b := d.buf[0]
	afterCR := d.wasCR
	d.wasCR = b == '\r'
	switch {
	case b == esc:
		return d.escape(emit)
	case b == '\n' && afterCR:
		return 1 // one Enter, sent as two characters
	case b < 0x20 || b == ' ' || b == 0x7f:
		d.control(b, emit)
		return 1
	}
	char, n := utf8.DecodeRune(d.buf)
	if char == utf8.RuneError && n <= 1 {
		if !utf8.FullRune(d.buf) {
			return 0
		}
		return 1
	}
	if unicode.IsPrint(char) {
		d.char(char, emit)
	}
	return n
}

func (d *decoder) char(char rune, emit func(Stroke)) {
	s := Stroke{At: d.at, Char: char}
	var ok bool
	if s.Press, ok = d.layout.Press(char); !ok {
		s.Kind = Other
	}
	emit(s)
}

func (d *decoder) control(b byte, emit func(Stroke)) {
	press := func(key drill.Key) { emit(Stroke{At: d.at, Press: drill.Press{Key: key}}) }
	switch b {
	case '\r', '\n':
		press(drill.Yes)
	case 0x7f, 0x08:
		press(drill.No)
	case '\t':
		press(drill.SayAgain)
	case ' ':
		press(drill.Quiet)
	case ctrlC:
		emit(Stroke{At: d.at, Kind: Interrupt})
	case ctrlZ, ctrlL, ctrlBackslash:
		emit(Stroke{At: d.at, Kind: Other, Char: rune(b)})
	}
}

// Control characters that a raw terminal leaves to us.
const (
	ctrlC         = 0x03
	ctrlL         = 0x0c
	ctrlZ         = 0x1a
	ctrlBackslash = 0x1c
)

// escape decodes what begins with Esc.
func (d *decoder) escape(emit func(Stroke)) int {
	if len(d.buf) == 1 {
		return 0
	}
	switch d.buf[1] {
	case esc: // pressed twice: the first one stands for itself
		emit(Stroke{At: d.at, Press: drill.Press{Key: drill.Hold}})
		return 1
	case '[':
		return d.controlSequence(emit)
	case 'O':
		return d.shortSequence(emit)
	case ']', 'P', 'X', '^', '_':
		return d.stringSequence()
	}
	// With Alt held. Terminals hold these back, so they are no answers.
	if !utf8.FullRune(d.buf[1:]) {
		return 0
	}
	_, n := utf8.DecodeRune(d.buf[1:])
	return 1 + n
}

// controlSequence decodes Esc [ parameters intermediates final, as ECMA-48, 5.4 has it.
func (d *decoder) controlSequence(emit func(Stroke)) int {
	i := 2
	if i < len(d.buf) && d.buf[i] == '[' { // function keys of the Linux console: one more character
		if len(d.buf) < 4 {
			return 0
		}
		return 4
	}
	for i < len(d.buf) && d.buf[i] >= 0x20 && d.buf[i] <= 0x3f {
		i++
	}
	if i == len(d.buf) {
		return 0
	}
	final := d.buf[i]
	if final < 0x40 || final > 0x7e {
		return i // broken off: what comes next is a key of its own
	}
	parameter, _, _ := bytes.Cut(d.buf[2:i], []byte{';'})
	switch {
	case final == '~' && string(parameter) == "200":
		d.pasting = true
	case final == '~':
		d.moved(tildeMoves[string(parameter)], emit)
	default:
		d.moved(finalMoves[final], emit)
	}
	return i + 1
}

// shortSequence decodes Esc O final, which some terminals send for the arrows.
func (d *decoder) shortSequence(emit func(Stroke)) int {
	i := 2
	for i < len(d.buf) && d.buf[i] >= '0' && d.buf[i] <= '9' {
		i++
	}
	if i == len(d.buf) {
		return 0
	}
	if d.buf[i] < 0x40 || d.buf[i] > 0x7e {
		return i
	}
	d.moved(finalMoves[d.buf[i]], emit)
	return i + 1
}

// stringSequence passes over a reply of the terminal, up to BEL or Esc \.
func (d *decoder) stringSequence() int {
	for i := 2; i < len(d.buf); i++ {
		switch {
		case d.buf[i] == 0x07:
			return i + 1
		case d.buf[i] == '\\' && d.buf[i-1] == esc:
			return i + 1
		}
	}
	return 0
}

var pasteEnd = []byte("\x1b[201~")

// paste passes over pasted text: it is no pressing of keys.
func (d *decoder) paste() int {
	if i := bytes.Index(d.buf, pasteEnd); i >= 0 {
		d.pasting = false
		return i + len(pasteEnd)
	}
	return max(0, len(d.buf)-len(pasteEnd)+1)
}

var finalMoves = map[byte]move{'A': moveUp, 'B': moveDown, 'C': moveRight, 'D': moveLeft, 'H': moveTop, 'F': moveBottom}

var tildeMoves = map[string]move{
	"1": moveTop, "7": moveTop, "4": moveBottom, "8": moveBottom, "5": movePageUp, "6": movePageDown,
}

func (d *decoder) moved(to move, emit func(Stroke)) {
	emit(Stroke{At: d.at, Kind: Other, move: to})
}
