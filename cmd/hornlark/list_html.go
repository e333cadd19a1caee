package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"

	"hornlark/drill/aircraft"
	"hornlark/drill/aircraft/glossary"
	"hornlark/drill/debrief"
	"hornlark/drill/debrief/page"
	"hornlark/drill/library"
)

// referenceHead is what the columns of a page of fields or words are.
func referenceHead(what string) []string {
	return []string{what, "what it is", "what is written", "as in"}
}

// anchor is where a link leads to: a kind, and what is there.
var anchor = strings.NewReplacer("[]", "", ".{}", ".name", "{}", "name", ".", "-")

// fieldsPage writes the fields of some kinds of documents as a page.
func (o *listOptions) fieldsPage(ctx context.Context, s streams, all []fieldsOf) error {
	r := &page.Reference{
		Title: "Fields of documents", Head: referenceHead("field"), Caution: debrief.Caution,
		Words: []string{"What can be written in a profile, a procedure, a scenario, an abnormal, answers and criteria, with what was written for it in a document that is sound.", fieldsLegend},
	}
	for _, of := range all {
		section := page.Section{ID: string(of.Kind), Title: fmt.Sprintf("Fields of %s, %d", of.Kind, len(of.Fields))}
		for i := range of.Fields {
			f := &of.Fields[i]
			section.Entries = append(section.Entries, page.Entry{
				ID: string(of.Kind) + "-" + anchor.Replace(f.Path), Name: f.Path, About: f.About, How: howWritten(f), Example: asIn(f),
			})
		}
		r.Sections = append(r.Sections, section)
	}
	return o.page(ctx, s, r)
}

// asIn is a line of YAML with a field; empty if there is no example that fits a line.
func asIn(f *library.Field) string {
	if f.Example == "" {
		return ""
	}
	return f.Path[strings.LastIndexByte(f.Path, '.')+1:] + ": " + f.Example
}

// wordsPage writes the words of one kind that an aircraft has as a page.
func (o *listOptions) wordsPage(ctx context.Context, s streams, p *aircraft.Profile, l glossary.List) error {
	title := strings.ToUpper(string(l.Kind[:1])) + string(l.Kind[1:])
	if p != nil {
		title += " of " + p.Title
	}
	section := page.Section{ID: string(l.Kind), Title: fmt.Sprintf("%s, %d", title, len(l.Entries))}
	for i := range l.Entries {
		e := &l.Entries[i]
		section.Entries = append(section.Entries, page.Entry{
			ID: anchored(l.Kind, i, e.Name), Name: e.Name, About: e.About, How: strings.TrimSpace(span(e) + shownOn(e) + " In " + article(e.Where) + "."), Example: e.Example,
		})
	}
	return o.page(ctx, s, &page.Reference{Title: title, Words: []string{l.About}, Head: referenceHead("name"), Sections: []page.Section{section}, Caution: debrief.CautionOf(p)})
}

// anchored is where a link to a word leads to: its name, or its number where that is an operator.
func anchored(kind glossary.Kind, i int, name string) string {
	if strings.ContainsFunc(name, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("._-", r)
	}) {
		name = strconv.Itoa(i + 1)
	}
	return string(kind) + "-" + name
}

// article puts one before a word.
func article(word string) string {
	if strings.ContainsAny(word[:1], "aeiou") {
		return "an " + word
	}
	return "a " + word
}

func (o *listOptions) page(ctx context.Context, s streams, r *page.Reference) error {
	to := o.output
	to.path = o.html
	return to.write(ctx, s, func(w io.Writer) error { return r.Write(w) })
}
