package main

import "os"

// ownStderr is standard error: nothing is caught on this system.
func ownStderr() *os.File { return os.Stderr }
