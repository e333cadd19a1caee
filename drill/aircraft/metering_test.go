package aircraft

import (
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// notch is one move of the throttle: at this N1, to this position.
type notch struct {
	n1 float64
	to int
}

// byTheBook is what a practised hand does on the single: the figures of its procedure, and the time to be told and to move.
func byTheBook() []notch { return []notch{{17, 20}, {27, 40}, {38, 60}} }

// handPrepare takes a cold single to where it can be started.
func (r *rig) handPrepare() {
	r.Helper()
	for _, m := range [][2]string{
		{"rotor_brake", "off"}, {"harness", "fastened"}, {"doors", "closed"}, {"valve_guard", "up"}, {"fuel_valve", "open"}, {"valve_guard", "down"},
		{"battery", "on"}, {"feed", "on"}, {"cyclic", "centred"}, {"pedals", "neutral"},
	} {
		r.set(m[0], m[1])
	}
	r.run(3 * time.Second)
}

// handStart starts the single by hand, lets go of the starter at 50 %, and watches for so long.
func (r *rig) handStart(d time.Duration, moves []notch, each ...func()) start {
	r.Helper()
	s := start{volts: r.read("volts"), sag: 99}
	begun, cold := r.now, r.read("tot")
	r.set("starter", "on")
	each = append(each, func() {
		n1, tot := r.read("n1"), r.read("tot")
		for len(moves) > 0 && n1 >= moves[0].n1 {
			r.set("throttle", strconv.Itoa(moves[0].to))
			moves = moves[1:]
		}
		if n1 >= 50 {
			r.set("starter", "off")
		}
		s.sag, s.peak = min(s.sag, r.read("volts")), max(s.peak, tot)
		if s.lightOff == 0 && tot > cold+5 {
			s.lightOff = n1
		}
		if s.idle == 0 && n1 >= 55 && !r.is("cranking1") {
			s.idle = r.now - begun
		}
	})
	r.run(d, each...)
	s.left = len(moves)
	return s
}

// A healthy start by hand, in the figures of common practice (no source): about 24 V before, sagging to between 15 and 22 V,
// light-off between 12 and 20 % N1, TOT peaking around 700 °C, well below its limit, idle in 25 to 30 s. The rotor turns by about
// 25 % N1 and is at two thirds of its speed at idle. The engine keeps speeding up without its starter from 50 %: about 40 to 55 % on small turboshafts (FAA-H-8083-32, the number from memory).
func TestHealthyStartByHand(t *testing.T) {
	r := newRig(t, turnstone(t), fairWeather, "")
	r.handPrepare()
	s := r.handStart(60*time.Second, byTheBook())
	if s.volts < 24 || s.volts > 25.5 || s.sag < 15 || s.sag > 22 {
		t.Errorf("%.1f V, sagging to %.1f", s.volts, s.sag)
	}
	if s.lightOff < 12 || s.lightOff > 20 || s.peak < 670 || s.peak > 720 {
		t.Errorf("lights at %.1f %% and peaks at %.0f °C", s.lightOff, s.peak)
	}
	if s.idle < 24*time.Second || s.idle > 30*time.Second {
		t.Errorf("idle after %v", s.idle)
	}
	if n1, nr := r.read("n1"), r.read("nr"); n1 < 55 || n1 > 59 || nr < 65 || nr > 70 {
		t.Errorf("idles at N1 %.1f and NR %.1f %%", n1, nr)
	}
	if r.read("over1") != 0 || r.is("oil") {
		t.Errorf("%v s over, oil caption %v", r.read("over1"), r.is("oil"))
	}
}

// The hover of a single, common practice, no source: NR and N2 within 99 and 102 % once it hangs, TOT and torque below their
// limits. A collective that is drawn up unhurriedly costs a few percent of NR; one that is torn up costs the horn.
func TestHealthyHoverOfASingle(t *testing.T) {
	for every, least := range map[time.Duration]float64{1500 * time.Millisecond: 97, 700 * time.Millisecond: 95, 250 * time.Millisecond: 85} {
		r := newRig(t, turnstone(t), fairWeather, "running")
		lowest := 200.0
		watch := func() { lowest = min(lowest, r.read("nr")) }
		for _, notch := range []string{"10", "20", "30", "40", "50", "60"} {
			r.set("collective", notch)
			r.run(every, watch)
		}
		r.run(15*time.Second, watch)
		if lowest < least || every < 500*time.Millisecond && lowest > 95 {
			t.Errorf("a notch every %v: NR down to %.1f %%", every, lowest)
		}
		for _, id := range []string{"nr", "n2"} {
			if v := r.read(id); v < 99 || v > 102 {
				t.Errorf("hovers with %s at %.1f %%", id, v)
			}
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
}

// Too much too early is a hot start (TM 1-1500-204-23-1 and FAA-H-8083-3: the exhaust temperature goes through its limit); the
// fuel cut in time, it turns, and the engine remembers nothing; left in, it goes far through the limit.
func TestTooMuchFuelIsAHotStart(t *testing.T) {
	for _, inTime := range []bool{true, false} {
		r := newRig(t, turnstone(t), fairWeather, "")
		r.handPrepare()
		s := r.handStart(60*time.Second, []notch{{13.5, 40}}, func() {
			if inTime && r.read("tot") > 720 {
				r.set("throttle", "0")
			}
		})
		if inTime && (s.peak > 800 || r.read("over1") > 0 || r.read("tot") > 300) {
			t.Errorf("cut in time: peaks at %.0f °C, %v s over, %.0f °C at last", s.peak, r.read("over1"), r.read("tot"))
		}
		if !inTime && (s.peak < 875 || r.read("over1") < 1) {
			t.Errorf("left in: peaks at %.0f °C, %v s over", s.peak, r.read("over1"))
		}
	}
}

// Too little is a hung start, and so is a starter let go too early (the same sources: it lights, and stays slow).
func TestTooLittleIsAHungStart(t *testing.T) {
	p := turnstone(t)
	little := newRig(t, p, fairWeather, "")
	little.handPrepare()
	s := little.handStart(60*time.Second, []notch{{16, 20}, {27, 40}})
	if s.idle != 0 || little.read("n1") > 52 || !little.is("alight1") || s.peak > 760 {
		t.Errorf("too little fuel: %+v, N1 %.1f", s, little.read("n1"))
	}

	early := newRig(t, p, fairWeather, "")
	early.handPrepare()
	s = early.handStart(60*time.Second, byTheBook(), func() {
		if early.read("n1") > 24 {
			early.set("starter", "off")
		}
	})
	if s.idle != 0 || early.read("n1") > 50 {
		t.Errorf("starter let go at 24 %%: %+v, N1 %.1f", s, early.read("n1"))
	}
}

// An engine that was cut hot cools faster for the air that its starter draws through.
func TestMotoringCoolsAHotEngine(t *testing.T) {
	hot := newRig(t, turnstone(t), fairWeather, "")
	hot.handPrepare()
	hot.handStart(10*time.Second, []notch{{13.5, 40}})
	hot.set("throttle", "0")
	left := &rig{t, hot.Clone()}
	left.set("starter", "off")
	hot.run(20 * time.Second)
	left.run(20 * time.Second)
	if hot.read("tot") > left.read("tot")-30 {
		t.Errorf("%.0f °C with the starter on, %.0f without", hot.read("tot"), left.read("tot"))
	}
}

// The starter does what its switch says, until its contactor is welded; then only its bus stops it.
func TestStarterByHand(t *testing.T) {
	r := newRig(t, turnstone(t), fairWeather, "")
	r.handPrepare()
	r.set("starter", "on")
	r.run(time.Second)
	if !r.is("cranking1") {
		t.Fatal("does not turn")
	}
	r.set("starter", "off")
	r.run(40 * time.Millisecond)
	if r.is("cranking1") {
		t.Error("turns on though switched off")
	}
	r.set("starter", "on")
	r.run(time.Second)
	r.fail("eng1.starter_stuck", 1)
	r.set("starter", "off")
	r.run(time.Second)
	if !r.is("cranking1") || !r.is("starter_on") {
		t.Error("welded, and yet it lets go")
	}
	r.set("battery", "off")
	r.run(time.Second)
	if r.is("cranking1") {
		t.Error("turns without a battery")
	}
}

// The governor takes no more than the hand lets through: with the throttle drawn back, a running engine runs down.
func TestGovernorTakesNoMoreThanTheValveGives(t *testing.T) {
	p := turnstone(t)
	r := newRig(t, p, fairWeather, "hover")
	lever := mustIndex(t, p, "throttle")
	for range p.Controls[lever].Count() - 1 {
		r.Move(lever, r.Position(lever)-1)
		r.run(2*time.Second, func() {
			if open := p.Systems.Metering.Flow.at(r.read("throttle")); r.read("flow1") > open+1e-9 {
				t.Fatalf("%v kg/h through a valve that is open for %v", r.read("flow1"), open)
			}
		})
	}
	if r.is("alight1") || r.read("flow1") != 0 {
		t.Error("burns with the throttle closed")
	}
}

// peakByHand is the highest TOT of a start by hand, and how many of its moves N1 never came to. Most starts are past their peak after 50 s; one
// whose N1 has not reached 50 % by then, as on a weak battery, is watched for two minutes.
func peakByHand(t testing.TB, p *Profile, w Weather, weak float64, moves []notch) (peak float64, left int) {
	for _, watch := range []time.Duration{50 * time.Second, 2 * time.Minute} {
		r := newRig(t, p, w, "")
		r.fail("battery.weak", weak)
		r.handPrepare()
		s := r.handStart(watch, moves)
		if peak, left = s.peak, s.left; r.read("n1") >= 50 {
			break
		}
	}
	return peak, left
}

// More fuel, or the same fuel earlier, never lowers the peak; nor does a weaker battery, a hotter day, a higher field or more
// wind from behind. N1 is looked at in steps of 20 ms, in which it moves by up to 0.05 %: that is worth a degree. An engine that hangs below
// the N1 of a move, so that the hand never gives that fuel, is another start and is not compared.
func TestNothingAdverseCoolsAStartByHand(t *testing.T) {
	p := turnstone(t)
	rapid.Check(t, func(rt *rapid.T) {
		w := Weather{
			OAT:      rapid.Float64Range(-20, 35).Draw(rt, "oat"),
			Altitude: rapid.Float64Range(-500, 6000).Draw(rt, "altitude"),
			Tailwind: rapid.Float64Range(0, 20).Draw(rt, "tailwind"),
		}
		weak := rapid.Float64Range(0, 0.7).Draw(rt, "weak")
		moves := byTheBook()
		for i := range moves {
			moves[i].n1 += rapid.Float64Range(-1, 3).Draw(rt, "late")
		}
		more := rapid.Float64Range(0.05, 1).Draw(rt, "more")
		base, left := peakByHand(t, p, w, weak, moves)
		which := rapid.IntRange(0, len(moves)-1).Draw(rt, "which")
		earlier, wider := append([]notch(nil), moves...), append([]notch(nil), moves...)
		earlier[which].n1 -= 4 * more
		wider[which].to += 20
		for _, worse := range []struct {
			name string
			Weather
			weak  float64
			moves []notch
		}{
			{"earlier", w, weak, earlier},
			{"wider", w, weak, wider},
			{"weaker", w, weak + 0.3*more, moves},
			{"hotter", Weather{OAT: w.OAT + 20*more, Altitude: w.Altitude, Tailwind: w.Tailwind}, weak, moves},
			{"higher", Weather{OAT: w.OAT, Altitude: w.Altitude + 4000*more, Tailwind: w.Tailwind}, weak, moves},
			{"wind from behind", Weather{OAT: w.OAT, Altitude: w.Altitude, Tailwind: w.Tailwind + 15*more}, weak, moves},
		} {
			if peak, hangs := peakByHand(t, p, worse.Weather, worse.weak, worse.moves); hangs <= left && peak < base-1 {
				rt.Fatalf("%s: %.2f °C, before %.2f (%+v, weak %.2f, %v; %+v, weak %.2f, %v)",
					worse.name, peak, base, w, weak, moves, worse.Weather, worse.weak, worse.moves)
			}
		}
	})
}
