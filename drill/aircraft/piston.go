package aircraft

import "math"

// piston is what a four-stroke engine with a carburettor remembers.
//
// Manifold pressure is where what the throttle lets in is what the cylinders swallow; torque goes with the charge that they
// get, less friction and the work of pumping against a closed throttle. What is simplified: the charge burns alike at every
// speed, a mixture that is lean gives less and does no harm, and the heads know one temperature. What cools them is a fan on the
// crankshaft.
type piston struct {
	mapShare   float64 // manifold pressure, as a share of the standard one at sea level
	drawn      float64 // the same as a share of the pressure outside
	throatDegC float64 // of the carburettor, where the mixture is coldest
	ice        float64 // share of its passage that ice has closed
	headDegC   float64
	trimPct    float64 // what the RPM governor adds to the throttle, % of opening
	swallowed  float64 // charge, as a share of that at 100 % RPM, full throttle, standard air
	gasNm      float64 // torque of the burning gas, at the crankshaft
	dragNm     float64 // of friction and pumping, at the crankshaft
	bothPct    float64 // RPM when both magnetos were last selected, %
	dropPct    float64 // what it has lost since then with one of them
	firesS     float64 // for how long all that is needed has been there, before it fires
}

// standardInHg is the standard pressure at sea level in inches of mercury: ICAO Doc 7488, 1013.25 hPa.
const standardInHg = 29.921

func (p *piston) init(air air) {
	p.throatDegC, p.headDegC = air.degC, air.degC
	p.mapShare, p.drawn = air.delta, 1
}

// stepPiston has engine i breathe, burn and pull. What it turns is a matter of the belt.
func (m *model) stepPiston(a *Aircraft, i int, asked bool) {
	e, s, w := &m.engines[i], m.profile.Systems.Piston, &m.profile.wiring.engines[i]
	p := &e.piston
	m.engageStarter(a, i, asked)
	m.holdRPM(a, i)
	m.breathe(a, i)
	m.chill(a, i)
	wanted := 0.0
	if asked && !e.cut {
		wanted = s.AirKgS * p.swallowed / mixtureRatio
	}
	starved := a.severity[w.typePoint+failStarved]
	m.feed(a, i, wanted)
	richness := 0.0
	if wanted > 0 {
		richness = e.fuelKgS / wanted * (1 - starved)
	}
	quality := m.spark(a, i) * clamp(float64(2*richness)-0.6, 0, 1)
	e.mode = m.firingMode(i, quality)
	p.gasNm = 0
	if e.alight() {
		dead := 1 - float64(0.45*a.severity[w.typePoint+failCylinder])
		charge := (float64(p.mapShare*m.intakeDensity(a, i)) - leastCharge) / (1 - leastCharge)
		p.gasNm = s.IndicatedNm * s.Breathing.at(e.n1Pct) * max(charge, 0) * quality * dead
	}
	p.dragNm = s.Friction.at(e.n1Pct) + float64(s.PumpingNm*(1-p.drawn))
	e.trqPct = 100 * (p.gasNm - p.dragNm) / s.ratedNm()
	e.reached = asked && (e.reached || e.mode == governed)
	e.settled = a.holds(w.flight) && (e.settled || e.n1Pct > s.HoldRPM-settledWithin)
	e.ranDown = e.reached && !e.alight()
	m.heatHeads(i)
}

// The fan gives a standing engine none of its air: what cools that is this share. A charge that only keeps the engine turning
// heats its walls by this share of what a full one does. Our own figures.
const (
	stillAir    = 0.2
	heatOfRests = 0.05
)

// heatHeads has the heads follow what burns and what the fan takes away: the slower the fan, the hotter they get, and the slower
// they change.
func (m *model) heatHeads(i int) {
	e, s := &m.engines[i], m.profile.Systems.Piston
	p := &e.piston
	fan, heat := stillAir+float64((1-stillAir)*e.n1Pct/100), 0.0
	if e.alight() {
		heat = s.HeadK * (heatOfRests + float64((1-heatOfRests)*p.swallowed)) / fan
	}
	p.headDegC = lag(p.headDegC, m.air.degC+heat, s.HeadS/fan)
}

