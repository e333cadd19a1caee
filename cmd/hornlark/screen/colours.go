package screen

import (
	"fmt"

	"github.com/charmbracelet/colorprofile"
)

// palette is how many colours a terminal can show.
type palette uint8

const (
	noColour palette = iota
	of16             // the eight colours of ECMA-48, 8.3.117, and the bright ones that terminals have added
	of256            // the cube and the greys of xterm
	ofAll            // red, green and blue in eight bits each
)

// paletteOf is what a terminal's colour profile comes to.
func paletteOf(p colorprofile.Profile) palette {
	switch p {
	case colorprofile.TrueColor:
		return ofAll
	case colorprofile.ANSI256:
		return of256
	case colorprofile.ANSI:
		return of16
	}
	return noColour
}

// look is how a character is drawn.
type look uint8

const (
	plain     look = iota
	faint          // what is always there and seldom looked at
	strong         // what the eye should find first
	keycap         // a key to press
	unlit          // a caption that is out
	warning        // a lit warning: red
	caution        // a lit caution: amber
	advisory       // a lit advisory: white
	inGreen        // a reading in its green band
	inAmber        // a reading in its amber band, and the part of the scale that it is in
	inRed          // a reading in its red band
	onRed          // the part of the scale that such a reading is in
	bandGreen      // parts of a scale where the reading is not
	bandAmber
	bandRed
	looks // how many there are
)

// ink is one colour in every palette.
type ink struct {
	red, green, blue uint8 // of all colours
	cube             uint8 // of 256, from 16 on: what lies below is another colour on every desk
	basic            uint8 // of 16
}

// The inks. All figures are ours, chosen by contrast and by what somebody without green cones tells apart; a test computes both.
var (
	black     = ink{0, 0, 0, 16, 0}
	glass     = ink{28, 28, 28, 234, 0} // an annunciator's window with no light behind it
	grey      = ink{138, 138, 138, 245, 8}
	silver    = ink{188, 188, 188, 250, 7}
	white     = ink{255, 255, 255, 231, 15}
	pearl     = ink{208, 208, 208, 252, 7}
	red       = ink{215, 0, 0, 160, 1}
	amber     = ink{255, 175, 0, 214, 3}
	green     = ink{95, 180, 135, 72, 2}
	scarlet   = ink{255, 60, 60, 196, 9}
	darkRed   = ink{200, 40, 70, 167, 1}
	darkAmber = ink{150, 110, 0, 94, 3}
	darkGreen = ink{0, 135, 100, 29, 2}
)

// dress is how a look is drawn: in which inks, on which ground, and with which other Select Graphic Rendition parameters; mono
// is all of it where there is no colour.
type dress struct {
	on, by     ink // the ground, and the character
	with, mono string
}

// Everything has a ground of its own, so that it can be read whatever the terminal's is: a cockpit is dark. Where nothing is
// wrong nothing is bright.
var dresses = [looks]dress{
	plain:     {on: black, by: silver},
	faint:     {on: black, by: grey},
	strong:    {on: black, by: white, with: "1", mono: "1"},
	keycap:    {on: silver, by: black, mono: "7"},
	unlit:     {on: glass, by: grey},
	warning:   {on: red, by: white, with: "1", mono: "1;7"},
	caution:   {on: amber, by: black, mono: "7"},
	advisory:  {on: pearl, by: black, mono: "4"},
	inGreen:   {on: black, by: green},
	inAmber:   {on: black, by: amber, with: "1", mono: "1"},
	inRed:     {on: red, by: white, with: "1", mono: "1;7"},
	onRed:     {on: black, by: scarlet, with: "1", mono: "1"},
	bandGreen: {on: black, by: darkGreen},
	bandAmber: {on: black, by: darkAmber},
	bandRed:   {on: black, by: darkRed},
}

// parameters gives the parameters of a colour behind a character, or of the character itself.
func (i ink) parameters(p palette, ground bool) string {
	base := 30
	if ground {
		base = 40
	}
	switch {
	case p == ofAll:
		return fmt.Sprintf("%d;2;%d;%d;%d", base+8, i.red, i.green, i.blue)
	case p == of256:
		return fmt.Sprintf("%d;5;%d", base+8, i.cube)
	case i.basic < 8:
		return fmt.Sprint(base + int(i.basic))
	}
	return fmt.Sprint(base + 60 + int(i.basic) - 8)
}

// renditions are the looks as they are asked for, in every palette.
var renditions = func() (r [ofAll + 1][looks]string) {
	for l, d := range dresses {
		r[noColour][l] = d.mono
		for p := of16; p <= ofAll; p++ {
			r[p][l] = d.by.parameters(p, false) + ";" + d.on.parameters(p, true)
			if d.with != "" {
				r[p][l] = d.with + ";" + r[p][l]
			}
		}
	}
	return r
}()
