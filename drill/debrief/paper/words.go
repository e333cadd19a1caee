package paper

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"hornlark/drill/aircraft"
)

// words writes what documents say of an aircraft as its panel has it.
type words struct {
	prof  *aircraft.Profile
	names map[string]string // of what a condition can be about
}

func newWords(p *aircraft.Profile) *words {
	w := &words{prof: p, names: map[string]string{}}
	for i := range p.Captions {
		w.names[p.Captions[i].ID] = p.Captions[i].Text + " lit"
	}
	for i := range p.Alerts {
		w.names[p.Alerts[i].ID] = cmp.Or(p.Alerts[i].Name, p.Alerts[i].ID) + " sounding"
	}
	for i := range p.Gauges {
		w.names[cmp.Or(p.Gauges[i].Indication, p.Gauges[i].ID)] = p.Gauges[i].Name
	}
	for i := range p.Gauges {
		w.names[p.Gauges[i].ID] = p.Gauges[i].Name
	}
	for i := range p.Controls {
		c := &p.Controls[i]
		w.names[c.ID] = c.Name
		if c.Travel == nil && c.Count() == 2 {
			w.names[c.ID] += " " + c.Label(1) // a switch is true off its first position
		}
	}
	return w
}

// token is a part of a condition: a text in quotes, a name, or a sign of two characters.
var token = regexp.MustCompile(`"[^"]*"|'[^']*'|[A-Za-z_][A-Za-z0-9_]*|[=!<>]=`)

// compared is a name beside a text in quotes, so that it is the control that is meant and not whether it is off its first position.
var compared = regexp.MustCompile(`([A-Za-z_][A-Za-z0-9_]*)(\s*[=!]=\s*["'])`)

// condition is a condition in the words of the panel. What the panel has no words for keeps its name.
func (w *words) condition(src string) string {
	src = strings.Join(strings.Fields(src), " ")
	src = compared.ReplaceAllStringFunc(src, func(part string) string {
		m := compared.FindStringSubmatch(part)
		if i, ok := w.prof.ControlIndex(m[1]); ok {
			return `"` + w.prof.Controls[i].Name + `"` + m[2]
		}
		return part
	})
	return token.ReplaceAllStringFunc(src, func(t string) string {
		switch {
		case t == "==":
			return "="
		case t == "!=":
			return "≠"
		case t == "<=":
			return "≤"
		case t == ">=":
			return "≥"
		case t[0] == '"' || t[0] == '\'':
			return t[1 : len(t)-1]
		case w.names[t] != "":
			return w.names[t]
		}
		return plain(t)
	})
}

// numbered is the number at the end of a name, of an engine mostly.
var numbered = regexp.MustCompile(`([a-z])([0-9]+)$`)

// plain is a name in words: idle_time1 is idle time 1.
func plain(name string) string {
	return numbered.ReplaceAllString(strings.ReplaceAll(name, "_", " "), "$1 $2")
}

// moves is controls and the positions that they are put into, in order.
func (w *words) moves(set aircraft.Settings) string {
	var parts []string
	for _, one := range set {
		parts = append(parts, w.control(one.Control)+" "+w.position(one))
	}
	return strings.Join(parts, ", ")
}

// control is what the panel calls a control.
func (w *words) control(id string) string {
	if i, ok := w.prof.ControlIndex(id); ok {
		return w.prof.Controls[i].Name
	}
	return id
}

// position is where a control is put, with the unit of a lever.
func (w *words) position(one aircraft.Setting) string {
	if i, ok := w.prof.ControlIndex(one.Control); ok && w.prof.Controls[i].Travel != nil {
		return one.Position + " " + w.prof.Controls[i].Travel.Unit
	}
	return one.Position
}

// cue is what something is called that can be noticed.
func (w *words) cue(id string) string {
	p := w.prof
	for i := range p.Alerts {
		if p.Alerts[i].ID == id {
			return cmp.Or(p.Alerts[i].Name, id)
		}
	}
	for i := range p.Captions {
		if p.Captions[i].ID == id {
			return "caption " + p.Captions[i].Text
		}
	}
	for i := range p.Gauges {
		if p.Gauges[i].ID == id {
			return "gauge " + p.Gauges[i].Name
		}
	}
	for i := range p.Outside {
		if p.Outside[i].ID == id {
			return "outside: " + p.Outside[i].Not
		}
	}
	if _, ok := p.ControlIndex(id); ok {
		return "control " + w.control(id)
	}
	return id
}

// value is a value of a gauge, with its unit.
func (w *words) value(gauge string, v float64) string {
	i, ok := w.prof.GaugeIndex(gauge)
	if !ok {
		return number(v)
	}
	g := &w.prof.Gauges[i]
	return strings.TrimSpace(strconv.FormatFloat(v, 'f', g.Decimals, 64) + " " + g.Unit)
}

func (w *words) gauge(id string) string {
	if i, ok := w.prof.GaugeIndex(id); ok {
		return w.prof.Gauges[i].Name
	}
	return id
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// long is a time as it is said: 90s is 1 min 30 s.
func long(d time.Duration) string {
	if d < time.Minute {
		return number(d.Seconds()) + " s"
	}
	minutes, rest := d/time.Minute, (d % time.Minute).Seconds()
	if rest == 0 {
		return fmt.Sprintf("%d min", minutes)
	}
	return fmt.Sprintf("%d min %s s", minutes, number(rest))
}

// limit is a gauge with its bands, in words that need no colours.
type limit struct{ Name, Unit, Normal, Caution, Limit string }

// limitOf puts the bands of a gauge into words; false if it has none that say anything.
func limitOf(g *aircraft.Gauge) (limit, bool) {
	var normal, caution, beyond []string
	for _, b := range g.Bands {
		text := number(b.From) + " to " + number(b.To)
		switch {
		case b.From <= g.Min && b.To >= g.Max:
			text = "all"
		case b.From <= g.Min && b.Colour == aircraft.Red: // a value on the boundary of a red band is in it
			text = number(b.To) + " or less"
		case b.From <= g.Min:
			text = "below " + number(b.To)
		case b.To >= g.Max && b.Colour == aircraft.Red:
			text = number(b.From) + " or more"
		case b.To >= g.Max:
			text = "from " + number(b.From)
		}
		switch b.Colour {
		case aircraft.Green:
			normal = append(normal, text)
		case aircraft.Amber:
			caution = append(caution, text)
		case aircraft.Red:
			beyond = append(beyond, text)
		}
	}
	none := func(list []string) string { return cmp.Or(strings.Join(list, ", "), "–") }
	return limit{g.Name, g.Unit, none(normal), none(caution), none(beyond)}, len(g.Bands) > 0 && len(slices.Concat(normal, caution, beyond)) > 0
}