const (
	mixtureRatio = 12.5 // kg of air for each kg of fuel, rich: a figure of the handbooks, from memory
	leastCharge  = 0.2  // share of the charge that only keeps the burned gas company. Our own figure.
)

// ratedNm is the torque at the crankshaft at the rated power and 100 % RPM.
func (s *Piston) ratedNm() float64 { return s.RatedKW * 1000 / s.full() }

// full is the speed of the crankshaft at 100 %, rad/s.
func (s *Piston) full() float64 { return s.RPM * (2 * math.Pi / 60) }

// firingMode is what the engine does from now on, given how good spark and mixture are.
func (m *model) firingMode(i int, quality float64) mode {
	e, s := &m.engines[i], m.profile.Systems.Piston
	p := &e.piston
	switch {
	case quality < 0.3 || e.n1Pct < s.FireRPM || e.alight() && !e.cranking && e.n1Pct < s.StallRPM:
		p.firesS = 0
	case !e.alight() && p.firesS < s.FireS:
		p.firesS += stepSeconds
	case e.n1Pct >= s.IdleRPM:
		return governed
	case e.alight():
		return e.mode
	default:
		return starting
	}
	if e.cranking {
		return cranked
	}
	return off
}

// spark is how well the charge is lit: with one magneto the flame takes longer, and some of the torque is lost.
func (m *model) spark(a *Aircraft, i int) float64 {
	w, second := &m.profile.wiring.engines[i], m.profile.Systems.Piston.SecondPlug
	left := bit(a.holds(w.magnetos[0])) * (1 - a.severity[w.typePoint+failMagLeft])
	right := bit(a.holds(w.magnetos[1])) * (1 - a.severity[w.typePoint+failMagRight])
	return float64((1-second)*max(left, right)) + float64(second*min(left, right))
}

// stepMagnetos takes what RPM is lost with one magneto. With both, and with neither, there is nothing to compare.
func (m *model) stepMagnetos(a *Aircraft) {
	if m.profile.Systems.Piston == nil {
		return
	}
	e, w := &m.engines[0], &m.profile.wiring.engines[0]
	left, right := a.holds(w.magnetos[0]), a.holds(w.magnetos[1])
	e.piston.dropPct = 0
	switch {
	case left && right || !e.alight():
		e.piston.bothPct = e.n1Pct
	case left || right:
		e.piston.dropPct = max(e.piston.bothPct-e.n1Pct, 0)
	}
}

// breathe opens the throttle as far as hand, collective and governor have it, and fills the manifold. Through the throttle
// goes what its passage and the pressure across it let through; the cylinders take what their speed and the pressure in the
// manifold give them: passage² (1-x) = taken² x², with x the pressure behind as a share of that before it.
func (m *model) breathe(a *Aircraft, i int) {
	e, s, w := &m.engines[i], m.profile.Systems.Piston, &m.profile.wiring.engines[i]
	p := &e.piston
	opening := a.board.Readings[w.throttle] + s.Correlation.at(m.rotor.pitchPct) + p.trimPct
	passage := s.Passage.at(clamp(opening, 0, 100)) * (1 - p.ice)
	taken := e.n1Pct / 100 * s.Breathing.at(e.n1Pct)
	p.drawn = lag(p.drawn, filled(passage, taken), s.ManifoldS)
	p.mapShare = m.air.delta * p.drawn
	p.swallowed = taken * p.mapShare * m.intakeDensity(a, i)
}

// filled solves passage² (1-x) = taken² x² for x.
func filled(passage, taken float64) float64 {
	ratio := passage / max(taken, 0.001)
	q := float64(ratio * ratio)
	// The root of x² + qx - q = 0, in the form that loses no digits when q is large.
	return 2 * q / (q + math.Sqrt(float64(q*q)+float64(4*q)))
}

// intakeDensity is what the warmth of the air that the engine takes in leaves of its density.
func (m *model) intakeDensity(a *Aircraft, i int) float64 {
	return seaLevelK / (m.intakeDegC(a, i) + zeroC)
}

