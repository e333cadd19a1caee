package screen

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"

	"hornlark/drill"
)

// Report is the end screen: a text to be read at leisure.
type Report struct {
	Title string
	Lines []string // longer ones are wrapped
	Walks bool     // the sitting can be gone through again
}

// Run shows the report until the trainee leaves it, and reports whether that was to go through the sitting again. Errors are
// those of (*Screen).Run.
func (r Report) Run(ctx context.Context, o Options) (walk bool, err error) {
	page := &reportPage{title: r.Title, lines: r.Lines, walks: r.Walks}
	st, err := newStage(o, page)
	if err != nil {
		return false, err
	}
	var chosen atomic.Bool
	go st.guarded(func() {
		for s := range st.strokes {
			switch key := typed(s); {
			case r.Walks && key == "w":
				chosen.Store(true)
				st.end(nil)
			case s.Kind == Interrupt, key == "q", key == "esc", key == string(drill.Yes):
				st.end(nil)
			case s.move != moveNone:
				page.scroll(s.move)
			case key == string(drill.Quiet):
				page.scroll(movePageDown)
			case key == string(drill.No):
				page.scroll(movePageUp)
			}
			st.redraw()
		}
	})
	err = st.run(ctx)
	return chosen.Load() && err == nil, err
}

// reportPage draws the end screen.
type reportPage struct {
	title string
	lines []string
	walks bool

	mu      sync.Mutex
	top     int      // first line that is shown
	wrapped []string // the lines, for a width
	width   int
	page    int // lines shown at a time
}

func (p *reportPage) scroll(to move) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch to {
	case moveUp:
		p.top--
	case moveDown:
		p.top++
	case movePageUp:
		p.top -= max(1, p.page-1)
	case movePageDown:
		p.top += max(1, p.page-1)
	case moveTop:
		p.top = 0
	case moveBottom:
		p.top = len(p.wrapped)
	}
	p.clamp()
}

func (p *reportPage) clamp() { p.top = max(0, min(p.top, len(p.wrapped)-p.page)) }

func (p *reportPage) draw(c *canvas) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.width != c.width {
		p.width, p.wrapped = c.width, wrapLines(p.lines, c.width)
	}
	p.page = c.height - 3
	p.clamp()
	place := ""
	if len(p.wrapped) > p.page {
		place = placeOf(p.top, p.page, len(p.wrapped))
	}
	c.right(0, 0, c.width, place, plain)
	c.text(0, 0, c.width-textWidth(place)-1, p.title, strong)
	c.fill(0, 1, c.width, '─', plain)
	for i := range min(p.page, len(p.wrapped)-p.top) {
		c.text(0, 2+i, c.width, p.wrapped[p.top+i], plain)
	}
	keys := []string{"Up/Down", "line", "PgUp/PgDn", "page", "Home/End", "top, bottom", "q", "leave"}
	if p.walks {
		keys = append(keys, "w", "walk through")
	}
	drawKeys(c, c.height-1, keys...)
}

func placeOf(top, page, lines int) string {
	return fmt.Sprintf("lines %d-%d of %d", top+1, min(lines, top+page), lines)
}

// wrapLines breaks lines that are too long, at a space where there is one. What goes on is indented a little more than
// the line, whose own spacing is kept: it may be part of a table.
func wrapLines(lines []string, width int) []string {
	var out []string
	for _, line := range lines {
		indent := line[:len(line)-len(strings.TrimLeft(line, " "))] + "  "
		if len(indent) > width/2 {
			indent = ""
		}
		for textWidth(line) > width {
			first := prefix(line, width)
			if i := strings.LastIndexByte(first, ' '); i > len(indent) {
				first = first[:i]
			}
			out = append(out, first)
			line = indent + strings.TrimLeft(line[len(first):], " ")
		}
		out = append(out, line)
	}
	return out
}
