package library

import (
	"errors"
	"fmt"
	"maps"
	"slices"

	"hornlark/drill/fault"
)

// MaxScenarios is how many scenarios a course may name.
const MaxScenarios = 200

// File is a file that has been read.
type File struct {
	Name string // as it is named where something is wrong with it
	Data []byte
}

// Manifest says what a course is: a folder of documents that is passed on as a whole.
type Manifest struct {
	Name      string   `yaml:"name"`      // short name, as on the command line
	Title     string   `yaml:"title"`     // name on a screen
	About     string   `yaml:"about"`     // a paragraph for the reader of a list
	By        string   `yaml:"by"`        // who made it and answers for it
	Version   string   `yaml:"version"`   // which one it is, as 1.2
	Scenarios []string `yaml:"scenarios"` // names of its scenarios, in the order in which they are to be sat
}

// ReadManifest reads the document that says what a course is, as strictly as any other.
func ReadManifest(f File) (*Manifest, Problems) {
	d, problems := parse(f.Name, f.Data)
	if len(problems) > 0 {
		return nil, problems
	}
	m := new(Manifest)
	problems = d.decode(m)
	var faults fault.List
	faults.Name("name", m.Name)
	faults.Line("title", "title", m.Title)
	faults.Line("by", "maker", m.By)
	faults.Line("version", "version", m.Version)
	if len(m.Scenarios) == 0 {
		faults.Add("scenarios", "write scenarios: and their names, in the order in which they are to be sat", "it has no scenarios")
	}
	if len(m.Scenarios) > MaxScenarios {
		faults.Add("scenarios", fmt.Sprintf("stay within %d", MaxScenarios), "there are %d scenarios", len(m.Scenarios))
	}
	for i, name := range m.Scenarios[:min(len(m.Scenarios), MaxScenarios)] {
		if slices.Index(m.Scenarios, name) < i {
			faults.Add(fault.At("scenarios", i), "name it once", "scenario %q is named twice", name)
		}
	}
	return m, append(problems, d.locate(faults)...)
}

// CheckScenarios looks whether a course has the scenarios that it names, and names those that it has. Names are of its own documents.
func (m *Manifest) CheckScenarios(f File, own []string) Problems {
	d, problems := parse(f.Name, f.Data)
	if len(problems) > 0 {
		return problems
	}
	d.decode(new(Manifest)) // for the places
	var faults fault.List
	for i, name := range m.Scenarios {
		if !slices.Contains(own, name) {
			faults.Unknown(fault.At("scenarios", i), "scenario", name, own)
		}
	}
	for _, name := range own {
		if !slices.Contains(m.Scenarios, name) {
			faults.Add("scenarios", "add it, or take its file out", "the scenario %q of the course is not among them", name)
		}
	}
	return d.locate(faults)
}

// WithCourse is the library and the documents of a course, and what was found out about each of its files. Unlike those of a user they
// take nobody's place: a name that there is already is a problem. Answers and criteria are checked and are on no shelf.
func (l *Library) WithCourse(course string, files []File) (*Library, []Checked) {
	var read []file
	for _, f := range files {
		read = append(read, file{name: f.Name, data: f.Data})
	}
	own := l.clone()
	list, _ := own.add(read, true)
	own.notices = l.notices // nothing has taken another's place
	var checked []Checked
	for _, a := range list {
		c := Checked{File: a.file, Kind: a.kind, Name: a.name, Document: a.doc, Problems: a.problems, source: a.source}
		if whose, taken := l.owner(a.kind, a.name); taken {
			c.Problems = append(c.Problems, a.source.locate(fault.List{{Path: "name", Problem: fmt.Sprintf("there is another %s %q, %s", a.kind, a.name, whose), Remedy: "give it a name of its own"}})...)
		}
		if a.check != nil {
			c.Problems = append(c.Problems, a.check(own)...)
		}
		c.Problems = c.Problems.Grouped()
		checked = append(checked, c)
		own.mark(a.kind, a.name, course)
	}
	return own, checked
}

// clone is the library, to which something may be added.
func (l *Library) clone() *Library {
	return &Library{
		profiles: maps.Clone(l.profiles), procedures: maps.Clone(l.procedures),
		scenarios: maps.Clone(l.scenarios), abnormals: maps.Clone(l.abnormals),
		notices: slices.Clone(l.notices), asides: l.asides,
	}
}

// owner says whose document of a name is, as part of a sentence; false if there is none.
func (l *Library) owner(kind Kind, name string) (whose string, taken bool) {
	course, own := "", false
	switch kind {
	case Profile:
		e, ok := l.profiles[name]
		taken, course, own = ok, e.course, e.own
	case Procedure:
		e, ok := l.procedures[name]
		taken, course, own = ok, e.course, e.own
	case Scenario:
		e, ok := l.scenarios[name]
		taken, course, own = ok, e.course, e.own
	case Abnormal:
		e, ok := l.abnormals[name]
		taken, course, own = ok, e.course, e.own
	}
	switch {
	case course != "":
		return fmt.Sprintf("of the course %q", course), taken
	case own:
		return "of your own", taken
	}
	return "which is built in", taken
}

// mark notes that a document is that of a course.
func (l *Library) mark(kind Kind, name, course string) {
	switch kind {
	case Profile:
		markOn(l.profiles, name, course)
	case Procedure:
		markOn(l.procedures, name, course)
	case Scenario:
		markOn(l.scenarios, name, course)
	case Abnormal:
		markOn(l.abnormals, name, course)
	}
}

func markOn[T any](s shelf[T], name, course string) {
	if e, ok := s[name]; ok {
		e.course = course
		s[name] = e
	}
}

// CourseOf is the course that a document came with; empty if with none.
func (l *Library) CourseOf(kind Kind, name string) string {
	switch kind {
	case Profile:
		return l.profiles[name].course
	case Procedure:
		return l.procedures[name].course
	case Scenario:
		return l.scenarios[name].course
	case Abnormal:
		return l.abnormals[name].course
	}
	return ""
}

// Aside is the library, and what is to be said to whoever looks for something that is not in it: what is not there because something is
// wrong with it. It is among the notices too.
func (l *Library) Aside(lines ...string) *Library {
	own := *l
	own.notices = append(slices.Clone(l.notices), lines...)
	own.asides = append(slices.Clone(l.asides), lines...)
	return &own
}

// Asides is what Aside has been told.
func (l *Library) Asides() []string { return l.asides }

// aside adds to the error about a name that there is not what is not there because something is wrong with it.
func (l *Library) aside(err error) error {
	var unknown *Unknown
	if errors.As(err, &unknown) {
		unknown.Asides = l.asides
	}
	return err
}
