// Package walk goes through a sitting again moment by moment: what happened, and what the aircraft showed then.
package walk

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/logbook"
	"hornlark/drill/score"
)

// Kind sorts moments.
type Kind int

// The kinds of moment.
const (
	Other    Kind = iota
	Phase         // a phase begins
	Asked         // a challenge
	Abnormal      // an abnormal shows itself
	Over          // an abnormal is over, one way or the other
)

// Moment is one thing that happened.
type Moment struct {
	At   time.Duration // as the clock of the sitting showed it, pauses included
	Kind Kind
	Text string
	Slip bool       // it was amiss
	Cue  int        // what began to be heard; 0 if nothing did
	View drill.View // what the screen showed
}

// Walk is a whole sitting.
type Walk struct {
	Moments []Moment       // by time
	Heard   []drill.Output // what was asked to be heard, and to be quiet
}

// Through goes through a sitting that is new from its inputs to until, and makes moments of its log. The result is that of
// the same sitting, by which its departures are marked. The error is that of an input which the sitting does not take.
func Through(s *drill.Sitting, inputs []drill.Stored, until time.Duration, p *aircraft.Profile, names debrief.Names, r *score.Result) (*Walk, error) {
	b := builder{profile: p, names: names, items: map[string]*score.ItemResult{}}
	for i := range r.Items {
		b.items[r.Items[i].ID] = &r.Items[i]
	}
	err := s.Replay(inputs, until, func(o drill.Output) error {
		switch o := o.(type) {
		case drill.Log:
			s.View(&b.view)
			b.entry(&o.Entry)
		case drill.Ended:
		default:
			b.walk.Heard = append(b.walk.Heard, o)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	b.depart(r)
	return &b.walk, nil
}

// builder makes moments of entries.
type builder struct {
	walk    Walk
	view    drill.View
	profile *aircraft.Profile
	names   debrief.Names
	items   map[string]*score.ItemResult
	log     []logbook.Entry
	inner   []time.Duration // of each moment, by the log
	press   int             // the moment of the last press, from 1
}

// add makes a moment of what the sitting shows now.
func (b *builder) add(e *logbook.Entry, m Moment) {
	m.At, m.View = b.view.At, snapshot(&b.view)
	b.walk.Moments = append(b.walk.Moments, m)
	b.inner = append(b.inner, e.At)
}

// snapshot is a copy of a view that shares nothing with it. What was said of it recently is left out: the moments say it.
func snapshot(v *drill.View) drill.View {
	out := *v
	if v.Asked != nil {
		asked := *v.Asked
		out.Asked = &asked
	}
	out.Readings, out.Bands, out.Alive = slices.Clone(v.Readings), slices.Clone(v.Bands), slices.Clone(v.Alive)
	out.Lit, out.Sounding, out.Silenced = slices.Clone(v.Lit), slices.Clone(v.Sounding), slices.Clone(v.Silenced)
	out.Positions, out.Facts, out.Recent = slices.Clone(v.Positions), slices.Clone(v.Facts), nil
	return out
}

// because adds to the last press what it did, or makes a moment of its own of what no press did.
func (b *builder) because(e *logbook.Entry, text string, slip bool) {
	if b.press > 0 && b.inner[b.press-1] == e.At {
		m := &b.walk.Moments[b.press-1]
		m.Text += ": " + text
		m.Slip = m.Slip || slip
		m.View = snapshot(&b.view)
		return
	}
	b.add(e, Moment{Text: text, Slip: slip})
}

func (b *builder) entry(e *logbook.Entry) {
	b.log = append(b.log, *e)
	plain := func(format string, args ...any) { b.add(e, Moment{Text: fmt.Sprintf(format, args...)}) }
	slip := func(format string, args ...any) { b.add(e, Moment{Text: fmt.Sprintf(format, args...), Slip: true}) }
	switch e.Kind {
	case logbook.Phase:
		b.add(e, Moment{Kind: Phase, Text: strings.ToUpper(b.names.Phase(e.Name))})
	case logbook.Ask:
		b.add(e, Moment{Kind: Asked, Text: fmt.Sprintf("asked: %q", e.Text), Cue: e.Cue})
	case logbook.AskAgain:
		b.add(e, Moment{Text: fmt.Sprintf("asked again: %q", e.Text), Cue: e.Cue})
	case logbook.Press:
		plain("key %s", e.Key)
		b.press = len(b.walk.Moments)
	case logbook.Moved:
		b.because(e, b.control(e.Control)+" "+e.Position, false)
	case logbook.Answer:
		b.because(e, e.Text, false)
	case logbook.Stray:
		b.because(e, "nothing wanted it", true)
	case logbook.Silence:
		b.because(e, "silenced "+b.alert(e.Text), false)
	case logbook.Done:
		b.done(e)
	case logbook.Crew:
		plain("the other pilot has done %s", b.names.Item(e.Item))
	case logbook.Undone:
		slip("%s is undone", b.names.Item(e.Item))
	case logbook.Overshoot:
		slip("%s: %s went past, to %s", b.names.Item(e.Item), b.control(e.Control), e.Position)
	case logbook.Again:
		slip("%s is done again", b.names.Item(e.Item))
	case logbook.TimedOut:
		slip("no answer to %s: the sitting goes on", b.names.Item(e.Item))
	case logbook.Fixed:
		plain("%s has been put right", b.names.Item(e.Item))
	case logbook.Reopen:
		plain("%s is to be done again", b.names.Item(e.Item))
	case logbook.Cue:
		b.cue(e)
	case logbook.Inject:
		plain("the cause of %s is put in", e.Abnormal)
	case logbook.Onset:
		b.add(e, Moment{Kind: Abnormal, Text: "ABNORMAL " + e.Abnormal + " shows itself"})
	case logbook.Action:
		plain("action %.0f of %s is done", e.Value, e.Abnormal)
	case logbook.Worse:
		slip("%s %s makes %s worse", b.control(e.Control), e.Position, e.Abnormal)
	case logbook.Handled:
		b.add(e, Moment{Kind: Over, Text: e.Abnormal + " is handled"})
	case logbook.Lost:
		b.add(e, Moment{Kind: Over, Text: e.Abnormal + " got away", Slip: true})
	case logbook.Early:
		slip("%s is gone on with before the abnormal is over", b.names.Item(e.Item))
	case logbook.Resumed:
		b.add(e, Moment{Text: fmt.Sprintf("gone on with %s: %s", b.names.Item(e.Item), e.Name), Slip: e.Name != "right"})
	case logbook.Prompted:
		slip("asked to go on with %s", b.names.Item(e.Item))
	case logbook.Paused:
		plain("the sitting is held")
	case logbook.Unpaused:
		plain("the sitting goes on after %.0f s", e.Value)
	case logbook.SoundBad:
		slip("the sound is not healthy: %s", e.Text)
	case logbook.SoundGood:
		plain("the sound is healthy again")
	case logbook.End:
		b.add(e, Moment{Text: "end: " + e.Text, Slip: !e.OK})
	}
}

func (b *builder) done(e *logbook.Entry) {
	text := "done: " + b.names.Item(e.Item)
	slip := !e.OK
	if !e.OK {
		text += ", wrongly"
	}
	if item := b.items[e.Item]; item != nil {
		if item.ReactionMS != nil {
			text += fmt.Sprintf(", after %.2f s", *item.ReactionMS/1000)
		}
		if item.Outcome != score.Right && e.OK {
			text, slip = text+", "+string(item.Outcome), true
		}
	}
	b.add(e, Moment{Text: text, Slip: slip})
}

// cue makes a moment of what begins to be heard or seen. Challenges have theirs already.
func (b *builder) cue(e *logbook.Entry) {
	switch e.Name {
	case drill.ClassSpeech:
	case drill.ClassEcho:
		b.add(e, Moment{Text: fmt.Sprintf("response: %q", e.Text), Cue: e.Cue})
	case drill.ClassHorn:
		b.add(e, Moment{Text: "sounds: " + b.alert(e.Text), Cue: e.Cue})
	case drill.ClassCaption:
		b.add(e, Moment{Text: "lit: " + b.caption(e.Text)})
	default:
		what, band, _ := strings.Cut(e.Text, " ") // of a gauge: its id, and the band that it has come to
		b.add(e, Moment{Text: strings.TrimSpace(fmt.Sprintf("%s: %s %s", e.Name, b.names.Gauge(what), band))})
	}
}

func (b *builder) control(id string) string {
	if i, ok := b.profile.ControlIndex(id); ok {
		return b.profile.Controls[i].Name
	}
	return id
}

func (b *builder) caption(id string) string {
	if i, ok := b.profile.CaptionIndex(id); ok {
		return b.profile.Captions[i].Text
	}
	return id
}

func (b *builder) alert(id string) string {
	if i, ok := b.profile.AlertIndex(id); ok {
		return b.profile.Alerts[i].Name
	}
	return id
}

// depart puts the departures from the procedure among the moments.
func (b *builder) depart(r *score.Result) {
	type timed struct {
		Moment
		inner time.Duration
	}
	var all []timed
	for i, m := range b.walk.Moments {
		all = append(all, timed{m, b.inner[i]})
	}
	for _, d := range debrief.Locate(r, b.log) {
		m := Moment{Text: debrief.Departure(d.Deviation), Slip: true}
		if i := b.before(d.At); i >= 0 {
			m.At, m.View = b.walk.Moments[i].At, b.walk.Moments[i].View
		}
		all = append(all, timed{m, d.At})
	}
	slices.SortStableFunc(all, func(x, y timed) int { return cmp.Compare(x.inner, y.inner) })
	b.walk.Moments = b.walk.Moments[:0]
	for _, t := range all {
		b.walk.Moments = append(b.walk.Moments, t.Moment)
	}
}

// before is the last moment at a time of the log or before it; -1 if there is none.
func (b *builder) before(at time.Duration) int {
	last := -1
	for i, inner := range b.inner {
		if inner <= at {
			last = i
		}
	}
	return last
}
