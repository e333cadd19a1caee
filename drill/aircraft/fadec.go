package aircraft

// fadec is what the control of one engine remembers.
type fadec struct {
	startK    float64 // temperature rise that a start is at
	wantedN2  float64 // %
	resetN1   float64 // what the governor has learned that N1 has to be corrected by, %
	demandN1  float64 // %
	tripped   bool    // overspeed: fuel is off until the selector is
	faulty    bool    // it holds the fuel where it was
	testing   bool    // it has just been powered, and takes its gauges to full scale and back
	testShare float64 // how far that is, 0 to 1
}

// alternatorN1 is the N1 from which an engine's own alternator feeds its FADEC, %. Our own figure.
const alternatorN1 = 50

// stepFADEC follows the power of a FADEC, its self-test and its faults.
func (m *model) stepFADEC(a *Aircraft, i int) {
	e, w, s := &m.engines[i], &m.profile.wiring.engines[i], &m.profile.Systems
	f := &e.fadec
	ready := s.Electrical.Equipment[w.fadec].Ready
	powered := m.elec.readyS[w.fadec] > 0
	f.testing = powered && !m.elec.live[w.fadec] && e.n1Pct < alternatorN1
	f.testShare = 0
	if f.testing && ready > 0 {
		f.testShare = m.elec.readyS[w.fadec] / ready
	}
	switch {
	case !holds(w.idle, a.readings) && !holds(w.flight, a.readings):
		f.tripped = false
		f.resetN1, f.demandN1 = 0, s.FADEC.IdleN1
		f.wantedN2 = s.FADEC.IdleN2
	case e.n2Pct > s.FADEC.TripN2:
		f.tripped = true
	}
	f.faulty = a.severity[w.point+failFADEC] > 0 || !m.controls(i)
}

// controls reports whether the FADEC of engine i has the power to do anything.
func (m *model) controls(i int) bool {
	return m.elec.live[m.profile.wiring.engines[i].fadec] || m.engines[i].n1Pct >= alternatorN1
}

// sweep is where a FADEC's self-test has its gauges, as a share of their scale: up in the first half, down in the second.
func (m *model) sweep(engine int) float64 {
	if engine < 0 || !m.engines[engine].fadec.testing {
		return 0
	}
	share := m.engines[engine].fadec.testShare
	return clamp(2*min(share, 1-share), 0, 1)
}

// fadecRise is the temperature rise that the FADEC of a burning engine asks for. One that has failed keeps what it had.
func (m *model) fadecRise(a *Aircraft, i int) float64 {
	e := &m.engines[i]
	if e.mode == starting {
		return m.startRise(i)
	}
	return m.governedRise(a, i)
}

// startRise enriches the mixture for as long as the engine speeds up slower than it should, and leans it otherwise. A
// starter that gives less is made up for with heat.
func (m *model) startRise(i int) float64 {
	e, c, f := &m.engines[i], m.profile.Systems.FADEC, &m.engines[i].fadec
	if f.faulty {
		return f.startK
	}
	lacks := c.StartAccel.at(e.n1Pct) - e.accelPctS
	f.startK = clamp(f.startK+float64(c.StartGain*lacks*stepSeconds), c.StartRise, c.StartMaxRise)
	return f.startK
}

// A governor that runs up at its worst drives N2 beyond what is wanted, and N1 and TOT beyond their limits, by so much.
// Our own figures.
const (
	runawayN2  = 15 // %
	runawayN1  = 4  // %
	runawayTOT = 60 // °C
)

// maxReset bounds what a governor can learn, % N1.
const maxReset = 15

// governedRise has N1 follow what N2 lacks, and fuel follow what N1 lacks, between the leanest and the richest mixture.
func (m *model) governedRise(a *Aircraft, i int) float64 {
	e, c := &m.engines[i], m.profile.Systems.FADEC
	if !e.fadec.faulty {
		m.demandN1(a, i)
	}
	running := m.runningRise(a, i)
	rise := running * (1 + float64(c.N1Gain*(e.fadec.demandN1-e.n1Pct)))
	leanest := max(running*c.DecelShare, weakestFlame*1.1)
	hottest := c.MaxTOT + float64(runawayTOT*a.severity[m.profile.wiring.engines[i].point+failGovernorHigh])
	return clamp(rise, leanest, max(min(running+c.AccelRise, hottest-m.air.degC), leanest))
}

// demandN1 is the governor: what N1 the collective will need, corrected by what N2 lacks now and has lacked so far. The
// engine with less torque is brought up to the other.
func (m *model) demandN1(a *Aircraft, i int) {
	e, c, w := &m.engines[i], m.profile.Systems.FADEC, &m.profile.wiring.engines[i]
	f := &e.fadec
	target, expected, most := c.IdleN2, c.IdleN1, c.IdleMaxN1
	if holds(w.flight, a.readings) {
		target, most = c.FlightN2, c.MaxN1
		expected = c.Anticipation.at(a.readings[m.profile.wiring.collective])
	}
	most += float64(runawayN1 * a.severity[w.point+failGovernorHigh])
	most -= float64(a.severity[w.point+failGovernorLow] * (most - c.IdleN1))
	f.wantedN2 = seek(f.wantedN2, target, c.N2PerS)
	lacks := f.wantedN2 + float64(runawayN2*a.severity[w.point+failGovernorHigh]) - e.n2Pct
	wanted := expected + float64(c.N2Gain*lacks) + f.resetN1
	f.demandN1 = clamp(wanted, c.IdleN1, most)
	// A governor that is at a stop learns nothing that would take it further.
	learn := float64(c.N2Reset*lacks) + float64(c.Matching*m.behind(i))
	if !(wanted > most && learn > 0) && !(wanted < c.IdleN1 && learn < 0) {
		f.resetN1 = clamp(f.resetN1+float64(learn*stepSeconds), -maxReset, maxReset)
	}
}

// mostMatched is the largest difference in torque that is matched, %. One beyond it is a fault, and a control does not follow
// a fault. Our own figure.
const mostMatched = 15

// behind is by how much another governed engine has more torque, %.
func (m *model) behind(i int) float64 {
	for j := range m.profile.Systems.Engines {
		if j != i && m.engines[j].mode == governed && !m.engines[j].fadec.faulty {
			if difference := m.torques[j] - m.torques[i]; difference < mostMatched {
				return max(difference, 0)
			}
		}
	}
	return 0
}
