package record

import (
	"bufio"
	crand "crypto/rand"
	"database/sql"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"hornlark/scripts/ownhome"
)

const (
	childPath     = "HORNLARK_TEST_RECORDS"
	childFull     = "HORNLARK_TEST_FULL"
	killedTrainee = "Trainee K"
)

var kills = flag.Int("kills", 3, "how often to kill a sitting in each state of the database")

func TestMain(m *testing.M) {
	if path := os.Getenv(childPath); path != "" {
		child(path)
	}
	ownhome.Main(m)
}

// child keeps a sitting that never ends, and says on its standard output when it appended what, until it is killed.
func child(path string) {
	s, err := Open(path)
	if err != nil {
		s = WithoutDatabase(path, err)
	}
	sitting := example()
	sitting.Trainee = killedTrainee
	w, err := s.Begin(sitting)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	if os.Getenv(childFull) != "" {
		s.db.Exec("PRAGMA max_page_count = 1") // no page more than there are
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
func runAndKill(t *testing.T, path string, alive time.Duration, env ...string) (appended []time.Time, killed time.Time) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(append(os.Environ(), childPath+"="+path), env...)
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

// TestKilledInEveryState kills a process that keeps a sitting while its database is healthy, locked by another, on a disk that
// is full, or being damaged. What was appended more than 50 ms before is there the next time that the records are opened, in order,
// once, and without a gap.
func TestKilledInEveryState(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes some seconds")
	}
	for _, state := range []struct {
		name string
		make func(t *testing.T, path string, in time.Duration) (env []string, undo func())
	}{
		{"healthy", func(*testing.T, string, time.Duration) ([]string, func()) { return nil, func() {} }},
		{"locked", lockIn},
		{"full", fillIn},
		{"damaged", damageIn},
	} {
		t.Run(state.name, func(t *testing.T) {
			told := map[string]int{}
			entries := 0
			for range *kills {
				n, notices := killIn(t, state.make)
				entries += n
				for _, notice := range notices {
					for _, what := range []string{"were damaged", "taken in", "set aside"} {
						if strings.Contains(notice, what) {
							told[what]++
						}
					}
				}
			}
			t.Logf("%d killed, %d entries kept; told: %v", *kills, entries, told)
		})
	}
}

// killIn kills one sitting, with the database brought into a state at some moment of it.
func killIn(t *testing.T, state func(*testing.T, string, time.Duration) ([]string, func())) (entries int, notices []string) {
	t.Helper()
	path := fresh(t)
	if state := fmt.Sprint(t.Name()); strings.HasSuffix(state, "full") {
		onSmallDisk(t, filepath.Dir(path))
		if rand.N(2) == 0 { // there is nowhere else either
			t.Setenv("TMPDIR", filepath.Dir(path))
		}
	}
	s := open(t, path)
	const others = 5
	for range others { // so that there is something to damage
		w := begin(t, s)
		for i := range 100 {
			w.Append(entry(i + 1))
		}
		if err := w.End([]byte("{}"), true, Digest{}); err != nil {
			t.Fatal(err)
		}
	}
	s.Close()
	alive := rand.N(300 * time.Millisecond)
	env, undo := state(t, path, rand.N(alive+1))
	slowest := watchWrites(t)
	appended, killed := runAndKill(t, path, alive, env...)
	stalled := slowest()
	undo()

	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	sittings, err := s.Sittings(Filter{Trainee: killedTrainee})
	if err != nil || len(sittings) != 1 {
		t.Fatalf("killed after %v: %d sittings, %v; notices %q", alive, len(sittings), err, s.Notices())
	}
	log, err := s.Log(sittings[0].ID)
	if err != nil {
		t.Fatalf("killed after %v: %v; notices %q", alive, err, s.Notices())
	}
	wantLog(t, s, sittings[0].ID, len(log), Unended)
	allowed := 50*time.Millisecond + longestPause(appended, killed) + stalled
	due := 0
	for _, at := range appended {
		if killed.Sub(at) > allowed {
			due++
		}
	}
	if len(log) < due {
		t.Errorf("killed after %v: %d entries kept, %d of %d were due after %v; notices %q", alive, len(log), due, len(appended), allowed, s.Notices())
	}
	if err := integrity(s.db); err != nil && !damaged(err) {
		t.Error(err)
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), "unsaved", "*")); len(left) > 0 {
		t.Errorf("left is %q; notices %q", left, s.Notices())
	}
	if again := reopened(t, path); len(again) > 0 {
		t.Errorf("told a second time: %q", again)
	}
	return len(log), s.Notices()
}

