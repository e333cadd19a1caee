package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hornlark/drill/library"
	"hornlark/drill/practice"
	"hornlark/drill/record"
)

// planOptions are what "hornlark plan" was told.
type planOptions struct {
	streams
	trainee, profile, procedure string
	by, at                      string
	minutes                     int
	rest, own                   []string
	asJSON, force               bool
	calendar, page, plot        output
}

func newPlan(s streams) *cobra.Command {
	o := &planOptions{streams: s}
	c := &cobra.Command{
		Use:   "plan --by DATE",
		Short: "Plan what to practise on each day until a day to come",
		Long: `Lays out practice from today until a day to come, such as that of a simulator session, so that as much as possible is known on
it; and says what is expected then, with this practice and without any, and what stays at risk. It goes by what the sittings of the
trainee showed. Make it again whenever you like: it goes by what is known then, and a day that was missed is simply not in it.

Of abnormals it says how many, and never which. Expected figures are those of a model of memory that was made for vocabulary and
facts: an estimate, and no promise. Once there is enough to go by it is fitted to the trainee, if that foretells later sittings better
than they were foretold without; the plan says which it goes by, and how what was said so far came true.`,
		Example: `  hornlark plan --by 2027-03-12 --minutes 20
  hornlark plan --by 2027-03-12 --rest sat,sun --trainee kim
  hornlark plan --by 2027-03-12 --procedure dunlin-start --ics plan.ics --at 18:30
  hornlark plan --html plan.html`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if c.Flags().Changed("minutes") && o.minutes < 1 {
				return usageError{notMinutes(o.minutes)}
			}
			return o.run(c.Context())
		},
	}
	f := c.Flags()
	f.StringVar(&o.by, "by", "", "the day, like 2027-03-12 (default: as last time); practice ends on the day before")
	f.IntVar(&o.minutes, "minutes", 0, fmt.Sprintf("time for practice on a day, 1 to %d (default: as last time, or %d)", mostPlanned, planMinutes))
	f.StringSliceVar(&o.rest, "rest", nil, "days of the week without practice, like sat,sun")
	f.StringVar(&o.at, "at", planAt, "when practice begins, in the calendar")
	f.StringVar(&o.trainee, "trainee", "", "whose plan it is; otherwise of whoever sits here")
	f.StringVar(&o.profile, "profile", "", "the aircraft; otherwise that of the latest sitting")
	f.StringVar(&o.procedure, "procedure", "", "this procedure alone, with what its scenarios bring in, and the limits")
	f.StringSliceVar(&o.own, "with", nil, "read these YAML files or folders too")
	f.BoolVar(&o.asJSON, "json", false, "give the plan as one JSON object")
	f.StringVar(&o.calendar.path, "ics", "", "write it to this file as a calendar (iCalendar)")
	f.StringVar(&o.page.path, "html", "", "write it to this file as a page that needs nothing else")
	f.StringVar(&o.plot.path, "svg", "", "plot what is expected to be known on each day to this file")
	for _, file := range o.files() {
		file.private = true
	}
	f.BoolVar(&o.force, "force", false, forceHelp)
	must(c.RegisterFlagCompletionFunc("trainee", completeTrainees))
	must(c.RegisterFlagCompletionFunc("profile", completeNames(library.Profile)))
	must(c.RegisterFlagCompletionFunc("procedure", completeNames(library.Procedure)))
	return c
}

func (o *planOptions) run(ctx context.Context) error {
	if o.trainee == "" {
		var err error
		if o.trainee, err = remembered(); err != nil {
			return err
		}
	}
	kept, err := o.aimed()
	if err != nil {
		return err
	}
	p, err := o.layOut()
	if err != nil {
		return err
	}
	if now := (aim{o.trainee, o.by, o.minutes, o.resting()}); o.trainee != "" && !reflect.DeepEqual(now, kept) {
		if err := keepAim(now); err != nil {
			fmt.Fprintln(o.err, err)
		}
	}
	for i, to := range []func(io.Writer) error{p.calendar, p.page().Write, p.page().WritePlot} {
		file := o.files()[i]
		if file.path == "" {
			continue
		}
		file.force = o.force
		if err := file.write(ctx, o.streams, to); err != nil {
			return err
		}
	}
	if o.asJSON {
		return printJSON(o.out, p.json())
	}
	_, err = fmt.Fprintln(o.out, strings.Join(p.text(), "\n"))
	return err
}

