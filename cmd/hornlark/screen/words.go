package screen

import (
	"cmp"

	"hornlark/drill"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Words are what whoever sits there is told of what there is to do, whatever shows the sitting. They hang on the policy and on nothing that
// happens.
type Words struct {
	Unasked   string            `json:"unasked"`   // while nothing is being asked
	Stopped   string            `json:"stopped"`   // once the partner has been stopped
	Others    string            `json:"others"`    // of a question that another pilot sees to; empty: the trainee does
	Fix       string            `json:"fix"`       // of one that has been refused, rightly
	Answering map[string]string `json:"answering"` // of one of a kind
	Feedback  string            `json:"feedback"`  // in place of what an answer amounted to; empty: that is shown
}

// WordsOf are the words for a policy, with the keys of a layout.
func WordsOf(p scenario.Policy, l Layout) Words {
	stop := cmp.Or(l, QWERTY).Label(drill.StopCall)
	w := Words{
		Unasked: "Listen for the next challenge.", Stopped: "The checklist waits for you. " + stop + " resumes it.", Fix: "put it right",
		Answering: map[string]string{
			string(procedure.Set): "move it", string(procedure.Check): "in limits?", string(procedure.Read): "type it, then Enter",
			string(procedure.Figure): "type it, then Enter", string(procedure.Callout): "Enter as it passes", string(procedure.Confirm): "is it so?",
		},
	}
	switch {
	case p.Flow == scenario.Nothing:
		w.Unasked, w.Stopped = "Watch and listen: act on what comes up.", "You have called stop. "+stop+" takes it back."
	case p.Acts == logbook.Pilot:
		w.Unasked = "The other pilot does the flow: watch it, and act if something is wrong."
	case p.Asks == "" && p.Acts == logbook.Trainee:
		w.Unasked = "From memory: do the flow, item by item."
	}
	if p.Acts == logbook.Pilot {
		w.Others = "the other pilot does it"
	}
	if p.Feedback == scenario.AtTheEnd {
		w.Feedback = "What was right is told at the end."
	}
	return w
}

// answering says what is wanted for a question. The line at the foot says which keys are yes and no.
func (w *Words) answering(q *drill.Question) string {
	switch {
	case w.Others != "":
		return w.Others
	case q.Fix:
		return w.Fix
	}
	return w.Answering[q.Kind]
}
