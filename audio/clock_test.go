package audio

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// device is a simulated one: it asks for frames at its own pace and is late by chance.
type device struct {
	rng    *rand.Rand
	block  Frame
	pace   float64       // seconds a nominal second
	jitter time.Duration // standard deviation of the half-normal lateness
	next   Frame
	offset time.Duration
}

// exact is when frame f would be asked for without jitter.
func (d *device) exact(f Frame) time.Duration {
	return d.offset + time.Duration(float64(f)*d.pace*float64(time.Second)/Rate)
}

func (d *device) pull(c *frameClock) {
	late := time.Duration(math.Abs(d.rng.NormFloat64()) * float64(d.jitter))
	if d.rng.IntN(50) == 0 {
		late += 4 * time.Millisecond // as was seen on a real server
	}
	c.note(d.exact(d.next)+late, d.next)
	d.next += d.block
}

func (d *device) run(c *frameClock, span time.Duration) {
	for end := d.next + Frames(span); d.next < end; {
		d.pull(c)
	}
}

// TestFrameClockSeesThroughJitter asks for onsets a buffer ahead, as Output does. What it is held to was measured on a
// sound server with such a clock: 0.2 to 0.3 ms standard deviation.
func TestFrameClockSeesThroughJitter(t *testing.T) {
	for _, ppm := range []float64{-300, 0, 50, 300} {
		for _, block := range []Frame{240, 480, 960, 2400} {
			d := &device{rng: rand.New(rand.NewPCG(5, uint64(block))), block: block, pace: 1 + ppm*1e-6, jitter: 600 * time.Microsecond}
			var c frameClock
			d.run(&c, 5*time.Second)
			var errs []float64
			for range 2000 {
				d.pull(&c)
				f := d.next + block
				errs = append(errs, float64(c.timeOf(f)-d.exact(f))/1e6)
			}
			mean, sd := meanAndSD(errs)
			t.Logf("%+.0f ppm, blocks of %d: mean %.3f ms, sd %.3f ms", ppm, block, mean, sd)
			if sd > 0.3 || mean < 0 || mean > 0.6 { // mean lateness of the pulls is 0.48 ms; the latency constant holds it
				t.Errorf("%+.0f ppm, blocks of %d: error %.3f ± %.3f ms, want 0 to 0.6 ± 0.3", ppm, block, mean, sd)
			}
		}
	}
}

func TestFrameClockDoesNotDriftOverHours(t *testing.T) {
	d := &device{rng: rand.New(rand.NewPCG(7, 8)), block: 960, pace: 1.0002, jitter: 300 * time.Microsecond}
	var c frameClock
	d.run(&c, 2*time.Hour)
	if e := c.timeOf(d.next) - d.exact(d.next); e.Abs() > time.Millisecond {
		t.Errorf("after two hours the clock is off by %v", e)
	}
	if c.jumps != 0 {
		t.Errorf("%d jumps where there was none", c.jumps)
	}
	if len(c.pulls) > clockPulls || cap(c.pulls) > 4*clockPulls {
		t.Errorf("it keeps %d pulls in room for %d", len(c.pulls), cap(c.pulls))
	}
}

func TestFrameClockFollowsADeviceThatLosesItsPlace(t *testing.T) {
	for _, lost := range []time.Duration{5 * time.Millisecond, 20 * time.Millisecond, -20 * time.Millisecond, time.Second} {
		d := &device{rng: rand.New(rand.NewPCG(9, 10)), block: 960, pace: 1, jitter: 300 * time.Microsecond}
		var c frameClock
		d.run(&c, 5*time.Second)
		d.offset += lost
		d.run(&c, 500*time.Millisecond)
		if e := c.timeOf(d.next) - d.exact(d.next); e.Abs() > time.Millisecond {
			t.Errorf("half a second after losing %v the clock is off by %v", lost, e)
		}
		if c.jumps != 1 {
			t.Errorf("losing %v was seen as %d jumps", lost, c.jumps)
		}
	}
}

func TestFrameClockGoesBothWays(t *testing.T) {
	d := &device{rng: rand.New(rand.NewPCG(11, 12)), block: 480, pace: 1.0001, jitter: 500 * time.Microsecond}
	var c frameClock
	for range 20 {
		d.pull(&c)
		for _, f := range []Frame{0, d.next, d.next + 12345} {
			if got := c.frameAt(c.timeOf(f)); got != f {
				t.Fatalf("frame %d comes back as %d", f, got)
			}
		}
	}
}

func BenchmarkFrameClock(b *testing.B) {
	d := &device{rng: rand.New(rand.NewPCG(1, 1)), block: 480, pace: 1}
	var c frameClock
	d.run(&c, 5*time.Second)
	b.ReportAllocs()
	for b.Loop() {
		d.pull(&c)
	}
}

// TestFrameClockBeginsWhereAgreed holds the clock of an early output to what a sound server was seen to tell while it began to play:
// 5 ms less than it had for the first request, and then the same to a tenth of a millisecond.
func TestFrameClockBeginsWhereAgreed(t *testing.T) {
	const block = Frame(640)
	told := []time.Duration{91300, 95800, 95700, 95700} // when frame 0 was heard, by each request, in µs
	var c frameClock
	for i, begin := range told[:2] {
		f := Frame(i) * block
		c.note(begin*time.Microsecond+f.Duration(), f)
	}
	if c.beginWhereAgreed(2) || len(c.pulls) != 2 {
		t.Fatal("requests that are 4.5 ms apart were taken to agree")
	}
	c.note(told[2]*time.Microsecond+(2*block).Duration(), 2*block)
	if !c.beginWhereAgreed(2) {
		t.Fatal("requests that are 0.1 ms apart were not taken to agree")
	}
	c.note(told[3]*time.Microsecond+(3*block).Duration(), 3*block)
	if at := c.timeOf(0); at < 95700*time.Microsecond || at > 95800*time.Microsecond {
		t.Errorf("frame 0 at %v: the first request, which is off, still counts", at)
	}
	var none frameClock
	if none.beginWhereAgreed(2) {
		t.Error("a clock without requests agrees with itself")
	}
}
