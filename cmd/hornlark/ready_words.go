package main

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"time"

	"hornlark/drill/debrief"
	"hornlark/drill/practice"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
)

// ownChoice is what is said of the criteria that are built in.
const ownChoice = "Built-in criteria: our own choice, and no standard."

// text is the answer in lines.
func (a *assessed) text() []string {
	lines := []string{fmt.Sprintf("READY? %s, for %s: %s", a.options.trainee, a.day.Format("Mon 2 Jan 2006"), a.aircraft.Title)}
	para := func(indent, text string) { lines = append(lines, planPara(indent, text)...) }
	para("", fmt.Sprintf("As a whole: %s. %s", a.answer(), practice.NoLicence))
	for _, p := range a.parts {
		lines = append(lines, "")
		name := ""
		if p.title != p.name && p.name != practice.LimitsName {
			name = " (" + p.name + ")"
		}
		para("", fmt.Sprintf("%s%s: %s", p.title, name, strings.ToUpper(string(p.report.Answer))))
		for _, reason := range p.report.Against {
			para("  - ", reason)
		}
		for _, reason := range p.report.Lacking {
			para("  ? ", reason)
		}
		for _, figure := range a.figures(p) {
			para("    ", figure)
		}
	}
	lines = append(lines, "")
	para("", "- speaks against it; ? has not been seen. In brackets: where the true share lies with 95 % confidence (Wilson's score interval), "+
		"as if nothing had been learnt from one to the next. What is expected on the day is an estimate by a model of memory that was made for vocabulary and facts.")
	from := ownChoice
	if a.options.criteria != "" {
		from = "Criteria of " + a.options.criteria + "."
	}
	para("", from+" "+criteriaInWords(a.criteria))
	return append(append(lines, ""), debrief.CautionLines(debrief.CautionOf(a.aircraft), reportWidth)...)
}

// figures says what an answer rests on, and how it could be seen.
func (a *assessed) figures(p *readyPart) (list []string) {
	r := p.report
	say := func(text string, args ...any) { list = append(list, fmt.Sprintf(text, args...)) }
	if r.Passes.Of > 0 || r.BrokenOff > 0 {
		broken := ""
		if r.BrokenOff > 0 {
			broken = fmt.Sprintf("; broken off: %d", r.BrokenOff)
		}
		say("Passed unannounced: %s%s.", withInterval(r.Passes), broken)
	}
	if r.Again > 0 {
		say("Of the passes in a row, %d of %d came with what an earlier sitting had brought at the same places: no surprise the second time.", r.Again, r.InARow)
	}
	if r.DateSet > 0 {
		say("Of the passes in a row, %d of %d with a date that was set (%s): how far apart they were is not certain.", r.DateSet, r.InARow, clockVariable)
	}
	if r.WithinPar.Of > 0 {
		say("Reactions within par in the passes that count: %s.", withInterval(r.WithinPar))
	}
	if r.Abnormals > 0 {
		if r.Noticed.Of == 0 {
			say("Abnormals met: 0 of %d.", r.Abnormals)
		} else {
			say("Abnormals met: %d of %d; the latest time of each: noticed %s, handled %s.", r.Noticed.Of, r.Abnormals, withInterval(r.Noticed), withInterval(r.Handled))
		}
	}
	if r.Recall != nil {
		say("Expected to be known on the day, of the %d of %d things to know that were met: about %s.", r.Met, r.Things, percent(math.Floor(100**r.Recall)/100))
	}
	if a.options.reveal {
		for _, named := range []struct {
			what  string
			names []string
		}{{"Not handled the latest time", r.Mishandled}, {"Never met", r.Unmet}} {
			if len(named.names) > 0 {
				say("%s: %s.", named.what, strings.Join(a.titles(named.names), ", "))
			}
		}
	}
	if r.Answer != practice.IsReady {
		if how := a.howToShow(p); how != "" {
			say("To show it: %s", how)
		}
	}
	return list
}

// withInterval is a share with its interval; outwards, so that it never looks narrower than it is.
func withInterval(s practice.Share) string {
	low, high := int(100*s.Low), int(100*s.High)
	if float64(high) < 100*s.High {
		high++
	}
	return fmt.Sprintf("%d of %d (%d to %d %%)", s.Count, s.Of, low, high)
}

// titles names abnormals.
func (a *assessed) titles(names []string) []string {
	list := make([]string, len(names))
	for i, name := range names {
		list[i] = name
		if found, err := a.lib.Abnormal(name); err == nil {
			list[i] = found.Title
		}
	}
	return list
}

