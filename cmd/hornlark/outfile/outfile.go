// Package outfile writes every file that a user names: whole or not at all, never over another without being told to, and never among
// what the program itself keeps.
package outfile

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	"hornlark/audio/whole"
	"hornlark/drill/inert"
)

// Stdout names the standard output.
const Stdout = "-"

// Options say what may be done. The zero value may make a file that is not there yet.
type Options struct {
	Force   bool     // a file of that name may be replaced
	Private bool     // nobody else may read a new file: it names people
	Seeks   bool     // what is written is gone back in
	Closed  []string // folders into which nothing is written, and whose files are not replaced by other names of theirs
	Stdout  io.Writer
}

// Refused is that a place is not written to.
type Refused struct {
	Path    string
	Problem string
	Remedy  string
}

// Error says what is wrong, and what to do.
func (r *Refused) Error() string {
	return fmt.Sprintf("%s %s; %s", inert.Line(r.Path), r.Problem, r.Remedy)
}

// File is a file that is being written. It is there once it has been kept, and not before; a device, a pipe or the standard
// output is written as it comes. It may be used by one goroutine at a time, and dropped by any.
type File struct {
	path    string // where it goes, links followed
	shown   string // as the user named it
	part    string // name while it is being written; empty: a stream
	replace bool
	file    *os.File
	out     io.Writer
	err     error // the first of writing

	mu    sync.Mutex
	ended bool
}

// Create begins a file. Nothing has changed at path until Keep; Drop, or Sweep at the end, takes back what was begun. Whoever ends the
// context does not have to wait for a reader at the other end of a pipe.
func Create(ctx context.Context, path string, o Options) (*File, error) {
	if path == Stdout {
		if o.Seeks {
			return nil, &Refused{"the standard output", "cannot be gone back in", "name a file"}
		}
		return &File{shown: "the standard output", out: o.Stdout}, nil
	}
	f := &File{path: path, shown: path, replace: o.Force}
	at, err := os.Lstat(path)
	linked := err == nil && at.Mode()&fs.ModeSymlink != 0
	if linked {
		at, err = os.Stat(path)
	}
	switch {
	case err != nil && linked:
		return nil, &Refused{path, "is a link that leads nowhere", "remove it, or name another file"}
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, cannot(path, err)
	case at.IsDir():
		return nil, &Refused{path, "is a folder", "name a file in it"}
	case at.Mode()&fs.ModeNamedPipe != 0 && o.Seeks:
		return nil, &Refused{path, "is a pipe, which cannot be gone back in", "name a file"}
	case at.Mode()&(fs.ModeCharDevice|fs.ModeNamedPipe) != 0:
		return f, f.stream(ctx, o.Seeks)
	case !at.Mode().IsRegular():
		return nil, &Refused{path, "is neither a file nor anything to write to", "name another file"}
	}
	if linked {
		if f.path, err = filepath.EvalSymlinks(path); err != nil {
			return nil, cannot(path, err)
		}
	}
	if closed, err := within(f.path, at, o.Closed); err != nil {
		return nil, cannot(path, err)
	} else if closed != "" {
		return nil, &Refused{path, "belongs to the records in " + inert.Line(closed), "name a place elsewhere"}
	}
	switch {
	case at == nil || o.Force:
	case linked:
		return nil, &Refused{path, "is a link to " + inert.Line(f.path), "add --force to replace what it leads to"}
	default:
		return nil, &Refused{path, "is there already", "add --force to replace it"}
	}
	return f, f.begin(at, o.Private)
}

// cannot is that a place cannot be written to.
func cannot(path string, err error) error {
	remedy := "name another place"
	switch {
	case errors.Is(err, fs.ErrNotExist):
		remedy = "make the folder first, or name another place"
	case errors.Is(err, fs.ErrPermission):
		remedy = "see to it that you may write there, or name another place"
	}
	return &Refused{path, "cannot be written: " + inert.Line(reason(err)), remedy}
}

// reason is an error without the name of the file, which the user has given.
func reason(err error) string {
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		return p.Err.Error()
	case errors.As(err, &l):
		return l.Err.Error()
	}
	return err.Error()
}

// stream opens a device or a pipe. Opening a pipe waits for whoever reads it.
func (f *File) stream(ctx context.Context, seeks bool) error {
	type opened struct {
		file *os.File
		err  error
	}
	done := make(chan opened, 1)
	go func() {
		file, err := os.OpenFile(f.path, os.O_WRONLY, 0)
		done <- opened{file, err}
	}()
	var o opened
	select {
	case o = <-done:
	case <-ctx.Done():
		return context.Cause(ctx)
	}
	if o.err != nil {
		return cannot(f.shown, o.err)
	}
	if seeks {
		if _, err := o.file.Seek(0, io.SeekCurrent); err != nil {
			o.file.Close()
			return &Refused{f.shown, "cannot be gone back in", "name a file"}
		}
	}
	f.file, f.out = o.file, o.file
	return nil
}

