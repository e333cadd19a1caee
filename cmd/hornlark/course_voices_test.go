package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hornlark/drill/library"
	"hornlark/drill/library/course"
	"hornlark/drill/practice"
)

// A live sitting of a course is spoken by the course's own words; one that is built in is not.
func TestALiveSittingIsSpokenAsItsCourseHasIt(t *testing.T) {
	t.Setenv("HORNLARK_DATA", t.TempDir())
	folder := filepath.Join(t.TempDir(), "course")
	if err := os.CopyFS(folder, os.DirFS(filepath.Join("testdata", "brief-course"))); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, course.Lexicon), []byte("words:\n  NR: rotor speed\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	var said bytes.Buffer
	s := streams{in: strings.NewReader(""), out: &said, err: &said}
	if status := run(context.Background(), []string{"course", "add", folder}, s); status != exitPassed {
		t.Fatalf("status %d: %s", status, said.String())
	}
	for scenario, want := range map[string]string{"brief-again": "rotor speed", "first-start": "N R"} {
		p, err := beginOpening(context.Background(), &drillOptions{streams: s, scenario: scenario, silent: true})
		if err != nil {
			t.Fatal(err)
		}
		if err := p.Wait(context.Background()); err != nil {
			t.Fatal(err)
		}
		if got := p.Voices.Speak("NR"); got != want {
			t.Errorf("%s: NR is spoken %q, want %q", scenario, got, want)
		}
		p.close()
	}
}

// Each sitting of an evening is spoken by the words of its own course, and one of what is built in by none's.
func TestAnEveningIsSpokenAsItsCoursesHaveIt(t *testing.T) {
	t.Setenv("HORNLARK_DATA", t.TempDir())
	want := map[string]string{"dunlin-start": "N R"}
	for _, name := range []string{"morning", "evening"} {
		folder := filepath.Join(t.TempDir(), name)
		for _, file := range []string{course.Lexicon, "course.yaml", "procedure.yaml", "scenario.yaml"} {
			text := []byte("words:\n  NR: speed of the " + name + "\n")
			if file != course.Lexicon {
				var err error
				if text, err = os.ReadFile(filepath.Join("testdata", "brief-course", file)); err != nil {
					t.Fatal(err)
				}
				text = bytes.ReplaceAll(bytes.ReplaceAll(text, []byte("brief-again"), []byte(name+"-brief")), []byte("brief-course"), []byte(name))
			}
			if err := os.MkdirAll(folder, 0o700); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(folder, file), text, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if status, said := saidBy("course", "add", folder); status != exitPassed {
			t.Fatalf("status %d: %s", status, said)
		}
		want[name+"-brief"] = "speed of the " + name
	}
	lib, err := openLibrary(nil)
	if err != nil {
		t.Fatal(err)
	}
	e, err := openEvening(lib, "dunlin-lt")
	if err != nil {
		t.Fatal(err)
	}
	for i, u := range e.units {
		spoken, tried := want[u.Of]
		if !tried {
			continue
		}
		delete(want, u.Of)
		b, err := e.lib.Bundle(e.made(&practice.Leg{Kind: u.Kind, Units: []int{i}}, ""))
		if err != nil {
			t.Fatal(err)
		}
		if got := spokenIn(t, b); got != spoken {
			t.Errorf("a leg of %s: NR is spoken %q, want %q", u.Of, got, spoken)
		}
	}
	if len(want) > 0 {
		t.Errorf("no leg was of %v", want)
	}
}

// spokenIn is how NR is spoken in a live sitting that goes by some documents.
func spokenIn(t *testing.T, b *library.Bundle) string {
	t.Helper()
	var said bytes.Buffer
	p, err := beginOpening(context.Background(), &drillOptions{streams: streams{in: strings.NewReader(""), out: &said, err: &said}, bundled: b, silent: true})
	if err != nil {
		t.Fatal(err)
	}
	defer p.close()
	if err := p.Wait(context.Background()); err != nil {
		t.Fatal(err)
	}
	return p.Voices.Speak("NR")
}
