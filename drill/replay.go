package drill

import (
	"cmp"
	"slices"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
)

// Stored is an input of a sitting as it was kept.
type Stored struct {
	At    time.Duration // since the sitting began
	Event Event
}

// Replay goes through a sitting again from its inputs, in their order, and then on to until, the time of the last thing
// that is known of it. Each output is handed to take, whose error ends the replay. A sitting that ended says so by then;
// one that was killed does not.
func Replay(plan *Plan, inputs []Stored, until time.Duration, take func(Output) error) error {
	s, err := New(plan)
	if err != nil {
		return err
	}
	r := replay{s: s, take: take}
	for _, in := range inputs {
		if err := r.input(in); err != nil {
			return err
		}
	}
	return r.advance(until)
}

// replay drives a sitting from what was kept.
type replay struct {
	s    *Sitting
	take func(Output) error
	each func() // after every step, if not nil
}

// advance goes on to a time, a step at a time.
func (r *replay) advance(to time.Duration) error {
	for !r.s.ended {
		next, ok := r.s.NextDeadline()
		if !ok || next > to {
			break
		}
		if err := r.s.Advance(next); err != nil {
			return err
		}
		if r.each != nil {
			r.each()
		}
		if err := r.drain(); err != nil {
			return err
		}
	}
	return r.drain()
}

func (r *replay) input(in Stored) error {
	if err := r.advance(in.At); err != nil {
		return err
	}
	if err := r.s.Input(in.At, in.Event); err != nil {
		return err
	}
	return r.drain()
}

func (r *replay) drain() error {
	for _, o := range r.s.Outputs() {
		if err := r.take(o); err != nil {
			return err
		}
	}
	return nil
}

// Cost is what an abnormal did to one gauge, from its onset to its end and CostAfter longer.
type Cost struct {
	Gauge   string
	Highest float64
	Lowest  float64
	InRed   time.Duration
}

// CostAfter is how long after the end of an abnormal its cost is still counted: what was overheated cools slowly.
const CostAfter = 5 * time.Second

// Costs gives what one injection cost as it went, and what it would have cost had every press of the trainee between its
// onset and its end come after factor times the delay. It goes through the sitting twice, from its inputs: the second
// time with those presses moved, so that what follows is the aircraft's own answer. Gauges that never left their green
// band in either are left out.
//
// The injection is named as in the log. One that never began has no costs, nor has one in which the sitting was paused.
func Costs(plan *Plan, inputs []Stored, log []logbook.Entry, injection string, factor float64) (as, moved []Cost, err error) {
	sp, ok := spanOf(log, injection)
	if !ok {
		return nil, nil, nil
	}
	if as, err = costs(plan, inputs, sp); err != nil {
		return nil, nil, err
	}
	if moved, err = costs(plan, hasten(inputs, sp, factor), sp); err != nil {
		return nil, nil, err
	}
	keep := func(i int) bool { return as[i].InRed > 0 || moved[i].InRed > 0 }
	var a, m []Cost
	for i := range as {
		if keep(i) {
			a, m = append(a, as[i]), append(m, moved[i])
		}
	}
	return a, m, nil
}

// span is an injection from its onset to its end, in the time of the inputs.
type span struct{ onset, end time.Duration }

// spanOf finds an injection in a log. The log leaves pauses out, and the inputs do not.
func spanOf(log []logbook.Entry, injection string) (sp span, ok bool) {
	var held time.Duration
	for _, e := range log {
		switch {
		case e.Kind == logbook.Paused && ok:
			return sp, false
		case e.Kind == logbook.Unpaused:
			held += time.Duration(e.Value * float64(time.Second))
		case e.Kind == logbook.Onset && e.Abnormal == injection:
			sp.onset, ok = e.At+held, true
		case ok:
			sp.end = e.At + held
			if e.Abnormal == injection && (e.Kind == logbook.Handled || e.Kind == logbook.Lost) {
				return sp, true
			}
		}
	}
	return sp, ok
}

// hasten moves the presses between the onset and the end nearer to the onset.
func hasten(inputs []Stored, sp span, factor float64) []Stored {
	out := slices.Clone(inputs)
	for i, in := range out {
		if _, press := in.Event.(Press); press && in.At > sp.onset && in.At <= sp.end {
			out[i].At = sp.onset + time.Duration(float64(in.At-sp.onset)*factor)
		}
	}
	slices.SortStableFunc(out, func(a, b Stored) int { return cmp.Compare(a.At, b.At) })
	return out
}

// costs goes through a sitting and watches its gauges between onset and end, and CostAfter longer.
func costs(plan *Plan, inputs []Stored, sp span) ([]Cost, error) {
	s, err := New(plan)
	if err != nil {
		return nil, err
	}
	out := make([]Cost, len(plan.Profile.Gauges))
	r := replay{s: s, take: func(Output) error { return nil }}
	r.each = func() {
		if s.clock.outer >= sp.onset {
			s.count(out)
		}
	}
	for _, in := range inputs {
		if in.At > sp.end {
			break
		}
		if err := r.input(in); err != nil {
			return nil, err
		}
	}
	return out, r.advance(sp.end + CostAfter)
}

// count adds one step to the costs.
func (s *Sitting) count(costs []Cost) {
	for i := range costs {
		value, band, alive := s.craft.Gauge(i)
		c := &costs[i]
		if c.Gauge == "" {
			*c = Cost{Gauge: s.plan.Profile.Gauges[i].ID, Highest: value, Lowest: value}
		}
		if !alive {
			continue
		}
		c.Highest, c.Lowest = max(c.Highest, value), min(c.Lowest, value)
		if band == aircraft.Red {
			c.InRed += aircraft.StepLength
		}
	}
}
