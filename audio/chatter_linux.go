package audio

import (
	"os"
	"runtime/debug"

	"golang.org/x/sys/unix"

	"hornlark/audio/whole"
)

// catchChatter sends what C libraries write on standard error to a temporary file until release is called: ALSA and
// its plugins write there whatever goes wrong, in the middle of a screen. Go's own os.Stderr, and the trace of a
// crash, still go where they went before.
func catchChatter() (release func(), err error) {
	file, err := whole.Nameless()
	if err != nil {
		return nil, err
	}
	discard := func() { file.Close() }
	const stderr = 2
	kept, err := unix.FcntlInt(stderr, unix.F_DUPFD_CLOEXEC, 0)
	if err != nil {
		discard()
		return nil, os.NewSyscallError("dup", err)
	}
	if err := unix.Dup3(int(file.Fd()), stderr, 0); err != nil {
		unix.Close(kept)
		discard()
		return nil, os.NewSyscallError("dup3", err)
	}
	was, real := os.Stderr, os.NewFile(uintptr(kept), "/dev/stderr")
	os.Stderr = real
	debug.SetCrashOutput(real, debug.CrashOptions{})

	return func() {
		debug.SetCrashOutput(nil, debug.CrashOptions{})
		unix.Dup3(kept, stderr, 0)
		os.Stderr = was
		real.Close()
		discard()
	}, nil
}
