package library

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/fault"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// addOverlays gets profiles ready that are laid over others, each once that is on its shelf, and shelves them.
func (l *Library) addOverlays(ready []shelving, own bool) {
	waiting := map[string]*shelving{}
	var names []string
	for i := range ready {
		s := &ready[i]
		if s.over == nil {
			continue
		}
		name := ""
		if at := field(s.over.root, "name"); at != nil {
			name = at.Value
		}
		for waiting[name] != nil { // another one of the same name, which is told of as it is shelved
			name += " "
		}
		waiting[name] = s
		names = append(names, name)
	}
	for len(names) > 0 {
		left := slices.DeleteFunc(slices.Clone(names), func(name string) bool {
			base := waiting[name].over.base().Value
			if waiting[base] != nil {
				return false
			}
			l.layOver(waiting[name], own)
			delete(waiting, name)
			return true
		})
		if len(left) == len(names) {
			break
		}
		names = left
	}
	for _, name := range names {
		round := circle(waiting, name)
		what := "it is laid over itself: "
		if round[0] != name {
			what = "what it is laid over is laid over itself: "
		}
		waiting[name].refuse(fault.Fault{Problem: what + strings.Join(round, " over "), Remedy: "lay it over a profile that is whole, as dunlin-lt"})
	}
}

// layOver gets a profile ready that is laid over one that is on its shelf.
func (l *Library) layOver(s *shelving, own bool) {
	d := s.over
	at := d.base()
	under, known := l.profiles[at.Value]
	if !known {
		var faults fault.List
		faults.Unknown("", "profile", at.Value, l.profiles.names())
		s.refuse(faults[0])
		near := fault.Nearest(at.Value, l.profiles.names())
		if near == "" {
			return
		}
		under = l.profiles[near] // so that the rest of it can be looked at
	}
	depth := 1
	for u := under.source; u.under != nil; u = u.under {
		depth++
	}
	if depth > MaxBased {
		s.refuse(fault.Fault{Problem: fmt.Sprintf("there are %d profiles under this one", depth), Remedy: fmt.Sprintf("stay within %d", MaxBased)})
		return
	}
	s.problems = append(s.problems, d.layOver(under.source, under.doc.Name)...)
	s.profile(d)
	s.put(l, own)
}

// refuse notes what is wrong with what a profile says that it is laid over.
func (s *shelving) refuse(f fault.Fault) {
	at := s.over.base()
	s.problems = append(s.problems, Problem{s.over.file, at.Line, at.Column, f.Problem, f.Remedy})
}

// circle names the profiles that are laid over one another in a circle, from one of them on; nil if it leads to none.
func circle(waiting map[string]*shelving, name string) []string {
	var names []string
	for s := waiting[name]; s != nil; s = waiting[name] {
		if at := slices.Index(names, name); at >= 0 {
			return append(names[at:], name)
		}
		names = append(names, name)
		name = s.over.base().Value
	}
	return nil
}

// ancestors are the profiles that a profile is laid over, or was made of: the nearest first.
func (l *Library) ancestors(name string) (list []string) {
	for len(list) < MaxBased {
		e, ok := l.profiles[name]
		if !ok {
			break
		}
		name = cmp.Or(e.doc.BasedOn, e.doc.Like)
		if name == "" || slices.Contains(list, name) {
			break
		}
		list = append(list, name)
	}
	return list
}

// checkLineage looks whether what a profile says that it was made of is there.
func (l *Library) checkLineage(e entry[aircraft.Profile]) Problems {
	like := e.doc.Like
	var faults fault.List
	if e.doc.BasedOn == "" && len(e.doc.LeaveOut) > 0 {
		faults.Add(leaveOut, "leave it out, or write based_on with the name of a profile", "there is nothing to leave out of: the profile is laid over no other")
	}
	if like == "" {
		return e.source.locate(faults)
	}
	switch up := l.ancestors(e.doc.Name); {
	case e.doc.BasedOn != "":
		faults.Add("like", "keep one of them: based_on where only what differs is written, like where all of it is", "a profile is either laid over another one or made of it")
	case l.profiles[like].doc == nil:
		faults.Unknown("like", "profile", like, l.profiles.names())
	case slices.Contains(up, e.doc.Name):
		faults.Add("like", "leave it out here, or there", "%s and %s are each said to be made of the other", e.doc.Name, like)
	case len(up) == MaxBased && l.profiles[up[MaxBased-1]].doc != nil && cmp.Or(l.profiles[up[MaxBased-1]].doc.BasedOn, l.profiles[up[MaxBased-1]].doc.Like) != "":
		faults.Add("like", fmt.Sprintf("stay within %d", MaxBased), "there are more than %d profiles of which one was made of the next", MaxBased)
	}
	return e.source.locate(faults)
}

// Borrowed is a document that was written for a profile under another one, and what has become of it on that.
type Borrowed struct {
	Kind    Kind
	Name    string
	For     string   // the profile that it was written for
	Because string   // why it does not work, without a full stop; empty: it works
	Without []string // what of it goes, since it is about what this profile does not have, as "item pitot" or "cue pitot_off"
}

// Works reports whether it works on the profile.
func (b *Borrowed) Works() bool { return b.Because == "" }

