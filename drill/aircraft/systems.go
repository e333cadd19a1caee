package aircraft

// Systems is the figures of the model: what the machinery of a profile is made of, how big it is, and which controls work
// it. A field that says when something is switched is a condition, as in `engine1 == "idle"`; it may use every
// indication, which it then reads as of the step before. Figures have to lie in the range of their tag; so have the values
// of a curve.
//
// The engines are of one kind: Turbine with Governor, and either FADEC, which also does the start, or Metering, by hand; or
// Piston with Clutch. A system that a profile leaves out does not exist, and neither do its indications.
type Systems struct {
	Electrical  Electrical  `yaml:"electrical"`          // where the current comes from and who draws it
	Fuel        Fuel        `yaml:"fuel"`                // what is in the tanks and what moves it
	Engines     []Engine    `yaml:"engines" size:"1..2"` // one or two, in order: each one's roles; they are of one type
	Turbine     *Turbine    `yaml:"turbine"`             // the type, if it is one: gas generator and power turbine. Curves are against N1 in percent
	Governor    *Governor   `yaml:"governor"`            // of a turbine: how its power follows what is wanted
	FADEC       *FADEC      `yaml:"fadec"`               // of a turbine: what meters its fuel in a start, and watches over it
	Metering    *Metering   `yaml:"metering"`            // of a turbine without FADEC: the valve that a hand meters its fuel with
	Piston      *Piston     `yaml:"piston"`              // the type, if it is the other one. Curves are against RPM in percent, unless they say otherwise
	Clutch      *Clutch     `yaml:"clutch"`              // of a piston engine: what it drives the rotor through
	Starter     Starter     `yaml:"starter"`             // what turns the engines in a start
	Oil         Oil         `yaml:"oil"`                 // the oil of an engine
	Rotor       Rotor       `yaml:"rotor"`               // the main rotor and everything that turns with it
	Gearbox     Gearbox     `yaml:"gearbox"`             // the main gearbox's oil
	Airframe    Airframe    `yaml:"airframe"`            // what the rotor carries
	Hydraulics  *Hydraulics `yaml:"hydraulics"`          // the pumps that carry the controls; left out: none are needed
	Horizon     *Horizon    `yaml:"horizon"`             // a standby horizon with a gyroscope of its own; left out: none fitted
	Annunciator Annunciator `yaml:"annunciator"`         // what drives the captions and the alerts
	Door        string      `yaml:"door" is:"condition"` // condition for the doors to be closed, as the hands left them
}

// Electrical is where the current comes from and who draws it.
type Electrical struct {
	Battery    Battery     `yaml:"battery"`                // the source that is always there
	External   *External   `yaml:"external"`               // a ground power unit; left out: none can be connected
	Generators *Generators `yaml:"generators"`             // one to an engine; left out: none
	Buses      []Bus       `yaml:"buses" size:"1..8"`      // the first is the main bus, which the sources feed
	Equipment  []Equipment `yaml:"equipment" size:"0..48"` // everything else that wants current
	Breakers   *Breakers   `yaml:"breakers"`               // left out: nothing has one that could pop
}

// Breakers is the panel of circuit breakers.
type Breakers struct {
	Reset string `yaml:"reset" is:"condition"` // condition: as it comes true, those that have popped are pushed in
}

// Battery is a source behind an internal resistance.
type Battery struct {
	On          string  `yaml:"on" is:"condition"`                 // condition for it to be connected
	CapacityAh  float64 `yaml:"capacity_ah" range:"1..1000"`       // ampere-hours, full
	Charge      float64 `yaml:"charge" range:"0..1"`               // at the beginning, 0 to 1
	OpenVolts   Curve   `yaml:"open_volts" range:"6..60"`          // against charge: voltage without a load
	Ohms        float64 `yaml:"ohms" range:"0.0001..10"`           // internal resistance at 25 °C
	ChargeOhms  float64 `yaml:"charge_ohms" range:"0.0001..10"`    // the same while it is charged
	OhmsPerCold float64 `yaml:"ohms_per_kelvin_cold" range:"0..1"` // added share of ohms for each kelvin below 25 °C
	HeatJPerK   float64 `yaml:"heat_j_per_k" range:"10..1000000"`  // heat capacity
	CoolsS      float64 `yaml:"cools_s" range:"1..100000"`         // time constant of its cooling, seconds
}

