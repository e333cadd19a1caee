package aircraft

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// fires takes the trainer from cold to its idle, belt slack.
func (r *rig) fires() {
	r.Helper()
	for _, m := range [][2]string{
		{"rotor_brake", "off"}, {"harness", "fastened"}, {"doors", "closed"}, {"fuel_valve", "open"}, {"battery", "on"},
		{"mixture", "rich"}, {"mag_left", "on"}, {"mag_right", "on"}, {"throttle", "5"},
	} {
		r.set(m[0], m[1])
	}
	r.run(time.Second)
	r.set("starter", "on")
	r.until(4*time.Second, func() bool { return r.read("rpm") > 40 }, "firing")
	r.set("alternator", "on")
	r.run(10 * time.Second)
}

// The pressure behind a throttle is where what goes in is what comes out: the closed form against the equation it solves.
func TestManifoldPressureSolvesItsEquation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		passage := rapid.Float64Range(0.001, 100).Draw(t, "passage")
		taken := rapid.Float64Range(0.001, 1.5).Draw(t, "taken")
		x := filled(passage, taken)
		in, out := passage*passage*(1-x), taken*taken*x*x
		if !(x > 0 && x <= 1) || math.Abs(in-out) > 1e-9*max(in, out)+1e-12*passage*passage {
			t.Fatalf("x %v: %v goes in, %v out", x, in, out)
		}
		if wider := filled(passage*1.1, taken); wider < x {
			t.Fatalf("a wider throttle gives %v, before %v", wider, x)
		}
	})
}

// A manifold gauge at rest shows the pressure outside: 29.92 inches at sea level, 24.90 at 5000 ft, 20.58 at 10,000 ft
// (standard atmosphere, ICAO Doc 7488; the inches as in the tables of the handbooks, from memory).
func TestManifoldPressureAtRest(t *testing.T) {
	for feet, want := range map[float64]float64{0: 29.92, 5000: 24.90, 10000: 20.58} {
		r := newRig(t, whinchat(t), Weather{OAT: 15, Altitude: feet}, "")
		r.set("battery", "on")
		r.run(time.Second)
		if got := r.read("manifold"); math.Abs(got-want) > 0.02 {
			t.Errorf("%v ft: %.2f in, want %.2f", feet, got, want)
		}
	}
}

// tightens has the belt drawn up by hand, by the book: the first notch until the needles are together, then over centre.
func (r *rig) tightens() {
	r.Helper()
	r.set("belt_lever", "1")
	r.until(time.Minute, func() bool { return r.read("rpm")-r.read("nr") < 2 }, "needles together")
	r.set("belt_lever", "4")
	r.set("belt_latch", "shut")
	r.until(5*time.Second, func() bool { return r.read("belt_tension") > 99 }, "tight belt")
}

// A healthy start and run-up, in the figures of common practice (no source): it fires within seconds, idles at about half
// of its RPM, the belt is tight within a minute with the needles together, one magneto costs two to four percent within three
// seconds, the needles split as the throttle is chopped, and the governor holds 100 %.
func TestHealthyPistonRunUp(t *testing.T) {
	r := newRig(t, whinchat(t), fairWeather, "")
	r.fires()
	if rpm, m := r.read("rpm"), r.read("manifold"); rpm < 40 || rpm > 60 || m < 7 || m > 14 || r.read("nr") != 0 {
		t.Errorf("idles at %.1f %% and %.1f in, rotor at %.1f %%", rpm, m, r.read("nr"))
	}
	if p := r.read("oil_press"); p < 2.2 {
		t.Errorf("oil at %.1f bar", p)
	}
	r.tightens()
	if !r.is("alight1") || r.read("rpm") != r.read("nr") {
		t.Errorf("alight %v, engine at %v and rotor at %v", r.is("alight1"), r.read("rpm"), r.read("nr"))
	}
	r.set("throttle", "25")
	r.run(40 * time.Second)
	if rpm := r.read("rpm"); rpm > r.profile.Systems.Piston.HoldFrom-2 {
		t.Errorf("the run-up is made at %.1f %%, where a governor would hide what is lost", rpm)
	}
	for _, other := range []string{"mag_left", "mag_right"} {
		r.set(other, "off")
		r.run(3 * time.Second)
		if drop := r.read("mag_drop1"); drop < 2 || drop > 4 {
			t.Errorf("drops by %.1f %% without %s", drop, other)
		}
		r.set(other, "on")
		r.run(20 * time.Second)
	}
	r.set("throttle", "0")
	r.run(2 * time.Second)
	if split := r.read("nr") - r.read("rpm"); split < 10 {
		t.Errorf("needles %.1f %% apart", split)
	}
	r.set("throttle", "35")
	r.run(20 * time.Second)
	r.set("speed_hold", "on")
	r.run(15 * time.Second)
	r.run(10*time.Second, func() {
		if rpm := r.read("rpm"); rpm < 99.5 || rpm > 100.5 {
			t.Fatalf("held at %.2f %%", rpm)
		}
	})
}

