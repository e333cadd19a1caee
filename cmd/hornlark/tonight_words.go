package main

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"hornlark/drill/debrief"
	"hornlark/drill/practice"
	"hornlark/drill/score"
)

// before says what is practised and why. It hangs on nothing that is drawn, and names no abnormal.
func (t *session) before() string {
	var b strings.Builder
	o := t.options
	title := t.profile
	if prof, err := t.lib.Profile(t.profile); err == nil {
		title = prof.Title
	}
	fmt.Fprintf(&b, "Tonight, with the %s: %s of %d min.\n", title, minutesOf(t.choice.Takes), o.minutes)
	if wished := t.wished(); wished != "" {
		fmt.Fprintf(&b, "As you wished: %s.\n", wished)
	}
	switch {
	case t.choice.First && o.trainee == "":
		fmt.Fprintf(&b, "Nothing is known of you without --trainee NAME, so this is a first evening%s.\n", t.firstly())
	case t.choice.First:
		fmt.Fprintf(&b, "This is the first evening of %s with it%s.\n", o.trainee, t.firstly())
	}
	flows := false
	for i := range t.choice.Legs {
		l := &t.choice.Legs[i]
		flows = flows || l.Kind != practice.LimitsUnit
		fmt.Fprintf(&b, "\n%d. %s, %s\n", i+1, upperFirst(t.title(l)), minutesOf(l.Length))
		if l.Kind == practice.AbnormalUnit {
			b.WriteString("   Nothing flows: what there is to notice is noticed by you. Noticing and acting fade like everything else.\n")
		}
		if isNew := !slices.ContainsFunc(l.Why, func(w practice.Why) bool { return w.Met > 0 }); isNew && len(l.Why) > 0 {
			b.WriteString("   Nothing of it was met yet.\n")
			continue
		}
		for n := range l.Why {
			fmt.Fprintf(&b, "   %s\n", t.because(l, n))
		}
	}
	if flows && !t.undisturbed() {
		b.WriteString("\nIn flows and watches something may come in between, or nothing.\n")
	}
	return folded(b.String())
}

// folded breaks lines that are wider than a report; what goes on stands below the text of its line.
func folded(text string) string {
	var lines []string
	for line := range strings.SplitSeq(strings.TrimSuffix(text, "\n"), "\n") {
		rest := strings.TrimLeft(line, " ")
		first := line[:len(line)-len(rest)]
		if number, after, ok := strings.Cut(rest, ". "); ok && first == "" && len(number) <= 2 {
			first, rest = number+". ", after
		}
		if rest == "" {
			lines = append(lines, "")
			continue
		}
		lines = append(lines, planPara(first, rest)...)
	}
	return strings.Join(lines, "\n") + "\n"
}

// wished says what was asked for; empty if nothing was. It names no abnormal.
func (t *session) wished() string {
	switch o := t.options; {
	case o.phase != "":
		return "one phase"
	case o.family != "":
		return "where something of the family " + o.family + " may come"
	case o.mistakes:
		return "what was wrong or late last time, on " + clockTime(t.last[0].Began)
	case o.limits:
		return "limits"
	}
	return ""
}

// undisturbed reports whether nothing goes wrong, whatever is drawn: what was never met comes so, unless abnormals were asked for.
func (t *session) undisturbed() bool { return t.choice.First && t.options.family == "" }

// firstly says what a first evening is like.
func (t *session) firstly() string {
	switch o := t.options; {
	case o.limits, !t.undisturbed():
		return ""
	case o.phase != "":
		return ": nothing goes wrong"
	}
	return ": it begins where the flow begins, and nothing goes wrong"
}

