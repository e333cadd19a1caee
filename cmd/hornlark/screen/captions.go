package screen

import (
	"fmt"

	"hornlark/drill/aircraft"
)

// marksLegend explains the marks of lit captions and sounding alerts.
const marksLegend = "! warning * caution + advisory"

// lamp is how captions and alerts of a level are marked and lit.
func lamp(l aircraft.Level) (mark string, as look) {
	switch l {
	case aircraft.Warning:
		return "!", warning
	case aircraft.Caution:
		return "*", caution
	}
	return "+", advisory
}

// markOf is how the mark of a lit caption is drawn: on no light of its own, so that windows that touch stay apart.
func markOf(as look) look {
	switch as {
	case warning:
		return onRed
	case caution:
		return inAmber
	}
	return strong
}

// levels from the most urgent to the least.
var levels = []aircraft.Level{aircraft.Warning, aircraft.Caution, aircraft.Advisory}

// annunciator is the panel of the captions: every one has its window, in the order of the profile, whether it is lit or not.
// Where the windows are hangs on the profile and on the width alone, so that their places can be learnt.
type annunciator struct {
	windows []window // of the first captions; those after them have no place
	lines   int
}

// window is the place of one caption: a column for its mark, and its text.
type window struct {
	x, line, width int
	text           string
}

// inColumns lays the windows out in as many columns as fit.
func inColumns(captions []aircraft.Caption, width int) annunciator {
	for n := len(captions); n > 1; n-- {
		columns := columnsOf(captions, n)
		if sum(columns) > width {
			continue
		}
		lines := over(len(captions), n)
		n = over(len(captions), lines) // no more columns than these lines need
		columns = columnsOf(captions, n)
		spare := max(0, min(2, (width-sum(columns))/n))
		var a annunciator
		for i := range captions {
			column := i % n
			a.add(sum(columns[:column])+column*spare, i/n, columns[column]+max(0, spare-1), captions[i].Text)
		}
		return a
	}
	return inLines(captions, width, width)
}

// columnsOf is how wide each of n columns has to be.
func columnsOf(captions []aircraft.Caption, n int) []int {
	columns := make([]int, n)
	for i := range captions {
		columns[i%n] = max(columns[i%n], 1+textWidth(captions[i].Text))
	}
	return columns
}

// inLines lays the windows out one after the other, which takes the fewest lines. Texts longer than most are shortened.
func inLines(captions []aircraft.Caption, width, most int) annunciator {
	var a annunciator
	x, line := 0, 0
	for i := range captions {
		text := shorten(captions[i].Text, most)
		w := min(1+textWidth(text), width)
		if x > 0 && x+w > width {
			x, line = 0, line+1
		}
		a.add(x, line, w, text)
		x += w
	}
	return a
}

func (a *annunciator) add(x, line, width int, text string) {
	a.windows = append(a.windows, window{x, line, width, text})
	a.lines = max(a.lines, line+1)
}

// within is the annunciator with what stands in its first lines.
func (a annunciator) within(lines int) annunciator {
	for i, w := range a.windows {
		if w.line >= lines {
			return annunciator{a.windows[:i], lines}
		}
	}
	return a
}

// drawCaptions shows the windows, dim where the caption is out.
func (s *sitting) drawCaptions(c *canvas, y int, a annunciator) {
	for i, w := range a.windows {
		as := unlit
		if at(s.view.Lit, i) {
			var mark string
			mark, as = lamp(s.profile.Captions[i].Level)
			c.text(w.x, y+w.line, 1, mark, markOf(as))
		}
		c.fill(w.x+1, y+w.line, w.width-1, ' ', as)
		c.text(w.x+1, y+w.line, w.width-1, w.text, as)
	}
	more := 0
	for i := len(a.windows); i < len(s.view.Lit); i++ {
		if s.view.Lit[i] {
			more++
		}
	}
	if more > 0 { // a panel of somebody's own that no terminal of this size can hold
		c.right(0, y+max(0, a.lines-1), c.width, fmt.Sprintf(" +%d more", more), strong)
	}
}

func sum(of []int) int {
	total := 0
	for _, n := range of {
		total += n
	}
	return total
}