// External is a ground power unit.
type External struct {
	On    string  `yaml:"on" is:"condition"`       // condition for it to be connected
	Volts float64 `yaml:"volts" range:"6..60"`     // without a load
	Ohms  float64 `yaml:"ohms" range:"0.0001..10"` // of unit and cable
}

// Generators is the starter-generators, in their second trade, or machines of their own, or alternators; one to an engine. Of
// a piston engine N1 is the crankshaft's speed.
type Generators struct {
	Separate bool    `yaml:"separate"`                  // they are not the starters, and feed while those turn
	Volts    float64 `yaml:"volts" range:"6..60"`       // regulated
	Ohms     float64 `yaml:"ohms" range:"0.0001..10"`   // of the line
	Amps     float64 `yaml:"amps" range:"0..5000"`      // rating: 100 % load
	MaxAmps  float64 `yaml:"max_amps" range:"1..10000"` // what the regulator lets through
	CutInN1  float64 `yaml:"cut_in_n1" range:"1..100"`  // N1 from which it feeds, %
	CutOutN1 float64 `yaml:"cut_out_n1" range:"1..100"` // N1 below which it no longer does, %
}

// Bus is a rail that equipment hangs on.
type Bus struct {
	ID    string  `yaml:"id" is:"bus-id"`       // shows as the indication ID_bus; can fail as ID_bus.dead
	When  string  `yaml:"when" is:"condition"`  // condition for it to be fed; empty is always
	Drops float64 `yaml:"drops" range:"0..100"` // voltage below which what hangs on it stops; it is back half a volt above
}

// Equipment is anything that wants current in order to work.
type Equipment struct {
	ID    string  `yaml:"id" is:"equipment-id"` // shows as the indication ID_live; can fail as ID.failed
	On    string  `yaml:"on" is:"condition"`    // condition for it to be switched on
	Bus   string  `yaml:"bus" is:"bus"`         // id of its bus
	Amps  float64 `yaml:"amps" range:"0..5000"` // drawn at 28 V
	Ready float64 `yaml:"ready" range:"0..600"` // seconds from having current to being live

	Breaker bool `yaml:"breaker"` // it has a circuit breaker, which can pop: ID.breaker
}

// Fuel is what is in the tanks and what moves it. Each engine has a supply tank of its own, fed from the main tank.
type Fuel struct {
	MainKg     float64  `yaml:"main_kg" range:"0..10000"`     // in the main tank at the beginning
	SupplyKg   float64  `yaml:"supply_kg" range:"0.1..10000"` // in each supply tank at the beginning, which is also what it holds
	Transfer   []string `yaml:"transfer" is:"equipment"`      // equipment ids of the pumps that fill the supply tanks
	TransferKg float64  `yaml:"transfer_kg_s" range:"0..100"` // what one of them moves
	PrimeBar   float64  `yaml:"prime_bar" range:"0..100"`     // pressure of a prime pump
	GravityBar float64  `yaml:"gravity_bar" range:"0..100"`   // pressure of a tank that stands above the engine
	DrivenBar  Curve    `yaml:"driven_bar" range:"0..100"`    // against N1: pressure of the pump that the engine drives
	FilterBar  float64  `yaml:"filter_bar" range:"0..100"`    // lost across a clean filter at full flow
	LeastBar   float64  `yaml:"least_bar" range:"0.01..100"`  // pressure below which the flow to the engine fails
}

