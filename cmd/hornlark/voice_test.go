package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

// TestRenderingGoesOnAfterAKill ends the program in the middle of rendering. The next run makes what is left and no more, the
// one after it nothing, and what is kept is the same as after a run that nobody disturbed.
func TestRenderingGoesOnAfterAKill(t *testing.T) {
	if testing.Short() {
		t.Skip("it speaks for seconds")
	}
	t.Parallel()
	if _, err := exec.LookPath("flite"); err != nil {
		t.Skip("flite is not installed (Debian: apt-get install flite)")
	}
	const phrases = 40
	own := filepath.Join(t.TempDir(), "own.yaml")
	if err := os.WriteFile(own, []byte(manyPhrases(phrases)), 0o600); err != nil {
		t.Fatal(err)
	}
	render := func(cache string) *exec.Cmd {
		cmd := exec.Command(program(t), "voice", "render", own, "--engine", "flite")
		cmd.Env = append(os.Environ(), "XDG_CACHE_HOME="+cache, "XDG_CONFIG_HOME="+cache)
		return cmd
	}
	clips := func(cache string) []string {
		found, err := filepath.Glob(filepath.Join(cache, "hornlark", "voice", "*.pcm.gz"))
		if err != nil {
			t.Fatal(err)
		}
		return found
	}
	made := func(cache string) int {
		out, err := render(cache).Output()
		if err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		said := regexp.MustCompile(`^\d+ phrases: \d+ had a clip, (\d+) were made\n$`).FindSubmatch(out)
		if said == nil {
			t.Fatalf("%q", out)
		}
		n, _ := strconv.Atoi(string(said[1]))
		return n
	}

	killed, whole := t.TempDir(), t.TempDir()
	cmd := render(killed)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	for end := time.Now().Add(30 * time.Second); len(clips(killed)) < 5 && time.Now().Before(end); time.Sleep(time.Millisecond) {
	}
	cmd.Process.Kill()
	cmd.Wait()
	before := len(clips(killed))
	if before < 5 || before >= phrases {
		t.Fatalf("%d clips were kept when it was ended, want some and not all", before)
	}
	if n := made(killed); n != phrases-before {
		t.Errorf("%d clips were made after %d were kept, want %d", n, before, phrases-before)
	}
	if n := made(killed); n != 0 {
		t.Errorf("a third run made %d clips", n)
	}
	if n := made(whole); n != phrases {
		t.Errorf("an undisturbed run made %d clips, want %d", n, phrases)
	}
	for _, path := range clips(whole) {
		a, errA := os.ReadFile(path)
		b, errB := os.ReadFile(filepath.Join(killed, "hornlark", "voice", filepath.Base(path)))
		if errA != nil || errB != nil || string(a) != string(b) {
			t.Errorf("%s: not the same (%v, %v)", filepath.Base(path), errA, errB)
		}
	}
}

// manyPhrases is a procedure with so many challenges that are nowhere else.
func manyPhrases(n int) string {
	var b strings.Builder
	b.WriteString("name: many\ntitle: Many\nabout: Many phrases. For tests only.\nprofile: dunlin-lt\nphases:\n  - id: all\n    title: Doors\n    items:\n")
	for i := range n {
		fmt.Fprintf(&b, "      - {id: item-%d, challenge: \"Locker door %d\", response: All closed, confirm: doors}\n", i, i+100)
	}
	return b.String()
}
