package score

import (
	"fmt"
	"maps"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
)

// course is a sitting as it is to be gone through, with everything drawn beforehand, so that doing one thing worse changes
// that thing and nothing else.
type course struct {
	sheet   *Sheet
	items   []part
	spells  map[int]*spell // before an item, by its place
	red     time.Duration  // in a red band, beyond what an abnormal brought with it
	held    int            // an item that was not right where it had to be; -1: none
	inspect int            // place at which a limit is passed; -1: none
	acts    map[int]string // what the instructor does before an item
	back    map[int]int    // after an item, back to an earlier one: all from there on are done again
	anew    bool           // the slips are made as they are done again, and not the first time
}

// part is how one item is done.
type part struct {
	reaction, breath, extra time.Duration
	truth                   string
	how                     string // see the slips
	taken                   bool   // something is wrong with it already
}

// spell is an injection and how it is met.
type spell struct {
	harmless bool
	class    logbook.Class
	notice   time.Duration // from the onset to the stop call
	act      [2]time.Duration
	lag      time.Duration
	how      string
	resumed  logbook.Reason
	later    time.Duration
}

// The slips with an item, beside those of properties_test.go.
const (
	later    = "later"
	rote     = "rote"
	ahead    = "ahead"
	overshot = "overshot"
	swapped  = "swapped" // with the next one
	stopped  = "stopped" // stop was called for nothing
)

// The slips with an injection.
const (
	unnoticed  = "unnoticed"
	worsened   = "worsened"
	otherFirst = "other first"
	wrongOrder = "wrong order"
	leftOut    = "an action left out"
	told       = "told"
	hornOnly   = "only silenced"
	fiddled    = "fiddled beside it"
	takenFor   = "taken for one"
	placeLost  = "place lost"
	askedToGo  = "asked to go on"
)

func anyCourse(t *rapid.T) *course {
	c := &course{sheet: anySheet(t), spells: map[int]*spell{}, held: -1, inspect: -1, acts: map[int]string{}, back: map[int]int{}, anew: rapid.Bool().Draw(t, "anew")}
	c.sheet.Pass = strict()
	for i := range c.sheet.Items {
		it := &c.sheet.Items[i]
		if i > 0 && rapid.Bool().Draw(t, "rank of its own") {
			it.Rank = c.sheet.Items[i-1].Rank + 1
		} else if i > 0 {
			it.Rank = c.sheet.Items[i-1].Rank
		}
		least := 100
		if it.Kind.Looked() {
			least = 1000
		}
		if it.Kind == procedure.Set {
			it.Controls = []string{it.ID}
		}
		c.items = append(c.items, part{
			reaction: at(rapid.IntRange(least, 2000).Draw(t, "reaction")), breath: at(rapid.IntRange(300, 20000).Draw(t, "breath")),
			extra: at(rapid.IntRange(1, 5000).Draw(t, "extra")), truth: rapid.SampledFrom([]string{logbook.Yes, logbook.No}).Draw(t, "truth"),
		})
	}
	for i := range c.items {
		if rapid.IntRange(0, 4).Draw(t, "injection") > 0 {
			continue
		}
		c.spells[i] = &spell{
			harmless: rapid.Bool().Draw(t, "harmless"), class: rapid.SampledFrom([]logbook.Class{logbook.Horn, logbook.Caption, logbook.Gauge, logbook.Missing}).Draw(t, "class"),
			notice: at(rapid.IntRange(100, 900).Draw(t, "notice")), act: [2]time.Duration{at(rapid.IntRange(900, 1500).Draw(t, "first")), at(rapid.IntRange(1600, 3000).Draw(t, "second"))},
			lag: at(rapid.IntRange(300, 3000).Draw(t, "lag")), resumed: logbook.AtPlace, later: at(rapid.IntRange(1, 9000).Draw(t, "later")),
		}
		c.items[i].taken = !c.spells[i].harmless // resumed unprompted
	}
	if rapid.IntRange(0, 2).Draw(t, "instructor") == 0 {
		for i := range c.items {
			switch rapid.IntRange(0, 9).Draw(t, "act") {
			case 0:
				c.acts[i] = rapid.SampledFrom([]string{"weather", "fuel", "power", "sound", "say", "remark", "freeze", "cannot"}).Draw(t, "what")
			case 1:
				c.back[i] = rapid.IntRange(0, i).Draw(t, "to")
			}
		}
	}
	red := c.brought()
	c.sheet.Pass.RedBand = &red
	return c
}

