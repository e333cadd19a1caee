package screen

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"hornlark/drill"
	"hornlark/drill/fault"
)

// Layout is a national keyboard layout. A terminal sends the character that is printed on a key; the cockpit wants the
// key's place. A Layout turns one into the other.
type Layout string

// The layouts.
const (
	QWERTY Layout = "qwerty" // United States
	QWERTZ Layout = "qwertz" // German
	AZERTY Layout = "azerty" // French
	Dvorak Layout = "dvorak" // United States, Dvorak
)

// Layouts lists every layout, the usual one first.
func Layouts() []Layout { return []Layout{QWERTY, QWERTZ, AZERTY, Dvorak} }

// ParseLayout finds a layout by its name. An empty name is QWERTY.
func ParseLayout(name string) (Layout, error) {
	if name == "" {
		return QWERTY, nil
	}
	layout := Layout(strings.ToLower(name))
	if !slices.Contains(Layouts(), layout) {
		return "", fmt.Errorf("keyboard layout %q is not known; %s", name, fault.Suggest(name, layoutNames()))
	}
	return layout, nil
}

func layoutNames() (names []string) {
	for _, layout := range Layouts() {
		names = append(names, string(layout))
	}
	return names
}

// rows are the keys by their US QWERTY labels, from top to bottom and from left to right. The other tables in this file
// run parallel to them.
var rows = [4]string{
	"`1234567890-=",
	`qwertyuiop[]\`,
	"asdfghjkl;'",
	"zxcvbnm,./",
}

// keycaps are the characters that the keys of one layout send, without and with shift.
type keycaps struct {
	plain, shifted [4]string
	// standIn names keys that send nothing by themselves because their accent waits for a letter, and the spare key
	// that does their work instead.
	standIn map[drill.Key]drill.Key
	// stop are the characters that call stop, the first of them printed on the key that is shown. They stand on keys that
	// no control has, and the first is sent at once: an accent that waits for a letter would come too late. That is the key
	// left of the 1; on QWERTZ, where that waits, it is the one beside the left shift key.
	stop string
}

var layouts = map[Layout]keycaps{
	QWERTY: {
		plain:   rows,
		shifted: [4]string{"~!@#$%^&*()_+", "QWERTYUIOP{}|", `ASDFGHJKL:"`, "ZXCVBNM<>?"},
		stop:    "`~\\|",
	},
	QWERTZ: {
		plain:   [4]string{"^1234567890ß´", "qwertzuiopü+#", "asdfghjklöä", "yxcvbnm,.-"},
		shifted: [4]string{"°!\"§$%&/()=?`", "QWERTZUIOPÜ*'", "ASDFGHJKLÖÄ", "YXCVBNM;:_"},
		standIn: map[drill.Key]drill.Key{"=": `\`},
		stop:    "<>^°",
	},
	AZERTY: {
		plain:   [4]string{"²&é\"'(-è_çà)=", "azertyuiop^$*", "qsdfghjklmù", "wxcvbn,;:!"},
		shifted: [4]string{"~1234567890°+", "AZERTYUIOP¨£µ", "QSDFGHJKLM%", "WXCVBN?./§"},
		standIn: map[drill.Key]drill.Key{"[": `\`},
		stop:    "²~<>",
	},
	Dvorak: {
		plain:   [4]string{"`1234567890[]", `',.pyfgcrl/=\`, "aoeuidhtns-", ";qjkxbmwvz"},
		shifted: [4]string{"~!@#$%^&*(){}", `"<>PYFGCRL?+|`, "AOEUIDHTNS_", ":QJKXBMWVZ"},
		stop:    "`~\\|",
	},
}

// layoutMaps are the two directions of one layout, ready to be looked up.
type layoutMaps struct {
	presses map[rune]drill.Press
	labels  map[drill.Key]string
}

var layoutTables = func() map[Layout]layoutMaps {
	tables := make(map[Layout]layoutMaps, len(layouts))
	for layout, caps := range layouts {
		tables[layout] = caps.maps()
	}
	return tables
}()

