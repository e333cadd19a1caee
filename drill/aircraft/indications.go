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
	inAirborne           // from here on true or false
	inDoorsClosed        // as the door switches see it
	inLampTestOn
	inDisplayOK
	inHorizonErect
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
}

// What every engine shows; the number of the engine is added to the name.
const (
	inN1        = iota // %
	inTOT              // °C
	inTrq              // % of rated torque
	inN2               // %
	inOilPress         // bar
	inOilTemp          // °C
	inLoad             // of the generator, % of its rating
	inFuelPress        // bar
	inFlow             // kg/h
	inOver             // seconds that TOT has been above the red line since the engine was new
	inAlight           // from here on true or false
	inCranking
	inSettled // the selector is at flight, and N2 has come up to it
	inRanDown // it was at idle, is still wanted, and no longer is
	inGenOnline
	inFADECFault
	inFireSeen
	inChipSeen
	inFilterSeen
	engineCount
)

var engineIndications = [engineCount]indication{
	inN1: {"n1_", condition.Number}, inTOT: {"tot", condition.Number}, inTrq: {"trq", condition.Number},
	inN2: {"n2_", condition.Number}, inOilPress: {"oil_press", condition.Number}, inOilTemp: {"oil_temp", condition.Number},
	inLoad: {"load", condition.Number}, inFuelPress: {"fuel_press", condition.Number}, inFlow: {"flow", condition.Number},
	inOver: {"over", condition.Number}, inAlight: {"alight", condition.Switch}, inCranking: {"cranking", condition.Switch},
	inSettled: {"settled", condition.Switch}, inRanDown: {"ran_down", condition.Switch}, inGenOnline: {"gen_online", condition.Switch}, inFADECFault: {"fadec_bad", condition.Switch},
	inFireSeen: {"fire_seen", condition.Switch}, inChipSeen: {"chip_seen", condition.Switch},
	inFilterSeen: {"filter_seen", condition.Switch},
}

// indications lists what a model of these systems shows, in the order in which indicate writes it.
func indications(s *Systems) []indication {
	list := append([]indication(nil), commonIndications[:]...)
	for i := range s.Engines {
		for _, in := range engineIndications {
			list = append(list, indication{in.name + strconv.Itoa(i+1), in.kind})
		}
	}
	if s.Hydraulics != nil {
		for i := range s.Hydraulics.Shut {
			list = append(list, indication{"hyd_press" + strconv.Itoa(i+1), condition.Number})
		}
	}
	for i := range s.Electrical.Buses {
		list = append(list, indication{s.Electrical.Buses[i].ID + "_bus", condition.Switch})
	}
	for i := range s.Electrical.Equipment {
		list = append(list, indication{s.Electrical.Equipment[i].ID + "_live", condition.Switch})
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
	out = out[commonCount:]
	for i := range m.profile.Systems.Engines {
		m.engines[i].indicate(m.profile.Systems.FADEC, out)
		out[inLoad] = m.elec.loadPct[i]
		out[inGenOnline] = bit(m.elec.genOnline[i])
		out[inFuelPress] = m.fuel.pressBar[i]
		out[inFilterSeen] = bit(m.fuel.filterSeen[i])
		out = out[engineCount:]
	}
	out = out[copy(out, m.hyd.pressBar[:m.profile.wiring.hydraulics]):]
	for i := range m.profile.Systems.Electrical.Buses {
		out[i] = bit(m.elec.busOn[i])
	}
	out = out[len(m.profile.Systems.Electrical.Buses):]
	for i := range m.profile.Systems.Electrical.Equipment {
		out[i] = bit(m.elec.live[i])
	}
}
