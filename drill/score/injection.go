package score

import (
	"cmp"
	"slices"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// injection is what the log has said of one injection so far.
type injection struct {
	InjectionResult
	abnormal *scenario.Abnormal // nil: not known
	cue      int                // the first
	cues     []int              // those that began after it, until it was noticed
	name     string             // of what showed it first
	shown    time.Duration      // when that was logged
	onset    time.Duration      // when it was to be heard, or seen
	over     time.Duration      // when it ended, or the sitting did
	open     bool               // it has shown itself
	endedBy  logbook.Kind       // empty: it has not
	why      logbook.Reason     // of its end
	takenOut bool               // by the instructor
	noticed  bool
	told     bool
	entered  time.Duration // of the entry that it was noticed by
	at       time.Duration // when it was noticed
	off      time.Duration // by how much that may be off, where a page stamped it
	acted    bool          // a look-alike that was acted on
	order    []int         // its actions as the trainee did them
	moved    bool          // something was moved since the onset
	movedAt  time.Duration
	rightAt  time.Duration // of the last press that belonged to it
	first    []int         // actions of which the first move may have been one
	letGo    []passed
	early    []passed
	beside   []passed      // presses that neither it nor the flow wanted
	wentOn   step          // how the flow was resumed
	waits    bool          // for the item that the flow should have been resumed at
	lag      time.Duration // from when the flow could have been resumed to when it was
	dropped  bool          // the sitting ended before it could be seen what comes of it
}

// passed is something that was done while an injection showed.
type passed struct {
	at   time.Duration // of the press
	item string        // empty: of none
}

// showing reports whether the injection has shown itself and is not over.
func (in *injection) showing() bool { return in.open && in.endedBy == "" }

// real reports whether it is a real abnormal that shows itself.
func (in *injection) real() bool { return in.showing() && !in.Harmless }

// counts reports whether it is in the figures: a real abnormal that has shown itself, and in which something was to be
// noticed and done.
func (in *injection) counts() bool {
	if !in.open || in.Harmless || in.dropped {
		return false
	}
	return in.Outcome != Unseen && in.Outcome != Cleared && in.Outcome != Stood
}

// takeInjections is what one entry means for the injections: for the one that it names, or for all that show.
func (j *judge) takeInjections(e *logbook.Entry) {
	switch e.Kind {
	case logbook.Inject:
		j.inject(e)
		return
	case logbook.Resumed, logbook.Prompted, logbook.Done:
		if j.lastOver != nil {
			j.takeAfterwards(j.lastOver, e)
		}
	}
	for _, in := range j.put {
		if in.endedBy == "" && (e.Injection == "" || e.Injection == in.Name) {
			j.takeDuring(in, e)
		}
	}
}

func (j *judge) inject(e *logbook.Entry) {
	in := &injection{InjectionResult: InjectionResult{
		Abnormal: e.Abnormal, Name: e.Injection, Harmless: e.OK, Inserted: e.Seat == logbook.Instructor, Actions: []ActionResult{}, LetGo: []string{}, Figures: []Excursion{},
	}}
	if a := j.sheet.Abnormals[e.Abnormal]; a != nil {
		in.abnormal, in.Title = a, a.Title
		for _, action := range a.Actions {
			in.Actions = append(in.Actions, ActionResult{Say: action.Say, LimitMS: *millis(action.Within)})
		}
	}
	j.put = append(j.put, in)
}

func (j *judge) takeDuring(in *injection, e *logbook.Entry) {
	switch e.Kind {
	case logbook.Onset:
		in.open, in.cue, in.shown, in.Cue, in.name = true, e.Cue, e.At, e.Class, e.Name
		in.onset = max(e.At, j.cues[e.Cue].onset)
		return
	case logbook.Handled, logbook.Lost, logbook.Cleared:
		j.end(in, e)
		return
	case logbook.Ending:
		in.Ended = e.Text
		return
	case logbook.Figure:
		in.excursion(e)
		return
	}
	if !in.open {
		return
	}
	switch e.Kind {
	case logbook.Cue:
		if !in.noticed && in.hasCue(e.Name) {
			in.cues = append(in.cues, e.Cue)
		}
	case logbook.Heard:
		// The horn was reported after the onset had been logged: what was really heard counts.
		if !in.noticed && e.Cue == in.cue {
			in.onset = max(in.shown, e.Onset)
		}
	case logbook.Told:
		if !in.noticed && !in.told {
			in.told, in.ToldMS = true, millis(e.At-in.onset)
		}
	case logbook.Done:
		j.doneOver(in, e)
	default:
		if byHand(e) {
			j.takePress(in, e)
		}
	}
}

// takePress is what something that the trainee did means for an injection that shows itself.
func (j *judge) takePress(in *injection, e *logbook.Entry) {
	at := j.when(e)
	switch e.Kind {
	case logbook.StopCall:
		// Where something is wrong, that is what was meant.
		in.acted = in.acted || in.Harmless && !slices.ContainsFunc(j.put, (*injection).real)
		j.notice(in, e, ByStop)
	case logbook.Answer:
		if e.OK {
			j.notice(in, e, ByRefusal)
		}
	case logbook.Silence:
		if e.OK && (!in.Harmless && in.hasCue(e.Name) || in.Cue == logbook.Horn && in.name == e.Name) {
			j.notice(in, e, BySilence)
			if in.SilencedMS == nil {
				in.SilencedMS = millis(at - in.onset)
			}
		}
	case logbook.Moved:
		if wants := in.wanting(e.Control); e.Seat == logbook.Trainee && e.Item == "" && len(wants) > 0 {
			j.notice(in, e, ByMove)
			in.rightMove(at, wants)
		}
	case logbook.Action:
		j.did(in, e)
	case logbook.Also:
		j.notice(in, e, ByAlso)
		in.rightMove(at, nil)
	case logbook.Worse:
		if e.Item == "" { // what an item asked for was done for the item
			j.notice(in, e, ByWorse)
			in.worseMove(at, cmp.Or(e.Control, e.Text))
			in.acted = true
		}
		in.Worse = append(in.Worse, e.Text)
	case logbook.Stray:
		in.acted = in.acted || e.Control != ""
		if len(in.wanting(e.Control)) > 0 {
			break // on its way
		}
		if what := cmp.Or(e.Control, e.Key); !in.wrongMove(at, what) && (e.Control != "" || answers[e.Key]) {
			in.beside = append(in.beside, passed{at: at})
		}
	}
}

// doneOver takes an item that was done while the injection showed: let go by before it was noticed, whoever did it, and after
// that done instead of what was to be done.
func (j *judge) doneOver(in *injection, e *logbook.Entry) {
	p := passed{j.when(e), e.Item}
	i, ok := j.index[e.Item]
	switch {
	case in.Harmless:
	case !in.noticed && !in.told:
		in.letGo = append(in.letGo, p)
	case !byHand(e) || in.noticed && e.At == in.entered || p.at == in.rightAt: // the press belonged to it
	default:
		in.early = append(in.early, p)
		if ok && j.sheet.Items[i].Kind == procedure.Set {
			in.wrongMove(p.at, e.Item)
		}
	}
}

func (in *injection) hasCue(name string) bool {
	return in.abnormal != nil && slices.Contains(in.abnormal.Cues, name)
}

// wanting gives the immediate actions that are a move of this control.
func (in *injection) wanting(control string) []int {
	var all []int
	if in.abnormal == nil {
		return nil
	}
	for n, a := range in.abnormal.Actions { // something harmless has none
		if _, ok := a.Set.Of(control); ok {
			all = append(all, n)
		}
	}
	return all
}

// notice is the first press that had to do with it, unless it had been told before.
func (j *judge) notice(in *injection, e *logbook.Entry, by Notice) {
	if in.noticed || in.told {
		return
	}
	in.noticed, in.at, in.off, in.entered = true, j.when(e), j.off(e), e.At
	in.NoticedBy = by
	in.DetectionMS = millis(in.at - in.onset)
	in.letGo = slices.DeleteFunc(in.letGo, func(p passed) bool { return p.at == in.at })
	if !in.Harmless {
		// The partner is silent. What was asked is resumed unprompted, or asked anew.
		j.untime(func(it *track) bool { return it != j.item(e.Item) || e.Kind == logbook.StopCall })
	}
}

// firstMove takes something that was moved, or answered, while it showed; false unless it is the first. What came sooner than
// a hand can react was under way already.
func (in *injection) firstMove(at time.Duration, what string) bool {
	if in.moved || in.Harmless || at-in.onset < Anticipation {
		return false
	}
	in.moved, in.movedAt, in.FirstMove = true, at, what
	return true
}

// rightMove is a move that belongs to it: one of these actions, or, without any, one that is right as well. It is what its
// press was, whatever else the log says of that.
func (in *injection) rightMove(at time.Duration, actions []int) {
	switch same := in.moved && in.movedAt == at; {
	case same && in.FirstMove == "" && len(in.first) > 0 && len(actions) > 0:
		in.first = append(in.first, actions...)
	case same && in.FirstMove == "": // right as well
		in.first = nil
	case same && len(in.Worse) > 0:
	default:
		in.moved = in.moved && !same
		if in.firstMove(at, "") {
			in.first = slices.Clone(actions)
		}
	}
	in.rightAt = at
	same := func(p passed) bool { return p.at == at }
	in.early, in.beside = slices.DeleteFunc(in.early, same), slices.DeleteFunc(in.beside, same)
}

// wrongMove is a move that is none of it; true if it is the first, or a part of that.
func (in *injection) wrongMove(at time.Duration, what string) bool {
	return in.firstMove(at, what) || in.moved && in.movedAt == at || in.Harmless || at-in.onset < Anticipation
}

// worseMove is a move that makes it worse, although it may be of a control that is to be moved.
func (in *injection) worseMove(at time.Duration, what string) {
	if in.moved && in.movedAt == at {
		in.moved, in.first = false, nil
	}
	in.firstMove(at, what)
}

func (j *judge) did(in *injection, e *logbook.Entry) {
	n := e.Number - 1
	if n < 0 || n >= len(in.Actions) {
		return
	}
	at := j.when(e)
	a := &in.Actions[n]
	if e.Why == logbook.Already {
		if a.DoneMS == nil {
			a.DoneMS, a.Already = millis(0), true
		}
		return
	}
	j.notice(in, e, ByAction)
	if in.NoticedBy == ByMove && in.entered == e.At { // the same press
		in.NoticedBy = ByAction
	}
	in.rightMove(at, []int{n})
	if a.DoneMS != nil && !a.Already {
		return
	}
	a.DoneMS, a.Already = millis(max(0, at-max(in.onset, e.Onset))), false
	if in.DiagnosisMS == nil {
		in.DiagnosisMS = a.DoneMS
	}
	in.order = append(in.order, n)
	a.Late = a.LimitMS > 0 && *a.DoneMS > a.LimitMS
}

func (in *injection) excursion(e *logbook.Entry) {
	i := slices.IndexFunc(in.Figures, func(x Excursion) bool { return x.Gauge == e.Name })
	if i < 0 {
		i = len(in.Figures)
		in.Figures = append(in.Figures, Excursion{Gauge: e.Name})
	}
	x := &in.Figures[i]
	x.RedS = max(x.RedS, e.Length.Seconds())
	switch e.Class {
	case logbook.Highest:
		x.Highest = e.Value
	case logbook.Lowest:
		x.Lowest = e.Value
	case logbook.LastRead:
		x.Last = e.Value
	}
}

func (j *judge) end(in *injection, e *logbook.Entry) {
	in.endedBy, in.why, in.over = e.Kind, e.Why, e.At
	in.takenOut = e.Kind == logbook.Cleared && e.Seat == logbook.Instructor
	in.ShouldHaveBeen = e.Item
	j.lastOver = in
	if in.open && !in.Harmless {
		j.untime(func(*track) bool { return true })
	}
}

// takeAfterwards is what one entry says of how the flow was resumed.
func (j *judge) takeAfterwards(in *injection, e *logbook.Entry) {
	switch e.Kind {
	case logbook.Resumed:
		if in.Resumed == "" {
			in.resumed(e, step{number: j.number, at: e.At})
		}
	case logbook.Prompted:
		if in.Resumed == "" {
			in.Resumed, in.Place, in.wentOn = ResumedPrompted, PlaceLost, step{number: j.number, at: e.At}
			in.ShouldHaveBeen = cmp.Or(in.ShouldHaveBeen, e.Item)
		}
	case logbook.Done:
		if in.waits && e.Item == in.ShouldHaveBeen && byHand(e) {
			in.waits = false
			in.ResumeRightMS = millis(in.lag + e.At - in.wentOn.at)
		}
	}
}

func (in *injection) resumed(e *logbook.Entry, s step) {
	in.Resumed, in.Place, in.wentOn = Resumption(e.Why), PlaceLost, s
	in.lag = e.Length
	in.ResumeMS = millis(in.lag)
	if e.Why == logbook.AtPlace {
		in.Place, in.ResumeRightMS, in.ShouldHaveBeen = PlaceKept, in.ResumeMS, ""
		return
	}
	in.WentOnAt, in.waits = e.Item, true
}

// injections gives every injection its outcome, and adds up how they were handled.
func (j *judge) injections() {
	j.result.Injections = []InjectionResult{}
	for _, in := range j.put {
		if in.endedBy == "" {
			in.over = j.now
		}
		in.sum()
		if in.recovered() {
			in.HandlingMS = millis(in.over - in.onset)
		}
		in.Outcome = j.outcomeOf(in)
		j.result.Injections = append(j.result.Injections, in.InjectionResult)
		if in.counts() {
			j.result.Handling.add(in)
		}
	}
}

// sum draws from the actions what they come to.
func (in *injection) sum() {
	if in.Place == "" {
		in.ShouldHaveBeen = ""
	}
	for _, p := range in.letGo {
		in.LetGo = append(in.LetGo, p.item)
	}
	for _, p := range in.early {
		in.Early = append(in.Early, p.item)
	}
	if in.open {
		in.ShownMS = millis(in.over - in.onset)
	}
	ranks := in.ranks()
	done := make([]int, len(in.order))
	for k, n := range in.order {
		done[k] = ranks[n]
	}
	kept := longestRise(done)
	for k, n := range in.order {
		in.Actions[n].OutOfOrder = !kept[k]
	}
	acted, left := false, false
	for n, a := range in.Actions {
		count(&in.ActionsDone, a.DoneMS != nil)
		count(&in.ActionsInTime, a.DoneMS != nil && !a.Late)
		count(&in.ActionsInOrder, a.DoneMS != nil && !a.OutOfOrder)
		if in.abnormal != nil && !in.abnormal.Actions[n].Silence {
			acted = acted || a.DoneMS != nil && !a.Already
			left = left || a.DoneMS == nil
		}
	}
	in.Beside = len(in.beside)
	in.SilencedOnly = in.endedBy != "" && !in.Harmless && in.SilencedMS != nil && left && !acted
	if in.open && !in.Harmless {
		in.diagnose(ranks)
	}
}

// ranks gives every action its place in the order: neighbours of one group share one.
func (in *injection) ranks() []int {
	ranks := make([]int, len(in.Actions))
	for n := 1; n < len(ranks); n++ {
		ranks[n] = ranks[n-1]
		if g := in.abnormal.Actions[n].Group; g == "" || g != in.abnormal.Actions[n-1].Group {
			ranks[n]++
		}
	}
	return ranks
}

// diagnose tells whether the first move was a right one: of those actions that come first among what was left to do, or one that
// is right as well.
func (in *injection) diagnose(ranks []int) {
	lead := slices.IndexFunc(in.Actions, func(a ActionResult) bool { return !a.Already })
	switch {
	case !in.moved:
		in.Diagnosis = NoMove
	case in.FirstMove != "":
		in.Diagnosis = DiagnosedWrong
	case len(in.first) == 0 || lead < 0 || slices.ContainsFunc(in.first, func(n int) bool { return ranks[n] <= ranks[lead] }):
		in.Diagnosis = DiagnosedRight
	default:
		in.Diagnosis, in.FirstMove = DiagnosedWrong, in.Actions[in.first[0]].Say
	}
}

// outcomeOf is what became of an injection, once the log is through.
func (j *judge) outcomeOf(in *injection) Outcome {
	switch {
	case !in.open || in.why == logbook.Unseen:
		return Unseen
	case in.Harmless && in.acted:
		return ActedOn
	case in.takenOut: // whatever it was, nobody knows what would have come of it
		return Cleared
	case in.Harmless && in.endedBy == "":
		return Unended
	case in.Harmless:
		return LeftAlone
	case in.endedBy == logbook.Cleared:
		return Cleared
	case in.endedBy == "":
		return j.unended(in)
	case in.endedBy == logbook.Handled && !in.noticed && !in.told && in.stood():
		return Stood
	case in.why == logbook.LeftOpen && (in.noticed || in.told || j.result.EndedWhy == logbook.Refused && !j.begun(in)):
		return LeftOpen
	case !in.noticed && !in.told:
		return NotNoticed
	case in.endedBy == logbook.Lost:
		return Lost
	case len(in.Worse) > 0:
		return MadeWorse
	case !in.noticed:
		return ToldFirst
	}
	return in.howHandled()
}

// stood reports whether everything that was to be done was already set.
func (in *injection) stood() bool {
	return len(in.Actions) > 0 && !slices.ContainsFunc(in.Actions, func(a ActionResult) bool { return !a.Already })
}

// howHandled tells apart those that were noticed, not made worse, and brought to their end state.
func (in *injection) howHandled() Outcome {
	any := func(so func(ActionResult) bool) bool { return slices.ContainsFunc(in.Actions, so) }
	switch {
	case any(func(a ActionResult) bool { return a.Late || a.DoneMS == nil }):
		return HandLate
	case in.Diagnosis == DiagnosedWrong:
		return WrongFirst
	case any(func(a ActionResult) bool { return a.OutOfOrder }):
		return OutOfOrder
	}
	return Handled
}

// unended tells of an abnormal that was not over when the sitting was. Whoever went through to the end over it has not
// noticed it, or left it alone; where the sitting was broken off, or a refusal was the right end, or it had hardly begun,
// nobody knows what would have come of it.
func (j *judge) unended(in *injection) Outcome {
	begun := j.begun(in)
	if !in.noticed && !in.told && begun && j.result.ended() {
		return NotNoticed
	}
	in.dropped = !j.result.ended() || j.result.EndedWhy == logbook.Refused || !begun
	return Unended
}

// begun reports whether an injection was there for long enough to have been noticed.
func (j *judge) begun(in *injection) bool {
	return in.over-in.onset >= LapseAt*j.sheet.Par.Of(string(in.Cue))
}

// recovered reports whether its end state was reached by what the trainee did.
func (in *injection) recovered() bool {
	return in.endedBy == logbook.Handled && !in.Harmless && (in.noticed || in.told)
}

func (h *Handling) add(in *injection) {
	h.Count++
	h.Actions += len(in.Actions)
	h.Done += in.ActionsDone
	h.InTime += in.ActionsInTime
	h.InOrder += in.ActionsInOrder
	count(&h.Noticed, in.noticed)
	count(&h.Told, in.told)
	count(&h.Diagnosed, in.Diagnosis == DiagnosedRight)
	count(&h.MadeWorse, len(in.Worse) > 0)
	count(&h.Handled, in.Outcome == Handled)
	count(&h.Recovered, in.recovered())
	count(&h.SilencedOnly, in.SilencedOnly)
}

// resuming sums up how the flow was resumed.
func (j *judge) resuming() {
	r := &j.result.Resuming
	var lags []float64
	for _, in := range j.put {
		if in.Place == "" {
			continue
		}
		r.Count++
		count(&r.Kept, in.Place == PlaceKept)
		count(&r.Lost, in.Place != PlaceKept)
		count(&r.Prompted, in.Resumed == ResumedPrompted)
		if in.ResumeRightMS != nil {
			lags = append(lags, *in.ResumeRightMS)
		}
	}
	if r.LagCount = len(lags); r.LagCount > 0 {
		slices.Sort(lags)
		m := median(lags)
		r.LagMS = &m
	}
}
