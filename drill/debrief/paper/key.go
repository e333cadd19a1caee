package paper

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Key is what an instructor has in the hand while somebody sits a scenario: every right answer, and what comes when. It reveals.
//
// What is true and when it is comes from the logs of two runs without a clock in which every answer is right: one as the seed has it, and
// one of the same scenario with nothing put in.
type Key struct {
	Sheet
	Profile   *aircraft.Profile
	Procedure *procedure.Procedure // that is gone through with this seed
	Scenario  *scenario.Scenario
	Abnormals []*scenario.Abnormal // at least those that the scenario names
	Policy    scenario.Policy
	Seed      uint64
	Run       []logbook.Entry    // as the seed has it
	Healthy   []logbook.Entry    // with nothing put in
	Readings  map[string]float64 // what a healthy aircraft showed as items were done that are read, by their ids, where nobody typed it
	About     []string           // of the weather, and the like
	Pass      []string           // what has to be reached
	Command   string             // that has the same come
}

type keyBody struct {
	Title, Aircraft, Policy, Command string
	Seed                             uint64
	About, Pass                      []string
	Phases                           []keyPhase
	Comes                            []interruption
	Stays                            []string // what does not come in this run, and what would have it come
	Drawn                            string
	Ends                             string // how the healthy run ended, where it did not come to its end
	Watched                          bool   // the other pilot acts
}

type keyPhase struct {
	No    int
	Title string
	Items []keyItem
}

type keyItem struct {
	No        int
	Challenge string
	Right     string // in a healthy run
	Here      string // as the seed has it, where that differs
	At        string // when it is asked
	Comes     []string
}

// interruption is one that comes.
type interruption struct {
	No                                     int
	Title, Name, At, Item, Rule            string
	Harmless                               bool
	Shows, Noticed, About, Outcome         string
	Actions, Also, Worse                   []string
	Handled, Lost, Then, Likewise, Telling string
}

// Write writes the key. It is the same for the same runs. Errors are those of the writer.
func (k *Key) Write(w io.Writer) error {
	title := k.Scenario.Title + ": key for the instructor"
	f := frame{
		Sheet: k.Sheet, Title: title, Warns: "FOR THE INSTRUCTOR – it reveals what will come",
		Of: fmt.Sprintf("%s (%s), seed %d", k.Scenario.Title, k.Scenario.Name, k.Seed), Body: k.body(),
	}
	return f.write(w, keyPage)
}

func (k *Key) body() *keyBody {
	w := newWords(k.Profile)
	b := &keyBody{
		Title: k.Scenario.Title, Aircraft: k.Profile.Title, Policy: string(k.Policy.Name) + ": " + k.Policy.About, Command: k.Command, Seed: k.Seed,
		About: k.About, Pass: k.Pass, Watched: k.Policy.Acts == logbook.Pilot,
	}
	run, healthy := readRun(k.Run), readRun(k.Healthy)
	healthy.readings = k.Readings
	if !healthy.complete {
		b.Ends = healthy.ended
	}
	numbers := map[string]string{}
	no := 0
	k.Procedure.Each(func(_ *procedure.Phase, it *procedure.Item) {
		no++
		numbers[it.ID] = fmt.Sprintf("%d “%s”", no, it.Challenge)
	})
	b.Comes = k.comes(w, run, numbers)
	if k.Policy.Flow != scenario.Nothing {
		no = 0
		for i, ph := range k.Procedure.Phases {
			phase := keyPhase{No: i + 1, Title: ph.Title}
			for j := range ph.Items {
				no++
				it := &ph.Items[j]
				item := keyItem{No: no, Challenge: it.Challenge, Right: w.right(it, healthy), At: run.asked(it.ID)}
				if here := w.right(it, run); w.differs(it, healthy, run) {
					item.Here = here
				}
				for _, in := range b.Comes {
					if in.Item == it.ID {
						item.Comes = append(item.Comes, fmt.Sprintf("%d. %s", in.No, in.Title))
					}
				}
				phase.Items = append(phase.Items, item)
			}
			b.Phases = append(b.Phases, phase)
		}
	}
	for i := range b.Comes {
		b.Comes[i].Item = numbers[b.Comes[i].Item]
	}
	b.Stays, b.Drawn = k.stays(w, run, numbers), k.drawn()
	return b
}

// happened is what the log of a run says.
type happened struct {
	asks     map[string]time.Duration // when an item was first asked
	answers  map[string]logbook.Entry // the last answer to an item
	truths   map[string][]string      // what was right each time that a look was answered, one after the other, changes only
	skipped  map[string]bool
	done     map[string]bool
	readings map[string]float64 // see Key
	log      []logbook.Entry
	complete bool
	ended    string
}

