package library

import (
	"hornlark/drill/scenario"
)

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