// log writes the course down.
func (c *course) log() []logbook.Entry {
	w := &scribe{}
	for i := 0; i < len(c.items); i++ {
		if i == c.inspect {
			w.add(logbook.Entry{Kind: logbook.Inspect, Name: "hot", Text: "Too hot."})
			break
		}
		s := c.spells[i]
		c.instruct(w, i)
		if s != nil {
			c.meet(w, i, s)
		}
		how := c.items[i].how
		if _, again := c.setBack(i); again && c.anew {
			c.items[i].how = ""
		}
		switch {
		case s != nil && !s.harmless:
			c.resume(w, i, s)
		case c.items[i].how == swapped:
			w.now += time.Second
			c.finish(w, i+1, "")
			c.do(w, i)
			i++
		default:
			c.do(w, i)
		}
		w.now += c.items[i].breath
		if place, again := c.setBack(i); again && c.anew {
			c.items[place].how = how
		}
		if from, is := c.back[i]; is {
			c.again(w, from, i)
		}
	}
	if c.held >= 0 {
		w.add(logbook.Entry{Kind: logbook.Held, Item: c.sheet.Items[c.held].ID, OK: true})
	}
	w.add(logbook.Entry{Kind: logbook.Peak, Name: "nr", Class: logbook.Highest, Value: 100})
	w.add(logbook.Entry{Kind: logbook.Exceeded, Name: "nr", Length: c.red + c.brought()})
	if c.inspect >= 0 {
		return w.endAs(logbook.Inspection)
	}
	return w.endAs(logbook.Complete)
}

// instruct has the instructor do something before an item.
func (c *course) instruct(w *scribe, i int) {
	e := logbook.Entry{Kind: logbook.Instruct, Seat: logbook.Instructor, Name: c.acts[i], Text: "on", Value: 5}
	switch e.Name {
	case "":
	case "freeze":
		w.add(logbook.Entry{Kind: logbook.Paused, Seat: logbook.Instructor})
		w.add(logbook.Entry{Kind: logbook.Unpaused, Seat: logbook.Instructor, Length: time.Minute})
	case "cannot":
		e.Name, e.Why = "fuel", logbook.OutOfRange
		w.add(e)
	default:
		w.add(e)
	}
}

// setBack reports whether an item is done again, the instructor having set back to before it.
func (c *course) setBack(i int) (place int, is bool) {
	for after, from := range c.back {
		if i >= from && i <= after {
			return i, true
		}
	}
	return i, false
}

// again sets back to an item, and has all that were done from there on done again.
func (c *course) again(w *scribe, from, to int) {
	w.add(logbook.Entry{Kind: logbook.Instruct, Seat: logbook.Instructor, Name: "back", Abnormal: "p"})
	for k := from; k <= to; k++ {
		w.add(logbook.Entry{Kind: logbook.Reopen, Seat: logbook.Instructor, Item: c.sheet.Items[k].ID})
	}
	for k := from; k <= to; k++ {
		how := c.items[k].how
		if !c.anew || how == swapped {
			c.items[k].how = ""
		}
		c.do(w, k)
		c.items[k].how = how
		w.now += c.items[k].breath
	}
}

// brought is the time in a red band that the abnormals bring with them.
func (c *course) brought() (red time.Duration) {
	for _, s := range c.spells {
		if !s.harmless {
			red += time.Second
		}
	}
	return red
}

