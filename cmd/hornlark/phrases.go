package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"hornlark/drill/library"
)

// newPhrases lists what is spoken, for scripts/voice.
func newPhrases(s streams) *cobra.Command {
	return &cobra.Command{
		Use:    "phrases",
		Short:  "List every phrase of the built-in documents: a line each, the voice, a tab, the text",
		Hidden: true,
		Args:   cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			lib, err := library.Builtin()
			if err != nil {
				return err
			}
			for _, p := range lib.Phrases() {
				fmt.Fprintf(s.out, "%s\t%s\n", p.Voice, p.Text)
			}
			return nil
		},
	}
}
