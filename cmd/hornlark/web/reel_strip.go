package web

import (
	"encoding/json"
	"math"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/inert"
	"hornlark/drill/logbook"
)

// Strip is what a panel showed over the running time of a sitting: the scenes of all its moments, as what changes from one to the next. A
// moment is a step of the aircraft, or an input; between two of them nothing changes but the time. Needles go straight from one of their
// points to the next and are nowhere off by more than a third of the last figure that is shown; all else is exact.
type Strip struct {
	Grid      [][2]int64 `json:"grid"`      // rows of moments a step apart: ms since the row before began, and how many
	Readings  []Needle   `json:"readings"`  // of the gauges
	Bands     []Steps    `json:"bands"`     // the characters of a Scene, each by its number in Unicode
	Lit       []Steps    `json:"lit"`       // the same
	Sounding  []Steps    `json:"sounding"`  // the same
	Locked    []Steps    `json:"locked"`    // the same
	Facts     []Steps    `json:"facts"`     // the same
	Positions []Steps    `json:"positions"` // of the controls
	Words     []Words    `json:"words"`     // all else of a Scene, each time that something of it changed
	Said      []Uttered  `json:"said"`      // what was said and pressed, in order
}

// Steps is something that stays as it is until it changes: moments since the last change, and what it is from then on, in turn.
type Steps []int64

// Needle is where a needle was: Points has moments since the last point, and by how many Grains the reading was higher there, in turn.
type Needle struct {
	Grain  float64 `json:"grain"`
	Points []int64 `json:"points"`
}

// Words is a Scene without what a Strip has elsewhere. At is left out (0) where it is that of the moment.
type Words struct {
	Since int             `json:"since"` // moments since the last ones
	Scene json.RawMessage `json:"scene"`
}

// Uttered is a line of what was said and pressed.
type Uttered struct {
	Moment int `json:"moment"` // as of which it is there
	Said
}

// Tape is a kept sitting that was gone through again.
type Tape struct {
	Strip  *Strip
	Log    []logbook.Entry
	Heard  []drill.Output // what was asked to be heard, and to be quiet
	Length time.Duration  // running time

	clock logbook.Clock
}

// Running is the running time at a time of the callers, as far as the tape goes: pauses are left out.
func (t *Tape) Running(at time.Duration) time.Duration { return min(t.clock.Running(at), t.Length) }

// Record goes through a new sitting from its inputs to until, which is callers' time, and takes down what a panel with that face shows at
// each moment. each is called every now and then with how far it is; its error ends the recording. Other errors are those of inputs that
// the sitting does not take.
func Record(s *drill.Sitting, face *Face, inputs []drill.Stored, until time.Duration, each func(at time.Duration) error) (*Tape, error) {
	r := recorder{sitting: s, strip: newStripper(face), each: each}
	r.look(0)
	for _, in := range inputs {
		if err := r.advance(in.At); err != nil {
			return nil, err
		}
		if err := s.Input(in.At, in.Event); err != nil {
			return nil, err
		}
		r.look(in.At)
	}
	if err := r.advance(until); err != nil {
		return nil, err
	}
	if !r.view.Paused && !r.view.Ended {
		r.running = max(r.running, r.tape.clock.Running(until))
	}
	r.tape.Strip, r.tape.Length = r.strip.end(), r.running
	return &r.tape, nil
}

// recorder drives a sitting step by step and looks at it after each.
type recorder struct {
	sitting *drill.Sitting
	strip   *stripper
	each    func(time.Duration) error
	tape    Tape
	view    drill.View
	running time.Duration
	steps   int
}

// told is how many steps there are between two reports of how far it is: a tenth of a second of work at most.
const told = 500

func (r *recorder) advance(to time.Duration) error {
	for {
		next, ok := r.sitting.NextDeadline()
		if !ok || next > to {
			return nil
		}
		if err := r.sitting.Advance(next); err != nil {
			return err
		}
		r.look(next)
		if r.steps++; r.steps%told == 0 && r.each != nil {
			if err := r.each(next); err != nil {
				return err
			}
		}
	}
}

