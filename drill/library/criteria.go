package library

import (
	"slices"

	"hornlark/drill/fault"
	"hornlark/drill/practice"
)

// ReadCriteria reads a file of criteria for whether somebody is ready, and looks whether its parts exist. The error is Problems.
func (l *Library) ReadCriteria(path string) (*practice.Criteria, error) {
	f, problem := readFile(path)
	if problem != nil {
		return nil, Problems{*problem}
	}
	d, problems := parse(f.name, f.data)
	if len(problems) > 0 {
		return nil, problems
	}
	criteria, problems := decodeCriteria(d)
	problems = append(problems, l.checkCriteria(criteria, d)...)
	return criteria, problems.Grouped().Err()
}

func decodeCriteria(d *document) (*practice.Criteria, Problems) {
	criteria := new(practice.Criteria)
	problems := d.decode(criteria)
	return criteria, append(problems, d.locate(criteria.Check())...)
}

// checkCriteria looks whether the parts are procedures, or the limits.
func (l *Library) checkCriteria(c *practice.Criteria, d *document) Problems {
	known := append(l.procedures.names(), practice.LimitsName)
	var faults fault.List
	for i, name := range c.Parts {
		if !slices.Contains(known, name) {
			faults.Unknown(fault.At("parts", i), "procedure", name, known)
		}
	}
	return d.locate(faults)
}
