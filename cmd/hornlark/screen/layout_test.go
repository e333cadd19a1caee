package screen

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"hornlark/drill"
	"hornlark/drill/aircraft"
)

func TestParseLayout(t *testing.T) {
	for _, test := range []struct {
		name string
		want Layout
	}{{"", QWERTY}, {"qwerty", QWERTY}, {"QWERTZ", QWERTZ}, {"azerty", AZERTY}, {"Dvorak", Dvorak}} {
		if got, err := ParseLayout(test.name); err != nil || got != test.want {
			t.Errorf("ParseLayout(%q) = %q, %v, want %q", test.name, got, err, test.want)
		}
	}
	_, err := ParseLayout("colemak")
	if err == nil || !strings.Contains(err.Error(), "azerty") {
		t.Errorf("an unknown layout gives %v, want an error that names the known ones", err)
	}
}

// Some of what each layout is for, spelled out.
func TestLayoutPress(t *testing.T) {
	for _, test := range []struct {
		layout Layout
		char   rune
		want   string
	}{
		{QWERTY, 'a', "a"}, {QWERTY, 'Q', "shift+q"}, {QWERTY, '!', "shift+1"}, {QWERTY, '"', "shift+'"},
		{QWERTZ, 'z', "y"}, {QWERTZ, 'Y', "shift+z"}, {QWERTZ, 'ü', "["}, {QWERTZ, 'Ö', "shift+;"}, {QWERTZ, 'ß', "-"},
		{QWERTZ, '/', "shift+7"}, {QWERTZ, '-', "/"}, {QWERTZ, '#', "="}, {QWERTZ, '´', "="},
		{AZERTY, '&', "1"}, {AZERTY, '1', "shift+1"}, {AZERTY, 'à', "0"}, {AZERTY, 'a', "q"}, {AZERTY, 'm', ";"},
		{AZERTY, ',', "m"}, {AZERTY, ')', "-"}, {AZERTY, '-', "6"}, {AZERTY, '*', "["}, {AZERTY, '!', "/"},
		{Dvorak, 'o', "s"}, {Dvorak, '\'', "q"}, {Dvorak, ';', "z"}, {Dvorak, '-', "'"}, {Dvorak, '[', "-"}, {Dvorak, 's', ";"},
	} {
		got, ok := test.layout.Press(test.char)
		if !ok || pressWord(got) != test.want {
			t.Errorf("%s: %q is %q (%v), want %q", test.layout, test.char, pressWord(got), ok, test.want)
		}
	}
	if press, ok := QWERTY.Press('é'); ok {
		t.Errorf("QWERTY has %q on %v", 'é', press)
	}
}

func pressWord(p drill.Press) string {
	if p.Shift {
		return "shift+" + string(p.Key)
	}
	return string(p.Key)
}

// Every key of the cockpit can be reached in every layout, with shift and without, and what its label says reaches it.
func TestLayoutReachesEveryKey(t *testing.T) {
	for _, layout := range Layouts() {
		reached := map[drill.Press]bool{}
		for _, press := range layoutTables[layout].presses {
			reached[press] = true
		}
		labels := map[string]drill.Key{}
		for _, row := range aircraft.KeyRows() {
			for _, k := range row.Keys {
				key := drill.Key(k)
				for _, shift := range []bool{false, true} {
					if !reached[drill.Press{Key: key, Shift: shift}] {
						t.Errorf("%s: nothing presses %s with shift %v", layout, key, shift)
					}
				}
				label := layout.Label(key)
				if other, taken := labels[label]; taken || label == "" {
					t.Errorf("%s: %s and %s are both labelled %q", layout, key, other, label)
				}
				labels[label] = key
				char, _ := utf8.DecodeRuneInString(strings.ToLower(label))
				if press, ok := layout.Press(char); !ok || press != (drill.Press{Key: key}) {
					t.Errorf("%s: the key labelled %q presses %v, want %s", layout, label, press, key)
				}
			}
		}
	}
}

