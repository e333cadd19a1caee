package web

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"hornlark/audio/tone"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/inert"
	"hornlark/drill/logbook"
	"hornlark/drill/score"
)

// Lanes is what happened in a sitting, to be drawn over its running time. All times are in ms.
type Lanes struct {
	Phases    []Span `json:"phases"`
	Items     []Span `json:"items"`     // from when each was asked for, or done where nobody asks, to when it was done or given up
	Abnormals []Span `json:"abnormals"` // from onset to end
	Marks     []Mark `json:"marks"`     // what became of the abnormals
	Speech    []Span `json:"speech"`    // as it was heard
	Alerts    []Span `json:"alerts"`    // as they were heard
	Lights    []Span `json:"lights"`    // captions, as long as they were lit
	Presses   []Mark `json:"presses"`
	Acts      []Mark `json:"acts"`  // what the instructor did, and wrote down
	Slips     []Mark `json:"slips"` // departures, and what was late, wrong or left undone
}

// Span is something that lasted.
type Span struct {
	From int64  `json:"from"`
	To   int64  `json:"to"`
	Name string `json:"name"`
	Text string `json:"text"`           // all that is said of it
	Kind string `json:"kind,omitempty"` // level of an alert or a light, voice of who spoke; of an item or an abnormal "slip" if it was an error
}

// Mark is something that happened at once.
type Mark struct {
	At   int64  `json:"at"`
	Name string `json:"name"`
	Text string `json:"text"`
}

// lanes lays out what the log of a tape, and the strip, tell of.
type lanes struct {
	out     Lanes
	tape    *Tape
	profile *aircraft.Profile
	names   debrief.Names
	items   map[string]*score.ItemResult
	hurdles map[string]*score.InjectionResult
	asked   map[string]int // items that are open, by their place among the spans
	open    map[string]int // abnormals that are there
	onset   map[string]onset
	sounds  map[int]*sound // cues, by their numbers
	lengths map[int]int64  // of the alerts that sound once, by the same
}

type onset struct {
	at  time.Duration
	cue int
}

type sound struct {
	to   *[]Span
	n    int
	over bool // it was stopped, or cut short
}

// lanesOf lays out what happened. The result is that of the same sitting.
func lanesOf(tape *Tape, p *aircraft.Profile, names debrief.Names, r *score.Result) *Lanes {
	l := lanes{
		tape: tape, profile: p, names: names, items: map[string]*score.ItemResult{}, hurdles: map[string]*score.InjectionResult{},
		asked: map[string]int{}, open: map[string]int{}, onset: map[string]onset{}, sounds: map[int]*sound{}, lengths: map[int]int64{},
		out: Lanes{
			Phases: []Span{}, Items: []Span{}, Abnormals: []Span{}, Marks: []Mark{}, Speech: []Span{}, Alerts: []Span{}, Lights: []Span{},
			Presses: []Mark{}, Acts: []Mark{}, Slips: []Mark{},
		},
	}
	for i := range r.Items {
		l.items[r.Items[i].ID] = &r.Items[i]
	}
	for i := range r.Injections {
		l.hurdles[r.Injections[i].Name] = &r.Injections[i]
	}
	for _, o := range tape.Heard {
		if o, ok := o.(drill.Sound); ok && !o.Loop {
			if once, err := tone.Named(o.Tone); err == nil {
				l.lengths[o.Cue] = wholeMS(once.Duration())
			}
		}
	}
	for i := range tape.Log {
		l.entry(&tape.Log[i])
	}
	l.noticed(r)
	l.acts(r)
	l.lights()
	slices.SortStableFunc(l.out.Marks, func(a, b Mark) int { return cmp.Compare(a.At, b.At) })
	return &l.out
}

// end is when the tape ends.
func (l *lanes) end() int64 { return wholeMS(l.tape.Length) }

