package scenario

import (
	"fmt"
	"slices"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/fault"
	"hornlark/drill/procedure"
)

// The bounds of an abnormal.
const (
	MaxActions = 12 // and as many moves that make it worse
	MaxCauses  = 12
	MaxHandle  = 10 * time.Minute // time for an action, or until it has got away
)

// Call is the cue that is the abnormal's own words over the radio.
const Call = "call"

// Check finds everything that is wrong with the abnormal as something that befalls the profile, which has been
// compiled. Where procedures are given, one of them at least has to have the item that the flow goes back to.
func (a *Abnormal) Check(prof *aircraft.Profile, procedures ...*procedure.Procedure) fault.List {
	c := checker{prof: prof}
	c.faults.Name("name", a.Name)
	c.faults.Line("title", "title", a.Title)
	if a.Profile != prof.Name {
		c.faults.Unknown("profile", "profile", a.Profile, []string{prof.Name})
	}
	c.causes(a)
	c.cues(a)
	c.actions(a)
	c.moves("worse", a.Worse)
	c.moves("also", a.Also)
	c.lasting("handled", a.Handled)
	c.lasting("lost", a.Lost)
	c.ending(a)
	procedure.CheckSettings(&c.faults, "afterwards", a.Afterwards, prof)
	c.reset(a)
	c.faults.OptionalLine("call", "call", a.Call)
	c.faults.OptionalLine("say", "line", a.Say)
	if a.BackTo != "" && len(procedures) > 0 {
		c.backTo(a.BackTo, procedures)
	}
	return c.faults
}

// reset notes a state to reset to that the profile does not have, and what would be undone by it.
func (c *checker) reset(a *Abnormal) {
	if a.Reset == "" {
		return
	}
	states := []string{Before}
	for i := range c.prof.States {
		states = append(states, c.prof.States[i].Name)
	}
	if !slices.Contains(states, a.Reset) {
		c.faults.Unknown("reset", "state", a.Reset, states)
	}
	if a.Harmless {
		c.faults.Add("reset", "leave reset out, or harmless", "nothing is reset after something harmless")
	}
	if a.Remains {
		c.faults.Add("remains", "leave remains out, or reset", "an aircraft that is reset has nothing left in it")
	}
}

func (c *checker) causes(a *Abnormal) {
	if len(a.Cause) == 0 && a.Call == "" && !a.Harmless {
		c.faults.Add("cause", "name the failure that causes it, or write the words that come over the radio in call", "nothing causes it")
	}
	if len(a.Cause) > MaxCauses {
		c.faults.Add("cause", fmt.Sprintf("stay within %d", MaxCauses), "it has %d causes", len(a.Cause))
	}
	for i, cause := range a.Cause[:min(len(a.Cause), MaxCauses)] {
		at := fault.At("cause", i)
		if _, ok := c.prof.FailureIndex(cause.Failure); !ok {
			c.faults.Unknown(fault.Join(at, "failure"), "failure", cause.Failure, failureNames(c.prof))
		}
		if !(cause.To > 0 && cause.To <= 1) {
			c.faults.Add(fault.Join(at, "to"), "write a severity above 0, which is healthy, up to 1, which is the worst",
				"%g is not a severity", cause.To)
		}
		c.between(fault.Join(at, "over"), cause.Over, 0, MaxHandle)
		if first := slices.IndexFunc(a.Cause, func(other Cause) bool { return other.Failure == cause.Failure }); first < i {
			c.faults.Add(fault.Join(at, "failure"), "name it once", "failure %s is named twice", cause.Failure)
		}
	}
}

func (c *checker) cues(a *Abnormal) {
	if len(a.Cues) == 0 {
		c.faults.Add("cues", "name the alerts, captions, gauges and outside facts that show it", "it has no cues, so nobody could notice it")
	}
	known := cueNames(c.prof)
	for i := range c.prof.Controls {
		known = append(known, c.prof.Controls[i].ID)
	}
	for i, id := range a.Cues {
		at := fault.At("cues", i)
		switch {
		case id == Call && a.Call == "":
			c.faults.Add(at, "write the words in call", "the call is a cue and has no words")
		case id != Call && !slices.Contains(known, id):
			c.faults.Unknown(at, "alert, caption, gauge, outside fact or control", id, known)
		case slices.Index(a.Cues, id) < i:
			c.faults.Add(at, "name it once", "cue %s is named twice", id)
		}
	}
}

func (c *checker) actions(a *Abnormal) {
	first := a.Actions[:min(len(a.Actions), MaxActions)]
	switch {
	case a.Harmless && len(a.Actions) > 0:
		c.faults.Add("actions", "leave the actions out, or harmless", "nothing is to be done about something harmless")
	case !a.Harmless && len(a.Actions) == 0 && a.Handled == "":
		c.faults.Add("actions", "write the immediate actions, or the condition in handled", "nothing ends it")
	case len(a.Actions) > MaxActions:
		c.faults.Add("actions", fmt.Sprintf("stay within %d", MaxActions), "it has %d immediate actions", len(a.Actions))
	}
	for i := range first {
		c.action(fault.At("actions", i), &first[i])
	}
	c.groups(first)
}

