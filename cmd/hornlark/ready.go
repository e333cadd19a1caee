package main

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill/aircraft"
	"hornlark/drill/library"
	"hornlark/drill/practice"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
)

// readyOptions are what "hornlark ready" was told.
type readyOptions struct {
	streams
	trainee, profile, part string
	by, criteria           string
	own                    []string
	reveal, asJSON         bool
}

func newReady(s streams) *cobra.Command {
	o := &readyOptions{streams: s}
	c := &cobra.Command{
		Use:   "ready",
		Short: "Say whether a trainee is ready for a day, by an instructor's criteria: no licence",
		Long: `Says for each procedure of an aircraft, for its limits, and as a whole, what the records of a trainee show: ready, not yet, or not enough
seen yet; and why, with how far the figures can be trusted.

What counts is unannounced: a procedure gone through as a whole, from memory (--policy recall), with nothing told of what comes in between; in
the hover a watch with nothing told in which an abnormal came; of the limits ` + fmt.Sprint(practice.LeastFigures) + ` figures or more in one go. Passed is what met the criteria of its scenario. A sitting in which metal would
have been bent is never passed, and one that was broken off ends a row. Of abnormals the latest time of each counts, in whatever
sitting it came; what was told counts as not noticed. What was wrong the latest time counts as not known on the day.

Of abnormals it says how many and never which, unless an instructor adds --reveal.

The criteria are in a file (--criteria), which "hornlark check" checks. Without it they are built-in ones, which are our own choice and no
standard. ` + practice.NoLicence + `

Exit status: 0 ready as a whole, 3 not yet or not enough seen, 2 usage or bad input, 1 anything else.`,
		Example: `  hornlark ready --trainee kim
  hornlark ready --trainee kim --by 2027-03-12 --criteria mine.yaml
  hornlark ready --procedure dunlin-start --json`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return o.run() },
	}
	f := c.Flags()
	f.StringVar(&o.trainee, "trainee", "", "who; otherwise whoever sits here")
	f.StringVar(&o.by, "by", "", "the day, like 2027-03-12; otherwise that of the plan, or today")
	f.StringVar(&o.criteria, "criteria", "", "a YAML file of what is to be reached; otherwise the built-in criteria")
	f.StringVar(&o.profile, "profile", "", "the aircraft; otherwise that of the latest sitting")
	f.StringVar(&o.part, "procedure", "", `this procedure alone, or "limits"`)
	f.StringSliceVar(&o.own, "with", nil, "read these YAML files or folders too")
	f.BoolVar(&o.reveal, "reveal", false, "for the instructor: name the abnormals too")
	f.BoolVar(&o.asJSON, "json", false, "give the answer as one JSON object")
	must(c.RegisterFlagCompletionFunc("trainee", completeTrainees))
	must(c.RegisterFlagCompletionFunc("profile", completeNames(library.Profile)))
	must(c.RegisterFlagCompletionFunc("procedure", completeNames(library.Procedure)))
	return c
}

func (o *readyOptions) run() error {
	named := o.trainee != ""
	if !named {
		var err error
		if o.trainee, err = remembered(); err != nil {
			return err
		}
		if o.trainee == "" {
			return usageError{errors.New("whose readiness? Add --trainee NAME")}
		}
	}
	a := &assessed{options: o, now: recordsNow()}
	towards, err := aimOf(o.trainee)
	if err != nil {
		return err
	}
	if err := a.readDay(towards.By); err != nil {
		return usageError{err}
	}
	if a.lib, err = openLibrary(o.own); err != nil {
		return err
	}
	a.criteria = practice.DefaultCriteria()
	if o.criteria != "" {
		if a.criteria, err = a.lib.ReadCriteria(o.criteria); err != nil {
			return err
		}
	}
	store, err := openRecords(o.streams)
	if err != nil {
		return err
	}
	defer store.Close()
	if err := a.assess(store, named); err != nil {
		return err
	}
	if o.asJSON {
		err = printJSON(o.out, a.json())
	} else {
		_, err = fmt.Fprintln(o.out, strings.Join(a.text(), "\n"))
	}
	if err == nil && a.answer() != practice.IsReady {
		err = errNotReady
	}
	return err
}

// assessed is what is said of a trainee.
type assessed struct {
	options  *readyOptions
	lib      *library.Library
	all      *library.Library // the same, whatever the aircraft
	now, day time.Time        // the day at the hour of now
	criteria *practice.Criteria
	aircraft *aircraft.Profile
	parts    []*readyPart
	plans    map[string]bool // hashes of the documents that sittings went by
}

// readyPart is something that somebody can be ready for.
type readyPart struct {
	name, title string // of the procedure, or of the limits
	seen        practice.Seen
	report      *practice.ReadyReport
}

