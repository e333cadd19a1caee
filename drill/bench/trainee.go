// Package bench has what an instructor tries a scenario with before anybody sits down to it: a trainee on paper, and what an
// abnormal would have cost at another pace.
package bench

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"hornlark/drill"
	"hornlark/drill/condition"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Trainee answers a sitting in place of a person: perfectly, or as some answers say. It goes by the view that a person has,
// knows the procedure by heart, and keeps its own place in it. Beside that it holds the key to the answers: which abnormal is
// in the aircraft and since when it shows, because answers name abnormals. All its times are those of the callers.
type Trainee struct {
	sitting *drill.Sitting
	view    drill.View
	flow    *flow
	policy  scenario.Policy
	answers *scenario.Answers
	lines   []line // the listed answers, in order
	key     key
	after   map[string][]*condition.Condition // of the actions of each abnormal; nil: at any moment

	pressed time.Duration // when it last pressed anything
	horn    time.Duration // since when an alert has been sounding
	stopped time.Duration // since when the partner has been stopped, and nothing is wrong
	acting  time.Duration // since when there has been something to do about what shows; zero: nothing yet
	reading string        // what it means to type
	last    wish          // what Next gave

	at      int           // the item that it deals with; -1: none
	since   time.Duration // since when it could
	touched bool          // it has pressed something for it
	given   bool          // it has answered it
	passed  time.Duration // when the value that it calls was passed; zero: not yet
	fixing  bool          // it has refused the item and puts it right
	resumes bool          // an abnormal that it dealt with is over: it goes on by itself
	quiet   time.Duration // when the crew will have spoken

	acted int // acts of the instructor that have been done

	standIn *standIn // whose way through the flow it is, if it is that of one with the times of a person
}

// line is one listed answer and how much of it has been given.
type line struct {
	*scenario.Answer
	presses []drill.Press
	given   int
	begun   time.Duration // when its occasion came; set once
	due     bool
	spent   bool // it was given before its item was to be done again
}

// wish is a press that the trainee means to make.
type wish struct {
	press drill.Press
	since time.Duration // since when there has been a reason
	wait  time.Duration // from the reason to the press
	line  *line         // that it comes from, if from any
	item  bool          // it is for the item that is dealt with
}

// NewTrainee makes a trainee for a sitting of an exercise. It errs if the answers speak of items that the exercise does not
// have, or cannot be given.
func NewTrainee(ex *drill.Exercise, s *drill.Sitting, answers *scenario.Answers) (*Trainee, error) {
	f, err := newFlow(ex, s.Seed())
	if err != nil {
		return nil, err
	}
	t := &Trainee{sitting: s, flow: f, policy: ex.Policy(), answers: answers, at: -1}
	t.key.abnormals = ex.Abnormals()
	if t.after, err = moments(ex); err != nil {
		return nil, err
	}
	t.key.flow = f
	if err := f.change(answers, t.policy); err != nil {
		return nil, err
	}
	for i := range answers.Answers {
		a := &answers.Answers[i]
		l := line{Answer: a}
		if a.Item != "" {
			if _, err := f.index(a.Item); err != nil {
				return nil, err
			}
		}
		for _, text := range a.Press {
			p, err := drill.ParsePress(text)
			if err != nil {
				return nil, fmt.Errorf("answers: %w", err)
			}
			l.presses = append(l.presses, p)
		}
		t.lines = append(t.lines, l)
	}
	return t, t.checkActs(ex)
}

// checkActs says which act of the instructor speaks of what the exercise does not have.
func (t *Trainee) checkActs(ex *drill.Exercise) error {
	for i, act := range t.answers.Acts {
		phase := act.Phase
		switch {
		case act.Do == string(drill.Insert) && !slices.Contains(ex.CanInsert(), act.What):
			return fmt.Errorf("answers: instructor[%d]: no abnormal %q can be put into this scenario; there are %s", i, act.What, cmp.Or(strings.Join(ex.CanInsert(), ", "), "none"))
		case act.Do == string(drill.SetBack):
			phase = act.What
		}
		if phases := ex.Procedure(t.sitting.Seed()).PhaseIDs(); phase != "" && !slices.Contains(phases, phase) {
			return fmt.Errorf("answers: instructor[%d]: no phase %q is gone through; there are %s", i, phase, strings.Join(phases, ", "))
		}
		if act.Item != "" {
			if _, err := t.flow.index(act.Item); err != nil {
				return err
			}
		}
	}
	return nil
}

