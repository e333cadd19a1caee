package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hornlark/drill/library/course"
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
