package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"hornlark/drill/aircraft"
	"hornlark/drill/aircraft/glossary"
	"hornlark/drill/fault"
	"hornlark/drill/library"
)

// listWidth is what a list keeps to where its words allow it, in columns.
const listWidth = 80

// listOptions are those of list.
type listOptions struct {
	output
	own          []string
	profile      string
	reveal, json bool
	markdown     bool
	html         string // page to write; empty: none
}

// kindsOfWords names what there is to list of an aircraft.
func kindsOfWords() string {
	var names []string
	for _, k := range glossary.Kinds() {
		names = append(names, string(k))
	}
	return allOf(names)
}

// allOf names several things in a sentence.
func allOf(names []string) string {
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}

// words lists the words of one kind that an aircraft has.
func (o *listOptions) words(ctx context.Context, s streams, lib *library.Library, kind glossary.Kind, narrowed []string) error {
	if !slices.Contains(glossary.Kinds(), kind) {
		var known []string
		for _, k := range glossary.Kinds() {
			known = append(known, string(k))
		}
		known = append(known, fieldsList, schemaList)
		return usageError{fmt.Errorf("there is no list of %q; %s", kind, fault.Suggest(string(kind), known))}
	}
	p, err := o.whose(lib, kind)
	if err != nil {
		return err
	}
	l := glossary.Of(p, kind)
	of := len(l.Entries)
	l = l.With(narrowed)
	if o.html != "" {
		return o.wordsPage(ctx, s, p, l)
	}
	if o.json {
		return printJSON(s.out, struct {
			Profile string           `json:"profile,omitempty"`
			Kind    glossary.Kind    `json:"kind"`
			About   string           `json:"about"`
			Entries []glossary.Entry `json:"entries"`
		}{profileName(p), kind, l.About, slices.Concat([]glossary.Entry{}, l.Entries)})
	}
	heading := strings.ToUpper(string(kind))
	if p != nil {
		heading += fmt.Sprintf(" of %s (%s)", p.Title, p.Name)
	}
	if len(narrowed) > 0 {
		heading += fmt.Sprintf(", %d of %d", len(l.Entries), of)
	} else {
		heading += fmt.Sprintf(", %d", of)
	}
	fmt.Fprintln(s.out, heading)
	for _, line := range wrapped(l.About, listWidth) {
		fmt.Fprintln(s.out, line)
	}
	for i := range l.Entries {
		showEntry(s.out, &l.Entries[i])
	}
	if len(l.Entries) == 0 && len(narrowed) > 0 {
		fmt.Fprintln(s.out, "\n"+elsewhere(p, kind, narrowed))
	}
	return nil
}

// elsewhere says in which other lists of an aircraft some words stand.
func elsewhere(p *aircraft.Profile, kind glossary.Kind, narrowed []string) string {
	var found []string
	for _, other := range glossary.Kinds() {
		if other == kind || p == nil && other != glossary.Tones {
			continue
		}
		if n := len(glossary.Of(p, other).With(narrowed).Entries); n > 0 {
			found = append(found, fmt.Sprintf("%s (%d)", other, n))
		}
	}
	words := strings.Join(narrowed, " ")
	if len(found) == 0 {
		return fmt.Sprintf("Nothing has %q in it, here or in any other list.", words)
	}
	return fmt.Sprintf("%q stands in other lists: %s.", words, strings.Join(found, ", "))
}

// profileName is the name of a profile; empty if there is none.
func profileName(p *aircraft.Profile) string {
	if p == nil {
		return ""
	}
	return p.Name
}

// whose is the aircraft that is asked about: the one that is named, or the only one of somebody's own. The tones belong to none.
func (o *listOptions) whose(lib *library.Library, kind glossary.Kind) (*aircraft.Profile, error) {
	if o.profile == "" && kind == glossary.Tones {
		return nil, nil
	}
	if o.profile != "" {
		found, err := profilesBy(lib, o.profile)
		if err == nil && len(found) > 1 {
			err = usageError{fmt.Errorf("%s holds %d profiles; name the file of one", o.profile, len(found))}
		}
		if err != nil {
			return nil, err
		}
		return found[0], nil
	}
	own := slices.DeleteFunc(lib.Profiles(), func(p *aircraft.Profile) bool { return !p.Own })
	if len(own) == 1 {
		return own[0], nil
	}
	var names []string
	for _, p := range lib.Profiles() {
		names = append(names, p.Name)
	}
	last := len(names) - 1
	return nil, usageError{fmt.Errorf("it is not said of which aircraft; add --profile and %s or %s", strings.Join(names[:last], ", "), names[last])}
}

// showEntry shows a word: what it is called and what it can be, its sentence, and the example.
func showEntry(out io.Writer, e *glossary.Entry) {
	const indent = "      "
	fmt.Fprintf(out, "\n  %s\n", e.Name)
	for _, line := range wrapped(e.About+span(e)+shownOn(e), listWidth-len(indent)) {
		fmt.Fprintln(out, indent+line)
	}
	fmt.Fprintf(out, "%s%s    # %s\n", indent, e.Example, e.Where)
}

// span is what a number can be, as a sentence with a space before it; nothing for what is none.
func span(e *glossary.Entry) string {
	unit := ""
	if e.Unit != "" {
		unit = " " + e.Unit
	}
	switch {
	case e.Low != nil && e.High != nil:
		return fmt.Sprintf(" From %g to %g%s.", *e.Low, *e.High, unit)
	case e.Low != nil:
		return fmt.Sprintf(" From %g%s up.", *e.Low, unit)
	case e.High != nil:
		return fmt.Sprintf(" Up to %g%s.", *e.High, unit)
	case e.Unit != "":
		return fmt.Sprintf(" In %s.", e.Unit)
	}
	return ""
}

// shownOn says which gauge shows it.
func shownOn(e *glossary.Entry) string {
	if e.Gauge == "" {
		return ""
	}
	return " The gauge " + e.Gauge + " shows it."
}

// wrapped breaks a text into lines of at most so many characters, between words. A word that is longer has a line of its own.
func wrapped(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) <= width:
			line += " " + word
		default:
			lines, line = append(lines, line), word
		}
	}
	if line == "" {
		return lines
	}
	return append(lines, line)
}
