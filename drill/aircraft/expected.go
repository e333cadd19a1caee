package aircraft

import "time"

// Expected is the data sheet of a profile: what the aircraft does when it is flown by the book. Package datasheet flies it and
// holds the model to these figures, within tolerances of a training device; how it is flown stands in Runs. Everything may be
// left out: what is not stated is not held to anything.
//
// As good as steady is within what the table allows a steady figure: 2 % of N1, 1.5 % of NR, of the end of the run.
//
// Times are in seconds. A run's time counts from its beginning, and in the run "start" from the moment at which a starter takes
// hold. Speeds are in percent. "N1" is that of the gas generator; of a piston engine it is the crankshaft's RPM, and the figures
// have names of their own.
type Expected struct {
	Weather *Weather       `yaml:"weather"`                         // of all runs; left out: the standard day at sea level, 15 °C and no wind
	Runs    map[string]Run `yaml:"runs" is:"run-name" size:"0..24"` // by name: start, engage, flight, lift_off, power_loss, magneto, cool_down, shutdown and braked are measured in; others are gone on from

	// From the run "start": from cold and dark to a steady idle of the engine that is started first.
	LightOffS   *float64 `yaml:"light_off_s" range:"0..120"`              // from the starter to the flame, or the first bang
	PeakTOT     *float64 `yaml:"peak_tot" range:"0..2000"`                // °C; turbine
	TimeToIdleS *float64 `yaml:"time_to_idle_s" range:"0..600"`           // from the starter until it is as good as at its steady idle
	IdleN1      *float64 `yaml:"idle_n1" range:"0..120"`                  // turbine; at the end of the run
	IdleRPM     *float64 `yaml:"idle_rpm" range:"0..120"`                 // piston; at the end of the run
	IdleTOT     *float64 `yaml:"idle_tot" range:"0..2000"`                // °C; turbine; at the end of the run
	IdleNR      *float64 `yaml:"idle_nr" range:"0..120"`                  // turbine; at the end of the run; piston: of the run "engage"
	NRInStart   Curve    `yaml:"nr_in_start" size:"0..16" range:"0..120"` // turbine; NR as N1 first passes so much, on the way to "flight"
	BatterySagV *float64 `yaml:"battery_sag_v" range:"0..60"`             // by how many volts the main bus sinks under the starter, at the most
	OilRiseS    *float64 `yaml:"oil_rise_s" range:"0..600"`               // from the starter until the oil pressure gauge is in its green band

	// From the run "engage" of a piston engine: the belt.
	BeltTightS *float64 `yaml:"belt_tight_s" range:"0..600"` // piston; from the beginning of the run "engage" until the belt is tight

	// From the run "flight": from idle to a steady flight setting on the ground.
	TimeToFlightS *float64 `yaml:"time_to_flight_s" range:"0..600"` // until NR is as good as at its steady value
	FlightNR      *float64 `yaml:"flight_nr" range:"0..120"`        // at the end of the run, as are the three below
	FlightN1      *float64 `yaml:"flight_n1" range:"0..120"`        // turbine
	FlightTOT     *float64 `yaml:"flight_tot" range:"0..2000"`      // °C; turbine
	FlightTRQ     *float64 `yaml:"flight_trq" range:"0..150"`       // % of rated torque, of one engine

	// From the run "lift_off": into the hover.
	LiftOffDroop *float64 `yaml:"lift_off_droop" range:"0..50"` // by how much NR sinks on the way, at the most, %
	HoverTRQ     *float64 `yaml:"hover_trq" range:"0..150"`     // at the end of the run, of one engine, %

	// From the run "power_loss", which begins with the failure, pitch held.
	PowerLossS *float64 `yaml:"power_loss_s" range:"0..60"` // for NR from 100 to 80 %

	// From the run "magneto", which begins with one magneto selected; piston.
	MagDrop  *float64 `yaml:"mag_drop" range:"0..50"`   // RPM lost by the end of the run, %
	MagDropS *float64 `yaml:"mag_drop_s" range:"0..60"` // until nine tenths of that are gone

	// From the run "cool_down", which begins as the engine is taken back to idle: seconds and °C of TOT, or of the heads.
	CoolDownTemp Curve `yaml:"cool_down_temp" size:"0..16" range:"-50..2000"` // seconds in the run "cool_down", and °C of TOT or of the heads

	// From the run "shutdown", which begins as the fuel is shut off.
	AfterShutdownTemp Curve    `yaml:"after_shutdown_temp" size:"0..16" range:"-50..2000"` // seconds and °C, as above
	RundownS          *float64 `yaml:"rundown_s" range:"0..1200"`                          // until the rotor stands, by itself

	// From the run "braked", which begins likewise; the rotor brake goes on in it.
	RundownBrakedS *float64 `yaml:"rundown_braked_s" range:"0..1200"` // until the rotor stands, with its brake
}

// Run is a stretch of flying by the book, without anybody who is late or forgets.
type Run struct {
	From  string    `yaml:"from" is:"run"`      // the run that it goes on from, or a state of the profile; empty is cold and dark
	Moves []RunMove `yaml:"moves" size:"1..64"` // what is done, in order
}

// RunMove is one move of a run: hands first, then what fails, then waiting for a condition, then letting time pass.
type RunMove struct {
	Set    Settings           `yaml:"set"`                                 // controls into positions, in this order; one that is locked stops the run
	Fail   map[string]float64 `yaml:"fail" is:"failure" range:"0..1"`      // failure points, and how badly: 0 to 1
	Until  string             `yaml:"until" is:"condition"`                // condition that is waited for
	Within time.Duration      `yaml:"within" range:"0s..20m" default:"1m"` // how long that may take
	Wait   time.Duration      `yaml:"wait" range:"0s..20m"`                // model time that passes afterwards
}