// NextAct is what the instructor does next, by the answers.
func (t *Trainee) NextAct() (at time.Duration, act drill.Instruct, ok bool) {
	if t.acted >= len(t.answers.Acts) {
		return 0, drill.Instruct{}, false
	}
	a := &t.answers.Acts[t.acted]
	return a.At, drill.Instruct{Do: drill.Instruction(a.Do), What: a.What, To: a.To, When: drill.Moment{At: a.Time, Phase: a.Phase, Item: a.Item}}, true
}

// Acted says that it is being done.
func (t *Trainee) Acted() { t.acted++ }

// moments compiles when the actions of abnormals are to be done.
func moments(ex *drill.Exercise) (map[string][]*condition.Condition, error) {
	docs, after := ex.Documents(), map[string][]*condition.Condition{}
	for _, a := range docs.Abnormals {
		for i := range a.Actions {
			if a.Profile != docs.Profile.Name || a.Actions[i].After == "" {
				continue
			}
			c, err := ex.Condition(a.Actions[i].After)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", a.Name, err)
			}
			if after[a.Name] == nil {
				after[a.Name] = make([]*condition.Condition, len(a.Actions))
			}
			after[a.Name][i] = c
		}
	}
	return after, nil
}

// Take hands the trainee an output of the sitting.
func (t *Trainee) Take(o drill.Output) {
	switch o := o.(type) {
	case drill.Log:
		if o.Entry.Kind == logbook.Reopen {
			t.answerAnew(o.Entry.Item)
		}
		t.key.take(&o.Entry)
		if t.key.ended != nil {
			t.over(t.key.ended)
			t.key.ended = nil
		}
	case drill.Say:
		if o.Voice == drill.Crew {
			t.quiet = o.Due + drill.Estimate(o.Text)
		}
	}
}

// over is the end of an abnormal: from where the flow is resumed.
func (t *Trainee) over(a *scenario.Abnormal) {
	if t.at < 0 {
		return
	}
	back, err := t.flow.index(a.BackTo)
	switch {
	case err == nil && back <= t.at:
		t.deal(back)
	case t.done():
		t.deal(t.at + 1)
	default:
		t.deal(t.at)
	}
	t.resumes = true
}

// done reports whether the item that is dealt with has been answered.
func (t *Trainee) done() bool {
	if t.at >= len(t.flow.items) {
		return false
	}
	it := t.flow.items[t.at]
	return t.given || it.kind == procedure.Set && t.touched && t.flow.inPosition(it.set, t.view.Positions)
}

// Next says what the trainee will press next and when.
func (t *Trainee) Next() (at time.Duration, p drill.Press, ok bool) {
	t.sitting.Glance(&t.view)
	t.last = wish{}
	if t.view.Ended || t.view.Paused {
		return 0, drill.Press{}, false
	}
	t.look()
	w, ok := t.wish()
	if fixed, any := t.fixed(); any && (!ok || t.when(fixed) < t.when(w)) {
		w, ok = fixed, true
	}
	if !ok {
		return 0, drill.Press{}, false
	}
	t.last = w
	return t.when(w), w.press, true
}

// when is the time at which a wish comes true.
func (t *Trainee) when(w wish) time.Duration {
	every := scenario.DefaultEvery
	if w.line != nil {
		every = cmp.Or(w.line.Every, every)
	}
	if t.standIn != nil {
		every = t.standIn.slips.every
	}
	return max(t.view.At, w.since+w.wait, t.pressed+every)
}

// fixed gives the first press of the listed answers that are to a time of the sitting. Until then they hold nothing up.
func (t *Trainee) fixed() (first wish, any bool) {
	for i := range t.lines {
		l := &t.lines[i]
		if l.At == 0 || l.given > 0 {
			continue
		}
		w := wish{press: l.presses[0], since: l.At, wait: l.After, line: l}
		if !any || t.when(w) < t.when(first) {
			first, any = w, true
		}
	}
	return first, any
}

// Pressed tells the trainee that what Next gave is being pressed.
func (t *Trainee) Pressed(at time.Duration) {
	t.pressed = at
	if t.last.line != nil {
		t.last.line.given++
	}
	if t.last.item {
		t.didPress(t.last.press)
	}
}

