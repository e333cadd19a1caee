package main

import (
	"cmp"
	"context"
	"crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/screen"
	"hornlark/cmd/hornlark/web"
	"hornlark/drill/fault"
	"hornlark/drill/library"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
)

// drillOptions are what "hornlark drill" was told.
type drillOptions struct {
	streams
	scenario string
	seed     uint64
	seedSet  bool
	policy   string
	phases   []string
	answers  string
	virtual  bool
	wav      output
	silent   bool
	panel    bool
	open     bool   // a browser is to open the page
	site     *site  // that it is sat on, with others; nil: it is not, or has a page of its own
	which    string // of several sittings it is, for the page; empty: it is the only one
	json     bool
	trainee  string
	nobody   bool
	profile  string
	seated   bool // whose records the sitting belongs to is settled
	layout   string
	own      []string
	station  string          // where the instructor's station listens; empty: there is none
	teaching *web.Station    // that station, once it is open
	bundled  *library.Bundle // documents that a program has made; nil: those of the scenario
}

func newDrill(s streams) *cobra.Command {
	o := &drillOptions{streams: s}
	c := &cobra.Command{
		Use:   "drill [SCENARIO]",
		Short: "Go through a scenario: spoken, keyed, interrupted, timed, scored",
		Long: `Goes through a scenario and gives the report. SCENARIO is a name from "hornlark list" or the path of a
YAML file; without it, ` + suggested + `.

--phases goes through some phases alone, neighbours in the procedure; "hornlark show" names them. The aircraft then stands
as if everything before had been done, and done right, and what interrupts the rest of the flow is left out.

A live sitting needs a terminal for the keys, or --panel, and is kept in the records, for the trainee who is named, or else for who sat here
before. Answers that are played are nobody's, unless somebody is named. With --virtual there is no clock:
the answers of --answers are played as fast as it goes, and nothing is kept.

Exit status: 0 ended and passed, 3 ended but the criteria were not met, 2 usage or bad input, 130 stopped
by Ctrl-C or a signal (INT, TERM, HUP), 1 anything else.`,
		Example: `  hornlark drill
  hornlark drill recall-start --trainee kim --layout qwertz
  hornlark drill first-start --phases start-2,start-1
  hornlark drill first-start --answers perfect --virtual --seed 7 --json
  hornlark drill cold-morning --answers perfect --virtual --wav cold.wav
  hornlark drill my/scenario.yaml --with my
  hornlark drill first-start --profile my-lt --with my
  hornlark drill first-start --panel`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o.scenario = suggested
			if len(args) == 1 {
				o.scenario = args[0]
			}
			o.seedSet = c.Flags().Changed("seed")
			o.nobody = o.nobody || c.Flags().Changed("trainee") && o.trainee == ""
			return drillRun(c.Context(), o)
		},
		ValidArgsFunction: completeNames(library.Scenario),
	}
	f := c.Flags()
	f.Uint64Var(&o.seed, "seed", 0, "draws the same again (default: the scenario's, or a new one each time)")
	f.StringVar(&o.policy, "policy", "", strings.Join(scenario.PolicyNames(), ", ")+" (default: the scenario's)")
	f.StringSliceVar(&o.phases, "phases", nil, "go through these phases of the procedure alone, neighbours in their order")
	f.StringVar(&o.profile, "profile", "", "go through it on this aircraft: one that is laid over that of the scenario, or made of it")
	f.StringVar(&o.answers, "answers", "", "a YAML file of answers, or perfect: played instead of the keyboard")
	f.BoolVar(&o.virtual, "virtual", false, "without a clock, as fast as it goes; needs --answers")
	f.StringVar(&o.wav.path, "wav", "", "write exactly what is heard to this file")
	o.wav.forceFlag(c)
	f.BoolVar(&o.silent, "silent", false, "make no sound")
	f.BoolVar(&o.panel, "panel", false, "show it on a page too, on which it can be sat; its address is printed")
	f.StringVar(&o.station, "station", "", "open an instructor's station at this address, as :0 or :4700: a page of this machine, unless the address says otherwise")
	o.openFlag(c)
	f.BoolVar(&o.json, "json", false, "give the result as one JSON object")
	f.StringVar(&o.trainee, "trainee", "", "whose records the sitting belongs to (default: who sat here before)")
	f.BoolVar(&o.nobody, "nobody", false, "keep it without a name")
	f.StringVar(&o.layout, "layout", string(screen.QWERTY), "keyboard: "+strings.Join(layoutNames(), ", "))
	f.StringSliceVar(&o.own, "with", nil, "read these YAML files or folders too")
	must(c.RegisterFlagCompletionFunc("policy", words(scenario.PolicyNames()...)))
	must(c.RegisterFlagCompletionFunc("profile", flagNames(library.Profile)))
	must(c.RegisterFlagCompletionFunc("trainee", completeTrainees))
	must(c.RegisterFlagCompletionFunc("layout", words(layoutNames()...)))
	return c
}

