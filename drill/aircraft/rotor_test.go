package aircraft

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// decay lets a rotor run down from 100 % for some seconds, in steps of a given length, and calls each after every step.
func decay(d drive, seconds, step float64, each func(t, pct float64)) float64 {
	pct := 100.0
	for n := 1; float64(n)*step <= seconds+1e-9; n++ {
		pct = d.turn(pct, step)
		each(float64(n)*step, pct)
	}
	return pct
}

// ratio is the closed form of a run-down with torque as the square of the speed: W/W0 = 1/(1+t/tau), tau = J W0²/P0.
// Johnson, Helicopter Theory (1980), chapter on autorotation, from memory; derived again for this test.
func ratio(t, tau float64) float64 { return 1 / (1 + t/tau) }

func TestDecayAgainstClosedForm(t *testing.T) {
	sets := 0
	rapid.Check(t, func(t *rapid.T) {
		d := drive{
			inertia: rapid.Float64Range(200, 20000).Draw(t, "inertia"),
			full:    rapid.Float64Range(20, 55).Draw(t, "full"),
		}
		// Time constants from nervous to lazy: below 2 s no rotor is flown.
		tau := rapid.Float64Range(2, 60).Draw(t, "tau")
		d.aero = d.inertia * d.full / tau
		decay(d, 5, stepSeconds, func(at, pct float64) {
			if want := 100 * ratio(at, tau); math.Abs(pct-want) > 0.005*want {
				t.Fatalf("tau %.3f s: %.4f %% after %.2f s, want %.4f", tau, pct, at, want)
			}
		})
		sets++
	})
	if sets < 20 {
		t.Errorf("%d parameter sets", sets)
	}
}

// A worked figure: 1200 kg m², 390 rpm, 300 kW give tau = 6.67185 s; 95 % after 0.35115 s, 90 % after 0.74132 s.
func TestDecayWorkedExample(t *testing.T) {
	full := 390 * 2 * math.Pi / 60
	d := drive{inertia: 1200, full: full, aero: 300e3 / full}
	if tau := d.inertia * d.full / d.aero; math.Abs(tau-6.67185) > 1e-5 {
		t.Errorf("tau %.5f s", tau)
	}
	for level, want := range map[float64]float64{95: 0.35115, 90: 0.74132} {
		found := 0.0
		decay(d, 2, 0.001, func(at, pct float64) {
			if found == 0 && pct <= level {
				found = at
			}
		})
		if math.Abs(found-want) > 0.001 {
			t.Errorf("%v %% after %.4f s, want %.5f", level, found, want)
		}
	}
}

// Halving the step of a second-order rule quarters its error.
func TestTurnIsOfSecondOrder(t *testing.T) {
	const tau = 3.0
	d := drive{inertia: 1000, full: 40, aero: 1000 * 40 / tau}
	failed := func(step float64) float64 {
		return math.Abs(decay(d, 4, step, func(float64, float64) {}) - 100*ratio(4, tau))
	}
	for _, step := range []float64{0.16, 0.08, 0.04} {
		order := math.Log2(failed(step) / failed(step/2))
		if order < 1.8 || order > 2.2 {
			t.Errorf("from %v s to half of it: order %.2f", step, order)
		}
	}
}

func TestMoreInertiaNeverSpeedsDecay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drive{full: 41, aero: rapid.Float64Range(500, 15000).Draw(t, "aero"), friction: rapid.Float64Range(0, 500).Draw(t, "friction")}
		d.inertia = rapid.Float64Range(200, 5000).Draw(t, "inertia")
		heavier := d
		heavier.inertia *= rapid.Float64Range(1, 3).Draw(t, "factor")
		light := decay(d, 5, stepSeconds, func(float64, float64) {})
		heavy := decay(heavier, 5, stepSeconds, func(float64, float64) {})
		if heavy < light-1e-9 {
			t.Fatalf("%v kg m² keep %.3f %%, %v only %.3f", d.inertia, light, heavier.inertia, heavy)
		}
	})
}

