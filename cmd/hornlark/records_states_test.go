//go:build linux

package main

import (
	crand "crypto/rand"
	"database/sql"
	"flag"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"sync"
	"testing"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill/record"
)

var stateKills = flag.Int("state-kills", 2, "how often to kill the program in each state of its database")

// stateOfDisk is something that befalls the records of a sitting at some moment. It may begin before the sitting does.
type stateOfDisk struct {
	name string
	// befall brings it about after a while, and gives what ends it.
	befall func(data string, in time.Duration) (undo func())
}

// TestKilledInEveryStateForReal kills the whole program in the middle of live sittings while its database is healthy, held by another
// program, on a disk that has no room left, or being damaged, from some moment of the sitting on or from before it. Whatever happened more than
// 50 ms before is there the next time that the records are opened, as TestKilledSittings has it.
func TestKilledInEveryStateForReal(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes live sittings")
	}
	t.Parallel()
	others := filepath.Join(t.TempDir(), "others") // so that there is something to damage
	for i := range 4 {
		m := made{data: others, scenario: filepath.Join("testdata", "short", "hover-scenario.yaml"), trainee: "lee", version: "test",
			started: time.Date(2020, 1, 1, 8, i, 0, 0, time.UTC)}
		if err := m.keep(); err != nil {
			t.Fatal(err)
		}
	}
	path := program(t)
	slots := make(chan struct{}, 6) // sittings mostly wait
	for _, state := range []stateOfDisk{
		{"healthy", func(string, time.Duration) func() { return func() {} }},
		{"locked", hold}, {"full", fill}, {"damaged", damage},
	} {
		t.Run(state.name, func(t *testing.T) {
			t.Parallel()
			if state.name == "full" && !canMount() {
				t.Skip("no small disk can be made here")
			}
			var mu sync.Mutex
			entries, slack := 0, time.Duration(0)
			t.Run("each", func(t *testing.T) {
				for i := range *stateKills {
					t.Run(strconv.Itoa(i), func(t *testing.T) {
						t.Parallel()
						slots <- struct{}{}
						defer func() { <-slots }()
						k := kill{program: path, data: filepath.Join(t.TempDir(), "data")}
						n := k.runIn(t, &state, others)
						mu.Lock()
						defer mu.Unlock()
						entries, slack = entries+n, max(slack, k.slack)
					})
				}
			})
			t.Logf("%d killed, %d entries kept; the machine itself was up to %v late", *stateKills, entries, slack)
		})
	}
}

// runIn kills one sitting in a state of the disk, and gives how many entries were kept.
func (k *kill) runIn(t *testing.T, state *stateOfDisk, others string) int {
	temporary := t.TempDir()
	if state.name == "full" {
		onSmallDisk(t, k.data, "8m")
		if rand.N(2) == 0 { // there is nowhere else either
			temporary = k.data
		}
	}
	if err := os.CopyFS(k.data, os.DirFS(others)); err != nil {
		t.Fatal(err)
	}
	os.Chmod(k.data, 0o700)
	cmd := exec.Command(k.program, "drill", filepath.Join("testdata", "short", "hover-scenario.yaml"),
		"--with", filepath.Join("testdata", "short"), "--answers", "perfect", "--silent", "--trainee", "kim")
	cmd.Env = append(os.Environ(), "HORNLARK_DATA="+k.data, "TMPDIR="+temporary)
	// A third of the time it is so from the beginning; but without room anywhere nothing can be kept, and that is said.
	before := rand.N(3) == 0 && temporary != k.data
	undo := func() {}
	if before {
		undo = state.befall(k.data, 0)
		time.Sleep(100 * time.Millisecond)
	}
	late := watchMachine(t, t.TempDir())
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	journals := []string{filepath.Join(k.data, "unsaved", "*.jsonl"), filepath.Join(temporary, "hornlark-unsaved-*", "*.jsonl")}
	begun := func() (found []string) {
		for _, pattern := range journals {
			names, _ := filepath.Glob(pattern)
			found = append(found, names...)
		}
		return found
	}
	for end := time.Now().Add(time.Minute); len(begun()) == 0; time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the sitting does not begin")
		}
	}
	alive := rand.N(4 * time.Second)
	if !before {
		undo = state.befall(k.data, rand.N(alive+1))
	}
	time.Sleep(alive)
	k.killed = time.Now()
	cmd.Process.Kill()
	cmd.Wait()
	k.slack = late()
	undo()

	// The next start takes in what the database did not get; it looks where the one that was killed had written.
	again := exec.Command(k.program, "progress")
	again.Env = cmd.Env
	told, err := again.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, told)
	}
	store, err := record.Open(filepath.Join(k.data, "hornlark.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	if notices := store.Notices(); len(notices) > 0 {
		t.Errorf("told only at the second start, or twice: %q", notices)
	}
	sittings, err := store.Sittings(record.Filter{Trainee: "kim"})
	if err != nil || len(sittings) != 1 {
		t.Fatalf("there are %d sittings, %v; told: %s", len(sittings), err, told)
	}
	kept, err := desk.Load(store, sittings[0])
	if err != nil {
		t.Fatalf("%v; told: %s", err, told)
	}
	if kept.State != record.Unended {
		t.Errorf("killed after %v, it is %s", alive, kept.State)
	}
	k.compare(t, kept)
	if left := begun(); len(left) > 0 {
		t.Errorf("left is %q; told: %s", left, told)
	}
	if t.Failed() {
		t.Logf("killed %v after its beginning; told: %s", alive, told)
	}
	return len(kept.Ex.Log)
}

// hold holds the database as another program would.
func hold(data string, in time.Duration) (undo func()) {
	held, let, done := make(chan struct{}), make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		time.Sleep(in)
		db, err := sql.Open("sqlite", "file:"+filepath.Join(data, "hornlark.db")+"?_pragma=busy_timeout(2000)&_txlock=immediate")
		if err == nil {
			defer db.Close()
			if tx, err := db.Begin(); err == nil {
				defer tx.Rollback()
			}
		}
		close(held)
		<-let
	}()
	return func() { <-held; close(let); <-done }
}

// fill takes all the room that a small disk has left.
func fill(data string, in time.Duration) (undo func()) {
	name, done := filepath.Join(data, "filler"), make(chan struct{})
	go func() {
		defer close(done)
		time.Sleep(in)
		file, err := os.Create(name)
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
	return func() { <-done; os.Remove(name) }
}

// damage writes noise over parts of the database, beyond its first page.
func damage(data string, in time.Duration) (undo func()) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		time.Sleep(in)
		file, err := os.OpenFile(filepath.Join(data, "hornlark.db"), os.O_WRONLY, 0)
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
	return func() { <-done }
}

// onSmallDisk makes a folder a disk of its own, of so many bytes (8m).
func onSmallDisk(t *testing.T, folder, size string) {
	t.Helper()
	if err := os.MkdirAll(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size="+size+",mode=700", "none", folder).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	t.Cleanup(func() { exec.Command("umount", "-l", folder).Run() })
}