// next says in a line what is practised and why, as before does at length: it hangs on nothing that is drawn, and names no abnormal.
func (t *session) next() string {
	var parts, kinds []string
	var why *practice.Why
	of, units, phases, limits := "", 0, 0, 0 // what is gone through, and how many phases and limits of it are new
	for i := range t.choice.Legs {
		l := &t.choice.Legs[i]
		parts = append(parts, t.title(l))
		for n := range l.Why {
			units++
			switch w := &l.Why[n]; {
			case w.Met > 0 && (why == nil || w.Ahead < why.Ahead):
				why, of = w, t.units[l.Units[n]].Title
			case w.Met > 0:
			case l.Kind == practice.LimitsUnit:
				limits++
			default:
				phases++
			}
		}
	}
	if phases > 0 {
		kinds = append(kinds, "phases")
	}
	if limits > 0 {
		kinds = append(kinds, "limits")
	}
	text := fmt.Sprintf("Next, %s: %s. ", minutesOf(t.choice.Takes), strings.Join(parts, "; "))
	switch {
	case t.choice.First:
		return text + "It is a first evening" + t.firstly() + "."
	case units == 0:
		return text + "Noticing and acting fade like everything else."
	case why == nil:
		return text + "None of its " + strings.Join(kinds, " and ") + " was met yet."
	case phases > 0:
		text += fmt.Sprintf("Never met yet: %s of it. ", debrief.Count(phases, "phase"))
	}
	return text + fmt.Sprintf("%s: %.0f %% known now, %.0f %% in %d days.", upperFirst(of), 100*why.Now, 100*why.Ahead, practice.LookAhead)
}

// because says why a unit of a leg was chosen.
func (t *session) because(l *practice.Leg, n int) string {
	why, unit := &l.Why[n], &t.units[l.Units[n]]
	head := ""
	if len(l.Why) > 1 {
		head = unit.Title + ": "
	}
	switch {
	case why.Met == 0:
		return head + "never met yet."
	default:
		text := fmt.Sprintf("%s%.0f %% of it is known now, and in %d days %.0f %% would be.", head, 100*why.Now, practice.LookAhead, 100*why.Ahead)
		if missing := why.Things - why.Met; missing > 0 {
			text += fmt.Sprintf(" Never met: %d of %d.", missing, why.Things)
		}
		if weak := t.called(why.Weak); weak != "" {
			text += " Weakest: " + weak + "."
		}
		return text
	}
}

// called names things.
func (t *session) called(things []practice.Thing) string {
	var list []string
	for _, thing := range things {
		if name := t.names[thing]; name != "" {
			list = append(list, name)
		}
	}
	return strings.Join(list, "; ")
}

// after says why each of what was sat was chosen, what came in between and why, and how what is known has changed.
func (t *session) after() string {
	if len(t.sat) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString("\nTONIGHT ------------------------------------------------------------------------\n")
	known := t.learnt()
	for i, ex := range t.sat {
		l := &t.choice.Legs[i]
		fmt.Fprintf(&b, "%d. %s\n", i+1, upperFirst(t.title(l)))
		for n := range l.Why {
			u := &t.units[l.Units[n]]
			head := ""
			if len(l.Why) > 1 {
				head = u.Title + ": "
			}
			if now := 100 * t.ahead(known, u.Things); l.Why[n].Met == 0 {
				fmt.Fprintf(&b, "   %snever met before; now %.0f %% of it will be known in %d days.\n", head, now, practice.LookAhead)
			} else {
				fmt.Fprintf(&b, "   %sin %d days %.0f %% of it would have been known, now %.0f %% will be.\n", head, practice.LookAhead, 100*l.Why[n].Ahead, now)
			}
		}
		for _, line := range t.came(l, ex.Judge(), known) {
			fmt.Fprintf(&b, "   %s\n", line)
		}
	}
	if t.options.virtual {
		b.WriteString("Nothing of this is kept: it was sat without a clock.\n")
	} else if t.options.trainee == "" {
		b.WriteString("It is kept without a name, and is not counted for anybody; --trainee NAME keeps it for somebody.\n")
	}
	return folded(b.String())
}

// came says what came in between in a leg, and why.
func (t *session) came(l *practice.Leg, result *score.Result, known *practice.Known) (lines []string) {
	if l.Kind == practice.LimitsUnit {
		return nil
	}
	said := map[string]bool{}
	for i := range result.Injections {
		in := &result.Injections[i]
		for _, c := range l.Surprises {
			s := &t.surprises[c.Surprise]
			if s.Name != in.Abnormal || said[s.Name] {
				continue
			}
			said[s.Name] = true
			switch now := t.ahead(known, s.Things); {
			case s.Harmless:
				lines = append(lines, s.Title+": harmless, so that not everything that happens is one to act on.")
			case c.Why.Met == 0:
				lines = append(lines, fmt.Sprintf("%s: drawn, and never met before; now %.0f %% of it will be known in %d days.", s.Title, 100*now, practice.LookAhead))
			default:
				lines = append(lines, fmt.Sprintf("%s: drawn; in %d days %.0f %% of it would have been known, now %.0f %% will be.", s.Title, practice.LookAhead, 100*c.Why.Ahead, 100*now))
			}
		}
	}
	isNew := slices.ContainsFunc(l.Why, func(w practice.Why) bool { return w.Met == 0 })
	if len(lines) == 0 && !isNew {
		lines = append(lines, "Nothing came in between: there are quiet ones for everybody, so that nobody waits for something.")
	}
	return lines
}

