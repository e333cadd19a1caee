package inert

import (
	"fmt"
	"io"
	"strings"
	"sync"
	"unicode/utf16"
	"unicode/utf8"
)

// Writer stands between texts from outside and a terminal. What is written shows as Text does, wherever it is cut; the
// program's own styling goes past it by Own, and a document that has passed a writer of its own by Document. It remembers the first
// error of what lies below, so that nobody has to look at each line. It may be used by several goroutines.
type Writer struct {
	mu    sync.Mutex
	to    io.Writer
	text  filter
	names *strings.Replacer // nil: none to look for
	err   error
}

// NewWriter stands in front of a writer. In front of one that is a Writer already there is nothing to do.
func NewWriter(to io.Writer) *Writer {
	if w, ok := to.(*Writer); ok {
		return w
	}
	w := &Writer{to: to}
	w.text = filter{escape: func(r rune) string {
		if r == '\n' || r == '\t' || !Acts(r) {
			return ""
		}
		return escaped(r)
	}, bad: func(b byte) string { return fmt.Sprintf(`\x%02x`, b) }}
	return w
}

// Write shows a text.
func (w *Writer) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	shown := p
	if w.names != nil {
		shown = []byte(w.names.Replace(string(p)))
	}
	if _, err := w.through(w.text.pass(shown)); err != nil {
		return 0, err
	}
	return len(p), nil
}

// nearby is how many characters beside a line end tell that it is that of a name.
const nearby = 6

// InLine has the line ends and tabs of names shown as escapes wherever the name, or a part of it, stands in a text that is written at once. The
// system puts names of files into its messages as they are, and so one error could look like two.
func (w *Writer) InLine(names ...string) {
	var pairs []string
	for _, name := range names {
		for i, c := range name {
			if c != '\n' && c != '\t' && c != '\r' {
				continue
			}
			// Only as far as the part of a path goes: the system may be told of another way to it.
			head, tail := name[:i], name[i+1:]
			head = head[strings.LastIndexAny(head, "/=")+1:]
			tail, _, _ = strings.Cut(tail, "/")
			before, after := []rune(head), []rune(tail)
			part := string(before[max(0, len(before)-nearby):]) + string(c) + string(after[:min(nearby, len(after))])
			// Where a name begins or ends with it, what messages have there tells it from the end of a line of theirs.
			starts, ends := []string{""}, []string{""}
			if len(before) == 0 {
				starts = strings.Split(`"'(/ `, "")
			}
			if len(after) == 0 {
				ends = strings.Split(`"'):/;, `, "")
			}
			for _, start := range starts {
				for _, end := range ends {
					pairs = append(pairs, start+part+end, start+Line(part)+end)
				}
			}
		}
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.names = nil; len(pairs) > 0 {
		w.names = strings.NewReplacer(pairs...)
	}
}

// Own writes styling of the program's own, and nothing from outside.
func (w *Writer) Own(styling string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.through(append(w.text.rest(), styling...))
}

// Document writes past the escapes: what it is given has passed JSON, Markup or a Table.
func (w *Writer) Document() io.Writer { return (*document)(w) }

type document Writer

func (d *document) Write(p []byte) (int, error) {
	w := (*Writer)(d)
	w.mu.Lock()
	defer w.mu.Unlock()
	if rest := w.text.rest(); len(rest) > 0 {
		w.through(rest)
	}
	return w.through(p)
}

// Close shows what was cut in the middle of a character, and gives the first error that there was. It does not close what lies below.
func (w *Writer) Close() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.through(w.text.rest())
	return w.err
}

func (w *Writer) through(p []byte) (int, error) {
	if w.err != nil || len(p) == 0 {
		return 0, w.err
	}
	n, err := w.to.Write(p)
	if err != nil {
		w.err = &OutputError{err}
	}
	return n, w.err
}

// OutputError is that what was to be read could not be written.
type OutputError struct{ Err error }

// Error says why.
func (e *OutputError) Error() string { return fmt.Sprintf("the output cannot be written: %v", e.Err) }

// Unwrap gives the reason.
func (e *OutputError) Unwrap() error { return e.Err }

// JSON stands in front of a writer of JSON: in its strings, which is the only place where they can be, characters that act become
// the escapes of RFC 8259. Whoever reads it gets the same strings.
func JSON(to io.Writer) io.Writer {
	return &filtered{to: to, filter: filter{escape: func(r rune) string {
		switch {
		case r == '\n' || r == '\t' || r == '\r' || !Acts(r): // the first three only stand between values
			return ""
		case r > 0xffff:
			high, low := utf16.EncodeRune(r)
			return fmt.Sprintf(`\u%04x\u%04x`, high, low)
		}
		return fmt.Sprintf(`\u%04x`, r)
	}, bad: func(byte) string { return `\ufffd` }}}
}

// Markup stands in front of a writer of HTML or SVG, behind whatever escapes the signs of the markup: characters that act are
// shown as Text shows them, none of which means anything there. Both documents would else pass them on to whoever reads.
func Markup(to io.Writer) io.Writer {
	return &filtered{to: to, filter: filter{escape: func(r rune) string {
		if r == '\n' || r == '\t' || !Acts(r) {
			return ""
		}
		return escaped(r)
	}, bad: func(b byte) string { return fmt.Sprintf(`\x%02x`, b) }}}
}

type filtered struct {
	to     io.Writer
	filter filter
}

func (f *filtered) Write(p []byte) (int, error) {
	if _, err := f.to.Write(f.filter.pass(p)); err != nil {
		return 0, err
	}
	return len(p), nil
}

// filter replaces characters in a stream that may be cut anywhere.
type filter struct {
	escape func(rune) string // what a character becomes; empty: itself
	bad    func(byte) string // what a byte that is no UTF-8 becomes
	cut    []byte            // the beginning of a character whose end has not come
}

// pass gives what has to be written for p.
func (f *filter) pass(p []byte) []byte {
	if len(f.cut) == 0 && ordinary(p) {
		return p
	}
	p = append(f.cut, p...)
	f.cut = nil
	out := make([]byte, 0, len(p)+16)
	for i := 0; i < len(p); {
		if p[i] >= utf8.RuneSelf && !utf8.FullRune(p[i:]) {
			f.cut = append(f.cut, p[i:]...)
			break
		}
		r, n := utf8.DecodeRune(p[i:])
		switch {
		case r == utf8.RuneError && n == 1:
			out = append(out, f.bad(p[i])...)
		default:
			if e := f.escape(r); e != "" {
				out = append(out, e...)
			} else {
				out = append(out, p[i:i+n]...)
			}
		}
		i += n
	}
	return out
}

// rest gives what has to be written for a character that was cut off.
func (f *filter) rest() []byte {
	var out []byte
	for _, b := range f.cut {
		out = append(out, f.bad(b)...)
	}
	f.cut = nil
	return out
}

// ordinary reports whether p is ASCII to be seen, newlines and tabs, as nearly everything is.
func ordinary(p []byte) bool {
	for _, b := range p {
		if b != '\n' && b != '\t' && (b < ' ' || b > '~') {
			return false
		}
	}
	return true
}
