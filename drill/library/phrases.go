package library

import (
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Phrase is something that is spoken in a sitting, and by whom.
type Phrase struct {
	Voice string // challenger, responder or crew
	Text  string
}

// The voices, by the names that a sitting has for them.
const (
	challenger = "challenger"
	responder  = "responder"
	crew       = "crew"
)

// Phrases is everything that the documents of the bundle can have spoken, once each, in the order of the flow.
func (b *Bundle) Phrases() []Phrase {
	var c collection
	c.procedure(b.Procedure)
	policy, tell := b.Scenario.Rules("")
	if policy.Flow == scenario.Figures {
		c.procedure(procedure.Limits(b.Profile, 0, 0))
	}
	for _, a := range b.Abnormals {
		c.abnormal(a)
		if tell.Tells {
			c.add(crew, a.Telling())
		}
	}
	if policy.Flow == scenario.Nothing || len(b.Scenario.Phases) > 0 {
		c.add(crew, scenario.ControlsReset)
	}
	return c.phrases
}

// Phrases is everything that the documents of the library can have spoken, once each, in the order of their names.
func (l *Library) Phrases() []Phrase {
	var c collection
	for _, p := range l.Procedures() {
		c.procedure(p)
	}
	for _, a := range l.Abnormals() {
		c.abnormal(a)
	}
	for _, p := range l.Profiles() {
		c.procedure(procedure.Limits(p, 0, 0))
	}
	for _, s := range l.Scenarios() {
		if _, tell := s.Rules(""); tell.Tells {
			for _, name := range s.Abnormals() {
				c.add(crew, l.abnormals[name].doc.Telling())
			}
		}
	}
	c.add(crew, scenario.ControlsReset)
	return c.phrases
}

type collection struct {
	phrases []Phrase
	has     map[Phrase]bool
}

func (c *collection) add(voice, text string) {
	p := Phrase{voice, text}
	if text == "" || c.has[p] {
		return
	}
	if c.has == nil {
		c.has = map[Phrase]bool{}
	}
	c.has[p] = true
	c.phrases = append(c.phrases, p)
}

func (c *collection) procedure(p *procedure.Procedure) {
	p.Each(func(_ *procedure.Phase, it *procedure.Item) {
		if it.Fitted != nil && !*it.Fitted {
			return // never asked
		}
		c.add(challenger, it.Challenge)
		c.add(responder, it.Response)
		if it.IfNot != nil {
			c.add(crew, it.IfNot.Say)
		}
		if it.Hold != "" {
			c.add(crew, it.Takeover())
		}
	})
}

func (c *collection) abnormal(a *scenario.Abnormal) {
	c.add(crew, a.Call)
	if !a.Harmless {
		c.add(crew, a.Closing())
		c.add(crew, a.Takeover())
	}
}
