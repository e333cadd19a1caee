package library

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"gopkg.in/yaml.v3"
)

// The bounds of a file.
const (
	MaxFile  = 1 << 20 // bytes
	MaxLine  = 4096    // characters in a line
	MaxNodes = 50_000  // names, values, lists and groups of fields
	MaxDepth = 24      // lists and groups of fields inside one another
)

// document is a YAML file that has been read, and the place in it of everything that was taken from it.
type document struct {
	file   string
	text   string // line ends are \n
	root   *yaml.Node
	places map[string]*yaml.Node // by path
	spoilt map[string]bool       // paths at which something stands that could not be taken

	// Of a profile that is laid over another one.
	under    *document                // that one
	homes    map[*yaml.Node]*document // where what was taken over stands
	problems Problems                 // what is wrong with it by itself
}

// parse makes a document of the bytes of a file, or says why they are none.
func parse(file string, data []byte) (*document, Problems) {
	d := &document{file: file, places: map[string]*yaml.Node{}, spoilt: map[string]bool{}}
	if p := d.plainText(data); p != nil {
		return nil, Problems{*p}
	}
	root, more, err := parseYAML(d.text)
	switch {
	case err != nil:
		return nil, Problems{d.syntax(err)}
	case root == nil || root.Kind == yaml.ScalarNode && root.Value == "" && root.Style == 0:
		return nil, Problems{{d.file, 1, 1, "the file is empty", "write the fields of a profile, a procedure, a scenario or an abnormal"}}
	case more != nil:
		return nil, Problems{{d.file, more.Line, more.Column, "a second document begins here", "write one to a file"}}
	case root.Kind != yaml.MappingNode:
		return nil, Problems{{d.file, root.Line, root.Column, "the file holds " + found(root), "write fields, as in name: first-start"}}
	}
	d.root = root
	return d, d.unwanted()
}

// plainText sets the text of the document from the bytes of its file, or says what they are instead.
func (d *document) plainText(data []byte) *Problem {
	if len(data) > MaxFile {
		return &Problem{d.file, 0, 0, "the file is too large", fmt.Sprintf("stay within %d kB", MaxFile>>10)}
	}
	if bytes.HasPrefix(data, []byte{0xff, 0xfe}) || bytes.HasPrefix(data, []byte{0xfe, 0xff}) {
		return &Problem{d.file, 1, 1, "the file is UTF-16 text", "save it as UTF-8"}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	d.text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(string(data))
	line, column := 1, 1
	for i, r := range d.text {
		switch {
		case r == '\n':
			line, column = line+1, 0
		case r == utf8.RuneError && !strings.HasPrefix(d.text[i:], "\ufffd"):
			return &Problem{d.file, line, column, "the file is not UTF-8 text", "save it as UTF-8"}
		case r == 0:
			return &Problem{d.file, line, column, "the file is not text: there is a zero byte in it", "save it as UTF-8 text"}
		case unreadable(r) && r != '\t':
			return &Problem{d.file, line, column, fmt.Sprintf("there is an invisible character, %U", r), "take it out"}
		case column > MaxLine:
			return &Problem{d.file, line, column, "the line is too long", fmt.Sprintf("break it within %d characters", MaxLine)}
		}
		column++
	}
	return nil
}

// unreadable reports whether a character cannot be shown, or would confuse those that can: control and format
// characters, and the line ends that only some programs take for line ends.
func unreadable(r rune) bool { return unicode.In(r, unicode.C, unicode.Zl, unicode.Zp) }

// parseYAML gives the first document's content and, if there is one, the root of a second document. The parser is not
// ours and has been known to panic: that is an error like any other.
func parseYAML(text string) (root, more *yaml.Node, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("%v", r)
		}
	}()
	decoder := yaml.NewDecoder(strings.NewReader(text))
	var first, second yaml.Node
	switch err := decoder.Decode(&first); {
	case errors.Is(err, io.EOF):
		return nil, nil, nil
	case err != nil:
		return nil, nil, err
	}
	switch err := decoder.Decode(&second); {
	case errors.Is(err, io.EOF):
		return first.Content[0], nil, nil
	case err != nil:
		return nil, nil, err
	}
	return first.Content[0], &second, nil
}

