package drill

import (
	"fmt"
	"slices"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// item is a procedure's item, made ready to be asked.
type item struct {
	*procedure.Item
	kind  procedure.Kind
	phase int       // index
	set   []setting // of kind Set
	fix   []setting // what puts right a rightly refused item
	truth *condition.Condition
	when  *condition.Condition // nil: always
	after *condition.Condition // nil: at once
	gauge int                  // of kinds Read, Callout and Figure
	facts []int                // outside, that it asks about

	place int // among the items, from 0
}

// progress is what has become of an item in a sitting.
type progress struct {
	stage    stage
	overshot bool // done, and then passed by
	wasNot   bool // a check that was not so when it was answered "yes", or not at all
}

// typed reports whether the item is answered in digits.
func (it *item) typed() bool { return it.kind == procedure.Read || it.kind == procedure.Figure }

// stage is how far an item has come.
type stage int

const (
	pending stage = iota
	done
	omitted // timed out; may still be done, late
	skipped
)

// setting is a control in a position.
type setting struct{ control, position int }

// compiler collects the first error of many small steps, so that each of them stays one line.
type compiler struct {
	profile *aircraft.Profile
	scope   condition.Scope
	lasting condition.Scope   // of conditions that are asked while an abnormal lasts
	outside map[string]string // items of the procedure that are not gone through; see outside
	err     error

	compiled map[string]*condition.Condition // in scope, by how they are written
}

func (c *compiler) fail(format string, args ...any) {
	if c.err == nil {
		c.err = fmt.Errorf(format, args...)
	}
}

func (c *compiler) condition(where, source string) *condition.Condition {
	cond := c.compiled[source]
	if cond == nil && source != "" {
		cond = c.compile(where, source, c.scope)
		c.compiled[source] = cond
	}
	return cond
}

func (c *compiler) compile(where, source string, scope condition.Scope) *condition.Condition {
	if source == "" {
		return nil
	}
	cond, err := condition.Compile(source, scope)
	if err != nil {
		c.fail("%s: %w", where, err)
	}
	return cond
}

// settings finds the controls, in the order in which they are to be moved.
func (c *compiler) settings(where string, set aircraft.Settings) []setting {
	var out []setting
	for _, one := range set {
		control, ok := c.profile.ControlIndex(one.Control)
		if !ok {
			c.fail("%s: no control %q in %s", where, one.Control, c.profile.Name)
			return nil
		}
		to, ok := c.profile.Controls[control].Index(one.Position)
		if !ok {
			c.fail("%s: control %s has no position %q", where, one.Control, one.Position)
			return nil
		}
		out = append(out, setting{control, to})
	}
	return out
}

func (c *compiler) gauge(where, id string) int {
	i, ok := c.profile.GaugeIndex(id)
	if !ok {
		c.fail("%s: no gauge %q in %s", where, id, c.profile.Name)
	}
	return i
}

func (c *compiler) items(proc *procedure.Procedure) []*item {
	var items []*item
	for phase := range proc.Phases {
		for i := range proc.Phases[phase].Items {
			src := &proc.Phases[phase].Items[i]
			it := &item{Item: src, kind: src.Kind(), phase: phase, place: len(items)}
			it.set = c.settings(src.ID, src.Set)
			it.when = c.condition(src.ID, src.When)
			it.after = c.condition(src.ID, src.After)
			switch it.kind {
			case procedure.Check:
				it.truth = c.condition(src.ID, src.Check)
			case procedure.Confirm:
				it.truth = c.condition(src.ID, src.Confirm)
			case procedure.Read:
				it.gauge = c.gauge(src.ID, src.Read)
			case procedure.Callout:
				it.gauge = c.gauge(src.ID, src.Callout.Gauge)
			case procedure.Figure:
				it.gauge = c.gauge(src.ID, src.Figure.Gauge)
			case procedure.Set:
			default:
				c.fail("%s: says nothing about how it is answered", src.ID)
			}
			it.facts = c.profile.FactsOf(it.truth)
			if src.IfNot != nil {
				it.fix = c.settings(src.ID, src.IfNot.Set)
			}
			items = append(items, it)
		}
	}
	if len(items) > MaxItems {
		c.fail("%s has %d items; a sitting takes at most %d", proc.Name, len(items), MaxItems)
	}
	return items
}

// abnormal is a scenario's abnormal, made ready to be injected.
type abnormal struct {
	*scenario.Abnormal
	causes     []cause
	actions    [][]setting            // nil for an action that is not a setting
	after      []*condition.Condition // of the actions; nil: at any moment
	worse      [][]setting
	also       [][]setting
	ends       []*condition.Condition
	afterwards []setting
	silences   []int                // alerts among its cues
	handled    *condition.Condition // nil: the actions are enough
	lost       *condition.Condition // nil: only time loses it
	backTo     int                  // index of an item, or -1
}

// cause is one failure point on its way to a severity.
type cause struct {
	point int
	to    float64
	over  time.Duration
}

func (c *compiler) abnormal(src *scenario.Abnormal, items []*item) *abnormal {
	src = c.here(src)
	ab := &abnormal{
		Abnormal:   src,
		afterwards: c.settings(src.Name, src.Afterwards),
		handled:    c.compile(src.Name, src.Handled, c.lasting),
		lost:       c.compile(src.Name, src.Lost, c.lasting),
		backTo:     -1,
	}
	for _, one := range src.Cause {
		point, ok := c.profile.FailureIndex(one.Failure)
		if !ok {
			c.fail("%s: %s cannot fail at %q", src.Name, c.profile.Name, one.Failure)
		}
		ab.causes = append(ab.causes, cause{point, one.To, one.Over})
	}
	for _, action := range src.Actions {
		ab.actions = append(ab.actions, c.settings(src.Name, action.Set))
		ab.after = append(ab.after, c.condition(src.Name, action.After))
	}
	for _, wrong := range src.Worse {
		ab.worse = append(ab.worse, c.settings(src.Name, wrong.Set))
	}
	for _, right := range src.Also {
		ab.also = append(ab.also, c.settings(src.Name, right.Set))
	}
	for _, end := range src.Ends {
		ab.ends = append(ab.ends, c.compile(src.Name, end.When, c.lasting))
	}
	for _, cue := range src.Cues {
		if i, ok := c.profile.AlertIndex(cue); ok {
			ab.silences = append(ab.silences, i)
		}
	}
	if src.BackTo != "" {
		// An abnormal serves many procedures: where this one has no such item, the flow goes on where it was.
		ab.backTo = slices.IndexFunc(items, func(it *item) bool { return it.ID == src.BackTo })
	}
	return ab
}

// injection is one abnormal of the scenario at a fixed point.
type injection struct {
	*scenario.Injection
	abnormal *abnormal
	during   int                  // place of an item, or -1
	phase    int                  // that begins, of the procedure; -1: none
	when     *condition.Condition // nil: not that way
}

// injections compiles what can go into the aircraft.
func (c *compiler) injections(ex *Exercise) {
	sc := ex.docs.Scenario
	for _, src := range ex.docs.Abnormals {
		if src.Profile == c.profile.Name {
			ex.every = append(ex.every, c.abnormal(src, ex.items))
		}
	}
	byName := func(name string) *abnormal {
		i := slices.IndexFunc(ex.every, func(a *abnormal) bool { return a.Name == name })
		if i < 0 {
			c.fail("%s: no abnormal %q", sc.Name, name)
			return nil
		}
		return ex.every[i]
	}
	for i := range sc.Injections {
		src := &sc.Injections[i]
		in := injection{Injection: src, abnormal: byName(src.Abnormal), during: -1, phase: -1}
		in.when = c.condition(sc.Name, src.When)
		if src.During != "" && ex.policy.Flow == scenario.Checklist {
			in.during = slices.IndexFunc(ex.items, func(it *item) bool { return it.ID == src.During })
			if _, outside := c.outside[src.During]; outside || in.during < 0 {
				c.fail("%s: no item %q is gone through in %s", sc.Name, src.During, ex.docs.Procedure.Name)
			}
		}
		ex.fixed = append(ex.fixed, in)
	}
	if len(ex.fixed) > MaxInjections {
		c.fail("%s has %d injections; a sitting takes at most %d", sc.Name, len(ex.fixed), MaxInjections)
	}
	if sc.Drawn == nil {
		return
	}
	for _, name := range sc.Drawn.From {
		ex.drawn = append(ex.drawn, byName(name))
	}
	for _, id := range sc.Drawn.Phases {
		for i := range ex.docs.Procedure.Phases {
			if ex.docs.Procedure.Phases[i].ID == id {
				ex.phases = append(ex.phases, i)
			}
		}
	}
}
