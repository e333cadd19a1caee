package screen

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"hornlark/drill/aircraft"
)

// scaleLegend explains the characters of a scale.
const scaleLegend = "─ normal ═ caution ░ limit ◆ reading"

// pairsWidth is the width from which on the engines stand side by side, each gauge with a scale that tells something.
const pairsWidth = 132

// compactGauge is the width of a gauge in the compact form.
const compactGauge = 26

// gaugePairs are the gauges by where they stand: those of the left engine, those of the right one in the same order,
// and those that there is only one of. They are indices into the profile.
type gaugePairs struct {
	left, right, single []int
	cells               []gaugeCell // of the form without scales, in the order of the profile
	names               int         // width of the longest name of a cell, with the space after it
}

// gaugeCell is one gauge, or the same gauge of both engines.
type gaugeCell struct {
	name   string
	gauges []int
}

// pairGauges pairs gauges whose ids differ only in a final 1 and 2, and whose scales do not: N1 and N2 of one engine are no
// pair.
func pairGauges(gauges []aircraft.Gauge) gaugePairs {
	byID := map[string]int{}
	for i := range gauges {
		byID[gauges[i].ID] = i
	}
	other := func(i int, own, others string) (int, bool) {
		stem, ok := strings.CutSuffix(gauges[i].ID, own)
		j, there := byID[stem+others]
		return j, ok && there && slices.Equal(gauges[i].Bands, gauges[j].Bands)
	}
	var p gaugePairs
	for i := range gauges {
		if right, ok := other(i, "1", "2"); ok {
			p.left, p.right = append(p.left, i), append(p.right, right)
			if name, ok := commonName(gauges[i].Name, gauges[right].Name); ok {
				p.cells = append(p.cells, gaugeCell{name, []int{i, right}})
			} else {
				p.cells = append(p.cells, gaugeCell{gauges[i].Name, []int{i}}, gaugeCell{gauges[right].Name, []int{right}})
			}
			continue
		}
		if _, ok := other(i, "2", "1"); !ok {
			p.single = append(p.single, i)
			p.cells = append(p.cells, gaugeCell{gauges[i].Name, []int{i}})
		}
	}
	for _, cell := range p.cells {
		p.names = max(p.names, 1+min(textWidth(cell.name), gaugeName))
	}
	return p
}

// commonName is what the names of a pair have in common: "OIL P" of "OIL P 1" and "OIL P 2". False if they differ in more than
// a number or a letter at the end.
func commonName(left, right string) (string, bool) {
	stem, ok := strings.CutSuffix(left, "1")
	if !ok || stem+"2" != right {
		return "", false
	}
	return strings.TrimRight(stem, " -"), stem != ""
}

// gaugeColumn is a column of gauges under a title.
type gaugeColumn struct {
	title  string
	gauges []int
}

// columns are those of the wide form: the engines beside each other and then what there is one of, or, with one engine, what
// there is in three parts.
func (p *gaugePairs) columns() []gaugeColumn {
	if len(p.left) > 0 {
		return []gaugeColumn{{"LEFT", p.left}, {"RIGHT", p.right}, {"AIRCRAFT", p.single}}
	}
	columns := make([]gaugeColumn, 3)
	for i, each := 0, (len(p.single)+2)/3; i < 3; i++ {
		columns[i].gauges = p.single[min(i*each, len(p.single)):min((i+1)*each, len(p.single))]
	}
	return columns
}

func (g *gaugeColumn) titleLines() int { return min(len(g.title), 1) }

// gaugeForm is how much of the gauges is shown.
type gaugeForm uint8

const (
	digits gaugeForm = iota // both engines in one cell, without a scale; what there is only one of has a short one
	scaled                  // each gauge with a scale
	paired                  // the engines side by side, each gauge with a scale that tells something
)

// gaugeLines is how many lines all gauges take.
func (s *sitting) gaugeLines(width int, form gaugeForm) int {
	lines := 0
	switch form {
	case paired:
		for _, column := range s.pairs.columns() {
			lines = max(lines, len(column.gauges)+column.titleLines())
		}
	case scaled:
		lines = over(len(s.profile.Gauges), gaugeColumns(width))
	case digits:
		lines = over(len(s.pairs.cells), s.digitColumns(width))
	}
	return lines
}

