package score

import (
	"cmp"
	"slices"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// incident is what the log has said of one injection so far.
type incident struct {
	InjectionResult
	abnormal *scenario.Abnormal // nil: not known
	cue      int                // the first
	cues     []int              // those that began after it, until it was noticed
	shown    time.Duration      // when that was logged
	onset    time.Duration      // when it was to be heard, or seen
	open     bool               // it has shown itself
	ended    bool
	noticed  bool
	at       time.Duration // when it was noticed
	acted    bool          // a look-alike that was acted on
	order    []int         // its actions as the trainee did them
	moved    bool          // something was moved since the onset
	movedAt  time.Duration
	over     time.Duration // when it ended
	wentOn   step          // how the flow was gone on with
	waits    bool          // for the item that should have been gone on with
	lag      time.Duration // from when it could have been gone on with to when it was
}

// busy reports whether the injection has shown itself and is not over: what is done belongs to it.
func (in *incident) busy() bool { return in != nil && in.open && !in.ended }

// wrongs reports whether it is a real abnormal that has shown itself, so that something is to be noticed and done.
func (in *incident) wrongs() bool {
	return in.open && !in.Harmless && in.Outcome != Unended && in.Outcome != Unseen && !in.stood()
}

// stood reports whether everything stood right already when it began, so that there was nothing to notice.
func (in *incident) stood() bool {
	return in.Outcome == Handled && in.DetectionMS == nil
}

// takeIncident is what one entry means for the injection that is in the aircraft, or was last.
func (j *judge) takeIncident(e *logbook.Entry) {
	in := j.open
	switch {
	case e.Kind == logbook.Inject:
		j.inject(e)
	case in == nil:
	case in.ended:
		j.takeAfterwards(in, e)
	default:
		j.takeDuring(in, e)
	}
}

func (j *judge) takeDuring(in *incident, e *logbook.Entry) {
	switch e.Kind {
	case logbook.Cue:
		if in.busy() && !in.noticed && in.abnormal != nil && slices.Contains(in.abnormal.Cues, e.Text) {
			in.cues = append(in.cues, e.Cue)
		}
	case logbook.Onset:
		in.open, in.cue, in.shown, in.Cue = true, e.Cue, e.At, e.Name
		in.onset = max(e.At, j.cues[e.Cue].onset)
		if !in.Harmless {
			// The checklist rests. What was asked is gone on with unprompted, or asked anew.
			j.untime(func(*track) bool { return true })
		}
	case logbook.Heard:
		// The horn was reported after the onset had been logged: what was really heard counts.
		if in.open && !in.noticed && e.Cue == in.cue {
			in.onset = max(in.shown, e.Onset)
		}
	case logbook.Silence:
		if in.open && e.Text != "nothing" && (!in.Harmless || in.Cue == "horn") {
			in.notice(e.At, "silence")
			if in.SilencedMS == nil {
				in.SilencedMS = millis(e.At - in.onset)
			}
		}
	case logbook.Moved:
		if e.Name == "" && in.wants(e.Control) {
			in.notice(e.At, "action")
			in.move(e.At, "")
		}
	case logbook.Action:
		in.did(e)
	case logbook.Worse:
		in.notice(e.At, "worse")
		in.moveInstead(e.At, cmp.Or(e.Control, e.Text))
		in.acted = true
		in.Worse = append(in.Worse, e.Text)
	case logbook.Stray:
		in.acted = in.acted || in.open && e.Control != ""
		in.move(e.At, cmp.Or(e.Control, e.Key))
	case logbook.Early:
		in.Early = append(in.Early, e.Item)
		in.move(e.At, e.Item)
	case logbook.Handled, logbook.Lost:
		in.end(e)
	}
}

func (j *judge) inject(e *logbook.Entry) {
	in := &incident{InjectionResult: InjectionResult{
		Abnormal: e.Name, Name: e.Abnormal, Harmless: e.OK, Outcome: Unended, Actions: []ActionResult{},
	}}
	if a := j.sheet.Abnormals[e.Name]; a != nil {
		in.abnormal, in.Title = a, a.Title
		for _, action := range a.Actions {
			in.Actions = append(in.Actions, ActionResult{Say: action.Say, LimitMS: *millis(action.Within)})
		}
	}
	j.open = in
	j.incident = append(j.incident, in)
}

// wants reports whether one of the immediate actions is a move of this control.
func (in *incident) wants(control string) bool {
	return in.open && !in.Harmless && in.abnormal != nil && slices.ContainsFunc(in.abnormal.Actions, func(a scenario.Action) bool {
		_, ok := a.Set[control]
		return ok
	})
}

// notice is the first press that had to do with it.
func (in *incident) notice(at time.Duration, by string) {
	if !in.noticed {
		in.noticed, in.at = true, at
		in.DetectionMS, in.NoticedBy = millis(at-in.onset), by
	}
}

// move is something that was moved, or answered, while it was open: if it is the first, it tells whether the trainee knew
// what it was. What came sooner than a hand can react was under way already. What is empty for what belongs to it.
func (in *incident) move(at time.Duration, what string) {
	if in.moved || !in.open || in.Harmless || at-in.onset < Anticipation {
		return
	}
	in.moved, in.movedAt, in.FirstMove = true, at, what
}

// moveInstead is a move that turns out to be none of its actions, although it is of one of their controls.
func (in *incident) moveInstead(at time.Duration, what string) {
	if in.moved && in.movedAt == at {
		in.moved = false
	}
	in.move(at, what)
}

func (in *incident) did(e *logbook.Entry) {
	n := int(e.Value) - 1
	if n < 0 || n >= len(in.Actions) {
		return
	}
	a := &in.Actions[n]
	a.DoneMS = millis(max(0, e.At-in.onset))
	a.Already = e.Name == "already"
	if a.Already {
		return
	}
	in.notice(e.At, "action")
	in.move(e.At, "")
	if in.DiagnosisMS == nil {
		in.DiagnosisMS = a.DoneMS
	}
	if !slices.Contains(in.order, n) {
		in.order = append(in.order, n)
	}
	a.Late = a.LimitMS > 0 && *a.DoneMS > a.LimitMS
}

func (in *incident) end(e *logbook.Entry) {
	in.ended, in.over, in.Ended = true, e.At, e.Text
	in.ShouldHaveBeen = e.Item
	late := slices.ContainsFunc(in.Actions, func(a ActionResult) bool { return a.Late })
	switch {
	case e.Name == "unseen":
		in.Outcome = Unseen
	case in.Harmless && in.acted:
		in.Outcome = ActedOn
	case in.Harmless:
		in.Outcome = LeftAlone
	case e.Kind == logbook.Lost:
		in.Outcome = Lost
	default:
		in.Outcome = Handled
		if late {
			in.Outcome = HandLate
		}
		in.HandlingMS = millis(e.At - in.onset)
	}
}

// takeAfterwards is what one entry says of how the flow was gone on with.
func (j *judge) takeAfterwards(in *incident, e *logbook.Entry) {
	switch e.Kind {
	case logbook.Resumed:
		if in.Resumed == "" {
			in.resumed(e, step{number: j.number, at: e.At})
		}
	case logbook.Prompted:
		if in.Resumed == "" {
			in.Resumed, in.Place, in.wentOn = "prompted", PlaceLost, step{number: j.number, at: e.At}
			in.ShouldHaveBeen = cmp.Or(in.ShouldHaveBeen, e.Item)
		}
	case logbook.Done:
		if in.waits && e.Item == in.ShouldHaveBeen {
			in.waits = false
			in.ResumeRightMS = millis(in.lag + e.At - in.wentOn.at)
		}
	}
}

func (in *incident) resumed(e *logbook.Entry, s step) {
	in.Resumed, in.Place, in.wentOn = e.Name, PlaceLost, s
	in.lag = time.Duration(e.Value * float64(time.Second))
	in.ResumeMS = millis(in.lag)
	if e.Name == "right" {
		in.Place, in.ResumeRightMS, in.ShouldHaveBeen = PlaceKept, in.ResumeMS, ""
		return
	}
	in.WentOnAt, in.waits = e.Item, true
}

// injections moves what is known of the injections into the result, and adds up how they were handled.
func (j *judge) injections() {
	j.result.Injections = []InjectionResult{}
	for _, in := range j.incident {
		in.sum()
		j.result.Injections = append(j.result.Injections, in.InjectionResult)
		if in.wrongs() {
			j.result.Handling.add(in)
		}
	}
}

// sum draws from the actions what they come to.
func (in *incident) sum() {
	if in.Place == "" {
		in.ShouldHaveBeen = ""
	}
	kept := longestRise(in.order)
	for k, n := range in.order {
		in.Actions[n].OutOfOrder = !kept[k]
	}
	acted, left := false, false
	for n, a := range in.Actions {
		byHand := a.DoneMS != nil && !a.Already
		if a.DoneMS != nil {
			in.ActionsDone++
		}
		if a.DoneMS != nil && !a.Late {
			in.ActionsInTime++
		}
		if a.DoneMS != nil && !a.OutOfOrder {
			in.ActionsInOrder++
		}
		if in.abnormal != nil && !in.abnormal.Actions[n].Silence {
			acted = acted || byHand
			left = left || a.DoneMS == nil
		}
	}
	in.SilencedOnly = in.ended && !in.Harmless && in.SilencedMS != nil && left && !acted
	if !in.open || in.Harmless {
		return
	}
	switch {
	case !in.moved:
		in.Diagnosis = NoMove
	case in.FirstMove == "":
		in.Diagnosis = DiagnosedRight
	default:
		in.Diagnosis = DiagnosedWrong
	}
}

func (h *Handling) add(in *incident) {
	h.Count++
	h.Actions += len(in.Actions)
	h.Done += in.ActionsDone
	h.InTime += in.ActionsInTime
	h.InOrder += in.ActionsInOrder
	count(&h.Noticed, in.DetectionMS != nil)
	count(&h.Diagnosed, in.Diagnosis == DiagnosedRight)
	count(&h.MadeWorse, len(in.Worse) > 0)
	count(&h.Recovered, in.Outcome == Handled || in.Outcome == HandLate)
	count(&h.SilencedOnly, in.SilencedOnly)
}

// resuming sums up how the flow was gone on with.
func (j *judge) resuming() {
	r := &j.result.Resuming
	var lags []float64
	for _, in := range j.incident {
		if in.Place == "" {
			continue
		}
		r.Count++
		if in.Place == PlaceKept {
			r.Kept++
		} else {
			r.Lost++
		}
		if in.Resumed == "prompted" {
			r.Prompted++
		}
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
