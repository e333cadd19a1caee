package screen

import (
	"context"
	"fmt"
	"sync"
	"time"

	"hornlark/cmd/hornlark/walk"
	"hornlark/drill"
)

// Walk is the screen on which a sitting is gone through again, moment by moment.
type Walk struct {
	Moments []walk.Moment // at least one, by time
	Sound   Relistener
}

// Relistener has what was heard in a sitting heard again. Its methods return at once.
type Relistener interface {
	One(cue int) error     // one cue alone
	On(from time.Duration) // everything from a time of the sitting on
	Quiet()                // nothing more
	Err() error            // what kept the last cue of a playing from being heard
}

// Run shows the walk until the trainee leaves it. Errors are those of (*Screen).Run.
func (w Walk) Run(ctx context.Context, o Options) error {
	page := &walkPage{sitting: newSitting(o), walk: w, title: o.Title}
	st, err := newStage(o, page)
	if err != nil {
		return err
	}
	over := make(chan struct{})
	go st.guarded(func() {
		defer close(over)
		tick := time.NewTicker(100 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case s, ok := <-st.strokes:
				if !ok || page.leaves(s) {
					w.Sound.Quiet()
					st.end(nil)
					return
				}
				page.stroke(s, time.Now())
				st.redraw()
			case now := <-tick.C:
				if page.follow(now) {
					st.redraw()
				}
			}
		}
	})
	err = st.run(ctx)
	select {
	case <-over:
	case <-time.After(patience):
	}
	return err
}

// walkPage draws the walk.
type walkPage struct {
	sitting *sitting // draws what the aircraft showed
	walk    Walk
	title   string

	mu      sync.Mutex
	at      int           // the moment that is looked at
	playing bool          // the sitting goes on by itself
	began   time.Time     // when it began to
	from    time.Duration // and where
	note    string        // about the sound
}

func (p *walkPage) leaves(s Stroke) bool {
	key := typed(s)
	return s.Kind == Interrupt || key == "q" || key == "esc"
}

// stroke does what a key asks for. Any key stops what is playing.
func (p *walkPage) stroke(s Stroke, now time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	was := p.playing
	p.playing, p.note = false, ""
	p.walk.Sound.Quiet()
	switch s.move {
	case moveUp:
		p.at--
	case moveDown:
		p.at++
	case moveLeft:
		p.seek(-1, func(m *walk.Moment) bool { return m.Kind == walk.Asked || m.Kind == walk.Phase })
	case moveRight:
		p.seek(+1, func(m *walk.Moment) bool { return m.Kind == walk.Asked || m.Kind == walk.Phase })
	case movePageUp:
		p.seek(-1, func(m *walk.Moment) bool { return m.Slip || m.Kind == walk.Abnormal })
	case movePageDown:
		p.seek(+1, func(m *walk.Moment) bool { return m.Slip || m.Kind == walk.Abnormal })
	case moveTop:
		p.at = 0
	case moveBottom:
		p.at = len(p.walk.Moments) - 1
	}
	p.at = max(0, min(p.at, len(p.walk.Moments)-1))
	switch key := typed(s); {
	case key == string(drill.Quiet) && !was:
		p.hear()
	case key == string(drill.Yes) && !was:
		p.playing, p.began, p.from = true, now, p.walk.Moments[p.at].At
		p.walk.Sound.On(p.from)
	}
}

// seek goes on in a direction to what is looked for, and stays where it is if there is none.
func (p *walkPage) seek(by int, wanted func(*walk.Moment) bool) {
	for i := p.at + by; i >= 0 && i < len(p.walk.Moments); i += by {
		if wanted(&p.walk.Moments[i]) {
			p.at = i
			return
		}
	}
}

// hear has the cue of this moment heard again.
func (p *walkPage) hear() {
	cue := p.walk.Moments[p.at].Cue
	if cue == 0 {
		p.note = "Nothing began to be heard at this moment."
		return
	}
	if err := p.walk.Sound.One(cue); err != nil {
		p.note = err.Error()
	}
}

// follow goes to where the playing is, and reports whether that is another moment.
func (p *walkPage) follow(now time.Time) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.playing {
		return false
	}
	was := p.at
	for p.at+1 < len(p.walk.Moments) && p.walk.Moments[p.at+1].At <= p.from+now.Sub(p.began) {
		p.at++
	}
	if p.at == len(p.walk.Moments)-1 {
		p.playing = false
	}
	return p.at != was || !p.playing
}