// over is how many lines n things take in so many columns.
func over(n, columns int) int { return (n + columns - 1) / columns }

func gaugeColumns(width int) int { return max(1, (width+1)/(compactGauge+1)) }

// drawGauges shows as many gauges as fit into lines, and says how many do not.
func (s *sitting) drawGauges(c *canvas, y, lines int, form gaugeForm) {
	if lines <= 0 {
		return
	}
	switch form {
	case paired:
		width := (c.width - 4) / 3
		for i, column := range s.pairs.columns() {
			x, title := i*(width+2), column.titleLines()
			c.text(x, y, width, column.title, faint)
			s.drawColumn(c, x, y+title, width, lines-title, column.gauges)
		}
	case scaled:
		columns := gaugeColumns(c.width)
		width := (c.width+1)/columns - 1
		for i := range columns {
			s.drawColumn(c, i*(width+1), y, width, lines, part(len(s.profile.Gauges), lines, i, columns))
		}
	case digits:
		columns := s.digitColumns(c.width)
		width := c.width / columns
		for i := range columns {
			cells := part(len(s.pairs.cells), lines, i, columns)
			for row, n := range cells {
				if row == lines-1 && len(cells) > lines {
					c.text(i*width, y+row, width-1, fmt.Sprintf("+%d gauges", len(cells)-row), strong)
					break
				}
				s.drawDigits(c, i*width, y+row, width-1, s.pairs.cells[n])
			}
		}
	}
}

// part is which of n things stand in a column of so many lines; the last column has all that are left.
func part(n, lines, column, columns int) []int {
	var of []int
	for i := column * lines; i < n && (i < (column+1)*lines || column == columns-1); i++ {
		of = append(of, i)
	}
	return of
}

// digitColumns is how many cells stand beside each other in the form without scales.
func (s *sitting) digitColumns(width int) int {
	return max(1, width/(s.pairs.names+2*digitValue+1))
}

// digitValue is the width of a reading in the form without scales, with its mark right behind it.
const digitValue = 6

// drawDigits shows a cell of the form without scales: the name once, and one reading or two, each with its mark. Where there
// is one, it has a scale beside it.
func (s *sitting) drawDigits(c *canvas, x, y, width int, cell gaugeCell) {
	c.text(x, y, s.pairs.names, cell.name, plain)
	end := x + width
	x += s.pairs.names
	for _, i := range cell.gauges {
		shown, mark, as, _ := s.reading(i)
		c.right(x, y, digitValue-1, shown, as)
		c.text(x+digitValue-1, y, 1, mark, as)
		x += digitValue
	}
	if len(cell.gauges) == 1 {
		_, _, _, alive := s.reading(cell.gauges[0])
		drawScale(c, x+1, y, end-x-1, &s.profile.Gauges[cell.gauges[0]], at(s.view.Readings, cell.gauges[0]), alive)
	}
}

// reading is what a gauge reads, as it is shown, marked and lit.
func (s *sitting) reading(i int) (shown, mark string, as look, alive bool) {
	value := at(s.view.Readings, i)
	if !at(s.view.Alive, i) || math.IsNaN(value) || math.IsInf(value, 0) {
		return "---", "", plain, false
	}
	mark, as = bandMark(at(s.view.Bands, i))
	return strconv.FormatFloat(value, 'f', s.profile.Gauges[i].Decimals, 64), mark, as, true
}

func (s *sitting) drawColumn(c *canvas, x, y, width, lines int, gauges []int) {
	for i, g := range gauges {
		if i == lines-1 && len(gauges) > lines {
			c.text(x, y+i, width, fmt.Sprintf("+%d gauges", len(gauges)-i), strong)
			return
		}
		s.drawGauge(c, x, y+i, width, g)
	}
}

// Columns of a gauge.
const (
	gaugeName  = 8
	gaugeValue = 6
	gaugeUnit  = 3
)

