package screen

import (
	"cmp"
	"slices"
	"strings"

	"hornlark/drill"
	"hornlark/drill/scenario"
)

// keysKey is the key that shows the keys, by its place. No control has it, with shift or without.
const keysKey drill.Key = "/"

// keysLabel is how the key that shows the keys is named: by the question mark where that is on it.
func keysLabel(l Layout) string {
	if press, ok := l.Press('?'); ok && press.Key == keysKey {
		return "?"
	}
	return l.Label(keysKey)
}

// fixedKeys is what is the same on every aircraft: each key, and what it does. stop is what is printed on the key of the stop call.
func fixedKeys(stop string) [][2]string {
	return [][2]string{
		{"Enter", "yes"}, {"Backspace", "no"}, {"Space", "silence the horn"}, {stop, "stop, and resume"},
		{"Tab", "say again"}, {"Esc", "pause"}, {"PgUp/PgDn", "sound level"}, {"Ctrl-C", "end the sitting"},
	}
}

// FixedKeys is the keys that are the same on every aircraft, as a layout labels them: each, and what it does.
func FixedKeys(l Layout) [][2]string {
	return append(fixedKeys(l.Label(drill.StopCall)), [2]string{keysLabel(l), "show the keys, and pause"})
}

// PageKeys is the same for a page in a browser, which has Ctrl-C for something else and tells of keys by their places.
func PageKeys(l Layout) [][2]string {
	keys := fixedKeys(cmp.Or(l, QWERTY).Label(drill.StopCall))
	return append(keys[:len(keys)-1], [2]string{"F6", "the keys to the page, and back to the cockpit"})
}

// StopBesideShift reports whether the key of the stop call stands beside the left shift key, and not left of the 1, where the accent of
// some layouts waits for a letter.
func StopBesideShift(l Layout) bool {
	plain := []rune(layouts[l].plain[0])
	return string(plain[0]) != l.Label(drill.StopCall)
}

// AsksForKeys reports whether the stroke asks to see the keys. It holds the sitting: what the aircraft shows is hidden until it
// goes on, so that nobody studies it while its time stands still. While a reading is typed, a minus is a minus wherever it is.
func (s Stroke) AsksForKeys(typing bool) bool {
	if s.Kind != Pressed || s.Press.Key != keysKey {
		return false
	}
	return !typing || s.Reading().Key == keysKey
}

// drawKeyPage shows what every key does, as far as the scenario's map tells it, while the sitting is held.
func (s *sitting) drawKeyPage(c *canvas) {
	s.drawTitle(c, 0)
	x := 1 + c.text(0, 1, c.width, " PAUSED ", keycap)
	c.text(x, 1, c.width-x, "The aircraft is hidden while its time stands still. Esc or "+s.keys+" resumes.", strong)
	y := 2
	roomy := c.height >= 30
	if roomy {
		y++
	}
	for row := range slices.Chunk(fixedKeys(s.stop), 4) {
		var pairs []string
		for _, key := range row {
			pairs = append(pairs, key[0], key[1])
		}
		drawKeys(c, y, pairs...)
		y++
	}
	if s.help == scenario.None {
		c.text(0, y+1, c.width, "The controls have to be known here: this scenario shows no map.", plain)
	} else {
		s.drawControls(c, y, roomy)
	}
	if s.notice != "" || s.level != "" {
		s.drawFoot(c, c.height-1)
	}
}

// drawControls lists every zone's keys in three columns, or more where there is room: the name of the control, unless the map
// keeps it to itself, and its positions in the order in which the key goes through them, with shift the other way.
func (s *sitting) drawControls(c *canvas, y int, roomy bool) {
	const least = 26
	columns := max(1, c.width/least)
	width := c.width / columns
	name := 0
	if s.help == scenario.Names {
		for i := range s.profile.Controls {
			name = max(name, 1+textWidth(s.profile.Controls[i].Name))
		}
		name = min(name, width*3/5)
	}
	for _, row := range s.cockpit.rows {
		var used []slot
		for _, one := range row.slots {
			if one.control >= 0 {
				used = append(used, one)
			}
		}
		if len(used) == 0 {
			continue
		}
		rule(c, y, row.zone)
		y++
		lines := over(len(used), columns)
		for i, one := range used {
			s.drawControl(c, i/lines*width, y+i%lines, width-1, name, one)
		}
		if y += lines; roomy {
			y++
		}
	}
}

func (s *sitting) drawControl(c *canvas, x, y, width, name int, one slot) {
	control := &s.profile.Controls[one.control]
	end := x + width
	x += 1 + c.text(x, y, width, one.label, keycap)
	c.text(x, y, min(name, end-x)-1, control.Name, plain)
	x += name
	c.text(x, y, end-x, s.positions(one.control, end-x), faint)
}

// positions are the names of a control's positions in their order, shortened alike until they fit.
func (s *sitting) positions(control, width int) string {
	k, c := s.cockpit, &s.profile.Controls[control]
	if c.Travel != nil {
		return k.position(control, 0) + " to " + k.position(control, c.Count()-1)
	}
	text := strings.Join(c.Positions, " ")
	for most := width; textWidth(text) > width && most > 2; most-- {
		var short []string
		for _, position := range c.Positions {
			short = append(short, clip(position, most))
		}
		text = strings.Join(short, " ")
	}
	return text
}
