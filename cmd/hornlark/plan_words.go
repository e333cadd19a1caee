package main

import (
	"crypto/sha256"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"hornlark/drill/debrief"
	"hornlark/drill/debrief/page"
	"hornlark/drill/practice"
)

// atRisk is the probability of being known on the day below which something is said to stay at risk. Our own figure.
const atRisk = 0.7

// enoughMet is the part of what there is to know that has to have been met for expectations to be about this trainee. Our own figure.
const enoughMet = 0.5

// heading says until when, for whom and of what.
func (p *laidOut) heading() string {
	aircraft, _ := p.lib.Profile(p.profile)
	who := ""
	if p.options.trainee != "" {
		who = " for " + p.options.trainee
	}
	return fmt.Sprintf("%s%s: %s", p.days.day.Format("Mon 2 Jan 2006"), who, aircraft.Title)
}

// words says what the plan goes by and what is expected of it, a sentence or two a paragraph.
func (p *laidOut) words() (list []string) {
	o := p.options
	para := func(text string) { list = append(list, text) }
	para(p.span())
	switch {
	case o.trainee == "":
		para("Not enough seen yet: nobody is named. This is a first plan, for somebody who has not sat yet; whose plan it is, says --trainee NAME.")
	case p.met == 0:
		para(fmt.Sprintf("Not enough seen yet: no sitting of %s has shown anything of this. This is a first plan; make it again after a sitting or two.", o.trainee))
	case float64(p.met) < enoughMet*float64(p.things):
		para(fmt.Sprintf("Not enough seen yet: %d of %d things to know have been met. The figures are rather those of learners in general.", p.met, p.things))
	default:
		para(fmt.Sprintf("%d of %d things to know have been met.", p.met, p.things))
	}
	list = append(list, foretold(o.trainee, p.known)...)
	para(fmt.Sprintf("Expected to be known on the day: %s with this practice, %s without any. What an abnormal takes counts four times, a limit half.", percent(p.With), percent(p.Without)))
	para(`What is gone through on a day is chosen on that day by "hornlark tonight", from what is known then; what was never met comes in the order of its flow and undisturbed.`)
	return list
}

// span says how many days there are, and on how many of them there is practice.
func (p *laidOut) span() string {
	days, practised := debrief.Count(p.days.days, "day")+" until then", p.practised()
	switch practised {
	case 0:
		return days + ", without practice."
	case p.days.days:
		return fmt.Sprintf("%s, with practice of up to %d min on each.", days, p.options.minutes)
	}
	return fmt.Sprintf("%s, with practice of up to %d min on %d of them.", days, p.options.minutes, practised)
}

// text is the plan in lines.
func (p *laidOut) text() []string {
	aircraft, _ := p.lib.Profile(p.profile)
	lines := []string{"UNTIL " + p.heading()}
	para := func(indent, text string) { lines = append(lines, planPara(indent, text)...) }
	for _, words := range p.words() {
		para("", words)
	}
	lines = append(lines, "")
	if p.practised() == 0 {
		para("", p.why())
	}
	for i := range p.Sessions {
		if s := &p.Sessions[i]; len(s.Units) > 0 {
			lines = append(lines, planPara(fmt.Sprintf("  %-12s%3.0f min  ", s.Date.Format("Mon 2 Jan"), math.Ceil(s.Takes/60)), p.practice(s))...)
		}
	}
	lines = append(lines, "")
	risks := p.risks()
	if len(risks) == 0 {
		para("", "Nothing is expected to be known less than "+percent(atRisk)+" on the day.")
	} else {
		para("", "What stays at risk on the day, known less than "+percent(atRisk)+":")
		for _, r := range risks {
			para("  ", r)
		}
	}
	return append(append(lines, ""), debrief.CautionLines(debrief.CautionOf(aircraft), reportWidth)...)
}

// page is the plan as a page.
func (p *laidOut) page() *page.Plan {
	aircraft, _ := p.lib.Profile(p.profile)
	out := &page.Plan{
		Title: "Until " + p.heading(), Words: p.words(), Risks: p.risks(), AtRisk: percent(atRisk),
		Expected: p.Days, From: p.days.from, Caution: debrief.CautionOf(aircraft),
	}
	for i := range p.Sessions {
		if s := &p.Sessions[i]; len(s.Units) > 0 {
			out.Practice = append(out.Practice, []string{s.Date.Format("Mon 2 Jan 2006"), fmt.Sprintf("%.0f min", math.Ceil(s.Takes/60)), p.practice(s)})
		}
	}
	if len(out.Practice) == 0 {
		out.None = p.why()
	}
	return p.pageUnits(out)
}

