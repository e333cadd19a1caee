// Package fault is how a document says what is wrong with it: where, what, and what to write instead.
//
// The packages that know what a profile, a procedure or a scenario means are pure and have never seen the file
// that it came from. They name a place by its path in the document; the loader, which kept the file's lines, turns
// the path into file:line:column.
package fault

import (
	"fmt"
	"strings"
)

// Fault is one thing wrong with a document.
type Fault struct {
	Path    string // place in the document, as in "controls[3].positions[1]"; "" is the document itself
	Column  int    // where in the text of that place, in characters from 1; 0 is the place itself
	Problem string // what is wrong, as a sentence without its full stop
	Remedy  string // what to write instead, as a sentence without its full stop; may be empty
}

// Error gives the fault in one line.
func (f Fault) Error() string {
	var b strings.Builder
	if f.Path != "" {
		b.WriteString(f.Path)
		b.WriteString(": ")
	}
	b.WriteString(f.Problem)
	if f.Remedy != "" {
		b.WriteString("; ")
		b.WriteString(f.Remedy)
	}
	return b.String()
}

// List collects faults in the order in which they were found.
type List []Fault

// Add notes a fault; problem is a format for args, remedy is taken as it is.
func (l *List) Add(path, remedy, problem string, args ...any) {
	*l = append(*l, Fault{Path: path, Problem: fmt.Sprintf(problem, args...), Remedy: remedy})
}

// Under notes every fault of other, with its path moved below prefix.
func (l *List) Under(prefix string, other List) {
	for _, f := range other {
		f.Path = Join(prefix, f.Path)
		*l = append(*l, f)
	}
}

// Err is nil for an empty list, and otherwise an error that lists every fault, a line each.
func (l List) Err() error {
	if len(l) == 0 {
		return nil
	}
	return l
}

// Error gives every fault, a line each.
func (l List) Error() string {
	lines := make([]string, len(l))
	for i, f := range l {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// Join puts two paths together: Join("items[2]", "set.battery") is "items[2].set.battery".
func Join(prefix, path string) string {
	switch {
	case prefix == "":
		return path
	case path == "":
		return prefix
	case strings.HasPrefix(path, "["):
		return prefix + path
	}
	return prefix + "." + path
}

// At names an element of a list: At("items", 2) is "items[2]".
func At(list string, i int) string { return fmt.Sprintf("%s[%d]", list, i) }

// Nearest gives the known word closest to the one that was written, for a "did you mean", or "" if none is near.
// Near is at most two single-letter edits, and fewer than half of the word.
func Nearest(written string, known []string) string {
	best, limit := "", min(2, (len(written)-1)/2)
	for _, k := range known {
		if d := editDistance(written, k); d <= limit && (best == "" || d < limit) {
			best, limit = k, d
		}
	}
	return best
}

// editDistance is the Levenshtein distance in bytes: the fewest insertions, deletions and replacements.
func editDistance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost = 1 + min(diagonal, row[j], row[j+1])
			}
			diagonal, row[j+1] = row[j+1], cost
		}
	}
	return row[len(b)]
}
