package advice

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"hornlark/drill"
	"hornlark/drill/condition"
	"hornlark/drill/fault"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// Seeds is with how many seeds a scenario is run that draws something. Without anything drawn all seeds are the same sitting.
const Seeds = 6

// heldUp is how much later than its moment an injection has to come for that to be told. Our own figure: the breath that is left between two.
const heldUp = 5 * time.Second

// Scenario runs a scenario by a hand that makes no mistake and says which of its injections collide, never come or never show, what of
// its drawn set does not fit into the sitting, and what of its procedure is not so in its weather and state. known is the advice on a run of
// the procedure by itself, which is not told again. The documents have been checked, each against the others.
func Scenario(ctx context.Context, docs drill.Documents, known List) (List, error) {
	var l List
	rules, _ := docs.Scenario.Rules("")
	if rules.Flow == scenario.Figures {
		return nil, nil
	}
	var quiet *flight
	if rules.Flow == scenario.Checklist {
		found, err := flownBy(ctx, docs)
		if err != nil {
			return nil, err
		}
		here(&l, docs, found, known)
	}
	ex, err := drill.Compile(docs)
	if err != nil {
		return nil, err
	}
	seeds := 1
	if docs.Scenario.Drawn != nil {
		seeds = Seeds
	}
	runs := make([]*run, 0, seeds)
	for seed := range uint64(seeds) {
		r, err := newRun(ctx, ex, seed+1)
		if err != nil {
			return nil, err
		}
		runs = append(runs, r)
	}
	for i := range docs.Scenario.Injections {
		fixed(&l, docs, runs, i)
	}
	if docs.Scenario.Drawn != nil {
		if quiet, err = undisturbed(ctx, docs); err != nil {
			return nil, err
		}
		drawn(&l, docs, runs, quiet)
	}
	return l.order(), nil
}

// undisturbed is the sitting with nothing that goes wrong, by the policy of the scenario. One of nothing but alerts has no length of its own
// then, and is nil.
func undisturbed(ctx context.Context, docs drill.Documents) (*flight, error) {
	if rules, _ := docs.Scenario.Rules(""); rules.Flow == scenario.Nothing {
		return nil, nil
	}
	sc := *docs.Scenario
	sc.Injections, sc.Drawn = nil, nil
	docs.Scenario = &sc
	ex, err := drill.Compile(docs)
	if err != nil {
		return nil, err
	}
	return fly(ctx, ex, 1, nil)
}

// here notes what is found in a run of the procedure from this start, and not in one by itself.
func here(l *List, docs drill.Documents, found, known List) {
	var new []string
	for _, a := range found {
		if !known.has(a.Rule, a.Path) {
			new = append(new, a.Problem)
		}
	}
	if len(new) == 0 {
		return
	}
	if more := len(new) - mostShown; more > 0 {
		new = append(new[:mostShown], fmt.Sprintf("and %d things more", more))
	}
	path := "weather"
	if docs.Scenario.State != "" {
		path = "state"
	}
	l.add(Truth, path, "change what it begins with, or what the procedure asks", "in this weather and from this state %s",
		strings.Join(new, "; "))
}

// run is one sitting of a scenario, with what became of its injections.
type run struct {
	*flight
	spells []spell
}

// spell is an injection in the aircraft, from when it was put in until it was over.
type spell struct {
	number   int // among those of the sitting, from 1: those at fixed points come first
	abnormal string
	from, to time.Duration
	shown    bool
}

func newRun(ctx context.Context, ex *drill.Exercise, seed uint64) (*run, error) {
	docs := ex.Documents()
	watched := make([]watch, len(docs.Scenario.Injections))
	for i, in := range docs.Scenario.Injections {
		if in.When == "" {
			continue
		}
		c, err := condition.Compile(in.When, docs.Profile.Scope())
		if err != nil {
			return nil, err
		}
		watched[i] = c
	}
	f, err := fly(ctx, ex, seed, watched)
	if err != nil {
		return nil, err
	}
	r := &run{flight: f}
	open := map[string]int{}
	for i := range f.log {
		e := &f.log[i]
		switch e.Kind {
		case logbook.Inject:
			_, n, _ := strings.Cut(e.Injection, "#")
			number, _ := strconv.Atoi(n)
			open[e.Injection] = len(r.spells)
			r.spells = append(r.spells, spell{number: number, abnormal: e.Abnormal, from: e.At, to: f.length()})
		case logbook.Onset:
			if k, ok := open[e.Injection]; ok {
				r.spells[k].shown = true
			}
		case logbook.Handled, logbook.Lost, logbook.Cleared:
			if k, ok := open[e.Injection]; ok {
				r.spells[k].to = e.At
			}
		}
	}
	return r, nil
}

