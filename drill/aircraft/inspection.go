package aircraft

import (
	"time"

	"hornlark/drill/fault"
)

// inspectionState is one limit's.
type inspectionState struct {
	held time.Duration // for how long its condition has been true
	due  bool          // it has been passed: for good
}

// passLimits looks whether a limit has been passed beyond which the aircraft has to be inspected. It is reported once.
func (a *Aircraft) passLimits() {
	if !a.board.Stirred(watchLimits) && !a.passing {
		return
	}
	a.passing = false
	for i := range a.inspections {
		s, in := &a.inspections[i], &a.profile.Inspections[i]
		if !a.holds(a.profile.inspectionWhen[i]) {
			s.held = 0
			continue
		}
		s.held += StepLength
		a.passing = a.passing || !s.due
		if !s.due && s.held > in.For {
			s.due = true
			a.report(Change{Kind: InspectionDue, Index: i})
		}
	}
}

// InspectionDue reports whether a limit has been passed beyond which the aircraft has to be inspected.
func (a *Aircraft) InspectionDue(i int) bool { return a.inspections[i].due }

// longestInspection is the longest time that a limit may have to be passed for.
const longestInspection = 10 * time.Minute

func (c *compiler) inspections() {
	ids := map[string]bool{}
	for i := range c.Inspections {
		in, at := &c.Inspections[i], fault.At("inspections", i)
		if !idForm.MatchString(in.ID) {
			c.add(at+".id", idRemedy, "a limit cannot be called %q", in.ID)
		}
		if ids[in.ID] {
			c.add(at+".id", "choose an id that is free", "there is another limit %q", in.ID)
		}
		ids[in.ID] = true
		c.inspectionWhen = append(c.inspectionWhen, c.needed(at+".when", in.When))
		if in.For < 0 || in.For > longestInspection {
			c.add(at+".for", "write a time up to 10m, or leave it out", "a limit cannot have to be passed for %v", in.For)
		}
		c.text(at+".text", in.Text, 120)
	}
}
