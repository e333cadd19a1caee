//go:build unix

package main

import (
	"regexp"
	"strconv"
	"testing"
	"time"

	"hornlark/audio/soundtest"
)

// TestCalibrationAgreesWithACapture taps steadily to the clicks of a real sound server, on a real terminal, and compares the
// offset that the program finds with that between the taps and a recording.
func TestCalibrationAgreesWithACapture(t *testing.T) {
	if testing.Short() {
		t.Skip("it plays in real time")
	}
	t.Parallel()
	server := soundtest.Start(t)
	record := server.Record(t)
	cmd, term, screen := onPTY(t, server.Env(), "sound", "--calibrate")
	screen.await(t, "Tap the space bar together", 20*time.Second)
	var taps []time.Time
	tick := time.NewTicker(tapGap)
	defer tick.Stop()
	for range tapClicks + 1 {
		<-tick.C
		taps = append(taps, time.Now())
		if _, err := term.Write([]byte(" ")); err != nil {
			t.Fatal(err)
		}
	}
	screen.await(t, "after the clicks", 20*time.Second)
	recording := record.Stop(t)
	said := regexp.MustCompile(`your taps came (-?\d+) ms after`).FindStringSubmatch(screen.string())
	got, err := strconv.Atoi(said[1])
	if err != nil {
		t.Fatal(err)
	}
	var clicks []time.Duration
	base := taps[0]
	for i := 0; i < len(recording.Samples); i++ {
		if v := recording.Samples[i]; v > 0.002 || v < -0.002 {
			clicks = append(clicks, recording.TimeOf(i).Sub(base))
			i += soundtest.Rate / 5
		}
	}
	var since []time.Duration
	for _, tap := range taps {
		since = append(since, tap.Sub(base))
	}
	want, err := judgeTaps(clicks, since)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%s: %d ms; recorded %v with a spread of %v", said[0], got, want.Median, want.Spread)
	if off := time.Duration(got)*time.Millisecond - want.Median; off.Abs() > 6*time.Millisecond {
		t.Errorf("the program found %d ms, the recording %v", got, want.Median)
	}
	term.Write([]byte("\r"))
	if err := cmd.Wait(); err != nil {
		t.Errorf("%v; the screen has %q", err, screen.string())
	}
}
