package screen

import (
	"strings"
	"unicode"

	"hornlark/drill"
	"hornlark/drill/aircraft"
)

// cockpit is the keyboard as a map of the cockpit.
type cockpit struct {
	profile *aircraft.Profile
	rows    []zoneRow // from top to bottom
}

// zoneRow is one row of keys.
type zoneRow struct {
	zone  string
	slots []slot
}

// slot is one key of the map.
type slot struct {
	label   string // what is printed on the key
	control int    // of the profile, or -1
}

// zoneWidth is the width of the zones' names beside the map.
const zoneWidth = 9

func newCockpit(p *aircraft.Profile, layout Layout) *cockpit {
	c := &cockpit{profile: p}
	controls := map[string]int{}
	for i := range p.Controls {
		controls[p.Controls[i].Key] = i
	}
	for _, keys := range aircraft.KeyRows() {
		row := zoneRow{zone: string(keys.Zone)}
		for _, key := range keys.Keys {
			control, used := controls[key]
			if !used {
				control = -1
			}
			row.slots = append(row.slots, slot{layout.Label(drill.Key(key)), control})
		}
		c.rows = append(c.rows, row)
	}
	return c
}

// grid is where the keys stand on a screen of some width.
type grid struct {
	zone    bool // there is room for the zones' names
	left    int  // first column of the first row
	cell    int  // columns of a key, with the space after it
	stagger int  // how much further right each row begins, as it does on a keyboard
}

func (k *cockpit) grid(width int) grid {
	longest := 1
	for _, row := range k.rows {
		longest = max(longest, len(row.slots))
	}
	g := grid{cell: width / longest}
	if wide := (width - zoneWidth) / longest; wide >= 9 {
		g = grid{zone: true, left: zoneWidth, cell: wide}
	}
	if n := len(k.rows) - 1; n > 0 {
		g.stagger = min(2, (width-g.left-g.cell*longest)/n)
	}
	return g
}

// cockpitForm is how much of each key is shown.
type cockpitForm int

const (
	squeezed cockpitForm = iota // key and shortened name, the position below
	named                       // key and position, the name below in one line or two
	bare                        // key, the position below
)

// lines is how many lines a row of keys takes.
func (k *cockpit) lines(row zoneRow, width int, form cockpitForm) int {
	if form != named {
		return 2
	}
	lines := 2
	for _, s := range row.slots {
		if s.control >= 0 {
			lines = max(lines, 1+len(fold(k.profile.Controls[s.control].Name, width)))
		}
	}
	return lines
}

// height is how many lines the whole map takes on a screen of some width.
func (k *cockpit) height(width int, form cockpitForm) int {
	height, g := 0, k.grid(width)
	for _, row := range k.rows {
		height += k.lines(row, g.cell-1, form)
	}
	return height
}

// draw shows the map.
func (k *cockpit) draw(c *canvas, y int, form cockpitForm, v *drill.View) {
	g := k.grid(c.width)
	for i, row := range k.rows {
		if g.zone {
			c.text(0, y, zoneWidth-1, row.zone, plain)
		}
		for j, s := range row.slots {
			k.drawSlot(c, g.left+i*g.stagger+j*g.cell, y, g.cell-1, s, form, v)
		}
		y += k.lines(row, g.cell-1, form)
	}
}

func (k *cockpit) drawSlot(c *canvas, x, y, width int, s slot, form cockpitForm, v *drill.View) {
	key := c.text(x, y, width, s.label, keycap)
	if s.control < 0 {
		return
	}
	control := &k.profile.Controls[s.control]
	position := control.Label(at(v.Positions, s.control))
	if control.Travel != nil {
		position += control.Travel.Unit
	}
	name := plain
	if asksToLookAt(v, control.ID) {
		name = strong
	}
	switch form {
	case named:
		c.text(x+key+1, y, width-key-1, position, strong)
		for i, line := range fold(control.Name, width) {
			c.text(x, y+1+i, width, line, name)
		}
	case squeezed:
		c.text(x+key, y, width-key, squeeze(control.Name, width-key), name)
		c.text(x, y+1, width, position, plain)
	case bare:
		c.text(x, y+1, width, position, plain)
	}
}

// fold breaks a name into one or two lines. Words that are too long for a line are squeezed.
func fold(name string, width int) []string {
	if textWidth(name) <= width {
		return []string{name}
	}
	words := words(name)
	for i := range words {
		words[i] = squeeze(words[i], width)
	}
	lines := wrap(strings.Join(words, " "), width)
	if len(lines) <= 2 {
		return lines
	}
	return []string{lines[0], squeeze(strings.Join(lines[1:], " "), width)}
}

// words are the words of a name; a hyphen parts them too.
func words(name string) []string {
	return strings.FieldsFunc(name, func(r rune) bool { return r == ' ' || r == '-' })
}

// squeeze shortens a name to width columns in the way of cockpit abbreviations: the beginnings of its words, each with
// a capital, and the number or letter at its end in full, so that left and right stay apart.
func squeeze(name string, width int) string {
	if textWidth(name) <= width {
		return name
	}
	parts := words(name)
	if len(parts) == 0 || width < 1 {
		return ""
	}
	side := ""
	if last := parts[len(parts)-1]; len(parts) > 1 && textWidth(last) == 1 && width > 1 {
		side, parts = last, parts[:len(parts)-1]
	}
	room := width - textWidth(side)
	if len(parts) > room {
		parts = parts[:room]
	}
	var b strings.Builder
	for i, part := range parts {
		share := (room + len(parts) - i - 1) / (len(parts) - i)
		piece := head(part, share)
		room -= textWidth(piece)
		b.WriteString(piece)
	}
	return b.String() + side
}

// head is the beginning of a word, with a capital first letter.
func head(word string, width int) string {
	var b strings.Builder
	used := 0
	for i, r := range word {
		if used+runeWidth(r) > width {
			break
		}
		used += runeWidth(r)
		if i == 0 {
			b.WriteRune(unicode.ToUpper(r))
		} else {
			b.WriteRune(unicode.ToLower(r))
		}
	}
	return b.String()
}
