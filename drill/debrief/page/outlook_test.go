package page_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"hornlark/drill/debrief/page"
	"hornlark/drill/drilltest/markup"
)

func anOutlook() *page.Outlook {
	return &page.Outlook{
		Title: "Preview of <b>Monday</b> & more", Warning: "For the instructor.", Words: []string{"Twelve sittings."}, Verdict: "Passed 3 of 12", Ends: 400,
		Tables: []page.OutlookTable{
			{Title: "What decides", Head: []string{"criterion", "not met"}, Rows: [][]string{{"items right", "75 %"}}}, {Title: "Hardest items", None: "Every item was right."},
		},
		Moments: []page.Moments{
			{Name: "A door & its <latch>", Share: "50 %", Width: 10, Bins: []page.MomentBin{{From: 60, Count: 1}, {From: 130, Count: 4}, {From: 200, Count: 2}}},
			{Name: "Rotor", Share: "25 %", Width: 10, Bins: []page.MomentBin{{From: 300, Count: 3}}},
		},
		About: "All of it is estimates.", Caution: "Not for flight: it is made up.",
	}
}

// A page of an outlook keeps to the rules of the others, says for whom it is, and the plot says in words what it shows.
func TestOutlookPage(t *testing.T) {
	for _, quiet := range []bool{false, true} {
		o := anOutlook()
		if quiet {
			o.Moments = nil
		}
		document, _, _ := markup.Written(t, "outlook", o)
		text := markup.Text(document)
		for want, said := range map[string]bool{
			o.Title: true, o.Caution: true, o.Warning: true, o.Verdict: true, "75 %": true, "Every item was right.": true, o.About: true,
			"A door & its <latch> in 50 %, most often from 2:10 on; Rotor in 25 %, most often from 5:00 on": !quiet,
		} {
			if strings.Contains(text, want) != said {
				t.Errorf("quiet %v: says %q: %v", quiet, want, !said)
			}
		}
	}
}

// The plot by itself is XML with a title, a description and the caution; where nothing comes it says so.
func TestOutlookPlot(t *testing.T) {
	for _, quiet := range []bool{false, true} {
		o := anOutlook()
		if quiet {
			o.Moments = nil
		}
		var out bytes.Buffer
		if err := o.WritePlot(&out); err != nil {
			t.Fatal(err)
		}
		if text := out.String(); !strings.Contains(text, o.Caution+"</desc>") || !strings.Contains(text, "For the instructor.") || strings.Contains(text, "Nothing comes.") != quiet {
			t.Errorf("it says too little:\n%.600s", text)
		}
		for d := xml.NewDecoder(&out); ; {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatal(err)
			}
		}
	}
}
