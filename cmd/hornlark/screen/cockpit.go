package screen

import (
	"slices"
	"strings"

	"hornlark/drill"
	"hornlark/drill/aircraft"
)

// cockpit is the keyboard as a map of the cockpit.
type cockpit struct {
	profile *aircraft.Profile
	rows    []zoneRow // from top to bottom

	width  int // of the screen for which these are known
	places map[rowPlace]cells
	high   map[rowPlace]int
}

// rowPlace is a row in one of its forms.
type rowPlace struct {
	row  int
	form rowForm
}

// forWidth forgets what is known of a screen of another width.
func (k *cockpit) forWidth(width int) {
	if k.places == nil || k.width != width {
		k.width, k.places, k.high = width, map[rowPlace]cells{}, map[rowPlace]int{}
	}
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
	guarded bool   // a guard or a latch may hold the control: there is room for its mark
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
			row.slots = append(row.slots, slot{layout.Label(drill.Key(key)), control, used && p.HasGuard(control)})
		}
		c.rows = append(c.rows, row)
	}
	return c
}

// rowForm is how much of each key of a row is shown, and in how many lines.
type rowForm uint8

const (
	squeezed rowForm = iota // two: the key and the name, as short as it has to be; the position below
	named                   // two or three: the key and the position; the name below in one line or two
	bare                    // two: the key; the position below
)

// equalCell is the width of a key from which on all keys of all rows have the same one and stand as they do on a keyboard.
const equalCell = 9

// cells are where the keys of a row stand on a screen of some width.
type cells struct {
	x, width []int
	zone     bool // there is room for the zone's name
}

// place shares the width of the screen out among the keys of a row: the same for all where that is enough, or else to each what
// it needs and to those that need most the same. It hangs on the profile and the size alone.
func (k *cockpit) place(row, width int, form rowForm) cells {
	k.forWidth(width)
	at := rowPlace{row, form}
	c, known := k.places[at]
	if !known {
		c = k.placeAnew(row, width, form)
		k.places[at] = c
	}
	return c
}

func (k *cockpit) placeAnew(row, width int, form rowForm) cells {
	longest := 1
	for _, r := range k.rows {
		longest = max(longest, len(r.slots))
	}
	slots := k.rows[row].slots
	var c cells
	if each := (width - zoneWidth) / longest; each >= equalCell {
		c.zone = true
		stagger := 0
		if n := len(k.rows) - 1; n > 0 {
			stagger = min(2, (width-zoneWidth-each*longest)/n)
		}
		for i := range slots {
			c.x, c.width = append(c.x, zoneWidth+row*stagger+i*each), append(c.width, each-1)
		}
		return c
	}
	needs := make([]int, len(slots))
	for i := range slots {
		needs[i] = k.need(slots[i], form)
	}
	if form != squeezed {
		width++ // the last key needs no space after it
	}
	x := 0
	for _, w := range share(width, needs) {
		c.x, c.width = append(c.x, x), append(c.width, max(0, w-1))
		x += w
	}
	return c
}

// need is how wide a key would be, with the space after it.
func (k *cockpit) need(s slot, form rowForm) int {
	if s.control < 0 {
		return 2
	}
	control := &k.profile.Controls[s.control]
	position := 0
	for i := range control.Count() {
		position = max(position, textWidth(k.position(s.control, i)))
	}
	key := 1
	if s.guarded {
		key++
	}
	switch form {
	case named:
		return 1 + max(foldedWidth(control.Name), key+min(position, 4))
	case squeezed:
		return key + max(textWidth(control.Name), min(position, 5)) // the next key stands out by itself
	}
	return 1 + max(key, position)
}

// guardMark, beside its key, says that a control is held by a guard or a latch. Its place is kept free while it is not, so that nothing
// moves; guardLegend explains it.
const (
	guardMark   = "#"
	guardLegend = guardMark + " held by a guard or latch"
)

