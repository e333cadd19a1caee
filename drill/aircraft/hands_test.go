package aircraft

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// changed is the dunlin with something changed, compiled.
func changed(t *testing.T, change func(*Profile)) *Profile {
	t.Helper()
	p := dunlin(t)
	change(p)
	if err := p.Compile().Err(); err != nil {
		t.Fatal(err)
	}
	return p
}

func control(t *testing.T, p *Profile, id string) *Control {
	t.Helper()
	i, ok := p.ControlIndex(id)
	if !ok {
		t.Fatal(id)
	}
	return &p.Controls[i]
}

// What locks a control tells it as long as it does, and no state moves what is locked.
func TestControlsAreLocked(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "")
	cut, _ := r.profile.ControlIndex("cut1")
	for _, c := range []struct {
		guard  string
		locked bool
	}{{"down", true}, {"up", false}, {"down", true}} {
		if r.set("cut_guard", c.guard); r.Locked(cut) != c.locked {
			t.Errorf("guard %s: locked %v", c.guard, r.Locked(cut))
		}
	}
	if lever, _ := r.profile.ControlIndex("lever1"); r.Locked(lever) {
		t.Error("what has no lock is locked")
	}
	for moves, want := range map[string]Settings{
		"":                         Put("friction", "free", "collective", "10"),
		"collective while it is l": Put("collective", "10", "friction", "free"),
	} {
		p := changed(t, func(p *Profile) {
			p.States = []State{{Name: "tried", Moves: []Move{{Set: want}}}}
		})
		if _, err := New(p, fairWeather, "tried"); (err == nil) != (moves == "") || err != nil && !strings.Contains(err.Error(), moves) {
			t.Errorf("%v: %v", want, err)
		}
	}
}

// A control that silences an alert does so once, as it is moved: what begins to sound while it stays there is heard. 14 CFR
// 27.33(e)(4) wants a horn that has been silenced to come back by itself.
func TestAlertsAreMutedByAControl(t *testing.T) {
	p := changed(t, func(p *Profile) { control(t, p, "horn_mute").Springs = 0 })
	r := newRig(t, p, fairWeather, "hover")
	horn, _ := p.AlertIndex("low_nr")
	steps := func(d time.Duration) AlertState { r.run(d); return r.AlertState(horn) }
	r.set("horn_mute", "pressed")
	for i := range p.Systems.Engines {
		r.set([]string{"lever1", "lever2"}[i], "shut")
	}
	if got := steps(8 * time.Second); got != Sounding {
		t.Errorf("muted before it sounded: %v", got)
	}
	r.set("horn_mute", "out")
	if got := steps(time.Second); got != Sounding {
		t.Errorf("let go: %v", got)
	}
	r.set("horn_mute", "pressed")
	if got := r.Mute(); !slices.Equal(got, []int{horn}) {
		t.Errorf("muted: %v", got)
	}
	if got := steps(time.Second); got != Silenced {
		t.Errorf("muted: %v", got)
	}
	if got := r.Mute(); len(got) != 0 {
		t.Errorf("muted twice: %v", got)
	}
}

// What is outside is only told of while it is in sight.
func TestFactsAreSeenInSight(t *testing.T) {
	p := changed(t, func(p *Profile) { p.Outside[1].Seen = "" })
	for state, want := range map[string]bool{"running": true, "hover": false} {
		r := newRig(t, p, fairWeather, state)
		if r.Seen(0) != want || !r.Seen(1) {
			t.Errorf("%s: seen %v, the other %v", state, r.Seen(0), r.Seen(1))
		}
		r.fail("outside."+p.Outside[0].ID, 1)
		told := false
		r.run(time.Second, func() { r.Drain(func(c Change) { told = told || c.Kind == FactChanged }) })
		if told != want || r.Fact(0) == p.Outside[0].So {
			t.Errorf("%s: told %v", state, told)
		}
	}
}

// A breaker that has popped takes the current from what hangs on it until it is pushed in, and stays in then; one that pops
// anew is out anew.
func TestBreakers(t *testing.T) {
	p := changed(t, func(p *Profile) {
		for i := range p.Systems.Electrical.Equipment {
			p.Systems.Electrical.Equipment[i].Breaker = true
		}
	})
	r := newRig(t, p, fairWeather, "running")
	live := func(want bool, when string) {
		t.Helper()
		r.run(2 * time.Second)
		if r.is("inverter_live") != want || r.is("breakers_in") != want || !r.is("fadec1_live") {
			t.Errorf("%s: live %v, breakers in %v", when, r.is("inverter_live"), r.is("breakers_in"))
		}
	}
	live(true, "healthy")
	r.fail("inverter.breaker", 1)
	live(false, "popped")
	r.set("breakers", "pushed")
	live(true, "pushed in, its cause still there")
	r.set("breakers", "left")
	live(true, "let go")
	r.fail("inverter.breaker", 0)
	live(true, "its cause gone")
	r.fail("inverter.breaker", 0.3)
	live(false, "popped anew")
	r.fail("inverter.breaker", 0)
	live(true, "put right")

	bare := dunlin(t)
	bare.Systems.Electrical.Breakers = nil
	bare.Systems.Electrical.Equipment[0].Breaker = true
	if err := bare.Compile().Err(); err == nil || !strings.Contains(err.Error(), "pushes its breaker in") {
		t.Errorf("a breaker that nothing resets: %v", err)
	}
}

// A guard is seen where what locks a control is where other controls stand. A lock that hangs on the machinery is not: nobody could tell
// it by looking, and it would tell what is wrong.
func TestOnlyAGuardIsSeen(t *testing.T) {
	for lock, seen := range map[string]bool{"not harness": true, "not harness or collective > 40": true, "not harness and nr < 50": false, "rotor_low": false} {
		p := dunlin(t)
		doors, _ := p.ControlIndex("doors")
		p.Controls[doors].Locked = lock
		if err := p.Compile().Err(); err != nil {
			t.Fatal(err)
		}
		r := newRig(t, p, fairWeather, "")
		r.set("battery", "on")
		r.run(time.Second)
		if !r.Locked(doors) || r.Guarded(doors) != seen || p.HasGuard(doors) != seen {
			t.Errorf("%s: locked %v, seen %v", lock, r.Locked(doors), r.Guarded(doors))
		}
	}
}
