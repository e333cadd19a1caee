// Package glossary lists what can be written in documents about an aircraft: what can fail, what is shown, lit, sounded and moved,
// each with a sentence and an example. All of it is taken from the compiled profile.
package glossary

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"hornlark/drill/aircraft"
)

// Kind is a kind of word.
type Kind string

// The kinds.
const (
	Failures    Kind = "failures"
	Indications Kind = "indications"
	Gauges      Kind = "gauges"
	Captions    Kind = "captions"
	Alerts      Kind = "alerts"
	Controls    Kind = "controls"
	Facts       Kind = "facts"
	Equipment   Kind = "equipment"
	States      Kind = "states"
	Tones       Kind = "tones"
	Conditions  Kind = "conditions"
)

// List is all the words of one kind that a profile has.
type List struct {
	Kind    Kind
	About   string // what is done with them, in a sentence
	Entries []Entry
}

// Entry is one word.
type Entry struct {
	Name      string   `json:"name"`
	About     string   `json:"about"`               // in sentences
	Unit      string   `json:"unit,omitempty"`      // of a number
	Low       *float64 `json:"low,omitempty"`       // least that it can be; nil: nothing bounds it
	High      *float64 `json:"high,omitempty"`      // the most
	Gauge     string   `json:"gauge,omitempty"`     // that shows an indication
	Key       string   `json:"key,omitempty"`       // of a control, by its label on a US QWERTY keyboard
	Positions []string `json:"positions,omitempty"` // of a control, in order
	Where     string   `json:"where"`               // what the example is a line of
	Example   string   `json:"example"`             // a line of YAML
}

// kinds are all lists, in the order in which they are told of.
var kinds = []struct {
	kind  Kind
	about string
	of    func(p *aircraft.Profile) []Entry
}{
	{Failures, "What can fail: the causes of an abnormal. How badly is told by a figure, from 0, healthy, to 1, the worst.", failures},
	{Indications, "What the model shows, for conditions. In an abnormal since_onset is one too: the seconds since its onset.", indications},
	{Gauges, "What is read. They are cues, stand in conditions, and in an abnormal as NAME_highest and NAME_lowest since the onset.", gauges},
	{Captions, "What is lit. They are cues, and in conditions true while they are lit.", captions},
	{Alerts, "What sounds. They are cues, and in conditions true while they sound; NAME_ago is how many seconds ago they began. In their own conditions new_warning and new_caution hold as such a caption is lit.", alerts},
	{Controls, "What a hand moves. In conditions a lever is a number, one with two positions is true off the first, and another is compared.", controls},
	{Facts, "What is to be seen outside, each either so or not: a confirm asks for it, and nothing in the cockpit shows it. They are cues, and in conditions true or false.", facts},
	{Equipment, "What wants current: NAME_live in conditions is whether it works. It can fail, and so can its circuit breaker if it has one.", equipment},
	{States, "How a scenario can begin, and what an abnormal can be reset to.", states},
	{Tones, "The sounds that an alert of a profile can have.", tones},
	{Conditions, aboutConditions, conditions},
}

// Kinds lists the kinds of words, in the order in which they are told of.
func Kinds() []Kind {
	var list []Kind
	for _, k := range kinds {
		list = append(list, k.kind)
	}
	return list
}

// Of gives the words of one kind of a profile, which has been compiled. The tones are the same for every profile, and for none.
func Of(p *aircraft.Profile, kind Kind) List {
	for _, k := range kinds {
		if k.kind == kind {
			return List{kind, k.about, k.of(p)}
		}
	}
	return List{Kind: kind}
}

// With keeps the entries in which all of some words stand, in their name or their sentence, in capitals or not.
func (l List) With(words []string) List {
	l.Entries = slices.DeleteFunc(slices.Clone(l.Entries), func(e Entry) bool {
		text := strings.ToLower(e.Name + " " + e.About)
		return slices.ContainsFunc(words, func(word string) bool { return !strings.Contains(text, strings.ToLower(word)) })
	})
	return l
}

