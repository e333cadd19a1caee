package record

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockAlone locks a file for this opening of it alone, and reports whether nobody was in the way. The lock goes with the file's
// being closed, and so with the program. It is on a byte far beyond the end, since a lock here also keeps others from reading what
// is locked.
func lockAlone(file *os.File) (bool, error) { return lockFile(file, windows.LOCKFILE_EXCLUSIVE_LOCK) }

// lockWithOthers is lockAlone together with others who lock it so.
func lockWithOthers(file *os.File) (bool, error) { return lockFile(file, 0) }

func lockFile(file *os.File, how uint32) (bool, error) {
	how |= windows.LOCKFILE_FAIL_IMMEDIATELY
	at := windows.Overlapped{OffsetHigh: 1 << 30}
	windows.UnlockFileEx(windows.Handle(file.Fd()), 0, 1, 0, &windows.Overlapped{OffsetHigh: 1 << 30}) // one lock is not turned into another here
	err := windows.LockFileEx(windows.Handle(file.Fd()), how, 0, 1, 0, &at)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return false, nil
	}
	return err == nil, err
}

// ours reports whether a file belongs to this user. Access goes by lists here, which a user's own folders have.
func ours(os.FileInfo) bool { return false }
