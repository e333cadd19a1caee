package scenario

import (
	"fmt"
	"time"

	"hornlark/drill/logbook"
)

// PolicyName is how a sitting goes, by its name in the table of policies.
type PolicyName string

// The names of the policies.
const (
	Prompted PolicyName = "prompted" // each challenge is spoken
	Recall   PolicyName = "recall"   // no prompts: the flow from memory
	Alerts   PolicyName = "alerts"   // abnormals at unpredictable moments, nothing else
	Watch    PolicyName = "watch"    // the other pilot does the flow; the trainee watches it, and acts if it goes wrong
	Limits   PolicyName = "limits"   // the figures of the profile, asked by voice and answered in digits
)

// Flow is what is gone through.
type Flow int

// The flows.
const (
	Checklist Flow = iota // the procedure of the scenario
	Figures               // the figures of the profile, in place of the procedure
	Nothing               // no items at all
)

// Feedback is when the trainee hears what an answer amounted to.
type Feedback string

// The kinds of feedback.
const (
	AtOnce   Feedback = "at once"
	AtTheEnd Feedback = "at the end"
)

// Policy is what differs between one way of going through a sitting and another. It is the one place that says so.
type Policy struct {
	Name     PolicyName
	About    string       // in words, for a list
	Flow     Flow         // what is gone through
	Asks     logbook.Seat // who says the challenges; empty: nobody
	Waits    bool         // one item after the other: the next is asked once this one has been answered
	Acts     logbook.Seat // who does the items; empty: there are none
	Shown    bool         // the challenge, and the place in the flow, stand on the screen
	Echoed   bool         // a right response is spoken back
	Feedback Feedback     // unless the scenario says otherwise
}

// policies is the table.
var policies = []Policy{
	{Prompted, "each challenge is spoken", Checklist, logbook.Partner, true, logbook.Trainee, true, true, AtOnce},
	{Recall, "the flow from memory: nobody asks", Checklist, "", false, logbook.Trainee, false, false, AtTheEnd},
	{Alerts, "nothing to do but to notice, and to act", Nothing, "", false, "", false, false, AtTheEnd},
	{Watch, "the other pilot does the flow, and the trainee watches", Checklist, logbook.Partner, true, logbook.Pilot, true, true, AtTheEnd},
	{Limits, "the figures of the aircraft, asked and typed", Figures, logbook.Partner, true, logbook.Trainee, true, true, AtOnce},
}

// Policies gives the table. It belongs to the package and is only to be read.
func Policies() []Policy { return policies }

// PolicyNames gives the names of all policies.
func PolicyNames() []string {
	names := make([]string, len(policies))
	for i := range policies {
		names[i] = string(policies[i].Name)
	}
	return names
}

// PolicyOf finds a policy by its name; false if there is none.
func PolicyOf(name PolicyName) (Policy, bool) {
	for _, p := range policies {
		if p.Name == name {
			return p, true
		}
	}
	return Policy{}, false
}

// flowOf is what a policy goes through; one that there is not counts as the checklist.
func flowOf(name PolicyName) Flow {
	p, _ := PolicyOf(name)
	return p.Flow
}

// Tell is how much the trainee is told of an abnormal that has shown itself: nothing, or its name in words after a time.
// What was told is not counted as noticed. In YAML it is "never", "at once" or "after 10s"; left out it is never.
type Tell struct {
	Tells bool
	After time.Duration // from its onset
}

// maxTell is the longest time after which something is told.
const maxTell = 5 * time.Minute

// ParseTell reads a Tell as a scenario writes it.
func ParseTell(text string) (Tell, error) {
	switch text {
	case "", "never":
		return Tell{}, nil
	case "at once":
		return Tell{Tells: true}, nil
	}
	var after string
	if _, err := fmt.Sscanf(text, "after %s", &after); err == nil {
		if d, err := time.ParseDuration(after); err == nil && d > 0 && d <= maxTell && text == "after "+after {
			return Tell{true, d}, nil
		}
	}
	return Tell{}, fmt.Errorf("%q is no time to be told something", text)
}

// Rules is the policy of the scenario with what the scenario changes of it, and how much is told. A policy other than the
// scenario's own can be given by name; empty takes the scenario's. The scenario has been checked.
func (s *Scenario) Rules(name PolicyName) (Policy, Tell) {
	if name == "" {
		name = s.Policy
	}
	p, _ := PolicyOf(name)
	if s.Feedback != "" {
		p.Feedback = s.Feedback
	}
	tell, _ := ParseTell(s.Tell)
	return p, tell
}

func (c *checker) policy(s *Scenario) {
	c.oneOf("policy", "policy", string(s.Policy), PolicyNames())
	if s.Feedback != "" {
		c.oneOf("feedback", "feedback", string(s.Feedback), []string{string(AtOnce), string(AtTheEnd)})
	}
	if _, err := ParseTell(s.Tell); err != nil {
		c.faults.Add("tell", fmt.Sprintf(`write never, at once, or a time up to %v as in "after 10s"`, maxTell), "%v", err)
	}
}