// share gives to each what it needs as far as a total goes: those that need more than the rest can spare get the same, and what
// nobody needs is shared out evenly.
func share(total int, needs []int) []int {
	got := make([]int, len(needs))
	for left := total; left > 0; {
		least := -1
		for i := range needs {
			if got[i] < needs[i] && (least < 0 || got[i] < got[least]) {
				least = i
			}
		}
		if least < 0 {
			for i := range got {
				got[i] += left / len(got)
			}
			break
		}
		got[least]++
		left--
	}
	return got
}

// position is what a control's position is called on the map.
func (k *cockpit) position(control, i int) string {
	c := &k.profile.Controls[control]
	if c.Travel != nil {
		return c.Label(i) + c.Travel.Unit
	}
	return c.Label(i)
}

// lines is how many lines a row of keys takes.
func (k *cockpit) lines(row, width int, form rowForm) int {
	if form != named {
		return 2
	}
	k.forWidth(width)
	at := rowPlace{row, form}
	if lines, known := k.high[at]; known {
		return lines
	}
	lines, cells := 2, k.place(row, width, form)
	for i, s := range k.rows[row].slots {
		if s.control >= 0 {
			lines = max(lines, 1+len(fold(k.profile.Controls[s.control].Name, cells.width[i])))
		}
	}
	k.high[at] = lines
	return lines
}

// height is how many lines the map takes on a screen of some width.
func (k *cockpit) height(width int, forms []rowForm) int {
	height := 0
	for row, form := range forms {
		height += k.lines(row, width, form)
	}
	return height
}

// byLoss are the rows by how many letters their names lose where they are squeezed, those that lose most first.
func (k *cockpit) byLoss(width int) []int {
	loss, order := make([]int, len(k.rows)), make([]int, len(k.rows))
	for row := range k.rows {
		order[row] = row
		cells := k.place(row, width, squeezed)
		for i, s := range k.rows[row].slots {
			if s.control >= 0 {
				name := k.profile.Controls[s.control].Name
				loss[row] += textWidth(name) - textWidth(shorten(name, cells.width[i]))
			}
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return loss[b] - loss[a] })
	return order
}

// all is the same form for every row.
func (k *cockpit) all(form rowForm) []rowForm { return slices.Repeat([]rowForm{form}, len(k.rows)) }

// draw shows the map.
func (k *cockpit) draw(c *canvas, y int, forms []rowForm, v *drill.View) {
	for row, form := range forms {
		cells := k.place(row, c.width, form)
		if cells.zone {
			c.text(0, y, zoneWidth-1, k.rows[row].zone, faint)
		}
		for i, s := range k.rows[row].slots {
			k.drawSlot(c, cells.x[i], y, cells.width[i], s, form, v)
		}
		y += k.lines(row, c.width, form)
	}
}

func (k *cockpit) drawSlot(c *canvas, x, y, width int, s slot, form rowForm, v *drill.View) {
	if s.control < 0 {
		c.text(x, y, width, s.label, faint)
		return
	}
	key := c.text(x, y, width, s.label, keycap)
	if s.guarded && key < width {
		if s.control < len(v.Locked) && v.Locked[s.control] {
			c.text(x+key, y, 1, guardMark, strong)
		}
		key++
	}
	position := ""
	if s.control < len(v.Positions) {
		position = k.position(s.control, v.Positions[s.control])
	}
	name := k.profile.Controls[s.control].Name
	switch form {
	case named:
		if key+1+textWidth(position) <= width {
			key++
		}
		c.text(x+key, y, width-key, clip(position, width-key), strong)
		for i, line := range fold(name, width) {
			c.text(x, y+1+i, width, line, plain)
		}
	case squeezed:
		room := width + 1 - key // up to the next key, which stands out by itself
		c.text(x+key, y, room, shorten(name, room), plain)
		c.text(x, y+1, width, clip(position, width), strong)
	case bare:
		c.text(x, y+1, width, clip(position, width), strong)
	}
}
