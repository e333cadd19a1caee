package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"hornlark/drill/library"
	"hornlark/drill/practice"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// evening is what there is to choose from with one profile, and what scenarios are made from.
type evening struct {
	lib       *library.Library
	profile   string
	units     []practice.Unit
	abnormals []*scenario.Abnormal // as the surprises
	surprises []practice.Surprise
	flows     map[string]*scenario.Scenario // an undisturbed one of each procedure that there are units of
	main      string                        // the procedure that most scenarios go through
	watches   []*scenario.Scenario          // one for each kind of watch
}

// openEvening finds out what can be practised with a profile.
func openEvening(lib *library.Library, profile string) (*evening, error) {
	lib, _ = lib.For(profile)
	e := &evening{lib: lib, profile: profile, flows: map[string]*scenario.Scenario{}}
	var err error
	if e.units, err = unitsOf(lib, profile); err != nil {
		return nil, err
	}
	e.units = slices.DeleteFunc(e.units, func(u practice.Unit) bool { return u.Kind == practice.AbnormalUnit })
	for _, a := range lib.Abnormals() {
		if a.Profile == profile {
			e.abnormals = append(e.abnormals, a)
			e.surprises = append(e.surprises, practice.Surprise{Name: a.Name, Title: a.Title, Harmless: a.Harmless, Things: thingsOf(a)})
		}
	}
	most := 0
	for _, proc := range lib.Procedures() {
		if proc.Profile != profile {
			continue
		}
		if plain := undisturbed(lib, proc); plain != nil {
			e.flows[proc.Name] = plain
			list := templates(lib, proc)
			if len(list) > most {
				e.main, most = proc.Name, len(list)
			}
			for _, s := range list {
				if s.State == plain.State {
					e.place(proc, s)
				}
			}
		}
	}
	e.findWatches()
	return e, nil
}

// thingsOf is what is to be known for an abnormal.
func thingsOf(a *scenario.Abnormal) []practice.Thing {
	if a.Harmless {
		return nil
	}
	things := []practice.Thing{{Kind: score.TrialNotice, Of: a.Profile, Name: a.Name}}
	if len(a.Actions) > 0 {
		things = append(things, practice.Thing{Kind: score.TrialActions, Of: a.Profile, Name: a.Name})
	}
	return things
}

// place notes where a scenario has things come into a flow.
func (e *evening) place(proc *procedure.Procedure, s *scenario.Scenario) {
	for i := range s.Injections {
		if in := &s.Injections[i]; in.During != "" {
			e.placeAt(proc, in.Abnormal, practice.Place{Item: in.During, After: in.After, Loose: in.After > 0, Asked: in.After == 0 && s.Policy != scenario.Recall})
		}
	}
	if s.Drawn == nil {
		return
	}
	proc.Each(func(ph *procedure.Phase, it *procedure.Item) {
		if it.When != "" || it.Fitted != nil && !*it.Fitted || len(s.Drawn.Phases) > 0 && !slices.Contains(s.Drawn.Phases, ph.ID) {
			return
		}
		for _, name := range s.Drawn.From {
			e.placeAt(proc, name, practice.Place{Item: it.ID, Loose: true})
		}
	})
}

func (e *evening) placeAt(proc *procedure.Procedure, abnormal string, p practice.Place) {
	i := slices.IndexFunc(e.surprises, func(s practice.Surprise) bool { return s.Name == abnormal })
	if i < 0 {
		return
	}
	p.Of = proc.Name
	proc.Each(func(ph *procedure.Phase, it *procedure.Item) {
		if it.ID == p.Item {
			p.Phase = ph.ID
		}
	})
	places := &e.surprises[i].Places
	if !slices.ContainsFunc(*places, func(q practice.Place) bool { return q.Of == p.Of && q.Item == p.Item }) {
		*places = append(*places, p)
	}
}

