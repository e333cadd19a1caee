package page_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"hornlark/drill/debrief/page"
	"hornlark/drill/drilltest/markup"
	"hornlark/drill/practice"
)

func aPlan() *page.Plan {
	return &page.Plan{
		Title: "Until Fri 12 Mar 2027 for <b>Kim</b> & Co: Dunlin", Words: []string{"Two days.", "Expected: 90 %."}, AtRisk: "70 %",
		Practice: [][]string{{"Wed 10 Mar 2027", "15 min", "Start 1; 2 abnormals"}}, Units: [][]string{{"Start 1", "1", "90 %", "50 %"}},
		Expected: []practice.Expected{{With: 0.5, Without: 0.5}, {With: 0.8, Without: 0.46}, {With: 0.9, Without: 0.42}},
		From:     time.Date(2027, 3, 10, 19, 0, 0, 0, time.UTC), Caution: "Not for flight: it is made up.",
	}
}

// A page of a plan keeps to the rules of the others, and the plot says in words what it shows, the dates of its ends included.
func TestPlanPage(t *testing.T) {
	for _, risky := range []bool{false, true} {
		p := aPlan()
		if risky {
			p.Risks, p.Practice, p.None = []string{"Start 2: 60 %"}, nil, "Nothing fits."
		}
		document, _, _ := markup.Written(t, "plan", p)
		text := markup.Text(document)
		for want, said := range map[string]bool{
			p.Title: true, p.Caution: true, "Expected: 90 %.": true, "from 2027-03-10 to 2027-03-12: 50 % at first; on the day 90 % with practice, 42 % without": true,
			"Nothing is expected": !risky, "Start 2: 60 %": risky, "Nothing fits.": risky, "15 min": !risky,
		} {
			if strings.Contains(text, want) != said {
				t.Errorf("risky %v: says %q: %v", risky, want, !said)
			}
		}
	}
}

// The plot by itself is XML with a title, a description, and the caution, whatever somebody is called.
func TestPlanPlot(t *testing.T) {
	p := aPlan()
	var out bytes.Buffer
	if err := p.WritePlot(&out); err != nil {
		t.Fatal(err)
	}
	if text := out.String(); !strings.Contains(text, "<title>Until Fri 12 Mar 2027 for &lt;b&gt;Kim&lt;/b&gt; &amp; Co: Dunlin, expected to be known</title>") ||
		!strings.Contains(text, p.Caution+"</desc>") || !strings.Contains(text, "2027-03-12") {
		t.Errorf("it says too little:\n%.600s", text)
	}
	for d := xml.NewDecoder(&out); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			t.Fatal(err)
		}
	}
}
