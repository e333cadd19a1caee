package library

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// fitter takes out of what was written for a profile what another one, which is laid over that, does not have. Only what is nothing
// without it goes; whatever else refers to it stays, and is then found not to work.
type fitter struct {
	prof *aircraft.Profile
	base *aircraft.Profile // that it was written for
}

// has reports whether the profile has something of a name. What the other one shows on a gauge has to be shown on one here too.
func (f *fitter) has(name string) bool {
	_, control := f.prof.ControlIndex(name)
	_, gauge := f.prof.GaugeIndex(name)
	if _, shown := f.base.GaugeIndex(name); shown && !gauge {
		return false
	}
	_, caption := f.prof.CaptionIndex(name)
	_, named := f.prof.Scope()[name]
	return control || gauge || caption || named
}

// lacks reports whether a profile has none of some names.
func (f *fitter) lacks(names []string) bool {
	return len(names) > 0 && !slices.ContainsFunc(names, f.has)
}

var (
	quotedText = regexp.MustCompile(`"[^"]*"|'[^']*'`)
	oneName    = regexp.MustCompile(`[a-z_][a-z0-9_]*`)
)

// namesIn are the names in a condition.
func namesIn(cond string) []string {
	return slices.DeleteFunc(oneName.FindAllString(quotedText.ReplaceAllString(cond, ""), -1), func(name string) bool {
		return slices.Contains([]string{"and", "or", "not", "true", "false", "in"}, name)
	})
}

// condition is a condition without those of its parts, joined by and, that are about nothing but what is not there; and what that is.
// It is as it was if nothing would be left.
func (f *fitter) condition(cond string) (string, []string) {
	if f.whole(namesIn(cond)) {
		return cond, nil
	}
	parts, plain := conjuncts(cond)
	if !plain {
		return cond, nil
	}
	var left, gone []string
	for _, part := range parts {
		if names := namesIn(part); f.lacks(names) {
			gone = append(gone, names...)
		} else {
			left = append(left, part)
		}
	}
	if len(left) == 0 {
		return cond, nil
	}
	return strings.Join(left, " and "), gone
}

// whole reports whether a profile has all of some names.
func (f *fitter) whole(names []string) bool {
	return !slices.ContainsFunc(names, func(name string) bool { return !f.has(name) })
}

// conjuncts parts a condition at every "and" that stands in no bracket and no text. plain is false if it is no row of such parts.
func conjuncts(cond string) (parts []string, plain bool) {
	depth, from := 0, 0
	for i := 0; i < len(cond); i++ {
		switch c := cond[i]; {
		case c == '"' || c == '\'':
			end := strings.IndexByte(cond[i+1:], c)
			if end < 0 {
				return nil, false
			}
			i += end + 1
		case c == '(':
			depth++
		case c == ')':
			depth--
		case depth > 0 || c != ' ' && c != '\n':
		case strings.HasPrefix(strings.TrimLeft(cond[i:], " \n"), "or "), strings.Contains(cond[i:min(len(cond), i+3)], "||"), strings.Contains(cond[i:min(len(cond), i+3)], "?"):
			return nil, false
		case strings.HasPrefix(strings.TrimLeft(cond[i:], " \n"), "and "):
			parts = append(parts, strings.TrimSpace(cond[from:i]))
			i += strings.Index(cond[i:], "and ") + 2
			from = i + 1
		}
	}
	return append(parts, strings.TrimSpace(cond[from:])), depth == 0
}

// settings are moves without those of controls that are not there.
func (f *fitter) settings(set aircraft.Settings) (left aircraft.Settings, gone []string) {
	for _, one := range set {
		if f.has(one.Control) {
			left = append(left, one)
		} else {
			gone = append(gone, one.Control)
		}
	}
	if len(gone) == 0 {
		return set, nil
	}
	return left, gone
}

// procedure is one for the profile. An item about nothing but what is not there goes, and a phase with nothing left in it.
func (f *fitter) procedure(of *procedure.Procedure) (*procedure.Procedure, []string) {
	doc := *of
	doc.Profile = f.prof.Name
	doc.Phases = nil
	var without []string
	for _, ph := range of.Phases {
		all := ph.Items
		ph.Items = nil
		for i := range all {
			it, gone := f.item(all[i])
			if it == nil {
				without = append(without, "item "+all[i].ID)
				continue
			}
			if len(gone) > 0 {
				without = append(without, fmt.Sprintf("%s in item %s", strings.Join(gone, ", "), it.ID))
			}
			ph.Items = append(ph.Items, *it)
		}
		if len(ph.Items) > 0 || len(all) == 0 {
			doc.Phases = append(doc.Phases, ph)
		}
	}
	if len(without) == 0 {
		doc.Phases = of.Phases
	}
	return &doc, without
}

