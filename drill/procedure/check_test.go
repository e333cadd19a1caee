package procedure_test

import (
	"strings"
	"testing"

	"hornlark/drill/aircraft"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
)

// sound is a procedure with a hold and a stop, and its profile.
func sound(t *testing.T) (*procedure.Procedure, *aircraft.Profile) {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	b, err := lib.Resolve("first-start")
	if err != nil {
		t.Fatal(err)
	}
	p := &procedure.Procedure{Name: "mine", Title: "Mine", Profile: b.Profile.Name, Phases: []procedure.Phase{
		{ID: "cold", Title: "Cold", Items: []procedure.Item{
			{ID: "brake", Challenge: "Rotor brake", Response: "Off", Set: aircraft.Put("rotor_brake", "off"), Hold: "start"},
			{ID: "guard", Challenge: "Guard", Response: "Posted", Confirm: "guard_posted", Hold: "start", IfNot: &procedure.IfNot{Say: "Then no.", Stop: true}},
		}},
		{ID: "live", Title: "Live", Items: []procedure.Item{
			{ID: "fuel", Challenge: "Fuel", Response: "Quantity stated", Read: "fuel"},
			{ID: "start", Challenge: "Engine 1", Response: "Lever open", Set: aircraft.Put("lever1", "open")},
			{ID: "oil", Challenge: "Oil", Response: "Rising", Check: "oil_press1 > 1", IfNot: &procedure.IfNot{Stop: true}},
		}},
	}}
	if err := p.Check(b.Profile).Err(); err != nil {
		t.Fatal(err)
	}
	return p, b.Profile
}

// What cannot be held to, and a refusal that says two things at once, are told with their place.
func TestFaultsOfHoldsAndStops(t *testing.T) {
	for _, c := range []struct {
		name                  string
		spoil                 func(cold, live []procedure.Item)
		path, problem, remedy string
	}{
		{"hold before an item that is none", func(cold, _ []procedure.Item) { cold[0].Hold = "strat" }, "phases[0].items[0].hold", `"strat"`, "did you mean \"start\"?"},
		{"hold before itself", func(cold, _ []procedure.Item) { cold[0].Hold = "brake" }, "phases[0].items[0].hold", "brake does not come after brake", "further on"},
		{"hold before an earlier one", func(_, live []procedure.Item) { live[1].Hold = "guard" }, "phases[1].items[1].hold", "guard does not come after start", "further on"},
		{"hold on a reading", func(_, live []procedure.Item) { live[0].Hold = "oil" }, "phases[1].items[0].hold", "typed or called", "leave it out"},
		{"stop and put right", func(_, live []procedure.Item) { live[2].IfNot.Set = aircraft.Put("lever1", "shut") }, "phases[1].items[2].if_not", "both end here", "set or stop"},
		{"refusal that says nothing", func(_, live []procedure.Item) { live[2].IfNot.Stop = false }, "phases[1].items[2].if_not", "how the matter is put right", "stop: true"},
		{"refusal of a switch", func(cold, _ []procedure.Item) { cold[0].IfNot = &procedure.IfNot{Stop: true} }, "phases[0].items[0].if_not", "can be refused", "leave it out"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, prof := sound(t)
			c.spoil(p.Phases[0].Items, p.Phases[1].Items)
			faults := p.Check(prof)
			for _, f := range faults {
				if f.Path == c.path && strings.Contains(f.Problem, c.problem) && strings.Contains(f.Remedy, c.remedy) {
					return
				}
			}
			t.Errorf("%v; wanted %s: %s; %s", faults.Err(), c.path, c.problem, c.remedy)
		})
	}
}

// What the crew says at a hold names the item, and that it is an exercise.
func TestTakeover(t *testing.T) {
	p, _ := sound(t)
	if got := p.Phases[0].Items[0].Takeover(); got != "Exercise: Rotor brake, Off." {
		t.Errorf("%q", got)
	}
}
