package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/screen"
	"hornlark/drill"
	"hornlark/drill/debrief"
	"hornlark/drill/debrief/paper"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// paperOptions are what the commands for paper were told.
type paperOptions struct {
	streams
	output
	size string
	own  []string
}

func newPaper(s streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "paper",
		Short: "Print a procedure as a card, the keyboard of an aircraft, or an instructor's key",
		Long: `Makes pages to be printed: a procedure as a card for the knee, the keys of an aircraft, and for the instructor the key to a
scenario, which reveals everything in it. They are HTML for any browser, in black on white, and need no network.

` + debrief.Caution,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newPaperProcedure(s), newPaperKeyboard(s), newPaperKey(s))
	for _, sub := range c.Commands() {
		asUsage(sub)
	}
	return c
}

// flags adds what all of them have.
func (o *paperOptions) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&o.size, "size", string(paper.A5), "paper: a5 or a4")
	f.StringVar(&o.path, "out", "-", "write the page to this file (default: the standard output)")
	f.Lookup("out").DefValue = ""
	o.forceFlag(c)
	f.StringSliceVar(&o.own, "with", nil, "read these YAML files or folders too")
	must(c.RegisterFlagCompletionFunc("size", words(paper.Sizes()...)))
}

// open reads the library, and the size of the paper.
func (o *paperOptions) open() (*library.Library, paper.Size, error) {
	size, err := paper.ParseSize(o.size)
	if err != nil {
		return nil, "", usageError{err}
	}
	lib, err := openLibrary(o.own)
	return lib, size, err
}

// keep writes a page.
func (o *paperOptions) keep(ctx context.Context, page interface{ Write(io.Writer) error }) error {
	return o.write(ctx, o.streams, page.Write)
}

func newPaperProcedure(s streams) *cobra.Command {
	o := &paperOptions{streams: s}
	c := &cobra.Command{
		Use:   "procedure NAME",
		Short: "A procedure as a card for the knee",
		Long: `Prints a procedure: its phases, every challenge with its response, what has to be right before what, what is done only under
a condition, what is called as it is passed, what the crew says where something is refused, and the limits of what is looked at.
Phases are kept together as long as a sheet can hold them, and items always.`,
		Example: `  hornlark paper procedure dunlin-start --out start.html
  hornlark paper procedure my-start --with my --size a4 --out start.html`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			lib, size, err := o.open()
			if err != nil {
				return err
			}
			proc, err := lib.Procedure(args[0])
			if err != nil {
				return err
			}
			prof, err := lib.Profile(proc.Profile)
			if err != nil {
				return err
			}
			sheet := paper.Sheet{Size: size, Edition: library.Edition(prof, proc), Caution: debrief.CautionOf(prof)}
			return o.keep(c.Context(), &paper.Card{Sheet: sheet, Procedure: proc, Profile: prof})
		},
		ValidArgsFunction: completeNames(library.Procedure),
	}
	o.flags(c)
	return c
}

func newPaperKeyboard(s streams) *cobra.Command {
	o := &paperOptions{streams: s}
	var layoutName string
	c := &cobra.Command{
		Use:   "keyboard PROFILE",
		Short: "The keys of an aircraft, where they lie under the hand",
		Long: `Draws the keyboard of an aircraft: each key in its zone with its control and positions, what is the same on every aircraft,
and behind it a list of all positions. --keyboard says what is printed on the keys.`,
		Example: `  hornlark paper keyboard dunlin-lt --out keys.html
  hornlark paper keyboard whinchat-pt --keyboard qwertz --size a4 --out keys.html`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			layout, err := screen.ParseLayout(layoutName)
			if err != nil {
				return usageError{err}
			}
			lib, size, err := o.open()
			if err != nil {
				return err
			}
			prof, err := lib.Profile(args[0])
			if err != nil {
				return err
			}
			return o.keep(c.Context(), &paper.Keyboard{
				Sheet:   paper.Sheet{Size: size, Edition: library.Edition(prof), Caution: debrief.CautionOf(prof)},
				Profile: prof, Layout: string(layout),
				Label: func(key string) string { return layout.Label(drill.Key(key)) },
				Stop:  layout.Label(drill.StopCall), Beside: screen.StopBesideShift(layout), Fixed: screen.FixedKeys(layout),
			})
		},
		ValidArgsFunction: completeNames(library.Profile),
	}
	o.flags(c)
	c.Flags().StringVar(&layoutName, "keyboard", string(screen.QWERTY), "what is printed on the keys: "+strings.Join(layoutNames(), ", "))
	must(c.RegisterFlagCompletionFunc("keyboard", words(layoutNames()...)))
	c.Flags().SetNormalizeFunc(func(_ *pflag.FlagSet, name string) pflag.NormalizedName {
		if name == "layout" { // as other commands have it
			name = "keyboard"
		}
		return pflag.NormalizedName(name)
	})
	return c
}