// Engine is what belongs to one engine only.
type Engine struct {
	Idle      string   `yaml:"idle" is:"condition"`                 // condition for it to be asked to run at idle
	Flight    string   `yaml:"flight" is:"condition"`               // condition for it to be asked to run at flight
	Cut       string   `yaml:"cut" is:"condition"`                  // condition for the fire cut-off to be closed
	Generator string   `yaml:"generator" is:"condition"`            // condition for its generator to be switched on
	GenReset  string   `yaml:"gen_reset" is:"condition"`            // condition for its generator to be reset after a trip; empty: switching it off does that
	FADEC     string   `yaml:"fadec" is:"equipment"`                // equipment id of its control, where there is one
	Starter   string   `yaml:"starter" is:"condition"`              // condition for its starter to be switched on; with FADEC: for its start button to be pressed, empty: none
	Throttle  string   `yaml:"throttle" is:"lever"`                 // without FADEC: id of the lever that meters its fuel, or its mixture
	Prime     string   `yaml:"prime" is:"equipment"`                // equipment id of its prime pump; empty: none fitted
	FireTest  string   `yaml:"fire_test" is:"condition"`            // condition for its fire detection to be under test
	Bleed     string   `yaml:"bleed" is:"condition"`                // of a turbine: condition for the cabin heat to take its air
	Magnetos  []string `yaml:"magnetos" is:"condition" size:"2..2"` // of a piston engine: conditions for the left and the right one to spark
	CarbHeat  string   `yaml:"carb_heat" is:"lever"`                // of a piston engine: id of the lever, its travel in %
	RPMHold   string   `yaml:"rpm_hold" is:"equipment"`             // of a piston engine: equipment id of its RPM governor
	Sweeps    []string `yaml:"sweeps" is:"gauge"`                   // gauges that its FADEC takes to full scale and back as it is powered
}

// Turbine is a free-turbine engine. Curves are against N1 in percent.
type Turbine struct {
	RatedKW    float64 `yaml:"rated_kw" range:"1..20000"`     // shaft power at 100 % N1 and 100 % N2, sea level, 15 °C: 100 % torque
	AirKgS     float64 `yaml:"air_kg_s" range:"0.01..200"`    // air flow at 100 % N1
	Air        Curve   `yaml:"air" range:"0..2"`              // share of air_kg_s
	Power      Curve   `yaml:"power" range:"0..20000"`        // share of rated_kw
	Rise       Curve   `yaml:"rise" range:"50..3000"`         // temperature rise, K, that just holds this N1
	Drag       Curve   `yaml:"drag" range:"0.01..1000"`       // deceleration without fuel, %/s
	Inertia    float64 `yaml:"inertia" range:"0.01..1000000"` // of the power turbine, kg m², at the speed of the rotor
	LightOffN1 float64 `yaml:"light_off_n1" range:"1..50"`    // N1 from which fuel lights, %
	LightS     float64 `yaml:"light_s" range:"0..30"`         // seconds from fuel and spark to flame
	GasS       float64 `yaml:"gas_s" range:"0.05..30"`        // time constant of the TOT probes, seconds
	CoolsS     float64 `yaml:"cools_s" range:"1..100000"`     // time constant of a hot engine at rest, seconds
	AirCools   float64 `yaml:"air_cools" range:"1..1000"`     // by how much faster the air of 100 % N1 cools it
	Residual   float64 `yaml:"residual_tot" range:"0..1000"`  // °C above which a start is not begun; dry motoring takes it there; 0: not said
	RedTOT     float64 `yaml:"red_tot" range:"100..2000"`     // above this, °C, its blades suffer
	BleedRise  float64 `yaml:"bleed_rise" range:"0..300"`     // K that the cabin heat costs
	TailwindK  float64 `yaml:"tailwind_k" range:"0..20"`      // K that each knot from behind adds to the air it takes in
}

// Oil is the oil of an engine.
type Oil struct {
	Bar      Curve   `yaml:"bar" range:"0..100"`       // against N1, or RPM: pressure when warm
	Warm     float64 `yaml:"warm" range:"10..200"`     // temperature when warm, at full power, °C
	WarmS    float64 `yaml:"warm_s" range:"1..10000"`  // time constant of its warming, seconds
	ColdGain float64 `yaml:"cold_gain" range:"0..0.1"` // share of pressure added by each kelvin below warm
}

