package score

import (
	"slices"
	"time"

	"hornlark/drill/logbook"
)

// incident is what the log has said of one injection so far.
type incident struct {
	InjectionResult
	cue     int           // the first
	shown   time.Duration // when that was logged
	onset   time.Duration // when it was to be heard, or seen
	open    bool          // it has shown itself
	ended   bool
	noticed bool
	acted   bool // a look-alike that was acted on
}

// takeIncident is what one entry means for the injection that is in the aircraft, or was last.
func (j *judge) takeIncident(e *logbook.Entry) {
	in := j.open
	switch e.Kind {
	case logbook.Inject:
		j.inject(e)
		return
	case logbook.Resumed, logbook.Prompted:
		if in != nil && in.ended && in.Resumed == "" {
			in.resumed(e)
		}
		return
	}
	if in == nil || in.ended {
		return
	}
	switch e.Kind {
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
			in.notice(e.At)
			if in.SilencedMS == nil {
				in.SilencedMS = millis(e.At - in.onset)
			}
		}
	case logbook.Action:
		in.did(e)
	case logbook.Worse:
		in.notice(e.At)
		in.acted = true
		in.Worse = append(in.Worse, e.Text)
	case logbook.Stray:
		in.acted = in.acted || in.open && e.Control != ""
	case logbook.Early:
		in.Early = append(in.Early, e.Item)
	case logbook.Handled, logbook.Lost:
		in.end(e)
	}
}

func (j *judge) inject(e *logbook.Entry) {
	in := &incident{InjectionResult: InjectionResult{
		Abnormal: e.Name, Name: e.Abnormal, Harmless: e.OK, Outcome: Unended, Actions: []ActionResult{},
	}}
	if a := j.sheet.Abnormals[e.Name]; a != nil {
		in.Title = a.Title
		for _, action := range a.Actions {
			in.Actions = append(in.Actions, ActionResult{Say: action.Say, LimitMS: *millis(action.Within)})
		}
	}
	j.open = in
	j.incident = append(j.incident, in)
}

// notice is the first press that had to do with it.
func (in *incident) notice(at time.Duration) {
	if !in.noticed {
		in.noticed = true
		in.DetectionMS = millis(at - in.onset)
	}
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
	in.notice(e.At)
	a.Late = a.LimitMS > 0 && *a.DoneMS > a.LimitMS
}

func (in *incident) end(e *logbook.Entry) {
	in.ended, in.Ended = true, e.Text
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

func (in *incident) resumed(e *logbook.Entry) {
	if e.Kind == logbook.Prompted {
		in.Resumed = "prompted"
		return
	}
	in.Resumed = e.Name
	in.ResumeMS = millis(time.Duration(e.Value * float64(time.Second)))
}
