package drill

import (
	"fmt"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// Documents are what an exercise is made of. The loader has checked them, each against the others.
type Documents struct {
	Profile   *aircraft.Profile
	Procedure *procedure.Procedure
	Scenario  *scenario.Scenario
	Abnormals []*scenario.Abnormal // at least those that the scenario names; an instructor can insert any of them
	Policy    scenario.PolicyName  // empty takes the scenario's
}

// Exercise is documents made ready to be sat: everything compiled, the aircraft settled. It is never changed, and may be
// shared.
type Exercise struct {
	docs     Documents
	policy   scenario.Policy
	tell     scenario.Tell
	settled  *aircraft.Aircraft            // in the state of the scenario
	part     part                          // what is gone through, and what a sitting begins with
	resets   map[string]*aircraft.Aircraft // by state: what abnormals of the scenario reset to
	items    []*item                       // in the order of the procedure; of figures: all of them
	gates    []gate
	fixed    []injection
	drawn    []*abnormal
	every    []*abnormal // that can be inserted
	phases   []int       // in which a drawn one may come; nil is any
	byFigure map[string]*item
	climbs   int // slot of how fast the aircraft climbs

	conditions map[string]*condition.Condition // of the procedure and the abnormals, on the aircraft, by how they are written
}

// Bounds on what one sitting takes, so that nothing in it can grow without end.
const (
	MaxItems      = 400
	MaxInjections = 40
	MaxLength     = 3 * time.Hour
)

// Compile makes an exercise. The documents have been checked; what it still finds wrong with them is an error.
func Compile(docs Documents) (*Exercise, error) {
	ex := &Exercise{docs: docs}
	ex.policy, ex.tell = docs.Scenario.Rules(docs.Policy)
	if ex.policy.Name == "" {
		return nil, fmt.Errorf("%s: there is no policy %q", docs.Scenario.Name, docs.Policy)
	}
	c := &compiler{profile: docs.Profile, scope: docs.Profile.Scope(), lasting: scenario.Scope(docs.Profile), compiled: map[string]*condition.Condition{}}
	switch ex.policy.Flow {
	case scenario.Checklist:
		ex.items, c.outside = c.items(upTo(docs.Scenario, docs.Procedure)), outside(docs.Scenario, docs.Procedure)
		ex.gates = gatesOf(ex.items)
	case scenario.Figures:
		ex.items = c.items(procedure.Limits(docs.Profile, 0, 0))
		ex.byFigure = map[string]*item{}
		for _, it := range ex.items {
			ex.byFigure[it.ID] = it
		}
	}
	if ex.policy.Flow != scenario.Figures {
		c.injections(ex)
	}
	if c.err != nil {
		return nil, c.err
	}
	ex.climbs, ex.conditions = c.scope["climb"].Slot, c.compiled
	settled, err := aircraft.New(docs.Profile, docs.Scenario.Weather, docs.Scenario.State)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", docs.Scenario.Name, err)
	}
	ex.settled = settled
	if err := ex.goThrough(); err != nil {
		return nil, err
	}
	return ex, ex.settleResets()
}

// settleResets makes an aircraft in each state that an abnormal of the scenario resets to. That takes a while: for one that only
// an instructor may put in, it is done once they do.
func (ex *Exercise) settleResets() error {
	ex.resets = map[string]*aircraft.Aircraft{ex.docs.Scenario.State: ex.settled}
	for _, name := range ex.docs.Scenario.Abnormals() {
		for _, ab := range ex.every {
			if ab.Name != name || ab.Reset == "" || ab.Reset == scenario.Before || ex.resets[ab.Reset] != nil {
				continue
			}
			craft, err := ex.inState(ab.Reset)
			if err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
			ex.resets[ab.Reset] = craft
		}
	}
	return nil
}

// inState is an aircraft in a state of the profile, in the weather of the scenario.
func (ex *Exercise) inState(name string) (*aircraft.Aircraft, error) {
	if craft := ex.resets[name]; craft != nil {
		return craft, nil
	}
	return aircraft.New(ex.docs.Profile, ex.docs.Scenario.Weather, name)
}

// Condition is a condition on the aircraft, compiled. Those of its procedure and of its abnormals have been, once for all of its
// sittings and of those who sit them.
func (ex *Exercise) Condition(source string) (*condition.Condition, error) {
	if c := ex.conditions[source]; c != nil {
		return c, nil
	}
	return condition.Compile(source, ex.docs.Profile.Scope())
}

// Documents gives what the exercise was made of.
func (ex *Exercise) Documents() Documents { return ex.docs }

// Policy gives the rules of the exercise: the policy, with what the scenario changes of it.
func (ex *Exercise) Policy() scenario.Policy { return ex.policy }

// Procedure is what a sitting with this seed goes through. Figures are drawn with the seed; a checklist is always the same, and
// has only the phases of the scenario.
func (ex *Exercise) Procedure(seed uint64) *procedure.Procedure {
	if ex.policy.Flow == scenario.Figures {
		return procedure.Limits(ex.docs.Profile, ex.docs.Scenario.Questions, seed)
	}
	return ex.part.procedure
}

// Sheet is what the log of a sitting with this seed is judged against.
func (ex *Exercise) Sheet(seed uint64) *score.Sheet {
	tolerance := func(gauge string) float64 {
		if i, ok := ex.docs.Profile.GaugeIndex(gauge); ok {
			return ex.docs.Profile.Gauges[i].Tolerance
		}
		return 0
	}
	return score.NewSheet(ex.Procedure(seed), ex.docs.Scenario, ex.docs.Abnormals, ex.policy, tolerance)
}

// order is the items of a sitting with this seed.
func (ex *Exercise) order(seed uint64) []*item {
	if ex.policy.Flow != scenario.Figures {
		return ex.items
	}
	var list []*item
	ex.Procedure(seed).Each(func(_ *procedure.Phase, it *procedure.Item) { list = append(list, ex.byFigure[it.ID]) })
	return list
}
