package draft

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"hornlark/drill/aircraft"
)

// alike are words that say the same of a control, each row beginning with the positions that profiles have for it. Common practice,
// from memory, no source.
var alike = [][]string{
	{"on", "engaged", "engage", "armed", "selected", "connected", "applied", "pressed", "press"},
	{"off", "disengaged", "disconnected", "released", "release"},
	{"open", "opened", "unlatched"},
	{"closed", "close", "shut", "latched", "cutoff"},
	{"open", "released", "undone", "unfastened"},
	{"fastened", "secure", "secured", "locked", "tight", "on"},
	{"locked", "lock", "on", "applied", "set"},
	{"free", "released", "release", "unlocked", "uncaged", "uncage", "erect", "off"},
	{"pressed", "press", "push", "pushed", "engage", "start", "in", "press release", "push release"},
	{"standby", "stby", "sby"},
	{"altitude", "alt", "mode c"},
	{"normal", "norm"},
	{"moved", "full free", "free full", "full and free", "free", "full travel"},
	{"centred", "centered", "centre", "center", "central", "neutral"},
	{"neutral", "centred", "centered", "central"},
	{"running", "started", "start", "on"},
	{"stopped", "stop"},
	{"test", "tested", "pressed", "press", "push"},
	{"field", "qnh", "field pressure"},
	{"flash", "flashing"},
	{"rich", "full rich"},
	{"cut-off", "cutoff", "idle cutoff", "idle cut off"},
	{"up", "lifted", "raised"},
	{"down", "closed", "lowered"},
	{"pushed", "in", "set"},
	{"ground", "idle", "ground idle"},
	{"flight", "fly", "flight idle"},
	{"essential", "ess"},
	{"fore", "forward", "fwd"},
}

// Words that ask for a look instead of a move, and those that say nothing about what was found.
var (
	lookWords  = []string{"check", "checked", "confirm", "confirmed", "verify", "verified", "observed", "observe", "checks"}
	emptyWords = []string{"check", "checked", "checks", "confirm", "confirmed", "verified", "verify", "set", "required", "necessary", "needed", "done", "ok", "okay", "as",
		"it", "observed", "observe", "req", "rqd", "reqd", "d"}
	small = []string{"both", "all", "and", "to", "the", "is", "are", "position", "select", "selected", "switch", "each", "one", "two"}
)

// plainWords are the words of a response, in small letters.
func plainWords(text string) []string {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '.' })
	for i := range words {
		words[i] = strings.Trim(words[i], ".")
	}
	return slices.DeleteFunc(words, func(w string) bool { return w == "" })
}

// without are words without some.
func without(words []string, some ...[]string) []string {
	return slices.DeleteFunc(slices.Clone(words), func(w string) bool {
		return slices.ContainsFunc(some, func(s []string) bool { return slices.Contains(s, w) })
	})
}

// empty reports whether a response says nothing about what was found.
func empty(response string) bool {
	words := strings.FieldsFunc(strings.ToLower(response), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	rest := without(words, emptyWords)
	return len(words) == 0 || len(rest) < len(words) && len(without(rest, small)) == 0
}

// looks reports whether a response asks for a look.
func looks(response string) bool {
	return slices.ContainsFunc(plainWords(response), func(w string) bool { return slices.Contains(lookWords, w) })
}

// position finds the position of a control that a response names. sure says that the words are those of the position and no others.
func position(c *aircraft.Control, response string) (name string, sure, ok bool) {
	if c.Travel != nil {
		return notch(c, response)
	}
	if first, _, several := strings.Cut(response, ","); several {
		if p, sure, ok := position(c, first); sure && ok {
			return p, false, true // what is said beside it is not looked at
		}
	}
	whole := plainWords(response)
	asked := strings.Join(without(whole, lookWords), " ")
	said := strings.Join(slices.Compact(without(whole, small, lookWords)), " ")
	if said == "" {
		said = strings.Join(whole, " ")
	}
	for _, p := range c.Positions {
		if own := strings.Join(plainWords(p), " "); said == own || asked == own {
			return p, true, true
		}
	}
	for pass := range 2 { // first what is said as a whole, then what is said among other things
		var hits []string
		for _, p := range c.Positions {
			for _, row := range alike {
				if row[0] != p && !(p == "shut" && row[0] == "closed") {
					continue
				}
				if slices.ContainsFunc(row, func(w string) bool { return pass == 0 && w == said || pass == 1 && within(said, w) }) {
					hits = append(hits, p)
					break
				}
			}
			if pass == 1 && within(asked, strings.Join(plainWords(p), " ")) && !slices.Contains(hits, p) {
				hits = append(hits, p)
			}
		}
		if len(hits) == 1 {
			return hits[0], pass == 0, true
		}
	}
	// On and off of something that has other words for it.
	if n := len(c.Positions); n >= 2 && (said == "on" || said == "off") {
		if said == "off" {
			return c.Positions[0], false, true
		}
		return c.Positions[n-1], false, true
	}
	return "", false, false
}

// within reports whether words stand in a text, one after the other.
func within(text, words string) bool {
	return words != "" && strings.Contains(" "+text+" ", " "+words+" ")
}

// notch finds the notch of a lever that a response names by its number, or by an end of its travel.
func notch(c *aircraft.Control, response string) (string, bool, bool) {
	if n := figures(response); len(n) == 1 {
		written := strconv.FormatFloat(n[0], 'f', -1, 64)
		_, ok := c.Index(written)
		return written, true, ok
	}
	words := plainWords(response)
	says := func(of []string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(of, w) })
	}
	switch {
	case says(leastTravel):
		return c.Label(0), false, true
	case says(mostTravel):
		return c.Label(c.Count() - 1), false, true
	}
	return "", false, false
}