// reaction is how long a move, or a look, takes.
func (t *Trainee) reaction(look bool) time.Duration {
	if t.standIn != nil {
		return t.standIn.reactionOf()
	}
	if look {
		return cmp.Or(t.answers.Reaction, scenario.DefaultLook)
	}
	return cmp.Or(t.answers.Reaction, scenario.DefaultReaction)
}

// wish decides what to press. What is most urgent comes first: the abnormal, then the horn, then the flow.
func (t *Trainee) wish() (wish, bool) {
	if w, ok := t.listed(); ok {
		return w, true
	}
	if t.answers.StartFrom != scenario.Perfect {
		return wish{}, false
	}
	if w, ok := t.act(); ok {
		return w, true
	}
	if w, ok := t.silence(); ok {
		return w, true
	}
	if t.dealing() {
		return wish{}, false
	}
	if w, ok := t.goOn(); ok {
		return w, true
	}
	return t.item()
}

// listed gives the next press of the listed answer whose occasion has come.
func (t *Trainee) listed() (wish, bool) {
	for i := range t.lines {
		l := &t.lines[i]
		if !l.due {
			l.begun, l.due = t.occasion(l)
		}
		if l.due && l.given < len(l.presses) {
			wait := cmp.Or(l.After, t.reaction(false))
			return wish{press: l.presses[l.given], since: l.begun, wait: wait, line: l}, true
		}
	}
	return wish{}, false
}

// occasion reports whether the occasion of a listed answer has come, and since when.
func (t *Trainee) occasion(l *line) (time.Duration, bool) {
	switch {
	case l.At > 0:
		return l.At, l.given > 0
	case l.Abnormal != "":
		if a := t.key.showing(); a != nil && a.Name == l.Abnormal {
			return t.key.onset, true
		}
	case t.at >= 0 && t.flow.items[t.at].ID == l.Item && t.since > 0:
		return t.since, true
	}
	return 0, false
}

// answered reports whether a listed answer speaks for something, so that the perfect trainee keeps out of it.
func (t *Trainee) answered(of func(*scenario.Answer) bool) bool {
	return slices.ContainsFunc(t.lines, func(l line) bool { return of(l.Answer) })
}

// minds reports whether an abnormal is one that the trainee does something about by itself.
func (t *Trainee) minds(a *scenario.Abnormal) bool {
	return a != nil && !a.Harmless && !slices.Contains(t.answers.Ignore, a.Name) &&
		!t.answered(func(of *scenario.Answer) bool { return of.Abnormal == a.Name })
}

// dealing reports whether the trainee has its hands full with an abnormal.
func (t *Trainee) dealing() bool {
	a := t.key.showing()
	return t.minds(a) && !refusal(a) && (t.key.acted || t.acting > 0)
}

// refusal reports whether an abnormal is dealt with by refusing the check that shows it.
func refusal(a *scenario.Abnormal) bool {
	return a.Call == "" && slices.ContainsFunc(a.Actions, func(action scenario.Action) bool { return action.Answer != "" })
}

// act does the immediate actions of the abnormal that shows.
func (t *Trainee) act() (wish, bool) {
	a := t.key.showing()
	if !t.minds(a) {
		t.acting = 0
		return wish{}, false
	}
	for i, action := range a.Actions {
		if t.key.did[i] {
			continue
		}
		press := drill.Press{Key: drill.Quiet}
		switch {
		case len(action.Set) > 0:
			toward, ok := t.toward(t.flow.settings(action.Set))
			if !ok {
				continue
			}
			if after := t.after[a.Name]; after != nil && after[i] != nil && !after[i].Holds(t.view.Signs) {
				t.acting = t.view.At // it waits, and reacts once the moment has come
				return wish{}, false
			}
			press = toward
		case action.Answer != "" && a.Call == "":
			continue
		case action.Answer != "":
			press.Key = drill.No
			if action.Answer == logbook.Yes {
				press.Key = drill.Yes
			}
		}
		if t.acting == 0 {
			t.acting = t.view.At
		}
		return wish{press: press, since: t.acting, wait: t.reaction(false)}, true
	}
	return wish{}, false
}

// toward gives the press that takes the first control that is out of place a step nearer to its place.
func (t *Trainee) toward(set []setting) (drill.Press, bool) {
	for _, want := range set {
		at := t.view.Positions[want.control]
		if at == want.position {
			continue
		}
		c := &t.flow.profile.Controls[want.control]
		return drill.Press{Key: drill.Key(c.Key), Shift: at > want.position && c.Count() > 2}, true
	}
	return drill.Press{}, false
}