// syntax turns the parser's error into a problem. The parser gives no column, and often the line of something that began
// long before. But as soon as the text is cut off before the place that it stumbles over, it gives another error or none.
func (d *document) syntax(err error) Problem {
	same := func(end int) bool {
		_, _, e := parseYAML(d.text[:end])
		return e != nil && e.Error() == err.Error()
	}
	low, high := 0, len(d.text) // it is not the same below low, and it is at high
	for low < high {
		if middle := (low + high) / 2; same(middle) {
			high = middle
		} else {
			low = middle + 1
		}
	}
	_, last := utf8.DecodeLastRuneInString(d.text[:high])
	line, column := d.position(high - last)
	what, remedy := plainWords(err.Error())
	if tab, ok := d.tabIndented(line); ok {
		line, column, what, remedy = tab, 1, "the line is indented with a tab", "use spaces"
	}
	return Problem{d.file, line, column, what, remedy}
}

// tabIndented finds a line up to the given one that has a tab in its indentation.
func (d *document) tabIndented(last int) (int, bool) {
	for i, line := range strings.Split(d.text, "\n")[:last] {
		indent := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
		if strings.Contains(indent, "\t") {
			return i + 1, true
		}
	}
	return 0, false
}

// syntaxErrors is what the parser's messages mean to somebody who writes such a file.
var syntaxErrors = []struct{ part, problem, remedy string }{
	{"mapping values are not allowed", "a colon stands where none can", "put the text in quotes, or begin a new line for the next field"},
	{"expected ',' or '", "a bracket is not closed, or a comma is missing", "write lists as [a, b] and fields as {a: 1, b: 2}"},
	{"expected '-' indicator", "the line does not go on with the list above it", "begin it with a dash, or move it back to where its field's name begins"},
	{"expected key", "the line does not stand below the others", "begin every field of one thing in the same column"},
	{"could not find expected ':'", "this is neither a field nor a part of a list", "write name: value, or begin the line with a dash"},
	{"cannot start any token", "a value cannot begin with this character", "put the text in quotes"},
	{"unexpected end of stream", "a quote is not closed", "close it on the same line"},
	{"unexpected document indicator", "a quote is not closed", "close it on the same line"},
	{"unknown escape character", "nothing is meant by this backslash", `write \\ for a backslash, or single quotes around the text`},
	{"block sequence entries are not allowed", "a list cannot begin here", "begin it on a line of its own"},
	{"unknown anchor", "an alias stands here", "write out what it stands for"},
	{"alphabetic or numeric character", "an alias or an anchor stands here", "write out what it stands for, or put the text in quotes"},
	{"tag", "a tag stands here", "leave it out, or put the text in quotes"},
	{"exceeded max depth", "it is nested too deep", fmt.Sprintf("stay within %d", MaxDepth)},
	{"directive", "a line cannot begin with a percent sign", "put the text in quotes"},
}

var errorPlace = regexp.MustCompile(`^yaml: (line \d+: )?`)

func plainWords(message string) (problem, remedy string) {
	for _, e := range syntaxErrors {
		if strings.Contains(message, e.part) {
			return e.problem, e.remedy
		}
	}
	return "the file is not YAML from here on: " + errorPlace.ReplaceAllString(message, ""), "write name: value, one to a line"
}

// unwanted notes what YAML allows and these files do not: anchors and aliases, with which a document could contain
// itself, tags, and more of anything than can make sense.
func (d *document) unwanted() Problems {
	var ps Problems
	nodes := 0
	var walk func(n *yaml.Node, depth int) bool
	walk = func(n *yaml.Node, depth int) bool {
		refuse := func(problem, remedy string) { ps = append(ps, Problem{d.file, n.Line, n.Column, problem, remedy}) }
		nodes++
		switch {
		case nodes > MaxNodes:
			refuse("the file holds too much", fmt.Sprintf("stay within %d names and values, or make two of it", MaxNodes))
			return false
		case depth > MaxDepth:
			refuse("it is nested too deep", fmt.Sprintf("stay within %d", MaxDepth))
			return false
		case n.Kind == yaml.AliasNode:
			refuse(fmt.Sprintf("an alias, *%s, stands here", n.Value), "write out what it stands for")
		case n.Anchor != "":
			refuse(fmt.Sprintf("an anchor, &%s, stands here", n.Anchor), "leave it out, or put the text in quotes")
		case n.Style&yaml.TaggedStyle != 0:
			refuse(fmt.Sprintf("a tag, %s, stands here", n.Tag), "leave it out, or put the text in quotes")
		}
		for _, child := range n.Content {
			if len(ps) >= MaxProblems || !walk(child, depth+1) {
				return false
			}
		}
		return true
	}
	walk(d.root, 1)
	return ps
}

