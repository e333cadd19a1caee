package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"

	"golang.org/x/term"
)

// end is what one of a program's standard streams is.
type end string

const (
	endTerminal end = "terminal"
	endNothing  end = "nothing" // the null device, or not there at all
	endPipe     end = "pipe"
	endFile     end = "file"
	endLog      end = "log" // of the desktop: a socket of the system's journal, or the file that a session writes what its programs say to
)

// sessionLogs are the names of such files, as the usual sessions have them. From memory.
var sessionLogs = []string{".xsession-errors", "xorg-session.log", "wayland-session.log"}

// endOf finds out what a stream is.
func endOf(f *os.File) end {
	about, err := f.Stat()
	switch {
	case err != nil:
		return endNothing
	case term.IsTerminal(int(f.Fd())):
		return endTerminal
	case about.Mode()&fs.ModeSocket != 0:
		return endLog
	case about.Mode()&fs.ModeCharDevice != 0:
		return endNothing
	case about.Mode().IsRegular():
		if name, err := os.Readlink(filepath.Join("/proc/self/fd", strconv.Itoa(int(f.Fd())))); err == nil && slices.Contains(sessionLogs, filepath.Base(name)) {
			return endLog
		}
		return endFile
	}
	return endPipe
}

// fromDesktop reports whether a program whose streams are these was started by a double click or the like, so that somebody sits in front of a
// desktop and has no terminal: nobody can type anything into it, and what it says goes nowhere, or where the desktop keeps what programs say.
// What is piped or redirected was started by a script, which wants to read.
func fromDesktop(in, out, err end, desktop bool) bool {
	nowhere := func(e end) bool { return e == endNothing || e == endLog }
	return desktop && in == endNothing && nowhere(out) && nowhere(err)
}

// startedFromDesktop reports it of this program.
func startedFromDesktop() bool {
	return fromDesktop(endOf(os.Stdin), endOf(os.Stdout), endOf(os.Stderr), desktop(runtime.GOOS, os.Getenv))
}
