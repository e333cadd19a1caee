package audio

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/gopxl/beep/v2"
	"github.com/gopxl/beep/v2/wav"
)

func mustOpen(t *testing.T, options Options) *Output {
	t.Helper()
	o, err := Open(options)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// TestSilentOutputKeepsThePace runs in a bubble of its own time: every figure is exact.
func TestSilentOutputKeepsThePace(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		o := mustOpen(t, Options{Silent: true})
		defer o.Close()
		time.Sleep(time.Second)
		t0 := time.Now()
		o.Begin(t0)
		due := []time.Duration{o.Lead(), 333333 * time.Microsecond, 2 * time.Second, 90 * time.Second}
		for i, d := range due {
			if err := o.Play(Cue{ID: i, Due: d, Sound: flat(1000, 4800)}); err != nil {
				t.Fatal(err)
			}
		}
		for i, d := range due {
			r := <-o.Reports()
			if r.Cue != i || (r.Onset-d).Abs() > 2*Frame(1).Duration() || (r.End-r.Onset-100*time.Millisecond).Abs() > time.Microsecond {
				t.Errorf("cue %d due at %v: %+v", i, d, r)
			}
			if late := time.Since(t0) - r.Onset; late < 0 || late > 5*time.Millisecond {
				t.Errorf("cue %d was reported %v after its onset", i, late)
			}
		}
		if h := o.Health(); !h.Good || !h.Silent || h.Underruns != 0 {
			t.Errorf("health %+v", h)
		}
	})
}

func TestOutputPlaysAtOnceWhatIsDueNow(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		o := mustOpen(t, Options{Silent: true})
		defer o.Close()
		time.Sleep(time.Second)
		o.Begin(time.Now())
		if err := o.Play(Cue{ID: 1, Due: 0, Sound: flat(1000, 10), Loop: true}); err != nil {
			t.Fatal(err)
		}
		r := <-o.Reports()
		if r.Onset < DefaultBuffer/2 || r.Onset > o.Lead() || r.End != 0 {
			t.Errorf("%+v, want an onset within %v and no end", r, o.Lead())
		}
	})
}

func TestOutputStops(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var file memoryFile
		o := mustOpen(t, Options{Silent: true, WAV: &file})
		time.Sleep(time.Second)
		o.Begin(time.Now())
		for id := range 3 {
			o.Play(Cue{ID: id, Due: time.Duration(id+1) * time.Second, Sound: flat(8192, 100), Loop: true})
		}
		o.Stop(0, 1500*time.Millisecond)
		o.Stop(1, 1900*time.Millisecond) // before it begins: never heard
		o.Stop(2, 3250*time.Millisecond)
		o.Stop(99, time.Second)
		time.Sleep(5 * time.Second)
		if err := o.Close(); err != nil {
			t.Fatal(err)
		}
		var heard []int
		for r := range o.Reports() {
			heard = append(heard, r.Cue)
		}
		if len(heard) != 2 || heard[0] != 0 || heard[1] != 2 {
			t.Errorf("cues %v were reported, want 0 and 2", heard)
		}
		samples := decodeWAV(t, file.Bytes())
		for _, at := range []struct {
			ms int
			on bool
		}{{995, false}, {1005, true}, {1495, true}, {1530, false}, {2005, false}, {2995, false}, {3005, true}, {3245, true}, {3280, false}} {
			if got := samples[at.ms*48] != 0; got != at.on {
				t.Errorf("at %d ms there is sound: %v", at.ms, got)
			}
		}
	})
}

// TestOutputFileIsWhatARenderGives compares the file of a live sitting with that of one without a clock.
func TestOutputFileIsWhatARenderGives(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cues := []Cue{
			{ID: 1, Due: 200 * time.Millisecond, Sound: flat(3000, 9000)},
			{ID: 2, Due: 300 * time.Millisecond, Sound: flat(2000, 480), Loop: true, Rank: Warning},
		}
		var live, rendered memoryFile
		o := mustOpen(t, Options{Silent: true, WAV: &live})
		time.Sleep(time.Second)
		o.Begin(time.Now())
		r, err := NewRender(&rendered, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range cues {
			if err := errors.Join(o.Play(c), r.Play(c)); err != nil {
				t.Fatal(err)
			}
		}
		o.Stop(2, 700*time.Millisecond)
		r.Stop(2, 700*time.Millisecond)
		time.Sleep(2 * time.Second)
		if err := errors.Join(o.Close(), r.AdvanceTo(time.Second), r.Close()); err != nil {
			t.Fatal(err)
		}
		a, b := decodeWAV(t, live.Bytes()), decodeWAV(t, rendered.Bytes())
		if len(a) < len(b) {
			t.Fatalf("the live file has %d frames, want %d at least", len(a), len(b))
		}
		differ := 0
		for i := range b {
			if a[i] != b[i] {
				differ++
			}
		}
		if differ > 16 { // an onset may be a frame off, and its ramps then are too
			t.Errorf("%d frames differ", differ)
		}
	})
}

func TestOutputIsBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		o := mustOpen(t, Options{Silent: true})
		defer o.Close()
		if err := o.Play(Cue{Sound: flat(1, 1)}); !errors.Is(err, ErrNotBegun) {
			t.Errorf("before Begin: %v", err)
		}
		o.Begin(time.Now())
		for id := range MaxCues {
			if err := o.Play(Cue{ID: id, Due: time.Hour, Sound: flat(1, 1)}); err != nil {
				t.Fatal(err)
			}
		}
		if err := o.Play(Cue{ID: -1, Sound: flat(1, 1)}); !errors.Is(err, ErrTooMany) {
			t.Errorf("one too many: %v", err)
		}
		o.Stop(0, 0)
		if err := o.Play(Cue{ID: 1, Sound: flat(1, 1)}); !errors.Is(err, ErrDuplicate) {
			t.Errorf("a number twice: %v", err)
		}
		for range 10 * MaxCues {
			o.Stop(2, 2*time.Hour)
		}
		if len(o.waiting) > 2*MaxCues {
			t.Errorf("%d requests wait", len(o.waiting))
		}
	})
}

func TestASecondSittingStartsClean(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		o := mustOpen(t, Options{Silent: true})
		defer o.Close()
		for range 3 {
			time.Sleep(time.Second)
			o.Begin(time.Now())
			o.Play(Cue{ID: 1, Due: 500 * time.Millisecond, Sound: flat(100, 480), Loop: true})
			o.Play(Cue{ID: 2, Due: time.Hour, Sound: flat(100, 480)})
			if r := <-o.Reports(); r.Cue != 1 || (r.Onset-500*time.Millisecond).Abs() > time.Millisecond {
				t.Errorf("%+v", r)
			}
		}
	})
}

func TestOpenRefusesAnImpossibleBuffer(t *testing.T) {
	if _, err := Open(Options{Silent: true, Buffer: time.Minute}); err == nil || !strings.Contains(err.Error(), "10ms to 200ms") {
		t.Errorf("error %v, want one that names the range", err)
	}
}

// brokenSink is a device that fails in one way or another.
type brokenSink struct {
	silentSink
	start, fault error
	pulls        int // how often it asks before it goes silent
}

func (s *brokenSink) Start(source beep.Streamer) error {
	for range s.pulls {
		source.Stream(make([][2]float64, 960))
	}
	return s.start
}
func (s *brokenSink) Fault() error { return s.fault }
func (s *brokenSink) Close() error { return nil }

func TestOpenFallsBackToSilence(t *testing.T) {
	for name, sink := range map[string]*brokenSink{
		"start fails":         {start: errors.New("no such device")},
		"never asks":          {fault: errors.New("no such device")},
		"never asks, no word": {},
		"asks once":           {pulls: 1, fault: errors.New("no such device")},
		"asks twice, no word": {pulls: 2},
		"no answer":           {fault: errNoAnswer},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				began := time.Now()
				o, err := open(Options{}, func(time.Duration) (Sink, error) { return sink, nil })
				if err != nil {
					t.Fatal(err)
				}
				defer o.Close()
				if took := time.Since(began); took > 5*time.Second {
					t.Errorf("it took %v", took)
				}
				if h := o.Health(); h.Good || !h.Silent {
					t.Errorf("health %+v", h)
				}
				if n := o.Notice(); !strings.HasPrefix(n, "No sound: ") || strings.Count(n, "\n") != 0 {
					t.Errorf("notice %q", n)
				}
				time.Sleep(time.Second)
				o.Begin(time.Now())
				o.Play(Cue{ID: 1, Due: time.Second, Sound: flat(1, 1)})
				if r := <-o.Reports(); (r.Onset - time.Second).Abs() > time.Millisecond {
					t.Errorf("%+v", r)
				}
			})
		})
	}
}

