package draft

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"hornlark/drill/procedure"
)

// qualified is what a line says besides what is to be done: by whom, whether at all, from when on, before what. Common practice, from
// memory, no source.
type qualified struct {
	crew   string // as it was written
	fitted bool   // only where the aircraft has it
	when   string // condition for it to be asked at all, in the words of the line
	after  string // what is waited for, in the words of the line
	call   string // what is called as it is passed, in the words of the line
	hold   string // the words that say that the flow does not go on before it is right
	before string // what it has to be right before, in the words of the line; empty: what comes next
	firm   bool   // they leave no doubt
}

const crewWords = `P ?1|P ?2|PF|PM|PNF|PIC|SIC|F/?O|CM ?[12]|CAPT(?:AIN)?|CO-?PILOT|CP|LHS|RHS|PILOT|CREW|HANDLING PILOT|NON-HANDLING PILOT|HP|NHP`

var (
	crewBefore  = regexp.MustCompile(`(?i)^(?:[\[(](` + crewWords + `|BOTH)[\])]\s*[:\-–—]?|(` + crewWords + `)\s*[:\-–—)]\s)\s*`)
	crewBehind  = regexp.MustCompile(`(?i)\s*(?:[\[(](` + crewWords + `|BOTH)[\])]|\s[-–—/]\s*(` + crewWords + `))$`)
	crewAtEnd   = regexp.MustCompile(`\s(P1|P2|PF|PM|PNF|CM1|CM2|CAPT|F/O|CP|PIC|SIC|HP|NHP)$`)
	crewAlone   = regexp.MustCompile(`(?i)^(?:` + crewWords + `|BOTH)$`)
	asFitted    = seek(`(?i)\s*[\[(,;–—-]*\s*\b(?:if|where|when)\s+(?:fitted|installed|equipped|available|carried)\b\s*[\])]?`, "fitted", "installed", "equipped", "available", "carried")
	onlyIf      = seek(`(?i)\s*[\[(,;–—-]*\s*\b(?:only )?(?:if|unless)\s+([^\])]+?)[\])]?$|^(?:if|unless)\s+([^,:]+?)[,:]\s+`, "if", "unless")
	notBefore   = seek(`(?i)\s*[\[(,;–—-]*\s*\b(?:at|once|when|passing|after|until|from)\s+([^\])]*\d[^\])]*?)[\])]?$`).withFigure()
	firstAt     = seek(`(?i)^(?:at|once|when|passing|after|from)\s+([^,:]*?\d[^,:]*?)[,:]\s*(?:[-–—]\s*)?`).withFigure()
	onlyBeyond  = seek(`(?i)^([^\d]+?)\s+((?:below|above|under|over)\s+\d[^,]*\p{L}.*)$`, "below", "above", "under", "over").withFigure()
	aCall       = seek(`(?i)^(?:call(?:s|ed|out)?|announce[ds]?|call out)\b[:\s]*(.*)$`, "call", "announce")
	isCalled    = seek(`(?i)\b(?:call(?:s|ed|out)?|announced?)\b`, "call", "announce")
	doNotGoOn   = seek(`(?i)\s*[\[(,;–—.-]*\s*\b(?:do not|don't|never)\s+(?:proceed|continue|start|go on|go further|engage|take ?off)\b\s*(.*?)[\])]?$|\s*[\[(,;–—.-]*\s*\b(?:hold item|no[- ]go(?: item)?|hold here)\b[\])]?|^hold[:!]\s*`, "do not", "don't", "never", "hold", "no go", "no-go")
	mustBe      = seek(`(?i)\s*[\[(,;–—-]*\s*\bmust (?:be|have)\b\s*`, "must")
	rightBefore = seek(`(?i)\s*[\[(,;–—-]*\s*\bbefore\s+(?:the\s+)?([^\])]+?)[\])]?$`, "before")
	falling     = seek(`(?i)\b(?:falling|decreasing|dropping|passing down|down through|run ?down|descending)\b`, "falling", "decreasing", "dropping", "down", "descending")
	ofEngine    = seek(`(?i)\b(?:engine|eng|no\.?|number|gen|generator)\s*[12]\b`, "eng", "no", "number", "gen").withFigure()
	readAtOnce  = regexp.MustCompile(`(?i)\b(?:on|off|green|normal|range|limits?)\b`)
)

// first gives the first group of a match that holds something.
func first(match []string) string {
	for _, m := range match[1:] {
		if m = strings.TrimSpace(m); m != "" {
			return m
		}
	}
	return ""
}

