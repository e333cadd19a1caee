package debrief

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"hornlark/drill/practice"
	"hornlark/drill/score"
)

// Progress is how it goes over many sittings.
type Progress struct {
	People    []Person // by name
	Latest    []Line   // the latest sittings of all of them, the latest first
	Called    Called
	Boards    []practice.Board        // trainees side by side; their rows name places in People
	Abnormals *practice.AbnormalBoard // the same of abnormals; nil if there is nothing to put side by side
	Class     bool                    // nothing but trainees side by side
}

// Person is the progress of one trainee.
type Person struct {
	Name      string
	Key       string // the same in a table: empty if nobody gave a name
	Sittings  int
	Complete  int // of Sittings
	Passed    int
	Latest    string           // when the latest sitting began
	Review    *practice.Review // nil: nothing is known, since nobody is named
	Scenarios []Course         // by name
	Abnormals []Course         // by name
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

// Text is the progress in words and bars, with sentences in lines of at most width characters.
func (p *Progress) Text(width int) string {
	w := &writer{width: width}
	p.sideBySide(w)
	var b strings.Builder
	if !p.Class {
		for i := range p.People {
			who := &p.People[i]
			w.rule(who.Name)
			w.para("", who.Words())
			who.answers(w, &p.Called)
			var trends strings.Builder
			who.trends(&trends)
			w.lines = append(w.lines, strings.Split(strings.TrimRight(trends.String(), "\n"), "\n")...)
		}
		p.latest(&b)
		w.lines = append(w.lines, "")
		w.lines = append(w.lines, strings.Split(strings.TrimRight(b.String(), "\n"), "\n")...)
	}
	w.lines = append(w.lines, "")
	w.para("", Caution)
	return strings.Join(w.lines, "\n") + "\n"
}

func (p *Person) trends(b *strings.Builder) {
	for _, courses := range [][]Course{p.Scenarios, p.Abnormals} {
		for i := range courses {
			fmt.Fprintf(b, "  %s: %s\n", courses[i].Name, courses[i].Words)
			for j := range courses[i].Trends {
				courses[i].Trends[j].write(b)
			}
		}
	}
}

// Sort puts people into the order of their names, and with them whatever names them by their place.
func (p *Progress) Sort() {
	order := make([]int, len(p.People))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(p.People[a].Name, p.People[b].Name) })
	people, place := make([]Person, len(order)), make([]int, len(order))
	for now, was := range order {
		people[now], place[was] = p.People[was], now
	}
	p.People = people
	for i := range p.Boards {
		rows := p.Boards[i].Rows
		for k := range rows {
			rows[k].Who = place[rows[k].Who]
		}
		slices.SortFunc(rows, func(a, b practice.BoardRow) int { return cmp.Compare(a.Who, b.Who) })
	}
	if b := p.Abnormals; b != nil {
		for k := range b.Rows {
			b.Rows[k].Who = place[b.Rows[k].Who]
		}
		slices.SortFunc(b.Rows, func(a, b practice.AbnormalRow) int { return cmp.Compare(a.Who, b.Who) })
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
	fmt.Fprintf(b, "    %-16s %-16s median %-7s of %-3d |%s| %s\n", t.Name, spread, t.Figure(t.Median()), len(t.Points), bars(shown, top), t.Figure(top))
}

// maxBars is how many values a line has room for.
const maxBars = 10

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
	w := tabwriter.NewWriter(b, 0, 0, 1, ' ', 0)
	several := len(p.People) > 1
	row := func(id, started, trainee string, rest ...string) {
		cells := []string{id, started}
		if several {
			cells = append(cells, trainee)
		}
		fmt.Fprintln(w, strings.Join(append(cells, rest...), "\t"))
	}
	row("ID", "STARTED", "TRAINEE", "SCENARIO", "RESULT", "RIGHT", "REACTION")
	for _, s := range p.Latest {
		row(strconv.FormatInt(s.ID, 10), s.Started, s.Trainee, s.Scenario, s.Verdict, s.Right, s.Reaction)
	}
	w.Flush()
}
