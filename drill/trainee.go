package drill

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Trainee answers a sitting in place of a person: perfectly, or as some answers say. It sees what a person would see
// and no more, but that it knows the procedure and its own profile by heart.
type Trainee struct {
	s       *Sitting
	answers *scenario.Answers
	lines   []line // the listed answers, in order

	pressed  time.Duration // when it last pressed anything, running time
	horn     time.Duration // since when an alert has been sounding
	reading  string        // what it means to type
	swapped  map[int]int   // item: the one that is done before it
	left     []bool        // items that it leaves out
	ignoring []string      // abnormals
}

// line is one listed answer and how much of it has been given.
type line struct {
	*scenario.Answer
	presses []Press
	given   int
	begun   time.Duration // when its occasion came; set once
	due     bool
}

// wish is a press that the trainee means to make.
type wish struct {
	press Press
	since time.Duration // since when there has been a reason, running time
	wait  time.Duration // from the reason to the press
	line  *line         // that it comes from, if from any
}

// ParsePress reads a press as Press.String writes it.
func ParsePress(text string) (Press, error) {
	p := Press{}
	name, shifted := strings.CutPrefix(text, "shift+")
	p.Key, p.Shift = Key(name), shifted
	if slices.Contains([]Key{Yes, No, Quiet, SayAgain, Hold}, p.Key) && !shifted {
		return p, nil
	}
	for _, row := range aircraft.KeyRows() {
		if slices.Contains(row.Keys, name) {
			return p, nil
		}
	}
	return Press{}, fmt.Errorf("there is no key %q; write its label on a US keyboard, as in \"a\" or \"shift+a\", or enter, backspace, space, tab or esc", text)
}

// NewTrainee makes a trainee for a sitting. It errs if the answers speak of items that the sitting does not have.
func NewTrainee(s *Sitting, answers *scenario.Answers) (*Trainee, error) {
	t := &Trainee{s: s, answers: answers, swapped: map[int]int{}, left: make([]bool, len(s.flow.items)), ignoring: answers.Ignore}
	index := func(id string) (int, error) {
		i := slices.IndexFunc(s.flow.items, func(it item) bool { return it.ID == id })
		if i < 0 {
			return 0, fmt.Errorf("answers: %s has no item %q", s.plan.Procedure.Name, id)
		}
		return i, nil
	}
	for _, id := range answers.LeaveOut {
		i, err := index(id)
		if err != nil {
			return nil, err
		}
		t.left[i] = true
	}
	for _, pair := range answers.Swap {
		if len(pair) != 2 {
			return nil, fmt.Errorf("answers: swap takes pairs of items, not %v", pair)
		}
		first, err := index(pair[0])
		if err != nil {
			return nil, err
		}
		second, err := index(pair[1])
		if err != nil {
			return nil, err
		}
		if s.prompts() && s.flow.items[second].kind != procedure.Set {
			return nil, fmt.Errorf("answers: %s cannot be done before it is asked, since it is answered in words", pair[1])
		}
		if s.prompts() && s.flow.items[first].typed() {
			return nil, fmt.Errorf("answers: %s cannot be done while %s is asked, since the keys are digits then", pair[1], pair[0])
		}
		t.swapped[first] = second
	}
	for i := range answers.Answers {
		a := &answers.Answers[i]
		l := line{Answer: a}
		if a.Item != "" {
			if _, err := index(a.Item); err != nil {
				return nil, err
			}
		}
		for _, text := range a.Press {
			p, err := ParsePress(text)
			if err != nil {
				return nil, fmt.Errorf("answers: %w", err)
			}
			l.presses = append(l.presses, p)
		}
		t.lines = append(t.lines, l)
	}
	return t, nil
}

// Next says what the trainee will press next and when, as far as can be said at this moment: it is to be asked again
// after every call of the sitting. The time is never before the sitting's present.
func (t *Trainee) Next() (at time.Duration, p Press, ok bool) {
	w, ok := t.wish()
	if !ok {
		return 0, Press{}, false
	}
	return t.s.clock.out(t.at(w)), w.press, true
}

// at is when a wish is carried out.
func (t *Trainee) at(w wish) time.Duration {
	every := scenario.DefaultEvery
	if w.line != nil {
		every = cmp.Or(w.line.Every, every)
	}
	return max(t.s.now, w.since+w.wait, t.pressed+every)
}

// Pressed tells the trainee that its next press is being handed to the sitting, at this time.
func (t *Trainee) Pressed(at time.Duration) {
	if w, ok := t.wish(); ok && w.line != nil {
		w.line.given++
	}
	t.pressed = t.s.clock.inner(at)
}

func (t *Trainee) reaction() time.Duration {
	return cmp.Or(t.answers.Reaction, scenario.DefaultReaction)
}

// wish decides what to press. What is most urgent comes first: the abnormal, then the horn, then the flow.
func (t *Trainee) wish() (wish, bool) {
	if t.s.ended || t.s.paused {
		return wish{}, false
	}
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
	if t.s.suspended() {
		return wish{}, false
	}
	return t.goOn()
}

// listed gives the next press of the listed answer whose occasion has come.
func (t *Trainee) listed() (wish, bool) {
	for i := range t.lines {
		l := &t.lines[i]
		if !l.due {
			l.begun, l.due = t.occasion(l)
		}
		if l.due && l.given < len(l.presses) {
			wait := cmp.Or(l.After, t.reaction())
			if l.At > 0 {
				wait = l.After
			}
			return wish{l.presses[l.given], l.begun, wait, l}, true
		}
	}
	return wish{}, false
}

