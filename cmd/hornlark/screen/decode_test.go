package screen

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"hornlark/drill"
)

// describe gives strokes in words, for the tables below.
func describe(strokes []Stroke) string {
	var words []string
	for _, s := range strokes {
		switch {
		case s.Kind == Interrupt:
			words = append(words, "interrupt")
		case s.Kind == Other && s.move != moveNone:
			words = append(words, fmt.Sprintf("move%d", s.move))
		case s.Kind == Other && s.Char >= ' ':
			words = append(words, "other:"+string(s.Char))
		case s.Kind == Other:
			words = append(words, "other")
		default:
			words = append(words, pressWord(s.Press))
		}
	}
	return strings.Join(words, " ")
}

// TestDecode feeds what terminals send, in one read and byte by byte. Sequences are those of ECMA-48 and of the xterm
// control sequences document.
func TestDecode(t *testing.T) {
	for _, test := range []struct {
		name, in, want string
	}{
		{"letters", "aZ", "a shift+z"},
		{"digits row", "1!-_=+", "1 shift+1 - shift+- = shift+="},
		{"several in one read", "asdf", "a s d f"},
		{"enter", "\r", "enter"},
		{"line feed", "\n", "enter"},
		{"enter as two characters", "\r\n", "enter"},
		{"enter twice", "\r\r", "enter enter"},
		{"backspace", "\x7f\x08", "backspace backspace"},
		{"tab and space", "\t ", "tab space"},
		{"interrupt", "\x03", "interrupt"},
		{"other controls", "\x01\x02\x00", ""},
		{"no place in the cockpit", "é", "other:é"},
		{"lone escape", "\x1b", "esc"},
		{"escape twice", "\x1b\x1b", "esc esc"},
		{"arrows", "\x1b[A\x1b[B", "move1 move2"},
		{"arrows, application mode", "\x1bOA\x1bOB", "move1 move2"},
		{"arrows with modifiers", "\x1b[1;5A", "move1"},
		{"sideways", "\x1b[C\x1b[D", "move8 move7"},
		{"pages", "\x1b[5~\x1b[6~", "move3 move4"},
		{"ends", "\x1b[H\x1b[F\x1b[1~\x1b[4~", "move5 move6 move5 move6"},
		{"function keys", "\x1bOP\x1b[15~\x1b[24;2~", "other other other"},
		{"function keys of the console", "\x1b[[Ax", "x"},
		{"back tab", "\x1b[Z", "other"},
		{"focus", "\x1b[I\x1b[O", "other other"},
		{"mouse", "\x1b[<0;10;10Mq", "other q"},
		{"alt", "\x1ba\x1béz", "z"},
		{"paste", "\x1b[200~as\rdf\x03\x1b[201~z", "z"},
		{"paste with sequences in it", "\x1b[200~\x1b[A\x1b[200~\x1b[201~z", "z"},
		{"reply of the terminal", "\x1b]11;rgb:ff/ff/ff\x07a", "a"},
		{"reply ended by a string terminator", "\x1bP1$r0m\x1b\\a", "a"},
		{"broken off sequence", "\x1b[1;\x01a", "a"},
		{"not UTF-8", "\xff\xc3(\x80a", "shift+9 a"},
		{"C1 control", "\u009ba", "a"},
	} {
		for _, split := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s/split=%v", test.name, split), func(t *testing.T) {
				d := decoder{layout: QWERTY}
				var got []Stroke
				emit := func(s Stroke) { got = append(got, s) }
				at := time.Unix(1, 0)
				if split {
					for i := range len(test.in) {
						d.feed(at, []byte{test.in[i]}, emit)
					}
				} else {
					d.feed(at, []byte(test.in), emit)
				}
				if d.wait() > 0 {
					d.expire(emit)
				}
				if describe(got) != test.want {
					t.Errorf("%q gives %q, want %q", test.in, describe(got), test.want)
				}
				for _, s := range got {
					if !s.At.Equal(at) {
						t.Errorf("%v is stamped %v, want %v", s, s.At, at)
					}
				}
			})
		}
	}
}

// Keys of one read share its time; a key that comes in two reads has the time of its first byte.
func TestStampIsOfFirstByte(t *testing.T) {
	d := decoder{layout: QWERTZ}
	var got []Stroke
	emit := func(s Stroke) { got = append(got, s) }
	first, second := time.Unix(1, 0), time.Unix(2, 0)
	d.feed(first, []byte("ab\xc3"), emit)
	d.feed(second, []byte("\xbcc"), emit)
	var stamps []int64
	for _, s := range got {
		stamps = append(stamps, s.At.Unix())
	}
	if describe(got) != "a b [ c" || fmt.Sprint(stamps) != "[1 1 1 2]" {
		t.Errorf("got %s at %v, want a b [ c at [1 1 1 2]", describe(got), stamps)
	}
}

// An Esc that is followed at once is a sequence; one that is not has waited for 50 ms and keeps its own time.
func TestLoneEscape(t *testing.T) {
	d := decoder{layout: QWERTY}
	var got []Stroke
	emit := func(s Stroke) { got = append(got, s) }
	d.feed(time.Unix(1, 0), []byte{esc}, emit)
	if len(got) > 0 || d.wait() != escWait {
		t.Fatalf("Esc was decided at once: %s, wait %v", describe(got), d.wait())
	}
	d.expire(emit)
	d.feed(time.Unix(2, 0), []byte("[A"), emit)
	if describe(got) != "esc [ shift+a" || got[0].At.Unix() != 1 {
		t.Errorf("got %s at %v", describe(got), got[0].At)
	}
}