// qualify takes out of a line what it says besides what is to be done.
func qualify(l Line) (Line, qualified) {
	q := qualified{crew: l.Crew}
	c, r := l.Challenge, l.Response
	each := func(change func(text string) string) {
		if got := change(c); strings.TrimSpace(got) != "" {
			c = strings.TrimSpace(got)
		}
		r = strings.TrimSpace(change(r))
	}
	each(func(text string) string {
		for _, tag := range []*regexp.Regexp{crewBefore, crewBehind, crewAtEnd} {
			if m := tag.FindStringSubmatch(text); m != nil {
				if q.crew == "" {
					q.crew = first(m)
				}
				text = tag.ReplaceAllString(text, "")
			}
		}
		return text
	})
	each(func(text string) string {
		if asFitted.MatchString(text) {
			q.fitted = true
			text = asFitted.ReplaceAllString(text, "")
		}
		return text
	})
	// The line itself may be nothing but what must not be done.
	if m := doNotGoOn.FindStringSubmatch(r); m != nil {
		q.hold, q.firm = strings.Trim(m[0], " ,;()[]–—-."), true
		r = strings.TrimSpace(doNotGoOn.ReplaceAllString(r, ""))
	}
	if m := doNotGoOn.FindStringIndex(c); m != nil && (m[0] > 0 || strings.HasPrefix(strings.ToLower(c), "hold")) {
		q.hold, q.firm = strings.Trim(c[m[0]:m[1]], " ,;()[]–—-."), true
		c = strings.TrimSpace(c[:m[0]] + c[m[1]:])
	}
	if m := rightBefore.FindStringSubmatch(r); m != nil && q.hold == "" {
		q.hold, q.before = strings.Trim(m[0], " ,;()[]–—-"), m[1]
		r = strings.TrimSpace(rightBefore.ReplaceAllString(r, ""))
	}
	if mustBe.MatchString(r) || mustBe.MatchString(c) {
		if q.hold == "" {
			q.hold = "must be"
		}
		c, r = strings.TrimSpace(mustBe.ReplaceAllString(c, " ")), strings.TrimSpace(mustBe.ReplaceAllString(r, " "))
	}
	if l.Hold != "" {
		q.hold, q.firm = l.Hold, true
	}
	if m := aCall.FindStringSubmatch(c); m != nil && len(figures(m[1]+" "+r)) > 0 {
		q.call = strings.TrimSpace(m[1])
		if isCalled.MatchString(r) || len(figures(m[1])) == 0 {
			q.call += " " + r
		}
	} else if isCalled.MatchString(r) && len(figures(c+" "+r)) > 0 && !readAtOnce.MatchString(isCalled.ReplaceAllString(r, "")) {
		q.call = c + " " + isCalled.ReplaceAllString(r, " ")
		if len(figures(r)) > 0 {
			q.call = isCalled.ReplaceAllString(r, " ") // and what stands before it is what is seen
		}
	}
	if q.call != "" {
		return Line{Row: l.Row, Challenge: c, Response: r}, q
	}
	each(func(text string) string {
		if m := onlyIf.FindStringSubmatch(text); m != nil && q.when == "" && !strings.Contains(first(m), "requir") && !strings.Contains(first(m), "necess") {
			q.when = first(m)
			if strings.Contains(strings.ToLower(m[0]), "unless") {
				q.when = "unless " + q.when
			}
			text = onlyIf.ReplaceAllString(text, "")
		}
		return text
	})
	each(func(text string) string {
		for _, from := range []*sought{firstAt, notBefore} {
			if m := from.FindStringSubmatch(text); m != nil && q.after == "" {
				if left := from.ReplaceAllString(text, ""); strings.TrimSpace(left) != "" {
					q.after, text = first(m), left
				}
			}
		}
		return text
	})
	if m := onlyBeyond.FindStringSubmatch(r); m != nil && q.after == "" && !greenWords.MatchString(strings.ToLower(m[1])) {
		r, q.after = m[1], m[2]
	}
	return Line{Row: l.Row, Challenge: cmp.Or(strings.Trim(c, " ,;–—-"), c), Response: strings.Trim(r, " ,;–—-")}, q
}

