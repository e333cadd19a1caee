package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hornlark/drill/aircraft"
	"hornlark/drill/draft"
	"hornlark/drill/fault"
	"hornlark/drill/inert"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
)

// draftOptions are what a command of "hornlark draft" was told.
type draftOptions struct {
	streams
	output
	own     []string
	name    string
	profile string
}

func newDraft(s streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "draft",
		Short: "Draft documents of your own: a procedure of a checklist; scenarios, abnormals and profiles to begin with",
		Long: `Drafts documents to go on with. What it writes passes "hornlark check" as it is, and says in comments what was guessed
and what is left to be written. In a terminal what no option says is asked for.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newDraftProcedure(s), newDraftScenario(s), newDraftAbnormal(s), newDraftProfile(s))
	for _, sub := range c.Commands() {
		asUsage(sub)
	}
	return c
}

// flags gives a command the options that all drafts have.
func (o *draftOptions) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVarP(&o.path, "out", "o", "-", "write to this file; - is the standard output")
	o.forceFlag(c)
	f.StringVar(&o.name, "name", "", "short name of the document")
	f.StringSliceVar(&o.own, "with", nil, "read these YAML files or folders too")
}

func newDraftProcedure(s streams) *cobra.Command {
	o := &draftOptions{streams: s}
	var as string
	c := &cobra.Command{
		Use:   "procedure FILE --profile PROFILE",
		Short: "Make a procedure of a checklist in plain text, Markdown or CSV",
		Long: `Makes a procedure for a profile of a checklist. Each line is a challenge and a response with dots, a tab, several blanks, a
colon, a dash or a comma in between; headings are phases. Markdown has headings, lists and tables, CSV a column each.
A line becomes a move of a control, a look at gauges or captions, a reading, or something outside, if the profile has it by a
name like that. "TOT 300 .... call" becomes a callout, "at 60 % N1" is waited for, "if OAT below 5" makes it conditional; who of the crew
it is for stands in a comment; "(if fitted)" leaves it out where the aircraft has no such thing; "do not proceed" holds the next move.
What could not be mapped becomes an item that Enter answers; it is listed on the standard error with what
comes nearest, as is what was guessed. "-" reads the standard input.
Exit status: 0 it was drafted, also with lines that could not be mapped.`,
		Example: `  hornlark draft procedure before-start.txt --profile dunlin-lt --out my/before-start.yaml
  hornlark draft procedure list.md --profile my-lt --with my`,
		Args: func(c *cobra.Command, args []string) error {
			if o.terminal && len(args) == 0 {
				return nil
			}
			return cobra.ExactArgs(1)(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			var list string
			var questions []question
			if len(args) == 1 {
				list = args[0]
			} else {
				questions = append(questions, question{ask: "Which checklist is it, in which file?", to: func(a string) { list = a }, wrong: isFile})
			}
			questions = append(questions,
				question{flag: "profile", ask: "Which aircraft is it for?", kind: "profile", known: o.namesOf(library.Profile), to: func(a string) { o.profile = a }},
				o.called("made of the file's", nil), o.whereTo())
			if err := o.converse(c, list == "" || o.profile == "" && list != "-", questions); err != nil {
				return err
			}
			return o.procedure(c.Context(), list, as)
		},
	}
	o.flags(c)
	c.Flags().StringVar(&o.profile, "profile", "", "the aircraft that the checklist is for")
	c.Flags().StringVar(&as, "as", "", strings.Join(draft.Formats(), ", ")+" (default: by the name of the file)")
	must(c.RegisterFlagCompletionFunc("profile", flagNames(library.Profile)))
	must(c.RegisterFlagCompletionFunc("as", words(draft.Formats()...)))
	return c
}

// aircraft reads the documents and gives the profile that something is written for; question is asked where none was named.
func (o *draftOptions) aircraft(question string) (*aircraft.Profile, error) {
	if err := o.checkName(); err != nil {
		return nil, err
	}
	lib, err := openLibrary(o.own)
	if err != nil {
		return nil, err
	}
	if o.profile == "" {
		return nil, usageError{fmt.Errorf("%s add --profile with a name; %s", question, fault.Suggest("", profileNames(lib)))}
	}
	prof, err := lib.Profile(o.profile)
	if err != nil {
		return nil, usageError{err}
	}
	return prof, nil
}

func (o *draftOptions) procedure(ctx context.Context, path, as string) error {
	prof, err := o.aircraft("which aircraft is it for?")
	if err != nil {
		return err
	}
	data, err := o.checklist(path)
	if err != nil {
		return usageError{err}
	}
	format := draft.FormatOf(path, data)
	if as != "" {
		if format = draft.Format(as); !slices.Contains(draft.Formats(), as) {
			return usageError{fmt.Errorf("there is no format %q; %s", as, fault.Suggest(as, draft.Formats()))}
		}
	}
	list, err := draft.Read(data, format)
	if err != nil {
		return usageError{fmt.Errorf("%s: %w", inert.Line(path), err)}
	}
	d := draft.Procedure(list, prof, draft.Options{Name: o.name, From: filepath.Base(path)})
	if err := o.keep(ctx, d.YAML); err != nil {
		return err
	}
	tellDraft(o.err, path, d)
	return nil
}

// checkName looks whether the name that was given, if one was, is a short name.
func (o *draftOptions) checkName() error {
	var faults fault.List
	if o.name != "" {
		faults.Name("--name", o.name)
	}
	if len(faults) > 0 {
		return usageError{faults}
	}
	return nil
}

// keep writes a document.
func (o *draftOptions) keep(ctx context.Context, document string) error {
	return o.write(ctx, o.streams, func(w io.Writer) error {
		_, err := io.WriteString(w, document)
		return err
	})
}

// checklist reads the file of a checklist, no more of it than one may have.
func (o *draftOptions) checklist(path string) ([]byte, error) {
	from := o.in
	if path != "-" {
		info, err := os.Stat(path)
		if err != nil {
			return nil, fmt.Errorf("the checklist cannot be read: %w; check the path", err)
		}
		if !info.Mode().IsRegular() {
			return nil, fmt.Errorf("%s is not a file; name a file with a checklist in it, or - for the standard input", inert.Line(path))
		}
		f, err := os.Open(path)
		if err != nil {
			return nil, fmt.Errorf("the checklist cannot be read: %w", err)
		}
		defer f.Close()
		from = f
	}
	if from == nil {
		return nil, errors.New("there is no standard input; name a file")
	}
	return io.ReadAll(io.LimitReader(from, draft.MaxBytes+1))
}

// tellDraft says what has become of a checklist.
func tellDraft(out io.Writer, path string, d *draft.Drafted) {
	for _, n := range append(append(append([]draft.Note(nil), d.Unmapped...), d.Guessed...), d.Left...) {
		text := n.Challenge
		if n.Response != "" {
			text += " … " + n.Response
		}
		said := n.Says
		if len(n.Nearest) > 0 {
			said += "; nearest: " + strings.Join(n.Nearest, "; ")
		}
		fmt.Fprintf(out, "%s:%d: %q: %s\n", inert.Line(path), n.Row, text, said)
	}
	var kinds []string
	for _, k := range []procedure.Kind{procedure.Set, procedure.Check, procedure.Read, procedure.Callout, procedure.Confirm} {
		if n := d.Kinds[k]; n > 0 {
			kinds = append(kinds, fmt.Sprintf("%d %s", n, k))
		}
	}
	fmt.Fprintf(out, "%s: items: %d, phases: %d; mapped: %s; guessed: %d, not mapped: %d\n", d.Name, d.Items, d.Phases,
		cmp.Or(strings.Join(kinds, ", "), "none"), len(d.Guessed), len(d.Unmapped))
}

// profileNames names the profiles of a library.
func profileNames(lib *library.Library) []string {
	var names []string
	for _, p := range lib.Profiles() {
		names = append(names, p.Name)
	}
	return names
}
