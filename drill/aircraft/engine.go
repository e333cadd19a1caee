package aircraft

// engine is one free-turbine engine: a gas generator that makes hot gas, and a power turbine that the gas turns.
//
// The gas generator is a balance of accelerations. A starter gives torque with its current; hot gas gives torque in
// proportion to its temperature rise; the compressor takes torque that grows with N1. At the rise of the running line
// the two last ones cancel. The rise itself is energy conserved: all the heat of the fuel is in the air that has gone
// through, since what the compressor takes its turbine gives back.
//
// What is simplified: the air that an engine takes in follows N1 without delay, density thins air and fuel alike, and
// surge does not exist.
type engine struct {
	mode      mode
	n1Pct     float64
	n2Pct     float64
	accelPctS float64 // of the gas generator, in the last step
	riseK     float64 // of the gas, in the flame's steady state
	totDegC   float64 // as the probes show it
	fuelKgS   float64
	pooledKg  float64 // fuel that lies unburned
	flameS    float64 // for how long there has been fuel and spark, before it lights
	overS     float64 // above the red line, for ever
	damage    float64 // of the turbine, 0 to 1

	cranking bool
	started  bool // the starter has done its part, until the selector is off again
	cut      bool // the fire cut-off is closed
	reached  bool // it has been at idle since the selector left off
	settled  bool // it has been at flight since the selector went there
	trqPct   float64

	fadec   fadec
	oil     oil
	bay     bay
	chipped bool
}

// mode is what an engine is doing.
type mode int

const (
	off      mode = iota // at rest or running down: no fuel
	cranked              // the starter turns it, no flame yet
	starting             // alight, on its way to idle
	governed             // at or above idle
)

// The fuel and the gas: kerosene, and combustion gas at the temperatures in question.
const (
	heatJPerKg    = 43.1e6 * 0.99 // lower heating value, and the share of it that is set free
	gasJPerKgK    = 1130.0        // specific heat at constant pressure
	riseKPerRatio = heatJPerKg / gasJPerKgK
	maxRiseK      = 1600 // a mixture richer than this only smokes
)

func (e *engine) init(air air) {
	e.totDegC = air.degC
	e.oil.degC = air.degC
}

// fullFlow is the fuel flow at full power, kg/s.
func (e *engine) fullFlow(t *Turbine) float64 { return t.AirKgS * t.Rise.at(100) / riseKPerRatio }

// stepEngine decides what engine i is doing, and then does it.
func (m *model) stepEngine(a *Aircraft, i int) {
	e, w := &m.engines[i], &m.profile.wiring.engines[i]
	e.cut = holds(w.cut, a.readings)
	asked := holds(w.idle, a.readings) || holds(w.flight, a.readings)
	m.stepFADEC(a, i)
	m.engageStarter(a, i, asked)
	m.meterFuel(a, i, asked)
	m.burn(a, i)
	e.mode = e.nextMode(m.profile.Systems.FADEC.IdleN1)
	e.reached = asked && (e.reached || e.mode == governed)
	e.settled = holds(w.flight, a.readings) && (e.settled || e.n2Pct > m.profile.Systems.FADEC.FlightN2-settledWithin)
	m.spool(a, i)
	m.sense(a, i)
	m.stepOil(a, i)
	m.stepBay(a, i)
}

// settledWithin is how close N2 has to come to be where flight wants it, %; idleLost is how far N1 has to fall below idle
// for the engine to have run down, %.
const (
	settledWithin = 1.5
	idleLost      = 8
)

func (e *engine) alight() bool { return e.mode == starting || e.mode == governed }

// nextMode is what the engine is doing from now on.
func (e *engine) nextMode(idleN1 float64) mode {
	switch {
	case e.riseK == 0 && e.cranking:
		return cranked
	case e.riseK == 0:
		return off
	case e.mode == governed || e.n1Pct >= idleN1-1:
		return governed
	}
	return starting
}

