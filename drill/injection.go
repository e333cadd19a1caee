package drill

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// inserted is one injection of a sitting, from waiting for its moment until it is over.
type inserted struct {
	*abnormal
	fixed *injection // its moment; nil for one that was drawn, or inserted at once
	mine  bool       // the instructor has inserted it
	name  string     // of this injection, as in "hot-start#2"
	how   insertion
	at    time.Duration // when it is to be injected, once that is known

	injected time.Duration // when its cause was put into the aircraft
	onset    time.Duration // when something first differed from a healthy aircraft
	alert    int           // the alert that its onset was, or -1
	noticed  bool          // the trainee has done something that has to do with it
	told     bool
	did      []bool             // its actions
	hand     []bool             // those that the trainee did
	open     []time.Duration    // since when each has been there to be done: the onset, or when its controls last stood as it wants them
	was      []int              // where every control stood as it was put in
	stood    []int              // the same at the onset
	before   *aircraft.Aircraft // a healthy one at the onset
	turn     int                // whose turn it was then
	call     bool               // its words from outside have had no reply

	lasting *scenario.Lasting
	held    []time.Duration // for how long the conditions of its endings have held without a break
	came    []bool          // the endings that have held for as long as they have to
	extents []extent        // of the gauges
	ended   logbook.Kind    // how it is over
}

// extent is how far a gauge went while an abnormal showed.
type extent struct {
	seen                  bool
	highest, lowest, last float64
	red                   time.Duration
}

// insertion is how far an injection has come.
type insertion int

const (
	waiting  insertion = iota // for its moment
	due                       // its moment is known
	injected                  // its cause is in the aircraft; nothing can be noticed yet
	showing                   // it can be noticed
	over
	deleted // by the instructor, before its moment
)

// injections are those of a sitting. One at a time is in the aircraft.
type injections struct {
	list   []*inserted
	made   int       // how many there have been
	active *inserted // injected or showing

	drawn   []*abnormal
	draw    *scenario.Drawn
	left    int           // how many may still be drawn
	wait    time.Duration // eligible time until the next is drawn
	waiting bool          // wait has been drawn
	rests   int           // waits after which nothing came
	phases  []int         // in which a drawn one may come; nil is any
}

// lastWaits is how many waits a sitting of nothing but alerts goes on for after its last one: its end is a quiet stretch, longer
// than most that something ends, so that to have come so far tells nothing.
const lastWaits = 2

// conditionMost is how long after the last words a sitting of nothing but alerts goes on for an injection whose condition may come to hold.
const conditionMost = 10 * time.Minute

// unseenMost is how long an injection may stay in the aircraft without showing before it is taken out again.
const unseenMost = 2 * time.Minute

func newInjections(ex *Exercise) injections {
	t := injections{drawn: ex.drawn, draw: ex.docs.Scenario.Drawn, phases: ex.phases}
	for i := range ex.fixed {
		t.list = append(t.list, t.named(ex.fixed[i].abnormal, &ex.fixed[i]))
	}
	if t.draw != nil {
		t.left = min(t.draw.Count, MaxInjections)
	}
	return t
}

// named makes an injection with a name of its own.
func (t *injections) named(ab *abnormal, fixed *injection) *inserted {
	t.made++
	return &inserted{abnormal: ab, fixed: fixed, name: fmt.Sprintf("%s#%d", ab.Name, t.made), alert: -1}
}

// showing is the injection that can be noticed, or nil.
func (t *injections) showing() *inserted {
	if t.active != nil && t.active.how == showing {
		return t.active
	}
	return nil
}

// open reports whether an injection is in the aircraft, or about to be.
func (t *injections) open() bool {
	return t.active != nil || slices.ContainsFunc(t.list, func(in *inserted) bool { return in.how == due })
}

// busy reports whether the trainee is dealing with something.
func (s *Sitting) busy() bool {
	in := s.injections.showing()
	return in != nil && in.noticed && !in.Harmless
}

// asked starts the injections that belong to an item.
func (t *injections) asked(s *Sitting, turn int) {
	for _, in := range t.list {
		if in.how == waiting && in.fixed != nil && in.fixed.during == turn {
			in.how, in.at = due, s.now+in.fixed.After
		}
	}
}

