//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

package screen

import (
	"errors"
	"fmt"
	"os"
	"runtime"
	"time"

	"golang.org/x/sys/unix"
)

// device is what was found of a Unix terminal.
type device struct {
	fd    int
	found unix.Termios
}

// readTick is how long a read waits before it comes back with nothing, so that the reader can be stopped. Termios
// counts in tenths of a second.
const readTick = 1

// openTerminal finds the terminal without changing it.
func openTerminal(in, out *os.File) (*terminal, error) {
	t := &terminal{in: in, out: &gate{File: out}, chunks: make(chan chunk, 64)}
	if _, err := unix.IoctlGetTermios(int(out.Fd()), getTermios); err != nil {
		return nil, ErrNoTerminal
	}
	if _, err := unix.IoctlGetTermios(int(in.Fd()), getTermios); err != nil {
		tty, err := os.OpenFile("/dev/tty", os.O_RDWR, 0)
		if err != nil {
			return nil, ErrNoTerminal
		}
		t.in, t.opened = tty, true
	}
	t.device.fd = int(t.in.Fd())
	found, err := unix.IoctlGetTermios(t.device.fd, getTermios)
	if err != nil {
		t.close()
		return nil, ErrNoTerminal
	}
	t.device.found = *found
	return t, nil
}

// makeRaw hands every key over as it is pressed. Output processing stays on: frames are drawn for it, and so is the
// stack trace of a panic.
func (t *terminal) makeRaw() error {
	// A reader that shares its terminal with another program may find it non-blocking.
	if err := unix.SetNonblock(t.device.fd, false); err != nil {
		return fmt.Errorf("taking the terminal: %w", err)
	}
	raw := t.device.found
	raw.Iflag &^= unix.IGNBRK | unix.BRKINT | unix.PARMRK | unix.ISTRIP | unix.INLCR | unix.IGNCR | unix.ICRNL | unix.IXON
	raw.Oflag |= unix.OPOST | unix.ONLCR
	raw.Lflag &^= unix.ECHO | unix.ECHONL | unix.ICANON | unix.ISIG | unix.IEXTEN
	raw.Cflag &^= unix.CSIZE | unix.PARENB
	raw.Cflag |= unix.CS8
	raw.Cc[unix.VMIN] = 0
	raw.Cc[unix.VTIME] = readTick
	if err := unix.IoctlSetTermios(t.device.fd, setTermios, &raw); err != nil {
		return fmt.Errorf("taking the terminal: %w", err)
	}
	return nil
}

// restore sets what was found, and drops keys that nobody has read: they were meant for the sitting and not for a shell.
func (t *terminal) restore() {
	_ = unix.IoctlSetTermios(t.device.fd, setTermiosFlush, &t.device.found)
}

// read is the reader: one thread that does nothing but wait in read(2) and take the time as soon as it is back. It
// closes chunks when it ends, which is when it is told to or when the terminal goes away.
func (t *terminal) read() {
	runtime.LockOSThread()
	defer close(t.chunks)
	var buf [256]byte
	for !t.stop.Load() {
		t.reading.Lock()
		n, err := unix.Read(t.device.fd, buf[:])
		at := time.Now()
		t.reading.Unlock()
		switch {
		case n > 0:
			t.chunks <- chunk{at, append([]byte(nil), buf[:n]...)}
		case errors.Is(err, unix.EINTR), errors.Is(err, unix.EAGAIN):
		case err != nil:
			return
		case !t.there():
			return
		}
	}
}

// holdReading keeps the reader from beginning another read, which in a terminal that is not raw would last until a
// line is complete. It waits no longer than two reads can last.
func (t *terminal) holdReading() bool {
	for range 50 {
		if t.reading.TryLock() {
			return true
		}
		time.Sleep(5 * time.Millisecond)
	}
	return false
}

// there tells a read that waited in vain from one that found the terminal gone: both bring nothing.
func (t *terminal) there() bool {
	_, err := unix.IoctlGetTermios(t.device.fd, getTermios)
	return err == nil
}

func (t *terminal) size() (width, height int, err error) {
	size, err := unix.IoctlGetWinsize(int(t.out.Fd()), unix.TIOCGWINSZ)
	if err != nil {
		return 0, 0, err
	}
	return int(size.Col), int(size.Row), nil
}