// engageStarter turns the starter on for an engine that is asked to run and does not, and off once it is fast enough.
// Engines that are asked at the same moment wait for each other, in order. A start takes a FADEC that is ready.
func (m *model) engageStarter(a *Aircraft, i int, asked bool) {
	e, st, w := &m.engines[i], &m.profile.Systems.Turbine.Starter, &m.profile.wiring.engines[i]
	welded := e.cranking && a.severity[w.point+failStarterStuck] > 0
	switch {
	case !m.elec.busOn[0]:
		e.cranking = false
		return
	case welded:
		return
	case !asked:
		e.cranking, e.started = false, false
	case e.n1Pct >= st.CutOutN1:
		e.cranking, e.started = false, true
	case !e.started && !e.cranking:
		e.cranking = m.elec.live[w.fadec] && !(st.OneAtATime && m.otherCranks(i))
	}
}

func (m *model) otherCranks(i int) bool {
	for j := range m.profile.Systems.Engines {
		if j != i && m.engines[j].cranking {
			return true
		}
	}
	return false
}

// meterFuel lets the FADEC decide on the fuel, and then has the lines deliver it, or not.
func (m *model) meterFuel(a *Aircraft, i int, asked bool) {
	e, t, w := &m.engines[i], m.profile.Systems.Turbine, &m.profile.wiring.engines[i]
	air := m.airKgS(i)
	fuel := 0.0
	switch {
	case !asked || e.cut || e.fadec.tripped:
	case e.alight():
		fuel = m.fadecRise(a, i) * air / riseKPerRatio
	case e.n1Pct >= t.LightOffN1 && e.cranking:
		fuel = m.profile.Systems.FADEC.StartRise * air / riseKPerRatio
		e.fadec.startK = m.profile.Systems.FADEC.StartRise
	}
	fuel *= 1 - float64(0.45*a.severity[w.point+failLean])
	least := m.profile.Systems.Fuel.LeastBar
	fuel *= clamp(m.fuel.pressBar[i]/least, 0, 1)
	if m.fuel.supplyKg[i] <= 0 {
		fuel = 0
	}
	e.fuelKgS = fuel
	m.fuel.burn(i, float64(fuel*stepSeconds))
}

// weakestFlame is the temperature rise below which the flame is too lean to stand, K.
const weakestFlame = 150

// burn lights what fuel there is, keeps it alight, and works out how hot it makes the gas.
func (m *model) burn(a *Aircraft, i int) {
	e, t, w := &m.engines[i], m.profile.Systems.Turbine, &m.profile.wiring.engines[i]
	air := m.airKgS(i)
	rise := 0.0
	if air > 0 {
		rise = e.fuelKgS / air * riseKPerRatio
	}
	if !e.alight() {
		spark := e.cranking && a.severity[w.point+failLight] == 0
		if rise < weakestFlame || !spark {
			e.flameS, e.riseK = 0, 0
			e.pool()
			return
		}
		if e.flameS += stepSeconds; e.flameS < t.LightS {
			e.riseK = 0
			e.pool()
			return
		}
	}
	if rise < weakestFlame || a.severity[w.point+failFlameout] > 0 {
		e.flameS, e.riseK = 0, 0
		return
	}
	// What lies unburned goes up within a few seconds of the light-off.
	burning := float64(e.pooledKg * (stepSeconds / 2))
	e.pooledKg -= burning
	rise += float64(burning / stepSeconds / air * riseKPerRatio)
	e.riseK = min(rise, maxRiseK)
}

// pool has unburned fuel gather, and drain away.
func (e *engine) pool() {
	e.pooledKg += float64(e.fuelKgS * stepSeconds)
	e.pooledKg = lag(e.pooledKg, 0, 40)
}

// airKgS is the air that goes through the turbine.
func (m *model) airKgS(i int) float64 {
	t := m.profile.Systems.Turbine
	return t.AirKgS * t.Air.at(m.engines[i].n1Pct) * m.air.flow
}

// risePerLoad is what a generator costs its engine, K for each % of load. Our own figure.
const risePerLoad = 0.1

