package draft

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"hornlark/drill/fault"
)

// spellings are short forms of the trade and what they stand for. Common practice, from memory, no source.
var spellings = map[string]string{
	"batt": "battery", "bat": "battery", "pwr": "power", "gnd": "ground", "grd": "ground", "ext": "external", "exterior": "external",
	"gpu": "ground power", "epu": "ground power", "gen": "generator", "alt": "altimeter", "alternators": "alternator", "inv": "inverter",
	"xpdr": "transponder", "xpndr": "transponder", "tpdr": "transponder", "lt": "light", "ltg": "light", "lamp": "light", "hyd": "hydraulic",
	"eng": "engine", "stby": "standby", "sby": "standby", "brk": "brake", "qty": "quantity", "press": "pressure", "pres": "pressure",
	"prs": "pressure", "p": "pressure", "temp": "temperature", "t": "temperature", "posn": "position", "pos": "position",
	"nav": "position", "coll": "collective", "cyc": "cyclic", "ap": "autopilot", "gbx": "gearbox", "mgb": "gearbox", "xmsn": "gearbox",
	"transmission": "gearbox", "trq": "torque", "tq": "torque", "volts": "volt", "voltage": "volt", "vdc": "volt", "amp": "load",
	"ammeter": "load", "loadmeter": "load", "voltmeter": "volt", "anticoll": "anticollision", "anticol": "anticollision", "beacon": "anticollision",
	"mag": "magneto", "carb": "carburettor", "carburetor": "carburettor", "map": "manifold", "mp": "manifold", "rrpm": "nr", "ng": "n1",
	"gg": "n1", "itt": "tot", "tgt": "tot", "egt": "tot", "np": "n2", "nf": "n2", "chk": "check", "extg": "extinguisher", "avnx": "avionic",
	"avi": "avionic", "adi": "horizon", "attitude": "horizon", "belts": "harness", "seatbelt": "harness", "door": "door", "canopy": "door",
	"circuit": "", "breaker": "breaker", "cb": "breaker", "cht": "head temperature", "alts": "altimeter", "com": "radio", "comm": "radio",
	"vhf": "radio", "oat": "oat", "tail": "tail", "chrono": "clock", "stopwatch": "clock", "fric": "friction", "warn": "warning",
	"caut": "caution", "trim": "trim", "display": "screen", "gov": "governor", "idg": "generator", "l": "left", "lh": "left", "r": "right", "rh": "right",
}

// joined are words that stand in two pieces as often as in one.
var joined = strings.NewReplacer("anti-collision", "anticollision", "anti collision", "anticollision", "anti-coll", "anticollision",
	"anti coll", "anticollision", "auto-pilot", "autopilot", "auto pilot", "autopilot", "a/p", "autopilot", "auto-trim", "auto trim",
	"autotrim", "auto trim", "cross-feed", "crossfeed", "seat belt", "harness", "stand-by", "standby", "r/brake", "rotor brake",
	"fuel contents", "fuel quantity", "gear box", "gearbox", "circuit breaker", "breaker", "ground crew", "groundcrew", "ground-crew", "groundcrew",
	"rotor rpm", "nr", "rotor r p m", "nr", "cut-off", "cutoff", "cut off", "cutoff", "fireguard", "fire guard", "no.", "", "nº", "", "&", " and ", "+", " and ")

// filler says nothing about which control, gauge or caption is meant.
var filler = []string{"the", "a", "an", "of", "to", "for", "in", "at", "is", "are", "be", "and", "or", "with", "switch", "switche", "selector", "button",
	"knob", "handle", "all", "both", "each", "master", "no", "number", "gauge", "indication", "indicator", "reading", "again", "if", "fitted",
	"check", "confirm", "verify"}

// ones are the numbers that are spoken in one word.
var ones = strings.Fields("zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen")

// tens are those from twenty up, by ten.
var tens = strings.Fields("twenty thirty forty fifty sixty seventy eighty ninety")