func TestAFullDiskEndsTheFileAndNotTheSitting(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		file := memoryFile{room: 1 << 20}
		o := mustOpen(t, Options{Silent: true, WAV: &file})
		time.Sleep(time.Second)
		o.Begin(time.Now())
		time.Sleep(time.Minute)
		o.Play(Cue{ID: 1, Due: 61 * time.Second, Sound: flat(1, 1)})
		if r := <-o.Reports(); r.Cue != 1 {
			t.Errorf("%+v", r)
		}
		if n := o.Notice(); !strings.Contains(n, "WAV file ends early") || !strings.Contains(n, "no space left") {
			t.Errorf("notice %q", n)
		}
		if err := o.Close(); !errors.Is(err, syscall.ENOSPC) {
			t.Errorf("Close: %v", err)
		}
	})
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("there is no /dev/full")
	}
	defer full.Close()
	if _, err := NewRender(full, 0); !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("a disk that is full from the start: %v", err)
	}
}

func TestRenderIsTheSameEveryTime(t *testing.T) {
	sums := map[[32]byte]bool{}
	for _, step := range []time.Duration{time.Second, 7 * time.Millisecond, 1234567 * time.Nanosecond} {
		path := filepath.Join(t.TempDir(), "a.wav")
		f, err := os.Create(path)
		if err != nil {
			t.Fatal(err)
		}
		r, err := NewRender(f, -3)
		if err != nil {
			t.Fatal(err)
		}
		for id := range 20 {
			c := Cue{ID: id, Due: time.Duration(id) * 173 * time.Millisecond, Sound: flat(int16(500*id), 12000), Rank: Rank(id % 3), Loop: id%5 == 0}
			if err := r.Play(c); err != nil {
				t.Fatal(err)
			}
			r.Stop(id, c.Due+time.Second/3)
		}
		for at := time.Duration(0); at < 6*time.Second; at += step {
			if err := r.AdvanceTo(at); err != nil {
				t.Fatal(err)
			}
		}
		if err := errors.Join(r.AdvanceTo(6*time.Second), r.Close(), f.Close()); err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if got := len(decodeWAV(t, data)); got != 6*Rate {
			t.Errorf("%d frames, want %d", got, 6*Rate)
		}
		sums[sha256.Sum256(data)] = true
	}
	if len(sums) != 1 {
		t.Errorf("%d different files", len(sums))
	}
}

// TestAKilledSittingLeavesAFileThatPlays looks at the file before it is closed.
func TestAKilledSittingLeavesAFileThatPlays(t *testing.T) {
	var file memoryFile
	r, err := NewRender(&file, 0)
	if err != nil {
		t.Fatal(err)
	}
	r.AdvanceTo(20 * time.Second)
	if got := len(decodeWAV(t, file.Bytes())); got < 14*Rate {
		t.Errorf("%d frames can be read, want 14 s at least", got)
	}
}

func TestIdealReport(t *testing.T) {
	c := Cue{ID: 4, Due: time.Second, Sound: flat(1, 480)}
	if got := c.Ideal(); got != (Report{Cue: 4, Onset: time.Second, End: 1010 * time.Millisecond}) {
		t.Errorf("%+v", got)
	}
	c.Loop = true
	if got := c.Ideal(); got != (Report{Cue: 4, Onset: time.Second}) {
		t.Errorf("a loop: %+v", got)
	}
}

// decodeWAV reads a file with a decoder that is not ours.
func decodeWAV(t *testing.T, data []byte) []float64 {
	t.Helper()
	s, format, err := wav.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	if format.SampleRate != Rate || format.Precision != 2 {
		t.Fatalf("format %+v", format)
	}
	var out []float64
	block := make([][2]float64, 4096)
	for {
		n, ok := s.Stream(block)
		for _, v := range block[:n] {
			out = append(out, v[0])
		}
		if !ok || n == 0 {
			return out
		}
	}
}

// memoryFile is a file on a disk with so much room; 0 for any amount.
type memoryFile struct {
	data []byte
	at   int
	room int
}

func (f *memoryFile) Bytes() []byte { return f.data }

