//go:build darwin || freebsd || netbsd || openbsd || dragonfly

package screen

import "golang.org/x/sys/unix"

const (
	getTermios      = unix.TIOCGETA
	setTermios      = unix.TIOCSETA
	setTermiosFlush = unix.TIOCSETAF
)
