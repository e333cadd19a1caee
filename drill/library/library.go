// Package library reads the documents of the trainer: profiles, procedures, scenarios and abnormals, the built-in ones
// and a user's own.
//
// What a file holds is told by a field: controls or based_on make a profile, procedure a scenario, phases without that a procedure, and cues
// an abnormal; start_from or answers make answers and passes_in_a_row criteria of an instructor, which are on no shelf and only
// checked. Neither its name nor its folder matters.
package library

import (
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"hornlark/drill/aircraft"
	"hornlark/drill/aircraft/datasheet"
	"hornlark/drill/fault"
	"hornlark/drill/practice"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// MaxFiles bounds the files of one folder.
const MaxFiles = 500

//go:embed profiles procedures scenarios abnormals
var builtin embed.FS

// Kind is the kind of a document.
type Kind string

// The kinds.
const (
	Profile   Kind = "profile"
	Procedure Kind = "procedure"
	Scenario  Kind = "scenario"
	Abnormal  Kind = "abnormal"
	Answers   Kind = "answers"  // of a trainee on paper; they belong to a call and are on no shelf
	Criteria  Kind = "criteria" // of an instructor, for whether somebody is ready; the same
)

// marks is the field by which each kind is told.
var marks = []struct {
	field string
	kind  Kind
}{{"controls", Profile}, {basedOn, Profile}, {"phases", Procedure}, {"procedure", Scenario}, {"cues", Abnormal}, {"start_from", Answers}, {"answers", Answers},
	{"passes_in_a_row", Criteria}}

// Library is a set of documents, each found by its kind and its name. It is only to be read, and may be shared.
type Library struct {
	profiles   shelf[aircraft.Profile]
	procedures shelf[procedure.Procedure]
	scenarios  shelf[scenario.Scenario]
	abnormals  shelf[scenario.Abnormal]
	notices    []string
	passed     []string // files of folders that are YAML and none of ours
	asides     []string // see Aside
}

// entry is a document and where it was read from.
type entry[T any] struct {
	doc    *T
	source *document
	own    bool   // a user's, not a built-in one
	course string // that it came with; empty: with none
}

type shelf[T any] map[string]entry[T]

func (s shelf[T]) names() []string { return slices.Sorted(maps.Keys(s)) }

func (s shelf[T]) get(kind Kind, name string) (entry[T], error) {
	e, ok := s[name]
	if !ok {
		return e, &Unknown{Kind: kind, Name: name, Known: s.names()}
	}
	return e, nil
}

// all gives the documents in the order of their names.
func (s shelf[T]) all() []*T {
	out := make([]*T, 0, len(s))
	for _, name := range s.names() {
		out = append(out, s[name].doc)
	}
	return out
}

// put adds a document. A user's own one takes the place of a built-in one of the same name, which is worth a notice.
func put[T any](s shelf[T], kind Kind, name string, e entry[T], notices *[]string) *Problem {
	if before, taken := s[name]; taken {
		if sameFile(before.source.file, e.source.file) {
			return nil // named twice, as by itself and by its folder
		}
		if !e.own || before.own && before.course == "" {
			line, column := e.source.at("name", 0)
			return &Problem{e.source.file, line, column,
				fmt.Sprintf("there is another %s %q, in %s", kind, name, before.source.file), "give it a name of its own"}
		}
		whose := "built-in " + string(kind)
		if before.course != "" {
			whose = fmt.Sprintf("%s of the course %q,", kind, before.course)
		}
		*notices = append(*notices, fmt.Sprintf("%s: takes the place of the %s %q", e.source.file, whose, name))
	}
	s[name] = e
	return nil
}

func sameFile(a, b string) bool {
	a, errA := filepath.Abs(a)
	b, errB := filepath.Abs(b)
	return errA == nil && errB == nil && a == b
}

// Unknown is the error for a name that is in no document of its kind.
type Unknown struct {
	Kind   Kind
	Name   string
	Known  []string // in order
	Asides []string // what is not there because something is wrong with it, a line each
}

// mostNamed is of how many names all are told.
const mostNamed = 12

// Error names what was asked for, the nearest known name if there is one, and all that are known; of many the likeliest.
func (e *Unknown) Error() string {
	return strings.Join(append([]string{e.unknown()}, e.Asides...), "\n")
}

func (e *Unknown) unknown() string {
	hint := ""
	if near := fault.Nearest(e.Name, e.Known); near != "" {
		hint = fmt.Sprintf("; did you mean %q?", near)
	}
	if len(e.Known) > mostNamed {
		if hint == "" {
			hint = fmt.Sprintf("; there are %d, as %s", len(e.Known), strings.Join(fault.Likeliest(e.Name, e.Known, 5), ", "))
		}
		return fmt.Sprintf("there is no %s %q%s; hornlark list has them all", e.Kind, e.Name, hint)
	}
	return fmt.Sprintf("there is no %s %q%s; there is %s", e.Kind, e.Name, hint, strings.Join(e.Known, ", "))
}

// Builtin is the library of the documents that come with the program. It is read once, until Release.
func Builtin() (*Library, error) {
	held.Lock()
	defer held.Unlock()
	if held.library == nil && held.err == nil {
		held.library, held.err = readBuiltin()
	}
	return held.library, held.err
}

// Release lets the built-in library go, some 5 MB of documents and of where everything stands in them. Whoever has taken something
// from it keeps that; the next Builtin reads it anew, which takes a tenth of a second.
func Release() {
	held.Lock()
	defer held.Unlock()
	held.library, held.err = nil, nil
}

// held is the built-in library, once it has been read.
var held struct {
	sync.Mutex
	library *Library
	err     error
}

func readBuiltin() (*Library, error) {
	files, err := builtinFiles()
	if err != nil {
		return nil, err
	}
	l := newLibrary()
	if _, problems := l.add(files, false); len(problems) > 0 {
		return nil, problems
	}
	return l, nil
}

// With is the library and a user's own files, named singly or by their folder, which is searched through for .yaml and
// .yml. A document of one's own takes the place of a built-in one of the same name. The error is Problems; the library
// is then as it was.
func (l *Library) With(paths ...string) (*Library, error) {
	own, list, problems := l.with(paths)
	var told Problems
	for _, a := range list {
		told = append(told, a.problems.Grouped()...)
	}
	if told = append(told, problems...); len(told) > 0 {
		return l, told
	}
	return own, nil
}

// with gives the library with the files, what each of them has come to, and what could not be read at all.
func (l *Library) with(paths []string) (*Library, []added, Problems) {
	files, unread := readAll(paths)
	own := l.clone()
	added, _ := own.add(files, true)
	return own, added, unread
}

// PassedOver is the YAML files of folders that were not taken for documents, because they are about something else.
func (l *Library) PassedOver() []string { return l.passed }

// Notices is what a user should be told about the library, a line each.
func (l *Library) Notices() []string { return l.notices }

// added is a document that has been put on its shelf, or its file if it could not.
type added struct {
	file    string
	kind    Kind
	name    string
	answers *scenario.Answers // if it is answers or criteria, which are on none, and where they were read from
	asked   *practice.Criteria
	doc     any // what was read, a pointer to its struct; nil: it could not be
	source  *document

	problems Problems                  // what is wrong with it by itself
	check    func(l *Library) Problems // of what it refers to; nil: there is nothing to check, or it could not be read
}

// add reads files and puts their documents on the shelves. They are read side by side, which nearly halves the time from the start of
// the program to the first word, and shelved in their order.
func (l *Library) add(files []file, own bool) ([]added, Problems) {
	ready := make([]shelving, len(files))
	var all sync.WaitGroup
	var next atomic.Int64
	for range min(runtime.GOMAXPROCS(0), len(files)) {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(files); i = int(next.Add(1)) - 1 {
				ready[i] = readDocument(files[i])
			}
		})
	}
	all.Wait()
	for i := range ready {
		if ready[i].over == nil {
			ready[i].put(l, own)
		}
	}
	l.addOverlays(ready, own)
	var list []added
	var problems Problems
	for _, s := range ready {
		if s.foreign {
			l.passed = append(l.passed, s.file)
			continue
		}
		list = append(list, s.added)
		problems = append(problems, s.problems...)
	}
	return list, problems
}

