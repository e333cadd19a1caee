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
const scaleLegend = "─ normal ▒ caution █ limit ◆ reading"

// pairsWidth is the width from which on the engines stand side by side, each gauge with a scale that tells something.
const pairsWidth = 132

// compactGauge is the width of a gauge in the compact form.
const compactGauge = 26

// gaugePairs are the gauges by where they stand: those of the left engine, those of the right one in the same order,
// and those that there is only one of. They are indices into the profile.
type gaugePairs struct{ left, right, single []int }

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
			continue
		}
		if _, ok := other(i, "2", "1"); !ok {
			p.single = append(p.single, i)
		}
	}
	return p
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

// gaugeLines is how many lines all gauges take.
func (s *sitting) gaugeLines(width int, inPairs bool) int {
	if inPairs {
		lines := 0
		for _, column := range s.pairs.columns() {
			lines = max(lines, len(column.gauges)+column.titleLines())
		}
		return lines
	}
	columns := gaugeColumns(width)
	return (len(s.profile.Gauges) + columns - 1) / columns
}

func gaugeColumns(width int) int { return max(1, (width+1)/(compactGauge+1)) }

// drawGauges shows as many gauges as fit into lines, and says how many do not.
func (s *sitting) drawGauges(c *canvas, y, lines int, inPairs bool) {
	if lines <= 0 {
		return
	}
	if inPairs {
		width := (c.width - 4) / 3
		for i, column := range s.pairs.columns() {
			x, title := i*(width+2), column.titleLines()
			c.text(x, y, width, column.title, strong)
			s.drawColumn(c, x, y+title, width, lines-title, column.gauges)
		}
		return
	}
	columns := gaugeColumns(c.width)
	width := (c.width+1)/columns - 1
	for i := range columns {
		var gauges []int
		for g := i * lines; g < min(len(s.profile.Gauges), (i+1)*lines); g++ {
			gauges = append(gauges, g)
		}
		if i == columns-1 {
			for g := columns * lines; g < len(s.profile.Gauges); g++ {
				gauges = append(gauges, g)
			}
		}
		s.drawColumn(c, i*(width+1), y, width, lines, gauges)
	}
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
	gaugeMark  = 3
)

// drawGauge shows one gauge: name, value, unit, mark, scale. Where it is narrow, the mark takes the place of the unit:
// a unit never changes.
func (s *sitting) drawGauge(c *canvas, x, y, width, i int) {
	g := &s.profile.Gauges[i]
	value, band := at(s.view.Readings, i), at(s.view.Bands, i)
	alive := at(s.view.Alive, i) && !math.IsNaN(value) && !math.IsInf(value, 0)
	c.text(x, y, gaugeName, g.Name, plain)
	mark, as := bandMark(band)
	shown := "---"
	if alive {
		shown = strconv.FormatFloat(value, 'f', g.Decimals, 64)
	} else {
		mark, as = "", plain
	}
	end := x + width
	x += gaugeName
	c.right(x, y, gaugeValue, shown, as)
	x += gaugeValue + 1
	if width < compactGauge+gaugeMark+8 {
		if mark == "" {
			mark, as = unit(g.Unit), plain
		}
		c.text(x, y, gaugeUnit, mark, as)
		x += gaugeUnit + 1
	} else {
		c.text(x, y, gaugeUnit, unit(g.Unit), plain)
		x += gaugeUnit + 1
		c.text(x, y, gaugeMark, mark, as)
		x += gaugeMark + 1
	}
	drawScale(c, x, y, end-x, g, value, alive)
}

// unit is a unit as it is shown.
func unit(name string) string {
	if name == "degC" {
		return "°C"
	}
	return name
}

// bandMark says in letters what the colour of a band says: beyond a limit, or in the precautionary range.
func bandMark(colour aircraft.Colour) (string, look) {
	switch colour {
	case aircraft.Red:
		return "LIM", inRed
	case aircraft.Amber:
		return "CAU", inAmber
	case aircraft.Green:
		return "", inGreen
	}
	return "", plain
}

// drawScale draws the bands of a gauge from its lower to its upper end, each in a character and a colour of its own, and
// where the reading is. A reading off the scale is an arrow at its end.
func drawScale(c *canvas, x, y, width int, g *aircraft.Gauge, value float64, alive bool) {
	if width < 3 || !(g.Max > g.Min) {
		return
	}
	step := (g.Max - g.Min) / float64(width)
	for i := range width {
		from := g.Min + float64(float64(i)*step)
		char, as := bandChar(colourWithin(g.Bands, from, from+step))
		if !alive {
			char, as = '·', plain
		}
		c.fill(x+i, y, 1, char, as)
	}
	if !alive {
		return
	}
	switch {
	case value < g.Min:
		c.fill(x, y, 1, '<', strong)
	case value > g.Max:
		c.fill(x+width-1, y, 1, '>', strong)
	default:
		c.fill(x+min(width-1, int((value-g.Min)/step)), y, 1, '◆', strong)
	}
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
		return '█', inRed
	case aircraft.Amber:
		return '▒', inAmber
	case aircraft.Green:
		return '─', inGreen
	}
	return '·', plain
}
