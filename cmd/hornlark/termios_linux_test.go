package main

import "golang.org/x/sys/unix"

// askTermios asks how a terminal is set.
const askTermios = unix.TCGETS
