package aircraft

import (
	"testing"
	"time"
)

// onTheCart is a cold aircraft on ground power, ready for a start.
func onTheCart(t *testing.T) *rig {
	r := newRig(t, dunlin(t), fairWeather, "")
	r.set("ext_power", "on")
	r.prepare()
	return r
}

// A start takes a lever that is open and a button that has been pressed; then the FADEC does the rest, and lets go at the cut-out
// speed.
func TestStartButtonLatches(t *testing.T) {
	r := onTheCart(t)
	r.set("lever2", "open")
	if r.run(5 * time.Second); r.is("cranking2") || r.read("n1_2") != 0 {
		t.Error("an open lever starts the engine")
	}
	r.set("start2", "pressed")
	lit := r.until(10*time.Second, func() bool { return r.is("alight2") }, "light-off")
	if n1 := r.read("n1_2"); lit < 2*time.Second || n1 < r.profile.Systems.Turbine.LightOffN1 || n1 > 25 {
		t.Errorf("lights after %v at N1 %.1f", lit, n1)
	}
	r.until(30*time.Second, func() bool { return !r.is("cranking2") }, "cut-out")
	if n1 := r.read("n1_2"); n1 < r.profile.Systems.Starter.CutOutN1 || n1 > r.profile.Systems.Starter.CutOutN1+0.5 {
		t.Errorf("cuts out at N1 %.1f", n1)
	}
	r.run(30 * time.Second)
	r.set("start2", "pressed")
	if r.run(time.Second); r.is("cranking2") {
		t.Error("the button of an engine that runs engages its starter")
	}
}

// Pressed with its lever shut the button motors the engine: no fuel, and for no longer than its time.
func TestDryMotoring(t *testing.T) {
	r := onTheCart(t)
	r.set("start1", "pressed")
	highest, fuel := 0.0, 0.0
	r.run((motorLatchS-1)*time.Second, func() { highest, fuel = max(highest, r.read("n1_1")), max(fuel, r.read("flow1")) })
	if !r.is("cranking1") || !r.is("starter1") || fuel != 0 || highest < 20 || highest >= r.profile.Systems.Starter.CutOutN1 {
		t.Errorf("cranking %v, N1 %.1f, fuel %v", r.is("cranking1"), highest, fuel)
	}
	if r.run(1200 * time.Millisecond); r.is("cranking1") {
		t.Error("it goes on motoring")
	}
	near(t, "starter time", r.read("starter_time1"), motorLatchS, 0.1)
	// A lever that opens while it turns makes a start of it; without the button it does not.
	r.run(60 * time.Second)
	r.set("start1", "pressed")
	r.run(8 * time.Second)
	r.set("lever1", "open")
	r.until(2*time.Second, func() bool { return r.is("alight1") }, "light-off")
	r.until(40*time.Second, func() bool { return r.is("idle1") }, "idle")
}

// What makes the latch go: the lever shut, the FADEC or the bus dead, too long a start. It does not come back by itself.
func TestStartLatchGoes(t *testing.T) {
	for name, test := range map[string]struct {
		does, undoes [2]string
		after        time.Duration
	}{
		"lever":   {[2]string{"lever1", "shut"}, [2]string{"lever1", "open"}, 20 * time.Millisecond},
		"FADEC":   {[2]string{"fadec1", "off"}, [2]string{"fadec1", "on"}, 40 * time.Millisecond},
		"no bus":  {[2]string{"battery", "off"}, [2]string{"battery", "on"}, 40 * time.Millisecond},
		"no time": {after: (startLatchS - 2) * time.Second},
	} {
		r := newRig(t, dunlin(t), fairWeather, "")
		r.fail("eng1.no_light", 1)
		r.prepare()
		r.light("1")
		if r.run(2 * time.Second); !r.is("cranking1") {
			t.Fatalf("%s: does not crank", name)
		}
		if test.does[0] != "" {
			r.set(test.does[0], test.does[1])
		}
		if r.run(test.after + 100*time.Millisecond); r.is("cranking1") {
			t.Errorf("%s: cranks on", name)
		}
		if test.undoes[0] != "" {
			r.set(test.undoes[0], test.undoes[1])
		}
		if r.run(10 * time.Second); r.is("cranking1") {
			t.Errorf("%s: cranks again by itself", name)
		}
	}
}

// One engine waits for the other: pressed second, it is turned second, and with its lever shut in between not at all.
func TestButtonsWaitForEachOther(t *testing.T) {
	for _, given := range []bool{false, true} {
		r := onTheCart(t)
		r.light("2")
		r.run(400 * time.Millisecond)
		r.light("1")
		if r.run(5 * time.Second); !r.is("cranking2") || r.is("cranking1") {
			t.Fatal("the second one does not wait")
		}
		if given {
			r.set("lever1", "shut")
		}
		r.until(30*time.Second, func() bool { return !r.is("cranking2") }, "cut-out")
		if r.run(time.Second); r.is("cranking1") == given {
			t.Errorf("given up %v: cranking %v", given, r.is("cranking1"))
		}
	}
}

// Dry motoring blows out fuel that lies unburned, and cools a turbine that is hot from the run before: FAA-H-8083-32, turbine
// starts, from memory. Without it the next start finds both.
func TestDryMotoringClearsAnEngine(t *testing.T) {
	flooded := func(motored bool) *rig {
		r := onTheCart(t)
		r.fail("eng1.no_light", 1)
		r.light("1")
		r.run(20 * time.Second)
		r.set("lever1", "shut")
		r.run(20 * time.Second)
		if motored {
			r.set("start1", "pressed")
		}
		r.run((motorLatchS + 60) * time.Second)
		r.fail("eng1.no_light", 0)
		return r
	}
	peak := func(r *rig) float64 {
		r.light("1")
		highest := 0.0
		r.run(10*time.Second, func() { highest = max(highest, r.read("tot1")) })
		return highest
	}
	if wet, dry, healthy := peak(flooded(false)), peak(flooded(true)), peak(onTheCart(t)); wet < healthy+30 || dry > healthy+5 {
		t.Errorf("TOT in the first 10 s: %.0f °C flooded, %.0f motored, %.0f healthy", wet, dry, healthy)
	}

	r := newRig(t, dunlin(t), fairWeather, "running")
	r.set("ext_power", "on")
	r.set("lever1", "shut")
	r.run(60 * time.Second)
	left := &rig{t, r.Clone()}
	limit := r.profile.Systems.Turbine.Residual
	if hot := r.read("tot1"); hot < limit {
		t.Fatalf("%.0f °C a minute after it has run hard", hot)
	}
	r.set("start1", "pressed")
	r.run((motorLatchS + 1) * time.Second)
	left.run((motorLatchS + 1) * time.Second)
	if r.read("tot1") > limit || left.read("tot1") < limit {
		t.Errorf("motored %.0f °C, left alone %.0f °C", r.read("tot1"), left.read("tot1"))
	}
}
