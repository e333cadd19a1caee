//go:build linux

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"

	"hornlark/drill/library"
	"hornlark/drill/record"
)

// Somebody who was never here is in a first sitting with two keys, has read the caution before, and has been asked whose it is.
func TestTwoKeysToAFirstSitting(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes a live sitting")
	}
	data := t.TempDir()
	cmd, term, screen := onPTY(t, []string{"HORNLARK_DATA=" + data, "XDG_CONFIG_HOME=" + t.TempDir()})
	screen.await(t, "Who sits here?", 20*time.Second)
	screen.await(t, "NOT FOR FLIGHT", time.Second)
	if strings.Contains(screen.string(), "sits here.") {
		t.Error("somebody sits here already")
	}
	term.WriteString("\r")
	screen.await(t, "kept without a name", 10*time.Second)
	screen.await(t, "nothing goes wrong", time.Second)
	if _, err := os.Stat(filepath.Join(data, "hornlark.db")); err == nil {
		t.Error("records were made before there was anything to keep")
	}
	term.WriteString("\r")
	screen.await(t, "Fuel levers, bay cuts", 20*time.Second)
	cmd.Process.Signal(unix.SIGTERM)
	cmd.Wait()
	if kept := keptIn(t, data, ""); len(kept) != 1 || kept[0].Trainee != "" || !strings.HasPrefix(kept[0].Scenario, "tonight-") {
		t.Errorf("kept is %+v", kept)
	}
}

// keptIn gives the sittings of a trainee, or all.
func keptIn(t *testing.T, data, trainee string) []record.Sitting {
	t.Helper()
	store, err := record.Open(filepath.Join(data, "hornlark.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	kept, err := store.Sittings(record.Filter{Trainee: trainee})
	if err != nil {
		t.Fatal(err)
	}
	return kept
}

// The first screen of somebody with sittings: it names what is next and no abnormal, keeps the minutes and the day, shows the plan and
// the sittings, has somebody else sit down, is drawn anew where its size changes, and leaves the terminal as it was when that goes away.
func TestTheFirstScreenOfATrainee(t *testing.T) {
	if testing.Short() {
		t.Skip("it runs the program several times")
	}
	data, settings := t.TempDir(), t.TempDir()
	environ := []string{"HORNLARK_DATA=" + data, "XDG_CONFIG_HOME=" + settings, "HORNLARK_NOW=2027-03-01T19:00:00Z", "TZ=UTC"}
	cmd, _, screen := onPTY(t, environ, append([]string{"drill", "--silent", "--trainee", "kim"}, briefly("hover")...)...)
	screen.await(t, "kept for kim", 20*time.Second)
	time.Sleep(time.Second)
	cmd.Process.Signal(unix.SIGTERM)
	cmd.Wait()

	cmd, term, screen := onPTY(t, environ)
	type step struct{ keys, shows string }
	for _, step := range []step{
		{"", "the sittings: 1, the latest 2027-03-01"},
		{"++d", "Until which day?"},
		{"2027-02-01\r", "has gone by"},
		{strings.Repeat("\x7f", 5) + "03-12\r", "UNTIL Fri 12 Mar 2027 for kim"},
		{"q", "until Fri 12 Mar 2027, in 11 days"},
		{"r", "SITTINGS of kim"},
		{"\r", "NOT PASSED: incomplete"},
		{"q", "SITTINGS of kim"},
		{"q", "kim sits here."},
		{"", "tonight: what helps most in 25 min"},
		{"n", "Who sits here?"},
		{"lee\r", "lee sits here."},
	} {
		from := len(screen.string())
		if step.keys == "" {
			from = 0
		}
		term.WriteString(step.keys)
		screen.awaitAfter(t, term, from, step.shows)
	}
	from := len(screen.string())
	if err := pty.Setsize(term, &pty.Winsize{Rows: 45, Cols: 140}); err != nil {
		t.Fatal(err)
	}
	screen.awaitAfter(t, term, from, "what to practise until a day that you name")
	before := termios(t, term)
	if before.Lflag&unix.ICANON != 0 {
		t.Error("the screen has not taken the terminal")
	}
	cmd.Process.Signal(unix.SIGHUP)
	cmd.Wait()
	if status := cmd.ProcessState.ExitCode(); status != exitStopped {
		t.Errorf("exit status %d, want %d", status, exitStopped)
	}
	if after := termios(t, term); after.Lflag&(unix.ICANON|unix.ECHO|unix.ISIG) != unix.ICANON|unix.ECHO|unix.ISIG {
		t.Errorf("the terminal is left raw: %x", after.Lflag)
	}
	all := screen.all(t)
	if strings.LastIndex(all, "\x1b[?1049l") <= strings.LastIndex(all, "\x1b[?1049h") {
		t.Error("the terminal is left on its alternate screen")
	}
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range lib.Abnormals() {
		if strings.Contains(all, a.Title) {
			t.Errorf("%q is named", a.Title)
		}
	}

	cmd, _, screen = onPTY(t, append(environ, "NO_COLOR=1"))
	screen.await(t, "lee sits here.", 20*time.Second)
	if strings.Contains(screen.string(), "\x1b[0;48") || strings.Contains(screen.string(), "38;5;") {
		t.Error("it has colours where none are wanted")
	}
	cmd.Process.Signal(unix.SIGTERM)
	cmd.Wait()
	if kept := keptIn(t, data, ""); len(kept) != 1 {
		t.Errorf("%d sittings are kept, want the one before", len(kept))
	}
}

// awaitAfter waits until a text has been written after so many bytes. It has the screen drawn anew, since otherwise only what differs is.
func (s *shown) awaitAfter(t *testing.T, term *os.File, from int, text string) {
	t.Helper()
	const ctrlL = "\x0c"
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(200 * time.Millisecond) {
		term.WriteString(ctrlL)
		if all := s.string(); strings.Contains(all[min(from, len(all)):], text) {
			return
		}
	}
	t.Fatalf("%q was not shown; what was:\n%q", text, s.string()[from:])
}

// termios are the settings of a terminal.
func termios(t *testing.T, term *os.File) *unix.Termios {
	t.Helper()
	is, err := unix.IoctlGetTermios(int(term.Fd()), askTermios)
	if err != nil {
		t.Fatal(err)
	}
	return is
}
