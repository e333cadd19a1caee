package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/outfile"
	"hornlark/cmd/hornlark/screen"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/debrief/trace"
	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

// traceOptions are what "hornlark trace" was told, beside what a virtual sitting is told.
type traceOptions struct {
	drillOptions
	every    time.Duration
	csv, svg string
	force    bool
}

func newTrace(s streams) *cobra.Command {
	o := &traceOptions{drillOptions: drillOptions{streams: s, virtual: true, layout: string(screen.QWERTY)}}
	c := &cobra.Command{
		Use:   "trace SCENARIO",
		Short: "Write what every indication does in a scenario, as a table or a plot",
		Long: `Runs a scenario without a clock, answered by --answers, and writes every indication over time: what an instructor
can expect of the scenario. Nothing is kept.

--csv writes a table (RFC 4180) of gauges, captions, controls, facts outside and events, a row at every so often. --svg
plots the gauges that have limits on their bands, with phases, items, departures from the procedure, abnormals, what
sounded, and the keys. "-" is the standard output.`,
		Example: `  hornlark trace first-start --answers perfect --svg start.svg
  hornlark trace my/scenario.yaml --with my --answers slow.yaml --csv - --every 20ms`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o.scenario = args[0]
			o.seedSet = c.Flags().Changed("seed")
			return o.run(c.Context())
		},
		ValidArgsFunction: completeNames(library.Scenario),
	}
	f := c.Flags()
	f.StringVar(&o.answers, "answers", "", "a YAML file of answers, or perfect")
	f.StringVar(&o.csv, "csv", "", "write the table to this file")
	f.StringVar(&o.svg, "svg", "", "write the plot to this file")
	f.BoolVar(&o.force, "force", false, forceHelp)
	f.DurationVar(&o.every, "every", 100*time.Millisecond, "time between two rows, "+aircraft.StepLength.String()+" at least")
	f.Uint64Var(&o.seed, "seed", 0, "draws the same again (default: the scenario's, or a new one each time)")
	f.StringVar(&o.policy, "policy", "", strings.Join(scenario.PolicyNames(), ", ")+" (default: the scenario's)")
	f.StringSliceVar(&o.own, "with", nil, "read these YAML files or folders too")
	must(c.RegisterFlagCompletionFunc("policy", words(scenario.PolicyNames()...)))
	return c
}

func (o *traceOptions) run(ctx context.Context) error {
	switch {
	case o.csv == "" && o.svg == "":
		return usageError{errors.New("a trace has to go somewhere: add --csv FILE or --svg FILE")}
	case o.csv == "-" && o.svg == "-":
		return usageError{errors.New("only one of --csv and --svg can go to the standard output")}
	case o.csv == o.svg:
		return usageError{errors.New("--csv and --svg are two files; name another one for one of them")}
	case o.every < aircraft.StepLength:
		return usageError{fmt.Errorf("--every %v is shorter than a step of the model; write %v or more", o.every, aircraft.StepLength)}
	}
	ex, err := o.exercise()
	if err != nil {
		return err
	}
	// Both are begun first: whoever has named a wrong place need not wait for the sitting.
	var files []*outfile.File
	for _, path := range []string{o.csv, o.svg} {
		if path == "" {
			files = append(files, nil)
			continue
		}
		f, err := (&output{path: path, force: o.force}).create(ctx, o.streams, false)
		if err != nil {
			return err
		}
		defer f.Drop()
		files = append(files, f)
	}
	seen, err := traced(ctx, ex, o.every)
	if err != nil {
		return err
	}
	for i, write := range []func(io.Writer) error{seen.WriteCSV, seen.WriteSVG} {
		if files[i] != nil {
			if err := write(files[i]); err != nil {
				return err
			}
		}
	}
	for _, f := range files {
		if f != nil {
			if err := f.Keep(); err != nil {
				return err
			}
		}
	}
	return nil
}

// traced goes through the exercise and looks at the aircraft.
func traced(ctx context.Context, ex *desk.Exercise, every time.Duration) (*trace.Trace, error) {
	voices, err := voice.Open(voicesWith(ex.Bundle))
	if err != nil {
		return nil, err
	}
	seen := trace.New(ex.Profile, every)
	begun := func(s *drill.Sitting) { s.Observe(seen.Look) }
	err = ex.RunVirtual(ctx, desk.Virtual{Length: desk.Spoken(voices), Begun: begun, Take: func(o drill.Output) error {
		if l, ok := o.(drill.Log); ok {
			seen.Note(l.Entry)
		}
		return nil
	}})
	if err != nil {
		return nil, err
	}
	seen.Judged(ex.Judge())
	return seen, nil
}
