package audio

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/gopxl/beep/v2"
)

// flat is a sound of one value, so that what comes out is the gain.
func flat(value int16, frames Frame) Sound {
	return Sound{slices.Repeat([]int16{value}, int(frames))}
}

// take streams n frames in blocks of the given size and gives the left channel.
func take(t *testing.T, s beep.Streamer, n, block int) []float64 {
	t.Helper()
	var out []float64
	for len(out) < n {
		// One more than is asked for: a streamer must not touch it.
		buf := make([][2]float64, min(block, n-len(out))+1)
		guard := [2]float64{math.Inf(1), math.Inf(-1)}
		buf[len(buf)-1] = guard
		asked := buf[:len(buf)-1]
		got, ok := s.Stream(asked)
		if got != len(asked) || !ok {
			t.Fatalf("Stream of %d gave %d, %v: a source that never ends gives all, true", len(asked), got, ok)
		}
		if buf[len(buf)-1] != guard {
			t.Fatal("Stream wrote past the samples that it was given")
		}
		for _, v := range asked {
			if v[0] != v[1] {
				t.Fatalf("the ears differ: %v", v)
			}
			out = append(out, v[0])
		}
	}
	if err := s.Err(); err != nil {
		t.Fatalf("Err: %v", err)
	}
	return out
}

func mustAdd(t *testing.T, m *Mixer, c Cue, at Frame) {
	t.Helper()
	if got, err := m.Add(c, at); err != nil || got != at {
		t.Fatalf("Add at %d: %d, %v", at, got, err)
	}
}

func TestMixerStartsAtTheExactFrame(t *testing.T) {
	for _, block := range []int{1, 7, 479, 512, 4096} {
		m := NewMixer()
		starts := []Frame{0, 1, 478, 479, 480, 1000, 4095, 4096, 9999}
		for i, at := range starts {
			mustAdd(t, m, Cue{ID: i, Sound: Sound{[]int16{8192}}}, at)
		}
		out := take(t, m, 12000, block)
		for f, v := range out {
			want := 0.0
			if slices.Contains(starts, Frame(f)) {
				want = 0.25
			}
			if v != want {
				t.Fatalf("blocks of %d: frame %d is %g, want %g", block, f, v, want)
			}
		}
	}
}

func TestMixerStartsAtOnceWhatIsLate(t *testing.T) {
	m := NewMixer()
	take(t, m, 1000, 100)
	if at, err := m.Add(Cue{Sound: flat(1, 1)}, 10); at != 1000 || err != nil {
		t.Errorf("starts at %d, %v; want 1000", at, err)
	}
}

// TestMixerDoesNotDependOnBlocks plays the same crowded schedule in blocks of many sizes.
func TestMixerDoesNotDependOnBlocks(t *testing.T) {
	schedule := func() *Mixer {
		rng := rand.New(rand.NewPCG(3, 4))
		m := NewMixer()
		for id := range 60 {
			pcm := make([]int16, 1+rng.IntN(9000))
			for i := range pcm {
				pcm[i] = int16(rng.IntN(1<<15) - 1<<14)
			}
			at := Frame(rng.IntN(40000))
			mustAdd(t, m, Cue{ID: id, Sound: Sound{pcm}, Loop: rng.IntN(4) == 0, Rank: Rank(rng.IntN(3))}, at)
			if rng.IntN(2) == 0 {
				m.Stop(id, at+Frame(rng.IntN(12000))-500)
			}
		}
		return m
	}
	const n = 48000
	want := take(t, schedule(), n, n)
	for _, block := range []int{1, 2, 479, 480, 511, 512, 513, 960, 4800, 44100} {
		if got := take(t, schedule(), n, block); !slices.Equal(got, want) {
			t.Errorf("blocks of %d give other samples", block)
		}
	}
}

func TestMixerDucksLowerRanks(t *testing.T) {
	const from, until = 4800, 48000
	for _, test := range []struct {
		low, high Rank
		ducked    bool
	}{
		{Speech, Warning, true}, {Caution, Warning, true}, {Speech, Caution, true},
		{Warning, Warning, false}, {Warning, Speech, false}, {Caution, Caution, false},
	} {
		m := NewMixer()
		mustAdd(t, m, Cue{ID: 1, Sound: flat(8192, 96000), Rank: test.low}, 0)
		mustAdd(t, m, Cue{ID: 2, Sound: flat(0, until-from), Rank: test.high}, from)
		out := take(t, m, 60000, 479)
		gain := func(f Frame) float64 { return 20 * math.Log10(out[f]/0.25) }
		want := 0.0
		if test.ducked {
			want = -DuckDB
		}
		if g := gain(from - 1); g != 0 {
			t.Errorf("%d under %d: %.2f dB before", test.low, test.high, g)
		}
		if g := gain(from + rampFrames); math.Abs(g-want) > 1e-9 {
			t.Errorf("%d under %d: %.2f dB after the ramp, want %.2f", test.low, test.high, g, want)
		}
		if g := gain(until + rampFrames); math.Abs(g) > 1e-9 {
			t.Errorf("%d under %d: %.2f dB afterwards, want 0", test.low, test.high, g)
		}
		if !test.ducked {
			continue
		}
		// 20 to 30 ms: CAA Paper 82017 (1982), from memory.
		down := 0
		for out[from+down] > out[from+2*rampFrames] {
			down++
		}
		if d := Frame(down).Duration(); d < 20*time.Millisecond || d > 30*time.Millisecond {
			t.Errorf("the duck takes %v, want 20 to 30 ms", d)
		}
	}
}

