package draft

import (
	"fmt"
	"slices"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/procedure"
)

// mapped is what a line has become.
type mapped struct {
	line    Line
	id      string
	kind    procedure.Kind
	set     aircraft.Settings
	cond    string // of a check or a confirm
	read    string // gauge
	look    []string
	stand   []string // of each control of a set, the condition that it stands there; "" for one that springs back
	say     string   // instead of a response that says nothing
	guess   string   // what was guessed, "" for nothing
	problem string   // why it could not be mapped, "" if it could
	near    []string // what comes nearest, if it could not
	like    float64  // how well the line names what it was taken for

	callout  *procedure.Passing
	crew     string    // who is to do it, as it was written
	unfitted bool      // the aircraft does not have it
	when     string    // condition for it to be asked
	after    string    // condition that is waited for
	hold     qualified // what it says besides
	holdOn   string    // id of the item before which it has to be right
	mayHold  string    // the same, if the words only suggest it
}

// mapper maps lines against a profile.
type mapper struct {
	prof   *aircraft.Profile
	things []thing

	vocabulary []string             // the words of all names
	rows       map[string][]float64 // by word, how alike it is to each of those
	liked      map[string][]float64 // by text, how well it names each of the things
}

// line maps one line of a phase. before is what that had so far.
func (m *mapper) line(l Line, phase string, before []mapped) mapped {
	if done := completion(l, phase, before); done != nil {
		return *done
	}
	var best *mapped
	for _, try := range []func(Line) *mapped{m.captionsByName, m.asControl, m.asGauge, m.asCaption, m.asFact, m.asSeveral, m.asControlWhen, m.asTest} {
		if got := try(l); got != nil && got.problem == "" && (best == nil || got.like > best.like+1e-9) {
			best = got
		}
	}
	if best == nil {
		return m.unmapped(l)
	}
	best.line = l
	if best.like < surely && best.guess == "" {
		best.guess = fmt.Sprintf("taken for %s", best.about())
	}
	return *best
}

// surely is the likeness from which on a name is not guessed at.
const surely = 0.85

// about names what a line was taken for.
func (g *mapped) about() string {
	switch {
	case len(g.set) > 0:
		var ids []string
		for _, s := range g.set {
			ids = append(ids, s.Control)
		}
		return "control " + strings.Join(ids, ", ")
	case g.read != "":
		return "gauge " + g.read
	case g.callout != nil:
		return "gauge " + g.callout.Gauge
	case len(g.look) > 0:
		return g.look[0]
	}
	return g.cond
}

// completion is a line that says that the phase, or a list of checks, is done: it holds if what was set in the phase stands where it was set.
func completion(l Line, phase string, before []mapped) *mapped {
	of := tokens(l.Challenge)
	title, _ := meaning(phase)
	if !slices.ContainsFunc(of, func(w string) bool {
		return w == "check" || w == "checklist" || w == "list" || slices.Contains(title, w)
	}) {
		return nil
	}
	words := plainWords(l.Response)
	if !slices.Contains(words, "complete") && !slices.Contains(words, "completed") || len(without(words, small)) > 2 {
		return nil
	}
	last := map[string]string{}
	var order []string
	for i := range before {
		for _, s := range before[i].set {
			if _, ok := last[s.Control]; !ok {
				order = append(order, s.Control)
			}
			last[s.Control] = before[i].holds(s.Control)
		}
	}
	var parts []string
	for _, c := range order {
		if last[c] != "" {
			parts = append(parts, last[c])
		}
	}
	got := &mapped{line: l, kind: procedure.Confirm, cond: "true", like: 1}
	if len(parts) > 0 {
		got.cond = strings.Join(parts, " and ")
	}
	return got
}

// holds is the condition that a control stands where the line set it, "" for one that springs back.
func (g *mapped) holds(control string) string {
	for i, s := range g.set {
		if s.Control == control {
			return g.stand[i]
		}
	}
	return ""
}