// pageUnits tells of each phase, of all abnormals together, and of limits what is expected.
func (p *laidOut) pageUnits(out *page.Plan) *page.Plan {
	row := func(what string, times int, with, without float64) []string {
		return []string{what, strconv.Itoa(times), percent(with), percent(without)}
	}
	var abnormals practice.Outlook
	var limits []string
	n := 0
	for i := range p.course.Units {
		o := p.Units[i]
		switch p.course.Units[i].Kind {
		case practice.AbnormalUnit:
			n++
			abnormals.Times += o.Times
			abnormals.With, abnormals.Without = abnormals.With+o.With, abnormals.Without+o.Without
		case practice.LimitsUnit:
			limits = row("Limits", o.Times, o.With, o.Without)
		default:
			out.Units = append(out.Units, row(p.phase(i), o.Times, o.With, o.Without))
		}
	}
	if n > 0 {
		out.Units = append(out.Units, row(debrief.Count(n, "abnormal")+", together", abnormals.Times, abnormals.With/float64(n), abnormals.Without/float64(n)))
	}
	if limits != nil {
		out.Units = append(out.Units, limits)
	}
	return out
}

// practised is on how many days something is practised.
func (p *laidOut) practised() (n int) {
	for i := range p.Sessions {
		if len(p.Sessions[i].Units) > 0 {
			n++
		}
	}
	return n
}

// why says why nothing is practised.
func (p *laidOut) why() string {
	shortest := time.Duration(math.MaxInt64)
	for i := range p.course.Units {
		shortest = min(shortest, p.course.Units[i].Length)
	}
	switch {
	case len(p.course.Units) == 0:
		return "There is nothing to practise: no scenario goes through this with a trainee."
	case len(p.Sessions) == 0:
		return "Every day until then is a day of rest, and so there is nothing to plan; leave one of them out of --rest."
	case float64(p.options.minutes*60) < shortest.Seconds():
		return fmt.Sprintf("Nothing fits into %d min: the shortest that can be practised takes %.0f s.", p.options.minutes, math.Ceil(shortest.Seconds()))
	}
	return "No practice would add anything."
}

// practice says what is practised on a day: phases by name, abnormals by their number alone.
func (p *laidOut) practice(s *practice.Session) string {
	var parts []string
	phases, abnormals, limits := p.parts(s)
	of := ""
	for _, i := range phases {
		u := &p.course.Units[i]
		switch {
		case u.Of == of:
			parts[len(parts)-1] += ", " + u.Title
		case p.several():
			parts = append(parts, p.procedure(u.Of)+": "+u.Title)
		default:
			parts = append(parts, u.Title)
		}
		of = u.Of
	}
	if abnormals > 0 {
		parts = append(parts, debrief.Count(abnormals, "abnormal"))
	}
	if limits {
		parts = append(parts, "limits")
	}
	return strings.Join(parts, "; ")
}

// several reports whether the phases are of more than one procedure.
func (p *laidOut) several() bool {
	first := &p.course.Units[0]
	return slices.ContainsFunc(p.course.Units, func(u practice.Unit) bool { return u.Kind == practice.PhaseUnit && u.Of != first.Of })
}

// procedure is the title of a procedure.
func (p *laidOut) procedure(name string) string {
	if proc, err := p.lib.Procedure(name); err == nil {
		return proc.Title
	}
	return name
}

// parts tells what is practised on a day by kinds; phases as places in the units, in the order of their flow.
func (p *laidOut) parts(s *practice.Session) (phases []int, abnormals int, limits bool) {
	in := map[int]bool{}
	for _, i := range s.Units {
		in[i] = true
	}
	for i := range p.course.Units {
		switch kind := p.course.Units[i].Kind; {
		case !in[i]:
		case kind == practice.PhaseUnit:
			phases = append(phases, i)
		case kind == practice.AbnormalUnit:
			abnormals++
		default:
			limits = true
		}
	}
	return phases, abnormals, limits
}

// phase names a phase, and its procedure where there are several.
func (p *laidOut) phase(i int) string {
	u := &p.course.Units[i]
	if p.several() {
		return p.procedure(u.Of) + ", " + u.Title
	}
	return u.Title
}

// risks says in words what stays at risk on the day.
func (p *laidOut) risks() (list []string) {
	abnormals, of := 0, 0
	limits := ""
	for i := range p.course.Units {
		u, o := &p.course.Units[i], p.Units[i]
		risky := o.With < atRisk
		switch u.Kind {
		case practice.AbnormalUnit:
			of++
			if risky {
				abnormals++
			}
		case practice.LimitsUnit:
			if risky {
				limits = fmt.Sprintf("limits: %s, without practice %s", percent(o.With), percent(o.Without))
			}
		default:
			if risky {
				list = append(list, fmt.Sprintf("%s: %s, without practice %s", p.phase(i), percent(o.With), percent(o.Without)))
			}
		}
	}
	if abnormals > 0 {
		list = append(list, fmt.Sprintf("%d of %d abnormals", abnormals, of))
	}
	if limits != "" {
		list = append(list, limits)
	}
	return list
}

