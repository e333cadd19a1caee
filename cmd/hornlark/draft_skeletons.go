package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hornlark/drill/aircraft"
	"hornlark/drill/draft"
	"hornlark/drill/fault"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

func newDraftScenario(s streams) *cobra.Command {
	o := &draftOptions{streams: s}
	var proc, policy, help, state string
	var abnormals []string
	c := &cobra.Command{
		Use:   "scenario --procedure PROCEDURE",
		Short: "Write a scenario to begin with",
		Long: `Writes a scenario to begin with, every field with a comment. Fields that may be left out are comments, right as they are.
--abnormal NAME is drawn from, at moments that nobody can guess; --abnormal NAME@ITEM comes while that item is asked. Without any,
policy alerts draws from all of the aircraft.`,
		Example: `  hornlark draft scenario --procedure dunlin-start --out my/monday.yaml
  hornlark draft scenario --procedure dunlin-hover --policy alerts --state hover --abnormal generator-failure --abnormal radio-call
  hornlark draft scenario --procedure before-start --with my --abnormal battery-low@battery`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			err := o.converse(c, proc == "", []question{
				{flag: "procedure", ask: "Which procedure is gone through?", kind: "procedure", known: o.namesOf(library.Procedure), to: func(a string) { proc = a }},
				{flag: "policy", ask: "In which way?", kind: "policy", known: policyNames, otherwise: policy, to: func(a string) { policy = a }},
				{flag: "abnormal", ask: "What goes wrong, each as NAME or NAME@ITEM?", kind: "abnormal", several: true, means: "nothing, or all of them in alerts",
					known: func() ([]string, error) { return o.abnormalsFor(proc) }, to: func(a string) { abnormals = parted(a) },
					wrong: func(a string) error { return o.itemsAre(proc, a) }},
				o.called("made of the procedure's", nil), o.whereTo(),
			})
			if err != nil {
				return err
			}
			return o.scenario(c.Context(), proc, draft.ScenarioOptions{
				Options: draft.Options{Name: o.name}, Profile: o.profile, Policy: scenario.PolicyName(policy), Map: scenario.Help(help), State: state, Abnormals: abnormals,
			})
		},
	}
	o.flags(c)
	maps := []string{string(scenario.Names), string(scenario.Bare), string(scenario.None)}
	f := c.Flags()
	f.StringVar(&proc, "procedure", "", "the procedure that is gone through")
	f.StringVar(&o.profile, "profile", "", "the aircraft: one that is laid over that of the procedure, or made of it (default: that of the procedure)")
	f.StringVar(&policy, "policy", string(scenario.Prompted), strings.Join(scenario.PolicyNames(), ", "))
	f.StringVar(&help, "map", "", strings.Join(maps, ", ")+" (default: what is usual with the policy)")
	f.StringVar(&state, "state", "", "the state of the aircraft to begin in (default: cold and dark)")
	f.StringArrayVar(&abnormals, "abnormal", nil, "what goes wrong, NAME or NAME@ITEM; may be given several times")
	must(c.RegisterFlagCompletionFunc("procedure", flagNames(library.Procedure)))
	must(c.RegisterFlagCompletionFunc("profile", flagNames(library.Profile)))
	must(c.RegisterFlagCompletionFunc("abnormal", flagNames(library.Abnormal)))
	must(c.RegisterFlagCompletionFunc("policy", words(scenario.PolicyNames()...)))
	must(c.RegisterFlagCompletionFunc("map", words(maps...)))
	return c
}

