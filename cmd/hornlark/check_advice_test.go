package main

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
)

// What is advised on small documents, each with one thing that could be better, or a few of a kind, is what an instructor wrote beside
// them; and nothing is advised on their healthy neighbours.
func TestAdvice(t *testing.T) {
	paths, err := filepath.Glob(filepath.Join("testdata", "advice", "*.txtar"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("%d files (%v)", len(paths), err)
	}
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txtar"), func(t *testing.T) {
			t.Parallel()
			archive, err := txtar.ParseFile(path)
			if err != nil {
				t.Fatal(err)
			}
			dir, want := t.TempDir(), ""
			for _, f := range archive.Files {
				if f.Name == "said.txt" {
					want = string(f.Data)
					continue
				}
				to := filepath.Join(dir, filepath.FromSlash(f.Name))
				if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(to, f.Data, 0o600); err != nil {
					t.Fatal(err)
				}
			}
			healthy := filepath.Join(dir, "healthy")
			if got := adviceOn(t, healthy); got != "" {
				t.Errorf("on what is healthy:\n%s", got)
			}
			if err := os.RemoveAll(healthy); err != nil {
				t.Fatal(err)
			}
			got := adviceOn(t, dir)
			if *rewrite {
				rewriteSaid(t, path, archive, got)
				return
			}
			if got != want || want == "" {
				t.Errorf("got:\n%s\nwanted:\n%s", got, want)
			}
		})
	}
}

// adviceOn is the lines of advice on a folder, with names from there.
func adviceOn(t *testing.T, dir string) string {
	t.Helper()
	var out, errs strings.Builder
	status := run(context.Background(), []string{"check", dir}, streams{in: strings.NewReader(""), out: &out, err: &errs})
	if status != exitPassed || errs.Len() > 0 {
		t.Fatalf("status %d: %s", status, errs.String())
	}
	var said strings.Builder
	for line := range strings.Lines(out.String()) {
		if strings.Contains(line, ": advice: ") {
			said.WriteString(strings.TrimPrefix(filepath.ToSlash(line), filepath.ToSlash(dir)+"/"))
		}
	}
	return said.String()
}

// rewriteSaid puts what is said into an archive.
func rewriteSaid(t *testing.T, path string, archive *txtar.Archive, said string) {
	t.Helper()
	for i := range archive.Files {
		if archive.Files[i].Name == "said.txt" {
			archive.Files[i].Data = []byte(said)
		}
	}
	if err := os.WriteFile(path, txtar.Format(archive), 0o644); err != nil {
		t.Fatal(err)
	}
}
