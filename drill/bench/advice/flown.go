package advice

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/fault"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Start is where and how a procedure is begun.
type Start struct {
	Weather aircraft.Weather
	State   string // of the profile; empty: cold and dark
}

// mostStarts is from how many starts a procedure is tried.
const mostStarts = 6

// Starts are those from which scenarios begin a procedure, each once; without any, the standard day at sea level, cold and dark and in each
// state of the profile.
func Starts(prof *aircraft.Profile, proc *procedure.Procedure, scenarios []*scenario.Scenario) []Start {
	var list []Start
	for _, sc := range scenarios {
		s := Start{sc.Weather, sc.State}
		if sc.Procedure == proc.Name && on(sc, prof, proc) && !slices.Contains(list, s) {
			list = append(list, s)
		}
	}
	if len(list) == 0 {
		list = append(list, Start{Weather: aircraft.Weather{OAT: 15}})
		for i := range prof.States {
			list = append(list, Start{aircraft.Weather{OAT: 15}, prof.States[i].Name})
		}
	}
	return list[:min(len(list), mostStarts)]
}

// on reports whether a scenario is gone through on a profile.
func on(sc *scenario.Scenario, prof *aircraft.Profile, proc *procedure.Procedure) bool {
	return sc.Profile == prof.Name || sc.Profile == "" && proc.Profile == prof.Name
}

// Flown goes through a procedure with nothing wrong and by a hand that makes no mistake, and says what is not so when it is asked, what
// cannot be done, and what could stand earlier. Nothing is drawn in such a sitting, so that all seeds are the same one. From several
// starts that in which least is found counts: what is told is so from each of them. The documents have been checked. An error is that of the
// context, or of documents with which no sitting can be begun.
func Flown(ctx context.Context, prof *aircraft.Profile, proc *procedure.Procedure, starts []Start) (List, error) {
	var best List
	var from Start
	for i, start := range starts {
		list, err := flownFrom(ctx, prof, proc, start)
		if err != nil {
			if i == len(starts)-1 && best == nil {
				return nil, err
			}
			continue
		}
		if best == nil || len(list) < len(best) {
			best, from = append(List{}, list...), start
		}
		if len(best) == 0 {
			break
		}
	}
	if len(best) == 0 {
		late, err := late(ctx, prof, proc, from)
		if err != nil {
			return nil, err
		}
		best = append(best, late...)
	}
	return best.order(), nil
}

// trial is a scenario by which a procedure is tried.
func trial(prof *aircraft.Profile, proc *procedure.Procedure, start Start) drill.Documents {
	return drill.Documents{Profile: prof, Procedure: proc, Scenario: &scenario.Scenario{
		Name: "trial", Title: "Trial", Procedure: proc.Name, Policy: scenario.Prompted, Map: scenario.Names, Weather: start.Weather, State: start.State,
	}}
}

func flownFrom(ctx context.Context, prof *aircraft.Profile, proc *procedure.Procedure, start Start) (List, error) {
	return flownBy(ctx, trial(prof, proc, start))
}

// flownBy is what is found in a healthy run of a scenario; the paths are those of its procedure.
func flownBy(ctx context.Context, docs drill.Documents) (List, error) {
	ex, err := drill.Compile(healthy(docs))
	if err != nil {
		return nil, err
	}
	f, err := fly(ctx, ex, 1, nil)
	if err != nil {
		return nil, err
	}
	g := ground{flight: f, docs: ex.Documents(), places: places(docs.Procedure)}
	return g.find(), nil
}

// places is the path of every item, by its id.
func places(proc *procedure.Procedure) map[string]string {
	paths := map[string]string{}
	for i := range proc.Phases {
		for k := range proc.Phases[i].Items {
			paths[proc.Phases[i].Items[k].ID] = fault.Join(fault.At("phases", i), fault.At("items", k))
		}
	}
	return paths
}

// ground is what advice on a run goes by.
type ground struct {
	*flight
	docs   drill.Documents
	places map[string]string
	list   List
}

// item finds an item by its id.
func (g *ground) item(id string) (found *procedure.Item) {
	g.docs.Procedure.Each(func(_ *procedure.Phase, it *procedure.Item) {
		if it.ID == id {
			found = it
		}
	})
	return found
}

func (g *ground) at(it *procedure.Item, field string) string {
	return fault.Join(g.places[it.ID], field)
}

