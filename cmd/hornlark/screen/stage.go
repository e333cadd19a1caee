package screen

import (
	"cmp"
	"context"
	"errors"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	tea "charm.land/bubbletea/v2"
	"github.com/charmbracelet/colorprofile"

	"hornlark/cmd/hornlark/desk"
)

// framesPerSecond bounds how often the screen is drawn, however often it is told something new. Drawing competes with
// the thread that stamps keys; more frames than the eye needs would cost accuracy.
const framesPerSecond = 25

// patience is how long the end waits for a terminal that takes no more output.
const patience = 1500 * time.Millisecond

// page is what a stage shows. It is drawn by one goroutine and changed by others, and sees to that itself.
type page interface{ draw(c *canvas) }

// stage is a terminal taken for one page: keys in, frames out.
type stage struct {
	term    *terminal
	page    page
	layout  Layout
	palette palette // until the terminal has said more
	mono    bool    // no colour, whatever the terminal has
	ascii   bool
	environ []string
	level   func(up bool) // PageUp and PageDown; nil where they are keys like others

	strokes chan Stroke
	inputs  chan<- desk.Input // gets them instead, of a screen that shows a sitting
	dirty   chan struct{}     // something new is to be drawn
	quiet   chan struct{}     // closed when the end begins
	leave   chan error        // why run should end
	leaving sync.Once
	done    chan struct{} // closed once the terminal has been given back
	ran     atomic.Bool
}

func newStage(o Options, p page) (*stage, error) {
	environ := o.Environ
	if environ == nil {
		environ = os.Environ()
	}
	if variable(environ, "TERM") == "dumb" {
		return nil, ErrDumb
	}
	term, err := openTerminal(cmp.Or(o.In, os.Stdin), cmp.Or(o.Out, os.Stdout))
	if err != nil {
		return nil, err
	}
	mono := o.NoColor || variable(environ, "NO_COLOR") != ""
	palette := noColour
	if !mono {
		palette = paletteOf(colorprofile.Env(environ))
	}
	return &stage{
		term: term, page: p, layout: cmp.Or(o.Layout, QWERTY), environ: environ,
		palette: palette,
		mono:    mono,
		ascii:   onlyASCII(environ),
		strokes: make(chan Stroke, 256),
		dirty:   make(chan struct{}, 1),
		quiet:   make(chan struct{}),
		leave:   make(chan error, 1),
		done:    make(chan struct{}),
	}, nil
}

// variable is the last value of an environment variable.
func variable(environ []string, name string) string {
	value := ""
	for _, v := range environ {
		if after, ok := strings.CutPrefix(v, name+"="); ok {
			value = after
		}
	}
	return value
}

// onlyASCII reports whether the locale names a character set other than UTF-8. No locale at all says nothing about the
// terminal, and terminals of today speak UTF-8.
func onlyASCII(environ []string) bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if value := strings.ToLower(variable(environ, name)); value != "" {
			return !strings.Contains(value, "utf-8") && !strings.Contains(value, "utf8")
		}
	}
	return false
}

// run takes the terminal and shows the page until end is called, the context is done, a signal comes or the terminal
// goes away. It can be called once.
func (st *stage) run(ctx context.Context) error {
	if st.ran.Swap(true) {
		return errors.New("a screen can be run once; make a new one")
	}
	defer close(st.done)
	defer st.term.close()
	defer st.guard()
	if err := st.term.take(); err != nil {
		close(st.strokes)
		return err
	}
	defer st.term.giveBack()
	defer onStage(st)()

	program := tea.NewProgram(&drawing{stage: st, canvas: newCanvas(0, 0), palette: st.palette}, st.programOptions()...)
	drawn := make(chan error, 1)
	go st.guarded(st.term.read)
	decoded := make(chan struct{})
	go st.guarded(func() { st.decode(program); close(decoded) })
	go st.guarded(func() { _, err := program.Run(); drawn <- err })
	go st.guarded(func() { st.pump(program) })
	stopSignals := st.watchSignals(program)

	var err error
	select {
	case err = <-drawn:
		drawn <- nil
	case err = <-st.leave:
	case <-ctx.Done():
		err = ctx.Err()
	}
	close(st.quiet)
	go program.Quit()
	select {
	case <-drawn:
	case <-time.After(patience):
	}
	stopSignals()
	st.term.endReading()
	closed := make(chan struct{})
	go func() {
		<-decoded
		close(st.strokes)
		close(closed)
	}()
	select {
	case <-closed:
	case <-time.After(patience): // another program has made the terminal wait for whole lines, and so the reader
	}
	return err
}

