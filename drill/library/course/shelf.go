package course

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"time"

	"hornlark/drill/library"
)

// MaxCourses is how many courses can be installed.
const MaxCourses = 50

// Shelf is a folder with the courses that are installed for a user.
//
// A course has a folder of its own, called by its name and the hash of its files, and a receipt beside it, NAME.json, which says which
// folder holds and what is in each file. The folder is made first, under a name that nobody looks for; renaming the receipt into its place is
// what installs the course, or another version of it. Whoever is killed meanwhile leaves the one or the other, and a folder that
// nothing speaks of, which the next change takes away.
type Shelf struct{ dir string }

// Open gives the shelf in a folder, which need not be there.
func Open(dir string) *Shelf { return &Shelf{dir} }

// receipt is what is kept of an installed course, to know it again.
type receipt struct {
	Name      string            `json:"name"`
	Title     string            `json:"title"`
	By        string            `json:"by"`
	Version   string            `json:"version"`
	Edition   string            `json:"edition"`
	Folder    string            `json:"folder"`
	Scenarios []string          `json:"scenarios"`
	Files     map[string]string `json:"files"` // name: its SHA-256 in hexadecimal
}

// maxReceipt bounds a receipt, in bytes.
const maxReceipt = 1 << 20

// receiptName is the name of a receipt, and folderName that of a folder; partName is that of a folder that is being written.
var (
	receiptName = regexp.MustCompile(`^([a-z][a-z0-9_-]*)\.json$`)
	folderName  = regexp.MustCompile(`^[a-z][a-z0-9_-]*\.[0-9a-f]{16}$`)
	partName    = regexp.MustCompile(`^\.part-[0-9a-f]{16}$`)
)

// leftFor is how long what nothing speaks of is left alone: somebody may be about to speak of it.
const leftFor = time.Hour

// Installed is a course on the shelf.
type Installed struct {
	Name      string
	Title     string
	By        string
	Version   string
	Edition   string
	Scenarios []string // in their order
	Broken    string   // why it is not used, as a sentence without a full stop; empty: nothing is wrong
	course    *Course  // nil: it is broken, or only what its receipt says is known
	folder    string
	files     map[string]string
}

// Lexicon is the file that says how the words of the course are spoken; empty if it has none.
func (in *Installed) Lexicon() string { return in.path(Lexicon) }

// Clips is the folder of the clips of the course; empty if it has none.
func (in *Installed) Clips() string {
	for name := range in.files {
		if kindOf(name) == "clip" {
			return filepath.Join(in.folder, Clips)
		}
	}
	return ""
}

func (in *Installed) path(name string) string {
	if _, has := in.files[name]; !has {
		return ""
	}
	return filepath.Join(in.folder, filepath.FromSlash(name))
}

// List gives the courses that are installed, by their receipts alone, in the order of their names. Whether all is as it was shows when they
// are read, with Read.
func (s *Shelf) List() ([]Installed, error) {
	entries, err := os.ReadDir(s.dir)
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, syscall.ENOTDIR) { // where there is no folder there is no course
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("the courses cannot be read: %w", err)
	}
	var list []Installed
	for _, e := range entries {
		m := receiptName.FindStringSubmatch(e.Name())
		if m == nil || len(list) >= MaxCourses {
			continue
		}
		list = append(list, s.installed(m[1]))
	}
	return list, nil
}

// installed is what the receipt of a course says.
func (s *Shelf) installed(name string) Installed {
	in := Installed{Name: name}
	data, err := readRegular(filepath.Join(s.dir, name+".json"), maxReceipt)
	var r receipt
	switch {
	case err != nil:
		in.Broken = "its receipt cannot be read"
	case json.Unmarshal(data, &r) != nil || r.Name != name || !folderName.MatchString(r.Folder):
		in.Broken = "its receipt has been changed by hand"
	default:
		in.Title, in.By, in.Version, in.Edition, in.Scenarios = r.Title, r.By, r.Version, r.Edition, r.Scenarios
		in.folder, in.files = filepath.Join(s.dir, r.Folder), r.Files
		for file := range r.Files {
			if checkName(file) != nil || kindOf(file) == "" {
				in.files, in.Broken = nil, "its receipt has been changed by hand"
			}
		}
	}
	return in
}

// readRegular reads a plain file, and follows no link.
func readRegular(path string, most int64) ([]byte, error) {
	info, err := os.Lstat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New("it is no plain file")
	}
	return readFile(path, most)
}