// draw gives the moments what the panel leaves, and six lines at least.
func (p *walkPage) draw(c *canvas) {
	p.mu.Lock()
	defer p.mu.Unlock()
	m := &p.walk.Moments[p.at]
	s := p.sitting
	s.show(&m.View)

	mode := ""
	switch {
	case p.playing:
		mode = " PLAYING "
	case s.silent:
		mode = " SILENT "
	}
	place := fmt.Sprintf("moment %d of %d  %s", p.at+1, len(p.walk.Moments), clock(m.At))
	c.right(0, 0, c.width, place, strong)
	x := 2 + c.text(0, 0, c.width-textWidth(place)-12, p.title, strong)
	c.text(x, 0, c.width-textWidth(place)-x-1, mode, keycap)
	p.drawStrip(c, 1)

	const head, least, foot = 2, 6, 2
	captions := inLines(s.profile.Captions, c.width, c.width)
	lines, form := s.gaugeLines(c.width, digits), digits
	for _, fuller := range []gaugeForm{scaled, paired} {
		n := s.gaugeLines(c.width, fuller)
		if (fuller == scaled || c.width >= pairsWidth) && head+least+captions.lines+n+foot+1 <= c.height {
			lines, form = n, fuller
		}
	}
	lines = max(0, min(lines, c.height-head-least-captions.lines-foot-1))
	captions = captions.within(c.height - head - least - lines - foot - 1)
	cockpit, rows := 0, s.cockpit.all(squeezed)
	if n := s.cockpit.height(c.width, rows); head+2*least+captions.lines+lines+foot+n+1 <= c.height {
		cockpit = n
	}
	list := c.height - head - captions.lines - lines - cockpit - foot - 1
	p.drawMoments(c, head, list)
	y := head + list
	rule(c, y, "the aircraft then")
	c.right(0, y, c.width-2, walkCaution, strong)
	y++
	s.drawCaptions(c, y, captions)
	y += captions.lines
	s.drawGauges(c, y, lines, form)
	y += lines
	if cockpit > 0 {
		s.cockpit.draw(c, y, rows, &s.view)
	}
	note := p.note
	if err := p.walk.Sound.Err(); note == "" && err != nil {
		note = err.Error()
	}
	if note == "" {
		note = stripLegend
	}
	c.text(0, c.height-2, c.width, note, plain)
	drawKeys(c, c.height-1, "Up/Down", "moment", "Lt/Rt", "item", "PgUp/Dn", "mistake", "Space", "hear", "Enter", "play", "q", "leave")
}

// stripLegend explains the characters of the strip.
const stripLegend = "| phase  A abnormal  = until over  x error  ◆ here"

// walkCaution is what a walk says all the time, whatever else it has to say. Every report has the whole caution; here is what fits.
const walkCaution = " Training aid. Not approved for operational use. "

// drawStrip shows where in the sitting the moment is, and where the rest of what counts.
func (p *walkPage) drawStrip(c *canvas, y int) {
	all := p.walk.Moments
	length := max(all[len(all)-1].At, 1)
	column := func(i int) int { return min(int(int64(c.width)*int64(all[i].At)/int64(length)), c.width-1) }
	c.fill(0, y, c.width, '─', plain)
	mark := func(char rune, as look, wanted func(*walk.Moment) bool) {
		for i := range all {
			if wanted(&all[i]) {
				c.fill(column(i), y, 1, char, as)
			}
		}
	}
	mark('|', plain, func(m *walk.Moment) bool { return m.Kind == walk.Phase })
	begun := -1
	for i := range all {
		switch all[i].Kind {
		case walk.Abnormal:
			begun = i
		case walk.Over:
			if begun >= 0 {
				c.fill(column(begun), y, column(i)-column(begun)+1, '=', strong)
			}
			begun = -1
		}
	}
	mark('x', inRed, func(m *walk.Moment) bool { return m.Slip })
	mark('A', warning, func(m *walk.Moment) bool { return m.Kind == walk.Abnormal })
	c.fill(column(p.at), y, 1, '◆', strong)
}

// drawMoments shows the moment with those before and after it.
func (p *walkPage) drawMoments(c *canvas, y, lines int) {
	top := max(0, min(p.at-lines/2, len(p.walk.Moments)-lines))
	for i := top; i < min(top+lines, len(p.walk.Moments)); i++ {
		m := &p.walk.Moments[i]
		as, mark, sound := plain, "  ", "  "
		switch {
		case m.Slip:
			as, mark = inRed, "! "
		case m.Kind == walk.Phase || m.Kind == walk.Abnormal:
			as = strong
		}
		if m.Cue != 0 {
			sound = "~ "
		}
		if i == p.at {
			c.text(0, y, c.width, ">", strong)
			as = keycap
		}
		x := 2 + c.text(2, y, c.width-2, fmt.Sprintf("%s.%02d ", clock(m.At), m.At.Milliseconds()/10%100), plain)
		x += c.text(x, y, 2, sound, plain)
		x += c.text(x, y, 2, mark, inRed)
		c.text(x, y, c.width-x, m.Text, as)
		y++
	}
}
