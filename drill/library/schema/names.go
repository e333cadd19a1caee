package schema

import (
	"encoding/json"
	"slices"

	"hornlark/drill/aircraft"
	"hornlark/drill/aircraft/glossary"
	"hornlark/drill/library"
	"hornlark/drill/practice"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Names is everything that documents for one aircraft can name.
type Names struct {
	Profile *aircraft.Profile // compiled
	lib     *library.Library
}

// NamesOf gives the names of an aircraft, and of what a library has for it.
func NamesOf(lib *library.Library, p *aircraft.Profile) *Names { return &Names{p, lib} }

// listed is the names of one list of the glossary.
func (n *Names) listed(kind glossary.Kind) []string {
	list := []string{}
	for _, e := range glossary.Of(n.Profile, kind).Entries {
		list = append(list, e.Name)
	}
	return list
}

func (n *Names) gauges() []string    { return n.listed(glossary.Gauges) }
func (n *Names) captions() []string  { return n.listed(glossary.Captions) }
func (n *Names) alerts() []string    { return n.listed(glossary.Alerts) }
func (n *Names) equipment() []string { return n.listed(glossary.Equipment) }
func (n *Names) failures() []string  { return n.listed(glossary.Failures) }
func (n *Names) states() []string    { return n.listed(glossary.States) }
func (n *Names) resets() []string    { return append(n.states(), scenario.Before) }
func (n *Names) itself() []string    { return []string{n.Profile.Name} }

func (n *Names) looked() []string {
	return slices.Concat(n.gauges(), n.captions(), n.listed(glossary.Controls))
}

func (n *Names) cues() []string {
	return slices.Concat(n.alerts(), n.captions(), n.gauges(), n.listed(glossary.Facts), n.listed(glossary.Controls), []string{scenario.Call})
}

func (n *Names) levers() []string {
	list := []string{}
	for i := range n.Profile.Controls {
		if c := &n.Profile.Controls[i]; c.Travel != nil {
			list = append(list, c.ID)
		}
	}
	return list
}

// numbers is the indications that a gauge can show.
func (n *Names) numbers() []string {
	list := []string{}
	for _, in := range n.Profile.Indications() {
		if !in.Switch {
			list = append(list, in.Name)
		}
	}
	return list
}

func (n *Names) buses() []string {
	list := []string{}
	for i := range n.Profile.Systems.Electrical.Buses {
		list = append(list, n.Profile.Systems.Electrical.Buses[i].ID)
	}
	return list
}

// flows is the procedures that are for the aircraft.
func (n *Names) flows() []*procedure.Procedure {
	return slices.DeleteFunc(n.lib.Procedures(), func(p *procedure.Procedure) bool { return p.Profile != n.Profile.Name })
}

func (n *Names) procedures() []string {
	list := []string{}
	for _, p := range n.flows() {
		list = append(list, p.Name)
	}
	return list
}

func (n *Names) parts() []string { return append(n.procedures(), practice.LimitsName) }

// once keeps the first of each name.
func once(names []string) []string {
	list := []string{}
	for _, name := range names {
		if !slices.Contains(list, name) {
			list = append(list, name)
		}
	}
	return list
}

func (n *Names) phases() []string {
	var list []string
	for _, p := range n.flows() {
		list = append(list, p.PhaseIDs()...)
	}
	return once(list)
}

// items is those of the procedures, and the questions about the limits.
func (n *Names) items() []string {
	var list []string
	for _, p := range append(n.flows(), procedure.Limits(n.Profile, 0, 0)) {
		p.Each(func(_ *procedure.Phase, it *procedure.Item) { list = append(list, it.ID) })
	}
	return once(list)
}

func (n *Names) abnormals() []string {
	list := []string{}
	for _, a := range n.lib.Abnormals() {
		if a.Profile == n.Profile.Name {
			list = append(list, a.Name)
		}
	}
	return list
}

// controls is what each control can be set to.
func (n *Names) controls() (list Properties) {
	for i := range n.Profile.Controls {
		c := &n.Profile.Controls[i]
		var positions []string
		for k := range c.Count() {
			positions = append(positions, c.Label(k))
		}
		s := &Schema{Title: c.Name, Enum: asWritten(positions)}
		if c.Travel != nil { // 50.0 is 50, also in quotes
			s = &Schema{Title: c.Name, AnyOf: []*Schema{{Enum: asNumbers(positions)}, {Type: "string", Pattern: figureForm}}}
		}
		list = append(list, Property{c.ID, s})
	}
	return list
}

// figureForm is how a figure is written in quotes.
const figureForm = `^[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?$`

func asNumbers(figures []string) []any {
	list := make([]any, len(figures))
	for i, figure := range figures {
		list[i] = json.Number(figure)
	}
	return list
}
