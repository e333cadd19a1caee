package main

import (
	"context"
	"os"
	"path/filepath"
	"slices"
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

// What is advised on documents that are built in and stays, and why. Mending any of it would change what is said, or the logs that others
// are held to.
var adviceThatStays = []struct{ file, says, why string }{
	{"procedures/auto-start.yaml", "items without a break", "a call in between would be another item to be spoken and scored"},
	{"procedures/first-start.yaml", "items without a break", "the same"},
	{"procedures/turnstone-start.yaml", "items without a break", "the same"},
	{"procedures/whinchat-start.yaml", "items without a break", "the same"},
	{"procedures/turnstone-start.yaml", "is complete: after", "a light aircraft that one pilot starts: the next title is the call, and one more would be another item"},
	{"procedures/whinchat-start.yaml", "is complete: after", "the same"},
	{"procedures/turnstone-start.yaml", "generator has to be right before services", "a generator goes on once the engine idles: common practice, no source"},
	{"scenarios/cold-morning.yaml", "land is asked once 15s have passed", "the cold air carries it on at the pitch of the procedure, and the hand that lowers it further lands it"},
	{"scenarios/hand-start-again.yaml", "residual-tot is not so", "it is what this scenario is for: the engine is hot from the run before"},
	{"scenarios/hand-start-afternoon.yaml", "turnstone-warm-start collides with turnstone-no-light", "the second start is to be the warm one, after the first that did not light"},
	{"scenarios/hand-watch.yaml", "turnstone-no-oil collides with turnstone-hot-start", "the second start is to have no oil pressure, after the first that was hot"},
}

// What is built in goes through the advice as well: what is said of it stands in the list above, each with the reason why it is not mended, and all
// that stands there is said. HORNLARK_EVERY=1 tries every document, and otherwise a third of the scenarios and of the abnormals.
func TestAdviceOnWhatIsBuiltIn(t *testing.T) {
	folder := filepath.Join("..", "..", "drill", "library")
	paths := []string{filepath.Join(folder, "procedures")}
	for _, kind := range []string{"scenarios", "abnormals"} {
		files, err := filepath.Glob(filepath.Join(folder, kind, "*.yaml"))
		if err != nil || len(files) < 20 {
			t.Fatalf("%d %s (%v)", len(files), kind, err)
		}
		for i, path := range files {
			stays := slices.ContainsFunc(adviceThatStays, func(a struct{ file, says, why string }) bool { return a.file == kind+"/"+filepath.Base(path) })
			if stays || everyPair() || i%3 == 0 {
				paths = append(paths, path)
			}
		}
	}
	status, said := saidBy(append([]string{"check"}, paths...)...)
	if status != exitPassed {
		t.Fatal(said)
	}
	met := make([]bool, len(adviceThatStays))
	for line := range strings.Lines(said) {
		if !strings.Contains(line, ": advice: ") {
			continue
		}
		i := slices.IndexFunc(adviceThatStays, func(a struct{ file, says, why string }) bool {
			return strings.Contains(filepath.ToSlash(line), "library/"+a.file+":") && strings.Contains(line, a.says)
		})
		if i < 0 {
			t.Errorf("mend it, or say why it stays: %s", line)
			continue
		}
		met[i] = true
	}
	for i, a := range adviceThatStays {
		if !met[i] {
			t.Errorf("nothing is said any more of %s: %s", a.file, a.says)
		}
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
