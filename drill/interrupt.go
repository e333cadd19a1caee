package drill

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// threat is one injection of a sitting, from waiting for its moment until it is over.
type threat struct {
	*abnormal
	fixed *injection // nil for one that was drawn
	name  string     // of this injection, as in "hot-start#2"
	stage threatStage
	at    time.Duration // when it is to be injected, once that is known

	injected time.Duration // when its cause was put into the aircraft
	onset    time.Duration // when its first cue began
	did      []bool        // its actions
	stood    []int         // where every control stood at the onset
}

// threatStage is how far an injection has come.
type threatStage int

const (
	waiting  threatStage = iota // for its moment
	due                         // its moment is known
	injected                    // its cause is in the aircraft; nothing can be noticed yet
	open                        // it can be noticed
	over
)

// threats are the injections of a sitting. One at a time is in the aircraft.
type threats struct {
	list   []*threat
	active *threat // injected or open

	drawn   []*abnormal
	draw    *scenario.Drawn
	left    int           // how many may still be drawn
	wait    time.Duration // eligible time until the next is drawn
	waiting bool          // wait has been drawn
	phases  []int         // in which a drawn one may come; nil is any
}

// unseenMost is how long an injection may stay in the aircraft without a cue before it is taken out again.
const unseenMost = 2 * time.Minute

func newThreats(plan *Plan, fixed []injection, drawn []*abnormal) threats {
	t := threats{drawn: drawn, draw: plan.Scenario.Drawn}
	for i := range fixed {
		t.list = append(t.list, t.named(fixed[i].abnormal, &fixed[i]))
	}
	if t.draw != nil {
		t.left = min(t.draw.Count, MaxInjections)
		for _, id := range t.draw.Phases {
			for i := range plan.Procedure.Phases {
				if plan.Procedure.Phases[i].ID == id {
					t.phases = append(t.phases, i)
				}
			}
		}
	}
	return t
}

// named makes a threat with a name of its own.
func (t *threats) named(ab *abnormal, fixed *injection) *threat {
	return &threat{abnormal: ab, fixed: fixed, name: fmt.Sprintf("%s#%d", ab.Name, len(t.list)+1)}
}

// open reports whether an injection is in the aircraft, or about to be.
func (t *threats) open() bool {
	return t.active != nil || slices.ContainsFunc(t.list, func(th *threat) bool { return th.stage == due })
}

// suspended reports whether the checklist rests because an abnormal has shown itself.
func (s *Sitting) suspended() bool {
	th := s.threats.active
	return th != nil && th.stage == open && !th.Harmless
}

// asked starts the injections that belong to an item.
func (t *threats) asked(s *Sitting, turn int) {
	for _, th := range t.list {
		if th.stage == waiting && th.fixed != nil && th.fixed.during == turn {
			th.stage, th.at = due, s.now+th.fixed.After
		}
	}
}

func (s *Sitting) tickThreats() {
	t := &s.threats
	for _, th := range t.list {
		s.tickWaiting(th)
	}
	s.tickDrawn()
	if t.active == nil && !s.flow.resuming {
		if i := slices.IndexFunc(t.list, func(th *threat) bool { return th.stage == due && s.now >= th.at }); i >= 0 {
			s.inject(t.list[i])
		}
	}
	if t.active != nil {
		s.tickActive(t.active)
	}
	if s.mode == scenario.Alerts {
		s.tickAlertsEnd()
	}
}

// tickWaiting looks whether the moment of a fixed injection has come.
func (s *Sitting) tickWaiting(th *threat) {
	if th.stage != waiting || th.fixed == nil || th.fixed.during >= 0 {
		return
	}
	switch {
	case th.fixed.when != nil:
		if !th.fixed.when.Holds(s.craft.Readings()) {
			return
		}
		th.at = s.now + th.fixed.After
	default:
		th.at = th.fixed.At + th.fixed.After
	}
	th.stage = due
}

// tickDrawn counts down to the next drawn injection. Only time in which one may come counts; the wait itself has no
// memory, so leaving the rest of the time out changes nothing about how well it can be guessed.
func (s *Sitting) tickDrawn() {
	t := &s.threats
	if t.left == 0 || !s.mayDraw() {
		return
	}
	if !t.waiting {
		t.wait, t.waiting = t.draw.Gap(s.draw.Float64()), true
	}
	t.wait -= s.step - s.now
	if t.wait > 0 {
		return
	}
	t.waiting = false
	t.left--
	th := t.named(t.drawn[s.draw.IntN(len(t.drawn))], nil)
	th.stage, th.at = due, s.now
	t.list = append(t.list, th)
}

func (s *Sitting) mayDraw() bool {
	t := &s.threats
	if t.open() || s.flow.resuming || s.now < t.draw.Window.From {
		return false
	}
	if t.draw.Window.Until > 0 && s.now > t.draw.Window.Until {
		return false
	}
	if s.mode == scenario.Alerts || t.phases == nil {
		return true
	}
	it := s.flow.current()
	return it != nil && slices.Contains(t.phases, it.phase)
}

