package bench

import (
	"math"
	"slices"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/scenario"
)

// What a stand-in expects to see, it has learnt: from rehearsals of the same exercise in a healthy aircraft, as somebody who has been
// through a start many times knows how far TOT goes, and when the light of the starter goes out. What is remembered is, for each
// sign, between what it stayed in each second after the item at which a control was last moved. Nothing of it hangs on an injection.

// signKind is what a sign is.
type signKind int

const (
	gaugeSign signKind = iota
	captionSign
	factSign
	controlSign
	alertSign
)

// sign is something by which it can be noticed that something is wrong.
type sign struct {
	kind  signKind
	index int             // in the profile
	bands []aircraft.Band // of a gauge
	minor bool            // a caption that is no more than to be known
	slot  int             // among the readings that conditions go by; -1: none
	blur  float64
	about []*scenario.Abnormal // that have it among their cues; none of a control by which they are answered, and of what shows anything else
}

// signsOf are the signs of a profile, in its order: all that it shows, and the controls and alerts that abnormals have to do with.
func signsOf(p *aircraft.Profile, abnormals []*scenario.Abnormal) []sign {
	var signs []sign
	scope := p.Scope()
	add := func(kind signKind, index int, id string, blur float64) {
		s := sign{kind: kind, index: index, blur: blur, slot: -1}
		switch kind {
		case gaugeSign:
			s.bands = p.Gauges[index].Bands
		case captionSign:
			s.minor = p.Captions[index].Level == aircraft.Advisory
		}
		if name, ok := scope[id]; ok {
			s.slot = name.Slot
		}
		for _, a := range abnormals {
			if a.Profile == p.Name && slices.Contains(a.Cues, id) {
				s.about = append(s.about, a)
			}
		}
		if len(s.about) > 0 || kind == gaugeSign || kind == captionSign || kind == factSign || kind == controlSign && answersBy(abnormals, id) {
			signs = append(signs, s)
		}
	}
	for i := range p.Gauges {
		g := &p.Gauges[i]
		add(gaugeSign, i, g.ID, (g.Max-g.Min)/50)
	}
	for i := range p.Captions {
		add(captionSign, i, p.Captions[i].ID, 0)
	}
	for i := range p.Outside {
		add(factSign, i, p.Outside[i].ID, 0)
	}
	for i := range p.Controls {
		add(controlSign, i, p.Controls[i].ID, 0)
	}
	for i := range p.Alerts {
		add(alertSign, i, p.Alerts[i].ID, 0)
	}
	return signs
}

// answersBy reports whether a control is one by which abnormals are answered: where it stands decides what the machinery does.
func answersBy(abnormals []*scenario.Abnormal, control string) bool {
	return slices.ContainsFunc(abnormals, func(a *scenario.Abnormal) bool {
		_, put := a.Afterwards.Of(control)
		return put || slices.ContainsFunc(a.Actions, func(action scenario.Action) bool {
			_, set := action.Set.Of(control)
			return set
		})
	})
}

// dead is what a gauge shows that shows nothing. It is beyond every scale.
const dead = -1e12

// shown is what the view shows of a sign.
func (s *sign) shown(v *drill.View) float64 {
	on := false
	switch s.kind {
	case gaugeSign:
		if !v.Alive[s.index] {
			return dead
		}
		return v.Readings[s.index]
	case captionSign:
		on = v.Lit[s.index]
	case factSign:
		on = v.Facts[s.index]
	case controlSign:
		return float64(v.Positions[s.index])
	case alertSign:
		on = v.Sounding[s.index]
	}
	if on {
		return 1
	}
	return 0
}

// within is between what the signs stayed; of one that was never seen, low is above high.
type within struct{ low, high float64 }

// second is that of every sign in one second, and how much each draws the eyes.
type second struct {
	signs []within
	redo  []within  // and in more seconds around it
	loose []within  // and in the whole phase
	pull  []float64 // added up over the signs up to each
}

// expectation is what has been learnt: by the item, from 1, at which a control was last moved (0: none yet), and by seconds since then.
type expectation struct {
	signs   []sign
	seconds map[int][]second
}

// The bounds of what is remembered after one item, and by how many seconds hands differ.
const (
	mostSeconds = 180
	slack       = 2
	redoSlack   = 10 // where the flow is done again, in an aircraft that is still warm, or turns
)

// learn takes in what is shown so many seconds after an item.
func (e *expectation) learn(item int, since time.Duration, v *drill.View) {
	at := min(int(since/time.Second), mostSeconds-1)
	list := e.seconds[item]
	for len(list) <= at {
		s := make([]within, len(e.signs))
		for i := range s {
			s[i] = within{math.Inf(1), math.Inf(-1)}
		}
		list = append(list, second{signs: s})
	}
	e.seconds[item] = list
	for i := range e.signs {
		value := e.signs[i].shown(v)
		w := &list[at].signs[i]
		w.low, w.high = min(w.low, value), max(w.high, value)
	}
}

// What draws the eyes: a gauge is looked at the more the faster it is expected to move (Senders 1964, IEEE Trans Hum Factors Electron
// HFE-5:2-5: as often as its bandwidth asks for; from memory), in this second and in this phase, and a little even if it stands still.
// The weights are our own.
const (
	restingPull = 1.0
	phasePull   = 20.0  // for the part of its scale over which it goes in the phase
	movingPull  = 100.0 // for the part of its scale that it moves in a second
	worthPull   = 3.0   // times, if an abnormal shows by it: what is worth watching is watched (Wickens and others 2003, Hum Factors 45:360-380; from memory)
	panelPull   = 0.25  // of all looks go to the captions: one place for all that is abnormal
	outsidePull = 0.15  // of all looks go through the window
)

