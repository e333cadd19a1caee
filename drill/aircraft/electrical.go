package aircraft

import "math"

// electrical is the currents. Every source is a voltage behind a resistance and every load a conductance, so that the
// voltage of the main bus is where the currents balance.
type electrical struct {
	volts       float64 // of the main bus
	batteryAmps float64 // out of the battery; negative while it is charged
	charge      float64 // 0 to 1
	batteryDegC float64
	genOnline   [maxEngines]bool
	loadPct     [maxEngines]float64
	starterAmps [maxEngines]float64
	busOn       [maxBuses]bool
	steady      span                  // of volts, in which no bus is fed or dropped
	readyS      [maxEquipment]float64 // for how long each equipment has had current
	live        [maxEquipment]bool
	tripCaused  [maxEngines]bool // its generator has been asked to trip, and has
	tripped     [maxEngines]bool
	broken      [maxEquipment]bool // its breaker has been asked to pop, and has
	popped      [maxEquipment]bool
	resetting   bool // the breakers are being pushed in
	unplugged   bool // there is no ground power to be had, whatever its switch says

	net        network
	equipmentS float64 // what all equipment that has current conducts, and the leakage, S
	breakersIn bool    // none has popped
	openOn     finger

	// What has just changed, so that what follows from it has to be gone through again.
	tripping, popping, switching, warming bool

	switched bool // a bus or an equipment has, or may have, since it was last indicated
}

func (e *electrical) init(s *Electrical, air air) {
	e.charge = s.Battery.Charge
	e.batteryDegC = air.degC
	e.equipmentS, e.breakersIn, e.switched = leakage, true, true
}

// ratedVolts is the voltage at which equipment draws the current that it is rated for.
const ratedVolts = 28

// stepElectrical connects what is switched on, balances the currents, and hands the voltage on to the buses.
func (m *model) stepElectrical(a *Aircraft) {
	if a.board.Stirred(watchTrips) || m.elec.tripping {
		m.stepTrips(a)
	}
	m.cutInGenerators(a)
	m.connect(a)
	m.elec.volts = m.elec.net.balance(m.elec.volts)
	m.drain(a)
	if in := &m.elec.steady; a.board.Stirred(watchBuses) || !(m.elec.volts >= in.from && m.elec.volts <= in.to) {
		m.feedBuses(a)
	}
	if a.board.Stirred(watchBreakers) || m.elec.popping {
		m.stepBreakers(a)
	}
	if a.board.Stirred(watchEquipment) || m.elec.switching || m.elec.warming {
		m.feedEquipment(a)
		m.still = false
	}
}

// source is a voltage behind a resistance. What it gives has a least and a most, in amps: a generator takes nothing back, and a
// starter, which is a source turned round, gives nothing.
type source struct {
	volts       float64 // without a load
	ohms        float64 // while it gives
	takesOhms   float64 // while it takes
	least, most float64
	pair        bool // there are two of it
}

// amps is what the source gives to a bus of this voltage.
func (s *source) amps(bus float64) float64 {
	ohms := s.ohms
	if bus > s.volts {
		ohms = s.takesOhms
	}
	return clamp((s.volts-bus)/ohms, s.least, s.most)
}

// network is what hangs on the main bus: whichever of battery, external power, generators and starters are connected, in this order,
// and everything else as one conductance.
type network struct {
	sources [2 + 2*maxEngines]source
	count   int
	load    float64 // siemens
	ohms    float64 // of the battery
	on      connected
}

// connected is what of it is switched on.
type connected struct {
	battery, external bool
	generators        int // which are all alike
	starters          [maxEngines]bool
}

// add connects a source.
func (n *network) add() *source {
	n.count++
	return &n.sources[n.count-1]
}

// leakage is what flows with everything switched off, S. It gives a bus that nothing loads a voltage of its own.
const leakage = 0.001

// connect connects what is switched on, and brings up to date what of it does not stay as it is. The network is laid anew only when
// something is switched, which happens a few times in a sitting.
func (m *model) connect(a *Aircraft) {
	e, n, w := &m.elec, &m.elec.net, &m.profile.wiring
	n.load, n.ohms = e.equipmentS, m.batteryOhms(a)
	if m.horizon.powered {
		n.load += m.profile.reckoned.horizonS
	}
	on := connected{battery: a.holds(w.battery), external: m.onGroundPower(a)}
	for i := range m.profile.Systems.Engines {
		if e.genOnline[i] {
			on.generators++
		}
		on.starters[i] = m.engines[i].cranking
	}
	if on != n.on {
		n.lay(on, &m.profile.Systems)
	}
	if on.battery {
		n.sources[0].volts, n.sources[0].ohms = m.openVolts(a), n.ohms
	}
	next := n.count
	for i := len(m.profile.Systems.Engines) - 1; i >= 0; i-- { // the starters are the last
		if on.starters[i] {
			next--
			n.sources[next].volts = m.profile.Systems.Starter.BackVolts * m.engines[i].n1Pct
		}
	}
}

