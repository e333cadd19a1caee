package datasheet

import (
	"fmt"
	"slices"

	"hornlark/drill/aircraft"
)

// The runs that figures are taken from.
const (
	start     = "start"
	engage    = "engage"
	flight    = "flight"
	liftOff   = "lift_off"
	powerLoss = "power_loss"
	magneto   = "magneto"
	coolDown  = "cool_down"
	shutdown  = "shutdown"
	braked    = "braked"
)

// RunNames is the runs that figures are taken from, in the order in which an aircraft goes through them. A profile may have
// others, for those to go on from.
func RunNames() []string {
	return []string{start, engage, flight, liftOff, powerLoss, magneto, coolDown, shutdown, braked}
}

// tolerance is how far the model may be from what is expected: so much, or a share of it where that is more.
type tolerance struct {
	least  float64
	share  float64
	source string
}

func (t tolerance) of(expected float64) float64 { return max(t.least, t.share*expected) }

// Where a tolerance comes from.
const (
	TableD2A = "D2A"  // 14 CFR Part 60, Appendix D, Table D2A, rows 1.a.1 and 1.a.2 (edition of 1 January 2019)
	Ours     = "ours" // there is no row for it
)

// The tolerances. Those of the table: light-off 10 % or 1 s, rotor speed 3 % in a start and 1.5 % when steady, gas
// generator 5 and 2 %, gas temperature 30 and 20 °C, torque 5 and 3 %, rotor speed with a step of collective 1.5 %. Speeds
// and torque are in percent of their full value there as here.
var (
	lightOff    = tolerance{1, 0.1, TableD2A}
	startNR     = tolerance{3, 0, TableD2A}
	steadyNR    = tolerance{1.5, 0, TableD2A}
	steadyN1    = tolerance{2, 0, TableD2A}
	transient   = tolerance{30, 0, TableD2A}
	steadyTOT   = tolerance{20, 0, TableD2A}
	steadyTRQ   = tolerance{3, 0, TableD2A}
	duration    = tolerance{1, 0.1, Ours} // as for the light-off
	shortTime   = tolerance{0.2, 0.1, Ours}
	steadyRPM   = tolerance{1.5, 0, Ours} // as for the rotor
	volts       = tolerance{1, 0, Ours}
	magnetoDrop = tolerance{0.5, 0, Ours}
	heads       = tolerance{10, 0, Ours}
)

// kind is the kind of engine that a figure is one of.
type kind int

const (
	either kind = iota
	turbine
	piston
)

func (k kind) suits(s *aircraft.Systems) bool {
	return k == either || (k == piston) == (s.Piston != nil)
}

// figure is one figure of a sheet: what it is called, where it is taken, and how.
type figure struct {
	name      string // its field
	what      string
	unit      string
	kind      kind
	run       string
	tolerance tolerance
	expected  func(*aircraft.Expected) *float64
	measured  func(*flown) (float64, bool) // false: it did not come about in the run
	end       bool                         // it is how things are at the end of the run
}