func readRun(log []logbook.Entry) *happened {
	h := &happened{asks: map[string]time.Duration{}, answers: map[string]logbook.Entry{}, truths: map[string][]string{}, skipped: map[string]bool{}, done: map[string]bool{}, log: log}
	for _, e := range log {
		switch e.Kind {
		case logbook.Ask:
			if _, before := h.asks[e.Item]; !before {
				h.asks[e.Item] = e.At
			}
			h.skipped[e.Item] = false
		case logbook.Answer:
			h.answers[e.Item] = e
			if said := h.truths[e.Item]; len(said) == 0 || said[len(said)-1] != e.Truth {
				h.truths[e.Item] = append(said, e.Truth)
			}
		case logbook.Done:
			h.done[e.Item] = true
		case logbook.Skip:
			h.skipped[e.Item] = !h.done[e.Item]
		case logbook.End:
			h.complete, h.ended = e.OK, e.Text
		}
	}
	return h
}

// asked is when an item was asked.
func (h *happened) asked(item string) string {
	if at, ok := h.asks[item]; ok {
		return clock(at)
	}
	return "–"
}

// clock is running time in minutes and seconds.
func clock(at time.Duration) string {
	s := int(at.Round(time.Second) / time.Second)
	return fmt.Sprintf("%02d:%02d", s/60, s%60)
}

// differs reports whether the right answer to an item is another one in one run than in the other: a reading has to differ by more than an
// answer may be off.
func (w *words) differs(it *procedure.Item, a, b *happened) bool {
	if a.skipped[it.ID] != b.skipped[it.ID] {
		return true
	}
	x, inA := a.answers[it.ID]
	y, inB := b.answers[it.ID]
	if inA && inB && it.Read != "" {
		i, ok := w.prof.GaugeIndex(it.Read)
		return ok && max(x.Value-y.Value, y.Value-x.Value) > w.prof.Gauges[i].Legible()
	}
	if inA != inB || a.done[it.ID] != b.done[it.ID] {
		return true
	}
	return it.Callout == nil && it.Figure == nil && len(it.Set) == 0 && !slices.Equal(a.truths[it.ID], b.truths[it.ID])
}

// right is the right answer to an item in a run.
func (w *words) right(it *procedure.Item, h *happened) string {
	if h.skipped[it.ID] {
		switch {
		case it.Fitted != nil && !*it.Fitted:
			return "not asked: not fitted"
		case it.When != "":
			return "not asked, since this is not so: " + w.condition(it.When)
		}
		return "not asked: it cannot be told"
	}
	answer, answered := h.answers[it.ID]
	switch it.Kind() {
	case procedure.Set:
		return w.moves(it.Set)
	case procedure.Callout:
		return "Enter as " + w.passing(it.Callout)
	case procedure.Figure:
		return w.within(it.Figure.Gauge, it.Figure.Value)
	case procedure.Read:
		switch {
		case answered && answer.Truth != "":
			return w.gauge(it.Read) + " " + w.within(it.Read, answer.Value)
		case answered:
			return w.gauge(it.Read) + " is dead"
		}
		if v, known := h.readings[it.ID]; known {
			return w.gauge(it.Read) + " " + w.within(it.Read, v)
		}
	}
	switch {
	case h.done[it.ID] && !answered: // said by the other pilot, of whom the log asks no reason
		return "“" + it.Response + "”"
	case !answered:
		return "not reached"
	}
	var said []string
	for _, truth := range h.truths[it.ID] {
		if truth == logbook.No {
			said = append(said, "Backspace: no")
		} else {
			said = append(said, "Enter: "+it.Response)
		}
	}
	return strings.Join(said, "; then ")
}

// within is a value and by how much an answer may be off.
func (w *words) within(gauge string, v float64) string {
	text := w.value(gauge, v)
	if i, ok := w.prof.GaugeIndex(gauge); ok && w.prof.Gauges[i].Tolerance > 0 {
		text += " ± " + number(w.prof.Gauges[i].Tolerance)
	}
	return text
}

// abnormal finds an abnormal by its name; nil if there is none.
func (k *Key) abnormal(name string) *scenario.Abnormal {
	i := slices.IndexFunc(k.Abnormals, func(a *scenario.Abnormal) bool { return a.Name == name })
	if i < 0 {
		return nil
	}
	return k.Abnormals[i]
}

// comes is what comes in the run, in order. Item is the id of the item that was asked last before.
func (k *Key) comes(w *words, run *happened, numbers map[string]string) []interruption {
	var list []interruption
	open := map[string]int{} // by injection: its place in the list
	came := map[string]time.Duration{}
	asked := ""
	for _, e := range run.log {
		switch e.Kind {
		case logbook.Ask:
			asked = e.Item
		case logbook.Inject:
			in := interruption{No: len(list) + 1, Name: e.Abnormal, Title: e.Abnormal, At: clock(e.At), Item: asked, Harmless: e.OK}
			if a := k.abnormal(e.Abnormal); a != nil {
				k.tell(w, &in, a, numbers)
			}
			in.Rule = strings.Join(k.rules(w, e.Abnormal, numbers), "; or ")
			open[e.Injection] = len(list)
			list = append(list, in)
			came[e.Injection] = e.At
		case logbook.Onset:
			if i, ok := open[e.Injection]; ok {
				list[i].Shows = w.sign(e.Class, e.Name) + ", as it goes in"
				if after := e.At - came[e.Injection]; after >= 100*time.Millisecond {
					list[i].Shows = fmt.Sprintf("%s, %.1f s after it goes in", w.sign(e.Class, e.Name), after.Seconds())
				}
			}
		case logbook.Handled, logbook.Lost, logbook.Cleared:
			if i, ok := open[e.Injection]; ok {
				list[i].Outcome = outcome(e)
				if e.Item != "" && numbers[e.Item] != "" && e.Kind != logbook.Cleared {
					list[i].Outcome += "; the flow is resumed at " + numbers[e.Item]
				}
			}
		}
	}
	return list
}

