package course

import "hornlark/drill/library"

// Made is a course that a program has made: what it is, and its files, which are looked at as those of a folder are. The error is
// library.Problems, at the names of files within it.
func Made(m library.Manifest, files []library.File, sounds Sounds) (*Course, error) {
	g := &gathered{files: []entry{{library.ManifestFile, library.Written(&m)}}}
	names := []string{library.ManifestFile}
	for _, f := range files {
		g.files = append(g.files, entry{f.Name, f.Data})
		names = append(names, f.Name)
	}
	problems, _ := checkNames(names)
	g.problems = problems
	return g.course("", sounds)
}