// do asks an item and has it done.
func (c *course) do(w *scribe, i int) {
	it, p := &c.sheet.Items[i], &c.items[i]
	reaction, why := p.reaction, logbook.Reason("")
	switch p.how {
	case ahead:
		w.now += time.Second
		c.finish(w, i, "")
		return
	case later:
		reaction += p.extra
	case rote:
		reaction = at(150)
	case early:
		reaction, why = at(-300), logbook.Over
	case not:
		w.ask(it.ID, int((w.now+time.Second)/time.Millisecond))
		w.now += time.Second + 2*it.Limit
		w.add(logbook.Entry{Kind: logbook.TimedOut, Item: it.ID})
		return
	}
	start := w.now
	w.ask(it.ID, int((start+time.Second)/time.Millisecond))
	if p.how == stopped {
		w.now = start + at(900)
		w.add(logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee})
	}
	w.now = start + time.Second + reaction
	c.finish(w, i, why)
}

// finish answers an item, and does with it what is done beyond that.
func (c *course) finish(w *scribe, i int, why logbook.Reason) {
	it, p := &c.sheet.Items[i], &c.items[i]
	ok := p.how != wrongly
	switch it.Kind {
	case procedure.Check, procedure.Confirm:
		said := p.truth
		if !ok {
			said = map[string]string{logbook.Yes: logbook.No, logbook.No: logbook.Yes}[said]
		}
		w.add(logbook.Entry{Kind: logbook.Answer, Seat: logbook.Trainee, Item: it.ID, Text: said, Truth: p.truth, Why: why})
	case procedure.Callout:
		w.add(logbook.Entry{Kind: logbook.Answer, Seat: logbook.Trainee, Item: it.ID, Why: logbook.Passing, Onset: w.now - p.reaction})
	}
	w.add(logbook.Entry{Kind: logbook.Done, Seat: logbook.Trainee, Item: it.ID, OK: ok, Why: why})
	switch p.how {
	case again:
		w.add(logbook.Entry{Kind: logbook.Again, Item: it.ID})
	case strayed:
		w.add(logbook.Entry{Kind: logbook.Stray, Seat: logbook.Trainee, Key: "w", Control: "fire_test2"})
	case overshot:
		w.add(logbook.Entry{Kind: logbook.Overshoot, Item: it.ID, Control: it.ID})
		w.add(logbook.Entry{Kind: logbook.Fixed, Item: it.ID, OK: true})
	}
}

// meet has an injection come before an item, and be met.
func (c *course) meet(w *scribe, i int, s *spell) {
	name := map[bool]string{false: "walker", true: "passer-by"}[s.harmless]
	id := fmt.Sprintf("%s#%d", name, i)
	add := func(after time.Duration, start time.Duration, e logbook.Entry) {
		w.now = max(w.now, start+after)
		e.Seat, e.Injection = logbook.Trainee, id
		w.add(e)
	}
	start := w.now
	w.add(logbook.Entry{Kind: logbook.Inject, Injection: id, Abnormal: name, OK: s.harmless})
	w.cue++
	w.add(logbook.Entry{Kind: logbook.Cue, Cue: w.cue, Class: s.class, Name: "low_nr", Onset: start})
	w.add(logbook.Entry{Kind: logbook.Onset, Injection: id, Cue: w.cue, Class: s.class, Name: "low_nr"})
	end := func(kind logbook.Kind) {
		w.add(logbook.Entry{Kind: logbook.Figure, Injection: id, Name: "nr", Class: logbook.Lowest, Value: 80, Length: time.Second})
		w.add(logbook.Entry{Kind: kind, Injection: id, Item: c.sheet.Items[i].ID})
		w.now += time.Second
	}
	if s.harmless {
		if s.how == takenFor {
			w.now += time.Second
			w.add(logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee})
		}
		w.now = start + 5*time.Second
		end(logbook.Handled)
		return
	}
	notice, first, second := s.notice, s.act[0], s.act[1]
	order := []int{1, 2}
	switch s.how {
	case later:
		notice, first, second = notice+s.later, first+s.later, second+s.later
	case told:
		add(at(50), start, logbook.Entry{Kind: logbook.Told})
	case unnoticed, hornOnly:
		if s.how == hornOnly {
			w.now = start + notice
			w.add(logbook.Entry{Kind: logbook.Silence, Seat: logbook.Trainee, Name: "low_nr", OK: true})
		}
		w.now = start + 30*time.Second
		end(logbook.Lost)
		return
	case wrongOrder:
		order = []int{2, 1}
	}
	w.now = start + notice
	w.add(logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee})
	switch s.how {
	case otherFirst:
		w.now += at(10)
		w.add(logbook.Entry{Kind: logbook.Stray, Seat: logbook.Trainee, Control: "gen1"})
	case worsened:
		w.now += at(10)
		w.add(logbook.Entry{Kind: logbook.Worse, Injection: id, Control: "gen1", Text: "bad"})
	}
	add(first, start, logbook.Entry{Kind: logbook.Action, Number: order[0]})
	if s.how == fiddled {
		w.now += at(10)
		w.add(logbook.Entry{Kind: logbook.Stray, Seat: logbook.Trainee, Control: "gen1"})
	}
	if s.how == leftOut {
		w.now = start + 30*time.Second
		end(logbook.Lost)
		return
	}
	add(second, start, logbook.Entry{Kind: logbook.Action, Number: order[1]})
	end(logbook.Handled)
}