// begin makes the file under a name that nothing has, in the folder that it goes into: what is there already cannot be in the
// way, be it a link, and the last step is a rename. A file that takes the place of another takes its permissions.
func (f *File) begin(before fs.FileInfo, private bool) error {
	mode := fs.FileMode(0o666)
	if private {
		mode = 0o600
	}
	file, err := whole.Begin(filepath.Dir(f.path), mode)
	if err != nil {
		return cannot(f.shown, err)
	}
	f.part, f.file, f.out = file.Name(), file, file
	unfinished.Store(f, nil)
	if before != nil {
		file.Chmod(before.Mode().Perm()) // where there is no such thing, there is nothing to keep
	}
	return nil
}

// Write writes to the file.
func (f *File) Write(p []byte) (int, error) {
	n, err := f.out.Write(p)
	return n, f.note(err)
}

// Seek goes to another place of the file, where it is one.
func (f *File) Seek(offset int64, whence int) (int64, error) {
	if f.file == nil {
		return 0, &Refused{f.shown, "cannot be gone back in", "name a file"}
	}
	at, err := f.file.Seek(offset, whence)
	return at, f.note(err)
}

// note remembers the first error.
func (f *File) note(err error) error {
	if err == nil {
		return nil
	}
	err = &writeError{f.shown, err}
	if f.err == nil {
		f.err = err
	}
	return err
}

// writeError is an error of writing, with the name that the user gave.
type writeError struct {
	shown string
	err   error
}

func (e *writeError) Error() string {
	return fmt.Sprintf("%s: %s", inert.Line(e.shown), inert.Line(reason(e.err)))
}

func (e *writeError) Unwrap() error { return e.err }

// Keep ends the file: it is on the disk, and has its name. After an error of writing it is dropped, and the error given again.
func (f *File) Keep() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.ended {
		return f.err
	}
	f.ended = true
	defer unfinished.Delete(f)
	if f.part == "" {
		if f.file != nil {
			f.note(f.file.Close())
		}
		return f.err
	}
	if f.err == nil {
		f.note(f.file.Sync())
	}
	f.note(f.file.Close())
	if f.err == nil {
		if f.replace {
			f.note(os.Rename(f.part, f.path))
		} else if err := settle(f.part, f.path); errors.Is(err, fs.ErrExist) {
			f.err = &Refused{f.shown, "has been made by somebody else in the meantime", "add --force to replace it"}
		} else {
			f.note(err)
		}
	}
	os.Remove(f.part) // gone already, unless something failed
	return f.err
}

// settle gives a file its name, unless something has it.
func settle(part, path string) error {
	err := os.Link(part, path)
	if err == nil || errors.Is(err, fs.ErrExist) {
		return err
	}
	// A file system without hard links.
	if _, err := os.Lstat(path); err == nil {
		return fs.ErrExist
	}
	return os.Rename(part, path)
}

// Drop ends a file that was not kept, and leaves nothing of it. After Keep it does nothing.
func (f *File) Drop() {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.ended {
		return
	}
	f.ended = true
	defer unfinished.Delete(f)
	if f.file != nil {
		f.file.Close()
	}
	if f.part != "" {
		os.Remove(f.part)
	}
}

// unfinished are the files that were neither kept nor dropped.
var unfinished sync.Map

// Sweep drops what was neither kept nor dropped, at the end of the program.
func Sweep() {
	unfinished.Range(func(f, _ any) bool {
		f.(*File).Drop()
		return true
	})
}

// within gives the closed folder that a path lies in, by whatever name; or that a file lies in of which this is another name.
func within(path string, at fs.FileInfo, closed []string) (string, error) {
	whole, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	for _, folder := range closed {
		folder, err := filepath.Abs(folder)
		if err != nil {
			return "", err
		}
		if beneath(folder, whole) { // the folder itself, or one that it would lie in, where these are not there yet
			return folder, nil
		}
		info, err := os.Stat(folder)
		if err != nil {
			continue // nothing can lie in it
		}
		if at != nil && has(folder, at) {
			return folder, nil
		}
		parent, err := filepath.EvalSymlinks(filepath.Dir(whole))
		if err != nil {
			return "", err
		}
		for {
			if here, err := os.Stat(parent); err == nil && os.SameFile(here, info) {
				return folder, nil
			}
			up := filepath.Dir(parent)
			if up == parent {
				break
			}
			parent = up
		}
	}
	return "", nil
}

// beneath reports whether a path is another one or lies in it, by their names.
func beneath(path, folder string) bool {
	rel, err := filepath.Rel(folder, path)
	return err == nil && (rel == "." || filepath.IsLocal(rel))
}

// has reports whether a file is one of those in a folder.
func has(folder string, file fs.FileInfo) bool {
	found := false
	filepath.WalkDir(folder, func(_ string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return nil
		}
		if info, err := entry.Info(); err == nil && os.SameFile(info, file) {
			found = true
			return filepath.SkipAll
		}
		return nil
	})
	return found
}

// Holds gives the closed folder that an open file lies in, such as an output that was redirected there; empty: none.
func Holds(file *os.File, closed []string) string {
	info, err := file.Stat()
	if err != nil || !info.Mode().IsRegular() {
		return ""
	}
	for _, folder := range closed {
		if has(folder, info) {
			return folder
		}
	}
	return ""
}
