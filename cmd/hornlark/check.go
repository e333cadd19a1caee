package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hornlark/audio/tone"
	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/aircraft/datasheet"
	"hornlark/drill/fault"
	"hornlark/drill/library"
	"hornlark/drill/scenario"
	"hornlark/sounds"
)

// errMissed is a data sheet that its aircraft does not meet. It has been shown already.
var errMissed = errors.New("a figure of the data sheet is missed")

// errFound is something that was found wrong, or advice where that counts as wrong. It has been shown already.
var errFound = errors.New("something was found")

// checkOptions are what was said about a check.
type checkOptions struct {
	streams
	sheets, strict, quiet, json bool
}

func newCheck(s streams) *cobra.Command {
	o := checkOptions{streams: s}
	c := &cobra.Command{
		Use:   "check FILE|FOLDER...",
		Short: "Say what is wrong with profiles, procedures, scenarios, abnormals, answers and criteria, and where",
		Long: `Checks YAML files, and those of folders, each together with all the others and with what is built in.
A line for everything that is wrong: file:line:column: what is wrong; what to write instead. A lexicon of your own
(lexicon.yaml) and tones (tones.yaml) are known by their names, and what is none of these is passed over.

What is not wrong but could be better is told as advice, with the guideline that it goes by: how a checklist is written,
and what comes of it when a hand that makes no mistake goes through it, without a clock. Advice is no error:
--strict makes it count as one, --quiet leaves it out. --json gives all of it to an editor.

A profile with a data sheet (expected:) is flown by it without a clock, and a figure that the model misses is wrong too.
--sheet shows the whole sheet: what is expected, what was measured, and how far they may be apart. D2A is the tolerance
of 14 CFR Part 60, Appendix D, Table D2A; where that has no row it is our own. It takes the names of built-in profiles too.
Exit status: 0 nothing is wrong, 2 something is.`,
		Example: `  hornlark check my/scenario.yaml
  hornlark check my
  hornlark check my --strict
  hornlark check --sheet dunlin-lt`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			switch {
			case o.strict && o.quiet:
				return usageError{errors.New("--quiet leaves out what --strict would count; keep one of them")}
			case o.sheets && (o.strict || o.quiet || o.json):
				return usageError{errors.New("--sheet shows figures and looks for nothing else; leave --strict, --quiet and --json out")}
			case o.sheets:
				return showSheets(s, args)
			}
			return o.check(c.Context(), args)
		},
		ValidArgsFunction: func(c *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
			if !o.sheets {
				return nil, cobra.ShellCompDirectiveDefault
			}
			names, _ := completeNames(library.Profile)(c, args, begun)
			return names, cobra.ShellCompDirectiveDefault
		},
	}
	f := c.Flags()
	f.BoolVar(&o.sheets, "sheet", false, "show the data sheets of these profiles, built in or in files")
	f.BoolVar(&o.strict, "strict", false, "advice counts as something wrong: exit status 2")
	f.BoolVar(&o.quiet, "quiet", false, "only what is wrong: no advice, and nothing of files with which all is well")
	f.BoolVar(&o.json, "json", false, "a list of all that was found, for an editor")
	return c
}

// check looks at files and folders, and tells what was found.
func (o *checkOptions) check(ctx context.Context, paths []string) error {
	lib, err := openLibrary(nil)
	if err != nil {
		return err
	}
	documents := slices.DeleteFunc(slices.Clone(paths), func(path string) bool { return heardFiles[filepath.Base(path)].check != nil })
	checked, own := lib.Examine(documents...)
	var found findings
	for _, path := range paths {
		heard, rest := soundFiles(path, own.PassedOver())
		for _, path := range heard {
			found.add(checkHeard(path))
		}
		found.passedOver(path, rest)
	}
	for i := range checked {
		c := &checked[i]
		if c.Kind == library.Scenario && len(c.Problems) == 0 {
			c.Problems = beginning(lib, documents, *c)
		}
		if more := pressedKeys(c); len(more) > 0 {
			c.Problems = append(c.Problems, more...)
			slices.SortStableFunc(c.Problems, func(a, b library.Problem) int {
				return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
			})
		}
	}
	lists := make([][]advised, len(checked))
	if !o.quiet {
		far := o.progress("trying documents")
		lists, err = advise(ctx, own, checked, far)
		far.end()
		if err != nil {
			return err
		}
	}
	for i, c := range checked {
		one := finding{file: c.File, kind: string(c.Kind), name: c.Name, problems: c.Problems, advice: lists[i]}
		if c.Kind == library.Profile && len(c.Problems) == 0 {
			_, borrowed := own.For(c.Name)
			one.borrowed = borrowedInWords(borrowed, true)
		}
		found.add(one)
	}
	return found.tell(o)
}

