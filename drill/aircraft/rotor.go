package aircraft

// rotor is the rotor, and the freewheels through which the engines drive it. Speeds are in percent: of NR for
// the rotor, of N2 for a turbine; a turbine that drives turns at the rotor's.
type rotor struct {
	nrPct    float64
	pitchPct float64          // of the collective, as far as the hand has moved it
	driving  [maxEngines]bool // its freewheel is locked
	drivenNm float64          // torque with which the engines drive it

	brakeNm   float64 // what the brake holds it with
	brakeDegC float64
	powerOn   finger
}

// drive is what turns the rotor for one step, in N m at its own speed.
type drive struct {
	inertia  float64 // kg m²
	full     float64 // rad/s at 100 %
	aero     float64 // torque that the blades want at 100 %; it goes with the square of the speed
	friction float64 // bearings and brake: constant while the rotor turns
	sticks   float64 // what a brake at rest holds beyond that
	engines  float64 // torque of the turbines that drive
}

// accel is the acceleration at a speed in percent, in percent per second.
func (d *drive) accel(pct float64) float64 {
	share := pct / 100
	torque := d.engines - float64(d.aero*share*share)
	switch {
	case pct > 0:
		torque -= d.friction
	case torque > 0:
		torque = max(torque-d.friction-d.sticks, 0) // it has to break away
	}
	return 100 * torque / (d.inertia * d.full)
}

// turn advances a speed by seconds with the midpoint rule, which is of second order. The rotor does not turn backwards.
func (d *drive) turn(pct, seconds float64) float64 {
	half := pct + float64(d.accel(pct)*(seconds/2))
	if half <= 0 {
		return 0 // friction, which no longer has anything to act on, has stopped it
	}
	return greater(pct+float64(d.accel(half)*seconds), 0)
}

// stopped reports whether nobody would see it move.
func (r *rotor) stopped() bool { return r.nrPct < 0.1 }

// stepRotor works out who drives, and turns the rotor and the turbines.
func (m *model) stepRotor(a *Aircraft) {
	lever := a.board.Readings[m.profile.wiring.collective]
	m.rotor.pitchPct = seek(m.rotor.pitchPct, lever, m.profile.Systems.Rotor.PitchRate)
	var d drive
	m.load(a, &d)
	if m.profile.Systems.Piston != nil {
		m.turnByBelt(a, &d)
	} else {
		m.turnByTurbines(&d)
	}
	m.stepBrake()
}

// turnByTurbines turns the rotor, and each power turbine with it or by itself.
func (m *model) turnByTurbines(d *drive) {
	m.unlock(d)
	m.rotor.drivenNm = d.engines
	before := m.rotor.nrPct
	m.rotor.nrPct = d.turn(before, stepSeconds)
	for i := range m.profile.Systems.Engines {
		e := &m.engines[i]
		if m.rotor.driving[i] {
			e.n2Pct = m.rotor.nrPct
			continue
		}
		torque := e.torqueNm(m.profile.Systems.Turbine, m.profile.reckoned.ratedNm)
		e.n2Pct = clamp(e.n2Pct+float64(m.freeAccel(i, torque)*stepSeconds), 0, maxSpeedPct)
	}
	m.lock(d.inertia)
	m.rotor.nrPct = lesser(m.rotor.nrPct, maxSpeedPct)
}

// maxSpeedPct is where a rotor, or a power turbine, would come apart; nothing is shown beyond it.
const maxSpeedPct = 150

// load is everything on the rotor but the engines. It is written where it is needed: a copy of what has just been written has the
// processor wait.
func (m *model) load(a *Aircraft, d *drive) {
	r, w := &m.profile.Systems.Rotor, &m.profile.wiring
	full := m.profile.reckoned.rotorRadS
	kw := m.rotor.powerOn.on(r.Power, m.rotor.pitchPct)
	d.inertia, d.full, d.aero, d.friction = r.Inertia, full, kw*1000/full*m.air.sigma, r.Friction
	m.rotor.brakeNm = 0
	switch {
	case a.holds(w.brake):
		m.rotor.brakeNm = r.BrakeNm
		d.sticks = max(r.BrakeHoldsNm-r.BrakeNm, 0)
	case r.Brake != "":
		m.rotor.brakeNm = float64(0.6 * r.BrakeNm * a.severity[w.rotorPoint])
	}
	d.friction += m.rotor.brakeNm
}

// A brake is built for the rotor that it stops: one stop from full speed, which nobody asks of it, heats it by so much, and then
// it takes so long to cool. Our own figures.
const (
	brakeStopK  = 400.0
	brakeCoolsS = 400.0
	brakeMostC  = 1500.0 // where nothing of it is left
)

// stepBrake heats the brake by what it takes from a rotor that turns.
func (m *model) stepBrake() {
	r, k, heat := &m.rotor, &m.profile.reckoned, 0.0
	if r.brakeNm > 0 {
		heat = float64(r.brakeNm*k.rotorRadS*r.nrPct) / 100 * stepSeconds * brakeStopK / k.brakeStopJ
	}
	r.brakeDegC = lesser(lag(r.brakeDegC, m.air.degC, brakeCoolsS)+heat, brakeMostC)
}

// unlock adds the turbines that drive to d, and lets go of those whose torque no longer keeps up with the rotor.
func (m *model) unlock(d *drive) {
	turbine := m.profile.Systems.Turbine
	var torques [maxEngines]float64
	for i := range m.profile.Systems.Engines {
		if m.rotor.driving[i] {
			torques[i] = m.engines[i].torqueNm(turbine, m.profile.reckoned.ratedNm)
			d.engines += torques[i]
			d.inertia += turbine.Inertia
		}
	}
	for i := range m.profile.Systems.Engines {
		if !m.rotor.driving[i] || m.freeAccel(i, torques[i]) >= d.accel(m.rotor.nrPct) {
			continue
		}
		m.rotor.driving[i] = false
		d.engines -= torques[i]
		d.inertia -= turbine.Inertia
	}
}

// lock has the turbines drive that have caught up with the rotor; the two meet at their common angular momentum.
func (m *model) lock(inertia float64) {
	turbine := m.profile.Systems.Turbine
	for i := range m.profile.Systems.Engines {
		e := &m.engines[i]
		if m.rotor.driving[i] || e.n2Pct < m.rotor.nrPct || e.n2Pct == 0 {
			continue
		}
		common := (float64(inertia*m.rotor.nrPct) + float64(turbine.Inertia*e.n2Pct)) / (inertia + turbine.Inertia)
		inertia += turbine.Inertia
		m.rotor.nrPct, e.n2Pct = common, common
		m.rotor.driving[i] = true
	}
	for i := range m.profile.Systems.Engines {
		if m.rotor.driving[i] {
			m.engines[i].n2Pct = m.rotor.nrPct
		}
	}
}

// turbineDrag is what slows a power turbine that drives nothing, as a share of its rated torque at 100 % N2.
const turbineDrag = 0.02

// freeAccel is the acceleration of a power turbine that has a torque and drives nothing, %/s.
func (m *model) freeAccel(i int, torque float64) float64 {
	turbine, k := m.profile.Systems.Turbine, &m.profile.reckoned
	e := &m.engines[i]
	if e.n2Pct > 0 {
		share := e.n2Pct / 100
		torque -= float64(turbineDrag * k.ratedNm * (0.2 + float64(0.8*share*share)))
	}
	return 100 * torque / (turbine.Inertia * k.rotorRadS)
}
