//go:build unix

package record

import (
	"errors"
	"os"
	"syscall"
)

// lockAlone locks a file for this opening of it alone, and reports whether nobody was in the way. The lock goes with the file's
// being closed, and so with the program.
func lockAlone(file *os.File) (bool, error) { return lockFile(file, syscall.LOCK_EX) }

// lockWithOthers is lockAlone together with others who lock it so.
func lockWithOthers(file *os.File) (bool, error) { return lockFile(file, syscall.LOCK_SH) }

func lockFile(file *os.File, how int) (free bool, err error) {
	for {
		err = syscall.Flock(int(file.Fd()), how|syscall.LOCK_NB)
		switch {
		case err == nil:
			return true, nil
		case errors.Is(err, syscall.EWOULDBLOCK):
			return free, nil
		case errors.Is(err, syscall.EINTR):
		case errors.Is(err, syscall.ENOTSUP), errors.Is(err, syscall.ENOSYS), errors.Is(err, syscall.ENOLCK):
			return true, nil // a file system without locks has one program at a time
		default:
			return free, err
		}
	}
}

// ours reports whether a file belongs to this user, and is in a place of its own: not in a folder like that for temporary files.
func ours(info os.FileInfo) bool {
	stat, ok := info.Sys().(*syscall.Stat_t)
	return ok && int(stat.Uid) == os.Geteuid() && info.Mode()&os.ModeSticky == 0
}
