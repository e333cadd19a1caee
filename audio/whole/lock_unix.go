//go:build unix

package whole

import (
	"errors"
	"io/fs"
	"os"
	"syscall"

	"golang.org/x/sys/unix"
)

// lock keeps a file that is open from being taken for one that was left.
func lock(file *os.File) { unix.Flock(int(file.Fd()), unix.LOCK_EX|unix.LOCK_NB) }

// owned reports whether a file belongs to this user.
func owned(info fs.FileInfo) bool {
	stat, ok := info.Sys().(*syscall.Stat_t)
	return ok && int(stat.Uid) == os.Geteuid()
}

// abandoned reports whether nobody has a file open to write it. unsure is the answer where there are no locks.
func abandoned(name string, info fs.FileInfo, unsure bool) bool {
	fd, err := unix.Open(name, unix.O_RDONLY|unix.O_NOFOLLOW|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return false
	}
	file := os.NewFile(uintptr(fd), name)
	defer file.Close()
	if now, err := file.Stat(); err != nil || !os.SameFile(now, info) {
		return false
	}
	err = unix.Flock(fd, unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.ENOTSUP) || errors.Is(err, unix.ENOSYS) || errors.Is(err, unix.ENOLCK) {
		return unsure
	}
	return err == nil
}