// figures is every figure with one value, in the order of a sheet.
var figures = []figure{
	{"light_off_s", "time to light-off", "s", either, start, lightOff, func(e *aircraft.Expected) *float64 { return e.LightOffS },
		func(f *flown) (float64, bool) { return f.first(func(s sample) bool { return s.alight }) }, false},
	{"peak_tot", "peak TOT in the start", "°C", turbine, start, transient, func(e *aircraft.Expected) *float64 { return e.PeakTOT },
		func(f *flown) (float64, bool) { return f.most(func(s sample) float64 { return s.degC }), true }, true},
	{"time_to_idle_s", "time to idle", "s", either, start, duration, func(e *aircraft.Expected) *float64 { return e.TimeToIdleS },
		func(f *flown) (float64, bool) {
			return f.first(func(s sample) bool { return s.alight && s.n1 >= f.last().n1-steadyN1.least })
		}, true},
	{"idle_n1", "idle N1", "%", turbine, start, steadyN1, func(e *aircraft.Expected) *float64 { return e.IdleN1 },
		func(f *flown) (float64, bool) { return f.last().n1, true }, true},
	{"idle_rpm", "idle RPM, belt slack", "%", piston, start, steadyRPM, func(e *aircraft.Expected) *float64 { return e.IdleRPM },
		func(f *flown) (float64, bool) { return f.last().n1, true }, true},
	{"idle_tot", "idle TOT", "°C", turbine, start, steadyTOT, func(e *aircraft.Expected) *float64 { return e.IdleTOT },
		func(f *flown) (float64, bool) { return f.last().degC, true }, true},
	{"idle_nr", "idle NR", "%", turbine, start, steadyNR, func(e *aircraft.Expected) *float64 { return e.IdleNR },
		func(f *flown) (float64, bool) { return f.last().nr, true }, true},
	{"battery_sag_v", "battery sag in the start", "V", either, start, volts, func(e *aircraft.Expected) *float64 { return e.BatterySagV },
		func(f *flown) (float64, bool) {
			return f.before().volts + f.most(func(s sample) float64 {
				if !s.cranking {
					return -f.before().volts
				}
				return -s.volts
			}), true
		}, false},
	{"oil_rise_s", "oil pressure into the green", "s", either, start, duration, func(e *aircraft.Expected) *float64 { return e.OilRiseS },
		func(f *flown) (float64, bool) {
			return f.first(func(s sample) bool { return s.oilBar >= f.greenOilBar })
		}, false},

	{"belt_tight_s", "belt tight", "s", piston, engage, duration, func(e *aircraft.Expected) *float64 { return e.BeltTightS },
		func(f *flown) (float64, bool) { return f.first(func(s sample) bool { return s.belt >= 99.5 }) }, false},
	{"idle_nr", "idle NR, belt tight", "%", piston, engage, steadyNR, func(e *aircraft.Expected) *float64 { return e.IdleNR },
		func(f *flown) (float64, bool) { return f.last().nr, true }, true},

	{"time_to_flight_s", "time from idle to flight", "s", either, flight, duration, func(e *aircraft.Expected) *float64 { return e.TimeToFlightS },
		func(f *flown) (float64, bool) {
			return f.first(func(s sample) bool { return s.nr >= f.last().nr-steadyNR.least })
		}, true},
	{"flight_nr", "NR at flight, flat pitch", "%", either, flight, steadyNR, func(e *aircraft.Expected) *float64 { return e.FlightNR },
		func(f *flown) (float64, bool) { return f.last().nr, true }, true},
	{"flight_n1", "N1 at flight, flat pitch", "%", turbine, flight, steadyN1, func(e *aircraft.Expected) *float64 { return e.FlightN1 },
		func(f *flown) (float64, bool) { return f.last().n1, true }, true},
	{"flight_tot", "TOT at flight, flat pitch", "°C", turbine, flight, steadyTOT, func(e *aircraft.Expected) *float64 { return e.FlightTOT },
		func(f *flown) (float64, bool) { return f.last().degC, true }, true},
	{"flight_trq", "torque at flight, flat pitch", "%", either, flight, steadyTRQ, func(e *aircraft.Expected) *float64 { return e.FlightTRQ },
		func(f *flown) (float64, bool) { return f.last().trq, true }, true},

	{"lift_off_droop", "droop of NR on lift-off", "%", either, liftOff, steadyNR, func(e *aircraft.Expected) *float64 { return e.LiftOffDroop },
		func(f *flown) (float64, bool) {
			return f.before().nr + f.most(func(s sample) float64 { return -s.nr }), true
		}, true},
	{"hover_trq", "torque in the hover", "%", either, liftOff, steadyTRQ, func(e *aircraft.Expected) *float64 { return e.HoverTRQ },
		func(f *flown) (float64, bool) { return f.last().trq, true }, true},

	{"power_loss_s", "NR 100 to 80, power lost, pitch held", "s", either, powerLoss, shortTime, func(e *aircraft.Expected) *float64 { return e.PowerLossS },
		func(f *flown) (float64, bool) {
			at100, one := f.first(func(s sample) bool { return s.nr <= 100 })
			at80, two := f.first(func(s sample) bool { return s.nr <= 80 })
			return at80 - at100, one && two
		}, false},

	{"mag_drop", "magneto drop", "%", piston, magneto, magnetoDrop, func(e *aircraft.Expected) *float64 { return e.MagDrop },
		func(f *flown) (float64, bool) { return f.before().n1 - f.last().n1, true }, true},
	{"mag_drop_s", "nine tenths of it shown", "s", piston, magneto, duration, func(e *aircraft.Expected) *float64 { return e.MagDropS },
		func(f *flown) (float64, bool) {
			drop := f.before().n1 - f.last().n1
			if drop <= 0 {
				return 0, false
			}
			return f.first(func(s sample) bool { return f.before().n1-s.n1 >= float64(0.9*drop) })
		}, true},

	{"rundown_s", "rotor run-down by itself", "s", either, shutdown, duration, func(e *aircraft.Expected) *float64 { return e.RundownS },
		func(f *flown) (float64, bool) { return f.first(stopped) }, false},
	{"rundown_braked_s", "rotor run-down with its brake", "s", either, braked, duration, func(e *aircraft.Expected) *float64 { return e.RundownBrakedS },
		func(f *flown) (float64, bool) { return f.first(stopped) }, false},
}

