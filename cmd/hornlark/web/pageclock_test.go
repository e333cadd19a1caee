package web

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// far is a page's clock as it might be: from another origin, going wrong by so much, and counting in steps.
type far struct {
	origin time.Time
	zero   time.Duration
	wrong  float64
	step   time.Duration
}

func (f *far) at(t time.Time) time.Duration {
	ran := t.Sub(f.origin)
	page := f.zero + ran + time.Duration(float64(ran)*f.wrong)
	if f.step > 0 {
		page -= page % f.step
	}
	return page
}

// Whatever the way takes in each direction, wherever the page's clock began, and however it goes wrong within what is taken of it, a press is
// mapped to within what is stated; one that cannot be is stamped on arrival.
func TestAPressIsMappedToWithinWhatIsStated(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ms := func(name string, most float64) time.Duration {
			return time.Duration(rapid.Float64Range(0, most).Draw(t, name) * float64(time.Millisecond))
		}
		began := time.Now()
		f := &far{
			origin: began, zero: ms("zero", 1e7), wrong: rapid.Float64Range(-clockDrift, clockDrift).Draw(t, "wrong"),
			step: rapid.SampledFrom([]time.Duration{0, 5 * time.Microsecond, 100 * time.Microsecond, time.Millisecond, 16667 * time.Microsecond}).Draw(t, "step"),
		}
		c := &PageClock{}
		c.Step(f.step)
		most := rapid.SampledFrom([]float64{0.5, 5, 80, 900}).Draw(t, "way")
		now := began
		exact, onArrival := 0, 0
		for range rapid.IntRange(1, 100).Draw(t, "turns") {
			now = now.Add(ms("pause", 2000))
			if rapid.Bool().Draw(t, "exchange") {
				sent := now
				read := sent.Add(ms("there", most))
				now = read.Add(ms("back", most))
				c.Read(f.at(read), sent, now)
				continue
			}
			pressed := now
			now = now.Add(ms("on its way", most))
			at, off := c.At(f.at(pressed), now)
			switch wrong := at.Sub(pressed).Abs(); {
			case at.After(now):
				t.Fatalf("it is stamped %v after it has arrived", at.Sub(now))
			case len(c.kept) == 0:
				if at != now || off != unknownOff {
					t.Fatalf("with nothing known it is stamped %v before it arrives, to within %v", now.Sub(at), off)
				}
			case at != now && wrong > off:
				t.Fatalf("it is off by %v, and stated was %v", wrong, off)
			case at == now:
				onArrival++
				if best := 2*f.step + c.kept[0].off(); off > c.late() || wrong > off && wrong > 2*time.Duration(most*float64(time.Millisecond)) {
					t.Fatalf("on arrival it is off by %v, and stated was %v (%v)", wrong, off, best)
				}
			default:
				exact++
			}
		}
	})
}

// What is stated is what the best of the late exchanges allows: half of the shortest way, and not more than that by much.
func TestWhatIsStatedIsSmall(t *testing.T) {
	c, now := &PageClock{}, time.Now()
	f := &far{origin: now, zero: 4 * time.Second, step: 100 * time.Microsecond}
	c.Step(f.step)
	for i := range 20 {
		way := 40 * time.Millisecond
		if i == 12 {
			way = 400 * time.Microsecond
		}
		sent := now
		read := sent.Add(way / 4)
		now = sent.Add(way)
		c.Read(f.at(read), sent, now)
		now = now.Add(300 * time.Millisecond)
	}
	pressed := now
	at, off := c.At(f.at(pressed), now.Add(3*time.Millisecond))
	// Half of 400 µs, twice 100 µs, and 600 ppm of the 2.7 s since.
	if want := 200*time.Microsecond + 200*time.Microsecond + 1660*time.Microsecond; off > want || at.Sub(pressed).Abs() > off {
		t.Errorf("it is off by %v, stated is %v, and %v would do", at.Sub(pressed), off, want)
	}
}

// A stamp that cannot be is none: before the page was there, in the future, from long ago, no number.
func TestImplausibleStampsAreNone(t *testing.T) {
	c, now := &PageClock{}, time.Now()
	f := &far{origin: now, zero: time.Minute}
	for range 10 {
		sent := now
		now = now.Add(4 * time.Millisecond)
		c.Read(f.at(sent.Add(2*time.Millisecond)), sent, now)
		now = now.Add(100 * time.Millisecond)
	}
	for _, stamp := range []time.Duration{ms(-1), ms(math.NaN()), ms(math.Inf(1)), ms(1e300), f.at(now.Add(time.Second)), f.at(now.Add(-10 * time.Second)), 0} {
		if at, off := c.At(stamp, now); at != now || off != 5*time.Millisecond { // the longest way, and the noise of an arrival
			t.Errorf("the stamp %v counts as %v before it arrives, to within %v", stamp, now.Sub(at), off)
		}
	}
	if at, off := c.At(f.at(now.Add(-3*time.Second)), now); now.Sub(at).Round(10*time.Millisecond) != 3*time.Second || off > 5*time.Millisecond {
		t.Errorf("a page that was busy for 3 s: %v, to within %v", now.Sub(at), off)
	}
}

// Once a clock has jumped, what was known of it before counts no more.
func TestAClockThatJumps(t *testing.T) {
	c, now := &PageClock{}, time.Now()
	f := &far{origin: now}
	read := func() {
		sent := now
		now = now.Add(2 * time.Millisecond)
		c.Read(f.at(sent.Add(time.Millisecond)), sent, now)
		now = now.Add(300 * time.Millisecond)
	}
	for range 30 {
		read()
	}
	f.zero += time.Hour // that machine slept, and counts it
	read()
	if at, off := c.At(f.at(now), now.Add(time.Millisecond)); at.Sub(now).Abs() > off || off > 2*time.Millisecond {
		t.Errorf("after the jump it is off by %v, and stated is %v", at.Sub(now), off)
	}
}
