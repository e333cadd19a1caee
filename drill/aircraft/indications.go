package aircraft

import (
	"math"
	"strconv"
	"strings"

	"hornlark/drill/condition"
)

// indication is one thing that the model shows: in its unit, or true or false.
type indication struct {
	name      string
	kind      condition.Type
	unit      string
	low, high float64 // what it can be; infinite where nothing bounds it
	about     string  // in a sentence; # stands for the number of the engine or the system
}

// Indication is one thing that the model of an aircraft shows, for whoever writes conditions.
type Indication struct {
	Name      string
	About     string // in a sentence
	Switch    bool   // it is true or false; otherwise a number
	Unit      string // of a number; empty where it is a count or a share without one
	Low, High float64
}

// Indications lists everything that the model of the profile shows, in an order that the profile alone decides. Low and High are
// what a number can be, infinite where nothing bounds it.
func (p *Profile) Indications() []Indication {
	var list []Indication
	for _, in := range indications(&p.Systems) {
		list = append(list, Indication{Name: in.name, About: in.about, Switch: in.kind == condition.Switch, Unit: in.unit, Low: in.low, High: in.high})
	}
	return list
}

// number is an indication that is one.
func number(name, unit string, low, high float64, about string) indication {
	return indication{name, condition.Number, unit, low, high, about}
}

// truth is an indication that is true or false.
func truth(name, about string) indication {
	return indication{name: name, kind: condition.Switch, high: 1, about: about}
}

// numbered is the same indication of one of several engines or systems.
func (in indication) numbered(n int) indication {
	number := strconv.Itoa(n)
	in.name += number
	in.about = strings.ReplaceAll(in.about, "#", number)
	return in
}

// endless is the end of a range that nothing bounds.
var endless = math.Inf(1)

// What every aircraft shows, in the order of its readings.
const (
	inVolts       = iota // main bus, V
	inAmps               // out of the battery, A; negative while it is charged
	inCharge             // of the battery, %
	inBattTemp           // °C
	inFuel               // in all tanks, kg
	inNR                 // %
	inGbxPress           // bar
	inGbxTemp            // °C
	inOAT                // °C
	inHeight             // of the skids above the ground, m
	inClimb              // m/s
	inStickForce         // 0 light, 1 heavy
	inTouchdown          // how fast it sank as it last touched down, m/s; 0 before
	inBrakeTemp          // of the rotor brake, °C
	inAirborne           // from here on true or false
	inDoorsClosed        // as the door switches see it
	inLampTestOn
	inDisplayOK
	inHorizonErect
	inRotorStopped
	inBreakersIn // no circuit breaker has popped
	inGroundPower
	commonCount

	restingCount = inBattTemp + 1
)

var commonIndications = [commonCount]indication{
	inVolts:        number("volts", "V", 0, endless, "Voltage of the main bus."),
	inAmps:         number("amps", "A", -endless, endless, "Current out of the battery; below zero while it is charged."),
	inCharge:       number("charge", "%", 0, 100, "How full the battery is."),
	inBattTemp:     number("batt_temp", "°C", -endless, endless, "Temperature of the battery."),
	inFuel:         number("fuel", "kg", 0, endless, "Fuel in all tanks together."),
	inNR:           number("nr", "%", 0, maxSpeedPct, "Speed of the main rotor."),
	inGbxPress:     number("gbx_press", "bar", 0, endless, "Oil pressure of the main gearbox."),
	inGbxTemp:      number("gbx_temp", "°C", -endless, endless, "Oil temperature of the main gearbox."),
	inOAT:          number("oat", "°C", -endless, endless, "Temperature of the air outside."),
	inHeight:       number("height", "m", 0, maxHeightM, "Height of the skids above the ground."),
	inClimb:        number("climb", "m/s", -endless, endless, "How fast it climbs; below zero while it sinks."),
	inStickForce:   number("stick_force", "", 0, 1, "How heavy the controls are: 0 is light, 1 is heavy, without hydraulics."),
	inTouchdown:    number("touchdown", "m/s", 0, endless, "How fast it sank as it last touched down; 0 before."),
	inBrakeTemp:    number("brake_temp", "°C", -endless, brakeMostC, "Temperature of the rotor brake."),
	inAirborne:     truth("airborne", "The skids are off the ground."),
	inDoorsClosed:  truth("doors_closed", "The doors are closed, as their switches see it."),
	inLampTestOn:   truth("lamp_test_on", "The lamp test runs, and all captions are lit."),
	inDisplayOK:    truth("display_ok", "The display test has completed its pattern, and shows it."),
	inHorizonErect: truth("horizon_erect", "The standby horizon is upright."),
	inRotorStopped: truth("rotor_stopped", "The main rotor stands still."),
	inBreakersIn:   truth("breakers_in", "No circuit breaker has popped."),
	inGroundPower:  truth("ground_power", "Ground power is plugged in, switched on or not; it is, until somebody outside unplugs it."),
}