// Starter is a direct-current motor on the gas generator, or on the crankshaft, whose speed then stands for N1.
type Starter struct {
	Ohms       float64 `yaml:"ohms" range:"0.0001..10"`     // of motor and cable
	BackVolts  float64 `yaml:"back_volts" range:"0.01..10"` // per % N1
	PerAmp     float64 `yaml:"per_amp" range:"0.00001..10"` // acceleration, %/s for each ampere
	CutOutN1   float64 `yaml:"cut_out_n1" range:"1..100"`   // N1 at which a FADEC lets go of it, %
	OneAtATime bool    `yaml:"one_at_a_time"`               // while one cranks, the next waits its turn
}

// Governor is the law by which a turbine's power follows what is wanted, once it runs.
type Governor struct {
	IdleN1       float64 `yaml:"idle_n1" range:"10..100"`     // least N1 at ground idle, %
	IdleMaxN1    float64 `yaml:"idle_max_n1" range:"10..110"` // most N1 at ground idle, %
	IdleN2       float64 `yaml:"idle_n2" range:"10..110"`     // N2 wanted at ground idle, %
	FlightN2     float64 `yaml:"flight_n2" range:"50..120"`   // N2 wanted at flight, %
	MaxN1        float64 `yaml:"max_n1" range:"50..120"`      // %
	N2PerS       float64 `yaml:"n2_per_s" range:"0.1..100"`   // how fast the wanted N2 goes from one to the other, %/s
	AccelRise    float64 `yaml:"accel_rise" range:"1..2000"`  // richest above the running line, K
	DecelShare   float64 `yaml:"decel_share" range:"0..1"`    // leanest, as a share of the running line
	N1Gain       float64 `yaml:"n1_gain" range:"0.01..5"`     // share of the rise for each % that N1 lacks
	N2Gain       float64 `yaml:"n2_gain" range:"0.01..50"`    // % N1 for each % that N2 lacks
	N2Reset      float64 `yaml:"n2_reset" range:"0..50"`      // the same for each second that it lacks
	Anticipation Curve   `yaml:"anticipation" range:"0..110"` // against collective: N1 to expect, %
}

// FADEC is the rest of an engine's control that is one: the start, and what it watches over.
type FADEC struct {
	StartAccel   Curve   `yaml:"start_accel" range:"0.1..50"`     // against N1: acceleration wanted in a start, %/s
	StartRise    float64 `yaml:"start_rise" range:"50..2000"`     // temperature rise that a start begins with, K
	StartGain    float64 `yaml:"start_gain" range:"0..10000"`     // K/s for each %/s that acceleration lacks
	StartMaxRise float64 `yaml:"start_max_rise" range:"50..3000"` // richest mixture of a start, K
	MaxTOT       float64 `yaml:"max_tot" range:"100..2000"`       // governed, it lets the gas get no hotter, °C
	Matching     float64 `yaml:"matching" range:"0..10"`          // % N1 per second for each % of torque behind the other engine
	TripN2       float64 `yaml:"trip_n2" range:"101..200"`        // fuel is shut off above this, %
}

// Metering is a fuel valve worked by hand. Once the engine runs, its governor takes of that flow what it needs.
type Metering struct {
	Flow Curve `yaml:"flow" range:"0..2000"` // against the throttle: what the valve lets through, kg/h
}

