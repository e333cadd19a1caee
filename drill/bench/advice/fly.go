package advice

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/bench"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// lead stands in for a sound device's, as in other sittings without a clock.
const lead = 60 * time.Millisecond

// flight is a run by a hand that makes no mistake, and what the aircraft showed at each entry of its log.
type flight struct {
	log   []logbook.Entry
	shown map[int][]float64 // readings, by the number of the entry: of those that are asked about
	held  []time.Duration   // of conditions that were watched, when each first held; negative: never
}

// length is how long the sitting was.
func (f *flight) length() time.Duration { return f.log[len(f.log)-1].At }

// end is the entry with which it ended.
func (f *flight) end() *logbook.Entry {
	i := len(f.log) - 1
	for i > 0 && f.log[i].Kind != logbook.End {
		i--
	}
	return &f.log[i]
}

// asked is when an item was first asked.
func (f *flight) asked(item string) (time.Duration, bool) {
	for i := range f.log {
		if e := &f.log[i]; e.Kind == logbook.Ask && e.Item == item {
			return e.At, true
		}
	}
	return 0, false
}

// kept are the entries at which it matters what the aircraft showed.
var kept = []logbook.Kind{logbook.Ask, logbook.Answer, logbook.TimedOut, logbook.Lost, logbook.Blocked, logbook.Done}

// errNobody is a sitting that waits for somebody; a hand that makes no mistake can be left with one, and then the run ends there.
var errNobody = errors.New("it goes no further")

// fly goes through an exercise. watched are conditions whose first moment is to be found.
func fly(ctx context.Context, ex *drill.Exercise, seed uint64, watched []watch) (*flight, error) {
	s := ex.Begin(seed, lead)
	f := &flight{shown: map[int][]float64{}, held: slices.Repeat([]time.Duration{-1}, len(watched))}
	var craft *aircraft.Aircraft
	s.Observe(func(at time.Duration, now *aircraft.Aircraft) {
		craft = now
		for i, w := range watched {
			if f.held[i] < 0 && w != nil && w.Holds(now.Readings()) {
				f.held[i] = at
			}
		}
	})
	trainee, err := bench.NewTrainee(ex, s, &scenario.Answers{StartFrom: scenario.Perfect})
	if err != nil {
		return nil, err
	}
	err = drill.Run(s, trainee, drill.EstimatedLength, func(o drill.Output) error {
		if err := context.Cause(ctx); err != nil {
			return err
		}
		l, ok := o.(drill.Log)
		if !ok {
			return nil
		}
		f.log = append(f.log, l.Entry)
		if craft != nil && slices.Contains(kept, l.Entry.Kind) {
			f.shown[len(f.log)-1] = slices.Clone(craft.Readings())
		}
		return nil
	})
	if stopped := context.Cause(ctx); stopped != nil {
		return nil, stopped
	}
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errNobody, err)
	}
	return f, nil
}

// watch is a condition that is watched; nil: none.
type watch interface{ Holds(readings []float64) bool }

// healthy is documents with nothing that goes wrong, gone through by the policy in which every item is asked in words.
func healthy(docs drill.Documents) drill.Documents {
	sc := *docs.Scenario
	sc.Injections, sc.Drawn = nil, nil
	docs.Scenario, docs.Abnormals, docs.Policy = &sc, nil, scenario.Prompted
	return docs
}
