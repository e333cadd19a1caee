package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hornlark/audio"
	"hornlark/audio/tone"
	"hornlark/audio/voice"
	"hornlark/drill/library"
)

const (
	loopFor     = 3 * time.Second // that a tone without an end is played
	soundGap    = 400 * time.Millisecond
	measureTime = 4 * time.Second // as long as the frame clock looks back
)

// soundOptions are what "hornlark sound" was told.
type soundOptions struct {
	streams
	level     float64
	levelSet  bool
	buffer    time.Duration
	latency   float64 // ms
	given     bool    // the latency was
	calibrate bool
	play      []string
	json      bool
}

func newSound(s streams) *cobra.Command {
	o := &soundOptions{streams: s}
	c := &cobra.Command{
		Use:   "sound",
		Short: "Check the sound: hear every alert and voice, measure the device, calibrate it",
		Long: `Plays every alert and voice, quietly at first; + and - set the level, which is kept for sittings, and play the loudest
that a sitting can: nothing that is heard afterwards is louder. Names the device and measures how well the time of a
sound can be known on it.

What a device adds without telling of it (wireless headphones do) can be given with --latency, or calibrated by
tapping a key to a regular click. It is kept for that device, and sittings allow for it.

Exit status: 0 the sound is good enough for reaction times, 2 usage, 1 anything else, such as no device.`,
		Example: `  hornlark sound
  hornlark sound --play low-nr,fire --level -12
  hornlark sound --json
  hornlark sound --latency 180
  hornlark sound --calibrate`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			o.levelSet, o.given = c.Flags().Changed("level"), c.Flags().Changed("latency")
			return o.run(c.Context())
		},
	}
	f := c.Flags()
	f.Float64Var(&o.level, "level", audio.DefaultLevel, fmt.Sprintf("how loud, in dB: %g to 0", -audio.LevelRange))
	f.DurationVar(&o.buffer, "buffer", 0, "sound kept ready, kept for sittings: "+bufferNames()+" (default: as kept, or "+audio.DefaultBuffer.String()+")")
	f.Float64Var(&o.latency, "latency", 0, "keep this as the delay, in ms, that the device adds without telling of it")
	f.BoolVar(&o.calibrate, "calibrate", false, "find that delay by tapping a key to a click")
	f.StringSliceVar(&o.play, "play", nil, "play these and no others, without keys; or all")
	f.BoolVar(&o.json, "json", false, "measure, and give the figures as one JSON object")
	c.MarkFlagsMutuallyExclusive("latency", "calibrate", "play", "json")
	must(c.RegisterFlagCompletionFunc("buffer", words(strings.Split(bufferNames(), ", ")...)))
	return c
}

func bufferNames() string {
	var names []string
	for _, b := range audio.Buffers() {
		names = append(names, b.String())
	}
	return strings.Join(names, ", ")
}

// run does what the options ask for, once they make sense.
func (o *soundOptions) run(ctx context.Context) error {
	if err := o.check(); err != nil {
		return usageError{err}
	}
	settings, err := loadSoundSettings()
	if err != nil {
		fmt.Fprintln(o.err, err)
	}
	c := &hearing{streams: o.streams, settings: settings, level: o.level}
	if c.samples, err = soundSamples(); err != nil {
		return err
	}
	chosen, err := choose(c.samples, o.play)
	if err != nil {
		return usageError{err}
	}
	if o.buffer != 0 {
		settings.BufferMS = int(o.buffer.Milliseconds())
		if err := settings.save(); err != nil {
			return err
		}
	}
	if o.levelSet && !o.json && !o.given {
		c.keep = true
	}
	if err := c.open(o.calibrate); err != nil {
		return c.without(o, err)
	}
	defer c.out.Close()
	switch {
	case o.given:
		return c.give(o.latency)
	case o.json:
		return c.tell(ctx)
	case o.play != nil:
		if c.keep && !slices.Contains(o.play, loudest) && !slices.Contains(o.play, "all") {
			chosen = append(c.samples[:1:1], chosen...) // a level is set by the loudest that is played at it
		}
		return c.playThrough(ctx, chosen)
	case o.calibrate:
		return c.withKeys(ctx, c.tapAlong)
	}
	return c.withKeys(ctx, c.byKeys)
}

