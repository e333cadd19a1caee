package condition

import "strings"

// Form is one thing that a condition can be made of.
type Form struct {
	Name    string // as it is written: an operator, or the like
	About   string // in sentences
	Example string // with the names of Sample
}

// Sample are the names in the examples: of each type one, with a figure that the number can have and a position of the selector.
type Sample struct {
	Number, Figure            string
	Switch                    string
	Selector, Position, Other string
}

// Forms lists all that a condition can be made of, with examples of some names. Where there is no selector those that are about one have
// none.
func Forms(s Sample) []Form {
	names := strings.NewReplacer("NUMBER", s.Number, "FIGURE", s.Figure, "SWITCH", s.Switch, "SELECTOR", s.Selector, "POSITION", s.Position, "OTHER", s.Other)
	var list []Form
	for _, f := range forms {
		if s.Selector == "" && strings.Contains(f.Example, "SELECTOR") {
			continue
		}
		f.Example = names.Replace(f.Example)
		list = append(list, f)
	}
	return list
}

// forms are all of them. The tests hold the compiler to the list, both ways.
var forms = []Form{
	{"<", "A number is below another one.", "NUMBER < FIGURE"},
	{"<=", "A number is below another one, or the same.", "NUMBER <= FIGURE"},
	{">", "A number is above another one.", "NUMBER > FIGURE"},
	{">=", "A number is above another one, or the same.", "NUMBER >= FIGURE"},
	{"==", `Two numbers are the same, or a control stands in a position, which is written in quotes.`, `SELECTOR == "POSITION"`},
	{"!=", "Two numbers are not the same, or a control does not stand in a position.", `SELECTOR != "POSITION"`},
	{"in", "A control stands in one of some positions.", `SELECTOR in ["POSITION", "OTHER"]`},
	{"not in", "A control stands in none of some positions.", `SELECTOR not in ["POSITION", "OTHER"]`},
	{"and", "Both are so; && is the same. It binds closer than or.", "NUMBER > FIGURE and SWITCH"},
	{"or", "One of them is so, or both; || is the same.", "NUMBER > FIGURE or SWITCH"},
	{"not", "The opposite; ! is the same.", "not SWITCH"},
	{"(", "With ) after it: what stands between is worked out first.", "not (NUMBER > FIGURE and SWITCH)"},
	{"+", "Two numbers together.", "NUMBER + 1 > FIGURE"},
	{"-", "The one number less the other, or a number below zero.", "NUMBER - 1 > -FIGURE"},
	{"*", "The one number times the other.", "NUMBER * 2 > FIGURE"},
	{"/", "The one number divided by the other.", "NUMBER / 2 > FIGURE"},
	{"0.5", "A number, with a point and without a unit: it is in the unit of what it is compared with. Up to 1e9.", "NUMBER > 0.5"},
	{"true", "Always so; false is never so.", "true"},
}
