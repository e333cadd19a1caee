package flac_test

import (
	"bytes"
	"errors"
	"io"
	"log"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	codec "github.com/mewkiz/flac"
	"pgregory.net/rapid"

	"hornlark/audio/flac"
	"hornlark/scripts/ownhome"
)

// The reader tells the log of every rate that its own tests do not have.
func TestMain(m *testing.M) {
	log.SetOutput(io.Discard)
	ownhome.Main(m)
}

func pack(t interface{ Fatal(...any) }, pcm []int16, wasted uint) []byte {
	var out bytes.Buffer
	w, err := flac.NewWriter(&out, 24000, int64(len(pcm)), wasted)
	if err != nil {
		t.Fatal(err)
	}
	for rest := pcm; len(rest) > 0; {
		n := min(len(rest), 777)
		if err := w.Write(rest[:n]); err != nil {
			t.Fatal(err)
		}
		rest = rest[n:]
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func unpack(t interface{ Fatal(...any) }, data []byte) []int16 {
	s, err := codec.New(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	var pcm []int16
	for {
		f, err := s.ParseNext()
		if errors.Is(err, io.EOF) {
			return pcm
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range f.Subframes[0].Samples {
			pcm = append(pcm, int16(v))
		}
	}
}

// Whatever is packed comes out again, sample for sample: noise, tones, silence, steps, and the ends of the scale.
func TestNothingIsLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		wasted := uint(rapid.IntRange(0, 3).Draw(t, "wasted"))
		var pcm []int16
		for range rapid.IntRange(1, 2).Draw(t, "pieces") {
			n, loud := rapid.IntRange(1, 3000).Draw(t, "length"), math.Exp2(15*rng.Float64())
			kind, hz := rapid.IntRange(0, 4).Draw(t, "kind"), 3000*rng.Float64()
			for i := range n {
				v := 0.0
				switch kind {
				case 0:
					v = loud * (2*rng.Float64() - 1)
				case 1:
					v = loud * math.Sin(2*math.Pi*hz*float64(i)/24000)
				case 2:
					v = loud
				case 3:
					v = []float64{-32768, 32767}[rng.IntN(2)]
				}
				pcm = append(pcm, int16(min(max(v, -32768), 32767))>>wasted<<wasted)
			}
		}
		if got := unpack(t, pack(t, pcm, wasted)); !slices.Equal(got, pcm) {
			t.Fatalf("%d samples came back as %d others", len(pcm), len(got))
		}
	})
}

// A tone is foreseen, and silence takes next to nothing.
func TestItIsPacked(t *testing.T) {
	tone, still := make([]int16, 240000), make([]int16, 240000)
	for i := range tone {
		tone[i] = int16(3000*math.Sin(2*math.Pi*800*float64(i)/24000) + 2000*math.Sin(2*math.Pi*1300*float64(i)/24000))
	}
	if n := len(pack(t, tone, 0)); n > len(tone)/2 {
		t.Errorf("a tone of %d samples takes %d bytes", len(tone), n)
	}
	if n := len(pack(t, still, 2)); n > 20*len(still)/flac.Block+200 {
		t.Errorf("silence of %d samples takes %d bytes", len(still), n)
	}
}