// silence silences an alert that goes on.
func (t *Trainee) silence() (wish, bool) {
	alerts := t.flow.profile.Alerts
	for i := range alerts {
		if alerts[i].Silenced && !alerts[i].Once && t.view.Sounding[i] {
			if t.horn == 0 {
				t.horn = t.view.At
			}
			return wish{press: drill.Press{Key: drill.Quiet}, since: t.horn, wait: t.reaction(false)}, true
		}
	}
	t.horn = 0
	return wish{}, false
}

// goOn has a partner go on who was stopped and for whom nothing is left to wait.
func (t *Trainee) goOn() (wish, bool) {
	waits := t.key.active != nil
	if t.standIn != nil {
		waits = t.standIn.ponders()
	}
	if !t.view.Stopped || waits {
		t.stopped = 0
		return wish{}, false
	}
	if t.stopped == 0 {
		t.stopped = t.view.At
	}
	return wish{press: drill.Press{Key: drill.StopCall}, since: t.stopped, wait: t.reaction(false)}, true
}

// deal makes an item the one that is dealt with.
func (t *Trainee) deal(i int) {
	t.at, t.since, t.touched, t.given, t.passed, t.fixing = i, 0, false, false, 0, false
}

// look takes in whose turn it is.
func (t *Trainee) look() {
	if t.policy.Acts == "" || len(t.flow.items) == 0 {
		return
	}
	if t.policy.Asks == "" {
		t.remember()
		return
	}
	q := t.view.Asked
	if q == nil {
		t.wait()
		return
	}
	if t.at < 0 || t.at >= len(t.flow.items) || t.flow.items[t.at].ID != q.Item {
		i, _ := t.flow.index(q.Item)
		t.deal(i)
	}
	t.resumes = false
	switch {
	case q.Fix && !t.fixing:
		t.fixing, t.since = true, t.view.At
	case q.Fix:
	case q.Spoken > 0:
		t.since = q.Spoken
	default:
		t.since = 0
	}
}

// wait waits to go on unprompted, until the crew has spoken and the aircraft has come to where the item makes sense.
func (t *Trainee) wait() {
	if !t.resumes {
		return
	}
	for t.at < len(t.flow.items) && !t.flow.applies(t.at, &t.view) {
		t.deal(t.at + 1)
	}
	if t.at < len(t.flow.items) && t.since == 0 && t.view.At >= t.quiet && t.flow.ready(t.at, t.view.Signs) {
		t.since = t.view.At
	}
}

// remember keeps the place in a flow that nobody asks.
func (t *Trainee) remember() {
	if t.at < 0 {
		t.deal(0)
		t.quiet = t.view.At
	}
	for t.at < len(t.flow.items) {
		it := t.flow.items[t.at]
		switch {
		case t.fixing && t.flow.inPosition(it.fix, t.view.Positions):
			t.next()
		case t.fixing:
			return
		case !t.flow.applies(t.at, &t.view) || t.flow.left[t.at] && !t.listedFor(it.ID) || t.swappedAway():
			t.next()
		case it.kind == procedure.Set && t.touched && t.flow.inPosition(it.set, t.view.Positions):
			t.next()
		default:
			heard := t.view.At >= t.quiet || it.kind == procedure.Callout // a value is called over whoever speaks
			if t.since == 0 && heard && (t.flow.ready(t.at, t.view.Signs) || t.view.At >= t.quiet+cmp.Or(it.Wait, time.Minute)) {
				t.since = t.view.At
			}
			return
		}
	}
}

// swappedAway reports whether the item that is dealt with was done before its neighbour.
func (t *Trainee) swappedAway() bool {
	if t.at == 0 || t.touched {
		return false
	}
	other, swap := t.flow.swapped[t.at-1]
	return swap && other == t.at && t.flow.inPosition(t.flow.items[t.at].set, t.view.Positions)
}

func (t *Trainee) listedFor(item string) bool {
	return slices.ContainsFunc(t.lines, func(l line) bool { return l.Item == item && !l.spent })
}