func (o *soundOptions) check() error {
	if err := checkSoundLevel(o.level); err != nil {
		return err
	}
	if err := checkLatency(o.latency); err != nil {
		return err
	}
	if o.buffer != 0 && !slices.Contains(audio.Buffers(), o.buffer) {
		return fmt.Errorf("a buffer of %v is not offered; choose %s", o.buffer, bufferNames())
	}
	if o.needsKeys() && !o.terminal {
		return errors.New("there is no terminal for the keys: run it in one, or add --play all, --json or --latency")
	}
	return nil
}

func (o *soundOptions) needsKeys() bool { return !o.given && !o.json && o.play == nil }

// sample is something to be heard.
type sample struct {
	name, what string
	cues       func() ([]audio.Cue, error) // that begin together, without numbers and times
}

// loudest is the name of the sample that nothing in a sitting is louder than.
const loudest = "loudest"

// loudestCues are every tone at once, again and again, none of them ducked. More than that cannot come together, whatever the aircraft
// is.
func loudestCues() ([]audio.Cue, error) {
	var cues []audio.Cue
	for _, name := range tone.Names() {
		sound, err := tone.Named(name)
		if err != nil {
			return nil, err
		}
		cues = append(cues, audio.Cue{Sound: sound, Loop: true, Rank: audio.Warning})
	}
	return cues, nil
}

// voiceSamples are phrases of the built-in procedures, one for each voice.
var voiceSamples = []voice.Phrase{
	{Voice: voice.Challenger, Text: "Battery voltage"},
	{Voice: voice.Responder, Text: "In the green"},
	{Voice: voice.Crew, Text: "Fire guard is back at the nose."},
}

// soundSamples lists every tone, with what it means where a built-in profile has an alert for it, and every voice.
func soundSamples() ([]sample, error) {
	lib, err := library.Builtin()
	if err != nil {
		return nil, err
	}
	meaning := map[string]string{}
	for _, p := range lib.Profiles() {
		for i := range p.Alerts {
			a := &p.Alerts[i]
			if known := meaning[a.Tone]; !strings.Contains(known, a.Name) {
				meaning[a.Tone] = strings.TrimPrefix(known+", "+a.Name, ", ")
			}
		}
	}
	meaning["begin"], meaning["end"] = "a sitting begins", "a sitting has ended"
	list := []sample{{name: loudest, what: "all alerts at once: nothing in a sitting is louder", cues: loudestCues}}
	for _, name := range tone.Names() {
		list = append(list, sample{
			name: name, what: cmp.Or(meaning[name], "not used by a built-in profile"),
			cues: func() ([]audio.Cue, error) {
				sound, err := tone.Named(name)
				return []audio.Cue{{Sound: sound, Loop: tone.Loops(name), Rank: audio.Caution}}, err
			},
		})
	}
	voices, err := voice.Open(voice.Options{})
	if err != nil {
		return nil, err
	}
	for _, p := range voiceSamples {
		list = append(list, sample{
			name: p.Voice, what: fmt.Sprintf("voice: %q", p.Text),
			cues: func() ([]audio.Cue, error) {
				clip, err := voices.Clip(p.Voice, p.Text)
				return []audio.Cue{{Sound: clip}}, err
			},
		})
	}
	return list, nil
}

// choose gives the samples of these names, in their order; "all" is all.
func choose(list []sample, names []string) ([]sample, error) {
	var chosen []sample
	for _, name := range names {
		if name == "all" {
			chosen = append(chosen, list...)
			continue
		}
		i := slices.IndexFunc(list, func(s sample) bool { return s.name == name })
		if i < 0 {
			var known []string
			for _, s := range list {
				known = append(known, s.name)
			}
			return nil, fmt.Errorf("there is no sound %q; there are all, %s%s", name, strings.Join(known, ", "), meant(name, known))
		}
		chosen = append(chosen, list[i])
	}
	return chosen, nil
}

