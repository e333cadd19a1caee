package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"hornlark/drill/bench"
	"hornlark/drill/debrief"
	"hornlark/drill/practice"
	"hornlark/drill/score"
)

// How much the text tells; --json has all of it.
const (
	hardestTold   = 10
	momentsTold   = 3 // items at which an abnormal came
	inSittings    = "sitting"
	forInstructor = "For the instructor: this tells what will happen."
)

// paragraph adds a text, broken into lines, each with so many spaces before it; what goes on stands two further in.
func paragraph(lines []string, indent int, text string) []string {
	const glue = "\x01" // a figure and its sign stay together
	for i, line := range wrapped(strings.ReplaceAll(text, " %", glue+"%"), reportWidth-indent-2) {
		pad := indent
		if i > 0 {
			pad += 2
		}
		lines = append(lines, strings.Repeat(" ", pad)+strings.ReplaceAll(line, glue, " "))
	}
	return lines
}

// clockOf is a time of a sitting in minutes and seconds.
func clockOf(seconds float64) string {
	s := int(math.Round(seconds))
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// shareText is a share with its interval.
func shareText(s practice.Share) string {
	return fmt.Sprintf("%d of %d, %s (95 %%: %s to %s)", s.Count, s.Of, percent(s.Value()), percent(s.Low), percent(s.High))
}

// text tells of the outlook in lines.
func (p *preview) text(o *bench.Outlook) []string {
	lines := paragraph(nil, 0, fmt.Sprintf("PREVIEW %s (%s): %s", p.title(), p.bundle.Scenario.Name, p.whoSits()))
	lines = append(lines, forInstructor, "")
	for _, part := range [][]string{p.passText(o), p.reasonsText(o), p.comesText(o), p.neverText(o), p.hardestText(o), bentText(o), slipsText(o), p.likeText()} {
		if len(part) > 0 {
			lines = append(append(lines, part...), "")
		}
	}
	lines = paragraph(lines, 0, bench.Estimates)
	return paragraph(append(lines, ""), 0, debrief.CautionOf(p.bundle.Profile))
}

// standInText is who sits.
func (p *preview) standInText() string {
	if p.rest != nil {
		return "stand-in " + p.Person().Name
	}
	return p.Person().Name + " stand-in"
}

// whoSits says how often who sits it, and with which seeds.
func (p *preview) whoSits() string {
	who := fmt.Sprintf("%s of a %s", debrief.Count(p.runs, inSittings), p.standInText())
	switch {
	case p.fixed:
		return fmt.Sprintf("%s; the scenario fixes seed %d, only the stand-in varies", who, p.bundle.Scenario.Seed)
	case p.runs == 1:
		return fmt.Sprintf("%s, seed %d", who, p.seed)
	}
	return fmt.Sprintf("%s, seeds %d to %d", who, p.seed, p.seed+uint64(p.runs)-1)
}

func (p *preview) passText(o *bench.Outlook) []string {
	lines := paragraph(nil, 0, "PASSED "+shareText(o.Passed))
	l := o.LengthS
	lines = paragraph(lines, 0, fmt.Sprintf("LENGTH %s at the median, half of them from %s to %s, all from %s to %s", clockOf(l.Median), clockOf(l.Quarter), clockOf(l.Upper), clockOf(l.Least), clockOf(l.Most)))
	if o.FalseAlarm.Count > 0 {
		lines = paragraph(lines, 0, fmt.Sprintf("FALSE ALARMS in %s of the sittings", roughly(o.FalseAlarm.Value())))
	}
	return lines
}

// reasonsText says which criteria decide.
func (p *preview) reasonsText(o *bench.Outlook) []string {
	lines := []string{"WHAT DECIDES"}
	for _, r := range o.Reasons {
		name := r.Name
		if r.Want != "" {
			name += ", " + r.Want
		}
		text := fmt.Sprintf("%s: not met in %s", name, roughly(r.Count.Value()))
		if r.Want == "" {
			text = fmt.Sprintf("%s: %s", name, roughly(r.Count.Value()))
		}
		if r.Alone > 0 {
			text += fmt.Sprintf("; in %s nothing else kept them from passing", debrief.Count(r.Alone, inSittings))
		}
		lines = paragraph(lines, 2, text)
	}
	if len(lines) == 1 {
		return []string{"WHAT DECIDES", "  nothing: the scenario has no criteria that came to bear"}
	}
	return lines
}

// challenge is what an item is known by.
func (p *preview) challenge(id string) string {
	name := id
	if it, ok := p.challenges()[id]; ok {
		name = it
	}
	return name
}

// challenges are the items by their ids.
func (p *preview) challenges() map[string]string {
	names := map[string]string{}
	for _, phase := range slices.Concat(p.bundle.Procedure.Phases, p.Exercise().Procedure(p.seed).Phases) {
		for i := range phase.Items {
			names[phase.Items[i].ID] = phase.Items[i].Challenge
		}
	}
	return names
}

func (p *preview) comesText(o *bench.Outlook) []string {
	if len(o.Abnormals) == 0 {
		return []string{"WHAT COMES", "  nothing"}
	}
	lines := []string{"WHAT COMES"}
	for i := range o.Abnormals {
		a := &o.Abnormals[i]
		kind := ""
		if a.Harmless {
			kind = ", a look-alike"
		}
		lines = paragraph(lines, 2, fmt.Sprintf("%s (%s%s)", a.Title, a.Name, kind))
		lines = paragraph(lines, 4, "comes in "+p.cameText(a))
		lines = paragraph(lines, 4, fatesText(a))
	}
	if o.Gaps > 0 {
		lines = paragraph(lines, 2, fmt.Sprintf("One at a time is in the aircraft. From the end of one to the next it is %.0f s at the median, %.0f s at the least; %d of %d gaps are shorter than %g s.",
			o.GapS.Median, o.GapS.Least, o.Close, o.Gaps, o.CloseS))
	}
	var many []string
	for n := range slices.Max(keysOf(o.InOne)) + 1 {
		if c := o.InOne[n]; c > 0 {
			many = append(many, fmt.Sprintf("%d in %s", n, roughly(float64(c)/float64(o.Runs))))
		}
	}
	return paragraph(lines, 2, "In one sitting come: "+strings.Join(many, ", ")+".")
}

func keysOf(m map[int]int) []int {
	keys := []int{0}
	for k := range m {
		keys = append(keys, k)
	}
	return keys
}

// cameText says how often something comes, when and at which item.
func (p *preview) cameText(a *bench.AbnormalsCame) string {
	text := roughly(a.Sittings.Value()) + " of the sittings"
	if a.Times > a.Sittings.Count {
		text += fmt.Sprintf(", %.1f times in each", float64(a.Times)/float64(a.Sittings.Count))
	}
	text += fmt.Sprintf("; at %s at the median, half of the time from %s to %s, all from %s to %s", clockOf(a.AtS.Median), clockOf(a.AtS.Quarter), clockOf(a.AtS.Upper), clockOf(a.AtS.Least), clockOf(a.AtS.Most))
	var items []string
	for _, it := range a.Items[:min(len(a.Items), momentsTold)] {
		if it.Item != "" {
			items = append(items, fmt.Sprintf("%s %s", p.challenge(it.Item), roughly(float64(it.Count)/float64(a.Times))))
		}
	}
	if len(items) > 0 {
		text += "; while at " + strings.Join(items, ", ")
		if len(a.Items) > momentsTold {
			text += fmt.Sprintf(" and %d more", len(a.Items)-momentsTold)
		}
	}
	return text
}

// fatesText says what becomes of something.
func fatesText(a *bench.AbnormalsCame) string {
	if a.Shown == 0 {
		return "never shows itself"
	}
	if a.Harmless {
		return fmt.Sprintf("left alone %s", shareText(a.Handled))
	}
	text := fmt.Sprintf("noticed %s; handled %s", shareText(a.Noticed), shareText(a.Handled))
	of := func(n int) string { return roughly(float64(n) / float64(a.Shown)) }
	var others []score.Outcome
	for outcome := range a.Outcomes {
		if outcome != score.Handled && outcome != score.Unseen {
			others = append(others, outcome)
		}
	}
	slices.SortFunc(others, func(x, y score.Outcome) int { return cmp.Or(a.Outcomes[y]-a.Outcomes[x], cmp.Compare(x, y)) })
	for _, outcome := range others {
		text += fmt.Sprintf("; %s %s", strings.ReplaceAll(string(outcome), "-", " "), of(a.Outcomes[outcome]))
	}
	if a.Noticed.Count > 0 {
		text += fmt.Sprintf("; reaction %.1f s at the median, a tenth slower than %.1f s", a.ReactionS.Median, a.ReactionS.Ninth)
	}
	return text
}

func (p *preview) neverText(o *bench.Outlook) []string {
	if len(o.Never) == 0 {
		return nil
	}
	lines := []string{"WHAT NEVER CAME"}
	for _, n := range o.Never {
		lines = paragraph(lines, 2, n.Name+": "+n.Why)
	}
	return lines
}

func (p *preview) hardestText(o *bench.Outlook) []string {
	if len(o.Items) == 0 {
		return nil
	}
	lines := []string{"HARDEST ITEMS"}
	for _, it := range o.Items[:min(len(o.Items), hardestTold)] {
		lines = paragraph(lines, 2, fmt.Sprintf("%s (%s): not right in %.1f %%: %s", p.challenge(it.Item), it.Item, 100*it.Wrong.Value(), howText(&it)))
	}
	if len(o.Items) > hardestTold {
		lines = append(lines, fmt.Sprintf("  and %d more that were not right at least once", len(o.Items)-hardestTold))
	}
	return lines
}

// howText says how an item was not right.
func howText(it *bench.ItemOutlook) string {
	var how []string
	for _, outcome := range []score.Outcome{score.Omitted, score.Wrong, score.OutOfOrder, score.Late, score.Rote, score.Repeated} {
		if n := it.Outcomes[outcome]; n > 0 {
			how = append(how, fmt.Sprintf("%s %d", strings.ReplaceAll(string(outcome), "-", " "), n))
		}
	}
	return strings.Join(how, ", ")
}

// bentText says which limits were passed.
func bentText(o *bench.Outlook) []string {
	if len(o.Inspected) == 0 {
		return nil
	}
	lines := []string{"BENT METAL"}
	for _, in := range o.Inspected {
		lines = paragraph(lines, 2, fmt.Sprintf("%s In %s of the sittings.", in.Text, roughly(in.Count.Value())))
	}
	return lines
}

// slipsText says what the stand-in did wrong by itself.
func slipsText(o *bench.Outlook) []string {
	var parts []string
	for _, sl := range o.Slips {
		if sl.Count.Of > 0 {
			parts = append(parts, fmt.Sprintf("%s %d in %d", sl.Kind, sl.Count.Count, sl.Count.Of))
		}
	}
	if len(parts) == 0 {
		return nil
	}
	return paragraph([]string{"SLIPS OF THE STAND-IN"}, 2, strings.Join(parts, "; "))
}

// roughly is a share in whole percent; a few are never told as none, and nearly all never as all.
func roughly(share float64) string {
	switch {
	case share > 0 && share < 0.01:
		return "under 1 %"
	case share < 1 && share > 0.99:
		return "over 99 %"
	}
	return percent(share)
}
