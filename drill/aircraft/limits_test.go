package aircraft

import (
	"testing"
	"time"
)

// The time of a starter is that of its present engagement, then of its last one.
func TestStarterTime(t *testing.T) {
	r := newRig(t, turnstone(t), fairWeather, "")
	for control, position := range map[string]string{"battery": "on", "rotor_brake": "off"} {
		r.set(control, position)
	}
	r.run(2 * time.Second)
	for _, engaged := range []time.Duration{5 * time.Second, 2 * time.Second} {
		r.set("starter", "on")
		r.run(engaged)
		near(t, "while it cranks", r.read("starter_time1"), engaged.Seconds(), 0.05)
		r.set("starter", "off")
		r.run(3 * time.Second)
		near(t, "after it has", r.read("starter_time1"), engaged.Seconds(), 0.05)
	}
}

// An engine idles while it is governed and is not asked for more; a rotor has stopped when it has.
func TestIdlingAndStopped(t *testing.T) {
	for state, want := range map[string][3]bool{"": {false, false, true}, "running": {false, false, false}} {
		r := newRig(t, dunlin(t), fairWeather, state)
		r.run(time.Second)
		if got := [3]bool{r.is("idling1"), r.is("idling2"), r.is("rotor_stopped")}; got != want {
			t.Errorf("%q: %v", state, got)
		}
		if state == "" {
			continue
		}
		r.set("nr_select", "ground")
		if r.run(5 * time.Second); !r.is("idling1") || !r.is("idling2") {
			t.Error("they are asked to idle")
		}
		r.set("lever1", "shut")
		if r.run(5 * time.Second); r.is("idling1") || !r.is("idling2") {
			t.Error("one is off, and the other idles")
		}
	}
}

// How long an engine has idled is counted anew each time, and kept once it has stopped: a cool-down is told by it.
func TestIdleTime(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "running")
	for _, long := range []time.Duration{30 * time.Second, 10 * time.Second} {
		r.set("nr_select", "ground")
		r.run(long)
		near(t, "while it idles", r.read("idle_time1"), long.Seconds(), 0.05)
		r.set("nr_select", "flight")
		r.run(5 * time.Second)
		near(t, "after it has", r.read("idle_time1"), long.Seconds(), 0.05)
	}
	r.set("nr_select", "ground")
	r.run(20 * time.Second)
	r.set("lever1", "shut")
	r.run(5 * time.Second)
	near(t, "shut down", r.read("idle_time1"), 20, 0.1)
}

// What a magneto costs is counted from when both were on, over going from one to the other, and not while both are on, or none.
func TestMagnetoDrop(t *testing.T) {
	r := newRig(t, whinchat(t), fairWeather, "running")
	r.set("speed_hold", "off")
	r.run(20 * time.Second)
	both := r.read("rpm1")
	if got := r.read("mag_drop1"); got != 0 {
		t.Errorf("both on: %v", got)
	}
	for _, one := range []string{"left", "right"} {
		r.set("mag_"+map[string]string{"left": "right", "right": "left"}[one], "off")
		r.set("mag_"+one, "on")
		r.run(5 * time.Second)
		near(t, one, r.read("mag_drop1"), both-r.read("rpm1"), 1e-9)
		if r.read("mag_drop1") <= 0 {
			t.Errorf("%s: no drop at all", one)
		}
	}
	r.set("mag_left", "on")
	if r.run(time.Second); r.read("mag_drop1") != 0 {
		t.Errorf("both on again: %v", r.read("mag_drop1"))
	}
	r.set("mag_left", "off")
	r.set("mag_right", "off")
	if r.run(time.Second); r.read("mag_drop1") != 0 {
		t.Errorf("none: %v", r.read("mag_drop1"))
	}
}

// Fuel that leaks is gone from the quantity at the rate that the leak has, and in the end the engines stop.
func TestFuelLeak(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "")
	full := r.read("fuel")
	r.fail("fuel.leak", 0.5)
	r.run(time.Minute)
	near(t, "lost in a minute", full-r.read("fuel"), full*0.5*60/180, 0.01)
	r.fail("fuel.leak", 1)
	r.run(3 * time.Minute)
	near(t, "left", r.read("fuel"), 0, 1e-6)
}

// Without its tail rotor the nose swings in the air, faster with more torque, and not without; on the ground it stops.
func TestTailDrive(t *testing.T) {
	p := changed(t, func(p *Profile) { p.Systems.Airframe.Yaw = &Yaw{Inertia: 6000, Damping: 0.6} })
	r := newRig(t, p, fairWeather, "hover")
	if r.run(10 * time.Second); r.read("turn") != 0 {
		t.Errorf("healthy: %v", r.read("turn"))
	}
	r.fail("tail.drive", 1)
	r.run(time.Second)
	first := r.read("turn")
	if r.run(4 * time.Second); !(first > 15 && r.read("turn") > first) {
		t.Errorf("after one second %.1f, after five %.1f °/s", first, r.read("turn"))
	}
	r.set("lever1", "shut")
	r.set("lever2", "shut")
	swinging := r.read("turn")
	for r.is("airborne") && r.now < 2*time.Hour {
		r.run(StepLength)
	}
	if r.read("turn") >= swinging {
		t.Errorf("without torque it swings faster: %.1f, then %.1f", swinging, r.read("turn"))
	}
	if r.run(3 * time.Second); r.read("turn") > 1 || r.read("touchdown") == 0 {
		t.Errorf("on the ground: %.1f °/s, touched down with %.1f m/s", r.read("turn"), r.read("touchdown"))
	}
	p.Systems.Airframe.Yaw.Left = true
	left := newRig(t, p, fairWeather, "hover")
	left.fail("tail.drive", 1)
	left.run(time.Second)
	near(t, "the other way round", left.read("turn"), -first, 0.1) // a little lighter by then
}

// A brake gets hot by what it takes from a rotor that turns, and by nothing else.
func TestBrakeHeats(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "")
	r.set("rotor_brake", "on")
	if r.run(time.Minute); r.read("brake_temp") != r.read("oat") {
		t.Errorf("on a rotor at rest: %v", r.read("brake_temp"))
	}
	r = newRig(t, dunlin(t), fairWeather, "running")
	r.set("lever1", "shut")
	r.set("lever2", "shut")
	for r.read("nr") > 30 {
		r.run(StepLength)
	}
	before := r.read("brake_temp")
	r.set("rotor_brake", "on")
	for !r.is("rotor_stopped") {
		r.run(StepLength)
	}
	// A stop from 30 % takes 9 % of the energy of one from full speed, less what bearings and air have taken.
	if rise := r.read("brake_temp") - before; !(rise > 0.03*brakeStopK && rise < 0.09*brakeStopK) {
		t.Errorf("a stop from 30 %% heats it by %.0f K", rise)
	}
}
