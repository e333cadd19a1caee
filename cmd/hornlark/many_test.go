//go:build unix

package main

import (
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"
)

// TestManySittings exports more sittings than fit into memory comfortably: the first bytes come within a second, and ten times as many
// take no more memory. HORNLARK_SITTINGS says how many, 2000 without it; with HORNLARK_IMPORT they are taken in again elsewhere, and
// exported from there to the same bytes.
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
	keepMany(t, few, sittings/10)
	keepMany(t, many, sittings)
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
		t.Logf("%s: %v, %d MB of memory", step.verb, time.Since(began).Round(time.Millisecond), cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss>>10)
	}
	if a, b := exported(t, many, []string{"export"}), exported(t, there, []string{"export"}); a.sum != b.sum {
		t.Error("what was exported again is something else")
	}
}

// export is what one came to.
type exportRun struct {
	first, took time.Duration
	bytes       int64
	memory      int64 // kB at the most
	sum         [sha256.Size]byte
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
	hash := sha256.New()
	hash.Write(one[:])
	n, err := io.Copy(hash, out)
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Fatal(err)
	}
	e.took, e.bytes, e.memory = time.Since(began), n+1, cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss
	hash.Sum(e.sum[:0])
	return e
}

// keepMany keeps one sitting, and copies it in the database as often as is wanted, each with a uid and a start of its own.
func keepMany(t *testing.T, folder string, n int) {
	t.Helper()
	one := made{data: folder, scenario: filepath.Join("testdata", "short", "hover-scenario.yaml"), trainee: "kim", version: "test", started: time.Date(2020, 1, 1, 8, 0, 0, 0, time.UTC)}
	if err := one.keep(); err != nil {
		t.Fatal(err)
	}
	db := openPlain(filepath.Join(folder, "hornlark.db"))
	defer db.Close()
	columns := func(table string) (list string) {
		rows, err := db.Query("SELECT name FROM pragma_table_info('" + table + "')")
		if err != nil {
			t.Fatal(err)
		}
		defer rows.Close()
		for rows.Next() {
			var name string
			if err := rows.Scan(&name); err != nil {
				t.Fatal(err)
			}
			switch {
			case table == "sitting" && name == "id":
				name = "n.i"
			case table == "sitting" && name == "uid":
				name = "printf('MANY%08d', n.i)"
			case table == "sitting" && name == "started_ns":
				name = "s.started_ns + n.i * 60000000000"
			case name == "sitting":
				name = "n.i"
			default:
				name = "s." + name
			}
			list += ", " + name
		}
		return list[2:]
	}
	for _, table := range []string{"sitting", "result", "event", "input", "summary"} {
		key := "sitting"
		if table == "sitting" {
			key = "id"
		}
		if _, err := db.Exec(fmt.Sprintf("WITH RECURSIVE n(i) AS (VALUES (2) UNION ALL SELECT i + 1 FROM n WHERE i < %d) INSERT INTO %s SELECT %s FROM %s s, n WHERE s.%s = 1",
			n, table, columns(table), table, key)); err != nil {
			t.Fatalf("%s: %v", table, err)
		}
	}
}