// answerAnew takes that an item is to be done again: what was listed for it has been given.
func (t *Trainee) answerAnew(item string) {
	for i := range t.lines {
		if l := &t.lines[i]; l.Item == item && l.given == len(l.presses) {
			l.spent = true
		}
	}
}

// next makes the next item the one that is dealt with.
func (t *Trainee) next() {
	t.deal(t.at + 1)
	t.quiet = max(t.quiet, t.view.At)
}

// item goes on with the flow.
func (t *Trainee) item() (wish, bool) {
	if t.at < 0 || t.at >= len(t.flow.items) || t.since == 0 || t.policy.Acts != logbook.Trainee {
		return wish{}, false
	}
	if t.policy.Asks != "" && (t.view.Asked == nil && !t.resumes || t.done() && !t.fixing) {
		return wish{}, false
	}
	it := t.flow.items[t.at]
	if t.listedFor(it.ID) {
		if t.policy.Asks == "" && t.allGiven(it.ID) {
			t.next()
		}
		return wish{}, false
	}
	if t.flow.left[t.at] {
		return wish{}, false
	}
	w := wish{since: t.since, wait: t.reaction(false), item: true}
	var ok bool
	if t.fixing {
		w.press, ok = t.toward(it.fix)
		return w, ok
	}
	if other, swap := t.flow.swapped[t.at]; swap && !t.flow.inPosition(t.flow.items[other].set, t.view.Positions) {
		w.item = false
		w.press, ok = t.toward(t.flow.items[other].set)
		return w, ok
	}
	switch it.kind {
	case procedure.Set:
		if w.press, ok = t.toward(it.set); !ok {
			w.press = drill.Press{Key: drill.Yes}
		}
	case procedure.Read, procedure.Figure:
		w.press, w.wait = t.read(it), t.reaction(true)
	case procedure.Callout:
		return t.call(it, w)
	default:
		// What is not so yet may become so: a "no" waits until there is hardly any time left.
		w.wait = t.reaction(true)
		w.press = drill.Press{Key: drill.Yes}
		if !it.truth.Holds(t.view.Signs) {
			w.press.Key = drill.No
			w.wait = it.Limit() * 4 / 5
		}
	}
	return w, true
}

func (t *Trainee) allGiven(item string) bool {
	return !slices.ContainsFunc(t.lines, func(l line) bool { return l.Item == item && l.given < len(l.presses) })
}

// call calls a value once it has been passed.
func (t *Trainee) call(it *item, w wish) (wish, bool) {
	value := t.view.Readings[it.gauge]
	beyond := value >= it.Callout.Value
	if it.Callout.Down {
		beyond = value <= it.Callout.Value
	}
	if t.passed == 0 && beyond && t.view.Alive[it.gauge] {
		t.passed = t.view.At
	}
	if t.passed == 0 {
		return wish{}, false
	}
	w.press, w.since, w.wait = drill.Press{Key: drill.Yes}, max(t.passed, t.since), t.reaction(false)
	if t.standIn == nil {
		w.wait /= 2
	}
	return w, true
}

// read types the reading, a digit at a time. What the gauge showed before the first digit is what is typed.
func (t *Trainee) read(it *item) drill.Press {
	if !t.view.Typing {
		return drill.Press{Key: drill.Yes}
	}
	if t.view.Typed == "" {
		value := t.view.Readings[it.gauge]
		if it.Figure != nil {
			value = it.Figure.Value
		}
		t.reading = strconv.FormatFloat(value, 'f', t.flow.profile.Gauges[it.gauge].Decimals, 64)
	}
	if rest, ok := strings.CutPrefix(t.reading, t.view.Typed); ok && rest != "" {
		return drill.Press{Key: drill.Key(rest[:1])}
	}
	return drill.Press{Key: drill.Yes}
}

// didPress keeps the place in a flow that nobody asks: most presses are the answer to an item.
func (t *Trainee) didPress(p drill.Press) {
	it := t.flow.items[t.at]
	wasTyping := t.view.Typing
	t.touched = true
	whole := !(it.kind == procedure.Set && p.Key != drill.Yes) && !(it.typed() && !(wasTyping && p.Key == drill.Yes)) && !t.fixing
	t.given = t.given || whole
	t.resumes = t.resumes && !whole
	switch {
	case t.policy.Asks != "" || !whole:
	case p.Key == drill.No && len(it.fix) > 0:
		t.fixing, t.since = true, t.view.At
	default:
		t.next()
	}
}
