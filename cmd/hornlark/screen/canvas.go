package screen

import (
	"strings"
	"unicode"

	"github.com/clipperhouse/displaywidth"

	"hornlark/drill/inert"
)

// cell is one place on the screen. The second place of a wide character holds char zero.
type cell struct {
	char rune
	look look
}

// canvas is a frame: a grid that nothing can be drawn outside of.
type canvas struct {
	width, height int
	cells         []cell
}

func newCanvas(width, height int) *canvas {
	c := &canvas{}
	c.resize(width, height)
	return c
}

// resize makes the canvas empty and of the given size.
func (c *canvas) resize(width, height int) {
	c.width, c.height = max(0, width), max(0, height)
	if n := c.width * c.height; n <= cap(c.cells) {
		c.cells = c.cells[:n]
	} else {
		c.cells = make([]cell, n)
	}
	for i := range c.cells {
		c.cells[i] = cell{char: ' '}
	}
}

// cut is the mark of text that did not fit.
const cut = '…'

// text draws s from column x on, in at most width columns, and gives the columns that it took. What does not fit is cut
// off, and the cut is marked.
func (c *canvas) text(x, y, width int, s string, l look) int {
	if x < 0 || y < 0 || y >= c.height {
		return 0
	}
	width = min(width, c.width-x)
	if width <= 0 {
		return 0
	}
	s = inert.Line(s)
	fits := textWidth(s) <= width
	if !fits {
		width--
	}
	used := 0
	for _, r := range s {
		w := runeWidth(r)
		if w == 0 {
			continue
		}
		if used+w > width {
			break
		}
		c.put(x+used, y, r, w, l)
		used += w
	}
	if !fits {
		c.put(x+used, y, cut, 1, l)
		used++
	}
	return used
}

// right draws s so that it ends before column x+width.
func (c *canvas) right(x, y, width int, s string, l look) {
	if w := textWidth(s); w < width {
		x, width = x+width-w, w
	}
	c.text(x, y, width, s, l)
}

func (c *canvas) put(x, y int, r rune, width int, l look) {
	i := y*c.width + x
	c.cells[i] = cell{r, l}
	if width == 2 {
		c.cells[i+1] = cell{0, l}
	}
}

// fill draws a character n times.
func (c *canvas) fill(x, y, n int, r rune, l look) {
	if y < 0 || y >= c.height {
		return
	}
	for i := max(0, x); i < min(x+n, c.width); i++ {
		c.put(i, y, r, 1, l)
	}
}

// String gives the frame with its looks in a palette, and in ASCII alone if the terminal's character set has no more.
func (c *canvas) String(p palette, ascii bool) string {
	var b strings.Builder
	b.Grow(len(c.cells) * 2)
	for y := range c.height {
		if y > 0 {
			b.WriteByte('\n')
		}
		c.writeLine(&b, c.cells[y*c.width:(y+1)*c.width], p, ascii)
	}
	return b.String()
}

// writeLine writes cells. Where there are colours the ground is one, and is written to the end of the line.
func (c *canvas) writeLine(b *strings.Builder, line []cell, p palette, ascii bool) {
	end := len(line)
	for p == noColour && end > 0 && line[end-1] == (cell{char: ' '}) {
		end--
	}
	now := ""
	for _, at := range line[:end] {
		if sgr := renditions[p][at.look]; sgr != now {
			now = sgr
			b.WriteString("\x1b[0")
			if sgr != "" {
				b.WriteByte(';')
				b.WriteString(sgr)
			}
			b.WriteByte('m')
		}
		switch {
		case at.char == 0:
		case ascii && at.char > unicode.MaxASCII:
			b.WriteByte(inASCII(at.char))
		default:
			b.WriteRune(at.char)
		}
	}
	if now != "" {
		b.WriteString("\x1b[0m")
	}
}

// runeWidth is the number of columns that a character takes: 0 for what is not drawn at all (control characters, and
// marks that combine with a character before them), else 1 or 2.
func runeWidth(r rune) int {
	if r >= ' ' && r < 0x7f {
		return 1
	}
	if !unicode.IsPrint(r) {
		return 0
	}
	return displaywidth.Rune(r)
}

func textWidth(s string) int {
	width := 0
	for _, r := range s {
		width += runeWidth(r)
	}
	return width
}

// inASCII stands in for a character where there is nothing but ASCII.
func inASCII(r rune) byte {
	switch r {
	case '─', '—', '–':
		return '-'
	case '═':
		return '='
	case '│':
		return '|'
	case '░':
		return '#'
	case '◆':
		return 'O'
	case cut:
		return '~'
	case '·', '°':
		return '.'
	case '’':
		return '\''
	}
	return '?'
}

// wrap breaks a text into lines of at most width columns, at spaces where it can.
func wrap(text string, width int) []string {
	width = max(width, 1)
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		for textWidth(word) > width {
			if line != "" {
				lines, line = append(lines, line), ""
			}
			head := prefix(word, width)
			lines, word = append(lines, head), word[len(head):]
		}
		switch {
		case word == "":
		case line == "":
			line = word
		case textWidth(line)+1+textWidth(word) <= width:
			line += " " + word
		default:
			lines, line = append(lines, line), word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// prefix is as much of a word as fits into width columns, and one character at least.
func prefix(word string, width int) string {
	used := 0
	for i, r := range word {
		used += runeWidth(r)
		if used > width && i > 0 {
			return word[:i]
		}
	}
	return word
}
