package page

import (
	"bytes"
	_ "embed"
	"fmt"
	"image/color"
	"io"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"hornlark/drill/debrief"
	"hornlark/drill/inert"
	"hornlark/drill/practice"
)

var (
	//go:embed plan.html
	planSource string

	plan = parse("plan", planSource)
)

// Plan is what to practise until a day, and what is expected of it. Its texts name no abnormal: a trainee reads them before the sittings.
type Plan struct {
	Title    string              // of whom and what
	Words    []string            // what it goes by, and what is expected
	Practice [][]string          // of each day with practice: the date, how long, what
	None     string              // why there is no practice, where there is none
	Units    [][]string          // what is practised: what it is, how often, expected with and without
	Risks    []string            // what stays at risk on the day
	AtRisk   string              // below what something does, as it is written
	Expected []practice.Expected // of each day, from the first one to the day
	From     time.Time           // the first day
	Caution  string
}

// PracticeHead and PlanUnitHead are what the columns are.
var (
	PracticeHead = []string{"day", "time", "practise"}
	PlanUnitHead = []string{"what", "times practised", "expected on the day", "without practice"}
)

// Write writes the page. It is the same for the same plan. Errors are those of the writer.
func (p *Plan) Write(w io.Writer) error {
	svg, err := p.draw(nil)
	if err != nil {
		return err
	}
	return plan.Execute(inert.Markup(w), map[string]any{
		"Plan": p, "Picture": described(svg, p.plotted(), p.inWords()), "PracticeHead": PracticeHead, "UnitHead": PlanUnitHead,
	})
}

// WritePlot writes the plot alone, as SVG, with its title, its description, and the caution, without which it is not handed on. Errors are
// those of the writer.
func (p *Plan) WritePlot(w io.Writer) error {
	svg, err := p.draw(append([]string{p.Title}, debrief.CautionLines(p.Caution, 100)...))
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(inert.Markup(w), "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n%s\n", described(svg, p.plotted(), p.inWords()+" "+p.Caution))
	return err
}

// plotted is what the plot is called.
func (p *Plan) plotted() string { return p.Title + ", expected to be known" }

// inWords says what the plot shows, for whoever cannot see it.
func (p *Plan) inWords() string {
	first, last := p.Expected[0], p.Expected[len(p.Expected)-1]
	return fmt.Sprintf("Expected to be known before the practice of each day, from %s to %s: %.0f %% at first; on the day %.0f %% with practice, %.0f %% without.",
		p.date(0), p.date(len(p.Expected)-1), 100*first.With, 100*last.With, 100*last.Without)
}

func (p *Plan) date(day int) string { return p.From.AddDate(0, 0, day).Format(time.DateOnly) }

// draw makes the picture, below a head: what is expected with practice as a line, and without as a broken one.
func (p *Plan) draw(head []string) (string, error) {
	const width, height, line = 20 * vg.Centimeter, 7 * vg.Centimeter, vg.Length(11)
	var with, without plotter.XYs
	for day, e := range p.Expected {
		with = append(with, plotter.XY{X: float64(day), Y: 100 * e.With})
		without = append(without, plotter.XY{X: float64(day), Y: 100 * e.Without})
	}
	practised, points, err := plotter.NewLinePoints(with)
	if err != nil {
		return "", err
	}
	idle, err := plotter.NewLine(without)
	if err != nil {
		return "", err
	}
	practised.Width, idle.Width = vg.Points(1.2), vg.Points(1.2)
	points.Shape, points.Radius, points.Color = draw.CircleGlyph{}, vg.Points(1.6), color.Black
	idle.Dashes = []vg.Length{vg.Points(4), vg.Points(3)}

	chart := smallPlot()
	last := len(p.Expected) - 1
	chart.X.Min, chart.X.Max, chart.Y.Min, chart.Y.Max = -0.5, float64(last)+0.5, 0, 100
	chart.Y.Tick.Marker = plot.ConstantTicks{{Value: 0, Label: "0 %"}, {Value: 25}, {Value: 50, Label: "50 %"}, {Value: 75}, {Value: 100, Label: "100 %"}}
	chart.X.Tick.Marker = plot.ConstantTicks{{Value: 0, Label: p.date(0)}, {Value: float64(last), Label: p.date(last)}}
	chart.Add(level(), idle, practised, points)
	chart.Legend.TextStyle.Font, chart.Legend.TextStyle.Handler = chart.X.Tick.Label.Font, plot.DefaultTextHandler
	chart.Legend.Add("with this practice", practised, points)
	chart.Legend.Add("without any", idle)
	// Where what is known grows the lower right is free, and the upper left.
	chart.Legend.Left, chart.Legend.Top = true, true

	above := vg.Length(len(head)) * line
	canvas := vgsvg.New(width, height+above)
	whole := draw.New(canvas)
	for i, words := range head {
		whole.FillText(chart.Legend.TextStyle, vg.Point{X: vg.Points(6), Y: whole.Max.Y - vg.Length(i+1)*line}, words)
	}
	chart.Draw(draw.Crop(whole, vg.Points(2), -vg.Points(30), vg.Points(2), -vg.Points(6)-above))
	var svg bytes.Buffer
	_, err = canvas.WriteTo(&svg)
	return svg.String(), err
}
