package page

import (
	_ "embed"
	"io"

	"hornlark/drill/inert"
)

var (
	//go:embed reference.html
	referenceSource string

	reference = parse("reference", referenceSource)
)

// Reference is what can be written in documents, to be looked up.
type Reference struct {
	Title    string
	Words    []string // before it all, in sentences
	Head     []string // of the columns: four
	Sections []Section
	Caution  string
}

// Section is entries of one kind. Its ID and those of its entries are the places that a link leads to, each there once; a space may not
// stand in them.
type Section struct {
	ID, Title string
	About     string // in sentences; may be empty
	Entries   []Entry
}

// Entry is one thing that can be written.
type Entry struct {
	ID, Name string
	About    string // in sentences
	How      string // what is written
	Example  string // may be empty
}

// Write writes the page. It is the same for the same reference. Errors are those of the writer.
func (r *Reference) Write(w io.Writer) error { return reference.Execute(inert.Markup(w), r) }
