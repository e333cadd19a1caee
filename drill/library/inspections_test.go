package library

import (
	"slices"
	"testing"
	"time"

	"hornlark/drill/aircraft"
)

// misuse is something that is done to an aircraft until a limit has been passed.
type misuse struct {
	limits  []string
	state   string
	fail    []string // to the worst, once the first moves are done
	before  []hand
	moves   []hand
	without string // a control that is not moved in before
}

var misuses = map[string][]misuse{
	"dunlin-lt": {
		{limits: []string{"tot2", "tot_time2"}, fail: []string{"eng2.bleed_stuck"}, before: primed, moves: []hand{{s, "lever2", "open"}, {notch, "start2", "pressed"}}},
		{limits: []string{"tot1", "tot_time1"}, fail: []string{"eng1.bleed_stuck"}, before: oneRuns, moves: []hand{{s, "lever1", "open"}, {notch, "start1", "pressed"}}},
		{limits: []string{"torque2"}, state: "hover", fail: []string{"eng1.governor_low"}, moves: []hand{{s, "collective", "80"}}},
		{limits: []string{"torque1"}, state: "hover", fail: []string{"eng2.governor_low"}, moves: []hand{{s, "collective", "80"}}},
		{limits: []string{"nr_high"}, state: "running", fail: []string{"eng1.governor_high", "eng2.governor_high"}},
		{limits: []string{"nr_low", "landing"}, state: "hover", moves: []hand{{s, "collective", "100"}, {10 * s, "lever1", "shut"}, {0, "lever2", "shut"}}},
		{limits: []string{"brake"}, before: firstStart, without: "rotor_brake"},
		{limits: []string{"brake_fast", "brake_hot"}, state: "running", moves: []hand{{s, "lever1", "shut"}, {0, "lever2", "shut"}, {s, "rotor_brake", "on"}}},
		{limits: []string{"fire1"}, state: "running", fail: []string{"eng1.fire"}},
		{limits: []string{"fire2"}, state: "running", fail: []string{"eng2.fire"}},
		{limits: []string{"oil1"}, state: "hover", fail: []string{"eng1.oil_leak"}},
		{limits: []string{"oil2"}, state: "hover", fail: []string{"eng2.oil_leak"}},
		{limits: []string{"starter2", "starter_time2"}, fail: []string{"eng2.starter_stuck"}, before: firstStart},
		{limits: []string{"starter1", "starter_time1"}, fail: []string{"eng1.starter_stuck"}, before: nextStart},
	},
	"turnstone-st": {
		{limits: []string{"tot", "tot_time"}, fail: []string{"eng1.bleed_stuck"}, before: turnstoneStart, moves: handMetered},
		{limits: []string{"torque"}, state: "hover", fail: []string{"eng1.governor_high"}, moves: []hand{{s, "collective", "100"}}},
		{limits: []string{"nr_high"}, state: "running", fail: []string{"eng1.governor_high"}},
		{limits: []string{"nr_low", "landing"}, state: "hover", moves: []hand{{s, "collective", "100"}, {12 * s, "valve_guard", "up"}, {0, "fuel_valve", "closed"}}},
		{limits: []string{"brake"}, before: turnstoneRun, without: "rotor_brake", moves: []hand{{10 * s, "throttle", "80"}}},
		{limits: []string{"fire"}, state: "running", fail: []string{"eng1.fire"}},
		{limits: []string{"oil"}, state: "hover", fail: []string{"eng1.oil_leak"}},
		{limits: []string{"starter", "starter_time"}, fail: []string{"eng1.starter_stuck"}, before: turnstoneRun[:len(turnstoneRun)-1]},
	},
	"whinchat-pt": {
		{limits: []string{"nr_high"}, state: "running", moves: []hand{{s, "speed_hold", "off"}, {s, "throttle", "60"}}},
		{limits: []string{"rpm_high"}, state: "hover", moves: []hand{{s, "belt_latch", "open"}, {0, "belt_lever", "0"}}},
		{limits: []string{"nr_low"}, state: "hover", moves: []hand{{s, "collective", "100"}, {8 * s, "mixture", "cut-off"}}},
		{limits: []string{"brake"}, before: append(slices.Clone(whinchatStart), hand{20 * s, "belt_lever", "2"}, hand{20 * s, "belt_lever", "4"}, hand{5 * s, "throttle", "30"}), without: "rotor_brake"},
		{limits: []string{"belt"}, state: "hover", fail: []string{"clutch.worn"}},
		{limits: []string{"starter"}, fail: []string{"eng1.starter_stuck"}, before: whinchatStart},
		{limits: []string{"gearbox"}, state: "running", fail: []string{"gearbox.oil_leak"}},
		{limits: []string{"fire"}, state: "running", fail: []string{"eng1.fire"}},
		{limits: []string{"oil"}, state: "hover", fail: []string{"eng1.oil_leak"}},
		{limits: []string{"landing"}, state: "hover", moves: []hand{{s, "collective", "100"}, {12 * s, "mixture", "cut-off"}, {s, "collective", "0"}}},
	},
}

// Each limit beyond which an aircraft is inspected can be passed, and nothing that is done rightly passes one.
func TestInspections(t *testing.T) {
	for _, prof := range everything(t).Profiles() {
		t.Run(prof.Name, func(t *testing.T) {
			t.Parallel()
			for _, state := range []string{"", "running", "hover"} {
				for _, oat := range []float64{-15, 12, 35} {
					if due := dueIn(prof, newAircraft(t, prof, oat, state)); len(due) > 0 {
						t.Errorf("state %q at %v degrees: %v", state, oat, due)
					}
				}
			}
			passed := map[string]bool{}
			for _, m := range misuses[prof.Name] {
				due := m.run(t, prof)
				for _, id := range m.limits {
					if passed[id] = true; !slices.Contains(due, id) {
						t.Errorf("%v: %s is not passed, but %v", m.fail, id, due)
					}
				}
			}
			for _, in := range prof.Inspections {
				if !passed[in.ID] {
					t.Errorf("nobody tries to pass %s", in.ID)
				}
			}
		})
	}
}

func newAircraft(t *testing.T, prof *aircraft.Profile, oat float64, state string) *aircraft.Aircraft {
	t.Helper()
	craft, err := aircraft.New(prof, aircraft.Weather{OAT: oat, Altitude: 50}, state)
	if err != nil {
		t.Fatal(err)
	}
	return craft
}

// dueIn is every limit that has been passed.
func dueIn(prof *aircraft.Profile, craft *aircraft.Aircraft) (due []string) {
	for i := range prof.Inspections {
		if craft.InspectionDue(i) {
			due = append(due, prof.Inspections[i].ID)
		}
	}
	return due
}

// run does what the misuse says, lets a minute pass, and tells which limits that has passed.
func (m misuse) run(t *testing.T, prof *aircraft.Profile) []string {
	craft := newAircraft(t, prof, 12, m.state)
	tr := &trial{T: t, prof: prof, start: craft}
	var queue hands
	queue.add(tr, slices.DeleteFunc(slices.Clone(m.before), func(h hand) bool { return h.control == m.without }))
	for queue.left() {
		queue.step(tr, craft)
		craft.Step()
	}
	for _, name := range m.fail {
		point, ok := prof.FailureIndex(name)
		if !ok {
			t.Fatalf("%s has no failure %s", prof.Name, name)
		}
		craft.Fail(point, 1)
	}
	queue.now = 0
	queue.add(tr, m.moves)
	for end := craft.Now() + 80*time.Second; craft.Now() < end; {
		queue.step(tr, craft)
		craft.Step()
	}
	return dueIn(prof, craft)
}
