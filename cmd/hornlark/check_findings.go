package main

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"hornlark/drill/bench/advice"
	"hornlark/drill/inert"
	"hornlark/drill/library"
)

// finding is what was found out about one file.
type finding struct {
	file, kind, name string
	problems         library.Problems
	advice           []advised
	borrowed         []string // of a profile: what was written for another one and works on it, or does not
}

// advised is a piece of advice and where it belongs.
type advised struct {
	library.Problem
	advice.Advice
}

// findings are those of one check.
type findings struct {
	files  []finding
	passed []string // what was passed over, a line each
}

func (f *findings) add(one finding) { f.files = append(f.files, one) }

// The kinds of what is found, as they are told to programs.
const (
	kindError  = "error"
	kindAdvice = "advice"
)

// foundOne is one thing that was found, as it is told to programs.
type foundOne struct {
	File    string `json:"file"`
	Line    int    `json:"line"`   // from 1; 0: it is about the whole file
	Column  int    `json:"column"` // in characters, from 1; 0 likewise
	Kind    string `json:"kind"`   // error or advice
	Message string `json:"message"`
	Instead string `json:"instead,omitempty"` // what to write, or to do
	Source  string `json:"source,omitempty"`  // the guideline, of advice
}

// all is everything that was found, file by file: what is wrong before what could be better.
func (f *findings) all() []foundOne {
	list := []foundOne{}
	for _, one := range f.files {
		for _, p := range one.problems {
			list = append(list, foundOne{p.File, p.Line, p.Column, kindError, p.Problem, p.Remedy, ""})
		}
		for _, a := range one.advice {
			list = append(list, foundOne{a.File, a.Line, a.Column, kindAdvice, a.Advice.Problem, a.Advice.Remedy, a.Source()})
		}
	}
	return list
}

// causesFirst is the files with what others hang on before these: what is wrong with a profile makes procedures wrong that are not.
func (f *findings) causesFirst() []finding {
	rank := map[string]int{"": -1}
	for i, kind := range []library.Kind{library.Profile, library.Procedure, library.Abnormal, library.Scenario, library.Answers, library.Criteria} {
		rank[string(kind)] = i
	}
	files := slices.Clone(f.files)
	slices.SortStableFunc(files, func(a, b finding) int { return cmp.Compare(rank[a.kind], rank[b.kind]) })
	return files
}

// tell tells what was found. The error is what is wrong.
func (f *findings) tell(o *checkOptions) error {
	var wrong library.Problems
	for _, one := range f.causesFirst() {
		wrong = append(wrong, one.problems.Grouped()...)
	}
	wanting := slices.ContainsFunc(f.files, func(one finding) bool { return len(one.advice) > 0 })
	if o.json {
		if err := printJSON(o.out, f.all()); err != nil {
			return err
		}
		if len(wrong) > 0 || o.strict && wanting {
			return errFound
		}
		return nil
	}
	for _, one := range f.files {
		if len(one.problems) == 0 && !o.quiet {
			fmt.Fprintf(o.out, "%s: %s: nothing is wrong\n", one.file, strings.TrimSpace(one.kind+" "+one.name))
			for _, line := range one.borrowed {
				fmt.Fprintln(o.out, "  "+line)
			}
		}
		for _, a := range one.advice {
			fmt.Fprintln(o.out, a.line())
		}
	}
	if !o.quiet {
		for _, line := range f.passed {
			fmt.Fprintln(o.out, line)
		}
	}
	if err := wrong.Err(); err != nil || !o.strict || !wanting {
		return err
	}
	return errFound
}

// line is the advice in one line, as a problem is told, with its guideline.
func (a advised) line() string {
	p := library.Problem{File: a.File, Line: a.Line, Column: a.Column, Problem: "advice: " + a.Advice.Problem, Remedy: a.Advice.Remedy}
	return fmt.Sprintf("%s (%s)", p.Error(), a.Source())
}

// inOrder puts advice on one file into the order of its lines.
func inOrder(list []advised) {
	slices.SortStableFunc(list, func(a, b advised) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}

// The bounds of looking through a folder for what is none of ours.
const (
	mostPassed = 8    // names that are told of
	mostLooked = 5000 // files
)

// soundFiles finds in a path the files about what is heard, and in a folder those that are none of ours. Folders whose names begin with a
// full stop belong to other programs, and so do the foreign files, which are YAML.
func soundFiles(path string, foreign []string) (heard, rest []string) {
	info, err := os.Stat(path)
	if err != nil || !info.IsDir() {
		if heardFiles[filepath.Base(path)].check != nil {
			return []string{path}, nil
		}
		return nil, nil
	}
	looked := 0
	filepath.WalkDir(path, func(name string, entry fs.DirEntry, err error) error {
		switch looked++; {
		case err != nil || looked > mostLooked:
			return fs.SkipAll
		case entry.IsDir() && name != path && strings.HasPrefix(entry.Name(), "."):
			return fs.SkipDir
		case entry.IsDir():
		case heardFiles[entry.Name()].check != nil:
			heard = append(heard, name)
		case !library.IsYAML(name) || slices.Contains(foreign, name):
			rest = append(rest, name)
		}
		return nil
	})
	return heard, rest
}

// passedOver notes what in a folder is none of ours.
func (f *findings) passedOver(folder string, files []string) {
	slices.Sort(files)
	if len(files) == 0 {
		return
	}
	names := make([]string, 0, mostPassed+1)
	for _, file := range files[:min(len(files), mostPassed)] {
		if within, err := filepath.Rel(folder, file); err == nil {
			file = within
		}
		names = append(names, inert.Line(file))
	}
	if more := len(files) - mostPassed; more > 0 {
		names = append(names, fmt.Sprintf("%d more", more))
	}
	f.passed = append(f.passed, fmt.Sprintf("%s: passed over, none of ours: %s", inert.Line(folder), strings.Join(names, ", ")))
}

// heardLine finds the line in a fault of a file about what is heard.
var heardLine = regexp.MustCompile(`^(?:tone: )?(?:tones\.yaml: )?(?:yaml: )?line (\d+)(?:, column (\d+))?: `)

// heardFaults takes apart an error about a file: a line each, with the place in the file where the error has it.
func heardFaults(path string, err error) library.Problems {
	var list library.Problems
	if errors.As(err, &list) {
		return list
	}
	for _, line := range strings.Split(strings.TrimPrefix(err.Error(), path+": "), "\n") {
		p := library.Problem{File: path, Problem: line}
		if m := heardLine.FindStringSubmatch(line); m != nil {
			p.Line, _ = strconv.Atoi(m[1])
			p.Column = 1
			if m[2] != "" {
				p.Column, _ = strconv.Atoi(m[2])
			}
			p.Problem = line[len(m[0]):]
		}
		p.Problem, p.Remedy, _ = strings.Cut(p.Problem, "; ")
		list = append(list, p)
	}
	return list
}