// What engines of every kind show; the number of the engine is added to the name.
const (
	inOilPress    = iota // bar
	inOilTemp            // °C
	inLoad               // of the generator, % of its rating
	inFuelPress          // bar
	inFlow               // kg/h
	inStarterTime        // of the starter's present engagement, or its last one, seconds
	inIdleTime           // that it has idled without a break, this time or the last, seconds
	inAlight             // from here on true or false
	inCranking
	inSettled // it is asked to be at flight, and its speed has come up to it
	inIdling  // it is governed, and not asked to be at flight
	inRanDown // it was at idle, is still wanted, and no longer is
	inGenOnline
	inFireSeen
	inChipSeen
	inFilterSeen
	engineCount
)

var engineIndications = [engineCount]indication{
	inOilPress:    number("oil_press", "bar", 0, endless, "Oil pressure of engine #."),
	inOilTemp:     number("oil_temp", "°C", -endless, endless, "Oil temperature of engine #."),
	inLoad:        number("load", "%", 0, endless, "Load of the generator of engine #, as a share of its rating."),
	inFuelPress:   number("fuel_press", "bar", 0, endless, "Fuel pressure before engine #."),
	inFlow:        number("flow", "kg/h", 0, endless, "Fuel flow to engine #."),
	inStarterTime: number("starter_time", "s", 0, endless, "How long the starter of engine # has been engaged, or was the last time."),
	inIdleTime:    number("idle_time", "s", 0, endless, "How long engine # has idled without a break, this time or the last."),
	inAlight:      truth("alight", "Engine # burns."),
	inCranking:    truth("cranking", "The starter turns engine #."),
	inSettled:     truth("settled", "Engine # is asked to be at flight, and its speed has come up to it."),
	inIdling:      truth("idling", "Engine # is governed, and not asked to be at flight."),
	inRanDown:     truth("ran_down", "Engine # was at idle, is still wanted there, and no longer is."),
	inGenOnline:   truth("gen_online", "The generator of engine # is on the line."),
	inFireSeen:    truth("fire_seen", "The detection of engine # reports a fire."),
	inChipSeen:    truth("chip_seen", "The chip detector of engine # has caught metal."),
	inFilterSeen:  truth("filter_seen", "The filter switch of engine # sees that the filter is clogged."),
}

// What a turbine shows besides.
const (
	inN1      = iota // %
	inTOT            // °C
	inTrq            // % of rated torque
	inN2             // %
	inOver           // seconds that TOT has been above the red line since the engine was new
	inTOTPeak        // highest TOT since the last start of the engine began, °C
	turbineCount
)

var turbineIndications = [turbineCount]indication{
	inN1:      number("n1_", "%", 0, maxSpeedPct, "Speed of the gas generator of engine #."),
	inTOT:     number("tot", "°C", -endless, endless, "Turbine outlet temperature of engine #."),
	inTrq:     number("trq", "%", 0, endless, "Torque of engine #, as a share of the rated one."),
	inN2:      number("n2_", "%", 0, maxSpeedPct, "Speed of the power turbine of engine #."),
	inOver:    number("over", "s", 0, endless, "How long TOT of engine # has been above its red line since the engine was new."),
	inTOTPeak: number("tot_peak", "°C", -endless, endless, "Highest TOT of engine # since its last start began."),
}

// fadecIndication is what one with a FADEC shows on top of that.
var fadecIndication = truth("fadec_bad", "The FADEC of engine # reports a fault.")