// runningRise is the temperature rise that just holds N1: the curve of the profile, and what the day, the cabin heat, the
// generator and wear add to it.
func (m *model) runningRise(a *Aircraft, i int) float64 {
	e, t, w := &m.engines[i], m.profile.Systems.Turbine, &m.profile.wiring.engines[i]
	rise := float64(t.Rise.at(e.n1Pct) * m.air.rise)
	if holds(w.bleed, a.readings) && e.mode == governed {
		rise += t.BleedRise
	}
	rise += float64(risePerLoad * m.elec.loadPct[i])
	return rise * (1 + float64(0.15*e.damage))
}

// spool accelerates the gas generator.
func (m *model) spool(a *Aircraft, i int) {
	e, t, w := &m.engines[i], m.profile.Systems.Turbine, &m.profile.wiring.engines[i]
	drag := t.Drag.at(e.n1Pct)
	accel := -drag
	if e.riseK > 0 {
		stuck := a.severity[w.point+failBleed]
		gas := e.riseK * (1 - float64(0.22*stuck))
		accel += drag * gas / m.runningRise(a, i)
	}
	weak := a.severity[w.point+failStarterWeak]
	accel += float64(t.Starter.PerAmp * m.elec.starterAmps[i] * (1 - float64(0.5*weak)))
	e.accelPctS = accel
	e.n1Pct = clamp(e.n1Pct+float64(accel*stepSeconds), 0, maxSpeedPct)
}

// sense moves what the probes show, and remembers what the blades have been through.
func (m *model) sense(a *Aircraft, i int) {
	e, t, w := &m.engines[i], m.profile.Systems.Turbine, &m.profile.wiring.engines[i]
	if e.riseK > 0 {
		inlet := m.air.degC + float64(t.TailwindK*m.air.tailwindKt)
		streaks := 1 + float64(0.3*a.severity[w.point+failNozzle])
		thin := 1 + float64(0.3*a.severity[w.point+failBleed])
		e.totDegC = lag(e.totDegC, inlet+float64(e.riseK*streaks*thin), t.GasS)
	} else {
		// Air that still goes through cools faster than a bay that is shut.
		through := 1 + float64(4*t.Air.at(e.n1Pct))
		e.totDegC = lag(e.totDegC, m.air.degC, t.CoolsS/through)
	}
	if e.totDegC > t.RedTOT {
		e.overS += stepSeconds
		// Our own rule: ten seconds at 100 °C above the line are the end of a turbine; a little above it lasts longer.
		e.damage = min(e.damage+(e.totDegC-t.RedTOT)/100*stepSeconds/10, 1)
	}
	e.trqPct = 100 * e.torqueNm(t, 1) / t.ratedNm(1)
	e.chipped = a.severity[w.point+failChip] > 0
}

// ratedNm is the torque at 100 %, at the speed of the rotor that full is in rad/s.
func (t *Turbine) ratedNm(full float64) float64 { return t.RatedKW * 1000 / full }

// torqueNm is the torque of the power turbine, at the speed of the rotor. A free turbine gives twice the torque at rest
// that it gives at its design speed, falling in a straight line to none at twice that speed.
func (e *engine) torqueNm(t *Turbine, full float64) float64 {
	if !e.alight() {
		return 0
	}
	share := t.Power.at(e.n1Pct) * (1 - float64(0.3*e.damage))
	return t.ratedNm(full) * share * max(2-e.n2Pct/100, 0)
}

// indicate writes what the engine shows.
func (e *engine) indicate(c *FADEC, out []float64) {
	const secondsPerHour = 3600
	out[inN1], out[inN2], out[inTOT] = e.n1Pct, e.n2Pct, e.totDegC
	out[inTrq], out[inFlow], out[inOver] = e.trqPct, e.fuelKgS*secondsPerHour, e.overS
	out[inOilPress], out[inOilTemp] = e.oil.pressBar, e.oil.degC
	out[inAlight], out[inCranking] = bit(e.alight()), bit(e.cranking)
	out[inSettled], out[inRanDown] = bit(e.settled), bit(e.reached && e.n1Pct < c.IdleN1-idleLost)
	out[inFADECFault] = bit(e.fadec.faulty)
	out[inFireSeen], out[inChipSeen] = bit(e.bay.seen), bit(e.chipped)
}
