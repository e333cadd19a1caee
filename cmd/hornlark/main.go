// Command hornlark is a voice-prompted challenge-and-response trainer for helicopter procedures.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"golang.org/x/term"

	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/outfile"
	"hornlark/drill/inert"
	"hornlark/drill/library"
)

// The exit statuses.
const (
	exitPassed    = 0
	exitOther     = 1
	exitUsage     = 2
	exitNotPassed = 3
)

// streams are the process's ends, so that a command can be tried without a process.
type streams struct {
	in       io.Reader
	out, err io.Writer
	terminal bool // standard input and output are a terminal
	watched  bool // standard error is one
	clicked  bool // there is none, and somebody has started the program from a desktop
}

// usageError is a mistake in how a command was called.
type usageError struct{ error }

// errNotPassed ends a sitting that came to its end without meeting its criteria. Its report has been given already.
var errNotPassed = errors.New("the criteria were not met")

// errNotReady is for somebody who is not ready by the criteria, or of whom not enough has been seen. It has been told already.
var errNotReady = errors.New("not ready by the criteria")

// errStopped ends a sitting that somebody stopped before its end. Its report has been given already.
var errStopped = errors.New("the sitting was stopped before its end")

// lastWord is an error whose text is a line of its own, as it stands.
type lastWord string

func (t lastWord) Error() string { return string(t) }

// What is told of something that was stopped by Ctrl-C or a signal. Of anything else stopped is told.
const (
	errNotBegun    = desk.NotBegun
	errEndedEarly  = desk.EndedEarly
	errEveningLeft = lastWord("Left before the next sitting had begun; what was sat before is kept.")
	errVoicesKept  = lastWord("Stopped; what has been made is kept, and the next run goes on from there.")
)

// freshLine is what takes away what stands on the line of a terminal.
func (s *streams) freshLine() string {
	if s.terminal && s.watched {
		return "\r\x1b[K"
	}
	return ""
}

func main() {
	if err := misdirected(os.Stdout); err != nil {
		fmt.Fprintf(os.Stderr, "hornlark: %v\n", err)
		os.Exit(exitUsage)
	}
	s := streams{
		in: os.Stdin, out: os.Stdout, err: ownStderr(),
		terminal: term.IsTerminal(int(os.Stdin.Fd())) && term.IsTerminal(int(os.Stdout.Fd())),
		watched:  term.IsTerminal(int(os.Stderr.Fd())),
		clicked:  startedFromDesktop(),
	}
	ctx, _ := stoppable(func() {
		outfile.Sweep()
		fmt.Fprintf(s.err, "%s%v\n", s.freshLine(), stopped{})
	})
	status := run(ctx, os.Args[1:], s)
	keepWindow(s)
	os.Exit(status)
}

// given are the texts that whoever calls the program can put into its messages.
func given(args []string) []string {
	names := slices.Clone(args)
	for _, pair := range os.Environ() {
		name, value, _ := strings.Cut(pair, "=")
		if strings.HasPrefix(name, "HORNLARK_") || strings.HasPrefix(name, "XDG_") || name == "HOME" || name == "TMPDIR" {
			names = append(names, value)
		}
	}
	if folder, err := os.Getwd(); err == nil {
		names = append(names, folder)
	}
	return names
}

// run carries out a command line and gives its exit status.
func run(ctx context.Context, args []string, s streams) int {
	out, told := inert.NewWriter(s.out), inert.NewWriter(s.err)
	out.InLine(given(args)...)
	told.InLine(given(args)...)
	s.out, s.err = out, told
	defer told.Close()
	defer outfile.Sweep()
	status := carryOut(ctx, args, s)
	var lost *inert.OutputError
	if errors.As(out.Close(), &lost) && status != exitStopped { // whatever else there is to say: what was asked for has not been given
		fmt.Fprintf(s.err, "hornlark: %v\n", lost)
		return exitOther
	}
	return status
}

// carryOut carries out a command line, says what went wrong, and gives the exit status.
func carryOut(ctx context.Context, args []string, s streams) int {
	root := newRoot(s)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var lost *inert.OutputError
	var problems library.Problems
	var unknown *library.Unknown
	var usage usageError
	switch {
	case wasStopped(ctx, err):
		// The terminal has written ^C on this line, and perhaps how far something was.
		own(s.err, s.freshLine())
		tellStopped(s.err, err)
		return exitStopped
	case err == nil:
		return exitPassed
	case errors.As(err, &lost):
		return exitOther // it is told where it is found
	case errors.Is(err, errNotPassed), errors.Is(err, errNotReady):
		return exitNotPassed
	case errors.Is(err, errMissed), errors.Is(err, errFound):
		return exitUsage
	case errors.Is(err, errStopped):
		return exitOther
	case errors.As(err, &problems), errors.As(err, &unknown):
		fmt.Fprintln(s.err, err)
		return exitUsage
	case errors.As(err, &usage), errors.As(err, new(desk.AnswersError)):
		fmt.Fprintf(s.err, "hornlark: %v\n", err)
		return exitUsage
	}
	fmt.Fprintf(s.err, "hornlark: %v\n", err)
	return exitOther
}
