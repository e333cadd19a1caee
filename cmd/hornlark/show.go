package main

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"hornlark/cmd/hornlark/screen"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/debrief"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

func newShow(s streams) *cobra.Command {
	var own []string
	var layoutName string
	c := &cobra.Command{
		Use:   "show NAME",
		Short: "Show what a scenario, procedure, profile or abnormal contains",
		Long: `Shows a scenario with its interruptions and par times, a procedure with its items, a profile with its controls,
keys, gauges and limits, or an abnormal with its immediate actions. Where a name is that of several, all are shown.`,
		Example: `  hornlark show first-start
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
			return show(s.out, lib, args[0], layout)
		},
		ValidArgsFunction: completeNames(library.Scenario, library.Procedure, library.Profile, library.Abnormal),
	}
	c.Flags().StringSliceVar(&own, "with", nil, "read these YAML files or folders too")
	c.Flags().StringVar(&layoutName, "layout", string(screen.QWERTY), "keyboard: "+strings.Join(layoutNames(), ", "))
	must(c.RegisterFlagCompletionFunc("layout", words(layoutNames()...)))
	return c
}

// show prints every document of that name.
func show(out io.Writer, lib *library.Library, name string, layout screen.Layout) error {
	found := false
	if s, err := lib.Scenario(name); err == nil {
		found = true
		showScenario(out, lib, s)
	}
	if p, err := lib.Procedure(name); err == nil {
		found = true
		showProcedure(out, p)
	}
	if p, err := lib.Profile(name); err == nil {
		found = true
		showProfile(out, lib, p, layout)
	}
	if a, err := lib.Abnormal(name); err == nil {
		found = true
		showAbnormal(out, a)
	}
	if !found {
		_, err := lib.Scenario(name)
		return fmt.Errorf("%w\nnor is there a procedure, profile or abnormal of that name; hornlark list has them all", err)
	}
	fmt.Fprintln(out, debrief.Caution)
	return nil
}

func showScenario(out io.Writer, lib *library.Library, s *scenario.Scenario) {
	fmt.Fprintf(out, "SCENARIO %s: %s\n%s\n", s.Name, s.Title, s.About)
	fmt.Fprintf(out, "  procedure %s, mode %s, seed %d\n", s.Procedure, s.Mode, s.Seed)
	fmt.Fprintf(out, "  weather: %g °C, pressure altitude %g ft, tailwind %g kt", s.Weather.OAT, s.Weather.Altitude, s.Weather.Tailwind)
	if s.Weather.Humidity > 0 {
		fmt.Fprintf(out, ", humidity %g %%", s.Weather.Humidity)
	}
	fmt.Fprintln(out)
	for _, in := range s.Injections {
		fmt.Fprintf(out, "  interruption: %s, %s\n", titleOf(lib, in.Abnormal), moment(in))
	}
	if d := s.Drawn; d != nil {
		var titles []string
		for _, name := range d.From {
			titles = append(titles, titleOf(lib, name))
		}
		fmt.Fprintf(out, "  interruptions drawn: up to %d of %s; gaps of %v and more, %v on average, %v at the most\n",
			d.Count, strings.Join(titles, "; "), d.MinGap, d.MinGap+d.MeanGap, d.MinGap+d.MaxGap)
	}
	if s.Par != nil {
		fmt.Fprintf(out, "  par times: %s\n", parTimes(s.Par))
	}
	fmt.Fprintln(out)
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

func titleOf(lib *library.Library, abnormal string) string {
	if a, err := lib.Abnormal(abnormal); err == nil {
		return a.Title
	}
	return abnormal
}

func showProcedure(out io.Writer, p *procedure.Procedure) {
	fmt.Fprintf(out, "PROCEDURE %s: %s (%d items, for %s)\n%s\n", p.Name, p.Title, p.Count(), p.Profile, p.About)
	for _, ph := range p.Phases {
		fmt.Fprintf(out, "\n%s\n", strings.ToUpper(ph.Title))
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

func settings(set map[string]string) string {
	var parts []string
	for _, id := range slices.Sorted(maps.Keys(set)) {
		parts = append(parts, id+" "+set[id])
	}
	return strings.Join(parts, ", ")
}

func showProfile(out io.Writer, lib *library.Library, p *aircraft.Profile, layout screen.Layout) {
	fmt.Fprintf(out, "PROFILE %s: %s\n%s\n\nCONTROLS\n", p.Name, p.Title, p.About)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for i := range p.Controls {
		c := &p.Controls[i]
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\n", layout.Label(drill.Key(c.Key)), c.Zone(), c.Name, c.ID, positions(c))
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
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", a.ID, a.Tone, a.Level, a.When)
	}
	w.Flush()
	fmt.Fprintln(out, "\nABNORMALS")
	for _, a := range lib.Abnormals() {
		if a.Profile == p.Name {
			fmt.Fprintf(w, "  %s\t%s\t%s\n", a.Name, a.Title, actions(a))
		}
	}
	w.Flush()
	fmt.Fprintln(out)
}

func positions(c *aircraft.Control) string {
	if t := c.Travel; t != nil {
		return fmt.Sprintf("%g to %g %s in steps of %g", t.From, t.To, t.Unit, t.Step)
	}
	text := strings.Join(c.Positions, " - ")
	if c.Springs > 0 {
		text += fmt.Sprintf(" (springs back after %v)", c.Springs)
	}
	return text
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

func showAbnormal(out io.Writer, a *scenario.Abnormal) {
	fmt.Fprintf(out, "%s %s: %s (for %s)\n%s\n", strings.ToUpper(kindOf(a)), a.Name, a.Title, a.Profile, a.About)
	fmt.Fprintf(out, "  first noticed by: %s\n", strings.Join(a.Cues, ", "))
	for i, action := range a.Actions {
		fmt.Fprintf(out, "  %d. %s, within %v of the first cue\n", i+1, action.Say, action.Within)
	}
	for _, wrong := range a.Worse {
		fmt.Fprintf(out, "  worse: %s. %s\n", settings(wrong.Set), wrong.Say)
	}
	if a.Ends.Handled != "" {
		fmt.Fprintf(out, "  handled: %s\n", a.Ends.Handled)
	}
	if a.Ends.Lost != "" {
		fmt.Fprintf(out, "  not handled: %s\n", a.Ends.Lost)
	}
	fmt.Fprintln(out)
}
