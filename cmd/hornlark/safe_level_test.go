//go:build unix

package main

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"hornlark/audio"
	"hornlark/audio/soundtest"
	"hornlark/audio/tone"
	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/screen"
	"hornlark/drill/scenario"
)

// A sound is as loud as its loudest 100 ms, as a root mean square against that of a full square wave, and as its loudest 400 ms by
// ITU-R BS.1770-4 ("momentary", EBU Tech 3341), in LUFS.
type loud struct{ rms, momentary float64 }

const window, momentaryWindow = audio.Rate / 10, audio.Rate * 4 / 10

func loudnessOf(x []float64) loud {
	l := loud{math.Inf(-1), math.Inf(-1)}
	var sum float64
	for i, v := range x {
		sum += v * v
		if i >= window {
			sum -= x[i-window] * x[i-window]
		}
		if i+1 >= window {
			l.rms = max(l.rms, 10*math.Log10(max(0, sum)/window))
		}
	}
	for from := 0; from+momentaryWindow <= len(x); from += window {
		l.momentary = max(l.momentary, voice.Loudness(x[from:from+momentaryWindow]))
	}
	return l
}

// mixed gives what is heard of cues at a level.
func mixed(t *testing.T, level float64, length time.Duration, cues []audio.Cue) []float64 {
	t.Helper()
	path := filepath.Join(t.TempDir(), "mixed.wav")
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	render, err := audio.NewRender(file, level)
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range cues {
		c.ID = i + 1
		if err := render.Play(c); err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(render.AdvanceTo(length), render.Close()); err != nil {
		t.Fatal(err)
	}
	return samplesOf(t, path)
}

// soundCheckAt gives how loud the loudest of the sound check is at a level. It is not that of another level less the difference: near
// full level the mixer bends peaks.
func soundCheckAt(t *testing.T, level float64) loud {
	t.Helper()
	cues, err := loudestCues()
	if err != nil {
		t.Fatal(err)
	}
	return loudnessOf(mixed(t, level, loopFor, cues))
}

// TestNoAlertsTogetherAreLouderThanTheSoundCheck tries alerts that begin at any moment, over a phrase.
func TestNoAlertsTogetherAreLouderThanTheSoundCheck(t *testing.T) {
	t.Parallel()
	for _, level := range []float64{0, audio.DefaultLevel} {
		t.Run(fmt.Sprintf("%g dB", level), func(t *testing.T) { tryAlertsTogether(t, level) })
	}
}

func tryAlertsTogether(t *testing.T, level float64) {
	limit := soundCheckAt(t, level)
	t.Logf("the sound check: %.1f dBFS over 100 ms, %.1f LUFS momentary", limit.rms, limit.momentary)
	voices, err := voice.Open(voice.Options{Engine: "none"})
	if err != nil {
		t.Fatal(err)
	}
	p := voiceSamples[2]
	phrase, err := voices.Clip(p.Voice, p.Text)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	most := loud{math.Inf(-1), math.Inf(-1)}
	tries := 150
	if testing.Short() {
		tries = 30
	}
	for range tries {
		cues := []audio.Cue{{Sound: phrase, Due: time.Duration(rng.IntN(2000)) * time.Millisecond}}
		for _, name := range tone.Names() {
			if rng.IntN(3) == 0 {
				continue
			}
			sound, err := tone.Named(name)
			if err != nil {
				t.Fatal(err)
			}
			cues = append(cues, audio.Cue{
				Sound: sound, Loop: tone.Loops(name), Rank: audio.Rank(1 + rng.IntN(2)), Due: time.Duration(rng.IntN(2000)) * time.Millisecond,
			})
		}
		got := loudnessOf(mixed(t, level, 4*time.Second, cues))
		most = loud{max(most.rms, got.rms), max(most.momentary, got.momentary)}
	}
	t.Logf("the loudest of %d: %.1f dBFS over 100 ms, %.1f LUFS momentary", tries, most.rms, most.momentary)
	if most.rms > limit.rms || most.momentary > limit.momentary {
		t.Errorf("alerts together come to %.2f dBFS and %.2f LUFS, the sound check to %.2f and %.2f", most.rms, most.momentary, limit.rms, limit.momentary)
	}
}

// TestNothingIsLouderThanTheSoundCheck renders sittings in which nothing is done about what sounds, without settings: nothing in the
// files is louder than the sound check at that level, and that is far below full.
func TestNothingIsLouderThanTheSoundCheck(t *testing.T) {
	settled(t)
	limit := soundCheckAt(t, audio.DefaultLevel)
	scenarios := []string{"hover-alerts", "hand-start-early", "piston-alerts", "watch-noon", "first-start"}
	if testing.Short() {
		scenarios = scenarios[:2]
	}
	most := loud{math.Inf(-1), math.Inf(-1)}
	for _, name := range scenarios {
		path := filepath.Join(t.TempDir(), "sitting.wav")
		o := &drillOptions{
			streams: streams{out: io.Discard, err: os.Stderr}, scenario: name, answers: scenario.Perfect, virtual: true,
			layout: string(screen.QWERTY), wav: output{path: path},
		}
		ex, err := o.exercise()
		if err != nil {
			t.Fatal(err)
		}
		ex.Answers = &scenario.Answers{} // nobody does anything
		if err := o.runVirtual(t.Context(), ex); err != nil && !errors.Is(err, errNotPassed) && !errors.Is(err, errStopped) {
			t.Fatalf("%s: %v", name, err)
		}
		got := loudnessOf(samplesOf(t, path))
		t.Logf("%s: %.1f dBFS over 100 ms, %.1f LUFS momentary", name, got.rms, got.momentary)
		if got.rms > limit.rms || got.momentary > limit.momentary {
			t.Errorf("%s comes to %.2f dBFS and %.2f LUFS, the sound check to %.2f and %.2f", name, got.rms, got.momentary, limit.rms, limit.momentary)
		}
		most = loud{max(most.rms, got.rms), max(most.momentary, got.momentary)}
	}
	t.Logf("without settings the loudest is %.1f dBFS over 100 ms and %.1f LUFS momentary, and the sound check %.1f and %.1f", most.rms, most.momentary, limit.rms, limit.momentary)
	if most.rms > -30 || most.rms < -45 {
		t.Errorf("without settings the loudest comes to %.1f dBFS over 100 ms, want -45 to -30", most.rms)
	}
}

// samplesOf gives the samples of a WAV file, full scale 1.
func samplesOf(t *testing.T, path string) []float64 {
	t.Helper()
	body, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var x []float64
	for i := 44; i+1 < len(body); i += 2 { // after the header of a plain WAV file
		x = append(x, float64(int16(binary.LittleEndian.Uint16(body[i:])))/32768)
	}
	return x
}

// TestTheServerHearsNothingLouder plays the loudest of the sound check and a sitting with a horn through a real sound server, at the
// level that is kept: what comes out of the sitting is no louder, and what comes out of the check is as loud as was computed.
func TestTheServerHearsNothingLouder(t *testing.T) {
	if testing.Short() {
		t.Skip("it plays in real time")
	}
	t.Parallel()
	const level = -12.0
	server := soundtest.Start(t)
	settings := atLevel(t, level)
	heard := func(args ...string) loud {
		t.Helper()
		cmd := exec.Command(program(t), args...)
		cmd.Env = append(append(os.Environ(), server.Env()...), settings, "HORNLARK_DATA="+t.TempDir())
		record := server.Record(t)
		if out, err := cmd.CombinedOutput(); err != nil && cmd.ProcessState.ExitCode() != exitNotPassed {
			t.Fatalf("%v: %v\n%s", args, err, out)
		}
		samples := record.Stop(t).Samples
		x := make([]float64, len(samples))
		for i, v := range samples {
			x[i] = float64(v)
		}
		return loudnessOf(x)
	}
	played := heard("sound", "--play", loudest, "--level", "-12")
	want := soundCheckAt(t, level)
	t.Logf("the sound check at %g dB: %.1f dBFS over 100 ms, %.1f LUFS momentary at the server", level, played.rms, played.momentary)
	if off := played.rms - want.rms; math.Abs(off) > 0.5 {
		t.Errorf("the sound check at %g dB is %.1f dBFS at the server, want %.1f", level, played.rms, want.rms)
	}
	sitting := heard(append([]string{"drill", "--answers", "perfect"}, briefly("start")...)...)
	t.Logf("a sitting: %.1f dBFS over 100 ms, %.1f LUFS momentary at the server", sitting.rms, sitting.momentary)
	if sitting.rms > played.rms || sitting.momentary > played.momentary || sitting.rms < played.rms-20 {
		t.Errorf("a sitting comes to %.1f dBFS and %.1f LUFS at the server, the sound check to %.1f and %.1f", sitting.rms, sitting.momentary, played.rms, played.momentary)
	}
}
