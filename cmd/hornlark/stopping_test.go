//go:build unix

package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"hornlark/drill/logbook"
)

// stopsWithin is how long a command may take to end once it is told to. The machine is asked meanwhile how late it is itself.
const stopsWithin = 200 * time.Millisecond

// TestEveryCommandStops tells commands that take long to end, at moments that nobody has chosen, by each of the signals that ask for
// it: they end at once, with status 130, one plain line on standard error, and no file that is half written.
func TestEveryCommandStops(t *testing.T) {
	if testing.Short() {
		t.Skip("it keeps thousands of sittings first")
	}
	folder := t.TempDir()
	makeHistory(t, folder, 2000)
	whole := filepath.Join(folder, "whole.json")
	var problems bytes.Buffer
	t.Setenv("HORNLARK_DATA", folder)
	out, err := os.Create(whole)
	if err != nil {
		t.Fatal(err)
	}
	if status := run(t.Context(), []string{"export"}, streams{out: out, err: &problems}); status != exitPassed {
		t.Fatalf("status %d: %s", status, &problems)
	}
	out.Close()
	pipe := filepath.Join(folder, "pipe")
	if err := unix.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	many := filepath.Join(folder, "many")
	if err := manyProfiles(many, 40); err != nil {
		t.Fatal(err)
	}
	held := func(path string) { // a pipe with somebody at the other end who says nothing
		if file, err := os.OpenFile(path, os.O_RDWR, 0); err == nil {
			t.Cleanup(func() { file.Close() })
		}
	}
	held(pipe)
	ended := 0
	outputs := t.TempDir()
	exported := filepath.Join(outputs, "exported")
	for _, c := range []struct {
		name string
		args []string
		most time.Duration // that is waited before the signal
	}{
		{"export json", []string{"export"}, 300 * time.Millisecond},
		{"export json to a file", []string{"export", "--out", exported}, 300 * time.Millisecond},
		{"export csv", []string{"export", "--as", "csv"}, 1500 * time.Millisecond},
		{"export xapi to a file", []string{"export", "--as", "xapi", "--out", exported}, 1500 * time.Millisecond},
		{"import", []string{"import", whole}, 2 * time.Second},
		{"import from a pipe", []string{"import", pipe}, 500 * time.Millisecond},
		{"progress", []string{"progress"}, 200 * time.Millisecond},
		{"ready", []string{"ready", "--trainee", "trainee 3"}, 500 * time.Millisecond},
		{"plan", []string{"plan", "--trainee", "trainee 3", "--by", soon}, 200 * time.Millisecond},
		{"tonight", []string{"tonight", "--show", "--trainee", "trainee 3"}, 200 * time.Millisecond},
		{"preview", []string{"preview", "first-start", "--runs", "100000"}, time.Second},
		{"preview to a file", []string{"preview", "cold-morning", "--runs", "100000", "--save", exported}, 2 * time.Second},
		{"check", []string{"check", many}, time.Second},
		{"check --sheet", []string{"check", "--sheet", many}, time.Second},
		{"a silent sitting", append([]string{"drill", "--answers", "perfect", "--silent"}, briefly("hover")...), 3 * time.Second},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, signal := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP} {
				data := folder
				if c.args[0] == "import" || c.args[0] == "drill" {
					data = t.TempDir()
				}
				os.Remove(exported)
				if !stopOne(t, c.args, data, signal, 50*time.Millisecond+rand.N(c.most)) {
					continue
				}
				ended++
				left, err := filepath.Glob(exported + "*")
				if hidden, _ := filepath.Glob(filepath.Join(outputs, ".*")); err != nil || len(left)+len(hidden) > 0 {
					t.Errorf("%v, %v are left of the file", left, hidden)
				}
			}
		})
	}
	t.Logf("%d were ended before they had come to their end", ended)
	if ended < 12 {
		t.Errorf("only %d were", ended)
	}
}

// stopOne starts a command and ends it by a signal, and reports whether it did: a command that had come to its end before counts for
// nothing.
func stopOne(t *testing.T, args []string, data string, signal syscall.Signal, after time.Duration) bool {
	t.Helper()
	cmd := exec.Command(program(t), args...)
	cmd.Env = append(os.Environ(), "HORNLARK_DATA="+data, "TMPDIR="+data)
	var problems bytes.Buffer
	cmd.Stdout, cmd.Stderr = io.Discard, &problems
	late := watchMachine(t, t.TempDir())
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	time.Sleep(after)
	told := time.Now()
	if err := cmd.Process.Signal(signal); errors.Is(err, os.ErrProcessDone) {
		cmd.Wait()
		return false
	}
	cmd.Wait()
	took, slack := time.Since(told), late()
	if took > stopsWithin+2*slack {
		t.Errorf("%v after %v: it took %v; the machine itself was %v late", signal, after, took, slack)
	}
	status := cmd.ProcessState.ExitCode()
	if (status == exitPassed || status == exitNotPassed) && problems.Len() == 0 {
		return false // it was done: also whoever is not ready has been told all there is to tell
	}
	if status == -1 && after < 500*time.Millisecond && cmd.ProcessState.Sys().(syscall.WaitStatus).Signal() == signal {
		return false // it had not come as far as to listen
	}
	if status != exitStopped {
		t.Errorf("%v after %v: status %d, %v", signal, after, status, cmd.ProcessState)
	}
	line := problems.String()
	if strings.Count(line, "\n") != 1 || !strings.HasPrefix(line, "Stopped") || strings.Contains(line, "context") || strings.ContainsRune(line, 0x1b) {
		t.Errorf("%v after %v: it says %q", signal, after, line)
	}
	return true
}

