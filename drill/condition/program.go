package condition

import (
	"math"
	"slices"
)

// A condition is asked fifty times a second beside a hundred others, so it is kept as what the processor likes: a row of looks
// that lie side by side, each of which leads on to another one or to the answer. Every comparison of a reading with a figure is a
// look at whether the reading lies in a range.

// look is one question about the readings, and where each answer leads: to another look, or to an end.
type look struct {
	slot      int32
	yes, no   int16
	low, high float64 // yes where the reading is within these, both included
	other     truth   // what no range says, asked instead
}

// The ends of a row of looks.
const (
	holds    int16 = -1
	holdsNot int16 = -2
)

// clause is a condition, or a part of one, that has been understood and not yet been laid out. Exactly one of its kinds is set.
type clause struct {
	parts   []*clause // a run of "and", or of "or"
	all     bool      // it is "and"
	inverse *clause   // "not"
	fixed   *bool     // true or false whatever the readings are
	look    look
}

// within is the clause that the reading in a slot lies in a range.
func within(slot int, low, high float64) *clause {
	return &clause{look: look{slot: int32(slot), low: low, high: high}}
}

// anything is the clause of what no range says.
func anything(so truth) *clause { return &clause{look: look{other: so}} }

func not(c *clause) *clause { return &clause{inverse: c} }

// program lays a clause out. It is written from its end to its beginning, so that where an answer leads is known by then.
type program struct{ looks []look }

// lay appends the looks of a clause and gives the one to begin with: one that is written already, or an end.
func (p *program) lay(c *clause, yes, no int16) (first int16) {
	switch {
	case c.inverse != nil:
		return p.lay(c.inverse, no, yes)
	case c.fixed != nil && *c.fixed:
		return yes
	case c.fixed != nil:
		return no
	case c.parts != nil:
		first = yes
		if !c.all {
			first = no
		}
		for _, part := range slices.Backward(c.parts) {
			if c.all {
				first = p.lay(part, first, no)
			} else {
				first = p.lay(part, yes, first)
			}
		}
		return first
	}
	l := c.look
	l.yes, l.no = yes, no
	p.looks = append(p.looks, l)
	return int16(len(p.looks) - 1)
}

// Holds reports whether the condition is true of the readings, which must be those of the scope it was compiled for.
func (c *Condition) Holds(readings []float64) bool {
	at := c.first
	for at >= 0 {
		l := &c.looks[at]
		var so bool
		if l.other == nil {
			reading := readings[l.slot]
			so = l.low <= reading && reading <= l.high
		} else {
			so = l.other(readings)
		}
		if so {
			at = l.yes
		} else {
			at = l.no
		}
	}
	return at == holds
}

// againstFigure compares the reading in a slot with a figure. What lies below a figure lies at most at the number before it, so
// this is exact, and what is no number is in no range, as it is neither above nor below nor equal to anything.
func againstFigure(operator string, slot int, figure float64) *clause {
	switch operator {
	case "<":
		return within(slot, math.Inf(-1), math.Nextafter(figure, math.Inf(-1)))
	case "<=":
		return within(slot, math.Inf(-1), figure)
	case ">":
		return within(slot, math.Nextafter(figure, math.Inf(1)), math.Inf(1))
	case ">=":
		return within(slot, figure, math.Inf(1))
	case "==":
		return within(slot, figure, figure)
	}
	return not(within(slot, figure, figure))
}