func (c *checker) action(path string, a *Action) {
	at := func(field string) string { return fault.Join(path, field) }
	kinds := 0
	for _, given := range []bool{len(a.Set) > 0, a.Silence, a.Answer != ""} {
		if given {
			kinds++
		}
	}
	if kinds != 1 {
		c.faults.Add(path, "give it one of set, silence: true, and answer", "the action says in %d ways what is done", kinds)
	}
	procedure.CheckSettings(&c.faults, at("set"), a.Set, c.prof)
	if a.Answer != "" && a.Answer != "yes" && a.Answer != "no" {
		c.faults.Add(at("answer"), `write "yes" or "no"`, "%q is not an answer", a.Answer)
	}
	condition.Check(&c.faults, at("after"), a.After, c.prof.Scope())
	if a.After != "" && len(a.Set) == 0 {
		c.faults.Add(at("after"), "leave it out", "only a move can be too early")
	}
	c.faults.Line(at("say"), "action in words", a.Say)
	c.between(at("within"), a.Within, time.Second, MaxHandle)
}

func (c *checker) moves(field string, moves []Move) {
	if len(moves) > MaxActions {
		c.faults.Add(field, fmt.Sprintf("stay within %d", MaxActions), "there are %d moves", len(moves))
	}
	for i, move := range moves[:min(len(moves), MaxActions)] {
		path := fault.At(field, i)
		if len(move.Set) == 0 {
			c.faults.Add(path, "write the move in set", "it does not say which move it is")
		}
		procedure.CheckSettings(&c.faults, fault.Join(path, "set"), move.Set, c.prof)
		c.faults.Line(fault.Join(path, "say"), "reason", move.Say)
	}
}

// lasting notes what is wrong with a condition that is asked while an abnormal lasts.
func (c *checker) lasting(path, src string) {
	condition.Check(&c.faults, path, src, Scope(c.prof))
}

func (c *checker) ending(a *Abnormal) {
	c.between("timeout", a.Timeout, 0, MaxHandle)
	if a.Harmless && a.Timeout == 0 {
		c.faults.Add("timeout", "write how long it lasts, as in 10s", "something harmless has to end by itself")
	}
	if len(a.Ends) > MostEndings {
		c.faults.Add("ends", fmt.Sprintf("stay within %d", MostEndings), "there are %d endings", len(a.Ends))
	}
	for i, end := range a.Ends[:min(len(a.Ends), MostEndings)] {
		path := fault.At("ends", i)
		if end.When == "" {
			c.faults.Add(path, "write the condition in when", "it does not say when the sentence is true")
		}
		c.lasting(fault.Join(path, "when"), end.When)
		c.between(fault.Join(path, "for"), end.For, 0, MaxHandle)
		c.faults.Line(fault.Join(path, "text"), "ending", end.Text)
	}
}

// groups notes members of a group of actions that do not stand side by side, and groups of one.
func (c *checker) groups(actions []Action) {
	for i, action := range actions {
		if action.Group == "" {
			continue
		}
		same := func(k int) bool { return k >= 0 && k < len(actions) && actions[k].Group == action.Group }
		first := slices.IndexFunc(actions, func(o Action) bool { return o.Group == action.Group })
		at := fault.Join(fault.At("actions", i), "group")
		switch {
		case first < i && !same(i-1):
			c.faults.Add(at, "move the action up to them, or give it a group of its own", "group %s is interrupted", action.Group)
		case !same(i-1) && !same(i+1):
			c.faults.Add(at, "leave it out, or name the neighbours that may be swapped with it", "nothing else is in group %s", action.Group)
		}
	}
}

func (c *checker) backTo(id string, procedures []*procedure.Procedure) {
	var known []string
	for _, p := range procedures {
		p.Each(func(_ *procedure.Phase, it *procedure.Item) { known = append(known, it.ID) })
	}
	if !slices.Contains(known, id) {
		c.faults.Unknown("back_to", "item", id, known)
	}
}

func failureNames(p *aircraft.Profile) []string {
	points := p.FailurePoints()
	names := make([]string, len(points))
	for i := range points {
		names[i] = points[i].Name
	}
	return names
}

// cueNames is everything of the profile that can begin to be noticed.
func cueNames(p *aircraft.Profile) []string {
	var names []string
	for i := range p.Alerts {
		names = append(names, p.Alerts[i].ID)
	}
	for i := range p.Captions {
		names = append(names, p.Captions[i].ID)
	}
	for i := range p.Gauges {
		names = append(names, p.Gauges[i].ID)
	}
	for i := range p.Outside {
		names = append(names, p.Outside[i].ID)
	}
	return names
}