// A fouled plug shows: on the magneto that fires it the engine loses more than twice what it loses on the other, within as long as
// a look takes.
func TestFouledMagnetoShows(t *testing.T) {
	r := newRig(t, whinchat(t), fairWeather, "running")
	r.set("speed_hold", "off")
	r.set("throttle", "25")
	r.run(30 * time.Second)
	drop := func(other string) float64 {
		r.set(other, "off")
		r.run(2 * time.Second)
		lost := r.read("mag_drop1")
		r.set(other, "on")
		r.run(20 * time.Second)
		return lost
	}
	r.fail("eng1.mag_right", 0.35)
	if good, fouled := drop("mag_right"), drop("mag_left"); fouled < 2*good || fouled < 4 {
		t.Errorf("%.1f %% on the fouled one, %.1f on the good one", fouled, good)
	}
}

// Heads follow slowly, and by the law of a body that a fan cools: the faster the fan turns, the nearer to the air, and the sooner.
// With the fuel cut they cool exponentially, with the time constant that the fan leaves (Newton's law of cooling).
func TestCylinderHeadsCoolByTheFan(t *testing.T) {
	r := newRig(t, whinchat(t), fairWeather, "hover")
	r.run(2 * time.Minute)
	hot := r.read("head_temp")
	if hot < 140 || hot > 200 {
		t.Errorf("heads at %.0f °C in the hover", hot)
	}
	r.set("friction", "free")
	for _, notch := range []string{"50", "40", "0"} {
		r.set("collective", notch)
		r.run(5 * time.Second)
	}
	r.set("throttle", "0")
	r.run(30 * time.Second)
	if lost := hot - r.read("head_temp"); lost < 5 || lost > 35 {
		t.Errorf("they lose %.0f °C in the landing and half a minute at idle", lost)
	}
	r.set("mixture", "cut-off")
	r.until(10*time.Second, func() bool { return r.read("rpm") == 0 }, "standing engine")
	from, air, tau := r.read("head_temp"), fairWeather.OAT, r.profile.Systems.Piston.HeadS/stillAir
	at := 0.0
	r.run(2*time.Minute, func() {
		at += stepSeconds
		if want := air + (from-air)*math.Exp(-at/tau); math.Abs(r.read("head_temp")-want) > 0.1 {
			t.Fatalf("%.2f °C after %.0f s, want %.2f", r.read("head_temp"), at, want)
		}
	})
}

// A manifold gauge of an engine that stands is in no band, whatever the air outside; in flight its limit is one.
func TestManifoldLimitIsOneOfAnEngineThatRuns(t *testing.T) {
	r := newRig(t, whinchat(t), Weather{OAT: 5, Altitude: -1500}, "")
	r.set("battery", "on")
	r.run(time.Second)
	i, _ := r.profile.GaugeIndex("manifold")
	if value, band, alive := r.Gauge(i); !alive || value < 29 || band != White {
		t.Errorf("standing: %.1f in, %s", value, band)
	}
	r = newRig(t, whinchat(t), fairWeather, "hover")
	if value, band, _ := r.Gauge(i); band != Green {
		t.Errorf("in the hover: %.1f in, %s", value, band)
	}
	r.set("collective", "100")
	r.set("throttle", "60")
	r.until(10*time.Second, func() bool { _, band, _ := r.Gauge(i); return band == Red }, "red manifold pressure")
}

