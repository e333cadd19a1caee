package trace

import (
	"fmt"
	"image/color"
	"io"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
)

// The size of the plot: every panel is as high as the next.
const (
	width  = 30 * vg.Centimeter
	height = 3.6 * vg.Centimeter
)

// The colours of the limits, pale enough for a curve to be read on them. Each band also says in words what it is.
var ground = map[aircraft.Colour]color.Color{
	aircraft.Green: color.RGBA{R: 228, G: 244, B: 228, A: 255},
	aircraft.Amber: color.RGBA{R: 255, G: 240, B: 205, A: 255},
	aircraft.Red:   color.RGBA{R: 250, G: 214, B: 210, A: 255},
}

// The curves of one panel, told apart by their dashes.
var dashes = [][]vg.Length{nil, {vg.Points(5), vg.Points(2)}, {vg.Points(1), vg.Points(2)}, {vg.Points(8), vg.Points(2), vg.Points(1), vg.Points(2)}}

// WriteSVG writes a plot: a panel for each scale with limits, gauges of one scale together; above them the phases and the
// abnormals, below them the keys.
func (t *Trace) WriteSVG(w io.Writer) error {
	var panels []*plot.Plot
	for _, gauges := range t.scales() {
		p, err := t.panel(gauges)
		if err != nil {
			return err
		}
		panels = append(panels, p)
	}
	if len(panels) == 0 || len(t.rows) == 0 {
		return fmt.Errorf("there is nothing to plot")
	}
	events, err := t.events()
	if err != nil {
		return err
	}
	panels = slices.Insert(panels, 0, events)
	canvas := vgsvg.New(width, vg.Length(len(panels))*height)
	var rows [][]*plot.Plot
	for _, p := range panels {
		rows = append(rows, []*plot.Plot{p})
	}
	tiles := draw.Tiles{Rows: len(rows), Cols: 1, PadY: vg.Points(6), PadLeft: vg.Points(6), PadRight: vg.Points(12), PadTop: vg.Points(6), PadBottom: vg.Points(6)}
	for i, row := range plot.Align(rows, tiles, draw.New(canvas)) {
		panels[i].Draw(row[0])
	}
	_, err = canvas.WriteTo(w)
	return err
}

// scales gives the gauges with limits, those with the same scale and limits together.
func (t *Trace) scales() [][]int {
	var groups [][]int
	gauges := t.profile.Gauges
	for i := range gauges {
		g := &gauges[i]
		if len(g.Bands) == 0 {
			continue
		}
		at := slices.IndexFunc(groups, func(group []int) bool {
			first := &gauges[group[0]]
			return first.Unit == g.Unit && slices.Equal(first.Bands, g.Bands) && len(group) < len(dashes)
		})
		if at < 0 {
			groups = append(groups, []int{i})
			continue
		}
		groups[at] = append(groups[at], i)
	}
	return groups
}

// panel plots the gauges of one scale on their limits.
func (t *Trace) panel(gauges []int) (*plot.Plot, error) {
	p := t.axes()
	first := &t.profile.Gauges[gauges[0]]
	p.Y.Min, p.Y.Max = t.reach(gauges)
	for _, b := range first.Bands {
		from, to := max(b.From, p.Y.Min), min(b.To, p.Y.Max)
		if from >= to {
			continue
		}
		if err := t.band(p, b.Colour, from, to); err != nil {
			return nil, err
		}
	}
	if err := t.spans(p); err != nil {
		return nil, err
	}
	var names []string
	for n, i := range gauges {
		names = append(names, t.profile.Gauges[i].Name)
		for j, stretch := range t.stretches(i) {
			line, err := plotter.NewLine(stretch)
			if err != nil {
				return nil, err
			}
			line.Width, line.Dashes = vg.Points(1), dashes[n]
			p.Add(line)
			if j == 0 && len(gauges) > 1 {
				p.Legend.Add(t.profile.Gauges[i].Name, line)
			}
		}
	}
	p.Legend.Left, p.Legend.Top = true, true
	p.Y.Label.Text = strings.Join(names, ", ") + " (" + first.Unit + ")"
	if len(names) > 2 {
		p.Y.Label.Text = names[0] + "... (" + first.Unit + ")"
	}
	return p, nil
}

// axes is an empty panel over the time of the sitting.
func (t *Trace) axes() *plot.Plot {
	p := plot.New()
	p.X.Min, p.X.Max = 0, t.end()*1.05 // room for the words about the bands
	p.X.Tick.Marker = plot.TickerFunc(minutes)
	p.Y.Label.TextStyle.Font.Size = vg.Points(8)
	p.Legend.TextStyle.Font.Size = vg.Points(8)
	for _, axis := range []*plot.Axis{&p.X, &p.Y} {
		axis.Tick.Label.Font.Size = vg.Points(7)
	}
	return p
}

func (t *Trace) end() float64 { return t.rows[len(t.rows)-1].at.Seconds() }

// minutes marks time as minutes and seconds.
func minutes(from, to float64) []plot.Tick {
	step := 10.0
	for _, wider := range []float64{30, 60, 120, 300, 600, 1800} {
		if (to-from)/step > 16 {
			step = wider
		}
	}
	var ticks []plot.Tick
	for s := 0.0; s <= to; s += step { // from the beginning of the sitting
		ticks = append(ticks, plot.Tick{Value: s, Label: fmt.Sprintf("%d:%02d", int(s)/60, int(s)%60)})
	}
	return ticks
}

