package aircraft

import (
	"slices"
	"testing"
	"time"
)

// rig is an aircraft with hands on it, for tests.
type rig struct {
	testing.TB
	*Aircraft
}

func newRig(tb testing.TB, p *Profile, w Weather, state string) *rig {
	tb.Helper()
	a, err := New(p, w, state)
	if err != nil {
		tb.Fatal(err)
	}
	return &rig{tb, a}
}

// set moves a control by its names.
func (r *rig) set(control, position string) {
	r.Helper()
	c, ok := r.profile.ControlIndex(control)
	if !ok {
		r.Fatalf("no control %s", control)
	}
	i, ok := r.profile.Controls[c].Index(position)
	if !ok {
		r.Fatalf("no position %s %s", control, position)
	}
	r.Move(c, i)
}

// fail makes something fail by its name.
func (r *rig) fail(point string, severity float64) {
	r.Helper()
	i, ok := r.profile.FailureIndex(point)
	if !ok {
		r.Fatalf("no failure point %s", point)
	}
	r.Aircraft.Fail(i, severity)
}

// read reads anything by its name.
func (r *rig) read(name string) float64 {
	r.Helper()
	n, ok := r.profile.scope[name]
	if !ok {
		r.Fatalf("no reading %s", name)
	}
	return r.Readings()[n.Slot]
}

// is reads a flag.
func (r *rig) is(name string) bool { r.Helper(); return r.read(name) != 0 }

// run lets time pass, and calls each after every step.
func (r *rig) run(d time.Duration, each ...func()) {
	for end := r.now + d; r.now < end; {
		r.Step()
		for _, f := range each {
			f()
		}
	}
}

// until lets time pass until a condition holds, and reports how long that took; it fails the test after a limit.
func (r *rig) until(limit time.Duration, cond func() bool, what string) time.Duration {
	r.Helper()
	start := r.now
	for !cond() {
		if r.now-start >= limit {
			r.Fatalf("%s: not within %v", what, limit)
		}
		r.Step()
	}
	return r.now - start
}

// light opens the fuel lever of an engine and presses its start button.
func (r *rig) light(n string) {
	r.Helper()
	r.set("lever"+n, "open")
	r.set("start"+n, "pressed")
}

// prepare takes a cold aircraft to where its engines can be started on the battery.
func (r *rig) prepare() {
	r.Helper()
	for _, m := range [][2]string{
		{"rotor_brake", "off"}, {"harness", "fastened"}, {"doors", "closed"}, {"battery", "on"}, {"pump1", "on"},
		{"pump2", "on"}, {"lights", "flash"}, {"cyclic", "centred"}, {"pedals", "neutral"}, {"fadec1", "on"}, {"fadec2", "on"},
	} {
		r.set(m[0], m[1])
	}
	r.run(6 * time.Second)
}

var fairWeather = Weather{OAT: 12, Altitude: 50}

// BenchmarkStep is one step with somebody who drains: in the hover, with everything on, and in the middle of a start, when most
// moves. A second says little on a machine that others load as well, so a step is also given in multiply-adds each of which waits for
// the one before, timed in between ("mul-adds"): a figure that hardly hangs on how fast the machine is.
func BenchmarkStep(b *testing.B) {
	for _, name := range everyProfile(b) {
		hover := newRig(b, profileOf(b, name), fairWeather, "hover")
		b.Run(name+"/hover", func(b *testing.B) { benchmarkStep(b, hover.Aircraft, 10*time.Minute) })
	}
	start := newRig(b, dunlin(b), fairWeather, "")
	start.prepare()
	start.light("1")
	start.run(4 * time.Second)
	b.Run("dunlin-lt/start", func(b *testing.B) { benchmarkStep(b, start.Aircraft, 15*time.Second) })
}

// benchmarkStep steps an aircraft, and begins anew with it each time that so much has passed.
func benchmarkStep(b *testing.B, from *Aircraft, length time.Duration) {
	const block, adds = 100, 50_000 // some 50 µs each, so that most are over before anybody else has the processor
	a, x := from.Clone(), 1.0
	ratios := make([]float64, 0, b.N/block+1)
	b.ReportAllocs()
	b.ResetTimer()
	for done := 0; done < b.N; done += block {
		began := time.Now()
		for range min(block, b.N-done) {
			a.Step()
			a.Drain(func(Change) {})
		}
		stepping := time.Since(began)
		b.StopTimer()
		began = time.Now()
		for range adds {
			x = float64(x*0.999999) + 1e-6
		}
		adding := time.Since(began)
		if b.N-done >= block {
			ratios = append(ratios, float64(stepping)/block/(float64(adding)/adds))
		}
		if a.now > from.now+length {
			a = from.Clone()
		}
		b.StartTimer()
	}
	if x < 0 {
		b.Fatal("the sum has to be reckoned")
	}
	if slices.Sort(ratios); len(ratios) > 0 {
		b.ReportMetric(ratios[len(ratios)/2], "mul-adds")
	}
}

// near holds a figure to another, within a tolerance.
func near(tb testing.TB, what string, got, want, within float64) {
	tb.Helper()
	if !(got >= want-within && got <= want+within) {
		tb.Errorf("%s: %v; wanted %v within %v", what, got, want, within)
	}
}