// findWatches finds the kinds of watch: scenarios in which nothing flows and things are drawn, one kind for each state of the aircraft.
func (e *evening) findWatches() {
	for _, s := range e.lib.Scenarios() {
		policy, _ := scenario.PolicyOf(s.Policy)
		proc, err := e.lib.Procedure(s.Procedure)
		if err != nil || proc.Profile != e.profile || s.Profile != "" && s.Profile != e.profile || policy.Flow != scenario.Nothing || s.Drawn == nil {
			continue
		}
		kind := slices.IndexFunc(e.watches, func(w *scenario.Scenario) bool { return w.State == s.State && w.Procedure == s.Procedure })
		if kind < 0 {
			kind = len(e.watches)
			e.watches = append(e.watches, s)
		}
		for i := range e.surprises {
			in := &e.surprises[i]
			if slices.Contains(s.Drawn.From, in.Name) && !slices.Contains(in.Watches, kind) {
				in.Watches = append(in.Watches, kind)
			}
		}
	}
}

// choose chooses from what there is.
func (e *evening) choose(k *practice.Known, wish practice.Wish, minutes time.Duration, at time.Time, seed uint64) *practice.Choice {
	return practice.Choose(k, &practice.Evening{
		Units: e.units, Surprises: e.surprises, Watches: len(e.watches), Main: e.main, Time: minutes, Wish: wish, At: at, Seed: seed,
	})
}

// made is the scenario of a leg. An empty policy is the one that the choice has taken for flows.
func (e *evening) made(l *practice.Leg, policy scenario.PolicyName) *scenario.Scenario {
	switch l.Kind {
	case practice.LimitsUnit:
		s := *figuresOf(&procedure.Procedure{Name: e.main})
		s.Name, s.Title, s.Questions = "tonight-limits", "Tonight: limits", l.Questions
		s.About = "Limits of the aircraft, asked and typed."
		s.Pass = scenario.Criteria{Right: new(float64)}
		*s.Pass.Right = passRight
		return &s
	case practice.AbnormalUnit:
		return e.madeWatch(l)
	}
	of := e.units[l.Units[0]].Of
	s := *e.flows[of]
	if policy == "" {
		policy = scenario.Prompted
		if l.Recall {
			policy = scenario.Recall
		}
	}
	s.Policy, s.Map, s.Seed = policy, scenario.Names, 0
	if policy == scenario.Recall {
		s.Map, s.Par = scenario.Bare, nil
	}
	names := []string{"tonight"}
	for _, i := range l.Units {
		s.Phases = append(s.Phases, e.units[i].Name)
	}
	names = append(names, s.Phases[0])
	if n := len(s.Phases); n > 1 {
		names = append(names, "to", s.Phases[n-1])
	}
	s.Name, s.Title, s.About = strings.Join(names, "-"), "Tonight", "Phases of "+of+", chosen by what is known of them."
	for _, c := range l.Surprises {
		in := &e.surprises[c.Surprise]
		if in.Places[c.Place].Asked && policy == scenario.Recall {
			continue
		}
		s.Injections = append(s.Injections, scenario.Injection{Abnormal: in.Name, During: in.Places[c.Place].Item, After: c.After})
	}
	s.Pass = legCriteria()
	return &s
}

// legCriteria are those of every leg in which something may come, whatever does. Our own figures, those of the built-in scenarios.
func legCriteria() scenario.Criteria {
	right, handled, few, none := passRight, passHandled, 2, 0
	return scenario.Criteria{Right: &right, Omitted: &few, OutOfOrder: &few, Handled: &handled, LookAlikes: &none, FalseConfirms: &none}
}

const (
	passRight   = 0.9
	passHandled = 0.75
)

// madeWatch is the scenario of a watch. It is over when its time is, whatever has come.
func (e *evening) madeWatch(l *practice.Leg) *scenario.Scenario {
	s := *e.watches[l.Watch]
	drawn := *s.Drawn
	drawn.From, drawn.Count, drawn.Phases = nil, scenario.MaxInjections, nil
	for _, c := range l.Surprises {
		drawn.From = append(drawn.From, e.surprises[c.Surprise].Name)
	}
	drawn.Window = scenario.Window{Until: l.Length - practice.BetweenLegs}
	s.Name, s.Title, s.About = "tonight-watch", "Tonight: a watch", "Nothing to do but to look, for as long as it takes."
	s.Injections, s.Drawn, s.Seed, s.Tell, s.Feedback = nil, &drawn, 0, "", ""
	pass := legCriteria()
	s.Pass = scenario.Criteria{Handled: pass.Handled, LookAlikes: pass.LookAlikes}
	return &s
}

