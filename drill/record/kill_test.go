package record

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

const childPath = "HORNLARK_TEST_RECORDS"

func TestMain(m *testing.M) {
	if path := os.Getenv(childPath); path != "" {
		child(path)
	}
	os.Exit(m.Run())
}

// child keeps a sitting that never ends, and says on its standard output when it appended what, until it is killed.
func child(path string) {
	s, err := Open(path)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	w, err := s.Begin(example())
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	for seq := 1; ; seq++ {
		w.Append(entry(seq))
		w.Input(time.Duration(seq), []byte("{}"))
		fmt.Println(seq, time.Now().UnixNano())
		time.Sleep(time.Millisecond)
	}
}

// TestKilledAtAnyMoment kills a process that keeps a sitting, again and again, while this one keeps a sitting in the same
// file. What was appended more than 50 ms before is there, in order and without a gap.
func TestKilledAtAnyMoment(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes some seconds")
	}
	path := fresh(t)
	s := open(t, path)
	own := begin(t, s)
	const trials = 20
	for trial := range trials {
		own.Append(entry(trial + 1))
		alive := 20*time.Millisecond + rand.N(300*time.Millisecond)
		sync := watchDisk(t, filepath.Dir(path))
		appended, killed := runAndKill(t, path, alive)
		slowestSync := sync()

		sittings, err := s.Sittings(Filter{Limit: 1})
		if err != nil || len(sittings) != 1 {
			t.Fatal(sittings, err)
		}
		entries, err := s.Log(sittings[0].ID)
		if err != nil {
			t.Fatalf("killed after %v: %v", alive, err)
		}
		wantLog(t, s, sittings[0].ID, len(entries), Unended)

		// On a machine that is busy with something else, the process may not have had its turn, or not the disk: a commit
		// that had begun, and one more, may have waited for it. That time does not count.
		allowed := 50*time.Millisecond + longestPause(appended, killed) + 2*slowestSync
		due := 0
		for _, at := range appended {
			if killed.Sub(at) > allowed {
				due++
			}
		}
		if len(entries) < due {
			t.Errorf("killed after %v: %d entries stored, %d of %d were due after %v", alive, len(entries), due, len(appended), allowed)
		}
	}
	if err := own.End([]byte("{}"), true, Digest{}); err != nil {
		t.Fatal(err)
	}
	wantLog(t, s, own.ID(), trials, Complete)
	var integrity string
	if err := s.db.QueryRow("PRAGMA integrity_check").Scan(&integrity); err != nil || integrity != "ok" {
		t.Errorf("integrity: %s, %v", integrity, err)
	}
}

// longestPause is the longest time beyond a few milliseconds in which the child appended nothing.
func longestPause(appended []time.Time, killed time.Time) time.Duration {
	longest := time.Duration(0)
	for i, at := range appended {
		next := killed
		if i+1 < len(appended) {
			next = appended[i+1]
		}
		longest = max(longest, next.Sub(at)-5*time.Millisecond)
	}
	return longest
}

// watchDisk measures, until it is called back, the longest time that the disk takes to make sure of a few bytes.
func watchDisk(t *testing.T, folder string) (stop func() time.Duration) {
	t.Helper()
	file, err := os.CreateTemp(folder, "disk")
	if err != nil {
		t.Fatal(err)
	}
	end, slowest := make(chan struct{}), make(chan time.Duration)
	go func() {
		defer os.Remove(file.Name())
		defer file.Close()
		longest := time.Duration(0)
		for {
			select {
			case <-end:
				slowest <- longest
				return
			case <-time.After(5 * time.Millisecond):
				start := time.Now()
				file.WriteString("x")
				file.Sync()
				longest = max(longest, time.Since(start))
			}
		}
	}()
	return func() time.Duration { close(end); return <-slowest }
}

// runAndKill gives the moments at which the child appended its entries, and the one at which it was killed.
func runAndKill(t *testing.T, path string, alive time.Duration) (appended []time.Time, killed time.Time) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childPath+"="+path)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		var seq int
		var ns int64
		if n, _ := fmt.Sscan(lines.Text(), &seq, &ns); n != 2 || seq != len(appended)+1 {
			break // the line that it was writing
		}
		appended = append(appended, time.Unix(0, ns))
		if killed.IsZero() && appended[len(appended)-1].Sub(appended[0]) >= alive {
			killed = time.Now()
			cmd.Process.Kill()
		}
	}
	cmd.Wait()
	if killed.IsZero() {
		t.Fatal("the child ended by itself")
	}
	return appended, killed
}
