package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hornlark/cmd/hornlark/outfile"
	"hornlark/drill/debrief"
	"hornlark/drill/debrief/page"
	"hornlark/drill/fault"
	"hornlark/drill/practice"
	"hornlark/drill/record"
	"hornlark/drill/score"
)

// progressOptions are what "hornlark progress" was told.
type progressOptions struct {
	streams
	trainees  []string
	last      int
	class     bool
	aliases   bool
	html, csv output
}

func newProgress(s streams) *cobra.Command {
	o := &progressOptions{streams: s}
	c := &cobra.Command{
		Use:   "progress",
		Short: "Show progress: what got better, what is worst, whether speed cost slips, a class side by side",
		Long: `Answers, for each trainee and whatever was sat, from what the sittings showed:

  then and now      the latest complete sitting against the one before it, and against the first
  speed and slips   whether it got faster, and whether that came with more slips; by halves of the sittings, with intervals
  learning curve    the power law of practice, T = a N^-b, with its fit, or that it is not supported
  worst, best       items, by the latest 8 times that they were met; and how every abnormal was met

Only sittings of the same procedure, aircraft and policy are compared, over what both of them asked. A sitting that somebody stopped is not
complete: what was reached in it counts for items and abnormals, and nothing else; of one that was killed nothing counts. Intervals take each item of a sitting by itself, which
makes them rather too narrow than too wide. Abnormals are named once they have been met.

Then follow the figures of each scenario and abnormal from the first to the latest, and the latest sittings with their numbers, which
"hornlark debrief" and "hornlark replay" take. A bar stands for a sitting, or for one time that an abnormal was met; the latest is
at the right, and there are 10 at the most; the figure behind them is a full bar. Those figures are of the day: "hornlark
debrief" scores a sitting again. Under the policies alerts and watch there are no items, and so none right.

With several trainees, they also stand side by side, and with --class they do nothing else. --aliases names them by the aliases of "hornlark
export --aliases". With --html all of it is one page for a browser or for paper, with a plot for each figure; it needs no network. With --csv it is
a table (RFC 4180) with a row for each measure, and these columns:
` + progressColumnHelp(),
		Example: `  hornlark progress
  hornlark progress --trainee kim --last 30
  hornlark progress --trainee kim --trainee lee --class
  hornlark progress --html class.html --csv class.csv --aliases`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return o.run(c.Context()) },
	}
	f := c.Flags()
	f.StringArrayVar(&o.trainees, "trainee", nil, "only this one; several times for several")
	f.BoolVar(&o.class, "class", false, "nothing but trainees side by side")
	f.BoolVar(&o.aliases, "aliases", false, "an alias in place of each trainee's name")
	f.StringVar(&o.html.path, "html", "", "write it to this file as a page with plots")
	f.StringVar(&o.csv.path, "csv", "", "write it to this file as a table")
	f.IntVar(&o.last, "last", 10, "how many of the latest sittings are listed")
	must(c.RegisterFlagCompletionFunc("trainee", completeTrainees))
	o.html.private, o.csv.private = true, true
	o.html.forceFlag(c)
	return c
}

func progressColumnHelp() string {
	var b strings.Builder
	for _, c := range debrief.ProgressColumns {
		fmt.Fprintf(&b, "  %-10s %s\n", c.Name, c.Means)
	}
	b.WriteString("Measures are:\n")
	for _, m := range debrief.ProgressMeasures {
		fmt.Fprintf(&b, "  %s\n             %s\n", m.Name, m.Means)
	}
	return b.String()
}

func (o *progressOptions) run(ctx context.Context) error {
	o.csv.force = o.html.force
	if o.html.path != "" && o.html.path == o.csv.path {
		return usageError{errors.New("--html and --csv are two files; name another one for one of them")}
	}
	progress, err := o.gather()
	if err != nil {
		return err
	}
	if o.html.path == "" && o.csv.path == "" {
		_, err = io.WriteString(o.out, progress.Text(reportWidth))
		return err
	}
	p := page.Progress{Progress: progress}
	return o.writeAll(ctx, []written{{&o.html, p.Write}, {&o.csv, progress.Table}})
}

// written is a file, and what writes it.
type written struct {
	to    *output
	write func(io.Writer) error
}

// writeAll writes files all of which are begun first: if one of them has a wrong place, none is kept.
func (o *progressOptions) writeAll(ctx context.Context, list []written) error {
	list = slices.DeleteFunc(list, func(w written) bool { return w.to.path == "" })
	var files []*outfile.File
	for _, w := range list {
		f, err := w.to.create(ctx, o.streams, false)
		if err != nil {
			return err
		}
		defer f.Drop()
		files = append(files, f)
	}
	for i, w := range list {
		if err := w.write(files[i]); err != nil {
			return err
		}
	}
	for _, f := range files {
		if err := f.Keep(); err != nil {
			return err
		}
	}
	return nil
}

