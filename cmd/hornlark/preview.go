package main

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/outfile"
	"hornlark/cmd/hornlark/screen"
	"hornlark/drill"
	"hornlark/drill/bench"
	"hornlark/drill/debrief"
	"hornlark/drill/inert"
	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

// The bounds of a preview.
const (
	previewRuns = 200     // unless it is told
	mostRuns    = 1000000 // some hours
	mostWorkers = 256
	mostFound   = 1000
	// mostCandidates are seeds that a course is chosen from: what is kept of each is little.
	mostCandidates = 20000
)

// previewOptions are what "hornlark preview" was told, beside which documents are meant.
type previewOptions struct {
	drillOptions
	runs, workers int
	runsSet       bool
	mostSet       bool
	finds         bool // seeds are searched
	courses       bool // a course is chosen
	standIn       string
	like          string // of whom the stand-in is made; empty: of nobody
	asJSON        bool
	save          output
	svg, html     output
	force         bool
	find          string // search seeds for which this holds; empty: no
	most          int    // that are found
	facts         bool   // list what can be asked
	course        int    // choose seeds for a course of so many; 0: no
	packed        output // where the course goes as a package
	named, by     string // the course, and who answers for it
	namedSet      bool   // one of them was given
}

func newPreview(s streams) *cobra.Command {
	o := &previewOptions{drillOptions: drillOptions{streams: s, virtual: true, answers: scenario.Perfect, layout: string(screen.QWERTY)}}
	c := &cobra.Command{
		Use:   "preview SCENARIO",
		Short: "For the instructor: what a scenario will do, by many sittings of a stand-in",
		Long: `Has a stand-in go through a scenario many times without a clock, each time with another seed, and tells what comes when, how often it is
noticed and handled, how often the criteria are met and which of them decides, which items are hardest, and what never comes. Nothing is kept. It is
for the instructor: it tells what will happen.

A stand-in (--trainee ` + strings.Join(bench.PersonNames(), ", ") + `) goes by what the screen shows and by what is said. What it notices it notices because
something differs from what it has learnt to expect there, by looks of a certain length, each with a chance to miss it. Its times and its slips are
estimates, from published figures of other tasks: whoever sits here may do better or worse. Compare scenarios with it, and do not foretell people.

Sitting after sitting takes the next seed from --seed on; where the scenario fixes its seed, that one is taken each time, and only the stand-in varies. The
same seeds give the same figures, whatever the number of workers. --save writes a line of JSON for each sitting, from which all of it can be counted again.

--like makes a stand-in like a trainee: their reactions and slips, out of the records, move those of the typical one, the further the more there is; it
says on how much that rests.

--find searches seeds for which a condition holds, and prints how to begin a sitting with each; --facts lists what can be asked. --course chooses seeds for
so many sittings of about the same difficulty whose surprises are as different as can be had. With --out they become a course, in a file that
"hornlark course add" installs: a scenario for each of them, called after --name and numbered, whose seed is fixed.`,
		Example: `  hornlark preview first-start
  hornlark preview cold-morning --runs 500 --trainee novice
  hornlark preview my-scenario --with my --runs 1000 --save sittings.jsonl --json
  hornlark preview recall-start --like kim
  hornlark preview cold-morning --facts
  hornlark preview cold-morning --find "rotor_area and door_open and least_gap < 40" --most 3
  hornlark preview cold-morning --course 12
  hornlark preview cold-morning --course 12 --out winter.zip --name winter --by "Skerry Sound training"`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o.scenario = args[0]
			o.seedSet = c.Flags().Changed("seed")
			o.runsSet, o.mostSet = c.Flags().Changed("runs"), c.Flags().Changed("most")
			o.namedSet = c.Flags().Changed("name") || c.Flags().Changed("by")
			o.finds, o.courses = c.Flags().Changed("find"), c.Flags().Changed("course")
			return o.run(c.Context())
		},
		ValidArgsFunction: completeNames(library.Scenario),
	}
	f := c.Flags()
	f.IntVar(&o.runs, "runs", previewRuns, fmt.Sprintf("how many sittings; with --find, seeds to search (default %d); with --course, seeds to try (default %d for each)", findRuns, seedsForOne))
	f.StringVar(&o.standIn, "trainee", "typical", "who sits: "+strings.Join(bench.PersonNames(), ", "))
	f.StringVar(&o.like, "like", "", "a stand-in like this trainee of the records, as far as they show enough; the rest is typical")
	f.Uint64Var(&o.seed, "seed", 1, "the first seed")
	f.IntVar(&o.workers, "workers", 0, "sittings at the same time (default: one for each core)")
	f.StringVar(&o.policy, "policy", "", strings.Join(scenario.PolicyNames(), ", ")+" (default: the scenario's)")
	f.StringSliceVar(&o.phases, "phases", nil, "go through these phases of the procedure alone, neighbours in their order")
	f.BoolVar(&o.asJSON, "json", false, "give the answer as one JSON object")
	f.StringVar(&o.save.path, "save", "", "write a line of JSON for each sitting to this file")
	f.StringVar(&o.svg.path, "svg", "", "write a plot of when what comes to this file")
	f.StringVar(&o.html.path, "html", "", "write a page that needs nothing else to this file")
	f.BoolVar(&o.force, "force", false, forceHelp)
	f.StringVar(&o.find, "find", "", "search seeds for which this condition holds")
	f.IntVar(&o.most, "most", 5, "with --find: how many to find")
	f.BoolVar(&o.facts, "facts", false, "list what --find can ask")
	f.IntVar(&o.course, "course", 0, "choose seeds for a course of so many sittings")
	f.StringVar(&o.packed.path, "out", "", "with --course: write the course to this file, as a package")
	f.StringVar(&o.named, "name", "", "with --out: the short name of the course (default: that of the scenario, and -course)")
	f.StringVar(&o.by, "by", "", "with --out: who makes the course and answers for it")
	f.StringSliceVar(&o.own, "with", nil, "read these YAML files or folders too")
	must(c.RegisterFlagCompletionFunc("trainee", words(bench.PersonNames()...)))
	must(c.RegisterFlagCompletionFunc("like", completeTrainees))
	c.MarkFlagsMutuallyExclusive("trainee", "like")
	c.MarkFlagsMutuallyExclusive("find", "facts", "course")
	must(c.RegisterFlagCompletionFunc("policy", words(scenario.PolicyNames()...)))
	return c
}

