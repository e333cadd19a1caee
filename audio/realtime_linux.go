//go:build amd64 || arm64

package audio

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"time"

	"github.com/godbus/dbus/v5"
	"golang.org/x/sys/unix"
)

// The service that gives ordinary programs realtime priority, as its own documents describe it: it gives it to a thread of a process
// whose realtime threads may not run for longer than RTTimeUSecMax without a pause (RLIMIT_RTTIME), up to MaxRealtimePriority.
const (
	realtimeName  = "org.freedesktop.RealtimeKit1"
	realtimePath  = dbus.ObjectPath("/org/freedesktop/RealtimeKit1")
	realtimeLimit = 3 * time.Second // for it to answer
)

// realtimePriority is what the sound asks for: above everything ordinary, below what sound servers have. Ours.
const realtimePriority = 5

// askRealtime asks the system for realtime priority for the calling thread, which its goroutine has to be locked to. It does not
// wait for the answer; a system that does not give it, or has no such service, is no error: the sound runs as it did. ended is
// closed when the thread is no more.
func askRealtime(ended <-chan struct{}) {
	thread := unix.Gettid()
	go func() {
		ctx, cancel := context.WithTimeout(context.Background(), realtimeLimit)
		defer cancel()
		grantRealtime(ctx, dbus.ConnectSystemBus, thread, ended)
	}()
}

// grantRealtime asks the service on a bus for realtime priority for a thread of this process.
func grantRealtime(ctx context.Context, connect func(...dbus.ConnOption) (*dbus.Conn, error), thread int, ended <-chan struct{}) error {
	bus, err := connect(dbus.WithContext(ctx))
	if err != nil {
		return err
	}
	defer bus.Close()
	service := bus.Object(realtimeName, realtimePath)
	var most int32
	var unbroken int64 // µs
	for name, value := range map[string]any{"MaxRealtimePriority": &most, "RTTimeUSecMax": &unbroken} {
		if err := service.StoreProperty(realtimeName+"."+name, value); err != nil {
			return err
		}
	}
	if most < 1 || unbroken < 1 {
		return fmt.Errorf("the service gives a priority of %d at most, for %d µs", most, unbroken)
	}
	if err := limitRealtime(uint64(unbroken), thread, ended); err != nil {
		return err
	}
	return service.CallWithContext(ctx, realtimeName+".MakeThreadRealtime", 0, uint64(thread), uint32(min(most, realtimePriority))).Err
}

// limitRealtime bounds for how long a realtime thread of this process may run without a pause. The sound needs some 0.1 ms at a
// time; if it ever runs away, its thread goes back to ordinary priority at half of the limit, at which the system would end the
// process.
func limitRealtime(most uint64, thread int, ended <-chan struct{}) error {
	var limit unix.Rlimit
	if err := unix.Getrlimit(unix.RLIMIT_RTTIME, &limit); err != nil {
		return os.NewSyscallError("getrlimit", err)
	}
	limit.Max = min(limit.Max, most)
	limit.Cur = min(limit.Cur, limit.Max/2)
	if err := unix.Setrlimit(unix.RLIMIT_RTTIME, &limit); err != nil {
		return os.NewSyscallError("setrlimit", err)
	}
	tooLong := make(chan os.Signal, 1)
	signal.Notify(tooLong, unix.SIGXCPU)
	go func() {
		defer signal.Stop(tooLong)
		select {
		case <-ended:
			return
		case <-tooLong:
		}
		unix.SchedSetAttr(thread, &unix.SchedAttr{
			Size: unix.SizeofSchedAttr, Policy: unix.SCHED_NORMAL, Flags: unix.SCHED_FLAG_RESET_ON_FORK,
		}, 0)
	}()
	return nil
}