func newPaperKey(s streams) *cobra.Command {
	o := &paperOptions{streams: s}
	var seed uint64
	c := &cobra.Command{
		Use:   "key SCENARIO",
		Short: "The key to a scenario, for its instructor: it reveals",
		Long: `Prints what an instructor has in the hand: every right answer, with the true readings of a healthy aircraft; what is put in, when,
at which item, what shows it, and what is to be done; and what has to be reached. It goes by two runs without a clock in which every
answer is right, one with this seed and one with nothing put in. Do not show it to whoever will sit there.`,
		Example: `  hornlark paper key first-start --seed 7 --out key.html
  hornlark paper key my/scenario.yaml --with my --size a4 --out key.html`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return o.key(c.Context(), args[0], seed, c.Flags().Changed("seed"))
		},
		ValidArgsFunction: completeNames(library.Scenario),
	}
	o.flags(c)
	c.Flags().Uint64Var(&seed, "seed", 0, "draws the same again (default: the scenario's, or a new one, which the key names)")
	return c
}

// key goes through a scenario twice, and writes what is to be known of it.
func (o *paperOptions) key(ctx context.Context, name string, seed uint64, seeded bool) error {
	lib, size, err := o.open()
	if err != nil {
		return err
	}
	b, err := lib.Resolve(name)
	if err != nil {
		return err
	}
	if !seeded {
		seed = cmp.Or(b.Scenario.Seed, freshSeed())
	}
	ex, err := desk.NewExercise(b, "", seed)
	if err != nil {
		return err
	}
	untouched := *b
	untouched.Scenario = &scenario.Scenario{}
	*untouched.Scenario = *b.Scenario
	untouched.Scenario.Injections, untouched.Scenario.Drawn = nil, nil
	healthy, err := desk.NewExercise(&untouched, "", seed)
	if err != nil {
		return err
	}
	if _, err := flownPerfectly(ctx, ex); err != nil {
		return err
	}
	readings, err := flownPerfectly(ctx, healthy)
	if err != nil {
		return err
	}
	documents := []any{b.Profile, b.Procedure, b.Scenario}
	for _, a := range b.Abnormals {
		documents = append(documents, a)
	}
	weather := fmt.Sprintf("%g °C, pressure altitude %g ft, tailwind %g kt", b.Scenario.Weather.OAT, b.Scenario.Weather.Altitude, b.Scenario.Weather.Tailwind)
	if b.Scenario.Weather.Humidity > 0 {
		weather += fmt.Sprintf(", humidity %g %%", b.Scenario.Weather.Humidity)
	}
	_, tell := b.Scenario.Rules("")
	command := fmt.Sprintf("hornlark drill %s --seed %d", name, seed)
	if len(o.own) > 0 {
		command += " --with " + strings.Join(o.own, ",")
	}
	about := []string{"Weather: " + weather + ". " + upperFirst(told(tell)) + "."}
	if part := partOf(b); part != "" {
		about = append(about, "Only "+part+"; all before has been done.")
	}
	return o.keep(ctx, &paper.Key{
		Sheet:   paper.Sheet{Size: size, Edition: library.Edition(documents...), Caution: debrief.CautionOf(b.Profile)},
		Profile: b.Profile, Procedure: ex.Procedure(), Scenario: b.Scenario, Abnormals: b.Abnormals, Policy: ex.Policy(), Seed: seed,
		Run: ex.Log, Healthy: healthy.Log, Readings: readings, About: about, Pass: criteria(&b.Scenario.Pass), Command: command,
	})
}

// flownPerfectly goes through an exercise without a clock, with every answer right, and gives what the gauges showed as items were done that
// are read, by the ids of these.
func flownPerfectly(ctx context.Context, ex *desk.Exercise) (map[string]float64, error) {
	voices, err := voice.Open(voicesWith(ex.Bundle))
	if err != nil {
		return nil, err
	}
	ex.Answers = &scenario.Answers{StartFrom: scenario.Perfect}
	gauges := map[string]int{} // of items that are read
	ex.Procedure().Each(func(_ *procedure.Phase, it *procedure.Item) {
		if i, ok := ex.Profile.GaugeIndex(it.Read); ok {
			gauges[it.ID] = i
		}
	})
	readings := map[string]float64{}
	var view drill.View
	var sitting *drill.Sitting
	begun := func(s *drill.Sitting) { sitting = s }
	err = ex.RunVirtual(ctx, desk.Virtual{Length: desk.Spoken(voices), Begun: begun, Take: func(o drill.Output) error {
		if l, ok := o.(drill.Log); ok && l.Entry.Kind == logbook.Done {
			if i, read := gauges[l.Entry.Item]; read {
				if sitting.Glance(&view); view.Alive[i] {
					readings[l.Entry.Item] = view.Readings[i]
				}
			}
		}
		return nil
	}})
	return readings, err
}