// stands is the condition that a control stands in a position.
func stands(c *aircraft.Control, position string) string {
	i, _ := c.Index(position)
	switch {
	case c.Travel != nil:
		return fmt.Sprintf("%s == %s", c.ID, position)
	case len(c.Positions) == 2 && i == 1:
		return c.ID
	case len(c.Positions) == 2:
		return "not " + c.ID
	}
	return fmt.Sprintf("%s == %q", c.ID, position)
}

// asControl takes a line for a move of one control, or of one for each engine; or, if it asks for a look, for a look at them. Of
// several that are named equally well it is the one that has the position.
func (m *mapper) asControl(l Line) *mapped {
	if l.Response == "" {
		return nil
	}
	var got *mapped
	families := m.nearest(l.Challenge, control)
	for _, family := range families {
		one := m.familyOfControls(l, family)
		switch {
		case len(families) == 1:
			return one
		case one.problem != "":
		case got != nil:
			return nil
		default:
			got = one
		}
	}
	if got != nil && got.guess == "" {
		got.guess = "taken for " + got.about()
	}
	return got
}

func (m *mapper) familyOfControls(l Line, family []found) *mapped {
	got := &mapped{kind: procedure.Set, like: family[0].like}
	var conds []string
	for _, f := range family {
		c := &m.prof.Controls[f.index]
		p, sure, ok := position(c, l.Response)
		if !ok {
			return &mapped{like: got.like, problem: fmt.Sprintf("%s has no position %q, only %s", c.ID, l.Response, positionsOf(c))}
		}
		if !sure && got.like < surely {
			return &mapped{like: got.like, problem: fmt.Sprintf("%s is not sure to be meant, and has no position %q, only %s", c.ID, l.Response, positionsOf(c))}
		}
		if !sure {
			got.guess = fmt.Sprintf("%q taken for %s", l.Response, p)
		}
		got.set = append(got.set, aircraft.Setting{Control: c.ID, Position: p})
		conds = append(conds, stands(c, p))
	}
	if len(family) > 1 && !plural(l) && got.guess == "" {
		got.guess = "taken for " + got.about()
	}
	if looks(l.Response) || asksForLook(l.Challenge) {
		got.kind, got.cond = procedure.Check, strings.Join(conds, " and ")
		for _, s := range got.set {
			got.look = append(got.look, s.Control)
		}
		got.set = nil
		return got
	}
	got.stand = conds
	for i, f := range family {
		if m.prof.Controls[f.index].Springs > 0 {
			got.stand[i] = ""
		}
	}
	return got
}

// asksForLook reports whether a challenge begins by asking for a look.
func asksForLook(challenge string) bool {
	words := plainWords(challenge)
	return len(words) > 1 && slices.Contains(lookWords, words[0])
}

// plural reports whether a line speaks of more than one thing.
func plural(l Line) bool {
	if slices.ContainsFunc(plainWords(l.Response), func(w string) bool { return w == "both" || w == "all" }) {
		return true
	}
	if _, numbers := meaning(l.Challenge); len(numbers) > 1 {
		return true
	}
	for _, w := range plainWords(l.Challenge) {
		if stem(w) != w || w == "both" || w == "all" {
			return true
		}
	}
	return false
}

// asGauge takes a line for a look at a gauge, or for a reading.
func (m *mapper) asGauge(l Line) *mapped {
	family := m.only(l.Challenge, gauge)
	if len(family) == 0 {
		return nil
	}
	got := &mapped{kind: procedure.Check, like: family[0].like}
	var conds []string
	for _, f := range family {
		g := &m.prof.Gauges[f.index]
		r, ok := readingOf(g, l.Response)
		switch {
		case !ok && r.why == "":
			return nil
		case !ok:
			return &mapped{like: got.like, problem: r.why}
		case r.read && len(family) > 1:
			return &mapped{like: got.like, problem: "only one gauge is read at a time"}
		case r.read:
			got.kind, got.read = procedure.Read, g.ID
		}
		if !r.sure {
			got.guess = "taken for a reading that is typed"
			if !r.read {
				got.guess = "taken for " + r.cond
			}
		}
		got.say = r.say
		if strings.Contains(r.cond, " or ") {
			r.cond = "(" + r.cond + ")"
		}
		conds = append(conds, r.cond)
		got.look = append(got.look, g.ID)
	}
	if got.read == "" {
		got.cond = strings.Join(conds, " and ")
	}
	return got
}

