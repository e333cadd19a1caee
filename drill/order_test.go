package drill_test

import (
	"slices"
	"testing"

	"hornlark/drill/aircraft"
	"hornlark/drill/drilltest"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// The controls of one item are moved in the order in which they are written, by the trainee on paper as by the other pilot:
// a guard before what it guards.
func TestControlsAreMovedInTheirOrder(t *testing.T) {
	for _, policy := range []scenario.PolicyName{scenario.Prompted, scenario.Watch} {
		for _, set := range []aircraft.Settings{
			aircraft.Put("battery", "on", "harness", "fastened", "doors", "closed"),
			aircraft.Put("doors", "closed", "harness", "fastened", "battery", "on"),
		} {
			s := drilltest.Through(t, "first-start-quiet", perfect(), func(setup *drilltest.Setup) {
				setup.Policy = policy
				setup.Procedure = &procedure.Procedure{Name: "two-hands", Title: "Two hands", Profile: setup.Profile.Name, Phases: []procedure.Phase{
					{ID: "all", Title: "All", Items: []procedure.Item{{ID: "all", Challenge: "All", Response: "There", Set: set}}},
				}}
			}, nil)
			var moved []string
			for _, e := range s.Log {
				if e.Kind == logbook.Moved {
					moved = append(moved, e.Control)
				}
			}
			if !slices.Equal(moved, set.Controls()) {
				t.Errorf("%s: %v were moved; wanted %v", policy, moved, set.Controls())
			}
		}
	}
}