// The hover: governed within 3 % through the pull, green, and on less than the manifold limit.
func TestHealthyPistonHover(t *testing.T) {
	r := newRig(t, whinchat(t), fairWeather, "running")
	for _, notch := range []string{"10", "20", "30", "40", "50", "60"} {
		r.set("collective", notch)
		r.run(700*time.Millisecond, func() {
			if nr := r.read("nr"); nr < 97 || nr > 104 {
				t.Fatalf("NR %.1f %% on the way", nr)
			}
		})
	}
	r.run(20 * time.Second)
	if h := r.read("height"); !r.is("airborne") || h < 1 || h > 15 {
		t.Errorf("hovers at %.1f m", h)
	}
	for i := range r.profile.Gauges {
		if value, band, alive := r.Gauge(i); !alive || band != Green && band != White {
			t.Errorf("%s: %v is %s, alive %v", r.profile.Gauges[i].ID, value, band, alive)
		}
	}
	for i := range r.profile.Captions {
		if c := &r.profile.Captions[i]; c.Level != Advisory && r.Lit(i) {
			t.Errorf("%s is lit", c.ID)
		}
	}
}

// The belt passes on what it can and no more: a rotor alone takes up speed by exactly that torque, and what the engine
// turns with besides is what it has to spare. Newton's second law, on a belt that slips.
func TestSlippingBelt(t *testing.T) {
	r := newRig(t, whinchat(t), fairWeather, "")
	r.fires()
	r.set("belt_lever", "1")
	r.until(20*time.Second, func() bool { return r.read("nr") > 5 }, "rotor turning")
	for range 100 {
		before := r.read("nr")
		var d drive
		r.model.load(r.Aircraft, &d)
		r.Step()
		if r.model.rotor.driving[0] {
			t.Fatal("it does not slip")
		}
		d.engines = r.model.crank(r.Aircraft, d.full).carries
		if want := d.turn(before, stepSeconds); math.Abs(r.read("nr")-want) > 1e-9 {
			t.Fatalf("NR %v, want %v", r.read("nr"), want)
		}
		if r.read("rpm") <= r.read("nr") {
			t.Fatal("the engine is not the faster one")
		}
	}
}

// What slips heats: the belt takes up what the crankshaft gives to it and does not pass on, and cools by itself (the first law, on
// the torque and the two speeds that the test before holds to the second).
func TestSlippingHeatsTheBelt(t *testing.T) {
	p := whinchat(t)
	p.Systems.Clutch.CoolsS = 1e5
	r := newRig(t, p, fairWeather, "")
	r.fires()
	before, heat := r.read("belt_temp"), 0.0
	r.set("belt_lever", "1")
	r.run(15*time.Second, func() {
		var d drive
		r.model.load(r.Aircraft, &d)
		if !r.model.rotor.driving[0] {
			heat += r.model.rotor.drivenNm * d.full * (r.read("rpm") - r.read("nr")) / 100 * stepSeconds
		}
	})
	if rise, want := r.read("belt_temp")-before, heat/p.Systems.Clutch.HeatJPerK; rise < 5 || math.Abs(rise-want) > 0.03*want {
		t.Errorf("%.2f K, and %.2f by what slipped", rise, want)
	}
}

// A rotor that its brake holds still is not turned by a belt in its first notch: the belt slips, gets hot, and loses its grip.
func TestBrakeLeftOnCostsTheBelt(t *testing.T) {
	r := newRig(t, whinchat(t), fairWeather, "")
	r.fires()
	r.set("rotor_brake", "on")
	r.set("belt_lever", "1")
	r.run(30 * time.Second)
	if nr, hot := r.read("nr"), r.read("belt_temp"); nr > 0 || hot < 50 {
		t.Fatalf("rotor at %.1f %%, belt at %.0f °C", nr, hot)
	}
	held := r.model.belt.grip()
	r.until(5*time.Minute, func() bool { return r.is("belt_hot") }, "hot belt")
	r.run(2 * time.Minute)
	if now := r.model.belt.grip(); now >= held {
		t.Errorf("it grips with %.3f, and with %.3f when it was cool", now, held)
	}
}

