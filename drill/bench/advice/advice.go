// Package advice says what could be better about documents that are right as they stand: checklists by the published guidelines for
// their design, scenarios by what comes of them when they are run. It is never an error, and whoever flies the aircraft may know better.
//
// What hangs on the aircraft is found by running the model with a hand that makes no mistake (run.go), and nothing else is guessed
// from the documents but what their words say. The same documents give the same advice everywhere.
//
// The guidelines, and how far what is said of them here could be looked up:
//   - Degani and Wiener 1990, "Human factors of flight-deck checklists: the normal checklist", NASA CR-177549, and 1993, "Cockpit
//     checklists: concepts, design, and use", Human Factors 35(2): guidelines 1 (a response is the status or the value) and 3 (a long
//     checklist is divided up) were read in the text of 1993; 6 (critical items first) and 8 (a completion call) in a digest of it.
//     Their 6 speaks of the checklist of one task, which is a phase here (from memory); nothing is said of what stands late in the whole, since the
//     phases follow the tasks, and no guideline that could be found asks for a critical item before its task.
//   - Swain and Guttmann 1983, NUREG/CR-1278, table 20-7: where a list is long, which is above 10 items; the threefold rate of omissions
//     from there on is from memory.
//   - NUREG-0899, "Guidelines for the preparation of emergency operating procedures", 1982: procedures are tried against the equipment that
//     they speak of before anybody relies on them. That it exists was looked up, what it says is from memory; the same is said in IAEA
//     guidance on accident management, chapter 7, which was read: guidance is verified against the equipment, and validated.
//   - FAA AC 120-35, "Line operational simulations" (C of 2004, D of 2015): events of a scenario are paced, so that one can be dealt with
//     before the next comes. That it exists was looked up, what it says is from memory.
//   - Baddeley 1966, "Short-term memory for word sequences as a function of acoustic, semantic and formal similarity", by way of Chen and
//     Cowan 2009 (PMC2693080): words that are alike in sound are remembered worse in order. One label for one control: FAA AC 120-71B, from
//     a digest.
package advice

import (
	"cmp"
	"fmt"
	"slices"

	"hornlark/drill/fault"
)

// Rule is what a piece of advice goes by.
type Rule string

// The rules.
const (
	Status     Rule = "status"     // a response says the status or the value
	Division   Rule = "division"   // no more items than a short list has without a break
	Critical   Rule = "critical"   // what has to be right stands early
	Completion Rule = "completion" // a phase ends with a call that it is complete
	Alike      Rule = "alike"      // no two challenges sound alike
	Reach      Rule = "reach"      // what is asked can be done
	Truth      Rule = "truth"      // what is checked is so when it is asked and nothing is wrong
	Pace       Rule = "pace"       // one thing at a time, and everything that is written can come
)

// sources are the guidelines, as they are told.
var sources = map[Rule]string{
	Status:     "Degani and Wiener 1990, NASA CR-177549, guideline 1",
	Division:   "Degani and Wiener 1990, NASA CR-177549, guideline 3; long from 11 items on: NUREG/CR-1278, table 20-7",
	Critical:   "Degani and Wiener 1990, NASA CR-177549, guideline 6",
	Completion: "Degani and Wiener 1990, NASA CR-177549, guideline 8",
	Alike:      "FAA AC 120-71B, one label for one control; alike in sound: Baddeley 1966",
	Reach:      "NUREG-0899, procedures tried against the equipment",
	Truth:      "NUREG-0899, procedures tried against the equipment",
	Pace:       "FAA AC 120-35, pacing of events",
}

// Advice is one thing that could be better, and where.
type Advice struct {
	fault.Fault // what it is, and what to do about it
	Rule        Rule
}

// Source names the guideline.
func (a Advice) Source() string { return sources[a.Rule] }

// List is advice on one document.
type List []Advice

// add notes a piece of advice. A place gets one piece by a rule: the first.
func (l *List) add(rule Rule, path, remedy, problem string, args ...any) {
	if l.has(rule, path) {
		return
	}
	*l = append(*l, Advice{fault.Fault{Path: path, Problem: fmt.Sprintf(problem, args...), Remedy: remedy}, rule})
}

func (l *List) has(rule Rule, path string) bool {
	return slices.ContainsFunc(*l, func(a Advice) bool { return a.Rule == rule && a.Path == path })
}

// order puts the advice that matters most first: what cannot be done or is not so, then what cannot come, then how it is written. What is
// as important as other advice keeps its order.
func (l List) order() List {
	rank := map[Rule]int{Reach: 0, Truth: 1, Pace: 2, Alike: 3, Status: 4, Critical: 5, Completion: 6, Division: 7}
	slices.SortStableFunc(l, func(a, b Advice) int { return cmp.Compare(rank[a.Rule], rank[b.Rule]) })
	return l
}
