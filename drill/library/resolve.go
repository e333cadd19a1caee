package library

import (
	"slices"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/aircraft/datasheet"
	"hornlark/drill/fault"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Bundle is a scenario with everything that it refers to. All of it has been checked, each against the others.
type Bundle struct {
	Profile   *aircraft.Profile
	Procedure *procedure.Procedure
	Scenario  *scenario.Scenario
	Abnormals []*scenario.Abnormal // those that the scenario names, in the order in which it does
}

// Resolve finds a scenario and everything that it refers to. A name with a slash in it, or one that ends in .yaml or
// .yml, is the path of a scenario's file. The error is an *Unknown or Problems.
func (l *Library) Resolve(nameOrPath string) (*Bundle, error) {
	if IsPath(nameOrPath) {
		return l.resolveFile(nameOrPath)
	}
	return l.resolve(nameOrPath)
}

// IsPath reports whether Resolve takes it for the path of a file.
func IsPath(nameOrPath string) bool {
	return isYAML(nameOrPath) || strings.ContainsAny(nameOrPath, `/\`)
}

func (l *Library) resolveFile(path string) (*Bundle, error) {
	own, added, problems := l.with([]string{path})
	switch {
	case len(problems) > 0:
		return nil, problems
	case len(added) != 1:
		return nil, Problems{{File: path, Problem: "it is a folder", Remedy: "name the file of one scenario"}}
	case added[0].kind != Scenario:
		return nil, Problems{{File: path, Problem: "the file holds a " + string(added[0].kind), Remedy: "name the file of a scenario"}}
	}
	return own.resolve(added[0].name)
}

func (l *Library) resolve(name string) (*Bundle, error) {
	s, err := l.scenarios.get(Scenario, name)
	if err != nil {
		return nil, err
	}
	b := &Bundle{Scenario: s.doc}
	var problems Problems
	b.Profile, b.Procedure, problems = l.checkScenario(s)
	if b.Procedure != nil {
		problems = append(problems, l.checkProcedure(l.procedures[b.Procedure.Name])...)
	}
	for _, name := range s.doc.Abnormals() {
		if a, ok := l.abnormals[name]; ok {
			problems = append(problems, l.checkAbnormal(a)...)
			b.Abnormals = append(b.Abnormals, a.doc)
		}
	}
	if len(problems) > 0 {
		return nil, problems
	}
	return b, nil
}

// refer finds what a document names in one of its fields, or says at that field that there is no such thing.
func refer[T, D any](e entry[D], field, name string, s shelf[T], kind Kind) (*T, Problems) {
	found, err := s.get(kind, name)
	if err == nil {
		return found.doc, nil
	}
	var faults fault.List
	if name == "" {
		faults.Add(field, fault.Suggest("", s.names()), "the %s is missing", kind)
	} else {
		faults.Unknown(field, string(kind), name, s.names())
	}
	return nil, e.source.locate(faults)
}

func (l *Library) checkProcedure(e entry[procedure.Procedure]) Problems {
	prof, problems := refer(e, "profile", e.doc.Profile, l.profiles, Profile)
	if len(problems) > 0 {
		return problems
	}
	return e.source.locate(e.doc.Check(prof))
}

func (l *Library) checkAbnormal(e entry[scenario.Abnormal]) Problems {
	prof, problems := refer(e, "profile", e.doc.Profile, l.profiles, Profile)
	if len(problems) > 0 {
		return problems
	}
	flows := slices.DeleteFunc(l.Procedures(), func(p *procedure.Procedure) bool { return p.Profile != prof.Name })
	return e.source.locate(e.doc.Check(prof, flows...))
}

func (l *Library) checkScenario(e entry[scenario.Scenario]) (*aircraft.Profile, *procedure.Procedure, Problems) {
	proc, problems := refer(e, "procedure", e.doc.Procedure, l.procedures, Procedure)
	if len(problems) > 0 {
		return nil, nil, problems
	}
	prof, problems := refer(l.procedures[proc.Name], "profile", proc.Profile, l.profiles, Profile)
	if len(problems) > 0 {
		return nil, nil, problems
	}
	faults := e.doc.Check(prof, proc, l.Abnormals())
	// Freezing air is weather like any other, so a temperature of zero cannot stand for one that was forgotten.
	if !e.source.has("weather.oat") {
		faults.Add("weather", "write weather: {oat: 15, pressure_altitude: 0, tailwind: 0}", "the outside air temperature is missing")
	}
	return prof, proc, e.source.locate(faults)
}

// Checked is what checking a file came to.
type Checked struct {
	File     string
	Kind     Kind   // empty if the file does not say
	Name     string // of its document
	Problems Problems
}

// Check reads files, and the files of folders, as With does, and checks each with all the others on top of the library.
func (l *Library) Check(paths ...string) []Checked {
	own, list, problems := l.with(paths)
	var checked []Checked
	for _, a := range list {
		c := Checked{File: a.file, Kind: a.kind, Name: a.name, Problems: problems.of(a.file)}
		if len(c.Problems) == 0 {
			c.Problems = own.check(a)
		}
		checked = append(checked, c)
	}
	for _, p := range problems {
		if !slices.ContainsFunc(list, func(a added) bool { return a.file == p.File }) {
			checked = append(checked, Checked{File: p.File, Problems: Problems{p}})
		}
	}
	return checked
}

// check checks a document that is on its shelf.
func (l *Library) check(a added) Problems {
	switch a.kind {
	case Profile:
		return l.checkSheet(l.profiles[a.name])
	case Procedure:
		return l.checkProcedure(l.procedures[a.name])
	case Scenario:
		_, _, problems := l.checkScenario(l.scenarios[a.name])
		return problems
	case Abnormal:
		return l.checkAbnormal(l.abnormals[a.name])
	case Answers:
		return l.checkAnswers(a.answers, a.source)
	case Criteria:
		return l.checkCriteria(a.asked, a.source)
	}
	return nil
}

// checkSheet flies a profile, which was checked as it was compiled, and notes what its model does not do as expected.
func (l *Library) checkSheet(e entry[aircraft.Profile]) Problems {
	sheet, err := datasheet.Fly(e.doc)
	if err != nil {
		return Problems{{File: e.source.file, Problem: err.Error()}}
	}
	var faults fault.List
	for _, row := range sheet.Missed() {
		faults.Add("expected."+row.Figure, "tune the figures of systems, or expect what it does", "%s", row.Problem())
	}
	return e.source.locate(faults)
}

// CheckAll checks every document of the library.
func (l *Library) CheckAll() error {
	var problems Problems
	for _, name := range l.procedures.names() {
		problems = append(problems, l.check(added{kind: Procedure, name: name})...)
	}
	for _, name := range l.abnormals.names() {
		problems = append(problems, l.check(added{kind: Abnormal, name: name})...)
	}
	for _, name := range l.scenarios.names() {
		problems = append(problems, l.check(added{kind: Scenario, name: name})...)
	}
	return problems.Err()
}
