package trace

import (
	"bytes"
	"errors"
	"fmt"
	"image/color"
	"io"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/inert"
	"hornlark/drill/logbook"
)

// The size of the plot: every panel is as high as the next.
const (
	width  = 28 * vg.Centimeter
	height = 2.5 * vg.Centimeter
	small  = vg.Length(7) // size of the writing, pt
	line   = small * 1.4
)

// To the right of the curves is a margin for words, at these multiples of the length of the sitting.
const (
	bandsAt  = 1.006 // what the bands are
	namesAt  = 1.09  // what the curves are, after a piece of each
	marginTo = 1.19
)

// curves are told apart by dashes as well as by colour.
var curves = []draw.LineStyle{
	{Color: color.Black, Width: vg.Points(1.1)},
	{Color: color.RGBA{R: 20, G: 70, B: 170, A: 255}, Width: vg.Points(1.1), Dashes: []vg.Length{vg.Points(5), vg.Points(2)}},
	{Color: color.RGBA{R: 120, G: 60, B: 0, A: 255}, Width: vg.Points(1.1), Dashes: []vg.Length{vg.Points(1.5), vg.Points(1.5)}},
	{Color: color.RGBA{R: 90, G: 90, B: 90, A: 255}, Width: vg.Points(1.1), Dashes: []vg.Length{vg.Points(8), vg.Points(2), vg.Points(1), vg.Points(2)}},
}

// meaning is what a band says, and a ground pale enough for a curve to be read on it. All of these figures are ours.
type meaning struct {
	words  string
	ground color.Color
}

var meanings = map[aircraft.Colour]meaning{
	aircraft.Green: {"normal", color.RGBA{R: 210, G: 240, B: 235, A: 255}},
	aircraft.Amber: {"caution", color.RGBA{R: 255, G: 238, B: 190, A: 255}},
	aircraft.Red:   {"off limits", color.RGBA{R: 250, G: 208, B: 208, A: 255}},
	aircraft.White: {"advisory", color.RGBA{R: 245, G: 245, B: 245, A: 255}},
}

// ErrNothing is for a plot of nothing.
var ErrNothing = errors.New("there is nothing to plot")

// WriteSVG writes a plot over the running time: two panels of what happened, and one for each scale with limits, gauges that
// have the same limits together. It has a title and a description for whoever cannot see it.
func (t *Trace) WriteSVG(w io.Writer) error {
	scales := t.scales()
	if len(scales) == 0 {
		return fmt.Errorf("no gauge of %s has limits: %w; the table has all of them", t.profile.Name, ErrNothing)
	}
	if len(t.rows) == 0 {
		return fmt.Errorf("the sitting was over before its first step: %w", ErrNothing)
	}
	panels := [][]*plot.Plot{{t.flow()}, {t.interruptions()}}
	for _, gauges := range scales {
		panels = append(panels, []*plot.Plot{t.panel(gauges)})
	}
	showTime(panels[1][0])
	showTime(panels[len(panels)-1][0])

	head := t.head()
	headHeight := vg.Length(len(head)+1) * line
	canvas := vgsvg.New(width, headHeight+vg.Length(len(panels))*height)
	whole := draw.New(canvas)
	edge := vg.Points(6)
	for i, words := range head {
		whole.FillText(writing(draw.XLeft), vg.Point{X: edge, Y: whole.Max.Y - vg.Length(i+1)*line}, words)
	}
	tiles := draw.Tiles{Rows: len(panels), Cols: 1, PadY: edge, PadLeft: edge, PadRight: edge, PadBottom: edge}
	for i, row := range plot.Align(panels, tiles, draw.Crop(whole, 0, 0, 0, -headHeight)) {
		panels[i][0].Draw(row[0])
	}
	var picture bytes.Buffer
	if _, err := canvas.WriteTo(&picture); err != nil {
		return err
	}
	// A carriage return has become a reference, behind which it would come back to life.
	_, err := inert.Markup(w).Write(bytes.ReplaceAll(t.describe(picture.Bytes()), []byte("&#xD;"), []byte(`\u000d`)))
	return err
}

// head is what stands above the plot: what was seen, and the caution, without which a plot is not handed on.
func (t *Trace) head() []string {
	what := t.profile.Title
	for i := range t.entries {
		if e := &t.entries[i]; e.Kind == logbook.Begin {
			what = fmt.Sprintf("%s: %s, policy %s, seed %d", what, e.Text, e.Name, e.Seed)
		}
	}
	return append([]string{what}, debrief.CautionLines(debrief.CautionOf(t.profile), 140)...)
}

// scales puts the gauges with limits together that have the same, in the order of the profile.
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
			return first.Unit == g.Unit && slices.Equal(first.Bands, g.Bands) && len(group) < len(curves)
		})
		if at < 0 {
			groups, at = append(groups, nil), len(groups)
		}
		groups[at] = append(groups[at], i)
	}
	return groups
}

// drawn is a part of a panel that draws itself.
type drawn func(c draw.Canvas, p *plot.Plot)

// Plot draws the part, as a plot asks it to.
func (d drawn) Plot(c draw.Canvas, p *plot.Plot) { d(c, p) }

