package drill

import (
	"hornlark/drill/aircraft"
	"hornlark/drill/scenario"
)

// View fills v with what a screen shows at this moment. It changes nothing in the sitting.
func (s *Sitting) View(v *View) {
	f := &s.flow
	v.At = s.clock.out(s.now)
	v.Items, v.ItemNo = len(f.items), s.dealtWith()
	v.Phases = len(s.plan.Procedure.Phases)
	v.Asked, v.Typed, v.Typing = nil, f.typed, f.typing
	if it := f.current(); it != nil {
		v.Phase, v.PhaseNo = s.plan.Procedure.Phases[it.phase].Title, it.phase+1
		if f.asked && s.mode != scenario.Recall && !s.suspended() && !s.ended {
			v.Asked = s.question(it)
		}
	}
	v.Abnormal, v.Resuming, v.Paused, v.Ended = s.suspended(), f.resuming, s.paused, s.ended
	v.Last = s.last
	s.viewCraft(v)
	v.Recent = v.Recent[:0]
	for n := max(1, s.seq-RecentLines+1); n <= s.seq; n++ {
		v.Recent = append(v.Recent, s.recent[n%RecentLines])
	}
}

func (s *Sitting) question(it *item) *Question {
	q := &Question{
		Item: it.ID, Kind: string(it.kind), Challenge: it.Challenge,
		Look: it.Look, Within: it.Limit(), Again: s.flow.again,
	}
	if s.flow.timed {
		q.Spoken = s.clock.out(s.flow.from)
	}
	return q
}

func (s *Sitting) dealtWith() int {
	n := 0
	for i := range s.flow.items {
		if s.flow.items[i].stage != pending {
			n++
		}
	}
	return n
}

func (s *Sitting) viewCraft(v *View) {
	p := s.plan.Profile
	v.Readings, v.Bands, v.Alive = v.Readings[:0], v.Bands[:0], v.Alive[:0]
	for i := range p.Gauges {
		value, band, alive := s.craft.Gauge(i)
		v.Readings, v.Bands, v.Alive = append(v.Readings, value), append(v.Bands, band), append(v.Alive, alive)
	}
	v.Lit = v.Lit[:0]
	for i := range p.Captions {
		v.Lit = append(v.Lit, s.craft.Lit(i))
	}
	v.Sounding, v.Silenced = v.Sounding[:0], v.Silenced[:0]
	for i := range p.Alerts {
		state := s.craft.AlertState(i)
		v.Sounding, v.Silenced = append(v.Sounding, state == aircraft.Sounding), append(v.Silenced, state == aircraft.Silenced)
	}
	v.Positions = v.Positions[:0]
	for i := range p.Controls {
		v.Positions = append(v.Positions, s.craft.Position(i))
	}
	v.Facts = v.Facts[:0]
	for i := range p.Outside {
		v.Facts = append(v.Facts, s.craft.Fact(i))
	}
}