// find goes through the log.
func (g *ground) find() List {
	asked := ""
	for i := range g.log {
		e := &g.log[i]
		if e.Kind == logbook.Ask {
			asked = e.Item
		}
		it := g.item(e.Item)
		switch {
		case e.Kind == logbook.Blocked && e.Seat == logbook.Trainee:
			if it = g.item(asked); it != nil {
				g.blocked(it, e)
			}
		case it == nil:
		case e.Kind == logbook.Ask:
			g.waited(it, i)
		case e.Kind == logbook.Answer && e.Text == logbook.No && e.Truth == logbook.No:
			g.false(it, i)
		case e.Kind == logbook.TimedOut:
			g.timedOut(it, i)
		}
	}
	g.ended(g.item(asked))
	return g.list
}

// waited notes an item that was asked although what it waits for had not come.
func (g *ground) waited(it *procedure.Item, i int) {
	c, err := condition.Compile(it.After, g.docs.Profile.Scope())
	if it.After == "" || err != nil || g.shown[i] == nil || c.Holds(g.shown[i]) {
		return
	}
	wait := it.Wait
	if wait == 0 {
		wait = time.Minute
	}
	g.list.add(Truth, g.at(it, "after"), "write a condition that comes, or do before what brings it about",
		"%s is asked once %s have passed in vain, with nothing wrong: %s", it.ID, clock(wait), notSo(g.docs.Profile, it.After, g.shown[i]))
}

// false notes a check that was rightly refused with nothing wrong.
func (g *ground) false(it *procedure.Item, i int) {
	field, source := "check", it.Check
	if it.Confirm != "" {
		field, source = "confirm", it.Confirm
	}
	then := ""
	if it.IfNot != nil && it.IfNot.Stop {
		then = ", and the flow ends there"
	} else if g.list.has(Truth, g.at(it, "after")) {
		return // that what it waits for does not come has been said
	}
	remedy := "put the condition right, or do before what makes it so"
	if later, ok := g.later(source, i); ok && it.After == "" {
		remedy = fmt.Sprintf("wait for it: after: %s; it is so %s later", source, clock(later))
	}
	g.list.add(Truth, g.at(it, field), remedy, "%s is not so when it is asked and nothing is wrong: %s%s", it.ID, notSo(g.docs.Profile, source, g.shown[i]), then)
}

// later is how long after an entry a condition came to hold at another one.
func (g *ground) later(source string, i int) (time.Duration, bool) {
	c, err := condition.Compile(source, g.docs.Profile.Scope())
	if err != nil {
		return 0, false
	}
	for k := i + 1; k < len(g.log); k++ {
		if readings := g.shown[k]; readings != nil && c.Holds(readings) {
			return g.log[k].At - g.log[i].At, true
		}
	}
	return 0, false
}

// blocked notes a control that could not be moved.
func (g *ground) blocked(it *procedure.Item, e *logbook.Entry) {
	field := "if_not.set"
	if slices.ContainsFunc(it.Set, func(one aircraft.Setting) bool { return one.Control == e.Control }) {
		field = "set"
	}
	g.list.add(Reach, fault.Join(g.at(it, field), e.Control), "have done before what unlocks it",
		"%s cannot be moved when %s is asked: it is locked where it stands, at %s%s",
		e.Control, it.ID, e.Position, lockedWhile(g.docs.Profile, e.Control))
}

// lockedWhile is the lock of a control, in words.
func lockedWhile(p *aircraft.Profile, control string) string {
	if i, ok := p.ControlIndex(control); ok && p.Controls[i].Locked != "" {
		return ", while " + p.Controls[i].Locked
	}
	return ""
}

// timedOut notes an item that a hand that makes no mistake could not do.
func (g *ground) timedOut(it *procedure.Item, i int) {
	p := g.docs.Profile
	switch it.Kind() {
	case procedure.Set:
		for _, one := range it.Set {
			if g.list.has(Reach, fault.Join(g.at(it, "set"), one.Control)) {
				return
			}
		}
		var off []string
		for _, one := range it.Set {
			if c, ok := p.ControlIndex(one.Control); ok && !g.stands(p, one, i) {
				off = append(off, p.Controls[c].ID+" at "+one.Position)
			}
		}
		g.list.add(Reach, g.at(it, "set"), "make items of their own of what does not stay, or give it more time in within",
			"%s cannot be done in its time, %s, by a hand that makes no mistake; not reached together: %s", it.ID, clock(it.Limit()), strings.Join(off, ", "))
	case procedure.Callout:
		g.list.add(Reach, g.at(it, "callout.value"), "write a value that it passes, or wait for the moment with after",
			"%s does not pass %g while %s is open, with nothing wrong", it.Callout.Gauge, it.Callout.Value, it.ID)
	case procedure.Check, procedure.Confirm:
		g.false(it, i)
	}
}