// openFlag adds the flag that has a browser open the page.
func (o *drillOptions) openFlag(c *cobra.Command) {
	c.Flags().BoolVar(&o.open, "open", false, "with --panel: have the browser of this desktop open the page")
}

func layoutNames() []string {
	var names []string
	for _, l := range screen.Layouts() {
		names = append(names, string(l))
	}
	return names
}

// words completes one of a few.
func words(list ...string) cobra.CompletionFunc {
	return func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return list, cobra.ShellCompDirectiveNoFileComp
	}
}

// must is for mistakes that only a programmer can make.
func must(err error) {
	if err != nil {
		panic(err)
	}
}

// freshSeed draws a seed that nobody can know. It is short, so that it can be typed back.
func freshSeed() uint64 {
	var b [4]byte
	rand.Read(b[:])
	return 1 + uint64(binary.BigEndian.Uint32(b[:]))
}

// drillRun goes through a scenario and gives its report.
func drillRun(ctx context.Context, o *drillOptions) error {
	_, err := sit(ctx, o)
	return err
}

// sit goes through a scenario, gives its report, and what was sat; nil if that has not begun.
func sit(ctx context.Context, o *drillOptions) (*desk.Exercise, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	if !o.virtual {
		desk.Starting()
	}
	if err := o.takeSeat(false); err != nil {
		return nil, err
	}
	if o.station != "" {
		if err := o.staffed(); err != nil { // nobody is to wait for a sitting that there cannot be
			return nil, err
		}
		if err := o.openStation(ctx); err != nil {
			return nil, err
		}
		defer o.closeStation("the sitting has not begun")
	}
	var sound *opening
	if !o.virtual && o.wav.path == "" { // a file is not begun before it is known that there will be a sitting
		var err error
		if sound, err = beginOpening(ctx, o); err != nil {
			return nil, err
		}
	}
	ex, err := o.exercise()
	switch {
	case err != nil:
		if sound != nil {
			sound.close()
		}
		return nil, err
	case o.virtual:
		return ex, o.runVirtual(ctx, ex)
	}
	return ex, o.runLive(ctx, ex, sound)
}

// report is the report on what was sat as the options say.
func (o *drillOptions) report(ex *desk.Exercise, sound string) *report {
	return &report{ex: ex, to: o.streams, trainee: o.trainee, sound: sound, json: o.json}
}

// keyboard is how the keys are labelled. That there is such a layout has been checked.
func (o *drillOptions) keyboard() screen.Layout {
	layout, err := screen.ParseLayout(o.layout)
	must(err)
	return layout
}

// check says whether the options make sense by themselves.
func (o *drillOptions) check() error {
	if _, err := screen.ParseLayout(o.layout); err != nil {
		return usageError{err}
	}
	if err := record.CheckTrainee(o.trainee); err != nil {
		return usageError{err}
	}
	if o.station != "" {
		if err := web.CheckAddress(o.station); err != nil {
			return usageError{fmt.Errorf("--station: %w", err)}
		}
	}
	policy := scenario.PolicyName(o.policy)
	if _, known := scenario.PolicyOf(policy); policy != "" && !known {
		return usageError{fmt.Errorf("there is no policy %q; %s", o.policy, fault.Suggest(o.policy, scenario.PolicyNames()))}
	}
	switch {
	case o.nobody && o.trainee != "":
		return usageError{errors.New("add --trainee NAME or --nobody, not both")}
	case o.station != "" && o.virtual:
		return usageError{errors.New("a virtual sitting is over at once, and has no station: leave out --virtual or --station")}
	case o.virtual && o.answers == "":
		return usageError{errors.New("a virtual sitting has no keyboard: add --answers perfect, or --answers and a file")}
	case o.open && !o.panel:
		return usageError{errors.New("--open has a browser open the page of --panel: add --panel, or leave out --open")}
	case o.virtual && o.panel:
		return usageError{errors.New("a virtual sitting is over before a page could show it: leave out --virtual or --panel")}
	case !o.virtual && o.answers == "" && !o.terminal && !o.panel:
		return usageError{errors.New("there is no terminal to answer on: run it in one, add --panel to answer on a page, or add --answers perfect --virtual")}
	}
	return nil
}