// found says what a node is, for a sentence about what it should be.
func found(n *yaml.Node) string {
	switch {
	case n.Kind == yaml.MappingNode:
		return "a group of fields"
	case n.Kind == yaml.SequenceNode:
		return "a list"
	case empty(n):
		return "nothing"
	case utf8.RuneCountInString(n.Value) > 40:
		return fmt.Sprintf("%q…", string([]rune(n.Value)[:40]))
	}
	return fmt.Sprintf("%q", n.Value)
}

// empty reports whether nothing has been written for a value, or null, which YAML has for nothing (YAML 1.2.2, 10.3.2).
func empty(n *yaml.Node) bool {
	return n.Kind == yaml.ScalarNode && n.Style == 0 && slices.Contains([]string{"", "~", "null", "Null", "NULL"}, n.Value)
}

// has reports whether something was written at a path.
func (d *document) has(path string) bool { return d.places[path] != nil }

// written gives the path, or that of the nearest thing around it that was written.
func (d *document) written(path string) string {
	for path != "" && !d.has(path) {
		path = path[:max(0, strings.LastIndexAny(path, ".["))]
	}
	return path
}

// at gives the line and the column of a path, or of the nearest thing around it that was written. A column counts into
// the text of a value, from 1; 0 is the value itself.
func (d *document) at(path string, column int) (int, int) {
	_, line, column := d.place(path, column)
	return line, column
}

// place is at, with the document in whose file that is.
func (d *document) place(path string, column int) (home *document, line, at int) {
	n := d.root
	if around := d.written(path); around != "" {
		n = d.places[around]
	}
	home = d.home(n)
	if column > 0 && d.has(path) {
		line, at = home.inside(n, column)
		return home, line, at
	}
	return home, n.Line, n.Column
}

// inside finds where in the file a character of a value's text stands. The text has been unfolded and unquoted, so the
// two are walked along together; where they part, at an escape, it is the value as a whole.
func (d *document) inside(n *yaml.Node, column int) (int, int) {
	at := d.offset(n.Line, n.Column)
	switch {
	case n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0:
		at = d.offset(n.Line+1, 1)
	case n.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle) != 0:
		at++
	}
	skip := func() {
		for at < len(d.text) && strings.ContainsRune(" \t\n", rune(d.text[at])) {
			at++
		}
	}
	for i, want := range []rune(n.Value) {
		if !unicode.IsSpace(want) {
			skip()
		}
		if i == column-1 {
			break
		}
		if unicode.IsSpace(want) {
			continue
		}
		got, size := utf8.DecodeRuneInString(d.text[at:])
		if got != want {
			return n.Line, n.Column
		}
		at += size
	}
	return d.position(at)
}

// offset is the index in the text of a line and a column.
func (d *document) offset(line, column int) int {
	at := 0
	for range line - 1 {
		next := strings.IndexByte(d.text[at:], '\n')
		if next < 0 {
			return len(d.text)
		}
		at += next + 1
	}
	for range column - 1 {
		_, size := utf8.DecodeRuneInString(d.text[at:])
		at += size
	}
	return at
}

// position is the line and the column of an index in the text.
func (d *document) position(at int) (line, column int) {
	before := d.text[:min(at, len(d.text))]
	start := strings.LastIndexByte(before, '\n') + 1
	return strings.Count(before, "\n") + 1, utf8.RuneCountInString(before[start:]) + 1
}