func (o *draftOptions) scenario(ctx context.Context, name string, of draft.ScenarioOptions) error {
	if err := o.checkName(); err != nil {
		return err
	}
	lib, err := openLibrary(o.own)
	if err != nil {
		return err
	}
	if name == "" {
		return usageError{fmt.Errorf("which procedure is gone through? add --procedure with a name; %s", fault.Suggest("", procedureNames(lib)))}
	}
	proc, prof, lib, err := procedureOn(lib, name, &of)
	if err != nil {
		return usageError{err}
	}
	if policy, ok := scenario.PolicyOf(of.Policy); ok && policy.Flow == scenario.Nothing && len(of.Abnormals) == 0 {
		all := abnormalsOf(lib, prof.Name)
		if of.Abnormals = all[:min(len(all), scenario.MaxInjections)]; len(of.Abnormals) < len(all) {
			fmt.Fprintf(o.err, "There are %d abnormals for %s; the scenario has the first %d, as many as there may be.\n", len(all), prof.Name, len(of.Abnormals))
		}
	}
	if err := faultsOf(lib, proc, prof, &of).Err(); err != nil {
		return usageError{err}
	}
	return o.keep(ctx, draft.Scenario(proc, prof, of))
}

// procedureOn finds the procedure of a scenario and its aircraft, and the library as that has it. A profile that goes without saying
// is not said in the scenario.
func procedureOn(lib *library.Library, name string, of *draft.ScenarioOptions) (*procedure.Procedure, *aircraft.Profile, *library.Library, error) {
	proc, err := lib.Procedure(name)
	if err != nil {
		return nil, nil, nil, err
	}
	if of.Profile == proc.Profile {
		of.Profile = ""
	}
	prof, err := lib.Profile(cmp.Or(of.Profile, proc.Profile))
	if err != nil {
		return nil, nil, nil, err
	}
	view, borrowed := lib.For(prof.Name)
	if proc, err = view.Procedure(name); err != nil || proc.Profile == prof.Name {
		return proc, prof, view, err
	}
	for _, b := range borrowed {
		if b.Kind == library.Procedure && b.Name == name {
			return nil, nil, nil, fmt.Errorf("procedure %s was written for %s and does not work on %s: %s", name, b.For, prof.Name, b.Because)
		}
	}
	return nil, nil, nil, fmt.Errorf("procedure %s is for %s, and %s is neither laid over that nor made of it; leave --profile out", name, proc.Profile, prof.Name)
}

// faultsOf finds what is wrong with the options of a scenario.
func faultsOf(lib *library.Library, proc *procedure.Procedure, prof *aircraft.Profile, of *draft.ScenarioOptions) fault.List {
	var faults fault.List
	policy, ok := scenario.PolicyOf(of.Policy)
	if !ok {
		faults.Unknown("--policy", "policy", string(of.Policy), scenario.PolicyNames())
	}
	if maps := []string{string(scenario.Names), string(scenario.Bare), string(scenario.None)}; of.Map != "" && !slices.Contains(maps, string(of.Map)) {
		faults.Unknown("--map", "map", string(of.Map), maps)
	}
	var states []string
	for i := range prof.States {
		states = append(states, prof.States[i].Name)
	}
	if of.State != "" && !slices.Contains(states, of.State) {
		faults.Unknown("--state", "state of "+prof.Name, of.State, states)
	}
	items := itemsOf(proc)
	known := abnormalsOf(lib, prof.Name)
	if policy.Flow == scenario.Nothing && len(of.Abnormals) == 0 {
		faults.Add("--policy", "write some for it: hornlark draft abnormal", "there are no abnormals for %s, and alerts is nothing else", prof.Name)
	}
	for _, a := range of.Abnormals {
		name, item, during := strings.Cut(a, "@")
		if !slices.Contains(known, name) {
			faults.Unknown("--abnormal", "abnormal for "+prof.Name, name, known)
		}
		switch {
		case policy.Flow == scenario.Figures:
			faults.Add("--abnormal", "leave it out, or choose another policy", "nothing interrupts a scenario of limits")
		case during && policy.Flow == scenario.Nothing:
			faults.Add("--abnormal", "leave @ and the item out", "in a scenario of alerts no item is asked")
		case during && !slices.Contains(items, item):
			faults.Unknown("--abnormal", "item of "+proc.Name, item, items)
		}
	}
	if len(of.Abnormals) > scenario.MaxInjections {
		faults.Add("--abnormal", fmt.Sprintf("stay within %d", scenario.MaxInjections), "there are %d abnormals", len(of.Abnormals))
	}
	return faults
}

