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
	Abnormals []*scenario.Abnormal // those that the scenario names, in the order in which it does; see Staffed
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
	return IsYAML(nameOrPath) || strings.ContainsAny(nameOrPath, `/\`)
}

func (l *Library) resolveFile(path string) (*Bundle, error) {
	own, added, problems := l.with([]string{path})
	for _, a := range added {
		problems = append(problems, a.problems...)
	}
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
		return nil, l.aside(err)
	}
	b := &Bundle{Scenario: s.doc}
	var problems Problems
	b.Profile, b.Procedure, problems = l.checkScenario(s)
	view := l
	if b.Procedure != nil {
		view, _ = l.For(b.Profile.Name)
		problems = append(problems, view.checkProcedure(view.procedures[b.Procedure.Name])...)
	}
	for _, name := range s.doc.Abnormals() {
		if a, ok := view.abnormals[name]; ok {
			problems = append(problems, view.checkAbnormal(a)...)
			b.Abnormals = append(b.Abnormals, a.doc)
		}
	}
	if len(problems) > 0 {
		return nil, problems
	}
	return b, nil
}

// Staffed is a bundle of the library with all abnormals of its aircraft, so that an instructor can put in any of them: after those that the
// scenario names the others by their names, less those with which something is wrong. The sitting itself goes as it would without.
func (l *Library) Staffed(b *Bundle) *Bundle {
	view, _ := l.For(b.Profile.Name)
	out := *b
	out.Abnormals = slices.Clip(b.Abnormals)
	for _, name := range view.abnormals.names() {
		a := view.abnormals[name]
		named := slices.ContainsFunc(b.Abnormals, func(is *scenario.Abnormal) bool { return is.Name == name })
		if !named && a.doc.Profile == b.Profile.Name && len(view.checkAbnormal(a)) == 0 {
			out.Abnormals = append(out.Abnormals, a.doc)
		}
	}
	return &out
}

// refer finds what a document names in one of its fields, or says at that field that there is no such thing, unless it has been said
// already that the field could not be taken.
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

// whichever is what is wrong whatever it is that a document refers to by a name that there is not: by the nearest name if one is near,
// else what is wrong with each. What is said of the reference itself is left out.
func whichever[T any](field, name string, s shelf[T], check func(*T) fault.List) fault.List {
	names := s.names()
	if near := fault.Nearest(name, names); near != "" {
		names = []string{near}
	}
	var common fault.List
	for i, name := range names {
		found := slices.DeleteFunc(check(s[name].doc), func(f fault.Fault) bool { return f.Path == field })
		if i == 0 {
			common = found
			continue
		}
		common = slices.DeleteFunc(common, func(f fault.Fault) bool { return !slices.Contains(found, f) })
	}
	return common
}

func (l *Library) checkProcedure(e entry[procedure.Procedure]) Problems {
	prof, problems := refer(e, "profile", e.doc.Profile, l.profiles, Profile)
	if prof == nil {
		return append(problems, e.source.locate(whichever("profile", e.doc.Profile, l.profiles, e.doc.Check))...)
	}
	return e.source.locate(e.doc.Check(prof))
}

func (l *Library) checkAbnormal(e entry[scenario.Abnormal]) Problems {
	check := func(prof *aircraft.Profile) fault.List {
		view, _ := l.For(prof.Name)
		return e.doc.Check(prof, view.flows(prof.Name)...)
	}
	prof, problems := refer(e, "profile", e.doc.Profile, l.profiles, Profile)
	if prof == nil {
		return append(problems, e.source.locate(whichever("profile", e.doc.Profile, l.profiles, check))...)
	}
	return e.source.locate(check(prof))
}

// flows are the procedures for a profile.
func (l *Library) flows(profile string) []*procedure.Procedure {
	return slices.DeleteFunc(l.Procedures(), func(p *procedure.Procedure) bool { return p.Profile != profile })
}

func (l *Library) checkScenario(e entry[scenario.Scenario]) (*aircraft.Profile, *procedure.Procedure, Problems) {
	view, borrowed, problems := l.viewFor(e)
	proc, unknown := refer(e, "procedure", e.doc.Procedure, view.procedures, Procedure)
	problems = append(problems, unknown...)
	if proc == nil {
		return nil, nil, append(problems, e.source.locate(whichever("procedure", e.doc.Procedure, l.procedures, func(proc *procedure.Procedure) fault.List {
			prof, ok := l.profiles[proc.Profile]
			if !ok {
				return nil
			}
			return l.scenarioFaults(e, prof.doc, proc)
		}))...)
	}
	prof, unknown := refer(view.procedures[proc.Name], "profile", proc.Profile, view.profiles, Profile)
	if prof == nil {
		return nil, nil, append(problems, unknown...)
	}
	if len(problems) == 0 {
		var faults fault.List
		proc, prof, faults = view.notFor(e.doc, proc, prof, borrowed)
		problems = e.source.locate(faults)
	}
	faults := view.scenarioFaults(e, prof, proc)
	return prof, proc, append(problems, e.source.locate(because(faults, e.doc, borrowed))...)
}

// scenarioFaults is what is wrong with a scenario of a procedure on a profile.
func (l *Library) scenarioFaults(e entry[scenario.Scenario], prof *aircraft.Profile, proc *procedure.Procedure) fault.List {
	faults := e.doc.Check(prof, proc, l.Abnormals())
	if !e.source.has("weather.oat") {
		faults.Add("weather", "write weather: {oat: 15, pressure_altitude: 0, tailwind: 0}", noOAT)
	}
	return faults
}

// noOAT is that nobody said how warm it is. Freezing air is weather like any other, so a temperature of zero cannot stand for one that was
// forgotten.
const noOAT = "the outside air temperature is missing"

// Checked is what checking a file came to.
type Checked struct {
	File     string
	Kind     Kind   // empty if the file does not say
	Name     string // of its document
	Document any    // what was read, as a *procedure.Procedure, only to be read; nil: it could not be
	Problems Problems
	source   *document
}

// Place is where in the file something stands that a path of the document names, or the nearest thing around it that was written, in lines
// and characters from 1; false where what stands there could not be taken, which is among the problems.
func (c *Checked) Place(path string, column int) (line, col int, ok bool) {
	if c.source == nil || c.source.spoils(path) {
		return 0, 0, false
	}
	line, col = c.source.at(path, column)
	return line, col, true
}

// Check reads files, and the files of folders, as With does, and checks each with all the others on top of the library.
func (l *Library) Check(paths ...string) []Checked {
	checked, _ := l.Examine(paths...)
	for i := range checked {
		checked[i].Problems = checked[i].Problems.Grouped()
	}
	return checked
}

// Examine is Check, and gives the library as well against which the files were checked: these laid over it, with what is wrong in
// them. Problems that are alike stand each by itself.
func (l *Library) Examine(paths ...string) ([]Checked, *Library) {
	own, list, unread := l.with(paths)
	var checked []Checked
	for _, a := range list {
		c := Checked{File: a.file, Kind: a.kind, Name: a.name, Document: a.doc, Problems: a.problems, source: a.source}
		if a.check != nil {
			c.Problems = append(c.Problems, a.check(own)...)
		}
		checked = append(checked, c)
	}
	for _, p := range unread {
		checked = append(checked, Checked{File: p.File, Problems: Problems{p}})
	}
	return checked, own
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
		problems = append(problems, l.checkProcedure(l.procedures[name])...)
	}
	for _, name := range l.abnormals.names() {
		problems = append(problems, l.checkAbnormal(l.abnormals[name])...)
	}
	for _, name := range l.scenarios.names() {
		_, _, found := l.checkScenario(l.scenarios[name])
		problems = append(problems, found...)
	}
	return problems.Err()
}