// ahead is the mean of the probabilities that things are known in a week.
func (t *session) ahead(known *practice.Known, things []practice.Thing) float64 {
	if len(things) == 0 {
		return 0
	}
	sum := 0.0
	for _, thing := range things {
		sum += known.Recall(thing, t.at.AddDate(0, 0, practice.LookAhead))
	}
	return sum / float64(len(things))
}

// minutesOf is a time in whole minutes, never too few.
func minutesOf(d time.Duration) string {
	return fmt.Sprintf("%.0f min", math.Ceil(d.Minutes()))
}

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// The words and figures of an evening as --json has them.
type (
	eveningOutlook struct {
		Profile string       `json:"profile"`
		First   bool         `json:"first"`
		TakesS  float64      `json:"takes_s"`
		Legs    []legOutlook `json:"legs"`
		Caution string       `json:"caution"`
	}
	legOutlook struct {
		Kind    practice.UnitKind `json:"kind"`
		Title   string            `json:"title"`
		Phases  []string          `json:"phases,omitempty"`
		LengthS float64           `json:"length_s"`
		Why     []practice.Why    `json:"why"` // of each phase, or of the limits
	}
	eveningWhole struct {
		eveningOutlook
		Seed    uint64            `json:"seed"`
		Results []json.RawMessage `json:"results"`
		After   []legAfter        `json:"after"`
	}
	legAfter struct {
		Ahead []float64    `json:"ahead"` // what is known of each phase, or of the limits, in a week, 0 to 1
		Came  []comingThen `json:"came"`
	}
	comingThen struct {
		Name     string       `json:"name"`
		Title    string       `json:"title"`
		Harmless bool         `json:"harmless"`
		Why      practice.Why `json:"why"`
		Ahead    float64      `json:"ahead"`
	}
)

// outlook is what is said before: nothing of what is drawn.
func (t *session) outlook() eveningOutlook {
	e := eveningOutlook{Profile: t.profile, First: t.choice.First, TakesS: t.choice.Takes.Seconds(), Legs: []legOutlook{}}
	if prof, err := t.lib.Profile(t.profile); err == nil {
		e.Caution = debrief.CautionOf(prof)
	}
	for i := range t.choice.Legs {
		l := &t.choice.Legs[i]
		leg := legOutlook{Kind: l.Kind, Title: t.title(l), LengthS: l.Length.Seconds(), Why: l.Why}
		for _, u := range l.Units {
			leg.Phases = append(leg.Phases, t.units[u].Name)
		}
		e.Legs = append(e.Legs, leg)
	}
	return e
}

// whole is everything that is said after.
func (t *session) whole(results []json.RawMessage) eveningWhole {
	e := eveningWhole{eveningOutlook: t.outlook(), Seed: t.options.seed, Results: results, After: []legAfter{}}
	known := t.learnt()
	for i, ex := range t.sat {
		l := &t.choice.Legs[i]
		after := legAfter{Ahead: []float64{}, Came: []comingThen{}}
		for _, u := range l.Units {
			after.Ahead = append(after.Ahead, t.ahead(known, t.units[u].Things))
		}
		result := ex.Judge()
		for _, c := range l.Surprises {
			s := &t.surprises[c.Surprise]
			for k := range result.Injections {
				if result.Injections[k].Abnormal == s.Name {
					after.Came = append(after.Came, comingThen{s.Name, s.Title, s.Harmless, c.Why, t.ahead(known, s.Things)})
					break
				}
			}
		}
		e.After = append(e.After, after)
	}
	return e
}