// readDay reads for which day it is: the one that is given, or that of the plan unless it has gone by, or today.
func (a *assessed) readDay(planned string) error {
	a.day = a.now
	by := cmp.Or(a.options.by, planned)
	if by == "" {
		return nil
	}
	day, err := time.ParseInLocation(time.DateOnly, by, a.now.Location())
	if err != nil {
		return fmt.Errorf("--by %q is no day; write it like 2027-03-12", by)
	}
	switch days := daysBetween(a.now, day); {
	case a.options.by == "" && (days < 0 || days > practice.MostDays):
	case days < 0:
		return fmt.Errorf("--by %s has gone by: today is %s", by, a.now.Format(time.DateOnly))
	case days > practice.MostDays:
		return fmt.Errorf("--by %s is %d days away; nothing can be said of more than %d days ahead", by, days, practice.MostDays)
	default:
		a.day = a.now.AddDate(0, 0, days)
	}
	return nil
}

// answer is the one for all parts together.
func (a *assessed) answer() practice.Readiness {
	reports := make([]*practice.ReadyReport, len(a.parts))
	for i, p := range a.parts {
		reports[i] = p.report
	}
	return practice.Whole(reports...)
}

// assess holds what the records show against the criteria.
func (a *assessed) assess(store *record.Store, named bool) error {
	counted, err := countedOf(store, a.options.trainee)
	if err != nil {
		return err
	}
	if len(counted) == 0 && named {
		if names, err := store.Trainees(); err != nil || !slices.Contains(names, a.options.trainee) {
			return errors.Join(err, unknownTrainee(store, a.options.trainee))
		}
	}
	sittings, err := shownBy(store, counted)
	if err != nil {
		return err
	}
	known, err := knowledgeOf(store, a.options.trainee)
	if err != nil {
		return err
	}
	latest := ""
	if len(sittings) > 0 {
		latest = sittings[len(sittings)-1].Profile
	}
	if err := a.choose(latest); err != nil {
		return err
	}
	if err := a.look(store, counted, sittings); err != nil {
		return err
	}
	for _, p := range a.parts {
		p.report = practice.Ready(known, &p.seen, a.criteria, a.day)
	}
	return nil
}

// choose settles of which aircraft it is, and which parts of it count.
func (a *assessed) choose(latest string) error {
	wanted := a.criteria.Parts
	if a.options.part != "" {
		wanted = []string{a.options.part}
	}
	profile, err := a.profileOf(wanted, latest)
	if err != nil {
		return err
	}
	if a.aircraft, err = a.lib.Profile(profile); err != nil {
		return err
	}
	a.all = a.lib
	a.lib, _ = a.lib.For(profile)
	all, err := a.partsOf(profile)
	if err != nil {
		return err
	}
	for _, p := range all {
		if len(wanted) == 0 || slices.Contains(wanted, p.name) {
			a.parts = append(a.parts, p)
		}
	}
	if len(a.parts) == 0 {
		return usageError{fmt.Errorf("%s has none of the parts that are asked for; it has %s", a.aircraft.Title, strings.Join(partNames(all), ", "))}
	}
	return nil
}

// profileOf is the aircraft that is asked for, or that of the procedures that are, or that of the latest sitting, or the one that a
// beginner begins with.
func (a *assessed) profileOf(wanted []string, latest string) (string, error) {
	of := ""
	for _, name := range wanted {
		if name == practice.LimitsName {
			continue
		}
		proc, err := a.lib.Procedure(name)
		if err != nil {
			return "", err
		}
		if of == "" || proc.Profile == latest {
			of = proc.Profile
		}
		if a.options.part != "" && a.options.profile != "" && a.options.profile != of {
			return "", usageError{fmt.Errorf("%s is a procedure of %s and not of %s; leave --profile away", name, of, a.options.profile)}
		}
	}
	switch {
	case a.options.profile != "":
		return a.options.profile, nil
	case of != "":
		return of, nil
	}
	if _, err := a.lib.Profile(latest); err == nil {
		return latest, nil
	}
	bundle, err := a.lib.Resolve(suggested)
	if err != nil {
		return "", err
	}
	return bundle.Profile.Name, nil
}

// partNames names parts as criteria do.
func partNames(parts []*readyPart) []string {
	list := make([]string, len(parts))
	for i, p := range parts {
		list[i] = p.name
	}
	return list
}