// How a caption is said to be.
var (
	outWords = []string{"out", "off", "extinguished", "clear", "none", "nil", "dark", "not lit", "no"}
	litWords = []string{"on", "lit", "illuminated", "alight"}
	allOf    = map[string][]aircraft.Level{
		"warning": {aircraft.Warning}, "caution": {aircraft.Caution}, "caption": {aircraft.Warning, aircraft.Caution},
		"annunciator": {aircraft.Warning, aircraft.Caution}, "advisory": {aircraft.Advisory},
	}
	lampWords = []string{"light", "caption", "lamp", "warning", "caution", "annunciator", "panel", "advisory"}
)

// lit says what a response says of a caption: lit, or out.
func lit(response string) (on, ok bool) {
	said := strings.Join(plainWords(response), " ")
	for _, w := range outWords {
		if within(said, w) {
			return false, true
		}
	}
	for _, w := range litWords {
		if within(said, w) {
			return true, true
		}
	}
	return false, false
}

// captionsByName takes a line for a look at captions, if it calls them so: all warnings, all cautions, or one of them.
func (m *mapper) captionsByName(l Line) *mapped {
	words, numbers := meaning(l.Challenge)
	lamp := func(w string) bool { return slices.Contains(lampWords, w) }
	if !slices.ContainsFunc(words, lamp) {
		return nil
	}
	on, ok := lit(l.Response)
	if !ok {
		return nil
	}
	if rest := slices.DeleteFunc(slices.Clone(words), lamp); len(rest) > 0 {
		return m.captionsOf(strings.Join(append(rest, numbers...), " "), on)
	}
	var levels []aircraft.Level
	for _, w := range words {
		levels = append(levels, allOf[w]...)
	}
	if len(levels) == 0 || on {
		return nil
	}
	var conds []string
	for i := range m.prof.Captions {
		if c := &m.prof.Captions[i]; slices.Contains(levels, c.Level) {
			conds = append(conds, "not "+c.ID)
		}
	}
	if len(conds) == 0 {
		return nil
	}
	return &mapped{kind: procedure.Check, cond: strings.Join(conds, " and "), like: 1}
}

// asCaption takes a line for a look at a caption that it names without saying that it is one.
func (m *mapper) asCaption(l Line) *mapped {
	on, ok := lit(l.Response)
	if !ok {
		return nil
	}
	got := m.captionsOf(l.Challenge, on)
	if families := m.nearest(l.Challenge, control); got != nil && len(families) > 0 && families[0][0].like >= got.like {
		return nil // what has a switch by that name is not taken for a lamp
	}
	return got
}

func (m *mapper) captionsOf(name string, on bool) *mapped {
	family := m.only(name, caption)
	if len(family) == 0 {
		return nil
	}
	got := &mapped{kind: procedure.Check, like: family[0].like}
	var conds []string
	for _, f := range family {
		cond := "not " + f.id
		if on {
			cond = f.id
		}
		conds = append(conds, cond)
		got.look = append(got.look, f.id)
	}
	got.cond = strings.Join(conds, " and ")
	return got
}

