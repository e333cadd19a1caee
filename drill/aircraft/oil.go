package aircraft

// oil is the oil of one engine.
type oil struct {
	pressBar float64
	degC     float64
	barOn    finger
}

// oilS is the time constant of an oil pressure, seconds. Our own figure.
const oilS = 1.2

// standingOil is by how much longer it takes the oil of an engine that no longer burns to cool: nothing drives it through its
// cooler. Our own figure.
const standingOil = 8

// stepOil has the oil of engine i warm with the work it does, and its pressure follow N1 and how thick it is.
func (m *model) stepOil(a *Aircraft, i int) {
	e, o, w := &m.engines[i], &m.profile.Systems.Oil, &m.profile.wiring.engines[i]
	leak, blocked := a.severity[w.point+failOilLeak], a.severity[w.point+failOilCooler]
	target := m.air.degC
	if e.alight() {
		// At idle the oil gets most of the way to where it is at full power; what is missing of the day's heat it keeps.
		target = float64(o.Warm*(0.85+float64(0.15*m.powerShare(i)))) + float64(0.3*(m.air.degC-15))
		target += float64(blocked * 70)
	}
	warms := m.profile.reckoned.oilWarm
	switch {
	case blocked > 0 && e.alight():
		warms = share(o.WarmS / (1 + float64(2*blocked)))
	case blocked > 0:
		warms = share(float64(o.WarmS / (1 + float64(2*blocked)) * standingOil))
	case !e.alight():
		warms = m.profile.reckoned.oilStands
	}
	e.oil.degC = follow(e.oil.degC, target, warms)
	thick := 1 + float64(o.ColdGain*(o.Warm-e.oil.degC))
	press := float64(e.oil.barOn.on(o.Bar, e.n1Pct) * clamp(thick, 0.4, 1.6) * (1 - leak))
	e.oil.pressBar = lag(e.oil.pressBar, press, oilS)
}

// powerShare is how hard engine i works, as a share of its rating.
func (m *model) powerShare(i int) float64 {
	if s := m.profile.Systems.Piston; s != nil {
		return m.engines[i].piston.gasNm / s.IndicatedNm
	}
	return m.engines[i].powerShare(m.profile.Systems.Turbine)
}

// gearbox is the oil of the main gearbox.
type gearbox struct {
	pressBar float64
	degC     float64
	barOn    finger
}

// stepGearbox does the same for the main gearbox.
func (m *model) stepGearbox(a *Aircraft) {
	g, p := &m.profile.Systems.Gearbox, m.profile.wiring.gearboxPoint
	leak, blocked := a.severity[p+failGearboxLeak], a.severity[p+failGearboxHot]
	target := m.air.degC
	if m.rotor.nrPct > 20 {
		target = g.Warm + float64(0.3*(m.air.degC-15)) + float64(60*greater(blocked, leak))
	}
	m.gearbox.degC = follow(m.gearbox.degC, target, m.profile.reckoned.gearboxWarm)
	m.gearbox.pressBar = lag(m.gearbox.pressBar, float64(m.gearbox.barOn.on(g.Bar, m.rotor.nrPct)*(1-leak)), oilS)
}