// drawGauge shows one gauge: name, value, mark, unit, scale.
func (s *sitting) drawGauge(c *canvas, x, y, width, i int) {
	g := &s.profile.Gauges[i]
	c.text(x, y, gaugeName, g.Name, plain)
	shown, mark, as, alive := s.reading(i)
	end := x + width
	x += gaugeName
	c.right(x, y, gaugeValue, shown, as)
	x += gaugeValue
	c.text(x, y, 1, mark, as)
	x++
	c.text(x, y, gaugeUnit, unit(g.Unit), faint)
	x += gaugeUnit + 1
	drawScale(c, x, y, end-x, g, at(s.view.Readings, i), alive)
}

// unit is a unit as it is shown.
func unit(name string) string {
	if name == "degC" {
		return "°C"
	}
	return name
}

// bandMark says with a mark what the colour of a band says: beyond a limit, or in the precautionary range.
func bandMark(colour aircraft.Colour) (string, look) {
	switch colour {
	case aircraft.Red:
		return "!", inRed
	case aircraft.Amber:
		return "*", inAmber
	case aircraft.Green:
		return "", inGreen
	}
	return "", plain
}

// drawScale draws the bands of a gauge from its lower to its upper end, each in a character and a colour of its own, and
// where the reading is. Bands are dim but for an amber or red one that the reading is in: where all is well nothing is bright.
// A reading off the scale is an arrow at its end.
func drawScale(c *canvas, x, y, width int, g *aircraft.Gauge, value float64, alive bool) {
	if width < 3 || !(g.Max > g.Min) {
		return
	}
	if !alive {
		c.fill(x, y, width, '·', faint)
		return
	}
	step := (g.Max - g.Min) / float64(width)
	within := min(max(value, g.Min), g.Max) // a reading off the scale is in the band at its end
	in := colourWithin(g.Bands, within, within)
	for i := range width {
		from := g.Min + float64(float64(i)*step)
		colour := colourWithin(g.Bands, from, from+step)
		char, as := bandChar(colour)
		if colour == in && sameBand(g.Bands, colour, from, from+step, within) {
			as = lightOf(colour)
		}
		c.fill(x+i, y, 1, char, as)
	}
	needle := strong
	if in == aircraft.Amber || in == aircraft.Red {
		needle = lightOf(in)
	}
	switch {
	case value < g.Min:
		c.fill(x, y, 1, '<', needle)
	case value > g.Max:
		c.fill(x+width-1, y, 1, '>', needle)
	default:
		c.fill(x+min(width-1, int((value-g.Min)/step)), y, 1, '◆', needle)
	}
}

// sameBand reports whether a piece of the scale belongs to the band of a colour that the reading is in: a gauge may have two
// bands of one colour.
func sameBand(bands []aircraft.Band, colour aircraft.Colour, from, to, value float64) bool {
	for _, b := range bands {
		if b.Colour == colour && value >= b.From && value <= b.To && b.From < to && b.To > from {
			return true
		}
	}
	return false
}

// lightOf is how the part of a scale is drawn that the reading is in.
func lightOf(colour aircraft.Colour) look {
	switch colour {
	case aircraft.Red:
		return onRed
	case aircraft.Amber:
		return inAmber
	case aircraft.Green:
		return bandGreen
	}
	return faint
}

// colourWithin is the most urgent colour that takes up a fair part of a piece of the scale. A limit at the very end of
// a scale must not vanish because the piece is mostly green.
func colourWithin(bands []aircraft.Band, from, to float64) aircraft.Colour {
	const fair = 0.25
	var found aircraft.Colour
	for _, b := range bands {
		overlap := min(b.To, to) - max(b.From, from)
		if overlap >= (to-from)*fair && urgency(b.Colour) > urgency(found) {
			found = b.Colour
		}
	}
	return found
}

func urgency(c aircraft.Colour) int {
	switch c {
	case aircraft.Red:
		return 4
	case aircraft.Amber:
		return 3
	case aircraft.Green:
		return 2
	case aircraft.White:
		return 1
	}
	return 0
}

func bandChar(colour aircraft.Colour) (rune, look) {
	switch colour {
	case aircraft.Red:
		return '░', bandRed
	case aircraft.Amber:
		return '═', bandAmber
	case aircraft.Green:
		return '─', bandGreen
	}
	return '·', faint
}