func (l *lanes) entry(e *logbook.Entry) {
	at := wholeMS(e.At)
	switch e.Kind {
	case logbook.Phase:
		if n := len(l.out.Phases); n > 0 {
			l.out.Phases[n-1].To = at
		}
		name := inert.Line(l.names.Phase(e.Name))
		l.out.Phases = append(l.out.Phases, Span{From: at, To: l.end(), Name: name, Text: name})
	case logbook.Ask:
		l.leave(e.Item, at)
		l.asked[e.Item] = l.item(e.Item, at, l.end())
	case logbook.Reopen:
		l.leave(e.Item, at)
	case logbook.Done, logbook.TimedOut, logbook.Skip, logbook.Held:
		l.closes(e, at)
	case logbook.Inject:
		l.mark(at, "put in", e.Injection, "its cause is put into the aircraft")
	case logbook.Onset:
		l.open[e.Injection] = len(l.out.Abnormals)
		l.onset[e.Injection] = onset{e.At, e.Cue}
		l.out.Abnormals = append(l.out.Abnormals, l.abnormal(e.Injection, at))
	case logbook.Told:
		l.mark(at, "told", e.Injection, "the crew says what it is")
	case logbook.Action:
		l.mark(at, "action", e.Injection, fmt.Sprintf("action %d: %s", e.Number, e.Text))
	case logbook.Worse:
		l.mark(at, "worse", e.Injection, "made worse: "+cmp.Or(e.Text, l.names.Control(e.Control)+" "+e.Position))
	case logbook.Handled, logbook.Lost, logbook.Cleared:
		if n, ok := l.open[e.Injection]; ok {
			l.out.Abnormals[n].To = at
			delete(l.open, e.Injection)
		}
	case logbook.Press:
		who := ""
		if e.Seat != logbook.Trainee {
			who = " (" + string(e.Seat) + ")"
		}
		l.out.Presses = append(l.out.Presses, Mark{at, inert.Line(e.Key), inert.Line("key " + e.Key + who)})
	case logbook.Cue, logbook.Heard, logbook.CueEnd:
		l.sound(e)
	}
}

// item begins the span of an item and gives its place.
func (l *lanes) item(id string, from, to int64) int {
	name := inert.Line(l.names.Item(id))
	l.out.Items = append(l.out.Items, Span{From: from, To: to, Name: name, Text: name})
	return len(l.out.Items) - 1
}

// leave ends the span of an item that is to be done again.
func (l *lanes) leave(id string, at int64) {
	if n, ok := l.asked[id]; ok {
		l.out.Items[n].To = at
		l.out.Items[n].Text += ": to be done again"
		delete(l.asked, id)
	}
}

// closes ends the span of an item, which may have no beginning where nobody asks for it.
func (l *lanes) closes(e *logbook.Entry, at int64) {
	n, ok := l.asked[e.Item]
	if !ok {
		if e.Kind == logbook.Skip {
			return
		}
		n = l.item(e.Item, at, at)
	}
	delete(l.asked, e.Item)
	s := &l.out.Items[n]
	s.To = at
	switch e.Kind {
	case logbook.TimedOut:
		s.Text, s.Kind = s.Name+": no answer", "slip"
	case logbook.Held:
		s.Text, s.Kind = s.Name+": not right, and the flow could not continue without it", "slip"
	case logbook.Skip:
		s.Text = s.Name + ": not called for"
	default:
		l.judged(s, e)
	}
}

// judged says of an item that was done what the result has of it.
func (l *lanes) judged(s *Span, e *logbook.Entry) {
	r := l.items[e.Item]
	switch {
	case !e.OK:
		s.Text, s.Kind = s.Name+": wrong", "slip"
	case r != nil && r.Outcome.IsError():
		s.Text, s.Kind = s.Name+": "+string(r.Outcome), "slip"
	default:
		s.Text = s.Name + ": done"
	}
	if r != nil && r.ReactionMS != nil {
		s.Text += fmt.Sprintf(", after %.2f s", *r.ReactionMS/1000)
	}
}

// abnormal is one that begins to show itself, with what became of it.
func (l *lanes) abnormal(name string, at int64) Span {
	s := Span{From: at, To: l.end(), Name: inert.Line(name)}
	s.Text = s.Name
	if r := l.hurdles[name]; r != nil {
		s.Name = inert.Line(cmp.Or(r.Title, name))
		s.Text = inert.Line(s.Name + ": " + debrief.Became(r.Outcome))
		if told := debrief.Noticed(*r); told != "" {
			s.Text += ", " + inert.Line(told)
		}
		if r.Outcome.IsError() {
			s.Kind = "slip"
		}
	}
	return s
}

