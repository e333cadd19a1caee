package aircraft

import (
	"flag"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"
)

var long = flag.Bool("long", false, "10,000 random press sequences over each profile instead of 1,500; with -short 150")

// spans is what each indication of the model can physically be; the number at the end of a name is left out.
var spans = map[string][2]float64{
	"volts": {0, 30}, "amps": {-1000, 3000}, "charge": {0, 100}, "batt_temp": {-50, 200}, "fuel": {0, 400}, "nr": {0, maxSpeedPct},
	"gbx_press": {0, 8}, "gbx_temp": {-50, 200}, "oat": {-50, 60}, "height": {0, maxHeightM}, "climb": {-60, 60}, "stick_force": {0, 1},
	"n1_": {0, maxSpeedPct}, "n2_": {0, maxSpeedPct}, "tot": {-50, 2200}, "tot_peak": {-50, 2200}, "trq": {0, 250}, "oil_press": {0, 10}, "oil_temp": {-50, 250},
	"load": {0, 150}, "fuel_press": {0, 2}, "flow": {0, 400}, "over": {0, 1e6}, "hyd_press": {0, 160},
	"rpm": {0, maxSpeedPct}, "map": {0, 1.1 * standardInHg}, "power": {-100, 200}, "carb_temp": {-90, 150}, "head_temp": {-50, 300},
	"ice": {0, 100}, "belt_tension": {0, 100}, "belt_temp": {-50, 1000}, "touchdown": {0, 60}, "brake_temp": {-50, brakeMostC}, "starter_time": {0, 1e6},
	"idle_time": {0, 1e6}, "mag_drop": {0, maxSpeedPct}, "turn": {-1000, 1000},
}

// checkRanges fails the test if anything that the aircraft shows cannot be.
func (r *rig) checkRanges() {
	r.Helper()
	for _, in := range indications(&r.profile.Systems) {
		v := r.read(in.name)
		span, ok := spans[strings.TrimRight(in.name, "12")]
		if !ok {
			span, ok = spans[in.name]
		}
		if !ok {
			span = [2]float64{0, 1}
		}
		if !(v >= span[0] && v <= span[1]) {
			r.Fatalf("%v: %s is %v", r.now, in.name, v)
		}
		if !(v >= in.low && v <= in.high) { // what is told to whoever writes conditions
			r.Fatalf("%v: %s is %v, and is told to be from %v to %v", r.now, in.name, v, in.low, in.high)
		}
	}
	for i := range r.profile.Gauges {
		g := &r.profile.Gauges[i]
		if v, _, _ := r.Gauge(i); !(v >= g.Min && v <= g.Max) {
			r.Fatalf("%v: gauge %s shows %v", r.now, g.ID, v)
		}
	}
	for i, v := range r.Readings() {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			r.Fatalf("%v: reading %d is %v", r.now, i, v)
		}
	}
}

// Whatever is pressed, in whatever order, and whatever has failed: everything that is shown stays possible.
func TestRandomPresses(t *testing.T) {
	for _, name := range everyProfile(t) {
		t.Run(name, func(t *testing.T) { randomPresses(t, profileOf(t, name)) })
	}
}

func randomPresses(t *testing.T, p *Profile) {
	sequences := 1500
	if testing.Short() {
		sequences = 150
	}
	if *long {
		sequences = 10000
	}
	var from []*rig
	for _, w := range []Weather{fairWeather, {OAT: 45, Altitude: 9000, Tailwind: 30}, {OAT: -35, Altitude: -1000, Humidity: 100}} {
		for _, state := range []string{"", "running", "hover"} {
			from = append(from, newRig(t, p, w, state))
		}
	}
	draw := rand.New(rand.NewPCG(20, 26))
	for n := range sequences {
		r := &rig{t, from[n%len(from)].Clone()}
		for range 30 {
			control := draw.IntN(len(p.Controls))
			r.Move(control, draw.IntN(p.Controls[control].Count()+2)-1)
			switch draw.IntN(8) {
			case 0:
				r.Aircraft.Fail(draw.IntN(len(p.points)+2)-1, draw.Float64()*1.2-0.1)
			case 1:
				r.SilenceAlerts()
			case 2:
				r.Drain(func(Change) {})
			}
			// Many short waits and a few long ones.
			r.run(time.Duration(draw.ExpFloat64() * float64(400*time.Millisecond)))
			r.checkRanges()
		}
	}
}