func failures(p *aircraft.Profile) (list []Entry) {
	for _, point := range p.FailurePoints() {
		about := point.About
		system, _, _ := strings.Cut(point.Name, ".")
		for i := range p.Systems.Electrical.Equipment { // so that whoever looks for a bus finds what hangs on it
			if q := &p.Systems.Electrical.Equipment[i]; q.ID == system {
				about += fmt.Sprintf(" It hangs on the %s bus.", q.Bus)
			}
		}
		list = append(list, Entry{Name: point.Name, About: about, Where: "abnormal", Example: "cause: [{failure: " + point.Name + ", to: 1}]"})
	}
	return list
}

func indications(p *aircraft.Profile) (list []Entry) {
	for _, in := range p.Indications() {
		e := Entry{Name: in.Name, About: in.About, Where: "item", Example: "when: " + in.Name}
		if !in.Switch {
			e.Unit, e.Low, e.High = in.Unit, bound(in.Low), bound(in.High)
			e.Example = "when: " + in.Name + " > " + number(within(p, in))
			if g := shownBy(p, in.Name); g != nil {
				e.Gauge = g.ID
			}
		}
		list = append(list, e)
	}
	return list
}

// bound is one that there is.
func bound(x float64) *float64 {
	if math.IsInf(x, 0) {
		return nil
	}
	return &x
}

// shownBy is the first gauge that shows an indication; nil if none does.
func shownBy(p *aircraft.Profile, indication string) *aircraft.Gauge {
	slot := p.Scope()[indication].Slot
	for i := range p.Gauges {
		if p.GaugeSlot(i) == slot {
			return &p.Gauges[i]
		}
	}
	return nil
}

// within is a figure that an indication can have: where the green band of its gauge begins, or else the middle of what there is.
func within(p *aircraft.Profile, in aircraft.Indication) float64 {
	if g := shownBy(p, in.Name); g != nil {
		for _, b := range g.Bands {
			if b.Colour == aircraft.Green {
				return b.From
			}
		}
		return (g.Min + g.Max) / 2
	}
	switch {
	case !math.IsInf(in.Low, 0) && !math.IsInf(in.High, 0):
		return (in.Low + in.High) / 2
	case !math.IsInf(in.Low, 0):
		return in.Low
	case !math.IsInf(in.High, 0):
		return in.High
	}
	return 0
}

func gauges(p *aircraft.Profile) (list []Entry) {
	for i := range p.Gauges {
		g := &p.Gauges[i]
		var about strings.Builder
		fmt.Fprintf(&about, "%s, %s.", g.Name, g.Spoken)
		for j, b := range g.Bands {
			fmt.Fprintf(&about, "%s %s %s to %s", [...]string{" Bands:", ","}[min(j, 1)], b.Colour, number(b.From), number(b.To))
		}
		if len(g.Bands) > 0 {
			about.WriteString(".")
		}
		about.WriteString(unlessEmpty(" Alive while ", g.Shown) + unlessEmpty(" A cue while ", g.Armed) + unlessEmpty(" Bands mean something while ", g.BandsWhile))
		list = append(list, Entry{Name: g.ID, About: about.String(), Unit: g.Unit, Low: &g.Min, High: &g.Max, Where: "item", Example: "read: " + g.ID})
	}
	return list
}

func captions(p *aircraft.Profile) (list []Entry) {
	for i := range p.Captions {
		c := &p.Captions[i]
		about := fmt.Sprintf("%s, a %s, lit while %s", c.Text, c.Level, c.When)
		if c.After > 0 {
			about += fmt.Sprintf(" for %v", c.After)
		}
		about += "."
		if c.Latch {
			about += " Once lit it stays so."
		}
		list = append(list, Entry{Name: c.ID, About: about, Where: "abnormal", Example: "cues: [" + c.ID + "]"})
	}
	return list
}

func alerts(p *aircraft.Profile) (list []Entry) {
	for i := range p.Alerts {
		a := &p.Alerts[i]
		how := "sounds while"
		if a.Once {
			how = "sounds once each time that"
		}
		about := fmt.Sprintf("%s, a %s with the tone %s; %s %s.", a.Name, a.Level, a.Tone, how, a.When)
		switch {
		case a.Mute != "":
			about += " It is silenced by the key, and as " + a.Mute + " comes true."
		case a.Silenced:
			about += " It can be silenced."
		}
		about += unlessEmpty(" No surprise while ", a.Expected)
		list = append(list, Entry{Name: a.ID, About: about, Where: "abnormal", Example: "cues: [" + a.ID + "]"})
	}
	return list
}

