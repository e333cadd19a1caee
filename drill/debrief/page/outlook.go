package page

import (
	"bytes"
	_ "embed"
	"fmt"
	"image/color"
	"io"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"hornlark/drill/debrief"
	"hornlark/drill/inert"
)

var (
	//go:embed outlook.html
	outlookSource string

	outlook = parse("outlook", outlookSource)
)

// Outlook is what a scenario will do, by many sittings of a stand-in. It is for the instructor: it names what will come.
type Outlook struct {
	Title   string
	Warning string // for whom it is
	Words   []string
	Verdict string // how often it was passed
	Tables  []OutlookTable
	Moments []Moments
	Ends    float64 // length of the longest sitting, in seconds
	About   string  // by what figures
	Caution string
}

// OutlookTable is one of its tables, or, without rows, a sentence.
type OutlookTable struct {
	Title string
	Head  []string
	Rows  [][]string
	None  string // what is said where there are no rows
}

// Moments are when one abnormal came.
type Moments struct {
	Name  string
	Share string // in how many sittings, in words
	Width float64
	Bins  []MomentBin
}

// MomentBin is how often it came from a moment on, in seconds of the sitting, for Width seconds.
type MomentBin struct {
	From  float64
	Count int
}

// Write writes the page. It is the same for the same outlook. Errors are those of the writer.
func (o *Outlook) Write(w io.Writer) error {
	data := map[string]any{"Outlook": o}
	if len(o.Moments) > 0 {
		svg, err := o.draw(nil)
		if err != nil {
			return err
		}
		data["Picture"] = described(svg, o.plotted(), o.inWords())
	}
	return outlook.Execute(inert.Markup(w), data)
}

// WritePlot writes the plot alone, as SVG, with its title, its description and the caution. Errors are those of the writer.
func (o *Outlook) WritePlot(w io.Writer) error {
	svg, err := o.draw(append([]string{o.Title, o.Warning, o.Verdict}, debrief.CautionLines(o.Caution, 100)...))
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(inert.Markup(w), "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n%s\n", described(svg, o.plotted(), o.inWords()+" "+o.Caution))
	return err
}

// plotted is what the plot is called.
func (o *Outlook) plotted() string { return o.Title + ", when what comes" }

// inWords says what the plot shows, for whoever cannot see it.
func (o *Outlook) inWords() string {
	if len(o.Moments) == 0 {
		return "Nothing comes."
	}
	var parts []string
	for _, m := range o.Moments {
		most, from := 0, 0.0
		for _, b := range m.Bins {
			if b.Count > most {
				most, from = b.Count, b.From
			}
		}
		parts = append(parts, fmt.Sprintf("%s in %s, most often from %s on", m.Name, m.Share, minutes(from)))
	}
	return "When what comes, in minutes of the sitting: " + strings.Join(parts, "; ") + "."
}

// minutes is a time of a sitting.
func minutes(seconds float64) string {
	return fmt.Sprintf("%d:%02d", int(seconds)/60, int(seconds)%60)
}

// bars draws a row of bars for each abnormal, the highest of each as high as its row.
type bars struct{ rows []Moments }

// Plot draws them.
func (b bars) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	for i, m := range b.rows {
		floor, most := float64(len(b.rows)-1-i), 1
		for _, bin := range m.Bins {
			most = max(most, bin.Count)
		}
		c.StrokeLine2(draw.LineStyle{Color: color.Gray{Y: 150}, Width: vg.Points(0.4)}, c.Min.X, y(floor), c.Max.X, y(floor))
		for _, bin := range m.Bins {
			left, right, top := x(bin.From), x(bin.From+m.Width), y(floor+0.8*float64(bin.Count)/float64(most))
			c.FillPolygon(color.Gray{Y: 60}, []vg.Point{{X: left, Y: y(floor)}, {X: right, Y: y(floor)}, {X: right, Y: top}, {X: left, Y: top}})
		}
	}
}

// shortName keeps a name to what has room beside the plot.
func shortName(name string, most int) string {
	if r := []rune(name); len(r) > most {
		return strings.TrimSpace(string(r[:most-1])) + "…"
	}
	return name
}

// draw makes the picture, below a head.
func (o *Outlook) draw(head []string) (string, error) {
	const width, row, line = 24 * vg.Centimeter, 0.9 * vg.Centimeter, vg.Length(11)
	chart := smallPlot()
	rows := max(1, len(o.Moments))
	chart.X.Min, chart.X.Max, chart.Y.Min, chart.Y.Max = 0, max(60, o.Ends), 0, float64(rows)
	step := 60.0
	for o.Ends/step > 12 {
		step *= 2
	}
	var minute, names plot.ConstantTicks
	for t := 0.0; t <= chart.X.Max; t += step {
		minute = append(minute, plot.Tick{Value: t, Label: minutes(t)})
	}
	for i, m := range o.Moments {
		// Whoever draws the letters may have them wider than was reckoned: the room is left to the right of them.
		label := shortName(m.Name, 38) + ", " + m.Share
		names = append(names, plot.Tick{Value: float64(rows-1-i) + 0.4, Label: label + strings.Repeat("\u00a0", 2+len(label)/6)})
	}
	chart.X.Tick.Marker, chart.Y.Tick.Marker = minute, names
	chart.Y.LineStyle.Width, chart.Y.Tick.LineStyle.Width, chart.Y.Tick.Length = 0, 0, 0
	chart.Add(bars{o.Moments})
	style := chart.X.Tick.Label
	style.XAlign, style.YAlign = draw.XLeft, draw.YBottom
	above := vg.Length(len(head)) * line
	canvas := vgsvg.New(width, vg.Length(rows)*row+vg.Centimeter+above)
	whole := draw.New(canvas)
	for i, words := range head {
		whole.FillText(style, vg.Point{X: vg.Points(6), Y: whole.Max.Y - vg.Length(i+1)*line}, words)
	}
	chart.Draw(draw.Crop(whole, vg.Points(2), -vg.Points(16), vg.Points(2), -vg.Points(6)-above))
	var svg bytes.Buffer
	_, err := canvas.WriteTo(&svg)
	return svg.String(), err
}