// files are what it is written to where that is asked for: a calendar, a page, a plot.
func (o *planOptions) files() []*output { return []*output{&o.calendar, &o.page, &o.plot} }

// aimed takes what was not given from what the trainee practises towards, and gives that.
func (o *planOptions) aimed() (aim, error) {
	if err := record.CheckTrainee(o.trainee); err != nil {
		return aim{}, usageError{err}
	}
	kept, err := aimOf(o.trainee)
	if err != nil {
		fmt.Fprintln(o.err, err)
	}
	if o.by == "" {
		o.by = kept.By
	}
	if o.minutes == 0 {
		o.minutes = cmp.Or(kept.Minutes, planMinutes)
	}
	if o.rest == nil {
		o.rest = kept.Rest
	}
	return kept, nil
}

// planMinutes is the time for practice on a day where none is given or kept.
const planMinutes = 20

// planAt is when practice begins on a day where nothing else is given.
const planAt = "19:00"

// mostPlanned is how many minutes a day can have for practice.
const mostPlanned = 240

func notMinutes(n int) error {
	return fmt.Errorf("--minutes is %d, which leaves nothing to plan with; give 1 to %d", n, mostPlanned)
}

// resting is the days of rest as they are kept.
func (o *planOptions) resting() (days []string) {
	for _, day := range o.rest {
		days = append(days, strings.ToLower(strings.TrimSpace(day)))
	}
	return days
}

// layOut makes the plan.
func (o *planOptions) layOut() (*laidOut, error) {
	days, err := planDays(o, recordsNow())
	if err != nil {
		return nil, usageError{err}
	}
	lib, err := openLibrary(o.own)
	if err != nil {
		return nil, err
	}
	store, err := openRecords(o.streams)
	if err != nil {
		return nil, err
	}
	defer store.Close()
	known, latest, err := o.known(store)
	if err != nil {
		return nil, err
	}
	p := &laidOut{options: o, lib: lib, known: known, days: days}
	if err := p.choose(latest); err != nil {
		return nil, err
	}
	p.Plan = practice.MakePlan(known, &p.course)
	return p, nil
}

// known is what is known, and the profile of the latest sitting, if there is one. Of a trainee without a name nothing is.
func (o *planOptions) known(store *record.Store) (*practice.Known, string, error) {
	if o.trainee == "" {
		return practice.NewKnown(practice.DefaultWeights), "", nil
	}
	known, err := knowledgeOf(store, o.trainee)
	if err != nil {
		return nil, "", err
	}
	latest, err := latestOf(store, o.trainee, 1)
	if err != nil || len(latest) == 0 {
		return known, "", err
	}
	return known, latest[0].Profile, nil
}

// planSpan is the days that are planned.
type planSpan struct {
	now, from, day time.Time // from is today at the hour of practice, day the day at its beginning
	days           int
	rest           [7]bool // by time.Weekday
}