// The ends of a lever's travel, in words.
var (
	leastTravel = []string{"down", "closed", "shut", "off", "cold", "slack"}
	mostTravel  = []string{"up", "open", "full", "max", "maximum", "hot", "tight", "on"}
)

var number = regexp.MustCompile(`(?:^|[^\w.])(-?\d+(?:[.]\d+)?)`)

// figures are the numbers of a text, written in digits or in words up to nine hundred and ninety nine.
func figures(text string) []float64 {
	var list []float64
	var sum, last float64
	open := false
	end := func() {
		if open {
			list = append(list, sum)
		}
		sum, last, open = 0, 0, false
	}
	for _, w := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return r == ' ' || r == ',' || r == ';' || r == '/' }) {
		one, ten := slices.Index(ones, w), slices.Index(tens, w)
		switch {
		case one >= 0 && open && (last < 20 || one > 9 || one == 0):
			end()
			sum, last, open = float64(one), 1, true
		case one >= 0:
			sum, last, open = sum+float64(one), 1, true
		case ten >= 0 && open && last < 100:
			end()
			sum, last, open = float64(10*ten+20), 20, true
		case ten >= 0:
			sum, last, open = sum+float64(10*ten+20), 20, true
		case w == "hundred" && open && sum < 10:
			sum, last = 100*sum, 100
		case w == "and" && open && last == 100:
		default:
			end()
			if !strings.ContainsAny(w, "0123456789") {
				continue
			}
			for _, m := range number.FindAllStringSubmatch(w, -1) {
				if f, err := strconv.ParseFloat(m[1], 64); err == nil && !math.IsInf(f, 0) {
					list = append(list, f)
				}
			}
		}
	}
	end()
	return list
}

var (
	greenWords = regexp.MustCompile(`\b(green|normal|norm|limits?|range)\b`)
	statedWord = regexp.MustCompile(`\b(noted?|records?|recorded|read|stated?|say|announced?|quantity|amount|value)\b|_`)
	leastWord  = regexp.MustCompile(`\b(above|min|minimum|at least|more than|greater|over|not below|or more)\b|[>≥]|\d\s*\+`)
	mostWord   = regexp.MustCompile(`\b(below|max|maximum|at most|less than|under|not above|or less)\b|[<≤]`)
	rangeWord  = regexp.MustCompile(`(\d)\s*[-–—]\s*(\d)`)
	leaving    = regexp.MustCompile(`\b(rising|increasing|falling|decreasing|rise|dropping)\b`)
)

// reading is what a response asks of a gauge: that it is read, or that a condition holds.
type reading struct {
	read bool
	cond string
	sure bool
	say  string // what to say instead of a response that says nothing
	why  string // it cannot be so
}

// readingOf finds out what a response asks of a gauge.
func readingOf(g *aircraft.Gauge, response string) (reading, bool) {
	low := rangeWord.ReplaceAllString(strings.ToLower(response), "$1 to $2")
	n := figures(low)
	if leaving.MatchString(low) {
		return reading{}, false
	}
	for _, x := range n {
		if x < g.Min || x > g.Max {
			return reading{why: fmt.Sprintf("%s goes from %g to %g %s", g.ID, g.Min, g.Max, g.Unit)}, false
		}
	}
	switch {
	case len(n) == 2 && n[0] < n[1]:
		return reading{cond: fmt.Sprintf("%s >= %s and %s <= %s", g.ID, digits(n[0]), g.ID, digits(n[1])), sure: true}, true
	case len(n) == 1 && mostWord.MatchString(low) && strings.Contains(low, "not above") || len(n) == 1 && mostWord.MatchString(low) && !leastWord.MatchString(low):
		return reading{cond: fmt.Sprintf("%s <= %s", g.ID, digits(n[0])), sure: true}, true
	case len(n) == 1 && leastWord.MatchString(low):
		return reading{cond: fmt.Sprintf("%s >= %s", g.ID, digits(n[0])), sure: true}, true
	case len(n) == 1:
		return reading{cond: fmt.Sprintf("%s >= %s and %s <= %s", g.ID, digits(n[0]-g.Tolerance), g.ID, digits(n[0]+g.Tolerance))}, true
	case len(n) > 1:
		return reading{}, false
	case greenWords.MatchString(low):
		cond := greenOf(g)
		return reading{cond: cond, sure: true}, cond != ""
	case statedWord.MatchString(low), g.Unit != "" && low == strings.ToLower(g.Unit):
		return reading{read: true, sure: true, say: "Stated"}, true
	case response == "":
		return reading{read: true, say: "Stated"}, true
	case empty(response):
		cond := greenOf(g)
		if cond == "" {
			return reading{read: true, say: "Stated"}, true
		}
		return reading{cond: cond, say: "In the green"}, true
	}
	return reading{}, false
}

// greenOf is the condition that a gauge stands in its green bands, "" without one. What lies on the edge of a red band is red.
func greenOf(g *aircraft.Gauge) string {
	var parts []string
	for i, b := range g.Bands {
		if b.Colour != aircraft.Green {
			continue
		}
		var ends []string
		if i > 0 {
			sign := ">="
			if g.Bands[i-1].Colour == aircraft.Red {
				sign = ">"
			}
			ends = append(ends, g.ID+" "+sign+" "+digits(b.From))
		}
		if i < len(g.Bands)-1 {
			ends = append(ends, g.ID+" < "+digits(b.To))
		}
		if len(ends) > 0 {
			parts = append(parts, strings.Join(ends, " and "))
		}
	}
	return strings.Join(parts, " or ")
}

// digits is a number as conditions have it.
func digits(x float64) string {
	return strconv.FormatFloat(math.Round(x*1e6)/1e6, 'f', -1, 64)
}