// families are what abnormals are asked for by, and the failures that each has; a name ends where the failure may go on.
var families = map[string][]string{
	"apron":       {"outside.", "door."},
	"electrics":   {"battery.", "gen1.", "gen2.", "inverter.", "radio.breaker", "pos_lights.breaker", "pitot.breaker"},
	"engine":      {"eng.flameout", "eng.starved", "eng.oil_", "eng.chip", "eng.fadec", "eng.governor_", "eng.cylinder", "eng.mag_", "eng.carb_", "eng.moist"},
	"fire":        {"eng.fire"},
	"fuel":        {"fuel.", "prime1.", "filter1."},
	"hydraulics":  {"hyd1.", "hyd2.", "hyd_test."},
	"instruments": {"lamp.", "gong.", "low_nr.", "horizon."},
	"rotor":       {"tail.", "gearbox.", "clutch."},
	"start":       {"eng.bleed_", "eng.nozzle_", "eng.no_light", "eng.starter_", "eng.fuel_lean"},
}

// familyNames are the names of the families, in order.
func familyNames() []string { return slices.Sorted(maps.Keys(families)) }

// inFamily reports whether an abnormal has a failure of a family.
func inFamily(a *scenario.Abnormal, family string) bool {
	return slices.ContainsFunc(a.Cause, func(c scenario.Cause) bool {
		point := c.Failure
		if system, rest, ok := strings.Cut(point, "."); ok && strings.HasPrefix(system, "eng") {
			point = "eng." + rest
		}
		return slices.ContainsFunc(families[family], func(prefix string) bool { return strings.HasPrefix(point, prefix) })
	})
}

// ofFamily is what is to be known for the abnormals of a family.
func (e *evening) ofFamily(family string) (map[practice.Thing]bool, error) {
	only := map[practice.Thing]bool{}
	for i, a := range e.abnormals {
		if inFamily(a, family) {
			for _, t := range e.surprises[i].Things {
				only[t] = true
			}
		}
	}
	if len(only) == 0 {
		return nil, fmt.Errorf("%s has no abnormals of the family %s", e.profile, family)
	}
	return only, nil
}

// mistakes is what was wrong or late on the latest evening, and was not right in a later sitting of it.
func (t *session) mistakes() map[practice.Thing]bool {
	only := map[practice.Thing]bool{}
	for i := range t.last {
		s := &t.last[i]
		if s.Profile != t.profile {
			continue
		}
		wrong := map[practice.Thing]bool{}
		for k := range s.Trials {
			trial := &s.Trials[k]
			thing := practice.OfTrial(trial, s.Procedure, s.Profile)
			wrong[thing] = wrong[thing] || !trial.Right || trial.Slow
		}
		for thing, was := range wrong {
			if only[thing] = true; !was {
				delete(only, thing)
			}
		}
	}
	return only
}

// names are what a trainee calls what there is to be known.
type names map[practice.Thing]string

// namesOf names everything that is known of by one profile.
func (e *evening) namesOf() names {
	list := names{}
	for of := range e.flows {
		proc, err := e.lib.Procedure(of)
		if err != nil {
			continue
		}
		called := map[string]string{}
		proc.Each(func(_ *procedure.Phase, it *procedure.Item) { called[it.ID] = it.Challenge })
		for id, challenge := range called {
			list[practice.Thing{Kind: score.TrialItem, Of: of, Name: id}] = challenge
		}
		for i := range e.units {
			for _, t := range e.units[i].Things {
				if from, to, ok := strings.Cut(t.Name, score.StepName("", "")); ok && t.Of == of && t.Kind == score.TrialStep {
					list[t] = "what comes after " + called[from] + " (" + called[to] + ")"
				}
			}
		}
	}
	if prof, err := e.lib.Profile(e.profile); err == nil {
		procedure.Limits(prof, 0, 0).Each(func(_ *procedure.Phase, it *procedure.Item) {
			list[practice.Thing{Kind: score.TrialFigure, Of: e.profile, Name: it.ID}] = it.Challenge
		})
	}
	for i, s := range e.surprises {
		for _, t := range e.surprises[i].Things {
			list[t] = s.Title
		}
	}
	return list
}
