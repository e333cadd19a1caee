package page_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"hornlark/drill/debrief"
	"hornlark/drill/debrief/page"
	"hornlark/drill/drilltest/markup"
	"hornlark/drill/practice"
	"hornlark/drill/score"
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
	markup.SelfContained(t, "progress", document)
	markup.Headings(t, "progress", document)
	markup.Tables(t, "progress", document)
	text := markup.Text(document)
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

// What sittings answer stands on the page by name: sentences, a plot of the curve, items, abnormals, and trainees side by side; with a class
// nothing but these.
func TestProgressPageOfAnswers(t *testing.T) {
	var past []practice.Past
	for day, ms := range []float64{4000, 3031, 2577, 2297, 2101} {
		took := ms
		past = append(past, practice.Past{Complete: true, Passed: true, Sitting: practice.Sitting{
			Began: time.Date(2027, 1, 4+day, 19, 0, 0, 0, time.UTC), Procedure: "start", Profile: "lark", Policy: "prompted",
			Trials: []score.Trial{
				{Kind: score.TrialItem, Name: "bat", Right: true, ReactionMS: &took, ParMS: 2000}, {Kind: score.TrialItem, Name: "fuel"},
				{Kind: score.TrialNotice, Name: "fire"},
			},
		}})
	}
	review := practice.MakeReview(past)
	reviews := []*practice.Review{review, review}
	p := page.Progress{Progress: &debrief.Progress{
		People: []debrief.Person{{Name: "kim", Review: review}, {Name: `<i>lee`, Review: review}},
		Latest: []debrief.Line{{ID: 77, Trainee: "kim", Scenario: "first-start"}},
		Called: debrief.Called{
			Things: map[practice.Thing]string{
				{Kind: score.TrialItem, Of: "start", Name: "bat"}: "Battery", {Kind: score.TrialItem, Of: "start", Name: "fuel"}: "Fuel <b>valve",
				{Kind: score.TrialNotice, Of: "lark", Name: "fire"}: "Engine fire",
			},
			Procedures: map[string]string{"start": "Lark, start"}, Date: func(at time.Time) string { return at.Format(time.DateOnly) },
		},
		Boards: practice.SideBySide(reviews), Abnormals: practice.AbnormalsSideBySide(reviews),
	}}
	for _, class := range []bool{false, true} {
		p.Class = class
		var out bytes.Buffer
		if err := p.Write(&out); err != nil {
			t.Fatal(err)
		}
		document, err := html.Parse(&out)
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprint("class ", class)
		markup.SelfContained(t, name, document)
		markup.Headings(t, name, document)
		rows := markup.Tables(t, name, document)
		text := markup.Text(document)
		both := [][]string{{"kim", "5", "5 of 5", "passed", "1 of 2", "2.10 s of 1"}, {"<i>lee", "1", "0 of 5", "5"}}
		alone := [][]string{{"Fuel <b>valve", "5", "5 of 5", "-", "-"}, {"Battery", "5", "0 of 5", "2.58 s of 5", "1.29"}, {"Engine fire", "5", "0 of 5", "5", "0", "-"}}
		for _, want := range both {
			if !slices.ContainsFunc(rows, func(r []string) bool { return slices.Equal(r, want) }) {
				t.Errorf("%s: there is no row %q in %q", name, want, rows)
			}
		}
		for _, want := range alone {
			if slices.ContainsFunc(rows, func(r []string) bool { return slices.Equal(r, want) }) == class {
				t.Errorf("%s: whether there is a row %q in %q", name, want, rows)
			}
		}
		for _, want := range []string{"Lark, start, prompted: 5 sittings", "T = 4.00 s x N^-0.40", "the line is the power law", "77"} {
			if strings.Contains(text, want) == class {
				t.Errorf("%s: whether the page says %q", name, want)
			}
		}
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
	if err != nil || !strings.Contains(markup.Text(document), debrief.Caution) {
		t.Errorf("it has no caution (%v)", err)
	}
}