func (caps keycaps) maps() layoutMaps {
	m := layoutMaps{presses: map[rune]drill.Press{}, labels: map[drill.Key]string{}}
	for row := range rows {
		plain, shifted := []rune(caps.plain[row]), []rune(caps.shifted[row])
		for i, us := range []rune(rows[row]) {
			key := drill.Key(us)
			m.presses[plain[i]] = drill.Press{Key: key}
			m.presses[shifted[i]] = drill.Press{Key: key, Shift: true}
			m.labels[key] = label(plain[i], shifted[i])
		}
	}
	for dead, spare := range caps.standIn {
		for r, press := range m.presses {
			if press.Key == spare {
				m.presses[r] = drill.Press{Key: dead, Shift: press.Shift}
			}
		}
		m.labels[dead] = m.labels[spare]
		delete(m.labels, spare)
	}
	for i, r := range caps.stop {
		m.presses[r] = drill.Press{Key: drill.StopCall}
		if i == 0 {
			m.labels[drill.StopCall] = string(r)
		}
	}
	return m
}

// label is what is printed on a key: letters as capitals, everything else as it is sent without shift.
func label(plain, shifted rune) string {
	if unicode.ToUpper(plain) == shifted {
		return string(shifted)
	}
	return string(plain)
}

// Press is the key that sends a character, and whether shift was held for it; false if the layout has no such
// character on these rows. With caps lock on, letters arrive as if shift were held.
func (l Layout) Press(char rune) (drill.Press, bool) {
	press, ok := layoutTables[l].presses[char]
	return press, ok
}

// Label is what is printed on a key: what the trainee has to look for. A key whose accent waits for a letter sends
// nothing when it is pressed; its work is done by a spare key, whose label is given instead. Of the keys that do not stand
// on the four rows the stop call alone has a label.
func (l Layout) Label(key drill.Key) string { return layoutTables[l].labels[key] }

// row is the row on which a key stands, from 0, and its place in it; false for a key that stands on none.
func row(key drill.Key) (line, column int, ok bool) {
	for line, keys := range rows {
		if i := strings.Index(keys, string(key)); i >= 0 && len(key) == 1 {
			return line, i, true
		}
	}
	return 0, 0, false
}

// codes are the places of the keys as browsers name them (UI Events KeyboardEvent code Values, 3.1), parallel to rows.
var codes = [4][]string{
	{"Backquote", "Digit1", "Digit2", "Digit3", "Digit4", "Digit5", "Digit6", "Digit7", "Digit8", "Digit9", "Digit0", "Minus", "Equal"},
	{"KeyQ", "KeyW", "KeyE", "KeyR", "KeyT", "KeyY", "KeyU", "KeyI", "KeyO", "KeyP", "BracketLeft", "BracketRight", "Backslash"},
	{"KeyA", "KeyS", "KeyD", "KeyF", "KeyG", "KeyH", "KeyJ", "KeyK", "KeyL", "Semicolon", "Quote"},
	{"KeyZ", "KeyX", "KeyC", "KeyV", "KeyB", "KeyN", "KeyM", "Comma", "Period", "Slash"},
}

// Codes are the keys by the places that a browser names, as KeyboardEvent.code. The layout only says which keys stand in for others and
// which call stop: a browser tells of a key whose accent waits for a letter at once, and so that does its own work too.
func Codes(l Layout) map[string]string {
	keys := map[string]string{
		"Enter": string(drill.Yes), "Backspace": string(drill.No), "Space": string(drill.Quiet), "Tab": string(drill.SayAgain),
		"Escape": string(drill.Hold), "IntlBackslash": string(drill.StopCall),
	}
	for row, list := range codes {
		plain := []rune(layouts[l].plain[row])
		for i, code := range list {
			key := rows[row][i : i+1]
			if press, ok := l.Press(plain[i]); ok {
				key = string(press.Key)
			}
			keys[code] = key
		}
	}
	keys["Slash"] = string(drill.Hold) // which shows the keys
	return keys
}
