package main

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/screen"
	"hornlark/drill/fault"
	"hornlark/drill/library"
	"hornlark/drill/practice"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// tonightOptions are what "hornlark tonight" was told.
type tonightOptions struct {
	drillOptions
	minutes  int
	timed    bool // the minutes were given
	profile  string
	phase    string
	family   string
	mistakes bool
	limits   bool
	show     bool
	said     bool // it has been said what is practised, and the trainee has said to begin
}

func newTonight(s streams) *cobra.Command {
	o := &tonightOptions{drillOptions: drillOptions{streams: s, layout: string(screen.QWERTY)}}
	c := &cobra.Command{
		Use:   "tonight",
		Short: "Go through what helps most in the minutes there are",
		Long: `Chooses what to practise by what is known of the trainee from the records, and goes through it, one sitting after the
other: neighbouring phases of a flow, a watch in which nothing flows, limits. What is chosen adds most to what will be known in
a week. What was never met comes in the order of the flow and undisturbed; a phase of which ` + fmt.Sprintf("%.0f", 100*practice.RecallFrom) + ` % is known, and each item of it
met more than once, is gone through from memory, if no --policy says otherwise.

Before, it says what is practised and why. Of abnormals it says no more than that there may be some: these are drawn, weighted by
what is known of each, and so is whether there are any. After it, it says why each of them was chosen, and what has changed.

The sittings are kept like any other. Exit status: as of "hornlark drill"; 3 if any of the sittings did not meet its criteria.`,
		Example: `  hornlark tonight --trainee kim
  hornlark tonight --minutes 20 --trainee kim --show
  hornlark tonight --mistakes --trainee kim
  hornlark tonight --phase start-2 --policy recall
  hornlark tonight --family electrics --profile turnstone-st
  hornlark tonight --panel --open
  hornlark tonight --minutes 10 --answers perfect --virtual`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			o.seedSet, o.timed = c.Flags().Changed("seed"), c.Flags().Changed("minutes")
			return tonight(c.Context(), o)
		},
	}
	f := c.Flags()
	f.IntVar(&o.minutes, "minutes", 0, fmt.Sprintf("how long it may take, 1 to %d (default: those of the first screen or the plan, or %d)", mostMinutes, tonightMinutes))
	f.StringVar(&o.profile, "profile", "", "the aircraft (default: that of the latest sitting)")
	f.StringVar(&o.phase, "phase", "", `one phase of a flow, by its id in "hornlark show"`)
	f.StringVar(&o.family, "family", "", "where abnormals of a family may come: "+strings.Join(familyNames(), ", "))
	f.BoolVar(&o.mistakes, "mistakes", false, "what was wrong or late last time, and was not put right then")
	f.BoolVar(&o.limits, "limits", false, "limits alone")
	f.BoolVar(&o.show, "show", false, "only say what would be practised")
	f.Uint64Var(&o.seed, "seed", 0, "draws the same again (default: a new one each time)")
	f.StringVar(&o.policy, "policy", "", "of flows: prompted or recall (default: by what is known)")
	f.StringVar(&o.answers, "answers", "", "a YAML file of answers, or perfect: played instead of the keyboard")
	f.BoolVar(&o.virtual, "virtual", false, "without a clock, as fast as it goes; needs --answers; nothing is kept")
	f.BoolVar(&o.silent, "silent", false, "make no sound")
	f.BoolVar(&o.panel, "panel", false, "show everything on one page too, on which it can be sat; its address is printed")
	o.openFlag(c)
	f.BoolVar(&o.json, "json", false, "give everything as one JSON object, at the end")
	f.StringVar(&o.trainee, "trainee", "", "whose records it goes by and is kept in")
	f.StringVar(&o.layout, "layout", string(screen.QWERTY), "keyboard: "+strings.Join(layoutNames(), ", "))
	f.StringSliceVar(&o.own, "with", nil, "read these YAML files or folders too")
	must(c.RegisterFlagCompletionFunc("policy", words(string(scenario.Prompted), string(scenario.Recall))))
	must(c.RegisterFlagCompletionFunc("family", words(familyNames()...)))
	must(c.RegisterFlagCompletionFunc("layout", words(layoutNames()...)))
	return c
}

