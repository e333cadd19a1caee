package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"hornlark/audio/voice"
	"hornlark/drill/aircraft"
	"hornlark/drill/library"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
)

// What a shell completes is asked for while somebody waits at a key: names are found in the text of documents, which are not read, and no
// records are made for the question. Abnormals are told of to those alone who have asked to have things revealed, or who write documents.

// completeFlags completes the values of options, for every command that does not do so by itself: a number has none, a file is for the shell
// to find.
func completeFlags(c *cobra.Command) {
	c.Flags().VisitAll(func(f *pflag.Flag) {
		if _, known := c.GetFlagCompletionFunc(f.Name); known {
			return
		}
		complete, known := flagValues[f.Name]
		if !known && slices.Contains([]string{"int", "int64", "uint64", "float64", "duration"}, f.Value.Type()) {
			complete, known = nothing, true
		}
		if known {
			must(c.RegisterFlagCompletionFunc(f.Name, complete))
		}
	})
	for _, sub := range c.Commands() {
		completeFlags(sub)
	}
}

// flagValues completes options by their names, which mean the same wherever they stand.
var flagValues = map[string]cobra.CompletionFunc{
	"answers":   answersOrFile,
	"at":        nothing,
	"by":        nothing,
	"engine":    words(append(voice.Engines(), voice.NoEngine)...),
	"failure":   completeFailures,
	"find":      nothing,
	"home":      nothing,
	"name":      nothing,
	"phase":     completePhases,
	"phases":    completePhases,
	"play":      severalOf(playable),
	"policy":    words(scenario.PolicyNames()...),
	"procedure": flagNames(library.Procedure),
	"profile":   flagNames(library.Profile),
	"rest":      severalOf(func(*cobra.Command, []string) []string { return weekdays[:] }),
	"state":     completeStates,
	"title":     nothing,
	"trainee":   completeTrainees,
}

// nothing is for what nobody can guess.
func nothing(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return nil, cobra.ShellCompDirectiveNoFileComp
}

// answersOrFile completes answers that are played: all right, or those of a file.
func answersOrFile(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return []string{scenario.Perfect}, cobra.ShellCompDirectiveDefault
}

// severalOf completes the last of several words with commas between them.
func severalOf(list func(c *cobra.Command, args []string) []string) cobra.CompletionFunc {
	return func(c *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		before := begun[:strings.LastIndex(begun, ",")+1]
		var names []string
		for _, word := range list(c, args) {
			if name, _, _ := strings.Cut(word, "\t"); !slices.Contains(strings.Split(before, ","), name) {
				names = append(names, before+word)
			}
		}
		return names, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
	}
}

// withOwn is the files and folders of one's own that the line names so far.
func withOwn(c *cobra.Command) []string {
	own, err := c.Flags().GetStringSlice("with")
	if err != nil {
		return nil
	}
	return own
}

