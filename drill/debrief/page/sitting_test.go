package page_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/debrief/page"
	"hornlark/drill/debrief/trace"
	"hornlark/drill/drilltest"
	"hornlark/drill/drilltest/markup"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// went goes through a built-in scenario without a clock.
func went(t *testing.T, name string, answers *scenario.Answers) (*score.Result, *trace.Trace) {
	t.Helper()
	var seen *trace.Trace
	s := drilltest.Through(t, name, answers,
		func(p *drilltest.Setup) { seen = trace.New(p.Profile, time.Second) },
		func(at time.Duration, craft *aircraft.Aircraft) { seen.Look(at, craft) })
	for _, e := range s.Log {
		seen.Note(e)
	}
	return s.Result, seen
}

// A page is read back by a parser that keeps to the WHATWG's rules (golang.org/x/net/html): it needs nothing from elsewhere,
// its tables have as many cells in every row, no heading skips a level, and it has the caution, every item with its outcome,
// every criterion and every departure.
func TestSittingPage(t *testing.T) {
	for name, answers := range map[string]*scenario.Answers{
		"first-start":       {StartFrom: scenario.Perfect, LeaveOut: []string{"anti-collision"}, Ignore: []string{"hot-start"}},
		"piston-start-busy": {StartFrom: scenario.Perfect},
		"limits":            {StartFrom: scenario.Perfect},
		"hover-alerts":      {StartFrom: scenario.Perfect},
	} {
		result, seen := went(t, name, answers)
		const trainee = `Kim <script>alert("1")</script> & Co`
		p := page.Sitting{Head: debrief.Head{Scenario: name, Title: "A title", Trainee: trainee, Sound: "Sound."}, Result: result, Trace: seen}
		document, source, rows := markup.Written(t, name, &p)
		text := markup.Text(document)
		for _, want := range []string{trainee, debrief.Caution} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: the page does not say %q", name, want)
			}
		}
		footed(t, name, document, source)
		for _, item := range result.Items {
			if !slices.ContainsFunc(rows, func(row []string) bool {
				return len(row) == 5 && row[1] == item.ID && strings.TrimPrefix(row[2], "! ") == string(item.Outcome)
			}) {
				t.Errorf("%s: no row has item %s with its outcome", name, item.ID)
			}
		}
		for _, c := range result.Criteria {
			if !slices.ContainsFunc(rows, func(row []string) bool {
				return slices.Equal(row, []string{c.Name, c.Got, c.Want, strconv.Itoa(c.Count), map[bool]string{true: "yes", false: "! no"}[c.Met]})
			}) {
				t.Errorf("%s: no row has criterion %s", name, c.Name)
			}
		}
		drawn := ""
		for n := range document.Descendants() {
			if n.Type == html.ElementNode && n.Data == "svg" {
				drawn += markup.Text(n)
				markup.Told(t, name, document, n)
			}
		}
		for _, in := range result.Injections {
			if !strings.Contains(drawn, in.Name) {
				t.Errorf("%s: the plot does not name %s", name, in.Name)
			}
		}
		if omitted := strings.Count(drawn, "omission"); omitted != len(result.Order.Omitted) {
			t.Errorf("%s: the plot has %d omissions, and the result %d", name, omitted, len(result.Order.Omitted))
		}
		for _, d := range result.Order.Deviations {
			if !strings.Contains(text, debrief.Departure(d)) {
				t.Errorf("%s: the page does not tell of %s", name, debrief.Departure(d))
			}
		}
	}
}

// The page tells what the instructor did and wrote down, each in a row with its running time; without any of it there is no such heading.
func TestSittingPageWithAnInstructor(t *testing.T) {
	result, _ := went(t, "piston-start", &scenario.Answers{StartFrom: scenario.Perfect})
	fuel := 40.0
	for _, took := range []bool{false, true} {
		if took {
			result.Instructed = []score.Instructed{{AtMS: 65000, Do: "fuel", Value: &fuel}}
			result.Remarks = []score.Remark{{AtMS: 1500, Text: "Eyes <b>inside</b> & down."}}
			result.Items[0].SetBack = true
		}
		p := page.Sitting{Head: debrief.Head{Scenario: "piston-start", Title: "A title"}, Result: result}
		document, _, rows := markup.Written(t, "piston-start", &p)
		text := markup.Text(document)
		has := func(want ...string) bool {
			return slices.ContainsFunc(rows, func(row []string) bool { return slices.Equal(row, want) })
		}
		for what, is := range map[string]bool{
			"act": has("1:05.0", "set the fuel to 40 kg"), "remark": has("0:01.5", "Eyes <b>inside</b> & down."),
			"headings": strings.Contains(text, "What the instructor did") && strings.Contains(text, "Remarks of the instructor"),
			"sentence": strings.Contains(text, "The instructor took part (1 act, listed below)"), "item": strings.Contains(text, "after being set back"),
		} {
			if is != took {
				t.Errorf("took part %v, and the %s: %v", took, what, is)
			}
		}
	}
}

// footed sees to it that the caution stands at the foot of every sheet of paper: in a footer that the style makes a row of a
// table, which browsers repeat on each page as long as it is not to be broken (CSS 2.2, 17.2; CSS Fragmentation 3, from memory).
func footed(t *testing.T, name string, document *html.Node, page string) {
	t.Helper()
	feet := 0
	for n := range document.Descendants() {
		if n.Type == html.ElementNode && n.Data == "footer" && n.Parent.Data == "body" && markup.Text(n) == debrief.Caution {
			feet++
		}
	}
	if feet != 1 {
		t.Errorf("%s: %d footers have the caution", name, feet)
	}
	_, paper, _ := strings.Cut(page, "@media print {")
	for _, rule := range []string{"body { display: table;", ".foot { display: table-footer-group; break-inside: avoid;"} {
		if !strings.Contains(paper, rule) {
			t.Errorf("%s: the style for paper has no %q", name, rule)
		}
	}
}
