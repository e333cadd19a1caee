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
const zoneWidth = 8

// zoneLabel is a zone's name as it fits beside the map.
func zoneLabel(z aircraft.Zone) string {
	if z == aircraft.Overhead {
		return "OVHD"
	}
	return strings.ToUpper(string(z))
}

func newCockpit(p *aircraft.Profile, layout Layout) *cockpit {
	c := &cockpit{profile: p}
	controls := map[string]int{}
	for i := range p.Controls {
		controls[p.Controls[i].Key] = i
	}
	for _, keys := range aircraft.KeyRows() {
		row := zoneRow{zone: zoneLabel(keys.Zone)}
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

// namedCell is the width of a key from which on the named form tells more than the squeezed one.
const namedCell = 9

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
	position := ""
	if s.control < len(v.Positions) {
		position = control.Label(v.Positions[s.control])
		if control.Travel != nil {
			position += control.Travel.Unit
		}
	}
	switch form {
	case named:
		if key+1+textWidth(position) <= width {
			key++
		}
		c.text(x+key, y, width-key, position, strong)
		for i, line := range fold(control.Name, width) {
			c.text(x, y+1+i, width, line, plain)
		}
	case squeezed:
		c.text(x+key, y, width-key, squeeze(control.Name, width-key), plain)
		c.text(x, y+1, width, position, plain)
	case bare:
		c.text(x, y+1, width, position, plain)
	}
}

// fold breaks a name into one line or two of about the same length. What is too long even so is squeezed.
func fold(name string, width int) []string {
	if textWidth(name) <= width {
		return []string{name}
	}
	words := words(name)
	best, bestWidth := 1, -1
	for i := 1; i < len(words); i++ {
		w := max(textWidth(strings.Join(words[:i], " ")), textWidth(strings.Join(words[i:], " ")))
		if bestWidth < 0 || w < bestWidth {
			best, bestWidth = i, w
		}
	}
	if len(words) < 2 {
		return []string{squeeze(name, width)}
	}
	return []string{squeeze(strings.Join(words[:best], " "), width), squeeze(strings.Join(words[best:], " "), width)}
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