// look takes down what there is at a callers' time.
func (r *recorder) look(at time.Duration) {
	for _, o := range r.sitting.Outputs() {
		switch o := o.(type) {
		case drill.Log:
			r.tape.Log = append(r.tape.Log, o.Entry)
			r.tape.clock.Follow(&o.Entry)
		case drill.Ended:
		default:
			r.tape.Heard = append(r.tape.Heard, o)
		}
	}
	stood := r.view.Ended || r.view.Paused
	r.sitting.View(&r.view)
	if !stood || !r.view.Ended && !r.view.Paused {
		r.running = r.tape.clock.Running(at)
	}
	r.strip.look(wholeMS(r.running), r.tape.inRunningTime(&r.view, r.running), &r.tape.clock)
}

// inRunningTime is a view with its times in running time, as those of the log and of every report are.
func (t *Tape) inRunningTime(v *drill.View, running time.Duration) *drill.View {
	out := *v
	out.At = running
	if v.Asked != nil && v.Asked.Spoken > 0 {
		asked := *v.Asked
		asked.Spoken -= t.clock.Callers(0) // it is given with all pauses up to now
		out.Asked = &asked
	}
	if v.Last.At > 0 {
		out.Last.At = t.clock.Running(v.Last.At)
	}
	return &out
}

// wholeMS is the first whole millisecond that is not before a time: a change is there as of then.
func wholeMS(at time.Duration) int64 {
	return int64((at + time.Millisecond - 1) / time.Millisecond)
}

// stepMS is the time between two moments of a row.
const stepMS = int64(aircraft.StepLength / time.Millisecond)

// stripper makes a Strip of views.
type stripper struct {
	strip   *Strip
	scene   *Scene
	at      int64 // of what is in the scene, which a later look at the same millisecond replaces
	any     bool
	moments int   // that are in the strip
	row     int64 // where the last row began
	needles []*needle
	steps   []*steps
	words   Scene // the last ones
	worded  int   // as of which moment
	said    []drill.Line
}

func newStripper(face *Face) *stripper {
	b := &stripper{strip: &Strip{Grid: [][2]int64{}, Words: []Words{}, Said: []Uttered{}}, scene: NewScene(face)}
	for i := range face.Gauges {
		b.needles = append(b.needles, newNeedle(face.Gauges[i].Decimals))
	}
	return b
}

// look takes down a view at a time; the clock is for what was said.
func (b *stripper) look(ms int64, v *drill.View, clock *logbook.Clock) {
	if b.any && ms > b.at {
		b.push()
	}
	b.scene.Fill(v)
	b.hear(v.Said, clock)
	b.at, b.any = ms, true
}

// hear takes down the lines that were not there at the last look.
func (b *stripper) hear(now []drill.Line, clock *logbook.Clock) {
	fresh := len(now)
	for n := range now {
		if ends(b.said, now[:len(now)-n]) {
			fresh = n
			break
		}
	}
	if fresh == 0 {
		return
	}
	for _, line := range now[len(now)-fresh:] {
		b.strip.Said = append(b.strip.Said, Uttered{b.moments, Said{clock.Running(line.At).Milliseconds(), line.Who, inert.Line(line.Text)}})
	}
	b.said = append(b.said[:0], now...)
}

// ends reports whether lines end with others.
func ends(all, last []drill.Line) bool {
	if len(last) > len(all) {
		return false
	}
	rest := all[len(all)-len(last):]
	for i := len(last) - 1; i >= 0; i-- {
		if last[i] != rest[i] {
			return false
		}
	}
	return true
}

// push puts the scene into the strip as the next moment.
func (b *stripper) push() {
	s, st := b.scene, b.strip
	b.grid()
	for i, n := range s.Readings {
		b.needles[i].add(b.moments, n.value)
	}
	b.changes(&st.Bands, s.Bands, 0)
	at := len(s.Bands)
	for _, of := range []struct {
		to   *[]Steps
		text string
	}{{&st.Lit, s.Lit}, {&st.Sounding, s.Sounding}, {&st.Locked, s.Locked}, {&st.Facts, s.Facts}} {
		b.changes(of.to, of.text, at)
		at += len(of.text)
	}
	for i, p := range s.Positions {
		b.change(&st.Positions, i, at+i, int64(p))
	}
	b.word()
	b.moments++
}

// grid adds a moment to the last row, or begins another.
func (b *stripper) grid() {
	g := b.strip.Grid
	if n := len(g); n > 0 && b.at == b.row+g[n-1][1]*stepMS {
		g[n-1][1]++
		return
	}
	b.strip.Grid = append(g, [2]int64{b.at - b.row, 1})
	b.row = b.at
}

