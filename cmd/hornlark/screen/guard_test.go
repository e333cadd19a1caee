package screen

import (
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

// A control that a guard or a latch holds has a mark beside its key, by a character and not by a colour, in every palette, on the least
// terminal and on a large one, with names and without; when it is free nothing but the mark has gone. 14 CFR 27.777 and 27.1555, from
// memory: a control, and what state it is in, has to be told by whoever sits there.
func TestAGuardIsMarked(t *testing.T) {
	p := guarded(t)
	valve, _ := p.ControlIndex("fuel_valve")
	label := QWERTY.Label(drill.Key(p.Controls[valve].Key))
	for _, help := range []scenario.Help{scenario.Names, scenario.Bare} {
		for _, size := range [][2]int{{80, 24}, {80, 40}, {140, 45}} {
			draw := func(held bool, as palette) string {
				o := options(p)
				o.Help = help
				v := blank(p)
				v.Locked[valve] = held
				c := newCanvas(size[0], size[1])
				showing(t, o, v).draw(c)
				return c.String(as, false)
			}
			for _, as := range []palette{noColour, of16, of256, ofAll} {
				held, free := ansi.Strip(draw(true, as)), ansi.Strip(draw(false, as))
				if !strings.Contains(held, label+guardMark) || strings.Contains(free, label+guardMark) {
					t.Errorf("%s, %v, palette %d: held %v, free %v", help, size, as, strings.Contains(held, label+guardMark), strings.Contains(free, label+guardMark))
				}
				if strings.Replace(held, label+guardMark, label+" ", 1) != free {
					t.Errorf("%s, %v, palette %d: something moves with the guard", help, size, as)
				}
			}
		}
	}
}

// guarded is a built-in single whose fuel valve has a guard.
func guarded(t *testing.T) *aircraft.Profile {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	p, err := lib.Profile("turnstone-st")
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// blank is a view of an aircraft without power.
func blank(p *aircraft.Profile) *drill.View {
	gauges, captions, controls := len(p.Gauges), len(p.Captions), len(p.Controls)
	return &drill.View{
		Readings: make([]float64, gauges), Bands: make([]aircraft.Colour, gauges), Alive: make([]bool, gauges), Lit: make([]bool, captions),
		Sounding: make([]bool, len(p.Alerts)), Silenced: make([]bool, len(p.Alerts)), Positions: make([]int, controls),
		Locked: make([]bool, controls), Facts: make([]bool, len(p.Outside)), Seen: make([]bool, len(p.Outside)),
	}
}