// The stop call is a key of its own on every layout: what is printed on it calls stop, with shift or without, and while a
// reading is typed; and no control's key does.
func TestEveryLayoutHasAStopKey(t *testing.T) {
	stop := drill.Press{Key: drill.StopCall}
	for _, layout := range Layouts() {
		caps := layouts[layout]
		label := layout.Label(drill.StopCall)
		if label == "" || !strings.HasPrefix(caps.stop, label) {
			t.Errorf("%s: the key of the stop call is labelled %q", layout, label)
		}
		for _, char := range caps.stop {
			d := decoder{layout: layout}
			d.feed(time.Unix(1, 0), []byte(string(char)), func(s Stroke) {
				if s.Kind != Pressed || s.Press != stop || s.Reading() != stop {
					t.Errorf("%s: %q is %v, and in a reading %v", layout, char, s.Press, s.Reading())
				}
			})
			if d.wait() != 0 {
				t.Errorf("%s: %q is not decided at once", layout, char)
			}
		}
		for _, row := range aircraft.KeyRows() {
			for _, key := range row.Keys {
				if strings.Contains(caps.stop, layout.Label(drill.Key(key))) {
					t.Errorf("%s: key %s, labelled %q, calls stop", layout, key, layout.Label(drill.Key(key)))
				}
			}
		}
	}
	for layout, want := range map[Layout]string{QWERTY: "`", QWERTZ: "<", AZERTY: "²", Dvorak: "`"} {
		if got := layout.Label(drill.StopCall); got != want {
			t.Errorf("%s: the key of the stop call is labelled %q, want %q", layout, got, want)
		}
	}
}

// No character stands on two keys of one layout: the first would never be seen.
func TestLayoutIsUnambiguous(t *testing.T) {
	for layout, caps := range layouts {
		seen := map[rune]bool{}
		for row := range rows {
			if got, want := utf8.RuneCountInString(caps.plain[row]), len(rows[row]); got != want {
				t.Errorf("%s: row %d has %d keys, want %d", layout, row, got, want)
			}
			for _, char := range caps.plain[row] + caps.shifted[row] {
				if seen[char] {
					t.Errorf("%s: %q stands on two keys", layout, char)
				}
				seen[char] = true
			}
		}
	}
}

// The source outside: the keyboard layouts of the X Keyboard Extension's data (Debian package xkb-data, the file of each
// country under symbols). Its keys are named by row and column: AE01 is the 1, AD01 the Q, AC01 the A, AB01 the Z of a
// US keyboard.
func TestLayoutsAgainstXKB(t *testing.T) {
	const symbols = "/usr/share/X11/xkb/symbols"
	if _, err := os.Stat(symbols); err != nil {
		t.Skipf("no keyboard data to compare with (Debian package xkb-data): %v", err)
	}
	for layout, section := range map[Layout]string{QWERTY: "us(basic)", QWERTZ: "de(basic)", AZERTY: "fr(basic)", Dvorak: "us(dvorak)"} {
		keys := map[string][2]string{}
		xkbSection(t, symbols, section, keys)
		caps, compared := layouts[layout], 0
		for row := range rows {
			plain, shifted := []rune(caps.plain[row]), []rune(caps.shifted[row])
			for i := range plain {
				name := xkbKey(row, i)
				for level, char := range []rune{plain[i], shifted[i]} {
					want := keysym(t, keys[name][level])
					if char != want {
						t.Errorf("%s: key %s, level %d: %q, the keyboard data has %q (%s)", layout, name, level+1, char, want, keys[name][level])
					}
					compared++
				}
				us := drill.Key(rows[row][i])
				_, spare := caps.standIn[us]
				if dead := strings.HasPrefix(keys[name][0], "dead_"); dead != spare && us != "`" {
					t.Errorf("%s: key %s waits for a letter: %v, has a key that stands in for it: %v", layout, name, dead, spare)
				}
			}
		}
		label := layout.Label(drill.StopCall)
		sent := func(key string) bool { return keys[key][0] != "" && string(keysym(t, keys[key][0])) == label }
		waits := func(key string) bool { return strings.HasPrefix(keys[key][0], "dead_") }
		if left, beside := sent("TLDE") && !waits("TLDE"), sent("LSGT") && !waits("LSGT"); !left && !beside {
			t.Errorf("%s: no key sends %q at once", layout, label)
		}
		if compared != 2*(13+13+11+10) {
			t.Errorf("%s: %d characters compared", layout, compared)
		}
	}
}