// lay connects sources. The voltages of battery and starters, and the resistance of the battery, are still to come.
func (n *network) lay(on connected, s *Systems) {
	n.on, n.count = on, 0
	if on.battery {
		*n.add() = source{takesOhms: s.Electrical.Battery.ChargeOhms, least: -math.MaxFloat64, most: math.MaxFloat64}
	}
	if on.external {
		*n.add() = source{volts: s.Electrical.External.Volts, ohms: s.Electrical.External.Ohms, takesOhms: 1, most: math.MaxFloat64}
	}
	if on.generators > 0 {
		g := s.Electrical.Generators
		*n.add() = source{volts: g.Volts, ohms: g.Ohms, takesOhms: 1, most: g.MaxAmps, pair: on.generators > 1}
	}
	for i := range s.Engines {
		if on.starters[i] {
			*n.add() = source{ohms: 1, takesOhms: s.Starter.Ohms, least: -math.MaxFloat64}
		}
	}
}

// onGroundPower reports whether the main bus hangs on ground power.
func (m *model) onGroundPower(a *Aircraft) bool {
	return !m.elec.unplugged && a.holds(m.profile.wiring.external)
}

// openVolts and batteryOhms are the battery's own; an old one has less of the first and more of the second.
func (m *model) openVolts(a *Aircraft) float64 {
	weak := a.severity[m.profile.wiring.batteryPoint+failBatteryWeak]
	return m.elec.openOn.on(m.profile.Systems.Electrical.Battery.OpenVolts, m.elec.charge) - float64(2.2*weak)
}

func (m *model) batteryOhms(a *Aircraft) float64 {
	b := &m.profile.Systems.Electrical.Battery
	weak := a.severity[m.profile.wiring.batteryPoint+failBatteryWeak]
	cold := greater(25-m.elec.batteryDegC, 0)
	return b.Ohms * (1 + float64(b.OhmsPerCold*cold)) * (1 + float64(1.2*weak))
}

const (
	highestVolts = 64
	narrow       = 0.02 // V either side of the voltage before, where it is looked for first
)

// balance finds the voltage at which no current is left over. What the sources give falls, and what the load takes
// rises, with the voltage, so there is one; the excess is made of straight lines, which regula falsi (with the Illinois
// rule, so that no end of the bracket stays for ever) meets in a few steps. The voltage is most often where it was.
func (n *network) balance(before float64) float64 {
	low, high := greater(before-narrow, 0), before+narrow
	lowEx, highEx := n.excess(low), n.excess(high)
	if lowEx <= 0 || highEx >= 0 {
		low, high = 0, highestVolts
		lowEx, highEx = n.excess(low), n.excess(high)
	}
	if lowEx <= 0 || highEx >= 0 {
		return 0
	}
	side := 0
	for range 60 {
		v := low + float64((high-low)*(lowEx/(lowEx-highEx)))
		ex := n.excess(v)
		switch {
		case math.Abs(ex) < 1e-5 || high-low < 1e-9:
			return v
		case ex > 0:
			low, lowEx = v, ex
			if side == 1 {
				highEx /= 2
			}
			side = 1
		default:
			high, highEx = v, ex
			if side == -1 {
				lowEx /= 2
			}
			side = -1
		}
	}
	return low
}

func (n *network) excess(volts float64) float64 {
	total := -float64(n.load * volts)
	for i := range n.sources[:n.count] {
		amps := n.sources[i].amps(volts)
		if total += amps; n.sources[i].pair {
			total += amps
		}
	}
	return total
}

// stepTrips takes off the line what has a cause to trip, once for each cause, until it is reset. One whose cause has gone is reset
// by whoever took that away.
func (m *model) stepTrips(a *Aircraft) {
	if m.profile.Systems.Electrical.Generators == nil {
		return
	}
	e := &m.elec
	e.tripping = false
	for i := range m.profile.Systems.Engines {
		w, tripped, caused := &m.profile.wiring.engines[i], e.tripped[i], e.tripCaused[i]
		reset := a.holds(w.genReset) || w.genReset == 0 && !a.holds(w.generator)
		cause := a.severity[w.genPoint+failGenTrip] > 0
		e.tripped[i] = (e.tripped[i] && !reset || cause && !e.tripCaused[i]) && cause
		e.tripCaused[i] = cause
		e.tripping = e.tripping || e.tripped[i] != tripped || cause != caused
	}
}

// cutInGenerators connects each generator that is switched on once its engine is fast enough to drive it, and does not
// need the same machine as a starter.
func (m *model) cutInGenerators(a *Aircraft) {
	g := m.profile.Systems.Electrical.Generators
	if g == nil {
		return
	}
	for i := range m.profile.Systems.Engines {
		w, n1 := &m.profile.wiring.engines[i], m.engines[i].n1Pct
		ok := a.holds(w.generator) && (g.Separate || !m.engines[i].cranking) && a.severity[w.genPoint+failGenerator] == 0 && !m.elec.tripped[i]
		m.elec.genOnline[i] = ok && (n1 >= g.CutInN1 || m.elec.genOnline[i] && n1 >= g.CutOutN1)
	}
}

