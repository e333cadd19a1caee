package score

import (
	"slices"

	"hornlark/drill/procedure"
)

// TrialKind is what kind of thing was to be known.
type TrialKind string

// What there is to be known.
const (
	TrialItem    TrialKind = "item"    // what an item asks for, once its turn has come; by its id
	TrialStep    TrialKind = "step"    // which item comes next; by the ids of both, see StepName
	TrialNotice  TrialKind = "notice"  // that something is wrong; by the name of the abnormal
	TrialActions TrialKind = "actions" // what is then to be done at once; by the name of the abnormal
	TrialFigure  TrialKind = "figure"  // a limit of the aircraft; by the id of the item that asks for it
)

// Trial is one time that something was to be known, and whether it was.
type Trial struct {
	Kind       TrialKind `json:"kind"`
	Name       string    `json:"name"`
	Right      bool      `json:"right"`
	Told       bool      `json:"told,omitempty"` // or asked for: it did not have to come from memory alone
	Slow       bool      `json:"slow,omitempty"` // right, and late, or in more time than a lapse takes
	ReactionMS *float64  `json:"reaction_ms"`    // null where there is none to measure
	ParMS      float64   `json:"par_ms"`         // what a practised hand needs for it; zero without a reaction
}

// StepName names the step from one item to the next.
func StepName(from, to string) string { return from + " > " + to }

// Trials gives what was to be known in a sitting, in the order of the sheet, then of the injections. What was never asked for, never
// reached or never seen is not among it, and neither is what nobody can tell about: an abnormal over which the sitting ended, a
// look-alike, what the instructor took out again, or what was done again because the instructor had set back to before it. A sheet is the one that the result was judged against.
func Trials(r *Result, sheet *Sheet) []Trial {
	var list []Trial
	misplaced := r.Order.outOfPlace()
	last := ""
	for i := range r.Items {
		it, item := &r.Items[i], &sheet.Items[i]
		if it.Outcome == NotAsked || it.Outcome == NotReached {
			continue
		}
		if it.SetBack { // what has just been gone through tells nothing of what would have been known
			last = ""
			continue
		}
		list = append(list, itemTrial(it, item, sheet))
		if last != "" && !sheet.Figures {
			list = append(list, Trial{
				Kind: TrialStep, Name: StepName(last, it.ID), Told: sheet.Spoken,
				Right: it.Outcome != Omitted && !misplaced[it.ID],
			})
		}
		last = it.ID
	}
	for i := range r.Injections {
		list = append(list, injectionTrials(&r.Injections[i], sheet)...)
	}
	return list
}

// outOfPlace are the items that stand at a wrong place: of neighbours that were swapped, both.
func (o *Order) outOfPlace() map[string]bool {
	out := map[string]bool{}
	for _, d := range o.Deviations {
		switch d.Kind {
		case Reversal, JumpForward, JumpBack, PlaceLosing:
			for _, id := range d.Items {
				out[id] = true
			}
		}
	}
	return out
}

func itemTrial(it *ItemResult, item *Item, sheet *Sheet) Trial {
	t := Trial{Kind: TrialItem, Name: it.ID}
	if sheet.Figures {
		t.Kind = TrialFigure
	}
	has := func(o Outcome) bool { return it.Outcome == o || slices.Contains(it.Marks, o) }
	t.Right = !has(Omitted) && !has(Wrong) && !has(Rote)
	if !t.Right {
		return t
	}
	t.Slow = has(Late) || it.Anticipated || it.Overshoots > 0
	if it.ReactionMS != nil && !it.Anticipated && !it.Ahead {
		t.ReactionMS, t.ParMS = it.ReactionMS, parOf(sheet, item)
		t.Slow = t.Slow || *t.ReactionMS >= LapseAt*t.ParMS
	}
	return t
}

// parOf is what a practised hand needs for an item.
func parOf(sheet *Sheet, item *Item) float64 {
	par := *millis(sheet.Par.Of(string(classOf(item.Kind))))
	if item.Kind != procedure.Callout {
		par += float64(float64(max(0, len(item.Controls)-1)) * *millis(ParEach))
	}
	return par
}

func injectionTrials(in *InjectionResult, sheet *Sheet) []Trial {
	switch in.Outcome {
	case Unseen, Unended, Stood, Cleared, LeftAlone, ActedOn:
		return nil
	}
	notice := Trial{Kind: TrialNotice, Name: in.Abnormal, Right: in.DetectionMS != nil}
	if notice.Right {
		notice.ReactionMS, notice.ParMS = in.DetectionMS, *millis(sheet.Par.Of(string(in.Cue)))
		notice.Slow = *in.DetectionMS >= LapseAt*notice.ParMS
	}
	if in.Outcome == NotNoticed || in.Outcome == LeftOpen || len(in.Actions) == 0 {
		return []Trial{notice} // nobody got as far as acting, or the flow ended first
	}
	actions := Trial{Kind: TrialActions, Name: in.Abnormal, Told: in.ToldMS != nil}
	actions.Right = in.Outcome == Handled || in.Outcome == HandLate || in.Outcome == ToldFirst && in.ActionsInOrder == len(in.Actions)
	actions.Slow = actions.Right && in.ActionsInTime < len(in.Actions)
	return []Trial{notice, actions}
}
