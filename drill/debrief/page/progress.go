package page

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"image/color"
	"io"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"hornlark/drill/debrief"
	"hornlark/drill/inert"
)

var (
	//go:embed progress.html
	progressSource string

	progress = parse("progress", progressSource)
)

// Progress is how it goes over many sittings.
type Progress struct {
	*debrief.Progress
}

// person and course are what the page shows of them.
type person struct {
	debrief.Person
	Courses []course
}

type course struct {
	debrief.Course
	Plots []trendPlot
}

type trendPlot struct {
	Name, Words string
	Picture     template.HTML
}

// Write writes the page. It is the same for the same records. Errors are those of the writer.
func (p *Progress) Write(w io.Writer) error {
	var people []person
	for i := range p.People {
		who := person{Person: p.People[i]}
		for _, c := range slices.Concat(who.Scenarios, who.Abnormals) {
			shown := course{Course: c}
			for j := range c.Trends {
				plotted, err := plotTrend(&c.Trends[j], c.Name)
				if err != nil {
					return err
				}
				shown.Plots = append(shown.Plots, plotted)
			}
			who.Courses = append(who.Courses, shown)
		}
		people = append(people, who)
	}
	return progress.Execute(inert.Markup(w), map[string]any{"People": people, "Latest": p.Latest, "Caution": debrief.Caution})
}

// mostPoints is how many values a plot has room for.
const mostPoints = 200

// plotTrend plots the latest values of a trend, each in its turn, between 0 and its ceiling.
func plotTrend(t *debrief.Trend, of string) (trendPlot, error) {
	shown := t.Points[max(0, len(t.Points)-mostPoints):]
	plotted := trendPlot{Name: t.Name, Words: trendWords(t, len(shown))}
	if len(shown) == 1 {
		return plotted, nil // one point shows no more than the words do
	}
	var values plotter.XYs
	for i, point := range shown {
		values = append(values, plotter.XY{X: float64(i), Y: point.Value})
	}
	line, points, err := plotter.NewLinePoints(values)
	if err != nil {
		return plotted, err
	}
	line.Width = vg.Points(0.8)
	points.Shape, points.Radius, points.Color = draw.CircleGlyph{}, vg.Points(1.8), color.Black

	p := plot.New()
	small := font.Font{Typeface: "Liberation", Variant: "Sans", Size: 8}
	for _, style := range []*text.Style{&p.X.Tick.Label, &p.Y.Tick.Label} {
		style.Font = small
	}
	ceiling := t.Ceiling(shown)
	p.Y.Min, p.Y.Max = 0, max(ceiling, 0.001)
	p.X.Min, p.X.Max = -0.5, float64(len(shown))-0.5
	p.Y.Tick.Marker = plot.ConstantTicks{{Value: 0, Label: "0"}, {Value: ceiling / 2}, {Value: ceiling, Label: t.Figure(ceiling)}}
	p.X.Tick.Marker = days(shown)
	grid := plotter.NewGrid()
	grid.Vertical.Width = 0
	grid.Horizontal.Color = color.Gray{Y: 200}
	p.Add(grid, line, points)

	const width, height = 12 * vg.Centimeter, 4 * vg.Centimeter
	canvas := vgsvg.New(width, height)
	p.Draw(draw.Crop(draw.New(canvas), vg.Points(2), -vg.Points(30), vg.Points(2), -vg.Points(6)))
	var svg bytes.Buffer
	if _, err := canvas.WriteTo(&svg); err != nil {
		return plotted, err
	}
	plotted.Picture = described(svg.String(), fmt.Sprintf("%s, %s, over time", of, t.Name), plotted.Words)
	return plotted, nil
}

// described is a picture in a page, with a title and a description for a screen reader. Its ids would have to differ from those of
// every other picture of the page; a label needs none.
func described(svg, title, words string) template.HTML {
	picture := inline(svg, `aria-label="`+template.HTMLEscapeString(title+": "+words)+`"`)
	open, rest, _ := strings.Cut(string(picture), ">")
	return template.HTML(open + "><title>" + template.HTMLEscapeString(title) + "</title><desc>" + template.HTMLEscapeString(words) + "</desc>" + rest)
}

// trendWords says what a plot shows, for whoever cannot see it.
func trendWords(t *debrief.Trend, shown int) string {
	words := t.Figure(t.First())
	if len(t.Points) > 1 {
		words += " to " + t.Figure(t.Last())
	}
	words += fmt.Sprintf(", median %s of %d", t.Figure(t.Median()), len(t.Points))
	if shown < len(t.Points) {
		words += fmt.Sprintf("; the latest %d are plotted", shown)
	}
	return words
}

// days says of which day the first and the last point are.
func days(points []debrief.Point) plot.ConstantTicks {
	day := func(i int) plot.Tick {
		return plot.Tick{Value: float64(i), Label: points[i].On.Local().Format(time.DateOnly)}
	}
	return plot.ConstantTicks{day(0), day(len(points) - 1)}
}
