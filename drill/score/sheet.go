// Package score judges a sitting from its log, and from nothing else: log in, result out.
package score

import (
	"slices"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Sheet is what a log is judged against: what should have been done, in which order, within which times.
type Sheet struct {
	Items     []Item
	Abnormals map[string]*scenario.Abnormal // by name
	Par       *scenario.Par                 // nil: the defaults
	Pass      scenario.Criteria
	Spoken    bool // somebody asks each item: what is done before that is ahead of its challenge
	Figures   bool // nothing is asked but figures from memory: there is no aircraft to look at
	Coming    int  // abnormals that the scenario puts in, or may: what a sitting that was cut short has not met counts as not handled
}

// Item is one item of the procedure as far as judging goes.
type Item struct {
	ID        string
	Phase     string // id
	Kind      procedure.Kind
	Limit     time.Duration // for the answer, from the end of the challenge
	Rank      int           // place in the order; items that may be swapped share one
	Controls  []string      // ids of what it moves
	Tolerance float64       // of a reading or a figure, either side of the true value, in the unit of its gauge
}

// NewSheet makes the sheet for a scenario that is gone through by a policy. Where that has the figures of the profile asked,
// proc is procedure.Limits. Where there is nothing to be done but to notice, or somebody else does it, the sheet has no
// items. Tolerance gives by how much a reading of a gauge may be wrong; nil is by nothing.
func NewSheet(proc *procedure.Procedure, sc *scenario.Scenario, abnormals []*scenario.Abnormal, policy scenario.Policy, tolerance func(gauge string) float64) *Sheet {
	sheet := &Sheet{
		Abnormals: map[string]*scenario.Abnormal{}, Par: sc.Par, Pass: sc.Pass,
		Spoken: policy.Asks != "", Figures: policy.Flow == scenario.Figures,
	}
	for _, a := range abnormals {
		sheet.Abnormals[a.Name] = a
	}
	if policy.Flow != scenario.Figures {
		sheet.Coming = sheet.coming(sc)
	}
	if policy.Flow == scenario.Nothing || policy.Acts != logbook.Trainee {
		return sheet
	}
	rank, group := 0, ""
	proc.Each(func(ph *procedure.Phase, it *procedure.Item) {
		if it.Group == "" || it.Group != group {
			rank++
		}
		group = it.Group
		item := Item{ID: it.ID, Phase: ph.ID, Kind: it.Kind(), Limit: it.Limit(), Rank: rank}
		item.Controls = it.Set.Controls()
		slices.Sort(item.Controls)
		if gauge := gaugeOf(it); gauge != "" && tolerance != nil {
			item.Tolerance = tolerance(gauge)
		}
		sheet.Items = append(sheet.Items, item)
	})
	return sheet
}

// coming is how many abnormals a scenario puts in, and how many it may draw.
func (s *Sheet) coming(sc *scenario.Scenario) int {
	n := 0
	for _, in := range sc.Injections {
		if a := s.Abnormals[in.Abnormal]; a != nil && !a.Harmless {
			n++
		}
	}
	if sc.Drawn != nil {
		n += sc.Drawn.Count
	}
	return n
}

// gaugeOf is the gauge whose value is typed, if one is.
func gaugeOf(it *procedure.Item) string {
	if it.Figure != nil {
		return it.Figure.Gauge
	}
	return it.Read
}