// itemsOf names the items of a procedure that are asked.
func itemsOf(proc *procedure.Procedure) (items []string) {
	proc.Each(func(_ *procedure.Phase, it *procedure.Item) {
		if it.Fitted == nil || *it.Fitted {
			items = append(items, it.ID)
		}
	})
	return items
}

func procedureNames(lib *library.Library) []string {
	var names []string
	for _, p := range lib.Procedures() {
		names = append(names, p.Name)
	}
	return names
}

// abnormalsOf names the abnormals for a profile.
func abnormalsOf(lib *library.Library, profile string) []string {
	var names []string
	for _, a := range lib.Abnormals() {
		if a.Profile == profile {
			names = append(names, a.Name)
		}
	}
	return names
}

func newDraftAbnormal(s streams) *cobra.Command {
	o := &draftOptions{streams: s}
	of := draft.AbnormalOptions{}
	c := &cobra.Command{
		Use:   "abnormal --profile PROFILE --failure POINT",
		Short: "Write an abnormal to begin with, with what shows it",
		Long: `Writes an abnormal to begin with, every field with a comment. What shows it is found out by flying the aircraft with the failure
and without. What is to be done about it is yours to write.`,
		Example: `  hornlark draft abnormal --profile dunlin-lt --failure gen1.failed --out my/generator.yaml
  hornlark draft abnormal --profile dunlin-lt --failure hyd1.leak --harmless`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			err := o.converse(c, o.profile == "" || of.Failure == "", []question{
				{flag: "profile", ask: "Which aircraft does it befall?", kind: "profile", known: o.namesOf(library.Profile), to: func(a string) { o.profile = a }},
				{flag: "failure", ask: "What fails?", kind: "failure point", known: o.failurePoints, to: func(a string) { of.Failure = a }},
				{flag: "harmless", ask: "Is it a look-alike, about which nothing is to be done?", kind: "answer", known: yesOrNo, otherwise: "no", to: func(a string) { of.Harmless = a == "yes" }},
				o.called("made of the failure point's", nil), o.whereTo(),
			})
			if err != nil {
				return err
			}
			of.Name = o.name
			return o.abnormal(c.Context(), of)
		},
	}
	o.flags(c)
	f := c.Flags()
	f.StringVar(&o.profile, "profile", "", "the aircraft that it befalls")
	f.StringVar(&of.Failure, "failure", "", "the failure point that causes it; hornlark list failures --profile NAME has them all")
	f.BoolVar(&of.Harmless, "harmless", false, "a look-alike: nothing is to be done about it")
	must(c.RegisterFlagCompletionFunc("profile", flagNames(library.Profile)))
	return c
}

func (o *draftOptions) abnormal(ctx context.Context, of draft.AbnormalOptions) error {
	prof, err := o.aircraft("which aircraft does it befall?")
	if err != nil {
		return err
	}
	if _, ok := prof.FailureIndex(of.Failure); !ok {
		var points []string
		for _, p := range prof.FailurePoints() {
			points = append(points, p.Name)
		}
		if of.Failure == "" {
			return usageError{fmt.Errorf("what fails? add --failure with a failure point; hornlark list failures --profile %s has them all", o.profile)}
		}
		return usageError{fmt.Errorf("%s has no failure point %q; %s", o.profile, of.Failure, fault.Suggest(of.Failure, points))}
	}
	document, err := draft.Abnormal(prof, of)
	if err != nil {
		return err
	}
	return o.keep(ctx, document)
}