// moment is when an injection at a fixed point was to come; false: that never was.
func (r *run) moment(in *scenario.Injection, i int) (time.Duration, bool) {
	switch {
	case in.During != "":
		at, ok := r.asked(in.During)
		return at + in.After, ok
	case in.When != "":
		return r.held[i] + in.After, r.held[i] >= 0
	}
	return in.At + in.After, true
}

// spellOf is the spell of an injection at a fixed point; nil: it never came.
func (r *run) spellOf(i int) *spell {
	k := slices.IndexFunc(r.spells, func(s spell) bool { return s.number == i+1 })
	if k < 0 {
		return nil
	}
	return &r.spells[k]
}

// inTheWay is the spell that kept an injection from coming at its moment, the one in the aircraft then or the first after it.
func (r *run) inTheWay(i int, moment, came time.Duration) *spell {
	for k := range r.spells {
		if s := &r.spells[k]; s.number != i+1 && s.from < came && s.to >= moment {
			return s
		}
	}
	return nil
}

// field is where an injection says when it comes.
func field(in *scenario.Injection) string {
	switch {
	case in.During != "":
		return "during"
	case in.When != "":
		return "when"
	}
	return "at"
}

// runsOf is how often something was tried, in words.
func runsOf(n int) string {
	if n == 1 {
		return "a run"
	}
	return fmt.Sprintf("each of %d runs", n)
}

// clock is a time in words, to the second, as 2m and not 2m0s.
func clock(d time.Duration) string {
	text := d.Round(time.Second).String()
	if short, ok := strings.CutSuffix(text, "m0s"); ok {
		text = short + "m"
	}
	if short, ok := strings.CutSuffix(text, "h0m"); ok {
		text = short + "h"
	}
	return text
}

// fixed notes an injection at a fixed point that never comes, never shows, or comes late in every run.
func fixed(l *List, docs drill.Documents, runs []*run, i int) {
	in := &docs.Scenario.Injections[i]
	path := fault.Join(fault.At("injections", i), field(in))
	came, shown, late := 0, 0, 0
	var longest time.Duration
	var held *spell
	var was, is time.Duration
	var neverDue = true
	for _, r := range runs {
		longest = max(longest, r.length())
		moment, due := r.moment(in, i)
		s := r.spellOf(i)
		end := r.length()
		if s != nil {
			came++
			end = s.from
			if s.shown {
				shown++
			}
		}
		if !due || moment > r.length() {
			continue
		}
		neverDue = false
		if blocker := r.inTheWay(i, moment, end); blocker != nil && end-moment > heldUp {
			late++
			held, was, is = blocker, moment, end
		}
	}
	n := len(runs)
	switch {
	case came == 0 && neverDue:
		never(l, path, in, i, runs, longest)
	case came == 0 && held != nil:
		l.add(Pace, path, "give one of them another moment",
			"%s never comes in %s: its moment is %s, and %s is in the aircraft from %s to %s; one at a time is", in.Abnormal, runsOf(n), clock(was), held.abnormal, clock(held.from), clock(held.to))
	case came == 0:
		l.add(Pace, path, "let it come earlier, or give it less time in after",
			"%s never comes in %s: its moment is so near to the end of the sitting, at %s, that nothing begins any more", in.Abnormal, runsOf(n), clock(longest))
	case late == n:
		l.add(Pace, path, "give one of them another moment",
			"%s collides with %s: its moment is %s, %s is in the aircraft from %s to %s, and one at a time is, so that it comes at %s", in.Abnormal, held.abnormal, clock(was), held.abnormal,
			clock(held.from), clock(held.to), clock(is))
	case shown == 0:
		l.add(Pace, path, "let it come where the aircraft shows it: hornlark show "+in.Abnormal+" --reveal",
			"%s comes in %s and never shows: nothing differs from a healthy aircraft before it is taken out", in.Abnormal, runsOf(n))
	}
}

