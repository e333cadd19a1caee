package main

import (
	"bytes"
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/audio"
	"hornlark/audio/tone"
	"hornlark/audio/voice"
	"hornlark/drill/library"
)

// TestFewAlertsAreKnownByEarAlone: in no profile do more than four alerts have to be told apart by their sound (MIL-STD-1472E
// 5.3.4.3.1). Those that sound once come with a caption or with words.
func TestFewAlertsAreKnownByEarAlone(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range lib.Profiles() {
		byEar := map[string]bool{}
		for i := range p.Alerts {
			a := &p.Alerts[i]
			if !slices.Contains(tone.Names(), a.Tone) {
				t.Errorf("%s: %s has the tone %q, which there is not", p.Name, a.ID, a.Tone)
			}
			if a.Once == tone.Loops(a.Tone) {
				t.Errorf("%s: %s sounds once: %v, and its tone %s goes on: %v", p.Name, a.ID, a.Once, a.Tone, tone.Loops(a.Tone))
			}
			if !a.Once {
				byEar[a.Tone] = true
			}
		}
		if len(byEar) > 4 {
			t.Errorf("%s: %d alerts have to be known by ear alone, want 4 at most", p.Name, len(byEar))
		}
	}
}

// TestEverySampleCanBeHeard: every tone and every voice is offered, without a speech engine too.
func TestEverySampleCanBeHeard(t *testing.T) {
	samples, err := soundSamples()
	if err != nil {
		t.Fatal(err)
	}
	if want := len(tone.Names()) + 4; len(samples) != want {
		t.Errorf("%d samples, want %d", len(samples), want)
	}
	voices, err := voice.Open(voice.Options{Engine: "none"})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range voiceSamples {
		if !voices.Ready(p.Voice, p.Text) {
			t.Errorf("%s %q has no built-in clip", p.Voice, p.Text)
		}
	}
	for _, s := range samples {
		cues, err := s.cues()
		if err != nil || len(cues) == 0 {
			t.Errorf("%s: %d cues, %v", s.name, len(cues), err)
		}
		for _, c := range cues {
			if c.Sound.Frames() == 0 {
				t.Errorf("%s: a cue has no frames", s.name)
			}
		}
	}
}

// regular gives moments a gap apart.
func regular(first, gap time.Duration, count int) []time.Duration {
	list := make([]time.Duration, count)
	for i := range list {
		list[i] = first + time.Duration(i)*gap
	}
	return list
}

func TestTapsAreJudged(t *testing.T) {
	clicks := regular(time.Second, tapGap, tapClicks)
	rng := rand.New(rand.NewPCG(1, 2))
	tapped := func(offset, spread time.Duration) []time.Duration {
		var taps []time.Duration
		for _, c := range clicks {
			taps = append(taps, c+offset+time.Duration(rng.NormFloat64()*float64(spread)))
		}
		return taps
	}
	for _, test := range []struct {
		name   string
		taps   []time.Duration
		median time.Duration
		err    string
	}{
		{"exactly on the click", tapped(0, 0), 0, ""},
		{"late", tapped(180*time.Millisecond, 0), 180 * time.Millisecond, ""},
		{"early", tapped(-40*time.Millisecond, 0), -40 * time.Millisecond, ""},
		{"half a second late", tapped(500*time.Millisecond, 10*time.Millisecond), 500 * time.Millisecond, ""},
		{"as people tap", tapped(150*time.Millisecond, 25*time.Millisecond), 150 * time.Millisecond, ""},
		{"not along with the click", tapped(150*time.Millisecond, 150*time.Millisecond), 0, "are spread by"},
		{"hardly at all", tapped(0, 0)[:12], 0, "there were 7 taps that count, and 15 are needed"},
		{"not at all", nil, 0, "there were 0 taps"},
		{"every other click", func() (half []time.Duration) {
			for i, tap := range tapped(0, 0) {
				if i%2 == 0 {
					half = append(half, tap)
				}
			}
			return half
		}(), 0, "taps that count"},
	} {
		r, err := judgeTaps(clicks, test.taps)
		switch {
		case test.err != "":
			if err == nil || !strings.Contains(err.Error(), test.err) {
				t.Errorf("%s: %+v, %v; want an error with %q", test.name, r, err, test.err)
			}
		case err != nil:
			t.Errorf("%s: %v", test.name, err)
		case (r.Median - test.median).Abs() > 4*max(r.uncertainty(), time.Microsecond):
			t.Errorf("%s: median %v, want %v", test.name, r.Median, test.median)
		}
	}
}

// TestSpreadOfTapsIsThatOfTheNormalDistribution: 1.4826 times the median absolute deviation is the standard deviation, and
// 1.2533 times that over the root of the number is the standard error of the median (of large samples; textbooks).
func TestSpreadOfTapsIsThatOfTheNormalDistribution(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	clicks := regular(0, tapGap, 400)
	var medians, spreads []float64
	var last tapResult
	for range 300 {
		var taps []time.Duration
		for _, c := range clicks {
			taps = append(taps, c+time.Duration(rng.NormFloat64()*float64(20*time.Millisecond)))
		}
		r, err := judgeTaps(clicks, taps)
		if err != nil {
			t.Fatal(err)
		}
		medians, spreads, last = append(medians, milliseconds(r.Median)), append(spreads, milliseconds(r.Spread)), r
	}
	var mean, square, spread float64
	for i, m := range medians {
		mean += m / float64(len(medians))
		square += m * m / float64(len(medians))
		spread += spreads[i] / float64(len(medians))
	}
	if math.Abs(spread-20) > 0.3 {
		t.Errorf("spread %.2f ms, want 20", spread)
	}
	if sd, want := math.Sqrt(square-mean*mean), milliseconds(last.uncertainty()); math.Abs(sd/want-1) > 0.15 {
		t.Errorf("the medians are spread by %.2f ms, and their uncertainty is said to be %.2f", sd, want)
	}
}

