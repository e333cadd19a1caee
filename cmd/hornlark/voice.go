package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hornlark/audio/voice"
	"hornlark/drill/inert"
	"hornlark/drill/library"
)

func newVoice(s streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "voice",
		Short: "Make the spoken clips of documents of your own",
		Args:  cobra.NoArgs,
		RunE:  func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newVoiceRender(s), newVoiceSay(s))
	for _, sub := range c.Commands() {
		asUsage(sub)
	}
	return c
}

// voiceOptions are what the commands about voices were told.
type voiceOptions struct {
	streams
	lexicon string
	engine  string
	rate    float64 // of the usual one, in %
	into    string  // folder that goes with documents; empty: the clips are for this machine alone
}

func (o *voiceOptions) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&o.lexicon, "lexicon", "", "how words are spoken, laid over the built-in lexicon (default: lexicon.yaml in the folder for settings, if there is one)")
	f.StringVar(&o.engine, "engine", "", "speech engine: flite, espeak-ng, say, system-speech (default: the first one found)")
	f.Float64Var(&o.rate, "rate", 0, "speed of the speech, in % of the usual: 50 to 200 (default: as kept, or 100); kept for sittings")
}

// open opens the voices as the options say, over what is kept. A rate that is given is kept.
func (o *voiceOptions) open(keepRate bool) (*voice.Library, error) {
	settings, err := loadSoundSettings()
	if err != nil {
		fmt.Fprintln(o.err, err)
	}
	if o.rate != 0 {
		if err := checkVoiceRate(o.rate); err != nil {
			return nil, usageError{err}
		}
	}
	options := settings.voices()
	if o.lexicon != "" {
		options.Lexicon = o.lexicon
	}
	if o.rate != 0 {
		options.Speed = o.rate / 100
	}
	if names := voice.Engines(); o.engine != "" && o.engine != voice.NoEngine && !slices.Contains(names, o.engine) {
		return nil, usageError{fmt.Errorf("there is no speech engine %q; choose %s, %s%s", o.engine, voice.NoEngine, strings.Join(names, ", "), meant(o.engine, names))}
	}
	options.Engine = o.engine
	voices, err := voice.Open(options)
	if err != nil {
		return nil, usageError{err}
	}
	if keepRate && o.rate != 0 {
		settings.VoiceRate = o.rate
		return voices, settings.save()
	}
	return voices, nil
}

func newVoiceRender(s streams) *cobra.Command {
	o := &voiceOptions{streams: s}
	c := &cobra.Command{
		Use:   "render [FILE...]",
		Short: "Make the clips of procedures, scenarios and profiles of your own",
		Long: `Has every phrase of these YAML files, or folders of them, spoken once, and of the built-in documents what has no clip at this
rate. The clips are kept in the folder that your system has for caches, so that no sitting has to wait for them. Clips that
are there already are kept: a run that was interrupted goes on where it was.

A file lexicon.yaml in the folder that your system has for settings (hornlark/lexicon.yaml in it) says how your own words
are spoken; it has the form of sounds/lexicon.yaml. Phrases with a built-in clip need no speech engine, as long as rate and
lexicon leave them as they are.

With --into the clips of what no built-in clip says are kept in a folder as well, to go with documents that are passed on: in
a course it is its folder voice.

Exit status: 0 every phrase has a clip, 1 some have none, 2 usage or bad input.`,
		Example: `  hornlark voice render my
  hornlark voice render my/start.yaml --rate 120
  hornlark voice render my --lexicon my/words.yaml
  hornlark voice render my --lexicon my/lexicon.yaml --into my/voice`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error { return o.render(c.Context(), args) },
	}
	o.flags(c)
	c.Flags().StringVar(&o.into, "into", "", "keep the clips of these documents in this folder too, to go with them")
	return c
}

// render makes the clips of the documents in files.
func (o *voiceOptions) render(ctx context.Context, files []string) error {
	phrases, err := phrasesOf(files)
	if err != nil {
		return err
	}
	voices, err := o.open(true)
	if err != nil {
		return err
	}
	var before int
	for _, p := range phrases {
		if voices.Ready(p.Voice, p.Text) {
			before++
		}
	}
	making := o.progress("making clips")
	if voices.Prepare(ctx, phrases, making.at) != nil {
		return errVoicesKept
	}
	making.end()
	if o.into != "" {
		saving := o.progress("keeping clips")
		kept, silent, err := voices.Save(ctx, o.into, phrases, saving.at)
		if ctx.Err() != nil {
			return errVoicesKept
		}
		saving.end()
		if err != nil {
			return fmt.Errorf("the clips cannot be kept in %s: %w", inert.Line(o.into), err)
		}
		fmt.Fprintf(o.out, "%s: %d clips", inert.Line(o.into), kept)
		if silent > 0 {
			fmt.Fprintf(o.out, "; no voice for %d phrases", silent)
		}
		fmt.Fprintln(o.out)
	}
	var missing int
	for _, p := range phrases {
		if !voices.Ready(p.Voice, p.Text) {
			missing++
		}
	}
	fmt.Fprintf(o.out, "%d phrases: %d had a clip, %d were made", len(phrases), before, len(phrases)-before-missing)
	if missing == 0 {
		fmt.Fprintln(o.out)
		return nil
	}
	fmt.Fprintf(o.out, ", %d have none\n", missing)
	if notice := voices.Notice(); notice != "" {
		return errors.New(notice)
	}
	return errors.New("the clips cannot be kept: there is no folder for caches, or it cannot be written")
}

// phrasesOf is everything that the documents in files can have spoken, and the built-in ones: they go on in one another.
func phrasesOf(files []string) ([]voice.Phrase, error) {
	lib, err := library.Builtin()
	if err == nil && len(files) > 0 {
		lib, err = lib.With(files...)
	}
	if err != nil {
		return nil, err
	}
	var list []voice.Phrase
	for _, p := range lib.Phrases() {
		list = append(list, voice.Phrase{Voice: p.Voice, Text: p.Text})
	}
	return list, nil
}

func newVoiceSay(s streams) *cobra.Command {
	o := &voiceOptions{streams: s}
	c := &cobra.Command{
		Use:     "words TEXT...",
		Short:   "Show how texts are spoken: numbers, units and abbreviations in words",
		Example: `  hornlark voice words "TOT 1 below 750 °C" "NR 100 %"`,
		Args:    cobra.MinimumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			voices, err := o.open(false)
			if err != nil {
				return err
			}
			for _, text := range args {
				fmt.Fprintln(o.out, voices.Speak(text))
			}
			return nil
		},
	}
	c.Flags().StringVar(&o.lexicon, "lexicon", "", "laid over the built-in lexicon (default: lexicon.yaml in the folder for settings, if there is one)")
	return c
}