// preview is a scenario that is ready to be sat by a stand-in.
type preview struct {
	*previewOptions
	*bench.Forecast
	bundle *library.Bundle
	rest   *bench.Rest // of a stand-in like somebody
	fixed  bool        // the scenario fixes its seed
}

// limits says what is wrong with the numbers.
func (o *previewOptions) limits() error {
	switch {
	case o.finds && !o.runsSet:
		o.runs = findRuns
	case o.courses && !o.runsSet:
		o.runs = seedsForOne * max(1, o.course)
	}
	if o.workers == 0 {
		o.workers = min(runtime.GOMAXPROCS(0), mostWorkers)
	}
	switch {
	case o.runs < 1 || o.runs > mostRuns:
		return usageError{fmt.Errorf("--runs %d: write a number from 1 to %d", o.runs, mostRuns)}
	case o.workers < 1 || o.workers > mostWorkers:
		return usageError{fmt.Errorf("--workers %d: write a number from 1 to %d, or leave it out", o.workers, mostWorkers)}
	case o.seed+uint64(o.runs) < o.seed:
		return usageError{fmt.Errorf("--seed %d: there are no %d seeds from there on", o.seed, o.runs)}
	case (o.finds || o.courses || o.facts) && (o.save.path != "" || o.svg.path != "" || o.html.path != ""):
		return usageError{errors.New("--save, --svg and --html go with a preview alone, without --find, --facts and --course")}
	case o.packed.path != "" && !o.courses:
		return usageError{errors.New("--out is where a course goes; add --course and how many sittings")}
	case o.packed.path == "" && o.namedSet:
		return usageError{errors.New("--name and --by are of a course that is written to a file; add --out FILE")}
	case o.packed.path != "" && strings.TrimSpace(o.by) == "":
		return usageError{errors.New("a course says who answers for it; add --by NAME")}
	case o.packed.path == "-" && o.asJSON:
		return usageError{errors.New("only one of --json and --out can go to the standard output")}
	case o.mostSet && !o.finds:
		return usageError{errors.New("--most says how many --find is to find; add --find")}
	case o.finds && (o.most < 1 || o.most > mostFound):
		return usageError{fmt.Errorf("--most %d: write a number from 1 to %d", o.most, mostFound)}
	case o.finds && strings.TrimSpace(o.find) == "":
		return usageError{errors.New("--find needs a condition; hornlark preview SCENARIO --facts lists what can be asked")}
	case o.courses && (o.course < 2 || o.course > mostCourse):
		return usageError{fmt.Errorf("--course %d: write a number from 2 to %d", o.course, mostCourse)}
	case o.courses && (o.runs < 2*o.course || o.runs > mostCandidates):
		return usageError{fmt.Errorf("--runs %d: a course of %d is chosen from %d to %d seeds", o.runs, o.course, 2*o.course, mostCandidates)}
	}
	if err := o.apart(); err != nil {
		return err
	}
	return o.check()
}