// hearing is a check of the sound that is going on.
type hearing struct {
	streams
	settings *soundSettings
	samples  []sample
	level    float64
	keep     bool // the level was set by the user, and is for sittings too
	out      *audio.Output
	began    time.Time
	cue      int   // number of the latest cue
	sounding []int // numbers of those that may still sound
}

// open starts the sound. For a calibration nothing is added to what the device tells of itself.
func (c *hearing) open(bare bool) error {
	options := c.settings.options()
	options.Level = c.level
	if bare {
		options.Latency = nil
	}
	out, err := audio.Open(options)
	if err != nil {
		return err
	}
	if h := out.Health(); h.Silent {
		out.Close()
		return errors.New(h.Why)
	}
	c.out, c.began = out, time.Now()
	out.Begin(c.began)
	return nil
}

// without tells that there is no sound to check.
func (c *hearing) without(o *soundOptions, why error) error {
	if o.json {
		if err := c.print(soundFigures{LevelDB: c.level, Why: why.Error(), Sounds: c.listed()}); err != nil {
			return err
		}
	}
	return why
}

// give keeps a delay that the user knows.
func (c *hearing) give(ms float64) error {
	c.settings.put(deviceDelay{Device: c.out.Device(), LatencyMS: ms, How: byFigure})
	if err := c.settings.save(); err != nil {
		return err
	}
	fmt.Fprintf(c.streams.out, "%s: %.0f ms are added to what the device tells of itself, in every sitting on it.\n", c.out.Device(), ms)
	return nil
}

// soundFigures are what was measured, for programs.
type soundFigures struct {
	Device    string        `json:"device"`    // empty if there is none
	BufferMS  float64       `json:"buffer_ms"` // of sound kept ready
	DelayMS   *float64      `json:"delay_ms"`  // from a request to its being heard, as the device tells; null if it does not
	AddedMS   float64       `json:"added_ms"`  // to that, by calibration
	LeadMS    float64       `json:"lead_ms"`   // that a cue is asked for ahead of time
	JitterMS  float64       `json:"jitter_ms"` // standard deviation of the requests about the fitted line, the worst seen
	Slope     float64       `json:"slope"`     // seconds for a nominal second of frames
	GapMS     float64       `json:"worst_gap_ms"`
	Underruns int           `json:"underruns"`
	Good      bool          `json:"good"` // reaction times to sounds mean something
	Why       string        `json:"why,omitempty"`
	LevelDB   float64       `json:"level_db"`
	Sounds    []listedSound `json:"sounds"`
}

type listedSound struct {
	Name string `json:"name"`
	What string `json:"what"`
}

func (c *hearing) listed() []listedSound {
	var list []listedSound
	for _, s := range c.samples {
		list = append(list, listedSound{s.name, s.what})
	}
	return list
}

func (c *hearing) print(f soundFigures) error {
	body, err := json.MarshalIndent(f, "", "  ")
	if err == nil {
		_, err = fmt.Fprintf(c.streams.out, "%s\n", body)
	}
	return err
}

// tell measures and prints the figures as JSON.
func (c *hearing) tell(ctx context.Context) error {
	f, err := c.measure(ctx)
	if err != nil {
		return err
	}
	if err := c.print(f); err != nil {
		return err
	}
	return f.verdict()
}

// verdict is an error if the sound is not good enough to be timed by.
func (f *soundFigures) verdict() error {
	if f.Good {
		return nil
	}
	return fmt.Errorf("reaction times to sounds would mean nothing here: %s", f.Why)
}

