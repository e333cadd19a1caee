package drill

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
)

// Stage is what there is to be known of a sitting behind the scenes at one moment: for the instructor's station and for nobody else. A View
// has nothing of it. All slices belong to the Stage, are only to be read, and are overwritten by the next call that fills it.
type Stage struct {
	At    time.Duration // running time
	Held  bool
	Ended bool

	Phases     []StagePhase     // that are gone through, in order
	Items      []StageItem      // of the checklist, in order; those before the part that is gone through are left out
	Injections []StageInjection // in the order in which they came to be known of
	ToDraw     int              // how many are still to be drawn, beside those
	Key        AnswerKey
	Differs    []Difference // what can be seen and heard that is not as in a healthy aircraft in the same hands, the most insistent first

	Weather     aircraft.Weather
	Fuel        float64 // in the tanks together, kg
	GroundPower bool    // it is plugged in; false too where there can be none
	Sound       bool    // it is on
	Level       float64 // dB, 0 at most
	Left        int     // how many instructions the sitting still takes
}

// StagePhase is a phase as far as it has come.
type StagePhase struct {
	ID, Title string
	Begun     bool // it can be set back to
	Now       bool // it is gone through now
}

// ItemState is how far an item has come.
type ItemState string

// The states of an item.
const (
	ItemOpen    ItemState = "open"    // it is still to come
	ItemTurn    ItemState = "turn"    // its turn has come, and it has not been asked
	ItemAsked   ItemState = "asked"   // it is waited for
	ItemDone    ItemState = "done"    // it has been answered
	ItemLeftOut ItemState = "omitted" // it was not done in its time, and may still be
	ItemSkipped ItemState = "skipped" // it is not to be done at all
)

// StageItem is an item as far as it has come.
type StageItem struct {
	ID, Phase, Challenge, Response string
	State                          ItemState
	WasNot                         bool // a check that was not so when it was let pass
}

// InjectionState is how far an injection has come.
type InjectionState string

// The states of an injection.
const (
	InjectionWaiting InjectionState = "waiting" // for its moment
	InjectionDue     InjectionState = "due"     // its moment has come, and it goes in once nothing else is in the aircraft and that has settled
	InjectionActive  InjectionState = "active"  // its cause is in the aircraft, and nothing shows yet
	InjectionShowing InjectionState = "showing" // it can be noticed
	InjectionOver    InjectionState = "over"
	InjectionDeleted InjectionState = "deleted" // before its moment
)

// StageInjection is an injection as far as it has come. Times are running times, and zero while they are not known.
type StageInjection struct {
	Name, Abnormal, Title string
	Harmless              bool // a look-alike
	Mine                  bool // the instructor has inserted it
	State                 InjectionState
	When                  Moment        // that it waits for, where that is a time, a phase or an item
	If                    string        // the condition that it waits for
	Put, Onset            time.Duration // when its cause was put in, and when it could first be noticed
	Noticed               bool
	Ended                 logbook.Kind // how it is over: handled, lost or cleared
	Actions               []StageAction
}

// StageAction is an immediate action of what is in the aircraft.
type StageAction struct {
	Say  string
	Done bool
}

// AnswerKey is what would be right for what is being asked, and why.
type AnswerKey struct {
	Item  string // empty: nothing is being asked
	Right string // yes, no, the digits, or where controls belong
	Why   string // the condition, the true reading, or where the controls stand
	Wrong string // the injection but for which a check would be so; empty: none
}

// Difference is one thing that is not as in a healthy aircraft.
type Difference struct {
	Class       logbook.Class // Horn, Caption, Sight or Gauge
	Name        string        // id
	Is, WouldBe string        // in words, or digits with their unit
	Cause       string        // the injection that is in the aircraft
}

