package aircraft

// governor is what the governor of one turbine remembers.
type governor struct {
	wantedN2 float64 // %
	resetN1  float64 // what it has learned that N1 has to be corrected by, %
	demandN1 float64 // %
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
	e, c := &m.engines[i], m.profile.Systems.Governor
	if !e.fadec.faulty {
		m.demandN1(a, i)
	}
	running := m.runningRise(a, i)
	rise := running * (1 + float64(c.N1Gain*(e.governor.demandN1-e.n1Pct)))
	leanest := greater(running*c.DecelShare, weakestFlame*1.1)
	richest := running + c.AccelRise
	if f := m.profile.Systems.FADEC; f != nil {
		hottest := f.MaxTOT + float64(runawayTOT*a.severity[m.profile.wiring.engines[i].point+failGovernorHigh])
		richest = lesser(richest, hottest-m.air.degC)
	}
	return clamp(rise, leanest, greater(richest, leanest))
}

// demandN1 is the governor: what N1 the collective will need, corrected by what N2 lacks now and has lacked so far. The
// engine with less torque is brought up to the other.
func (m *model) demandN1(a *Aircraft, i int) {
	e, c, w := &m.engines[i], m.profile.Systems.Governor, &m.profile.wiring.engines[i]
	f := &e.governor
	target, expected, most := c.IdleN2, c.IdleN1, c.IdleMaxN1
	if a.holds(w.flight) {
		target, most = c.FlightN2, c.MaxN1
		expected = e.gas.expectOn.on(c.Anticipation, a.board.Readings[m.profile.wiring.collective])
	}
	most += float64(runawayN1 * a.severity[w.point+failGovernorHigh])
	most -= float64(a.severity[w.point+failGovernorLow] * (most - c.IdleN1))
	f.wantedN2 = seek(f.wantedN2, target, c.N2PerS)
	lacks := f.wantedN2 + float64(runawayN2*a.severity[w.point+failGovernorHigh]) - e.n2Pct
	wanted := expected + float64(c.N2Gain*lacks) + f.resetN1
	f.demandN1 = clamp(wanted, c.IdleN1, most)
	// A governor that is at a stop learns nothing that would take it further.
	learn := float64(c.N2Reset * lacks)
	if m.profile.Systems.FADEC != nil {
		learn += float64(m.profile.Systems.FADEC.Matching * m.behind(i))
	}
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
				return greater(difference, 0)
			}
		}
	}
	return 0
}
