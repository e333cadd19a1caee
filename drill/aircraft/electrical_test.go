package aircraft

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// A battery with an open-circuit voltage E behind R, loaded by a starter of resistance r with back voltage e and by other
// conductance G: V = (E/R + e/r)/(1/R + 1/r + G). Kirchhoff's laws; any textbook on circuits.
func TestStarterLoadAgainstEquivalentCircuit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		E := rapid.Float64Range(18, 27).Draw(t, "E")
		R := rapid.Float64Range(0.004, 0.05).Draw(t, "R")
		e := rapid.Float64Range(0, 12).Draw(t, "e")
		r := rapid.Float64Range(0.01, 0.1).Draw(t, "r")
		G := rapid.Float64Range(0.001, 5).Draw(t, "G")
		n := network{load: G}
		*n.add() = source{volts: E, ohms: R, takesOhms: R, least: -math.MaxFloat64, most: math.MaxFloat64}
		*n.add() = source{volts: e, ohms: 1, takesOhms: r, least: -math.MaxFloat64}
		want := (E/R + e/r) / (1/R + 1/r + G)
		before := rapid.Float64Range(0, 30).Draw(t, "before")
		if got := n.balance(before); math.Abs(got-want) > 1e-5 {
			t.Fatalf("%v V, want %v", got, want)
		}
	})
}

// The same on the whole aircraft, with the figures of the profile and the currents that it reports itself.
func TestBatterySagsAsItsCircuitSays(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "")
	r.prepare()
	r.light("1")
	r.run(2*time.Second, func() {
		want := r.model.openVolts(r.Aircraft) - r.model.batteryOhms(r.Aircraft)*r.read("amps")
		if math.Abs(r.read("volts")-want) > 0.01 {
			t.Fatalf("%v V, want %v", r.read("volts"), want)
		}
	})
	st := r.profile.Systems.Starter
	want := (r.read("volts") - st.BackVolts*r.read("n1_1")) / st.Ohms
	if got := r.model.elec.starterAmps[0]; math.Abs(got-want) > 25 { // N1 has moved on by one step since
		t.Errorf("starter takes %v A, want %v", got, want)
	}
}

func TestChargeIsBooked(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "")
	r.prepare()
	before, ampSeconds := r.read("charge"), 0.0
	r.run(5*time.Minute, func() { ampSeconds += r.read("amps") * stepSeconds })
	want := before - 100*ampSeconds/3600/r.profile.Systems.Electrical.Battery.CapacityAh
	if got := r.read("charge"); math.Abs(got-want) > 1e-6 || got >= before {
		t.Errorf("charge %v %%, want %v", got, want)
	}
	r.set("ext_power", "on")
	low := r.read("charge")
	r.run(time.Minute)
	if r.read("charge") <= low || r.read("amps") >= 0 {
		t.Errorf("external power does not charge the battery: %v A", r.read("amps"))
	}
}

func TestBusesDropTheirLoads(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "")
	r.prepare()
	r.set("avionics", "essential")
	r.set("inverter", "on")
	r.run(4 * time.Second)
	if !r.is("avionics1_bus") || !r.is("ac_bus") {
		t.Fatal("the buses are not fed")
	}
	r.light("1")
	r.run(500 * time.Millisecond)
	if r.is("avionics1_bus") || r.is("ac_bus") || !r.is("main_bus") {
		t.Errorf("at %v V: avionics %v, AC %v, main %v", r.read("volts"), r.is("avionics1_bus"), r.is("ac_bus"), r.is("main_bus"))
	}
	r.run(40 * time.Second)
	if !r.is("avionics1_bus") || !r.is("ac_bus") {
		t.Error("the buses do not come back")
	}
}

func TestNothingLivesWithoutPower(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "")
	r.run(5 * time.Second)
	for i := range r.profile.Gauges {
		if _, _, alive := r.Gauge(i); alive {
			t.Errorf("%s is alive", r.profile.Gauges[i].ID)
		}
	}
	for i := range r.profile.Captions {
		if r.Lit(i) {
			t.Errorf("%s is lit", r.profile.Captions[i].ID)
		}
	}
	for i := range r.profile.Alerts {
		if r.AlertState(i) != Silent {
			t.Errorf("%s sounds", r.profile.Alerts[i].ID)
		}
	}
}

func TestGeneratorCutsInByItsSwitchAndSpeed(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "")
	r.prepare()
	r.set("gen1", "on")
	r.light("1")
	r.until(60*time.Second, func() bool { return r.is("gen_online1") }, "generator")
	if r.read("n1_1") < r.profile.Systems.Electrical.Generators.CutInN1 || r.is("cranking1") {
		t.Errorf("on line at N1 %v, cranking %v", r.read("n1_1"), r.is("cranking1"))
	}
	r.run(20 * time.Second)
	if v := r.read("volts"); v < 27 || v > 28.6 { // generator bus about 28 V: common practice, no source
		t.Errorf("%v V on the generator", v)
	}
	r.set("gen1", "off")
	r.run(40 * time.Millisecond)
	if r.is("gen_online1") || r.read("load1") != 0 {
		t.Error("on line though switched off")
	}
}
