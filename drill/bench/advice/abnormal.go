package advice

import (
	"context"
	"slices"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/fault"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// mostOccasions is on how many occasions an abnormal is tried.
const mostOccasions = 4

// putInAfter is how long an aircraft in which nothing is done has settled before an abnormal is put into it.
const putInAfter = 2 * time.Second

// Occasions are sittings in which an abnormal is met: the scenarios that name it, cut down to it alone, and without any the states of the
// profile, with nothing else to do, and the items from which its flow is done again.
func Occasions(prof *aircraft.Profile, ab *scenario.Abnormal, scenarios []*scenario.Scenario, procedures []*procedure.Procedure) []drill.Documents {
	var list []drill.Documents
	add := func(sc scenario.Scenario, proc *procedure.Procedure) {
		sc.Pass, sc.Par = scenario.Criteria{}, nil
		list = append(list, drill.Documents{Profile: prof, Procedure: proc, Scenario: &sc, Abnormals: []*scenario.Abnormal{ab}})
	}
	for _, sc := range scenarios {
		proc := procedureOf(procedures, sc.Procedure)
		if proc == nil || proc.Profile != prof.Name || !on(sc, prof, proc) || !slices.Contains(sc.Abnormals(), ab.Name) {
			continue
		}
		cut := *sc
		cut.Injections = slices.DeleteFunc(slices.Clone(sc.Injections), func(in scenario.Injection) bool { return in.Abnormal != ab.Name })
		cut.Drawn = nil
		if len(cut.Injections) == 0 {
			drawn := *sc.Drawn
			drawn.From = []string{ab.Name}
			cut.Drawn = &drawn
		}
		add(cut, proc)
	}
	if len(list) > 0 {
		return list[:min(len(list), mostOccasions)]
	}
	for _, proc := range procedures {
		if proc.Profile != prof.Name {
			continue
		}
		base := scenario.Scenario{Name: "trial", Title: "Trial", Procedure: proc.Name, Map: scenario.Names, Weather: aircraft.Weather{OAT: 15}}
		if _, has := places(proc)[ab.BackTo]; has {
			sc := base
			sc.Policy, sc.Injections = scenario.Prompted, []scenario.Injection{{Abnormal: ab.Name, During: ab.BackTo}}
			add(sc, proc)
		}
		for i := range prof.States {
			if ab.Call == "" && slices.ContainsFunc(ab.Actions, func(a scenario.Action) bool { return a.Answer != "" }) {
				break // it is answered as an item is asked, and here none is
			}
			sc := base
			sc.Policy, sc.State, sc.Injections = scenario.Alerts, prof.States[i].Name, []scenario.Injection{{Abnormal: ab.Name, At: putInAfter}}
			if !slices.ContainsFunc(list, func(d drill.Documents) bool { return d.Scenario.State == sc.State && d.Scenario.Policy == sc.Policy }) {
				add(sc, proc)
			}
		}
	}
	return list[:min(len(list), mostOccasions)]
}

func procedureOf(procedures []*procedure.Procedure, name string) *procedure.Procedure {
	i := slices.IndexFunc(procedures, func(p *procedure.Procedure) bool { return p.Name == name })
	if i < 0 {
		return nil
	}
	return procedures[i]
}

// Abnormal meets an abnormal on occasions, by a hand that does each action as soon as it can and makes no mistake, and says which of its actions
// cannot be done, and whether its end state is not reached. What is told is so on every occasion on which it showed. Where it never showed
// nothing is told, since it may on others. The documents have been checked.
func Abnormal(ctx context.Context, ab *scenario.Abnormal, occasions []drill.Documents, procedures []*procedure.Procedure) (List, error) {
	var l List
	notFitted(&l, ab, procedures)
	if ab.Harmless || len(ab.Actions) == 0 {
		return l, nil
	}
	var met []List
	for _, docs := range occasions {
		ex, err := drill.Compile(docs)
		if err != nil {
			continue // this occasion cannot be begun
		}
		f, err := fly(ctx, ex, 1, nil)
		if stopped := context.Cause(ctx); stopped != nil {
			return nil, stopped
		}
		if err != nil {
			continue
		}
		if found, shown := meet(docs.Profile, ab, f); shown {
			met = append(met, found)
		}
	}
	if len(met) == 0 {
		return l, nil
	}
	for _, a := range met[0] {
		if !slices.ContainsFunc(met, func(other List) bool { return !other.has(a.Rule, a.Path) }) && !l.has(a.Rule, a.Path) {
			l = append(l, a)
		}
	}
	return l.order(), nil
}

// meet is what is found where an abnormal first showed in a run; false: it never did.
func meet(prof *aircraft.Profile, ab *scenario.Abnormal, f *flight) (l List, shown bool) {
	done := make([]bool, len(ab.Actions))
	open, handled, lost := false, false, -1
	blocked := map[string]int{} // by control, the entry
	for i := range f.log {
		e := &f.log[i]
		switch {
		case e.Kind == logbook.Onset && !shown:
			shown, open = true, true
		case !open:
		case e.Kind == logbook.Action && e.Number >= 1 && e.Number <= len(done):
			done[e.Number-1] = true
		case e.Kind == logbook.Blocked && e.Seat == logbook.Trainee && e.Why == "":
			blocked[e.Control] = i
		case e.Kind == logbook.Handled:
			open, handled = false, true
		case e.Kind == logbook.Lost:
			open, lost = false, i
		case e.Kind == logbook.Cleared:
			open = false
		}
	}
	if !shown {
		return nil, false
	}
	for i, action := range ab.Actions {
		for _, one := range action.Set {
			at, was := blocked[one.Control]
			if done[i] || !was {
				continue
			}
			l.add(Reach, fault.Join(fault.Join(fault.At("actions", i), "set"), one.Control), "have done before what unlocks it, as an action of its own",
				"%s cannot be moved to %s when it is to be: it is locked at %s%s", one.Control, one.Position, f.log[at].Position, lockedWhile(prof, one.Control))
		}
	}
	if handled || lost < 0 || len(l) > 0 {
		return l, true
	}
	l.add(Reach, unreached(ab, done), "let the actions lead to the end state, or give it more time in timeout",
		"by a hand that does every action as soon as it can it is not handled: %s", why(prof, ab, done, f, lost))
	return l, true
}

// unreached is where it is said that an abnormal is not handled: at the first action that was not done, or at the end state.
func unreached(ab *scenario.Abnormal, done []bool) string {
	if i := slices.Index(done, false); i >= 0 {
		return fault.At("actions", i)
	}
	if ab.Handled == "" {
		return "actions"
	}
	return "handled"
}

// why is how an abnormal came to be lost.
func why(prof *aircraft.Profile, ab *scenario.Abnormal, done []bool, f *flight, lost int) string {
	e := &f.log[lost]
	at := "it is lost after " + clock(e.At-onsetOf(f, e.Injection))
	if i := slices.Index(done, false); i >= 0 {
		text := ab.Actions[i].Say
		if text == "" {
			text = "one of them"
		}
		if after := ab.Actions[i].After; after != "" {
			return at + ", and " + text + " has not been done; it waits for " + after
		}
		return at + ", and " + text + " has not been done"
	}
	if e.Why == "" && ab.Lost != "" {
		return at + ", when " + ab.Lost + " holds"
	}
	if ab.Handled != "" {
		return at + ": " + notSo(prof, ab.Handled, f.shown[lost])
	}
	return at
}

func onsetOf(f *flight, injection string) time.Duration {
	for i := range f.log {
		if f.log[i].Kind == logbook.Onset && f.log[i].Injection == injection {
			return f.log[i].At
		}
	}
	return 0
}

// notFitted notes actions with controls that only items move which say that this aircraft does not have them.
func notFitted(l *List, ab *scenario.Abnormal, procedures []*procedure.Procedure) {
	without, with := map[string]string{}, map[string]bool{}
	for _, p := range procedures {
		if p.Profile != ab.Profile {
			continue
		}
		p.Each(func(_ *procedure.Phase, it *procedure.Item) {
			for _, one := range it.Set {
				if it.Fitted != nil && !*it.Fitted {
					without[one.Control] = it.ID
				} else {
					with[one.Control] = true
				}
			}
		})
	}
	for i, action := range ab.Actions {
		for _, one := range action.Set {
			if item := without[one.Control]; item != "" && !with[one.Control] {
				l.add(Reach, fault.Join(fault.Join(fault.At("actions", i), "set"), one.Control), "leave the action out, or take fitted: false away from "+item,
					"%s is not fitted, as item %s says", one.Control, item)
			}
		}
	}
}