// outcome says how an interruption ends where every answer is right.
func outcome(e logbook.Entry) string {
	switch {
	case e.Kind == logbook.Cleared:
		return "over at " + clock(e.At)
	case e.Kind == logbook.Handled:
		return "handled at " + clock(e.At)
	case e.Why == logbook.Unseen:
		return "never shows itself; taken out at " + clock(e.At)
	}
	return "not recovered by " + clock(e.At)
}

// sign is what first shows.
func (w *words) sign(class logbook.Class, name string) string {
	switch class {
	case logbook.Call:
		return "the call"
	case logbook.Missing:
		return w.cue(name) + " does not come"
	}
	return w.cue(name)
}

// tell says of an interruption what its abnormal says.
func (k *Key) tell(w *words, in *interruption, a *scenario.Abnormal, numbers map[string]string) {
	in.Title, in.Harmless, in.About, in.Telling = a.Title, a.Harmless, a.About, a.Call
	var cues []string
	for _, id := range a.Cues {
		if id == scenario.Call {
			cues = append(cues, "the call")
			continue
		}
		cues = append(cues, w.cue(id))
	}
	in.Noticed = strings.Join(cues, ", ")
	for _, action := range a.Actions {
		text := fmt.Sprintf("%s, within %s", action.Say, long(action.Within))
		switch {
		case len(action.Set) > 0:
			text += " (" + w.moves(action.Set) + ")"
		case action.Silence:
			text += " (silence the horn)"
		case action.Answer != "":
			text += " (answer " + action.Answer + ")"
		}
		if action.After != "" {
			text += ", not before " + w.condition(action.After)
		}
		if action.Group != "" {
			text += ", in any order with the others of " + action.Group
		}
		in.Actions = append(in.Actions, text)
	}
	move := func(m scenario.Move) string { return w.moves(m.Set) + ". " + m.Say }
	for _, m := range a.Also {
		in.Also = append(in.Also, move(m))
	}
	for _, m := range a.Worse {
		in.Worse = append(in.Worse, move(m))
	}
	in.Handled, in.Lost = w.condition(a.Handled), w.condition(a.Lost)
	if a.Timeout > 0 && !a.Harmless {
		in.Lost = strings.TrimPrefix(in.Lost+"; or after "+long(a.Timeout), "; or ")
	}
	if !a.Harmless {
		in.Then = a.Closing()
	}
	if numbers[a.BackTo] != "" {
		in.Likewise = numbers[a.BackTo]
	}
}

// rules is what has an abnormal come.
func (k *Key) rules(w *words, abnormal string, numbers map[string]string) []string {
	var list []string
	for _, in := range k.Scenario.Injections {
		if in.Abnormal == abnormal {
			list = append(list, w.moment(in, numbers))
		}
	}
	if d := k.Scenario.Drawn; d != nil && slices.Contains(d.From, abnormal) {
		list = append(list, "drawn")
	}
	return list
}

// moment is when an injection comes.
func (w *words) moment(in scenario.Injection, numbers map[string]string) string {
	after := "as soon as "
	if in.After > 0 {
		after = long(in.After) + " after "
	}
	switch {
	case in.During != "" && numbers[in.During] != "":
		return after + numbers[in.During] + " is asked"
	case in.During != "":
		return after + in.During + " is asked, which is not gone through"
	case in.When != "":
		return after + "this is so: " + w.condition(in.When)
	}
	return "at " + clock(in.At+in.After)
}

// stays is what the scenario puts in and does not come in this run.
func (k *Key) stays(w *words, run *happened, numbers map[string]string) []string {
	came := map[string]int{}
	for _, e := range run.log {
		if e.Kind == logbook.Inject {
			came[e.Abnormal]++
		}
	}
	var list []string
	for _, in := range k.Scenario.Injections {
		if came[in.Abnormal] > 0 {
			came[in.Abnormal]--
			continue
		}
		title := in.Abnormal
		if a := k.abnormal(in.Abnormal); a != nil {
			title = a.Title
		}
		list = append(list, title+": "+w.moment(in, numbers))
	}
	return list
}

// drawn says what is drawn from.
func (k *Key) drawn() string {
	d := k.Scenario.Drawn
	if d == nil {
		return ""
	}
	var titles []string
	for _, name := range d.From {
		if a := k.abnormal(name); a != nil {
			name = a.Title
		}
		titles = append(titles, name)
	}
	return fmt.Sprintf("up to %d of: %s. Gaps of %s and more, %s at the most.", d.Count, strings.Join(titles, "; "), long(d.MinGap), long(d.MinGap+d.MaxGap))
}