// shelving is a document that has been read and got ready, and how it is put on its shelf; or what is wrong with it.
type shelving struct {
	added
	foreign bool // it is none of ours
	shelve  func(l *Library, own bool) Problems
	over    *document // a profile that is laid over another one, which is got ready once that is on its shelf
}

// put puts it on its shelf, with its faults too, so that whoever refers to it finds it.
func (s *shelving) put(l *Library, own bool) {
	if s.shelve != nil {
		s.problems = append(s.problems, s.shelve(l, own)...)
	}
	if s.source != nil {
		s.source.problems = s.problems
	}
}

// readDocument reads a file.
func readDocument(f file) shelving {
	s := shelving{added: added{file: f.name}}
	d, problems := parse(f.name, f.data)
	if f.found && d.foreign(f.data) {
		s.foreign = true
		return s
	}
	if s.problems = problems; len(problems) > 0 {
		return s
	}
	return takeDocument(d)
}

// takeDocument takes what is written in a document.
func takeDocument(d *document) shelving {
	s := shelving{added: added{file: d.file}}
	kind, problem := d.kind()
	if kind == "" {
		s.problems = Problems{*problem}
		return s
	}
	s.kind = kind
	switch kind {
	case Profile:
		if d.base() != nil {
			s.over = d
			return s
		}
		s.profile(d)
	case Procedure:
		decodeInto(&s, d, func(l *Library) shelf[procedure.Procedure] { return l.procedures },
			func(p *procedure.Procedure) (string, fault.List) { return p.Name, nil })
	case Scenario:
		decodeInto(&s, d, func(l *Library) shelf[scenario.Scenario] { return l.scenarios },
			func(c *scenario.Scenario) (string, fault.List) { return c.Name, nil })
	case Abnormal:
		decodeInto(&s, d, func(l *Library) shelf[scenario.Abnormal] { return l.abnormals },
			func(ab *scenario.Abnormal) (string, fault.List) { return ab.Name, nil })
	case Answers:
		s.answers, s.problems = decodeAnswers(d)
		s.doc, s.source = s.answers, d
		s.check = func(l *Library) Problems { return l.checkAnswers(s.answers, d) }
	case Criteria:
		s.asked, s.problems = decodeCriteria(d)
		s.doc, s.source = s.asked, d
		s.check = func(l *Library) Problems { return l.checkCriteria(s.asked, d) }
	}
	return s
}

