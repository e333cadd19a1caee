package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
	"hornlark/drill/fault"
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
		Args: cobra.MaximumNArgs(1),
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
	again, err := k.again()
	if err != nil {
		return err
	}
	if wav.path != "" {
		if err := k.writeWAV(ctx, s, wav, again.heard); err != nil {
			return err
		}
	}
	fmt.Fprintf(s.out, "sitting %d: %s, %s, %s\n", k.ID, k.Scenario, someone(k.Trainee), k.date())
	fmt.Fprintf(s.out, "  documents  %s\n", k.changes())
	inLog := k.compareLog(s.out, again.log)
	inScore, err := k.compareScore(s.out, again.log)
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

// replayed is what a sitting comes to when it is gone through again.
type replayed struct {
	log   []logbook.Entry
	heard []drill.Output // what was asked to be heard, and to be quiet
}

func (k *keptSitting) again() (*replayed, error) {
	var r replayed
	err := k.ex.Begin(k.ex.Seed, k.Lead).Replay(k.inputs, k.lasted(), func(o drill.Output) error {
		switch o := o.(type) {
		case drill.Log:
			r.log = append(r.log, o.Entry)
		case drill.Ended:
		default:
			r.heard = append(r.heard, o)
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("sitting %d cannot be gone through again: %w", k.ID, err)
	}
	return &r, nil
}

// changes says whether the documents of the sitting are still those of the library.
func (k *keptSitting) changes() string {
	lib, err := library.Builtin()
	if err != nil {
		return err.Error()
	}
	now, err := lib.Resolve(k.Scenario)
	switch {
	case err != nil:
		return "those that it went by; nothing built in has its name"
	case record.HashOf(now.Pack()) == k.Plan:
		return "those that are built in"
	}
	return "those that it went by; what is built in under its name is different"
}

// compareLog tells how two logs compare, and reports whether they differ. The log of a sitting that was killed may end
// before the replay does: the last of it was not on the disk yet.
func (k *keptSitting) compareLog(out io.Writer, again []logbook.Entry) (differs bool) {
	if k.LogVersion != logbook.Version {
		fmt.Fprintf(out, "  log        was kept in version %d, and this program writes version %d: they are not compared\n", k.LogVersion, logbook.Version)
		return false
	}
	for i := range k.ex.Log {
		if i == len(again) {
			fmt.Fprintf(out, "  log        ends too early: there is no entry %d\n    kept      %s\n", i+1, k.ex.Log[i].Describe())
			return true
		}
		if k.ex.Log[i] == again[i] {
			continue
		}
		path, _, _ := firstDifference(fmt.Sprintf("entry %d", i+1), loose(k.ex.Log[i]), loose(again[i]))
		fmt.Fprintf(out, "  log        differs first at %s\n    kept      %s\n    replayed  %s\n", path, k.ex.Log[i].Describe(), again[i].Describe())
		return true
	}
	if more := len(again) - len(k.ex.Log); more > 0 && k.State != record.Unended {
		fmt.Fprintf(out, "  log        goes on: there are %d entries more\n    replayed  %s\n", more, again[len(k.ex.Log)].Describe())
		return true
	}
	how := ""
	if k.State == record.Unended {
		how = "; the sitting did not end"
	}
	fmt.Fprintf(out, "  log        %d entries, each the same%s\n", len(k.ex.Log), how)
	return false
}

// compareScore tells how the kept result compares with that of the replayed log, and reports whether they differ.
func (k *keptSitting) compareScore(out io.Writer, again []logbook.Entry) (differs bool, err error) {
	if k.Result == nil {
		fmt.Fprintln(out, "  score      none was kept; hornlark debrief judges it as incomplete")
		return false, nil
	}
	var before any
	if err := json.Unmarshal(k.Result, &before); err != nil {
		return true, fmt.Errorf("the result that was kept cannot be read: %w", err)
	}
	now := score.Judge(k.ex.Sheet(k.ex.Seed), again)
	if rules := rulesOf(before); rules != score.Rules {
		fmt.Fprintf(out, "  score      was kept by rules %d, and this version judges by rules %d: hornlark debrief judges it anew\n", rules, score.Rules)
		return false, nil
	}
	path, was, is := firstDifference("", before, loose(now))
	if path != "" {
		fmt.Fprintf(out, "  score      differs first at %s: kept %s, now %s\n", path, short(was), short(is))
		return true, nil
	}
	fmt.Fprintln(out, "  score      the same")
	return false, nil
}

// rulesOf gives the rules that a kept result was judged by. The first ones did not say so.
func rulesOf(result any) int {
	if fields, ok := result.(map[string]any); ok {
		if rules, ok := fields["rules"].(float64); ok {
			return int(rules)
		}
	}
	return 1
}

// loose gives a value as JSON has it.
func loose(v any) (out any) {
	body, err := json.Marshal(v)
	must(err)
	must(json.Unmarshal(body, &out))
	return out
}

// firstDifference finds where two JSON values first differ, in the order of the names; the path is empty if they do not.
// A member that is missing is null.
func firstDifference(path string, a, b any) (where string, x, y any) {
	switch a := a.(type) {
	case map[string]any:
		if b, ok := b.(map[string]any); ok {
			return differenceOfObjects(path, a, b)
		}
	case []any:
		if b, ok := b.([]any); ok {
			return differenceOfLists(path, a, b)
		}
	default:
		if a == b {
			return "", nil, nil
		}
	}
	return cmp.Or(path, "the whole"), a, b
}

func differenceOfObjects(path string, a, b map[string]any) (where string, x, y any) {
	names := slices.Sorted(maps.Keys(a))
	names = append(names, slices.Sorted(maps.Keys(b))...)
	slices.Sort(names)
	for _, name := range slices.Compact(names) {
		if where, x, y = firstDifference(fault.Join(path, name), a[name], b[name]); where != "" {
			return where, x, y
		}
	}
	return "", nil, nil
}

func differenceOfLists(path string, a, b []any) (where string, x, y any) {
	at := func(list []any, i int) any {
		if i < len(list) {
			return list[i]
		}
		return nil
	}
	for i := range max(len(a), len(b)) {
		if where, x, y = firstDifference(fault.At(path, i), at(a, i), at(b, i)); where != "" {
			return where, x, y
		}
	}
	return "", nil, nil
}

// short is a JSON value in a few words.
func short(v any) string {
	if v == nil {
		return "nothing"
	}
	body, err := json.Marshal(v)
	must(err)
	if text := []rune(string(body)); len(text) > 60 {
		return string(text[:60]) + "…"
	}
	return string(body)
}

// audible is something that is heard at a time.
type audible struct {
	at   time.Duration
	does func() error
}

// tail is how long the file goes on after the last thing in it.
const tail = time.Second

// writeWAV writes the sitting as it was heard: every cue at its own onset, and a click for each key.
func (k *keptSitting) writeWAV(ctx context.Context, s streams, to *output, heard []drill.Output) error {
	file, err := to.create(ctx, s, true)
	if err != nil {
		return err
	}
	defer file.Drop()
	voices, err := voice.Open(voice.Options{})
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
	moments := k.moments(&desk.Sounder{Player: render, Voices: voices}, heard)
	for _, m := range moments {
		if err = render.AdvanceTo(m.at); err == nil {
			err = m.does()
		}
		if err != nil {
			break
		}
	}
	if err == nil {
		err = render.AdvanceTo(k.lasted() + tail)
	}
	if err = errors.Join(err, render.Close()); err != nil {
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

// sounded is a cue that was heard.
type sounded struct {
	id     int
	at     time.Duration // its onset, or when it was due if nobody reported one
	until  time.Duration // when it was called off; zero if it was not
	output drill.Output  // a Say or a Sound
}

// sounded gives the cues that were heard, in the order in which they were asked for. A cue that nobody heard begin was due
// all the same, unless it was called off before.
func (k *keptSitting) sounded(heard []drill.Output) []sounded {
	onset, quiet := map[int]time.Duration{}, map[int]time.Duration{}
	for _, in := range k.inputs {
		if h, ok := in.Event.(drill.Heard); ok {
			onset[h.Cue] = h.Onset
		}
	}
	for _, o := range heard {
		if h, ok := o.(drill.Hush); ok {
			quiet[h.Cue] = h.Due
		}
	}
	var list []sounded
	for _, o := range heard {
		var c sounded
		switch o := o.(type) {
		case drill.Say:
			c = sounded{id: o.Cue, at: o.Due, output: o}
		case drill.Sound:
			c = sounded{id: o.Cue, at: o.Due, output: o}
		default:
			continue
		}
		if at, ok := onset[c.id]; ok {
			c.at = at
		}
		c.at = max(0, c.at)
		end, hushed := quiet[c.id]
		if hushed && end <= c.at {
			continue
		}
		c.until = end
		list = append(list, c)
	}
	return list
}

// cueAs gives a cue another number and another time.
func cueAs(o drill.Output, id int, due time.Duration) drill.Output {
	switch o := o.(type) {
	case drill.Say:
		o.Cue, o.Due = id, due
		return o
	case drill.Sound:
		o.Cue, o.Due = id, due
		return o
	}
	return o
}

// moments puts all that is heard in the order in which it was.
func (k *keptSitting) moments(on *desk.Sounder, heard []drill.Output) []audible {
	var list []audible
	for _, c := range k.sounded(heard) {
		list = append(list, audible{c.at, func() error { return on.CarryOut(cueAs(c.output, c.id, c.at)) }})
	}
	for _, o := range heard {
		if o, ok := o.(drill.Hush); ok {
			list = append(list, audible{o.Due, func() error { return on.CarryOut(o) }})
		}
	}
	click := newClick()
	for i, in := range k.inputs {
		if _, ok := in.Event.(drill.Press); ok {
			cue := audio.Cue{ID: -1 - i, Due: in.At, Sound: click, Rank: audio.Speech}
			list = append(list, audible{in.At, func() error { return on.Player.Play(cue) }})
		}
	}
	slices.SortStableFunc(list, func(a, b audible) int { return cmp.Compare(a.at, b.at) })
	return list
}

// newClick makes the sound of a key: a knock of 1.8 kHz that is over within 12 ms. Our own figures: short, and above the
// pitches of the alerts, so that nobody takes it for one.
func newClick() audio.Sound {
	const pitch, length, decay, peak = 1800, 0.012, 0.002, 6000
	pcm := make([]int16, int(length*audio.Rate))
	for i := range pcm {
		t := float64(i) / audio.Rate
		pcm[i] = int16(peak * math.Exp(-t/decay) * math.Sin(2*math.Pi*pitch*t))
	}
	return audio.Sound{PCM: pcm}
}
