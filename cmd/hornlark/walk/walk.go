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
	Remark        // the instructor wrote something down
)

// Moment is one thing that happened.
type Moment struct {
	At   time.Duration // as the clock of the sitting showed it, pauses included
	Kind Kind
	Text string
	Slip bool       // it was an error
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

// snapshot is a copy of a view that shares nothing with it. What was said and pressed is left out: the moments say it.
func snapshot(v *drill.View) drill.View {
	out := *v
	if v.Asked != nil {
		asked := *v.Asked
		out.Asked = &asked
	}
	out.Readings, out.Bands, out.Alive = slices.Clone(v.Readings), slices.Clone(v.Bands), slices.Clone(v.Alive)
	out.Lit, out.Sounding, out.Silenced = slices.Clone(v.Lit), slices.Clone(v.Sounding), slices.Clone(v.Silenced)
	out.Positions, out.Locked = slices.Clone(v.Positions), slices.Clone(v.Locked)
	out.Facts, out.Seen = slices.Clone(v.Facts), slices.Clone(v.Seen)
	out.Signs, out.Said = nil, nil
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
	if b.flow(e) || b.injection(e) {
		return
	}
	plain := func(format string, args ...any) { b.add(e, Moment{Text: fmt.Sprintf(format, args...)}) }
	slip := func(format string, args ...any) { b.add(e, Moment{Text: fmt.Sprintf(format, args...), Slip: true}) }
	switch e.Kind {
	case logbook.Press:
		plain("key %s%s", e.Key, whose(e))
		b.press = len(b.walk.Moments)
	case logbook.Moved:
		b.because(e, b.control(e.Control)+" "+e.Position, false)
	case logbook.Blocked:
		b.because(e, b.control(e.Control)+" is locked", false)
	case logbook.Answer:
		b.because(e, e.Text, false)
	case logbook.Stray:
		b.because(e, "not called for", true)
	case logbook.Silence:
		b.because(e, "silenced "+cmp.Or(b.alert(e.Name), "nothing"), false)
	case logbook.StopCall:
		b.because(e, "stop call to the partner", false)
	case logbook.GoOn:
		plain("the partner resumes")
	case logbook.Cue:
		b.cue(e)
	case logbook.Instruct:
		b.instructed(e)
	case logbook.Inspect:
		slip("%s", e.Text)
	case logbook.Paused:
		if e.Why == logbook.Jumped {
			slip("the clock jumped by %.1f s: the sitting is held", e.Length.Seconds())
			break
		}
		plain("the sitting is held")
	case logbook.Unpaused:
		plain("the sitting is resumed after %.0f s", e.Length.Seconds())
	case logbook.SoundBad:
		slip("the sound is not steady: %s", e.Text)
	case logbook.SoundGood:
		plain("the sound is steady again")
	case logbook.End:
		b.add(e, Moment{Text: "end: " + e.Text, Slip: !e.OK})
	}
}

// instructed makes a moment of what the instructor did, or could not do.
func (b *builder) instructed(e *logbook.Entry) {
	if why := debrief.Refusal(e); why != "" {
		b.add(e, Moment{Text: fmt.Sprintf("the instructor could not %s: %s", strings.TrimSpace(e.Name+" "+e.Abnormal+e.Text), why)})
		return
	}
	act := score.ActOf(e)
	if act.Do == "remark" {
		b.add(e, Moment{Kind: Remark, Text: "remark of the instructor: " + act.What})
		return
	}
	b.add(e, Moment{Text: "the instructor " + b.names.Did(*act)})
}

// flow makes moments of what the checklist came to, and reports whether the entry was of that.
func (b *builder) flow(e *logbook.Entry) bool {
	plain := func(format string) { b.add(e, Moment{Text: fmt.Sprintf(format, b.names.Item(e.Item))}) }
	slip := func(format string) { b.add(e, Moment{Text: fmt.Sprintf(format, b.names.Item(e.Item)), Slip: true}) }
	switch e.Kind {
	case logbook.Phase:
		b.add(e, Moment{Kind: Phase, Text: strings.ToUpper(b.names.Phase(e.Name))})
	case logbook.Ask:
		b.asked(e, Moment{Kind: Asked, Text: fmt.Sprintf("asked: %q", e.Text), Cue: e.Cue})
	case logbook.AskAgain:
		b.asked(e, Moment{Text: fmt.Sprintf("asked again: %q", e.Text), Cue: e.Cue})
	case logbook.Done:
		b.done(e)
	case logbook.Undone:
		slip("%s is undone")
	case logbook.Overshoot:
		b.add(e, Moment{Text: fmt.Sprintf("%s: %s was moved past its position, to %s", b.names.Item(e.Item), b.control(e.Control), e.Position), Slip: true})
	case logbook.Again:
		slip("%s is done again")
	case logbook.TimedOut:
		slip("no answer to %s: the flow continues")
	case logbook.Fixed:
		plain("%s has been put right")
	case logbook.Held:
		slip("%s was not right, and the flow could not continue without it")
	case logbook.Reopen:
		plain("%s is to be done again")
	case logbook.Resumed:
		b.add(e, Moment{Text: fmt.Sprintf("resumed at %s: %s", b.names.Item(e.Item), e.Why), Slip: e.Why != logbook.AtPlace})
	case logbook.Prompted:
		slip("asked to resume at %s")
	default:
		return false
	}
	return true
}

// injection makes moments of what is in the aircraft, and reports whether the entry was of that.
func (b *builder) injection(e *logbook.Entry) bool {
	over := func(text string, slip bool) { b.add(e, Moment{Kind: Over, Text: e.Injection + " " + text, Slip: slip}) }
	switch e.Kind {
	case logbook.Inject:
		b.add(e, Moment{Text: "the cause of " + e.Injection + " is put in"})
	case logbook.Onset:
		b.add(e, Moment{Kind: Abnormal, Text: "ABNORMAL " + e.Injection + " begins to show"})
	case logbook.Told:
		b.add(e, Moment{Text: e.Injection + " is told"})
	case logbook.Action:
		b.add(e, Moment{Text: fmt.Sprintf("action %d of %s is done", e.Number, e.Injection)})
	case logbook.Also:
		b.because(e, "another right move for "+e.Injection, false)
	case logbook.Worse:
		what := strings.TrimSpace(b.control(e.Control) + " " + e.Position)
		b.add(e, Moment{Text: fmt.Sprintf("%s makes %s worse", cmp.Or(what, e.Text), e.Injection), Slip: true})
	case logbook.Ending:
		b.add(e, Moment{Text: e.Text})
	case logbook.Handled:
		over("is handled", false)
	case logbook.Cleared:
		over("is over", false)
	case logbook.Lost:
		if e.Why == logbook.Unseen {
			over("never showed", false)
		} else {
			over("is not recovered", true)
		}
	default:
		return false
	}
	return true
}

// whose says who acted, if it was not the trainee.
func whose(e *logbook.Entry) string {
	if e.Seat == logbook.Pilot {
		return ", by the other pilot"
	}
	return ""
}

// asked makes a moment of a challenge out of that of its words.
func (b *builder) asked(e *logbook.Entry, m Moment) {
	if n := len(b.walk.Moments); m.Cue != 0 && n > 0 && b.walk.Moments[n-1].Cue == m.Cue {
		b.walk.Moments, b.inner = b.walk.Moments[:n-1], b.inner[:n-1]
	}
	b.add(e, m)
}

func (b *builder) done(e *logbook.Entry) {
	text := "done: " + b.names.Item(e.Item) + whose(e)
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

// cue makes a moment of what begins to be heard or seen.
func (b *builder) cue(e *logbook.Entry) {
	switch e.Class {
	case logbook.Speech:
		b.add(e, Moment{Text: fmt.Sprintf("said: %q", e.Text), Cue: e.Cue})
	case logbook.Call:
		b.add(e, Moment{Text: fmt.Sprintf("call: %q", e.Text), Cue: e.Cue})
	case logbook.Echo:
		b.add(e, Moment{Text: fmt.Sprintf("response: %q", e.Text), Cue: e.Cue})
	case logbook.Horn:
		b.add(e, Moment{Text: "sounds: " + b.alert(e.Name), Cue: e.Cue})
	case logbook.Caption:
		b.add(e, Moment{Text: "lit: " + b.caption(e.Name)})
	case logbook.Gauge:
		b.add(e, Moment{Text: strings.TrimSpace(fmt.Sprintf("gauge: %s %s", b.names.Gauge(e.Name), b.names.Item(e.Text)))})
	default:
		b.add(e, Moment{Text: strings.TrimSpace(fmt.Sprintf("%s: %s", e.Class, b.outside(e.Name)))})
	}
}

// outside is what is to be seen of a fact now.
func (b *builder) outside(id string) string {
	for i := range b.profile.Outside {
		if fact := &b.profile.Outside[i]; fact.ID == id && i < len(b.view.Facts) {
			if b.view.Facts[i] {
				return fact.True
			}
			return fact.Not
		}
	}
	return id
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
		m := Moment{Text: b.names.Departure(d.Deviation), Slip: true}
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
