//go:build linux

package main

import (
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// On a terminal the code stands there before the sitting has its screen, and Enter begins it without an instructor; the key is not pressed
// in the sitting.
func TestEnterBeginsWithoutTheInstructor(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes a live sitting")
	}
	data := t.TempDir()
	cmd, term, screen := onPTY(t, []string{"HORNLARK_DATA=" + data, "XDG_CONFIG_HOME=" + t.TempDir()},
		append([]string{"drill", "--silent", "--nobody", "--station", ":0"}, briefly("hover")...)...)
	screen.await(t, "Enter begins it before that.", 20*time.Second)
	if !strings.Contains(screen.string(), "which works once") {
		t.Error("there is no code")
	}
	term.WriteString("\r")
	screen.await(t, "kept without a name", 20*time.Second)
	time.Sleep(500 * time.Millisecond)
	cmd.Process.Kill()
	cmd.Wait()
	if left, _ := filepath.Glob(filepath.Join(data, "*")); len(left) == 0 {
		t.Error("nothing was kept")
	}
}
