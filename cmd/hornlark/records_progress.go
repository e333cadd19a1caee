package main

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"hornlark/drill/debrief"
	"hornlark/drill/record"
	"hornlark/drill/score"
)

// progressOptions are what "hornlark progress" was told.
type progressOptions struct {
	streams
	trainee string
	last    int
}

func newProgress(s streams) *cobra.Command {
	o := &progressOptions{streams: s}
	c := &cobra.Command{
		Use:   "progress",
		Short: "Show how it goes: trends by scenario and by abnormal, and the latest sittings",
		Long: `Shows, for each trainee, how the sittings of each scenario went from the first to the latest, how each abnormal was
met, and the latest sittings with their numbers, which "hornlark debrief" and "hornlark replay" take.

A bar stands for a sitting, or for one time that an abnormal was met; the latest is at the right, and there are 16 at
the most; the figure behind them is a full bar. Figures are those of the day: "hornlark debrief" judges a sitting anew. Only sittings that came to their end
count towards a trend. In mode alerts and mode watch there are no items, and so none right.`,
		Example: `  hornlark progress
  hornlark progress --trainee kim --last 30`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return o.run() },
	}
	c.Flags().StringVar(&o.trainee, "trainee", "", "only this one")
	c.Flags().IntVar(&o.last, "last", 10, "how many of the latest sittings are listed")
	return c
}

func (o *progressOptions) run() error {
	store, err := openRecords(o.streams)
	if err != nil {
		return err
	}
	defer store.Close()
	filter := record.Filter{Trainee: o.trainee}
	sittings, err := store.Summaries(filter)
	if err != nil {
		return err
	}
	if len(sittings) == 0 {
		if o.trainee != "" {
			return unknownTrainee(store, o.trainee)
		}
		return errNoRecords
	}
	incidents, err := store.Incidents(filter)
	if err != nil {
		return err
	}
	_, err = io.WriteString(o.out, progressText(sittings, incidents, max(0, o.last)))
	return err
}

// unknownTrainee says who there is instead.
func unknownTrainee(store *record.Store, name string) error {
	names, err := store.Trainees()
	if err != nil {
		return err
	}
	if len(names) == 0 {
		return fmt.Errorf("there are no records of %q, nor of any other trainee", name)
	}
	return fmt.Errorf("there are no records of %q; there are of %s", name, strings.Join(names, ", "))
}

// progressText is the whole page.
func progressText(sittings []record.Summary, incidents []record.Incident, last int) string {
	var b strings.Builder
	byTrainee := group(sittings, func(s record.Summary) string { return s.Trainee })
	met := map[string][]record.Incident{}
	for _, g := range group(incidents, func(i record.Incident) string { return i.Trainee }) {
		met[g.key] = g.list
	}
	for _, g := range byTrainee {
		traineeHead(&b, g.list)
		scenarioTrends(&b, g.list)
		abnormalTrends(&b, met[g.key])
		b.WriteByte('\n')
	}
	latestSittings(&b, sittings, last)
	fmt.Fprintf(&b, "\n%s\n", strings.Join(debrief.CautionLines(reportWidth), "\n"))
	return b.String()
}

// grouped is some values that have a key in common.
type grouped[T any] struct {
	key  string
	list []T
}

// group puts values together by their keys, in the order of the keys.
func group[T any](list []T, key func(T) string) []grouped[T] {
	place := map[string]int{}
	var out []grouped[T]
	for _, v := range list {
		k := key(v)
		i, known := place[k]
		if !known {
			i = len(out)
			place[k] = i
			out = append(out, grouped[T]{key: k})
		}
		out[i].list = append(out[i].list, v)
	}
	slices.SortFunc(out, func(a, b grouped[T]) int { return cmp.Compare(a.key, b.key) })
	return out
}