func (s *Sitting) tickInjections() {
	if s.ended {
		return
	}
	t := &s.injections
	for _, in := range t.list {
		s.tickWaiting(in)
	}
	s.tickSettling()
	s.tickDrawn()
	if t.active == nil && !s.flow.resuming && s.settled() {
		if i := slices.IndexFunc(t.list, func(in *inserted) bool { return in.how == due && s.now >= in.at }); i >= 0 {
			s.inject(t.list[i])
		}
	}
	if t.active != nil {
		s.tickActive(t.active)
	}
	if s.policy.Flow == scenario.Nothing {
		s.tickNothing()
	}
}

// phaseBegins starts the injections that belong to the beginning of a phase.
func (t *injections) phaseBegins(s *Sitting, phase int) {
	for _, in := range t.list {
		if in.how == waiting && in.fixed != nil && in.fixed.phase == phase {
			in.how, in.at = due, s.now+in.fixed.After
		}
	}
}

// tickWaiting looks whether the moment of a fixed injection has come.
func (s *Sitting) tickWaiting(in *inserted) {
	if in.how != waiting || in.fixed == nil || in.fixed.during >= 0 || in.fixed.phase >= 0 {
		return
	}
	switch {
	case in.fixed.when != nil:
		if !in.fixed.when.Holds(s.craft.Readings()) {
			return
		}
		in.at = s.now + in.fixed.After
	default:
		in.at = in.fixed.At + in.fixed.After
	}
	in.how = due
}

