package screen

import (
	"strings"

	"hornlark/drill"
)

// Frames draws the page of a sitting where there is no terminal: what a trainee would see, as text with its looks. The same
// views give the same frames.
type Frames struct {
	page   *sitting
	canvas *canvas
}

// NewFrames makes ready to draw. Of the options, those about the terminal do not count.
func NewFrames(o Options) *Frames { return &Frames{newSitting(o), newCanvas(0, 0)} }

// Update takes a view over.
func (f *Frames) Update(v *drill.View) { f.page.show(v) }

// Frame draws the last view on a screen of so many columns and lines.
func (f *Frames) Frame(width, height int) string {
	f.canvas.resize(width, height)
	drawOn(f.canvas, f.page)
	return f.canvas.String(of256, false)
}

// Parts are the parts of a frame, each with its rule, its text and its looks.
type Parts struct {
	Title     string // scenario, place in the flow, time
	Challenge string
	Last      string // what the last answer amounted to, as far as the sound beside it never covers it
	Sound     string
	Captions  string
	Outside   string
	Gauges    string
	Cockpit   string // the controls; empty where there is no map
	Said      string // what was said and pressed; empty where there is no room for it
	Foot      string // the keys that are the same on every profile, or a notice
}

// Parts gives the frame in its parts. A terminal that is too small for a frame has none.
func (f *Frames) Parts(width, height int) Parts {
	if width < leastWidth || height < leastHeight {
		return Parts{}
	}
	f.canvas.resize(width, height)
	a := f.page.lay(f.canvas)
	a.last.width = leastSound(width) - 3 // the last of its columns can hold the mark of a cut
	cut := f.canvas.cutOut
	return Parts{
		Title: cut(a.title), Challenge: cut(a.challenge), Last: cut(a.last), Sound: cut(a.sound), Captions: cut(a.captions),
		Outside: cut(a.outside), Gauges: cut(a.gauges), Cockpit: cut(a.cockpit), Said: cut(a.said), Foot: cut(a.foot),
	}
}

// Frame draws one view on a screen of so many columns and lines.
func Frame(o Options, v *drill.View, width, height int) string {
	f := NewFrames(o)
	f.Update(v)
	return f.Frame(width, height)
}

// cutOut gives a part of the frame with its looks.
func (c *canvas) cutOut(a area) string {
	var b strings.Builder
	for y := a.y; y < min(a.y+a.height, c.height); y++ {
		from := y*c.width + a.x
		c.writeLine(&b, c.cells[from:from+min(a.width, c.width-a.x)], of256, false)
		b.WriteByte('\n')
	}
	return b.String()
}
