package aircraft

// belt is the clutch of a piston engine: a belt that a motor or a hand tightens, and behind it a freewheel, which lets the rotor
// go on turning by itself.
type belt struct {
	drawnUp float64 // how far it has been drawn up: 1 is where a good belt is tight
	tension float64 // 0 slack, 1 tight
	motor   bool
	heatedK float64 // above the air, by slipping
	airDegC float64
	slips   float64 // W that it turns into heat
}

// The belt's own figures: how far beyond its place a motor can draw it up, what a worn one loses of its tension, and what a hot
// one keeps of its grip; rubber loses it as it glazes. Our own figures.
const (
	furthest   = 1.25
	wornLoses  = 0.55
	tight      = 0.995
	glazesFrom = 120 // °C
	glazedAt   = 220 // °C
	glazedGrip = 0.4
)

func (b *belt) init(air air) { b.airDegC = air.degC }

func (b *belt) degC() float64 { return b.airDegC + b.heatedK }

// stepBelt has the belt tightened, or slackened, and has it cool.
func (m *model) stepBelt(a *Aircraft) {
	s, b, w := m.profile.Systems.Clutch, &m.belt, &m.profile.wiring
	if s == nil {
		return
	}
	worn := 1 - float64(wornLoses*a.severity[w.beltPoint])
	target, moves := 0.0, true
	if w.beltLever >= 0 {
		t := m.profile.Controls[w.beltLever].Travel
		target = (a.board.Readings[w.beltLever] - t.From) / (t.To - t.From)
	} else {
		engaged := a.holds(w.engage)
		b.motor = m.elec.busOn[0] && (engaged && b.tension < tight || !engaged && b.drawnUp > 0)
		if moves = b.motor; engaged {
			target = furthest
		}
	}
	switch {
	case moves && target > b.drawnUp:
		b.drawnUp = seek(b.drawnUp, target, 1/s.EngageS)
	case moves:
		b.drawnUp = seek(b.drawnUp, target, 1/s.ReleaseS)
	}
	b.tension = clamp(b.drawnUp*worn, 0, 1)
	b.heatedK = lag(b.heatedK+float64(b.slips/s.HeatJPerK*stepSeconds), 0, s.CoolsS)
	b.slips = 0
}

// grip is what the belt can pass on before it slips, as a share of what a good one does that is tight and cool.
func (b *belt) grip() float64 {
	glazed := clamp((b.degC()-glazesFrom)/(glazedAt-glazesFrom), 0, 1)
	return b.tension * b.tension * (1 - float64((1-glazedGrip)*glazed))
}

// crank is the crankshaft and all that is fixed to it, in terms of the rotor's shaft: N m and kg m² there.
type crank struct {
	inertia float64
	pulls   float64 // torque of gas and starter
	drags   float64 // friction and pumping, which act only while it turns
	carries float64 // what the belt can pass on before it slips
}

// net is the torque that the crankshaft has to spare at a speed in percent.
func (c *crank) net(pct float64) float64 {
	if pct > 0 {
		return c.pulls - c.drags
	}
	return max(c.pulls-c.drags, 0)
}

// crank works out what the crankshaft does in this step.
func (m *model) crank(a *Aircraft, full float64) crank {
	s, e := m.profile.Systems.Piston, &m.engines[0]
	ratio := s.full() / full
	inertia := float64(s.Inertia * ratio * ratio)
	return crank{
		inertia: inertia,
		pulls:   float64(e.piston.gasNm*ratio) + float64(m.starterPctS(a, 0)*inertia*full/100),
		drags:   e.piston.dragNm * ratio,
		carries: m.profile.Systems.Clutch.CarriesNm * ratio * m.belt.grip(),
	}
}

// turnByBelt turns crankshaft and rotor: together as long as the belt can carry what the rotor takes, with the belt slipping
// when it cannot, and each by itself when the rotor is the faster one.
func (m *model) turnByBelt(a *Aircraft, d *drive) {
	e, r := &m.engines[0], &m.rotor
	c := m.crank(a, d.full)
	r.drivenNm = 0
	before := e.n1Pct
	if r.driving[0] {
		common := *d
		common.inertia += c.inertia
		common.engines = c.net(e.n1Pct)
		passedOn := common.engines - float64(c.inertia*common.accel(r.nrPct)*d.full/100)
		if r.driving[0] = passedOn >= 0 && passedOn <= c.carries; r.driving[0] {
			r.nrPct = min(common.turn(r.nrPct, stepSeconds), maxSpeedPct)
			e.n1Pct, r.drivenNm = r.nrPct, passedOn
		}
	}
	if !r.driving[0] {
		m.turnApart(&c, d)
	}
	e.n2Pct = e.n1Pct
	e.accelPctS = (e.n1Pct - before) / stepSeconds
}

// turnApart turns the two by themselves for a step; a crankshaft that is faster drags the rotor along with all that the belt
// carries. Where they meet the belt takes hold.
func (m *model) turnApart(c *crank, d *drive) {
	e, r := &m.engines[0], &m.rotor
	faster, slower := e.n1Pct > r.nrPct, e.n1Pct < r.nrPct
	passedOn := 0.0
	if faster || !slower && c.net(e.n1Pct) > 0 {
		passedOn = c.carries
	}
	d.engines, r.drivenNm = passedOn, passedOn
	r.nrPct = min(d.turn(r.nrPct, stepSeconds), maxSpeedPct)
	m.belt.slips = passedOn * max(e.n1Pct-r.nrPct, 0) / 100 * d.full
	speed := e.n1Pct + float64(100*(c.net(e.n1Pct)-passedOn)/(c.inertia*d.full)*stepSeconds)
	e.n1Pct = clamp(speed, 0, maxSpeedPct)
	met := faster && e.n1Pct <= r.nrPct || slower && e.n1Pct >= r.nrPct
	if !met || c.carries == 0 || r.nrPct == 0 {
		return
	}
	common := (float64(d.inertia*r.nrPct) + float64(c.inertia*e.n1Pct)) / (d.inertia + c.inertia)
	e.n1Pct, r.nrPct = common, common
	r.driving[0] = true
}
