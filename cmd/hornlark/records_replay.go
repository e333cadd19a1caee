package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/drill"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
	"hornlark/drill/score"
)

// errDiffers ends a replay that did not come to what was kept. What differs has been said already.
var errDiffers = errors.New("the replay differs from what was kept")

func newReplay(s streams) *cobra.Command {
	wav := output{private: true}
	c := &cobra.Command{
		Use:   "replay [ID]",
		Short: "Run a sitting again from its keys, and say if anything differs",
		Long: `Runs a sitting again: the documents that it went by, its seed, its keys and the onsets of its sounds, and the
same trainer. Every entry of the log and every figure of the score is compared with what was kept, unless that was scored
by other rules than those of this version.
ID is its number in "hornlark progress"; without it, the latest.

With --wav the sitting is written to a file as it was heard, every sound at its own onset, with a click for each key.
The file is the same each time.

A sitting that an earlier program kept in its own form of a log can be run again, but is not compared.

Exit status: 0 nothing differs, 1 something does, 2 usage.`,
		Example: `  hornlark replay 12
  hornlark replay --wav sitting.wav`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeSittings,
		RunE: func(c *cobra.Command, args []string) error {
			return withKept(s, args, func(k *keptSitting) error { return k.replay(c.Context(), s, &wav) })
		},
	}
	c.Flags().StringVar(&wav.path, "wav", "", "write the sitting as it was heard to this file")
	wav.forceFlag(c)
	return c
}

// replay goes through the sitting again and tells how it compares.
func (k *keptSitting) replay(ctx context.Context, s streams, wav *output) error {
	again, err := k.Again()
	if err != nil {
		return err
	}
	if wav.path != "" {
		if err := k.writeWAV(ctx, s, wav, again.Heard); err != nil {
			return err
		}
	}
	fmt.Fprintf(s.out, "sitting %d: %s, %s, %s\n", k.ID, k.Scenario, someone(k.Trainee), k.date())
	fmt.Fprintf(s.out, "  documents  %s\n", k.changes())
	inLog := k.compareLog(s.out, again.Log)
	inScore, err := k.compareScore(s.out, again.Log)
	if err != nil {
		return err
	}
	if inLog || inScore {
		if k.Version != version {
			fmt.Fprintf(s.out, "It was kept by version %s, and this is version %s.\n", k.Version, version)
		}
		return errDiffers
	}
	if k.LogVersion != logbook.Version {
		fmt.Fprintln(s.out, "nothing could be compared")
		return nil
	}
	fmt.Fprintln(s.out, "nothing differs")
	return nil
}

// changes says whether the documents of the sitting are still those that are built in, or those of an installed course.
func (k *keptSitting) changes() string {
	lib, err := library.Builtin()
	if err != nil {
		return err.Error()
	}
	lib, courses := openCourses().Lay(lib)
	now, err := lib.Resolve(k.Scenario)
	if err != nil {
		for i := range courses { // of some it is not even known any more what is in them
			if in := &courses[i]; in.Broken != "" && (in.Scenarios == nil || slices.Contains(in.Scenarios, k.Scenario)) {
				return "those that it went by; " + in.Said()
			}
		}
		return "those that it went by; nothing built in has its name, and no course that is installed"
	}
	same, course := record.HashOf(now.Pack()) == k.Plan, lib.CourseOf(library.Scenario, k.Scenario)
	switch {
	case same && course == "":
		return "those that are built in"
	case same:
		return "those of the course " + course
	case course == "":
		return "those that it went by; what is built in under its name is different"
	}
	return "those that it went by; what the course " + course + " has under its name is different"
}

// compareLog tells how two logs compare, and reports whether they differ.
func (k *keptSitting) compareLog(out io.Writer, again []logbook.Entry) (differs bool) {
	c := k.CompareLog(again)
	switch {
	case c.Skipped:
		fmt.Fprintf(out, "  log        was kept in version %d, and this program writes version %d: they are not compared\n", k.LogVersion, logbook.Version)
	case c.Again == nil && c.Kept != nil:
		fmt.Fprintf(out, "  log        ends too early: there is no entry %d\n    kept      %s\n", c.Same+1, c.Kept.Describe())
	case c.Kept == nil && c.Again != nil:
		fmt.Fprintf(out, "  log        goes on: there are %d entries more\n    replayed  %s\n", len(again)-c.Same, c.Again.Describe())
	case c.Differs():
		fmt.Fprintf(out, "  log        differs first at %s\n    kept      %s\n    replayed  %s\n", c.Where, c.Kept.Describe(), c.Again.Describe())
	case k.State == record.Unended:
		fmt.Fprintf(out, "  log        %d entries, each the same; the sitting did not end\n", c.Same)
	default:
		fmt.Fprintf(out, "  log        %d entries, each the same\n", c.Same)
	}
	return c.Differs()
}

// compareScore tells how the kept result compares with that of the replayed log, and reports whether they differ.
func (k *keptSitting) compareScore(out io.Writer, again []logbook.Entry) (differs bool, err error) {
	c, err := k.CompareScore(again)
	switch {
	case err != nil:
		return true, err
	case c.None:
		fmt.Fprintln(out, "  score      none was kept; hornlark debrief judges it as incomplete")
	case c.Rules != score.Rules:
		fmt.Fprintf(out, "  score      was kept by rules %d, and this version judges by rules %d: hornlark debrief judges it anew\n", c.Rules, score.Rules)
	case c.Difference != nil:
		fmt.Fprintf(out, "  score      differs first at %s: kept %s, now %s\n", c.Difference.Where, c.Difference.Was, c.Difference.Now)
	default:
		fmt.Fprintln(out, "  score      the same")
	}
	return c.Difference != nil, nil
}

// writeWAV writes the sitting as it was heard: every cue at its own onset, and a click for each key.
func (k *keptSitting) writeWAV(ctx context.Context, s streams, to *output, heard []drill.Output) error {
	file, err := to.create(ctx, s, true)
	if err != nil {
		return err
	}
	defer file.Drop()
	voices, err := voice.Open(voicesWith(k.Ex.Bundle))
	if err != nil {
		return err
	}
	settings, err := loadSoundSettings()
	if err != nil {
		fmt.Fprintln(s.err, err)
	}
	render, err := audio.NewRender(file, settings.level())
	if err != nil {
		return err
	}
	if err := k.Render(render, voices, heard); err != nil {
		return err
	}
	if err := file.Keep(); err != nil {
		return err
	}
	if notice := voices.Notice(); notice != "" {
		fmt.Fprintln(s.err, notice)
	}
	return nil
}
