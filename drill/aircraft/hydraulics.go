package aircraft

// hydraulics is the pressures that carry the controls. The main gearbox drives the pumps.
type hydraulics struct {
	pressBar   [maxHydraulics]float64
	stickForce float64 // 0: a system carries all of it; 1: the arm does
}

// stepHydraulics builds the pressures up with the rotor, unless the test has shut one off, and works out what is left
// for the arm. Moving the controls takes fluid, and so makes a weak system show.
func (m *model) stepHydraulics(a *Aircraft) {
	s, w := m.profile.Systems.Hydraulics, &m.profile.wiring
	if s == nil {
		return
	}
	stirred := a.holds(w.stirred)
	carries, pumped := 0.0, s.Bar*lesser(m.rotor.nrPct/s.FullNR, 1)
	for i := range w.hydraulics {
		leak := a.severity[w.hydPoint+i]
		target := pumped * (1 - leak)
		if stirred {
			target *= 0.94 - float64(0.3*leak)
		}
		if m.shut(a, i) {
			target = 0
		}
		m.hyd.pressBar[i] = follow(m.hyd.pressBar[i], target, m.profile.reckoned.hydBuilds)
		carries = greater(carries, lesser(m.hyd.pressBar[i]/s.HeavyAt, 1))
	}
	m.hyd.stickForce = 1 - carries
}

// shut reports whether the test has shut system i off. Crossed wires have it shut the other one.
func (m *model) shut(a *Aircraft, i int) bool {
	w := &m.profile.wiring
	if w.hydraulics == 2 && a.severity[w.crossedPoint] > 0 {
		i = 1 - i
	}
	return m.elec.busOn[0] && a.holds(w.shut[i])
}
