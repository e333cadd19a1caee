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

// Plan is everything that a sitting is made of. It has been checked by the loader: New compiles it, and what it still
// finds wrong is an error.
type Plan struct {
	Profile   *aircraft.Profile
	Procedure *procedure.Procedure // of mode limits: procedure.Limits
	Scenario  *scenario.Scenario
	Abnormals []*scenario.Abnormal // at least those that the scenario names
	Mode      scenario.Mode        // empty takes the scenario's
	Seed      uint64
	Lead      time.Duration // how far ahead of now a sound has to be asked for, to begin when it is due
}

// Bounds on what one sitting takes, so that nothing in it can grow without end.
const (
	MaxItems      = 400
	MaxInjections = 40
	MaxLength     = 3 * time.Hour
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

	stage    stage
	overshot bool // done, and then passed by
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
	err     error
}

func (c *compiler) fail(format string, args ...any) {
	if c.err == nil {
		c.err = fmt.Errorf(format, args...)
	}
}

func (c *compiler) condition(where, source string) *condition.Condition {
	if source == "" {
		return nil
	}
	cond, err := condition.Compile(source, c.scope)
	if err != nil {
		c.fail("%s: %w", where, err)
	}
	return cond
}

// settings puts a map into a fixed order, which the log and the tests rely on.
func (c *compiler) settings(where string, set map[string]string) []setting {
	var out []setting
	for id, position := range set {
		control, ok := c.profile.ControlIndex(id)
		if !ok {
			c.fail("%s: no control %q in %s", where, id, c.profile.Name)
			return nil
		}
		to, ok := c.profile.Controls[control].Index(position)
		if !ok {
			c.fail("%s: control %s has no position %q", where, id, position)
			return nil
		}
		out = append(out, setting{control, to})
	}
	slices.SortFunc(out, func(a, b setting) int { return a.control - b.control })
	return out
}

func (c *compiler) gauge(where, id string) int {
	i, ok := c.profile.GaugeIndex(id)
	if !ok {
		c.fail("%s: no gauge %q in %s", where, id, c.profile.Name)
	}
	return i
}

func (c *compiler) items(proc *procedure.Procedure) []item {
	var items []item
	for phase := range proc.Phases {
		for i := range proc.Phases[phase].Items {
			src := &proc.Phases[phase].Items[i]
			it := item{Item: src, kind: src.Kind(), phase: phase}
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
	actions    [][]setting // nil for an action that is not a setting
	worse      [][]setting
	afterwards []setting
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

func (c *compiler) abnormal(src *scenario.Abnormal, items []item) *abnormal {
	ab := &abnormal{
		Abnormal:   src,
		afterwards: c.settings(src.Name, src.Afterwards),
		handled:    c.condition(src.Name, src.Handled),
		lost:       c.condition(src.Name, src.Lost),
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
	}
	for _, wrong := range src.Worse {
		ab.worse = append(ab.worse, c.settings(src.Name, wrong.Set))
	}
	if src.BackTo != "" {
		// An abnormal serves many procedures: where this one has no such item, the flow goes on where it was.
		ab.backTo = slices.IndexFunc(items, func(it item) bool { return it.ID == src.BackTo })
	}
	return ab
}

// injection is one abnormal of the scenario at a fixed point.
type injection struct {
	*scenario.Injection
	abnormal *abnormal
	during   int                  // index of an item, or -1
	when     *condition.Condition // nil: not that way
}

func (c *compiler) injections(plan *Plan, items []item) (fixed []injection, drawn []*abnormal) {
	byName := func(name string) *abnormal {
		i := slices.IndexFunc(plan.Abnormals, func(a *scenario.Abnormal) bool { return a.Name == name })
		if i < 0 {
			c.fail("%s: no abnormal %q", plan.Scenario.Name, name)
			return nil
		}
		return c.abnormal(plan.Abnormals[i], items)
	}
	for i := range plan.Scenario.Injections {
		src := &plan.Scenario.Injections[i]
		in := injection{Injection: src, abnormal: byName(src.Abnormal), during: -1}
		in.when = c.condition(plan.Scenario.Name, src.When)
		if src.During != "" {
			in.during = slices.IndexFunc(items, func(it item) bool { return it.ID == src.During })
			if in.during < 0 {
				c.fail("%s: %s has no item %q", plan.Scenario.Name, plan.Procedure.Name, src.During)
			}
		}
		fixed = append(fixed, in)
	}
	if plan.Scenario.Drawn != nil {
		for _, name := range plan.Scenario.Drawn.From {
			drawn = append(drawn, byName(name))
		}
	}
	if len(fixed) > MaxInjections {
		c.fail("%s has %d injections; a sitting takes at most %d", plan.Scenario.Name, len(fixed), MaxInjections)
	}
	return fixed, drawn
}