// An aircraft and its clone do the same from the same moment on, and the one does not touch the other.
func TestCloneGoesTheSameWay(t *testing.T) {
	a := newRig(t, dunlin(t), fairWeather, "hover")
	b := &rig{t, a.Clone()}
	for _, r := range []*rig{a, b} {
		r.fail("eng2.flameout", 1)
		r.run(3 * time.Second)
		r.set("collective", "40")
		r.run(10 * time.Second)
	}
	if !slices.Equal(a.Readings(), b.Readings()) || !slices.Equal(a.heard(), b.heard()) {
		t.Error("they differ")
	}
	before := slices.Clone(a.Readings())
	b.set("lever1", "shut")
	b.run(5 * time.Second)
	if !slices.Equal(a.Readings(), before) {
		t.Error("the clone moves the original")
	}
}

// An aircraft that has become another one does as that one does from then on, on its own time, and does not touch it; what it
// has shown until then ends as it is no longer so.
func TestBecomesAnother(t *testing.T) {
	p := dunlin(t)
	settled := newRig(t, p, fairWeather, "hover")
	before := slices.Clone(settled.Readings())
	a := newRig(t, p, fairWeather, "hover")
	a.fail("eng1.flameout", 1)
	a.fail("eng2.flameout", 1)
	a.set("lever1", "shut")
	a.run(20 * time.Second)
	if a.is("airborne") || !a.Lit(mustCaption(t, p, "rotor_low")) {
		t.Fatal("still flies")
	}
	now := a.Now()
	a.Become(settled.Aircraft)
	b := &rig{t, settled.Clone()}
	if a.Now() != now {
		t.Errorf("time goes from %v to %v", now, a.Now())
	}
	out := false
	a.Drain(func(Change) {})
	a.run(StepLength)
	a.Drain(func(c Change) { out = out || c.Kind == CaptionOut && c.Index == mustCaption(t, p, "rotor_low") })
	if !out {
		t.Error("nothing says that the low rotor light is out")
	}
	a.run(10 * time.Second)
	b.run(10*time.Second + StepLength)
	for _, name := range []string{"nr", "height", "n1_1", "tot2", "volts"} {
		if x, y := a.read(name), b.read(name); x != y {
			t.Errorf("%s is %v, and %v in the other", name, x, y)
		}
	}
	if !slices.Equal(settled.Readings(), before) {
		t.Error("it moves the other one")
	}
}

func mustCaption(t *testing.T, p *Profile, id string) int {
	t.Helper()
	i, ok := p.CaptionIndex(id)
	if !ok {
		t.Fatal(id)
	}
	return i
}

// Two aircraft that go through the same do the same to the last bit.
func TestSameInputsSameReadings(t *testing.T) {
	var first []float64
	for range 3 {
		r := newRig(t, dunlin(t), fairWeather, "hover") // compiled anew: nothing may hang on the order of a map
		r.fail("eng1.governor_low", 0.5)
		r.set("cabin_heat", "on")
		r.run(20 * time.Second)
		if first == nil {
			first = slices.Clone(r.Readings())
		}
		if !slices.Equal(first, r.Readings()) {
			t.Error("they differ")
		}
	}
}

func TestStepDoesNotAllocate(t *testing.T) {
	for _, name := range everyProfile(t) {
		r := newRig(t, profileOf(t, name), fairWeather, "hover")
		r.fail("eng1.oil_leak", 1)
		r.fail("eng1.governor_low", 1)
		drain := func(Change) {}
		n := testing.AllocsPerRun(500, func() {
			r.Step()
			r.Drain(drain)
			r.SilenceAlerts()
		})
		if n != 0 {
			t.Errorf("%s: %v allocations a step", name, n)
		}
	}
}

// Whoever never drains loses the newest changes, and nothing else.
func TestChangesAreBounded(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "running")
	doors := mustIndex(t, r.profile, "doors")
	for n := range 5000 {
		r.Move(doors, n%2)
		r.run(40 * time.Millisecond)
	}
	if n := len(r.heard()); n == 0 || n > changesKept(r.profile) {
		t.Errorf("%d changes", n)
	}
}

func TestFailTakesAnySeverity(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "")
	for given, want := range map[float64]float64{-1: 0, 0.5: 0.5, 2: 1, math.Inf(1): 1} {
		r.Aircraft.Fail(0, given)
		if got := r.Severity(0); got != want {
			t.Errorf("%v is taken as %v", given, got)
		}
	}
	r.Aircraft.Fail(0, math.NaN())
	if got := r.Severity(0); got != 0 {
		t.Errorf("NaN is taken as %v", got)
	}
	r.Aircraft.Fail(-1, 1)
	r.Aircraft.Fail(10000, 1)
	r.Move(-1, 0)
	r.Move(0, -1)
	r.Move(10000, 0)
}
