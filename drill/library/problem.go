package library

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"hornlark/drill/fault"
	"hornlark/drill/inert"
)

// MaxProblems is from how many problems of one file on those that differ in a name alone are told in one line.
const MaxProblems = 50

// mostCollected bounds what is found in one file, by the reader and by each check after it.
const mostCollected = 200

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

// sort puts the problems of each file into the order of its lines.
func (ps Problems) sort() {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}

// quoted is a word in a problem that may differ between problems that are alike.
var quoted = regexp.MustCompile(`"(?:[^"\\]|\\.)*"…?`)

// Grouped puts the problems of one file that are alike together: those that say the same more than three times, and where there are more
// than MaxProblems in all, those that differ in what they are about alone. No place is left out.
func (ps Problems) Grouped() Problems {
	ps = ps.alike(func(p *Problem) string { return p.File + "\x00" + p.Problem + "\x00" + p.Remedy }, false)
	if len(ps) <= MaxProblems {
		return ps
	}
	return ps.alike(func(p *Problem) string { return p.File + "\x00" + quoted.ReplaceAllString(p.Problem, `""`) }, true)
}

// alike puts problems with the same key together, if there are more than three. What a place is about is said if named.
func (ps Problems) alike(key func(*Problem) string, named bool) Problems {
	members := map[string]int{}
	for i := range ps {
		members[key(&ps[i])]++
	}
	var out Problems
	first := map[string]int{} // of a group, in out
	places := map[string][]string{}
	for i := range ps {
		k := key(&ps[i])
		if members[k] <= 3 {
			out = append(out, ps[i])
			continue
		}
		if _, begun := first[k]; !begun {
			first[k] = len(out)
			out = append(out, ps[i])
			continue
		}
		place := fmt.Sprintf("%d:%d", ps[i].Line, ps[i].Column)
		if about := quoted.FindString(ps[i].Problem); named && about != "" {
			place += " " + about
		}
		places[k] = append(places[k], place)
	}
	for k, i := range first {
		out[i].Remedy = strings.TrimPrefix(out[i].Remedy+fmt.Sprintf("; and likewise %d times more, at %s", len(places[k]), strings.Join(places[k], ", ")), "; ")
	}
	return out
}

// spoils reports whether what a fault says may only come from something else that could not be taken, which has been told: what stands
// at its place, around it or directly in it.
func (d *document) spoils(path string) bool {
	if len(d.spoilt) == 0 {
		return false
	}
	for around := path; ; {
		if d.spoilt[around] {
			return true
		}
		if around == "" {
			break
		}
		around = around[:max(0, strings.LastIndexAny(around, ".["))]
	}
	for spoilt := range d.spoilt {
		if inner, below := strings.CutPrefix(spoilt, path); below && path != "" && strings.LastIndexAny(inner, ".[") == 0 {
			return true
		}
	}
	return false
}

// locate turns faults, which know only paths, into problems of the file that the document was read from. Where nothing
// was written, that is the problem, whatever its being empty led to.
func (d *document) locate(faults fault.List) Problems {
	var ps Problems
	for _, f := range faults {
		if d.spoils(f.Path) {
			continue
		}
		if len(ps) >= mostCollected {
			break
		}
		home, line, column := d.place(f.Path, f.Column)
		if f.Path != "" && !d.has(f.Path) {
			f.Problem = strings.TrimLeft(strings.TrimPrefix(f.Path, d.written(f.Path)), ".") + " is missing"
		}
		if p, own := d.takenOver(Problem{home.file, line, column, f.Problem, f.Remedy}, f.Path, home); own {
			ps = append(ps, p)
		}
	}
	ps.sort()
	return ps
}