func (st *stage) programOptions() []tea.ProgramOption {
	options := []tea.ProgramOption{
		tea.WithInput(nil),
		tea.WithOutput(st.term.out),
		tea.WithEnvironment(st.environ),
		tea.WithFPS(framesPerSecond),
		tea.WithoutSignalHandler(),
		tea.WithoutCatchPanics(),
	}
	if st.mono {
		options = append(options, tea.WithColorProfile(colorprofile.Ascii))
	}
	return options
}

// guard gives the terminal back before a panic goes on. It has to be deferred itself.
func (st *stage) guard() {
	if r := recover(); r != nil {
		st.term.giveBack()
		panic(r)
	}
}

func (st *stage) guarded(f func()) {
	defer st.guard()
	f()
}

// end makes run return with err. Only the first reason counts.
func (st *stage) end(err error) {
	st.leaving.Do(func() { st.leave <- err })
}

// redraw asks for a frame. It never waits.
func (st *stage) redraw() {
	select {
	case st.dirty <- struct{}{}:
	default:
	}
}

// refresh is the message that there is something new to draw.
type refresh struct{}

// pump passes requests for frames on, at most so many a second: what comes in between is drawn together.
func (st *stage) pump(program *tea.Program) {
	tick := time.NewTicker(time.Second / framesPerSecond)
	defer tick.Stop()
	for {
		select {
		case <-st.quiet:
			return
		case <-st.dirty:
			program.Send(refresh{})
		}
		select {
		case <-st.quiet:
			return
		case <-tick.C:
		}
	}
}

// decode turns what the reader brings into strokes until it brings no more.
func (st *stage) decode(program *tea.Program) {
	d := decoder{layout: st.layout}
	emit := func(s Stroke) { st.emit(s, program) }
	timer := time.NewTimer(time.Hour)
	defer timer.Stop()
	for {
		var expired <-chan time.Time
		if wait := d.wait(); wait > 0 {
			timer.Reset(wait)
			expired = timer.C
		}
		select {
		case got, ok := <-st.term.chunks:
			if !ok {
				st.end(ErrHungUp)
				return
			}
			d.feed(got.at, got.data, emit)
		case <-expired:
			d.expire(emit)
		}
	}
}

// emit hands a stroke to whoever drives, except for the keys that are the terminal's own.
func (st *stage) emit(s Stroke, program *tea.Program) {
	switch s.Char {
	case ctrlL:
		go program.Send(tea.ClearScreen())
		return
	case ctrlZ, ctrlBackslash:
		raise(s.Char)
		return
	}
	if st.level != nil && (s.move == movePageUp || s.move == movePageDown) {
		st.level(s.move == movePageUp)
		return
	}
	if st.inputs != nil {
		select {
		case st.inputs <- s.input():
		case <-st.quiet:
		}
		return
	}
	select {
	case st.strokes <- s:
	case <-st.quiet:
	}
}

// drawing is the page as the terminal library wants it.
type drawing struct {
	stage   *stage
	canvas  *canvas
	palette palette
	width   int
	height  int
}

func (d *drawing) Init() tea.Cmd { return nil }

func (d *drawing) Update(m tea.Msg) (tea.Model, tea.Cmd) {
	switch m := m.(type) {
	case tea.WindowSizeMsg:
		d.width, d.height = m.Width, m.Height
	case tea.ColorProfileMsg:
		d.palette = paletteOf(m.Profile)
	}
	return d, nil
}

func (d *drawing) View() tea.View {
	v := tea.NewView(d.frame())
	v.AltScreen = true
	return v
}

func (d *drawing) frame() string {
	d.canvas.resize(d.width, d.height)
	drawOn(d.canvas, d.stage.page)
	return d.canvas.String(d.palette, d.stage.ascii)
}

// drawOn draws a page, or, where the canvas is too small for any, how large a terminal has to be.
func drawOn(c *canvas, p page) {
	if c.width < leastWidth || c.height < leastHeight {
		drawTooSmall(c)
		return
	}
	p.draw(c)
}
