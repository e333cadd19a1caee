//go:build unix

package main

import (
	"bufio"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strconv"
	"syscall"
	"testing"
	"time"
)

// TestManySittings exports more sittings than fit into memory comfortably: the first bytes come within a second, and ten times as many
// take no more memory. HORNLARK_SITTINGS says how many, 2000 without it; with HORNLARK_IMPORT they are taken in again elsewhere, and
// what is exported from there is the same, entry for entry.
func TestManySittings(t *testing.T) {
	if testing.Short() {
		t.Skip("it keeps thousands of sittings first")
	}
	sittings := 2000
	if text := os.Getenv("HORNLARK_SITTINGS"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil {
			t.Fatal(err)
		}
		sittings = n
	}
	few, many := t.TempDir(), t.TempDir()
	const hover = "testdata/short/hover-scenario.yaml"
	keepMany(t, few, hover, 1, sittings/10)
	keepMany(t, many, hover, 1, sittings)
	for _, args := range [][]string{{"export"}, {"export", "--as", "csv"}} {
		small, large := exported(t, few, args), exported(t, many, args)
		t.Logf("%v of %d sittings: first bytes after %v, %.0f MB in %v, %d MB of memory; of a tenth of them %d MB", args, sittings,
			large.first.Round(time.Millisecond), float64(large.bytes)/1e6, large.took.Round(time.Millisecond), large.memory>>10, small.memory>>10)
		if large.first > time.Second {
			t.Errorf("%v: the first bytes took %v", args, large.first)
		}
		if large.memory > small.memory+small.memory/2+20<<10 {
			t.Errorf("%v: it took %d MB, and %d MB for a tenth", args, large.memory>>10, small.memory>>10)
		}
	}
	if os.Getenv("HORNLARK_IMPORT") == "" {
		return
	}
	file, there := filepath.Join(t.TempDir(), "all.json"), t.TempDir()
	for _, step := range []struct{ data, verb, arg string }{{many, "export", "--out=" + file}, {there, "import", file}} {
		began := time.Now()
		cmd := exec.Command(program(t), step.verb, step.arg)
		cmd.Env = append(os.Environ(), "HORNLARK_DATA="+step.data)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		t.Logf("%s: %v, %v of processor, %d MB of memory", step.verb, time.Since(began).Round(time.Millisecond), cmd.ProcessState.UserTime().Round(time.Millisecond), cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss>>10)
	}
	compareExports(t, many, there, sittings)
}

// compareExports exports two records at once and goes through both exports together, a sitting at a time: every field, input and entry
// of the log is the same value, and there are as many as there should be. It holds one sitting of each, however many there are.
func compareExports(t *testing.T, here, there string, sittings int) {
	t.Helper()
	a, b := begunExport(t, here), begunExport(t, there)
	n, entries, inputs := 0, 0, 0
	for a.more() && b.more() {
		one, other := a.next(), b.next()
		if !reflect.DeepEqual(one, other) {
			t.Fatalf("sitting %d is not what it was: %v\nand came back as %v", n+1, one, other)
		}
		n++
		entries += len(one["log"].([]any))
		inputs += len(one["inputs"].([]any))
	}
	if a.more() || b.more() || n != sittings {
		t.Errorf("%d sittings are the same; %d are wanted, and one export has more: %v", n, sittings, a.more() != b.more())
	}
	if a, b := a.end(), b.end(); a != b {
		t.Errorf("what stands before and after the sittings is not the same: %s, and %s", a, b)
	}
	if entries == 0 || inputs == 0 {
		t.Error("there was nothing to compare")
	}
	t.Logf("compared: %d sittings, %d entries, %d inputs", n, entries, inputs)
}

// exportReader reads an export while it is written.
type exportReader struct {
	t   *testing.T
	cmd *exec.Cmd
	dec *json.Decoder
	hat map[string]any // what stands before the sittings
}

func begunExport(t *testing.T, data string) *exportReader {
	t.Helper()
	r := &exportReader{t: t, cmd: exec.Command(program(t), "export"), hat: map[string]any{}}
	r.cmd.Env = append(os.Environ(), "HORNLARK_DATA="+data)
	r.cmd.Stderr = os.Stderr
	out, err := r.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := r.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	r.dec = json.NewDecoder(bufio.NewReaderSize(out, 1<<20))
	r.dec.UseNumber()
	r.token() // the brace
	for name := r.token(); name != "sittings"; name = r.token() {
		var v any
		if err := r.dec.Decode(&v); err != nil {
			t.Fatal(err)
		}
		r.hat[name.(string)] = v
	}
	r.token() // the bracket
	return r
}

func (r *exportReader) token() json.Token {
	token, err := r.dec.Token()
	if err != nil {
		r.t.Fatal(err)
	}
	return token
}

func (r *exportReader) more() bool { return r.dec.More() }

func (r *exportReader) next() (sitting map[string]any) {
	if err := r.dec.Decode(&sitting); err != nil {
		r.t.Fatal(err)
	}
	return sitting
}

// end reads what follows the sittings, and gives a hash of what stands around them.
func (r *exportReader) end() string {
	r.token()
	r.token()
	if _, err := r.dec.Token(); err != io.EOF {
		r.t.Errorf("something follows the end: %v", err)
	}
	if err := r.cmd.Wait(); err != nil {
		r.t.Error(err)
	}
	around, err := json.Marshal(r.hat)
	if err != nil {
		r.t.Fatal(err)
	}
	return fmt.Sprintf("%x", sha256.Sum256(around))
}

// export is what one came to.
type exportRun struct {
	first, took time.Duration
	bytes       int64
	memory      int64 // kB at the most
}

func exported(t *testing.T, data string, args []string) (e exportRun) {
	t.Helper()
	cmd := exec.Command(program(t), args...)
	cmd.Env = append(os.Environ(), "HORNLARK_DATA="+data)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var one [1]byte
	if _, err := io.ReadFull(out, one[:]); err != nil {
		t.Fatal(err)
	}
	e.first = time.Since(began)
	n, err := io.Copy(io.Discard, out)
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Fatal(err)
	}
	e.took, e.bytes, e.memory = time.Since(began), n+1, cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss
	return e
}
