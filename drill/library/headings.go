package library

import (
	"cmp"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"
)

// Heading is what a document is called, as far as that can be seen at a glance.
type Heading struct {
	Kind  Kind
	Name  string
	Title string
}

// BuiltinHeadings is what the documents are called that come with the program, in the order of their names. None of them is read: the names are
// found in the text, for whoever waits at a keyboard.
func BuiltinHeadings() []Heading {
	files, err := builtinFiles()
	if err != nil {
		return nil
	}
	return headings(files)
}

// Headings is the same for a user's own files and folders. What cannot be read is left out.
func Headings(paths ...string) []Heading {
	files, _ := readAll(paths)
	return headings(files)
}

// HeadingsOf is the same for files that have been read.
func HeadingsOf(list []File) []Heading {
	var files []file
	for _, f := range list {
		files = append(files, file{name: f.Name, data: f.Data})
	}
	return headings(files)
}

func headings(files []file) []Heading {
	var list []Heading
	for _, f := range files {
		if h, ok := headingOf(string(f.data)); ok {
			list = append(list, h)
		}
	}
	slices.SortStableFunc(list, func(a, b Heading) int { return cmp.Compare(a.Name, b.Name) })
	return list
}

// headingOf looks at the lines that begin with a field of the document itself.
func headingOf(text string) (h Heading, ok bool) {
	for line := range strings.Lines(text) {
		field, value, has := strings.Cut(strings.TrimRight(line, "\r\n"), ":")
		if !has || strings.ContainsAny(field, " \t#-") {
			continue
		}
		switch field {
		case "name":
			h.Name = inLine(value)
		case "title":
			h.Title = inLine(value)
		}
		for _, m := range marks {
			// Phases of a scenario are the names of those of its procedure.
			if m.field == field && (h.Kind == "" || h.Kind == Procedure && m.kind == Scenario) {
				h.Kind = m.kind
			}
		}
	}
	return h, h.Name != "" && h.Kind != ""
}

// inLine is a text of YAML that stands on one line; empty if it is anything else.
func inLine(value string) (text string) {
	if len(value) > MaxLine || yaml.Unmarshal([]byte(value), &text) != nil || strings.ContainsFunc(text, unreadable) {
		return ""
	}
	return text
}
