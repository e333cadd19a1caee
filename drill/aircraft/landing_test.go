package aircraft

import (
	"slices"
	"strings"
	"testing"
	"time"
)

var threeProfiles = []string{"dunlin-lt", "turnstone-st", "whinchat-pt"}

// lower takes the collective down notch by notch, and gives how hard the aircraft then touches down.
func (r *rig) lower(every time.Duration, notches ...string) float64 {
	r.Helper()
	for _, notch := range notches {
		r.set("collective", notch)
		r.run(every)
	}
	r.until(time.Minute, func() bool { return r.read("touchdown") > 0 }, "on the ground")
	return r.read("touchdown")
}

// A lever that is eased down sets the aircraft down well below what it is inspected after, from the hover as from higher up where
// a rotor that ran fast was loaded; one that is let fall drops it, and that is told.
func TestLandings(t *testing.T) {
	all := []string{"50", "40", "30", "20", "10", "0"}
	for _, name := range threeProfiles {
		p := profileOf(t, name)
		fly := func() *rig { return newRig(t, p, fairWeather, "hover") }
		limit := slices.IndexFunc(p.Inspections, func(in Inspection) bool { return in.ID == "landing" })
		for _, c := range []struct {
			way     string
			every   time.Duration
			notches []string
		}{
			{"to forty and wait", time.Second, []string{"50", "40"}},
			{"to thirty at once", 300 * time.Millisecond, []string{"50", "40", "30"}},
			{"a notch every two seconds", 2 * time.Second, all},
		} {
			r := fly()
			if got := r.lower(c.every, c.notches...); !(got > 0.2 && got < 2) || r.InspectionDue(limit) {
				t.Errorf("%s, %s: %.2f m/s, inspection %v", name, c.way, got, r.InspectionDue(limit))
			}
		}
		r := fly()
		r.set("collective", "70")
		r.run(6 * time.Second)
		high := r.read("height")
		if got := r.lower(time.Second, "60", "50", "40"); !(got > 0.2 && got < 2) || r.InspectionDue(limit) {
			t.Errorf("%s, from %.0f m: %.2f m/s, inspection %v", name, high, got, r.InspectionDue(limit))
		}
		r = fly()
		if got := r.lower(80*time.Millisecond, all...); got < 3.5 || !r.InspectionDue(limit) {
			t.Errorf("%s, dropped in half a second: %.2f m/s, inspection %v", name, got, r.InspectionDue(limit))
		}
		// What it touched down with stays, and one that has not flown has not.
		if was := r.read("touchdown"); was > 0 {
			if r.run(5 * time.Second); r.read("touchdown") != was {
				t.Errorf("%s: %.2f m/s, then %.2f", name, was, r.read("touchdown"))
			}
		}
		if r := newRig(t, p, fairWeather, "running"); r.read("touchdown") != 0 {
			t.Errorf("%s has touched down without having flown: %v", name, r.read("touchdown"))
		}
	}
}

// A brake left on through a start is dragged by what the engines drive, gets hot, and is inspected before the aircraft can be in
// the air. An engine behind a belt is stalled by it: the brake holds what the belt takes hold of.
func TestBrakeLeftOn(t *testing.T) {
	for _, name := range threeProfiles {
		p := profileOf(t, name)
		hover := slices.IndexFunc(p.States, func(s State) bool { return s.Name == "hover" })
		for k := range p.States[hover].Moves {
			set := &p.States[hover].Moves[k].Set
			*set = slices.DeleteFunc(slices.Clone(*set), func(one Setting) bool { return one.Control == "rotor_brake" })
		}
		if err := p.Compile().Err(); err != nil {
			t.Fatal(err)
		}
		r := newRig(t, p, fairWeather, "")
		brake, due := slices.IndexFunc(p.Inspections, func(in Inspection) bool { return strings.HasPrefix(in.ID, "brake") }), false
		for _, m := range p.moves[hover] {
			for _, set := range m.set {
				r.Move(set.control, set.position)
			}
			r.run(m.wait, func() {
				due = due || r.InspectionDue(brake)
				if r.is("airborne") && !due {
					t.Fatalf("%s flies with its brake on, at %.0f °C", name, r.read("brake_temp"))
				}
			})
		}
		if p.Systems.Clutch != nil {
			if r.is("alight1") || r.is("airborne") {
				t.Errorf("%s: alight %v, airborne %v", name, r.is("alight1"), r.is("airborne"))
			}
			continue
		}
		if !due || r.read("brake_temp") < 200 {
			t.Errorf("%s: inspected %v, at %.0f °C", name, due, r.read("brake_temp"))
		}
	}
}
