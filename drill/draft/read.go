// Package draft makes documents to begin with: a checklist in plain text, Markdown or CSV becomes a procedure of a profile, and what
// could not be mapped is said with what comes nearest. It is pure: text in, text out.
package draft

import (
	"bytes"
	"fmt"
	"path"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"hornlark/drill/inert"
	"hornlark/drill/procedure"
)

// The bounds of a checklist.
const (
	MaxBytes = 256 << 10
	MaxLines = procedure.MaxItems
)

// Format is how a checklist is written.
type Format string

// The formats.
const (
	Text     Format = "text"     // challenge, then dots, a tab, several blanks, a colon, a dash or a comma, then response
	Markdown Format = "markdown" // headings, lists, tables
	CSV      Format = "csv"      // commas, semicolons or tabs
)

// Formats names every format.
func Formats() []string { return []string{string(Text), string(Markdown), string(CSV)} }

// Checklist is a checklist as it was read.
type Checklist struct {
	Title  string // above the phases; may be empty
	Phases []Phase
	Left   []Line // what is no line of a checklist, such as a paragraph: the text stands in Challenge
}

// Phase is what stands under one heading.
type Phase struct {
	Title string // empty if there is no heading
	Lines []Line
}

// Line is a challenge and its response, which may be empty.
type Line struct {
	Row       int // in the file, from 1
	Challenge string
	Response  string
	Crew      string // who is to do it, from a column of its own; empty: it says nothing of that
	Hold      string // a row below it that says that the flow does not go on without
}

// Count is the number of lines in all phases.
func (c *Checklist) Count() int {
	n := 0
	for i := range c.Phases {
		n += len(c.Phases[i].Lines)
	}
	return n
}

// FormatOf tells the format by the name of a file, and where that says nothing by what stands in it.
func FormatOf(name string, data []byte) Format {
	switch strings.ToLower(path.Ext(name)) {
	case ".md", ".markdown":
		return Markdown
	case ".csv", ".tsv":
		return CSV
	}
	for line := range bytes.Lines(data) {
		line = bytes.TrimSpace(line)
		if bytes.HasPrefix(line, []byte("# ")) || bytes.HasPrefix(line, []byte("## ")) || bytes.HasPrefix(line, []byte("|")) {
			return Markdown
		}
	}
	return Text
}

// Read reads a checklist. Bytes that are no UTF-8 are taken for Windows-1252, the Latin-1 of the files of word processors. The error
// says what is wrong and what to do, without the name of the file.
func Read(data []byte, format Format) (*Checklist, error) {
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("it is longer than %d KB; make several checklists of it", MaxBytes>>10)
	}
	if bytes.IndexByte(data, 0) >= 0 {
		return nil, fmt.Errorf("it is no text; save the checklist as plain text, Markdown or CSV, in UTF-8")
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if !utf8.Valid(data) {
		decoded, err := charmap.Windows1252.NewDecoder().Bytes(data)
		if err != nil {
			return nil, fmt.Errorf("it is no text in UTF-8: %w", err)
		}
		data = decoded
	}
	data = bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))
	data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	b := &builder{}
	switch format {
	case Markdown:
		if row := nested(data); row > 0 {
			return nil, fmt.Errorf("more than %d lists begin in row %d; write one item in a row", maxNested, row)
		}
		readMarkdown(b, data)
	case CSV:
		if err := readCSV(b, data); err != nil {
			return nil, err
		}
	default:
		readText(b, string(data))
	}
	c := b.checklist()
	switch n := c.Count(); {
	case n == 0:
		return nil, fmt.Errorf(`there is no line of a checklist in it; write each as "Battery .... on", with dots, a tab or a comma in between`)
	case n > MaxLines:
		return nil, fmt.Errorf("it has %d lines, and a procedure has %d at the most; make several of it", n, MaxLines)
	case len(c.Phases) > procedure.MaxPhases:
		return nil, fmt.Errorf("it has %d headings, and a procedure has %d phases at the most; make several of it", len(c.Phases), procedure.MaxPhases)
	}
	return c, nil
}

// builder puts a checklist together, heading by heading and line by line.
type builder struct {
	title string
	list  []Phase
	left  []Line
}

// heading begins a phase. The first of two headings without a line in between is the title of all.
func (b *builder) heading(text string) {
	text = tidy(strings.TrimRight(tidy(text), ":."))
	if text == "" {
		return
	}
	if n := len(b.list); n > 0 && len(b.list[n-1].Lines) == 0 {
		if n == 1 && b.title == "" {
			b.title = b.list[0].Title
		}
		b.list = b.list[:n-1]
	}
	b.list = append(b.list, Phase{Title: text})
}

// quotes stand around a response in some lists.
const quotes = " \"“”„«»"

// line adds a line to the phase that has begun.
func (b *builder) line(row int, challenge, response string) {
	challenge, response = strings.Trim(tidy(challenge), quotes), strings.Trim(tidy(response), strings.TrimSuffix(leaders, "_")+quotes)
	if challenge == "" {
		if response != "" {
			b.leave(row, response)
		}
		return
	}
	if slices.Contains(remarks, strings.ToLower(challenge)) && len(strings.Fields(response)) > 2 {
		b.leave(row, challenge+": "+response)
		return
	}
	if len(b.list) == 0 {
		b.list = append(b.list, Phase{})
	}
	last := &b.list[len(b.list)-1]
	last.Lines = append(last.Lines, Line{Row: row, Challenge: challenge, Response: response})
}

// holdOn takes a row that says of the line before it that the flow does not go on without.
func (b *builder) holdOn(text string) bool {
	if len(b.list) == 0 || !isHold(text) {
		return false
	}
	lines := b.list[len(b.list)-1].Lines
	if len(lines) == 0 {
		return false
	}
	lines[len(lines)-1].Hold = text
	return true
}

// crew notes whose the latest line is.
func (b *builder) crew(who string) {
	if n := len(b.list); n > 0 && len(b.list[n-1].Lines) > 0 && who != "" {
		b.list[n-1].Lines[len(b.list[n-1].Lines)-1].Crew = who
	}
}

// begun reports whether a heading stands there without a line under it so far.
func (b *builder) begun() bool { return len(b.list) > 0 && len(b.list[len(b.list)-1].Lines) == 0 }

// remarks are what begins a row that says something about the others. Common practice, no source.
var remarks = []string{"note", "notes", "caution", "warning", "remark", "remarks"}

// leave notes a text that is no line of a checklist.
func (b *builder) leave(row int, text string) {
	if text = tidy(text); b.holdOn(text) {
		return
	}
	if text != "" {
		b.left = append(b.left, Line{Row: row, Challenge: text})
	}
}

func (b *builder) checklist() *Checklist {
	if n := len(b.list); n > 0 && len(b.list[n-1].Lines) == 0 {
		b.list = b.list[:n-1] // a heading at the end has nothing under it
	}
	return &Checklist{Title: b.title, Phases: b.list, Left: b.left}
}

// tidy is a text in one line, with single blanks and nothing that acts.
func tidy(text string) string {
	text = strings.Map(func(r rune) rune {
		if inert.Acts(r) || r == utf8.RuneError {
			return ' '
		}
		return r
	}, text)
	return strings.Join(strings.Fields(text), " ")
}
