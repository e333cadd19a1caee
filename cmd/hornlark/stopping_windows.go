package main

import "os"

// dieOf ends the program as the signal would have.
func dieOf(os.Signal) { os.Exit(exitOther) }