// What says no more of a gauge than how its figure is meant, the figures that are spoken, and the unit that only one gauge has.
var (
	aboutFigures = expressions("(?i)(^|[\\s\\d])", "($|\\s|[,.])", "percent", "per cent", "degrees", "degree", "celsius", "bar", "volts", "kg", "°C", "%", "above", "below", "less than",
		"more than", "at least", "greater than", "passing", "rising", "falling", "decreasing", "increasing", "through", "reaches", "is")
	spokenFigures = expressions("(?i)\\b", "\\b", append(slices.Clone(ones), tens...)...)
	inVolts       = regexp.MustCompile(`\d\s*(?:V|volts)\b`)
)

// expressions finds each of some words by what stands before and behind it.
func expressions(before, behind string, words ...string) (list []*sought) {
	for _, w := range words {
		list = append(list, seek(before+regexp.QuoteMeta(w)+behind, strings.ToLower(w)))
	}
	return list
}

// gaugesIn finds the gauges that a text with a figure in it names, and the figure. phase says which engine, where the text does not.
func (m *mapper) gaugesIn(text, phase string) ([]found, []float64) {
	n := figures(ofEngine.ReplaceAllString(rangeWord.ReplaceAllString(text, "$1 to $2"), " "))
	if len(n) == 0 {
		return nil, nil
	}
	words := number.ReplaceAllString(ofEngineNumber(text), " ")
	for _, w := range aboutFigures {
		words = w.ReplaceAllString(words, "$1 $2")
	}
	for _, w := range spokenFigures {
		words = w.ReplaceAllString(words, " ")
	}
	words = strings.ReplaceAll(strings.ReplaceAll(words, "hundred", " "), "@", " ")
	if strings.TrimSpace(words) == "" && inVolts.MatchString(text) { // of the one gauge that has it
		words = "voltage"
	}
	family := m.only(words, gauge)
	if len(family) > 1 {
		_, numbers := meaning(phase)
		var of []found
		for _, f := range family {
			if slices.ContainsFunc(f.numbers, func(n string) bool { return slices.Contains(numbers, n) }) {
				of = append(of, f)
			}
		}
		if len(of) == 1 {
			family = of
		}
	}
	return family, n
}

// ofEngineNumber writes the engine that a text names as the number of its gauges.
func ofEngineNumber(text string) string {
	return ofEngine.expression.ReplaceAllStringFunc(text, func(of string) string {
		if strings.HasSuffix(of, "1") {
			return " one_ "
		}
		return " two_ "
	})
}

// condition makes a condition of words with a figure in them, as "OAT below 5"; "" if that cannot be.
func (m *mapper) condition(text, phase string, rising bool) (cond string, look []string) {
	unless := strings.HasPrefix(text, "unless ")
	text = strings.TrimPrefix(text, "unless ")
	family, n := m.gaugesIn(text, phase)
	if len(family) == 0 || len(n) > 2 {
		return "", nil
	}
	var conds []string
	for _, f := range family {
		g := &m.prof.Gauges[f.index]
		if n[0] < g.Min || n[0] > g.Max {
			return "", nil
		}
		low := strings.ToLower(text)
		switch {
		case len(n) == 2 && n[0] < n[1] && rising:
			conds = append(conds, fmt.Sprintf("%s >= %s", g.ID, digits(n[0])))
		case len(n) == 2:
			conds = append(conds, fmt.Sprintf("%s >= %s and %s <= %s", g.ID, digits(n[0]), g.ID, digits(n[1])))
		case mostWord.MatchString(low) && !strings.Contains(low, "not below"), rising && falling.MatchString(low):
			sign := "<"
			if rising {
				sign = "<="
			}
			conds = append(conds, fmt.Sprintf("%s %s %s", g.ID, sign, digits(n[0])))
		case rising:
			conds = append(conds, fmt.Sprintf("%s >= %s", g.ID, digits(n[0])))
		case leastWord.MatchString(low):
			conds = append(conds, fmt.Sprintf("%s > %s", g.ID, digits(n[0])))
		default:
			return "", nil
		}
		look = append(look, g.ID)
	}
	cond = strings.Join(conds, " and ")
	if unless {
		cond = "not (" + cond + ")"
	}
	return cond, look
}

