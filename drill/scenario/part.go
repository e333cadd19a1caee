package scenario

import (
	"fmt"
	"slices"
	"strings"

	"hornlark/drill/fault"
	"hornlark/drill/procedure"
)

// Part is which phases of a procedure a scenario goes through: those from one index up to another. Without phases of its own a
// scenario goes through all. It has been checked.
func (s *Scenario) Part(proc *procedure.Procedure) (from, until int) {
	if len(s.Phases) == 0 {
		return 0, len(proc.Phases)
	}
	ids := proc.PhaseIDs()
	return slices.Index(ids, s.Phases[0]), slices.Index(ids, s.Phases[len(s.Phases)-1]) + 1
}

// Only is the scenario as an exercise of some phases alone. Whatever interrupts it at an item outside of them is left out, and so is
// what comes at a time of the sitting, since that was meant for a flow that begins elsewhere; what is drawn is drawn in what is left
// of its phases, at any time. The phases are those that Check knows of.
func (s *Scenario) Only(proc *procedure.Procedure, phases []string) *Scenario {
	only := *s
	only.Phases = slices.Clone(phases)
	gone := map[string]bool{} // items that are gone through
	proc.Each(func(ph *procedure.Phase, it *procedure.Item) { gone[it.ID] = slices.Contains(phases, ph.ID) })
	only.Injections = slices.DeleteFunc(slices.Clone(s.Injections), func(in Injection) bool {
		return in.During != "" && !gone[in.During] || in.At != 0
	})
	if s.Drawn != nil {
		drawn := *s.Drawn
		drawn.Window = Window{}
		drawn.Phases = slices.DeleteFunc(slices.Clone(drawn.Phases), func(id string) bool { return !slices.Contains(phases, id) })
		only.Drawn = &drawn
		if len(s.Drawn.Phases) > 0 && len(drawn.Phases) == 0 {
			only.Drawn = nil
		}
	}
	return &only
}

// CheckPhases says what is wrong with going through these phases alone, by a policy; empty is the scenario's.
func (s *Scenario) CheckPhases(proc *procedure.Procedure, policy PolicyName, phases []string) error {
	only := Scenario{Policy: s.Policy, Phases: phases}
	if policy != "" {
		only.Policy = policy
	}
	c := checker{proc: proc}
	if c.part(&only); len(c.faults) > 0 {
		return fmt.Errorf("%s; %s", c.faults[0].Problem, c.faults[0].Remedy)
	}
	return nil
}

// part checks the phases that are gone through.
func (c *checker) part(s *Scenario) {
	if len(s.Phases) == 0 {
		return
	}
	if flowOf(s.Policy) != Checklist {
		c.faults.Add("phases", "leave them out", "with policy %s no phase runs", s.Policy)
		return
	}
	known := c.proc.PhaseIDs()
	before := -1
	for i, id := range s.Phases {
		at := slices.Index(known, id)
		switch {
		case at < 0:
			c.faults.Unknown(fault.At("phases", i), "phase", id, known)
			return
		case i > 0 && at != before+1:
			c.faults.Add(fault.At("phases", i), fmt.Sprintf("write neighbours in the order of %s: %s", c.proc.Name, strings.Join(known, ", ")),
				"phase %s does not come right after %s", id, s.Phases[i-1])
			return
		}
		before = at
	}
}

// goneThrough notes a phase that is not.
func (c *checker) goneThrough(path, phase string) {
	if len(c.only) > 0 && !slices.Contains(c.only, phase) {
		c.faults.Add(path, "choose from "+strings.Join(c.only, ", ")+", or add it to phases", "phase %s is not gone through here", phase)
	}
}