// intakeDegC is the temperature of the air before the carburettor. Its heat comes off the exhaust.
func (m *model) intakeDegC(a *Aircraft, i int) float64 {
	w, heat := &m.profile.wiring.engines[i], 0.0
	if m.engines[i].alight() {
		heat = m.profile.Systems.Piston.CarbHeatK * (1 - a.severity[w.typePoint+failCarbHeat]) * a.board.Readings[w.carbHeat] / 100
	}
	return m.air.degC + heat
}

// The band in which ice grows in a carburettor, in °C in its throat, and how fast it melts above it. Our own figures;
// common practice, no source: a carburettor cools its air by 20 to 30 K, and its ice is worst somewhat below freezing.
const (
	iceColdest  = -16.0
	iceWorst    = -5.0
	iceWarmest  = 2.0
	mostIce     = 0.9
	meltsPerKS  = 0.01
	throatS     = 3
	dryHumidity = 40  // %: drier air than that gives no ice
	dampShare   = 0.1 // what air that is only damp gives, as a share of what drizzle does
)

// chill cools the throat by what evaporates there and by what the throttle holds back, and has ice grow or melt.
func (m *model) chill(a *Aircraft, i int) {
	e, s, w := &m.engines[i], m.profile.Systems.Piston, &m.profile.wiring.engines[i]
	p := &e.piston
	target := m.intakeDegC(a, i)
	if e.alight() {
		target -= float64(s.CarbCoolsK * (0.7 + float64(0.3*(1-p.drawn))))
	}
	p.throatDegC = lag(p.throatDegC, target, throatS)
	if p.throatDegC > iceWarmest || !e.alight() {
		p.ice = max(p.ice-float64(meltsPerKS*max(p.throatDegC-iceWarmest, 0)*stepSeconds), 0)
		return
	}
	damp := dampShare * max(m.air.humidity-dryHumidity, 0) / (100 - dryHumidity)
	moist := max(damp, a.severity[w.typePoint+failMoist])
	band := min((p.throatDegC-iceColdest)/(iceWorst-iceColdest), (iceWarmest-p.throatDegC)/(iceWarmest-iceWorst))
	p.ice = min(p.ice+float64(moist*max(band, 0)*stepSeconds/s.IceS), mostIce)
}

// A governor that runs away asks for so much more, or less, than it should, %. Our own figure.
const runawayRPM = 15

// holdRPM has the RPM governor, which is a motor on the throttle, follow what RPM lacks. Without power, below the speed from
// which it works, or once the hand has taken the throttle below flight, it lets go.
func (m *model) holdRPM(a *Aircraft, i int) {
	e, s, w := &m.engines[i], m.profile.Systems.Piston, &m.profile.wiring.engines[i]
	p := &e.piston
	if !m.elec.live[w.rpmHold] || !e.alight() || e.n1Pct < s.HoldFrom || !a.holds(w.flight) {
		p.trimPct = seek(p.trimPct, 0, s.HoldRate)
		return
	}
	lacks := s.HoldRPM - e.n1Pct
	lacks += float64(runawayRPM * (a.severity[w.point+failGovernorHigh] - a.severity[w.point+failGovernorLow]))
	rate := clamp(float64(s.HoldGain*lacks)-float64(s.HoldDamping*e.accelPctS), -s.HoldRate, s.HoldRate)
	p.trimPct = clamp(p.trimPct+float64(rate*stepSeconds), -s.HoldReach, s.HoldReach)
}

// indicatePiston writes what a piston engine shows.
func (e *engine) indicatePiston(out *[pistonCount]float64) {
	out[inRPM], out[inMAP] = e.n1Pct, standardInHg*e.piston.mapShare
	out[inPower] = e.trqPct
	out[inCarbTemp], out[inHeadTemp], out[inIce] = e.piston.throatDegC, e.piston.headDegC, 100*e.piston.ice
	out[inMagDrop] = e.piston.dropPct
}