// reach is the part of a scale that is plotted: what was seen, and the limits next to it.
func (t *Trace) reach(gauges []int) (from, to float64) {
	g := &t.profile.Gauges[gauges[0]]
	from, to = g.Max, g.Min
	for _, i := range gauges {
		for j := range t.rows {
			if v := t.rows[j].readings[i]; v.alive {
				from, to = min(from, v.value), max(to, v.value)
			}
		}
	}
	for _, b := range g.Bands {
		if b.Colour == aircraft.Green {
			from, to = min(from, b.From), max(to, b.To)
		}
	}
	room := (to - from) / 10
	return max(from-room, g.Min), min(to+room, g.Max)
}

// band shades a part of a scale and says what it is.
func (t *Trace) band(p *plot.Plot, c aircraft.Colour, from, to float64) error {
	end := p.X.Max
	area, err := plotter.NewPolygon(plotter.XYs{{X: 0, Y: from}, {X: end, Y: from}, {X: end, Y: to}, {X: 0, Y: to}})
	if err != nil {
		return err
	}
	area.Color, area.LineStyle.Width = ground[c], 0
	p.Add(area)
	if (to-from)/(p.Y.Max-p.Y.Min) < 0.08 {
		return nil // too narrow for the word; the colour's neighbours have theirs
	}
	return words(p, end, (from+to)/2, string(c), draw.XRight)
}

// words writes at a place of a panel.
func words(p *plot.Plot, x, y float64, text string, align draw.XAlignment) error {
	label, err := plotter.NewLabels(plotter.XYLabels{XYs: plotter.XYs{{X: x, Y: y}}, Labels: []string{text}})
	if err != nil {
		return err
	}
	label.TextStyle[0].Font.Size = vg.Points(7)
	label.TextStyle[0].XAlign, label.TextStyle[0].YAlign = align, draw.YCenter
	p.Add(label)
	return nil
}

// stretches are the times during which a gauge shows anything.
func (t *Trace) stretches(gauge int) []plotter.XYs {
	var all []plotter.XYs
	alive := false
	for i := range t.rows {
		v := t.rows[i].readings[gauge]
		if v.alive && !alive {
			all = append(all, nil)
		}
		if alive = v.alive; alive {
			last := &all[len(all)-1]
			*last = append(*last, plotter.XY{X: t.rows[i].at.Seconds(), Y: v.value})
		}
	}
	return all
}

// span is an abnormal from the first of its cues to its end.
type span struct {
	abnormal string
	from, to float64 // s
	how      logbook.Kind
}

func (t *Trace) abnormals() []span {
	var all []span
	for i := range t.entries {
		e := &t.entries[i]
		switch e.Kind {
		case logbook.Onset:
			all = append(all, span{abnormal: e.Abnormal, from: e.At.Seconds(), to: t.end()})
		case logbook.Handled, logbook.Lost:
			for j := range all {
				if all[j].abnormal == e.Abnormal && all[j].how == "" {
					all[j].to, all[j].how = e.At.Seconds(), e.Kind
				}
			}
		}
	}
	return all
}

// spans marks beginning and end of each abnormal over the height of a panel.
func (t *Trace) spans(p *plot.Plot) error {
	for _, s := range t.abnormals() {
		for i, x := range []float64{s.from, s.to} {
			line, err := plotter.NewLine(plotter.XYs{{X: x, Y: p.Y.Min}, {X: x, Y: p.Y.Max}})
			if err != nil {
				return err
			}
			line.Width, line.Dashes = vg.Points(0.8), [][]vg.Length{nil, {vg.Points(2), vg.Points(2)}}[i]
			line.Color = color.RGBA{R: 90, G: 40, B: 140, A: 255}
			p.Add(line)
		}
	}
	return nil
}

// The rows of the panel of events.
const (
	keysRow  = 0.5
	firstRow = 1.5 // of the abnormals, which take turns
	rowsEach = 2
	phaseRow = firstRow + rowsEach
	rows     = phaseRow + 0.6
)

// events is the panel of what happened: phases, abnormals by name with how they ended, and a stroke for each key.
func (t *Trace) events() (*plot.Plot, error) {
	p := t.axes()
	p.Y.Min, p.Y.Max = 0, rows
	p.Y.Label.Text = "events"
	p.Y.Tick.Marker = plot.ConstantTicks{{Value: keysRow, Label: "keys"}, {Value: firstRow + 0.5, Label: "abnormals"}, {Value: phaseRow, Label: "phases"}}
	if err := t.spans(p); err != nil {
		return nil, err
	}
	for i, s := range t.abnormals() {
		how := string(s.how)
		if how == "" {
			how = "no end"
		}
		align, x := draw.XLeft, s.from
		text := " " + s.abnormal + ", " + how
		if s.from > t.end()*0.8 {
			align, text = draw.XRight, s.abnormal+", "+how+" "
		}
		if err := words(p, x, firstRow+float64(i%rowsEach), text, align); err != nil {
			return nil, err
		}
	}
	phase := 0
	for i := range t.entries {
		e := &t.entries[i]
		switch e.Kind {
		case logbook.Press:
			line, err := plotter.NewLine(plotter.XYs{{X: e.At.Seconds(), Y: 0.1}, {X: e.At.Seconds(), Y: 2*keysRow - 0.1}})
			if err != nil {
				return nil, err
			}
			line.Width = vg.Points(0.5)
			p.Add(line)
		case logbook.Phase:
			phase++
			if err := words(p, e.At.Seconds(), phaseRow+0.3*float64(phase%2), "|"+e.Name, draw.XLeft); err != nil {
				return nil, err
			}
		}
	}
	return p, nil
}

// Length is the running time of what was seen.
func (t *Trace) Length() time.Duration {
	if len(t.rows) == 0 {
		return 0
	}
	return t.rows[len(t.rows)-1].at
}
