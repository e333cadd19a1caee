package bench

import (
	"fmt"
	"slices"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// flow is the procedure as somebody knows it by heart.
type flow struct {
	name    string
	profile *aircraft.Profile
	items   []*item
	left    []bool      // items that are left out
	swapped map[int]int // item: the one that is done before it
}

// item is one item, ready to be answered.
type item struct {
	*procedure.Item
	kind               procedure.Kind
	set, fix           []setting
	truth, when, after *condition.Condition
	gauge              int
	phase              int
	facts              []int // outside, that it asks about
}

// typed reports whether the item is answered in digits.
func (it *item) typed() bool { return it.kind == procedure.Read || it.kind == procedure.Figure }

// setting is a control in a position.
type setting struct{ control, position int }

func newFlow(ex *drill.Exercise, seed uint64) (*flow, error) {
	docs, proc := ex.Documents(), ex.Procedure(seed)
	f := &flow{name: proc.Name, profile: docs.Profile, swapped: map[int]int{}}
	if ex.Policy().Flow == scenario.Nothing {
		return f, nil
	}
	var wrong error
	compile := func(src string) *condition.Condition {
		if src == "" {
			return nil
		}
		c, err := ex.Condition(src)
		if err != nil && wrong == nil {
			wrong = fmt.Errorf("%s: %w", proc.Name, err)
		}
		return c
	}
	gauge := func(id string) int {
		i, _ := docs.Profile.GaugeIndex(id)
		return i
	}
	var last *procedure.Phase
	phase := -1
	proc.Each(func(ph *procedure.Phase, src *procedure.Item) {
		if ph != last {
			last = ph
			phase++
		}
		it := &item{Item: src, phase: phase, kind: src.Kind(), set: f.settings(src.Set), when: compile(src.When), after: compile(src.After)}
		switch it.kind {
		case procedure.Check:
			it.truth = compile(src.Check)
		case procedure.Confirm:
			it.truth = compile(src.Confirm)
		case procedure.Read:
			it.gauge = gauge(src.Read)
		case procedure.Callout:
			it.gauge = gauge(src.Callout.Gauge)
		case procedure.Figure:
			it.gauge = gauge(src.Figure.Gauge)
		}
		it.facts = docs.Profile.FactsOf(it.truth)
		if src.IfNot != nil {
			it.fix = f.settings(src.IfNot.Set)
		}
		f.items = append(f.items, it)
	})
	f.left = make([]bool, len(f.items))
	return f, wrong
}

// settings finds the controls, in the order in which a hand goes through them.
func (f *flow) settings(set aircraft.Settings) []setting {
	var out []setting
	for _, one := range set {
		control, _ := f.profile.ControlIndex(one.Control)
		to, _ := f.profile.Controls[control].Index(one.Position)
		out = append(out, setting{control, to})
	}
	return out
}

func (f *flow) index(id string) (int, error) {
	i := slices.IndexFunc(f.items, func(it *item) bool { return it.ID == id })
	if i < 0 {
		return 0, fmt.Errorf("answers: %s has no item %q", f.name, id)
	}
	return i, nil
}

// change takes in what the answers do differently.
func (f *flow) change(answers *scenario.Answers, policy scenario.Policy) error {
	for _, id := range answers.LeaveOut {
		i, err := f.index(id)
		if err != nil {
			return err
		}
		f.left[i] = true
	}
	for _, pair := range answers.Swap {
		if len(pair) != 2 {
			return fmt.Errorf("answers: swap takes pairs of items, not %v", pair)
		}
		first, err := f.index(pair[0])
		if err != nil {
			return err
		}
		second, err := f.index(pair[1])
		if err != nil {
			return err
		}
		if f.items[second].kind != procedure.Set {
			return fmt.Errorf("answers: %s cannot be done before it is asked, since it is answered in words", pair[1])
		}
		if policy.Asks == logbook.Partner && f.items[first].typed() {
			return fmt.Errorf("answers: %s cannot be done while %s is asked, since the keys are digits then", pair[1], pair[0])
		}
		f.swapped[first] = second
	}
	return nil
}

func (f *flow) applies(i int, v *drill.View) bool {
	it, signs := f.items[i], v.Signs
	unseen := func(fact int) bool { return !v.Seen[fact] }
	return !slices.ContainsFunc(it.facts, unseen) && (it.Fitted == nil || *it.Fitted) && (it.when == nil || it.when.Holds(signs))
}

// ready reports whether the aircraft has come to where an item makes sense.
func (f *flow) ready(i int, signs []float64) bool {
	return f.items[i].after == nil || f.items[i].after.Holds(signs)
}

func (f *flow) inPosition(set []setting, positions []int) bool {
	for _, want := range set {
		if positions[want.control] != want.position {
			return false
		}
	}
	return true
}
