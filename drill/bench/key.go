package bench

import (
	"slices"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// key is what the trainee on paper knows beyond what a person sees: which abnormal is in the aircraft, since when it shows,
// and which of its actions count as done. Answers are written for abnormals by name, so somebody has to know.
type key struct {
	abnormals []*scenario.Abnormal
	flow      *flow
	clock     logbook.Clock

	active *scenario.Abnormal // nil: none
	shows  bool
	onset  time.Duration // callers' time
	did    []bool
	acted  bool               // the trainee has had to do with it, so that the flow is stopped
	ended  *scenario.Abnormal // it is over, and the trainee had stopped the flow for it
}

// showing is the abnormal that shows, or nil.
func (k *key) showing() *scenario.Abnormal {
	if !k.shows {
		return nil
	}
	return k.active
}

func (k *key) take(e *logbook.Entry) {
	at := k.clock.Follow(e)
	switch e.Kind {
	case logbook.Inject:
		i := slices.IndexFunc(k.abnormals, func(a *scenario.Abnormal) bool { return a.Name == e.Abnormal })
		k.active, k.shows, k.acted = nil, false, false
		if i >= 0 {
			k.active = k.abnormals[i]
			k.did = make([]bool, len(k.active.Actions))
		}
	case logbook.Onset:
		k.shows, k.onset = true, at
	case logbook.Action:
		if k.active != nil && e.Number >= 1 && e.Number <= len(k.did) {
			k.did[e.Number-1] = true
		}
		k.acted = k.acted || e.Why != logbook.Already
	case logbook.Worse, logbook.Also, logbook.StopCall, logbook.Silence:
		k.acted = k.acted || k.shows
	case logbook.Handled, logbook.Lost, logbook.Cleared:
		if k.shows && k.acted && k.active != nil && !k.active.Harmless {
			k.ended = k.active
		}
		k.active, k.shows = nil, false
	}
}
