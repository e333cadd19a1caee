package fault

import (
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"
)

// The lengths that fit on a screen of 80 columns, in characters.
const (
	MaxName = 40  // of a short name or an id
	MaxLine = 120 // of a text that is shown or spoken in one go
)

// NameForm is the form of a short name or an id: at most MaxName characters.
const NameForm = `^[a-z][a-z0-9_-]{0,39}$`

var nameForm = regexp.MustCompile(NameForm)

// Name notes what is wrong with a short name or an id: lower-case letters, digits, - and _, beginning with a letter.
func (l *List) Name(path, name string) {
	const remedy = "write lower-case letters, digits, - and _, beginning with a letter, as in start-1"
	switch {
	case name == "":
		l.Add(path, remedy, "a short name is missing")
	case len(name) > MaxName:
		l.Add(path, fmt.Sprintf("stay within %d characters", MaxName), "%q is too long for a short name", name)
	case !nameForm.MatchString(name):
		l.Add(path, remedy, "%q is not a short name", name)
	}
}

// Line notes what is wrong with a text that has to be there and is shown or spoken in one go; what says which one.
func (l *List) Line(path, what, text string) {
	if strings.TrimSpace(text) == "" {
		l.Add(path, "write it in a few words", "the %s is missing", what)
		return
	}
	l.OptionalLine(path, what, text)
}

// OptionalLine is Line for a text that may be left out.
func (l *List) OptionalLine(path, what, text string) {
	switch n := utf8.RuneCountInString(text); {
	case n > MaxLine:
		l.Add(path, fmt.Sprintf("stay within %d", MaxLine), "the %s is %d characters long", what, n)
	case strings.ContainsAny(text, "\r\n"):
		l.Add(path, "write it in one line", "the %s goes over several lines", what)
	}
}

// Unknown notes that there is nothing of a kind by the name that was written, with the nearest known one, or all of them, or where
// there are many the likeliest and where all of them are listed.
func (l *List) Unknown(path, kind, written string, known []string) {
	remedy := Suggest(written, known)
	if list, ok := listed[kind]; ok && len(known) > mostNamed && Nearest(written, known) == "" {
		remedy += fmt.Sprintf("; hornlark list %s --profile NAME has them all", list)
	}
	l.Add(path, remedy, "there is no %s %q", kind, written)
}

// listed are the lists that have all names of a kind.
var listed = map[string]string{"failure": "failures", "control": "controls", "gauge": "gauges", "alert": "alerts", "indication": "indications",
	"equipment": "equipment", "caption": "captions"}

// mostNamed is how many names are written out: the fields of a scenario, and some.
const mostNamed = 20

// Suggest is what to write instead of a word that is not known: the nearest known one, or the list.
func Suggest(written string, known []string) string {
	switch near := Nearest(written, known); {
	case near != "":
		return fmt.Sprintf("did you mean %q?", near)
	case len(known) == 0:
		return "leave it out: there are none"
	case len(known) == 1:
		return fmt.Sprintf("write %q, the only one there is", known[0])
	case len(known) > mostNamed:
		likely := Likeliest(written, known, 6)
		last := len(likely) - 1
		return fmt.Sprintf("write one of the %d that there are, as %s or %s", len(known), strings.Join(likely[:last], ", "), likely[last])
	}
	last := len(known) - 1
	return fmt.Sprintf("write one of %s or %s", strings.Join(known[:last], ", "), known[last])
}
