package screen

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"time"
	"unicode"

	"hornlark/drill"
)

// Choice is one thing that can be done next.
type Choice struct {
	Key  string // "enter", or a letter or digit as it is typed on the trainee's own keyboard
	Text string // what it does
}

// Welcome is the first screen: the caution, the sound check, and what to do next.
type Welcome struct {
	Version string
	Choices []Choice // at most eight; "s" and "q" are taken: they check the sound again and leave
	Hints   []string // lines below the choices, such as commands to try

	// SoundCheck plays something at a low level and says what it has found, in a few words. It runs as the screen
	// opens and again for "s"; its context ends with the screen. Nil leaves the check out.
	SoundCheck func(ctx context.Context) string
}

// Run shows the first screen until something is chosen. It gives the key of that choice, or "" if the trainee leaves.
// Errors are those of (*Screen).Run.
func (w Welcome) Run(ctx context.Context, o Options) (string, error) {
	page := &welcomePage{welcome: w, sound: "not checked"}
	st, err := newStage(o, page)
	if err != nil {
		return "", err
	}
	ctx, cancel := context.WithCancel(ctx)
	checks := soundChecks{stage: st, page: page}
	chosen := ""
	ended := make(chan struct{})
	go st.guarded(func() {
		defer close(ended)
		checks.start(ctx)
		for s := range st.strokes {
			key := typed(s)
			switch {
			case s.Kind == Interrupt, key == "q", key == "esc":
				st.end(nil)
				return
			case key == "s":
				checks.start(ctx)
			case w.offers(key):
				chosen = key
				st.end(nil)
				return
			}
		}
	})
	err = st.run(ctx)
	cancel()
	select {
	case <-ended:
		checks.running.Wait()
	case <-time.After(patience):
	}
	if err != nil {
		return "", err
	}
	return chosen, nil
}

func (w Welcome) offers(key string) bool {
	for _, c := range w.Choices {
		if key != "" && c.Key == key {
			return true
		}
	}
	return false
}

// typed names a stroke by what the trainee has typed: on pages of text, letters count and not places.
func typed(s Stroke) string {
	switch {
	case s.Kind != Pressed && s.Kind != Other:
		return ""
	case s.Char != 0:
		return string(unicode.ToLower(s.Char))
	}
	return string(s.Press.Key)
}

// soundChecks runs one check at a time.
type soundChecks struct {
	stage   *stage
	page    *welcomePage
	running sync.WaitGroup
}

func (c *soundChecks) start(ctx context.Context) {
	check := c.page.welcome.SoundCheck
	if check == nil || !c.page.begin() {
		return
	}
	c.stage.redraw()
	c.running.Go(func() {
		defer c.stage.guard()
		c.page.found(check(ctx))
		c.stage.redraw()
	})
}

// welcomePage draws the first screen.
type welcomePage struct {
	welcome Welcome

	mu       sync.Mutex
	sound    string
	checking bool
}

// begin notes that a check is running; false if one is already.
func (p *welcomePage) begin() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.checking {
		return false
	}
	p.checking, p.sound = true, "checking ..."
	return true
}

func (p *welcomePage) found(sound string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.checking, p.sound = false, sound
}

func (p *welcomePage) draw(c *canvas) {
	p.mu.Lock()
	defer p.mu.Unlock()
	x := 2
	width := min(c.width-2*x, 90)
	y := 1
	title := "HORNLARK"
	n := c.text(x, y, width, title, strong)
	c.text(x+n+2, y, width-n-2, strings.TrimSpace("challenge and response for helicopter procedures  "+p.welcome.Version), plain)
	y += 2
	c.text(x, y, width, " NOT FOR FLIGHT ", caution)
	y++
	for _, line := range wrap(Caution, width) {
		c.text(x, y, width, line, plain)
		y++
	}
	y++
	if p.welcome.SoundCheck != nil {
		n := c.text(x, y, width, "Sound check:", strong)
		for i, line := range wrap(p.sound, width-n-1) {
			if i == 2 {
				break
			}
			c.text(x+n+1, y, width-n-1, line, plain)
			y++
		}
		y++
	}
	choices := append([]Choice(nil), p.welcome.Choices...)
	if p.welcome.SoundCheck != nil {
		choices = append(choices, Choice{"s", "check the sound again"})
	}
	choices = append(choices, Choice{"q", "leave"})
	for _, choice := range choices {
		n := c.text(x, y, 9, " "+keyName(choice.Key)+" ", keycap)
		c.text(x+max(n+1, 8), y, width-max(n+1, 8), choice.Text, plain)
		y++
	}
	y++
	for i, hint := range p.welcome.Hints {
		if y == c.height-1 && i < len(p.welcome.Hints)-1 {
			c.text(x, y, width, string(cut), plain)
			return
		}
		c.text(x, y, width, hint, plain)
		y++
	}
}

// keyName is what is printed on a key.
func keyName(key string) string {
	if key == string(drill.Yes) {
		return "Enter"
	}
	return key
}

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
