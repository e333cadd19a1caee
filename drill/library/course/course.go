// Package course keeps folders of documents that are passed on as a whole: it packs them, looks at what arrives before anything of it is
// used, and installs it for the user.
//
// What arrives is not trusted. It is counted while it is unpacked, whatever it says of its size; its names stay in its own folder and are
// names on every system; it has no links and no devices, and of each file it is known what it is. Nothing in it is ever run.
package course

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"path"
	"regexp"
	"slices"
	"strings"

	"hornlark/drill/library"
)

// The bounds of a course.
const (
	MaxPackage = 64 << 20 // bytes of a package
	MaxBytes   = 96 << 20 // of all its files together
	MaxEntries = 1000     // files and folders
	MaxClip    = 4 << 20  // bytes of a clip
	MaxSound   = 1 << 20  // of the lexicon and of the tones
	MaxPath    = 120      // characters of a name with its folders
	MaxDepth   = 4        // folders inside one another
)

// The files of a course that are no documents, by their names, and the folder of its clips.
const (
	Lexicon = "lexicon.yaml" // how its words are spoken
	Tones   = "tones.yaml"   // what alerts sound like
	Clips   = "voice"        // spoken phrases, each called as the cache of voices calls it
)

// Sounds looks at what is heard of a course, which the library knows nothing of. A field that is nil takes anything.
type Sounds struct {
	Lexicon func([]byte) error
	Tones   func([]byte) error
	Clip    func([]byte) error
}

// Course is a course in memory. All of it has been looked at but for what its documents say of each other.
type Course struct {
	library.Manifest
	files []entry // in the order of their names; the manifest is among them
	from  string  // what it was read from
}

// entry is a file of a course.
type entry struct {
	name string // with slashes
	data []byte
}

// clipName is what a clip is called: its key, and how it is kept.
var clipName = regexp.MustCompile(`^` + Clips + `/[0-9a-f]{24}\.pcm\.gz$`)

// kindOf says what a file of a course is for, by its name; empty if a course has no such file.
func kindOf(name string) string {
	switch {
	case name == library.ManifestFile:
		return "manifest"
	case name == Lexicon:
		return "lexicon"
	case name == Tones:
		return "tones"
	case clipName.MatchString(name):
		return "clip"
	case library.IsYAML(name) && !slices.Contains([]string{library.ManifestFile, Lexicon, Tones}, path.Base(name)) && !strings.HasPrefix(name, Clips+"/"):
		return "document"
	}
	return ""
}

// most is how many bytes a file of a kind may have.
func most(kind string) int64 {
	switch kind {
	case "clip":
		return MaxClip
	case "lexicon", "tones":
		return MaxSound
	}
	return library.MaxFile
}

// segment is a part of a name that every system has: letters of English, digits, and what may stand between them.
var segment = regexp.MustCompile(`^[A-Za-z0-9_]([A-Za-z0-9._ -]*[A-Za-z0-9_-])?$`)

// reserved are names that mean a device on Windows, whatever stands behind a dot ("Naming Files, Paths, and Namespaces", Microsoft Learn).
var reserved = regexp.MustCompile(`(?i)^(con|prn|aux|nul|com[0-9]|lpt[0-9])$`)

