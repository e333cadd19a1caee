package main

import (
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
			return o.scenario(c.Context(), proc, draft.ScenarioOptions{
				Options: draft.Options{Name: o.name}, Policy: scenario.PolicyName(policy), Map: scenario.Help(help), State: state, Abnormals: abnormals,
			})
		},
	}
	o.flags(c)
	maps := []string{string(scenario.Names), string(scenario.Bare), string(scenario.None)}
	f := c.Flags()
	f.StringVar(&proc, "procedure", "", "the procedure that is gone through")
	f.StringVar(&policy, "policy", string(scenario.Prompted), strings.Join(scenario.PolicyNames(), ", "))
	f.StringVar(&help, "map", "", strings.Join(maps, ", ")+" (default: what is usual with the policy)")
	f.StringVar(&state, "state", "", "the state of the aircraft to begin in (default: cold and dark)")
	f.StringArrayVar(&abnormals, "abnormal", nil, "what goes wrong, NAME or NAME@ITEM; may be given several times")
	must(c.RegisterFlagCompletionFunc("procedure", flagNames(library.Procedure)))
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
	proc, err := lib.Procedure(name)
	if err != nil {
		return usageError{err}
	}
	prof, err := lib.Profile(proc.Profile)
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
	var states, items []string
	for i := range prof.States {
		states = append(states, prof.States[i].Name)
	}
	if of.State != "" && !slices.Contains(states, of.State) {
		faults.Unknown("--state", "state of "+prof.Name, of.State, states)
	}
	proc.Each(func(_ *procedure.Phase, it *procedure.Item) {
		if it.Fitted == nil || *it.Fitted {
			items = append(items, it.ID)
		}
	})
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
	var title string
	c := &cobra.Command{
		Use:   "profile --like PROFILE --name NAME",
		Short: "Write a profile to begin with, made of another one",
		Long: `Writes a profile to begin with: another one, all its comments included, with a name and a title of its own. It passes
"hornlark check" as it is, which flies it by its data sheet, and is then changed piece by piece.`,
		Example: `  hornlark draft profile --like turnstone-st --name plover-st --title "Plover ST" --out my/plover.yaml`,
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return o.profileLike(c.Context(), title) },
	}
	o.flags(c)
	c.Flags().StringVar(&o.profile, "like", "", "the profile that it is made of")
	c.Flags().StringVar(&title, "title", "", "its name on a screen (default: made of --name)")
	must(c.RegisterFlagCompletionFunc("like", flagNames(library.Profile)))
	return c
}

func (o *draftOptions) profileLike(ctx context.Context, title string) error {
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
	case o.profile == "":
		return usageError{fmt.Errorf("of which profile is it made? add --like with a name; %s", fault.Suggest("", names))}
	case o.name == "":
		return usageError{errors.New("what is it called? add --name with a short name of its own, as in --name plover-st")}
	case slices.Contains(names, o.name):
		return usageError{fmt.Errorf("there is a profile %s already; give it a name of its own", o.name)}
	}
	like, err := lib.Profile(o.profile)
	if err != nil {
		return usageError{err}
	}
	text, err := lib.ProfileText(o.profile)
	if err != nil {
		return usageError{err}
	}
	document, err := draft.Profile(text, like, draft.Options{Name: o.name, Title: title})
	if err != nil {
		return usageError{fmt.Errorf("nothing can be made of %s: %w; copy its file and change it by hand", o.profile, err)}
	}
	return o.keep(ctx, document)
}