// settle has each second know what those around it do, and works out where the eyes go in it.
func (e *expectation) settle(phaseOf func(item int) int) {
	phases := map[int][]within{}
	for item, list := range e.seconds {
		phase := phaseOf(item)
		for at := range list {
			if phases[phase] == nil {
				phases[phase] = slices.Clone(list[at].signs)
			}
			widen(phases[phase], list[at].signs)
		}
	}
	for item, list := range e.seconds {
		wide := make([]second, len(list))
		for at := range list {
			first, last := max(0, at-slack), min(len(list)-1, at+slack)
			wide[at] = second{spread(list, at, slack), spread(list, at, redoSlack), phases[phaseOf(item)], make([]float64, len(e.signs))}
			sum := 0.0
			for i := range e.signs {
				pull := 0.0
				if k := e.signs[i].kind; k == gaugeSign || k == controlSign && len(e.signs[i].about) > 0 {
					pull = restingPull
				}
				if w := phases[phaseOf(item)][i]; e.signs[i].kind == gaugeSign && w.low > dead && w.low <= w.high {
					pull += float64(phasePull * min((w.high-w.low)/(50*e.signs[i].blur), 1))
				}
				if a, b := list[first].signs[i], list[last].signs[i]; e.signs[i].kind == gaugeSign && last > first && a.low > dead && b.low > dead && a.low <= a.high && b.low <= b.high {
					rate := math.Abs(b.high+b.low-a.high-a.low) / 2 / float64(last-first) / (50 * e.signs[i].blur)
					pull += float64(movingPull * min(rate, 1))
				}
				if len(e.signs[i].about) > 0 {
					pull *= worthPull
				}
				sum += pull
				wide[at].pull[i] = sum
			}
		}
		e.seconds[item] = wide
	}
}

// spread is between what the signs stayed in some seconds before and after one.
func spread(list []second, at, by int) []within {
	out := slices.Clone(list[at].signs)
	for near := max(0, at-by); near <= min(len(list)-1, at+by); near++ {
		widen(out, list[near].signs)
	}
	return out
}

// widen has each reach as far as another one does as well.
func widen(all, by []within) {
	for i, w := range by {
		all[i].low, all[i].high = min(all[i].low, w.low), max(all[i].high, w.high)
	}
}

// at is what has been learnt for a moment; nil: nothing.
func (e *expectation) at(item int, since time.Duration) *second {
	list := e.seconds[item]
	if len(list) == 0 {
		return nil
	}
	return &list[min(int(since/time.Second), len(list)-1)]
}

// drawn is the sign that the eyes go to, u being uniform from 0 to 1; -1: none.
func (e *expectation) drawn(item int, since time.Duration, u float64) int {
	sec := e.at(item, since)
	if len(e.signs) == 0 {
		return -1
	}
	if sec == nil {
		return min(int(float64(u*float64(len(e.signs)))), len(e.signs)-1)
	}
	total := sec.pull[len(sec.pull)-1]
	i, _ := slices.BinarySearch(sec.pull, u*total)
	return min(i, len(e.signs)-1)
}

// sureness is how exactly it can be known what is to be expected.
type sureness int

const (
	quiteSure sureness = iota // to a few seconds
	aboutSure                 // the flow is being done again
	unsure                    // controls do not stand as they did in rehearsals: only what the phase has ever had
)

// differs reports whether a sign shows something else than it ever did there, as exactly as can be known. After an item that was never
// come to, anything goes.
func (e *expectation) differs(i, item int, since time.Duration, blur float64, sure sureness, v *drill.View) bool {
	sec := e.at(item, since)
	if sec == nil {
		return false
	}
	w := sec.signs[i]
	s := &e.signs[i]
	value, margin := s.shown(v), float64(s.blur*blur)
	switch {
	case sure == aboutSure && (s.kind != captionSign || value == 0 || s.minor): // what goes out early does so because the engine still turns
		w = sec.redo[i]
	case sure == unsure && (s.minor || s.green(value)):
		return false
	case sure == unsure:
		w = sec.loose[i]
	}
	if w.low > w.high {
		return false
	}
	if s.kind == gaugeSign && (value == dead || w.low == dead) {
		return value == dead && w.low != dead
	}
	if s.green(value) {
		margin *= greenBlur
	}
	return value < w.low-margin || value > w.high+margin
}

// greenBlur is how much more it takes for a gauge to be seen to differ that is in its green band: panels are made to be read so that
// green is in order. Our own figure.
const greenBlur = 2

// green reports whether a gauge is in its green band.
func (s *sign) green(value float64) bool {
	for i := range s.bands {
		if b := &s.bands[i]; b.Colour == aircraft.Green && value >= b.From && value <= b.To {
			return true
		}
	}
	return false
}

// strange reports whether a control stands where it never stood there: then nobody can say to the second what is to be expected.
func (e *expectation) strange(item int, since time.Duration, v *drill.View) bool {
	sec := e.at(item, since)
	if sec == nil {
		return true
	}
	for i := range e.signs {
		if s := &e.signs[i]; s.kind == controlSign {
			at := float64(v.Positions[s.index])
			if w := sec.signs[i]; w.low <= w.high && (at < w.low || at > w.high) {
				return true
			}
		}
	}
	return false
}
