package trace

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"math"
	"strconv"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/logbook"
)

// The ids of what a picture is called and described by, for whoever puts it into a page.
const (
	TitleID       = "plot-title"
	DescriptionID = "plot-description"
)

// Title is what the plot is called, for somebody who hears it.
func (t *Trace) Title() string {
	for i := range t.entries {
		if e := &t.entries[i]; e.Kind == logbook.Begin {
			return fmt.Sprintf("%s: %s, gauges over time", t.profile.Title, e.Text)
		}
	}
	return t.profile.Title + ": gauges over time"
}

// Description says in words what the plot shows: how long it is, the phases and abnormals with their times, and of every gauge
// that is plotted how low and how high it went, where it ended, and for how long it was off its limits.
func (t *Trace) Description() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Over %s of running time.", minute(t.end()))
	if phases := t.phases(); len(phases) > 0 {
		var parts []string
		for _, s := range phases {
			parts = append(parts, s.name+" from "+minute(s.from))
		}
		fmt.Fprintf(&b, " Phases: %s.", strings.Join(parts, "; "))
	}
	if abnormals := t.abnormals(); len(abnormals) == 0 {
		b.WriteString(" No abnormal showed itself.")
	} else {
		var parts []string
		for _, s := range abnormals {
			parts = append(parts, fmt.Sprintf("%s, from %s to %s", s.name, minute(s.from), minute(s.to)))
		}
		fmt.Fprintf(&b, " Abnormals: %s.", strings.Join(parts, "; "))
	}
	fmt.Fprintf(&b, " Departures from the procedure: %d.", len(t.slips))
	for _, gauges := range t.scales() {
		for _, i := range gauges {
			if words := t.inWords(i); words != "" {
				b.WriteString(" " + words)
			}
		}
	}
	b.WriteString(" " + debrief.CautionOf(t.profile))
	return b.String()
}

// inWords is what a gauge did, or nothing if it never showed anything.
func (t *Trace) inWords(gauge int) string {
	g := &t.profile.Gauges[gauge]
	lowest, highest, last := math.Inf(1), math.Inf(-1), 0.0
	red := 0.0
	for i := range t.rows {
		v := t.rows[i].readings[gauge]
		if !v.alive {
			continue
		}
		lowest, highest, last = min(lowest, v.value), max(highest, v.value), v.value
		if i > 0 && bandAt(g, v.value) == aircraft.Red {
			red += (t.rows[i].at - t.rows[i-1].at).Seconds()
		}
	}
	if lowest > highest {
		return ""
	}
	figure := func(v float64) string { return strconv.FormatFloat(v, 'f', g.Decimals, 64) }
	words := fmt.Sprintf("%s: %s to %s %s, at the end %s", g.Name, figure(lowest), figure(highest), g.Unit, figure(last))
	if red > 0 {
		words += fmt.Sprintf(", %.0f s in the red band", red)
	}
	return strings.TrimSpace(words) + "."
}

// bandAt is the colour of the band that a value is in; a boundary of a red one belongs to it.
func bandAt(g *aircraft.Gauge, v float64) aircraft.Colour {
	colour := aircraft.Colour("")
	for _, b := range g.Bands {
		if v >= b.From && v <= b.To && (colour == "" || b.Colour == aircraft.Red) {
			colour = b.Colour
		}
	}
	return colour
}

// minute is a running time as minutes and seconds.
func minute(seconds float64) string {
	whole := int(seconds + 0.5)
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}

// describe gives a picture its title and its description, which a screen reader says instead of its lines.
func (t *Trace) describe(svg []byte) []byte {
	const open = "<svg "
	from := bytes.Index(svg, []byte(open))
	if from < 0 {
		return svg
	}
	length := bytes.IndexByte(svg[from:], '>')
	if length < 0 {
		return svg
	}
	var b bytes.Buffer
	b.Write(svg[:from])
	fmt.Fprintf(&b, `%srole="img" aria-labelledby="%s" aria-describedby="%s" `, open, TitleID, DescriptionID)
	b.Write(svg[from+len(open) : from+length+1])
	for _, part := range []struct{ tag, id, text string }{{"title", TitleID, t.Title()}, {"desc", DescriptionID, t.Description()}} {
		fmt.Fprintf(&b, "\n<%s id=\"%s\">", part.tag, part.id)
		if err := xml.EscapeText(&b, []byte(part.text)); err != nil {
			panic(err) // a buffer takes everything
		}
		fmt.Fprintf(&b, "</%s>", part.tag)
	}
	b.Write(svg[from+length+1:])
	return b.Bytes()
}
