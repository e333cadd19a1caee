package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"hornlark/cmd/hornlark/screen"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/fault"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

func newShow(s streams) *cobra.Command {
	var own []string
	var layoutName string
	var reveal bool
	c := &cobra.Command{
		Use:   "show NAME",
		Short: "Show what a scenario, procedure, profile or abnormal contains",
		Long: `Shows a scenario with its rules and criteria, a procedure with its items, a profile with its controls, keys, gauges and
limits, or an abnormal with its immediate actions. Where a name is that of several, all are shown.

The interruptions of a scenario, the abnormals of a profile, and the cues, wrong moves and endings of an abnormal are for
the instructor to know: --reveal shows them too.`,
		Example: `  hornlark show first-start
  hornlark show first-start --reveal
  hornlark show dunlin-start
  hornlark show dunlin-lt --layout azerty
  hornlark show hot-start`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			layout, err := screen.ParseLayout(layoutName)
			if err != nil {
				return usageError{err}
			}
			lib, err := openLibrary(own)
			if err != nil {
				return err
			}
			return (&shower{s.out, lib, layout, reveal}).show(args[0])
		},
		ValidArgsFunction: func(c *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
			kinds := []library.Kind{library.Scenario, library.Procedure, library.Profile}
			if reveal { // what can go wrong is not for a trainee to come upon at a key's touch
				kinds = append(kinds, library.Abnormal)
			}
			return completeNames(kinds...)(c, args, begun)
		},
	}
	c.Flags().StringSliceVar(&own, "with", nil, "read these YAML files or folders too")
	c.Flags().BoolVar(&reveal, "reveal", false, "show the interruptions and the answers too")
	c.Flags().StringVar(&layoutName, "layout", string(screen.QWERTY), "keyboard: "+strings.Join(layoutNames(), ", "))
	must(c.RegisterFlagCompletionFunc("layout", words(layoutNames()...)))
	return c
}

// shower prints documents.
type shower struct {
	out    io.Writer
	lib    *library.Library
	layout screen.Layout
	reveal bool // what a trainee should not know beforehand as well
}

// show prints every document of that name.
func (to *shower) show(name string) error {
	found := false
	if s, err := to.lib.Scenario(name); err == nil {
		found = true
		to.scenario(s)
	}
	if p, err := to.lib.Procedure(name); err == nil {
		found = true
		showProcedure(to.out, p)
	}
	if p, err := to.lib.Profile(name); err == nil {
		found = true
		to.profile(p)
	}
	if a, err := to.lib.Abnormal(name); err == nil {
		found = true
		to.abnormal(a)
	}
	if !found {
		if near := to.nearest(name); near != "" {
			return usageError{fmt.Errorf("there is no scenario, procedure, profile or abnormal %q; did you mean %q?", name, near)}
		}
		_, err := to.lib.Scenario(name)
		return fmt.Errorf("%w\nnor is there a procedure, profile or abnormal of that name; hornlark list --reveal has them all", err)
	}
	fmt.Fprintln(to.out, debrief.CautionOf(to.aircraft(name)))
	return nil
}

// nearest is the name of a document that is nearest to one that there is not; empty if none is near.
func (to *shower) nearest(name string) string {
	var known []string
	for _, s := range to.lib.Scenarios() {
		known = append(known, s.Name)
	}
	for _, p := range to.lib.Procedures() {
		known = append(known, p.Name)
	}
	for _, p := range to.lib.Profiles() {
		known = append(known, p.Name)
	}
	for _, a := range to.lib.Abnormals() {
		known = append(known, a.Name)
	}
	return fault.Nearest(name, known)
}

// aircraft is the one that a document is about; nil if it is not known.
func (to *shower) aircraft(name string) *aircraft.Profile {
	profile := name
	if s, err := to.lib.Scenario(name); err == nil {
		if p, err := to.lib.Profile(s.Profile); err == nil {
			return p
		}
		name = s.Procedure
	}
	if p, err := to.lib.Procedure(name); err == nil {
		profile = p.Profile
	}
	if a, err := to.lib.Abnormal(name); err == nil {
		profile = a.Profile
	}
	p, err := to.lib.Profile(profile)
	if err != nil {
		return nil
	}
	return p
}

