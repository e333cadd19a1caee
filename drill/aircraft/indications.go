package aircraft

import (
	"strconv"

	"hornlark/drill/condition"
)

// indication is one thing that the model shows: in its unit, or true or false.
type indication struct {
	name string
	kind condition.Type
}

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
	commonCount
)

var commonIndications = [commonCount]indication{
	inVolts: {"volts", condition.Number}, inAmps: {"amps", condition.Number}, inCharge: {"charge", condition.Number},
	inBattTemp: {"batt_temp", condition.Number}, inFuel: {"fuel", condition.Number}, inNR: {"nr", condition.Number},
	inGbxPress: {"gbx_press", condition.Number}, inGbxTemp: {"gbx_temp", condition.Number}, inOAT: {"oat", condition.Number},
	inHeight: {"height", condition.Number}, inClimb: {"climb", condition.Number}, inStickForce: {"stick_force", condition.Number},
	inAirborne: {"airborne", condition.Switch}, inDoorsClosed: {"doors_closed", condition.Switch},
	inLampTestOn: {"lamp_test_on", condition.Switch}, inDisplayOK: {"display_ok", condition.Switch},
	inHorizonErect: {"horizon_erect", condition.Switch},
	inTouchdown:    {"touchdown", condition.Number}, inBrakeTemp: {"brake_temp", condition.Number},
	inRotorStopped: {"rotor_stopped", condition.Switch}, inBreakersIn: {"breakers_in", condition.Switch},
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
	inOilPress: {"oil_press", condition.Number}, inOilTemp: {"oil_temp", condition.Number},
	inLoad: {"load", condition.Number}, inFuelPress: {"fuel_press", condition.Number}, inFlow: {"flow", condition.Number},
	inStarterTime: {"starter_time", condition.Number}, inIdleTime: {"idle_time", condition.Number}, inIdling: {"idling", condition.Switch},
	inAlight: {"alight", condition.Switch}, inCranking: {"cranking", condition.Switch}, inSettled: {"settled", condition.Switch},
	inRanDown: {"ran_down", condition.Switch}, inGenOnline: {"gen_online", condition.Switch},
	inFireSeen: {"fire_seen", condition.Switch}, inChipSeen: {"chip_seen", condition.Switch}, inFilterSeen: {"filter_seen", condition.Switch},
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
	inN1: {"n1_", condition.Number}, inTOT: {"tot", condition.Number}, inTrq: {"trq", condition.Number},
	inN2: {"n2_", condition.Number}, inOver: {"over", condition.Number}, inTOTPeak: {"tot_peak", condition.Number},
}

// fadecIndication is what one with a FADEC shows on top of that.
var fadecIndication = indication{"fadec_bad", condition.Switch}

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
	inRPM: {"rpm", condition.Number}, inMAP: {"map", condition.Number}, inPower: {"power", condition.Number},
	inCarbTemp: {"carb_temp", condition.Number}, inHeadTemp: {"head_temp", condition.Number}, inIce: {"ice", condition.Number},
	inMagDrop: {"mag_drop", condition.Number},
}

// What a clutch shows. One that a hand tightens has no motor that runs.
var clutchIndications = []indication{{"belt_tension", condition.Number}, {"belt_temp", condition.Number}, {"belt_motor", condition.Switch}}

// What an airframe that can turn shows.
var yawIndication = indication{"turn", condition.Number} // °/s, to the right above zero

// indications lists what a model of these systems shows, in the order in which indicate writes it.
func indications(s *Systems) []indication {
	list := append([]indication(nil), commonIndications[:]...)
	for i := range s.Engines {
		for _, in := range s.engineIndications() {
			list = append(list, indication{in.name + strconv.Itoa(i+1), in.kind})
		}
	}
	if s.Clutch != nil {
		list = append(list, clutchIndications...)
	}
	if s.Hydraulics != nil {
		for i := range s.Hydraulics.Shut {
			list = append(list, indication{"hyd_press" + strconv.Itoa(i+1), condition.Number})
		}
	}
	if s.Airframe.Yaw != nil {
		list = append(list, yawIndication)
	}
	for i := range s.Electrical.Buses {
		list = append(list, indication{s.Electrical.Buses[i].ID + "_bus", condition.Switch})
	}
	for i := range s.Electrical.Equipment {
		list = append(list, indication{s.Electrical.Equipment[i].ID + "_live", condition.Switch})
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

// indicate writes everything that the model shows.
func (m *model) indicate(out []float64) {
	out[inVolts], out[inAmps] = m.elec.volts, m.elec.batteryAmps
	out[inCharge], out[inBattTemp] = 100*m.elec.charge, m.elec.batteryDegC
	out[inFuel] = m.fuel.total()
	out[inNR] = m.rotor.nrPct
	out[inGbxPress], out[inGbxTemp] = m.gearbox.pressBar, m.gearbox.degC
	out[inOAT] = m.air.degC
	out[inHeight], out[inClimb] = m.airframe.heightM, m.airframe.climbMS
	out[inStickForce] = m.hyd.stickForce
	out[inAirborne], out[inDoorsClosed] = bit(m.airframe.airborne()), bit(m.doorsClosed)
	out[inLampTestOn], out[inDisplayOK] = bit(m.lampTest), bit(m.displayPattern)
	out[inHorizonErect] = bit(m.horizon.erect)
	out[inTouchdown], out[inBrakeTemp] = m.airframe.sankMS, m.rotor.brakeDegC
	out[inRotorStopped], out[inBreakersIn] = bit(m.rotor.stopped()), bit(m.breakersIn())
	out = out[commonCount:]
	for i := range m.profile.Systems.Engines {
		m.engines[i].indicate(out)
		out[inLoad] = m.elec.loadPct[i]
		out[inGenOnline] = bit(m.elec.genOnline[i])
		out[inFuelPress] = m.fuel.pressBar[i]
		out[inFilterSeen] = bit(m.fuel.filterSeen[i])
		out = m.indicateKind(i, out[engineCount:])
	}
	if m.profile.Systems.Clutch != nil {
		out[0], out[1], out[2] = 100*m.belt.tension, m.belt.degC(), bit(m.belt.motor)
		out = out[len(clutchIndications):]
	}
	out = out[copy(out, m.hyd.pressBar[:m.profile.wiring.hydraulics]):]
	if m.profile.Systems.Airframe.Yaw != nil {
		out[0] = m.airframe.turnDS
		out = out[1:]
	}
	for i := range m.profile.Systems.Electrical.Buses {
		out[i] = bit(m.elec.busOn[i])
	}
	out = out[len(m.profile.Systems.Electrical.Buses):]
	for i := range m.profile.Systems.Electrical.Equipment {
		out[i] = bit(m.elec.live[i])
	}
}

// indicateKind writes what only engines of its kind show, and gives what is left of out.
func (m *model) indicateKind(i int, out []float64) []float64 {
	e := &m.engines[i]
	if m.profile.Systems.Piston != nil {
		e.indicatePiston(out)
		return out[pistonCount:]
	}
	e.indicateTurbine(out)
	out = out[turbineCount:]
	if m.profile.Systems.FADEC != nil {
		out[0] = bit(e.fadec.faulty)
		out = out[1:]
	}
	return out
}
