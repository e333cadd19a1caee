package bench

import (
	"cmp"
	"slices"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// Cost is what an abnormal did to one gauge, from its onset to its end, and CostAfter longer unless the exercise was reset then.
type Cost struct {
	Gauge   string
	Highest float64
	Lowest  float64
	InRed   time.Duration

	red bool // in the latest step
}

// CostAfter is how long after the end of an abnormal its cost is still counted: what was overheated cools slowly.
const CostAfter = 5 * time.Second

// worthRed is the time in a red band from which a delay has cost something.
const worthRed = 100 * time.Millisecond

// Costs is what one injection cost, gauge by gauge: as it went, and as it would have gone with the presses moved.
type Costs struct {
	Injection string // as in the log
	AsWas     []Cost
	Moved     []Cost // of the same gauges
}

// CostsOf gives what each abnormal of a sitting cost as it went, and what it would have cost had every press of the trainee
// between its onset and its end come after factor times the delay. The sitting is gone through again from its log, once as
// it was and then once for each abnormal with those presses moved, so that what follows is the aircraft's own answer.
// Of the gauges those are given that the abnormal can be noticed by, and those that the delay itself kept in a red band for
// longer. What is red because an engine stands still costs nothing.
//
// A look-alike costs nothing; neither do abnormals that never began, or in which the sitting was paused.
func CostsOf(ex *drill.Exercise, seed uint64, lead time.Duration, log []logbook.Entry, factor float64) ([]Costs, error) {
	inputs := drill.InputsOf(log)
	spans := spansOf(ex.Abnormals(), log)
	again := func(inputs []drill.Stored, spans []span) ([][]Cost, error) {
		return weigh(ex, ex.Begin(seed, lead), inputs, spans)
	}
	asWas, err := again(inputs, spans)
	if err != nil {
		return nil, err
	}
	var all []Costs
	for i, sp := range spans {
		moved := asWas[i : i+1]
		if sooner, any := hasten(inputs, sp, factor); any {
			if moved, err = again(sooner, []span{sp}); err != nil {
				return nil, err
			}
		}
		all = append(all, costsOf(ex.Abnormals(), sp, asWas[i], moved[0]))
	}
	return all, nil
}

// costsOf keeps the gauges that matter, and that were alive both times.
func costsOf(abnormals []*scenario.Abnormal, sp span, asWas, moved []Cost) Costs {
	out := Costs{Injection: sp.injection}
	var cues []string
	if i := slices.IndexFunc(abnormals, func(a *scenario.Abnormal) bool { return a.Name == sp.abnormal }); i >= 0 {
		cues = abnormals[i].Cues
	}
	for i, c := range asWas {
		if c.Gauge != "" && moved[i].Gauge != "" && (slices.Contains(cues, c.Gauge) || c.InRed >= moved[i].InRed+worthRed) {
			out.AsWas, out.Moved = append(out.AsWas, c), append(out.Moved, moved[i])
		}
	}
	return out
}

// span is an abnormal from its onset to its end, in running time, and the callers' time at which that began.
type span struct {
	injection, abnormal string
	onset, end          time.Duration
	after               time.Duration // how much longer its cost is counted
	offset              time.Duration // callers' time less running time
}

// spansOf finds the abnormals in a log. What an aircraft that has been reset shows is nobody's doing.
func spansOf(abnormals []*scenario.Abnormal, log []logbook.Entry) []span {
	var spans []span
	var clock logbook.Clock
	open := span{}
	harmless := false
	for i := range log {
		e := &log[i]
		at := clock.Follow(e)
		switch e.Kind {
		case logbook.Inject:
			open, harmless = span{abnormal: e.Abnormal}, e.OK
		case logbook.Onset:
			if !harmless {
				open.injection, open.onset, open.offset = e.Injection, e.At, at-e.At
			}
		case logbook.Paused:
			open.injection = ""
		case logbook.Handled, logbook.Lost, logbook.Cleared, logbook.End:
			if open.injection != "" {
				open.end, open.after = e.At, CostAfter
				if slices.ContainsFunc(abnormals, func(a *scenario.Abnormal) bool { return a.Name == open.abnormal && a.Reset != "" }) || e.Seat == logbook.Instructor {
					open.after = 0
				}
				spans = append(spans, open)
			}
			open = span{}
		}
	}
	return spans
}

// hasten moves the presses between the onset and the end nearer to the onset, and reports whether there are any.
func hasten(inputs []drill.Stored, sp span, factor float64) (out []drill.Stored, any bool) {
	onset, end := sp.onset+sp.offset, sp.end+sp.offset
	out = slices.Clone(inputs)
	for i, in := range out {
		if _, press := in.Event.(drill.Press); press && in.At > onset && in.At <= end {
			out[i].At = onset + time.Duration(float64(in.At-onset)*factor)
			any = true
		}
	}
	slices.SortStableFunc(out, func(a, b drill.Stored) int { return cmp.Compare(a.At, b.At) })
	return out, any
}

// weigh goes through a sitting and watches its gauges in each of the spans, and as much longer as each counts. It ends with the last.
func weigh(ex *drill.Exercise, s *drill.Sitting, inputs []drill.Stored, spans []span) ([][]Cost, error) {
	out := make([][]Cost, len(spans))
	if len(spans) == 0 {
		return out, nil
	}
	gauges := ex.Documents().Profile.Gauges
	var until time.Duration // callers' time
	for i, sp := range spans {
		out[i] = make([]Cost, len(gauges))
		until = max(until, sp.end+sp.offset+sp.after)
	}
	reset := make([]bool, len(spans))
	s.Observe(func(at time.Duration, craft *aircraft.Aircraft) {
		for i, sp := range spans {
			switch {
			case at < sp.onset || at > sp.end+sp.after:
			case reset[i]: // sooner than as it was: what was red by then is taken to have stayed so
				linger(out[i])
			default:
				count(gauges, craft, out[i])
			}
		}
	})
	for i := range inputs {
		if inputs[i].At > until {
			inputs = inputs[:i]
			break
		}
	}
	return out, s.Replay(inputs, until, func(o drill.Output) error {
		l, ok := o.(drill.Log)
		if !ok || l.Entry.Kind != logbook.Handled && l.Entry.Kind != logbook.Lost {
			return nil
		}
		for i, sp := range spans {
			reset[i] = reset[i] || sp.after == 0 && l.Entry.Injection == sp.injection
		}
		return nil
	})
}

// count adds one step to the costs. A gauge that is dead shows nothing that could be counted.
func count(gauges []aircraft.Gauge, craft *aircraft.Aircraft, costs []Cost) {
	for i := range costs {
		value, band, alive := craft.Gauge(i)
		if !alive {
			continue
		}
		c := &costs[i]
		if c.Gauge == "" {
			*c = Cost{Gauge: gauges[i].ID, Highest: value, Lowest: value}
		}
		c.Highest, c.Lowest = max(c.Highest, value), min(c.Lowest, value)
		if c.red = band == aircraft.Red; c.red {
			c.InRed += aircraft.StepLength
		}
	}
}

// linger adds one more step with everything as it was in the last one.
func linger(costs []Cost) {
	for i := range costs {
		if costs[i].red {
			costs[i].InRed += aircraft.StepLength
		}
	}
}
