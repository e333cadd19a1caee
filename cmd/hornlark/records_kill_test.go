package main

import (
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
	"hornlark/drill/bench"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
)

// TestKilledSittings kills the whole program in the middle of live sittings. Whatever happened more than 50 ms before is
// in the records: every key that was due, every sound that was heard, and every entry that they led to. HORNLARK_KILLS
// says how many; 20 without it.
func TestKilledSittings(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes live sittings")
	}
	t.Parallel()
	kills, longest := 20, 5*time.Second
	if text := os.Getenv("HORNLARK_KILLS"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil {
			t.Fatal(err)
		}
		kills, longest = n, 12*time.Second
	}
	path := program(t)
	var mu sync.Mutex
	begun, entries, slack := 0, 0, time.Duration(0)
	t.Run("each", func(t *testing.T) {
		slots := make(chan struct{}, 2*runtime.NumCPU())
		for i := range kills {
			t.Run(strconv.Itoa(i), func(t *testing.T) {
				t.Parallel()
				slots <- struct{}{}
				defer func() { <-slots }()
				k := kill{program: path, data: t.TempDir(), after: 200*time.Millisecond + rand.N(longest)}
				n := k.run(t)
				mu.Lock()
				defer mu.Unlock()
				slack = max(slack, k.slack)
				if entries += n; n > 0 {
					begun++
				}
			})
		}
	})
	t.Logf("%d killed, %d of them while a sitting went on; %d entries kept; the machine itself was up to %v late", kills, begun, entries, slack)
	if begun < kills/2 {
		t.Errorf("only %d of %d sittings had begun", begun, kills)
	}
}

// waitsForDatabase is how long the beginning of a sitting waits for its database.
const waitsForDatabase = 250 * time.Millisecond

// lateSound is how late a sound may begin where nothing is played but silence.
const lateSound = 250 * time.Millisecond

// kill is one sitting that is killed.
type kill struct {
	program, data string
	after         time.Duration // its start
	killed        time.Time
	slack         time.Duration // how late the machine was at the worst, apart from the program
}

// run gives how many entries were kept.
func (k *kill) run(t *testing.T) int {
	cmd := exec.Command(k.program, "drill", filepath.Join("testdata", "short", "hover-scenario.yaml"),
		"--with", filepath.Join("testdata", "short"), "--answers", "perfect", "--silent", "--trainee", "kim")
	cmd.Env = append(os.Environ(), "HORNLARK_DATA="+k.data, "TMPDIR="+k.data)
	late := watchMachine(t, k.data)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	time.Sleep(k.after)
	k.killed = time.Now()
	cmd.Process.Kill()
	cmd.Wait()
	k.slack = late()

	path := filepath.Join(k.data, "hornlark.db")
	if _, err := os.Stat(path); err != nil {
		return 0 // it had not come that far
	}
	store, err := record.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	for _, notice := range store.Notices() {
		if !strings.Contains(notice, "has been taken in from") { // what was not in the database yet
			t.Errorf("notice: %q", notice)
		}
	}
	sittings, err := store.Sittings(record.Filter{})
	if err != nil {
		t.Fatal(err)
	}
	if len(sittings) == 0 {
		return 0
	}
	kept, err := desk.Load(store, sittings[0])
	if err != nil {
		t.Fatal(err)
	}
	switch kept.State {
	case record.Complete:
		return 0 // it came to its end before
	case record.Stopped:
		t.Fatalf("killed after %v, it is %s", k.after, kept.State)
	}
	if result := kept.Ex.Judge(); result.Completed || result.Passed {
		t.Error("it counts as complete")
	}
	k.compare(t, kept)
	db := openPlain(path)
	defer db.Close()
	var integrity string
	if err := db.QueryRow("PRAGMA integrity_check").Scan(&integrity); err != nil || integrity != "ok" {
		t.Errorf("integrity: %s, %v", integrity, err)
	}
	return len(kept.Ex.Log)
}

