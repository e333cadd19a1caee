package main

import (
	"cmp"
	"slices"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill/debrief"
	"hornlark/drill/library"
	"hornlark/drill/practice"
	"hornlark/drill/procedure"
	"hornlark/drill/record"
	"hornlark/drill/score"
)

// calledBy gives the names of what sittings were about, out of the documents that they went by, those of the latest first: what has got another name
// since is called by it. Of documents that are missing or cannot be read there are no names, and ids have to do.
func calledBy(store *record.Store, sittings []record.Summary) *debrief.Called {
	c := &debrief.Called{Things: map[practice.Thing]string{}, Abnormals: map[string]string{}, Procedures: map[string]string{}, Date: clockTime}
	known, aircraft := map[string]bool{}, map[string]string{}
	for _, s := range slices.Backward(sittings) {
		if known[s.Plan] || len(known) >= desk.PlansHeld {
			continue
		}
		known[s.Plan] = true
		documents, err := store.Documents(s.Plan)
		if err != nil || documents == nil {
			continue
		}
		if bundle, err := library.Unpack(documents); err == nil {
			nameAll(c, bundle)
			aircraft[bundle.Profile.Name] = cmp.Or(aircraft[bundle.Profile.Name], bundle.Profile.Title)
		}
	}
	tellApart(c, aircraft)
	return c
}

// tellApart adds the aircraft to the names of abnormals that several have.
func tellApart(c *debrief.Called, aircraft map[string]string) {
	several := map[string]int{}
	for t, title := range c.Things {
		if t.Kind == score.TrialNotice {
			several[title]++
		}
	}
	for t, title := range c.Things {
		if t.Kind == score.TrialNotice && several[title] > 1 {
			c.Things[t] = title + ", " + aircraft[t.Of]
			c.Abnormals[t.Name] = c.Things[t]
		}
	}
}

// nameAll adds the names of some documents, where there is none yet.
func nameAll(c *debrief.Called, b *library.Bundle) {
	things := func(kind score.TrialKind, proc *procedure.Procedure, of string) {
		if c.Procedures[proc.Name] == "" {
			c.Procedures[proc.Name] = proc.Title
		}
		several := map[string]int{}
		proc.Each(func(_ *procedure.Phase, it *procedure.Item) { several[it.Challenge]++ })
		proc.Each(func(ph *procedure.Phase, it *procedure.Item) {
			name := it.Challenge
			if several[name] > 1 {
				name += ", in " + ph.Title
			}
			if t := (practice.Thing{Kind: kind, Of: of, Name: it.ID}); c.Things[t] == "" {
				c.Things[t] = name
			}
		})
	}
	things(score.TrialItem, b.Procedure, b.Procedure.Name)
	things(score.TrialFigure, procedure.Limits(b.Profile, 0, 0), b.Profile.Name)
	for _, a := range b.Abnormals {
		if t := (practice.Thing{Kind: score.TrialNotice, Of: b.Profile.Name, Name: a.Name}); c.Things[t] == "" {
			c.Things[t] = a.Title
		}
		if c.Abnormals[a.Name] == "" {
			c.Abnormals[a.Name] = a.Title
		}
	}
}
