package aircraft_test

import (
	"math"
	"testing"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/library"
)

func around(t *testing.T, name string, w aircraft.Weather, state string) *aircraft.Aircraft {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	p, err := lib.Profile(name)
	if err != nil {
		t.Fatal(err)
	}
	a, err := aircraft.New(p, w, state)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func reading(t *testing.T, a *aircraft.Aircraft, p *aircraft.Profile, name string) float64 {
	t.Helper()
	what, ok := p.Scope()[name]
	if !ok {
		t.Fatalf("%s has no %s", p.Name, name)
	}
	return a.Readings()[what.Slot]
}

func profileOf(t *testing.T, name string) *aircraft.Profile {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	p, err := lib.Profile(name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func run(a *aircraft.Aircraft, d time.Duration) {
	for end := a.Now() + d; a.Now() < end; {
		a.Step()
	}
}

// An aircraft that is put into other air ends up as one that has been in it all along: the engine's speed and temperature, the rotor, what
// the air itself shows. It runs on the ground, and was started well in both: in the hover an aircraft in thinner air would have sunk.
func TestOtherAirIsAsIfItHadBeenThere(t *testing.T) {
	hot := aircraft.Weather{OAT: 25, Altitude: 1500, Humidity: 20}
	for name, readings := range map[string][]string{
		"dunlin-lt": {"oat", "n1_1", "tot1", "nr", "trq1"}, "turnstone-st": {"oat", "n1_1", "tot1", "nr", "trq1"}, "whinchat-pt": {"oat", "nr", "trq1"},
	} {
		p := profileOf(t, name)
		a, b := around(t, name, aircraft.Weather{OAT: -10}, "running"), around(t, name, hot, "running")
		if err := a.SetWeather(hot); err != nil {
			t.Fatal(err)
		}
		if got := reading(t, a, p, "oat"); got != 25 || a.Weather() != hot {
			t.Errorf("%s: it is %g °C outside, %+v", name, got, a.Weather())
		}
		run(a, 2*time.Minute)
		run(b, 2*time.Minute)
		for _, what := range readings {
			if _, ok := p.Scope()[what]; !ok {
				continue
			}
			if is, was := reading(t, a, p, what), reading(t, b, p, what); math.Abs(is-was) > 0.5 {
				t.Errorf("%s: %s is %.2f, and of one that was there all along %.2f", name, what, is, was)
			}
		}
		before := a.Weather()
		if err := a.SetWeather(aircraft.Weather{OAT: 99}); err == nil || a.Weather() != before {
			t.Errorf("%s takes 99 °C: %+v", name, a.Weather())
		}
	}
}

// Fuel that is put in or taken out is there at once, also in an aircraft at rest, is shared among the tanks, and nothing else is moved by it.
func TestFuelIsSet(t *testing.T) {
	for _, name := range []string{"dunlin-lt", "turnstone-st", "whinchat-pt"} {
		p := profileOf(t, name)
		for _, state := range []string{"", "hover"} {
			a := around(t, name, aircraft.Weather{OAT: 15}, state)
			run(a, 5*time.Second)
			most := p.FuelMost()
			for _, kg := range []float64{most / 2, 0.1, most} {
				if err := a.SetFuel(kg); err != nil {
					t.Fatal(err)
				}
				if got := reading(t, a, p, "fuel"); math.Abs(got-kg) > 1e-9 || math.Abs(a.Fuel()-kg) > 1e-9 {
					t.Errorf("%s %s: %g kg are %g on the gauge and %g in the tanks", name, state, kg, got, a.Fuel())
				}
				a.Step()
				if got := a.Fuel(); got > kg || got < kg-0.05 {
					t.Errorf("%s %s: a step later %g kg are %g", name, state, kg, got)
				}
			}
			for _, kg := range []float64{-1, most + 1, math.NaN(), math.Inf(1)} {
				if err := a.SetFuel(kg); err == nil {
					t.Errorf("%s takes %g kg; it holds %g", name, kg, most)
				}
			}
		}
	}
}

// An engine in the hover whose fuel is all taken out stops.
func TestWithoutFuelTheEngineStops(t *testing.T) {
	p := profileOf(t, "turnstone-st")
	a := around(t, "turnstone-st", aircraft.Weather{OAT: 15}, "hover")
	if err := a.SetFuel(0); err != nil {
		t.Fatal(err)
	}
	run(a, 20*time.Second)
	if reading(t, a, p, "alight1") != 0 {
		t.Error("it burns nothing")
	}
}

// Ground power that somebody outside unplugs feeds nothing, whatever its switch says, and is not lit; it does and is again once it is plugged in. The battery goes on.
func TestGroundPowerIsUnplugged(t *testing.T) {
	p := profileOf(t, "dunlin-lt")
	a := around(t, "dunlin-lt", aircraft.Weather{OAT: 15}, "")
	for _, set := range []struct{ control, position string }{{"ext_power", "on"}, {"battery", "on"}} {
		i, _ := p.ControlIndex(set.control)
		to, _ := p.Controls[i].Index(set.position)
		a.Move(i, to)
	}
	run(a, time.Second)
	with := reading(t, a, p, "volts")
	lamp, _ := p.CaptionIndex("ext_power_on")
	lit := []bool{a.Lit(lamp)}
	a.PlugIn(false)
	run(a, time.Second)
	without := reading(t, a, p, "volts")
	lit = append(lit, a.Lit(lamp))
	a.PlugIn(true)
	run(a, time.Second)
	if lit = append(lit, a.Lit(lamp)); !lit[0] || lit[1] || !lit[2] {
		t.Errorf("GROUND PWR is lit %v", lit)
	}
	if again := reading(t, a, p, "volts"); with < 27 || without > with-2 || without < 20 || math.Abs(again-with) > 0.1 || !a.GroundPower() {
		t.Errorf("%.1f V, unplugged %.1f V, and plugged in again %.1f V", with, without, again)
	}
	if whinchat := profileOf(t, "whinchat-pt"); whinchat.HasGroundPower() {
		t.Error("the piston has ground power now: try what cannot be done elsewhere")
	}
}