// asFact takes a line for something outside.
func (m *mapper) asFact(l Line) *mapped {
	words, _ := meaning(l.Challenge + " " + l.Response)
	rows := m.rowsOf(words)
	var best *mapped
	for i := range m.things {
		t := &m.things[i]
		if t.kind != fact {
			continue
		}
		// Both words of its name have to be there, or most of the sentence.
		like := overlapOf(rows, t.places[0])
		if len(t.own) > 1 && !slices.ContainsFunc(t.own, func(w string) bool { return !slices.Contains(words, w) }) {
			like = max(like, 0.9)
		}
		if like >= enough && (best == nil || like > best.like) {
			best = &mapped{kind: procedure.Confirm, cond: t.id, like: like}
		}
	}
	return best
}

var parting = strings.NewReplacer(" and ", ",", " & ", ",", "/", ",", "+", ",", ";", ",")

// asSeveral takes a line for moves of several controls, as in "Fuel levers, bay cuts: shut, open".
func (m *mapper) asSeveral(l Line) *mapped {
	challenges := strings.Split(parting.Replace(l.Challenge), ",")
	responses := strings.Split(parting.Replace(l.Response), ",")
	if len(challenges) < 2 || len(responses) != 1 && len(responses) != len(challenges) {
		return nil
	}
	var all *mapped
	for i, c := range challenges {
		one := m.asControl(Line{Challenge: strings.TrimSpace(c), Response: strings.TrimSpace(responses[min(i, len(responses)-1)])})
		if one == nil || one.problem != "" || all != nil && one.kind != all.kind {
			return nil
		}
		if all == nil {
			all = one
			continue
		}
		for _, s := range one.set {
			if slices.ContainsFunc(all.set, func(o aircraft.Setting) bool { return o.Control == s.Control }) {
				return nil
			}
		}
		all.set, all.stand, all.look = append(all.set, one.set...), append(all.stand, one.stand...), append(all.look, one.look...)
		all.like = min(all.like, one.like)
		if all.kind == procedure.Check {
			all.cond += " and " + one.cond
		}
		if all.guess == "" {
			all.guess = one.guess
		}
	}
	if len(all.set) > procedure.MaxSettings {
		return nil
	}
	return all
}

// asControlWhen takes a line for a move of a control with the moment, or the purpose, behind a comma: "Collective, into the hover".
func (m *mapper) asControlWhen(l Line) *mapped {
	name, when, several := strings.Cut(l.Challenge, ",")
	if !several {
		return nil
	}
	got := m.asControl(Line{Challenge: name, Response: when}) // the position may stand in the challenge, as in "Fire test, bay 1: test"
	if got == nil || got.problem != "" || got.guess != "" {
		if len(m.nearest(when, control)) > 0 {
			return nil
		}
		got = m.asControl(Line{Challenge: name, Response: l.Response})
	}
	if got == nil || got.problem != "" || got.like < surely {
		return nil
	}
	got.like *= surely
	got.guess = "taken for " + got.about()
	return got
}

// asTest takes a line that says that something is tested for a press of what tests it: "Warning lights: test".
func (m *mapper) asTest(l Line) *mapped {
	if words := plainWords(l.Response); len(words) != 1 || words[0] != "test" && words[0] != "tested" {
		return nil
	}
	got := m.asControl(Line{Challenge: strings.ReplaceAll(strings.ToLower(l.Challenge), "warning light", "light") + " test", Response: "test"})
	if got == nil || got.problem != "" || got.kind != procedure.Set {
		return nil
	}
	got.like *= surely
	got.guess = "taken for " + got.about()
	return got
}

// unmapped makes a confirm of a line: nothing looks at whether it is so.
func (m *mapper) unmapped(l Line) mapped {
	got := mapped{line: l, kind: procedure.Confirm, cond: "true"}
	for _, try := range []func(Line) *mapped{m.asControl, m.asGauge} {
		if tried := try(l); tried != nil && tried.problem != "" && tried.like > got.like {
			got.problem, got.like = tried.problem, tried.like
		}
	}
	if got.problem == "" {
		got.problem = "nothing of the " + tidy(m.prof.Title) + " answers to it"
		got.near = m.candidates(&l)
	}
	return got
}
