package page_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"hornlark/drill/debrief"
	"hornlark/drill/debrief/page"
)

// The page of many sittings keeps to the same rules as that of one, has a plot for each trend of more than one point, and says how many points it
// leaves out.
func TestProgressPage(t *testing.T) {
	trend := func(n int) debrief.Trend {
		tr := debrief.Trend{Name: "items right", Format: "%.0f %%", Top: 100}
		for i := range n {
			tr.Points = append(tr.Points, debrief.Point{On: time.Date(2026, 1, 1+i, 8, 0, 0, 0, time.UTC), Value: float64(i % 101)})
		}
		return tr
	}
	const name = `Kim & <b>Co</b>`
	p := page.Progress{Progress: &debrief.Progress{
		People: []debrief.Person{{
			Name: name, Sittings: 301,
			Scenarios: []debrief.Course{{Name: "first-start, prompted", Words: "301 sittings", Trends: []debrief.Trend{trend(301), trend(1)}}},
			Abnormals: []debrief.Course{{Name: "abnormal hot-start", Words: "met 0 times"}},
		}},
		Latest: []debrief.Line{{ID: 301, Trainee: name, Scenario: "first-start"}},
	}}
	var out bytes.Buffer
	if err := p.Write(&out); err != nil {
		t.Fatal(err)
	}
	document, err := html.Parse(&out)
	if err != nil {
		t.Fatal(err)
	}
	selfContained(t, "progress", document)
	headings(t, "progress", document)
	tables(t, "progress", document)
	text := textOf(document)
	for _, want := range []string{name, debrief.Caution, "the latest 200 are plotted", "0 % to 98 %, median", "2026-10-28"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	plots := 0
	for n := range document.Descendants() {
		if n.Type == html.ElementNode && n.Data == "svg" {
			plots++
		}
	}
	if plots != 1 {
		t.Errorf("%d plots, of one trend with more than one point", plots)
	}
}

// Without any sitting there is still a page.
func TestProgressPageOfNothing(t *testing.T) {
	var out bytes.Buffer
	p := page.Progress{Progress: &debrief.Progress{}}
	if err := p.Write(&out); err != nil {
		t.Fatal(err)
	}
	document, err := html.Parse(&out)
	if err != nil || !strings.Contains(textOf(document), debrief.Caution) {
		t.Errorf("it has no caution (%v)", err)
	}
}
