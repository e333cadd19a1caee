package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"hornlark/cmd/hornlark/outfile"
	"hornlark/drill/inert"
	"hornlark/drill/record"
)

// output is where a command writes what is no text for a terminal: the file that the user named, and what he said about it.
type output struct {
	path    string
	force   bool
	private bool // it names people
}

// forceHelp is said of --force wherever a file is written.
const forceHelp = "replace a file that is there already"

// forceFlag gives a command --force.
func (o *output) forceFlag(c *cobra.Command) { c.Flags().BoolVar(&o.force, "force", false, forceHelp) }

// create begins the file. seeks says that it is gone back in.
func (o *output) create(ctx context.Context, s streams, seeks bool) (*outfile.File, error) {
	f, err := outfile.Create(ctx, o.path, outfile.Options{
		Force: o.force, Private: o.private, Seeks: seeks, Closed: closedFolders(), Stdout: s.document(),
	})
	var refused *outfile.Refused
	if errors.As(err, &refused) {
		return nil, usageError{err}
	}
	if err != nil {
		return nil, err
	}
	return f, nil
}

// write writes all of it.
func (o *output) write(ctx context.Context, s streams, to func(io.Writer) error) error {
	f, err := o.create(ctx, s, false)
	if err != nil {
		return err
	}
	defer f.Drop()
	if err := to(f); err != nil {
		return err
	}
	return f.Keep()
}

// closedFolders are those of the records: nothing that a user asks for goes in there.
func closedFolders() []string {
	var folders []string
	if path, err := record.DefaultPath(); err == nil {
		folders = append(folders, filepath.Dir(path))
	}
	return append(folders, record.Fallback())
}

// document is the standard output for what has passed a writer of its own kind: JSON, a table, markup.
func (s streams) document() io.Writer {
	if w, ok := s.out.(*inert.Writer); ok {
		return w.Document()
	}
	return s.out
}

// own writes styling of the program's own to a terminal. Nothing from outside may be in it.
func own(w io.Writer, styling string) {
	if w, ok := w.(*inert.Writer); ok {
		w.Own(styling)
		return
	}
	io.WriteString(w, styling)
}

// misdirected says what is wrong if the standard output has been redirected into the records.
func misdirected(out *os.File) error {
	if folder := outfile.Holds(out, closedFolders()); folder != "" {
		return usageError{fmt.Errorf("the standard output goes into the records in %s; send it elsewhere", inert.Line(folder))}
	}
	return nil
}
