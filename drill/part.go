package drill

import (
	"errors"
	"fmt"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// A scenario may go through some phases of its procedure alone. Its sitting begins as if all before them had been done, and done
// right: the other pilot does that, once, as the exercise is made, without a clock and with nothing going wrong. What they leave,
// in the aircraft and of the flow, is what every sitting begins with.

// part is what of a procedure is gone through, and how it stands as the first of these phases begins.
type part struct {
	procedure *procedure.Procedure // of these phases alone
	upTo      *procedure.Procedure // of these, and those before
	from      int                  // index of the first of them
	first     int                  // place of its first item
	begins    *aircraft.Aircraft
	state     []progress // of the items before it
	last      int        // place of the item done last
}

// all is a part that is the whole.
func all(proc *procedure.Procedure, settled *aircraft.Aircraft) part {
	return part{procedure: proc, upTo: proc, begins: settled, last: -1}
}

// upTo is a procedure without what comes after the phases that a scenario goes through.
func upTo(sc *scenario.Scenario, proc *procedure.Procedure) *procedure.Procedure {
	_, until := sc.Part(proc)
	if until == len(proc.Phases) {
		return proc
	}
	cut := *proc
	cut.Phases = proc.Phases[:until]
	return &cut
}

// outside is the items of a procedure that a scenario does not go through, and for each the one from which the flow is done again
// instead: the first of the part for what lies before it, none for what lies after.
func outside(sc *scenario.Scenario, proc *procedure.Procedure) map[string]string {
	from, until := sc.Part(proc)
	items := map[string]string{}
	for i := range proc.Phases {
		for k := range proc.Phases[i].Items {
			switch id := proc.Phases[i].Items[k].ID; {
			case i < from:
				items[id] = proc.Phases[from].Items[0].ID
			case i >= until:
				items[id] = ""
			}
		}
	}
	return items
}

// goThrough settles what is gone through, and has everything done that lies before it.
func (ex *Exercise) goThrough() error {
	sc, proc := ex.docs.Scenario, ex.docs.Procedure
	ex.part = all(proc, ex.settled)
	if ex.policy.Flow != scenario.Checklist {
		if len(sc.Phases) > 0 {
			return fmt.Errorf("%s: it goes through phases, and with policy %s none runs; take another policy, or leave the phases out", sc.Name, ex.policy.Name)
		}
		return nil
	}
	from, _ := sc.Part(proc)
	ex.part.upTo = upTo(sc, proc)
	only := *ex.part.upTo
	only.Phases = only.Phases[from:]
	ex.part.procedure, ex.part.from = &only, from
	if from == 0 {
		return nil
	}
	for ex.items[ex.part.first].phase < from {
		ex.part.first++
	}
	if err := ex.doBefore(); err != nil {
		return fmt.Errorf("%s: phase %s cannot be begun in this weather and state: %w", sc.Name, proc.Phases[from].ID, err)
	}
	return nil
}

// errBegins ends what is done before the part.
var errBegins = errors.New("the part begins")

// doBefore has the other pilot do everything up to the part.
func (ex *Exercise) doBefore() error {
	before := *ex
	before.policy, _ = scenario.PolicyOf(scenario.Watch)
	before.part, before.fixed, before.drawn = all(ex.part.upTo, ex.settled), nil, nil
	s := before.Begin(0, 0)
	s.pilot.alone = true
	phase := ex.docs.Procedure.Phases[ex.part.from].ID
	err := Run(s, &silencer{s: s}, EstimatedLength, func(o Output) error {
		if l, ok := o.(Log); ok {
			return begun(&l.Entry, phase)
		}
		return nil
	})
	if !errors.Is(err, errBegins) {
		return err
	}
	p := &ex.part
	p.begins = s.phases[p.from]
	p.begins.Forget()
	p.state, p.last = s.flow.state[:p.first], s.flow.last
	return nil
}

// begun looks at what is logged of what is done before a phase: whether that begins, or whether something has not been done right.
func begun(e *logbook.Entry, phase string) error {
	switch e.Kind {
	case logbook.Phase:
		if e.Name == phase {
			return errBegins
		}
	case logbook.TimedOut:
		return fmt.Errorf("%s cannot be done", e.Item)
	case logbook.Fixed:
		if !e.OK {
			return fmt.Errorf("%s cannot be put right", e.Item)
		}
	case logbook.End:
		return fmt.Errorf("before it the sitting ends: %s", e.Text)
	}
	return nil
}

// silencer is a hand that silences alerts and does nothing else.
type silencer struct {
	s     *Sitting
	since time.Duration // since when one has been sounding; zero: none
}

// Take has no need of outputs.
func (*silencer) Take(Output) {}

// Next is the silence button, a reaction after something has begun to sound.
func (h *silencer) Next() (time.Duration, Press, bool) {
	if !h.s.sounds() {
		h.since = 0
		return 0, Press{}, false
	}
	if h.since == 0 {
		h.since = h.s.now
	}
	return max(h.since+scenario.DefaultReaction, h.s.now), Press{Key: Quiet}, true
}

// Pressed has nothing to remember.
func (*silencer) Pressed(time.Duration) {}

// sounds reports whether an alert goes on sounding that can be silenced.
func (s *Sitting) sounds() bool {
	for i := range s.profile().Alerts {
		if a := &s.profile().Alerts[i]; a.Silenced && !a.Once && s.craft.AlertState(i) == aircraft.Sounding {
			return true
		}
	}
	return false
}

// beginPart puts the flow to where the part begins.
func (f *flow) beginPart(p *part) {
	copy(f.state, p.state)
	for i := range p.first {
		f.gated[i] = true
	}
	f.first, f.last = p.first, p.last
}

// here is an abnormal as it goes in a part of its flow. Where the flow would be done again from an item before the part, it is from
// the first one of it, in the aircraft as it was then; from an item after it, where it was. The crew says no more than that.
func (c *compiler) here(src *scenario.Abnormal) *scenario.Abnormal {
	to, outside := c.outside[src.BackTo]
	if !outside {
		return src
	}
	part := *src
	part.BackTo, part.Say, part.Reset = to, scenario.ControlsReset, scenario.Before
	return &part
}

// Abnormals are those of the profile as they go in this exercise. They belong to it and are only to be read.
func (ex *Exercise) Abnormals() []*scenario.Abnormal {
	list := make([]*scenario.Abnormal, len(ex.every))
	for i, ab := range ex.every {
		list[i] = ab.Abnormal
	}
	return list
}
