package record

import (
	"os"
	"syscall"
)

// reserveSpace takes room on the disk for what will be written, without making the file longer.
func reserveSpace(file *os.File, from, length int64) error {
	const keepSize = 1 // FALLOC_FL_KEEP_SIZE of linux/falloc.h
	return syscall.Fallocate(int(file.Fd()), keepSize, from, length)
}