// completeNames completes the first argument with the names of documents of some kinds, or by a file.
func completeNames(kinds ...library.Kind) cobra.CompletionFunc {
	return func(c *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		if len(args) > 0 {
			return nil, cobra.ShellCompDirectiveDefault
		}
		found := slices.Concat(library.BuiltinHeadings(), openCourses().Headings())
		if own := withOwn(c); len(own) > 0 {
			found = append(found, library.Headings(own...)...)
		}
		var names []string
		for _, h := range found {
			if name := h.Name + "\t" + h.Title; slices.Contains(kinds, h.Kind) && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
		return names, cobra.ShellCompDirectiveDefault
	}
}

// flagNames completes the value of an option with names, whatever arguments stand before it.
func flagNames(kinds ...library.Kind) cobra.CompletionFunc {
	return func(c *cobra.Command, _ []string, begun string) ([]string, cobra.ShellCompDirective) {
		names, _ := completeNames(kinds...)(c, nil, begun)
		return names, cobra.ShellCompDirectiveNoFileComp
	}
}

// completePhases completes phases: those of the scenario on the line if there is one, or else of everything.
func completePhases(c *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	return severalOf(func(c *cobra.Command, args []string) (list []string) {
		lib, err := openLibrary(withOwn(c))
		if err != nil {
			return nil
		}
		all := lib.Procedures()
		if len(args) > 0 || c.Name() == "drill" {
			name := suggested
			if len(args) > 0 {
				name = args[0]
			}
			if s, err := lib.Scenario(name); err == nil {
				if p, err := lib.Procedure(s.Procedure); err == nil {
					all = append(all[:0:0], p)
				}
			}
		}
		for _, p := range all {
			for _, phase := range p.Phases {
				if !slices.ContainsFunc(list, func(line string) bool { return strings.HasPrefix(line, phase.ID+"\t") }) {
					list = append(list, phase.ID+"\t"+phase.Title)
				}
			}
		}
		return list
	})(c, args, begun)
}

// profileOn is the aircraft that the line names, by --profile or by the procedure of --procedure.
func profileOn(c *cobra.Command) *aircraft.Profile {
	lib, err := openLibrary(withOwn(c))
	if err != nil {
		return nil
	}
	name, _ := c.Flags().GetString("profile")
	if proc, _ := c.Flags().GetString("procedure"); name == "" && proc != "" {
		if p, err := lib.Procedure(proc); err == nil {
			name = p.Profile
		}
	}
	if p, err := lib.Profile(name); err == nil {
		return p
	}
	return nil
}

// completeStates completes the states of an aircraft, for whoever writes a scenario.
func completeStates(c *cobra.Command, _ []string, _ string) (names []string, _ cobra.ShellCompDirective) {
	if p := profileOn(c); p != nil {
		for i := range p.States {
			names = append(names, p.States[i].Name)
		}
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}

// completeFailures completes what can fail in an aircraft, for whoever writes an abnormal.
func completeFailures(c *cobra.Command, _ []string, _ string) (names []string, _ cobra.ShellCompDirective) {
	if p := profileOn(c); p != nil {
		for _, point := range p.FailurePoints() {
			names = append(names, point.Name+"\t"+point.About)
		}
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}

// playable is what the sound check can play.
func playable(*cobra.Command, []string) []string {
	samples, err := soundSamples()
	if err != nil {
		return nil
	}
	names := []string{"all"}
	for _, s := range samples {
		names = append(names, s.name)
	}
	return names
}

// recordsToComplete opens the records to look something up in them; nil if there are none, or they cannot be read.
func recordsToComplete() *record.Store {
	if !recordsThere() { // they are not made for it
		return nil
	}
	path, err := record.DefaultPath()
	if err != nil {
		return nil
	}
	store, err := record.Open(path)
	if err != nil {
		return nil
	}
	return store
}

// completeTrainees completes the names of the records.
func completeTrainees(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	store := recordsToComplete()
	if store == nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	defer store.Close()
	names, _ := store.Trainees()
	return names, cobra.ShellCompDirectiveNoFileComp
}

// sittingsOffered is how many sittings are completed, the latest ones.
const sittingsOffered = 50

// completeSittings completes the numbers of kept sittings, the latest first: what of, when, and whose.
func completeSittings(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	const as = cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveKeepOrder
	if len(args) > 0 {
		return nil, as
	}
	store := recordsToComplete()
	if store == nil {
		return nil, as
	}
	defer store.Close()
	sittings, err := store.Sittings(record.Filter{Limit: sittingsOffered})
	if err != nil {
		return nil, as
	}
	var list []string
	for _, s := range sittings {
		list = append(list, strings.TrimSuffix(fmt.Sprintf("%s\t%s, %s, %s", strconv.FormatInt(s.ID, 10), s.Scenario, clockTime(s.Started), s.Trainee), ", "))
	}
	return list, as
}

// completeCourses completes the names of installed courses.
func completeCourses(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	var names []string
	if list, err := openCourses().List(); err == nil && len(args) == 0 {
		for _, in := range list {
			names = append(names, in.Name+"\t"+in.Title)
		}
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}
