package debrief

import (
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"hornlark/drill/score"
)

// Progress is how it goes over many sittings.
type Progress struct {
	People []Person // by name
	Latest []Line   // the latest sittings of all of them, the latest first
}

// Person is the progress of one trainee.
type Person struct {
	Name      string
	Sittings  int
	Complete  int // of Sittings
	Passed    int
	Latest    string   // when the latest sitting began
	Scenarios []Course // by name
	Abnormals []Course // by name
}

// Course is how one scenario, or one abnormal, went from the first time to the latest.
type Course struct {
	Name   string
	Words  string // how often it was met, and how it went
	Trends []Trend
}

// Trend is one figure of each time, the oldest first. There is at least one.
type Trend struct {
	Name   string
	Points []Point
	Format string  // of a figure, with its unit
	Top    float64 // the most that there can be; 0 if there is no such
}

// Point is a figure, and when the sitting began that it is of.
type Point struct {
	On    time.Time
	Value float64
}

// Figure is a value of the trend, with its unit.
func (t *Trend) Figure(v float64) string { return fmt.Sprintf(t.Format, v) }

// First is the oldest value.
func (t *Trend) First() float64 { return t.Points[0].Value }

// Last is the latest value.
func (t *Trend) Last() float64 { return t.Points[len(t.Points)-1].Value }

// Median is the middle value, or the mean of the two middle ones; see score.Quantile.
func (t *Trend) Median() float64 {
	sorted := make([]float64, len(t.Points))
	for i, p := range t.Points {
		sorted[i] = p.Value
	}
	slices.Sort(sorted)
	return score.Quantile(sorted, 0.5)
}

// Ceiling is what a plot of these points goes up to.
func (t *Trend) Ceiling(points []Point) float64 {
	if t.Top > 0 {
		return t.Top
	}
	top := 0.0
	for _, p := range points {
		top = max(top, p.Value)
	}
	return top
}

// Line is one sitting among the latest.
type Line struct {
	ID       int64
	Started  string
	Trainee  string
	Scenario string
	Verdict  string
	Right    string // of how many items
	Reaction string // median, and of how many
}

// Text is the progress in words and bars, with the caution in lines of at most width characters.
func (p *Progress) Text(width int) string {
	var b strings.Builder
	for i := range p.People {
		p.People[i].write(&b)
		b.WriteByte('\n')
	}
	p.latest(&b)
	fmt.Fprintf(&b, "\n%s\n", strings.Join(CautionLines(Caution, width), "\n"))
	return b.String()
}

func (p *Person) write(b *strings.Builder) {
	fmt.Fprintf(b, "%s: %s\n", strings.ToUpper(p.Name), p.Words())
	for _, courses := range [][]Course{p.Scenarios, p.Abnormals} {
		for i := range courses {
			fmt.Fprintf(b, "  %s: %s\n", courses[i].Name, courses[i].Words)
			for j := range courses[i].Trends {
				courses[i].Trends[j].write(b)
			}
		}
	}
}

// Words says how many sittings there were, and how they went.
func (p *Person) Words() string {
	return fmt.Sprintf("%s, %d of them complete, %d passed, the latest on %s", Count(p.Sittings, "sitting"), p.Complete, p.Passed, p.Latest)
}

// Count says how many there are of something.
func Count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// write gives a trend in one line: the first and the latest value, the median, how many there are, and a bar for each of the
// latest.
func (t *Trend) write(b *strings.Builder) {
	spread := t.Figure(t.First())
	if len(t.Points) > 1 {
		spread += " to " + t.Figure(t.Last())
	}
	shown := t.Points[max(0, len(t.Points)-maxBars):]
	top := t.Ceiling(shown)
	fmt.Fprintf(b, "    %-16s %-16s median %-7s of %-5d |%s| %s\n", t.Name, spread, t.Figure(t.Median()), len(t.Points), bars(shown, top), t.Figure(top))
}

// maxBars is how many values a line has room for.
const maxBars = 16

// heights are the bars, from next to nothing to all.
var heights = []rune("▁▂▃▄▅▆▇█")

// bars plots values between 0 and top.
func bars(points []Point, top float64) string {
	plot := make([]rune, len(points))
	for i, p := range points {
		share := min(max(p.Value/max(top, 0.001), 0), 1)
		plot[i] = heights[min(int(share*float64(len(heights))), len(heights)-1)]
	}
	return string(plot)
}

func (p *Progress) latest(b *strings.Builder) {
	if len(p.Latest) == 0 {
		return
	}
	fmt.Fprintln(b, "LATEST SITTINGS")
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  ID\tSTARTED\tTRAINEE\tSCENARIO\tRESULT\tRIGHT\tREACTION")
	for _, s := range p.Latest {
		fmt.Fprintf(w, "  %d\t%s\t%s\t%s\t%s\t%s\t%s\n", s.ID, s.Started, s.Trainee, s.Scenario, s.Verdict, s.Right, s.Reaction)
	}
	w.Flush()
}
