//go:build unix

package main

import (
	"database/sql"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/creack/pty"
	_ "modernc.org/sqlite"

	"hornlark/audio/soundtest"
	"hornlark/audio/tone"
	"hornlark/drill/logbook"
)

// onTerminal runs a live sitting, answered perfectly, on a pseudo-terminal with a real sound server, and gives what was
// heard, the log, when the sitting began and the exit status.
func onTerminal(t *testing.T, server *soundtest.Server, scenario string) (soundtest.Recording, []logbook.Entry, time.Time, int) {
	t.Helper()
	data := t.TempDir()
	cmd := exec.Command(program(t), "drill", filepath.Join("testdata", "short", scenario+"-scenario.yaml"),
		"--with", filepath.Join("testdata", "short"), "--answers", "perfect", "--trainee", "kim")
	cmd.Env = append(os.Environ(), append(server.Env(), "HORNLARK_DATA="+data, "TERM=xterm-256color")...)
	record := server.Record(t)
	term, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		t.Fatal(err)
	}
	defer term.Close()
	go func() { // the terminal shows whatever comes
		buffer := make([]byte, 4096)
		for {
			if _, err := term.Read(buffer); err != nil {
				return
			}
		}
	}()
	path := filepath.Join(data, "hornlark.db")
	awaitEnd(t, path, 4*time.Minute)
	recording := record.Stop(t)
	// The report is on the screen; q leaves it.
	status := make(chan error, 1)
	go func() { status <- cmd.Wait() }()
	leave := time.NewTicker(300 * time.Millisecond)
	defer leave.Stop()
	limit := time.After(20 * time.Second)
	for {
		select {
		case <-status:
			log, began := kept(t, path)
			return recording, log, began, cmd.ProcessState.ExitCode()
		case <-leave.C:
			term.Write([]byte("q"))
		case <-limit:
			cmd.Process.Kill()
			t.Fatal("the report was not left")
		}
	}
}

// awaitEnd waits until the records say that the sitting has ended.
func awaitEnd(t *testing.T, path string, limit time.Duration) {
	t.Helper()
	for deadline := time.Now().Add(limit); time.Now().Before(deadline); time.Sleep(200 * time.Millisecond) {
		if _, err := os.Stat(path); err != nil {
			continue
		}
		if db, err := sql.Open("sqlite", "file:"+path+"?mode=ro&_pragma=busy_timeout(2000)"); err == nil {
			var n int
			err := db.QueryRow(`SELECT count(*) FROM result`).Scan(&n)
			db.Close()
			if err == nil && n > 0 {
				return
			}
		}
	}
	t.Fatal("the sitting did not end")
}

// kept reads the log of the only sitting, and when it began.
func kept(t *testing.T, path string) ([]logbook.Entry, time.Time) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path+"?mode=ro&_pragma=busy_timeout(2000)")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var began int64
	if err := db.QueryRow(`SELECT started_ns FROM sitting`).Scan(&began); err != nil {
		t.Fatal(err)
	}
	rows, err := db.Query(`SELECT body FROM event ORDER BY seq`)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var log []logbook.Entry
	for rows.Next() {
		var body []byte
		var e logbook.Entry
		if err := rows.Scan(&body); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(body, &e); err != nil {
			t.Fatal(err)
		}
		log = append(log, e)
	}
	return log, time.Unix(0, began)
}

// The horn is found in what came out of the sound server where the log says that it was heard, by its own shape: the
// falling sweep of its partials. Every challenge is found as sound between its logged onset and its end.
func TestWholeProgramIsHeardAsLogged(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a live sitting")
	}
	server := soundtest.Start(t)
	for scenario, horns := range map[string]int{"hover": 1, "start": 0} {
		t.Run(scenario, func(t *testing.T) {
			recording, log, began, status := onTerminal(t, server, scenario)
			if status != exitPassed {
				t.Errorf("exit status %d; wanted %d", status, exitPassed)
			}
			handled, spoken, found := 0, 0, 0
			for _, e := range log {
				switch {
				case e.Kind == logbook.Handled:
					handled++
				case e.Kind == logbook.Heard && e.Name == "" && isCue(log, e.Cue, "speech") && isAsked(log, e.Cue):
					spoken++
					if level := loudness(recording, began.Add(e.Onset), began.Add(e.Until)); level < -45 {
						t.Errorf("cue %d: %.0f dB where its challenge should be", e.Cue, level)
					}
				case e.Kind == logbook.Heard && isCue(log, e.Cue, "horn") && textOf(log, e.Cue) == "low_nr":
					found++
					off, match := findHorn(t, recording, began.Add(e.Onset))
					t.Logf("horn at %v: %v off, match %.2f", e.Onset, off, match)
					if match < 0.4 || max(off, -off) > 15*time.Millisecond {
						t.Errorf("the horn of cue %d is %v off its logged onset (match %.2f)", e.Cue, off, match)
					}
				}
			}
			if handled == 0 || spoken == 0 || found < horns {
				t.Errorf("%d injections handled, %d challenges and %d horns heard", handled, spoken, found)
			}
			t.Logf("%d injections handled, %d challenges and %d horns heard", handled, spoken, found)
		})
	}
}

func isCue(log []logbook.Entry, cue int, class string) bool {
	return slices.ContainsFunc(log, func(e logbook.Entry) bool { return e.Kind == logbook.Cue && e.Cue == cue && e.Name == class })
}

func isAsked(log []logbook.Entry, cue int) bool {
	return slices.ContainsFunc(log, func(e logbook.Entry) bool { return e.Kind == logbook.Ask && e.Cue == cue })
}

func textOf(log []logbook.Entry, cue int) string {
	i := slices.IndexFunc(log, func(e logbook.Entry) bool { return e.Kind == logbook.Cue && e.Cue == cue })
	return log[i].Text
}

// loudness is the level of a stretch, in dB of full scale.
func loudness(r soundtest.Recording, from, to time.Time) float64 {
	a, b := max(0, r.SampleAt(from)), min(len(r.Samples), r.SampleAt(to))
	sum := 0.0
	for _, v := range r.Samples[min(a, b):b] {
		sum += float64(v) * float64(v)
	}
	return 10 * math.Log10(sum/float64(max(1, b-a))+1e-12)
}

// findHorn slides one round of the horn over the recording about a moment, and gives where it fits best and how well: 1
// is the horn and nothing else.
func findHorn(t *testing.T, r soundtest.Recording, about time.Time) (off time.Duration, match float64) {
	t.Helper()
	horn, err := tone.Named("low-nr")
	if err != nil {
		t.Fatal(err)
	}
	centre, reach := r.SampleAt(about), soundtest.Rate/5
	best := 0
	for shift := -reach; shift <= reach; shift++ {
		first := centre + shift
		if first < 0 || first+len(horn.PCM) > len(r.Samples) {
			continue
		}
		dot, a, b := 0.0, 0.0, 0.0
		for i := 0; i < len(horn.PCM); i += 4 {
			x, y := float64(horn.PCM[i]), float64(r.Samples[first+i])
			dot, a, b = dot+x*y, a+x*x, b+y*y
		}
		if fit := dot / (math.Sqrt(a*b) + 1e-9); fit > match {
			match, best = fit, shift
		}
	}
	return time.Duration(best) * time.Second / soundtest.Rate, match
}
