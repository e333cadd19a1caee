// Package fault is how a document says what is wrong with it: where, what, and what to write instead.
//
// The packages that know what a profile, a procedure or a scenario means are pure and have never seen the file
// that it came from. They name a place by its path in the document; the loader, which kept the file's lines, turns
// the path into file:line:column.
package fault

import (
	"cmp"
	"fmt"
	"math/bits"
	"slices"
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
// Near is at most two slips of a single letter, two neighbours that have changed places among them, and fewer than half of the word.
// Capitals count as small letters.
func Nearest(written string, known []string) string {
	best, limit := "", min(2, (len(written)-1)/2)
	lower := strings.ToLower(written)
	for _, k := range known {
		small := strings.ToLower(k)
		if farApart(lower, small, limit) {
			continue
		}
		if d := editDistance(lower, small); d <= limit && (best == "" || d < limit) {
			best, limit = k, d
		}
	}
	return best
}

// farApart reports whether two words are further apart than a limit, by what is known without counting: a slip makes a word one letter
// longer or shorter at the most, and at the most takes one letter away and brings in another. It may say no where they are.
func farApart(a, b string, limit int) bool {
	if len(a)-len(b) > limit || len(b)-len(a) > limit {
		return true
	}
	var inA, inB uint64 // the letters that are there, two of which may share a bit
	for i := range len(a) {
		inA |= 1 << (a[i] & 63)
	}
	for i := range len(b) {
		inB |= 1 << (b[i] & 63)
	}
	return bits.OnesCount64(inA&^inB) > limit || bits.OnesCount64(inB&^inA) > limit
}

// Likeliest gives so many of the known words, those that are most like the one that was written first: they share parts with it, as
// oil_leak and eng1.oil do, or else letters. Words that are as like as each other keep their order.
func Likeliest(written string, known []string, most int) []string {
	type candidate struct {
		word         string
		parts, edits int
	}
	parts := partsOf(written)
	list := make([]candidate, len(known))
	for i, k := range known {
		list[i] = candidate{word: k, edits: editDistance(written, k)}
		for _, part := range partsOf(k) {
			if slices.Contains(parts, part) {
				list[i].parts++
			}
		}
	}
	slices.SortStableFunc(list, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(b.parts, a.parts), cmp.Compare(a.edits, b.edits))
	})
	words := make([]string, min(most, len(list)))
	for i := range words {
		words[i] = list[i].word
	}
	return words
}

// partsOf is the words that a name is put together of, of two letters or more.
func partsOf(name string) []string {
	parts := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r < 'a' || r > 'z' })
	return slices.DeleteFunc(parts, func(part string) bool { return len(part) < 2 })
}

// editDistance is the distance of optimal string alignment in bytes: the fewest insertions, deletions, replacements and swaps of two
// neighbours, none of which touches what another has changed.
func editDistance(a, b string) int {
	var room [3 * 33]int // enough for most words
	n := len(b) + 1
	rows := room[:]
	if 3*n > len(rows) {
		rows = make([]int, 3*n)
	}
	before, row, next := rows[:n], rows[n:2*n], rows[2*n:3*n]
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		next[0] = i + 1
		for j := range len(b) {
			cost := row[j]
			if a[i] != b[j] {
				cost = 1 + min(row[j], next[j], row[j+1])
			}
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				cost = min(cost, before[j-1]+1)
			}
			next[j+1] = cost
		}
		before, row, next = row, next, before
	}
	return row[len(b)]
}
