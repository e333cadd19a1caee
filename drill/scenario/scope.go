package scenario

import (
	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
)

// Scope is every name that a condition of an abnormal may use: those of the profile, and for each gauge how far it went
// since the onset, as in nr_lowest and tot2_highest, in its unit and whatever its scale; and since_onset, in seconds.
func Scope(p *aircraft.Profile) condition.Scope {
	scope := p.Scope()
	out := make(condition.Scope, len(scope)+2*len(p.Gauges)+1)
	for name, n := range scope {
		out[name] = n
	}
	next := p.Slots()
	add := func(name string) {
		out[name] = condition.Name{Type: condition.Number, Slot: next}
		next++
	}
	for i := range p.Gauges {
		add(p.Gauges[i].ID + "_highest")
		add(p.Gauges[i].ID + "_lowest")
	}
	add("since_onset")
	return out
}

// Lasting is the readings that conditions of an abnormal are asked of: those of the aircraft, and what has been since the
// onset. It is filled in by Since at each step.
type Lasting struct {
	profile  *aircraft.Profile
	readings []float64
	begun    bool
}

// NewLasting is for an abnormal that begins now.
func NewLasting(p *aircraft.Profile) *Lasting {
	return &Lasting{profile: p, readings: make([]float64, p.Slots()+2*len(p.Gauges)+1)}
}

// Since takes in how the aircraft is so many seconds after the onset, and gives the readings. They belong to the Lasting.
func (l *Lasting) Since(readings []float64, seconds float64) []float64 {
	copy(l.readings, readings)
	extremes := l.readings[l.profile.Slots():]
	for i := range l.profile.Gauges {
		value := readings[l.profile.GaugeSlot(i)]
		if !l.begun || value > extremes[2*i] {
			extremes[2*i] = value
		}
		if !l.begun || value < extremes[2*i+1] {
			extremes[2*i+1] = value
		}
	}
	extremes[2*len(l.profile.Gauges)] = seconds
	l.begun = true
	return l.readings
}
