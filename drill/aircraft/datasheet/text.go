package datasheet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Heading is what the columns of Cells are.
func Heading() []string {
	return []string{"figure", "", "expected", "measured", "tolerance", ""}
}

// Cells is the row as it is shown: field, words, what was expected, what was measured, the tolerance with its source, and a
// verdict: met, missed by so much, not measured, or not stated.
func (r *Row) Cells() []string {
	expected, measured, tolerance := "-", "-", "-"
	if r.Stated {
		expected = number(r.Expected) + " " + r.Unit
		tolerance = "±" + number(r.Tolerance) + " (" + r.Source + ")"
	}
	if r.Taken {
		measured = number(r.Measured) + " " + r.Unit
	}
	return []string{r.Figure, r.What, expected, measured, tolerance, r.Verdict()}
}

// Verdict is the last column.
func (r *Row) Verdict() string {
	switch {
	case !r.Taken:
		return "not measured"
	case !r.Stated:
		return "not stated"
	case r.Missed():
		return fmt.Sprintf("missed by %s %s", signed(r.Measured-r.Expected), r.Unit)
	}
	return "met"
}

// Problem is what is to be said of a figure that was missed, without its name.
func (r *Row) Problem() string {
	if !r.Taken {
		return fmt.Sprintf("%s: expected %s %s, and %s", r.What, number(r.Expected), r.Unit, r.Why)
	}
	return fmt.Sprintf("%s: expected %s %s within %s, measured %s: missed by %s", r.What, number(r.Expected), r.Unit,
		number(r.Tolerance), number(r.Measured), signed(r.Measured-r.Expected))
}

// Text is the sheet as a table for a terminal, and below it why something could not be measured.
func (s Sheet) Text() string {
	rows := [][]string{Heading()}
	for i := range s {
		rows = append(rows, s[i].Cells())
	}
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	var b strings.Builder
	for _, row := range rows {
		var line strings.Builder
		for i, cell := range row {
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(cell))
			if i >= 2 && i <= 3 {
				cell = pad + cell
				pad = ""
			}
			line.WriteString(cell + pad + "  ")
		}
		b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
	for i := range s {
		if why := s[i].Why; why != "" && !slices.ContainsFunc(s[:i], func(r Row) bool { return r.Why == why }) {
			b.WriteString("Not measured: " + why + ".\n")
		}
	}
	return b.String()
}

// number is a figure with as many decimals as anybody could use.
func number(v float64) string {
	decimals := 1
	if v >= 100 || v <= -100 {
		decimals = 0
	} else if v < 10 && v > -10 {
		decimals = 2
	}
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		return "0"
	}
	return text
}

func signed(v float64) string {
	if v > 0 {
		return "+" + number(v)
	}
	return number(v)
}

// Markdown is the sheet as a table for a page.
func (s Sheet) Markdown() string {
	var b strings.Builder
	b.WriteString("| figure | | expected | measured | tolerance | |\n|---|---|--:|--:|---|---|\n")
	for i := range s {
		cells := s[i].Cells()
		cells[0] = "`" + cells[0] + "`"
		b.WriteString("| " + strings.Join(cells, " | ") + " |\n")
	}
	return b.String()
}