// What a piston engine shows besides.
const (
	inRPM      = iota // %
	inMAP             // manifold pressure, inches of mercury
	inPower           // torque at the crankshaft, % of the rated one
	inCarbTemp        // in the carburettor's throat, °C
	inHeadTemp        // of the cylinder heads, °C
	inIce             // share of the carburettor's passage that ice has closed, %
	inMagDrop         // R P M lost since only one magneto has been selected, %; 0 with both
	pistonCount
)

var pistonIndications = [pistonCount]indication{
	inRPM:      number("rpm", "%", 0, maxSpeedPct, "Speed of the crankshaft of engine #."),
	inMAP:      number("map", "inHg", 0, endless, "Pressure in the manifold of engine #."),
	inPower:    number("power", "%", -endless, endless, "Torque at the crankshaft of engine #, as a share of the rated one; below zero while it is turned."),
	inCarbTemp: number("carb_temp", "°C", -endless, endless, "Temperature in the throat of the carburettor of engine #."),
	inHeadTemp: number("head_temp", "°C", -endless, endless, "Temperature of the cylinder heads of engine #."),
	inIce:      number("ice", "%", 0, 100, "Share of the passage through the carburettor of engine # that ice has closed."),
	inMagDrop:  number("mag_drop", "%", 0, maxSpeedPct, "RPM that engine # has lost since only one magneto has been selected; 0 with both."),
}

// What a clutch shows. One that a hand tightens has no motor that runs.
var clutchIndications = []indication{
	number("belt_tension", "%", 0, 100, "How tight the belt is: 0 is slack."),
	number("belt_temp", "°C", -endless, endless, "Temperature of the belt."),
	truth("belt_motor", "The motor that tightens and slackens the belt runs."),
}

// What an airframe that can turn shows.
var yawIndication = number("turn", "°/s", -endless, endless, "How fast the nose swings; above zero to the right.")

// indications lists what a model of these systems shows, in the order in which it is indicated: numbers in their places, truths as far as
// the buses, then those.
func indications(s *Systems) []indication {
	list := append([]indication(nil), commonIndications[:]...)
	list[inFuel].high = s.Fuel.MainKg + float64(float64(len(s.Engines))*s.Fuel.SupplyKg)
	for i := range s.Engines {
		for _, in := range s.engineIndications() {
			list = append(list, in.numbered(i+1))
		}
	}
	if s.Clutch != nil {
		list = append(list, clutchIndications...)
	}
	if s.Hydraulics != nil {
		for i := range s.Hydraulics.Shut {
			list = append(list, number("hyd_press", "bar", 0, s.Hydraulics.Bar, "Pressure of hydraulic system #.").numbered(i+1))
		}
	}
	if s.Airframe.Yaw != nil {
		list = append(list, yawIndication)
	}
	for i := range s.Electrical.Buses {
		id := s.Electrical.Buses[i].ID
		list = append(list, truth(id+"_bus", "The "+id+" bus has current."))
	}
	for i := range s.Electrical.Equipment {
		id := s.Electrical.Equipment[i].ID
		list = append(list, truth(id+"_live", "What is called "+id+" is switched on, has current, and works."))
	}
	return list
}

// engineIndications is what one engine of these systems shows.
func (s *Systems) engineIndications() []indication {
	list := append([]indication(nil), engineIndications[:]...)
	if s.Piston != nil {
		return append(list, pistonIndications[:]...)
	}
	list = append(list, turbineIndications[:]...)
	if s.FADEC != nil {
		list = append(list, fadecIndication)
	}
	return list
}

// indicateResting writes the numbers that also change while the machinery is at rest: the first ones.
func (m *model) indicateResting(out *[restingCount]float64) {
	out[inVolts], out[inAmps] = m.elec.volts, m.elec.batteryAmps
	out[inCharge], out[inBattTemp] = 100*m.elec.charge, m.elec.batteryDegC
}