// beginning looks whether a scenario that goes through some phases alone can be begun: everything before them is done for that.
func beginning(lib *library.Library, paths []string, c library.Checked) library.Problems {
	own, err := lib.With(paths...)
	if err != nil {
		return nil // another file has to be put right first
	}
	b, err := own.Resolve(c.Name)
	if err != nil || len(b.Scenario.Phases) == 0 {
		return nil
	}
	if _, err := desk.NewExercise(b, "", 1); err != nil {
		return library.Problems{{File: c.File, Problem: err.Error(), Remedy: "begin with an earlier phase, or change weather or state"}}
	}
	return nil
}

// pressedKeys looks whether what answers press are keys.
func pressedKeys(c *library.Checked) (wrong library.Problems) {
	answers, ok := c.Document.(*scenario.Answers)
	if !ok {
		return nil
	}
	for i, one := range answers.Answers {
		for k, text := range one.Press {
			path := fault.Join(fault.At("answers", i), fault.At("press", k))
			line, column, ok := c.Place(path, 0)
			if _, err := drill.ParsePress(text); err != nil && ok {
				problem, remedy, _ := strings.Cut(err.Error(), "; ")
				if near := fault.Nearest(text, []string{"enter", "backspace", "space", "tab", "stop", "esc"}); near != "" {
					remedy = fmt.Sprintf("did you mean %q?", near)
				}
				wrong = append(wrong, library.Problem{File: c.File, Line: line, Column: column, Problem: problem, Remedy: remedy})
			}
		}
	}
	return wrong
}

// heardFiles are the files about what is heard, which are no documents of the library, by their names.
var heardFiles = map[string]struct {
	kind  string
	check func(path string) error
}{
	sounds.Lexicon: {"lexicon", func(path string) error {
		_, err := voice.LoadLexicon(sounds.Files, path)
		return err
	}},
	library.ManifestFile: {"course", func(path string) error {
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		_, problems := library.ReadManifest(library.File{Name: path, Data: data})
		return problems.Err()
	}},
	sounds.Tones: {"tones", func(path string) error {
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return tone.Check(data)
	}},
}

// checkHeard looks at a file about what is heard.
func checkHeard(path string) finding {
	heard := heardFiles[filepath.Base(path)]
	one := finding{file: path, kind: heard.kind}
	if err := heard.check(path); err != nil {
		one.problems = heardFaults(path, err)
	}
	return one
}

// showSheets flies profiles, and shows what is expected of them beside what they do.
func showSheets(s streams, args []string) error {
	lib, err := openLibrary(nil)
	if err != nil {
		return err
	}
	var profiles []*aircraft.Profile
	for _, arg := range args {
		found, err := profilesBy(lib, arg)
		if err != nil {
			return err
		}
		profiles = append(profiles, found...)
	}
	missed := 0
	for i, p := range profiles {
		if i > 0 {
			fmt.Fprintln(s.out)
		}
		fmt.Fprintf(s.out, "%s (%s)\n", p.Title, p.Name)
		if p.Expected == nil {
			fmt.Fprintln(s.out, "It has no data sheet: its profile says nothing under expected.")
			continue
		}
		sheet, err := datasheet.Fly(p)
		if err != nil {
			return err
		}
		fmt.Fprint(s.out, sheet.Text())
		missed += len(sheet.Missed())
	}
	if missed > 0 {
		return errMissed
	}
	return nil
}

// profilesBy finds a profile by its name, or those in a file or a folder of one's own.
func profilesBy(lib *library.Library, arg string) ([]*aircraft.Profile, error) {
	p, unknown := lib.Profile(arg)
	if unknown == nil {
		return []*aircraft.Profile{p}, nil
	}
	if _, err := os.Stat(arg); err != nil && !strings.ContainsAny(arg, `/\.`) {
		return nil, unknown
	}
	own, err := lib.With(arg)
	if err != nil {
		return nil, err
	}
	found := slices.DeleteFunc(own.Profiles(), func(p *aircraft.Profile) bool { return !p.Own })
	if len(found) == 0 {
		return nil, usageError{fmt.Errorf("%s holds no profile, and only a profile has a data sheet", arg)}
	}
	return found, nil
}
