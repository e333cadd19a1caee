package screen

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// abbreviations are how panels shorten the words of the trade (common practice, no source).
var abbreviations = map[string]string{
	"ALTERNATOR": "ALT", "AUTOPILOT": "AP", "AVIONICS": "AVIO", "BATTERY": "BATT", "BLEED": "BLD", "BOOST": "BST", "BRAKE": "BRK",
	"BREAKERS": "BRKRS", "CABIN": "CAB", "CLUTCH": "CLTCH", "COLLECTIVE": "COLL", "CONTROLS": "CTRLS", "CYCLIC": "CYC",
	"DISPLAY": "DISP", "ENGINE": "ENG", "EXTERNAL": "EXT", "FRICTION": "FRIC", "FUEL": "FUEL", "GENERATOR": "GEN", "GOVERNOR": "GOV",
	"GROUND": "GND", "HARNESS": "HARN", "HEAT": "HT", "HORIZON": "HORZ", "HORN": "HRN", "HYDRAULIC": "HYD",
	"INVERTER": "INV", "LIGHT": "LT", "LIGHTS": "LTS", "MAGNETO": "MAG", "MASTER": "MSTR", "MIXTURE": "MIX", "NORMAL": "NORM",
	"PEDALS": "PED", "POSITION": "POS", "POSN": "POS", "POWER": "PWR", "PRESSURE": "PRES", "PRIME": "PRM", "PUMP": "PMP",
	"RADIO": "RAD", "ROTOR": "RTR", "SELECTOR": "SEL", "SIGNAL": "SIG", "STANDBY": "STBY", "STARTER": "START", "TEST": "TST",
	"THROTTLE": "THR", "TRANSFER": "XFER", "TRANSPONDER": "XPDR", "VALVE": "VLV", "WARNING": "WARN", "XFER": "XFR",
}

// words are the words of a name; a hyphen parts them too.
func words(name string) []string {
	return strings.FieldsFunc(name, func(r rune) bool { return r == ' ' || r == '-' })
}

// shorten shortens a name to width columns: first its words in the way of panels, the longest first, then by leaving out vowels
// inside them, then the spaces between them, and last their ends. The number or letter at the end, which keeps left and right
// apart, is the last to go.
func shorten(name string, width int) string {
	if textWidth(name) <= width {
		return name
	}
	if width < 1 {
		return ""
	}
	parts, side := words(name), ""
	if n := len(parts); n > 1 && textWidth(parts[n-1]) == 1 && width > 1 {
		parts, side = parts[:n-1], parts[n-1]
	}
	between, before := " ", " "
	whole := func() string {
		if side == "" {
			return strings.Join(parts, between)
		}
		return strings.Join(parts, between) + before + side
	}
	// cut changes the longest word that can be changed until all fits.
	cut := func(change func(string) string) {
		for textWidth(whole()) > width {
			longest := -1
			for i, p := range parts {
				if textWidth(change(p)) < textWidth(p) && (longest < 0 || textWidth(p) > textWidth(parts[longest])) {
					longest = i
				}
			}
			if longest < 0 {
				return
			}
			parts[longest] = change(parts[longest])
		}
	}
	cut(func(word string) string {
		if short, ok := abbreviations[word]; ok && len(short) < len(word) {
			return short
		}
		return word
	})
	before = "" // "GEN1" is easier to read than "GN 1"
	cut(withoutVowel)
	if textWidth(whole()) > width {
		between = ""
	}
	for len(parts) > 1 && len(parts)+len(side) > width {
		parts = parts[:len(parts)-1]
	}
	cut(func(word string) string {
		if textWidth(word) <= 1 {
			return word
		}
		_, n := utf8.DecodeLastRuneInString(word)
		return word[:len(word)-n]
	})
	return prefix(whole(), width)
}

// ShortWords shortens each word of a name to so many columns, for whoever shows a name in several lines.
func ShortWords(name string, width int) string {
	list := words(name)
	for i, word := range list {
		list[i] = shorten(word, width)
	}
	return strings.Join(list, " ")
}

// clip shortens the name of a position: its words as panels do, and then its end, with no mark where it was cut.
func clip(position string, width int) string {
	if textWidth(position) <= width || width < 1 {
		return position
	}
	if short, ok := abbreviations[strings.ToUpper(position)]; ok && len(short) <= width {
		return strings.ToLower(short)
	}
	return prefix(position, width)
}

// withoutVowel leaves out the last vowel inside a word of more than four letters.
func withoutVowel(word string) string {
	letters := []rune(word)
	if len(letters) < 5 {
		return word
	}
	for i := len(letters) - 2; i > 0; i-- {
		if strings.ContainsRune("AEIOUaeiou", letters[i]) && unicode.IsLetter(letters[i+1]) {
			return string(letters[:i]) + string(letters[i+1:])
		}
	}
	return word
}

// fold breaks a name into one line or two of about the same length. What is too long even so is shortened.
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
		return []string{shorten(name, width)}
	}
	return []string{shorten(strings.Join(words[:best], " "), width), shorten(strings.Join(words[best:], " "), width)}
}

// foldedWidth is how wide a column has to be for a name in two lines.
func foldedWidth(name string) int {
	words, width := words(name), textWidth(name)
	for i := 1; i < len(words); i++ {
		width = min(width, max(textWidth(strings.Join(words[:i], " ")), textWidth(strings.Join(words[i:], " "))))
	}
	return width
}
