package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// exclusiveAnnotation is where the library keeps with a flag in which groups it is of which only one may be given: names with blanks in between.
const exclusiveAnnotation = "cobra_annotation_mutually_exclusive"

// checkGroups says what is wrong with the flags that were given, by the groups that the command has declared. The library would do so itself
// after this, by an error that cannot be told from one of the command, and in words that show how it keeps them.
func checkGroups(c *cobra.Command) error {
	for _, group := range exclusiveGroups(c) {
		var both []string
		for _, name := range group {
			if c.Flags().Changed(name) {
				both = append(both, "--"+name)
			}
		}
		if len(both) > 1 {
			return usageError{fmt.Errorf("%s cannot be given together; choose one of --%s", allOf(both), strings.Join(group, ", --"))}
		}
	}
	if err := errors.Join(c.ValidateRequiredFlags(), c.ValidateFlagGroups()); err != nil {
		return usageError{fmt.Errorf("%w; see: %s --help", err, c.CommandPath())}
	}
	return nil
}

// exclusiveGroups are the groups of flags of a command of which only one may be given, in the order in which they were declared.
func exclusiveGroups(c *cobra.Command) (groups [][]string) {
	var seen []string
	c.Flags().VisitAll(func(f *pflag.Flag) {
		for _, names := range f.Annotations[exclusiveAnnotation] {
			if !slices.Contains(seen, names) {
				seen = append(seen, names)
				groups = append(groups, strings.Fields(names))
			}
		}
	})
	return groups
}
