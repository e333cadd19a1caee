package advice

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
)

// mostShown is of how many things it is said what they show.
const mostShown = 4

// word finds the names in a condition.
var word = regexp.MustCompile(`"[^"]*"|[a-z_][a-z0-9_]*`)

// notSo says which parts of a condition did not hold, and what the aircraft showed instead, as in "not volts >= 26 (volts 24.1)" or "airborne".
// Parts that are joined by and stand by themselves where the condition has no brackets and no or.
func notSo(p *aircraft.Profile, source string, readings []float64) string {
	if readings == nil {
		return opposite(source)
	}
	scope := p.Scope()
	var parts []string
	for _, part := range partsOf(source) {
		c, err := condition.Compile(part, scope)
		if err == nil && !c.Holds(readings) {
			parts = append(parts, opposite(part)+shows(scope, part, readings))
		}
	}
	if len(parts) == 0 { // it came to hold in the same step
		return opposite(source)
	}
	more := len(parts) - mostShown
	if more > 0 {
		parts = append(parts[:mostShown], fmt.Sprintf("%d more", more))
	}
	return strings.Join(parts, ", ")
}

// partsOf takes a condition apart at its ands, if that is all that joins them.
func partsOf(source string) []string {
	source = strings.Join(strings.Fields(source), " ")
	if strings.ContainsAny(source, "()") || slices.Contains(strings.Fields(source), "or") || strings.Contains(source, "|") {
		return []string{source}
	}
	return strings.Split(strings.ReplaceAll(source, " && ", " and "), " and ")
}

// shows is the readings of a condition in brackets. A lamp or a switch that the condition names by itself needs none: that it is not so is said.
func shows(scope condition.Scope, source string, readings []float64) string {
	var list []string
	for _, name := range word.FindAllString(source, -1) {
		n, ok := scope[name]
		if !ok || n.Type == condition.Switch {
			continue
		}
		text := name + " " + figure(readings[n.Slot])
		if n.Type == condition.Selector {
			at := int(readings[n.Slot])
			if at < 0 || at >= len(n.Positions) {
				continue
			}
			text = name + " " + n.Positions[at]
		}
		if !slices.Contains(list, text) {
			list = append(list, text)
		}
	}
	if len(list) == 0 {
		return ""
	}
	return " (" + strings.Join(list, ", ") + ")"
}

// figure is a reading with as many figures as a panel would give.
func figure(x float64) string {
	switch {
	case x > -10 && x < 10:
		return trimmed(x, 2)
	case x > -100 && x < 100:
		return trimmed(x, 1)
	}
	return trimmed(x, 0)
}

func trimmed(x float64, decimals int) string {
	text := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		text = "0"
	}
	return text
}

// opposite says that a part of a condition is not so.
func opposite(part string) string {
	rest, negated := strings.CutPrefix(part, "not ")
	if negated && word.FindString(rest) == rest {
		return rest
	}
	if strings.Contains(part, " or ") || strings.Contains(part, " and ") {
		return "not (" + part + ")"
	}
	return "not " + part
}
