package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hornlark/drill/debrief"
	"hornlark/drill/debrief/page"
	"hornlark/drill/record"
	"hornlark/drill/score"
)

// progressOptions are what "hornlark progress" was told.
type progressOptions struct {
	streams
	trainee string
	last    int
	html    output
}

func newProgress(s streams) *cobra.Command {
	o := &progressOptions{streams: s}
	c := &cobra.Command{
		Use:   "progress",
		Short: "Show progress: trends by scenario and by abnormal, and the latest sittings",
		Long: `Shows, for each trainee, how the sittings of each scenario went from the first to the latest, how each abnormal was
met, and the latest sittings with their numbers, which "hornlark debrief" and "hornlark replay" take.

A bar stands for a sitting, or for one time that an abnormal was met; the latest is at the right, and there are 16 at
the most; the figure behind them is a full bar. Figures are those of the day: "hornlark debrief" scores a sitting again. Only complete
sittings count towards a trend. Under the policies alerts and watch there are no items, and so none right.

With --html all of it is one page for a browser or for paper, with a plot for each figure. It needs no network.`,
		Example: `  hornlark progress
  hornlark progress --trainee kim --last 30
  hornlark progress --html class.html`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return o.run(c.Context()) },
	}
	c.Flags().StringVar(&o.trainee, "trainee", "", "only this one")
	c.Flags().StringVar(&o.html.path, "html", "", "write it to this file as a page with plots")
	must(c.RegisterFlagCompletionFunc("trainee", completeTrainees))
	o.html.private = true
	o.html.forceFlag(c)
	c.Flags().IntVar(&o.last, "last", 10, "how many of the latest sittings are listed")
	return c
}

func (o *progressOptions) run(ctx context.Context) error {
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
	injections, err := store.Injections(filter)
	if err != nil {
		return err
	}
	progress := progressOf(sittings, injections, max(0, o.last))
	if o.html.path != "" {
		p := page.Progress{Progress: progress}
		return o.html.write(ctx, o.streams, p.Write)
	}
	_, err = io.WriteString(o.out, progress.Text(reportWidth))
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

// progressOf puts together how it went: the oldest first, and the latest sittings of all. Injections that are in no count are
// left out.
func progressOf(sittings []record.Summary, injections []record.Injection, last int) *debrief.Progress {
	var p debrief.Progress
	met := map[string][]record.Injection{}
	injections = slices.DeleteFunc(injections, uncounted)
	for _, g := range group(injections, func(i record.Injection) string { return i.Trainee }) {
		met[g.key] = g.list
	}
	for _, g := range group(sittings, func(s record.Summary) string { return s.Trainee }) {
		who := personOf(g.list)
		who.Abnormals = abnormalCourses(met[g.key])
		p.People = append(p.People, who)
	}
	for _, s := range slices.Backward(sittings[max(0, len(sittings)-last):]) {
		p.Latest = append(p.Latest, lineOf(s))
	}
	return &p
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

func personOf(list []record.Summary) debrief.Person {
	p := debrief.Person{
		Name: someone(list[0].Trainee), Sittings: len(list), Latest: clockTime(list[len(list)-1].Started), Scenarios: scenarioCourses(list),
	}
	for _, s := range list {
		if s.State == record.Complete {
			p.Complete++
		}
		if s.Passed {
			p.Passed++
		}
	}
	return p
}

func scenarioCourses(list []record.Summary) []debrief.Course {
	var courses []debrief.Course
	for _, g := range group(list, func(s record.Summary) string { return s.Scenario + ", " + s.Policy }) {
		right := debrief.Trend{Name: "items right", Format: "%.0f %%", Top: 100}
		reaction := debrief.Trend{Name: "median reaction", Format: "%.2f s"}
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
				right.Points = append(right.Points, debrief.Point{On: s.Started, Value: 100 * float64(s.Right) / float64(s.Asked)})
			}
			addSeconds(&reaction, s.Started, s.ReactionMS)
		}
		courses = append(courses, debrief.Course{
			Name:   g.key,
			Words:  fmt.Sprintf("%s, %d complete, %d passed", debrief.Count(len(g.list), "sitting"), ended, passed),
			Trends: withPoints(right, reaction),
		})
	}
	return courses
}

func abnormalCourses(list []record.Injection) []debrief.Course {
	var courses []debrief.Course
	for _, g := range group(list, func(i record.Injection) string { return i.Abnormal }) {
		noticed := debrief.Trend{Name: "noticed after", Format: "%.2f s"}
		over := debrief.Trend{Name: "over after", Format: "%.2f s"}
		good := 0
		for _, i := range g.list {
			if well(i) {
				good++
			}
			if !i.Harmless {
				addSeconds(&noticed, i.Started, i.DetectionMS)
				addSeconds(&over, i.Started, i.HandlingMS)
			}
		}
		what, how := "abnormal", "handled"
		if g.list[0].Harmless {
			what, how = "look-alike", "left alone"
		}
		courses = append(courses, debrief.Course{
			Name:   what + " " + g.key,
			Words:  fmt.Sprintf("met %s, %d %s", debrief.Count(len(g.list), "time"), good, how),
			Trends: withPoints(noticed, over),
		})
	}
	return courses
}

func addSeconds(t *debrief.Trend, on time.Time, ms *float64) {
	if ms != nil {
		t.Points = append(t.Points, debrief.Point{On: on, Value: *ms / 1000})
	}
}

// withPoints leaves out the trends of which nothing is known.
func withPoints(trends ...debrief.Trend) []debrief.Trend {
	return slices.DeleteFunc(trends, func(t debrief.Trend) bool { return len(t.Points) == 0 })
}

// well reports whether an abnormal was handled, or a look-alike left alone.
func well(i record.Injection) bool {
	outcome := score.Outcome(i.Outcome)
	return outcome == score.Handled || outcome == score.LeftAlone
}

// uncounted reports whether an injection came to nothing that says anything of the trainee.
func uncounted(i record.Injection) bool {
	switch score.Outcome(i.Outcome) {
	case score.Unseen, score.Stood, score.Cleared:
		return true
	}
	return false
}

func lineOf(s record.Summary) debrief.Line {
	l := debrief.Line{
		ID: s.ID, Started: clockTime(s.Started), Trainee: someone(s.Trainee), Scenario: s.Scenario, Verdict: verdict(s), Right: "-", Reaction: "-",
	}
	if s.Asked > 0 {
		l.Right = fmt.Sprintf("%d of %d", s.Right, s.Asked)
	}
	if s.ReactionMS != nil {
		l.Reaction = fmt.Sprintf("%.2f s of %d", *s.ReactionMS/1000, s.Reactions)
	}
	return l
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
