package library

import (
	"fmt"
	"maps"

	"hornlark/drill/scenario"
)

// Adding is the library and one more document, which a program has made: its text as of a file of that name. The error is Problems.
func (l *Library) Adding(name, text string) (*Library, error) {
	own := *l
	own.profiles, own.procedures = maps.Clone(l.profiles), maps.Clone(l.procedures)
	own.scenarios, own.abnormals = maps.Clone(l.scenarios), maps.Clone(l.abnormals)
	if _, problems := own.add([]file{{name: name, data: []byte(text)}}, true); len(problems) > 0 {
		return nil, problems
	}
	return &own, nil
}

// ResolveOn is Resolve for a scenario that is gone through on another profile than it says: one that is laid over that of its procedure,
// or made of it.
func (l *Library) ResolveOn(nameOrPath, profile string) (*Bundle, error) {
	if _, err := l.Profile(profile); err != nil {
		return nil, err
	}
	b, err := l.Resolve(nameOrPath)
	if err != nil || b.Profile.Name == profile {
		return b, err
	}
	view, borrowed := l.For(profile)
	s := *b.Scenario
	if fitting, ok := view.scenarios[s.Name]; ok { // without what is drawn and does not work there
		s = *fitting.doc
	}
	for _, of := range borrowed {
		if of.Kind == Scenario && of.Name == s.Name && !of.Works() {
			return nil, fmt.Errorf("%s does not work on %s: %s", s.Name, profile, of.Because)
		}
	}
	s.Profile = profile
	return view.Bundle(&s)
}

// Bundle checks a scenario that a program has made with the documents of the library, exactly as if it had been read from a file,
// and gives it with everything that it refers to. A scenario of the library by the same name stays as it is. The error is Problems,
// at lines of the scenario as it would be kept with a sitting.
func (l *Library) Bundle(made *scenario.Scenario) (*Bundle, error) {
	own := *l
	own.scenarios = shelf[scenario.Scenario]{}
	if _, problems := own.add([]file{unpacked("scenario "+made.Name, pack(made))}, true); len(problems) > 0 {
		return nil, problems
	}
	return own.resolve(made.Name)
}
