package library

import (
	"cmp"
	"io/fs"
	"path"
	"slices"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// ResolveBuiltin is Resolve for a scenario that comes with the program. It reads only what that refers to, a quarter of the built-in
// documents: whoever starts a sitting waits for them.
func ResolveBuiltin(name string) (*Bundle, error) {
	part, err := partOfBuiltin(name)
	if err != nil {
		return nil, err
	}
	if part == nil { // whoever looks for a name that there is not is told all that there are
		all, err := Builtin()
		if err != nil {
			return nil, err
		}
		return all.Resolve(name)
	}
	return part.resolve(name)
}

// partOfBuiltin is the built-in library without what a scenario has nothing to do with: the scenario, its procedure, its profile,
// every procedure of that, which its abnormals may go back to, the same of what that is laid over, and these. It is nil if there is no such scenario.
func partOfBuiltin(name string) (*Library, error) {
	files, err := builtinFiles()
	if err != nil {
		return nil, err
	}
	return partOf(files, name)
}

func partOf(files []file, name string) (*Library, error) {
	wanted := func(kind Kind, field, value string) []file {
		return slices.DeleteFunc(slices.Clone(files), func(f file) bool {
			return path.Dir(f.name) != string(kind)+"s" || topField(f.data, field) != value
		})
	}
	scenarios := wanted(Scenario, "name", name)
	if len(scenarios) != 1 {
		return nil, nil
	}
	l := newLibrary()
	if _, problems := l.add(scenarios, false); len(problems) > 0 {
		return nil, problems
	}
	s := l.scenarios[name].doc
	var rest []file
	for _, f := range wanted(Procedure, "name", s.Procedure) {
		profile := cmp.Or(s.Profile, topField(f.data, "profile"))
		for range MaxBased + 1 { // and what it is laid over or made of, with all that was written for that
			profiles := wanted(Profile, "name", profile)
			if len(profiles) == 0 {
				break
			}
			rest = append(rest, profiles...) // the largest first, since they are read side by side
			rest = append(rest, wanted(Procedure, "profile", profile)...)
			if profile = cmp.Or(topField(profiles[0].data, basedOn), topField(profiles[0].data, "like")); profile == "" {
				break
			}
		}
	}
	for _, abnormal := range s.Abnormals() {
		rest = append(rest, wanted(Abnormal, "name", abnormal)...)
	}
	if _, problems := l.add(rest, false); len(problems) > 0 {
		return nil, problems
	}
	return l, nil
}

// topField is what a built-in document says in a field of its own that stands on one line. It is looked for in the text, which takes a
// thousandth of what reading the document does.
func topField(data []byte, field string) string {
	for line := range strings.Lines(string(data)) {
		if value, found := strings.CutPrefix(line, field+":"); found {
			return strings.TrimSpace(value)
		}
	}
	return ""
}

// builtinFiles are the documents that come with the program, in a folder for each kind.
func builtinFiles() (files []file, err error) {
	err = fs.WalkDir(builtin, ".", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		data, err := builtin.ReadFile(path)
		files = append(files, file{name: path, data: data})
		return err
	})
	return files, err
}

func newLibrary() *Library {
	return &Library{
		profiles: shelf[aircraft.Profile]{}, procedures: shelf[procedure.Procedure]{},
		scenarios: shelf[scenario.Scenario]{}, abnormals: shelf[scenario.Abnormal]{},
	}
}
