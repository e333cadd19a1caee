package paper

import (
	"fmt"
	"io"
	"strings"

	"hornlark/drill/aircraft"
)

// Keyboard is the keys of an aircraft, each where it lies under the hand.
type Keyboard struct {
	Sheet
	Profile *aircraft.Profile
	Layout  string                  // its name
	Label   func(key string) string // what is printed on a key, for its label on a US QWERTY keyboard
	Stop    string                  // what is printed on the key of the stop call
	Beside  bool                    // that key lies beside the left shift key, and not left of the 1
	Fixed   [][2]string             // the keys that are the same on every aircraft: each, and what it does
}

// The drawing, in millimetres of a sheet of A5 that lies; on A4 it is drawn larger.
const (
	wide      = 194.0 // of the sheet between its margins
	unit      = 14.3  // from one key to the next
	gap       = 0.7   // between two keys
	zoneStrip = 3.9   // above a row, with the name of the zone
	keyHeight = 18.4
	inner     = 12.4 // of a key, for text

	labelSize = 3.3
	nameSize  = 2.25
	stateSize = 2.05

	mostStates = 4 // positions that a key has room for
	mostRunes  = 16
)

// offsets are by how much the rows of a keyboard stand off its left edge, in keys: the first has one key more to the left. A common
// keyboard staggers its rows like this (ISO/IEC 9995-1 has the grid; the figures are from memory).
var offsets = []float64{1, 1.5, 1.75, 2.25}

// zoneNames says what a zone is, and which row of keys stands for it.
var zoneNames = map[aircraft.Zone]string{
	aircraft.Overhead: "Overhead panel: row of digits",
	aircraft.Panel:    "Instrument panel: upper row of letters",
	aircraft.Console:  "Centre console: home row",
	aircraft.Hands:    "Collective, cyclic, pedals and outside: lower row",
}

type keyboardBody struct {
	Title, Layout string
	Wide, High    float64
	Zones         []drawnZone
	Keys          []drawnKey
	Fixed         [][2]string
	Guarded       bool // some key has the mark of a guard
	Springs       bool // some key springs back
	Rows          []controlRow
	Described     string
}

type drawnZone struct {
	X, Y float64
	Name string
}

type drawnKey struct {
	X, Y, Wide, High float64
	Class            string
	Lines            []drawnLine
}

type drawnLine struct {
	X, Y, Size float64
	Bold       bool
	Text       string
	Squeezed   float64 // to this width; 0 is as wide as it is
}

// controlRow is a control in the list behind the drawing.
type controlRow struct{ Zone, Key, Name, Positions, Notes string }

// Write writes the sheets: the drawing, then a list with every position. It is the same for the same profile and layout. Errors are
// those of the writer.
func (k *Keyboard) Write(w io.Writer) error {
	title := k.Profile.Title + ", keys on " + k.Layout
	f := frame{Sheet: k.Sheet, Title: title, Of: fmt.Sprintf("%s (%s)", title, k.Profile.Name), Lies: true, Body: k.body()}
	return f.write(w, keyboardPage)
}

func (k *Keyboard) body() *keyboardBody {
	b := &keyboardBody{Title: k.Profile.Title + ": keys on " + k.Layout, Layout: k.Layout, Wide: wide, Fixed: k.Fixed}
	controls := map[string]int{}
	for i := range k.Profile.Controls {
		controls[k.Profile.Controls[i].Key] = i
	}
	y := 0.0
	for row, keys := range aircraft.KeyRows() {
		b.Zones = append(b.Zones, drawnZone{unit * offsets[row], round(y + zoneStrip - 1), zoneNames[keys.Zone]})
		y += zoneStrip
		if row == 0 && !k.Beside {
			b.Keys = append(b.Keys, k.stop(0, y))
		}
		if row == len(offsets)-1 && k.Beside {
			b.Keys = append(b.Keys, k.stop(unit*(offsets[row]-1), y))
		}
		for i, key := range keys.Keys {
			x := unit * (offsets[row] + float64(i))
			control, used := controls[key]
			if !used {
				b.Keys = append(b.Keys, drawnKey{round(x), round(y), unit - gap, keyHeight - gap, "free", []drawnLine{label(x, y, k.Label(key))}})
				continue
			}
			b.Keys = append(b.Keys, k.key(x, y, control))
			b.Rows = append(b.Rows, k.row(keys.Zone, control))
			b.Guarded = b.Guarded || k.Profile.HasGuard(control)
			b.Springs = b.Springs || k.Profile.Controls[control].Springs > 0
		}
		y += keyHeight
	}
	b.High = round(y)
	var parts []string
	for _, r := range b.Rows {
		parts = append(parts, fmt.Sprintf("%s %s", r.Key, r.Name))
	}
	b.Described = "Each key with its control, in the rows of the keyboard: " + strings.Join(parts, ", ") + "."
	return b
}

