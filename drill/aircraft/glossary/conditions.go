package glossary

import (
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
)

// aboutConditions is what is said of how conditions are written.
const aboutConditions = "How a condition is written: of the names in the other lists, each in the unit that its list tells, and of these. There are no functions. " +
	"Where YAML would take a part of it for something of its own, as with [ ] { } , # and a colon, it stands in single quotes."

// conditions is what a condition is made of, with names that the profile has.
func conditions(p *aircraft.Profile) (list []Entry) {
	s, gauge := sample(p)
	for _, f := range condition.Forms(s) {
		list = append(list, Entry{Name: f.Name, About: f.About, Where: "item", Example: "when: " + inYAML(f.Example)})
	}
	for _, of := range []struct{ name, about, example string }{
		{gauge + "_lowest", "In an abnormal: the lowest that a gauge went to since the onset; every gauge has one.", "lost: " + gauge + "_lowest < " + s.Figure},
		{gauge + "_highest", "In an abnormal: the highest that it went to.", "lost: " + gauge + "_highest > " + s.Figure},
		{"since_onset", "In an abnormal: the seconds since its onset.", "lost: since_onset > 30"},
	} {
		list = append(list, Entry{Name: of.name, About: of.about, Where: "abnormal", Example: of.example})
	}
	return list
}

// sample is names of a profile for examples: NR, or its first gauge, and the first controls of each type.
func sample(p *aircraft.Profile) (s condition.Sample, gauge string) {
	for i := range p.Gauges {
		g := &p.Gauges[i]
		if gauge == "" || g.ID == "nr" {
			gauge, s.Number, s.Figure = g.ID, g.ID, number((g.Min+g.Max)/2)
			for _, b := range g.Bands {
				if b.Colour == aircraft.Green {
					s.Figure = number(b.From)
				}
			}
		}
	}
	for i := range p.Controls {
		switch c := &p.Controls[i]; {
		case len(c.Positions) == 2 && s.Switch == "":
			s.Switch = c.ID
		case len(c.Positions) > 2 && s.Selector == "":
			s.Selector, s.Position, s.Other = c.ID, c.Positions[1], c.Positions[2]
		}
	}
	return s, gauge
}

// inYAML writes a condition as a value between braces.
func inYAML(text string) string {
	if strings.ContainsAny(text, `[]{},"'#:`) {
		return "'" + strings.ReplaceAll(text, "'", "''") + "'"
	}
	return text
}