// callout makes a callout of a line that says that a value is called; it has a problem if that cannot be.
func (m *mapper) callout(l Line, call, phase string) *mapped {
	family, n := m.gaugesIn(call, phase)
	switch {
	case len(family) == 0:
		return &mapped{problem: fmt.Sprintf("no gauge of the %s is named in what is called", tidy(m.prof.Title)), near: m.candidates(&Line{Challenge: call})}
	case len(n) != 1:
		return &mapped{problem: fmt.Sprintf("one value is called at a time, and here are %d", len(n))}
	}
	g := &m.prof.Gauges[family[0].index]
	if !(n[0] > g.Min && n[0] < g.Max) {
		return &mapped{problem: fmt.Sprintf("%s goes from %g to %g %s, and is called as it passes a value between", g.ID, g.Min, g.Max, g.Unit)}
	}
	got := &mapped{kind: procedure.Callout, like: family[0].like, look: []string{g.ID}}
	got.callout = &procedure.Passing{Gauge: g.ID, Value: n[0], Down: falling.MatchString(call)}
	got.say = strconv.FormatFloat(n[0], 'f', -1, 64)
	if len(family) > 1 {
		got.guess = "taken for gauge " + g.ID + ", since it says of no engine that it is meant"
	}
	return got
}

// qualifiedLine maps a line, with what it says besides.
func (m *mapper) qualifiedLine(l Line, phase string, before []mapped) mapped {
	bare, q := qualify(l)
	var got mapped
	if q.call != "" {
		called := m.callout(bare, q.call, phase)
		got = *called
		if got.problem != "" {
			got.kind, got.cond = procedure.Confirm, "true"
		}
		got.line = bare
	} else {
		got = m.line(bare, phase, before)
	}
	got.crew, got.hold = q.crew, q
	note := func(format string, args ...any) {
		if text := fmt.Sprintf(format, args...); got.guess == "" {
			got.guess = text
		} else {
			got.guess += "; " + text
		}
	}
	if q.fitted && got.problem != "" {
		got.unfitted, got.problem, got.near = true, "", nil
		note("not fitted, since nothing of the %s answers to it", tidy(m.prof.Title))
	}
	if q.when != "" {
		if cond, _ := m.condition(q.when, phase, false); cond != "" {
			got.when = cond
		} else {
			note("asked always: %q could not be made a condition", "if "+q.when)
		}
	}
	if q.after != "" {
		if cond, look := m.condition(q.after, phase, true); cond != "" {
			got.after = cond
			if len(got.look) == 0 && got.kind != procedure.Set {
				got.look = look
			}
		} else {
			note("asked at once: %q could not be made a condition", q.after)
		}
	}
	return got
}

// holdOn finds for each line that the flow does not go on before it which one that is: what it names, or the next move, or the next line.
// What the words only suggest stands as a comment.
func holdOn(phases [][]mapped, titles []string) {
	type place struct{ phase, at int }
	var flat []place
	for p := range phases {
		for i := range phases[p] {
			flat = append(flat, place{p, i})
		}
	}
	for n, at := range flat {
		g := &phases[at.phase][at.at]
		if g.hold.hold == "" || g.unfitted {
			continue
		}
		target := ""
		for _, to := range flat[n+1:] {
			later := &phases[to.phase][to.at]
			if later.unfitted {
				continue
			}
			if g.hold.before != "" {
				of := without(tokens(g.hold.before), filler)
				if overlap(of, without(tokens(later.line.Challenge), filler)) > 0.9 {
					target = later.id
					break
				}
				if target == "" && to.phase != at.phase && overlap(of, without(tokens(titles[to.phase]), filler)) >= enough {
					target = later.id
				}
				continue
			}
			if target == "" || later.kind == procedure.Set {
				target = later.id
			}
			if later.kind == procedure.Set {
				break
			}
		}
		held := g.kind != procedure.Read && g.kind != procedure.Callout
		switch {
		case target == "" || !held:
			g.note("%q is left to you: %s", g.hold.hold, map[bool]string{true: "nothing further on is it for", false: "what is typed or called cannot be held to later"}[held])
		case g.hold.firm:
			g.holdOn = target
			g.note("%q taken for: right before %s", g.hold.hold, target)
		default:
			g.mayHold = target
			g.note("%q may mean that it has to be right before %s", g.hold.hold, target)
		}
	}
}

// note adds to what was guessed of a line.
func (g *mapped) note(format string, args ...any) {
	g.guess = strings.TrimPrefix(g.guess+"; "+fmt.Sprintf(format, args...), "; ")
}

// isHold reports whether a row says of the line before it that the flow does not go on without.
func isHold(text string) bool {
	return doNotGoOn.MatchString(text) && !strings.HasPrefix(strings.ToLower(text), "hold")
}

// crewIn is the member of the crew that a cell of a table names, "" for anything else.
func crewIn(cell string) string {
	if crewAlone.MatchString(cell) {
		return cell
	}
	return ""
}