// mark marks something of an abnormal.
func (l *lanes) mark(at int64, what, injection, text string) {
	name := injection
	if r := l.hurdles[injection]; r != nil {
		name = cmp.Or(r.Title, injection)
	}
	l.out.Marks = append(l.out.Marks, Mark{at, what, inert.Line(name + ": " + text)})
}

// noticed marks when abnormals were noticed: so long after the onset of what first showed them, which of a sound is when it was heard.
func (l *lanes) noticed(r *score.Result) {
	heard := map[int]time.Duration{}
	for i := range l.tape.Log {
		if e := &l.tape.Log[i]; e.Kind == logbook.Heard {
			heard[e.Cue] = e.Onset
		}
	}
	for i := range r.Injections {
		in := &r.Injections[i]
		from, shown := l.onset[in.Name]
		if in.DetectionMS == nil || !shown {
			continue
		}
		at := max(from.at, heard[from.cue]) + millisOf(*in.DetectionMS)
		l.mark(wholeMS(at), "noticed", in.Name, debrief.Noticed(*in))
	}
}

// acts marks what the instructor did and wrote down.
func (l *lanes) acts(r *score.Result) {
	for _, x := range r.Instructed {
		l.out.Acts = append(l.out.Acts, Mark{wholeMS(millisOf(x.AtMS)), x.Do, inert.Line("the instructor " + l.names.Did(x))})
	}
	for _, x := range r.Remarks {
		l.out.Acts = append(l.out.Acts, Mark{wholeMS(millisOf(x.AtMS)), "remark", inert.Line("remark of the instructor: " + x.Text)})
	}
	slices.SortStableFunc(l.out.Acts, func(a, b Mark) int { return cmp.Compare(a.At, b.At) })
}

// sound follows what is heard.
func (l *lanes) sound(e *logbook.Entry) {
	if e.Kind == logbook.Cue {
		s := Span{From: wholeMS(e.Onset), To: wholeMS(e.Onset)}
		to := &l.out.Speech
		switch e.Class {
		case logbook.Horn:
			to = &l.out.Alerts
			s.Name, s.To = inert.Line(e.Name), l.end()
			if i, ok := l.profile.AlertIndex(e.Name); ok {
				s.Name, s.Kind = inert.Line(l.profile.Alerts[i].Name), string(l.profile.Alerts[i].Level)
			}
			if once := l.lengths[e.Cue]; once > 0 {
				s.To = s.From + once
			}
			s.Text = s.Name
		case logbook.Speech, logbook.Echo, logbook.Call:
			s.Name, s.Kind = inert.Line(e.Text), string(e.Class)
			s.Text = s.Name
		default:
			return
		}
		l.sounds[e.Cue] = &sound{to: to, n: len(*to)}
		*to = append(*to, s)
		return
	}
	in, ok := l.sounds[e.Cue]
	if !ok {
		return
	}
	s := &(*in.to)[in.n]
	if e.Kind == logbook.CueEnd {
		s.To, in.over = max(s.From, wholeMS(e.At)), true
		return
	}
	s.From = wholeMS(e.Onset)
	switch once := l.lengths[e.Cue]; {
	case in.over:
	case e.Until > 0:
		s.To = wholeMS(e.Until)
	case once > 0:
		s.To = s.From + once
	}
	s.To = max(s.From, s.To)
}

// lights are the captions as the strip has them.
func (l *lanes) lights() {
	times := l.tape.Strip.times()
	for i, steps := range l.tape.Strip.Lit {
		c := &l.profile.Captions[i]
		at, on := 0, int64(-1)
		add := func(to int64) {
			name := inert.Line(c.Text)
			l.out.Lights = append(l.out.Lights, Span{From: on, To: to, Name: name, Text: name + " lit", Kind: string(c.Level)})
		}
		for n := 0; n < len(steps); n += 2 {
			at += int(steps[n])
			switch lit := steps[n+1] == '1'; {
			case lit && on < 0:
				on = times[at]
			case !lit && on >= 0:
				add(times[at])
				on = -1
			}
		}
		if on >= 0 {
			add(l.end())
		}
	}
	slices.SortStableFunc(l.out.Lights, func(a, b Span) int { return cmp.Compare(a.From, b.From) })
}

// times are the times of all moments.
func (s *Strip) times() []int64 {
	var all []int64
	var row int64
	for _, g := range s.Grid {
		row += g[0]
		for i := range g[1] {
			all = append(all, row+i*stepMS)
		}
	}
	return all
}
