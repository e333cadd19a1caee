// Package procedure holds what is to be done, in which order, and what counts as having done it.
package procedure

import (
	"time"

	"hornlark/drill/aircraft"
)

// Kind is what the trainee does in answer to an item.
type Kind string

// The kinds of item.
const (
	Set     Kind = "set"     // moves controls to positions
	Check   Kind = "check"   // looks, then says whether it is in limits
	Read    Kind = "read"    // types a reading
	Callout Kind = "callout" // says so as a value is passed
	Confirm Kind = "confirm" // says whether something outside, or felt, is so
	Figure  Kind = "figure"  // types a figure of the profile from memory
)

// Looked reports whether an item of the kind is answered by looking: at a gauge, a caption, or out of the window.
func (k Kind) Looked() bool { return k == Check || k == Confirm || k == Read }

// Procedure is a flow for one profile: phases of items, in order.
type Procedure struct {
	Name    string  `yaml:"name" is:"name"`       // short name, as on the command line
	Title   string  `yaml:"title" is:"line"`      // name on a screen
	About   string  `yaml:"about" is:"text"`      // a paragraph for the reader of a list
	Profile string  `yaml:"profile" is:"profile"` // name of the profile that it belongs to
	Phases  []Phase `yaml:"phases" size:"1..40"`  // in order
}

// Phase is a part of a procedure with a name of its own.
type Phase struct {
	ID    string `yaml:"id" is:"name"`        // its name in documents
	Title string `yaml:"title" is:"line"`     // spoken and shown as the phase begins
	Items []Item `yaml:"items" size:"1..400"` // in order
}

// Item is one challenge and its response. Exactly one of Set, Check, Read, Callout, Confirm and Figure says of what kind.
type Item struct {
	ID        string `yaml:"id" is:"name"`        // its name in documents and results
	Challenge string `yaml:"challenge" is:"line"` // as the panel labels it; spoken by the challenger
	Response  string `yaml:"response" is:"line"`  // the status or value, never just "checked"; echoed by the responder

	Set     aircraft.Settings `yaml:"set" size:"0..16"`       // control: position, moved in this order; done when all of them are there
	Check   string            `yaml:"check" is:"condition"`   // condition under which "yes" is right
	Read    string            `yaml:"read" is:"gauge"`        // gauge whose reading is typed
	Callout *Passing          `yaml:"callout"`                // value that is called as it is passed
	Confirm string            `yaml:"confirm" is:"condition"` // condition under which "yes" is right; the truth may be outside the cockpit
	Figure  *Value            `yaml:"figure"`                 // value that is typed from memory

	Look   []string      `yaml:"look" is:"look,once"`                                                                                       // gauges, captions and controls to look at
	When   string        `yaml:"when" is:"condition"`                                                                                       // condition for the item to be asked at all, judged when its turn comes
	Fitted *bool         `yaml:"fitted"`                                                                                                    // false: this aircraft does not have it
	Hold   string        `yaml:"hold" is:"own-item"`                                                                                        // item further on before which this one has to be right: until then the flow does not go on
	Group  string        `yaml:"group" is:"group"`                                                                                          // neighbours of one group may be done in any order
	After  string        `yaml:"after" is:"condition"`                                                                                      // condition to wait for before the item is asked
	Wait   time.Duration `yaml:"wait" range:"1s..10m"`                                                                                      // longest time to wait for the condition of after; the item is then asked all the same
	Within time.Duration `yaml:"within" range:"1s..5m" default:"5s for set and callout, 6s for check and confirm, 12s for read and figure"` // time for the answer, from the end of the challenge
	Expect []string      `yaml:"expect" is:"alert"`                                                                                         // alerts that may sound here because the item, not a fault, makes them
	IfNot  *IfNot        `yaml:"if_not"`                                                                                                    // what follows when "no" is right and was said
}

// Passing is a value that a gauge goes through.
type Passing struct {
	Gauge  string        `yaml:"gauge" is:"gauge"`                         // id of the gauge
	Value  float64       `yaml:"value"`                                    // in the gauge's unit
	Down   bool          `yaml:"falling"`                                  // passed from above
	Window time.Duration `yaml:"window" range:"100ms..30s" default:"1.5s"` // either side of the moment
}

// Value is a value on the scale of a gauge.
type Value struct {
	Gauge string  `yaml:"gauge" is:"gauge"` // id of the gauge
	Value float64 `yaml:"value"`            // in the gauge's unit; an answer within the gauge's tolerance is right
}

// IfNot puts right what was rightly refused.
type IfNot struct {
	Say string            `yaml:"say" is:"line"`    // spoken by the crew
	Set aircraft.Settings `yaml:"set" size:"0..16"` // asked of the trainee first, in this order

	Stop bool `yaml:"stop"` // the flow ends here, as it should
}

// DefaultWindow is the time either side of the moment of passing within which a callout is right.
const DefaultWindow = 1500 * time.Millisecond

// defaultWithin is the time for an answer where an item gives none. Our own figures: a hand that knows its way needs
// about a second for a switch; a look needs longer than an answer by rote.
var defaultWithin = map[Kind]time.Duration{
	Set:     5 * time.Second,
	Check:   6 * time.Second,
	Read:    12 * time.Second,
	Callout: 5 * time.Second,
	Confirm: 6 * time.Second,
	Figure:  12 * time.Second,
}

// Kind is what the item asks for, or "" if it does not say.
func (it *Item) Kind() Kind {
	switch {
	case len(it.Set) > 0:
		return Set
	case it.Check != "":
		return Check
	case it.Read != "":
		return Read
	case it.Callout != nil:
		return Callout
	case it.Confirm != "":
		return Confirm
	case it.Figure != nil:
		return Figure
	}
	return ""
}

// Takeover is what the crew says when it puts the item right that had to be before the flow went on.
func (it *Item) Takeover() string { return "Exercise: " + it.Challenge + ", " + it.Response + "." }

// Limit is the time for an answer, from the end of the challenge.
func (it *Item) Limit() time.Duration {
	if it.Within > 0 {
		return it.Within
	}
	return defaultWithin[it.Kind()]
}

// Each calls f for every item in order.
func (p *Procedure) Each(f func(ph *Phase, it *Item)) {
	for i := range p.Phases {
		for j := range p.Phases[i].Items {
			f(&p.Phases[i], &p.Phases[i].Items[j])
		}
	}
}

// PhaseIDs gives the ids of the phases, in order.
func (p *Procedure) PhaseIDs() []string {
	ids := make([]string, len(p.Phases))
	for i := range p.Phases {
		ids[i] = p.Phases[i].ID
	}
	return ids
}

// Count is the number of items.
func (p *Procedure) Count() int {
	n := 0
	p.Each(func(*Phase, *Item) { n++ })
	return n
}