func controls(p *aircraft.Profile) (list []Entry) {
	for i := range p.Controls {
		c := &p.Controls[i]
		e := Entry{Name: c.ID, Key: c.Key, Where: "item"}
		about := fmt.Sprintf("%s, key %s, %s.", c.Name, c.Key, c.Zone())
		if t := c.Travel; t != nil {
			e.Unit, e.Low, e.High = t.Unit, &t.From, &t.To
			about += fmt.Sprintf(" A lever with steps of %s.", number(t.Step))
		} else {
			e.Positions = c.Positions
			about += " Positions: " + strings.Join(c.Positions, ", ") + "."
		}
		if c.Springs > 0 {
			about += fmt.Sprintf(" It springs back after %v.", c.Springs)
		}
		e.About = about + unlessEmpty(" Locked while ", c.Locked)
		e.Example = fmt.Sprintf("set: {%s: %s}", c.ID, Scalar(c.Label(1)))
		list = append(list, e)
	}
	return list
}

func facts(p *aircraft.Profile) (list []Entry) {
	for i := range p.Outside {
		f := &p.Outside[i]
		begins := "false"
		if f.So {
			begins = "true"
		}
		about := fmt.Sprintf("True: %s. False: %s. It begins as %s, and the failure outside.%s turns it.", f.True, f.Not, begins, f.ID)
		list = append(list, Entry{Name: f.ID, About: about + unlessEmpty(" In sight while ", f.Seen), Where: "item", Example: "confirm: " + f.ID})
	}
	return list
}

func equipment(p *aircraft.Profile) (list []Entry) {
	for i := range p.Systems.Electrical.Equipment {
		q := &p.Systems.Electrical.Equipment[i]
		about := fmt.Sprintf("Hangs on the %s bus, and draws %s A at 28 V. It is switched on while %s.", q.Bus, number(q.Amps), q.On)
		if q.Ready > 0 {
			about += fmt.Sprintf(" It needs %s s to become ready.", number(q.Ready))
		}
		if q.Breaker {
			about += fmt.Sprintf(" It has a circuit breaker: %s.breaker is its failure.", q.ID)
		}
		list = append(list, Entry{Name: q.ID, About: about, Where: "abnormal", Example: "cause: [{failure: " + q.ID + ".failed, to: 1}]"})
	}
	return list
}

func states(p *aircraft.Profile) (list []Entry) {
	for i := range p.States {
		s := &p.States[i]
		about := "All controls as when cold and dark."
		if n := len(s.Moves); n > 0 {
			about = fmt.Sprintf("Made of cold and dark by %d moves", n)
			if n == 1 {
				about = "Made of cold and dark by one move"
			}
			last := s.Moves[n-1]
			if len(last.Set) > 0 {
				var set []string
				for _, one := range last.Set {
					set = append(set, one.Control+" "+one.Position)
				}
				about += ", the last of which sets " + strings.Join(set, ", ")
			}
			about += "."
		}
		list = append(list, Entry{Name: s.Name, About: about, Where: "scenario", Example: "state: " + s.Name})
	}
	return list
}

func tones(*aircraft.Profile) (list []Entry) {
	for _, tone := range aircraft.Tones {
		list = append(list, Entry{Name: tone.Name, About: tone.About, Where: "alert of a profile", Example: "tone: " + tone.Name})
	}
	return list
}

// unlessEmpty is words before a condition, as a sentence; nothing where there is none.
func unlessEmpty(before, condition string) string {
	if condition == "" {
		return ""
	}
	return before + condition + "."
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// plain are the texts that YAML takes for something else unless they are in quotes (YAML 1.1, and 1.2 the last two).
var plain = []string{"on", "off", "yes", "no", "y", "n", "null", "~", "true", "false"}

// Scalar writes a text as a value of YAML between braces.
func Scalar(text string) string {
	if slices.Contains(plain, strings.ToLower(text)) {
		return `"` + text + `"`
	}
	harmless := !strings.ContainsFunc(text, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune(" ._+/%-", r))
	})
	if harmless && text != "" && text == strings.TrimSpace(text) && !strings.ContainsAny(text[:1], "-%") {
		return text
	}
	return "'" + strings.ReplaceAll(text, "'", "''") + "'"
}