// never says why the moment of an injection does not come.
func never(l *List, path string, in *scenario.Injection, i int, runs []*run, longest time.Duration) {
	n := len(runs)
	switch {
	case in.During != "":
		if _, asked := runs[0].asked(in.During); asked {
			l.add(Pace, path, "let it come earlier, or give it less time in after",
				"%s never comes: %s after %s is asked the sitting is over; it ends at %s", in.Abnormal, clock(in.After), in.During, clock(longest))
			return
		}
		l.add(Pace, path, "choose an item that is asked: hornlark show lists those of a procedure",
			"%s never comes: %s is not asked in %s, %s", in.Abnormal, in.During, runsOf(n), notAsked(runs[0], in.During))
	case in.When != "":
		if slices.ContainsFunc(runs, func(r *run) bool { return r.held[i] >= 0 }) {
			l.add(Pace, path, "let it come earlier, or give it less time in after",
				"%s never comes: %s after %q came to hold the sitting is over; it ends at %s", in.Abnormal, clock(in.After), in.When, clock(longest))
			return
		}
		l.add(Pace, path, "write a condition that comes to hold: hornlark trace SCENARIO shows what each reading does",
			"%s never comes: %q does not hold at any moment of %s", in.Abnormal, in.When, runsOf(n))
	default:
		l.add(Pace, path, "write an earlier moment", "%s never comes: its moment is %s, and by a hand that makes no mistake the sitting is over at %s",
			in.Abnormal, clock(in.At+in.After), clock(longest))
	}
}

// notAsked says why an item was not asked.
func notAsked(r *run, item string) string {
	for i := range r.log {
		if r.log[i].Kind == logbook.Skip && r.log[i].Item == item {
			return "since what it has under when does not hold there"
		}
	}
	return "which ends before, at " + clock(r.length())
}

// drawn notes a drawn set of which nothing comes, or not as much as is written, and abnormals of it that never show.
func drawn(l *List, docs drill.Documents, runs []*run, quiet *flight) {
	d := docs.Scenario.Drawn
	fixed := len(docs.Scenario.Injections)
	most := 0
	times, shown := map[string]int{}, map[string]int{}
	for _, r := range runs {
		n := 0
		for _, s := range r.spells {
			if s.number <= fixed {
				continue
			}
			n++
			times[s.abnormal]++
			if s.shown {
				shown[s.abnormal]++
			}
		}
		most = max(most, n)
	}
	waits := fmt.Sprintf("a wait takes %s at least", clock(d.MinGap))
	if most == 0 {
		waits += fmt.Sprintf(" and %s in the mean before it is cut off", clock(d.MinGap+d.MeanGap))
		l.add(Pace, "drawn", "widen window and phases, or shorten min_gap and mean_gap", "nothing is drawn in any of %d runs: %s, and %s", len(runs), room(docs, quiet), waits)
		return
	}
	if quiet != nil && d.MinGap > 0 && most < d.Count && int(opened(docs, quiet)/d.MinGap) < d.Count {
		l.add(Pace, "drawn.count", fmt.Sprintf("write %d, or shorten min_gap", most), "%d are to be drawn, and in %s no more than %d came: %s, and %s", d.Count, runsOf(len(runs)), most,
			room(docs, quiet), waits)
	}
	for i, name := range d.From {
		if times[name] > 0 && shown[name] == 0 {
			l.add(Pace, fault.At("drawn.from", i), "leave it out here, or draw it where the aircraft shows it: hornlark show "+name+" --reveal",
				"%s came %s in %d runs and never showed: nothing differed from a healthy aircraft before it was taken out", name, often(times[name]), len(runs))
		}
	}
}

// room is how much of a sitting there is to draw in, in words.
func room(docs drill.Documents, quiet *flight) string {
	w := docs.Scenario.Drawn.Window
	if quiet == nil && w.Until == 0 {
		return "the window opens at " + clock(w.From)
	}
	if quiet == nil {
		return fmt.Sprintf("the window is open from %s to %s", clock(w.From), clock(w.Until))
	}
	open, whole := opened(docs, quiet), quiet.length()
	switch {
	case open == whole:
		return "the sitting lasts " + clock(whole)
	case open == 0 && w.From >= whole:
		return fmt.Sprintf("the window opens at %s, and by a hand that makes no mistake the sitting is over at %s", clock(w.From), clock(whole))
	}
	return fmt.Sprintf("%s of a sitting of %s lie in its window and phases", clock(open), clock(whole))
}

// often is how often, in words.
func often(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// opened is how much of an undisturbed sitting lies in the window and the phases of a drawn set.
func opened(docs drill.Documents, quiet *flight) time.Duration {
	d := docs.Scenario.Drawn
	var sum, from time.Duration
	within := len(d.Phases) == 0
	until := quiet.length()
	add := func(to time.Duration) {
		begin, end := max(from, d.Window.From), to
		if d.Window.Until > 0 {
			end = min(end, d.Window.Until)
		}
		if within && end > begin {
			sum += end - begin
		}
	}
	for i := range quiet.log {
		if e := &quiet.log[i]; e.Kind == logbook.Phase && len(d.Phases) > 0 {
			add(e.At)
			from, within = e.At, slices.Contains(d.Phases, e.Name)
		}
	}
	add(until)
	return sum
}