// tokens are the words of a text, in small letters, short forms spelt out, numbers in digits.
func tokens(text string) []string {
	text = joined.Replace(strings.ToLower(text))
	var pieces []string
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		for _, w := range apart(word) {
			w = stem(w)
			if n := slices.Index(ones, w); n >= 0 {
				w = strconv.Itoa(n)
			}
			pieces = append(pieces, w)
		}
	}
	var out []string
	for _, w := range initials(pieces) {
		if s, ok := spellings[w]; ok {
			out = append(out, strings.Fields(s)...)
		} else {
			out = append(out, w)
		}
	}
	return out
}

// apart parts a word from the number behind it, as in "gen1"; N1 and N2 are words.
func apart(word string) []string {
	i := strings.IndexFunc(word, unicode.IsDigit)
	if i < 2 || strings.ContainsFunc(word[i:], func(r rune) bool { return !unicode.IsDigit(r) }) {
		return []string{word}
	}
	return []string{word[:i], word[i:]}
}

// stem takes the s of more than one away.
func stem(w string) string {
	if len(w) > 3 && strings.HasSuffix(w, "s") && !strings.HasSuffix(w, "ss") {
		return w[:len(w)-1]
	}
	return w
}

// initials puts letters together that are spoken one by one: "t o t" is "tot", and "n 1" is "n1".
func initials(words []string) []string {
	var out []string
	single := false
	for _, w := range words {
		letter := len(w) == 1 && (unicode.IsLetter(rune(w[0])) || single && len(out) > 0 && out[len(out)-1] == "n")
		if letter && single {
			out[len(out)-1] += w
		} else {
			out = append(out, w)
		}
		single = letter && unicode.IsLetter(rune(w[0]))
	}
	return out
}

// meaning is the words of a text that say which thing is meant, and what tells it from its like: numbers, left and right.
func meaning(text string) (words, numbers []string) {
	all := tokens(text)
	for _, w := range all {
		switch {
		case w[0] >= '0' && w[0] <= '9' || w == "left" || w == "right":
			numbers = append(numbers, w)
		case !slices.Contains(filler, w):
			words = append(words, w)
		}
	}
	if len(words) == 0 && len(numbers) == 0 {
		return all, nil
	}
	return words, numbers
}

// likeness is how alike two words are, from 0 to 1.
func likeness(a, b string) float64 {
	switch {
	case a == b:
		return 1
	case len(a) >= 4 && len(b) >= 4 && (strings.HasPrefix(a, b) || strings.HasPrefix(b, a)):
		return 0.8
	case len(a) >= 6 && fault.Nearest(a, []string{b}) != "":
		return 0.8
	}
	return 0
}

// overlap is how alike two sets of words are, from 0 to 1: twice what they have in common, of all of them.
func overlap(a, b []string) float64 {
	if len(a) == 0 || len(b) == 0 {
		return 0
	}
	rows, all := make([][]float64, len(a)), make([]int, len(b))
	for i, w := range a {
		rows[i] = make([]float64, len(b))
		for k, other := range b {
			rows[i][k], all[k] = likeness(w, other), k
		}
	}
	return overlapOf(rows, all)
}

// overlapOf is overlap for words that have been compared: for each of the first set a row with how alike it is to the words of a vocabulary,
// and the places in that of the words of the second.
func overlapOf(rows [][]float64, name []int) float64 {
	if len(rows) == 0 || len(name) == 0 {
		return 0
	}
	common := 0.0
	var few [16]bool
	taken := few[:]
	if len(name) > len(taken) {
		taken = make([]bool, len(name))
	}
	for _, row := range rows {
		best, at := 0.0, -1
		for i, place := range name {
			if l := row[place]; !taken[i] && l > best {
				best, at = l, i
			}
		}
		if at >= 0 {
			taken[at] = true
			common += best
		}
	}
	return 2 * common / float64(len(rows)+len(name))
}