// indicateNumbers writes the numbers that the model shows, and leaves the places of what is true or false.
func (m *model) indicateNumbers(all []float64) {
	common, out := (*[commonCount]float64)(all), all[commonCount:]
	m.indicateResting((*[restingCount]float64)(all))
	common[inFuel] = m.fuel.total()
	common[inNR] = m.rotor.nrPct
	common[inGbxPress], common[inGbxTemp] = m.gearbox.pressBar, m.gearbox.degC
	common[inOAT] = m.air.degC
	common[inHeight], common[inClimb] = m.airframe.heightM, m.airframe.climbMS
	common[inStickForce] = m.hyd.stickForce
	common[inTouchdown], common[inBrakeTemp] = m.airframe.sankMS, m.rotor.brakeDegC
	for i := range m.profile.Systems.Engines {
		engine := (*[engineCount]float64)(out) // an array, so that no index has to be held to its length
		m.engines[i].indicate(engine)
		engine[inLoad], engine[inFuelPress] = m.elec.loadPct[i], m.fuel.pressBar[i]
		out = m.indicateKind(i, out[engineCount:])
	}
	if m.profile.Systems.Clutch != nil {
		out[0], out[1] = 100*m.belt.tension, m.belt.degC()
		out = out[len(clutchIndications):]
	}
	out = out[copy(out, m.hyd.pressBar[:m.profile.wiring.hydraulics]):]
	if m.profile.Systems.Airframe.Yaw != nil {
		out[0] = m.airframe.turnDS
	}
}

// indicateKind writes the numbers that only engines of its kind show, and gives what is left of out.
func (m *model) indicateKind(i int, out []float64) []float64 {
	e := &m.engines[i]
	if m.profile.Systems.Piston != nil {
		e.indicatePiston((*[pistonCount]float64)(out))
		return out[pistonCount:]
	}
	e.indicateTurbine((*[turbineCount]float64)(out))
	if m.profile.Systems.FADEC != nil {
		return out[turbineCount+1:]
	}
	return out[turbineCount:]
}

// truths is what the model shows that is true or false, but for buses and equipment: a bit each, in the order of the indications. It
// is a third of them, and hardly ever changes: so it is compared in one word, and only what has changed is written.
func (m *model) truths() uint64 {
	const first, firstOfEngine = inAirborne, inAlight
	all := asBit(m.airframe.airborne())<<(inAirborne-first) | asBit(m.doorsClosed)<<(inDoorsClosed-first) |
		asBit(m.lampTest)<<(inLampTestOn-first) | asBit(m.displayPattern)<<(inDisplayOK-first) |
		asBit(m.horizon.erect)<<(inHorizonErect-first) | asBit(m.rotor.stopped())<<(inRotorStopped-first) |
		asBit(m.elec.breakersIn)<<(inBreakersIn-first) | asBit(m.profile.HasGroundPower() && !m.elec.unplugged)<<(inGroundPower-first)
	n := commonCount - first
	for i := range m.profile.Systems.Engines {
		e := &m.engines[i]
		all |= (asBit(e.alight())<<(inAlight-firstOfEngine) | asBit(e.cranking)<<(inCranking-firstOfEngine) |
			asBit(e.settled)<<(inSettled-firstOfEngine) | asBit(e.idling)<<(inIdling-firstOfEngine) |
			asBit(e.ranDown)<<(inRanDown-firstOfEngine) | asBit(m.elec.genOnline[i])<<(inGenOnline-firstOfEngine) |
			asBit(e.bay.seen)<<(inFireSeen-firstOfEngine) | asBit(e.chipped)<<(inChipSeen-firstOfEngine) |
			asBit(m.fuel.filterSeen[i])<<(inFilterSeen-firstOfEngine)) << n
		n += engineCount - firstOfEngine
		if m.profile.Systems.FADEC != nil {
			all |= asBit(e.fadec.faulty) << n
			n++
		}
	}
	if m.profile.Systems.Clutch != nil {
		all |= asBit(m.belt.motor) << n
	}
	return all
}

// asBit is 1 for what is so, and 0 otherwise.
func asBit(so bool) (n uint64) {
	if so {
		n = 1
	}
	return n
}

// indicate writes which buses and which equipment have current.
func (e *electrical) indicate(s *Electrical, out []float64) {
	for i := range s.Buses {
		out[i] = bit(e.busOn[i])
	}
	out = out[len(s.Buses):]
	for i := range s.Equipment {
		out[i] = bit(e.live[i])
	}
}