// compare goes through the sitting again from what was kept, with the trainee that answered it, up to 50 ms before the
// end: the log has all that came up, the trainee waits for nothing that was due, and no sound was to be heard.
func (k *kill) compare(t *testing.T, kept *desk.Kept) {
	due := k.killed.Sub(kept.Started) - 50*time.Millisecond - k.slack
	if len(kept.Ex.Log) == 0 {
		// A sitting is dated back by the breath before the first words, and begun once the database has been waited for: until then
		// nothing has happened that could be kept.
		due -= drill.FirstWords + waitsForDatabase
	}
	defer func() {
		if t.Failed() {
			t.Logf("the machine itself was up to %v late", k.slack)
		}
	}()
	s := kept.Ex.Begin(kept.Seed, kept.Lead)
	trainee, err := bench.NewTrainee(kept.Ex.Exercise, s, &scenario.Answers{StartFrom: scenario.Perfect})
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	unheard := map[int]time.Duration{}
	take := func() {
		for _, o := range s.Outputs() {
			trainee.Take(o)
			switch o := o.(type) {
			case drill.Say:
				unheard[o.Cue] = o.Due
			case drill.Sound:
				unheard[o.Cue] = o.Due
			case drill.Hush:
				delete(unheard, o.Cue)
			case drill.Log:
				if n < len(kept.Ex.Log) && kept.Ex.Log[n] != o.Entry {
					t.Errorf("entry %d: kept %s, replayed %s", n+1, kept.Ex.Log[n].Describe(), o.Entry.Describe())
				}
				if n >= len(kept.Ex.Log) && o.Entry.At <= due {
					t.Errorf("killed at %v, missing: %s", k.killed.Sub(kept.Started), o.Entry.Describe())
				}
				n++
			}
		}
	}
	advance := func(to time.Duration) {
		for next, ok := s.NextDeadline(); ok && next <= to; next, ok = s.NextDeadline() {
			if err := s.Advance(next); err != nil {
				t.Fatal(err)
			}
			take()
		}
	}
	for _, in := range kept.Inputs {
		advance(in.At)
		switch event := in.Event.(type) {
		case drill.Heard:
			delete(unheard, event.Cue)
		case drill.Press:
			trainee.Next()
			trainee.Pressed(in.At)
		}
		if err := s.Input(in.At, in.Event); err != nil {
			t.Fatal(err)
		}
		take()
	}
	advance(due)
	if at, press, ok := trainee.Next(); ok && at <= due {
		t.Errorf("killed at %v, missing: the press of %v at %v", k.killed.Sub(kept.Started), press, at)
	}
	// On a machine that is busy a sound begins after it was due, and is reported no sooner than it was heard.
	for cue, at := range unheard {
		if at <= due-lateSound {
			t.Errorf("killed at %v, missing: cue %d was heard at %v", k.killed.Sub(kept.Started), cue, at)
		}
	}
}

// watchMachine measures, until it is called back, how late the machine itself can be: a sleep that lasts too long, and
// the two commits that an event may have to wait for.
func watchMachine(t *testing.T, folder string) (stop func() time.Duration) {
	t.Helper()
	file, err := os.CreateTemp(folder, "disk")
	if err != nil {
		t.Fatal(err)
	}
	end, worst := make(chan struct{}), make(chan time.Duration)
	go func() {
		defer os.Remove(file.Name())
		defer file.Close()
		var sleep, sync time.Duration
		for {
			start := time.Now()
			select {
			case <-end:
				worst <- sleep + 2*sync
				return
			case <-time.After(5 * time.Millisecond):
			}
			sleep = max(sleep, time.Since(start)-5*time.Millisecond)
			start = time.Now()
			io.WriteString(file, "x")
			file.Sync()
			sync = max(sync, time.Since(start))
		}
	}()
	return func() time.Duration { close(end); return <-worst }
}