// apart says what is wrong if two things are to go to one place.
func (o *previewOptions) apart() error {
	places := map[string]string{}
	if o.asJSON {
		places["-"] = "--json"
	}
	for _, to := range []struct{ flag, path string }{{"--save", o.save.path}, {"--svg", o.svg.path}, {"--html", o.html.path}} {
		other, taken := places[to.path]
		switch {
		case to.path == "":
		case taken && to.path == "-":
			return usageError{fmt.Errorf("only one of %s and %s can go to the standard output", other, to.flag)}
		case taken:
			return usageError{fmt.Errorf("%s and %s are two files; name another one for one of them", other, to.flag)}
		default:
			places[to.path] = to.flag
		}
	}
	return nil
}

// open makes the documents ready.
func (o *previewOptions) open() (*preview, error) {
	if err := o.limits(); err != nil {
		return nil, err
	}
	person, err := bench.PersonOf(o.standIn)
	if err != nil {
		return nil, usageError{err}
	}
	var rest *bench.Rest
	if o.like != "" {
		if person, rest, err = o.likeSomebody(); err != nil {
			return nil, err
		}
		o.save.private, o.svg.private, o.html.private = true, true, true
	}
	b, err := o.bundle()
	if err != nil {
		return nil, err
	}
	length, err := lengthOfPhrases(b)
	if err != nil {
		return nil, err
	}
	abnormals, err := o.abnormals(b)
	if err != nil {
		return nil, err
	}
	f, err := bench.NewForecast(drill.Documents{
		Profile: b.Profile, Procedure: b.Procedure, Scenario: b.Scenario, Abnormals: abnormals, Policy: scenario.PolicyName(o.policy),
	}, person, length, desk.VirtualLead)
	if err != nil {
		return nil, err
	}
	return &preview{o, f, b, rest, b.Scenario.Seed != 0 && !o.seedSet && !o.finds && !o.courses}, nil
}

// abnormals are all that can befall the aircraft: the stand-in looks for any of them, and not for those of the scenario alone.
func (o *previewOptions) abnormals(b *library.Bundle) ([]*scenario.Abnormal, error) {
	lib, err := openLibrary(o.own)
	if err != nil {
		return nil, err
	}
	all := slices.Clone(b.Abnormals)
	for _, a := range lib.Abnormals() {
		if a.Profile == b.Profile.Name && !slices.ContainsFunc(all, func(own *scenario.Abnormal) bool { return own.Name == a.Name }) {
			all = append(all, a)
		}
	}
	return all, nil
}

