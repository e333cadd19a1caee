// Package score judges a sitting from its log, and from nothing else: log in, result out.
package score

import (
	"time"

	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Sheet is what a log is judged against: what should have been done, in which order, within which times.
type Sheet struct {
	Items     []Item
	Abnormals map[string]*scenario.Abnormal // by name
	Par       *scenario.Par                 // nil: the defaults
	Pass      scenario.Criteria
}

// Item is one item of the procedure as far as judging goes.
type Item struct {
	ID    string
	Phase string // id
	Kind  procedure.Kind
	Limit time.Duration // for the answer, from the end of the challenge
	Rank  int           // place in the order; items that may be swapped share one
	Moves int           // how many controls it takes
}

// NewSheet makes the sheet for a scenario. In mode limits proc is procedure.Limits.
func NewSheet(proc *procedure.Procedure, sc *scenario.Scenario, abnormals []*scenario.Abnormal, mode scenario.Mode) *Sheet {
	sheet := &Sheet{Abnormals: map[string]*scenario.Abnormal{}, Par: sc.Par, Pass: sc.Pass}
	for _, a := range abnormals {
		sheet.Abnormals[a.Name] = a
	}
	if mode == scenario.Alerts || mode == scenario.Watch {
		return sheet
	}
	rank, group := 0, ""
	proc.Each(func(ph *procedure.Phase, it *procedure.Item) {
		if it.Group == "" || it.Group != group {
			rank++
		}
		group = it.Group
		sheet.Items = append(sheet.Items, Item{ID: it.ID, Phase: ph.ID, Kind: it.Kind(), Limit: it.Limit(), Rank: rank, Moves: len(it.Set)})
	})
	return sheet
}