// changes takes down the characters of a text that have changed. first is the number of the first among all that a stripper follows.
func (b *stripper) changes(to *[]Steps, text string, first int) {
	for i := range len(text) {
		b.change(to, i, first+i, int64(text[i]))
	}
}

func (b *stripper) change(to *[]Steps, i, number int, value int64) {
	for len(*to) <= i {
		*to = append(*to, nil)
	}
	for len(b.steps) <= number {
		b.steps = append(b.steps, &steps{value: -1})
	}
	if s := b.steps[number]; s.value != value {
		(*to)[i] = append((*to)[i], int64(b.moments-s.at), value)
		s.at, s.value = b.moments, value
	}
}

// steps is what was last taken down of something.
type steps struct {
	at    int
	value int64
}

// word takes down all else, if something of it has changed.
func (b *stripper) word() {
	w := *b.scene
	w.Readings, w.Positions, w.Bands, w.Lit, w.Sounding, w.Locked, w.Facts, w.Said, w.face, w.text = nil, nil, "", "", "", "", "", nil, nil, nil
	if !w.Paused && !w.Ended {
		w.At = 0
	}
	if b.moments > 0 && sameWords(&w, &b.words) {
		return
	}
	b.strip.Words = append(b.strip.Words, Words{b.moments - b.worded, w.JSON()})
	b.words, b.worded = w, b.moments
}

// sameWords reports whether two scenes without an aircraft say the same.
func sameWords(a, b *Scene) bool {
	return a.At == b.At && a.Phase == b.Phase && a.PhaseNo == b.PhaseNo && a.Phases == b.Phases && a.ItemNo == b.ItemNo && a.Items == b.Items &&
		a.Typed == b.Typed && a.Typing == b.Typing && a.Stopped == b.Stopped && a.Paused == b.Paused && a.Ended == b.Ended &&
		equal(a.Asked, b.Asked) && equal(a.Last, b.Last)
}

// equal reports whether two things are the same, or neither is there.
func equal[T comparable](a, b *T) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}

// end completes the strip.
func (b *stripper) end() *Strip {
	if b.any {
		b.push()
	}
	for _, n := range b.needles {
		n.end()
		b.strip.Readings = append(b.strip.Readings, Needle{n.grain, n.points})
	}
	return b.strip
}

// needle draws straight lines through readings, as long as they go: each ends in a reading, and leaves none of those that it passes further
// away than near. (E. H. Bristol, Swinging door trending, ISA National Conference 1990, from memory.)
type needle struct {
	grain, near float64
	points      []int64
	first       int // moment of the last point
	from        int64
	last        int // moment of the latest reading
	to          float64
	low, high   float64 // slopes between which the line has to lie
	any         bool
}

// newNeedle draws a gauge that shows so many decimals: points are a tenth of the last figure apart.
func newNeedle(decimals int) *needle {
	shown := math.Pow10(-decimals)
	return &needle{grain: math.Pow10(-decimals - 1), near: shown / 4}
}

func (n *needle) add(moment int, value float64) {
	if !n.any {
		n.any = true
		n.point(moment, value)
		n.last, n.to = moment, value
		return
	}
	from, over := n.start(), float64(moment-n.first)
	if slope := (value - from) / over; slope < n.low || slope > n.high {
		n.point(n.last, n.to)
		from, over = n.start(), float64(moment-n.first)
	}
	n.low, n.high = max(n.low, (value-n.near-from)/over), min(n.high, (value+n.near-from)/over)
	n.last, n.to = moment, value
}

// start is the reading that the line goes from, rounded before anything is taken from it.
func (n *needle) start() float64 { return float64(float64(n.from) * n.grain) }

// point puts a point at a reading, from which the next line goes.
func (n *needle) point(moment int, value float64) {
	grains := int64(math.RoundToEven(value / n.grain))
	n.points = append(n.points, int64(moment-n.first), grains-n.from)
	n.first, n.from = moment, grains
	n.low, n.high = math.Inf(-1), math.Inf(1)
}

func (n *needle) end() {
	if n.any && n.last != n.first {
		n.point(n.last, n.to)
	}
}