// A lever that is thrown over at once stalls the engine: what a tight belt takes from a rotor that stands is more than an idle has.
func TestBeltThrownOverStallsTheEngine(t *testing.T) {
	r := newRig(t, whinchat(t), fairWeather, "")
	r.fires()
	r.set("belt_lever", "4")
	r.until(5*time.Second, func() bool { return !r.is("alight1") }, "stall")
}

// A belt may be drawn up by a motor as well: it runs until the belt is tight, again when that has stretched a little, and for ever
// when it cannot tighten it; and it slackens the belt when it is told to.
func TestBeltWithAMotor(t *testing.T) {
	p := whinchat(t)
	p.Systems.Clutch.Lever, p.Systems.Clutch.Engage = "", "belt_latch"
	p.Systems.Clutch.EngageS, p.Systems.Clutch.ReleaseS = 35, 12
	if faults := p.Compile(); len(faults) > 0 {
		t.Fatal(faults)
	}
	r := newRig(t, p, fairWeather, "")
	r.fires()
	r.set("belt_latch", "shut")
	r.run(time.Second)
	if !r.is("belt_motor") {
		t.Fatal("the motor does not run")
	}
	r.until(time.Minute, func() bool { return !r.is("belt_motor") }, "tight belt")
	if r.read("rpm") != r.read("nr") || !r.is("alight1") {
		t.Errorf("engine at %v and rotor at %v", r.read("rpm"), r.read("nr"))
	}
	r.fail("clutch.worn", 0.2)
	r.run(time.Second)
	if !r.is("belt_motor") {
		t.Error("it does not draw up what has stretched")
	}
	r.until(20*time.Second, func() bool { return !r.is("belt_motor") }, "tight belt again")
	r.fail("clutch.worn", 1)
	r.run(time.Minute)
	if !r.is("belt_motor") || r.read("belt_tension") > 60 {
		t.Errorf("motor %v at %.0f %%, of a belt that cannot be tightened", r.is("belt_motor"), r.read("belt_tension"))
	}
	r.set("belt_latch", "open")
	r.until(20*time.Second, func() bool { return !r.is("belt_motor") }, "slack belt")
	if r.read("belt_tension") != 0 {
		t.Errorf("slack at %.1f %%", r.read("belt_tension"))
	}
}

// Taking hold loses no angular momentum, whatever the two turned with before.
func TestBeltTakesHoldAtTheCommonMomentum(t *testing.T) {
	r := newRig(t, whinchat(t), fairWeather, "")
	r.fires()
	r.set("belt_lever", "1")
	momentum := func() float64 {
		var d drive
		r.model.load(r.Aircraft, &d)
		return d.inertia*r.read("nr") + r.model.crank(r.Aircraft, d.full).inertia*r.read("rpm")
	}
	for !r.model.rotor.driving[0] {
		before := momentum()
		r.Step()
		if r.now > 2*time.Minute {
			t.Fatal("never takes hold")
		}
		// In 20 ms neither engine nor rotor changes its momentum by more than a few percent of a percent.
		if after := momentum(); r.read("nr") > 5 && math.Abs(after-before) > 0.01*before {
			t.Fatalf("from %v to %v", before, after)
		}
	}
}

