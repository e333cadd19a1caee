package drill

import (
	"cmp"
	"fmt"
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
	return s.Replay(inputs, until, take)
}

// Replay is Replay in a sitting that is new, and that can be watched and viewed meanwhile. Errors are those of an input that
// the sitting does not take, and of take.
func (s *Sitting) Replay(inputs []Stored, until time.Duration, take func(Output) error) error {
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

// InputsOf gives the inputs that a log tells of: its presses, its pauses, and what was reported of its sounds. What a sitting
// took no notice of is in no log, so that the sitting goes the same way again with these inputs.
func InputsOf(log []logbook.Entry) ([]Stored, error) {
	var inputs []Stored
	var held time.Duration
	add := func(at time.Duration, e Event) { inputs = append(inputs, Stored{At: at + held, Event: e}) }
	for i := range log {
		switch e := &log[i]; e.Kind {
		case logbook.Press:
			press, err := ParsePress(e.Key)
			if err != nil {
				return nil, fmt.Errorf("entry %d of the log: %w", e.Seq, err)
			}
			add(e.At, press)
		case logbook.Heard:
			if e.Name == "" {
				add(e.At, reported(e, held))
			}
		case logbook.SoundBad, logbook.SoundGood:
			add(e.At, SoundHealth{Good: e.Kind == logbook.SoundGood, Why: e.Text})
		case logbook.Paused:
			add(e.At, Press{Key: Hold})
		case logbook.Unpaused:
			held += time.Duration(e.Value * float64(time.Second))
			add(e.At, Press{Key: Hold})
		}
	}
	return inputs, nil
}

// reported is the report that an entry tells of, in the time of the callers.
func reported(e *logbook.Entry, held time.Duration) Heard {
	h := Heard{Cue: e.Cue, Onset: e.Onset + held}
	if e.Until > 0 {
		h.End = e.Until + held
	}
	return h
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
func CostsOf(plan *Plan, log []logbook.Entry, factor float64) ([]Costs, error) {
	inputs, err := InputsOf(log)
	if err != nil {
		return nil, err
	}
	spans := spansOf(log)
	asWas, err := watch(plan, inputs, spans)
	if err != nil {
		return nil, err
	}
	var all []Costs
	for i, sp := range spans {
		moved := asWas[i : i+1]
		if sooner, any := hasten(inputs, sp, factor); any {
			if moved, err = watch(plan, sooner, []span{sp}); err != nil {
				return nil, err
			}
		}
		all = append(all, costsOf(plan, sp, asWas[i], moved[0]))
	}
	return all, nil
}

// costsOf keeps the gauges that matter, and that were alive both times.
func costsOf(plan *Plan, sp span, asWas, moved []Cost) Costs {
	out := Costs{Injection: sp.injection}
	cues := cuesOf(plan, sp.abnormal)
	for i, c := range asWas {
		if c.Gauge != "" && moved[i].Gauge != "" && (slices.Contains(cues, c.Gauge) || c.InRed >= moved[i].InRed+worthRed) {
			out.AsWas, out.Moved = append(out.AsWas, c), append(out.Moved, moved[i])
		}
	}
	return out
}

func cuesOf(plan *Plan, abnormal string) []string {
	for _, a := range plan.Abnormals {
		if a.Name == abnormal {
			return a.Cues
		}
	}
	return nil
}

// span is an abnormal from its onset to its end, in the time of the inputs.
type span struct {
	injection, abnormal string
	onset, end          time.Duration
}

// spansOf finds the abnormals in a log. The log leaves pauses out, and the inputs do not.
func spansOf(log []logbook.Entry) []span {
	var spans []span
	var held time.Duration
	open := span{}
	harmless := false
	for i := range log {
		switch e := &log[i]; e.Kind {
		case logbook.Unpaused:
			held += time.Duration(e.Value * float64(time.Second))
		case logbook.Inject:
			open, harmless = span{abnormal: e.Name}, e.OK
		case logbook.Onset:
			if !harmless {
				open.injection, open.onset = e.Abnormal, e.At+held
			}
		case logbook.Paused:
			open.injection = ""
		case logbook.Handled, logbook.Lost, logbook.End:
			if open.injection != "" {
				open.end = e.At + held
				spans = append(spans, open)
			}
			open = span{}
		}
	}
	return spans
}

// hasten moves the presses between the onset and the end nearer to the onset, and reports whether there are any.
func hasten(inputs []Stored, sp span, factor float64) (out []Stored, any bool) {
	out = slices.Clone(inputs)
	for i, in := range out {
		if _, press := in.Event.(Press); press && in.At > sp.onset && in.At <= sp.end {
			out[i].At = sp.onset + time.Duration(float64(in.At-sp.onset)*factor)
			any = true
		}
	}
	slices.SortStableFunc(out, func(a, b Stored) int { return cmp.Compare(a.At, b.At) })
	return out, any
}

// watch goes through a sitting and watches its gauges in each of the spans, and CostAfter longer. It ends with the last.
func watch(plan *Plan, inputs []Stored, spans []span) ([][]Cost, error) {
	out := make([][]Cost, len(spans))
	if len(spans) == 0 {
		return out, nil
	}
	s, err := New(plan)
	if err != nil {
		return nil, err
	}
	var until time.Duration
	for i, sp := range spans {
		out[i] = make([]Cost, len(plan.Profile.Gauges))
		until = max(until, sp.end+CostAfter)
	}
	r := replay{s: s, take: func(Output) error { return nil }}
	r.each = func() {
		for i, sp := range spans {
			if at := s.clock.outer; at >= sp.onset && at <= sp.end+CostAfter {
				s.count(out[i])
			}
		}
	}
	for _, in := range inputs {
		if in.At > until {
			break
		}
		if err := r.input(in); err != nil {
			return nil, err
		}
	}
	return out, r.advance(until)
}

// count adds one step to the costs. A gauge that is dead shows nothing that could be counted.
func (s *Sitting) count(costs []Cost) {
	for i := range costs {
		value, band, alive := s.craft.Gauge(i)
		if !alive {
			continue
		}
		c := &costs[i]
		if c.Gauge == "" {
			*c = Cost{Gauge: s.plan.Profile.Gauges[i].ID, Highest: value, Lowest: value}
		}
		c.Highest, c.Lowest = max(c.Highest, value), min(c.Lowest, value)
		if band == aircraft.Red {
			c.InRed += aircraft.StepLength
		}
	}
}