// resume goes on with the flow at an item, unprompted.
func (c *course) resume(w *scribe, i int, s *spell) {
	switch s.how {
	case askedToGo:
		w.add(logbook.Entry{Kind: logbook.Prompted, Item: c.sheet.Items[i].ID})
		w.now += s.lag
	case placeLost:
		w.now += s.lag
		w.add(logbook.Entry{Kind: logbook.Again, Item: c.sheet.Items[max(0, i-1)].ID})
		w.add(logbook.Entry{Kind: logbook.Resumed, Item: c.sheet.Items[max(0, i-1)].ID, Why: logbook.Twice, Length: s.lag})
	default:
		w.now += s.lag
		w.add(logbook.Entry{Kind: logbook.Resumed, Item: c.sheet.Items[i].ID, Why: logbook.AtPlace, Length: s.lag})
	}
	c.finish(w, i, "")
}

// worsen does one thing worse that has been done well so far, and says what; empty if there was nothing left to be done worse.
func (c *course) worsen(t *rapid.T) string {
	if n := rapid.IntRange(0, 15).Draw(t, "of the sitting"); n < 3 {
		return c.worsenAll(n)
	}
	if places := slices.Sorted(maps.Keys(c.spells)); len(places) > 0 && rapid.IntRange(0, 2).Draw(t, "an injection") == 0 {
		place := rapid.SampledFrom(places).Draw(t, "which")
		s := c.spells[place]
		if s.how != "" {
			return ""
		}
		s.how = takenFor
		if !s.harmless {
			s.how = rapid.SampledFrom([]string{later, unnoticed, worsened, otherFirst, wrongOrder, leftOut, told, hornOnly, fiddled, placeLost, askedToGo}).Draw(t, "how")
		}
		return fmt.Sprintf("injection before %d: %s", place, s.how)
	}
	i := rapid.IntRange(0, len(c.items)-1).Draw(t, "item")
	p, kind := &c.items[i], c.sheet.Items[i].Kind
	if p.taken {
		return ""
	}
	hows := []string{later, not, again, strayed, wrongly, stopped}
	if c.sheet.Items[i].Kind.Looked() {
		hows = append(hows, rote, early)
	}
	if kind == procedure.Set {
		hows = append(hows, early, ahead, overshot)
	}
	if kind == procedure.Callout {
		hows = []string{not, again, strayed, wrongly, stopped}
	}
	_, again := c.setBack(i)
	_, nextAgain := c.setBack(i + 1)
	once := !again && !nextAgain // a set back between the two would be lost
	if once && i+1 < len(c.items) && !c.items[i+1].taken && c.spells[i+1] == nil && c.sheet.Items[i].Rank != c.sheet.Items[i+1].Rank {
		hows = append(hows, swapped)
	}
	p.how, p.taken = rapid.SampledFrom(hows).Draw(t, "how"), true
	if p.how == swapped {
		c.items[i+1].taken = true
	}
	if p.how == ahead && i > 0 && c.sheet.Items[i-1].Rank == c.sheet.Items[i].Rank {
		p.how = not // it may be done before it is asked for
	}
	return fmt.Sprintf("item %d: %s", i, p.how)
}

