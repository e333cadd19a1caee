// Package screen is the terminal: it shows a sitting, and hands its keys, stamped as they are read, to whoever drives it.
//
// Keys go to the driver and nowhere else; the screen shows only what the sitting says. A terminal that was taken is
// given back as it was found: at the end, after a signal, around a suspension and before a panic goes on.
package screen

import (
	"context"
	"errors"
	"fmt"
	"os"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/scenario"
)

// Caution is what every first screen and every report says.
const Caution = `This is a training aid for use at a desk. It is not approved for operational use. The approved flight manual, the operator's procedures and a qualified instructor come first. Sound starts at a safe level: set it with the headphones off. Every aircraft that comes with it is fictional.`

// Errors that mean there is no terminal to draw on.
var (
	ErrNoTerminal = errors.New("no terminal: a screen needs one for its output and one for its keys; run it in a terminal, or virtually")
	ErrDumb       = errors.New("this terminal cannot move its cursor (TERM=dumb): run it in another one, or virtually")
	ErrHungUp     = errors.New("the terminal has gone away")
)

// Signalled is the end of a screen by a signal.
type Signalled struct{ Signal os.Signal }

func (e *Signalled) Error() string { return fmt.Sprintf("stopped by signal: %v", e.Signal) }

// Options say what a screen shows and where.
type Options struct {
	Profile *aircraft.Profile // whose cockpit it is; must not change while the screen runs
	Title   string            // of the scenario
	Policy  scenario.Policy   // says what there is to do when nothing is being asked
	Help    scenario.Help     // how much the keyboard map tells; empty is names
	Layout  Layout            // of the keyboard; empty is QWERTY
	NoColor bool              // as NO_COLOR in the environment does
	Silent  bool              // there is no sound, and the screen says so

	// Level makes the sound louder or softer by a step, and says what it is now, in a few words. It is called for PageUp and
	// PageDown, from a goroutine of the screen's, and must not wait. These keys go no further: they are no presses. Nil is none.
	Level func(up bool) string

	// Inputs gets the keys of a Screen, in order, as they are read; it is never closed. Whoever takes from it has to keep doing so until Run
	// has returned: once it is full, reading the terminal waits too.
	Inputs chan<- desk.Input

	In, Out *os.File // the terminal; nil is standard input, or /dev/tty if that is no terminal, and standard output
	Environ []string // nil is the environment of the process
}

// Screen shows one sitting.
type Screen struct {
	stage   *stage
	sitting *sitting
}

// New makes a screen for a sitting. It fails with ErrNoTerminal or ErrDumb where none can be shown, and changes nothing
// until Run.
func New(o Options) (*Screen, error) {
	if o.Profile == nil {
		return nil, errors.New("a screen needs the profile whose cockpit it is to show")
	}
	page := newSitting(o)
	st, err := newStage(o, page)
	if err != nil {
		return nil, err
	}
	st.inputs = o.Inputs
	if o.Level != nil {
		st.level = func(up bool) { page.showLevel(o.Level(up), st.redraw) }
	}
	return &Screen{st, page}, nil
}

// Run takes the terminal and shows the sitting until Stop is called (nil), the context is done (its error), a signal
// asks the process to end (*Signalled) or the terminal goes away (ErrHungUp). The terminal has been given back when it
// returns. A screen can be run once.
func (s *Screen) Run(ctx context.Context) error { return s.stage.run(ctx) }

// Done is closed when Run has given the terminal back.
func (s *Screen) Done() <-chan struct{} { return s.stage.done }

// Stop makes Run return nil. It does not wait for that; Done does.
func (s *Screen) Stop() { s.stage.end(nil) }

// Update shows a new view. The view is copied, and may be filled again as soon as Update returns. It never waits for
// the terminal: views that come faster than the screen is drawn replace each other.
func (s *Screen) Update(view *drill.View) {
	s.sitting.mu.Lock()
	s.sitting.show(view)
	s.sitting.mu.Unlock()
	s.stage.redraw()
}

// Notice shows one line that is not of the sitting, such as that there is no sound device. Empty takes it away.
func (s *Screen) Notice(text string) {
	s.sitting.mu.Lock()
	s.sitting.notice = text
	s.sitting.mu.Unlock()
	s.stage.redraw()
}

// Silent says whether the sitting runs without sound.
func (s *Screen) Silent(silent bool) {
	s.sitting.mu.Lock()
	s.sitting.silent = silent
	s.sitting.mu.Unlock()
	s.stage.redraw()
}

// Guard gives the terminal back before a panic goes on. Every goroutine that runs beside the screen should defer it,
// directly, as its first act: a panic in any goroutine ends the process at once.
//
//	go func() {
//		defer screen.Guard()
//		...
//	}()
func (s *Screen) Guard() {
	if r := recover(); r != nil {
		s.stage.term.giveBack()
		panic(r)
	}
}

// copyView makes to a copy of from that shares nothing with it.
func copyView(to, from *drill.View) {
	old := *to
	*to = *from
	if from.Asked != nil {
		asked := *from.Asked
		to.Asked = &asked
	}
	to.Readings = append(old.Readings[:0], from.Readings...)
	to.Bands = append(old.Bands[:0], from.Bands...)
	to.Alive = append(old.Alive[:0], from.Alive...)
	to.Lit = append(old.Lit[:0], from.Lit...)
	to.Sounding = append(old.Sounding[:0], from.Sounding...)
	to.Silenced = append(old.Silenced[:0], from.Silenced...)
	to.Positions = append(old.Positions[:0], from.Positions...)
	to.Signs = append(old.Signs[:0], from.Signs...)
	to.Locked = append(old.Locked[:0], from.Locked...)
	to.Facts = append(old.Facts[:0], from.Facts...)
	to.Seen = append(old.Seen[:0], from.Seen...)
	to.Said = append(old.Said[:0], from.Said...)
}
