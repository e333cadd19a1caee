package practice

import (
	"fmt"
	"time"

	"hornlark/drill/fault"
)

// Criteria are what an instructor wants to have seen before somebody counts as ready. A field that is not set is not asked for.
type Criteria struct {
	InARow     int            `yaml:"passes_in_a_row" range:"1..50" json:"passes_in_a_row"`      // unannounced; at least 1
	DaysApart  int            `yaml:"days_apart" range:"0..3660" json:"days_apart"`              // from one date to that of the next pass that counts, at least
	Surprises  int            `yaml:"surprises" json:"surprises"`                                // of them, in which what came had not come before at the same places; not asked for where no abnormal can come
	WithinDays *int           `yaml:"within_days" range:"0..3660" json:"within_days,omitempty"`  // from the latest of them to the day, at most
	Recall     *float64       `yaml:"recall" range:"0..1" json:"recall,omitempty"`               // least probability of being known on the day, 0 to 1, over what was met
	Shown      *float64       `yaml:"shown" range:"0..1" json:"shown,omitempty"`                 // least share of the things to know, and of the abnormals, that were right or handled the latest time, 0 to 1
	Noticed    *float64       `yaml:"noticed" range:"0..1" json:"noticed,omitempty"`             // least share of the abnormals met that were noticed untold the latest time, 0 to 1
	Handled    *float64       `yaml:"handled" range:"0..1" json:"handled,omitempty"`             // least share of the abnormals met that were handled the latest time, 0 to 1
	Detection  *time.Duration `yaml:"detection" json:"detection_ns,omitempty"`                   // longest time to notice any abnormal, the latest time of each
	WithinPar  *float64       `yaml:"within_par" range:"0..1" json:"within_par,omitempty"`       // least share of reactions within par, in the passes that count, 0 to 1
	Parts      []string       `yaml:"parts" is:"part,once" size:"0..100" json:"parts,omitempty"` // procedures by name, and "limits"; left out: all that the aircraft has
}

// LimitsName is what criteria call the figures of an aircraft, among the names of procedures.
const LimitsName = "limits"

// DefaultCriteria are those of whoever has no others. They are our own choice, and no standard of any authority.
func DefaultCriteria() *Criteria {
	share := func(v float64) *float64 { return &v }
	within := 14
	return &Criteria{InARow: 3, DaysApart: 2, Surprises: 1, WithinDays: &within, Recall: share(0.85), Shown: share(0.5), Noticed: share(0.9), Handled: share(0.8)}
}

// The bounds of criteria.
const (
	maxInARow        = 50
	maxCriteriaDays  = 3660
	maxCriteriaParts = 100
	maxDetection     = 10 * time.Minute
)

// Check says what is wrong with criteria in themselves. Whether their procedures exist is for the library to say.
func (c *Criteria) Check() fault.List {
	var l fault.List
	if c.InARow < 1 || c.InARow > maxInARow {
		l.Add("passes_in_a_row", fmt.Sprintf("write 1 to %d", maxInARow), "%d passes in a row cannot be asked for", c.InARow)
	}
	if c.Surprises < 0 || c.InARow > 0 && c.Surprises > c.InARow {
		l.Add("surprises", "write 0 up to passes_in_a_row", "of %d passes %d cannot be surprises", c.InARow, c.Surprises)
	}
	days := func(path string, value, least int) {
		if value < least || value > maxCriteriaDays {
			l.Add(path, fmt.Sprintf("write %d to %d", least, maxCriteriaDays), "%d days cannot be asked for", value)
		}
	}
	days("days_apart", c.DaysApart, 0)
	if c.WithinDays != nil {
		days("within_days", *c.WithinDays, 0)
	}
	for _, share := range []struct {
		path  string
		value *float64
	}{{"recall", c.Recall}, {"shown", c.Shown}, {"noticed", c.Noticed}, {"handled", c.Handled}, {"within_par", c.WithinPar}} {
		if share.value != nil && !(*share.value >= 0 && *share.value <= 1) {
			l.Add(share.path, "write a share from 0 to 1, as in 0.85", "%v is no share", *share.value)
		}
	}
	if c.Detection != nil && (*c.Detection <= 0 || *c.Detection > maxDetection) {
		l.Add("detection", fmt.Sprintf("write a time up to %v, as in 6s", maxDetection), "nobody can be asked to notice in %v", *c.Detection)
	}
	if len(c.Parts) > maxCriteriaParts {
		l.Add("parts", fmt.Sprintf("stay within %d", maxCriteriaParts), "there are %d parts", len(c.Parts))
		return l
	}
	seen := map[string]bool{}
	for i, name := range c.Parts {
		if seen[name] {
			l.Add(fault.At("parts", i), "name each once", "%q stands there twice", name)
		}
		seen[name] = true
	}
	return l
}