func (to *shower) scenario(s *scenario.Scenario) {
	out := to.out
	policy, tell := s.Rules("")
	fmt.Fprintf(out, "SCENARIO %s: %s\n%s\n", s.Name, s.Title, s.About)
	fmt.Fprintf(out, "  procedure %s%s, policy %s: %s\n", s.Procedure, unlessEmpty(" on ", s.Profile), policy.Name, policy.About)
	to.part(s)
	fmt.Fprintf(out, "  feedback %s; %s\n", policy.Feedback, told(tell))
	if s.Seed == 0 {
		fmt.Fprintln(out, "  seed: a new one each time; --seed takes a given one")
	} else {
		fmt.Fprintf(out, "  seed: %d each time; --seed takes another\n", s.Seed)
	}
	fmt.Fprintf(out, "  weather: %g °C, pressure altitude %g ft, tailwind %g kt", s.Weather.OAT, s.Weather.Altitude, s.Weather.Tailwind)
	if s.Weather.Humidity > 0 {
		fmt.Fprintf(out, ", humidity %g %%", s.Weather.Humidity)
	}
	fmt.Fprintln(out)
	if to.reveal {
		to.injections(s)
	} else {
		fmt.Fprintln(out, "  interruptions are not listed; --reveal lists them")
	}
	if s.Par != nil {
		fmt.Fprintf(out, "  par times: %s\n", parTimes(s.Par))
	}
	for _, line := range criteria(&s.Pass) {
		fmt.Fprintf(out, "  to pass: %s\n", line)
	}
	fmt.Fprintln(out)
}

// part shows which phases a scenario goes through, where it does not go through all.
func (to *shower) part(s *scenario.Scenario) {
	proc, err := to.lib.Procedure(s.Procedure)
	if err != nil || len(s.Phases) == 0 {
		return
	}
	fmt.Fprintf(to.out, "  only %s; all before has been done\n", partOf(&library.Bundle{Procedure: proc, Scenario: s}))
}

// told is how much the crew says of what is wrong.
func told(t scenario.Tell) string {
	switch {
	case !t.Tells:
		return "what is wrong is never told"
	case t.After == 0:
		return "what is wrong is told at once"
	}
	return fmt.Sprintf("what is wrong is told after %v", t.After)
}

func (to *shower) injections(s *scenario.Scenario) {
	for _, in := range s.Injections {
		fmt.Fprintf(to.out, "  interruption: %s, %s\n", to.title(in.Abnormal), moment(in))
	}
	if d := s.Drawn; d != nil {
		var titles []string
		for _, name := range d.From {
			titles = append(titles, to.title(name))
		}
		fmt.Fprintf(to.out, "  drawn: up to %d of %s; gaps of %v and more, %v on average, %v at the most\n",
			d.Count, strings.Join(titles, "; "), d.MinGap, d.MinGap+d.MeanGap, d.MinGap+d.MaxGap)
	}
}

// criteria lists what has to be reached.
func criteria(c *scenario.Criteria) []string {
	var list []string
	share := func(v *float64, what string) {
		if v != nil {
			list = append(list, fmt.Sprintf("at least %.4g %% of %s", 100*(*v), what))
		}
	}
	most := func(n *int, what string) {
		if n != nil {
			list = append(list, fmt.Sprintf("at most %d %s", *n, what))
		}
	}
	longest := func(d *time.Duration, what string) {
		if d != nil {
			list = append(list, fmt.Sprintf("at most %v %s", *d, what))
		}
	}
	share(c.Right, "items right")
	most(c.Omitted, "items omitted")
	most(c.OutOfOrder, "done out of order")
	share(c.Handled, "abnormals handled")
	longest(c.Reaction, "median reaction to a challenge")
	longest(c.Detection, "to notice any abnormal")
	longest(c.RedBand, "in any red band")
	most(c.LookAlikes, "look-alikes acted on")
	most(c.FalseConfirms, "checks said to be in limits that were not")
	share(c.WithinPar, "reactions within par")
	return list
}