// seeds are what the sitting and the stand-in draw from in a sitting, from 0.
func (p *preview) seeds(i int) (sitting, person uint64) {
	person = p.seed + uint64(i)
	if p.fixed {
		return p.bundle.Scenario.Seed, person
	}
	return person, person
}

func (o *previewOptions) run(ctx context.Context) error {
	p, err := o.open()
	if err != nil {
		return err
	}
	switch {
	case o.facts:
		return p.listFacts()
	case o.finds:
		return p.search(ctx)
	case o.courses:
		return p.findCourse(ctx)
	}
	return p.tell(ctx)
}

// tell has all sittings sat and tells what they come to.
func (p *preview) tell(ctx context.Context) error {
	o := p.previewOptions
	var files [3]*outfile.File // whoever has named a wrong place need not wait for the sittings
	onOut := o.asJSON
	for i, to := range []*output{&o.save, &o.svg, &o.html} {
		if to.path == "" {
			continue
		}
		to.force = o.force
		f, err := to.create(ctx, o.streams, false)
		if err != nil {
			return err
		}
		defer f.Drop()
		files[i], onOut = f, onOut || to.path == "-"
	}
	lines, plot, page := files[0], files[1], files[2]
	outlook := bench.NewOutlook()
	took := o.progress("sitting")
	err := p.sitAll(ctx, o.runs, func(i int, s *bench.Sitting) error {
		outlook.Add(s)
		took.at(i+1, o.runs)
		if lines == nil {
			return nil
		}
		return writeLine(lines, s)
	})
	took.end()
	if err != nil {
		return err
	}
	outlook.Settle(p.Forecast)
	drawn := p.page(outlook)
	if plot != nil {
		err = errors.Join(err, drawn.WritePlot(plot))
	}
	if page != nil {
		err = errors.Join(err, drawn.Write(page))
	}
	for _, f := range files {
		if f != nil && err == nil {
			err = f.Keep()
		}
	}
	switch {
	case err != nil:
		return err
	case o.asJSON:
		return printJSON(o.out, p.json(outlook))
	case onOut:
		return nil
	}
	_, err = fmt.Fprintln(o.out, strings.Join(p.text(outlook), "\n"))
	return err
}

// writeLine writes something as one line of JSON.
func writeLine(w io.Writer, v any) error {
	var line bytes.Buffer
	enc := json.NewEncoder(inert.JSON(&line))
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return err
	}
	_, err := w.Write(line.Bytes())
	return err
}

// previewJSON is what --json prints.
type previewJSON struct {
	Scenario  string       `json:"scenario"`
	Title     string       `json:"title"`
	Policy    string       `json:"policy"`
	Version   string       `json:"version"`
	Trainee   bench.Person `json:"trainee"`
	Like      *bench.Rest  `json:"like,omitempty"` // on how much a stand-in rests that is like somebody
	FirstSeed uint64       `json:"first_seed"`
	FixedSeed uint64       `json:"fixed_seed,omitempty"` // the same for all sittings
	*bench.Outlook
	Estimates string `json:"estimates"`
	Caution   string `json:"caution"`
}

func (p *preview) json(o *bench.Outlook) previewJSON {
	out := previewJSON{
		Scenario: p.bundle.Scenario.Name, Title: p.title(), Policy: string(p.Exercise().Policy().Name), Version: version, Trainee: p.Person(), Like: p.rest,
		FirstSeed: p.seed, Outlook: o, Estimates: bench.Estimates, Caution: debrief.CautionOf(p.bundle.Profile),
	}
	if p.fixed {
		out.FixedSeed = p.bundle.Scenario.Seed
	}
	return out
}

// title is that of the scenario, and what of it is gone through.
func (p *preview) title() string {
	title := cmp.Or(p.bundle.Scenario.Title, p.bundle.Scenario.Name)
	if part := partOf(p.bundle); part != "" {
		title += ": " + part
	}
	return title
}
