package course

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"hornlark/drill/library"
)

// Read reads a course, out of a folder or of a package. Files and folders of a folder whose name begins with a dot are those of other
// programs and stay out of it. The error is library.Problems, or says why path could not be read.
func Read(path string, sounds Sounds) (*Course, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, library.Problems{{File: path, Problem: plain(err), Remedy: "check the path"}}
	case info.IsDir():
		return readFolder(path, sounds)
	case !info.Mode().IsRegular():
		return nil, library.Problems{{File: path, Problem: "it is neither a package nor a folder", Remedy: "name a file that course pack has made, or a folder"}}
	}
	data, err := readFile(path, MaxPackage)
	if err != nil {
		return nil, library.Problems{{File: path, Problem: plain(err), Remedy: fmt.Sprintf("a package is a file of at most %d MB that can be read", MaxPackage>>20)}}
	}
	return Unpack(path, data, sounds)
}

// plain is the bare cause of an error about a file that has been named already.
func plain(err error) string {
	var of *fs.PathError
	if errors.As(err, &of) {
		err = of.Err
	}
	return "it cannot be read: " + err.Error()
}

// errTooLarge is for what has more bytes than it may have.
var errTooLarge = errors.New("it is too large")

// readFile reads a file that may have so many bytes.
func readFile(path string, most int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return readAll(f, most)
}

// readAll reads to the end, which may lie so many bytes away; they are counted as they come.
func readAll(r io.Reader, most int64) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, most+1))
	if err == nil && int64(len(data)) > most {
		err = errTooLarge
	}
	return data, err
}

// Unpack reads a package. from is what it is called. The error is library.Problems.
func Unpack(from string, data []byte, sounds Sounds) (*Course, error) {
	var g gathered
	within := func(name string) string { return from + ": " + name }
	// Each entry takes memory as the directory is read, so they are counted before: by the sign that each begins with (APPNOTE 6.3.10, 4.3.12).
	if n := bytes.Count(data, []byte("PK\x01\x02")); n > 2*MaxEntries {
		return nil, library.Problems{{File: from, Problem: fmt.Sprintf("it has some %d files", n), Remedy: fmt.Sprintf("stay within %d", MaxEntries)}}
	}
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	switch {
	case err != nil && !errors.Is(err, zip.ErrInsecurePath): // which is told of by name
		return nil, library.Problems{{File: from, Problem: "it is no package: " + strings.TrimPrefix(err.Error(), "zip: "), Remedy: "name a file that course pack has made, or a folder"}}
	case len(archive.File) > MaxEntries:
		return nil, library.Problems{{File: from, Problem: fmt.Sprintf("it has %d files", len(archive.File)), Remedy: fmt.Sprintf("stay within %d", MaxEntries)}}
	}
	var names []string
	for _, f := range archive.File {
		if !strings.HasSuffix(f.Name, "/") {
			names = append(names, f.Name)
			continue
		}
		if err := checkName(strings.TrimSuffix(f.Name, "/")); err != nil {
			g.refuse(within(f.Name), "", "%v", err)
		}
	}
	problems, bad := checkNames(names)
	for _, p := range problems {
		g.refuse(within(p.File), p.Remedy, "%s", p.Problem)
	}
	left := int64(MaxBytes)
	for _, f := range archive.File {
		folder := strings.HasSuffix(f.Name, "/")
		kind := kindOf(f.Name)
		switch {
		case folder && f.Mode().IsDir(), bad[f.Name]:
			continue
		case f.Mode().Type() != 0:
			g.refuse(within(f.Name), "pack files alone", "it is a link, a device or something else that is no file")
		case f.Flags&1 != 0:
			g.refuse(within(f.Name), "pack it without a password", "it is encrypted")
		case f.Method != zip.Store && f.Method != zip.Deflate:
			g.refuse(within(f.Name), "pack it with course pack", "it is packed in a way that is not known here")
		case kind == "":
			g.refuse(within(f.Name), knownFiles, "a course has no such file")
		default:
			body, err := unpackOne(f, min(most(kind), left))
			switch {
			case errors.Is(err, errTooLarge) && left < most(kind):
				return nil, library.Problems{{File: from, Problem: "its files are too large together", Remedy: fmt.Sprintf("stay within %d MB", MaxBytes>>20)}}
			case errors.Is(err, errTooLarge):
				g.refuse(within(f.Name), fmt.Sprintf("stay within %d kB", most(kind)>>10), "it is too large")
			case err != nil:
				g.refuse(within(f.Name), "pack it again", "it is damaged: %s", strings.TrimPrefix(err.Error(), "zip: "))
			}
			left -= int64(len(body))
			if err == nil {
				g.files = append(g.files, entry{f.Name, body})
			}
		}
	}
	return g.within(from, sounds)
}

