package aircraft

import (
	"math"
	"slices"
	"strconv"

	"hornlark/drill/condition"
)

// maxNotches is the number of positions that a control may have.
const maxNotches = 64

// Count is the number of positions; of a lever, its notches.
func (c *Control) Count() int {
	if c.Travel != nil {
		return c.Travel.count()
	}
	return len(c.Positions)
}

// Label is what position i is called; a notch of a lever is called by its number. It is "" for a position that does
// not exist.
func (c *Control) Label(i int) string {
	switch {
	case i < 0 || i >= c.Count():
		return ""
	case c.Travel != nil:
		return strconv.FormatFloat(c.Travel.at(i), 'f', -1, 64)
	}
	return c.Positions[i]
}

// Index finds the position that is called so. A notch may be written with decimals that do not change its number.
func (c *Control) Index(position string) (int, bool) {
	if c.Travel == nil {
		i := slices.Index(c.Positions, position)
		return i, i >= 0
	}
	value, err := strconv.ParseFloat(position, 64)
	if err != nil {
		return 0, false
	}
	for i := range c.Count() {
		if c.Travel.at(i) == value {
			return i, true
		}
	}
	return 0, false
}

// Zone is where the control stands, by the row of its key; "" if it has none.
func (c *Control) Zone() Zone { return zoneOf(c.Key) }

// labels is every position in order.
func (c *Control) labels() []string {
	out := make([]string, c.Count())
	for i := range out {
		out[i] = c.Label(i)
	}
	return out
}

// start is the position of the control in a cold and dark aircraft.
func (c *Control) start() int {
	if i, ok := c.Index(c.Start); ok {
		return i
	}
	return 0
}

// kind is the type that the control has in a condition.
func (c *Control) kind() condition.Type {
	switch {
	case c.Travel != nil:
		return condition.Number
	case len(c.Positions) == 2:
		return condition.Switch
	}
	return condition.Selector
}

// reading is what a condition reads of the control in position i: a lever's value, otherwise the index.
func (c *Control) reading(i int) float64 {
	if c.Travel != nil {
		return c.Travel.at(i)
	}
	return float64(i)
}

// count is the number of notches, or 0 if the travel makes no sense.
func (t *Travel) count() int {
	n := math.Floor((t.To-t.From)/t.Step+1e-9) + 1
	if !(t.Step > 0) || !(n >= 2 && n <= maxNotches) {
		return 0
	}
	return int(n)
}

// at is the value of a notch, rounded so that twelve tenths are 1.2 and not a hair beside it.
func (t *Travel) at(i int) float64 {
	return math.Round((t.From+float64(float64(i)*t.Step))*1e6) / 1e6
}
