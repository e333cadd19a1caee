package draft

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"hornlark/drill/library"
)

// Whatever an expression finds, the plain look before it has let through: in the lines of the test data, in pieces of them, and with letters that
// are taken for others.
func TestNothingSoughtIsMissed(t *testing.T) {
	all := append(slices.Clone(aboutFigures), spokenFigures...)
	all = append(all, asFitted, onlyIf, notBefore, firstAt, onlyBeyond, aCall, isCalled, doNotGoOn, mustBe, rightBefore, falling, ofEngine)
	lines := []string{"unleſs fitted", "at 5 °C", "5 °c", "twenty ſix", "checK LIMITS", "No.1", "GEN2", "eng 1", "don't start", "no-go", "NO GO item", "Hold: here", "call out 60", "passing down", "under 5 kg", "Must have", "BEFORE start", "Hundred and ſeven"}
	files, err := filepath.Glob(filepath.Join("testdata", "*", "*.*"))
	if err != nil || len(files) < 4 {
		t.Fatalf("%v, %d files", err, len(files))
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, strings.Split(string(data), "\n")...)
	}
	for i, w := range append(slices.Clone(ones), tens...) {
		lines = append(lines, "at "+w+" percent, per cent", "passing "+w+" degrees celsius rising", []string{"less than ", "more than ", "at least ", "greater than "}[i%4]+w+" volts through", "reaches "+w+"% bar, decreasing, increasing, falling above below is degree 5 kg")
	}
	r := rand.New(rand.NewPCG(7, 7))
	odd := strings.NewReplacer("s", "ſ", "k", "\u212a")
	found := make([]int, len(all))
	for _, line := range lines {
		for range 2 {
			from := r.IntN(len(line) + 1)
			for _, text := range []string{line, line[from:], strings.ToUpper(line[from:]), odd.Replace(line), line[:from] + " " + lines[r.IntN(len(lines))]} {
				for i, s := range all {
					if s.expression.MatchString(text) {
						if found[i]++; !s.may(text) {
							t.Fatalf("%v finds something in %q, which was passed over", s.expression, text)
						}
					}
				}
			}
		}
	}
	never := 0
	for _, n := range found {
		if n == 0 {
			never++
		}
	}
	if never > 5 {
		t.Errorf("%d of %d expressions found nothing at all", never, len(all))
	}
}

// BenchmarkProcedure makes a procedure of a checklist of forty lines.
func BenchmarkProcedure(b *testing.B) {
	lib, err := library.Builtin()
	if err != nil {
		b.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join("testdata", "lists", "dunlin.txt"))
	if err != nil {
		b.Fatal(err)
	}
	prof, err := lib.Profile("dunlin-lt")
	if err != nil {
		b.Fatal(err)
	}
	list, err := Read(data, "")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		Procedure(list, prof, Options{})
	}
}
