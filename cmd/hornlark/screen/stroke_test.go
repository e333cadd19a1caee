package screen

import (
	"testing"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
)

// A stroke is handed on as what it is, and as what it is while a reading is typed; its stamp is that of the read.
func TestStrokesAsInputs(t *testing.T) {
	at := time.Now()
	press := func(key drill.Key, shift bool) drill.Press { return drill.Press{Key: key, Shift: shift} }
	hold := press(drill.Hold, false)
	for _, test := range []struct {
		name   string
		stroke Stroke
		want   desk.Input
	}{
		{"a control", Stroke{Press: press("q", true), Char: 'Q'}, desk.Input{Event: press("q", true), Reading: press("q", true)}},
		{"a digit that needs shift", Stroke{Press: press("1", true), Char: '1'}, desk.Input{Event: press("1", true), Reading: press("1", false)}},
		{"a comma", Stroke{Press: press(",", false), Char: ','}, desk.Input{Event: press(",", false), Reading: press(".", false)}},
		{"the keys are asked for", Stroke{Press: press("/", true), Char: '?'}, desk.Input{Event: hold, Reading: hold}},
		{"a minus in the place of that key", Stroke{Press: press("/", false), Char: '-'}, desk.Input{Event: hold, Reading: press("-", false)}},
		{"a point that has no place", Stroke{Kind: Other, Char: '.'}, desk.Input{Event: drill.Press{}, Reading: press(".", false)}},
		{"Ctrl-C", Stroke{Kind: Interrupt}, desk.Input{Deed: desk.Leaves}},
		{"about to be stopped", Stroke{Kind: Suspended}, desk.Input{Deed: desk.Suspends}},
		{"going on", Stroke{Kind: Continued}, desk.Input{}},
	} {
		test.stroke.At, test.want.At = at, at
		if got := test.stroke.input(); got != test.want {
			t.Errorf("%s: %+v, want %+v", test.name, got, test.want)
		}
	}
}
