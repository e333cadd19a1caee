package aircraft

// fadec is what the control of one engine remembers.
type fadec struct {
	startK    float64 // temperature rise that a start is at
	tripped   bool    // overspeed: fuel is off until the selector is
	faulty    bool    // it holds the fuel where it was
	testing   bool    // it has just been powered, and takes its gauges to full scale and back
	testShare float64 // how far that is, 0 to 1
	latch     latch
}

// latch is what a press of an engine's start button leaves behind.
type latch struct {
	set     bool
	pressed bool    // the button was, in the step before
	asked   bool    // the engine was, in the step before
	turnedS float64 // for how long it has had the starter turn
}

// For how long a latch holds: a start that has not come to its cut-out speed is given up, and dry motoring ends. Our own
// figures; that starters have limits of this order is common practice, no source.
const (
	startLatchS = 45
	motorLatchS = 20
)

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
	case !a.holds(w.idle) && !a.holds(w.flight):
		f.tripped = false
	case e.n2Pct > s.FADEC.TripN2:
		f.tripped = true
	}
	f.faulty = a.severity[w.fadecPoint] > 0 || !m.controls(i)
}

// controls reports whether the FADEC of engine i has the power to do anything.
func (m *model) controls(i int) bool {
	return m.elec.live[m.profile.wiring.engines[i].fadec] || m.engines[i].n1Pct >= alternatorN1
}

// sweeps reports whether any FADEC is in its self-test.
func (m *model) sweeps() bool {
	for i := range m.engines {
		if m.engines[i].fadec.testing {
			return true
		}
	}
	return false
}

// sweep is where a FADEC's self-test has its gauges, as a share of their scale: up in the first half, down in the second.
func (m *model) sweep(engine int) float64 {
	if engine < 0 || !m.engines[engine].fadec.testing {
		return 0
	}
	share := m.engines[engine].fadec.testShare
	return clamp(2*min(share, 1-share), 0, 1)
}

// sequenceStarter turns the starter on for an engine that is asked to run and does not, and off once it is fast enough.
// Engines that are asked at the same moment wait for each other, in order. A start takes a FADEC that is ready. With a start
// button, asking is not enough: see latchStarter.
func (m *model) sequenceStarter(a *Aircraft, i int, asked bool) {
	e, st, w := &m.engines[i], &m.profile.Systems.Starter, &m.profile.wiring.engines[i]
	waits := st.OneAtATime && m.otherCranks(i)
	if w.starter != 0 {
		m.latchStarter(a, i, asked)
		e.cranking = e.fadec.latch.set && (e.cranking || !waits)
		return
	}
	switch {
	case !asked:
		e.cranking, e.started = false, false
	case e.n1Pct >= st.CutOutN1:
		e.cranking, e.started = false, true
	case !e.started && !e.cranking:
		e.cranking = m.elec.live[w.fadec] && !waits
	}
}

// latchStarter has a press of the start button latch the starter. With the engine asked to run that is a start, which goes on
// to the cut-out speed; otherwise the engine is motored dry, and becomes a start if it is asked to run while it turns. The
// latch goes at the cut-out speed, when its time is up, when the engine is no longer asked to run, and with the FADEC.
func (m *model) latchStarter(a *Aircraft, i int, asked bool) {
	e, st, w := &m.engines[i], &m.profile.Systems.Starter, &m.profile.wiring.engines[i]
	l := &e.fadec.latch
	pressed := a.holds(w.starter)
	if !l.set && !pressed { // most of the time
		l.pressed, l.asked = false, asked
		return
	}
	fresh, given := pressed && !l.pressed, l.asked && !asked
	l.pressed, l.asked = pressed, asked
	if l.set && e.cranking {
		l.turnedS += stepSeconds
	}
	longest := float64(motorLatchS)
	if asked {
		longest = startLatchS
	}
	switch {
	case !m.elec.live[w.fadec], given, e.n1Pct >= st.CutOutN1, l.turnedS >= longest:
		l.set, l.turnedS = false, 0
	case fresh && !l.set:
		l.set, l.turnedS = true, 0
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

// fadecKgS is the fuel that the FADEC of an engine that is asked to run gives it. One that has failed keeps the temperature
// rise that it had.
func (m *model) fadecKgS(a *Aircraft, i int, air float64) float64 {
	e, c := &m.engines[i], m.profile.Systems.FADEC
	switch {
	case e.fadec.tripped:
		return 0
	case e.mode == starting:
		return m.startRise(i) * air / riseKPerRatio
	case e.mode == governed:
		return m.governedRise(a, i) * air / riseKPerRatio
	case e.n1Pct >= m.profile.Systems.Turbine.LightOffN1 && e.cranking:
		e.fadec.startK = c.StartRise
		return c.StartRise * air / riseKPerRatio
	}
	return 0
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
