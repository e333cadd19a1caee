package aircraft

import "hornlark/drill/fault"

// FailurePoint is something in the aircraft that can fail. How badly is its severity, from 0, healthy, to 1, the worst.
type FailurePoint struct {
	Name  string // system.part, as in "eng1.bleed_stuck"
	About string // what it does to the aircraft, in a sentence
}

// FailurePoints lists everything that can fail, in an order that the profile alone decides.
func (p *Profile) FailurePoints() []FailurePoint { return p.points }

// FailureIndex finds a failure point by its name.
func (p *Profile) FailureIndex(name string) (int, bool) {
	i, ok := p.pointAt[name]
	return i, ok
}

// addPoints gives a system its failure points and returns the index of the first.
func (p *Profile) addPoints(system string, parts []FailurePoint) int {
	base := len(p.points)
	for _, part := range parts {
		part.Name = system + "." + part.Name
		p.pointAt[part.Name] = len(p.points)
		p.points = append(p.points, part)
	}
	return base
}

// NearestFailure is the failure point whose name is closest to the one written, or "".
func (p *Profile) NearestFailure(name string) string {
	names := make([]string, len(p.points))
	for i, point := range p.points {
		names[i] = point.Name
	}
	return fault.Nearest(name, names)
}