// For is the library as somebody has it who goes by a profile: what was written for those that it is laid over, or was made of, is for
// this one, as far as it makes sense there; and what has become of each. A profile of which neither is said has the library itself.
func (l *Library) For(profile string) (*Library, []Borrowed) {
	up := l.ancestors(profile)
	e, ok := l.profiles[profile]
	if !ok || len(up) == 0 {
		return l, nil
	}
	fit := func(base string) *fitter { return &fitter{e.doc, l.profiles[base].doc} }
	own := *l
	own.procedures, own.abnormals, own.scenarios = maps.Clone(l.procedures), maps.Clone(l.abnormals), maps.Clone(l.scenarios)
	var all []Borrowed
	for _, name := range l.procedures.names() {
		of := l.procedures[name]
		if !slices.Contains(up, of.doc.Profile) {
			continue
		}
		doc, without := fit(of.doc.Profile).procedure(of.doc)
		faults := doc.Check(e.doc)
		all = append(all, Borrowed{Procedure, name, of.doc.Profile, reasons(faults), without})
		if len(faults) == 0 {
			own.procedures[name] = entry[procedure.Procedure]{doc: doc, source: of.source, own: of.own, course: of.course}
		}
	}
	flows := own.flows(profile)
	for _, name := range l.abnormals.names() {
		of := l.abnormals[name]
		if !slices.Contains(up, of.doc.Profile) {
			continue
		}
		doc, without := fit(of.doc.Profile).abnormal(of.doc)
		faults := doc.Check(e.doc, flows...)
		all = append(all, Borrowed{Abnormal, name, of.doc.Profile, reasons(faults), without})
		if len(faults) == 0 {
			own.abnormals[name] = entry[scenario.Abnormal]{doc: doc, source: of.source, own: of.own, course: of.course}
		}
	}
	for _, name := range l.scenarios.names() {
		s := l.scenarios[name]
		proc, known := l.procedures[s.doc.Procedure]
		if s.doc.Profile != "" || !known || !slices.Contains(up, proc.doc.Profile) {
			continue
		}
		var faults fault.List
		doc, without := fit(proc.doc.Profile).scenario(s.doc, all)
		s.doc = doc
		if now := own.procedures[doc.Procedure].doc; now.Profile != profile {
			faults.Add("procedure", "", "its procedure %s does not work", now.Name)
		} else {
			faults = because(own.scenarioFaults(s, e.doc, now), doc, all)
		}
		all = append(all, Borrowed{Scenario, name, proc.doc.Profile, reasons(faults), without})
		if own.scenarios[name] = s; len(faults) > 0 {
			delete(own.scenarios, name)
		}
	}
	return &own, all
}

// reasons is what is wrong, in a few words.
func reasons(faults fault.List) string {
	var list []string
	for _, f := range faults {
		if !slices.Contains(list, f.Problem) {
			list = append(list, f.Problem)
		}
	}
	const told = 2
	if more := len(list) - told; more > 0 {
		list = append(list[:told], fmt.Sprintf("and %d more", more))
	}
	return strings.Join(list, "; ")
}

// viewFor is the library as a scenario has it: that of the profile which it names, or else of its procedure's.
func (l *Library) viewFor(e entry[scenario.Scenario]) (*Library, []Borrowed, Problems) {
	profile := e.doc.Profile
	if profile != "" {
		if _, problems := refer(e, "profile", profile, l.profiles, Profile); len(problems) > 0 {
			return l, nil, problems
		}
	} else if proc, ok := l.procedures[e.doc.Procedure]; ok {
		profile = proc.doc.Profile
	}
	view, borrowed := l.For(profile)
	return view, borrowed, nil
}

// notFor is what is wrong if a scenario names a profile and its procedure is for another one; and what to look at the rest of the scenario
// with, which that procedure is where it was written for what lies under the profile.
func (l *Library) notFor(s *scenario.Scenario, proc *procedure.Procedure, prof *aircraft.Profile, borrowed []Borrowed) (*procedure.Procedure, *aircraft.Profile, fault.List) {
	var faults fault.List
	if s.Profile == "" || s.Profile == proc.Profile {
		return proc, prof, nil
	}
	for _, d := range borrowed {
		if d.Kind == Procedure && !d.Works() && d.Name == proc.Name {
			faults.Add("procedure", "choose another one, or write one for "+s.Profile, "procedure %s was written for %s and does not work on %s: %s", proc.Name, d.For, s.Profile, d.Because)
			meant := *proc
			meant.Profile = s.Profile
			return &meant, l.profiles[s.Profile].doc, faults
		}
	}
	faults.Add("profile", "leave it out, or choose a procedure that is for "+s.Profile, "procedure %s is for %s, and %s is neither laid over that nor made of it", proc.Name, proc.Profile, s.Profile)
	return proc, prof, faults
}

// because says of abnormals that were written for another profile why they are not for this one.
func because(faults fault.List, s *scenario.Scenario, borrowed []Borrowed) fault.List {
	named := map[string]string{}
	for i := range s.Injections {
		named[fault.At("injections", i)+".abnormal"] = s.Injections[i].Abnormal
	}
	if s.Drawn != nil {
		for i, name := range s.Drawn.From {
			named[fault.At("drawn.from", i)] = name
		}
	}
	for i := range faults {
		for _, d := range borrowed {
			if d.Kind == Abnormal && !d.Works() && named[faults[i].Path] == d.Name {
				faults[i].Problem = fmt.Sprintf("abnormal %s was written for %s and does not work here: %s", d.Name, d.For, d.Because)
				faults[i].Remedy = "choose another one, or write one for this profile"
			}
		}
	}
	return faults
}