// Carburettor ice: it grows in drizzle where the throat is cold, hides behind the governor, then takes the rotor; full heat
// melts it. Not in dry air, not on a hot day, and not with the engine off.
func TestCarburettorIce(t *testing.T) {
	p := whinchat(t)
	cold := func(w Weather, drizzle float64) *rig {
		r := newRig(t, p, w, "hover")
		r.set("carb_heat", "0")
		r.fail("eng1.moist", drizzle)
		return r
	}
	r := cold(Weather{OAT: 12}, 1)
	held := r.read("manifold")
	r.until(time.Minute, func() bool { return r.read("ice1") > 25 }, "ice")
	if nr := r.read("nr"); nr < 99 {
		t.Errorf("NR is at %.1f %% already, and no governor hides anything", nr)
	}
	if trim := r.model.engines[0].piston.trimPct; trim < 1 {
		t.Errorf("the governor has opened the throttle by %.1f %%", trim)
	}
	r.until(2*time.Minute, func() bool { return r.read("nr") < 90 && r.read("manifold") < held-2 }, "loss of rotor speed and manifold pressure")
	r.set("carb_heat", "100")
	r.set("collective", "0")
	r.until(2*time.Minute, func() bool { return r.read("ice1") == 0 }, "melting")

	for name, w := range map[string]Weather{"dry": {OAT: 12}, "hot": {OAT: 38, Humidity: 100}} {
		drizzle := 0.0
		if name == "hot" {
			drizzle = 1
		}
		r := cold(w, drizzle)
		r.run(2 * time.Minute)
		if r.read("ice1") > 0 {
			t.Errorf("%s: %.1f %% ice", name, r.read("ice1"))
		}
	}
	damp, dry := cold(Weather{OAT: 12, Humidity: 95}, 0), cold(Weather{OAT: 12, Humidity: 60}, 0)
	damp.run(time.Minute)
	dry.run(time.Minute)
	if !(damp.read("ice1") > dry.read("ice1") && dry.read("ice1") > 0) {
		t.Errorf("%.2f %% ice in damp air, %.2f in drier", damp.read("ice1"), dry.read("ice1"))
	}
	parked := newRig(t, p, Weather{OAT: 12, Humidity: 100}, "")
	parked.fail("eng1.moist", 1)
	parked.run(2 * time.Minute)
	if parked.read("ice1") > 0 {
		t.Error("ice in an engine that stands")
	}
}

// More of what makes ice never makes less of it, and more heat never more.
func TestIceIsMonotonic(t *testing.T) {
	p := whinchat(t)
	grown := func(oat, drizzle float64, heat string) float64 {
		r := newRig(t, p, Weather{OAT: oat}, "hover")
		r.set("carb_heat", heat)
		r.fail("eng1.moist", drizzle)
		r.run(20 * time.Second)
		return r.read("ice1")
	}
	rapid.Check(t, func(t *rapid.T) {
		oat, drizzle := rapid.Float64Range(10, 25).Draw(t, "oat"), rapid.Float64Range(0, 0.8).Draw(t, "drizzle")
		base := grown(oat, drizzle, "0")
		if more := grown(oat, drizzle+0.2, "0"); more < base {
			t.Fatalf("%v %% with more drizzle, before %v", more, base)
		}
		if heated := grown(oat, drizzle, "100"); heated > base {
			t.Fatalf("%v %% with heat, without %v", heated, base)
		}
	})
}

// Warm air is thin: full carburettor heat costs power, which the governor makes up for with manifold pressure (common
// practice, no source; by the perfect-gas law the charge goes with the absolute temperature).
func TestCarburettorHeatCostsManifoldPressure(t *testing.T) {
	r := newRig(t, whinchat(t), fairWeather, "hover")
	r.set("carb_heat", "0")
	r.run(20 * time.Second)
	without := r.read("manifold")
	r.set("carb_heat", "50")
	r.run(20 * time.Second)
	if more := r.read("manifold"); more < without+1 {
		t.Errorf("%.1f in with heat, %.1f without", more, without)
	}
}

