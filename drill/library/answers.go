package library

import (
	"slices"

	"hornlark/drill/fault"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// ReadAnswers reads a file of answers. The error is Problems.
func ReadAnswers(path string) (*scenario.Answers, error) {
	f, problem := readFile(path)
	if problem != nil {
		return nil, Problems{*problem}
	}
	d, problems := parse(f.name, f.data)
	if len(problems) > 0 {
		return nil, problems
	}
	answers, problems := decodeAnswers(d)
	return answers, problems.Grouped().Err()
}

func decodeAnswers(d *document) (*scenario.Answers, Problems) {
	answers := new(scenario.Answers)
	problems := d.decode(answers)
	return answers, append(problems, d.locate(answers.Check())...)
}

// checkAnswers looks whether what is answered exists anywhere. In which procedure it is meant is only known once it is played.
func (l *Library) checkAnswers(a *scenario.Answers, d *document) Problems {
	items, abnormals := l.itemIDs(), l.abnormals.names()
	var faults fault.List
	known := func(path, what, written string, all []string) {
		if slices.Contains(all, written) {
			return
		}
		remedy := "hornlark show lists those of a procedure, hornlark list every abnormal"
		if near := fault.Nearest(written, all); near != "" {
			remedy = fault.Suggest(written, all)
		}
		faults.Add(path, remedy, "there is no %s %q", what, written)
	}
	for i, id := range a.LeaveOut {
		known(fault.At("leave_out", i), "item", id, items)
	}
	for i, pair := range a.Swap {
		for j, id := range pair {
			known(fault.At(fault.At("swap", i), j), "item", id, items)
		}
	}
	l.swapped(&faults, a)
	for i, id := range a.Ignore {
		known(fault.At("ignore", i), "abnormal", id, abnormals)
	}
	for i, answer := range a.Answers {
		at := fault.At("answers", i)
		if answer.Item != "" {
			known(at+".item", "item", answer.Item, items)
		}
		if answer.Abnormal != "" {
			known(at+".abnormal", "abnormal", answer.Abnormal, abnormals)
		}
	}
	for i, act := range a.Acts {
		at := fault.At("instructor", i)
		if act.Item != "" {
			known(at+".item", "item", act.Item, items)
		}
		if act.Phase != "" {
			known(at+".phase", "phase", act.Phase, l.phaseIDs())
		}
		if act.Do == "insert" {
			known(at+".what", "abnormal", act.What, abnormals)
		}
	}
	return d.locate(faults)
}

// phaseIDs is the id of every phase of a procedure.
func (l *Library) phaseIDs() []string {
	var ids []string
	for _, p := range l.Procedures() {
		ids = append(ids, p.PhaseIDs()...)
	}
	return ids
}

// swapped notes pairs of which the second cannot be done before it is asked, in whichever procedure has it.
func (l *Library) swapped(faults *fault.List, a *scenario.Answers) {
	for i, pair := range a.Swap {
		if len(pair) != 2 {
			continue // that has been told
		}
		var kinds []procedure.Kind
		for _, p := range l.Procedures() {
			p.Each(func(_ *procedure.Phase, it *procedure.Item) {
				if it.ID == pair[1] {
					kinds = append(kinds, it.Kind())
				}
			})
		}
		if len(kinds) > 0 && !slices.Contains(kinds, procedure.Set) {
			faults.Add(fault.At(fault.At("swap", i), 1), "write it first, or leave the pair out", "%s cannot be done before it is asked, since it is answered in words", pair[1])
		}
	}
}

// itemIDs is the id of every item that can be asked: of procedures, and of the limits of profiles.
func (l *Library) itemIDs() []string {
	var ids []string
	note := func(_ *procedure.Phase, it *procedure.Item) { ids = append(ids, it.ID) }
	for _, p := range l.Procedures() {
		p.Each(note)
	}
	for _, p := range l.Profiles() {
		procedure.Limits(p, 0, 0).Each(note)
	}
	return ids
}