func (c *course) worsenAll(n int) string {
	switch {
	case n == 0:
		c.red += 2 * time.Second
		return "red"
	case n == 1 && c.held < 0:
		c.held = 0
		return "held"
	case n == 2 && c.inspect < 0:
		last := 0
		for place := range c.spells {
			last = max(last, place+1)
		}
		for after := range c.back {
			last = max(last, after+1) // and what is done again: it may be timed only then
		}
		for i, p := range c.items {
			if p.how == swapped {
				last = max(last, i+2)
			}
			if p.how != "" {
				last = max(last, i+1) // what has been done badly stays done
			}
		}
		if last < len(c.items) {
			c.inspect = last
			for i := last; i < len(c.items); i++ {
				c.items[i].taken = true
			}
			return fmt.Sprintf("inspection at %d", last)
		}
	}
	return ""
}

// better says which figure of a result is better than it was, empty if none is.
func better(was, is *Result) string {
	const rounding = 1e-9
	higher := func(a, b *float64) bool { return a != nil && b != nil && *b > *a+rounding }
	switch {
	case is.Passed && !was.Passed:
		return "it passes"
	case higher(was.Index.Value, is.Index.Value):
		return fmt.Sprintf("index %v, and it was %v", *is.Index.Value, *was.Index.Value)
	case higher(was.Order.Figure, is.Order.Figure):
		return fmt.Sprintf("order %v, and it was %v", *is.Order.Figure, *was.Order.Figure)
	case is.Reactions.MedianMS < was.Reactions.MedianMS-rounding:
		return fmt.Sprintf("median %v, and it was %v", is.Reactions.MedianMS, was.Reactions.MedianMS)
	case higher(was.Looking.Sensitivity, is.Looking.Sensitivity):
		return fmt.Sprintf("d' %v, and it was %v: %+v, %+v", *is.Looking.Sensitivity, *was.Looking.Sensitivity, is.Looking, was.Looking)
	}
	for _, a := range was.Index.Parts {
		for _, b := range is.Index.Parts {
			if a.Name == b.Name && b.Share > a.Share+rounding {
				return fmt.Sprintf("%s %v of %d, and it was %v of %d", a.Name, b.Share, b.Count, a.Share, a.Count)
			}
		}
	}
	for _, a := range was.Criteria {
		for _, b := range is.Criteria {
			if a.Name == b.Name && b.Met && !a.Met {
				return fmt.Sprintf("%s is met: %s, and it was %s", a.Name, b.Got, a.Got)
			}
		}
	}
	for _, a := range was.Reactions.Classes {
		for _, b := range is.Reactions.Classes {
			if a.Class == b.Class && (b.MedianMS < a.MedianMS-rounding || b.UpperQuartileMS < a.UpperQuartileMS-rounding || b.WithinPar > a.WithinPar) {
				return fmt.Sprintf("%s %+v, and it was %+v", a.Class, b, a)
			}
		}
	}
	return ""
}

// Doing one thing after the other worse (later, not at all, swapped, again, too far, beside it, by rote, over the challenge,
// ahead of it, wrongly, stopped for nothing; an abnormal noticed late or not, acted on in the wrong way, a look-alike taken for
// one, the place lost; a limit passed, an item not right where it had to be) never makes a figure or a verdict better.
func TestWorseIsNeverBetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCourse(t)
		was := Judge(c.sheet, c.log())
		if !was.Passed || *was.Index.Value != 100 {
			t.Fatalf("all was done well: passed %v, %+v, %+v", was.Passed, was.Index, was.Criteria)
		}
		for range rapid.IntRange(1, 6).Draw(t, "how many") {
			what := c.worsen(t)
			if what == "" {
				continue
			}
			is := Judge(c.sheet, c.log())
			if b := better(was, is); b != "" {
				t.Fatalf("%s: %s", what, b)
			}
			was = is
		}
	})
}