// mostMinutes is how long an evening may be.
const mostMinutes = 180

// check says whether the options make sense by themselves.
func (o *tonightOptions) check() error {
	wishes := 0
	for _, wished := range []bool{o.phase != "", o.family != "", o.mistakes, o.limits} {
		if wished {
			wishes++
		}
	}
	switch {
	case o.minutes < 1 || o.minutes > mostMinutes:
		return usageError{fmt.Errorf("%d minutes cannot be filled; write --minutes and a number from 1 to %d", o.minutes, mostMinutes)}
	case wishes > 1:
		return usageError{errors.New("keep one of --phase, --family, --mistakes and --limits")}
	case o.family != "" && families[o.family] == nil:
		return usageError{fmt.Errorf("there is no family %q; %s", o.family, fault.Suggest(o.family, familyNames()))}
	case o.policy != "" && o.policy != string(scenario.Prompted) && o.policy != string(scenario.Recall):
		return usageError{fmt.Errorf("a flow of tonight is gone through prompted or by recall, not by %q%s", o.policy, meant(o.policy, []string{string(scenario.Prompted), string(scenario.Recall)}))}
	case o.show:
		dry := o.drillOptions
		dry.virtual, dry.answers = true, scenario.Perfect // nothing is answered
		return dry.check()
	}
	return o.drillOptions.check()
}

// session is an evening of one trainee.
type session struct {
	*evening
	options *tonightOptions
	known   *practice.Known
	last    []practice.Sitting // of the trainee, those of the latest evening, the earliest first; none: none is kept
	at      time.Time
	choice  *practice.Choice
	names   names
	sat     []*desk.Exercise // the legs that came to their end
}

// tonight chooses what to practise and goes through it.
func tonight(ctx context.Context, o *tonightOptions) error {
	if !o.timed {
		o.minutes = tonightMinutes
	}
	if err := o.check(); err != nil { // before anybody is asked
		return err
	}
	if !o.show {
		if err := o.takeSeat(true); err != nil {
			return err
		}
	} else if is, err := remembered(); err == nil && o.trainee == "" {
		o.trainee = is
	}
	if o.mistakes && o.trainee == "" {
		return usageError{errors.New("whose mistakes? Add --trainee NAME")}
	}
	if !o.timed {
		towards, err := aimOf(o.trainee)
		if err != nil {
			fmt.Fprintln(o.err, err)
		}
		o.minutes = towards.evening()
	}
	t := &session{options: o, at: recordsNow()}
	if err := t.open(); err != nil {
		return err
	}
	return t.held(ctx)
}

// held says what is practised, goes through it, and says what has changed; or says only the first.
func (t *session) held(ctx context.Context) error {
	o := t.options
	if o.show {
		if o.json {
			return printJSON(o.out, t.outlook())
		}
		fmt.Fprint(o.out, t.before())
		return nil
	}
	if !o.json {
		fmt.Fprint(o.out, t.before())
	}
	on := "Back to the first page"
	if o.panel && o.site == nil {
		var err error
		if o.site, err = o.openSite(ctx); err != nil {
			return err
		}
		defer o.site.Close("the evening is over")
		on = "Done"
	}
	if t.byHand() && !o.said {
		if err := t.begins(ctx); err != nil {
			return err
		}
	}
	defer unhurried(ctx)() // what was sat is still told of
	results, err := t.sit(ctx)
	if o.json {
		err = errors.Join(printJSON(o.out, t.whole(results)), err)
	} else {
		fmt.Fprint(o.out, t.after())
	}
	if o.site != nil {
		t.afterOnPage(ctx, on)
	}
	return err
}

// begins waits until whoever has read what is practised begins, or errNotBegun.
func (t *session) begins(ctx context.Context) error {
	if t.options.site != nil {
		return t.beforeOnPage(ctx)
	}
	return t.awaitEnter(ctx)
}