// stands reports whether a control was where a set wants it.
func (g *ground) stands(p *aircraft.Profile, one aircraft.Setting, i int) bool {
	n, ok := p.Scope()[one.Control]
	c, known := p.ControlIndex(one.Control)
	if !ok || !known || g.shown[i] == nil {
		return false
	}
	want, _ := p.Controls[c].Index(one.Position)
	if p.Controls[c].Travel != nil {
		return false
	}
	return int(g.shown[i][n.Slot]) == want
}

// ended notes a flow that comes to no good end by itself, unless it has been said why.
func (g *ground) ended(last *procedure.Item) {
	end := g.end()
	if last == nil || end.Why == logbook.Complete || slices.ContainsFunc(g.list, func(a Advice) bool { return a.Rule != Alike }) {
		return
	}
	text := end.Text
	for i := range g.log {
		if g.log[i].Kind == logbook.Inspect {
			text = "beyond a limit: " + g.log[i].Text
		}
	}
	g.list.add(Reach, g.at(last, "id"), "look at it with: hornlark drill SCENARIO --answers perfect --virtual",
		"the flow ends at %s, after %s, with nothing wrong and by a hand that makes no mistake: %s", last.ID, clock(end.At), text)
}

// lateAfter is how many items that hold nothing may stand in a phase before one that has to be right. Our own figure.
const lateAfter = 5

// mostLate is how many items are tried further up.
const mostLate = 6

// late notes items that have to be right, stand late in their phase, and could as well stand at its beginning: a healthy run with them
// there goes as it should, and nothing new sounds in it.
func late(ctx context.Context, prof *aircraft.Profile, proc *procedure.Procedure, start Start) (List, error) {
	var l List
	var before *flight
	tried := 0
	for i := range proc.Phases {
		loose := 0
		for k := range proc.Phases[i].Items {
			it := &proc.Phases[i].Items[k]
			if it.Hold == "" {
				loose++
				continue
			}
			if loose <= lateAfter || it.After != "" || it.When != "" || it.Fitted != nil || tried == mostLate {
				continue
			}
			tried++
			if before == nil {
				f, err := flightOf(ctx, trial(prof, proc, start))
				if err != nil {
					return nil, err
				}
				before = f
			}
			docs := trial(prof, upfront(proc, i, k), start)
			found, err := flownBy(ctx, docs)
			if stopped := context.Cause(ctx); stopped != nil {
				return nil, stopped
			}
			if err != nil || len(found) > 0 {
				continue
			}
			after, err := flightOf(ctx, docs)
			if err != nil || !sameCues(before, after) {
				continue
			}
			l.add(Critical, fault.Join(fault.Join(fault.At("phases", i), fault.At("items", k)), "hold"),
				"move it to the beginning of its phase: a run with it there goes as well",
				"%s has to be right before %s, and %d items that hold nothing up come before it in its phase", it.ID, it.Hold, loose)
		}
	}
	return l, nil
}

func flightOf(ctx context.Context, docs drill.Documents) (*flight, error) {
	ex, err := drill.Compile(healthy(docs))
	if err != nil {
		return nil, err
	}
	return fly(ctx, ex, 1, nil)
}

// upfront is a procedure with an item moved to the beginning of its phase.
func upfront(proc *procedure.Procedure, phase, item int) *procedure.Procedure {
	moved := *proc
	moved.Phases = slices.Clone(proc.Phases)
	items := slices.Clone(proc.Phases[phase].Items)
	it := items[item]
	items = slices.Insert(slices.Delete(items, item, item+1), 0, it)
	for i := range items {
		items[i].Group = "" // of which only a part may be left
	}
	moved.Phases[phase].Items = items
	return &moved
}

// sameCues reports whether the same things began to be heard and to be lit in two runs, as often, and whether gauges were as long in their
// red bands, to the second.
func sameCues(a, b *flight) bool {
	count := func(f *flight) map[string]int {
		n := map[string]int{}
		for i := range f.log {
			switch e := &f.log[i]; {
			case e.Kind == logbook.Cue && (e.Class == logbook.Horn || e.Class == logbook.Caption):
				n[string(e.Class)+" "+e.Name]++
			case e.Kind == logbook.Exceeded:
				n["red "+e.Name] = int(e.Length / time.Second)
			}
		}
		return n
	}
	x, y := count(a), count(b)
	for name, n := range y {
		if x[name] < n {
			return false
		}
	}
	return len(x) >= len(y)
}
