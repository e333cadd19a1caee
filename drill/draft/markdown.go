package draft

import (
	"bytes"
	"regexp"
	"strings"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	tables "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// maxNested is how many lists and quotations may begin in one row. The time to read them grows with the square of it.
const maxNested = 40

// opening is what may begin a list or a quotation, at the beginning of a row.
var opening = regexp.MustCompile(`^(?:[ \t]*(?:>|[-*+][ \t]|\d{1,9}[.)][ \t]))+`)

// nested gives the row in which too many lists and quotations begin, from 1; 0 if there is none.
func nested(data []byte) int {
	row := 0
	for line := range bytes.Lines(data) {
		row++
		marks := opening.Find(line)
		if bytes.Count(marks, []byte(">"))+len(bytes.Fields(bytes.ReplaceAll(marks, []byte(">"), nil))) > maxNested {
			return row
		}
	}
	return 0
}

// readMarkdown reads a checklist in CommonMark, with the tables of GitHub.
func readMarkdown(b *builder, data []byte) {
	m := marked{b: b, data: data}
	root := goldmark.New(goldmark.WithExtensions(extension.Table)).Parser().Parse(text.NewReader(data))
	for n := root.FirstChild(); n != nil; n = n.NextSibling() {
		m.block(n, false)
	}
}

// marked is a document that is gone through.
type marked struct {
	b    *builder
	data []byte
	at   int // how far rows have been counted
	row  int // how many line ends stand before that
}

// block reads a block. listed says that it stands in a list, where every line is one of the checklist.
func (m *marked) block(n ast.Node, listed bool) {
	switch n := n.(type) {
	case *ast.Heading:
		m.b.heading(m.inline(n))
	case *tables.Table:
		m.table(n)
	case *ast.Paragraph, *ast.TextBlock:
		m.lines(m.inline(n), m.rowOf(n), listed)
	case *ast.CodeBlock, *ast.FencedCodeBlock:
		m.lines(string(n.Lines().Value(m.data)), m.rowOf(n), false)
	default:
		for c := n.FirstChild(); c != nil; c = c.NextSibling() {
			m.block(c, listed || n.Kind() == ast.KindList || n.Kind() == ast.KindListItem)
		}
	}
}

// lines reads the lines of a block. Outside of a list only dots, a tab or columns make one of a sentence.
func (m *marked) lines(text string, row int, listed bool) {
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(bullet.ReplaceAllString(strings.TrimSpace(line), ""))
		challenge, response, found := split(line, !listed)
		if found || listed && i == 0 {
			m.b.line(row+i, challenge, response)
		} else {
			m.b.leave(row+i, line)
		}
	}
}

func (m *marked) table(t *tables.Table) {
	var rows [][]string
	var places []int
	for r := t.FirstChild(); r != nil; r = r.NextSibling() {
		var cells []string
		place := 0
		for c := r.FirstChild(); c != nil; c = c.NextSibling() {
			cells = append(cells, m.inline(c))
			if place == 0 {
				place = m.rowOf(c)
			}
		}
		rows, places = append(rows, cells), append(places, place)
	}
	readRows(m.b, rows, places)
}

// inline is the text of a block without its marks, a line end for every one in it.
func (m *marked) inline(n ast.Node) string {
	var out strings.Builder
	_ = ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.Text:
			out.Write(unmarked(n.Segment.Value(m.data)))
			if n.SoftLineBreak() || n.HardLineBreak() {
				out.WriteByte('\n')
			}
		case *ast.String:
			out.Write(n.Value)
		case *ast.AutoLink:
			out.Write(n.Label(m.data))
		}
		return ast.WalkContinue, nil
	})
	return out.String()
}

// unmarked takes the escapes and references out of a text.
func unmarked(raw []byte) []byte {
	return util.ResolveEntityNames(util.ResolveNumericReferences(util.UnescapePunctuations(raw)))
}

// rowOf is the row that a block begins in, from 1. Blocks are asked about from top to bottom, so that every line end is counted once.
func (m *marked) rowOf(n ast.Node) int {
	if lines := n.Lines(); lines != nil && lines.Len() > 0 {
		if start := min(lines.At(0).Start, len(m.data)); start >= m.at {
			m.row += bytes.Count(m.data[m.at:start], []byte("\n"))
			m.at = start
		}
	}
	return m.row + 1
}
