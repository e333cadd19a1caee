package drill_test

import (
	"cmp"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/bench"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// The main suite is the transcripts in testdata: each a sitting, or a few, that show one behaviour. A block is commands,
// one a line, then ---- and what they print, up to an empty line. Lines that begin with # are for the reader.
//
//	scenario NAME [seed=N] [policy=P] [feedback=at-the-end] [tell=5s] [lead=60ms] [reports=late|none]
//	                            begin a sitting; reports says when the sound is reported as heard: as it begins,
//	                            which is where nothing is said; 800ms after it began; or never
//	at SECONDS [press KEY...]   go to a time of the sitting, and press
//	press KEY... [after=700ms] [every=250ms]
//	                            press, so long from now, and so long between presses
//	advance 5s                  let time pass
//	until asked ITEM            go on until the challenge has been spoken, or in recall until the turn has come
//	until KIND [WORD...]        go on until the log has such an entry, whose line has all of these words in it; one that
//	                            the presses just before have brought about will do
//	perfect until asked ITEM    somebody who makes no mistakes answers until the challenge has been spoken
//	perfect until KIND [WORD...] | for 5s | to the end
//	stop WHY                    end it
//	sound bad|good WHY          the sound clock cannot be trusted, or can again
//	instruct DO [WHAT...] [at=20s|phase=ID|item=ID] [to=N]
//	                            the instructor does something: see drill.Instructions
//	backstage [phases|items|injections|key|differs|around]
//	                            what the instructor's station is told
//	replay                      goes through the sitting again from the inputs that its log tells of, and says what differs
//	from here                   what has been logged and heard until now is not printed
//	log [KIND... | -KIND...]    the log since it was last printed, only these kinds, or all but these
//	hear                        what was to be said, sounded and hushed since it was last printed
//	see ID...                   how gauges, captions, alerts and controls are; lit: every caption that is lit
//	screen                      what is being asked and typed, and what the last press amounted to
//	said [N]                    the last lines of what was said and pressed, as a screen shows them
//	heard CUE ONSET [END [WHY]] a report by hand of when a cue was heard, in seconds of the sitting
//	place                       where in the flow a screen says it is
//	coming                      what may be said next, the soonest first
//	score [items|injections|order|criteria|reactions|looking]
//
// Run the tests with -rewrite to write what was printed into the files. Commit only the differences that you can explain.
var rewrite = flag.Bool("rewrite", false, "write what the transcripts printed into their files")

func TestTranscripts(t *testing.T) {
	files, err := filepath.Glob("testdata/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatalf("no transcripts: %v", err)
	}
	builtin, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	lib, err := builtin.With("testdata/desk")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txt"), func(t *testing.T) { transcript(t, lib, file) })
	}
}

