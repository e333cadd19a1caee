package drill

import (
	"hornlark/drill/aircraft"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// View fills v with what there is to be seen at this moment. It changes nothing in the sitting.
func (s *Sitting) View(v *View) {
	s.Glance(v)
	s.viewRest(v)
	v.Said = v.Said[:0]
	for n := max(0, s.says-SaidLines); n < s.says; n++ {
		v.Said = append(v.Said, s.said[n%SaidLines])
	}
}

// Glance fills v with the part of it that a hand goes by: all but the bands of gauges, the guards of controls and what was said, which stay
// as they are. Whoever looks at every step of the aircraft, as a trainee on paper does, has no use for more. Keep one View for one
// sitting and glance with it over and over: then nothing is allocated, and of what seldom changes (controls, captions, alerts, facts)
// only what has changed is written again. The slices of such a View are therefore only to be read.
func (s *Sitting) Glance(v *View) {
	f := &s.flow
	v.At = s.clock.Callers(s.now)
	v.Phase, v.PhaseNo, v.Phases, v.ItemNo, v.Items = "", 0, 0, 0, 0
	v.Asked, v.Typed, v.Typing = nil, f.typed, f.typing
	v.Stopped, v.Paused, v.Ended = s.partner.stopped, s.paused, s.ended
	if s.policy.Shown {
		s.viewPlace(v)
	}
	v.Last = Response{}
	if s.policy.Feedback == scenario.AtOnce {
		v.Last = s.last
	}
	s.viewHands(v)
}

// viewPlace shows the place in the flow, and the challenge.
func (s *Sitting) viewPlace(v *View) {
	f := &s.flow
	phases := s.procedureNow().Phases
	v.Items, v.ItemNo, v.Phases = len(f.items)-f.first, f.dealt, len(phases)-s.part.from
	it := f.current()
	if it == nil {
		return
	}
	v.Phase, v.PhaseNo = phases[it.phase].Title, it.phase-s.part.from+1
	if f.asked && !s.ended {
		v.Asked = s.question(it)
	}
}

// question is what is asked by an item: the one given before for as long as nothing in it changes, since it is looked at at every step.
func (s *Sitting) question(it *item) *Question {
	q := Question{
		Item: it.ID, Kind: string(it.kind), Challenge: it.Challenge,
		Within: it.Limit(), Again: s.flow.again, Fix: s.flow.fixing,
	}
	if it.kind == procedure.Callout {
		q.Within = 0 // its time runs from the passing, which is for the trainee to see
	}
	if s.flow.spoken > 0 {
		q.Spoken = s.clock.Callers(s.flow.spoken)
	}
	if s.asking == nil || *s.asking != q {
		asking := q
		s.asking = &asking
	}
	return s.asking
}

// viewHands shows what a hand goes by. Whoever sits without a clock looks at every step, so it is filled in place.
func (s *Sitting) viewHands(v *View) {
	needles, alive := s.craft.Needles()
	v.Readings, v.Alive = append(v.Readings[:0], needles...), append(v.Alive[:0], alive...)
	v.Signs = append(v.Signs[:0], s.craft.Readings()...)
	if shows := s.craft.Shows(); v.of != s.craft || v.shows != shows {
		v.of, v.shows = s.craft, shows
		s.viewSwitches(v)
	}
}

// viewSwitches shows what only ever changes at once.
func (s *Sitting) viewSwitches(v *View) {
	p := s.profile()
	v.Sounding, v.Silenced = sized(v.Sounding, len(p.Alerts)), sized(v.Silenced, len(p.Alerts))
	for i := range v.Sounding {
		state := s.craft.AlertState(i)
		v.Sounding[i], v.Silenced[i] = state == aircraft.Sounding, state == aircraft.Silenced
	}
	v.Positions = sized(v.Positions, len(p.Controls))
	for i := range v.Positions {
		v.Positions[i] = s.craft.Position(i)
	}
	v.Lit = sized(v.Lit, len(p.Captions))
	for i := range v.Lit {
		v.Lit[i] = s.craft.Lit(i)
	}
	v.Facts, v.Seen = sized(v.Facts, len(p.Outside)), sized(v.Seen, len(p.Outside))
	for i := range v.Facts {
		v.Facts[i], v.Seen[i] = s.craft.Fact(i), s.craft.Seen(i)
	}
}

// sized is a slice of n elements, in the memory of s if that is enough.
func sized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

// viewRest shows what else there is.
func (s *Sitting) viewRest(v *View) {
	p := s.profile()
	v.Bands, v.Locked = v.Bands[:0], v.Locked[:0]
	for i := range p.Gauges {
		_, band, _ := s.craft.Gauge(i)
		v.Bands = append(v.Bands, band)
	}
	for i := range p.Controls {
		v.Locked = append(v.Locked, s.craft.Guarded(i))
	}
}
