//go:build unix

package main

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// On a terminal an evening asks whose it is, says what it will be and why, and begins with Enter; left before that, nothing is kept.
func TestAnEveningBeginsWithEnter(t *testing.T) {
	if testing.Short() {
		t.Skip("it runs the program twice")
	}
	data := t.TempDir()
	environ := []string{"HORNLARK_DATA=" + data, "XDG_CONFIG_HOME=" + t.TempDir()}
	for _, begins := range []bool{false, true} {
		cmd, term, screen := onPTY(t, environ, "tonight", "--minutes", "5", "--silent")
		if !begins {
			screen.await(t, "Who sits here?", 20*time.Second)
			term.WriteString("kim\n")
		}
		screen.await(t, "This is the first evening of kim", 20*time.Second)
		screen.await(t, "Nothing of it was met yet.", time.Second)
		screen.await(t, "Enter begins", time.Second)
		if begins {
			term.WriteString("\r")
			screen.await(t, "kept for kim", 20*time.Second)
			screen.await(t, "Fuel levers, bay cuts", 20*time.Second)
			cmd.Process.Signal(unix.SIGTERM)
		} else {
			term.Write([]byte{keyCtrlC})
		}
		cmd.Wait()
		if status := cmd.ProcessState.ExitCode(); status != exitStopped {
			t.Errorf("exit status %d, want %d", status, exitStopped)
		}
		if !begins {
			screen.await(t, errNotBegun.Error(), 2*time.Second)
			if strings.Contains(screen.string(), "\nTONIGHT") {
				t.Error("it tells how it went")
			}
			if found, _ := filepath.Glob(filepath.Join(data, "*.db")); len(found) > 0 {
				t.Error("records were made")
			}
		}
	}
}