// profile reads a profile that is there as a whole.
func (s *shelving) profile(d *document) {
	decodeInto(s, d, func(l *Library) shelf[aircraft.Profile] { return l.profiles }, func(p *aircraft.Profile) (string, fault.List) {
		name, faults := compileProfile(p)
		if d.has("expected.weather") && !d.has("expected.weather.oat") {
			faults.Add("expected.weather", "write weather: {oat: 15, pressure_altitude: 0}, or leave it out", noOAT)
		}
		return name, faults
	})
	shelve, name := s.shelve, s.name
	if shelve == nil {
		return
	}
	s.shelve = func(l *Library, own bool) Problems {
		problems := shelve(l, own)
		if e, ok := l.profiles[name]; ok && e.source == d {
			e.doc.Own = own
		}
		return problems
	}
}

// compileProfile makes a profile ready for use, and looks whether its data sheet makes sense.
func compileProfile(p *aircraft.Profile) (string, fault.List) {
	faults := p.Compile()
	return p.Name, append(faults, datasheet.Check(p)...)
}

// decodeInto decodes a document for its shelf; ready gets it ready and gives its name.
func decodeInto[T any](s *shelving, d *document, on func(*Library) shelf[T], ready func(*T) (string, fault.List)) {
	doc := new(T)
	s.problems = append(s.problems, d.decode(doc)...)
	s.doc, s.source = doc, d
	name, faults := ready(doc)
	s.name = name
	if name == "" && s.kind != Profile && !d.spoils("name") { // of a profile that has been noted
		line, column := d.at("", 0)
		s.problems = append(s.problems, Problem{d.file, line, column, fmt.Sprintf("the %s has no name", s.kind), "write name: and a short name"})
		d.spoilt["name"] = true
	}
	s.problems = append(s.problems, d.locate(faults)...)
	kind, sound := s.kind, len(s.problems) == 0 && d.sound()
	s.check = func(l *Library) Problems {
		switch e := any(entry[T]{doc: doc, source: d}).(type) {
		case entry[aircraft.Profile]:
			problems := l.checkLineage(e)
			if sound && len(problems) == 0 {
				return l.checkSheet(e)
			}
			return problems
		case entry[procedure.Procedure]:
			return l.checkProcedure(e)
		case entry[scenario.Scenario]:
			_, _, problems := l.checkScenario(e)
			return problems
		case entry[scenario.Abnormal]:
			return l.checkAbnormal(e)
		}
		return nil
	}
	if name == "" {
		return
	}
	s.shelve = func(l *Library, own bool) Problems {
		if problem := put(on(l), kind, name, entry[T]{doc: doc, source: d, own: own}, &l.notices); problem != nil {
			return Problems{*problem}
		}
		return nil
	}
}

