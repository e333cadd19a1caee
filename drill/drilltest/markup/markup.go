// Package markup looks at pages of HTML, for the tests of whatever writes them.
package markup

import (
	"bytes"
	"io"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// Written holds a page to what holds for all of them: the same each time it is written, self-contained, with headings in order and sound
// tables. It gives the page, its source, and the rows of its tables.
func Written(t testing.TB, name string, page interface{ Write(io.Writer) error }) (document *html.Node, source string, rows [][]string) {
	t.Helper()
	var out, again bytes.Buffer
	if err := page.Write(&out); err != nil {
		t.Fatal(err)
	}
	if err := page.Write(&again); err != nil || !bytes.Equal(out.Bytes(), again.Bytes()) {
		t.Errorf("%s: twice the same is not the same: %v", name, err)
	}
	source = out.String()
	document, err := html.Parse(&out)
	if err != nil {
		t.Fatal(err)
	}
	SelfContained(t, name, document)
	Headings(t, name, document)
	return document, source, Tables(t, name, document)
}

// SelfContained holds the page to what needs no network and runs no script.
func SelfContained(t testing.TB, name string, document *html.Node) {
	t.Helper()
	for n := range document.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		switch n.Data {
		case "script", "link", "img", "iframe", "object", "embed", "base", "form":
			t.Errorf("%s: the page has an element %s", name, n.Data)
		case "style":
			if css := Text(n); strings.Contains(css, "url(") || strings.Contains(css, "@import") {
				t.Errorf("%s: the style asks for something else", name)
			}
		}
		for _, a := range n.Attr {
			if a.Key == "src" || a.Key == "href" && !strings.HasPrefix(a.Val, "#") || strings.HasPrefix(a.Key, "on") {
				t.Errorf("%s: %s has %s=%q", name, n.Data, a.Key, a.Val)
			}
		}
	}
}

// Told sees to it that a screen reader says what a picture is and what it shows: what its attributes refer to is in it, once in the
// page (SVG 2, 5.8 and 5.9, title and desc; WAI-ARIA 1.2, aria-labelledby and aria-describedby).
func Told(t testing.TB, name string, document, picture *html.Node) {
	t.Helper()
	if Attribute(picture, "role") != "img" {
		t.Errorf("%s: a picture is not said to be one", name)
	}
	for tag, key := range map[string]string{"title": "aria-labelledby", "desc": "aria-describedby"} {
		found := 0
		for n := range document.Descendants() {
			if n.Type == html.ElementNode && Attribute(picture, key) != "" && Attribute(n, "id") == Attribute(picture, key) && n.Data == tag && n.Parent == picture && len(Text(n)) > 10 {
				found++
			}
		}
		if found != 1 {
			t.Errorf("%s: a picture has %d of %s", name, found, tag)
		}
	}
}

// Attribute is the value of an attribute; empty if there is none.
func Attribute(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

// Headings holds the page to one h1 and to levels that are not skipped.
func Headings(t testing.TB, name string, document *html.Node) {
	t.Helper()
	last, firsts := 0, 0
	for n := range document.Descendants() {
		if n.Type != html.ElementNode || len(n.Data) != 2 || n.Data[0] != 'h' || n.Data[1] < '1' || n.Data[1] > '6' {
			continue
		}
		level := int(n.Data[1] - '0')
		if level > last+1 {
			t.Errorf("%s: h%d follows h%d", name, level, last)
		}
		if last = level; level == 1 {
			firsts++
		}
	}
	if firsts != 1 {
		t.Errorf("%s: %d elements h1", name, firsts)
	}
}

// Tables gives the texts of all rows, and holds each table to one number of columns.
func Tables(t testing.TB, name string, document *html.Node) (rows [][]string) {
	t.Helper()
	for table := range document.Descendants() {
		if table.Type != html.ElementNode || table.Data != "table" {
			continue
		}
		columns := map[int]bool{}
		var hanging []int // columns that cells of rows above still take up
		for tr := range table.Descendants() {
			if tr.Type != html.ElementNode || tr.Data != "tr" {
				continue
			}
			var row []string
			var next []int
			wide := 0
			for _, rest := range hanging {
				if wide++; rest > 1 {
					next = append(next, rest-1)
				}
			}
			for cell := range tr.ChildNodes() {
				if cell.Type != html.ElementNode {
					continue
				}
				row = append(row, strings.TrimSpace(Text(cell)))
				across, down := span(cell, "colspan"), span(cell, "rowspan")
				wide += across
				for range across {
					if down > 1 {
						next = append(next, down-1)
					}
				}
			}
			hanging = next
			columns[wide] = true
			rows = append(rows, row)
		}
		if len(columns) != 1 {
			t.Errorf("%s: a table has rows of %v columns: %.60s", name, columns, Text(table))
		}
	}
	return rows
}

func span(cell *html.Node, key string) int {
	for _, a := range cell.Attr {
		if a.Key == key {
			n, _ := strconv.Atoi(a.Val)
			return n
		}
	}
	return 1
}

// Text is all the text of an element.
func Text(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data)
		}
	}
	return b.String()
}
