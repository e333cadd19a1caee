//go:build unix

package main

import (
	"bytes"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/audio/soundtest"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/walk"
	"hornlark/drill/record"
)

// TestWalkIsHeardAgain walks a kept sitting on a real terminal with the arrow keys up to its first low-NR horn, and has that
// heard again through a real sound server: it is in the recording, and not before the key. What the terminal was is given back.
func TestWalkIsHeardAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("it plays in real time")
	}
	t.Parallel()
	server := soundtest.Start(t)
	data := t.TempDir()
	downs := slices.IndexFunc(keepOne(t, data)().Moments, func(m walk.Moment) bool { return m.Text == "sounds: low rotor horn" })
	if downs < 0 {
		t.Fatal("no moment is that of the low-NR horn")
	}

	record := server.Record(t)
	cmd, term, screen := onPTY(t, append(server.Env(), "HORNLARK_DATA="+data), "debrief", "1", "--walk")
	screen.await(t, "COCKPIT", 20*time.Second)
	if _, err := term.Write(bytes.Repeat([]byte("\x1b[B"), downs)); err != nil {
		t.Fatal(err)
	}
	time.Sleep(time.Second)
	pressed := time.Now()
	term.Write([]byte(" "))
	time.Sleep(desk.Taste + time.Second)
	term.Write([]byte("q"))
	if err := cmd.Wait(); err != nil {
		t.Errorf("%v; the screen has %q", err, screen.string())
	}
	recording := record.Stop(t)
	off, match := findHorn(t, recording, pressed.Add(100*time.Millisecond))
	t.Logf("after %d keys down, the horn is heard %v after the key, match %.3f", downs, 100*time.Millisecond+off, match)
	if match < 0.9 || off < -100*time.Millisecond {
		t.Errorf("the horn is not heard after the key: off %v, match %.3f", off, match)
	}
	if before := loudness(recording, pressed.Add(-900*time.Millisecond), pressed); before > -60 {
		t.Errorf("something of %.0f dB is heard before the key", before)
	}
	if after := loudness(recording, pressed.Add(desk.Taste+600*time.Millisecond), pressed.Add(desk.Taste+900*time.Millisecond)); after > -60 {
		t.Errorf("the horn of %.0f dB goes on", after)
	}
	if !strings.Contains(screen.all(t), "\x1b[?1049l") {
		t.Error("the terminal was not given back: it is still on its other screen")
	}
}

// TestWalkAfterASitting goes from the report of a live sitting to the walk through it, back, and out.
func TestWalkAfterASitting(t *testing.T) {
	if testing.Short() {
		t.Skip("it is a live sitting")
	}
	t.Parallel()
	cmd, term, screen := onPTY(t, []string{"HORNLARK_DATA=" + t.TempDir()}, append([]string{"drill", "--answers", "perfect", "--silent"}, briefly("hover")...)...)
	screen.await(t, "walk through", 2*time.Minute)
	term.Write([]byte("w"))
	screen.await(t, "THE AIRCRAFT THEN", 20*time.Second)
	term.Write([]byte("qq"))
	leave := time.AfterFunc(2*time.Second, func() { term.Write([]byte("q")) }) // of the report, once it is back
	defer leave.Stop()
	if err := cmd.Wait(); err != nil {
		t.Errorf("%v; the screen has %q", err, screen.string())
	}
	if !strings.Contains(screen.all(t), "RESULT") {
		t.Error("the report was not printed at the end")
	}
}

// keepOne keeps a sitting in a folder, gone through without a clock, and gives a function that opens it to be gone through again.
func keepOne(t testing.TB, data string) (open func() *walk.Walk) {
	t.Helper()
	m := made{data: data, scenario: "first-start", trainee: "kim", version: "development", started: time.Date(2026, 4, 2, 9, 30, 0, 0, time.UTC)}
	if err := m.keep(); err != nil {
		t.Fatal(err)
	}
	return func() *walk.Walk {
		store, err := record.Open(filepath.Join(data, "hornlark.db"))
		if err != nil {
			t.Fatal(err)
		}
		defer store.Close()
		k, err := keptBy(store, nil)
		if err != nil {
			t.Fatal(err)
		}
		w, err := k.through()
		if err != nil {
			t.Fatal(err)
		}
		return w
	}
}

// BenchmarkWalk opens a whole sitting to be gone through.
func BenchmarkWalk(b *testing.B) {
	open := keepOne(b, b.TempDir())
	for b.Loop() {
		open()
	}
}
