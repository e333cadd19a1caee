//go:build unix

package record

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// A folder is ours if it is this user's and not one like that for temporary files, in which others have theirs.
func TestOurs(t *testing.T) {
	folder := t.TempDir()
	for _, c := range []struct {
		owner int
		mode  os.FileMode
		want  bool
	}{
		{os.Geteuid(), 0o700, true}, {os.Geteuid(), 0o755, true}, {os.Geteuid(), 0o777 | os.ModeSticky, false},
		{os.Geteuid() + 1, 0o700, false}, {os.Geteuid() + 1, 0o777 | os.ModeSticky, false},
	} {
		if c.owner != os.Geteuid() && os.Geteuid() != 0 {
			continue // only root gives folders away
		}
		if err := os.Chown(folder, c.owner, -1); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(folder, c.mode); err != nil {
			t.Fatal(err)
		}
		info, err := os.Lstat(folder)
		if err != nil {
			t.Fatal(err)
		}
		if got := ours(info); got != c.want {
			t.Errorf("a folder of %d, %v: %v", c.owner, c.mode, got)
		}
	}
}

// What cannot be locked is not taken for locked.
func TestAFileThatCannotBeLocked(t *testing.T) {
	file, err := os.Create(filepath.Join(t.TempDir(), "file"))
	if err != nil {
		t.Fatal(err)
	}
	file.Close()
	if free, err := lockAlone(file); err == nil || free {
		t.Errorf("%v, %v", free, err)
	}
}

// What is no file is never taken away, though there is nothing in it.
func TestAPipeIsNotTakenAway(t *testing.T) {
	path := filepath.Join(t.TempDir(), "hornlark.db")
	if err := syscall.Mkfifo(path, 0o600); err != nil {
		t.Fatal(err)
	}
	s := &Store{path: path}
	if err := s.share(0); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	s.removeEmpty()
	if _, err := os.Lstat(path); err != nil {
		t.Error(err)
	}
}
