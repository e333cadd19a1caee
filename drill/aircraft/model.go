package aircraft

// model is the machinery. Everything in it is a value, so that a copy is an aircraft of its own.
type model struct {
	profile  *Profile
	air      air
	elec     electrical
	fuel     fuelSystem
	engines  [maxEngines]engine
	torques  [maxEngines]float64 // of the step before, which is what the engines' controls tell each other, %
	belt     belt
	rotor    rotor
	gearbox  gearbox
	airframe airframe
	hyd      hydraulics
	horizon  horizon

	annunciatorOn  bool
	lampTest       bool
	displayTestS   float64 // for how long the display has been under test
	displayPattern bool
	doorsClosed    bool
}

// newModel is the machinery, cold and dark.
func newModel(p *Profile, w Weather) model {
	m := model{profile: p, air: w.air()}
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
// what the engines drive.
func (m *model) step(a *Aircraft) {
	m.stepElectrical(a)
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
	m.stepHorizon(a)
	m.stepTests(a)
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