// parTimes lists the par times that a scenario sets.
func parTimes(p *scenario.Par) string {
	var list []string
	for _, of := range []struct {
		class string
		set   *time.Duration
	}{{"speech", p.Speech}, {"typed", p.Typed}, {"horn", p.Horn}, {"caption", p.Caption}, {"gauge", p.Gauge}} {
		if of.set != nil {
			list = append(list, fmt.Sprintf("%s %v", of.class, *of.set))
		}
	}
	return strings.Join(list, ", ")
}

func moment(in scenario.Injection) string {
	switch {
	case in.During != "":
		return fmt.Sprintf("%v after %s is asked", in.After, in.During)
	case in.When != "":
		return fmt.Sprintf("%v after %s", in.After, in.When)
	}
	return fmt.Sprintf("at %v", in.At+in.After)
}

func (to *shower) title(abnormal string) string {
	if a, err := to.lib.Abnormal(abnormal); err == nil {
		return a.Title
	}
	return abnormal
}

func showProcedure(out io.Writer, p *procedure.Procedure) {
	fmt.Fprintf(out, "PROCEDURE %s: %s (%d items, for %s)\n%s\n", p.Name, p.Title, p.Count(), p.Profile, p.About)
	for _, ph := range p.Phases {
		fmt.Fprintf(out, "\n%s (%s)\n", strings.ToUpper(ph.Title), ph.ID)
		w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
		for i := range ph.Items {
			it := &ph.Items[i]
			fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\n", it.ID, it.Challenge, it.Response, it.Kind(), asked(it))
		}
		w.Flush()
	}
	fmt.Fprintln(out)
}

// asked says what is to be done, and when an item is asked at all.
func asked(it *procedure.Item) string {
	var parts []string
	switch it.Kind() {
	case procedure.Set:
		parts = append(parts, settings(it.Set))
	case procedure.Check:
		parts = append(parts, it.Check)
	case procedure.Confirm:
		parts = append(parts, it.Confirm)
	case procedure.Read:
		parts = append(parts, "reading of "+it.Read)
	case procedure.Callout:
		parts = append(parts, fmt.Sprintf("%s passes %g", it.Callout.Gauge, it.Callout.Value))
	}
	if it.When != "" {
		parts = append(parts, "only when "+it.When)
	}
	if it.Fitted != nil && !*it.Fitted {
		parts = append(parts, "not fitted")
	}
	if it.Group != "" {
		parts = append(parts, "any order: "+it.Group)
	}
	return strings.Join(parts, "; ")
}

// settings is the moves in their order.
func settings(set aircraft.Settings) string {
	var parts []string
	for _, one := range set {
		parts = append(parts, one.Control+" "+one.Position)
	}
	return strings.Join(parts, ", ")
}

func (to *shower) profile(p *aircraft.Profile) {
	out := to.out
	fmt.Fprintf(out, "PROFILE %s: %s\n%s\n", p.Name, p.Title, p.About)
	to.lineage(p)
	fmt.Fprint(out, "\nCONTROLS\n")
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for i := range p.Controls {
		c := &p.Controls[i]
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\n", to.layout.Label(drill.Key(c.Key)), c.Zone(), c.Name, c.ID, positions(c))
	}
	w.Flush()
	fmt.Fprintln(out, "\nGAUGES")
	for i := range p.Gauges {
		g := &p.Gauges[i]
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", g.ID, g.Name, g.Unit, bands(g))
	}
	w.Flush()
	fmt.Fprintln(out, "\nCAPTIONS")
	for i := range p.Captions {
		c := &p.Captions[i]
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", c.ID, c.Text, c.Level, c.When)
	}
	w.Flush()
	fmt.Fprintln(out, "\nALERTS")
	for i := range p.Alerts {
		a := &p.Alerts[i]
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", a.ID, a.Tone, a.Level, a.When+unlessEmpty("; silenced by ", a.Mute))
	}
	w.Flush()
	showOutside(out, p)
	if to.reveal {
		to.abnormalsOf(p)
	}
	fmt.Fprintln(out)
}

