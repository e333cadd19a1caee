package main

import (
	"errors"
	"fmt"
	"io"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"hornlark/drill/aircraft/glossary"
	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

func newList(s streams) *cobra.Command {
	var o listOptions
	c := &cobra.Command{
		Use:   "list [WHAT [WORD...]]",
		Short: "List what is built in, and what can be written in documents of your own",
		Long: `Lists scenarios, procedures and profiles. What can go wrong is for the instructor to know: --reveal lists the abnormals and
look-alikes too.

With WHAT it lists everything of an aircraft that can be written in documents, each with a sentence and a line of YAML:
` + kindsOfWords() + `.
Words after that narrow it down to the entries in which all of them stand.

"list fields KIND" lists every field that documents of a kind may have, with its type and range, whether it is needed, and what it is
for: ` + kindsOfDocuments() + `. Without KIND it is all of them.`,
		Example: `  hornlark list
  hornlark list --with my
  hornlark list --reveal
  hornlark list failures --profile dunlin-lt
  hornlark list indications oil --profile my/profile.yaml
  hornlark list tones
  hornlark list fields abnormal
  hornlark list fields profile rotor
  hornlark list fields --markdown`,
		RunE: func(_ *cobra.Command, args []string) error {
			lib, err := openLibrary(o.own)
			if err != nil {
				return err
			}
			if o.markdown && (len(args) == 0 || args[0] != fieldsList) {
				return usageError{errors.New("--markdown is for the fields: hornlark list fields --markdown")}
			}
			if len(args) > 0 && args[0] == fieldsList {
				return o.fields(s.out, args[1:])
			}
			if len(args) > 0 {
				return o.words(s.out, lib, glossary.Kind(args[0]), args[1:])
			}
			if o.profile != "" {
				return usageError{errors.New("--profile goes with what is to be listed of it, as in: hornlark list failures --profile " + o.profile)}
			}
			return list(s.out, lib, o.reveal, o.json)
		},
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			var names []string
			if len(args) == 0 {
				for _, k := range glossary.Kinds() {
					names = append(names, string(k))
				}
				names = append(names, fieldsList)
			}
			if len(args) == 1 && args[0] == fieldsList {
				for _, k := range library.Kinds() {
					names = append(names, string(k))
				}
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
	}
	c.Flags().StringSliceVar(&o.own, "with", nil, "read these YAML files or folders too")
	c.Flags().BoolVar(&o.reveal, "reveal", false, "list abnormals and look-alikes too")
	c.Flags().StringVar(&o.profile, "profile", "", "the aircraft whose words are listed: a name, or the file of one")
	c.Flags().BoolVar(&o.json, "json", false, "give the list as one JSON object")
	c.Flags().BoolVar(&o.markdown, "markdown", false, "give the fields as tables in Markdown")
	must(c.RegisterFlagCompletionFunc("profile", func(c *cobra.Command, _ []string, begun string) ([]string, cobra.ShellCompDirective) {
		return completeNames(library.Profile)(c, nil, begun)
	}))
	return c
}

// row is a document in a list.
type row struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	what  string
}

// list lists documents, a kind after the other.
func list(out io.Writer, lib *library.Library, reveal, asJSON bool) error {
	var all struct {
		Scenarios  []row `json:"scenarios"`
		Procedures []row `json:"procedures"`
		Profiles   []row `json:"profiles"`
		Abnormals  []row `json:"abnormals,omitempty"`
	}
	for _, s := range lib.Scenarios() {
		all.Scenarios = append(all.Scenarios, row{s.Name, s.Title, string(s.Policy)})
	}
	for _, p := range lib.Procedures() {
		all.Procedures = append(all.Procedures, row{p.Name, p.Title, fmt.Sprintf("%d items", p.Count())})
	}
	for _, p := range lib.Profiles() {
		all.Profiles = append(all.Profiles, row{p.Name, p.Title, fmt.Sprintf("%d controls", len(p.Controls))})
	}
	if reveal {
		for _, a := range lib.Abnormals() {
			all.Abnormals = append(all.Abnormals, row{a.Name, a.Title, kindOf(a)})
		}
	}
	if asJSON {
		return printJSON(out, all)
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, kind := range []struct {
		heading string
		rows    []row
	}{{"SCENARIOS", all.Scenarios}, {"PROCEDURES", all.Procedures}, {"PROFILES", all.Profiles}, {"ABNORMALS", all.Abnormals}} {
		if kind.heading == "ABNORMALS" && !reveal {
			continue
		}
		fmt.Fprintf(w, "%s\t\t\n", kind.heading)
		for _, r := range kind.rows {
			fmt.Fprintf(w, "  %s\t%s\t%s\n", r.Name, r.what, r.Title)
		}
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