// tickAlertsEnd ends a sitting of alerts once nothing more can come.
func (s *Sitting) tickAlertsEnd() {
	t := &s.threats
	if t.open() || slices.ContainsFunc(t.list, func(th *threat) bool { return th.stage == waiting }) {
		return
	}
	if t.left > 0 && (t.draw.Window.Until == 0 || s.now <= t.draw.Window.Until) {
		return
	}
	if s.quietFor() && !s.ended {
		s.end(true, "complete")
	}
}

// inject puts the cause into the aircraft. What follows from it is the aircraft's affair.
func (s *Sitting) inject(th *threat) {
	th.stage, th.injected = injected, s.now
	s.threats.active = th
	s.log(logbook.Entry{Kind: logbook.Inject, Abnormal: th.name, Name: th.Name, OK: th.Harmless})
	if th.Call != "" {
		call := s.say(Crew, ClassSpeech, th.Call)
		if slices.Contains(th.Cues, "call") {
			s.begin(th, call)
			return
		}
	}
	if cue, ok := s.alreadyShown(th); ok {
		s.begin(th, cue)
	}
}

// alreadyShown finds a cue of the abnormal that had begun before its cause was put in.
func (s *Sitting) alreadyShown(th *threat) (int, bool) {
	for number := len(s.cues); number >= 1; number-- {
		c := s.cue(number)
		if !slices.Contains(th.Cues, c.id) {
			continue
		}
		if i, ok := s.plan.Profile.CaptionIndex(c.id); ok && c.class == ClassCaption && s.craft.Lit(i) {
			return number, true
		}
		if c.class == ClassHorn && c.sounding {
			return number, true
		}
	}
	return 0, false
}

// noticed takes a cue that has just begun: it may be the first of the abnormal that is in the aircraft.
func (s *Sitting) noticed(number int) {
	th := s.threats.active
	if th != nil && th.stage == injected && slices.Contains(th.Cues, s.cue(number).id) {
		s.begin(th, number)
	}
}

// tested takes a control that has just been moved: what does not follow may be the only cue of the abnormal that is in
// the aircraft.
func (s *Sitting) tested(control int) {
	th, id := s.threats.active, s.controlID(control)
	if th != nil && th.stage == injected && slices.Contains(th.Cues, id) {
		s.begin(th, s.newCue(cue{class: ClassTest, id: id}, "", false))
	}
}

// begin is the onset. The checklist rests, whoever speaks is cut short, and the trainee is on his own.
func (s *Sitting) begin(th *threat, cue int) {
	th.stage, th.onset = open, s.now
	th.did = make([]bool, len(th.Actions))
	th.stood = make([]int, len(s.plan.Profile.Controls))
	for i := range th.stood {
		th.stood[i] = s.craft.Position(i)
	}
	s.log(logbook.Entry{Kind: logbook.Onset, Abnormal: th.name, Name: s.cue(cue).class, Cue: cue})
	if th.Harmless {
		return
	}
	if s.speech.busy && s.speech.cue != cue {
		s.hushSpeech()
	}
	f := &s.flow
	f.asked, f.cut, f.fixing, f.passing = false, false, false, passing{}
	f.typing, f.typed = false, ""
}

// tickActive moves the cause along and looks how the abnormal ends.
func (s *Sitting) tickActive(th *threat) {
	for _, c := range th.causes {
		s.craft.Fail(c.point, c.severity(s.now-th.injected))
	}
	if th.stage == injected {
		if s.now >= th.injected+unseenMost {
			s.finish(th, logbook.Entry{Kind: logbook.Lost, Name: "unseen", Text: "it never showed itself"})
		}
		return
	}
	s.noteStanding(th)
	readings := s.craft.Readings()
	timeout := th.onset + cmp.Or(th.Timeout, unseenMost)
	switch {
	case th.Harmless:
		if s.now >= timeout {
			s.finish(th, logbook.Entry{Kind: logbook.Handled, Text: th.Ends.Handled})
		}
	case th.lost != nil && th.lost.Holds(readings):
		s.finish(th, logbook.Entry{Kind: logbook.Lost, Text: th.Ends.Lost})
	case !slices.Contains(th.did, false) && (th.handled == nil || th.handled.Holds(readings)):
		s.finish(th, logbook.Entry{Kind: logbook.Handled, Text: th.Ends.Handled})
	case s.now >= timeout:
		s.finish(th, logbook.Entry{Kind: logbook.Lost, Name: "time", Text: th.Ends.Lost})
	}
}

// severity is how bad a cause is so long after it was put in.
func (c cause) severity(after time.Duration) float64 {
	if after >= c.over {
		return c.to
	}
	return c.to * float64(after) / float64(c.over)
}

