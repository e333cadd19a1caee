package main

import (
	"bufio"
	"fmt"
	"os"

	"github.com/inconshreveable/mousetrap"
	"github.com/spf13/cobra"
)

// A double click opens a window of its own. Cobra would only tell in it that this is no way to start a program; here it leads to
// the first screen.
func init() { cobra.MousetrapHelpText = "" }

// keepWindow keeps the window that a double click has opened until what stands in it has been read: it closes with the program.
func keepWindow(s streams) {
	if !s.terminal || !mousetrap.StartedByExplorer() {
		return
	}
	fmt.Fprint(s.out, "\nEnter closes this window. ")
	bufio.NewReader(os.Stdin).ReadString('\n')
}
