// Package web is the pages of a sitting: a panel, an instructor's station, a debrief that moves.
//
// A page is told what the aircraft is like once, by a Face, which is made of its profile alone, and then what there is to be seen of it, by
// one Scene after the other, which has nothing that is not in the View of the sitting. An aircraft of anybody's own needs no code here.
package web

import (
	"cmp"
	"slices"
	"strings"
	"unicode"

	"hornlark/cmd/hornlark/screen"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/inert"
	"hornlark/drill/scenario"
)

// Face is what an aircraft is like, for a page that draws it. The slices of a Scene run parallel to it.
type Face struct {
	Name     string            `json:"name"`
	Title    string            `json:"title"`
	Help     scenario.Help     `json:"help"` // how much the map of the controls tells
	Gauges   []FaceGauge       `json:"gauges"`
	Captions []FaceCaption     `json:"captions"`
	Alerts   []FaceAlert       `json:"alerts"`
	Outside  []FaceFact        `json:"outside"`
	Controls []FaceControl     `json:"controls"` // empty where there is no map
	Zones    []FaceZone        `json:"zones"`    // from top to bottom
	Keys     map[string]string `json:"keys"`     // what the keys of a keyboard are, by their places: KeyboardEvent.code (UI Events, 5.4.1) to drill.Key
	Stop     string            `json:"stop"`     // what is printed on the key of the stop call
}

// FaceGauge is one instrument.
type FaceGauge struct {
	ID       string     `json:"id"`
	Name     string     `json:"name"`
	Spoken   string     `json:"spoken"`
	Unit     string     `json:"unit"`
	Min      float64    `json:"min"`
	Max      float64    `json:"max"`
	Decimals int        `json:"decimals"`
	Round    bool       `json:"round"` // a needle on a dial; otherwise a tape
	Bands    []FaceBand `json:"bands"` // in order
}

// FaceBand is a part of a scale.
type FaceBand struct {
	From   float64         `json:"from"`
	To     float64         `json:"to"`
	Colour aircraft.Colour `json:"colour"`
}

// FaceCaption is one light.
type FaceCaption struct {
	ID    string         `json:"id"`
	Text  string         `json:"text"`
	Level aircraft.Level `json:"level"`
}

// FaceAlert is something that sounds.
type FaceAlert struct {
	ID    string         `json:"id"`
	Name  string         `json:"name"`
	Level aircraft.Level `json:"level"`
}

// FaceFact is something outside.
type FaceFact struct {
	ID  string `json:"id"`
	So  string `json:"so"`  // what is seen when it is so
	Not string `json:"not"` // what is seen when it is not
}

// FaceControl is something that a hand moves.
type FaceControl struct {
	ID        string        `json:"id"`
	Name      string        `json:"name"`  // empty where the map does not tell
	Short     string        `json:"short"` // the same where there is little room
	Key       string        `json:"key"`
	Zone      aircraft.Zone `json:"zone"`
	Positions []string      `json:"positions"` // what they are called; of a lever, every notch with its unit
	Guarded   bool          `json:"guarded"`   // a guard or a latch may hold it
}

// FaceZone is a part of the cockpit, and the row of keys that it stands on.
type FaceZone struct {
	ID    aircraft.Zone `json:"id"`
	Title string        `json:"title"`
	Keys  []FaceKey     `json:"keys"` // from left to right
}

// FaceKey is one place of a zone.
type FaceKey struct {
	Key     string `json:"key"`     // a drill.Key
	Label   string `json:"label"`   // what is printed on it; empty where the map does not tell
	Control int    `json:"control"` // of the Face, or -1
}

// zoneTitles are what the zones are called.
var zoneTitles = map[aircraft.Zone]string{
	aircraft.Overhead: "Overhead panel", aircraft.Panel: "Instrument panel", aircraft.Console: "Centre console",
	aircraft.Hands: "Collective, cyclic, pedals, outside",
}

