//go:build unix

package main

import (
	"os"
	"os/signal"
	"syscall"
)

// dieOf has a signal do what it does to a program that does not catch it: the Go runtime writes the stacks of all goroutines.
func dieOf(s os.Signal) {
	signal.Reset(s)
	_ = syscall.Kill(os.Getpid(), s.(syscall.Signal))
}
