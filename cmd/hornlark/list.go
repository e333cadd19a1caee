package main

import (
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
for: ` + kindsOfDocuments() + `. Without KIND it is all of them.

"list schema KIND" gives that as JSON Schema (draft 2020-12), by which an editor completes and checks a document as it is typed; with
--profile the names of that aircraft alone are right; "list schema lexicon" is that of how words are spoken. --out writes it to a file,
or without KIND the schemas of all kinds into a folder.`,
		Example: `  hornlark list
  hornlark list --with my
  hornlark list --reveal
  hornlark list failures --profile dunlin-lt
  hornlark list indications oil --profile my/profile.yaml
  hornlark list tones
  hornlark list conditions --profile dunlin-lt
  hornlark list fields abnormal
  hornlark list fields profile rotor
  hornlark list fields --markdown
  hornlark list fields --html fields.html
  hornlark list schema procedure --profile dunlin-lt
  hornlark list schema --out my/schemas`,
		RunE: func(c *cobra.Command, args []string) error {
			lib, err := openLibrary(o.own)
			if err != nil {
				return err
			}
			what := ""
			if len(args) > 0 {
				what = args[0]
			}
			if err := o.onlyWith(what); err != nil {
				return err
			}
			switch what {
			case "":
				for _, line := range lib.Asides() {
					fmt.Fprintln(s.err, line)
				}
				return list(s.out, lib, o.reveal, o.json)
			case fieldsList:
				return o.fields(c.Context(), s, args[1:])
			case schemaList:
				return o.schema(c.Context(), s, lib, args[1:])
			}
			return o.words(c.Context(), s, lib, glossary.Kind(what), args[1:])
		},
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			var names []string
			if len(args) == 0 {
				for _, k := range glossary.Kinds() {
					names = append(names, string(k))
				}
				names = append(names, fieldsList, schemaList)
			}
			switch {
			case len(args) == 1 && args[0] == fieldsList:
				names = kindNames()
			case len(args) == 1 && args[0] == schemaList:
				names = schemaNames()
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
	}
	c.Flags().StringSliceVar(&o.own, "with", nil, "read these YAML files or folders too")
	c.Flags().BoolVar(&o.reveal, "reveal", false, "list abnormals and look-alikes too")
	c.Flags().StringVar(&o.profile, "profile", "", "the aircraft whose words are listed: a name, or the file of one")
	c.Flags().BoolVar(&o.json, "json", false, "give the list as one JSON object")
	c.Flags().BoolVar(&o.markdown, "markdown", false, "give the fields as tables in Markdown")
	c.Flags().StringVar(&o.html, "html", "", "write the fields, or the words of an aircraft, as a page to this file; - is the standard output")
	c.Flags().StringVarP(&o.path, "out", "o", "", "write a schema to this file, or all of them into this folder")
	o.forceFlag(c)
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

	Course string `json:"course,omitempty"` // that it came with
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
		all.Scenarios = append(all.Scenarios, row{s.Name, s.Title, string(s.Policy), lib.CourseOf(library.Scenario, s.Name)})
	}
	for _, p := range lib.Procedures() {
		all.Procedures = append(all.Procedures, row{p.Name, p.Title, fmt.Sprintf("%d items", p.Count()), lib.CourseOf(library.Procedure, p.Name)})
	}
	for _, p := range lib.Profiles() {
		all.Profiles = append(all.Profiles, row{p.Name, p.Title, fmt.Sprintf("%d controls", len(p.Controls)) + unlessEmpty(", over ", p.BasedOn) + unlessEmpty(", of ", p.Like), lib.CourseOf(library.Profile, p.Name)})
	}
	if reveal {
		for _, a := range lib.Abnormals() {
			all.Abnormals = append(all.Abnormals, row{a.Name, a.Title, kindOf(a), lib.CourseOf(library.Abnormal, a.Name)})
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
			title := r.Title
			if r.Course != "" {
				title += " (course " + r.Course + ")"
			}
			fmt.Fprintf(w, "  %s\t%s\t%s\n", r.Name, r.what, title)
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