// Piston is a four-stroke engine with a carburettor. Curves are against RPM in percent, unless they say otherwise.
type Piston struct {
	RatedKW     float64 `yaml:"rated_kw" range:"1..5000"`      // shaft power that counts as 100 %, at 100 % RPM
	RPM         float64 `yaml:"rpm" range:"200..10000"`        // of the crankshaft at 100 %
	IndicatedNm float64 `yaml:"indicated_nm" range:"1..50000"` // torque of the gas at full charge, sea level, 15 °C
	Breathing   Curve   `yaml:"breathing" range:"0.1..1.2"`    // how well the cylinders fill
	Friction    Curve   `yaml:"friction" range:"0.1..10000"`   // N m
	PumpingNm   float64 `yaml:"pumping_nm" range:"0..10000"`   // N m against a vacuum in the manifold
	Passage     Curve   `yaml:"passage" range:"0.01..100"`     // against opening in %: of the throttle, 1 is what 100 % RPM swallow
	Correlation Curve   `yaml:"correlation" range:"0..100"`    // against collective: opening that its linkage adds, %
	ManifoldS   float64 `yaml:"manifold_s" range:"0.02..5"`    // time constant of the manifold, seconds
	Inertia     float64 `yaml:"inertia" range:"0.001..1000"`   // of the crankshaft and the belt's sheave, kg m²
	AirKgS      float64 `yaml:"air_kg_s" range:"0.001..10"`    // air flow at 100 % RPM and full charge
	FireRPM     float64 `yaml:"fire_rpm" range:"0.5..50"`      // from which it fires, %
	FireS       float64 `yaml:"fire_s" range:"0..30"`          // seconds from there to the first bang
	StallRPM    float64 `yaml:"stall_rpm" range:"0.5..60"`     // below which it stops firing, %
	IdleRPM     float64 `yaml:"idle_rpm" range:"5..90"`        // from which it counts as running, %
	SecondPlug  float64 `yaml:"second_plug" range:"0..0.4"`    // share of the gas torque that the second magneto is good for
	HeadK       float64 `yaml:"head_k" range:"10..400"`        // by how much its heads are hotter than the air at 100 % RPM and full charge
	HeadS       float64 `yaml:"head_s" range:"1..10000"`       // time constant of that at 100 % RPM, seconds; longer the slower its fan turns
	CarbCoolsK  float64 `yaml:"carb_cools_k" range:"0..60"`    // by how much the carburettor cools its air at idle
	CarbHeatK   float64 `yaml:"carb_heat_k" range:"0..120"`    // by how much its heat warms the air before it
	IceS        float64 `yaml:"ice_s" range:"5..10000"`        // seconds in which drizzle would close it at the worst
	HoldRPM     float64 `yaml:"hold_rpm" range:"50..120"`      // that the RPM governor holds, %
	HoldFrom    float64 `yaml:"hold_from" range:"10..120"`     // from which it works, %
	HoldGain    float64 `yaml:"hold_gain" range:"0.01..100"`   // % of throttle per second for each % that RPM lacks
	HoldDamping float64 `yaml:"hold_damping" range:"0..100"`   // the same, taken back for each %/s that it is gaining
	HoldRate    float64 `yaml:"hold_rate" range:"0.1..100"`    // fastest that its motor moves the throttle, %/s
	HoldReach   float64 `yaml:"hold_reach" range:"0..100"`     // furthest, either way, %
}

// Clutch is a belt between crankshaft and rotor that either a motor tightens, or a hand with a lever.
type Clutch struct {
	Engage    string  `yaml:"engage" is:"condition"`           // of a motor: condition for it to tighten the belt, and not to slacken it
	Lever     string  `yaml:"lever" is:"lever"`                // of a hand: id of the lever, from slack to tight over its travel
	EngageS   float64 `yaml:"engage_s" range:"0.5..300"`       // seconds from slack to tight
	ReleaseS  float64 `yaml:"release_s" range:"0.5..300"`      // seconds from tight to slack
	CarriesNm float64 `yaml:"carries_nm" range:"0.1..100000"`  // torque, at the crankshaft, at which a tight one slips
	HeatJPerK float64 `yaml:"heat_j_per_k" range:"10..100000"` // heat capacity of belt and sheaves, which slipping heats
	CoolsS    float64 `yaml:"cools_s" range:"1..100000"`       // time constant of their cooling, seconds
}

