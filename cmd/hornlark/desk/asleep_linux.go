package desk

import (
	"time"

	"golang.org/x/sys/unix"
)

// asleep is how long the machine has been suspended since it was started: what CLOCK_BOOTTIME counts and CLOCK_MONOTONIC does not.
func asleep() time.Duration {
	var boot, monotonic unix.Timespec
	if unix.ClockGettime(unix.CLOCK_BOOTTIME, &boot) != nil || unix.ClockGettime(unix.CLOCK_MONOTONIC, &monotonic) != nil {
		return 0
	}
	return time.Duration(boot.Nano() - monotonic.Nano())
}