// open finds out what is known, and chooses.
func (t *session) open() error {
	o := t.options
	if err := t.recall(); err != nil {
		return err
	}
	lib, err := openLibrary(o.own)
	if err != nil {
		return err
	}
	for _, notice := range lib.Notices() {
		fmt.Fprintln(o.err, notice)
	}
	profile, err := t.profileOf(lib)
	if err != nil {
		return err
	}
	if t.evening, err = openEvening(lib, profile); err != nil {
		return err
	}
	t.names = t.namesOf()
	wish, err := t.wish()
	if err != nil {
		return err
	}
	if !o.seedSet {
		o.seed = freshSeed()
	}
	t.choice = t.choose(t.known, wish, time.Duration(o.minutes)*time.Minute, t.at, o.seed)
	if len(t.choice.Legs) == 0 {
		return t.noLeg(wish)
	}
	return nil
}

// recall asks the records what is known of the trainee.
func (t *session) recall() error {
	t.known = practice.NewKnown(practice.DefaultWeights)
	if t.options.trainee == "" || !recordsThere() { // none are made for it
		return nil
	}
	store, err := openRecords(t.options.streams)
	if err != nil {
		return err
	}
	defer store.Close()
	if t.known, err = knowledgeOf(store, t.options.trainee); err != nil {
		return err
	}
	latest, err := latestOf(store, t.options.trainee, mostLast)
	t.last = lastTime(latest)
	return err
}

// What makes sittings one evening. Our own figures.
const (
	eveningGap = 2 * time.Hour // between the beginnings of two of them, at the most
	mostLast   = 30
)

// lastTime is those of some sittings that are of the latest evening.
func lastTime(list []practice.Sitting) []practice.Sitting {
	for i := len(list) - 1; i > 0; i-- {
		if list[i].Began.Sub(list[i-1].Began) > eveningGap {
			return list[i:]
		}
	}
	return list
}

// profileOf is the profile that is asked for, or that of the latest sitting, or the one that a beginner begins with.
func (t *session) profileOf(lib *library.Library) (string, error) {
	if t.options.profile != "" {
		_, err := lib.Profile(t.options.profile)
		return t.options.profile, err
	}
	if n := len(t.last); n > 0 {
		if _, err := lib.Profile(t.last[n-1].Profile); err == nil {
			return t.last[n-1].Profile, nil
		}
	}
	s, err := lib.Scenario(suggested)
	if err != nil {
		return "", err
	}
	proc, err := lib.Procedure(s.Procedure)
	if err != nil {
		return "", err
	}
	return proc.Profile, nil
}

// wish is what was asked for.
func (t *session) wish() (practice.Wish, error) {
	o := t.options
	wish := practice.Wish{Phase: o.phase, Limits: o.limits}
	switch {
	case o.family != "":
		only, err := t.ofFamily(o.family)
		if err != nil {
			return wish, usageError{err}
		}
		wish.Only = only
	case o.mistakes && len(t.last) == 0:
		return wish, usageError{fmt.Errorf("no sitting of %s is kept, so there are no mistakes yet", o.trainee)}
	case o.mistakes:
		if wish.Only = t.mistakes(); len(wish.Only) == 0 {
			return wish, usageError{fmt.Errorf("last time, on %s, nothing of the %s was wrong or late in what %s did; leave --mistakes out", clockTime(t.last[0].Began), t.profile, o.trainee)}
		}
	case o.phase != "" && !slices.ContainsFunc(t.units, func(u practice.Unit) bool { return u.Kind == practice.PhaseUnit && u.Name == o.phase }):
		var known []string
		for _, u := range t.units {
			if u.Kind == practice.PhaseUnit && !slices.Contains(known, u.Name) {
				known = append(known, u.Name)
			}
		}
		return wish, usageError{fmt.Errorf("%s has no phase %q; %s", t.profile, o.phase, fault.Suggest(o.phase, known))}
	}
	return wish, nil
}

// noLeg says why there is nothing to practise: there is not time enough, and how much would be.
func (t *session) noLeg(wish practice.Wish) error {
	for minutes := t.options.minutes + 1; minutes <= mostMinutes; minutes++ {
		if c := t.choose(t.known, wish, time.Duration(minutes)*time.Minute, t.at, t.options.seed); len(c.Legs) > 0 {
			return usageError{tooShort{t.options.minutes, minutes}}
		}
	}
	return usageError{errors.New("there is nothing to practise of that with this aircraft; leave the wish out, or name another --profile")}
}

// tooShort is why nothing can be gone through where there is not time enough: how many minutes there are, and how many it takes.
type tooShort struct{ minutes, takes int }

