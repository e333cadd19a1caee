package record

import (
	"bufio"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"time"
)

// Unsaved is the error for a sitting that could not be stored, or not all of it.
type Unsaved struct {
	Path string // file that the rest is in, a JSON object to a line; empty if that could not be written either
	Err  error  // why
}

// Error says why, and where the sitting is.
func (u *Unsaved) Error() string {
	if u.Path == "" {
		return fmt.Sprintf("the sitting could not be stored: %v", u.Err)
	}
	return fmt.Sprintf("the sitting could not be stored: %v; it is in %s, and is taken in the next time that the records can be opened", u.Err, u.Path)
}

// Unwrap gives the reason.
func (u *Unsaved) Unwrap() error { return u.Err }

// aside is the file of a sitting that could not be stored.
type aside struct {
	file *os.File
	err  error // why it cannot be written any more
}

// asideFolders are where such files go, the first that can be written: beside the records, or, if that is what is full,
// among the temporary files.
func (s *Store) asideFolders() []string {
	return []string{
		filepath.Join(filepath.Dir(s.path), "unsaved"),
		filepath.Join(os.TempDir(), fmt.Sprintf("hornlark-unsaved-%d", os.Getuid())),
	}
}

// relieve sets aside what waits once it is too much.
func (w *Writer) relieve() {
	w.mu.Lock()
	much := w.waiting.size() > maxWaiting
	w.mu.Unlock()
	if much {
		w.setAside(nil)
	}
}

// setAside moves what waits, and the result if there is one, into the sitting's own file. What cannot be written there
// waits on; it cannot become more than a sitting, which is bounded, has to say.
func (w *Writer) setAside(r *result) {
	b := w.take()
	lines := make([]line, 0, b.size()+1)
	for i := range b.entries {
		lines = append(lines, line{Entry: b.entries[i].body})
	}
	for i := range b.inputs {
		lines = append(lines, line{Input: &b.inputs[i]})
	}
	if r != nil {
		lines = append(lines, line{Result: r})
	}
	err := w.writeAside(lines)
	w.mu.Lock()
	defer w.mu.Unlock()
	if err != nil {
		w.waiting.entries = append(b.entries, w.waiting.entries...)
		w.waiting.inputs = append(b.inputs, w.waiting.inputs...)
	}
}

// writeAside writes lines to the sitting's file, in the first folder that takes them.
func (w *Writer) writeAside(lines []line) error {
	if w.aside != nil && w.aside.err == nil {
		w.aside.err = writeLines(w.aside.file, lines)
		return w.aside.err
	}
	header := line{UID: w.uid, Sitting: &header{Sitting: w.sitting}}
	var errs []error
	for _, folder := range w.store.asideFolders() {
		file, err := createAside(folder, w.uid)
		if err == nil {
			if err = writeLines(file, append([]line{header}, lines...)); err == nil {
				w.aside = &aside{file: file}
				return nil
			}
			file.Close()
		}
		errs = append(errs, err)
	}
	w.aside = &aside{err: errors.Join(errs...)}
	return w.aside.err
}

func createAside(folder, uid string) (*os.File, error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, err
	}
	if !private(folder) {
		return nil, fmt.Errorf("others have access to %s", folder)
	}
	name := time.Now().UTC().Format("20060102-150405") + "-" + uid + ".jsonl"
	return os.OpenFile(filepath.Join(folder, name), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
}

// private reports whether a folder is the user's alone. Among the temporary files anybody could have made one of that
// name; but whoever made it so that only he has access would have shut this user out.
func private(folder string) bool {
	info, err := os.Lstat(folder)
	return err == nil && info.IsDir() && (runtime.GOOS == "windows" || info.Mode().Perm()&0o077 == 0)
}

// writeLines writes lines as JSON and waits until they are on the disk.
func writeLines(file *os.File, lines []line) error {
	out := bufio.NewWriter(file)
	for _, l := range lines {
		body, err := json.Marshal(l)
		if err != nil {
			return err
		}
		out.Write(body)
		out.WriteByte('\n')
	}
	if err := out.Flush(); err != nil {
		return err
	}
	return file.Sync()
}

// asideError closes the sitting's file, if there is one, and says where it is.
func (w *Writer) asideError(err error) error {
	switch {
	case w.aside == nil:
		return err
	case w.aside.err != nil:
		return &Unsaved{Err: errors.Join(err, w.aside.err)}
	}
	path := w.aside.file.Name()
	if err == nil {
		err = errors.New("the records could not be written for a while")
	}
	return &Unsaved{Path: path, Err: errors.Join(err, w.aside.file.Close())}
}

// adopt takes in the files of sittings that could not be stored. It does not matter if one is taken in twice.
func (s *Store) adopt() {
	for _, folder := range s.asideFolders() {
		if !private(folder) {
			continue
		}
		names, _ := filepath.Glob(filepath.Join(folder, "*.jsonl"))
		slices.Sort(names)
		for _, name := range names {
			s.adoptOne(name)
		}
	}
}

func (s *Store) adoptOne(name string) {
	ended, err := s.takeIn(name)
	if err != nil {
		s.notices = append(s.notices, fmt.Sprintf("%s: the sitting in it could not be taken in: %v", name, err))
		return
	}
	// A file without a result may still be written to by another process.
	info, err := os.Stat(name)
	if err != nil || !ended && time.Since(info.ModTime()) < 24*time.Hour {
		return
	}
	if err := os.Rename(name, name+".stored"); err == nil {
		s.notices = append(s.notices, fmt.Sprintf("a sitting that could not be stored before has been taken in from %s", name))
	}
}

// takeIn stores the sitting of a file, and reports whether it has a result.
func (s *Store) takeIn(name string) (ended bool, err error) {
	file, err := os.Open(name)
	if err != nil {
		return false, err
	}
	defer file.Close()
	in := bufio.NewReader(file)
	first, err := readLine(in)
	if err != nil || first.Sitting == nil || first.UID == "" {
		return false, errors.Join(errors.New("it does not begin with a sitting"), err)
	}
	return ended, s.write(func(tx *sql.Tx) error {
		id, err := insertSitting(tx, first.UID, first.Sitting.current())
		for err == nil {
			var l line
			if l, err = readLine(in); err == nil {
				err = insertLine(tx, id, l)
				ended = ended || l.Result != nil
			}
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		return err
	})
}

func insertLine(tx *sql.Tx, id int64, l line) error {
	switch {
	case l.Entry != nil:
		e, err := eventIn(l.Entry)
		if err != nil {
			return err
		}
		return insertEvents(tx, id, []event{e})
	case l.Input != nil:
		return insertInputs(tx, id, []numbered{*l.Input})
	}
	return insertResult(tx, id, l.Result)
}

// readLine reads one line. One without an end was being written when the program was killed, and is none.
func readLine(in *bufio.Reader) (l line, err error) {
	body, err := in.ReadBytes('\n')
	if err != nil {
		return l, io.EOF
	}
	err = json.Unmarshal(body, &l)
	return l, err
}
