package library

import (
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// where is how every complaint begins: the file, and where in it, if it can be read at all.
var where = regexp.MustCompile(`^[^:]+\.yaml:([1-9][0-9]*:[1-9][0-9]*:)? .*; .*`)

// Built-in documents are spoilt at random, a few lines of each: whatever is made of them, the reader does not panic, and
// each of its complaints names a place and says what to do.
func TestSpoiltDocuments(t *testing.T) {
	texts := map[string]string{}
	err := fs.WalkDir(builtin, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(builtin, path)
		texts[path] = string(text)
		return err
	})
	if err != nil || len(texts) < 10 {
		t.Fatalf("%d documents: %v", len(texts), err)
	}
	paths := slices.Sorted(maps.Keys(texts))
	l := everything(t)
	folder := t.TempDir()
	complaints := 0
	rapid.Check(t, func(t *rapid.T) {
		lines := strings.Split(texts[rapid.SampledFrom(paths).Draw(t, "document")], "\n")
		for range rapid.IntRange(1, 4).Draw(t, "spoilings") {
			i := rapid.IntRange(0, len(lines)-1).Draw(t, "line")
			switch rapid.SampledFrom([]string{"drop", "double", "cut", "swap", "indent", "write"}).Draw(t, "how") {
			case "drop":
				lines = append(lines[:i:i], lines[min(i+1, len(lines)):]...)
				lines = append(lines, "")
			case "double":
				lines = append(lines[:i+1:i+1], lines[i:]...)
			case "cut":
				lines[i] = lines[i][:rapid.IntRange(0, len(lines[i])).Draw(t, "at")]
			case "swap":
				j := rapid.IntRange(0, len(lines)-1).Draw(t, "with")
				lines[i], lines[j] = lines[j], lines[i]
			case "indent":
				lines[i] = "   " + lines[i]
			case "write":
				at := rapid.IntRange(0, len(lines[i])).Draw(t, "at")
				lines[i] = lines[i][:at] + rapid.SampledFrom([]string{"x", ":", "[", "}", "*a", "&a", "!t", "-1e999", "\x00", "\xff", "'", "\t", "null", "{}"}).Draw(t, "text") + lines[i][at:]
			}
		}
		file := filepath.Join(folder, "spoilt.yaml")
		if err := os.WriteFile(file, []byte(strings.Join(lines, "\n")), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := l.With(file)
		if err == nil {
			return
		}
		for line := range strings.SplitSeq(err.Error(), "\n") {
			complaints++
			if line = strings.TrimPrefix(line, folder+string(filepath.Separator)); !where.MatchString(line) {
				t.Errorf("a complaint without a place, or without what to do: %q", line)
			}
		}
	})
	if complaints == 0 {
		t.Error("nothing was spoilt")
	}
}
