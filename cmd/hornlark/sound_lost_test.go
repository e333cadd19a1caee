//go:build unix

package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"

	"hornlark/audio/soundtest"
	"hornlark/drill/logbook"
)

// shown collects what a program writes on its terminal.
type shown struct {
	mu    sync.Mutex
	text  bytes.Buffer
	ended chan struct{} // closed once nothing more can come
}

func (s *shown) take(term *os.File) {
	defer close(s.ended)
	buffer := make([]byte, 4096)
	for {
		n, err := term.Read(buffer)
		s.mu.Lock()
		s.text.Write(buffer[:n])
		s.mu.Unlock()
		if err != nil {
			return
		}
	}
}

func (s *shown) string() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// all is everything that a program has written that has ended: what it wrote last may still be on its way then.
func (s *shown) all(t *testing.T) string {
	t.Helper()
	select {
	case <-s.ended:
	case <-time.After(10 * time.Second):
		t.Error("the terminal is still held open by somebody")
	}
	return s.string()
}

// onPTY starts the program on a pseudo-terminal of 80 columns and 24 lines, and ends it with the test.
func onPTY(t *testing.T, environ []string, args ...string) (*exec.Cmd, *os.File, *shown) {
	t.Helper()
	cmd := exec.Command(program(t), args...)
	cmd.Env = append(append(os.Environ(), atLevel(t, 0), "TERM=xterm-256color"), environ...)
	term, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cmd.Process.Kill()
		term.Close()
	})
	screen := &shown{ended: make(chan struct{})}
	go screen.take(term)
	return cmd, term, screen
}

// atLevel gives a program settings of its own, in which the level is set and it is known who sits there, by an environment variable.
func atLevel(t *testing.T, db float64) string {
	t.Helper()
	dir := t.TempDir()
	path := filepath.Join(dir, "hornlark", "sound.json")
	if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o700), os.WriteFile(path, fmt.Appendf(nil, `{"level_db": %g}`, db), 0o600),
		os.WriteFile(filepath.Join(filepath.Dir(path), "trainee.json"), []byte(`{"trainee": "lee"}`), 0o600)); err != nil {
		t.Fatal(err)
	}
	return "XDG_CONFIG_HOME=" + dir
}

// await waits until a text has been written.
func (s *shown) await(t *testing.T, text string, limit time.Duration) {
	t.Helper()
	for end := time.Now().Add(limit); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if strings.Contains(s.string(), text) {
			return
		}
	}
	all := s.string()
	t.Fatalf("%q was not shown within %v; the last that was:\n%q", text, limit, all[max(0, len(all)-2000):])
}

// TestADeviceIsLost ends the sound server in the middle of a sitting: the sitting is held, and goes on when the trainee says
// so, with sound if it is back and silently if it is not.
func TestADeviceIsLost(t *testing.T) {
	if testing.Short() {
		t.Skip("it plays in real time")
	}
	t.Parallel()
	for name, found := range map[string]bool{"and found": true, "for good": false} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			loseDevice(t, found)
		})
	}
}

// goOn waits for the end of a sitting that Esc has just let go on, and lets it go on again whenever it is held: a busy machine may make
// its sound bad more often than a server that is gone.
func goOn(t *testing.T, path string, term *os.File) {
	t.Helper()
	pressed := time.Now()
	for end := time.Now().Add(4 * time.Minute); time.Now().Before(end); time.Sleep(200 * time.Millisecond) {
		log, _, err := keptSince(path, 0)
		if err != nil {
			continue
		}
		held := false
		for _, e := range log {
			switch e.Kind {
			case logbook.End:
				awaitEnd(t, path, time.Minute)
				return
			case logbook.Paused:
				held = true
			case logbook.Unpaused:
				held = false
			}
		}
		if held && time.Since(pressed) > 2*time.Second {
			term.Write([]byte{0x1b})
			pressed = time.Now()
		}
	}
	t.Fatal("the sitting did not end")
}

func loseDevice(t *testing.T, found bool) {
	server := soundtest.Start(t)
	data := t.TempDir()
	_, term, screen := onPTY(t, append(server.Env(), "HORNLARK_DATA="+data), append([]string{"drill", "--answers", "perfect"}, briefly("hover")...)...)
	screen.await(t, "RIGHT", time.Minute) // the first items have been answered

	path := filepath.Join(data, "hornlark.db")
	if log, _, err := keptSince(path, 0); err == nil && slices.ContainsFunc(log, func(e logbook.Entry) bool { return e.Kind == logbook.Heard && e.Why == logbook.NoDevice }) {
		t.Skip("the machine is too busy for any sound: the sitting began silently, and has none to lose")
	}
	server.Kill()
	screen.await(t, "silently.", 20*time.Second) // the end of what is told then: of the rest only what differs is drawn
	var record *soundtest.Recorder
	if found {
		server.Restart(t)
		screen.await(t, "is back. Esc", 20*time.Second)
		record = server.Record(t)
	}
	term.Write([]byte{0x1b})
	goOn(t, path, term)
	log, _ := kept(t, path)
	var kinds []logbook.Kind
	for _, e := range log {
		switch e.Kind {
		case logbook.SoundBad, logbook.SoundGood, logbook.Paused, logbook.Unpaused:
			kinds = append(kinds, e.Kind)
		}
	}
	// A busy machine may make the sound bad more often than the server does, and hold the sitting once more before it has been good for long
	// enough to be called so; that it was heard shows in the recording.
	held, goes := slices.Index(kinds, logbook.Paused), slices.Index(kinds, logbook.Unpaused)
	good := held >= 0 && (slices.Contains(kinds[held:], logbook.SoundGood) || goes > held && slices.Contains(kinds[goes:], logbook.Paused))
	if held < 1 || !slices.Contains(kinds[:held], logbook.SoundBad) || goes < held || found && !good {
		t.Errorf("the log has %v, want the sound bad, the sitting held and let go, and the sound good: %v", kinds, found)
	}
	if last := log[len(log)-1]; last.Kind != logbook.End || !last.OK {
		t.Errorf("the sitting ended with %s", last.Describe())
	}
	// What nobody can have heard is told apart from what was heard, sound by sound.
	unheard, paused := 0, slices.IndexFunc(log, func(e logbook.Entry) bool { return e.Kind == logbook.Paused })
	for i, e := range log {
		switch {
		case e.Kind != logbook.Heard:
		case e.Why == logbook.NoDevice:
			unheard++
		case !found && e.Why == "" && paused >= 0 && i > paused:
			t.Errorf("after the device had gone it was heard: %s", e.Describe())
		}
	}
	if !found {
		if unheard == 0 {
			t.Error("nothing is logged as not heard")
		}
		return
	}
	var loudest float32
	for _, v := range record.Stop(t).Samples {
		loudest = max(loudest, v)
	}
	if loudest < 0.05 {
		t.Errorf("after the sound was back its peak is %.3f: nothing was heard", loudest)
	}
}
