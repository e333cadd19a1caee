package walk

import (
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/logbook"
	"hornlark/drill/score"
)

// Teller makes moments of a sitting while it goes on, for whoever looks on. They are those of Through, but for what only its result tells:
// reactions, and departures.
type Teller struct{ b builder }

// NewTeller tells of a sitting of that aircraft.
func NewTeller(p *aircraft.Profile, names debrief.Names) *Teller {
	return &Teller{builder{profile: p, names: names, items: map[string]*score.ItemResult{}}}
}

// Tell takes the next entry of the log, with what was to be seen then. It gives what there is to be told that is new or has changed: the
// moments from the one with that number on, from 0, replace those that were given before. Their View is empty. The slice is only lent.
func (t *Teller) Tell(e *logbook.Entry, v *drill.View) (from int, moments []Moment) {
	before := len(t.b.walk.Moments)
	var last Moment
	if n := t.b.press; n > 0 {
		last = t.b.walk.Moments[n-1]
	}
	press := t.b.press
	t.b.view = *v
	t.b.entry(e)
	t.b.log = t.b.log[:0]
	from = min(before, len(t.b.walk.Moments))
	if from > 0 && len(t.b.walk.Moments) == before { // one was replaced, or a press came to something
		from = before - 1
	}
	if press > 0 && t.b.walk.Moments[press-1].Text != last.Text {
		from = min(from, press-1)
	}
	for i := from; i < len(t.b.walk.Moments); i++ {
		t.b.walk.Moments[i].View = drill.View{}
	}
	return from, t.b.walk.Moments[from:]
}