func traineeHead(b *strings.Builder, list []record.Summary) {
	ended, passed := 0, 0
	for _, s := range list {
		if s.State == record.Complete {
			ended++
		}
		if s.Passed {
			passed++
		}
	}
	fmt.Fprintf(b, "%s: %s, %d of them complete, %d passed, the latest on %s\n",
		strings.ToUpper(someone(list[0].Trainee)), count(len(list), "sitting"), ended, passed, clockTime(list[len(list)-1].Started))
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func scenarioTrends(b *strings.Builder, list []record.Summary) {
	for _, g := range group(list, func(s record.Summary) string { return s.Scenario + ", " + s.Mode }) {
		var right, reaction []float64
		ended, passed := 0, 0
		for _, s := range g.list {
			if s.State != record.Complete {
				continue
			}
			ended++
			if s.Passed {
				passed++
			}
			if s.Asked > 0 {
				right = append(right, 100*float64(s.Right)/float64(s.Asked))
			}
			if s.ReactionMS != nil {
				reaction = append(reaction, *s.ReactionMS/1000)
			}
		}
		fmt.Fprintf(b, "  %s: %s, %d complete, %d passed\n", g.key, count(len(g.list), "sitting"), ended, passed)
		trend(b, "items right", right, "%.0f %%", 100)
		trend(b, "median reaction", reaction, "%.2f s", 0)
	}
}

func abnormalTrends(b *strings.Builder, list []record.Incident) {
	for _, g := range group(list, func(i record.Incident) string { return i.Abnormal }) {
		var detection, handling []float64
		good := 0
		for _, i := range g.list {
			if well(i) {
				good++
			}
			if i.DetectionMS != nil && !i.Harmless {
				detection = append(detection, *i.DetectionMS/1000)
			}
			if i.HandlingMS != nil && !i.Harmless {
				handling = append(handling, *i.HandlingMS/1000)
			}
		}
		what, how := "abnormal", "handled"
		if g.list[0].Harmless {
			what, how = "look-alike", "left alone"
		}
		fmt.Fprintf(b, "  %s %s: %s, %d %s\n", what, g.key, "met "+count(len(g.list), "time"), good, how)
		trend(b, "noticed after", detection, "%.2f s", 0)
		trend(b, "over after", handling, "%.2f s", 0)
	}
}

// trend is one line: the first and the latest value, the median, how many there are, and a plot from 0 to top, or, if
// that is 0, to the greatest.
func trend(b *strings.Builder, name string, values []float64, format string, top float64) {
	if len(values) == 0 {
		return
	}
	figure := func(v float64) string { return fmt.Sprintf(format, v) }
	if top == 0 {
		top = slices.Max(values[max(0, len(values)-maxBars):])
	}
	spread := figure(values[0])
	if len(values) > 1 {
		spread += " to " + figure(values[len(values)-1])
	}
	fmt.Fprintf(b, "    %-16s %-16s median %-7s of %-5d |%s| %s\n", name, spread, figure(median(values)), len(values), bars(values, top), figure(top))
}

// median is the middle value, or the mean of the two middle ones.
func median(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

// well reports whether an abnormal was dealt with, or a look-alike left alone.
func well(i record.Incident) bool {
	switch score.Outcome(i.Outcome) {
	case score.Handled, score.HandLate, score.LeftAlone:
		return true
	}
	return false
}

// maxBars is how many values a plot has room for.
const maxBars = 16

// heights are the bars of a plot, from next to nothing to all.
var heights = []rune("▁▂▃▄▅▆▇█")

// bars plots the latest values between 0 and top.
func bars(values []float64, top float64) string {
	values = values[max(0, len(values)-maxBars):]
	plot := make([]rune, len(values))
	for i, v := range values {
		share := min(max(v/max(top, 0.001), 0), 1)
		plot[i] = heights[min(int(share*float64(len(heights))), len(heights)-1)]
	}
	return string(plot)
}

func latestSittings(b *strings.Builder, list []record.Summary, last int) {
	list = list[max(0, len(list)-last):]
	if len(list) == 0 {
		return
	}
	fmt.Fprintln(b, "LATEST SITTINGS")
	w := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  ID\tSTARTED\tTRAINEE\tSCENARIO\tRESULT\tRIGHT\tREACTION")
	for _, s := range slices.Backward(list) {
		right, reaction := "-", "-"
		if s.Asked > 0 {
			right = fmt.Sprintf("%d of %d", s.Right, s.Asked)
		}
		if s.ReactionMS != nil {
			reaction = fmt.Sprintf("%.2f s of %d", *s.ReactionMS/1000, s.Reactions)
		}
		fmt.Fprintf(w, "  %d\t%s\t%s\t%s\t%s\t%s\t%s\n", s.ID, clockTime(s.Started), someone(s.Trainee), s.Scenario, verdict(s), right, reaction)
	}
	w.Flush()
}

// verdict is how a sitting ended, in a word or two.
func verdict(s record.Summary) string {
	switch {
	case s.State == record.Unended:
		return "incomplete"
	case s.State == record.Stopped:
		return "stopped"
	case s.Passed:
		return "passed"
	}
	return "not passed"
}
