package library

import (
	"bytes"
	"errors"
	"testing"
)

// TestAPartOfTheLibraryIsEnough resolves every built-in scenario from the documents that it refers to, and from all of them.
func TestAPartOfTheLibraryIsEnough(t *testing.T) {
	all, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all.Scenarios() {
		want, err := all.Resolve(s.Name)
		if err != nil {
			t.Fatal(err)
		}
		got, err := ResolveBuiltin(s.Name)
		if err != nil {
			t.Errorf("%s: %v", s.Name, err)
			continue
		}
		if !bytes.Equal(got.Pack(), want.Pack()) {
			t.Errorf("%s: its documents are not those of the whole library", s.Name)
		}
		part, err := partOfBuiltin(s.Name)
		if err != nil || part == nil {
			t.Errorf("%s: %v, %v", s.Name, part, err)
			continue
		}
		if err := part.CheckAll(); err != nil {
			t.Errorf("%s: %v", s.Name, err)
		}
		for name, e := range all.procedures {
			if _, has := part.procedures[name]; has != (e.doc.Profile == want.Profile.Name) {
				t.Errorf("%s: procedure %s, which is for %s: %v", s.Name, name, e.doc.Profile, has)
			}
		}
	}
}

func TestResolveBuiltinTellsOfEveryName(t *testing.T) {
	_, err := ResolveBuiltin("first-strat")
	all, builtinErr := Builtin()
	if builtinErr != nil {
		t.Fatal(builtinErr)
	}
	_, want := all.Resolve("first-strat")
	var unknown *Unknown
	if !errors.As(err, &unknown) || err.Error() != want.Error() {
		t.Errorf("%v, want %v", err, want)
	}
}

// BenchmarkResolve is what a sitting waits for of its documents: those that it needs, and all that there are.
func BenchmarkResolve(b *testing.B) {
	b.Run("part", func(b *testing.B) {
		for b.Loop() {
			if _, err := ResolveBuiltin("first-start"); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("all", func(b *testing.B) {
		for b.Loop() {
			Release()
			l, err := Builtin()
			if err != nil {
				b.Fatal(err)
			}
			if _, err := l.Resolve("first-start"); err != nil {
				b.Fatal(err)
			}
		}
	})
}
