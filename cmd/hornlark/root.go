package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"hornlark/audio"
	"hornlark/drill/debrief"
	"hornlark/drill/fault"
)

// suggested is the scenario that is started where none is named.
const suggested = "first-start"

func newRoot(s streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "hornlark",
		Short: "Voice-prompted challenge-and-response trainer for helicopter procedures",
		Long: `Hornlark speaks the challenges of a helicopter procedure, runs a model of the aircraft behind them,
listens to the keys, brings in abnormals at a bad moment, and scores order, reaction and handling.

` + debrief.Caution,
		Example: `  hornlark                                    the first screen: caution, sound check, what next
  hornlark drill                              a whole start, spoken and timed
  hornlark drill recall-start                 the same from memory
  hornlark drill first-start --answers perfect --virtual
                                              what a perfect sitting looks like, at once
  hornlark tonight                            what helps most in a quarter of an hour
  hornlark debrief                            the report on the latest sitting
  hornlark sound                              every alert and voice, the level, the device
  hornlark progress                           progress from sitting to sitting
  hornlark ready                              whether enough has been seen, by an instructor's criteria
  hornlark list                               what is built in`,
		Version:       version,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
		PersistentPreRunE: func(c *cobra.Command, _ []string) error {
			if _, err := movedBy(os.Getenv(clockVariable), runBegan); err != nil {
				return err
			}
			return checkGroups(c)
		},
		RunE: func(c *cobra.Command, _ []string) error {
			switch {
			case s.terminal:
				return welcome(c.Context(), s)
			case s.clicked:
				return welcomePage(c.Context(), s)
			}
			return c.Help()
		},
	}
	root.SetIn(s.in)
	root.SetOut(s.out)
	root.SetErr(s.err)
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error { return usageError{meantFlag(c, err)} })
	root.AddCommand(newDrill(s), newTonight(s), newSound(s), newVoice(s), newTrace(s), newDebrief(s), newReplay(s), newProgress(s), newExport(s), newImport(s), newForget(s), newTrainee(s), newPlan(s), newReady(s), newVersion(s),
		newList(s), newShow(s), newCheck(s), newDraft(s), newPhrases(s))
	root.AddCommand(newPaper(s), newPreview(s), newCourse(s), newStation(s))
	for _, c := range root.Commands() {
		asUsage(c)
	}
	asUsage(root)
	completeFlags(root)
	root.InitDefaultHelpCmd()
	for _, c := range root.Commands() {
		if c.Name() == "help" {
			c.Args = helpOf(root)
		}
	}
	return root
}

// helpOf refuses to help with a command that there is not.
func helpOf(root *cobra.Command) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if c, rest, err := root.Find(args); err != nil || len(rest) > 0 && c.HasAvailableSubCommands() {
			return usageError{fmt.Errorf("there is no help on %q%s", strings.Join(args, " "), meantCommand(c, rest))}
		}
		return nil
	}
}

// meantCommand says which command below this one was probably meant, as part of a sentence; nothing if none is near.
func meantCommand(c *cobra.Command, args []string) string {
	if c == nil || len(args) == 0 {
		return ""
	}
	var names []string
	for _, sub := range c.Commands() {
		if !sub.Hidden {
			names = append(names, sub.Name())
		}
	}
	return meant(args[0], names)
}

// meant is a hint at which of some names was probably meant, as part of a sentence; nothing if none is near.
func meant(written string, known []string) string {
	if near := fault.Nearest(written, known); near != "" {
		return fmt.Sprintf("; did you mean %q?", near)
	}
	return ""
}

// meantFlag adds to an error about a flag that there is not which one was probably meant.
func meantFlag(c *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	if !errors.As(err, &unknown) || unknown.GetSpecifiedShortnames() != "" {
		return err
	}
	var names []string
	c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	if near := fault.Nearest(unknown.GetSpecifiedName(), names); near != "" {
		return fmt.Errorf("%w; did you mean --%s?", err, near)
	}
	return fmt.Errorf("%w; see: %s --help", err, c.CommandPath())
}

// asUsage makes wrong arguments a usage error.
func asUsage(c *cobra.Command) {
	check := c.Args
	if check == nil {
		return
	}
	c.Args = func(c *cobra.Command, args []string) error {
		if err := check(c, args); err != nil {
			return usageError{fmt.Errorf("%w%s; see: %s --help", err, meantCommand(c, args), c.CommandPath())}
		}
		return nil
	}
}

// How the first screen lets the loudest be heard: it swells, so that nobody who has the volume at its highest is startled.
const (
	swellFrom  = -18.0                  // dB below the level of sittings
	swellEvery = 200 * time.Millisecond // between two steps of audio.LevelStep
	swellHold  = 600 * time.Millisecond // at the level of sittings
)

// soundCheck plays the loudest that a sitting can play, at the level of sittings, and says what it was played on.
func soundCheck(ctx context.Context) string {
	settings, err := loadSoundSettings()
	if err != nil {
		return err.Error()
	}
	options := settings.options()
	options.Early = true
	out, err := audio.Open(options)
	if err != nil {
		return err.Error()
	}
	defer out.Close()
	if notice := out.Notice(); notice != "" {
		return notice
	}
	out.Turn(settings.TurnedDB + swellFrom)
	if err := swell(ctx, out, settings.level()); err != nil {
		if ctx.Err() != nil {
			return "" // the screen has gone, too
		}
		return err.Error()
	}
	return fmt.Sprintf("nothing will be louder than that, on %s. Not heard? Check the volume.", out.Device())
}

// swell plays the loudest up to a level.
func swell(ctx context.Context, out *audio.Output, level float64) error {
	cues, err := loudestCues()
	if err != nil {
		return err
	}
	began := time.Now()
	out.Begin(began)
	due := out.Lead()
	for i, cue := range cues {
		cue.ID, cue.Due = i, due
		if err := out.Play(cue); err != nil {
			return err
		}
	}
	step := time.NewTicker(swellEvery)
	defer step.Stop()
	now := out.Turn(0)
	for now < level {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-step.C:
			now = out.Turn(min(audio.LevelStep, level-now))
		}
	}
	end := time.Since(began) + swellHold
	for i := range cues {
		out.Stop(i, end)
	}
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(swellHold + out.Lead()):
		return nil
	}
}