// Rotor is the main rotor and everything that turns with it.
type Rotor struct {
	RPM        float64 `yaml:"rpm" range:"50..2000"`          // at 100 % NR
	Inertia    float64 `yaml:"inertia" range:"0.01..1000000"` // kg m²
	Power      Curve   `yaml:"power" range:"0..20000"`        // against collective: kW wanted at 100 % NR, sea level
	Friction   float64 `yaml:"friction" range:"0..100000"`    // of bearings and gears, N m
	PitchRate  float64 `yaml:"pitch_rate" range:"1..500"`     // how fast a hand moves the collective, %/s
	Collective string  `yaml:"collective" is:"lever"`         // id of the lever
	Brake      string  `yaml:"brake" is:"condition"`          // condition for the brake to be on; empty: none fitted
	BrakeNm    float64 `yaml:"brake_nm" range:"0..1000000"`   // while it slips

	BrakeHoldsNm float64 `yaml:"brake_holds_nm" range:"0..1000000"` // what has to be overcome at rest; less than brake_nm: the same
}

// Gearbox is the main gearbox's oil.
type Gearbox struct {
	Bar   Curve   `yaml:"bar" range:"0..100"`      // against NR: pressure when warm
	Warm  float64 `yaml:"warm" range:"10..200"`    // temperature when warm, °C
	WarmS float64 `yaml:"warm_s" range:"1..10000"` // time constant, seconds
}

// Airframe is what the rotor carries.
type Airframe struct {
	MassKg       float64 `yaml:"mass_kg" range:"50..100000"`     // without fuel
	Thrust       Curve   `yaml:"thrust" range:"0..1000"`         // against collective: kilonewtons at 100 % NR, sea level, out of ground effect
	GroundGain   float64 `yaml:"ground_gain" range:"0..1"`       // share of thrust added on the ground
	GroundHeight float64 `yaml:"ground_height" range:"0.1..100"` // height at which a third of that is left, m
	Damping      float64 `yaml:"damping" range:"0.01..10"`       // vertical, 1/s
	Yaw          *Yaw    `yaml:"yaw"`                            // left out: nothing turns it
}

// Yaw is how the nose swings once nothing holds it against the torque of the rotor.
type Yaw struct {
	Inertia float64 `yaml:"inertia" range:"10..1000000"` // about the mast, kg m²
	Damping float64 `yaml:"damping" range:"0.01..20"`    // of fin and boom, 1/s
	Left    bool    `yaml:"left"`                        // the nose swings to the left; otherwise to the right
}

// Hydraulics is the pumps that carry the controls.
type Hydraulics struct {
	Bar     float64  `yaml:"bar" range:"1..1000"`             // of each system, regulated
	FullNR  float64  `yaml:"full_nr" range:"1..100"`          // NR from which the pumps deliver it, %
	BuildsS float64  `yaml:"builds_s" range:"0.05..60"`       // time constant of the pressure, seconds
	Shut    []string `yaml:"shut" is:"condition" size:"0..2"` // for each system: condition for the test to have shut it
	Stirred string   `yaml:"stirred" is:"condition"`          // condition for the controls to be moved about
	HeavyAt float64  `yaml:"heavy_at" range:"0..1000"`        // pressure below which a system no longer carries the controls, bar
}

// Horizon is a standby horizon with a gyroscope of its own.
type Horizon struct {
	Bus    string  `yaml:"bus" is:"bus"`           // id of the bus that drives it
	Free   string  `yaml:"free" is:"condition"`    // condition for it to be uncaged
	Amps   float64 `yaml:"amps" range:"0..5000"`   // drawn at 28 V
	SpinS  float64 `yaml:"spin_s" range:"1..600"`  // time constant of the gyroscope, seconds
	ErectS float64 `yaml:"erect_s" range:"0..600"` // seconds from free and spinning to upright
}

// Annunciator is what drives the captions and the alerts.
type Annunciator struct {
	Bus         string  `yaml:"bus" is:"bus"`                // id of the bus that feeds it: without it no caption is lit and no alert sounds
	LampTest    string  `yaml:"lamp_test" is:"condition"`    // condition
	DisplayTest string  `yaml:"display_test" is:"condition"` // condition
	PatternS    float64 `yaml:"pattern_s" range:"0..60"`     // seconds of display test until its pattern is complete
	WeakLamp    string  `yaml:"weak_lamp" is:"caption"`      // caption whose lamp is the one that can be dead
}