// tickDrawn counts down to the next drawn injection. Only time in which one may come counts; the wait itself has no
// memory, so leaving the rest of the time out changes nothing about how well it can be guessed.
func (s *Sitting) tickDrawn() {
	t := &s.injections
	if t.draw == nil || len(t.drawn) == 0 || t.rests == lastWaits || t.left == 0 && s.policy.Flow != scenario.Nothing || !s.mayDraw() {
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
	if t.left == 0 {
		t.rests++
		return
	}
	t.left--
	in := t.named(t.drawn[s.draw.IntN(len(t.drawn))], nil)
	in.how, in.at = due, s.now
	t.list = append(t.list, in)
}

func (s *Sitting) mayDraw() bool {
	t := &s.injections
	if t.open() || s.flow.resuming || !s.settled() || s.now < t.draw.Window.From {
		return false
	}
	if t.draw.Window.Until > 0 && s.now > t.draw.Window.Until {
		return false
	}
	if s.policy.Flow == scenario.Nothing || t.phases == nil {
		return true
	}
	it := s.flow.current()
	return it != nil && slices.Contains(t.phases, it.phase)
}

// timed reports whether it comes at a time, whatever happens.
func (in *inserted) timed() bool {
	return in.fixed != nil && in.fixed.when == nil && in.fixed.during < 0 && in.fixed.phase < 0
}

// tickNothing ends a sitting without items once nothing more can come.
func (s *Sitting) tickNothing() {
	t := &s.injections
	patient := s.now < s.speech.end+conditionMost
	if t.open() || slices.ContainsFunc(t.list, func(in *inserted) bool { return in.how == waiting && (patient || in.timed()) }) {
		return
	}
	if t.draw != nil && t.rests < lastWaits && (t.draw.Window.Until == 0 || s.now <= t.draw.Window.Until) {
		return
	}
	if s.quietFor() {
		s.end(logbook.Complete, "complete")
	}
}

// inject puts the cause into the aircraft, beside a twin without it. What follows from it is the aircraft's affair.
func (s *Sitting) inject(in *inserted) {
	in.how, in.injected = injected, s.now
	s.injections.active = in
	s.healthy = s.craft.Clone()
	in.was = s.positions()
	entry := logbook.Entry{Kind: logbook.Inject, Injection: in.name, Abnormal: in.Name, OK: in.Harmless}
	if in.mine {
		entry.Seat = logbook.Instructor
	}
	s.log(entry)
	if in.Call == "" {
		return
	}
	s.partner.quiet = max(s.partner.quiet, s.now+replyTime)
	call := s.say(Crew, logbook.Call, in.Call)
	in.call = slices.ContainsFunc(in.Actions, func(a scenario.Action) bool { return a.Answer != "" })
	if slices.Contains(in.Cues, scenario.Call) {
		s.begin(in, sign{class: logbook.Call, name: scenario.Call, cue: call})
	}
}

// sign is something that differs from a healthy aircraft.
type sign struct {
	class logbook.Class
	name  string // id
	cue   int    // number; 0 if it is none by itself
	alert int    // index, for a horn
}

// shows is what an injection first shows. One that changes nothing in the aircraft only looks like something: it shows as one
// of its cues begins.
func (s *Sitting) shows(in *inserted) (sign, bool) {
	if len(in.causes) > 0 {
		return s.difference()
	}
	for i, c := range slices.Backward(s.cues) {
		if c.asked != s.now {
			break
		}
		if slices.Contains(in.Cues, c.id) {
			by := sign{class: c.class, name: c.id, cue: i + 1, alert: -1}
			if c.class == logbook.Horn {
				by.alert = c.alert
			}
			return by, true
		}
	}
	return sign{}, false
}

// difference is what can be seen or heard to differ from a healthy aircraft in the same hands: first what is most insistent.
// A reading differs by more than an answer to it may be off.
func (s *Sitting) difference() (sign, bool) {
	p := s.profile()
	differs := func(here, there bool, class logbook.Class, id string, index int) (sign, bool) {
		if here == there {
			return sign{}, false
		}
		if !here {
			return sign{class: logbook.Missing, name: id, alert: -1}, true
		}
		return sign{class: class, name: id, cue: s.latestCue(class, id), alert: index}, true
	}
	for i := range p.Alerts {
		if d, so := differs(s.craft.AlertState(i) == aircraft.Sounding, s.healthy.AlertState(i) == aircraft.Sounding, logbook.Horn, p.Alerts[i].ID, i); so {
			return d, true
		}
	}
	for i := range p.Captions {
		if d, so := differs(s.craft.Lit(i), s.healthy.Lit(i), logbook.Caption, p.Captions[i].ID, -1); so {
			return d, true
		}
	}
	for i := range p.Outside {
		if s.craft.Seen(i) && s.craft.Fact(i) != s.healthy.Fact(i) {
			return sign{class: logbook.Sight, name: p.Outside[i].ID, cue: s.latestCue(logbook.Sight, p.Outside[i].ID), alert: -1}, true
		}
	}
	for i := range p.Gauges {
		here, band, alive := s.craft.Gauge(i)
		there, healthyBand, healthyAlive := s.healthy.Gauge(i)
		if d, so := differs(alive, healthyAlive, logbook.Gauge, p.Gauges[i].ID, -1); so {
			return d, true
		}
		if alive && (band != healthyBand || max(here-there, there-here) > p.Gauges[i].Legible()) {
			return sign{class: logbook.Gauge, name: p.Gauges[i].ID, cue: s.latestCue(logbook.Gauge, p.Gauges[i].ID), alert: -1}, true
		}
	}
	return sign{}, false
}

// latestCue is the cue of a class that began in this step, or 0.
func (s *Sitting) latestCue(class logbook.Class, id string) int {
	for i, c := range slices.Backward(s.cues) {
		if c.asked != s.now {
			break
		}
		if c.class == class && c.id == id {
			return i + 1
		}
	}
	return 0
}

// begin is the onset: from now on it can be noticed. Nothing but the aircraft says so.
func (s *Sitting) begin(in *inserted, by sign) {
	in.how, in.onset, in.alert = showing, s.now, by.alert
	in.did, in.hand = make([]bool, len(in.Actions)), make([]bool, len(in.Actions))
	in.open = slices.Repeat([]time.Duration{s.now}, len(in.Actions))
	in.stood, in.turn = s.positions(), s.flow.turn
	if in.Reset == scenario.Before {
		in.before = s.healthy.Clone()
	}
	in.lasting = scenario.NewLasting(s.profile())
	in.held, in.came = make([]time.Duration, len(in.ends)), make([]bool, len(in.ends))
	in.extents = make([]extent, len(s.profile().Gauges))
	s.log(logbook.Entry{Kind: logbook.Onset, Injection: in.name, Class: by.class, Name: by.name, Cue: by.cue})
}

// positions is where every control stands.
func (s *Sitting) positions() []int {
	at := make([]int, len(s.profile().Controls))
	for i := range at {
		at[i] = s.craft.Position(i)
	}
	return at
}

// tickActive moves the cause along and looks how the injection ends.
func (s *Sitting) tickActive(in *inserted) {
	for _, c := range in.causes {
		s.craft.Fail(c.point, c.severity(s.now-in.injected))
	}
	if in.how == injected {
		if d, so := s.shows(in); so {
			s.begin(in, d)
		} else if s.now >= in.injected+unseenMost {
			s.finish(in, logbook.Entry{Kind: logbook.Lost, Why: logbook.Unseen})
		}
		if in.how != showing {
			return
		}
	}
	readings := s.take(in)
	for i, set := range in.actions {
		if !in.did[i] && len(set) > 0 && (s.reached(in, set) || !s.mayAct(in, i)) {
			in.open[i] = s.now
		}
	}
	if slices.Contains(in.hand, true) {
		s.standing(in)
	}
	s.tell(in)
	timeout := in.onset + cmp.Or(in.Timeout, unseenMost)
	switch {
	case in.Harmless:
		if s.now >= timeout {
			s.finish(in, logbook.Entry{Kind: logbook.Cleared})
		}
	case in.lost != nil && in.lost.Holds(readings):
		s.finish(in, logbook.Entry{Kind: logbook.Lost})
	case s.dealtWith(in, readings):
		s.finish(in, logbook.Entry{Kind: logbook.Handled})
	case s.now >= timeout:
		s.standing(in)
		if s.dealtWith(in, readings) {
			s.finish(in, logbook.Entry{Kind: logbook.Handled})
			return
		}
		s.finish(in, logbook.Entry{Kind: logbook.Lost, Why: logbook.Timeout})
	}
}

// dealtWith reports whether the actions of an abnormal have been done and its end state has been reached.
func (s *Sitting) dealtWith(in *inserted, readings []float64) bool {
	return !slices.Contains(in.did, false) && (in.handled == nil || in.handled.Holds(readings))
}

// take takes in how the aircraft is, for the conditions and the figures of an abnormal.
func (s *Sitting) take(in *inserted) []float64 {
	readings := in.lasting.Since(s.craft.Readings(), (s.now - in.onset).Seconds())
	for i, end := range in.ends {
		if !end.Holds(readings) {
			in.held[i] = 0
			continue
		}
		in.held[i] += aircraft.StepLength
		in.came[i] = in.came[i] || in.Ends[i].For > 0 && in.held[i] > in.Ends[i].For
	}
	needles, alive := s.craft.Needles()
	for i := range in.extents {
		if !alive[i] {
			continue
		}
		x, value := &in.extents[i], needles[i]
		if !x.seen {
			*x = extent{seen: true, highest: value, lowest: value}
		}
		x.highest, x.lowest, x.last = max(x.highest, value), min(x.lowest, value), value
		if s.craft.InRed(i) && !s.healthy.InRed(i) {
			x.red += aircraft.StepLength
		}
	}
	return readings
}

// severity is how bad a cause is so long after it was put in.
func (c cause) severity(after time.Duration) float64 {
	if after >= c.over {
		return c.to
	}
	return c.to * float64(after) / float64(c.over)
}

// tell has the crew say what is wrong, where the scenario has that told.
func (s *Sitting) tell(in *inserted) {
	if !s.Exercise.tell.Tells || in.told || in.noticed || in.Harmless || s.now < in.onset+s.Exercise.tell.After {
		return
	}
	in.told = true
	s.log(logbook.Entry{Kind: logbook.Told, Injection: in.name, Cue: s.say(Crew, logbook.Speech, in.Telling())})
}

// noticed takes note that the trainee has done something that can have to do with what shows.
func (s *Sitting) noticed() {
	if in := s.injections.showing(); in != nil {
		in.noticed = true
	}
}

// engage is the first press that has to do with an abnormal: the partner stops.
func (s *Sitting) engage(in *inserted) {
	in.noticed = true
	s.stopPartner()
}

// acts takes a move of a control as far as it concerns the abnormal that shows, and reports whether it does. What an item has
// just asked for is done for the item: it may make things worse, but it tells nobody that something has been noticed.
func (s *Sitting) acts(control int, asked string, by Press) bool {
	in := s.injections.showing()
	if in == nil || by.Seat != logbook.Trainee {
		return false
	}
	move := func(kind logbook.Kind, asked, why string) bool {
		s.log(logbook.Entry{Kind: kind, Item: asked, Injection: in.name, Control: s.controlID(control), Position: s.position(control), Text: why})
		if asked != "" {
			return false
		}
		s.engage(in)
		return true
	}
	for i, set := range in.worse {
		if mentions(set, control) && s.reached(in, set) {
			return move(logbook.Worse, asked, in.Worse[i].Say)
		}
	}
	wanted := false
	for i, set := range in.actions {
		if !mentions(set, control) {
			continue
		}
		wanted = true
		if !in.did[i] && s.reached(in, set) && s.mayAct(in, i) {
			s.engage(in)
			s.did(in, i, "")
			return true
		}
	}
	if asked != "" {
		return false
	}
	// A control that an action is about may first be moved another way that is right as well.
	for i, set := range in.also {
		if mentions(set, control) && s.reached(in, set) {
			return move(logbook.Also, "", in.Also[i].Say)
		}
	}
	if !wanted {
		return false
	}
	s.engage(in)
	return true
}

// reached reports whether every control of an action is where it should be; a lever may have gone further.
func (s *Sitting) reached(in *inserted, set []setting) bool {
	for _, want := range set {
		off, stood := s.craft.Position(want.control)-want.position, in.stood[want.control]-want.position
		switch {
		case off == 0:
		case s.profile().Controls[want.control].Travel == nil, off*stood >= 0: // on the side on which it stood, or it stood there
			return false
		}
	}
	return true
}

// mayAct reports whether the moment for an action has come.
func (s *Sitting) mayAct(in *inserted, action int) bool {
	return in.after[action] == nil || in.after[action].Holds(s.craft.Readings())
}

// standing counts what is left of the actions as done if all of it stands where it should. Until the trainee has done one of
// them it proves nothing that others stand so: what shows first may come long before there is something to be done about it.
func (s *Sitting) standing(in *inserted) {
	for i, set := range in.actions {
		if !in.did[i] && (len(set) == 0 || !s.reached(in, set) || !s.mayAct(in, i)) {
			return
		}
	}
	for i := range in.actions {
		if !in.did[i] {
			s.did(in, i, logbook.Already)
		}
	}
}

func (s *Sitting) did(in *inserted, action int, how logbook.Reason) {
	in.did[action] = true
	in.hand[action] = how == ""
	s.log(logbook.Entry{Kind: logbook.Action, Injection: in.name, Number: action + 1, Why: how, Text: in.Actions[action].Say, Onset: in.open[action]})
}

// didFirst notes the first open action for which f holds.
func (s *Sitting) didFirst(in *inserted, f func(scenario.Action) bool) {
	for i, a := range in.Actions {
		if !in.did[i] && f(a) {
			s.did(in, i, "")
			return
		}
	}
}

// silenced takes alerts that the trainee has silenced: one of what shows has to do with it.
func (s *Sitting) silenced(alerts []int) {
	in := s.injections.showing()
	if in == nil || !slices.ContainsFunc(alerts, func(i int) bool { return i == in.alert || slices.Contains(in.silences, i) }) {
		return
	}
	s.didFirst(in, func(a scenario.Action) bool { return a.Silence })
	s.engage(in)
}

// replies takes a yes or a no as the reply to words from outside, if some are open: it belongs to what was asked last.
func (s *Sitting) replies(p Press) bool {
	in := s.injections.showing()
	if in == nil || !in.call || p.Seat != logbook.Trainee {
		return false
	}
	said, right := word(p.Key == Yes), ""
	for i, a := range in.Actions {
		if a.Answer != "" && !in.did[i] {
			right = a.Answer
		}
	}
	in.call = false
	s.partner.quiet = s.now
	s.log(logbook.Entry{Kind: logbook.Answer, Seat: p.Seat, Began: s.began(p), Injection: in.name, Text: said, Truth: right})
	in.noticed = true
	if said != right {
		s.log(logbook.Entry{Kind: logbook.Worse, Injection: in.name, Text: "the answer was " + said})
		return true
	}
	s.didFirst(in, func(a scenario.Action) bool { return a.Answer == said })
	return true
}

// refused takes a check that was rightly refused while an injection shows: where that is what is to be done about it, it has
// been.
func (t *injections) refused(s *Sitting) {
	if in := t.showing(); in != nil {
		s.didFirst(in, func(a scenario.Action) bool { return a.Answer == logbook.No })
	}
}

// finish ends an injection: what it came to is logged, its cause goes, the crew puts back what it has to, and the flow is to
// be resumed.
func (s *Sitting) finish(in *inserted, entry logbook.Entry) {
	shown := in.how == showing
	if shown {
		s.logEnding(in)
	}
	in.how, in.ended = over, entry.Kind
	s.injections.active, s.healthy = nil, nil
	if !in.Remains {
		for _, c := range in.causes {
			s.craft.Fail(c.point, 0)
		}
	}
	entry.Injection = in.name
	wasReal := shown && !in.Harmless
	var moved []setting
	back, turn := in.backTo, s.flow.turn
	if wasReal && !s.ended {
		switch { // before the flow goes back: what has to be right there is taken by the aircraft
		case in.Reset != "":
			back, moved = s.reset(in)
		case s.policy.Flow == scenario.Nothing && !in.Remains:
			moved = s.become(s.Exercise.settled, nil)
		}
		s.goBack(back)
	}
	if it := s.flow.current(); it != nil && wasReal {
		entry.Item = it.ID
	}
	s.log(entry)
	if s.ended {
		return
	}
	s.logMoved(moved)
	moved = append(moved, s.crewMoves(s.putBack(in, back, turn))...)
	if !wasReal {
		return
	}
	if in.Motored {
		s.craft.MotorEngines()
	}
	text := in.Takeover()
	if entry.Kind == logbook.Handled {
		text = in.Closing()
	}
	s.crewSays(text, len(moved) > 0)
	s.resume()
}

// resume has the flow resumed after an abnormal: by the trainee, unprompted, if they had stopped it, and otherwise by
// the partner, who asks anew.
func (s *Sitting) resume() {
	f := &s.flow
	if !s.partner.stopped && f.current() != nil {
		f.fixing = false
		return
	}
	s.partner.stopped = false
	if f.current() == nil {
		return
	}
	if s.policy.Acts == logbook.Trainee {
		f.resuming, f.resumeFrom = true, s.now
	}
	f.asked, f.timed, f.cut, f.fixing, f.passing = false, false, false, false, passing{}
	f.typing, f.typed = false, ""
}

// logEnding logs how an injection ended: the first sentence that is true, and how far the gauges went that show it, or that it
// drove into a red band.
func (s *Sitting) logEnding(in *inserted) {
	for i, end := range in.Ends {
		if in.came[i] || end.For == 0 && in.held[i] > 0 {
			s.log(logbook.Entry{Kind: logbook.Ending, Injection: in.name, Text: end.Text})
			break
		}
	}
	for i, x := range in.extents {
		id := s.profile().Gauges[i].ID
		if !x.seen || x.red == 0 && !slices.Contains(in.Cues, id) {
			continue
		}
		figure := func(class logbook.Class, value float64, red time.Duration) {
			s.log(logbook.Entry{Kind: logbook.Figure, Injection: in.name, Name: id, Class: class, Value: value, Length: red})
		}
		figure(logbook.Highest, x.highest, x.red)
		figure(logbook.Lowest, x.lowest, 0)
		figure(logbook.LastRead, x.last, 0)
	}
}

// endInjection ends what is in the aircraft as the sitting ends.
func (s *Sitting) endInjection(why logbook.Reason) {
	in := s.injections.active
	if in == nil || why == logbook.Outside || why == logbook.TooLong {
		return
	}
	entry := logbook.Entry{Kind: logbook.Lost, Why: logbook.Timeout}
	var readings []float64
	if in.how == showing {
		readings = s.take(in) // what ends the sitting may have come about in this step
	}
	switch {
	case in.how == injected:
		entry.Why = logbook.Unseen
	case why == logbook.Inspection:
		entry.Why = logbook.Inspection
	case in.Harmless:
		entry = logbook.Entry{Kind: logbook.Cleared}
	case s.dealtWith(in, readings):
		entry = logbook.Entry{Kind: logbook.Handled}
	case why == logbook.Refused, why == logbook.NotRight:
		entry.Why = logbook.LeftOpen
	}
	s.finish(in, entry)
}
