//go:build unix

package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hornlark/audio"
	"hornlark/audio/soundtest"
)

// TestCtrlCWhileStarting presses it while the sound is being opened, which a sound server that hangs makes take seconds: the program
// ends at once, with one plain line, and nothing is kept.
func TestCtrlCWhileStarting(t *testing.T) {
	if testing.Short() {
		t.Skip("it waits for seconds")
	}
	server := soundtest.Start(t)
	if err := server.Freeze(); err != nil {
		t.Fatal(err)
	}
	defer server.Thaw()
	data := t.TempDir()
	cmd, term, screen := onPTY(t, append(server.Env(), "HORNLARK_DATA="+data), "drill", "first-start")
	time.Sleep(time.Second)
	pressed := time.Now()
	term.Write([]byte{keyCtrlC})
	cmd.Wait()
	if took := time.Since(pressed); took > 2*time.Second {
		t.Errorf("it took %v to end", took)
	}
	if status := cmd.ProcessState.ExitCode(); status != exitStopped {
		t.Errorf("exit status %d, want %d", status, exitStopped)
	}
	if got, want := screen.all(t), "^C\r\x1b[K"+errNotBegun.Error()+"\r\n"; got != want {
		t.Errorf("the terminal has %q, want %q", got, want)
	}
	if _, err := os.Stat(filepath.Join(data, "hornlark.db")); err == nil {
		t.Error("records were made")
	}
}

// TestLevelKeysInASitting turns a sitting down and up again on a real terminal: it says what it is at, never goes above the level of
// the sound check, and the next sitting begins where this one was left.
func TestLevelKeysInASitting(t *testing.T) {
	if testing.Short() {
		t.Skip("it plays in real time")
	}
	t.Parallel()
	server := soundtest.Start(t)
	settings := atLevel(t, -12)
	_, folder, _ := strings.Cut(settings, "=")
	const down, up = "\x1b[6~", "\x1b[5~"
	_, term, screen := onPTY(t, append(server.Env(), settings, "HORNLARK_DATA="+t.TempDir()), append([]string{"drill"}, briefly("hover")...)...)
	screen.await(t, "limits?", 20*time.Second)
	time.Sleep(500 * time.Millisecond)
	term.Write([]byte(up))
	screen.await(t, "Sound at -12 dB, as in the sound check: no louder without \"hornlark sound\".", 5*time.Second)
	term.Write([]byte(down))
	screen.await(t, "5 dB.", 5*time.Second) // only what is new in the line is drawn
	term.Write([]byte(down))
	time.Sleep(500 * time.Millisecond)
	term.Write([]byte{keyCtrlC})
	time.Sleep(500 * time.Millisecond)
	term.Write([]byte("q"))
	var kept soundSettings
	path := filepath.Join(folder, "hornlark", "sound.json")
	for end := time.Now().Add(10 * time.Second); kept.level() != -18 && time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
		body, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		kept = soundSettings{}
		if err := json.Unmarshal(body, &kept); err != nil {
			t.Fatal(err)
		}
	}
	if kept.level() != -18 || kept.most() != -12 {
		t.Errorf("kept are a level of %g dB and %g at most, want -18 and -12", kept.level(), kept.most())
	}
}

func TestLevelsAreBounded(t *testing.T) {
	for _, test := range []struct {
		settings    soundSettings
		most, level float64
	}{
		{soundSettings{}, audio.DefaultLevel, audio.DefaultLevel},
		{soundSettings{TurnedDB: -6}, audio.DefaultLevel, audio.DefaultLevel - 6},
		{soundSettings{TurnedDB: -30}, audio.DefaultLevel, -audio.LevelRange},
	} {
		if got := test.settings; got.most() != test.most || got.level() != test.level {
			t.Errorf("%+v: %g at most and %g, want %g and %g", got, got.most(), got.level(), test.most, test.level)
		}
	}
	var s soundSettings
	s.TurnedDB = -9
	s.setLevel(0)
	if s.most() != 0 || s.level() != 0 {
		t.Errorf("after the sound check at full level: %g at most and %g, want 0", s.most(), s.level())
	}
	if body, err := json.Marshal(s); err != nil || !strings.Contains(string(body), `"level_db":0`) {
		t.Errorf("%s, %v: full level is not told from none", body, err)
	}
}
