package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hornlark/audio/tone"
	"hornlark/audio/voice"
	"hornlark/drill/aircraft"
	"hornlark/drill/aircraft/datasheet"
	"hornlark/drill/library"
	"hornlark/sounds"
)

// errMissed is a data sheet that its aircraft does not meet. It has been shown already.
var errMissed = errors.New("a figure of the data sheet is missed")

func newCheck(s streams) *cobra.Command {
	var sheets bool
	c := &cobra.Command{
		Use:   "check FILE...",
		Short: "Say what is wrong with profiles, procedures, scenarios, abnormals, answers and criteria, and where",
		Long: `Checks YAML files, and those of folders, each together with all the others and with what is built in.
A line for everything that is wrong: file:line:column: what is wrong; what to write instead. A lexicon of your own
(lexicon.yaml) and tones (tones.yaml) are known by their names.

A profile with a data sheet (expected:) is flown by it without a clock, and a figure that the model misses is wrong too.
--sheet shows the whole sheet: what is expected, what was measured, and how far they may be apart. D2A is the tolerance
of 14 CFR Part 60, Appendix D, Table D2A; where that has no row it is our own. It takes the names of built-in profiles too.
Exit status: 0 nothing is wrong, 2 something is.`,
		Example: `  hornlark check my/scenario.yaml
  hornlark check my
  hornlark check --sheet dunlin-lt`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			if sheets {
				return showSheets(s, args)
			}
			return check(s, args)
		},
		ValidArgsFunction: func(c *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
			if !sheets {
				return nil, cobra.ShellCompDirectiveDefault
			}
			names, _ := completeNames(library.Profile)(c, args, begun)
			return names, cobra.ShellCompDirectiveDefault
		},
	}
	c.Flags().BoolVar(&sheets, "sheet", false, "show the data sheets of these profiles, built in or in files")
	return c
}

func check(s streams, paths []string) error {
	lib, err := openLibrary(nil)
	if err != nil {
		return err
	}
	var all library.Problems
	var documents []string
	for _, path := range paths {
		heard, ok := heardFiles[filepath.Base(path)]
		if !ok {
			documents = append(documents, path)
			continue
		}
		if err := heard.check(path); err != nil {
			all = append(all, library.Problem{File: path, Problem: strings.TrimPrefix(err.Error(), path+": ")})
			continue
		}
		fmt.Fprintf(s.out, "%s: %s: nothing is wrong\n", path, heard.kind)
	}
	for _, c := range lib.Check(documents...) {
		if c.Kind == library.Scenario && len(c.Problems) == 0 {
			c.Problems = beginning(lib, documents, c)
		}
		if len(c.Problems) == 0 {
			fmt.Fprintf(s.out, "%s: %s: nothing is wrong\n", c.File, strings.TrimSpace(string(c.Kind)+" "+c.Name))
		}
		all = append(all, c.Problems...)
	}
	return all.Err()
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
	if _, err := newExercise(b, "", 1); err != nil {
		return library.Problems{{File: c.File, Problem: err.Error(), Remedy: "begin with an earlier phase, or change weather or state"}}
	}
	return nil
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
	sounds.Tones: {"tones", func(path string) error {
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return tone.Check(data)
	}},
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