func (e tooShort) Error() string {
	return fmt.Sprintf("nothing of it can be gone through in %d minutes; write --minutes %d", e.minutes, e.takes)
}

// byHand reports whether somebody is at the keyboard.
func (t *session) byHand() bool { return !t.options.virtual && t.options.answers == "" }

// between waits until whoever has looked at the report on a leg is ready for the next.
func (t *session) between(ctx context.Context) error {
	if !t.byHand() || t.options.site != nil || t.awaitEnter(ctx) == nil { // a page asks whether to begin as each comes
		return nil
	}
	return errEveningLeft
}

// awaitEnter waits until the trainee is ready.
func (t *session) awaitEnter(ctx context.Context) error {
	fmt.Fprint(t.options.out, "\nEnter begins, Ctrl-C leaves it. ")
	read := make(chan error, 1)
	go func() { // it waits for a key, and whoever ends the context is not made to
		for one := make([]byte, 1); ; {
			n, err := t.options.in.Read(one)
			if err != nil || n == 1 && (one[0] == '\n' || one[0] == '\r') {
				read <- err
				return
			}
		}
	}()
	select {
	case err := <-read:
		if err == nil && ctx.Err() == nil {
			return nil
		}
	case <-ctx.Done():
	}
	return errNotBegun
}

// sit goes through the legs, and gives their results as --json has them. Criteria that were not met are told when all are over.
func (t *session) sit(ctx context.Context) (results []json.RawMessage, err error) {
	missed := false
	for i := range t.choice.Legs {
		leg := &t.choice.Legs[i]
		o := t.options.drillOptions
		o.policy, o.seed, o.seedSet = "", leg.Seed, true
		if o.bundled, err = t.lib.Bundle(t.made(leg, scenario.PolicyName(t.options.policy))); err != nil {
			return results, err
		}
		var printed bytes.Buffer
		o.which = fmt.Sprintf("%d of %d: %s", i+1, len(t.choice.Legs), t.title(leg))
		if o.json {
			o.out = &printed
		} else {
			fmt.Fprintf(o.out, "\n%s\n", folded(o.which))
		}
		o.site.wait(o.which)
		if i > 0 {
			if err := t.between(ctx); err != nil {
				return results, err
			}
		}
		ex, err := sit(ctx, &o)
		if o.json && json.Valid(printed.Bytes()) {
			results = append(results, printed.Bytes())
		}
		if i > 0 && o.site != nil && errors.Is(err, errNotBegun) {
			return results, errEveningLeft
		}
		if missed = missed || errors.Is(err, errNotPassed); err != nil && !errors.Is(err, errNotPassed) {
			return results, err
		}
		t.sat = append(t.sat, ex)
	}
	if missed {
		return results, errNotPassed
	}
	return results, nil
}

// learnt is what is known after the legs that came to their end.
func (t *session) learnt() *practice.Known {
	known := t.known.Clone()
	for i, ex := range t.sat {
		known.Learn(&practice.Sitting{
			Began: t.at.Add(time.Duration(i) * time.Second), Procedure: ex.Procedure().Name, Profile: ex.Profile.Name, Policy: ex.PolicyName(),
			Trials: score.Trials(ex.Judge(), ex.Sheet(ex.Seed)),
		})
	}
	return known
}

// title says what a leg goes through.
func (t *session) title(l *practice.Leg) string {
	switch l.Kind {
	case practice.AbnormalUnit:
		return "a watch"
	case practice.LimitsUnit:
		return fmt.Sprintf("%d limits", l.Questions)
	}
	var titles []string
	for _, i := range l.Units {
		titles = append(titles, t.units[i].Title)
	}
	how := cmp.Or(t.options.policy, string(scenario.Prompted))
	if t.options.policy == "" && l.Recall {
		how = string(scenario.Recall)
	}
	if how == string(scenario.Recall) {
		how = "from memory"
	}
	title := fromTo(titles) + ", " + how
	if proc := t.units[l.Units[0]].Of; proc != t.main {
		if p, err := t.lib.Procedure(proc); err == nil {
			proc = p.Title
		}
		title += " (" + proc + ")"
	}
	return title
}