// acts takes a move of a control as far as it concerns the abnormal that is open, and reports whether it does.
func (s *Sitting) acts(control int) bool {
	th := s.threats.active
	if th == nil || th.stage != open {
		return false
	}
	for i, set := range th.worse {
		if mentions(set, control) && s.inPosition(set) {
			s.log(logbook.Entry{Kind: logbook.Worse, Abnormal: th.name, Control: s.controlID(control),
				Position: s.position(control), Text: th.Worse[i].Say})
			return true
		}
	}
	for i, set := range th.actions {
		if mentions(set, control) {
			if !th.did[i] && s.reached(th, set) {
				s.did(th, i, "")
			}
			return true
		}
	}
	return false
}

// reached reports whether every control of an action is where it should be; a lever may have gone further.
func (s *Sitting) reached(th *threat, set []setting) bool {
	for _, want := range set {
		at, stood := s.craft.Position(want.control), th.stood[want.control]
		switch {
		case at == want.position:
		case s.plan.Profile.Controls[want.control].Travel == nil:
			return false
		case stood > want.position && at > want.position, stood < want.position && at < want.position, stood == want.position:
			return false
		}
	}
	return true
}

// noteStanding counts an action as done whose controls stood where they should when the abnormal began.
func (s *Sitting) noteStanding(th *threat) {
	for i, set := range th.actions {
		if len(set) > 0 && !th.did[i] && s.reached(th, set) {
			s.did(th, i, "already")
		}
	}
}

func (s *Sitting) did(th *threat, action int, how string) {
	th.did[action] = true
	s.log(logbook.Entry{Kind: logbook.Action, Abnormal: th.name, Value: float64(action + 1), Name: how, Text: th.Actions[action].Say})
}

// didFirst notes the first open action for which f holds.
func (s *Sitting) didFirst(f func(scenario.Action) bool) bool {
	th := s.threats.active
	if th == nil || th.stage != open {
		return false
	}
	for i, a := range th.Actions {
		if !th.did[i] && f(a) {
			s.did(th, i, "")
			return true
		}
	}
	return false
}

// finish ends an abnormal: its cause goes, the crew puts back what it has to, and the flow is to be gone on with.
func (s *Sitting) finish(th *threat, entry logbook.Entry) {
	th.stage = over
	s.threats.active = nil
	if !th.Remains {
		for _, c := range th.causes {
			s.craft.Fail(c.point, 0)
		}
	}
	entry.Abnormal = th.name
	wasOpen := entry.Name != "unseen" && !th.Harmless
	if wasOpen {
		s.goBack(th.backTo)
		if it := s.flow.current(); it != nil {
			entry.Item = it.ID
		}
	}
	s.log(entry)
	for _, put := range th.afterwards {
		s.craft.Move(put.control, put.position)
		s.log(logbook.Entry{Kind: logbook.Moved, Control: s.controlID(put.control), Position: s.position(put.control), Name: "crew"})
	}
	if th.Say != "" && wasOpen {
		s.say(Crew, ClassSpeech, th.Say)
	}
	if wasOpen && s.flow.current() != nil {
		s.flow.resuming, s.flow.resumeFrom = s.mode != scenario.Watch, s.now
		s.flow.asked, s.flow.timed = false, false
	}
}

// goBack opens again every item from one on, up to the present turn.
func (s *Sitting) goBack(to int) {
	f := &s.flow
	if to < 0 || to > f.turn || f.turn < 0 {
		return
	}
	for i := to; i <= f.turn && i < len(f.items); i++ {
		if it := &f.items[i]; it.stage == done || it.stage == omitted {
			it.stage, it.overshot = pending, false
			s.log(logbook.Entry{Kind: logbook.Reopen, Item: it.ID})
		}
	}
	f.last = to - 1
	s.turnTo(to)
}

// tickResume waits for the trainee to go on, and asks him to when he does not.
func (s *Sitting) tickResume(it *item) {
	f := &s.flow
	if !s.ready(it) {
		f.resumeFrom = s.now
	}
	f.typing = f.typing || it.typed() && s.prompts()
	if s.now >= f.resumeFrom+it.Limit()+placeFinding {
		f.resuming, f.typing = false, false
		s.log(logbook.Entry{Kind: logbook.Prompted, Item: it.ID})
	}
}

// resumedWith notes the first item after an abnormal: the right one, another, or one that had been done.
func (s *Sitting) resumedWith(i int, how string) {
	f := &s.flow
	if !f.resuming {
		return
	}
	it := &f.items[i]
	if how == "" {
		how = "wrong"
		if i == f.turn || it.Group != "" && it.Group == f.items[f.turn].Group {
			how = "right"
		}
	}
	f.resuming, f.typing = false, false
	s.log(logbook.Entry{Kind: logbook.Resumed, Item: it.ID, Name: how, Value: (s.now - f.resumeFrom).Seconds()})
}
