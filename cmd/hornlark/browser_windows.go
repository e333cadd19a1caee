package main

import (
	"os/exec"
	"syscall"
)

// apart has a program go on by itself: what is typed in this program's terminal, its end too, is nothing to it.
func apart(c *exec.Cmd) {
	c.SysProcAttr = &syscall.SysProcAttr{CreationFlags: syscall.CREATE_NEW_PROCESS_GROUP}
}