// kind tells what the document is.
func (d *document) kind() (Kind, *Problem) {
	var fields []string
	for i := 0; i < len(d.root.Content); i += 2 {
		fields = append(fields, d.root.Content[i].Value)
	}
	var kinds []Kind
	for _, m := range marks {
		if slices.Contains(fields, m.field) && !slices.Contains(kinds, m.kind) {
			kinds = append(kinds, m.kind)
		}
	}
	if slices.Contains(kinds, Scenario) { // phases of a scenario are the names of those of its procedure
		kinds = slices.DeleteFunc(kinds, func(k Kind) bool { return k == Procedure })
	}
	if len(kinds) == 1 {
		return kinds[0], nil
	}
	const remedy = "a profile has controls or based_on, a procedure has phases, a scenario has procedure, an abnormal has cues, answers have start_from or answers, and criteria have passes_in_a_row"
	if len(kinds) > 1 {
		return "", &Problem{d.file, d.root.Line, d.root.Column,
			fmt.Sprintf("the file has fields of a %s and of a %s", kinds[0], kinds[1]), remedy}
	}
	for _, written := range fields {
		for _, m := range marks {
			if fault.Nearest(written, []string{m.field}) != "" {
				return m.kind, nil // the field is told of as it is read
			}
		}
	}
	return "", &Problem{d.file, d.root.Line, d.root.Column, "the file does not say what it is", remedy}
}

// file is a file that has been read.
type file struct {
	name  string
	data  []byte
	found bool // in a folder, and not named by itself
}

// readAll reads files, and all YAML files of folders.
func readAll(paths []string) ([]file, Problems) {
	var files []file
	var problems Problems
	for _, path := range paths {
		names, problem := yamlFiles(path)
		for _, name := range names {
			if problem != nil {
				break
			}
			var f file
			if f, problem = readFile(name); problem == nil {
				f.found = name != path
				files = append(files, f)
			}
		}
		if problem != nil {
			problems = append(problems, *problem)
		}
	}
	return files, problems
}