func TestMixerNeverClicks(t *testing.T) {
	m := NewMixer()
	mustAdd(t, m, Cue{ID: 1, Sound: flat(16384, 100), Loop: true}, 100)
	m.Stop(1, 5000)
	out := take(t, m, 10000, 333)
	if out[5000+rampFrames] != 0 || out[5000] == 0 {
		t.Fatalf("the fade runs from %g to %g", out[5000], out[5000+rampFrames])
	}
	for f := 101; f < len(out); f++ {
		if step := math.Abs(out[f] - out[f-1]); step > 0.5/float64(rampFrames)+1e-12 {
			t.Fatalf("a step of %g at frame %d", step, f)
		}
	}
}

func TestMixerStaysBelowItsPeak(t *testing.T) {
	most := math.Pow(10, PeakDB/20)
	m := NewMixer()
	for id := range MaxCues {
		mustAdd(t, m, Cue{ID: id, Sound: flat(-32768, 100), Loop: true, Rank: Warning}, 0)
	}
	for _, v := range take(t, m, 1000, 100) {
		if math.Abs(v) >= most {
			t.Fatalf("a sample of %g, want less than %g", v, most)
		}
	}
}

func TestLimitIsSmoothAndLeavesQuietSoundAlone(t *testing.T) {
	last := limit(-8)
	for x := -8.0; x < 8; x += 1e-3 {
		y := limit(x)
		if y < last || y-last > 1e-3+1e-12 {
			t.Fatalf("limit(%g) = %g after %g", x, y, last)
		}
		if math.Abs(x) <= limitKnee && y != x {
			t.Fatalf("limit(%g) = %g", x, y)
		}
		last = y
	}
}

func TestMixerRefuses(t *testing.T) {
	m := NewMixer()
	if _, err := m.Add(Cue{}, 0); !errors.Is(err, ErrEmpty) {
		t.Errorf("an empty sound: %v", err)
	}
	for id := range MaxCues {
		mustAdd(t, m, Cue{ID: id, Sound: flat(1, 10)}, 100)
	}
	if _, err := m.Add(Cue{ID: -1, Sound: flat(1, 1)}, 0); !errors.Is(err, ErrTooMany) {
		t.Errorf("one too many: %v", err)
	}
	if m.Stop(7, 50) {
		t.Error("a cue that is stopped before it begins is still to be heard")
	}
	if _, err := m.Add(Cue{ID: 3, Sound: flat(1, 1)}, 0); !errors.Is(err, ErrDuplicate) {
		t.Errorf("a number twice: %v", err)
	}
	take(t, m, 200, 64)
	if len(m.parts) != 0 {
		t.Errorf("%d cues are kept after their end", len(m.parts))
	}
}

func TestMixerCanBeTurnedDownButNotOff(t *testing.T) {
	m := NewMixer()
	mustAdd(t, m, Cue{ID: 1, Sound: flat(8192, 10), Loop: true}, 0)
	m.SetLevel(math.Inf(-1))
	out := take(t, m, 4000, 100)
	if got := 20 * math.Log10(out[3999]/0.25); math.Abs(got+LevelRange) > 1e-6 {
		t.Errorf("the lowest level is %.2f dB, want %.2f (MIL-STD-1472E 5.3.6.2: never inaudible)", got, -LevelRange)
	}
}

func TestFramesAndDurations(t *testing.T) {
	for _, test := range []struct {
		f Frame
		d time.Duration
	}{{0, 0}, {48, time.Millisecond}, {48000, time.Second}, {1, 20833}, {-48, -time.Millisecond}, {172800000, time.Hour}} {
		if got := test.f.Duration(); got != test.d {
			t.Errorf("%d frames are %v, want %v", test.f, got, test.d)
		}
		if got := Frames(test.d); got != test.f {
			t.Errorf("%v is %d frames, want %d", test.d, got, test.f)
		}
	}
}

func BenchmarkMixer(b *testing.B) {
	m := NewMixer()
	for id := range 8 {
		m.Add(Cue{ID: id, Sound: flat(1000, 1000), Loop: true, Rank: Rank(id % 3)}, 0)
	}
	block := make([][2]float64, 480)
	b.ReportAllocs()
	for b.Loop() {
		m.Stream(block)
	}
	b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(10*time.Millisecond)*100, "%of-one-core")
}
