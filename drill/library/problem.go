package library

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"hornlark/drill/fault"
	"hornlark/drill/inert"
)

// MaxProblems is how many problems of one file are told at once. Whoever has that many starts at the top.
const MaxProblems = 50

// Problem is one thing wrong with a file: where, what, and what to write instead.
type Problem struct {
	File    string // as it was named
	Line    int    // from 1; 0 where the file could not be read at all
	Column  int    // in characters, from 1
	Problem string // what is wrong, without a full stop
	Remedy  string // what to write instead, without a full stop; may be empty
}

// Error gives the problem in one line: file:line:column: what is wrong; what to write.
func (p Problem) Error() string {
	var b strings.Builder
	b.WriteString(inert.Line(p.File))
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", p.Line, p.Column)
	}
	b.WriteString(": ")
	b.WriteString(p.Problem)
	if p.Remedy != "" {
		b.WriteString("; ")
		b.WriteString(p.Remedy)
	}
	return b.String()
}

// Problems is everything that is wrong with some files, each file's in the order of its lines.
type Problems []Problem

// Error gives every problem, a line each.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// Err is nil where nothing is wrong.
func (ps Problems) Err() error {
	if len(ps) == 0 {
		return nil
	}
	return ps
}

// of gives the problems of one file.
func (ps Problems) of(file string) Problems {
	var out Problems
	for _, p := range ps {
		if p.File == file {
			out = append(out, p)
		}
	}
	return out
}

// sort puts the problems of one file into the order of its lines.
func (ps Problems) sort() {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}

// locate turns faults, which know only paths, into problems of the file that the document was read from. Where nothing
// was written, that is the problem, whatever its being empty led to.
func (d *document) locate(faults fault.List) Problems {
	var ps Problems
	for _, f := range faults[:min(len(faults), MaxProblems)] {
		line, column := d.at(f.Path, f.Column)
		if f.Path != "" && !d.has(f.Path) {
			f.Problem = strings.TrimLeft(strings.TrimPrefix(f.Path, d.written(f.Path)), ".") + " is missing"
		}
		ps = append(ps, Problem{d.file, line, column, f.Problem, f.Remedy})
	}
	ps.sort()
	return ps
}