// occasion reports whether the occasion of a listed answer has come, and since when.
func (t *Trainee) occasion(l *line) (time.Duration, bool) {
	f := &t.s.flow
	switch {
	case l.At > 0:
		return l.At, true
	case l.Abnormal != "":
		th := t.s.threats.active
		if th != nil && th.stage == open && th.Name == l.Abnormal {
			return th.onset, true
		}
	case f.current() != nil && f.current().ID == l.Item && f.asked && f.timed:
		return f.from, true
	}
	return 0, false
}

// answered reports whether a listed answer speaks for something, so that the perfect trainee keeps out of it.
func (t *Trainee) answered(of func(*scenario.Answer) bool) bool {
	return slices.ContainsFunc(t.lines, func(l line) bool { return of(l.Answer) })
}

// act does the immediate actions of the abnormal that is open.
func (t *Trainee) act() (wish, bool) {
	th := t.s.threats.active
	if th == nil || th.stage != open || th.Harmless || slices.Contains(t.ignoring, th.Name) ||
		t.answered(func(a *scenario.Answer) bool { return a.Abnormal == th.Name }) {
		return wish{}, false
	}
	for i, a := range th.Actions {
		if th.did[i] {
			continue
		}
		press := Press{Key: Quiet}
		switch {
		case len(th.actions[i]) > 0:
			toward, ok := t.toward(th.actions[i])
			if !ok {
				continue
			}
			press = toward
		case a.Answer != "":
			press.Key = key(a.Answer == "yes")
		}
		return wish{press, th.onset, t.reaction(), nil}, true
	}
	return wish{}, false
}

// toward gives the press that takes the first control that is out of place a step nearer to its place.
func (t *Trainee) toward(set []setting) (Press, bool) {
	for _, want := range set {
		at := t.s.craft.Position(want.control)
		if at == want.position {
			continue
		}
		c := &t.s.plan.Profile.Controls[want.control]
		return Press{Key: Key(c.Key), Shift: at > want.position && c.Count() > 2}, true
	}
	return Press{}, false
}

// silence silences an alert that goes on.
func (t *Trainee) silence() (wish, bool) {
	p := t.s.plan.Profile
	for i := range p.Alerts {
		if p.Alerts[i].Silenced && !p.Alerts[i].Once && t.s.craft.AlertState(i) == aircraft.Sounding {
			if t.horn == 0 {
				t.horn = t.s.now
			}
			return wish{Press{Key: Quiet}, t.horn, t.reaction(), nil}, true
		}
	}
	t.horn = 0
	return wish{}, false
}

// goOn goes on with the flow.
func (t *Trainee) goOn() (wish, bool) {
	f := &t.s.flow
	i, since, ok := t.target()
	if !ok {
		return wish{}, false
	}
	it := &f.items[i]
	if t.answered(func(a *scenario.Answer) bool { return a.Item == it.ID }) {
		return wish{}, false
	}
	w := wish{Press{}, since, t.reaction(), nil}
	if f.fixing {
		w.press, ok = t.toward(it.fix)
		return w, ok
	}
	if other, swap := t.swapped[i]; swap && f.items[other].stage == pending {
		it = &f.items[other]
	}
	switch it.kind {
	case procedure.Set:
		if w.press, ok = t.toward(it.set); !ok {
			w.press = Press{Key: Yes}
		}
	case procedure.Read, procedure.Figure:
		w.press = t.read(it)
	case procedure.Callout:
		if !f.passing.passed {
			return wish{}, false
		}
		w.press, w.since, w.wait = Press{Key: Yes}, f.passing.at, t.reaction()/2
	default:
		// What is not so yet may become so: a "no" waits until there is hardly any time left.
		truth := it.truth.Holds(t.s.craft.Readings())
		w.press = Press{Key: key(truth)}
		if !truth {
			w.wait = it.Limit() * 4 / 5
		}
	}
	return w, true
}

// target is the item that the trainee deals with now, and since when there has been a reason to.
func (t *Trainee) target() (i int, since time.Duration, ok bool) {
	f := &t.s.flow
	it := f.current()
	if it == nil || t.s.mode == scenario.Watch {
		return 0, 0, false
	}
	switch {
	case f.fixing:
		return f.turn, f.since, true
	case f.resuming:
		if !t.s.ready(it) {
			return 0, 0, false
		}
		since = f.resumeFrom
	case f.asked && f.timed:
		since = f.from
	default:
		return 0, 0, false
	}
	if t.s.prompts() {
		return f.turn, since, !t.left[f.turn]
	}
	for i := f.turn; i < len(f.items); i++ {
		if f.items[i].stage == pending && !t.left[i] && t.s.applies(&f.items[i]) {
			return i, since, true
		}
	}
	return 0, 0, false
}

// read types the reading, a digit at a time. What the gauge showed before the first digit is what is typed.
func (t *Trainee) read(it *item) Press {
	f := &t.s.flow
	if !f.typing {
		return Press{Key: Yes}
	}
	if f.typed == "" {
		value, _ := t.s.wantedValue(it)
		t.reading = t.s.digitsOf(it, value)
	}
	if rest, ok := strings.CutPrefix(t.reading, f.typed); ok && rest != "" {
		return Press{Key: Key(rest[:1])}
	}
	return Press{Key: Yes}
}
