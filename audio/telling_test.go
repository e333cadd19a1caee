package audio

import (
	"math/rand/v2"
	"testing"
	"testing/synctest"
	"time"

	"github.com/gopxl/beep/v2"
)

// tellingSink is a device that asks for frames late by chance, and knows when each of them is heard: it says so once it has
// run for a while, as sound servers do.
type tellingSink struct {
	quiet time.Duration // for which it says nothing
	dry   int           // request before which it runs dry; 0 for none
	stop  chan struct{}

	asking Asking
	lost   time.Duration // time in which nothing was heard
	heard  []time.Time   // when each sound began
}

func (s *tellingSink) Start(source beep.Streamer) error {
	go s.run(source)
	return nil
}

func (s *tellingSink) run(source beep.Streamer) {
	const period, gap = Rate / 100, 10 * time.Millisecond
	rng := rand.New(rand.NewPCG(1, 2))
	began, frames, sounding := time.Now(), Frame(0), false
	block := make([][2]float64, period)
	for i := 1; ; i++ {
		due := began.Add(time.Duration(i)*gap + s.lost + time.Duration(rng.IntN(6e6)))
		select {
		case <-s.stop:
			return
		case <-time.After(time.Until(due)):
		}
		s.asking = Asking{Told: time.Since(began) > s.quiet}
		if i == s.dry {
			s.lost += 37 * time.Millisecond
			s.asking.Underran = true
		}
		first := began.Add(frames.Duration() + s.lost + 40*time.Millisecond) // when the next frame is heard
		if s.asking.Told {
			s.asking.Delay = time.Until(first)
		}
		source.Stream(block)
		for k, v := range block {
			if on := v[0] != 0; on != sounding {
				if sounding = on; on {
					s.heard = append(s.heard, first.Add(Frame(k).Duration()))
				}
			}
		}
		frames += period
	}
}

func (s *tellingSink) Asking() Asking         { return s.asking }
func (s *tellingSink) Fault() error           { return nil }
func (s *tellingSink) Latency() time.Duration { return 40 * time.Millisecond }
func (s *tellingSink) Device() string         { return "a device that tells" }
func (s *tellingSink) Close() error           { close(s.stop); return nil }

// TestOnsetsAreThoseThatTheDeviceTells compares the reported onsets with those that the device knows, before and after it
// has run dry, and looks at what calibration adds.
func TestOnsetsAreThoseThatTheDeviceTells(t *testing.T) {
	const added = 150 * time.Millisecond
	synctest.Test(t, func(t *testing.T) {
		s := &tellingSink{quiet: 1500 * time.Millisecond, dry: 600, stop: make(chan struct{})}
		o, err := open(Options{Latency: func(device string) time.Duration {
			if device != s.Device() {
				t.Errorf("asked for %q", device)
			}
			return added
		}}, func(time.Duration) (Sink, error) { return s, nil })
		if err != nil {
			t.Fatal(err)
		}
		if lead := o.Lead(); lead != 40*time.Millisecond+added+DefaultBuffer/2 {
			t.Errorf("lead %v", lead)
		}
		t0 := time.Now()
		o.Begin(t0)
		var reported []time.Time
		for i := range 40 {
			due := time.Since(t0) + o.Lead() + 7*time.Millisecond
			if err := o.Play(Cue{ID: i, Due: due, Sound: flat(8192, 100)}); err != nil {
				t.Fatal(err)
			}
			r := <-o.Reports()
			reported = append(reported, t0.Add(r.Onset))
			if early := r.Onset - due; i < 10 && early.Abs() > time.Millisecond {
				t.Errorf("cue %d was reported %v after it was due", i, early)
			}
		}
		h := o.Health()
		if h.Underruns != 1 || h.Added != added || h.Delay <= 0 {
			t.Errorf("health %+v, want one underrun, the delay that was told and %v added", h, added)
		}
		if err := o.Close(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(100 * time.Millisecond)
		if len(s.heard) != len(reported) {
			t.Fatalf("%d cues were heard, want %d", len(s.heard), len(reported))
		}
		for i, at := range s.heard {
			if off := reported[i].Sub(at.Add(added)); off.Abs() > 300*time.Microsecond {
				t.Errorf("cue %d was heard at %v, and reported %v off", i, at.Sub(t0), off)
			}
		}
	})
}
