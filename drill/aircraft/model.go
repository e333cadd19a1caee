package aircraft

// model is the machinery. Everything in it is a value, so that a copy is an aircraft of its own.
type model struct {
	profile *Profile
	air     air
	weather Weather // of which air is the ratios
	elec    electrical
	machinery
	still bool // nothing of the machinery has moved in the last step, and nothing that moves it has changed since

	horizon        horizon
	annunciatorOn  bool
	lampTest       bool
	displayTestS   float64 // for how long the display has been under test
	displayPattern bool
	doorsClosed    bool
}

// machinery is all that comes to rest once nothing drives it any more.
type machinery struct {
	fuel     fuelSystem
	engines  [maxEngines]engine
	torques  [maxEngines]float64 // of the step before, which is what the engines' controls tell each other, %
	belt     belt
	rotor    rotor
	gearbox  gearbox
	airframe airframe
	hyd      hydraulics
}

// newModel is the machinery, cold and dark.
func newModel(p *Profile, w Weather) model {
	m := model{profile: p, air: w.air(), weather: w}
	m.elec.init(&p.Systems.Electrical, m.air)
	m.fuel.init(&p.Systems)
	for i := range p.Systems.Engines {
		m.engines[i].init(m.air)
	}
	m.gearbox.degC, m.rotor.brakeDegC = m.air.degC, m.air.degC
	m.belt.init(m.air)
	return m
}

// step advances everything by one step, causes before effects: current and fuel, then the engines that need them, then
// what the engines drive. Machinery at rest is left alone until a hand, a failure, a switch or a condition may move it: a third of a
// first start goes by before an engine turns.
func (m *model) step(a *Aircraft) {
	m.stepElectrical(a)
	switch stirred := a.board.Stirred(watchMachinery); {
	case m.turns():
		m.still = false
		m.stepMachinery(a)
	case stirred || !m.still:
		m.comeToRest(a)
	}
	m.stepHorizon(a)
	m.stepTests(a)
}

// comeToRest steps machinery in which nothing turns, and looks whether it rests: what has not moved by one digit will not by itself.
func (m *model) comeToRest(a *Aircraft) {
	before := m.machinery
	m.stepMachinery(a)
	m.still = m.machinery == before
}

// turns reports whether an engine or the rotor does.
func (m *model) turns() bool {
	for i := range m.engines {
		if m.engines[i].n1Pct != 0 {
			return true
		}
	}
	return m.rotor.nrPct != 0
}

// stepMachinery advances what the current works.
func (m *model) stepMachinery(a *Aircraft) {
	m.stepFuel(a)
	for i := range m.profile.Systems.Engines {
		m.torques[i] = m.engines[i].trqPct
	}
	for i := range m.profile.Systems.Engines {
		m.stepEngine(a, i)
	}
	m.stepBelt(a)
	m.stepRotor(a)
	m.stepMagnetos(a)
	m.stepGearbox(a)
	m.stepAirframe()
	m.stepYaw(a)
	m.stepHydraulics(a)
}

// stepTests follows the tests of the annunciator and the display, and the door switches.
func (m *model) stepTests(a *Aircraft) {
	w, n := &m.profile.wiring, &m.profile.Systems.Annunciator
	m.annunciatorOn = m.elec.busOn[w.annunciatorBus]
	m.lampTest = m.annunciatorOn && a.holds(w.lampTest)
	if m.annunciatorOn && a.holds(w.displayTest) && a.severity[w.displayPoint] == 0 {
		m.displayTestS += stepSeconds
	} else {
		m.displayTestS = 0
	}
	m.displayPattern = m.displayTestS > n.PatternS
	m.doorsClosed = a.always(w.door) && a.severity[w.doorPoint] == 0
}

// seek moves a value towards a target by at most rate per second; it never goes past it.
func seek(value, target, rate float64) float64 {
	most := rate * stepSeconds
	return value + clamp(target-value, -most, most)
}
