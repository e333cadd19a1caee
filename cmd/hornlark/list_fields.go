package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"hornlark/drill/fault"
	"hornlark/drill/library"
)

// fieldsList is what is listed that belongs to no aircraft: the fields of documents.
const fieldsList = "fields"

// kindsOfDocuments names the kinds.
func kindsOfDocuments() string {
	names := kindNames()
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

func kindNames() (names []string) {
	for _, k := range library.Kinds() {
		names = append(names, string(k))
	}
	return names
}

// fieldsOf is the fields of documents of one kind.
type fieldsOf struct {
	Kind   library.Kind    `json:"kind"`
	Fields []library.Field `json:"fields"`
}

// fields lists the fields of a kind of document, or of all, narrowed down by words.
func (o *listOptions) fields(ctx context.Context, s streams, args []string) error {
	kinds := library.Kinds()
	var words []string
	if len(args) > 0 {
		if !slices.Contains(kinds, library.Kind(args[0])) {
			return usageError{fmt.Errorf("there is no kind of document %q; %s", args[0], fault.Suggest(args[0], kindNames()))}
		}
		kinds, words = []library.Kind{library.Kind(args[0])}, args[1:]
	}
	var all []fieldsOf
	for _, kind := range kinds {
		all = append(all, fieldsOf{kind, withWords(library.Fields(kind), words)})
	}
	if o.html != "" {
		return o.fieldsPage(ctx, s, all)
	}
	if o.json {
		return printJSON(s.out, struct {
			Kinds []fieldsOf `json:"kinds"`
		}{all})
	}
	for i, of := range all {
		if i > 0 {
			fmt.Fprintln(s.out)
		}
		if o.markdown {
			fieldsAsMarkdown(s.out, of)
		} else {
			fieldsAsText(s.out, of)
		}
	}
	return nil
}

// withWords keeps the fields in which all of some words stand, in their path or their sentence.
func withWords(fields []library.Field, words []string) []library.Field {
	return slices.DeleteFunc(slices.Concat([]library.Field{}, fields), func(f library.Field) bool {
		text := strings.ToLower(f.Path + " " + f.About)
		return slices.ContainsFunc(words, func(word string) bool { return !strings.Contains(text, strings.ToLower(word)) })
	})
}

// howWritten says what is written for a field: its type, what it can be, and what holds without it.
func howWritten(f *library.Field) string {
	text := f.Type
	if len(f.Values) > 0 {
		text = strings.Join(f.Values, ", ")
		if last := len(f.Values) - 1; last > 0 {
			text = strings.Join(f.Values[:last], ", ") + " or " + f.Values[last]
		}
	}
	if f.Range != "" {
		low, high, _ := strings.Cut(f.Range, "..")
		text += fmt.Sprintf("; %s to %s", low, high)
	}
	if f.Size != "" {
		low, high, _ := strings.Cut(f.Size, "..")
		of := "of them"
		if strings.HasPrefix(f.Type, "text") {
			of = "characters"
		}
		switch {
		case low == "0":
			text += fmt.Sprintf("; at most %s %s", high, of)
		case low == high:
			text += fmt.Sprintf("; %s %s", high, of)
		default:
			text += fmt.Sprintf("; %s to %s %s", low, high, of)
		}
	}
	if f.Default != "" {
		text += "; left out: " + f.Default
	}
	if f.Needed {
		text += "; needed"
	}
	return text
}

// fieldsLegend is how the fields are to be read.
const fieldsLegend = "[] is each of a list, {} any name. What is needed has to be there wherever its group is; what is left out is 0, no text, false or none, unless it says otherwise."

func fieldsAsText(out io.Writer, of fieldsOf) {
	const indent = "      "
	fmt.Fprintf(out, "FIELDS of %s, %d\n", of.Kind, len(of.Fields))
	for _, line := range wrapped(fieldsLegend, listWidth) {
		fmt.Fprintln(out, line)
	}
	for i := range of.Fields {
		f := &of.Fields[i]
		fmt.Fprintf(out, "\n  %s\n", f.Path)
		for _, line := range append(wrapped(f.About, listWidth-len(indent)), wrapped("("+howWritten(f)+")", listWidth-len(indent))...) {
			fmt.Fprintln(out, indent+line)
		}
		if line := indent + asIn(f); f.Example != "" && utf8.RuneCountInString(line) <= listWidth {
			fmt.Fprintln(out, line)
		}
	}
}

func fieldsAsMarkdown(out io.Writer, of fieldsOf) {
	cell := strings.NewReplacer("|", "\\|", "\n", " ", "*", "\\*", "_", "\\_", "<", "&lt;")
	fmt.Fprintf(out, "## Fields of %s\n\n| field | | what it is |\n|---|---|---|\n", of.Kind)
	for i := range of.Fields {
		f := &of.Fields[i]
		fmt.Fprintf(out, "| `%s` | %s | %s |\n", f.Path, cell.Replace(howWritten(f)), cell.Replace(f.About))
	}
}