// Backstage fills b with what goes on behind the scenes. It changes nothing in the sitting, and nothing that the trainee is shown comes from it.
func (s *Sitting) Backstage(b *Stage) {
	b.At, b.Held, b.Ended = s.now, s.paused, s.ended
	b.Weather, b.Fuel, b.GroundPower = s.craft.Weather(), s.craft.Fuel(), s.craft.GroundPower()
	b.Sound, b.Level, b.Left = !s.station.off, s.station.level, MaxInstructions-s.station.given
	s.stagePhases(b)
	s.stageItems(b)
	s.stageInjections(b)
	b.Key = s.answerKey()
	b.Differs = b.Differs[:0]
	if s.healthy != nil {
		s.stageDifferences(b)
	}
}

func (s *Sitting) stagePhases(b *Stage) {
	b.Phases = b.Phases[:0]
	if len(s.flow.items) == 0 {
		return
	}
	it := s.flow.current()
	for i, ph := range s.procedureNow().Phases {
		if i < s.part.from {
			continue
		}
		b.Phases = append(b.Phases, StagePhase{ID: ph.ID, Title: ph.Title, Begun: s.phases[i] != nil, Now: it != nil && it.phase == i})
	}
}

func (s *Sitting) stageItems(b *Stage) {
	f := &s.flow
	b.Items = b.Items[:0]
	for i := f.first; i < len(f.items); i++ {
		it := f.items[i]
		state := [...]ItemState{pending: ItemOpen, done: ItemDone, omitted: ItemLeftOut, skipped: ItemSkipped}[f.state[i].stage]
		switch {
		case i != f.turn || state != ItemOpen:
		case f.asked:
			state = ItemAsked
		default:
			state = ItemTurn
		}
		b.Items = append(b.Items, StageItem{
			ID: it.ID, Phase: s.procedureNow().Phases[it.phase].ID, Challenge: it.Challenge, Response: it.Response,
			State: state, WasNot: f.state[i].wasNot,
		})
	}
}

func (s *Sitting) stageInjections(b *Stage) {
	t := &s.injections
	b.ToDraw = t.left
	b.Injections = b.Injections[:0]
	for _, in := range t.list {
		out := StageInjection{
			Name: in.name, Abnormal: in.Name, Title: in.Title, Harmless: in.Harmless, Mine: in.mine, Noticed: in.noticed, Ended: in.ended,
			State: [...]InjectionState{
				waiting: InjectionWaiting, due: InjectionDue, injected: InjectionActive, showing: InjectionShowing, over: InjectionOver, deleted: InjectionDeleted,
			}[in.how],
			Put: in.injected, Onset: in.onset,
		}
		if in.fixed != nil {
			out.When, out.If = s.momentOf(in.fixed), in.fixed.When
		}
		if in == t.active {
			for i := range in.Actions {
				out.Actions = append(out.Actions, StageAction{Say: in.Actions[i].Say, Done: in.how == showing && in.did[i]})
			}
		}
		b.Injections = append(b.Injections, out)
	}
}

// momentOf is when a fixed injection comes.
func (s *Sitting) momentOf(in *injection) Moment {
	switch {
	case in.during >= 0:
		return Moment{Item: s.flow.items[in.during].ID}
	case in.phase >= 0:
		return Moment{Phase: s.procedureNow().Phases[in.phase].ID}
	case in.when != nil:
		return Moment{}
	}
	return Moment{At: in.At + in.After}
}