// A paste whose end never comes does not take the keyboard away for ever.
func TestPasteThatDoesNotEnd(t *testing.T) {
	d := decoder{layout: QWERTY}
	var got []Stroke
	emit := func(s Stroke) { got = append(got, s) }
	d.feed(time.Unix(1, 0), []byte("\x1b[200~aaaa"), emit)
	if d.wait() != pasteWait {
		t.Errorf("wait is %v, want %v", d.wait(), pasteWait)
	}
	d.expire(emit)
	d.feed(time.Unix(3, 0), []byte("a"), emit)
	if describe(got) != "a" {
		t.Errorf("got %q, want the one key after the paste", describe(got))
	}
}

// Whatever a terminal sends, decoding ends, keeps no more than a bounded rest, and gives no key without a name.
func TestDecodeAnything(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 11))
	pieces := []string{"\x1b", "[", "O", "200~", "201~", "~", ";", "1", "\xc3", "\xbc", "a", "\r", "\x9b", "]", "\\", "\x07", "P"}
	for range 3000 {
		d := decoder{layout: Layouts()[random.IntN(4)]}
		for range random.IntN(20) {
			var in []byte
			for range random.IntN(12) {
				if random.IntN(4) == 0 {
					in = append(in, byte(random.IntN(256)))
				} else {
					in = append(in, pieces[random.IntN(len(pieces))]...)
				}
			}
			emit := func(s Stroke) {
				if s.Kind == Pressed && s.Press.Key == "" {
					t.Fatalf("%q: a press without a key", in)
				}
			}
			d.feed(time.Unix(1, 0), in, emit)
			if random.IntN(3) == 0 && d.wait() > 0 {
				d.expire(emit)
			}
		}
	}
	d := decoder{layout: QWERTY}
	for range 1000 {
		d.feed(time.Unix(1, 0), []byte("\x1b]0;"+strings.Repeat("x", 100)), func(Stroke) {})
	}
	if len(d.buf) > longestSequence {
		t.Errorf("%d bytes are kept of a sequence without an end", len(d.buf))
	}
}

func TestReading(t *testing.T) {
	for _, test := range []struct {
		layout Layout
		typed  string
		want   string
	}{
		{QWERTY, "24.5", "24.5"},
		{AZERTY, "&é", "12"}, // the digits row without shift
		{AZERTY, "12", "12"}, // and with it, or the number pad
		{AZERTY, "5.7", "5.7"},
		{AZERTY, ")5", "-5"}, // the minus has the place that it has in the cockpit
		{QWERTZ, "-5,5", "-5.5"},
		{Dvorak, "0.9", "0.9"},
	} {
		d := decoder{layout: test.layout}
		got := ""
		d.feed(time.Unix(1, 0), []byte(test.typed), func(s Stroke) {
			press := s.Reading()
			if press.Shift {
				t.Errorf("%s: %q counts as a shifted key", test.layout, s.Char)
			}
			got += string(press.Key)
		})
		if got != test.want {
			t.Errorf("%s: %q reads %q, want %q", test.layout, test.typed, got, test.want)
		}
	}
	enter := Stroke{Press: drill.Press{Key: drill.Yes}}
	if got := enter.Reading(); got != enter.Press {
		t.Errorf("Enter counts as %v in a reading", got)
	}
}

// A paste is no pressing of keys, also where the terminal does not mark it: of 100 kB of text nothing is left but a Ctrl-C, however it
// comes in pieces, and keys are keys again a moment later. What a quick hand or a held arrow sends is not taken for one.
func TestPastes(t *testing.T) {
	began := time.Unix(100, 0)
	text := strings.Repeat("The quick brown fox 0123456789\n", 3300)
	for _, c := range []struct {
		name, text, end, want string
	}{
		{"marked", "\x1b[200~" + text + "\x1b[201~", "", ""},
		{"not marked", text, "", ""},
		{"never ended", "\x1b[200~" + text, "", ""},
		{"with Ctrl-C in it", text + "\x03" + text, "", "interrupt"},
		{"with Ctrl-C after it", text, "\x03", "interrupt"},
		{"with a remainder", text, "abc", ""},
		{"with control characters", strings.Repeat("\x1a\x1c ", 3000), "", ""},
	} {
		d := decoder{layout: QWERTY}
		var got []Stroke
		emit := func(s Stroke) { got = append(got, s) }
		at := began
		for rest := c.text; rest != ""; at = at.Add(200 * time.Microsecond) {
			n := min(256, len(rest))
			d.feed(at, []byte(rest[:n]), emit)
			rest = rest[n:]
		}
		d.feed(at.Add(5*time.Millisecond), []byte(c.end), emit)
		if described := describe(got); described != c.want {
			t.Errorf("%s: %d strokes: %.80s", c.name, len(got), described)
		}
		got = nil
		d.expire(emit)
		d.feed(at.Add(time.Second), []byte("a\r"), emit)
		if described := describe(got); described != "a enter" {
			t.Errorf("%s: afterwards keys are %q", c.name, described)
		}
	}
	d := decoder{layout: QWERTY}
	n := 0
	d.feed(began, []byte(strings.Repeat("\x1b[B", 80)), func(Stroke) { n++ })
	d.feed(began, []byte(strings.Repeat("a", burst-1)), func(Stroke) { n++ })
	if n != 80+burst-1 {
		t.Errorf("%d strokes of %d are left", n, 80+burst-1)
	}
}
