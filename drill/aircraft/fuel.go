package aircraft

// fuelSystem is what is in the tanks, and with which pressure it reaches the engines.
type fuelSystem struct {
	mainKg     float64
	leakKgS    float64 // of a leak at its worst
	supplyKg   [maxEngines]float64
	pressBar   [maxEngines]float64
	filterSeen [maxEngines]bool
	drivenOn   [maxEngines]finger
}

func (f *fuelSystem) init(s *Systems) {
	f.mainKg = s.Fuel.MainKg
	for i := range s.Engines {
		f.supplyKg[i] = s.Fuel.SupplyKg
	}
	f.leakKgS = f.total() / leakEmptiesS
}

// leakEmptiesS is in how many seconds a leak at its worst empties full tanks: some twenty times as fast as an engine in the hover, so
// that the needle is seen to move, and the low fuel caption comes within three minutes. Our own figure.
const leakEmptiesS = 180

// total is what is in all tanks, kg.
func (f *fuelSystem) total() float64 {
	total := f.mainKg
	for _, kg := range f.supplyKg {
		total += kg
	}
	return total
}

// pressureS is the time constant of the fuel lines, seconds.
const pressureS = 0.25

// stepFuel moves fuel from the main tank to the supply tanks, and works out the pressures.
func (m *model) stepFuel(a *Aircraft) {
	m.leak(a)
	m.transfer()
	for i := range m.profile.Systems.Engines {
		m.stepFuelPressure(a, i)
	}
}

// leak loses fuel: out of the main tank, and once that is empty out of the supply tanks.
func (m *model) leak(a *Aircraft) {
	f := &m.fuel
	if a.severity[m.profile.wiring.fuelPoint] == 0 {
		return
	}
	lost := float64(f.leakKgS * a.severity[m.profile.wiring.fuelPoint] * stepSeconds)
	main := min(lost, f.mainKg)
	f.mainKg -= main
	each := (lost - main) / float64(len(m.profile.Systems.Engines))
	for i := range m.profile.Systems.Engines {
		f.burn(i, each)
	}
}

// transfer has each pump share what it moves among the supply tanks that have room.
func (m *model) transfer() {
	f, s, k := &m.fuel, &m.profile.Systems, &m.profile.reckoned
	for _, pump := range m.profile.wiring.transfer {
		if !m.elec.live[pump] {
			continue
		}
		for i := range s.Engines {
			kg := lesser(lesser(k.pumpKg, s.Fuel.SupplyKg-f.supplyKg[i]), f.mainKg)
			f.mainKg -= kg
			f.supplyKg[i] += kg
		}
	}
}

// fullKgS is the fuel flow of an engine at full power, kg/s.
func (s *Systems) fullKgS() float64 {
	if s.Piston != nil {
		return s.Piston.AirKgS / mixtureRatio
	}
	return s.Turbine.AirKgS * s.Turbine.Rise.at(100) / riseKPerRatio
}

// stepFuelPressure adds the pumps of one engine up: the stronger one carries, the filter takes its part, and beyond a
// closed cut-off there is nothing.
func (m *model) stepFuelPressure(a *Aircraft, i int) {
	f, s, w := &m.fuel, &m.profile.Systems.Fuel, &m.profile.wiring.engines[i]
	prime, driven := s.GravityBar, f.drivenOn[i].on(s.DrivenBar, m.engines[i].n1Pct)
	if w.prime >= 0 && m.elec.live[w.prime] {
		prime += float64(s.PrimeBar * (1 - a.severity[w.primePoint]))
	}
	blocked := a.severity[w.filterPoint]
	flow := m.engines[i].fuelKgS / m.profile.reckoned.fullKgS
	lost := float64(s.FilterBar*flow) + float64(blocked*(0.25+float64(0.75*flow)))
	target := greater(greater(prime, driven)-lost, 0)
	if f.supplyKg[i] <= 0 || m.engines[i].cut {
		target = 0
	}
	f.pressBar[i] = lag(f.pressBar[i], target, pressureS)
	f.filterSeen[i] = blocked > 0.3 && m.elec.busOn[0]
}

// burn takes what an engine has burned, or what has run out, from its supply tank.
func (f *fuelSystem) burn(i int, kg float64) {
	f.supplyKg[i] = greater(f.supplyKg[i]-kg, 0)
}
