//go:build unix

package main

import (
	"path/filepath"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"hornlark/drill/record"
)

// Whoever comes to the first screen and is not known is asked for a name on it, so that nothing stands between its key and the first words; the
// sittings that follow are kept for them. A scenario that is named begins at once, and says for whom it is kept.
func TestAskedOnATerminal(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes live sittings")
	}
	data, settings := t.TempDir(), "XDG_CONFIG_HOME="+t.TempDir()
	environ := []string{"HORNLARK_DATA=" + data, settings}
	for _, says := range []string{"kept without a name; for somebody:", "kept for kim; another:"} {
		cmd, _, screen := onPTY(t, environ, append([]string{"drill", "--silent"}, briefly("start")...)...)
		screen.await(t, says, 20*time.Second)
		cmd.Process.Signal(unix.SIGTERM) // a key would be for the screen, which may not be there yet
		cmd.Wait()
		first, term, screen := onPTY(t, environ)
		if says != "kept for kim; another:" {
			screen.await(t, "Who sits here?", 20*time.Second)
			term.WriteString("kim\r")
		}
		screen.await(t, "kim sits here.", 20*time.Second)
		first.Process.Signal(unix.SIGTERM)
		first.Wait()
	}
	store, err := record.Open(filepath.Join(data, "hornlark.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	if kept, err := store.Sittings(record.Filter{Trainee: "kim"}); err != nil || len(kept) != 1 {
		t.Errorf("%d sittings of kim, %v, want 1", len(kept), err)
	}
}