// howToShow is a command that goes through a part unannounced, with interruptions that the trainee has not met at these places, if there is
// such a scenario. Empty if there is none at all.
func (a *assessed) howToShow(p *readyPart) string {
	way, best := "", 0
	for _, s := range a.lib.Scenarios() {
		proc, err := a.lib.Procedure(s.Procedure)
		if err != nil || proc.Profile != a.aircraft.Name || s.Profile != "" && s.Profile != a.aircraft.Name || s.Procedure != p.name && p.seen.Kind != practice.LimitsPart {
			continue
		}
		command, good := "hornlark drill "+s.Name+a.onProfile(s), 2
		if len(s.Abnormals()) > 0 {
			good += 2
		}
		if !practice.Unannounced(p.seen.Kind, s, "") {
			if p.seen.Kind != practice.FlowPart || !practice.Unannounced(p.seen.Kind, s, scenario.Recall) {
				continue
			}
			command, good = command+" --policy recall", good-1
		}
		if bundle, err := a.lib.Bundle(s); err == nil && len(s.Abnormals()) > 0 && (s.Drawn != nil && s.Seed == 0 || !a.plans[record.HashOf(bundle.Pack())]) {
			good += 4
		}
		if good > best {
			way, best = command, good
		}
	}
	return way
}

// onProfile is the option that has a scenario gone through on the aircraft, where it says another one itself.
func (a *assessed) onProfile(s *scenario.Scenario) string {
	proc, err := a.all.Procedure(s.Procedure)
	if err != nil || cmp.Or(s.Profile, proc.Profile) == a.aircraft.Name {
		return ""
	}
	return " --profile " + a.aircraft.Name
}

// criteriaInWords says what is asked for.
func criteriaInWords(c *practice.Criteria) string {
	apart := ""
	if c.DaysApart > 0 && c.InARow > 1 {
		apart = fmt.Sprintf(", with at least %s between them", debrief.Count(c.DaysApart, "day"))
	}
	passes := "1 pass, unannounced"
	if c.InARow > 1 {
		passes = fmt.Sprintf("%d passes in a row, unannounced", c.InARow)
	}
	parts := []string{passes + apart}
	if c.Surprises > 0 {
		parts = append(parts, fmt.Sprintf("in %d of them something that had not come before at the same places, where abnormals can come", c.Surprises))
	}
	if c.WithinDays != nil {
		parts = append(parts, fmt.Sprintf("the latest no more than %s before the day", debrief.Count(*c.WithinDays, "day")))
	}
	for _, share := range []struct {
		value *float64
		text  string
	}{
		{c.Recall, "%s of what was met expected to be known on the day"},
		{c.Noticed, "%s of the abnormals met noticed the latest time"},
		{c.Handled, "%s of them handled"},
		{c.Shown, "%s of all things to know right, and of all abnormals that can come handled, the latest time"},
		{c.WithinPar, "%s of the reactions in these passes within par"},
	} {
		if share.value != nil {
			parts = append(parts, fmt.Sprintf(share.text, percent(*share.value)))
		}
	}
	if c.Detection != nil {
		parts = append(parts, fmt.Sprintf("every abnormal met noticed within %v the latest time", *c.Detection))
	}
	return "They ask for " + strings.Join(parts, "; ") + "."
}

// readyJSON is what ready --json prints.
type readyJSON struct {
	Trainee      string             `json:"trainee"`
	Profile      string             `json:"profile"`
	Today        string             `json:"today"`
	By           string             `json:"by"`
	Answer       practice.Readiness `json:"answer"`
	Parts        []readyPartJSON    `json:"parts"`
	Criteria     *practice.Criteria `json:"criteria"`
	CriteriaFrom string             `json:"criteria_from"`
	NoLicence    string             `json:"no_licence"`
	Caution      string             `json:"caution"`
}

// readyPartJSON is the answer for one part. Shares have the ends of their intervals of 95 % confidence.
type readyPartJSON struct {
	Name  string            `json:"name"`
	Title string            `json:"title"`
	Kind  practice.PartKind `json:"kind"`
	*practice.ReadyReport
	Mishandled []string `json:"mishandled,omitempty"` // titles; with --reveal
	NeverMet   []string `json:"never_met,omitempty"`  // titles; with --reveal
}

func (a *assessed) json() readyJSON {
	out := readyJSON{
		Trainee: a.options.trainee, Profile: a.aircraft.Name, Today: a.now.Format(time.DateOnly), By: a.day.Format(time.DateOnly), Answer: a.answer(),
		Parts: []readyPartJSON{}, Criteria: a.criteria, CriteriaFrom: ownChoice, NoLicence: practice.NoLicence, Caution: debrief.CautionOf(a.aircraft),
	}
	if a.options.criteria != "" {
		out.CriteriaFrom = a.options.criteria
	}
	for _, p := range a.parts {
		part := readyPartJSON{Name: p.name, Title: p.title, Kind: p.seen.Kind, ReadyReport: p.report}
		if a.options.reveal {
			part.Mishandled, part.NeverMet = a.titles(p.report.Mishandled), a.titles(p.report.Unmet)
		}
		out.Parts = append(out.Parts, part)
	}
	return out
}
