package debrief

import (
	"cmp"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/score"
)

// Sitting is what an export says of a sitting and its result.
type Sitting struct {
	ID        int64  // in the records that it comes from
	UID       string // the same everywhere
	Trainee   string // may be empty
	Scenario  string
	Title     string // of the scenario
	Procedure string
	Profile   string
	Policy    string
	Version   string // of the program
	State     string // complete, stopped or unended
	Seed      uint64
	Started   time.Time
	Moved     time.Duration     // by how much the clock of the records had been moved when it began; 0: it had not been
	Names     map[string]string // of items, by their ids: what the challenge is
	Caution   string            // over its aircraft, see CautionOf; empty: Caution
	Log       []logbook.Entry
	Result    *score.Result
}

// warns is the caution over the sitting.
func (s *Sitting) warns() string { return cmp.Or(s.Caution, Caution) }

// times is when the parts of a sitting were over, on the clock of the callers, which pauses do not stop.
type times struct {
	item, injection map[string]time.Duration
	end             time.Duration
}

func timesOf(log []logbook.Entry) times {
	t := times{item: map[string]time.Duration{}, injection: map[string]time.Duration{}}
	var clock logbook.Clock
	for i := range log {
		e := &log[i]
		at := clock.Follow(e)
		switch e.Kind {
		case logbook.Done, logbook.TimedOut:
			t.item[e.Item] = at
		case logbook.Handled, logbook.Lost, logbook.Cleared:
			t.injection[e.Injection] = at
		}
		t.end = max(t.end, at)
	}
	return t
}

// at gives the instant of something in the sitting; what is not in the map happened by its end.
func (s *Sitting) at(of map[string]time.Duration, key string, end time.Duration) time.Time {
	at, ok := of[key]
	if !ok {
		at = end
	}
	return s.Started.Add(at)
}

// CautionLines is a caution in lines of at most width characters.
func CautionLines(caution string, width int) []string {
	w := &writer{width: width}
	w.para("", caution)
	return w.lines
}
