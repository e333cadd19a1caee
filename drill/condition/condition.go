// Package condition compiles the conditions that are written in profiles, procedures and scenarios, such as
// "nr < 95 and battery", into what can be asked of an aircraft's readings at every step without allocating.
//
// The language is that of github.com/expr-lang/expr, cut down to what an instructor needs: numbers, comparisons, and,
// or, not, + - * /, and the positions of a control in quotes (engine1 == "idle"). It is parsed and type-checked there,
// once; only the evaluation is ours.
package condition

// Type is the type of a name.
type Type int

// The types of a name.
const (
	Number   Type = iota // a reading, in its unit
	Switch               // true or false: a flag, a lit caption, a sounding alert, or a control off its first position
	Selector             // a control with more than two positions, compared with a position in quotes
)

// Name is one name that a condition may use.
type Name struct {
	Type      Type
	Slot      int      // where its value stands in the readings
	Positions []string // of a control, in order: the value is the index
}

// Scope is every name that a condition may use.
type Scope map[string]Name