func (f *memoryFile) Write(p []byte) (int, error) {
	if f.room > 0 && f.at+len(p) > f.room {
		return 0, &os.PathError{Op: "write", Path: "sitting.wav", Err: syscall.ENOSPC}
	}
	if grow := f.at + len(p) - len(f.data); grow > 0 {
		f.data = append(f.data, make([]byte, grow)...)
	}
	copy(f.data[f.at:], p)
	f.at += len(p)
	return len(p), nil
}

func (f *memoryFile) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekStart:
		f.at = int(offset)
	case io.SeekEnd:
		f.at = len(f.data) + int(offset)
	case io.SeekCurrent:
		f.at += int(offset)
	}
	return int64(f.at), nil
}

// TestLoweredAndOff has an instructor turn the sound down, off and on: what is heard is never above the level that was set, off is silence,
// and on again it is where it was.
func TestLoweredAndOff(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var file memoryFile
		o := mustOpen(t, Options{Silent: true, WAV: &file, Level: -12})
		time.Sleep(time.Second)
		began := time.Now()
		o.Begin(began)
		if err := o.Play(Cue{ID: 1, Sound: flat(16000, 480), Loop: true}); err != nil {
			t.Fatal(err)
		}
		steps := []struct {
			on   bool
			db   float64
			want float64 // gain
		}{{true, -6, levelGain(-18)}, {true, 20, levelGain(-12)}, {false, 0, 0}, {false, -3, 0}, {true, -3, levelGain(-15)}, {true, -90, levelGain(-LevelRange)}, {true, 0, levelGain(-12)}}
		for _, step := range steps {
			o.Lower(step.on, step.db)
			time.Sleep(time.Second)
		}
		if err := o.Close(); err != nil {
			t.Fatal(err)
		}
		x := decodeWAV(t, file.Bytes())
		for i, step := range steps {
			at := i*Rate + Rate/2 // in the middle of its second
			if got, want := 32768*x[at], 16000*step.want; math.Abs(got-want) > 2 {
				t.Errorf("step %d, on %v at %g dB: a sample of %.0f, want %.0f", i+1, step.on, step.db, got, want)
			}
		}
		loudest := 0.0
		for _, v := range x {
			loudest = max(loudest, 32768*math.Abs(v))
		}
		if most := 16000 * levelGain(-12); loudest > most+2 {
			t.Errorf("it was as loud as %.0f; the level that was set makes %.0f", loudest, most)
		}
	})
}

// TestTheLevelIsTurnedWithinBounds turns the level by steps: never above the one that was set nor below the lowest, and without a jump
// from one sample to the next that is more than the ramp makes.
func TestTheLevelIsTurnedWithinBounds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var file memoryFile
		o := mustOpen(t, Options{Silent: true, WAV: &file, Level: -12})
		time.Sleep(time.Second)
		o.Begin(time.Now())
		if err := o.Play(Cue{ID: 1, Sound: flat(16000, 480), Loop: true}); err != nil {
			t.Fatal(err)
		}
		for _, step := range []struct{ by, want float64 }{{3, -12}, {-3, -15}, {3, -12}, {100, -12}, {-100, -LevelRange}, {-3, -LevelRange}, {3, -37}, {100, -12}} {
			time.Sleep(100 * time.Millisecond)
			if got := o.Turn(step.by); got != step.want {
				t.Errorf("turned by %g it is at %g dB, want %g", step.by, got, step.want)
			}
		}
		o.SetLevel(-6)
		time.Sleep(100 * time.Millisecond)
		if got := o.Turn(100); got != -6 {
			t.Errorf("after SetLevel(-6) it goes to %g dB", got)
		}
		if err := o.Close(); err != nil {
			t.Fatal(err)
		}
		x := decodeWAV(t, file.Bytes())
		start := 0
		for x[start] == 0 {
			start++
		}
		var worst, most float64
		for i := start + 2; i < len(x); i++ {
			worst, most = max(worst, 32768*math.Abs(x[i]-x[i-1])), max(most, 32768*math.Abs(x[i]))
		}
		full := 16000 * levelGain(-6)
		if ramp := full / float64(rampFrames); worst > 2*ramp+1 || most > full+2 {
			t.Errorf("the largest jump is %.0f and the largest sample %.0f; want a ramp of %.1f a sample up to %.0f", worst, most, ramp, full)
		}
	})
}
