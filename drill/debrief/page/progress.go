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
	"hornlark/drill/practice"
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
	Series    []series
	Abnormals [][]string
	Courses   []course
}

// series is what the page shows of one.
type series struct {
	Name, Words string
	Answers     []debrief.Answer
	Curve       *trendPlot
	Items       [][]string // worst first
	More        int        // items beyond those
}

// board is trainees side by side.
type board struct {
	Name, Words string
	Head        []string
	Rows        [][]string
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
		if who.Review != nil && !p.Class {
			if err := p.look(&who); err != nil {
				return err
			}
		}
		for _, c := range slices.Concat(p.People[i].Scenarios, p.People[i].Abnormals) {
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
	if p.Class {
		people = nil
	}
	return progress.Execute(inert.Markup(w), map[string]any{
		"People": people, "Latest": p.Latest, "Class": p.Class, "Boards": p.boards(), "Nobody": debrief.NothingSideBySide, "Caution": debrief.Caution,
		"Compared": debrief.Compared, "AbnormalHead": debrief.AbnormalHead, "AboutAbnormals": debrief.AboutAbnormals(), "ItemHead": debrief.ItemHead,
	})
}

// mostItems is how many items of a series a page lists.
const mostItems = 40

// look takes what the sittings of somebody answer.
func (p *Progress) look(who *person) error {
	for i := range who.Review.Series {
		s := &who.Review.Series[i]
		shown := series{Name: p.Called.Kin(s.Kin), Words: debrief.SeriesWords(s), Answers: p.Called.Series(s)}
		for k := range s.Standings {
			if st := &s.Standings[k]; st.Wrong > 0 || st.Pace > 1 {
				shown.Items = append(shown.Items, p.Called.ItemRow(st))
			}
		}
		shown.More = max(0, len(shown.Items)-mostItems)
		shown.Items = shown.Items[:len(shown.Items)-shown.More]
		if s.Curve.Learning != practice.TooFewTimes {
			plotted, err := plotCurve(&s.Curve, shown.Name)
			if err != nil {
				return err
			}
			shown.Curve = &plotted
		}
		who.Series = append(who.Series, shown)
	}
	for i := range who.Review.Abnormals {
		who.Abnormals = append(who.Abnormals, p.Called.AbnormalRow(&who.Review.Abnormals[i]))
	}
	return nil
}

func (p *Progress) boards() (list []board) {
	for i := range p.Boards {
		b := &p.Boards[i]
		shown := board{Name: p.Called.Kin(b.Kin), Words: p.Called.AboutBoard(b), Head: debrief.BoardHead}
		for k := range b.Rows {
			shown.Rows = append(shown.Rows, p.BoardRow(b, &b.Rows[k]))
		}
		list = append(list, shown)
	}
	if b := p.Progress.Abnormals; b != nil {
		shown := board{Name: "Abnormals", Words: debrief.AboutAbnormalBoard(b), Head: debrief.AbnormalBoardHead}
		for k := range b.Rows {
			shown.Rows = append(shown.Rows, p.AbnormalBoardRow(&b.Rows[k]))
		}
		list = append(list, shown)
	}
	return list
}

// plotCurve plots the reactions of sittings over how much practice they were, with the law through them where it holds.
func plotCurve(c *practice.Curve, of string) (trendPlot, error) {
	plotted := trendPlot{Name: "reaction by practice"}
	var values plotter.XYs
	last, top := 1.0, 0.0
	for _, point := range c.Points {
		values = append(values, plotter.XY{X: point.N, Y: point.MS / 1000})
		last, top = max(last, point.N), max(top, point.MS/1000)
	}
	points, err := plotter.NewScatter(values)
	if err != nil {
		return plotted, err
	}
	points.Shape, points.Radius, points.Color = draw.CircleGlyph{}, vg.Points(1.8), color.Black
	p := smallPlot()
	p.X.Min, p.X.Max, p.Y.Min = 0.5, last+0.5, 0
	plotted.Words = fmt.Sprintf("%s; %.2f s at first, %.2f s at last", debrief.Count(len(values), "sitting"), values[0].Y, values[len(values)-1].Y)
	p.Add(level(), points)
	if c.Learning == practice.Learns {
		law := plotter.NewFunction(func(n float64) float64 { return c.At(n) / 1000 })
		law.XMin, law.XMax, law.Width = values[0].X, last, vg.Points(0.8)
		p.Add(law)
		plotted.Words += "; the line is the power law"
		top = max(top, c.At(values[0].X)/1000)
	}
	p.Y.Max = max(top, 0.001)
	p.Y.Tick.Marker = plot.ConstantTicks{{Value: 0, Label: "0"}, {Value: top / 2}, {Value: top, Label: fmt.Sprintf("%.2f s", top)}}
	p.X.Tick.Marker = plot.ConstantTicks{{Value: 1, Label: "1st time"}, {Value: last, Label: fmt.Sprintf("%.0f.", last)}}
	err = plotted.draw(p, of)
	return plotted, err
}

// smallPlot is a plot with small letters.
func smallPlot() *plot.Plot {
	p := plot.New()
	for _, style := range []*text.Style{&p.X.Tick.Label, &p.Y.Tick.Label} {
		style.Font = font.Font{Typeface: "Liberation", Variant: "Sans", Size: 8}
	}
	return p
}

// level is a grid of level lines.
func level() *plotter.Grid {
	grid := plotter.NewGrid()
	grid.Vertical.Width = 0
	grid.Horizontal.Color = color.Gray{Y: 200}
	return grid
}

// draw makes the picture.
func (t *trendPlot) draw(p *plot.Plot, of string) error {
	const width, height = 12 * vg.Centimeter, 4 * vg.Centimeter
	canvas := vgsvg.New(width, height)
	p.Draw(draw.Crop(draw.New(canvas), vg.Points(2), -vg.Points(30), vg.Points(2), -vg.Points(6)))
	var svg bytes.Buffer
	if _, err := canvas.WriteTo(&svg); err != nil {
		return err
	}
	t.Picture = described(svg.String(), fmt.Sprintf("%s, %s", of, t.Name), t.Words)
	return nil
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

	p := smallPlot()
	ceiling := t.Ceiling(shown)
	p.Y.Min, p.Y.Max = 0, max(ceiling, 0.001)
	p.X.Min, p.X.Max = -0.5, float64(len(shown))-0.5
	p.Y.Tick.Marker = plot.ConstantTicks{{Value: 0, Label: "0"}, {Value: ceiling / 2}, {Value: ceiling, Label: t.Figure(ceiling)}}
	p.X.Tick.Marker = days(shown)
	p.Add(level(), line, points)
	err = plotted.draw(p, of)
	return plotted, err
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