// showOutside shows what is to be seen through the window, and what has a circuit breaker.
func showOutside(out io.Writer, p *aircraft.Profile) {
	if len(p.Outside) > 0 {
		fmt.Fprintln(out, "\nOUTSIDE")
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for i := range p.Outside {
		f := &p.Outside[i]
		fmt.Fprintf(w, "  %s\t%s\n", f.ID, f.True+"; or: "+f.Not+unlessEmpty("; seen while ", f.Seen))
	}
	w.Flush()
	var breakers []string
	for i := range p.Systems.Electrical.Equipment {
		if q := &p.Systems.Electrical.Equipment[i]; q.Breaker {
			breakers = append(breakers, q.ID)
		}
	}
	if len(breakers) > 0 {
		fmt.Fprintf(out, "\nCIRCUIT BREAKERS\n  %s; pushed in by %s\n", strings.Join(breakers, ", "), p.Systems.Electrical.Breakers.Reset)
	}
}

// unlessEmpty is words before others, or nothing where those are missing.
func unlessEmpty(before, text string) string {
	if text == "" {
		return ""
	}
	return before + text
}

func (to *shower) abnormalsOf(p *aircraft.Profile) {
	fmt.Fprintln(to.out, "\nABNORMALS")
	w := tabwriter.NewWriter(to.out, 0, 0, 2, ' ', 0)
	view, _ := to.lib.For(p.Name)
	for _, a := range view.Abnormals() {
		if a.Profile == p.Name {
			fmt.Fprintf(w, "  %s\t%s\t%s\n", a.Name, a.Title, actions(a))
		}
	}
	w.Flush()
}

func positions(c *aircraft.Control) string {
	if t := c.Travel; t != nil {
		return fmt.Sprintf("%g to %g %s in steps of %g", t.From, t.To, t.Unit, t.Step) + unlessEmpty("; locked while ", c.Locked)
	}
	text := strings.Join(c.Positions, " - ")
	if c.Springs > 0 {
		text += fmt.Sprintf(" (springs back after %v)", c.Springs)
	}
	return text + unlessEmpty("; locked while ", c.Locked)
}

func bands(g *aircraft.Gauge) string {
	var parts []string
	for _, b := range g.Bands {
		parts = append(parts, fmt.Sprintf("%s %g to %g", b.Colour, b.From, b.To))
	}
	return strings.Join(parts, ", ")
}

func actions(a *scenario.Abnormal) string {
	if a.Harmless {
		return "nothing is to be done"
	}
	var parts []string
	for i, action := range a.Actions {
		parts = append(parts, strconv.Itoa(i+1)+" "+action.Say)
	}
	return strings.Join(parts, "; ")
}

// abnormal shows what a trainee has to know by heart, and to whom it is revealed, the rest of it.
func (to *shower) abnormal(a *scenario.Abnormal) {
	out := to.out
	fmt.Fprintf(out, "%s %s: %s (for %s)\n%s\n", strings.ToUpper(kindOf(a)), a.Name, a.Title, a.Profile, a.About)
	for i, action := range a.Actions {
		inGroup := ""
		if action.Group != "" {
			inGroup = ", in any order with the others of " + action.Group
		}
		fmt.Fprintf(out, "  %d. %s, within %v of the first cue%s\n", i+1, action.Say, action.Within, inGroup)
	}
	if to.reveal {
		to.answers(a)
	}
	fmt.Fprintln(out)
}

// answers shows by what an abnormal is noticed and judged.
func (to *shower) answers(a *scenario.Abnormal) {
	line := func(what, format string, args ...any) { fmt.Fprintf(to.out, "  "+what+": "+format+"\n", args...) }
	line("noticed by", "%s", strings.Join(a.Cues, ", "))
	for _, also := range a.Also {
		line("right as well", "%s. %s", settings(also.Set), also.Say)
	}
	for _, wrong := range a.Worse {
		line("worse", "%s. %s", settings(wrong.Set), wrong.Say)
	}
	if a.Handled != "" {
		line("handled once", "%s", a.Handled)
	}
	if a.Lost != "" {
		line("lost once", "%s", a.Lost)
	}
	for _, end := range a.Ends {
		when := end.When
		if end.For > 0 {
			when += fmt.Sprintf(" for %v", end.For)
		}
		line("ends", "%s, when %s", strings.TrimSuffix(end.Text, "."), when)
	}
}