// exercise reads everything that the options name, and finds what is wrong with them.
func (o *drillOptions) exercise() (*desk.Exercise, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	bundle, err := o.bundle()
	if err != nil {
		return nil, err
	}
	answers, err := o.playedAnswers()
	if err != nil {
		return nil, err
	}
	if answers != nil && len(answers.Acts) > 0 { // an instructor may put in any abnormal of the aircraft
		lib, err := openLibrary(o.own)
		if err != nil {
			return nil, err
		}
		bundle = lib.Staffed(bundle)
	}
	seed := o.seed
	if !o.seedSet {
		seed = cmp.Or(bundle.Scenario.Seed, freshSeed())
	}
	ex, err := desk.NewExercise(bundle, scenario.PolicyName(o.policy), seed)
	if err != nil {
		return nil, err
	}
	ex.Answers = answers
	return ex, nil
}

// playedAnswers are those of --answers; nil: somebody answers.
func (o *drillOptions) playedAnswers() (*scenario.Answers, error) {
	switch o.answers {
	case "":
		return nil, nil
	case scenario.Perfect:
		return &scenario.Answers{StartFrom: scenario.Perfect}, nil
	}
	answers, err := library.ReadAnswers(o.answers)
	if err != nil {
		if near := fault.Nearest(o.answers, []string{scenario.Perfect}); near != "" {
			err = fmt.Errorf("%w\ndid you mean --answers %s?", err, near)
		}
		return nil, err
	}
	return answers, nil
}

func (o *drillOptions) bundle() (*library.Bundle, error) {
	if o.bundled != nil {
		return o.bundled, nil
	}
	if len(o.own) == 0 && len(o.phases) == 0 && o.profile == "" && !library.IsPath(o.scenario) {
		b, err := library.ResolveBuiltin(o.scenario)
		if unknown := (*library.Unknown)(nil); !errors.As(err, &unknown) || !coursesThere() {
			return b, err
		}
	}
	lib, err := openLibrary(o.own)
	if err != nil {
		return nil, err
	}
	for _, notice := range lib.Notices() {
		fmt.Fprintln(o.err, notice)
	}
	var b *library.Bundle
	if o.profile == "" {
		b, err = lib.Resolve(o.scenario)
	} else {
		b, err = lib.ResolveOn(o.scenario, o.profile)
	}
	if err != nil || len(o.phases) == 0 {
		return b, err
	}
	return o.only(lib, b)
}

// only is the scenario with the phases of --phases alone. What it says of interruptions it says of every scenario, or it would tell
// of this one.
func (o *drillOptions) only(lib *library.Library, b *library.Bundle) (*library.Bundle, error) {
	if err := b.Scenario.CheckPhases(b.Procedure, scenario.PolicyName(o.policy), o.phases); err != nil {
		return nil, usageError{fmt.Errorf("--phases: %w", err)}
	}
	only := b.Scenario.Only(b.Procedure, o.phases)
	only.Policy = cmp.Or(scenario.PolicyName(o.policy), only.Policy)
	part, err := lib.Bundle(only)
	if err != nil {
		return nil, err
	}
	fmt.Fprintf(o.err, "Only %s; all before has been done. Whatever interrupts the rest of the flow is left out.\n", partOf(part))
	return part, nil
}

// partOf names the phases that a scenario goes through; it is empty for all of them.
func partOf(b *library.Bundle) string {
	var titles []string
	if len(b.Scenario.Phases) > 0 {
		from, until := b.Scenario.Part(b.Procedure)
		for _, phase := range b.Procedure.Phases[from:until] {
			titles = append(titles, phase.Title)
		}
	}
	return fromTo(titles)
}

// fromTo names neighbouring phases: if they are many, the first and the last.
func fromTo(titles []string) string {
	if len(titles) > 2 {
		return titles[0] + " to " + titles[len(titles)-1]
	}
	return strings.Join(titles, ", ")
}

// titleOf is the title of the scenario, and what of it is gone through.
func titleOf(b *library.Bundle) string {
	if part := partOf(b); part != "" {
		return b.Scenario.Title + ": " + part
	}
	return b.Scenario.Title
}

// openLibrary is what is built in, what has been installed with courses, and files and folders of one's own.
func openLibrary(own []string) (*library.Library, error) {
	lib, err := library.Builtin()
	if err != nil {
		return nil, err
	}
	if lib, _ = openCourses().Lay(lib); len(own) == 0 {
		return lib, nil
	}
	return lib.With(own...)
}