// manyProfiles makes a folder with so many profiles, each with a data sheet to be flown by.
func manyProfiles(folder string, n int) error {
	body, err := os.ReadFile(filepath.Join("..", "..", "drill", "library", "profiles", "dunlin-lt.yaml"))
	if err != nil {
		return err
	}
	if err := os.Mkdir(folder, 0o700); err != nil {
		return err
	}
	for i := range n {
		name := fmt.Sprintf("dunlin-%d", i)
		if err := os.WriteFile(filepath.Join(folder, name+".yaml"), bytes.Replace(body, []byte("dunlin-lt"), []byte(name), 1), 0o600); err != nil {
			return err
		}
	}
	return nil
}

// What a user reads of being stopped is never what a context says of itself.
func TestWhatIsSaidOfBeingStopped(t *testing.T) {
	ctx, cancel := context.WithCancelCause(t.Context())
	cancel(stopped{syscall.SIGTERM})
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"export"}, "Stopped before the end.\n"},
		{[]string{"export", "--as", "csv"}, "Stopped before the end.\n"},
		{[]string{"drill", "first-start", "--answers", "perfect", "--virtual"}, "Stopped before the end.\n"},
		{[]string{"drill", "first-start", "--answers", "perfect", "--silent"}, errNotBegun.Error() + "\n"},
		{[]string{"trace", "first-start", "--answers", "perfect", "--csv", "-"}, "Stopped before the end.\n"},
		{[]string{"preview", "first-start"}, "Stopped before the end.\n"},
		{[]string{"import", "testdata/short/hover.yaml"}, "Stopped before the end.\n"},
	} {
		data := t.TempDir()
		one := made{data: data, scenario: filepath.Join("testdata", "short", "hover-scenario.yaml"), trainee: "kim", version: "test", started: time.Now()}
		if err := one.keep(); err != nil {
			t.Fatal(err)
		}
		t.Setenv("HORNLARK_DATA", data)
		var out, told bytes.Buffer
		status := run(ctx, c.args, streams{in: &bytes.Buffer{}, out: &out, err: &told})
		if status != exitStopped || told.String() != c.want {
			t.Errorf("%v: status %d, %q", c.args, status, told.String())
		}
	}
}

// Progress is told of what takes longer than a second, to a terminal only, and taken away at the end.
func TestProgress(t *testing.T) {
	for _, watched := range []bool{true, false} {
		var told bytes.Buffer
		s := streams{err: &told, watched: watched}
		now := time.Now()
		p := s.progress("exporting")
		p.now = func() time.Time { return now }
		for i := range 5000 {
			now = now.Add(time.Millisecond)
			p.at(i, 5000)
		}
		lines := strings.Count(told.String(), "\r")
		p.end()
		if !watched && told.Len() > 0 {
			t.Errorf("where nobody watches it tells %q", told.String())
		}
		if watched && (lines < 15 || lines > 25 || !strings.Contains(told.String(), "\rexporting: [====................] 1000 of 5000") || !strings.HasSuffix(told.String(), "\r\x1b[K")) {
			t.Errorf("%d lines: %q", lines, told.String())
		}
	}
}