// gather takes progress out of the records.
func (o *progressOptions) gather() (*debrief.Progress, error) {
	store, err := openRecords(o.streams)
	if err != nil {
		return nil, err
	}
	defer store.Close()
	filter := record.Filter{}
	if len(o.trainees) == 1 {
		filter.Trainee = o.trainees[0]
	}
	sittings, err := store.Summaries(filter)
	if err != nil {
		return nil, err
	}
	injections, err := store.Injections(filter)
	if err != nil {
		return nil, err
	}
	if len(o.trainees) > 1 {
		sittings = slices.DeleteFunc(sittings, func(s record.Summary) bool { return !slices.Contains(o.trainees, s.Trainee) })
		injections = slices.DeleteFunc(injections, func(i record.Injection) bool { return !slices.Contains(o.trainees, i.Trainee) })
	}
	for _, name := range o.trainees {
		if name != "" && !slices.ContainsFunc(sittings, func(s record.Summary) bool { return s.Trainee == name }) {
			return nil, unknownTrainee(store, name)
		}
	}
	if len(sittings) == 0 {
		return nil, errNoRecords
	}
	called := calledBy(store, sittings)
	progress := progressOf(sittings, injections, max(0, o.last), called)
	if err := o.review(store, progress, sittings); err != nil {
		return nil, err
	}
	if o.aliases {
		err = o.disguise(store, progress)
	}
	return progress, err
}

// review looks back on the sittings of each trainee, and puts the trainees side by side.
func (o *progressOptions) review(store *record.Store, p *debrief.Progress, sittings []record.Summary) error {
	by := make(map[int64]*record.Summary, len(sittings))
	for i := range sittings {
		by[sittings[i].ID] = &sittings[i]
	}
	reviews := make([]*practice.Review, len(p.People))
	far := o.progress("looking back on trainees")
	defer far.end()
	for i := range p.People {
		far.at(i, len(p.People))
		who := &p.People[i]
		reviews[i] = &practice.Review{}
		if who.Key == "" {
			continue
		}
		past, err := pastOf(store, who.Key, by)
		if err != nil {
			return err
		}
		reviews[i] = practice.MakeReview(past)
		who.Review = reviews[i]
	}
	p.Class = o.class
	p.Boards, p.Abnormals = practice.SideBySide(reviews), practice.AbnormalsSideBySide(reviews)
	return nil
}

// pastOf gives the sittings of a trainee that have ended and can be judged, and how each went.
func pastOf(store *record.Store, trainee string, by map[int64]*record.Summary) ([]practice.Past, error) {
	counted, err := countedOf(store, trainee)
	if err != nil {
		return nil, err
	}
	shown, err := shownBy(store, counted)
	if err != nil {
		return nil, err
	}
	past := make([]practice.Past, 0, len(shown))
	for i := range shown {
		if s := by[counted[i].ID]; s != nil { // one that has ended since is for the next time
			shown[i].Began = s.Started // as it is shown: without a date, if the clock was wrong
			past = append(past, practice.Past{Sitting: shown[i], Complete: s.State == record.Complete, Passed: s.Passed})
		}
	}
	return past, nil
}

// disguise names everybody by an alias. Places in the lists stay what they are, and would tell names by their order: so they are put in the order of the
// aliases.
func (o *progressOptions) disguise(store *record.Store, p *debrief.Progress) error {
	alias := map[string]string{}
	for i := range p.People {
		who := &p.People[i]
		name, err := store.Alias(who.Key)
		if err != nil {
			return err
		}
		alias[who.Name] = someone(name)
		who.Key, who.Name = name, someone(name)
	}
	for i := range p.Latest {
		p.Latest[i].Trainee = alias[p.Latest[i].Trainee]
	}
	p.Sort()
	return nil
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
	if near := fault.Nearest(name, names); near != "" {
		return fmt.Errorf("there are no records of %q; did you mean %q? There are of %s", name, near, strings.Join(names, ", "))
	}
	return fmt.Errorf("there are no records of %q; there are of %s", name, strings.Join(names, ", "))
}

// progressOf puts together how it went: the oldest first, and the latest sittings of all. Injections that are in no count are
// left out.
func progressOf(sittings []record.Summary, injections []record.Injection, last int, called *debrief.Called) *debrief.Progress {
	p := debrief.Progress{Called: *called}
	met := map[string][]record.Injection{}
	injections = slices.DeleteFunc(injections, uncounted)
	for _, g := range group(injections, func(i record.Injection) string { return i.Trainee }) {
		met[g.key] = g.list
	}
	for _, g := range group(sittings, func(s record.Summary) string { return s.Trainee }) {
		who := personOf(g.list)
		who.Abnormals = abnormalCourses(met[g.key], called)
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
		Name: someone(list[0].Trainee), Key: list[0].Trainee, Sittings: len(list), Latest: clockTime(list[len(list)-1].Started), Scenarios: scenarioCourses(list),
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

func abnormalCourses(list []record.Injection, called *debrief.Called) []debrief.Course {
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
			Name:   what + " " + called.Abnormal(g.key),
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
