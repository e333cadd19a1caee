package web

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"hornlark/cmd/hornlark/screen"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

// builtin are scenarios of the three aircraft that come with the program.
var builtin = []string{"first-start", "hand-start", "piston-start"}

func profileOf(t *testing.T, name string) *aircraft.Profile {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	setup := drilltest.Of(t, lib, name)
	if _, err := drill.Compile(setup.Documents); err != nil {
		t.Fatal(err)
	}
	return setup.Profile
}

// The face tells of the controls what the map of the scenario tells, and no more; every key of the keyboard stands in its zone.
func TestAFaceTellsWhatTheMapTells(t *testing.T) {
	for _, name := range builtin {
		p := profileOf(t, name)
		for _, help := range []scenario.Help{scenario.Names, scenario.Bare, scenario.None} {
			f := NewFace(p, screen.QWERTZ, help)
			text, err := json.Marshal(f)
			if err != nil {
				t.Fatal(err)
			}
			for i := range p.Controls {
				c := &p.Controls[i]
				if told := strings.Contains(string(text), `"name":"`+c.Name+`","short"`); told != (help == scenario.Names) {
					t.Errorf("%s, %s: the name of %s is told: %v", name, help, c.ID, told)
				}
			}
			pressed := 0
			for z, zone := range f.Zones {
				if zone.ID != aircraft.KeyRows()[z].Zone || zone.Title == "" {
					t.Errorf("zone %d is %q, %q", z, zone.ID, zone.Title)
				}
				for _, key := range zone.Keys {
					if (key.Label == "") != (help == scenario.None) {
						t.Errorf("%s, %s: the key %s is labelled %q", name, help, key.Key, key.Label)
					}
					if key.Control >= 0 {
						if control := f.Controls[key.Control]; control.Key != key.Key || control.Zone != zone.ID {
							t.Errorf("%s stands at %s", control.ID, key.Key)
						}
						pressed++
					}
				}
			}
			if want := len(f.Controls); pressed != want || want != 0 && want != len(p.Controls) {
				t.Errorf("%s, %s: %d controls on the keys, %d in the face, %d in the aircraft", name, help, pressed, want, len(p.Controls))
			}
		}
		round := slices.DeleteFunc(NewFace(p, "", "").Gauges, func(g FaceGauge) bool { return !g.Round })
		if len(round) < 4 || len(round) == len(p.Gauges) {
			t.Errorf("%s: %d of %d instruments are round", name, len(round), len(p.Gauges))
		}
	}
}

// A place on the keyboard is the same key in every layout, but for those that a layout has stand in or call stop.
func TestCodesArePlaces(t *testing.T) {
	for _, l := range screen.Layouts() {
		codes := screen.Codes(l)
		for code, want := range map[string]drill.Key{
			"Digit1": "1", "KeyQ": "q", "KeyA": "a", "KeyZ": "z", "KeyM": "m", "Semicolon": ";", "Quote": "'", "Equal": "=", "BracketLeft": "[",
			"Enter": drill.Yes, "Backspace": drill.No, "Space": drill.Quiet, "Tab": drill.SayAgain, "Escape": drill.Hold, "Slash": drill.Hold,
			"IntlBackslash": drill.StopCall, "Backquote": drill.StopCall,
		} {
			if codes[code] != string(want) {
				t.Errorf("%s: %s is %q and not %q", l, code, codes[code], want)
			}
		}
		controls := 0
		for _, row := range aircraft.KeyRows() {
			for _, key := range row.Keys {
				for _, k := range codes {
					if k == key {
						controls++
						break
					}
				}
			}
		}
		if controls != 44 {
			t.Errorf("%s: %d keys of controls can be pressed", l, controls)
		}
	}
	if got := screen.Codes(screen.QWERTZ)["Backslash"]; got != "=" { // where the label of that key says it is
		t.Errorf("the key that stands in for the accent is %q", got)
	}
}

// A scene is what the view has, as the terminal shows it: dead gauges dead, figures not further off than anybody can see.
func TestASceneIsTheView(t *testing.T) {
	p := profileOf(t, "first-start")
	f := NewFace(p, "", "")
	s := NewScene(f)
	v := drill.View{
		Readings: make([]float64, len(p.Gauges)), Bands: make([]aircraft.Colour, len(p.Gauges)), Alive: make([]bool, len(p.Gauges)),
		Lit: make([]bool, len(p.Captions)), Sounding: make([]bool, len(p.Alerts)), Silenced: make([]bool, len(p.Alerts)),
		Positions: make([]int, len(p.Controls)), Locked: make([]bool, len(p.Controls)), Facts: []bool{true, false}, Seen: []bool{false, true},
		Said: []drill.Line{{Who: "crew", Text: "a\x1b[31mb"}},
	}
	v.Alive[0], v.Readings[0], v.Bands[0] = true, 27.123456, aircraft.Green
	v.Alive[1], v.Readings[1], v.Bands[1] = true, math.NaN(), aircraft.Red
	v.Alive[2], v.Readings[2], v.Bands[2] = true, 1e22, aircraft.Amber
	v.Lit[1], v.Sounding[0], v.Silenced[1], v.Locked[2] = true, true, true, true
	s.Fill(&v)
	s.FillSaid(&v, 48)
	var got map[string]any
	if err := json.Unmarshal(s.JSON(), &got); err != nil {
		t.Fatal(err)
	}
	readings := got["readings"].([]any)
	if len(readings) != len(p.Gauges) || readings[0] != 27.123 || readings[1] != 0.0 || readings[2] != 1e22 {
		t.Errorf("it reads %v", readings)
	}
	for field, want := range map[string]string{"bands": "g-a-", "lit": "010", "sounding": "120", "locked": "001", "facts": "-0"} {
		if text := got[field].(string); !strings.HasPrefix(text, want) {
			t.Errorf("%s: %q", field, text)
		}
	}
	if text := got["said"].([]any)[0].(map[string]any)["text"]; text != `a\u001b[31mb` {
		t.Errorf("what acts on a terminal has become %q", text)
	}
	s.Veil()
	if text := string(s.JSON()); strings.Contains(text, "27.1") || s.Lit != "" || len(s.Positions) != 0 {
		t.Errorf("the aircraft is not hidden: %s", text)
	}
}