// NewFace makes the face of an aircraft, with its keys labelled as on a keyboard of that layout, and no more of the controls than the help of
// a scenario gives: with scenario.Bare they have no names, and with scenario.None there are places for the hand and nothing else. An empty
// layout is QWERTY, and an empty help is scenario.Names.
func NewFace(p *aircraft.Profile, layout screen.Layout, help scenario.Help) *Face {
	layout, help = cmp.Or(layout, screen.QWERTY), cmp.Or(help, scenario.Names)
	f := &Face{
		Name: inert.Line(p.Name), Title: inert.Line(p.Title), Help: help, Stop: layout.Label(drill.StopCall), Keys: screen.Codes(layout),
		Gauges: []FaceGauge{}, Captions: []FaceCaption{}, Alerts: []FaceAlert{}, Outside: []FaceFact{}, Controls: []FaceControl{},
	}
	for i := range p.Gauges {
		f.Gauges = append(f.Gauges, faceOf(&p.Gauges[i]))
	}
	for i := range p.Captions {
		c := &p.Captions[i]
		f.Captions = append(f.Captions, FaceCaption{inert.Line(c.ID), inert.Line(c.Text), c.Level})
	}
	for i := range p.Alerts {
		a := &p.Alerts[i]
		f.Alerts = append(f.Alerts, FaceAlert{inert.Line(a.ID), inert.Line(a.Name), a.Level})
	}
	for i := range p.Outside {
		o := &p.Outside[i]
		f.Outside = append(f.Outside, FaceFact{inert.Line(o.ID), inert.Line(o.True), inert.Line(o.Not)})
	}
	if help != scenario.None {
		f.controls(p)
	}
	f.zones(layout)
	return f
}

// controls puts the controls into the face, as far as its map tells of them.
func (f *Face) controls(p *aircraft.Profile) {
	for i := range p.Controls {
		c := &p.Controls[i]
		control := FaceControl{ID: inert.Line(c.ID), Name: inert.Line(c.Name), Key: c.Key, Zone: c.Zone(), Guarded: p.HasGuard(i)}
		if f.Help == scenario.Bare {
			control.ID, control.Name = "", ""
		}
		control.Short = screen.ShortWords(control.Name, shortWord)
		for n := range c.Count() {
			text := c.Label(n)
			if c.Travel != nil {
				if text += c.Travel.Unit; strings.IndexFunc(c.Travel.Unit, unicode.IsLetter) == 0 {
					text = c.Label(n) + " " + c.Travel.Unit
				}
			}
			control.Positions = append(control.Positions, inert.Line(text))
		}
		f.Controls = append(f.Controls, control)
	}
}

// shortWord is how long a word of a short name may be: a twelfth of the width of a tablet held upright.
const shortWord = 7

// zones lays out the places of the controls.
func (f *Face) zones(layout screen.Layout) {
	for _, row := range aircraft.KeyRows() {
		zone := FaceZone{ID: row.Zone, Title: zoneTitles[row.Zone]}
		for _, key := range row.Keys {
			place := FaceKey{Key: key, Control: slices.IndexFunc(f.Controls, func(c FaceControl) bool { return c.Key == key })}
			if f.Help != scenario.None {
				place.Label = layout.Label(drill.Key(key))
			}
			zone.Keys = append(zone.Keys, place)
		}
		f.Zones = append(f.Zones, zone)
	}
}

func faceOf(g *aircraft.Gauge) FaceGauge {
	out := FaceGauge{
		ID: inert.Line(g.ID), Name: inert.Line(g.Name), Spoken: inert.Line(g.Spoken), Unit: inert.Line(g.Unit),
		Min: g.Min, Max: g.Max, Decimals: g.Decimals, Round: isRound(cmp.Or(g.Indication, g.ID)), Bands: []FaceBand{},
	}
	for _, b := range g.Bands {
		out.Bands = append(out.Bands, FaceBand{b.From, b.To, b.Colour})
	}
	return out
}

// needles are the indications of the model that are read by where a needle points, rather than by a figure: speeds, torque, temperature of
// the gas, manifold pressure, rate of turn (common practice, no source). What is watched for a level is a tape.
var needles = []string{"n1", "n2", "nr", "tot", "trq", "rpm", "map", "turn"}

func isRound(indication string) bool {
	stem := indication
	if cut := strings.TrimRight(indication, "12"); cut != indication && !slices.Contains(needles, indication) {
		stem = strings.TrimSuffix(cut, "_") // of engine 1, or 2
	}
	return slices.Contains(needles, stem)
}