// TestHeldWhileStopped stops a live sitting with SIGSTOP, types into its terminal meanwhile, and lets it go on: it is held as of the
// last moment before, says so, times nothing of what was typed, and its report says what happened.
func TestHeldWhileStopped(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes seconds")
	}
	data := t.TempDir()
	cmd, term, screen := onPTY(t, []string{"HORNLARK_DATA=" + data}, append([]string{"drill", "--silent"}, briefly("start")...)...)
	screen.await(t, "?", 30*time.Second)
	time.Sleep(time.Second)
	const away = 2500 * time.Millisecond
	cmd.Process.Signal(unix.SIGSTOP)
	time.Sleep(away / 2)
	term.Write([]byte("1\r2\x1b"))
	time.Sleep(away / 2)
	cmd.Process.Signal(unix.SIGCONT)
	screen.await(t, "The clock jumped by ", 10*time.Second)
	time.Sleep(time.Second)
	term.Write([]byte{0x1b})
	time.Sleep(500 * time.Millisecond)
	term.Write([]byte("1"))
	time.Sleep(500 * time.Millisecond)
	term.Write([]byte{keyCtrlC})
	screen.await(t, "leave", 20*time.Second) // the report is there
	time.Sleep(time.Second)
	term.Write([]byte("q"))
	cmd.Wait()
	log, _ := kept(t, filepath.Join(data, "hornlark.db"))
	from := slices.IndexFunc(log, func(e logbook.Entry) bool { return e.Kind == logbook.Paused && e.Why == logbook.Jumped })
	to := slices.IndexFunc(log, func(e logbook.Entry) bool { return e.Kind == logbook.Unpaused })
	if from < 0 || to < from {
		t.Fatalf("the log has the jump at %d and the end of the hold at %d", from, to)
	}
	if by := log[from].Length; by < 2*time.Second || by > away+3*time.Second {
		t.Errorf("the clock jumped by %v; it was stopped for %v", by, away)
	}
	if held := log[to].Length; held < away+800*time.Millisecond {
		t.Errorf("it was held for %v, which is not from before the stop", held)
	}
	var pressed []string
	for _, e := range log[from:] {
		if e.Kind == logbook.Press {
			pressed = append(pressed, e.Key)
		}
	}
	if fmt.Sprint(pressed) != "[1]" {
		t.Errorf("of the keys, %v were taken; want only the last", pressed)
	}
	// The report is asked for again: of what the screen showed at last, not all may have been read yet.
	t.Setenv("HORNLARK_DATA", data)
	var report bytes.Buffer
	run(t.Context(), []string{"debrief"}, streams{in: &bytes.Buffer{}, out: &report, err: &report})
	if text := strings.Join(strings.Fields(report.String()), " "); !strings.Contains(text, "the clock jumped by") {
		t.Errorf("the report does not tell of it:\n%s", text)
	}
	if status := cmd.ProcessState.ExitCode(); status != exitStopped {
		t.Errorf("status %d", status)
	}
}

// TestAPasteDoesNotStall pastes 100 kB into a live sitting, as one that the terminal marks and as one that it does not: the sitting ends
// at once all the same, and none of it was pressed.
func TestAPasteDoesNotStall(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes seconds")
	}
	text := strings.Repeat("1234567890 qwertyuiop\r", 4600)
	for name, paste := range map[string]string{"marked": "\x1b[200~" + text + "\x1b[201~", "not marked": text} {
		t.Run(name, func(t *testing.T) {
			data := t.TempDir()
			cmd, term, screen := onPTY(t, []string{"HORNLARK_DATA=" + data}, append([]string{"drill", "--silent"}, briefly("start")...)...)
			screen.await(t, "?", 30*time.Second)
			time.Sleep(500 * time.Millisecond)
			if _, err := term.Write([]byte(paste)); err != nil {
				t.Fatal(err)
			}
			pressed := time.Now()
			term.Write([]byte{keyCtrlC})
			screen.await(t, "ended before it was complete", 10*time.Second)
			if took := time.Since(pressed); took > 2*time.Second {
				t.Errorf("it took %v to end", took)
			}
			term.Write([]byte("q"))
			cmd.Wait()
			log, _ := kept(t, filepath.Join(data, "hornlark.db"))
			n := 0
			for _, e := range log {
				if e.Kind == logbook.Press {
					n++
				}
			}
			if n >= 40 {
				t.Errorf("%d keys were pressed", n)
			}
		})
	}
}

// The terminal is given back by whatever ends the program, but for a kill.
func TestAnAbortGivesTheTerminalBack(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes seconds")
	}
	t.Parallel()
	for _, signal := range []syscall.Signal{syscall.SIGABRT, syscall.SIGQUIT, syscall.SIGTERM, syscall.SIGHUP, syscall.SIGINT} {
		t.Run(signal.String(), func(t *testing.T) { abort(t, signal) })
	}
}

// abort ends a sitting by a signal.
func abort(t *testing.T, signal syscall.Signal) {
	t.Parallel()
	cmd, term, screen := onPTY(t, []string{"HORNLARK_DATA=" + t.TempDir()}, append([]string{"drill", "--silent"}, briefly("start")...)...)
	before, err := unix.IoctlGetTermios(int(term.Fd()), askTermios)
	if err != nil {
		t.Fatal(err)
	}
	screen.await(t, "?", 30*time.Second)
	cmd.Process.Signal(signal)
	leave := time.AfterFunc(3*time.Second, func() { term.Write([]byte("q")) })
	cmd.Wait()
	leave.Stop()
	after, err := unix.IoctlGetTermios(int(term.Fd()), askTermios)
	if err != nil {
		t.Fatal(err)
	}
	if *after != *before {
		t.Errorf("the terminal is %+v; it was %+v", after, before)
	}
	if !strings.Contains(screen.all(t), "\x1b[?1049l") {
		t.Error("it is still on its other screen")
	}
}