// reopened gives what is told when the records are opened once more.
func reopened(t *testing.T, path string) []string {
	t.Helper()
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	return s.Notices()
}

// lockIn holds the database from a moment on.
func lockIn(t *testing.T, path string, in time.Duration) (env []string, undo func()) {
	db, err := sql.Open("sqlite", dataSource(path))
	if err != nil {
		t.Fatal(err)
	}
	locked := make(chan *sql.Tx)
	go func() {
		time.Sleep(in)
		tx, _ := db.Begin()
		locked <- tx
	}()
	return nil, func() {
		if tx := <-locked; tx != nil {
			tx.Rollback()
		}
		db.Close()
	}
}

// damageIn writes over some of the file, beyond its first page, from a moment on.
func damageIn(t *testing.T, path string, in time.Duration) (env []string, undo func()) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		time.Sleep(in)
		file, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err != nil {
			return
		}
		defer file.Close()
		info, err := file.Stat()
		if err != nil || info.Size() <= 8192 {
			return
		}
		noise := make([]byte, 512<<rand.N(5))
		for range 1 + rand.N(8) {
			crand.Read(noise)
			file.WriteAt(noise, 4096+rand.Int64N((info.Size()-4096)/512)*512)
		}
	}()
	return nil, func() { <-done }
}

// onSmallDisk makes a folder a disk of its own, where this user may do that.
func onSmallDisk(t *testing.T, folder string) {
	t.Helper()
	if err := os.MkdirAll(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	if runtime.GOOS != "linux" || os.Geteuid() != 0 || exec.Command("mount", "-t", "tmpfs", "-o", "size=8m,mode=700", "none", folder).Run() != nil {
		return
	}
	t.Cleanup(func() { exec.Command("umount", "-l", folder).Run() })
}

// fillIn fills the disk from a moment on, or, where it is no small one, has the database take no page more.
func fillIn(t *testing.T, path string, in time.Duration) (env []string, undo func()) {
	if mounts, err := os.ReadFile("/proc/mounts"); err != nil || !strings.Contains(string(mounts), " "+filepath.Dir(path)+" tmpfs ") {
		return []string{childFull + "=1"}, func() {}
	}
	filler := filepath.Join(filepath.Dir(path), "filler")
	done := make(chan struct{})
	go func() {
		defer close(done)
		time.Sleep(in)
		if os.TempDir() == filepath.Dir(path) {
			// With no room anywhere before it begins nothing can be kept, and that is what it says; so it has begun.
			for end := time.Now().Add(5 * time.Second); time.Now().Before(end); time.Sleep(time.Millisecond) {
				if begun, _ := filepath.Glob(filepath.Join(os.TempDir(), "unsaved", "*"+journalSuffix)); len(begun) > 0 {
					break
				}
			}
		}
		file, err := os.Create(filler)
		if err != nil {
			return
		}
		defer file.Close()
		for size := 1 << 20; size > 0; {
			if _, err := file.Write(make([]byte, size)); err != nil {
				size /= 2
			}
		}
	}()
	return nil, func() { <-done; os.Remove(filler) }
}

// watchWrites measures, until it is called back, the longest that the system takes for a few bytes that need not be on the disk.
func watchWrites(t *testing.T) (stop func() time.Duration) {
	t.Helper()
	file, err := os.CreateTemp(t.TempDir(), "writes")
	if err != nil {
		t.Fatal(err)
	}
	end, slowest := make(chan struct{}), make(chan time.Duration)
	go func() {
		defer file.Close()
		longest := time.Duration(0)
		for {
			start := time.Now()
			select {
			case <-end:
				slowest <- longest
				return
			case <-time.After(2 * time.Millisecond):
				file.WriteString("x")
				longest = max(longest, time.Since(start)-2*time.Millisecond)
			}
		}
	}()
	return func() time.Duration { close(end); return <-slowest }
}
