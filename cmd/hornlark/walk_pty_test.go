//go:build unix

package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"

	"hornlark/audio/soundtest"
	"hornlark/cmd/hornlark/walk"
	"hornlark/drill"
	"hornlark/drill/record"
)

// TestWalkIsHeardAgain walks a kept sitting on a real terminal with the arrow keys up to its first low-NR horn, and has that
// heard again through a real sound server: it is in the recording, and not before the key. What the terminal was is given back.
func TestWalkIsHeardAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("it plays in real time")
	}
	server := soundtest.Start(t)
	data := t.TempDir()
	m := made{data: data, scenario: "first-start", trainee: "kim", version: "development", started: time.Date(2026, 4, 2, 9, 30, 0, 0, time.UTC)}
	if err := m.keep(); err != nil {
		t.Fatal(err)
	}
	downs := momentOf(t, data, "sounds: low rotor horn")

	record := server.Record(t)
	cmd := exec.Command(program(t), "debrief", "1", "--walk")
	cmd.Env = append(os.Environ(), append(server.Env(), "HORNLARK_DATA="+data, "XDG_CONFIG_HOME="+t.TempDir(), "TERM=xterm-256color")...)
	term, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		t.Fatal(err)
	}
	defer term.Close()
	defer cmd.Process.Kill()
	var screen shown
	go screen.take(term)
	screen.await(t, "INTERIOR CHECKS", 20*time.Second)
	if _, err := term.Write(bytes.Repeat([]byte("\x1b[B"), downs)); err != nil {
		t.Fatal(err)
	}
	time.Sleep(time.Second)
	pressed := time.Now()
	term.Write([]byte(" "))
	time.Sleep(taste + time.Second)
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
	if after := loudness(recording, pressed.Add(taste+600*time.Millisecond), pressed.Add(taste+900*time.Millisecond)); after > -60 {
		t.Errorf("the horn of %.0f dB goes on", after)
	}
	if !strings.Contains(screen.string(), "\x1b[?1049l") {
		t.Error("the terminal was not given back: it is still on its other screen")
	}
}

// TestWalkAfterASitting goes from the report of a live sitting to the walk through it, back, and out.
func TestWalkAfterASitting(t *testing.T) {
	if testing.Short() {
		t.Skip("it is a live sitting")
	}
	cmd := exec.Command(program(t), append([]string{"drill", "--answers", "perfect", "--silent"}, briefly("hover")...)...)
	cmd.Env = append(os.Environ(), "HORNLARK_DATA="+t.TempDir(), "XDG_CONFIG_HOME="+t.TempDir(), "TERM=xterm-256color")
	term, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		t.Fatal(err)
	}
	defer term.Close()
	defer cmd.Process.Kill()
	var screen shown
	go screen.take(term)
	screen.await(t, "walk through", 2*time.Minute)
	term.Write([]byte("w"))
	screen.await(t, "THE AIRCRAFT THEN", 20*time.Second)
	term.Write([]byte("qq"))
	leave := time.AfterFunc(2*time.Second, func() { term.Write([]byte("q")) }) // of the report, once it is back
	defer leave.Stop()
	if err := cmd.Wait(); err != nil {
		t.Errorf("%v; the screen has %q", err, screen.string())
	}
	if !strings.Contains(screen.string(), "RESULT") {
		t.Error("the report was not printed at the end")
	}
}

// momentOf is how many moments of the kept sitting come before the first that says something.
func momentOf(t *testing.T, data, text string) int {
	t.Helper()
	store, err := record.Open(filepath.Join(data, "hornlark.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	sitting, err := sittingOf(store, nil)
	if err != nil {
		t.Fatal(err)
	}
	k, err := loadKept(store, sitting)
	if err != nil {
		t.Fatal(err)
	}
	s, err := drill.New(k.ex.plan(k.Lead))
	if err != nil {
		t.Fatal(err)
	}
	k.ex.options = &drillOptions{}
	w, err := walk.Through(s, k.inputs, k.lasted(), k.ex.Profile, k.ex.names(), k.ex.judge())
	if err != nil {
		t.Fatal(err)
	}
	for i, m := range w.Moments {
		if m.Text == text {
			return i
		}
	}
	t.Fatalf("no moment says %q", text)
	return 0
}

// BenchmarkWalk opens a whole sitting to be gone through.
func BenchmarkWalk(b *testing.B) {
	data := b.TempDir()
	m := made{data: data, scenario: "first-start", version: "development", started: time.Date(2026, 4, 2, 9, 30, 0, 0, time.UTC)}
	if err := m.keep(); err != nil {
		b.Fatal(err)
	}
	store, err := record.Open(filepath.Join(data, "hornlark.db"))
	if err != nil {
		b.Fatal(err)
	}
	defer store.Close()
	for b.Loop() {
		sitting, err := sittingOf(store, nil)
		if err != nil {
			b.Fatal(err)
		}
		k, err := loadKept(store, sitting)
		if err != nil {
			b.Fatal(err)
		}
		s, err := drill.New(k.ex.plan(k.Lead))
		if err != nil {
			b.Fatal(err)
		}
		if _, err := walk.Through(s, k.inputs, k.lasted(), k.ex.Profile, k.ex.names(), k.ex.judge()); err != nil {
			b.Fatal(err)
		}
	}
}
