package main

import (
	"fmt"
	"strings"

	"hornlark/drill/bench"
	"hornlark/drill/debrief"
	"hornlark/drill/debrief/page"
	"hornlark/drill/practice"
)

// page is the outlook as a page, and as a plot.
func (p *preview) page(o *bench.Outlook) *page.Outlook {
	out := &page.Outlook{
		Title: fmt.Sprintf("Preview of %s (%s)", p.title(), p.bundle.Scenario.Name), Warning: forInstructor, Verdict: "Passed " + shareText(o.Passed),
		Words: []string{sentence(p.whoSits())}, Ends: o.LengthS.Most, About: bench.Estimates, Caution: debrief.CautionOf(p.bundle.Profile),
	}
	for _, line := range p.passText(o)[1:] {
		if !strings.HasPrefix(line, " ") {
			out.Words = append(out.Words, "")
		}
		last := &out.Words[len(out.Words)-1]
		*last = strings.TrimSpace(*last + " " + strings.TrimSpace(line))
	}
	for i := 1; i < len(out.Words); i++ {
		first, rest, _ := strings.Cut(out.Words[i], " ")
		if first == "FALSE" {
			rest = strings.TrimPrefix(rest, "ALARMS ")
			first = "FALSE ALARMS"
		}
		out.Words[i] = sentence(strings.ToLower(first) + " " + rest)
	}
	if like := p.likeText(); like != nil {
		var words []string
		for _, line := range like {
			words = append(words, strings.TrimSpace(line))
		}
		out.Words = append(out.Words, sentence(strings.Join(words, " ")))
	}
	out.Tables = append(out.Tables, p.reasonsTable(o), p.comesTable(o))
	if len(o.Never) > 0 {
		t := page.OutlookTable{Title: "What never came", Head: []string{"what", "why"}}
		for _, n := range o.Never {
			t.Rows = append(t.Rows, []string{n.Name, n.Why})
		}
		out.Tables = append(out.Tables, t)
	}
	out.Tables = append(out.Tables, p.hardestTable(o))
	if len(o.Inspected) > 0 {
		t := page.OutlookTable{Title: "Bent metal", Head: []string{"limit", "sittings"}}
		for _, in := range o.Inspected {
			t.Rows = append(t.Rows, []string{in.Text, shareText(in.Count)})
		}
		out.Tables = append(out.Tables, t)
	}
	for i := range o.Abnormals {
		a := &o.Abnormals[i]
		m := page.Moments{Name: a.Title, Share: percent(a.Sittings.Value()), Width: bench.MomentS}
		for _, bin := range a.Moments {
			m.Bins = append(m.Bins, page.MomentBin{From: bin.FromS, Count: bin.Count})
		}
		out.Moments = append(out.Moments, m)
	}
	return out
}

// sentence begins with a capital and ends with a full stop.
func sentence(text string) string {
	if text == "" {
		return text
	}
	return strings.ToUpper(text[:1]) + strings.TrimSuffix(text[1:], ".") + "."
}

func (p *preview) reasonsTable(o *bench.Outlook) page.OutlookTable {
	t := page.OutlookTable{Title: "What decides", Head: []string{"criterion", "to be reached", "not met", "and nothing else"}, None: "Nothing: the scenario has no criteria that came to bear."}
	for _, r := range o.Reasons {
		t.Rows = append(t.Rows, []string{r.Name, r.Want, percent(r.Count.Value()), fmt.Sprint(r.Alone)})
	}
	return t
}

func (p *preview) comesTable(o *bench.Outlook) page.OutlookTable {
	t := page.OutlookTable{Title: "What comes", Head: []string{"what", "comes in", "noticed", "handled", "made worse", "lost or not noticed", "median reaction"}, None: "Nothing."}
	for i := range o.Abnormals {
		a := &o.Abnormals[i]
		row := []string{fmt.Sprintf("%s (%s)", a.Title, a.Name), p.cameText(a)}
		switch {
		case a.Shown == 0:
			row = append(row, "never shows itself", "", "", "", "")
		case a.Harmless:
			row = append(row, "a look-alike", "left alone "+shareText(a.Handled), "", "", "")
		default:
			row = append(row, shareText(a.Noticed), shareText(a.Handled), percent(practice.ShareOf(a.Worse, a.Shown).Value()), percent(practice.ShareOf(a.Lost, a.Shown).Value()),
				fmt.Sprintf("%.1f s", a.ReactionS.Median))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func (p *preview) hardestTable(o *bench.Outlook) page.OutlookTable {
	t := page.OutlookTable{Title: "Hardest items", Head: []string{"item", "not right", "how"}, None: "Every item was right in every sitting."}
	for _, it := range o.Items {
		t.Rows = append(t.Rows, []string{fmt.Sprintf("%s (%s)", p.challenge(it.Item), it.Item), shareText(it.Wrong), howText(&it)})
	}
	return t
}
