package draft

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/fault"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// ScenarioOptions say what a scenario to begin with is like. All may be empty.
type ScenarioOptions struct {
	Options
	Policy    scenario.PolicyName // empty is prompted
	Map       scenario.Help       // empty is what is usual with the policy
	Profile   string              // that it is gone through on; empty is that of the procedure
	State     string              // of the profile, to begin in; empty is cold and dark
	Abnormals []string            // drawn from; one with @ITEM behind it comes while that item is asked
}

// Scenario writes a scenario to begin with: every field, those that may be left out as comments that are right as they are.
func Scenario(proc *procedure.Procedure, prof *aircraft.Profile, o ScenarioOptions) string {
	o.Policy = cmp.Or(o.Policy, scenario.Prompted)
	policy, _ := scenario.PolicyOf(o.Policy)
	usual := scenario.Names
	switch {
	case policy.Flow == scenario.Figures:
		usual = scenario.None
	case policy.Acts == "" || policy.Asks == "":
		usual = scenario.Bare
	}
	w := &writer{}
	w.comment("", "A scenario to begin with. What begins with # may be left out; take the sign away from a line of YAML, and it counts.")
	w.row("name: %s", scalar(cmp.Or(o.Name, clipName(proc.Name, "-"+string(o.Policy)))))
	w.row("title: %s", scalar(cmp.Or(o.Title, clip(tidy(proc.Title)))))
	w.row("about: Say here what it is for. Nothing in it may tell what goes wrong.")
	w.row("procedure: %s", scalar(proc.Name))
	if o.Profile != "" {
		w.row("profile: %s   # on which it is gone through; the procedure was written for another", scalar(o.Profile))
	}
	w.row("policy: %-12s# %s", o.Policy, strings.Join(scenario.PolicyNames(), ", "))
	w.row("map: %-15s# of the keys: names; bare, without names; none", cmp.Or(o.Map, usual))
	w.row("weather: {oat: 12, pressure_altitude: 50, tailwind: 0}   # degrees Celsius, feet, knots; minus is a headwind")
	w.scenarioStart(proc, prof, &o, policy)
	w.scenarioAbnormals(&o, policy)
	w.scenarioPass(&o, policy)
	return w.String()
}

// scenarioStart writes how a sitting begins and goes on.
func (w *writer) scenarioStart(proc *procedure.Procedure, prof *aircraft.Profile, o *ScenarioOptions, policy scenario.Policy) {
	var states []string
	for i := range prof.States {
		states = append(states, prof.States[i].Name)
	}
	switch {
	case o.State != "":
		w.row("state: %-13s# %s; left out, it is cold and dark", o.State, strings.Join(states, ", "))
	case len(states) > 0:
		w.row("# state: %-11s# %s; left out, it is cold and dark", states[0], strings.Join(states, ", "))
	}
	if policy.Flow == scenario.Checklist && len(proc.Phases) > 0 {
		w.row("# phases: [%s]   # these alone, neighbours in the procedure", proc.Phases[0].ID)
	}
	w.row("# seed: 7          # the same each time; left out, what is drawn is another each time")
	if policy.Flow == scenario.Figures {
		w.row("questions: 12      # figures that are asked")
		return
	}
	w.row("# feedback: at the end   # or at once")
	w.row("# tell: after 10s        # what is wrong is told: never, at once, or after a time; what was told is not counted as noticed")
}

// scenarioAbnormals writes what comes up, and when.
func (w *writer) scenarioAbnormals(o *ScenarioOptions, policy scenario.Policy) {
	if policy.Flow == scenario.Figures {
		return
	}
	var fixed, drawn []string
	for _, a := range o.Abnormals {
		if name, item, during := strings.Cut(a, "@"); during {
			fixed = append(fixed, fmt.Sprintf("  - {abnormal: %s, during: %s, after: 1s}   # or when: a condition, or at: a time", name, item))
		} else if !slices.Contains(drawn, a) {
			drawn = append(drawn, a)
		}
	}
	if len(fixed) > 0 {
		w.row("injections:")
		for _, line := range fixed {
			w.row("%s", line)
		}
	}
	if len(drawn) == 0 {
		return
	}
	w.comment("", "At moments that nobody can guess. How long it takes until one comes says nothing about the next.")
	w.row("drawn:")
	w.row("  from: [%s]", strings.Join(drawn, ", "))
	w.row("  count: %-9d# at the most", min(3, len(drawn)))
	w.row("  min_gap: 15s     # from the end of one to the wait for the next")
	w.row("  mean_gap: 30s    # of the wait")
	w.row("  max_gap: 2m      # of the wait, at the most")
}

// scenarioPass writes what has to be reached. The figures are ours, those of the scenarios that are built in.
func (w *writer) scenarioPass(o *ScenarioOptions, policy scenario.Policy) {
	w.comment("", "What has to be reached. Shares go from 0 to 1, and a field that is not there is not judged.")
	w.row("pass:")
	if policy.Flow != scenario.Nothing && policy.Acts == logbook.Trainee {
		w.row("  right: 0.9")
		w.row("  omitted: 0")
	}
	if policy.Flow == scenario.Checklist && policy.Acts == logbook.Trainee {
		w.row("  out_of_order: 0")
		w.row("  false_confirms: 0")
	}
	switch {
	case policy.Flow == scenario.Figures:
	case len(o.Abnormals) > 0:
		w.row("  handled: 1")
		w.row("  detection: 8s")
		w.row("  look_alikes: 0")
	case policy.Acts != logbook.Trainee:
		w.row("  look_alikes: 0")
	}
}

// clipName is a short name with something behind it, within what a short name may have.
func clipName(name, behind string) string {
	return strings.TrimRight(name[:min(len(name), fault.MaxName-len(behind))], "-") + behind
}