// answerKey is what would be right now.
func (s *Sitting) answerKey() AnswerKey {
	f := &s.flow
	it := f.current()
	if it == nil || !f.asked || s.ended {
		return AnswerKey{}
	}
	k := AnswerKey{Item: it.ID}
	switch {
	case f.fixing:
		k.Right, k.Why = s.settingsInWords(it.fix)
	case it.kind == procedure.Set:
		k.Right, k.Why = s.settingsInWords(it.set)
	case it.truth != nil:
		k.Right, k.Why = word(it.truth.Holds(s.craft.Readings())), cmp.Or(it.Check, it.Confirm)
		if k.Right == logbook.No && s.spoilt(it) {
			k.Wrong = s.injections.active.name
		}
	case it.typed():
		value, known := s.wantedValue(it)
		if !known {
			k.Why = "the gauge is dead"
			break
		}
		k.Right, k.Why = s.digitsOf(it, value), fmt.Sprintf("within %g", s.profile().Gauges[it.gauge].Tolerance)
	case it.kind == procedure.Callout:
		side := "at or above"
		if it.Callout.Down {
			side = "at or below"
		}
		k.Right = fmt.Sprintf("%s %s %g", s.profile().Gauges[it.gauge].Name, side, it.Callout.Value)
		value, _, _ := s.craft.Gauge(it.gauge)
		k.Why = "it is " + s.digitsOf(it, value)
		if f.passing.passed {
			k.Why += ", and has been passed"
		}
	}
	return k
}

// settingsInWords is where controls belong, and where those stand that are elsewhere.
func (s *Sitting) settingsInWords(set []setting) (right, is string) {
	var to, off []string
	for _, want := range set {
		c := &s.profile().Controls[want.control]
		to = append(to, c.Name+" "+c.Label(want.position))
		if at := s.craft.Position(want.control); at != want.position {
			off = append(off, c.Name+" "+c.Label(at))
		}
	}
	if off == nil {
		return strings.Join(to, ", "), "set already"
	}
	return strings.Join(to, ", "), "now " + strings.Join(off, ", ")
}

// stageDifferences is everything that differs from the healthy twin, in the order in which difference looks.
func (s *Sitting) stageDifferences(b *Stage) {
	p, in := s.profile(), s.injections.active
	add := func(d Difference) {
		d.Cause = in.name
		b.Differs = append(b.Differs, d)
	}
	onOff := func(class logbook.Class, id, on, off string, is, wouldBe bool) {
		if is != wouldBe {
			add(Difference{Class: class, Name: id, Is: either(is, on, off), WouldBe: either(wouldBe, on, off)})
		}
	}
	for i := range p.Alerts {
		onOff(logbook.Horn, p.Alerts[i].ID, "sounds", "does not sound", s.craft.AlertState(i) == aircraft.Sounding, s.healthy.AlertState(i) == aircraft.Sounding)
	}
	for i := range p.Captions {
		onOff(logbook.Caption, p.Captions[i].ID, "lit", "out", s.craft.Lit(i), s.healthy.Lit(i))
	}
	for i := range p.Outside {
		if s.craft.Seen(i) {
			onOff(logbook.Sight, p.Outside[i].ID, p.Outside[i].True, p.Outside[i].Not, s.craft.Fact(i), s.healthy.Fact(i))
		}
	}
	for i := range p.Gauges {
		g := &p.Gauges[i]
		here, band, alive := s.craft.Gauge(i)
		there, healthyBand, healthyAlive := s.healthy.Gauge(i)
		if alive != healthyAlive || alive && (band != healthyBand || max(here-there, there-here) > g.Legible()) {
			add(Difference{Class: logbook.Gauge, Name: g.ID, Is: shown(g, here, alive), WouldBe: shown(g, there, healthyAlive)})
		}
	}
}

func either(so bool, yes, no string) string {
	if so {
		return yes
	}
	return no
}

// shown is what a gauge shows, in words.
func shown(g *aircraft.Gauge, value float64, alive bool) string {
	if !alive {
		return "dead"
	}
	return strings.TrimRight(strconv.FormatFloat(value, 'f', g.Decimals, 64)+" "+g.Unit, " ")
}

// CanInsert are the abnormals that an instructor can insert into the sitting, in the order of their names.
func (ex *Exercise) CanInsert() []string {
	var names []string
	for _, ab := range ex.every {
		names = append(names, ab.Name)
	}
	slices.Sort(names)
	return names
}