// read reads the files of an installed course that it is used for, all of them if everything is set, and says what is wrong in Broken.
func (in *Installed) read(everything bool) {
	if in.Broken != "" {
		return
	}
	c := &Course{from: in.folder}
	left := int64(MaxBytes)
	for _, name := range slices.Sorted(maps.Keys(in.files)) {
		if kindOf(name) == "clip" && !everything {
			continue // it has a sum of its own, which is looked at as it is played
		}
		data, err := readRegular(in.path(name), min(most(kindOf(name)), left))
		if errors.Is(err, fs.ErrNotExist) {
			in.Broken = quoted(name) + " of it is gone"
			return
		}
		if err != nil {
			in.Broken = quoted(name) + " of it cannot be read"
			return
		}
		left -= int64(len(data))
		if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != in.files[name] {
			in.Broken = quoted(name) + " of it has been changed by hand"
			return
		}
		c.files = append(c.files, entry{name, data})
	}
	if more := in.unknown(); more != "" {
		in.Broken = quoted(more) + " has been added to it by hand"
		return
	}
	for _, f := range c.files {
		if f.name == library.ManifestFile {
			if m, problems := library.ReadManifest(library.File{Name: f.name, Data: f.data}); len(problems) == 0 {
				c.Manifest = *m
			}
		}
	}
	if c.Name != in.Name {
		in.Broken = "it does not say that it is this course"
		return
	}
	in.course = c
}

// unknown is a file in the folder of a course that its receipt does not have; empty if there is none.
func (in *Installed) unknown() (more string) {
	seen := 0
	filepath.WalkDir(in.folder, func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		rel, err := filepath.Rel(in.folder, name)
		if _, known := in.files[filepath.ToSlash(rel)]; err == nil && !known {
			more = filepath.ToSlash(rel)
			return fs.SkipAll
		}
		if seen++; seen > MaxEntries {
			return fs.SkipAll
		}
		return err
	})
	return more
}

// Lay is a library with the courses that are installed. One that is broken, or that no longer fits with what is built in, is left out, and
// said in a line among the notices and to whoever looks for something that is not there.
func (s *Shelf) Lay(lib *library.Library) (*library.Library, []Installed) {
	list, err := s.List()
	if err != nil {
		return lib.Aside(err.Error() + "; see to it that the folder can be read"), nil
	}
	var asides []string
	for i := range list {
		in := &list[i]
		in.read(false)
		if in.course != nil {
			own, err := in.course.lay(lib, func(name string) string { return "course " + in.Name + ": " + name })
			if err == nil {
				lib = own
				continue
			}
			first, _, _ := strings.Cut(err.Error(), "\n")
			in.Broken = "it does not fit with what there is: " + first
		}
		asides = append(asides, in.Said())
	}
	if len(asides) > 0 {
		lib = lib.Aside(asides...)
	}
	return lib, list
}

// Said is what is said of a broken course, in a line.
func (in *Installed) Said() string {
	return fmt.Sprintf("the course %s is left out: %s; hornlark course add puts it back, hornlark course remove %s takes it away", in.Name, in.Broken, in.Name)
}

// Verify looks at every file of the courses that are installed, and gives them all.
func (s *Shelf) Verify() ([]Installed, error) {
	list, err := s.List()
	for i := range list {
		list[i].read(true)
	}
	return list, err
}

// Find is the installed course that has a scenario of a name, by the receipts alone; false if none has.
func (s *Shelf) Find(scenario string) (Installed, bool) {
	list, _ := s.List()
	for _, in := range list {
		if in.Broken == "" && slices.Contains(in.Scenarios, scenario) {
			return in, true
		}
	}
	return Installed{}, false
}

// Taken is the error for a course whose name is installed already.
type Taken struct{ Installed }

// Error says which one is there.
func (t *Taken) Error() string {
	return fmt.Sprintf("the course %s, version %s (edition %s), is installed already; add --force to put this one in its place", t.Name, t.Version, t.Edition)
}

// Add installs a course for the user, once it has been checked against what is built in and against the other courses. One of its name that
// is there is replaced only if replace is set: whole, or not at all. The error is library.Problems, *Taken, or says what could not be
// written.
func (s *Shelf) Add(c *Course, builtin *library.Library, replace bool) error {
	list, err := s.List()
	if err != nil {
		return err
	}
	lib := builtin
	for i := range list {
		in := &list[i]
		if in.Name == c.Name {
			if in.read(true); !replace && in.Broken == "" {
				return &Taken{*in}
			}
			continue
		}
		if in.read(false); in.course != nil {
			if own, err := in.course.lay(lib, func(name string) string { return "course " + in.Name + ": " + name }); err == nil {
				lib = own
			}
		}
	}
	if len(list) >= MaxCourses && !slices.ContainsFunc(list, func(in Installed) bool { return in.Name == c.Name }) {
		return fmt.Errorf("there are %d courses; remove one before another is added", len(list))
	}
	if err := c.Check(lib); err != nil {
		return err
	}
	if err := s.install(c); err != nil {
		return fmt.Errorf("the course cannot be installed: %w", err)
	}
	for _, before := range list {
		if before.Name == c.Name && before.folder != "" && before.folder != s.installed(c.Name).folder {
			os.RemoveAll(before.folder)
		}
	}
	return nil
}

