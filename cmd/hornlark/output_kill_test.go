//go:build unix

package main

import (
	"bytes"
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A program that is killed while it writes a file leaves the file as it was, or whole, and no more beside it than the next that writes into
// that folder takes away.
func TestKilledWhileWritingAnOutput(t *testing.T) {
	if testing.Short() {
		t.Skip("it kills the program some dozens of times")
	}
	t.Parallel()
	d := newDesk(t)
	folder := filepath.Join(d.dir, "out")
	if err := os.Mkdir(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	short := filepath.Join("testdata", "short")
	short, err := filepath.Abs(short)
	if err != nil {
		t.Fatal(err)
	}
	left := 0
	for name, args := range map[string][]string{
		"a.wav":  {"drill", filepath.Join(short, "hover-scenario.yaml"), "--with", short, "--answers", "perfect", "--virtual", "--wav"},
		"a.csv":  {"trace", "first-start", "--answers", "perfect", "--every", "20ms", "--csv"},
		"a.json": {"export", "--out"},
	} {
		path := filepath.Join(folder, name)
		args = append(args, path, "--force")
		began := time.Now()
		if out, err := d.command(t.Context(), args...).CombinedOutput(); err != nil {
			t.Fatalf("%q: %v\n%s", args, err, out)
		}
		took := time.Since(began)
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		const kills = 12
		for range kills {
			old := []byte("as it was")
			if err := os.WriteFile(path, old, 0o600); err != nil {
				t.Fatal(err)
			}
			ctx, cancel := context.WithTimeout(t.Context(), took/4+rand.N(took))
			d.command(ctx, args...).Run() // the context kills it
			cancel()
			if got, err := os.ReadFile(path); err != nil || !bytes.Equal(got, old) && !bytes.Equal(got, want) {
				t.Errorf("%s has %d bytes, %v; it had %d before and should have %d", name, len(got), err, len(old), len(want))
			}
			entries, err := os.ReadDir(folder)
			if err != nil {
				t.Fatal(err)
			}
			for _, e := range entries {
				if strings.HasSuffix(e.Name(), ".part") {
					left++
					hour := time.Now().Add(-time.Hour)
					os.Chtimes(filepath.Join(folder, e.Name()), hour, hour)
				}
			}
		}
		if out, err := d.command(t.Context(), args...).CombinedOutput(); err != nil {
			t.Fatalf("%q: %v\n%s", args, err, out)
		}
		if parts, _ := filepath.Glob(filepath.Join(folder, ".hornlark-*")); len(parts) > 0 {
			t.Errorf("left is %q", parts)
		}
	}
	t.Logf("%d files were left half written, and taken away", left)
	if left == 0 {
		t.Error("none was killed in the middle of a file")
	}
}
