package page_test

import (
	"bytes"
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
		var out, again bytes.Buffer
		if err := p.Write(&out); err != nil {
			t.Fatal(err)
		}
		if err := p.Write(&again); err != nil || !bytes.Equal(out.Bytes(), again.Bytes()) {
			t.Errorf("%s: two pages of one sitting differ (%v)", name, err)
		}
		source := out.String()
		document, err := html.Parse(&out)
		if err != nil {
			t.Fatal(err)
		}
		selfContained(t, name, document)
		headings(t, name, document)
		rows := tables(t, name, document)
		text := textOf(document)
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
				drawn += textOf(n)
				told(t, name, document, n)
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

// selfContained holds the page to what needs no network and runs no script.
func selfContained(t *testing.T, name string, document *html.Node) {
	t.Helper()
	for n := range document.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		switch n.Data {
		case "script", "link", "img", "iframe", "object", "embed", "base", "form":
			t.Errorf("%s: the page has an element %s", name, n.Data)
		case "style":
			if css := textOf(n); strings.Contains(css, "url(") || strings.Contains(css, "@import") {
				t.Errorf("%s: the style asks for something else", name)
			}
		}
		for _, a := range n.Attr {
			if a.Key == "src" || a.Key == "href" || strings.HasPrefix(a.Key, "on") {
				t.Errorf("%s: %s has %s=%q", name, n.Data, a.Key, a.Val)
			}
		}
	}
}

// told sees to it that a screen reader says what a picture is and what it shows: what its attributes refer to is in it, once in the
// page (SVG 2, 5.8 and 5.9, title and desc; WAI-ARIA 1.2, aria-labelledby and aria-describedby).
func told(t *testing.T, name string, document, picture *html.Node) {
	t.Helper()
	if attribute(picture, "role") != "img" {
		t.Errorf("%s: a picture is not said to be one", name)
	}
	for tag, key := range map[string]string{"title": "aria-labelledby", "desc": "aria-describedby"} {
		found := 0
		for n := range document.Descendants() {
			if n.Type == html.ElementNode && attribute(picture, key) != "" && attribute(n, "id") == attribute(picture, key) && n.Data == tag && n.Parent == picture && len(textOf(n)) > 10 {
				found++
			}
		}
		if found != 1 {
			t.Errorf("%s: a picture has %d of %s", name, found, tag)
		}
	}
}

func attribute(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

// footed sees to it that the caution stands at the foot of every sheet of paper: in a footer that the style makes a row of a
// table, which browsers repeat on each page as long as it is not to be broken (CSS 2.2, 17.2; CSS Fragmentation 3, from memory).
func footed(t *testing.T, name string, document *html.Node, page string) {
	t.Helper()
	feet := 0
	for n := range document.Descendants() {
		if n.Type == html.ElementNode && n.Data == "footer" && n.Parent.Data == "body" && textOf(n) == debrief.Caution {
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

// headings holds the page to one h1 and to levels that are not skipped.
func headings(t *testing.T, name string, document *html.Node) {
	t.Helper()
	last, firsts := 0, 0
	for n := range document.Descendants() {
		if n.Type != html.ElementNode || len(n.Data) != 2 || n.Data[0] != 'h' || n.Data[1] < '1' || n.Data[1] > '6' {
			continue
		}
		level := int(n.Data[1] - '0')
		if level > last+1 {
			t.Errorf("%s: h%d follows h%d", name, level, last)
		}
		if last = level; level == 1 {
			firsts++
		}
	}
	if firsts != 1 {
		t.Errorf("%s: %d elements h1", name, firsts)
	}
}

// tables gives the texts of all rows, and holds each table to one number of columns.
func tables(t *testing.T, name string, document *html.Node) (rows [][]string) {
	t.Helper()
	for table := range document.Descendants() {
		if table.Type != html.ElementNode || table.Data != "table" {
			continue
		}
		columns := map[int]bool{}
		var hanging []int // columns that cells of rows above still take up
		for tr := range table.Descendants() {
			if tr.Type != html.ElementNode || tr.Data != "tr" {
				continue
			}
			var row []string
			var next []int
			wide := 0
			for _, rest := range hanging {
				if wide++; rest > 1 {
					next = append(next, rest-1)
				}
			}
			for cell := range tr.ChildNodes() {
				if cell.Type != html.ElementNode {
					continue
				}
				row = append(row, strings.TrimSpace(textOf(cell)))
				across, down := span(cell, "colspan"), span(cell, "rowspan")
				wide += across
				for range across {
					if down > 1 {
						next = append(next, down-1)
					}
				}
			}
			hanging = next
			columns[wide] = true
			rows = append(rows, row)
		}
		if len(columns) != 1 {
			t.Errorf("%s: a table has rows of %v columns: %.60s", name, columns, textOf(table))
		}
	}
	return rows
}

func span(cell *html.Node, key string) int {
	for _, a := range cell.Attr {
		if a.Key == key {
			n, _ := strconv.Atoi(a.Val)
			return n
		}
	}
	return 1
}

func textOf(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data)
		}
	}
	return b.String()
}