// yamlFiles is the path itself, or the YAML files below it if it is a folder, in the order of their names.
func yamlFiles(path string) ([]string, *Problem) {
	if info, err := os.Stat(path); err != nil || !info.IsDir() {
		return []string{path}, nil
	}
	var names []string
	err := filepath.WalkDir(path, func(name string, entry fs.DirEntry, err error) error {
		if err == nil && entry.IsDir() && name != path && strings.HasPrefix(entry.Name(), ".") {
			return fs.SkipDir // of another program
		}
		if err != nil || entry.IsDir() || !IsYAML(name) || slices.Contains(besides, entry.Name()) {
			return err
		}
		if names = append(names, name); len(names) > MaxFiles {
			return fmt.Errorf("there are more than %d YAML files", MaxFiles)
		}
		return nil
	})
	if err != nil {
		return nil, &Problem{File: path, Problem: plainError(err), Remedy: "name the files singly"}
	}
	return names, nil
}

// ManifestFile is what the file is called that says what a course is.
const ManifestFile = "course.yaml"

// besides are YAML files that hold something else of ours, by their names: how words are spoken, what alerts sound like, and what a course is.
var besides = []string{"lexicon.yaml", "tones.yaml", ManifestFile}

// IsYAML reports whether a file is taken for a document, by its name.
func IsYAML(name string) bool {
	ext := strings.ToLower(filepath.Ext(name))
	return ext == ".yaml" || ext == ".yml"
}

func readFile(name string) (file, *Problem) {
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return file{}, &Problem{File: name, Problem: plainError(err), Remedy: "check the path"}
	case !info.Mode().IsRegular():
		return file{}, &Problem{File: name, Problem: "it is not a file", Remedy: "name a YAML file, or a folder of them"}
	}
	f, err := os.Open(name)
	if err != nil {
		return file{}, &Problem{File: name, Problem: plainError(err), Remedy: "see to it that the file can be read"}
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, MaxFile+1))
	if err != nil {
		return file{}, &Problem{File: name, Problem: plainError(err), Remedy: "see to it that the file can be read"}
	}
	return file{name: name, data: data}, nil
}

// plainError is the bare cause of an error about a file that has been named already.
func plainError(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	return "it cannot be read: " + err.Error()
}

// Profile finds a profile; the error is an *Unknown.
func (l *Library) Profile(name string) (*aircraft.Profile, error) {
	e, err := l.profiles.get(Profile, name)
	return e.doc, l.aside(err)
}

// ProfileText is the document of a profile as it was written, its comments included, with line ends that are \n; the error is an
// *Unknown.
func (l *Library) ProfileText(name string) (string, error) {
	e, err := l.profiles.get(Profile, name)
	if err != nil {
		return "", err
	}
	return e.source.text, nil
}

// Procedure finds a procedure; the error is an *Unknown.
func (l *Library) Procedure(name string) (*procedure.Procedure, error) {
	e, err := l.procedures.get(Procedure, name)
	return e.doc, l.aside(err)
}

// Scenario finds a scenario; the error is an *Unknown.
func (l *Library) Scenario(name string) (*scenario.Scenario, error) {
	e, err := l.scenarios.get(Scenario, name)
	return e.doc, l.aside(err)
}

// Abnormal finds an abnormal; the error is an *Unknown.
func (l *Library) Abnormal(name string) (*scenario.Abnormal, error) {
	e, err := l.abnormals.get(Abnormal, name)
	return e.doc, l.aside(err)
}

// Profiles gives every profile, in the order of their names.
func (l *Library) Profiles() []*aircraft.Profile { return l.profiles.all() }

// Procedures gives every procedure, in the order of their names.
func (l *Library) Procedures() []*procedure.Procedure { return l.procedures.all() }

// Scenarios gives every scenario, in the order of their names.
func (l *Library) Scenarios() []*scenario.Scenario { return l.scenarios.all() }

// Abnormals gives every abnormal, in the order of their names.
func (l *Library) Abnormals() []*scenario.Abnormal { return l.abnormals.all() }
