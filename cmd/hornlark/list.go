package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

func newList(s streams) *cobra.Command {
	var own []string
	var reveal bool
	c := &cobra.Command{
		Use:   "list",
		Short: "List what is built in: scenarios, procedures, profiles",
		Long: `Lists scenarios, procedures and profiles. What can go wrong is for the instructor to know: --reveal lists the abnormals and
look-alikes too.`,
		Example: "  hornlark list\n  hornlark list --with my\n  hornlark list --reveal",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			lib, err := openLibrary(own)
			if err != nil {
				return err
			}
			return list(s.out, lib, reveal)
		},
	}
	c.Flags().StringSliceVar(&own, "with", nil, "read these YAML files or folders too")
	c.Flags().BoolVar(&reveal, "reveal", false, "list abnormals and look-alikes too")
	return c
}

func list(out io.Writer, lib *library.Library, reveal bool) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "SCENARIOS\t\t")
	for _, s := range lib.Scenarios() {
		fmt.Fprintf(w, "  %s\t%s\t%s\n", s.Name, s.Policy, s.Title)
	}
	fmt.Fprintln(w, "PROCEDURES\t\t")
	for _, p := range lib.Procedures() {
		fmt.Fprintf(w, "  %s\t%d items\t%s\n", p.Name, p.Count(), p.Title)
	}
	fmt.Fprintln(w, "PROFILES\t\t")
	for _, p := range lib.Profiles() {
		fmt.Fprintf(w, "  %s\t%d controls\t%s\n", p.Name, len(p.Controls), p.Title)
	}
	if !reveal {
		return w.Flush()
	}
	fmt.Fprintln(w, "ABNORMALS\t\t")
	for _, a := range lib.Abnormals() {
		fmt.Fprintf(w, "  %s\t%s\t%s\n", a.Name, kindOf(a), a.Title)
	}
	return w.Flush()
}

func kindOf(a *scenario.Abnormal) string {
	if a.Harmless {
		return "look-alike"
	}
	return "abnormal"
}

// completeNames completes the names of documents of some kinds.
func completeNames(kinds ...library.Kind) cobra.CompletionFunc {
	return func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		lib, err := library.Builtin()
		if err != nil || len(args) > 0 {
			return nil, cobra.ShellCompDirectiveDefault
		}
		var names []string
		for _, kind := range kinds {
			switch kind {
			case library.Scenario:
				for _, s := range lib.Scenarios() {
					names = append(names, s.Name+"\t"+s.Title)
				}
			case library.Procedure:
				for _, p := range lib.Procedures() {
					names = append(names, p.Name+"\t"+p.Title)
				}
			case library.Profile:
				for _, p := range lib.Profiles() {
					names = append(names, p.Name+"\t"+p.Title)
				}
			case library.Abnormal:
				for _, a := range lib.Abnormals() {
					names = append(names, a.Name+"\t"+a.Title)
				}
			}
		}
		return names, cobra.ShellCompDirectiveDefault
	}
}
