package screen

import (
	"context"
	"sync"
	"time"

	"hornlark/drill"
)

// List is a page of lines of which one is picked.
type List struct {
	Title string
	Head  string   // stands above the lines and does not move; may be empty
	Lines []string // one each; what does not fit is cut
	At    int      // the line that is marked at first
}

// Run shows the list until a line is picked or the trainee leaves it; it gives the place of that line, or -1. Errors are those of
// (*Screen).Run.
func (l List) Run(ctx context.Context, o Options) (int, error) {
	page := &listPage{list: l, at: l.At}
	st, err := newStage(o, page)
	if err != nil {
		return -1, err
	}
	picked := -1
	ended := make(chan struct{})
	go st.guarded(func() {
		defer close(ended)
		for s := range st.strokes {
			switch key := typed(s); {
			case s.Kind == Interrupt, key == "q", key == string(drill.Hold):
				st.end(nil)
				return
			case key == string(drill.Yes) && len(l.Lines) > 0:
				picked = page.marked()
				st.end(nil)
				return
			case s.move != moveNone:
				page.move(s.move)
			case key == string(drill.Quiet):
				page.move(movePageDown)
			case key == string(drill.No):
				page.move(movePageUp)
			}
			st.redraw()
		}
	})
	if err = st.run(ctx); err != nil {
		return -1, err
	}
	select {
	case <-ended:
		return picked, nil
	case <-time.After(patience):
		return -1, nil
	}
}

// listPage draws a list.
type listPage struct {
	list List

	mu  sync.Mutex
	at  int
	top int
	fit int // lines that are shown at a time
}

func (p *listPage) marked() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.at
}

func (p *listPage) move(to move) {
	p.mu.Lock()
	defer p.mu.Unlock()
	page := max(1, p.fit-1)
	switch to {
	case moveUp:
		p.at--
	case moveDown:
		p.at++
	case movePageUp:
		p.at -= page
	case movePageDown:
		p.at += page
	case moveTop:
		p.at = 0
	case moveBottom:
		p.at = len(p.list.Lines)
	}
	p.clamp()
}

func (p *listPage) clamp() { p.at = max(0, min(p.at, len(p.list.Lines)-1)) }

func (p *listPage) draw(c *canvas) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.clamp()
	p.fit = max(1, c.height-5)
	p.top = max(0, min(p.top, p.at), p.at-p.fit+1)
	place := ""
	if len(p.list.Lines) > p.fit {
		place = placeOf(p.top, p.fit, len(p.list.Lines))
	}
	c.right(0, 0, c.width, place, plain)
	c.text(0, 0, c.width-textWidth(place)-1, p.list.Title, strong)
	c.fill(0, 1, c.width, '─', plain)
	c.text(2, 2, c.width-2, p.list.Head, faint)
	for i := range min(p.fit, len(p.list.Lines)-p.top) {
		mark, l := "  ", plain
		if p.top+i == p.at {
			mark, l = "> ", strong
		}
		c.text(0, 3+i, c.width, mark+p.list.Lines[p.top+i], l)
	}
	drawKeys(c, c.height-1, "Up/Down", "line", "PgUp/PgDn", "page", "Enter", "look at it", "q", "back")
}