func newDraftProfile(s streams) *cobra.Command {
	o := &draftOptions{streams: s}
	var over, title string
	c := &cobra.Command{
		Use:   "profile {--based-on|--like} PROFILE --name NAME",
		Short: "Write a profile to begin with, laid over another one or made of it",
		Long: `Writes a profile to begin with, with a name and a title of its own. With --based-on it is laid over another one: only what
differs is written, and what there is to say stands in comments. With --like it is the other one as a whole, all its comments
included, to be changed piece by piece. Either passes "hornlark check" as it is, which flies it by its data sheet.
What was written for the other one works on it as far as it makes sense: procedures, scenarios and abnormals are told of.`,
		Example: `  hornlark draft profile --based-on dunlin-lt --name heron-lt --out my/heron.yaml
  hornlark draft profile --like turnstone-st --name plover-st --title "Plover ST" --out my/plover.yaml`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			whole := o.profile != ""
			var questions []question
			if over == "" && o.profile == "" {
				questions = []question{
					{ask: "Is only what differs written, or all of it?", kind: "way", known: func() ([]string, error) { return []string{"differs", "all"}, nil }, otherwise: "differs", to: func(a string) { whole = a == "all" }},
					{ask: "Of which profile is it made?", kind: "profile", known: o.namesOf(library.Profile), to: func(a string) {
						if whole {
							o.profile = a
						} else {
							over = a
						}
					}},
				}
			}
			questions = append(questions, o.called("", func() []string {
				names, _ := o.namesOf(library.Profile)()
				return names
			}), question{flag: "title", ask: "And on a screen?", means: "made of the short name", to: func(a string) { title = a }}, o.whereTo())
			if err := o.converse(c, over == "" && o.profile == "" || o.name == "", questions); err != nil {
				return err
			}
			return o.profileOf(c.Context(), over, title)
		},
	}
	o.flags(c)
	c.Flags().StringVar(&over, "based-on", "", "the profile that it is laid over")
	c.Flags().StringVar(&o.profile, "like", "", "the profile that it is made of, as a whole")
	c.MarkFlagsMutuallyExclusive("based-on", "like")
	must(c.RegisterFlagCompletionFunc("based-on", flagNames(library.Profile)))
	c.Flags().StringVar(&title, "title", "", "its name on a screen (default: made of --name)")
	must(c.RegisterFlagCompletionFunc("like", flagNames(library.Profile)))
	return c
}

func (o *draftOptions) profileOf(ctx context.Context, over, title string) error {
	if err := o.checkName(); err != nil {
		return err
	}
	var faults fault.List
	if faults.OptionalLine("--title", "title", title); len(faults) > 0 {
		return usageError{faults}
	}
	lib, err := openLibrary(o.own)
	if err != nil {
		return err
	}
	switch names := profileNames(lib); {
	case o.profile == "" && over == "":
		return usageError{fmt.Errorf("of which profile is it made? add --based-on with a name, to say only what differs, or --like, to change all of it; %s", fault.Suggest("", names))}
	case o.name == "":
		return usageError{errors.New("what is it called? add --name with a short name of its own, as in --name plover-st")}
	case slices.Contains(names, o.name):
		return usageError{fmt.Errorf("there is a profile %s already; give it a name of its own", o.name)}
	}
	like, err := lib.Profile(cmp.Or(over, o.profile))
	if err != nil {
		return usageError{err}
	}
	if over != "" {
		return o.keepProfile(ctx, lib, draft.Overlay(like, draft.Options{Name: o.name, Title: title}))
	}
	text, err := lib.ProfileText(o.profile)
	if err != nil {
		return usageError{err}
	}
	document, err := draft.Profile(text, like, draft.Options{Name: o.name, Title: title})
	if err != nil {
		return usageError{fmt.Errorf("nothing can be made of %s: %w; copy its file and change it by hand", o.profile, err)}
	}
	return o.keepProfile(ctx, lib, document)
}

// keepProfile writes a profile, and says what works on it.
func (o *draftOptions) keepProfile(ctx context.Context, lib *library.Library, document string) error {
	own, err := lib.Adding("the profile", document)
	if err != nil {
		return fmt.Errorf("what was drafted does not pass the check: %w", err)
	}
	if err := o.keep(ctx, document); err != nil {
		return err
	}
	_, borrowed := own.For(o.name)
	for _, line := range borrowedInWords(borrowed, true) {
		fmt.Fprintf(o.err, "%s: %s\n", o.name, line)
	}
	return nil
}
