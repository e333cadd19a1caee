// Package trace keeps what an aircraft showed over the time of a sitting, and gives it as a table or as a plot.
package trace

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/inert"
	"hornlark/drill/logbook"
)

// Trace is what was seen of one sitting.
type Trace struct {
	profile *aircraft.Profile
	every   time.Duration
	rows    []row
	entries []logbook.Entry // by time
	slips   []span          // departures from the procedure, see Judged
}

// Length is the running time of what was seen.
func (t *Trace) Length() time.Duration {
	if len(t.rows) == 0 {
		return 0
	}
	return t.rows[len(t.rows)-1].at
}

// row is what the aircraft showed at one moment.
type row struct {
	at        time.Duration
	readings  []reading // of the gauges
	lit       []bool    // captions
	positions []int     // controls
	facts     []bool    // outside
	seen      []bool    // facts that were in sight
}

type reading struct {
	value float64 // in the unit of the gauge
	alive bool    // it shows anything
}

// New makes a trace with a row at every so often, at least a step of the model.
func New(p *aircraft.Profile, every time.Duration) *Trace {
	return &Trace{profile: p, every: max(every, aircraft.StepLength)}
}

// Look takes down what the aircraft shows, if it is time: for drill's Sitting.Watch.
func (t *Trace) Look(at time.Duration, craft *aircraft.Aircraft) {
	if n := len(t.rows); n > 0 && at < t.rows[n-1].at+t.every {
		return
	}
	p := t.profile
	r := row{
		at: at, readings: make([]reading, len(p.Gauges)), lit: make([]bool, len(p.Captions)),
		positions: make([]int, len(p.Controls)), facts: make([]bool, len(p.Outside)), seen: make([]bool, len(p.Outside)),
	}
	for i := range r.readings {
		r.readings[i].value, _, r.readings[i].alive = craft.Gauge(i)
	}
	for i := range r.lit {
		r.lit[i] = craft.Lit(i)
	}
	for i := range r.positions {
		r.positions[i] = craft.Position(i)
	}
	for i := range r.facts {
		r.facts[i], r.seen[i] = craft.Fact(i), craft.Seen(i)
	}
	t.rows = append(t.rows, r)
}

// Note takes down an entry of the sitting's log.
func (t *Trace) Note(e logbook.Entry) { t.entries = append(t.entries, e) }

// told are the entries that the table and the plot speak of.
var told = []logbook.Kind{
	logbook.Phase, logbook.Ask, logbook.Press, logbook.StopCall, logbook.Inject, logbook.Onset, logbook.Told, logbook.Worse,
	logbook.Handled, logbook.Lost, logbook.Cleared, logbook.Inspect, logbook.End,
}

// WriteCSV writes a table (RFC 4180): the running time in seconds; each gauge in its unit, empty while it shows nothing; each
// caption, 1 while it is lit; each control by its position; each fact outside, 1 while it is so, empty while it is out of sight; and what happened since the
// row before. The last column has the caution, in the first row, and nothing below it.
func (t *Trace) WriteCSV(w io.Writer) error {
	out := inert.NewTable(w)
	out.Write(t.header())
	caution := debrief.CautionOf(t.profile)
	next := 0
	for i := range t.rows {
		r := &t.rows[i]
		first := next
		for next < len(t.entries) && (t.entries[next].At <= r.at || i == len(t.rows)-1) {
			next++
		}
		out.Write(append(t.record(r, t.entries[first:next]), caution))
		caution = ""
	}
	return out.Close()
}

func (t *Trace) header() []string {
	p := t.profile
	head := []string{"time (s)"}
	for i := range p.Gauges {
		head = append(head, fmt.Sprintf("%s (%s)", p.Gauges[i].ID, p.Gauges[i].Unit))
	}
	for i := range p.Captions {
		head = append(head, "caption "+p.Captions[i].ID)
	}
	for i := range p.Controls {
		head = append(head, "control "+p.Controls[i].ID)
	}
	for i := range p.Outside {
		head = append(head, "outside "+p.Outside[i].ID)
	}
	return append(head, "events", "caution")
}

func (t *Trace) record(r *row, entries []logbook.Entry) []string {
	fields := []string{strconv.FormatFloat(r.at.Seconds(), 'f', 2, 64)}
	for i, v := range r.readings {
		if !v.alive {
			fields = append(fields, "")
			continue
		}
		fields = append(fields, strconv.FormatFloat(v.value, 'f', t.profile.Gauges[i].Decimals+1, 64))
	}
	for _, lit := range r.lit {
		fields = append(fields, oneIf(lit))
	}
	for i, position := range r.positions {
		fields = append(fields, t.profile.Controls[i].Label(position))
	}
	for i, so := range r.facts {
		if !r.seen[i] {
			fields = append(fields, "")
			continue
		}
		fields = append(fields, oneIf(so))
	}
	var events []string
	for i := range entries {
		if slices.Contains(told, entries[i].Kind) {
			events = append(events, eventOf(&entries[i]))
		}
	}
	return append(fields, strings.Join(events, "; "))
}

func oneIf(b bool) string {
	if b {
		return "1"
	}
	return "0"
}

// eventOf is an entry in two or three words.
func eventOf(e *logbook.Entry) string {
	words := string(e.Kind)
	for _, word := range []string{e.Injection, e.Item, e.Key} {
		if word != "" {
			words += " " + word
		}
	}
	if e.Kind == logbook.Phase {
		words += " " + e.Name
	}
	return words
}
