package inert

import (
	"bufio"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Table writes CSV (RFC 4180) that a spreadsheet takes for what it is. See Cell.
type Table struct{ out *bufio.Writer }

// NewTable begins a table.
func NewTable(to io.Writer) *Table { return &Table{bufio.NewWriter(to)} }

// Write writes a row. An error stays, and Close gives it.
func (t *Table) Write(cells []string) {
	for i, cell := range cells {
		if i > 0 {
			t.out.WriteByte(',')
		}
		cell = Cell(cell)
		if bare(cell) {
			t.out.WriteString(cell)
			continue
		}
		// A cell in quotes is not cut where another locale has its separators, and begins no formula there.
		t.out.WriteByte('"')
		t.out.WriteString(strings.ReplaceAll(cell, `"`, `""`))
		t.out.WriteByte('"')
	}
	t.out.WriteString("\r\n")
}

// Close writes what is left and gives the first error.
func (t *Table) Close() error { return t.out.Flush() }

// bare reports whether a cell needs no quotes in any locale.
func bare(cell string) bool {
	return !strings.ContainsAny(cell, `,;"`) && strings.TrimSpace(cell) == cell
}

// figure is a number, which may begin with a sign.
var figure = regexp.MustCompile(`^[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?$`)

// Cell is a text as a cell of a table, before any quotes. By the rule of OWASP, "CSV Injection", a text that begins with one of
// the signs = + - @ (or their full-width forms) would be taken for a formula: it gets a single quotation mark in front, unless it is a number. One that
// begins with that mark gets another, so that Of can tell. The tab and the line ends of that rule cannot begin a cell: what
// acts is an escape, as in Line, and a backslash is two.
func Cell(text string) string {
	text = Line(strings.ReplaceAll(text, `\`, `\\`))
	if first, _ := utf8.DecodeRuneInString(text); strings.ContainsRune("=+-@'＝＋－＠", first) && text != "" && !figure.MatchString(text) {
		return "'" + text
	}
	return text
}

// Of gives back the text that became a cell.
func Of(cell string) (string, error) {
	cell = strings.TrimPrefix(cell, "'")
	var b strings.Builder
	for {
		before, after, found := strings.Cut(cell, `\`)
		b.WriteString(before)
		if !found {
			return b.String(), nil
		}
		if after == "" {
			return "", fmt.Errorf("%q ends in half an escape", cell)
		}
		length, known := map[byte]int{'\\': 0, 'x': 2, 'u': 4, 'U': 8}[after[0]]
		if !known || len(after) < 1+length {
			return "", fmt.Errorf("%q has no escape that a cell may have", cell)
		}
		digits := after[1 : 1+length]
		if length == 0 {
			b.WriteByte('\\')
		} else if v, err := strconv.ParseUint(digits, 16, 32); err != nil {
			return "", err
		} else if length == 2 {
			b.WriteByte(byte(v))
		} else {
			b.WriteRune(rune(v))
		}
		cell = after[1+length:]
	}
}