// Power lost in the hover: the freewheel lets the rotor go on, and it slows by the closed form (Johnson, Helicopter Theory,
// 1980, from memory; see rotor_test.go).
func TestPistonPowerLossFollowsTheLaw(t *testing.T) {
	p := whinchat(t)
	p.Systems.Rotor.Friction = 0
	r := newRig(t, p, fairWeather, "hover")
	r.set("mixture", "cut-off")
	r.until(time.Second, func() bool { return r.read("rpm") < r.read("nr") }, "freewheel")
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

// An engine that is asked for more than it has stalls, and so does one without fuel, spark or air enough.
func TestPistonStops(t *testing.T) {
	p := whinchat(t)
	for control, position := range map[string]string{"mag_left": "off", "mixture": "cut-off", "fuel_valve": "closed"} {
		r := newRig(t, p, fairWeather, "running")
		if r.set(control, position); control == "mag_left" {
			r.set("mag_right", "off")
		}
		r.until(10*time.Second, func() bool { return r.read("rpm") == 0 && !r.is("alight1") }, control+" "+position)
		if r.read("nr") < 30 {
			t.Errorf("%s: the rotor stops with it", control)
		}
	}
}

// Full throttle at sea level gives the rated power, and less the higher it is.
func TestPistonPowerWithHeight(t *testing.T) {
	p := whinchat(t)
	last := math.Inf(1)
	for _, feet := range []float64{0, 3000, 6000, 9000} {
		r := newRig(t, p, Weather{OAT: 15, Altitude: feet}, "running")
		r.set("carb_heat", "0")
		r.set("collective", "100")
		r.set("throttle", "100")
		best := 0.0
		r.run(12*time.Second, func() {
			if rpm := r.read("rpm"); rpm > 90 && rpm < 105 {
				best = max(best, r.read("power1"))
			}
		})
		if best >= last || feet == 0 && best < 100 {
			t.Errorf("%v ft: %.1f %%, lower down %.1f", feet, best, last)
		}
		last = best
	}
}

// How soon one magneto shows is a matter of what the engine turns. Alone, with its belt slack, it has settled within two seconds; with
// the rotor on the belt it follows 1 - exp(-t/tau), where tau is the moment of inertia over the slope of what is left of torque
// against speed: the law of a body with a drag in proportion to its speed. That is why a drop is looked for in the first seconds.
func TestMagnetoDropFollowsWhatTheEngineTurns(t *testing.T) {
	settles := func(r *rig) (nine float64, final float64) {
		ends := newRig(t, whinchat(t), fairWeather, "")
		ends.Become(r.Aircraft)
		ends.set("mag_left", "off")
		ends.run(40 * time.Second)
		final = ends.read("mag_drop1")
		began := r.now
		r.set("mag_left", "off")
		r.until(40*time.Second, func() bool { return r.read("mag_drop1") >= 0.9*final }, "nine tenths")
		return (r.now - began).Seconds(), final
	}
	alone := newRig(t, whinchat(t), fairWeather, "")
	alone.fires()
	alone.run(20 * time.Second)
	if nine, final := settles(alone); nine > 2 || final < 3 {
		t.Errorf("with the belt slack nine tenths of %.1f %% take %.1f s", final, nine)
	}

	r := newRig(t, whinchat(t), fairWeather, "running")
	r.set("speed_hold", "off")
	r.set("throttle", "25")
	r.run(60 * time.Second)
	s, full := r.profile.Systems.Piston, r.profile.Systems.Rotor.RPM*(2*math.Pi/60)
	ratio := s.full() / full
	inertia := r.profile.Systems.Rotor.Inertia + float64(s.Inertia*ratio*ratio)
	// The share of the second plug is what torque it costs at once, and where that brings the engine to gives the slope.
	lost, before := s.SecondPlug*r.model.engines[0].piston.gasNm*ratio, r.read("rpm")
	nine, final := settles(r)
	slope := lost / (final / 100 * full)
	if want := math.Log(10) * inertia / slope; before > s.HoldFrom || math.Abs(nine-want) > 0.15*want {
		t.Errorf("nine tenths of %.2f %% take %.2f s; %.0f kg m² and %.1f N m s give %.2f", final, nine, inertia, slope, want)
	}
	t.Logf("%.0f kg m² on the belt, %.1f N m s: nine tenths of %.2f %% in %.1f s", inertia, slope, final, nine)
}
