package trace

import (
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"hornlark/drill/debrief"
	"hornlark/drill/logbook"
	"hornlark/drill/score"
)

// The lines of what happened.
var (
	violet     = color.RGBA{R: 90, G: 40, B: 140, A: 255}
	onsetLine  = draw.LineStyle{Color: violet, Width: vg.Points(0.8)}
	endLine    = draw.LineStyle{Color: violet, Width: vg.Points(0.8), Dashes: []vg.Length{vg.Points(2), vg.Points(2)}}
	phaseLine  = draw.LineStyle{Color: color.RGBA{R: 120, G: 120, B: 120, A: 255}, Width: vg.Points(0.5), Dashes: []vg.Length{vg.Points(0.7), vg.Points(2)}}
	strokeLine = draw.LineStyle{Color: color.Black, Width: vg.Points(0.6)}
	crossLine  = draw.LineStyle{Color: color.RGBA{R: 143, G: 29, B: 20, A: 255}, Width: vg.Points(1.2)}
	barLine    = draw.LineStyle{Color: color.Black, Width: vg.Points(3)}
	speechLine = draw.LineStyle{Color: color.RGBA{R: 110, G: 110, B: 110, A: 255}, Width: vg.Points(3)}
)

// span is a part of the sitting, in seconds of its running time.
type span struct {
	from, to float64
	name     string
}

// The heights at which things stand in the panels of what happened, counted from the bottom.
const (
	lanes = 6 // of each panel

	keysLane      = 0.5
	speechLane    = 1.5
	soundLanes    = 2.5 // and the one above
	abnormalLanes = 4.5 // and the one above

	itemsLane  = 0.5
	slipLanes  = 1.5 // and two above
	slipRows   = 3
	phaseLanes = 4.5 // and the one above
)

// lines marks phases and abnormals over the height of a panel.
func (t *Trace) lines(c draw.Canvas, p *plot.Plot) {
	x, _ := p.Transforms(&c)
	for _, s := range t.phases() {
		c.StrokeLine2(phaseLine, x(s.from), c.Min.Y, x(s.from), c.Max.Y)
	}
	for _, s := range t.abnormals() {
		c.StrokeLine2(onsetLine, x(s.from), c.Min.Y, x(s.from), c.Max.Y)
		c.StrokeLine2(endLine, x(s.to), c.Min.Y, x(s.to), c.Max.Y)
	}
}

// flow is the panel of the checklist: phases, a stroke for each item as it was done, and a cross with its name for each
// departure.
func (t *Trace) flow() *plot.Plot {
	p := t.axes(0, lanes)
	p.Y.Tick.Marker = plot.ConstantTicks{{Value: itemsLane, Label: "items"}, {Value: slipLanes + 1, Label: "departures"}, {Value: phaseLanes + 0.5, Label: "phases"}}
	p.Add(drawn(t.lines), drawn(func(c draw.Canvas, p *plot.Plot) {
		t.label(c, p, phaseLanes, 2, t.phases())
		for i := range t.entries {
			if e := &t.entries[i]; e.Kind == logbook.Done {
				stroke(c, p, e.At.Seconds(), itemsLane)
			}
		}
		for _, s := range t.slips {
			cross(c, p, s.from, itemsLane)
		}
		t.label(c, p, slipLanes, slipRows, t.slips)
	}))
	return p
}

// interruptions is the panel of abnormals, of what sounded, and of the keys.
func (t *Trace) interruptions() *plot.Plot {
	p := t.axes(0, lanes)
	p.Y.Tick.Marker = plot.ConstantTicks{
		{Value: keysLane, Label: "keys"}, {Value: speechLane, Label: "speech"}, {Value: soundLanes + 0.5, Label: "alerts"}, {Value: abnormalLanes + 0.5, Label: "abnormals"},
	}
	p.Add(drawn(t.lines), drawn(func(c draw.Canvas, p *plot.Plot) {
		t.label(c, p, abnormalLanes, 2, t.abnormals())
		alerts := t.heard(logbook.Horn)
		for _, s := range alerts {
			bar(c, p, barLine, s, soundLanes)
		}
		t.label(c, p, soundLanes+0.6, 1, alerts)
		for _, class := range []logbook.Class{logbook.Speech, logbook.Call, logbook.Echo} {
			for _, s := range t.heard(class) {
				bar(c, p, speechLine, s, speechLane)
			}
		}
		for i := range t.entries {
			if e := &t.entries[i]; e.Kind == logbook.Press {
				stroke(c, p, e.At.Seconds(), keysLane)
			}
		}
	}))
	return p
}