// partsOf gives what somebody can be ready for with an aircraft: flows first, then watches, then its limits. A procedure that no scenario
// goes through with the trainee is none.
func (a *assessed) partsOf(profile string) (parts []*readyPart, err error) {
	units, err := unitsOf(a.lib, profile)
	if err != nil {
		return nil, err
	}
	for _, kind := range []practice.PartKind{practice.FlowPart, practice.WatchPart} {
		for _, proc := range a.lib.Procedures() {
			if proc.Profile != profile || a.kindOf(proc.Name) != kind {
				continue
			}
			p := &readyPart{name: proc.Name, title: proc.Title, seen: practice.Seen{Kind: kind}}
			for i := range units {
				u := &units[i]
				if u.Kind == practice.LimitsUnit || !belongs(a.lib, u, proc.Name) {
					continue
				}
				p.seen.Things = append(p.seen.Things, u.Things...)
				if u.Kind == practice.AbnormalUnit {
					p.seen.Abnormals = append(p.seen.Abnormals, u.Name)
				}
			}
			parts = append(parts, p)
		}
	}
	for i := range units {
		if u := &units[i]; u.Kind == practice.LimitsUnit {
			parts = append(parts, &readyPart{name: practice.LimitsName, title: u.Title, seen: practice.Seen{Kind: practice.LimitsPart, Things: u.Things}})
		}
	}
	return parts, nil
}

// kindOf tells a procedure that the trainee goes through from one in which nothing flows; empty: no scenario is about it.
func (a *assessed) kindOf(procedure string) (kind practice.PartKind) {
	for _, s := range a.lib.Scenarios() {
		if s.Procedure != procedure {
			continue
		}
		switch policy, _ := scenario.PolicyOf(s.Policy); policy.Flow {
		case scenario.Checklist:
			return practice.FlowPart
		case scenario.Nothing:
			kind = practice.WatchPart
		}
	}
	return kind
}

// look sorts what the sittings showed by parts, and judges those that were unannounced.
func (a *assessed) look(store *record.Store, counted []record.Counted, sittings []practice.Sitting) error {
	simple := func(abnormal string) bool {
		found, err := a.lib.Abnormal(abnormal)
		return err == nil && len(found.Actions) == 0
	}
	a.plans = map[string]bool{}
	for i := range counted {
		a.plans[counted[i].Plan] = true
	}
	far := a.options.progress("reading sittings")
	defer far.end()
	plans := desk.Plans{}
	for i := range sittings {
		far.at(i, len(sittings))
		s := &sittings[i]
		if s.Profile != a.aircraft.Name {
			continue
		}
		meetings := practice.MeetingsOf(s, simple)
		for _, p := range a.parts {
			for _, m := range meetings {
				if slices.Contains(p.seen.Abnormals, m.Abnormal) {
					p.seen.Meetings = append(p.seen.Meetings, m)
				}
			}
			if p.name != s.Procedure && p.seen.Kind != practice.LimitsPart || !practice.Unannounced(p.seen.Kind, &scenario.Scenario{}, scenario.PolicyName(s.Policy)) {
				continue
			}
			attempt, err := a.attempt(store, plans, p.seen.Kind, counted[:i+1])
			if err != nil {
				return err
			}
			if attempt != nil {
				p.seen.Attempts = append(p.seen.Attempts, *attempt)
			}
		}
	}
	return nil
}

// attempt judges the latest of the sittings; nil if it was not unannounced.
func (a *assessed) attempt(store *record.Store, plans desk.Plans, kind practice.PartKind, counted []record.Counted) (*practice.Attempt, error) {
	last := &counted[len(counted)-1]
	found, err := store.Sittings(record.Filter{ID: last.ID})
	if err != nil {
		return nil, err
	}
	if len(found) == 0 {
		return nil, record.ErrGone
	}
	ex, err := plans.Exercise(store, found[0])
	if err != nil {
		return nil, err
	}
	if !practice.Unannounced(kind, ex.Scenario, scenario.PolicyName(found[0].Policy)) {
		return nil, nil
	}
	result, err := ex.JudgeKept(store, &found[0])
	if err != nil || result == nil {
		return nil, err
	}
	attempt, is := practice.AttemptOf(kind, result, last.Began.In(a.now.Location()))
	if !is {
		return nil, nil
	}
	if len(ex.Scenario.Abnormals()) > 0 {
		attempt.Again = cameBefore(ex.Scenario, counted)
		attempt.New = !attempt.Again
	}
	attempt.DateSet = found[0].Moved != 0
	return &attempt, nil
}

// cameBefore reports whether what came in the latest of the sittings, which went by a scenario, came in an earlier one at the same places.
func cameBefore(s *scenario.Scenario, counted []record.Counted) bool {
	last := &counted[len(counted)-1]
	return slices.ContainsFunc(counted[:len(counted)-1], func(c record.Counted) bool {
		return c.Plan == last.Plan && (s.Drawn == nil || c.Seed == last.Seed)
	})
}