// axes is an empty panel over the time of the sitting.
func (t *Trace) axes(from, to float64) *plot.Plot {
	p := plot.New()
	p.HideX()
	p.X.Min, p.X.Max = 0, t.end()*marginTo
	p.Y.Min, p.Y.Max = from, to
	p.X.Padding, p.Y.Padding = 0, 0
	for _, style := range []*text.Style{&p.X.Tick.Label, &p.Y.Tick.Label, &p.Y.Label.TextStyle} {
		style.Font = sans
	}
	return p
}

var sans = font.Font{Typeface: "Liberation", Variant: "Sans", Size: small}

// writing is how words are written.
func writing(align draw.XAlignment) text.Style {
	return text.Style{Color: color.Black, Font: sans, XAlign: align, YAlign: draw.YCenter, Handler: plot.DefaultTextHandler}
}

func (t *Trace) end() float64 { return t.rows[len(t.rows)-1].at.Seconds() }

// showTime has a panel tell the time.
func showTime(p *plot.Plot) {
	p.X.Width, p.X.Tick.Width, p.X.Tick.Length = vg.Points(0.5), vg.Points(0.5), vg.Points(4)
	p.X.Tick.Marker = plot.TickerFunc(func(float64, float64) []plot.Tick { return minutes(p.X.Max / marginTo) })
}

// minutes marks the running time up to an end, in seconds, as minutes and seconds.
func minutes(end float64) []plot.Tick {
	step := 10.0
	for _, wider := range []float64{30, 60, 120, 300, 600, 1800} {
		if end/step > 16 {
			step = wider
		}
	}
	var ticks []plot.Tick
	for s := 0.0; s <= end; s += step {
		ticks = append(ticks, plot.Tick{Value: s, Label: fmt.Sprintf("%d:%02d", int(s)/60, int(s)%60)})
	}
	return ticks
}

// panel shows the gauges of one scale on their limits.
func (t *Trace) panel(gauges []int) *plot.Plot {
	p := t.axes(t.reach(gauges))
	first := &t.profile.Gauges[gauges[0]]
	p.Y.Label.Text = first.Unit
	p.Add(
		drawn(func(c draw.Canvas, p *plot.Plot) { t.bands(c, p, first.Bands) }),
		drawn(t.lines),
		drawn(func(c draw.Canvas, p *plot.Plot) {
			for n, i := range gauges {
				for _, stretch := range t.stretches(i) {
					c.StrokeLines(curves[n], c.ClipLinesXY(lean(stretch, p, &c))...)
				}
				t.name(c, p, n, t.profile.Gauges[i].Name)
			}
		}),
	)
	return p
}

// reach is the part of a scale that is shown: what was seen, and the limits next to it.
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

// bands shades the limits, and says in words what each is where there is room for a word.
func (t *Trace) bands(c draw.Canvas, p *plot.Plot, bands []aircraft.Band) {
	x, y := p.Transforms(&c)
	for _, b := range bands {
		from, to := max(b.From, p.Y.Min), min(b.To, p.Y.Max)
		if from >= to {
			continue
		}
		m := meanings[b.Colour]
		left, right, bottom, top := x(0), x(t.end()), y(from), y(to)
		c.FillPolygon(m.ground, []vg.Point{{X: left, Y: bottom}, {X: right, Y: bottom}, {X: right, Y: top}, {X: left, Y: top}})
		if top-bottom >= small {
			c.FillText(writing(draw.XLeft), vg.Point{X: x(t.end() * bandsAt), Y: (bottom + top) / 2}, m.words)
		}
	}
}

// name says in the margin what the nth curve is.
func (t *Trace) name(c draw.Canvas, p *plot.Plot, n int, name string) {
	x, _ := p.Transforms(&c)
	left, at := x(t.end()*namesAt), c.Max.Y-vg.Length(n)*line-small/2
	c.StrokeLine2(curves[n], left, at, left+vg.Points(18), at)
	c.FillText(writing(draw.XLeft), vg.Point{X: left + vg.Points(22), Y: at}, name)
}

// point is a moment, in seconds, and a value.
type point struct{ x, y float64 }

// stretches are the times during which a gauge shows anything.
func (t *Trace) stretches(gauge int) [][]point {
	var all [][]point
	alive := false
	for i := range t.rows {
		v := t.rows[i].readings[gauge]
		if v.alive && !alive {
			all = append(all, nil)
		}
		if alive = v.alive; alive {
			last := &all[len(all)-1]
			*last = append(*last, point{t.rows[i].at.Seconds(), v.value})
		}
	}
	return all
}

// lean puts a stretch onto the canvas without the points that nobody would miss: those between two that are as high. A long
// sitting has thousands.
func lean(stretch []point, p *plot.Plot, c *draw.Canvas) []vg.Point {
	const unseen = 0.1 // pt
	x, y := p.Transforms(c)
	var kept []vg.Point
	skipped := false
	for i, s := range stretch {
		at := vg.Point{X: x(s.x), Y: y(s.y)}
		if i > 0 && i < len(stretch)-1 && math.Abs(float64(at.Y-kept[len(kept)-1].Y)) < unseen {
			skipped = true
			continue
		}
		if skipped {
			before := stretch[i-1]
			kept = append(kept, vg.Point{X: x(before.x), Y: y(before.y)})
			skipped = false
		}
		kept = append(kept, at)
	}
	return kept
}
