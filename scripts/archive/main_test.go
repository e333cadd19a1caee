package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hornlark/scripts/ownhome"
)

func TestMain(m *testing.M) { ownhome.Main(m) }

// The same files give the same bytes, whenever and whatever touched them; another program unpacks them as they were.
func TestArchivesAreReproducible(t *testing.T) {
	dir := t.TempDir()
	program, text := filepath.Join(dir, "built"), filepath.Join(dir, "READ ME.md")
	write := func(when time.Time) {
		for name, mode := range map[string]os.FileMode{program: 0o700, text: 0o600} {
			if err := os.WriteFile(name, []byte("what is in "+filepath.Base(name)), mode); err != nil {
				t.Fatal(err)
			}
			if err := os.Chtimes(name, when, when); err != nil {
				t.Fatal(err)
			}
		}
	}
	for suffix, unpack := range map[string][]string{".tar.gz": {"tar", "-xzf"}, ".zip": {"python3", "-m", "zipfile", "-e"}} {
		var packed [2][]byte
		for i := range packed {
			write(time.Unix(int64(1+i)*1e9, 0))
			out := filepath.Join(dir, "out"+suffix)
			if err := run([]string{out, "trainer-1.0", "trainer=" + program, text}, "1700000000"); err != nil {
				t.Fatal(err)
			}
			packed[i], _ = os.ReadFile(out)
		}
		if !bytes.Equal(packed[0], packed[1]) {
			t.Errorf("%s: two archives of the same files differ", suffix)
		}
		into := filepath.Join(dir, "into"+suffix)
		os.Mkdir(into, 0o700)
		command := append(unpack, filepath.Join(dir, "out"+suffix))
		if suffix == ".zip" {
			command = append(command, into)
		} else {
			command = append(command, "-C", into)
		}
		if _, err := exec.LookPath(command[0]); err != nil {
			t.Logf("%s is not unpacked by another program: %v", suffix, err)
			continue
		}
		if out, err := exec.Command(command[0], command[1:]...).CombinedOutput(); err != nil {
			t.Fatalf("%v: %v\n%s", command, err, out)
		}
		for name, want := range map[string]string{"trainer": "what is in built", "READ ME.md": "what is in READ ME.md"} {
			got, err := os.ReadFile(filepath.Join(into, "trainer-1.0", name))
			if err != nil || string(got) != want {
				t.Errorf("%s: %s holds %q, %v", suffix, name, got, err)
			}
		}
		if info, err := os.Stat(filepath.Join(into, "trainer-1.0", "trainer")); suffix == ".tar.gz" && (err != nil || info.Mode().Perm()&0o111 != 0o111) {
			t.Errorf("the program cannot be run: %v, %v", info.Mode(), err)
		}
	}
}

func TestArchiveSaysWhatIsWrong(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "a.zip")
	for _, c := range []struct {
		args  []string
		epoch string
		want  string
	}{
		{[]string{out}, "0", "write OUT.tar.gz or OUT.zip"},
		{[]string{out, "f", "nowhere"}, "soon", `SOURCE_DATE_EPOCH is "soon"`},
		{[]string{out, "f", filepath.Join(dir, "nowhere")}, "0", "nowhere"},
		{[]string{filepath.Join(dir, "a.rar"), "f", "main.go"}, "0", "only .zip and .tar.gz"},
	} {
		if err := run(c.args, c.epoch); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want %q", c.args, err, c.want)
		}
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("%v is left of archives that failed", left)
	}
}
