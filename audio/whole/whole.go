// Package whole writes files that are there whole or not at all. A file has a name of its own while it is written, in the folder that it
// goes into: one that nothing had before, so that no link is followed and nobody's file is written over. Whoever is killed
// meanwhile leaves that; the next one that writes into the same folder takes it away.
package whole

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"time"
)

// partForm is what files are called while they are written, and nothing else is: 16 hexadecimal digits of chance in the middle.
var partForm = regexp.MustCompile(`^\.hornlark-[0-9a-f]{16}\.part$`)

const (
	// leftFor is how long a file that nobody writes any more is left alone: it may have been begun a moment ago, and not been locked yet.
	leftFor = time.Minute

	// leftUnlocked is the same where the file system has no locks, and nobody can say whether it is still being written.
	leftUnlocked = 24 * time.Hour

	// looksAt is how many names of a folder are looked through for what was left.
	looksAt = 10_000
)

// Begin makes a file under a name that nothing has, in a folder, to be renamed when it is whole. Nobody has more access to it than mode
// says. It is locked as long as it is open. What others that were killed have left in that folder is taken away.
func Begin(folder string, mode fs.FileMode) (*os.File, error) {
	clear(folder)
	for range 100 {
		var id [8]byte
		rand.Read(id[:])
		name := filepath.Join(folder, ".hornlark-"+hex.EncodeToString(id[:])+".part")
		file, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, mode)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err == nil {
			lock(file) // where that cannot be, it is left alone for a day
		}
		return file, err
	}
	return nil, errors.New("there is no name for it while it is being written")
}

// Write writes a file of the program's own. What was there under its name is replaced; a link is, and not what it leads to.
func Write(path string, data []byte, mode fs.FileMode) error {
	part, err := Begin(filepath.Dir(path), mode)
	if err != nil {
		return err
	}
	_, err = part.Write(data)
	if err = errors.Join(err, part.Sync(), part.Close()); err == nil {
		err = os.Rename(part.Name(), path)
	}
	if err != nil {
		os.Remove(part.Name())
	}
	return err
}

// Nameless makes a file among the temporary ones that goes with its last descriptor, however the program ends. Where a file that is open
// cannot lose its name, it keeps that.
func Nameless() (*os.File, error) {
	file, err := Begin(os.TempDir(), 0o600)
	if err == nil {
		os.Remove(file.Name())
	}
	return file, err
}

// Left gives the files of this user that were being written into a folder when their program was killed, however long ago, and
// that nobody is writing.
func Left(folder string) (names []string) {
	parts(folder, func(name string, info fs.FileInfo) {
		if abandoned(name, info, true) {
			names = append(names, name)
		}
	})
	return names
}

// clear takes away what was left in a folder.
func clear(folder string) {
	parts(folder, func(name string, info fs.FileInfo) {
		age := time.Since(info.ModTime()).Abs() // a clock may have been set back
		if age >= leftFor && abandoned(name, info, age >= leftUnlocked) {
			os.Remove(name)
		}
	})
}

// parts goes through the plain files of this user in a folder that are called as ours are while they are written.
func parts(folder string, each func(name string, info fs.FileInfo)) {
	in, err := os.Open(folder)
	if err != nil {
		return
	}
	defer in.Close()
	entries, _ := in.ReadDir(looksAt) // what cannot be read stays
	for _, entry := range entries {
		if !partForm.MatchString(entry.Name()) || !entry.Type().IsRegular() {
			continue
		}
		info, err := entry.Info()
		if err == nil && info.Mode().IsRegular() && owned(info) {
			each(filepath.Join(folder, entry.Name()), info)
		}
	}
}