// planDays reads which days are meant.
func planDays(o *planOptions, now time.Time) (planSpan, error) {
	span := planSpan{now: now}
	if o.by == "" {
		return span, errors.New("until when? Add --by with the day, like --by 2027-03-12")
	}
	day, err := time.ParseInLocation(time.DateOnly, o.by, now.Location())
	if err != nil {
		return span, fmt.Errorf("--by %q is no day; write it like 2027-03-12", o.by)
	}
	at, err := time.Parse("15:04", o.at)
	if err != nil {
		return span, fmt.Errorf("--at %q is no time; write it like 18:30", o.at)
	}
	if o.minutes < 1 || o.minutes > mostPlanned {
		return span, notMinutes(o.minutes)
	}
	for _, name := range o.rest {
		i := slices.IndexFunc(weekdays[:], func(w string) bool { return strings.EqualFold(w, strings.TrimSpace(name)) })
		if i < 0 {
			return span, fmt.Errorf("--rest %q is no day of the week; write %s, with commas between them%s", name, strings.Join(weekdays[:], ", "), meant(strings.TrimSpace(name), weekdays[:]))
		}
		span.rest[i] = true
	}
	y, m, d := now.Date()
	span.from = time.Date(y, m, d, at.Hour(), at.Minute(), 0, 0, now.Location())
	span.day = day
	span.days = daysBetween(now, day)
	switch {
	case span.days < 0:
		return span, fmt.Errorf("--by %s has gone by: today is %s", o.by, now.Format(time.DateOnly))
	case span.days == 0:
		return span, fmt.Errorf("--by %s is today: there is no day left to plan; the day before is the latest on which a plan says what to practise", o.by)
	case span.days > practice.MostDays:
		return span, fmt.Errorf("--by %s is %d days away; a plan reaches %d days ahead", o.by, span.days, practice.MostDays)
	}
	return span, nil
}

// weekdays are the days of the week as they are given, by time.Weekday.
var weekdays = [7]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// daysBetween is how many calendar days lie between two moments, whatever the clocks do in between.
func daysBetween(from, to time.Time) int {
	date := func(t time.Time) time.Time {
		y, m, d := t.Date()
		return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	}
	return int(date(to).Sub(date(from)) / (24 * time.Hour))
}

// laidOut is a plan with what it is of.
type laidOut struct {
	*practice.Plan
	options *planOptions
	lib     *library.Library
	known   *practice.Known
	days    planSpan
	profile string
	course  practice.Course
	met     int // things that were met
	things  int // that there are
}

// choose settles what is planned: of which aircraft, and which units.
func (p *laidOut) choose(latest string) error {
	o := p.options
	p.profile = o.profile
	if o.procedure != "" {
		proc, err := p.lib.Procedure(o.procedure)
		if err != nil {
			return err
		}
		if p.profile != "" && p.profile != proc.Profile {
			return usageError{fmt.Errorf("%s is a procedure of %s and not of %s; leave --profile away", o.procedure, proc.Profile, p.profile)}
		}
		p.profile = proc.Profile
	}
	if p.profile == "" {
		if _, err := p.lib.Profile(latest); err == nil {
			p.profile = latest
		}
	}
	if p.profile == "" {
		bundle, err := p.lib.Resolve(suggested)
		if err != nil {
			return err
		}
		p.profile = bundle.Profile.Name
	}
	p.lib, _ = p.lib.For(p.profile)
	units, err := unitsOf(p.lib, p.profile)
	if err != nil {
		return err
	}
	if o.procedure != "" {
		units = slices.DeleteFunc(units, func(u practice.Unit) bool { return !belongs(p.lib, &u, o.procedure) })
	}
	for i := range units {
		for _, t := range units[i].Things {
			p.things++
			if p.known.States[t] != nil {
				p.met++
			}
		}
	}
	p.course = practice.Course{Units: units, From: p.days.from, Days: p.days.days, Budget: func(day int) float64 {
		if p.days.rest[p.days.from.AddDate(0, 0, day).Weekday()] {
			return 0
		}
		return float64(o.minutes * 60)
	}}
	return nil
}

// belongs reports whether a unit is practised with a procedure: its phases, what its scenarios bring in, the limits.
func belongs(lib *library.Library, u *practice.Unit, procedure string) bool {
	switch u.Kind {
	case practice.PhaseUnit:
		return u.Of == procedure
	case practice.AbnormalUnit:
		for _, s := range lib.Scenarios() {
			if s.Procedure == procedure && slices.Contains(s.Abnormals(), u.Name) {
				return true
			}
		}
		return false
	}
	return true
}
