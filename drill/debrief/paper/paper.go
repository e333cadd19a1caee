// Package paper gives what is taken along on paper: a procedure as a card for the knee, the keyboard of an aircraft, and the key to a
// scenario for its instructor. Each is a page of HTML that needs nothing else, made to be printed; black on white is enough.
//
// On every sheet stand what it is of, the edition of the documents that it was made from, and the caution: in rows of a table at the head
// and at the foot, which browsers repeat. The number of the sheet stands in a margin box of CSS Paged Media 3, where the browser has them.
package paper

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"hornlark/drill/fault"
	"hornlark/drill/inert"
)

// Size is that of the paper, by ISO 216.
type Size string

// The sizes. A card for the knee is A5, upright; a keyboard lies.
const (
	A5 Size = "a5" // 148 mm by 210 mm
	A4 Size = "a4" // 210 mm by 297 mm
)

// Sizes lists the sizes, the usual one first.
func Sizes() []string { return []string{string(A5), string(A4)} }

// ParseSize finds a size by its name, in capitals or not.
func ParseSize(name string) (Size, error) {
	lower := strings.ToLower(name)
	if !slices.Contains(Sizes(), lower) {
		return "", fmt.Errorf("there is no paper size %q; %s", name, fault.Suggest(lower, Sizes()))
	}
	return Size(lower), nil
}

// Sheet is what stands on every sheet of a document.
type Sheet struct {
	Size    Size
	Edition string // of what it was made from, see library.Edition
	Caution string
}

// frame is a sheet made ready for its template.
type frame struct {
	Sheet
	Title string // of the page
	Of    string // what it is of, at the head of each sheet
	Warns string // said at the head of each sheet, before anything else; may be empty
	Lies  bool   // the longer side is the lower one
	Body  any
}

// Page is the size in CSS.
func (f *frame) Page() template.CSS {
	if f.Lies {
		return template.CSS(f.Size) + " landscape"
	}
	return template.CSS(f.Size)
}

// What a document is made of.
var (
	//go:embed style.css
	style string
	//go:embed frame.html
	frameSource string
	//go:embed card.html
	cardSource string
	//go:embed keyboard.html
	keyboardSource string
	//go:embed key.html
	keySource string

	cardPage     = parse("card", cardSource)
	keyboardPage = parse("keyboard", keyboardSource)
	keyPage      = parse("key", keySource)
)

func parse(name, body string) *template.Template {
	return template.Must(template.Must(template.New(name).Funcs(template.FuncMap{
		"style": func() template.CSS { return template.CSS(style) },
	}).Parse(frameSource)).Parse(body))
}

// write writes a document. It is the same for the same documents. Errors are those of the writer.
func (f *frame) write(w io.Writer, page *template.Template) error {
	return page.ExecuteTemplate(inert.Markup(w), "frame", f)
}
