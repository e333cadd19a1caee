package draft

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode"
)

// readCSV reads a checklist from a table, parted by the sign that parts its rows into the most cells alike.
func readCSV(b *builder, data []byte) error {
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma = parted(data)
	r.FieldsPerRecord = -1
	r.LazyQuotes = true
	r.TrimLeadingSpace = r.Comma != '\t'
	var rows [][]string
	var places []int
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return fmt.Errorf("the table cannot be read: %w", err)
		}
		place, _ := r.FieldPos(0)
		rows, places = append(rows, cells), append(places, place)
	}
	readRows(b, rows, places)
	return nil
}

// parted is what parts cells: a tab or a semicolon if most rows have one, or else a comma.
func parted(data []byte) rune {
	rows, tabs, semicolons := 0, 0, 0
	for line := range bytes.Lines(data) {
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		rows++
		if bytes.IndexByte(line, '\t') >= 0 {
			tabs++
		}
		if bytes.IndexByte(line, ';') >= 0 {
			semicolons++
		}
	}
	switch {
	case 2*tabs > rows:
		return '\t'
	case 2*semicolons > rows:
		return ';'
	}
	return ','
}

// layout is which column holds what; -1 is none.
type layout struct{ phase, challenge, response, crew int }

// headings of columns. Common practice, no source: what operators write above their lists.
var columnNames = map[string][]string{
	"phase":     {"phase", "section", "checklist", "part", "stage"},
	"challenge": {"challenge", "item", "check", "control", "call", "step", "system"},
	"crew":      {"crew", "who", "by", "pilot", "crew member", "action by"},
	"response":  {"response", "action", "status", "position", "answer", "setting", "reply", "condition"},
}

// readRows reads a table: by its headings, or else the first two columns that hold words.
func readRows(b *builder, rows [][]string, places []int) {
	at, named := layoutOf(rows)
	if named {
		rows, places = rows[1:], places[1:]
	}
	phase := ""
	for i, cells := range rows {
		cell := func(column int) string {
			if column < 0 || column >= len(cells) {
				return ""
			}
			return tidy(cells[column])
		}
		filled := 0
		for _, c := range cells {
			if tidy(c) != "" {
				filled++
			}
		}
		if p := cell(at.phase); p != "" && p != phase {
			phase = p
			b.heading(p)
		}
		challenge, response := strings.TrimSpace(bullet.ReplaceAllString(cell(at.challenge), "")), cell(at.response)
		switch {
		case filled == 0:
		case filled == 1 && at.phase < 0 && tidy(cells[0]) != "":
			if c, r, found := split(tidy(cells[0]), true); found {
				b.line(places[i], c, r)
			} else {
				b.heading(cells[0])
			}
		case challenge == "" && response == "":
			if at.phase < 0 || filled > 1 {
				b.leave(places[i], strings.Join(cells, " "))
			}
		default:
			b.line(places[i], challenge, response)
			b.crew(cell(at.crew))
			for c := range cells {
				if who := crewIn(tidy(cells[c])); who != "" && c != at.challenge && c != at.response {
					b.crew(who)
					continue
				}
				if c > max(at.challenge, at.response) && c != at.phase && c != at.crew && tidy(cells[c]) != "" {
					b.leave(places[i], cells[c]) // a remark
				}
			}
		}
	}
}

// layoutOf finds the columns, and says whether the first row names them.
func layoutOf(rows [][]string) (at layout, named bool) {
	at = layout{-1, -1, -1, -1}
	if len(rows) == 0 {
		return at, false
	}
	for i, cell := range rows[0] {
		word := strings.ToLower(strings.TrimRight(tidy(cell), "s:."))
		for _, of := range []struct {
			kind  string
			place *int
		}{{"phase", &at.phase}, {"challenge", &at.challenge}, {"response", &at.response}, {"crew", &at.crew}} {
			for _, name := range columnNames[of.kind] {
				if word == strings.TrimRight(name, "s") && *of.place < 0 {
					*of.place = i
				}
			}
		}
	}
	if at.challenge >= 0 && at.response >= 0 {
		return at, true
	}
	// Without headings a first column of numbers counts the rows.
	first := 0
	if counted(rows) {
		first = 1
	}
	return layout{-1, first, first + 1, -1}, tidy(strings.Join(rows[0], "")) == ""
}

// counted reports whether the first column only counts the rows.
func counted(rows [][]string) bool {
	any := false
	for _, cells := range rows {
		if len(cells) < 2 || tidy(cells[0]) == "" {
			continue
		}
		if strings.ContainsFunc(cells[0], unicode.IsLetter) {
			return false
		}
		any = true
	}
	return any
}
