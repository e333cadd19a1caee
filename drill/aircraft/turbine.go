package aircraft

// gas is what goes through a free-turbine engine: a gas generator that makes hot gas, and a power turbine that the gas
// turns.
//
// The gas generator is a balance of accelerations. A starter gives torque with its current; hot gas gives torque in
// proportion to its temperature rise; the compressor takes torque that grows with N1. At the rise of the running line
// the two last ones cancel. The rise itself is energy conserved: all the heat of the fuel is in the air that has gone
// through, since what the compressor takes its turbine gives back.
//
// What is simplified: the air that an engine takes in follows N1 without delay, a FADEC thins the fuel as density thins the
// air, and surge does not exist. A valve worked by hand thins nothing: what it lets through meets what air there is.
type gas struct {
	riseK    float64 // in the flame's steady state
	totDegC  float64 // as the probes show it
	pooledKg float64 // fuel that lies unburned
	flameS   float64 // for how long there has been fuel and spark, before it lights
	overS    float64 // above the red line, for ever
	peakDegC float64 // highest that the probes have shown since the last start began
	damage   float64 // of the turbine, 0 to 1

	airOn, riseOn, dragOn, powerOn, expectOn finger
}

// powerShare is the share of its rated power that a turbine has.
func (e *engine) powerShare(t *Turbine) float64 { return e.gas.powerOn.on(t.Power, e.n1Pct) }

// The fuel and the gas: kerosene, and combustion gas at the temperatures in question.
const (
	heatJPerKg    = 43.1e6 * 0.99 // lower heating value, and the share of it that is set free
	gasJPerKgK    = 1130.0        // specific heat at constant pressure
	riseKPerRatio = heatJPerKg / gasJPerKgK
	maxRiseK      = 1600 // a mixture richer than this only smokes
	hottestK      = 2100 // no streak of it is hotter than this
)

// stepTurbine meters fuel to engine i, burns it, and turns the gas generator.
func (m *model) stepTurbine(a *Aircraft, i int, asked bool) {
	e, w, g := &m.engines[i], &m.profile.wiring.engines[i], m.profile.Systems.Governor
	if m.profile.Systems.FADEC != nil {
		m.stepFADEC(a, i)
	}
	if !asked {
		e.governor = governor{wantedN2: g.IdleN2, demandN1: g.IdleN1}
	}
	m.engageStarter(a, i, asked)
	air := m.airKgS(i)
	m.feed(a, i, m.meteredKgS(a, i, asked, air))
	m.burn(a, i, air)
	before := e.mode
	if e.mode = e.nextMode(g.IdleN1); before == off && e.mode != off {
		e.gas.peakDegC = e.gas.totDegC
	}
	e.reached = asked && (e.reached || e.mode == governed)
	e.settled = a.holds(w.flight) && (e.settled || e.n2Pct > g.FlightN2-settledWithin)
	m.spool(a, i)
	m.sense(a, i)
	e.ranDown = e.reached && e.n1Pct < g.IdleN1-idleLost
}

// idleLost is how far N1 has to fall below idle for the engine to have run down, %.
const idleLost = 8

// nextMode is what the engine is doing from now on.
func (e *engine) nextMode(idleN1 float64) mode {
	switch {
	case e.gas.riseK == 0 && e.cranking:
		return cranked
	case e.gas.riseK == 0:
		return off
	case e.mode == governed || e.n1Pct >= idleN1-1:
		return governed
	}
	return starting
}

// meteredKgS is the fuel that a turbine's control asks for, given the air that goes through.
func (m *model) meteredKgS(a *Aircraft, i int, asked bool, air float64) float64 {
	if !asked || m.engines[i].cut {
		return 0
	}
	if m.profile.Systems.FADEC != nil {
		return m.fadecKgS(a, i, air)
	}
	return m.valveKgS(a, i, air)
}

// valveKgS is what the hand lets through, or as much of it as the governor of a running engine takes.
func (m *model) valveKgS(a *Aircraft, i int, air float64) float64 {
	const secondsPerHour = 3600
	open := m.profile.Systems.Metering.Flow.at(a.board.Readings[m.profile.wiring.engines[i].throttle]) / secondsPerHour
	if m.engines[i].mode != governed {
		return open
	}
	return lesser(open, m.governedRise(a, i)*air/riseKPerRatio)
}

// weakestFlame is the temperature rise below which the flame is too lean to stand, K.
const weakestFlame = 150

// burn lights what fuel there is, keeps it alight, and works out how hot it makes the gas.
func (m *model) burn(a *Aircraft, i int, air float64) {
	e, t, w := &m.engines[i], m.profile.Systems.Turbine, &m.profile.wiring.engines[i]
	rise := 0.0
	if air > 0 {
		rise = e.fuelKgS / air * riseKPerRatio
	}
	if !e.alight() {
		spark := e.cranking && a.severity[w.typePoint+failLight] == 0
		if rise < weakestFlame || !spark {
			e.gas.flameS, e.gas.riseK = 0, 0
			e.pool()
			return
		}
		if e.gas.flameS += stepSeconds; e.gas.flameS < t.LightS {
			e.gas.riseK = 0
			e.pool()
			return
		}
	}
	if rise < weakestFlame || a.severity[w.typePoint+failFlameout] > 0 {
		e.gas.flameS, e.gas.riseK = 0, 0
		return
	}
	// What lies unburned goes up within a few seconds of the light-off.
	burning := float64(e.gas.pooledKg * (stepSeconds / 2))
	e.gas.pooledKg -= burning
	rise += float64(burning / stepSeconds / air * riseKPerRatio)
	e.gas.riseK = lesser(rise, maxRiseK)
}