// settled gives the test settings of its own.
func settled(t *testing.T) (path string) {
	t.Helper()
	if runtime.GOOS != "linux" {
		t.Skip("where settings are kept is set by XDG_CONFIG_HOME here")
	}
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	path, err := settingsPath()
	if err != nil {
		t.Fatal(err)
	}
	return path
}

func TestSettingsAreKeptForEachDevice(t *testing.T) {
	settled(t)
	s, err := loadSoundSettings()
	if err != nil || len(s.Devices) != 0 {
		t.Fatalf("%+v, %v; want none, and no error", s, err)
	}
	s.put(deviceDelay{Device: "headphones", LatencyMS: 180, How: byFigure})
	s.put(deviceDelay{Device: "loudspeaker", LatencyMS: 12.5, How: byTaps, SpreadMS: 14, Taps: 24})
	s.put(deviceDelay{Device: "headphones", LatencyMS: 200, How: byFigure})
	s.BufferMS, s.VoiceRate = 100, 120
	s.setLevel(-9)
	if err := s.save(); err != nil {
		t.Fatal(err)
	}
	again, err := loadSoundSettings()
	if err != nil {
		t.Fatal(err)
	}
	if len(again.Devices) != 2 || again.latency("headphones") != 200*time.Millisecond ||
		again.latency("loudspeaker") != 12500*time.Microsecond || again.latency("another") != 0 {
		t.Errorf("%+v", again)
	}
	if o := again.options(); o.Buffer != 100*time.Millisecond || o.Level != -9 || again.voices().Speed != 1.2 {
		t.Errorf("%+v, %+v", o, again.voices())
	}
	for device, want := range map[string]string{
		"headphones": "200 ms added as given", "loudspeaker": "12 ms added by calibration (spread of the taps 14 ms)", "another": "",
	} {
		if got := again.describe(device); got != want {
			t.Errorf("%s: %q, want %q", device, got, want)
		}
	}
}

func TestSettingsAreBounded(t *testing.T) {
	path := settled(t)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"no JSON":       "level: 3",
		"unknown field": `{"volume": 3}`,
		"level":         `{"level_db": 3}`,
		"rate":          `{"voice_rate": 1000}`,
		"delay":         `{"devices": [{"device": "x", "latency_ms": 1e9}]}`,
		"too many":      `{"devices": [` + strings.Repeat(`{"device":"x"},`, maxDevices) + `{"device":"x"}]}`,
		"too long":      strings.Repeat(" ", maxSettingsBytes+1),
	} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := loadSoundSettings()
		if err == nil || s == nil || len(s.Devices) != 0 || s.options().Buffer != 0 {
			t.Errorf("%s: %+v, %v; want none, and an error", name, s, err)
		}
	}
}

// silently gives a check on an output that nobody hears.
func silently(t *testing.T) (*hearing, *bytes.Buffer) {
	t.Helper()
	samples, err := soundSamples()
	if err != nil {
		t.Fatal(err)
	}
	var text bytes.Buffer
	c := &hearing{streams: streams{out: &text, err: &text}, settings: &soundSettings{}, samples: samples, level: audio.DefaultLevel}
	out, err := audio.Open(audio.Options{Silent: true, Level: audio.DefaultLevel})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { out.Close() })
	c.out, c.began = out, time.Now()
	out.Begin(c.began)
	return c, &text
}

// TestKeysOfTheSoundCheck goes through the list by keys, as fast as they come.
func TestKeysOfTheSoundCheck(t *testing.T) {
	settled(t)
	c, text := silently(t)
	keys := make(chan keyStroke, 64)
	for _, k := range []byte("\r\r\rb++++++++++-q") {
		keys <- keyStroke{time.Now(), k}
	}
	if err := c.byKeys(context.Background(), keys); err != nil {
		t.Fatal(err)
	}
	got := text.String()
	for _, want := range []string{
		" 1  loudest", " 2  advisory", "low rotor horn", `crew        voice: "Fire guard is back at the nose."`,
		"  advisory     -24 dB", "  begin        -24 dB", "  loudest      -24 dB", "  level 0 dB\n  level 0 dB\n", "  level -3 dB\n",
		"Sittings are played at -3 dB from now on.",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is missing in:\n%s", want, got)
		}
	}
	if s, err := loadSoundSettings(); err != nil || s.level() != -3 {
		t.Errorf("kept: %+v, %v; want a level of -3 dB", s, err)
	}
	for _, line := range strings.Split(got, "\n") {
		if n := len([]rune(line)); n > 100 {
			t.Errorf("%d columns: %s", n, line)
		}
	}
}

func TestTheSoundCheckEndsWithItsInputOrItsContext(t *testing.T) {
	c, _ := silently(t)
	keys := make(chan keyStroke)
	close(keys)
	if err := c.byKeys(context.Background(), keys); err != nil {
		t.Error(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := c.byKeys(ctx, make(chan keyStroke)); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

func TestSequencesAreNoKeys(t *testing.T) {
	reader, writer, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	keys := readKeys(reader)
	for _, part := range []string{"a", "\x1b[A", "bc"} {
		if _, err := writer.WriteString(part); err != nil {
			t.Fatal(err)
		}
		time.Sleep(20 * time.Millisecond)
	}
	writer.Close()
	var got []byte
	for k := range keys {
		got = append(got, k.key)
	}
	if string(got) != "abc" {
		t.Errorf("keys %q, want abc", got)
	}
}
