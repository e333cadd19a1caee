package record

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
)

// keepPrivate sees to it that nobody but this user reads the records: the folder is only theirs, also where it was there
// before, and so is every file of ours in it. A home folder, one above it, or one for everybody's files, is left as it is, and the
// user told.
func (s *Store) keepPrivate() {
	if runtime.GOOS == "windows" {
		return // a user's own folders are theirs there
	}
	folder := filepath.Dir(s.path)
	info, err := os.Stat(folder)
	if err != nil {
		return
	}
	if info.Mode().Perm()&0o077 != 0 && (!ours(info) || aboveHome(folder) || os.Chmod(folder, 0o700) != nil) {
		s.notice("others have access to %s, where the records are; set HORNLARK_DATA to a folder of their own", folder)
	}
	for _, pattern := range []string{s.path + "*", filepath.Join(folder, "unsaved", "*")} {
		names, _ := filepath.Glob(pattern)
		for _, name := range names {
			if info, err := os.Lstat(name); err == nil && info.Mode().IsRegular() && info.Mode().Perm()&0o077 != 0 {
				os.Chmod(name, 0o600)
			}
		}
	}
}

// aboveHome reports whether a folder is the home folder, or one that it lies in.
func aboveHome(folder string) bool {
	home, err := os.UserHomeDir()
	if err != nil {
		return filepath.Dir(folder) == folder
	}
	way, err := filepath.Rel(folder, home)
	return err == nil && filepath.IsLocal(way)
}

// createPrivate makes a file that only this user can read, if there is none. SQLite gives those beside it the same access.
func createPrivate(path string) error {
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	switch {
	case errors.Is(err, fs.ErrExist):
		return nil
	case err != nil:
		return &unopened{err}
	}
	return file.Close()
}

// unopened is why the records could not be made.
type unopened struct{ err error }

func (u *unopened) Error() string {
	return "the records cannot be opened; make the folder writable, or set HORNLARK_DATA to another folder (" + u.err.Error() + ")"
}

func (u *unopened) Unwrap() error { return u.err }