// knownFiles is what a course may have, as the remedy for what it may not.
const knownFiles = "take it out: a course has " + library.ManifestFile + ", YAML documents, " + Lexicon + ", " + Tones + ", and clips in " + Clips + "/ that voice render --into has made"

// unpackOne unpacks a file, which may have so many bytes, whatever it says of itself.
func unpackOne(f *zip.File, most int64) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return readAll(r, most)
}

// within makes a course of what was read out of a package, whose name stands before those of its files.
func (g *gathered) within(from string, sounds Sounds) (*Course, error) {
	told := len(g.problems)
	c, err := g.course(from, sounds)
	if err == nil {
		return c, nil
	}
	for i := told; i < len(g.problems); i++ {
		g.problems[i].File = from + ": " + g.problems[i].File
	}
	return nil, g.problems
}

// readFolder reads the files of a folder.
func readFolder(folder string, sounds Sounds) (*Course, error) {
	var g gathered
	var names []string
	paths := map[string]string{}
	count := 0
	err := filepath.WalkDir(folder, func(name string, e fs.DirEntry, err error) error {
		if err != nil || name == folder {
			return err
		}
		if strings.HasPrefix(e.Name(), ".") {
			if e.IsDir() {
				return fs.SkipDir
			}
			return nil
		}
		if count++; count > MaxEntries {
			return fmt.Errorf("there are more than %d files and folders", MaxEntries)
		}
		rel, err := filepath.Rel(folder, name)
		if err != nil || e.IsDir() {
			return err
		}
		within := filepath.ToSlash(rel)
		switch {
		case !e.Type().IsRegular():
			g.refuse(name, "put the file itself there", "it is a link, a device or something else that is no file")
		case kindOf(within) == "":
			g.refuse(name, knownFiles, "a course has no such file")
		default:
			names = append(names, within)
			paths[within] = name
		}
		return nil
	})
	if err != nil {
		return nil, library.Problems{{File: folder, Problem: plain(err), Remedy: "a course is a folder of at most 1000 files that can be read"}}
	}
	problems, bad := checkNames(names)
	for _, p := range problems {
		g.refuse(paths[p.File], p.Remedy, "%s", p.Problem)
	}
	left := int64(MaxBytes)
	for _, name := range names {
		if bad[name] {
			continue
		}
		kind := kindOf(name)
		data, err := readFile(paths[name], min(most(kind), left))
		switch {
		case errors.Is(err, errTooLarge) && left < most(kind):
			return nil, library.Problems{{File: folder, Problem: "its files are too large together", Remedy: fmt.Sprintf("stay within %d MB", MaxBytes>>20)}}
		case errors.Is(err, errTooLarge):
			g.refuse(paths[name], fmt.Sprintf("stay within %d kB", most(kind)>>10), "it is too large")
		case err != nil:
			g.refuse(paths[name], "see to it that the file can be read", "%s", plain(err))
		default:
			left -= int64(len(data))
			g.files = append(g.files, entry{name, data})
		}
	}
	told := len(g.problems)
	c, err := g.course(folder, sounds)
	if err == nil {
		return c, nil
	}
	for i := told; i < len(g.problems); i++ {
		g.problems[i].File = filepath.Join(folder, filepath.FromSlash(g.problems[i].File))
	}
	return nil, g.problems
}