// item is an item without what is not there, nil if it is about nothing else; and what of it goes.
func (f *fitter) item(it procedure.Item) (*procedure.Item, []string) {
	names := slices.Clone(it.Look)
	for _, one := range it.Set {
		names = append(names, one.Control)
	}
	for _, gauge := range []string{it.Read, gaugeOf(it.Callout)} {
		if gauge != "" {
			names = append(names, gauge)
		}
	}
	if it.Figure != nil {
		names = append(names, it.Figure.Gauge)
	}
	names = append(names, namesIn(it.Check+" "+it.Confirm)...)
	if f.lacks(names) {
		return nil, nil
	}
	if f.whole(names) && (it.IfNot == nil || len(it.IfNot.Set) == 0) {
		return &it, nil
	}
	var gone []string
	note := func(more []string) {
		for _, name := range more {
			if !slices.Contains(gone, name) {
				gone = append(gone, name)
			}
		}
	}
	var more []string
	if len(it.Set) > 0 {
		it.Set, more = f.settings(it.Set)
		note(more)
	}
	it.Check, more = f.condition(it.Check)
	note(more)
	it.Confirm, more = f.condition(it.Confirm)
	note(more)
	if look := slices.DeleteFunc(slices.Clone(it.Look), func(name string) bool { return !f.has(name) }); len(look) < len(it.Look) {
		note(slices.DeleteFunc(slices.Clone(it.Look), f.has))
		it.Look = look
	}
	if it.IfNot != nil {
		not := *it.IfNot
		not.Set, more = f.settings(not.Set)
		note(more)
		it.IfNot = &not
	}
	return &it, gone
}

func gaugeOf(p *procedure.Passing) string {
	if p == nil {
		return ""
	}
	return p.Gauge
}

// abnormal is one for the profile. A cue that cannot be seen there goes as long as there is another one, and so does what could be moved
// beside its actions.
func (f *fitter) abnormal(of *scenario.Abnormal) (*scenario.Abnormal, []string) {
	doc := *of
	doc.Profile = f.prof.Name
	var without []string
	seen := func(cue string) bool {
		_, alert := f.prof.AlertIndex(cue)
		return cue == scenario.Call || alert || f.has(cue)
	}
	if slices.ContainsFunc(of.Cues, seen) {
		doc.Cues = nil
		for _, cue := range of.Cues {
			if seen(cue) {
				doc.Cues = append(doc.Cues, cue)
			} else {
				without = append(without, "cue "+cue)
			}
		}
	}
	moves := func(what string, all []scenario.Move) (left []scenario.Move) {
		for _, m := range all {
			set, gone := f.settings(m.Set)
			if len(gone) == 0 {
				left = append(left, m)
				continue
			}
			without = append(without, what+" "+strings.Join(gone, ", "))
			if len(set) > 0 {
				m.Set = set
				left = append(left, m)
			}
		}
		return left
	}
	doc.Also, doc.Worse = moves("move of", of.Also), moves("move of", of.Worse)
	var gone []string
	if doc.Afterwards, gone = f.settings(of.Afterwards); len(gone) > 0 {
		without = append(without, "move of "+strings.Join(gone, ", "))
	}
	return &doc, without
}

// scenario is one for the profile: what does not work there is not drawn, as long as something else is.
func (f *fitter) scenario(of *scenario.Scenario, borrowed []Borrowed) (*scenario.Scenario, []string) {
	if of.Drawn == nil {
		return of, nil
	}
	var left, without []string
	for _, name := range of.Drawn.From {
		if slices.ContainsFunc(borrowed, func(b Borrowed) bool { return b.Kind == Abnormal && b.Name == name && !b.Works() }) {
			without = append(without, "abnormal "+name)
		} else {
			left = append(left, name)
		}
	}
	if len(without) == 0 || len(left) == 0 {
		return of, nil
	}
	doc, drawn := *of, *of.Drawn
	drawn.From = left
	doc.Drawn = &drawn
	return &doc, without
}
