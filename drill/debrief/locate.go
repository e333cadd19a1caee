package debrief

import (
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/score"
)

// Located is a departure from the procedure, and when it was seen, in the running time of the sitting.
type Located struct {
	score.Deviation
	At time.Duration
}

// Locate finds where in a log the departures were seen. What was left out stands where the next item was done, or, if there
// was none, at the end.
func Locate(r *score.Result, log []logbook.Entry) []Located {
	done := map[string]time.Duration{}
	var end time.Duration
	for i := range log {
		e := &log[i]
		end = max(end, e.At)
		if e.Kind == logbook.Done {
			if _, again := done[e.Item]; !again {
				done[e.Item] = e.At
			}
		}
	}
	var all []Located
	for _, d := range r.Order.Deviations {
		at, ok := done[d.Before]
		if !ok {
			at = end
		}
		if d.AtMS != nil && d.Kind != score.Omission {
			// A result has whole microseconds; the entry is within the next.
			at = time.Duration(*d.AtMS*float64(time.Millisecond)) + time.Microsecond
		}
		all = append(all, Located{d, at})
	}
	return all
}