// checkName says what is wrong with the name of a file of a course.
func checkName(name string) error {
	switch {
	case name == "" || strings.HasPrefix(name, "/") || strings.Contains(name, `\`) || strings.Contains(name, ":"):
		return fmt.Errorf("%s is no name within a folder; write it as folder/name", quoted(name))
	case len(name) > MaxPath:
		return fmt.Errorf("%s is too long a name; stay within %d characters, folders included", quoted(name), MaxPath)
	}
	parts := strings.Split(name, "/")
	if len(parts) > MaxDepth {
		return fmt.Errorf("%s lies too deep; stay within %d folders", quoted(name), MaxDepth-1)
	}
	for _, part := range parts {
		first, _, _ := strings.Cut(part, ".")
		switch {
		case part == "" || part == "." || part == "..":
			return fmt.Errorf("%s leads out of its folder, or nowhere; write it as folder/name", quoted(name))
		case !segment.MatchString(part):
			return fmt.Errorf("%s is not a name on every system; use letters a to z, digits, and . _ - or blanks between them", quoted(name))
		case reserved.MatchString(strings.TrimRight(first, " ")):
			return fmt.Errorf("%s is the name of a device on Windows; give it another name", quoted(name))
		}
	}
	return nil
}

// quoted is a name as it is told of: no longer than it needs to be, and with nothing that acts.
func quoted(name string) string {
	if len(name) > MaxPath {
		name = name[:MaxPath] + "…"
	}
	return fmt.Sprintf("%q", name)
}

// checkNames looks at all names of a course together: on some systems two that differ in capitals alone are one, and a file cannot be a
// folder.
func checkNames(names []string) (problems library.Problems, at map[string]bool) {
	at = map[string]bool{}
	seen := map[string]string{} // small letters: as it was written
	for _, name := range names {
		if err := checkName(name); err != nil {
			problems = append(problems, library.Problem{File: name, Problem: err.Error()})
			at[name] = true
			continue
		}
		small := strings.ToLower(name)
		if before, taken := seen[small]; taken {
			what := "is there twice"
			if before != name {
				what = fmt.Sprintf("differs from %q in capitals alone, which some systems do not tell apart", before)
			}
			problems = append(problems, library.Problem{File: name, Problem: "the name " + what, Remedy: "give it another name"})
			at[name] = true
			continue
		}
		seen[small] = name
	}
	for small, name := range seen {
		folder, written := path.Dir(small), path.Dir(name)
		for ; folder != "."; folder, written = path.Dir(folder), path.Dir(written) {
			if _, taken := seen[folder]; taken {
				problems = append(problems, library.Problem{File: name, Problem: fmt.Sprintf("%q is a file and a folder", written), Remedy: "give one of them another name"})
				at[name] = true
			}
		}
	}
	folders := map[string]string{}
	for _, name := range slices.Sorted(slices.Values(names)) {
		for folder := path.Dir(name); folder != "." && folder != "/"; folder = path.Dir(folder) {
			small := strings.ToLower(folder)
			if before, taken := folders[small]; taken && before != folder && !at[name] {
				problems = append(problems, library.Problem{File: name, Problem: fmt.Sprintf("its folder differs from %q in capitals alone, which some systems do not tell apart", before), Remedy: "write both alike"})
				at[name] = true
			} else if !taken {
				folders[small] = folder
			}
		}
	}
	slices.SortStableFunc(problems, func(a, b library.Problem) int { return cmp.Compare(a.File, b.File) })
	return problems, at
}

// gathered is what was read, before it is looked at.
type gathered struct {
	files    []entry
	problems library.Problems
}

func (g *gathered) refuse(name, remedy, format string, args ...any) {
	if len(g.problems) < library.MaxProblems {
		g.problems = append(g.problems, library.Problem{File: name, Problem: fmt.Sprintf(format, args...), Remedy: remedy})
	}
}

// course makes a course of what was read. The error is library.Problems, at the names of files within it.
func (g *gathered) course(from string, sounds Sounds) (*Course, error) {
	slices.SortFunc(g.files, func(a, b entry) int { return cmp.Compare(a.name, b.name) })
	c := &Course{files: g.files, from: from}
	var manifest *library.Manifest
	for _, f := range g.files {
		var err error
		switch kind := kindOf(f.name); {
		case int64(len(f.data)) > most(kind):
			err = fmt.Errorf("it is too large; stay within %d kB", most(kind)>>10)
		case kind == "manifest":
			m, problems := library.ReadManifest(library.File{Name: f.name, Data: f.data})
			g.problems = append(g.problems, problems...)
			if manifest = m; m != nil && len(problems) == 0 {
				err = checkName(m.Name) // it becomes that of a folder
			}
		case kind == "lexicon" && sounds.Lexicon != nil:
			err = sounds.Lexicon(f.data)
		case kind == "tones" && sounds.Tones != nil:
			err = sounds.Tones(f.data)
		case kind == "clip" && sounds.Clip != nil:
			err = sounds.Clip(f.data)
		}
		if err != nil {
			g.refuse(f.name, "", "%v", err)
		}
	}
	if manifest == nil && !slices.ContainsFunc(g.files, func(f entry) bool { return f.name == library.ManifestFile }) {
		g.refuse(library.ManifestFile, "write it: name, title, by, version, and scenarios in the order in which they are to be sat", "nothing says what the course is")
	}
	if len(g.problems) > 0 {
		return nil, g.problems
	}
	c.Manifest = *manifest
	return c, nil
}

// Files is how many files the course has.
func (c *Course) Files() int { return len(c.files) }

// Bytes is how large its files are, all together.
func (c *Course) Bytes() (n int64) {
	for _, f := range c.files {
		n += int64(len(f.data))
	}
	return n
}

// Has reports whether the course has a file of a name.
func (c *Course) Has(name string) bool {
	return slices.ContainsFunc(c.files, func(f entry) bool { return f.name == name })
}

// Edition tells one version of a course from another: the first eight hexadecimal digits of a SHA-256 of its files.
func (c *Course) Edition() string { return strings.ToUpper(c.hash()[:8]) }

func (c *Course) hash() string {
	h := sha256.New()
	for _, f := range c.files {
		sum := sha256.Sum256(f.data)
		fmt.Fprintf(h, "%s\x00%d\x00%x\n", f.name, len(f.data), sum)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// documents are the documents of the course, as the library reads them. label says how they are named where something is wrong.
func (c *Course) documents(label func(string) string) []library.File {
	var list []library.File
	for _, f := range c.files {
		if kindOf(f.name) == "document" {
			list = append(list, library.File{Name: label(f.name), Data: f.data})
		}
	}
	return list
}

// Check looks at the documents of the course, each with the others and with those of a library: built in, and of other courses. The error
// is library.Problems.
func (c *Course) Check(lib *library.Library) error {
	_, err := c.lay(lib, func(name string) string { return name })
	return err
}

// lay is the library with the course.
func (c *Course) lay(lib *library.Library, label func(string) string) (*library.Library, error) {
	own, checked := lib.WithCourse(c.Name, c.documents(label))
	var problems library.Problems
	var scenarios []string
	for _, one := range checked {
		problems = append(problems, one.Problems...)
		if one.Kind == library.Scenario {
			scenarios = append(scenarios, one.Name)
		}
	}
	for _, f := range c.files {
		if f.name == library.ManifestFile {
			problems = append(problems, c.CheckScenarios(library.File{Name: label(f.name), Data: f.data}, scenarios)...)
		}
	}
	return own, problems.Err()
}