// measure watches the sound for a while. What it was at its worst counts.
func (c *hearing) measure(ctx context.Context) (soundFigures, error) {
	f := soundFigures{
		Device: c.out.Device(), BufferMS: milliseconds(c.out.Buffer()), LeadMS: milliseconds(c.out.Lead()),
		Good: true, LevelDB: c.level, Sounds: c.listed(),
	}
	look := time.NewTicker(100 * time.Millisecond)
	defer look.Stop()
	for end := time.After(measureTime); ; {
		select {
		case <-ctx.Done():
			return f, context.Cause(ctx)
		case <-end:
			return f, nil
		case <-c.out.Reports():
		case <-look.C:
			h := c.out.Health()
			f.JitterMS = max(f.JitterMS, milliseconds(h.Residual))
			f.GapMS = max(f.GapMS, milliseconds(h.WorstGap))
			f.Slope, f.Underruns, f.AddedMS = h.Slope, h.Underruns, milliseconds(h.Added)
			if h.Delay > 0 {
				delay := milliseconds(h.Delay)
				f.DelayMS = &delay
			}
			if !h.Good && f.Good {
				f.Good, f.Why = false, h.Why
			}
		}
	}
}

func milliseconds(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }

// describe puts the figures into lines for people.
func (f *soundFigures) describe(w io.Writer) {
	fmt.Fprintf(w, "Measured over %v:\n", measureTime)
	if f.DelayMS != nil {
		fmt.Fprintf(w, "  delay       %6.1f ms from asking to hearing, as the device tells; buffer %.0f ms\n", *f.DelayMS, f.BufferMS)
	} else {
		fmt.Fprintf(w, "  buffer      %6.1f ms; the device does not tell its own delay\n", f.BufferMS)
	}
	fmt.Fprintf(w, "  added       %6.1f ms by calibration\n", f.AddedMS)
	fmt.Fprintf(w, "  jitter      %6.2f ms (standard deviation)\n", f.JitterMS)
	fmt.Fprintf(w, "  slope       %9.5f s of the clock for a second of sound\n", f.Slope)
	fmt.Fprintf(w, "  worst gap   %6.1f ms between two requests of the device; underruns: %d\n", f.GapMS, f.Underruns)
	if err := f.verdict(); err != nil {
		fmt.Fprintf(w, "  WARNING     %v\n", err)
		return
	}
	fmt.Fprintln(w, "  Good enough for reaction times. What lies behind the device's own figure (a converter, a radio link) is not measured.")
}

// start plays a sample instead of whatever sounds, and says how long it takes.
func (c *hearing) start(s sample) (time.Duration, error) {
	c.hush()
	cues, err := s.cues()
	if errors.Is(err, voice.ErrNoVoice) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	var longest time.Duration
	due := time.Since(c.began) + c.out.Lead()
	for _, cue := range cues {
		c.cue++
		cue.ID, cue.Due = c.cue, due
		if err := c.out.Play(cue); err != nil {
			return 0, err
		}
		length := cue.Sound.Duration()
		if cue.Loop {
			length = loopFor
			c.out.Stop(cue.ID, due+length)
		}
		c.sounding = append(c.sounding, cue.ID)
		longest = max(longest, length)
	}
	return c.out.Lead() + longest, nil
}

func (c *hearing) hush() {
	for _, id := range c.sounding {
		c.out.Stop(id, time.Since(c.began))
	}
	c.sounding = c.sounding[:0]
}

// announce names a sample as it is played.
func (c *hearing) announce(s sample) {
	fmt.Fprintf(c.streams.out, "  %-11s %4.0f dB  %s\n", s.name, c.level, s.what)
}

// playThrough plays samples one after the other.
func (c *hearing) playThrough(ctx context.Context, list []sample) error {
	fmt.Fprintln(c.streams.out, "Sound on "+c.out.Device())
	for _, s := range list {
		c.announce(s)
		length, err := c.start(s)
		if err != nil {
			return err
		}
		for over := time.After(length + soundGap); over != nil; {
			select {
			case <-ctx.Done():
				return context.Cause(ctx)
			case <-c.out.Reports():
			case <-over:
				over = nil
			}
		}
	}
	if h := c.out.Health(); h.Silent {
		return errors.New(h.Why)
	}
	return c.keepLevel()
}

// keepLevel keeps the level for sittings, if the user has set one.
func (c *hearing) keepLevel() error {
	if !c.keep {
		return nil
	}
	c.settings.setLevel(c.level)
	if err := c.settings.save(); err != nil {
		return err
	}
	fmt.Fprintf(c.streams.out, "Sittings are played at %.0f dB from now on.\n", c.level)
	return nil
}
