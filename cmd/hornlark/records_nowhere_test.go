//go:build linux

package main

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A sitting of which nothing could be kept does not begin: one line says what is wrong, where, and what to do, and nothing is left of it but
// the lock. As soon as there is one place to keep it, it goes on.
func TestASittingThatCannotBeKept(t *testing.T) {
	if !canMount() {
		t.Skip("no small disk can be made here")
	}
	t.Parallel()
	for _, state := range []struct {
		name, options, says string
		spoil               func(t *testing.T, disk string)
		mend                func(disk string)
	}{
		{"full", "size=512k", "no space left on device", fillUp, func(disk string) { os.Remove(filepath.Join(disk, "filler")) }},
		{"full, with an empty database", "size=512k", "no space left on device", func(t *testing.T, disk string) {
			os.Mkdir(filepath.Join(disk, "data"), 0o700)
			os.WriteFile(filepath.Join(disk, "data", "hornlark.db"), nil, 0o600)
			fillUp(t, disk)
		}, func(disk string) { os.Remove(filepath.Join(disk, "filler")) }},
		{"no names left", "nr_inodes=3", "no space left on device", func(t *testing.T, disk string) {
			for i := range 10 {
				os.WriteFile(filepath.Join(disk, strings.Repeat("x", i+1)), nil, 0o600)
			}
		}, func(disk string) { exec.Command("mount", "-o", "remount,nr_inodes=1000", disk).Run() }},
		{"read-only", "size=8m", "read-only file system", func(t *testing.T, disk string) {
			exec.Command("mount", "-o", "remount,ro", disk).Run()
		}, func(disk string) { exec.Command("mount", "-o", "remount,rw", disk).Run() }},
		{"a file in its place", "size=8m", "not a directory", func(t *testing.T, disk string) {
			os.WriteFile(filepath.Join(disk, "data"), []byte("x"), 0o600)
			os.WriteFile(filepath.Join(disk, "hornlark-unsaved-0"), []byte("x"), 0o600)
		}, func(disk string) { os.Remove(filepath.Join(disk, "data")) }},
	} {
		t.Run(state.name, func(t *testing.T) {
			t.Parallel()
			disk := t.TempDir()
			if out, err := exec.Command("mount", "-t", "tmpfs", "-o", state.options+",mode=700", "none", disk).CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			t.Cleanup(func() { exec.Command("umount", "-l", disk).Run() })
			state.spoil(t, disk)
			run := func() (out, told string, status int) {
				t.Helper()
				cmd := exec.Command(program(t), "drill", filepath.Join("testdata", "short", "hover-scenario.yaml"),
					"--with", filepath.Join("testdata", "short"), "--answers", "perfect", "--silent", "--trainee", "kim")
				cmd.Env = append(os.Environ(), "HORNLARK_DATA="+filepath.Join(disk, "data"), "TMPDIR="+disk)
				var stdout, stderr bytes.Buffer
				cmd.Stdout, cmd.Stderr = &stdout, &stderr
				if err := cmd.Run(); err != nil && !errors.As(err, new(*exec.ExitError)) {
					t.Fatal(err)
				}
				return stdout.String(), stderr.String(), cmd.ProcessState.ExitCode()
			}
			began := time.Now()
			out, told, status := run()
			if out != "" || status != exitOther || strings.Count(told, "\n") != 1 || time.Since(began) > 20*time.Second {
				t.Errorf("status %d after %v, %q on stdout, on stderr:\n%s", status, time.Since(began), out, told)
			}
			for _, want := range []string{"has not begun", state.says, filepath.Join(disk, "data", "hornlark.db"), filepath.Join(disk, "hornlark-unsaved-0"), "make room", "HORNLARK_DATA"} {
				if !strings.Contains(told, want) {
					t.Errorf("%q is not said:\n%s", want, told)
				}
			}
			filepath.WalkDir(disk, func(name string, e fs.DirEntry, err error) error {
				if err != nil || e.IsDir() || strings.HasSuffix(name, ".lock") || strings.Contains(name, "/x") {
					return nil
				}
				if info, err := e.Info(); err == nil && info.Size() == 0 {
					t.Errorf("%s is left, and empty", name)
				}
				return nil
			})
			state.mend(disk)
			if out, told, status := run(); status != exitPassed || !strings.Contains(out, "PASSED") {
				t.Errorf("mended: status %d, %s", status, told)
			}
		})
	}
}

// fillUp takes all the room of a disk.
func fillUp(t *testing.T, disk string) {
	if exec.Command("dd", "if=/dev/zero", "of="+filepath.Join(disk, "filler"), "bs=1k").Run() == nil {
		t.Fatal("the disk has no end")
	}
}