// The whole aircraft obeys the same law: both flames out in the hover, the lever left where it is.
func TestPowerLossInTheHoverFollowsTheLaw(t *testing.T) {
	p := dunlin(t)
	p.Systems.Rotor.Friction = 0
	r := newRig(t, p, fairWeather, "hover")
	r.fail("eng1.flameout", 1)
	r.fail("eng2.flameout", 1)
	// The turbines let go as soon as they give nothing; from there on the rotor is alone.
	r.until(time.Second, func() bool { return r.read("n2_1") < r.read("nr") && r.read("n2_2") < r.read("nr") }, "freewheel")
	var d drive
	r.model.load(r.Aircraft, &d)
	from, tau, at := r.read("nr"), d.inertia*d.full/d.aero*100/r.read("nr"), 0.0
	r.run(5*time.Second, func() {
		at += stepSeconds
		if want := from * ratio(at, tau); math.Abs(r.read("nr")-want) > 0.005*want {
			t.Fatalf("%.3f %% after %.2f s, want %.3f", r.read("nr"), at, want)
		}
	})
}

func TestFreewheel(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "hover")
	if r.read("n2_1") != r.read("nr") || r.read("n2_2") != r.read("nr") {
		t.Errorf("N2 %v and %v apart from NR %v while both drive", r.read("n2_1"), r.read("n2_2"), r.read("nr"))
	}
	r.fail("eng1.flameout", 1)
	r.run(3 * time.Second)
	if r.read("n2_1") > r.read("nr")-5 {
		t.Errorf("a dead turbine still turns with the rotor: %v and %v", r.read("n2_1"), r.read("nr"))
	}
	if r.read("n2_2") != r.read("nr") || r.read("trq1") != 0 || r.read("trq2") < 80 {
		t.Errorf("engine 2 at %v %% and %v %% torque, engine 1 at %v %%", r.read("n2_2"), r.read("trq2"), r.read("trq1"))
	}
}

func TestRotorBrakeStopsTheRotor(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "running")
	r.set("lever1", "shut")
	r.set("lever2", "shut")
	r.until(3*time.Minute, func() bool { return r.read("nr") < 25 }, "run-down to 25 %")
	free := r.Clone()
	r.set("rotor_brake", "on")
	r.until(30*time.Second, func() bool { return r.read("nr") == 0 }, "stop")
	for free.now < r.now {
		free.Step()
	}
	if free.model.rotor.nrPct < 10 {
		t.Errorf("without the brake the rotor is at %v %% just as soon", free.model.rotor.nrPct)
	}
}

// A brake that was left on holds the rotor of the single at idle and stays cold; more throttle tears it loose, and it burns until it
// has to be inspected. Released at idle it lets the rotor turn as ever. What a brake has to hold is the torque of a free turbine at
// rest, twice that at its design speed.
func TestABrakeLeftOnHoldsAtIdle(t *testing.T) {
	r := newRig(t, turnstone(t), fairWeather, "")
	r.handPrepare()
	r.set("rotor_brake", "on")
	r.handStart(time.Minute, byTheBook())
	engine := &r.model.engines[0]
	pull := engine.torqueNm(r.profile.Systems.Turbine, r.profile.Systems.Turbine.ratedNm(r.profile.Systems.Rotor.RPM*(2*math.Pi/60)))
	if r.read("nr") != 0 || r.read("n1") < 55 || r.read("brake_temp") > r.read("oat")+1 || pull < 1200 || pull > r.profile.Systems.Rotor.BrakeHoldsNm {
		t.Errorf("at idle: N1 %.1f, NR %.1f, brake at %.0f, %.0f N m pull at it", r.read("n1"), r.read("nr"), r.read("brake_temp"), pull)
	}
	released := newRig(t, turnstone(t), fairWeather, "")
	released.Become(r.Aircraft)
	released.set("rotor_brake", "off")
	if released.run(40 * time.Second); math.Abs(released.read("nr")-67) > 1.5 {
		t.Errorf("released at idle, NR %.1f", released.read("nr"))
	}
	r.set("throttle", "80")
	r.until(20*time.Second, func() bool { return r.read("brake_temp") > 220 }, "burning")
}