// transcript runs one file.
func transcript(t *testing.T, lib *library.Library, file string) {
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	d := &desk{lib: lib}
	lines := strings.Split(strings.TrimRight(string(text), "\n"), "\n")
	var got []string
	for i := 0; i < len(lines); i++ {
		line := lines[i]
		got = append(got, line)
		switch {
		case line == "----":
			want := expected(lines[i+1:])
			printed := d.take()
			if !*rewrite && !slices.Equal(printed, want) {
				t.Fatalf("%s:%d: printed\n%s\nwanted\n%s", file, i+1, strings.Join(printed, "\n"), strings.Join(want, "\n"))
			}
			got = append(got, printed...)
			i += len(want)
		case line != "" && !strings.HasPrefix(line, "#"):
			d.command(line)
			if d.broken {
				t.Fatalf("%s:%d: %s: %s", file, i+1, line, strings.Join(d.take(), "; "))
			}
		}
	}
	if left := d.take(); len(left) > 0 {
		t.Errorf("%s: nothing says what should have been printed: %s", file, strings.Join(left, "\n"))
	}
	if *rewrite {
		if err := os.WriteFile(file, []byte(strings.Join(got, "\n")+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// expected is the lines up to the next empty one.
func expected(lines []string) []string {
	if i := slices.Index(lines, ""); i >= 0 {
		return lines[:i]
	}
	return lines
}

// desk is somebody at a desk with a sitting in front of him: it hears what is said, and presses what it is told to.
type desk struct {
	lib    *library.Library
	plan   plan
	s      *drill.Sitting
	hand   *bench.Trainee // who answers at the moment, if anybody does
	outs   []drill.Output // all of them
	now    time.Duration
	delay  time.Duration // from the onset of a sound to its report
	deaf   bool          // sounds are never reported
	coming []report      // by time

	entries []logbook.Entry
	logged  int // entries that have been printed
	mark    int // entries that until has been through
	heard   []string
	ended   bool
	printed []string
	broken  bool // a command could not be made out, or waited in vain
}

// report is what will be told of a sound.
type report struct {
	at    time.Duration
	heard drill.Heard
}

// longest is how long a command waits for something that does not come.
const longest = 15 * time.Minute

func (d *desk) take() []string {
	out := d.printed
	d.printed = nil
	return out
}

func (d *desk) print(format string, args ...any) {
	d.printed = append(d.printed, strings.TrimRight(fmt.Sprintf(format, args...), " "))
}

func (d *desk) fail(format string, args ...any) {
	d.broken = true
	d.print(format, args...)
}

// command does one line.
func (d *desk) command(line string) {
	words := strings.Fields(line)
	name, args := words[0], words[1:]
	if d.s == nil && name != "scenario" {
		d.fail("begin with scenario")
		return
	}
	if name != "until" && name != "press" {
		defer func() { d.mark = len(d.entries) }()
	}
	switch name {
	case "scenario":
		d.begin(args)
	case "at":
		at, err := strconv.ParseFloat(args[0], 64)
		if err != nil {
			d.fail("%v", err)
			return
		}
		d.goTo(time.Duration(math.Round(at * float64(time.Second))))
		if len(args) > 1 {
			d.press(args[2:])
		}
	case "press":
		d.press(args)
	case "advance":
		d.goTo(d.now + d.duration(args[0]))
	case "until":
		d.until(nil, args)
	case "perfect":
		d.perfect(args)
	case "stop":
		d.input(drill.Stop{Why: strings.Join(args, " ")})
	case "instruct":
		d.instruct(args)
	case "backstage":
		d.backstage(args)
	case "replay":
		d.replay()
	case "said":
		d.said(args)
	case "heard":
		d.reported(args)
	case "place":
		d.place()
	case "coming":
		for _, u := range d.s.MaySay() {
			d.print("%s: %s", u.Voice, u.Text)
		}
	case "sound":
		d.input(drill.SoundHealth{Good: args[0] == "good", Why: strings.Join(args[1:], " ")})
	case "log":
		d.log(args)
	case "from":
		d.logged, d.heard = len(d.entries), nil
	case "hear":
		d.printed = append(d.printed, d.heard...)
		d.heard = nil
	case "see":
		d.see(args)
	case "screen":
		d.screen()
	case "score":
		d.score(args)
	default:
		d.fail("there is no command %q", name)
	}
}

// option takes name=value out of words.
func option(words []string, name string) (value string, rest []string) {
	for i, w := range words {
		if v, ok := strings.CutPrefix(w, name+"="); ok {
			return v, slices.Delete(slices.Clone(words), i, i+1)
		}
	}
	return "", words
}

func (d *desk) duration(text string) time.Duration {
	v, err := time.ParseDuration(text)
	if err != nil {
		d.fail("%v", err)
	}
	return v
}

func (d *desk) begin(args []string) {
	lead, args := option(args, "lead")
	reports, args := option(args, "reports")
	seed, args := option(args, "seed")
	policy, args := option(args, "policy")
	feedback, args := option(args, "feedback")
	tell, args := option(args, "tell")
	b, err := d.lib.Resolve(args[0])
	if err != nil {
		d.fail("%v", err)
		return
	}
	*d = desk{lib: d.lib, printed: d.printed, deaf: reports == "none"}
	if reports == "late" {
		d.delay = 800 * time.Millisecond
	}
	sc := *b.Scenario
	if feedback != "" {
		sc.Feedback = scenario.Feedback(strings.ReplaceAll(feedback, "-", " "))
	}
	if tell != "" {
		sc.Tell = "after " + tell
	}
	d.plan = plan{seed: sc.Seed}
	d.plan.Exercise, err = drill.Compile(drill.Documents{
		Profile: b.Profile, Procedure: b.Procedure, Scenario: &sc, Abnormals: d.lib.Abnormals(), Policy: scenario.PolicyName(policy),
	})
	if err != nil {
		d.fail("%v", err)
		return
	}
	if seed != "" {
		if d.plan.seed, err = strconv.ParseUint(seed, 10, 64); err != nil {
			d.fail("%v", err)
		}
	}
	if lead != "" {
		d.plan.lead = d.duration(lead)
	}
	d.s = d.plan.begin()
}

// run goes on until a time, or until there is reason to stop; t may be nil.
func (d *desk) run(to time.Duration, t *bench.Trainee, enough func() bool) (stopped bool) {
	for {
		d.drain()
		if enough != nil && enough() {
			return true
		}
		if d.ended {
			break
		}
		next, ok := d.s.NextDeadline()
		if !ok || next > to {
			next = to
		}
		if len(d.coming) > 0 && d.coming[0].at <= next {
			r := d.coming[0]
			d.coming = d.coming[1:]
			d.now = max(d.now, r.at)
			d.input(r.heard)
			continue
		}
		if t != nil {
			if at, press, will := t.Next(); will && at <= next {
				t.Pressed(at)
				d.now = at
				d.input(press)
				continue
			}
		}
		if d.now >= to {
			break
		}
		d.now = next
		if err := d.s.Advance(next); err != nil {
			d.print("error: %v", err)
			return false
		}
	}
	d.now = max(d.now, to)
	return false
}

// goTo goes to a time, which may be one that lies behind.
func (d *desk) goTo(to time.Duration) {
	if to < d.now {
		if err := d.s.Advance(to); err != nil {
			d.print("error: %v", err)
		}
		return
	}
	d.run(to, nil, nil)
	if err := d.s.Advance(to); err != nil {
		d.print("error: %v", err)
	}
	d.now = to
}

func (d *desk) input(e drill.Event) {
	if err := d.s.Input(d.now, e); err != nil {
		d.print("error: %v", err)
	}
	d.drain()
}

// drain takes in what the sitting wants: the log, and what is to be heard.
func (d *desk) drain() {
	for _, o := range d.s.Outputs() {
		if d.outs = append(d.outs, o); d.hand != nil {
			d.hand.Take(o)
		}
		switch o := o.(type) {
		case drill.Log:
			d.entries = append(d.entries, o.Entry)
			if o.Entry.Seq != len(d.entries) {
				d.fail("entry %d has the number %d", len(d.entries), o.Entry.Seq)
			}
			continue
		case drill.Say:
			d.report(drill.Heard{Cue: o.Cue, Onset: o.Due, End: o.Due + drill.EstimatedLength(o.Voice, o.Text)})
		case drill.Sound:
			d.report(drill.Heard{Cue: o.Cue, Onset: o.Due})
		case drill.Hush:
			d.coming = slices.DeleteFunc(d.coming, func(r report) bool { return r.heard.Cue == o.Cue && r.heard.Onset > o.Due })
		case drill.Ended:
			d.ended = true
		}
		d.heard = append(d.heard, o.Describe())
	}
}

func (d *desk) report(h drill.Heard) {
	if d.deaf {
		return
	}
	d.coming = append(d.coming, report{h.Onset + d.delay, h})
	slices.SortStableFunc(d.coming, func(a, b report) int { return cmp.Compare(a.at, b.at) })
}

func (d *desk) press(args []string) {
	after, args := option(args, "after")
	every, args := option(args, "every")
	wait, between := time.Duration(0), 250*time.Millisecond
	if after != "" {
		wait = d.duration(after)
	}
	if every != "" {
		between = d.duration(every)
	}
	for i, text := range args {
		p, err := drill.ParsePress(text)
		if err != nil {
			d.fail("%v", err)
			return
		}
		if i > 0 {
			wait = between
		}
		d.run(d.now+wait, nil, nil)
		d.input(p)
	}
}

// until waits for what the words say; t may be nil.
func (d *desk) until(t *bench.Trainee, args []string) {
	if args[0] == "asked" {
		d.await(t, strings.Join(args, " "), d.isAsked(args[1]))
		return
	}
	d.await(t, strings.Join(args, " "), func() bool {
		for ; d.mark < len(d.entries); d.mark++ {
			e := d.entries[d.mark]
			if string(e.Kind) == args[0] && !slices.ContainsFunc(args[1:], func(w string) bool { return !strings.Contains(e.Describe(), w) }) {
				d.mark++
				return true
			}
		}
		return false
	})
}

// isAsked reports whether an item is being asked and the words have been said.
func (d *desk) isAsked(item string) func() bool {
	if d.plan.Policy().Asks == "" {
		from := 0
		return func() bool {
			for ; from < len(d.entries); from++ {
				if e := d.entries[from]; e.Kind == logbook.Ask && e.Item == item {
					return true
				}
			}
			return false
		}
	}
	var v drill.View
	return func() bool {
		d.s.View(&v)
		return v.Asked != nil && v.Asked.Item == item && v.Asked.Spoken > 0 && d.now >= v.Asked.Spoken
	}
}

func (d *desk) await(t *bench.Trainee, what string, enough func() bool) {
	if !d.run(d.now+longest, t, enough) {
		d.fail("waited in vain: %s", what)
	}
}

func (d *desk) perfect(args []string) {
	t, err := bench.NewTrainee(d.plan.Exercise, d.s, perfect())
	if err != nil {
		d.fail("%v", err)
		return
	}
	for _, o := range d.outs {
		t.Take(o)
	}
	d.hand = t
	defer func() { d.hand = nil }()
	switch args[0] {
	case "until":
		d.until(t, args[1:])
	case "for":
		d.run(d.now+d.duration(args[1]), t, nil)
	default:
		d.await(t, "the end", func() bool { return d.ended })
	}
}

// log prints the log since it was last printed.
func (d *desk) log(kinds []string) {
	var drop bool
	for i, k := range kinds {
		if bare, ok := strings.CutPrefix(k, "-"); ok {
			drop, kinds[i] = true, bare
		}
	}
	for _, e := range d.entries[d.logged:] {
		if len(kinds) == 0 || slices.Contains(kinds, string(e.Kind)) != drop {
			d.print("%s", e.Describe())
		}
	}
	d.logged = len(d.entries)
}

// see prints how things are.
func (d *desk) see(ids []string) {
	var v drill.View
	d.s.View(&v)
	p := d.plan.Documents().Profile
	for _, id := range ids {
		if id == "lit" {
			var lit []string
			for i, on := range v.Lit {
				if on {
					lit = append(lit, p.Captions[i].ID)
				}
			}
			d.print("lit: %s", strings.Join(lit, " "))
		}
		if i, ok := p.GaugeIndex(id); ok {
			d.print("%s %.*f %s", id, p.Gauges[i].Decimals, v.Readings[i], v.Bands[i])
		}
		if i, ok := p.CaptionIndex(id); ok {
			d.print("%s %s", id, either(v.Lit[i], "lit", "dark"))
		}
		if i, ok := p.AlertIndex(id); ok {
			d.print("%s %s", id, either(v.Sounding[i], "sounding", either(v.Silenced[i], "silenced", "quiet")))
		}
		if i, ok := p.ControlIndex(id); ok {
			d.print("%s %s", id, p.Controls[i].Label(v.Positions[i]))
		}
	}
}

func either(yes bool, a, b string) string {
	if yes {
		return a
	}
	return b
}

// screen prints what a screen would show of the flow.
func (d *desk) screen() {
	var v drill.View
	d.s.View(&v)
	if v.Asked != nil {
		d.print("asked: %s %q%s%s", v.Asked.Item, v.Asked.Challenge, either(v.Asked.Again, " again", ""), either(v.Asked.Fix, " to be put right", ""))
	}
	if v.Typing {
		d.print("typed: %q", v.Typed)
	}
	for _, state := range []struct {
		so   bool
		text string
	}{{v.Stopped, "stopped"}, {v.Paused, "paused"}, {v.Ended, "ended"}} {
		if state.so {
			d.print("%s", state.text)
		}
	}
	if v.Last.Item != "" {
		d.print("last: %s %q %s %.3f", v.Last.Item, v.Last.Text, either(v.Last.Late, "late", either(v.Last.Right, "right", "not right")), v.Last.Reaction.Seconds())
	}
}

// reported reports when a cue was heard.
func (d *desk) reported(args []string) {
	var figures []float64
	for _, a := range args[:min(3, len(args))] {
		v, err := strconv.ParseFloat(a, 64)
		if err != nil {
			d.fail("%v", err)
			return
		}
		figures = append(figures, v)
	}
	at := func(i int) time.Duration {
		if i >= len(figures) {
			return 0
		}
		return time.Duration(math.Round(figures[i] * float64(time.Second)))
	}
	h := drill.Heard{Cue: int(figures[0]), Onset: at(1), End: at(2)}
	if len(args) > 3 {
		h.Why = logbook.Reason(args[3])
	}
	d.input(h)
}

// place prints where in the flow a screen would say that it is.
func (d *desk) place() {
	var v drill.View
	d.s.View(&v)
	if v.Items == 0 && v.Phases == 0 {
		d.print("no place is shown")
		return
	}
	d.print("phase %d of %d %q, %d of %d items dealt with", v.PhaseNo, v.Phases, v.Phase, v.ItemNo, v.Items)
}

// said prints the last lines of what was said and pressed.
func (d *desk) said(args []string) {
	var v drill.View
	d.s.View(&v)
	n := len(v.Said)
	if len(args) > 0 {
		n, _ = strconv.Atoi(args[0])
	}
	for _, l := range v.Said[max(0, len(v.Said)-n):] {
		d.print("%9.3f %s: %s", l.At.Seconds(), l.Who, l.Text)
	}
}

// replay goes through the sitting again from what its log tells.
func (d *desk) replay() {
	inputs := drill.InputsOf(d.entries)
	again := &run{}
	if err := d.plan.begin().Replay(inputs, d.now, again.take); err != nil {
		d.fail("%v", err)
		return
	}
	for i := range max(len(d.entries), len(again.entries)) {
		was, is := "nothing", "nothing"
		if i < len(d.entries) {
			was = d.entries[i].Describe()
		}
		if i < len(again.entries) {
			is = again.entries[i].Describe()
		}
		if was != is {
			d.print("replayed: entry %d is", i+1)
			d.print("%s", is)
			d.print("and was")
			d.print("%s", was)
			return
		}
	}
	d.print("replayed: %d inputs, nothing differs", len(inputs))
}

// score prints the result of the log so far.
func (d *desk) score(parts []string) {
	r := score.Judge(d.plan.Sheet(d.plan.seed), d.entries)
	want := func(part string) bool { return len(parts) == 0 || slices.Contains(parts, part) }
	if want("items") {
		d.items(r.Items)
	}
	if want("order") {
		for _, o := range r.Order.Deviations {
			d.print("%s: %s, after %s", o.Kind, strings.Join(o.Items, " "), cmp.Or(o.After, "nothing"))
		}
	}
	if want("injections") {
		for _, in := range r.Injections {
			d.injection(in)
		}
	}
	if want("reactions") {
		x := r.Reactions
		d.print("reactions: %d, median %.0f ms, %.0f to %.0f ms, %d anticipated, %d assumed, trusted %v",
			x.Count, x.MedianMS, x.FastestMS, x.SlowestMS, x.Anticipated, x.AssumedCount, r.Trusted)
	}
	if want("looking") {
		x := r.Looking
		d.print("looking: %d of %d signals hit, %d false alarms in %d of noise, %d of them quiet stretches", x.Hits, x.Signals, x.FalseAlarms, x.Noise, x.QuietStretches)
	}
	if want("criteria") {
		for _, c := range r.Criteria {
			d.print("criterion %s: %s, wanted %s, of %d: %s", c.Name, c.Got, c.Want, c.Count, either(c.Met, "met", "not met"))
		}
		d.print("%s, %s", either(r.Completed, "complete", "incomplete"), either(r.Passed, "passed", "not passed"))
	}
}

// items prints what became of each item; those that were not dealt with share a line.
func (d *desk) items(items []score.ItemResult) {
	var notAsked, notReached []string
	for _, it := range items {
		switch it.Outcome {
		case score.NotAsked:
			notAsked = append(notAsked, it.ID)
		case score.NotReached:
			notReached = append(notReached, it.ID)
		default:
			d.print("item %s: %s", it.ID, itemLine(it))
		}
	}
	if len(notAsked) > 0 {
		d.print("not asked: %s", strings.Join(notAsked, " "))
	}
	if len(notReached) > 0 {
		d.print("not reached: %s", strings.Join(notReached, " "))
	}
}

func itemLine(it score.ItemResult) string {
	line := string(it.Outcome)
	if len(it.Marks) > 1 {
		for _, m := range it.Marks[1:] {
			line += " " + string(m)
		}
	}
	if it.ReactionMS != nil {
		line += fmt.Sprintf(", %.0f ms", *it.ReactionMS)
	}
	if it.Anticipated {
		line += ", anticipated"
	}
	if it.Overshoots > 0 {
		line += fmt.Sprintf(", %d overshot", it.Overshoots)
	}
	if it.Typed != "" {
		line += fmt.Sprintf(", typed %s, was %s", it.Typed, cmp.Or(it.True, "dead"))
	}
	return line
}

func (d *desk) injection(in score.InjectionResult) {
	ms := func(v *float64) string {
		if v == nil {
			return "never"
		}
		return fmt.Sprintf("%.0f ms", *v)
	}
	by := ""
	if in.NoticedBy != "" {
		by = " by " + string(in.NoticedBy)
	}
	d.print("injection %s: %s, first cue %s, noticed %s%s, over %s", in.Name, in.Outcome, cmp.Or(in.Cue, "none"), ms(in.DetectionMS), by, ms(in.HandlingMS))
	if in.ToldMS != nil {
		d.print("  told: %s", ms(in.ToldMS))
	}
	if in.FirstMove != "" {
		d.print("  first move: %s", in.FirstMove)
	}
	for _, a := range in.Actions {
		d.print("  %s: %s of %.0f ms%s%s", a.Say, ms(a.DoneMS), a.LimitMS, either(a.Late, ", late", ""), either(a.Already, ", already set", ""))
	}
	for _, w := range in.Worse {
		d.print("  worse: %s", w)
	}
	if in.SilencedMS != nil {
		d.print("  silenced: %s", ms(in.SilencedMS))
	}
	if len(in.Early) > 0 {
		d.print("  early: %s", strings.Join(in.Early, " "))
	}
	if in.Resumed != "" {
		d.print("  resumed: %s, %s", in.Resumed, ms(in.ResumeMS))
	}
	if len(in.LetGo) > 0 {
		d.print("  let go by: %s", strings.Join(in.LetGo, " "))
	}
	d.print("  ended: %s", cmp.Or(in.Ended, "no sentence holds"))
}

// instruct does something as the instructor: what, to what, and when (at=, phase=, item=) or how much (to=).
func (d *desk) instruct(args []string) {
	e := drill.Instruct{Do: drill.Instruction(args[0])}
	var what []string
	for _, arg := range args[1:] {
		name, value, given := strings.Cut(arg, "=")
		if !given {
			name = ""
		}
		switch name {
		case "at":
			e.When.At = d.duration(value)
		case "phase":
			e.When.Phase = value
		case "item":
			e.When.Item = value
		case "to":
			to, err := strconv.ParseFloat(value, 64)
			if err != nil {
				d.fail("%v", err)
			}
			e.To = to
		default:
			what = append(what, arg)
		}
	}
	e.What = strings.Join(what, " ")
	d.input(e)
}

// backstage prints what the instructor is told, and nobody else: of the parts that are named.
func (d *desk) backstage(parts []string) {
	var b drill.Stage
	d.s.Backstage(&b)
	for _, part := range parts {
		switch part {
		case "phases":
			for _, ph := range b.Phases {
				d.print("phase %s %q begun=%v now=%v", ph.ID, ph.Title, ph.Begun, ph.Now)
			}
		case "items":
			for _, it := range b.Items {
				if it.State != drill.ItemOpen {
					d.print("%s/%s %s", it.Phase, it.ID, it.State)
				}
			}
		case "injections":
			for _, in := range b.Injections {
				line := fmt.Sprintf("%s %s", in.Name, in.State)
				if in.When != (drill.Moment{}) {
					line += fmt.Sprintf(" when=%v", in.When)
				}
				if in.Onset > 0 {
					line += fmt.Sprintf(" onset=%v", in.Onset)
				}
				if in.Ended != "" {
					line += " " + string(in.Ended)
				}
				for _, a := range in.Actions {
					line += fmt.Sprintf("; %s: %v", a.Say, a.Done)
				}
				d.print("%s", line)
			}
		case "key":
			d.print("asked %q: %q, %q, wrong %q", b.Key.Item, b.Key.Right, b.Key.Why, b.Key.Wrong)
		case "differs":
			for _, x := range b.Differs {
				d.print("%s %s: %q, and not %q: %s", x.Class, x.Name, x.Is, x.WouldBe, x.Cause)
			}
		case "around":
			d.print("%+v, fuel %.1f kg, ground power %v, sound %v at %g dB", b.Weather, b.Fuel, b.GroundPower, b.Sound, b.Level)
		default:
			d.fail("backstage has no %s", part)
		}
	}
}
