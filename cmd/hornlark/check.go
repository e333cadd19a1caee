package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"hornlark/drill/library"
)

func newCheck(s streams) *cobra.Command {
	return &cobra.Command{
		Use:   "check FILE...",
		Short: "Say what is wrong with profiles, procedures, scenarios, abnormals and answers, and where",
		Long: `Checks YAML files, and those of folders, each together with all the others and with what is built in.
A line for everything that is wrong: file:line:column: what is wrong; what to write instead.
Exit status: 0 nothing is wrong, 2 something is.`,
		Example: `  hornlark check my/scenario.yaml
  hornlark check my`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(_ *cobra.Command, paths []string) error {
			lib, err := openLibrary(nil)
			if err != nil {
				return err
			}
			var all library.Problems
			for _, c := range lib.Check(paths...) {
				if len(c.Problems) == 0 {
					fmt.Fprintf(s.out, "%s: %s %s: nothing is wrong\n", c.File, c.Kind, c.Name)
				}
				all = append(all, c.Problems...)
			}
			return all.Err()
		},
	}
}
