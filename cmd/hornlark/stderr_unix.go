//go:build unix

package main

import (
	"os"

	"golang.org/x/sys/unix"
)

// ownStderr is standard error by a descriptor of our own: while the sound is open, what C libraries write on the usual one is
// caught, and nothing of ours must go the same way.
func ownStderr() *os.File {
	own, err := unix.FcntlInt(os.Stderr.Fd(), unix.F_DUPFD_CLOEXEC, 0)
	if err != nil {
		return os.Stderr
	}
	return os.NewFile(uintptr(own), os.Stderr.Name())
}
