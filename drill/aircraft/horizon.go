package aircraft

// horizon is the standby horizon: a gyroscope that takes time to spin up, and then to find upright.
type horizon struct {
	powered bool
	spin    float64 // share of its full speed
	erectS  float64 // for how long it has been free and fast enough
	erect   bool
}

// spinsEnough is the share of its speed from which a gyroscope holds.
const spinsEnough = 0.6

// stepHorizon spins the gyroscope and has it find upright once it is free.
func (m *model) stepHorizon(a *Aircraft) {
	s, w, h := m.profile.Systems.Horizon, &m.profile.wiring, &m.horizon
	if s == nil {
		return
	}
	h.powered = m.elec.busOn[w.horizonBus]
	h.spin = follow(h.spin, bit(h.powered), m.profile.reckoned.spins)
	if !a.holds(w.horizonFree) || h.spin < spinsEnough || a.severity[w.horizonPoint] > 0 {
		h.erectS = 0
	} else {
		h.erectS += stepSeconds
	}
	h.erect = h.erectS > s.ErectS
}