// label writes the names of spans where they begin, each in the lowest lane that is still free there. A name that finds no
// room, or that was written just before, is left out; what it names is still marked.
func (t *Trace) label(c draw.Canvas, p *plot.Plot, lane float64, rows int, spans []span) {
	const spare = 1.2 // the width of another font, where ours is not to be had
	x, y := p.Transforms(&c)
	style := writing(draw.XLeft)
	free := make([]vg.Length, rows)
	last := map[string]vg.Length{}
	for _, s := range spans {
		left, wide := x(s.from)+vg.Points(1.5), spare*style.Width(s.name)
		if end := x(t.end() * marginTo); left+wide > end {
			left = end - wide
		}
		if written, ok := last[s.name]; ok && left < written+wide {
			continue
		}
		for row := range free {
			if left < free[row] {
				continue
			}
			free[row] = left + wide + vg.Points(4)
			last[s.name] = left
			c.FillText(style, vg.Point{X: left, Y: y(lane + float64(row))}, s.name)
			break
		}
	}
}

func stroke(c draw.Canvas, p *plot.Plot, at, lane float64) {
	x, y := p.Transforms(&c)
	c.StrokeLine2(strokeLine, x(at), y(lane-0.35), x(at), y(lane+0.35))
}

func cross(c draw.Canvas, p *plot.Plot, at, lane float64) {
	const arm = vg.Length(3)
	x, y := p.Transforms(&c)
	c.StrokeLine2(crossLine, x(at)-arm, y(lane)-arm, x(at)+arm, y(lane)+arm)
	c.StrokeLine2(crossLine, x(at)-arm, y(lane)+arm, x(at)+arm, y(lane)-arm)
}

// bar shows how long something lasted; what was over at once is still seen.
func bar(c draw.Canvas, p *plot.Plot, style draw.LineStyle, s span, lane float64) {
	x, y := p.Transforms(&c)
	c.StrokeLine2(style, x(s.from), y(lane), max(x(s.to), x(s.from)+vg.Points(1)), y(lane))
}

func (t *Trace) phases() []span {
	var all []span
	for i := range t.entries {
		if e := &t.entries[i]; e.Kind == logbook.Phase {
			all = append(all, span{e.At.Seconds(), t.end(), e.Name})
		}
	}
	return all
}

// abnormals are the abnormals from the first of their cues to their end, with how they ended.
func (t *Trace) abnormals() []span {
	var all []span
	open := map[string]int{}
	for i := range t.entries {
		e := &t.entries[i]
		switch e.Kind {
		case logbook.Onset:
			open[e.Injection] = len(all)
			all = append(all, span{e.At.Seconds(), t.end(), e.Injection + ", no end"})
		case logbook.Handled, logbook.Lost, logbook.Cleared:
			if n, ok := open[e.Injection]; ok {
				all[n].to, all[n].name = e.At.Seconds(), e.Injection+", "+string(e.Kind)
				delete(open, e.Injection)
			}
		}
	}
	return all
}

// heard are the cues of a class, from when they were heard, or due, to their end.
func (t *Trace) heard(class logbook.Class) []span {
	var all []span
	place := map[int]int{} // of a cue in all
	for i := range t.entries {
		e := &t.entries[i]
		if e.Kind == logbook.Cue && e.Class == class {
			place[e.Cue] = len(all)
			all = append(all, span{e.Onset.Seconds(), e.Onset.Seconds(), e.Name})
			continue
		}
		n, ok := place[e.Cue]
		switch {
		case !ok:
		case e.Kind == logbook.Heard:
			all[n].from = e.Onset.Seconds()
			all[n].to = max(e.Until, e.Onset).Seconds()
		case e.Kind == logbook.CueEnd:
			all[n].to = max(all[n].from, e.At.Seconds())
		}
	}
	return all
}

// Judged has the plot mark every departure from the procedure where it was seen: what was left out stands where the next item
// was done.
func (t *Trace) Judged(r *score.Result) {
	t.slips = nil
	for _, d := range debrief.Locate(r, t.entries) {
		at := d.At
		name := d.Control
		if i, ok := t.profile.ControlIndex(name); ok {
			name = t.profile.Controls[i].Name
		}
		if len(d.Items) > 0 {
			name = d.Items[len(d.Items)-1]
		}
		t.slips = append(t.slips, span{at.Seconds(), at.Seconds(), string(d.Kind) + " " + name})
	}
}
