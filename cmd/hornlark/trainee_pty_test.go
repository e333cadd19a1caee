//go:build unix

package main

import (
	"path/filepath"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"hornlark/drill/record"
)

// Whoever begins on a terminal and is not known is asked for a name before anything else; the sitting is kept for them, and the next one too
// without a question. On the first screen the question comes before it, so that nothing stands between its key and the first words.
func TestAskedOnATerminal(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes live sittings")
	}
	data, settings := t.TempDir(), "XDG_CONFIG_HOME="+t.TempDir()
	environ := []string{"HORNLARK_DATA=" + data, settings}
	wrong, _, told := onPTY(t, environ, "drill", "no-such-scenario")
	wrong.Wait() // without a question
	told.await(t, "no-such-scenario", 20*time.Second)
	for i := range 2 {
		cmd, term, screen := onPTY(t, environ, append([]string{"drill", "--silent"}, briefly("start")...)...)
		if i == 0 {
			screen.await(t, "Who sits here?", 20*time.Second)
			term.WriteString("kim\n")
		}
		screen.await(t, "kept for kim; another:", 20*time.Second)
		cmd.Process.Signal(unix.SIGTERM) // a key would be for the screen, which may not be there yet
		cmd.Wait()
	}
	store, err := record.Open(filepath.Join(data, "hornlark.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	if kept, err := store.Sittings(record.Filter{Trainee: "kim"}); err != nil || len(kept) != 2 {
		t.Errorf("%d sittings of kim, %v", len(kept), err)
	}

	_, term, screen := onPTY(t, []string{"HORNLARK_DATA=" + data, "XDG_CONFIG_HOME=" + t.TempDir()})
	screen.await(t, "Who sits here?", 20*time.Second)
	term.WriteString("\n")
	screen.await(t, "first start", 20*time.Second)
}