// shortedWatts is what a shorted cell heats its battery with. Our own figure.
const shortedWatts = 15000

// drain books what has flowed: the generators' loads, the starters' currents, the battery's charge and heat.
func (m *model) drain(a *Aircraft) {
	e, n, s, k := &m.elec, &m.elec.net, &m.profile.Systems, &m.profile.reckoned
	next := 0
	if e.batteryAmps = 0; n.on.battery {
		e.batteryAmps = n.sources[next].amps(e.volts)
		next++
	}
	if n.on.external {
		next++
	}
	e.loadPct = [maxEngines]float64{}
	if n.on.generators > 0 {
		load := 100 * n.sources[next].amps(e.volts) / s.Electrical.Generators.Amps
		next++
		for i := range s.Engines {
			if e.genOnline[i] {
				e.loadPct[i] = load
			}
		}
	}
	for i := range s.Engines {
		if e.starterAmps[i] = 0; m.engines[i].cranking {
			e.starterAmps[i] = -n.sources[next].amps(e.volts)
			next++
		}
	}
	b := &s.Electrical.Battery
	e.charge = clamp(e.charge-e.batteryAmps*stepSeconds/k.chargeAs, 0, 1)
	watts := float64(float64(e.batteryAmps*e.batteryAmps) * n.ohms)
	watts += float64(shortedWatts * a.severity[m.profile.wiring.batteryPoint+failBatteryHot])
	e.batteryDegC = follow(e.batteryDegC, m.air.degC, k.batteryCool) + watts*stepSeconds/b.HeatJPerK
	e.batteryDegC = lesser(e.batteryDegC, 200)
}

// busReturns is how far above its drop-out voltage a bus is fed again, V.
const busReturns = 0.5

// feedBuses feeds those that are switched to the main bus, and drops those that the voltage is too low for.
func (m *model) feedBuses(a *Aircraft) {
	m.elec.steady = anywhere
	for i := range m.profile.Systems.Electrical.Buses {
		b, when := &m.profile.Systems.Electrical.Buses[i], m.profile.wiring.busWhen[i]
		least := b.Drops
		if !m.elec.busOn[i] {
			least += busReturns
		}
		least = max(least, math.SmallestNonzeroFloat64) // nothing is fed with nothing
		switched := a.always(when) && a.severity[m.profile.wiring.busPoint+i] == 0
		on := switched && m.elec.volts >= least
		if on != m.elec.busOn[i] {
			m.elec.switching, m.elec.steady = true, nowhere // other figures go for it from now on
		}
		m.elec.busOn[i] = on
		switch {
		case on:
			m.elec.steady.from = max(m.elec.steady.from, least)
		case switched:
			m.elec.steady.to = min(m.elec.steady.to, math.Nextafter(least, 0))
		}
	}
}

// stepBreakers pops the breakers that have a cause to, once for each cause, and pushes in those that have popped. One whose
// cause has gone is pushed in by whoever took that away.
func (m *model) stepBreakers(a *Aircraft) {
	e, w := &m.elec, &m.profile.wiring
	reset := a.holds(w.breakersReset)
	pushed := reset && !e.resetting
	e.popping = reset != e.resetting
	e.resetting, e.breakersIn = reset, true
	for i, point := range w.breakerPoint {
		if point < 0 {
			continue
		}
		cause, popped := a.severity[point] > 0, e.popped[i]
		e.popping = e.popping || cause != e.broken[i]
		e.popped[i] = (popped && !pushed || cause && !e.broken[i]) && cause
		e.broken[i] = cause
		e.switching = e.switching || e.popped[i] != popped
		e.popping = e.popping || e.popped[i] != popped
		e.breakersIn = e.breakersIn && !e.popped[i]
	}
}

// feedEquipment gives current to what is switched on, and has it live once it has had it for long enough. For how long after that is
// nobody's affair.
func (m *model) feedEquipment(a *Aircraft) {
	e, w, k := &m.elec, &m.profile.wiring, &m.profile.reckoned
	e.switching, e.warming, e.switched, e.equipmentS = false, false, true, leakage
	for i := range m.profile.Systems.Electrical.Equipment {
		on := e.busOn[w.equipBus[i]] && a.holds(w.equipOn[i]) && a.severity[w.equipPoint+i] == 0 && !e.popped[i]
		if !on {
			e.readyS[i], e.live[i] = 0, false
			continue
		}
		e.equipmentS += k.equipmentS[i]
		if !e.live[i] {
			e.readyS[i] += stepSeconds
			e.live[i] = e.readyS[i] > m.profile.Systems.Electrical.Equipment[i].Ready
			e.warming = e.warming || !e.live[i]
		}
	}
}