// stop is the key of the stop call.
func (k *Keyboard) stop(x, y float64) drawnKey {
	lines := []drawnLine{label(x, y, k.Stop)}
	for i, text := range []string{"STOP CALL", "stop;", "again: resume"} {
		lines = append(lines, fitted(x+0.6, y+6.1+float64(2.5*float64(i)), stateSize, i == 0, text))
	}
	return drawnKey{round(x), round(y), unit - gap, keyHeight - gap, "cap", lines}
}

// key draws the key of a control: what is printed on it, what the panel calls it, and its positions in their order.
func (k *Keyboard) key(x, y float64, control int) drawnKey {
	c := &k.Profile.Controls[control]
	lines := []drawnLine{label(x, y, k.Label(c.Key))}
	if k.Profile.HasGuard(control) {
		lines = append(lines, drawnLine{round(x + unit - gap - 2.6), round(y + 3.4), labelSize, true, "#", 0})
	}
	at := y + 6.0
	for _, text := range twoLines(c.Name) {
		lines = append(lines, fitted(x+0.6, at, nameSize, true, text))
		at += 2.3
	}
	at += 0.1
	room := (y + keyHeight - gap - at) / 2.1
	for _, text := range states(c, int(room)+1) {
		lines = append(lines, fitted(x+0.6, at, stateSize, false, text))
		at += 2.1
	}
	return drawnKey{round(x), round(y), unit - gap, keyHeight - gap, "", lines}
}

// label is what is printed on a key.
func label(x, y float64, text string) drawnLine {
	return drawnLine{round(x + 0.6), round(y + 3.4), labelSize, true, text, 0}
}

// fitted is a text that does not go beyond its key, whatever font there is: one that might is squeezed to the width that there is.
func fitted(x, y, size float64, bold bool, text string) drawnLine {
	if runes := []rune(text); len(runes) > mostRunes {
		text = string(runes[:mostRunes-1]) + "…"
	}
	share := 0.58 // of the size, that a character is wide on average in a wide font
	if bold {
		share = 0.70
	}
	line := drawnLine{round(x), round(y), size, bold, text, 0}
	if float64(len([]rune(text)))*size*share > inner {
		line.Squeezed = inner
	}
	return line
}

// twoLines is a name in one line if it is short, and in two if it has two words.
func twoLines(name string) []string {
	first, rest, two := strings.Cut(name, " ")
	if !two || len([]rune(name)) <= 7 {
		return []string{name}
	}
	return []string{first, rest}
}

// states is the positions of a control as its key shows them, in at most so many lines; what there is no room for is in the list.
func states(c *aircraft.Control, most int) []string {
	most = max(1, min(most, mostStates))
	var list []string
	if c.Travel != nil {
		list = []string{fmt.Sprintf("%s to %s %s", number(c.Travel.From), number(c.Travel.To), c.Travel.Unit), "by " + number(c.Travel.Step)}
	} else {
		for i := range c.Count() {
			list = append(list, c.Label(i))
		}
	}
	if c.Springs > 0 && len(list) > 0 {
		list[0] += " ↩"
	}
	if len(list) > most {
		list = append(list[:most-1:most-1], "… and more")
	}
	return list
}

// row is a control in the list: all of its positions.
func (k *Keyboard) row(zone aircraft.Zone, control int) controlRow {
	c := &k.Profile.Controls[control]
	r := controlRow{Zone: string(zone), Key: k.Label(c.Key), Name: c.Name}
	if t := c.Travel; t != nil {
		r.Positions = fmt.Sprintf("%s to %s %s, by %s", number(t.From), number(t.To), t.Unit, number(t.Step))
	} else {
		r.Positions = strings.Join(c.Positions, " – ")
	}
	var notes []string
	if c.Springs > 0 {
		notes = append(notes, "springs back after "+long(c.Springs))
	}
	if k.Profile.HasGuard(control) {
		notes = append(notes, "# held while "+newWords(k.Profile).condition(c.Locked))
	}
	r.Notes = strings.Join(notes, "; ")
	return r
}

// round is a length to a hundredth, so that the same drawing is written everywhere.
func round(mm float64) float64 { return float64(int64(mm*100+0.5)) / 100 }