// stopped is what the eye calls a rotor that stands, %.
func stopped(s sample) bool { return s.nr < 0.5 }

// points is a figure with many values, each at a place of its own.
type points struct {
	name      string
	what      string // with a verb for the place
	unit      string
	kind      kind
	run       string
	tolerance func(*aircraft.Systems) tolerance
	expected  func(*aircraft.Expected) aircraft.Curve
	measured  func(f *flown, at float64) (float64, bool)
	ancestors bool // it is taken from the runs before as well
}

var pointFigures = []points{
	{"nr_in_start", "NR as N1 passes %v %%", "%", turbine, flight, always(startNR), func(e *aircraft.Expected) aircraft.Curve { return e.NRInStart },
		func(f *flown, at float64) (float64, bool) {
			i := slices.IndexFunc(f.samples, func(s sample) bool { return s.n1 >= at })
			if i < 0 {
				return 0, false
			}
			return f.samples[i].nr, true
		}, true},
	{"cool_down_temp", "%s after %v s at idle", "°C", either, coolDown, temperature, func(e *aircraft.Expected) aircraft.Curve { return e.CoolDownTemp }, degCAt, false},
	{"after_shutdown_temp", "%s %v s after shutdown", "°C", either, shutdown, temperature, func(e *aircraft.Expected) aircraft.Curve { return e.AfterShutdownTemp }, degCAt, false},
}

func always(t tolerance) func(*aircraft.Systems) tolerance {
	return func(*aircraft.Systems) tolerance { return t }
}

func temperature(s *aircraft.Systems) tolerance {
	if s.Piston != nil {
		return heads
	}
	return transient
}

// degCAt is the temperature so many seconds into the run.
func degCAt(f *flown, at float64) (float64, bool) {
	i := slices.IndexFunc(f.samples, func(s sample) bool { return s.s >= at-1e-9 })
	if i < 0 {
		return 0, false
	}
	return f.samples[i].degC, true
}

// text is what one of the points is called.
func (p *points) text(s *aircraft.Systems, at float64) string {
	if p.name == "nr_in_start" {
		return fmt.Sprintf(p.what, at)
	}
	probe := "TOT"
	if s.Piston != nil {
		probe = "heads"
	}
	return fmt.Sprintf(p.what, probe, at)
}

// Source is where a figure of a data sheet is taken from, with one kind of engine or either.
type Source struct {
	Name            string // its field
	Run             string
	Turbine, Piston bool
}

// Sources lists every figure, one with two runs twice.
func Sources() (list []Source) {
	add := func(name, run string, k kind) {
		list = append(list, Source{name, run, k != piston, k != turbine})
	}
	for i := range figures {
		add(figures[i].name, figures[i].run, figures[i].kind)
	}
	for i := range pointFigures {
		add(pointFigures[i].name, pointFigures[i].run, pointFigures[i].kind)
	}
	return list
}