// For how long fuel that lies unburned takes to drain away, and to be blown out of an engine that is turned without fuel,
// seconds: time constants, our own figures.
const (
	drainsS   = 40
	blownOutS = 5
)

// pool has unburned fuel gather, and drain away; dry motoring blows it out.
func (e *engine) pool() {
	seconds := float64(drainsS)
	if e.cranking && e.fuelKgS == 0 {
		seconds = blownOutS
	}
	e.gas.pooledKg += float64(e.fuelKgS * stepSeconds)
	e.gas.pooledKg = lag(e.gas.pooledKg, 0, seconds)
}

// MotorEngines is what dry motoring by the crew comes to: no fuel lies unburned in the engines, and those that do not run are no
// longer too hot to be started.
func (a *Aircraft) MotorEngines() {
	a.model.still = false
	for i := range a.model.engines {
		e := &a.model.engines[i]
		e.gas.pooledKg = 0
		if t := a.profile.Systems.Turbine; t != nil && t.Residual > 0 && !e.alight() {
			e.gas.totDegC = min(e.gas.totDegC, max(t.Residual-motoredBelow, a.model.air.degC))
		}
	}
}

// motoredBelow is how far below the limit for a start an engine is motored, K. Our own figure.
const motoredBelow = 20

// airKgS is the air that goes through the turbine.
func (m *model) airKgS(i int) float64 {
	t := m.profile.Systems.Turbine
	e := &m.engines[i]
	return t.AirKgS * e.gas.airOn.on(t.Air, e.n1Pct) * m.air.flow
}

// risePerLoad is what a generator costs its engine, K for each % of load. Our own figure.
const risePerLoad = 0.1

// runningRise is the temperature rise that just holds N1: the curve of the profile, and what the day, the cabin heat, the
// generator and wear add to it.
func (m *model) runningRise(a *Aircraft, i int) float64 {
	e, t, w := &m.engines[i], m.profile.Systems.Turbine, &m.profile.wiring.engines[i]
	rise := float64(e.gas.riseOn.on(t.Rise, e.n1Pct) * m.air.rise)
	if a.holds(w.bleed) && e.mode == governed {
		rise += t.BleedRise
	}
	rise += float64(risePerLoad * m.elec.loadPct[i])
	return rise * (1 + float64(0.15*e.gas.damage))
}

// spool accelerates the gas generator.
func (m *model) spool(a *Aircraft, i int) {
	e, t, w := &m.engines[i], m.profile.Systems.Turbine, &m.profile.wiring.engines[i]
	drag := e.gas.dragOn.on(t.Drag, e.n1Pct)
	accel := -drag
	if e.gas.riseK > 0 {
		stuck := a.severity[w.typePoint+failBleed]
		gas := e.gas.riseK * (1 - float64(0.22*stuck))
		accel += drag * gas / m.runningRise(a, i)
	}
	accel += m.starterPctS(a, i)
	e.accelPctS = accel
	e.n1Pct = clamp(e.n1Pct+float64(accel*stepSeconds), 0, maxSpeedPct)
}

// sense moves what the probes show, and remembers what the blades have been through.
func (m *model) sense(a *Aircraft, i int) {
	e, t, w := &m.engines[i], m.profile.Systems.Turbine, &m.profile.wiring.engines[i]
	if e.gas.riseK > 0 {
		inlet := m.air.degC + float64(t.TailwindK*m.air.tailwindKt)
		streaks := 1 + float64(0.3*a.severity[w.typePoint+failNozzle])
		thin := 1 + float64(0.3*a.severity[w.typePoint+failBleed])
		e.gas.totDegC = follow(e.gas.totDegC, inlet+lesser(e.gas.riseK*streaks*thin, hottestK), m.profile.reckoned.probes)
	} else {
		// Air that still goes through cools faster than a bay that is shut.
		through := 1 + float64(t.AirCools*e.gas.airOn.on(t.Air, e.n1Pct))
		e.gas.totDegC = lag(e.gas.totDegC, m.air.degC, t.CoolsS/through)
	}
	e.gas.peakDegC = greater(e.gas.peakDegC, e.gas.totDegC)
	if e.gas.totDegC > t.RedTOT {
		e.gas.overS += stepSeconds
		// Our own rule: ten seconds at 100 °C above the line are the end of a turbine; a little above it lasts longer.
		e.gas.damage = min(e.gas.damage+(e.gas.totDegC-t.RedTOT)/100*stepSeconds/10, 1)
	}
	e.trqPct = 100 * e.torqueNm(t, m.profile.reckoned.ratedW) / m.profile.reckoned.ratedW
}

// ratedNm is the torque at 100 %, at the speed of the rotor that full is in rad/s.
func (t *Turbine) ratedNm(full float64) float64 { return t.RatedKW * 1000 / full }

// torqueNm is the torque of the power turbine, in whatever its rated one is given. A free turbine gives twice the torque at rest
// that it gives at its design speed, falling in a straight line to none at twice that speed.
func (e *engine) torqueNm(t *Turbine, rated float64) float64 {
	if !e.alight() {
		return 0
	}
	share := e.powerShare(t) * (1 - float64(0.3*e.gas.damage))
	return rated * share * greater(2-e.n2Pct/100, 0)
}

// indicate writes what a turbine shows.
func (e *engine) indicateTurbine(out *[turbineCount]float64) {
	out[inN1], out[inN2], out[inTOT] = e.n1Pct, e.n2Pct, e.gas.totDegC
	out[inTrq], out[inOver], out[inTOTPeak] = e.trqPct, e.gas.overS, e.gas.peakDegC
}