// xkbKey is the name of a key by our row and column.
func xkbKey(row, column int) string {
	switch {
	case row == 0 && column == 0:
		return "TLDE"
	case row == 1 && column == 12:
		return "BKSL"
	case row == 0:
		column--
	}
	return "A" + string("EDCB"[row]) + string(rune('0'+(column+1)/10)) + string(rune('0'+(column+1)%10))
}

var (
	xkbInclude = regexp.MustCompile(`^include "([a-z]+(?:\([a-z0-9]+\))?)"`)
	xkbKeyLine = regexp.MustCompile(`key <(\w+)>\s*\{(?:[^}]*?symbols\[Group1\]\s*=)?\s*\[([^\]]*)\]`)
)

// xkbSection reads the first two levels of a section's keys, after those of the sections that it includes.
func xkbSection(t *testing.T, dir, name string, keys map[string][2]string) {
	t.Helper()
	file, variant, _ := strings.Cut(strings.TrimSuffix(name, ")"), "(")
	if variant == "" {
		variant = "basic"
	}
	data, err := os.ReadFile(filepath.Join(dir, file))
	if err != nil {
		t.Skipf("keyboard data without %s: %v", name, err)
	}
	_, body, found := strings.Cut(string(data), `xkb_symbols "`+variant+`"`)
	if !found {
		t.Fatalf("%s has no section %q", file, variant)
	}
	body, _, _ = strings.Cut(body, "\n};")
	for _, line := range strings.Split(body, "\n") {
		if m := xkbInclude.FindStringSubmatch(strings.TrimSpace(line)); m != nil && !strings.HasPrefix(m[1], "level") && !strings.HasPrefix(m[1], "kpdl") {
			xkbSection(t, dir, m[1], keys)
		}
	}
	for _, m := range xkbKeyLine.FindAllStringSubmatch(body, -1) {
		levels := strings.Split(m[2], ",")
		if len(levels) >= 2 {
			keys[m[1]] = [2]string{strings.TrimSpace(levels[0]), strings.TrimSpace(levels[1])}
		}
	}
}

// keysym is the character of an X key symbol. An accent that waits for a letter counts as the accent alone.
func keysym(t *testing.T, name string) rune {
	t.Helper()
	if char, n := utf8.DecodeRuneInString(name); n == len(name) && n > 0 {
		return char
	}
	char, ok := keysyms[strings.TrimPrefix(name, "dead_")]
	if !ok {
		t.Fatalf("key symbol %q is not known to this test", name)
	}
	return char
}

// keysyms are the names of X key symbols (X Window System Protocol, appendix A) that the layouts use.
var keysyms = map[string]rune{
	"grave": '`', "asciitilde": '~', "exclam": '!', "at": '@', "numbersign": '#', "dollar": '$', "percent": '%',
	"asciicircum": '^', "ampersand": '&', "asterisk": '*', "parenleft": '(', "parenright": ')', "minus": '-',
	"underscore": '_', "equal": '=', "plus": '+', "bracketleft": '[', "braceleft": '{', "bracketright": ']',
	"braceright": '}', "backslash": '\\', "bar": '|', "semicolon": ';', "colon": ':', "apostrophe": '\'',
	"quotedbl": '"', "comma": ',', "less": '<', "period": '.', "greater": '>', "slash": '/', "question": '?',
	"degree": '°', "section": '§', "ssharp": 'ß', "acute": '´', "udiaeresis": 'ü', "Udiaeresis": 'Ü',
	"odiaeresis": 'ö', "Odiaeresis": 'Ö', "adiaeresis": 'ä', "Adiaeresis": 'Ä', "twosuperior": '²', "eacute": 'é',
	"egrave": 'è', "ccedilla": 'ç', "agrave": 'à', "sterling": '£', "mu": 'µ', "ugrave": 'ù', "circumflex": '^',
	"diaeresis": '¨',
}