func percent(part float64) string { return fmt.Sprintf("%.0f %%", 100*part) }

// planPara breaks a text into lines; the first is behind first, the others stand below its text.
func planPara(first, text string) (lines []string) {
	line, begun := first, false
	for _, word := range strings.Fields(text) {
		if begun && len([]rune(line))+1+len([]rune(word)) > reportWidth {
			lines = append(lines, line)
			line, begun = strings.Repeat(" ", len([]rune(first))), false
		}
		if begun {
			line += " "
		}
		line, begun = line+word, true
	}
	return append(lines, line)
}

// plannedJSON is what plan --json prints.
type plannedJSON struct {
	Trainee   string              `json:"trainee"`
	Profile   string              `json:"profile"`
	Procedure string              `json:"procedure,omitempty"`
	Today     string              `json:"today"`
	By        string              `json:"by"`
	Minutes   int                 `json:"minutes"`
	Met       int                 `json:"met"`    // things to know that were met
	Things    int                 `json:"things"` // that there are
	Enough    bool                `json:"enough_seen"`
	With      float64             `json:"with"`
	Without   float64             `json:"without"`
	Foretold  foretoldJSON        `json:"foretold"` // what was said of the trainee so far, and what came true
	Days      []plannedDay        `json:"days"`
	Expected  []practice.Expected `json:"expected"` // of each day before its practice, from today to the day
	AtRisk    []string            `json:"at_risk"`
	Caution   string              `json:"caution"`
}

// plannedDay is the practice of one day.
type plannedDay struct {
	Date      string         `json:"date"`
	TakesS    float64        `json:"takes_s"`
	Phases    []plannedPhase `json:"phases"`
	Abnormals int            `json:"abnormals"`
	Limits    bool           `json:"limits"`
}

type plannedPhase struct {
	Procedure string `json:"procedure"`
	Phase     string `json:"phase"`
	Title     string `json:"title"`
}

func (p *laidOut) json() plannedJSON {
	aircraft, _ := p.lib.Profile(p.profile)
	out := plannedJSON{
		Trainee: p.options.trainee, Profile: p.profile, Procedure: p.options.procedure,
		Today: p.days.from.Format(time.DateOnly), By: p.days.day.Format(time.DateOnly), Minutes: p.options.minutes,
		Met: p.met, Things: p.things, Enough: p.met > 0 && float64(p.met) >= enoughMet*float64(p.things),
		With: p.With, Without: p.Without, Foretold: foretoldOf(p.known), Days: []plannedDay{}, Expected: p.Days, AtRisk: append([]string{}, p.risks()...), Caution: debrief.CautionOf(aircraft),
	}
	for i := range p.Sessions {
		s := &p.Sessions[i]
		if len(s.Units) == 0 {
			continue
		}
		d := plannedDay{Date: s.Date.Format(time.DateOnly), TakesS: s.Takes, Phases: []plannedPhase{}}
		var phases []int
		phases, d.Abnormals, d.Limits = p.parts(s)
		for _, k := range phases {
			u := &p.course.Units[k]
			d.Phases = append(d.Phases, plannedPhase{u.Of, u.Name, u.Title})
		}
		out.Days = append(out.Days, d)
	}
	return out
}

// calendar writes the plan as a calendar (RFC 5545). A day's event keeps its identity when a plan is made again for the same trainee,
// aircraft and day, so that a calendar puts the new one in the place of the old.
func (p *laidOut) calendar(w io.Writer) error {
	aircraft, _ := p.lib.Profile(p.profile)
	cal := ics.NewCalendar()
	cal.SetProductId("-//Hornlark//Plan//EN")
	for i := range p.Sessions {
		s := &p.Sessions[i]
		if len(s.Units) == 0 {
			continue
		}
		id := sha256.Sum256([]byte(strings.Join([]string{p.options.trainee, p.profile, p.options.procedure, s.Date.Format(time.DateOnly)}, "\x00")))
		event := cal.AddEvent(fmt.Sprintf("%x@hornlark", id[:16]))
		event.SetDtStampTime(p.days.now)
		event.SetStartAt(s.Date)
		event.SetProperty(ics.ComponentPropertyDuration, fmt.Sprintf("PT%.0fM", math.Ceil(s.Takes/60)))
		event.SetSummary("Hornlark: " + aircraft.Title)
		event.SetDescription("Practise: " + p.practice(s) + ".\n" + debrief.CautionOf(aircraft))
	}
	return cal.SerializeTo(w, ics.WithNewLineWindows)
}
