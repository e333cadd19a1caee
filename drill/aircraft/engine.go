package aircraft

// engine is one engine: what every kind of it has in common, and what only one of the kinds has. The shaft that the starter
// and the generator sit on is the gas generator of a turbine, with its N1, or the crankshaft of a piston engine; the shaft
// that goes to the rotor is the power turbine, with its N2, or the crankshaft again.
type engine struct {
	mode      mode
	n1Pct     float64
	n2Pct     float64
	accelPctS float64 // of N1, in the last step
	fuelKgS   float64

	cranking bool
	crankedS float64 // for how long the starter has turned it, this time or the last
	idling   bool    // it is governed, and not asked to be at flight
	idledS   float64 // for how long, this time or the last
	started  bool    // the starter has done its part, until the selector is off again
	cut      bool    // the fire cut-off is closed
	reached  bool    // it has been at idle since it was last left off
	settled  bool    // it has been at flight since it was last asked to
	ranDown  bool    // it was at idle, is still wanted, and no longer is
	trqPct   float64

	gas      gas
	piston   piston
	governor governor
	fadec    fadec
	oil      oil
	bay      bay
	chipped  bool
}

// mode is what an engine is doing.
type mode int

const (
	off      mode = iota // at rest or running down: no fuel
	cranked              // the starter turns it, no flame yet
	starting             // alight, on its way to idle
	governed             // at or above idle
)

func (e *engine) init(air air) {
	e.gas.totDegC = air.degC
	e.oil.degC = air.degC
	e.piston.init(air)
}

func (e *engine) alight() bool { return e.mode == starting || e.mode == governed }

// stepEngine decides what engine i is doing, and then does it.
func (m *model) stepEngine(a *Aircraft, i int) {
	e, w := &m.engines[i], &m.profile.wiring.engines[i]
	e.cut = a.holds(w.cut)
	asked := a.holds(w.idle) || a.holds(w.flight)
	if m.profile.Systems.Piston != nil {
		m.stepPiston(a, i, asked)
	} else {
		m.stepTurbine(a, i, asked)
	}
	e.idle(e.mode == governed && !a.holds(w.flight))
	e.chipped = a.severity[w.point+failChip] > 0
	m.stepOil(a, i)
	m.stepBay(a, i)
}

// idle takes note that an engine idles, or does not, and of for how long.
func (e *engine) idle(is bool) {
	if is && !e.idling {
		e.idledS = 0
	}
	if e.idling = is; is {
		e.idledS += stepSeconds
	}
}

// settledWithin is how close an engine's speed has to come to be where flight wants it, %.
const settledWithin = 1.5

// engageStarter has the starter do what its switch says, unless its contactor is welded or its bus is dead. A FADEC works
// it by itself, or once its button has been pressed.
func (m *model) engageStarter(a *Aircraft, i int, asked bool) {
	e, w := &m.engines[i], &m.profile.wiring.engines[i]
	before := e.cranking
	welded := before && a.severity[w.point+failStarterStuck] > 0
	switch {
	case !m.elec.busOn[0]:
		e.cranking, e.fadec.latch = false, latch{}
	case welded:
	case m.profile.Systems.FADEC != nil:
		m.sequenceStarter(a, i, asked)
	default:
		e.cranking = a.holds(w.starter)
	}
	switch {
	case e.cranking && !before:
		e.crankedS = stepSeconds
	case e.cranking:
		e.crankedS += stepSeconds
	}
}

// starterPctS is what the starter accelerates its shaft by, %/s.
func (m *model) starterPctS(a *Aircraft, i int) float64 {
	weak := a.severity[m.profile.wiring.engines[i].point+failStarterWeak]
	return float64(m.profile.Systems.Starter.PerAmp * m.elec.starterAmps[i] * (1 - float64(0.5*weak)))
}

// feed has the lines deliver what fuel is asked for, or less, and takes it out of the tank.
func (m *model) feed(a *Aircraft, i int, fuel float64) {
	e, w := &m.engines[i], &m.profile.wiring.engines[i]
	fuel *= 1 - float64(0.45*a.severity[w.point+failLean])
	least := m.profile.Systems.Fuel.LeastBar
	fuel *= clamp(m.fuel.pressBar[i]/least, 0, 1)
	if m.fuel.supplyKg[i] <= 0 {
		fuel = 0
	}
	e.fuelKgS = fuel
	m.fuel.burn(i, float64(fuel*stepSeconds))
}

// indicate writes the numbers that engines of every kind show.
func (e *engine) indicate(out *[engineCount]float64) {
	const secondsPerHour = 3600
	out[inFlow] = e.fuelKgS * secondsPerHour
	out[inOilPress], out[inOilTemp] = e.oil.pressBar, e.oil.degC
	out[inStarterTime], out[inIdleTime] = e.crankedS, e.idledS
}