// install writes a course, and then has it hold.
func (s *Shelf) install(c *Course) error {
	if err := os.MkdirAll(s.dir, 0o700); err != nil {
		return err
	}
	s.sweep()
	hash := c.hash()
	r := receipt{Name: c.Name, Title: c.Title, By: c.By, Version: c.Version, Edition: c.Edition(), Scenarios: c.Scenarios,
		Folder: c.Name + "." + hash[:16], Files: map[string]string{}}
	part := filepath.Join(s.dir, ".part-"+chance())
	if err := os.Mkdir(part, 0o700); err != nil {
		return err
	}
	defer os.RemoveAll(part) // what has been renamed is no longer there
	for _, f := range c.files {
		sum := sha256.Sum256(f.data)
		r.Files[f.name] = hex.EncodeToString(sum[:])
		path := filepath.Join(part, filepath.FromSlash(f.name))
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return err
		}
		if err := writeFile(path, f.data); err != nil {
			return err
		}
	}
	folder := filepath.Join(s.dir, r.Folder)
	if err := os.Rename(part, folder); err != nil { // the same course has been there before, perhaps changed since
		if err := os.RemoveAll(folder); err != nil {
			return err
		}
		if err := os.Rename(part, folder); err != nil {
			return err
		}
	}
	body, err := json.MarshalIndent(r, "", "  ")
	if err != nil {
		return err
	}
	paper := filepath.Join(s.dir, ".part-"+chance())
	defer os.Remove(paper)
	if err := writeFile(paper, append(body, '\n')); err != nil {
		return err
	}
	return os.Rename(paper, filepath.Join(s.dir, c.Name+".json"))
}

// chance is sixteen hexadecimal digits that nobody else has.
func chance() string {
	var b [8]byte
	rand.Read(b[:])
	return hex.EncodeToString(b[:])
}

// writeFile writes a file that is not there yet, for the user alone, down to the disk.
func writeFile(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Sync(), f.Close())
}

// Unknown is the error for a course that is not installed.
type Unknown struct {
	Name  string
	Known []string
}

// Error names it, and those that there are.
func (u *Unknown) Error() string {
	if len(u.Known) == 0 {
		return fmt.Sprintf("there is no course %s; none is installed", quoted(u.Name))
	}
	return fmt.Sprintf("there is no course %s; installed: %s", quoted(u.Name), strings.Join(u.Known, ", "))
}

// Remove takes a course away: first its receipt, by which it was there, and then its files. The error is *Unknown, or says what could not be
// removed.
func (s *Shelf) Remove(name string) error {
	list, err := s.List()
	if err != nil {
		return err
	}
	i := slices.IndexFunc(list, func(in Installed) bool { return in.Name == name })
	if i < 0 {
		var known []string
		for _, in := range list {
			known = append(known, in.Name)
		}
		return &Unknown{name, known}
	}
	if err := os.Remove(filepath.Join(s.dir, name+".json")); err != nil {
		return fmt.Errorf("the course cannot be removed: %w", err)
	}
	if folder := list[i].folder; folder != "" {
		if err := os.RemoveAll(folder); err != nil {
			return fmt.Errorf("the course is no longer installed, but its files cannot be removed: %w", err)
		}
	}
	s.sweep()
	return nil
}

// sweep takes away what a kill has left: folders that no receipt speaks of, and what was being written, once nobody can be at it any more.
func (s *Shelf) sweep() {
	entries, err := os.ReadDir(s.dir)
	if err != nil {
		return
	}
	list, err := s.List()
	if err != nil || slices.ContainsFunc(list, func(in Installed) bool { return in.folder == "" }) {
		return // whose folder a receipt speaks of that cannot be read is not known
	}
	for _, e := range entries {
		path := filepath.Join(s.dir, e.Name())
		used := slices.ContainsFunc(list, func(in Installed) bool { return in.folder == path })
		info, err := e.Info()
		if err != nil || used || time.Since(info.ModTime()).Abs() < leftFor { // a clock may have been set back
			continue
		}
		if folderName.MatchString(e.Name()) || partName.MatchString(e.Name()) {
			os.RemoveAll(path)
		}
	}
}

// Headings is what the documents of the courses are called that are installed, as far as that can be seen at a glance.
func (s *Shelf) Headings() []library.Heading {
	list, _ := s.List()
	var files []library.File
	for _, in := range list {
		for name := range in.files {
			if kindOf(name) != "document" {
				continue
			}
			if data, err := readRegular(in.path(name), library.MaxFile); err == nil {
				files = append(files, library.File{Name: name, Data: data})
			}
		}
	}
	return library.HeadingsOf(files)
}
