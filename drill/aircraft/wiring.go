package aircraft

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"hornlark/drill/condition"
	"hornlark/drill/fault"
)

// The bounds of the systems.
const (
	maxEngines    = 2
	maxHydraulics = 2
	maxBuses      = 8
	maxEquipment  = 48
)

// wiring is the conditions and the cross-references of the systems. A condition that is none never holds, unless it says otherwise.
type wiring struct {
	battery, external        condition.Asked
	busWhen                  []condition.Asked // none: always
	equipOn                  []condition.Asked
	equipBus                 []int
	busPoint                 int   // failure point of the first bus
	equipPoint               int   // of the first equipment
	breakerPoint             []int // of each equipment; -1: it has no breaker
	breakersReset            condition.Asked
	fuelPoint, tailPoint     int
	transfer                 []int
	engines                  [maxEngines]engineWiring
	hydraulics               int
	shut                     [maxHydraulics]condition.Asked
	stirred                  condition.Asked
	horizonFree              condition.Asked
	horizonBus               int
	brake                    condition.Asked
	collective               int
	annunciatorBus           int
	lampTest, displayTest    condition.Asked
	door                     condition.Asked // none: closed
	batteryPoint             int
	hydPoint, crossedPoint   int
	horizonPoint, doorPoint  int
	gearboxPoint, rotorPoint int
	displayPoint             int
	engage                   condition.Asked // of a clutch with a motor
	beltLever                int             // of a clutch without one: its lever; otherwise -1
	beltPoint                int
}

// engineWiring is the same for one engine.
type engineWiring struct {
	idle, flight, cut, generator, fireTest, bleed condition.Asked
	starter, genReset                             condition.Asked
	magnetos                                      [2]condition.Asked // left, right
	throttle, carbHeat                            int                // levers
	fadec, prime, rpmHold                         int                // equipment; prime: -1 is none
	point, typePoint, fadecPoint                  int
	primePoint, filterPoint, genPoint             int
}

// The parts of an engine of any kind that can fail, in the order of enginePoints.
const (
	failLean = iota
	failStarterStuck
	failStarterWeak
	failGovernorLow
	failGovernorHigh
	failOilLeak
	failOilCooler
	failChip
	failFire
	failFireFalse
	failFireLoop
)

var enginePoints = []FailurePoint{
	failLean:         {"fuel_lean", "The fuel control passes too little: the engine starts and then hangs below idle, or gives too little power."},
	failStarterStuck: {"starter_stuck", "The starter's contactor is welded: the starter stays on for as long as its bus has power."},
	failStarterWeak:  {"starter_weak", "The starter gives less torque: the engine speeds up slower, and a turbine hotter."},
	failGovernorLow:  {"governor_low", "The governor asks for too little: the engine gives less power than is wanted."},
	failGovernorHigh: {"governor_high", "The governor runs up: it drives the engine beyond what is wanted."},
	failOilLeak:      {"oil_leak", "Oil is lost: its pressure sinks, or does not rise."},
	failOilCooler:    {"oil_cooler", "The oil cooler is blocked: the oil gets hot, and thin."},
	failChip:         {"chip", "The chip detector has caught metal."},
	failFire:         {"fire", "There is a fire in the engine bay; it goes on for as long as it is fed."},
	failFireFalse:    {"fire_false", "The fire detection reports a fire where there is none."},
	failFireLoop:     {"fire_loop", "The detection loop is broken: it sees no fire, and fails its test."},
}

// Those of a turbine only.
const (
	failBleed = iota
	failNozzle
	failLight
	failFlameout
)

var turbinePoints = []FailurePoint{
	failBleed:    {"bleed_stuck", "The bleed valve stays open: less air goes through the turbine, which runs hotter and speeds up slower."},
	failNozzle:   {"nozzle_blocked", "Some fuel nozzles are blocked and the others burn too rich: hot streaks reach the TOT probes."},
	failLight:    {"no_light", "The igniters do not spark: the fuel does not light, and gathers."},
	failFlameout: {"flameout", "The flame goes out."},
}

// The parts of a generator that can fail.
const (
	failGenerator = iota
	failGenTrip
)

var generatorPoints = []FailurePoint{
	failGenerator: {"failed", "The generator gives no current, and no reset brings it back."},
	failGenTrip:   {"tripped", "The generator has tripped off the line, once: one reset brings it back."},
}

// Those of a piston engine only.
const (
	failCylinder = iota
	failMagLeft
	failMagRight
	failMoist
	failCarbHeat
	failStarved
)

var pistonPoints = []FailurePoint{
	failCylinder: {"cylinder", "A cylinder no longer pulls, and the others carry it: up to half of the torque is gone."},
	failMagLeft:  {"mag_left", "The left magneto sparks poorly, down to not at all."},
	failMagRight: {"mag_right", "The right magneto sparks poorly, down to not at all."},
	failMoist:    {"moist", "The air that it takes in is full of drizzle, and ice can grow fast in its carburettor."},
	failCarbHeat: {"carb_heat", "The carburettor heat comes through weakly, down to not at all."},
	failStarved:  {"starved", "The float of the carburettor sticks: the engine gets too little fuel, down to none, and stops."},
}

// The parts of the other systems.
const (
	failBatteryWeak = iota
	failBatteryHot
)

var batteryPoints = []FailurePoint{
	failBatteryWeak: {"weak", "The battery is run down and old: less voltage, and much less under load."},
	failBatteryHot:  {"hot", "A cell has shorted: the battery heats up by itself."},
}

const (
	failGearboxLeak = iota
	failGearboxHot
)

var gearboxPoints = []FailurePoint{
	failGearboxLeak: {"oil_leak", "Gearbox oil is lost: its pressure sinks, and what is left gets hot."},
	failGearboxHot:  {"hot", "The gearbox oil cooler is blocked: the oil gets hot."},
}

func one(name, about string) []FailurePoint { return []FailurePoint{{name, about}} }

// systems checks the figures of the model and connects it to the cockpit.
func (c *compiler) systems() {
	c.figures("systems", reflect.ValueOf(&c.Systems).Elem())
	c.electrical()
	c.fuel()
	c.engines()
	c.rotor()
	c.hydraulics()
	c.horizon()
	c.annunciator()
	c.wiring.door = c.condition("systems.door", c.Systems.Door)
	c.wiring.doorPoint = c.addPoints("door", one("ajar", "A door is not latched, whatever the handle says."))
	c.clashes()
}

// figures holds every number below v to the range in its tag.
func (c *compiler) figures(path string, v reflect.Value) {
	for i := range v.NumField() {
		field, tag := v.Field(i), v.Type().Field(i).Tag
		name := fault.Join(path, tag.Get("yaml"))
		switch {
		case field.Kind() == reflect.Pointer && !field.IsNil():
			c.figures(name, field.Elem())
		case field.Kind() == reflect.Struct:
			c.figures(name, field)
		case field.Type() == reflect.TypeFor[Curve]():
			c.curve(name, field.Interface().(Curve), tag.Get("range"))
		case field.Kind() == reflect.Slice && field.Type().Elem().Kind() == reflect.Struct:
			for j := range field.Len() {
				c.figures(fault.At(name, j), field.Index(j))
			}
		case field.Kind() == reflect.Float64:
			c.figure(name, field.Float(), tag.Get("range"))
		}
	}
}

func (c *compiler) figure(path string, value float64, span string) {
	least, most := limits(span)
	if !(value >= least && value <= most) {
		c.add(path, fmt.Sprintf("write a figure from %v to %v", least, most), "%v is out of range", value)
	}
}

func limits(span string) (least, most float64) {
	from, to, _ := strings.Cut(span, "..")
	least, _ = strconv.ParseFloat(from, 64)
	most, _ = strconv.ParseFloat(to, 64)
	return least, most
}

func (c *compiler) curve(path string, curve Curve, span string) {
	if len(curve) == 0 || len(curve) > MaxPoints {
		c.add(path, fmt.Sprintf("write 1 to %d points, as in [[0, 1], [100, 2]]", MaxPoints), "the curve has %d points", len(curve))
	}
	for i, point := range curve {
		if !finite(point[0]) || i > 0 && point[0] <= curve[i-1][0] {
			c.add(fault.At(path, i), "write the points from left to right", "the curve does not go on at %v", point[0])
		}
		c.figure(fault.At(path, i)+"[1]", point[1], span)
	}
}

// bus and equipment find what a name stands for.
func (c *compiler) bus(path, id string) int {
	var known []string
	for i := range c.Systems.Electrical.Buses {
		if c.Systems.Electrical.Buses[i].ID == id {
			return i
		}
		known = append(known, c.Systems.Electrical.Buses[i].ID)
	}
	c.unknown(path, "bus", id, known)
	return 0
}

func (c *compiler) equipment(path, id string) int {
	var known []string
	for i := range c.Systems.Electrical.Equipment {
		if c.Systems.Electrical.Equipment[i].ID == id {
			return i
		}
		known = append(known, c.Systems.Electrical.Equipment[i].ID)
	}
	c.unknown(path, "equipment", id, known)
	return 0
}

func (c *compiler) electrical() {
	const at = "systems.electrical"
	e, w := &c.Systems.Electrical, &c.wiring
	w.battery = c.needed(at+".battery.on", e.Battery.On)
	w.batteryPoint = c.addPoints("battery", batteryPoints)
	if e.External != nil {
		w.external = c.needed(at+".external.on", e.External.On)
	}
	if len(e.Buses) == 0 {
		c.add(at+".buses", "write a main bus first", "nothing distributes the current")
		return
	}
	for i := range e.Buses {
		w.busWhen = append(w.busWhen, c.condition(fault.At(at+".buses", i)+".when", e.Buses[i].When))
	}
	w.busPoint = len(c.points)
	for i := range e.Buses {
		c.addPoints(e.Buses[i].ID+"_bus", one("dead", "Nothing that hangs on it is fed, whatever the switches say."))
	}
	w.equipPoint = len(c.points)
	for i := range e.Equipment {
		q, path := &e.Equipment[i], fault.At(at+".equipment", i)
		w.equipOn = append(w.equipOn, c.needed(path+".on", q.On))
		w.equipBus = append(w.equipBus, c.bus(path+".bus", q.Bus))
		c.addPoints(q.ID, one("failed", "It does not work, whatever its switch says."))
	}
	c.breakers()
}

// breakers gives what has a circuit breaker the point at which that pops.
func (c *compiler) breakers() {
	const at = "systems.electrical"
	e, w := &c.Systems.Electrical, &c.wiring
	if e.Breakers != nil {
		w.breakersReset = c.needed(at+".breakers.reset", e.Breakers.Reset)
	}
	for i := range e.Equipment {
		point := -1
		if e.Equipment[i].Breaker {
			point = c.addPoints(e.Equipment[i].ID, one("breaker", "Its circuit breaker pops: it is dead until that is pushed in again."))
			if e.Breakers == nil {
				c.add(fault.At(at+".equipment", i)+".breaker", "write what does in breakers: {reset: …}", "nothing pushes its breaker in again")
			}
		}
		w.breakerPoint = append(w.breakerPoint, point)
	}
}

func (c *compiler) fuel() {
	c.wiring.fuelPoint = c.addPoints("fuel", one("leak", "Fuel runs out of the tanks, the main tank first: at its worst all of it in a quarter of an hour."))
	for i, id := range c.Systems.Fuel.Transfer {
		c.wiring.transfer = append(c.wiring.transfer, c.equipment(fault.At("systems.fuel.transfer", i), id))
	}
}

func (c *compiler) engines() {
	s := &c.Systems
	if len(s.Engines) == 0 {
		c.add("systems.engines", "write one or two", "the aircraft has no engine")
	}
	sound := c.engineKind()
	if sound {
		c.foreign()
	}
	for i := range s.Engines {
		e, w, at, n := &s.Engines[i], &c.wiring.engines[i], fault.At("systems.engines", i), strconv.Itoa(i+1)
		w.idle = c.needed(at+".idle", e.Idle)
		w.flight = c.needed(at+".flight", e.Flight)
		w.cut = c.condition(at+".cut", e.Cut)
		w.generator = c.condition(at+".generator", e.Generator)
		w.genReset = c.condition(at+".gen_reset", e.GenReset)
		w.fireTest = c.condition(at+".fire_test", e.FireTest)
		w.bleed = c.condition(at+".bleed", e.Bleed)
		w.point = c.addPoints("eng"+n, enginePoints)
		if sound {
			c.control(at, e, w, n)
		}
		if w.prime = -1; e.Prime != "" {
			w.prime = c.equipment(at+".prime", e.Prime)
			w.primePoint = c.addPoints("prime"+n, one("worn", "The prime pump gives less pressure, down to none."))
		}
		w.filterPoint = c.addPoints("filter"+n, one("blocked", "The fuel filter clogs: pressure is lost across it."))
		if s.Electrical.Generators != nil {
			w.genPoint = c.addPoints("gen"+n, generatorPoints)
		}
		for j, id := range e.Sweeps {
			g, ok := c.gaugeAt[id]
			if !ok {
				c.unknown(fault.At(at+".sweeps", j), "gauge", id, c.gaugeIDs())
				continue
			}
			c.dials[g].fadec = i
		}
	}
}

// engineKind sees to it that the engines are of one kind, and all of it is there.
func (c *compiler) engineKind() bool {
	s := &c.Systems
	before := len(c.faults)
	switch {
	case (s.Turbine == nil) == (s.Piston == nil):
		c.add("systems", "describe either a turbine or a piston", "it is not said what the engines are")
	case s.Turbine != nil && s.Governor == nil:
		c.add("systems", "describe it in governor", "nothing governs the turbine")
	case s.Turbine != nil && (s.FADEC == nil) == (s.Metering == nil):
		c.add("systems", "describe either a fadec or a metering", "it is not said what meters the fuel")
	case s.Piston != nil && s.Clutch == nil:
		c.add("systems", "describe it in clutch", "the piston engine drives the rotor through nothing")
	case s.Piston != nil && len(s.Engines) > 1:
		c.add("systems.engines", "write one", "one belt cannot be driven by %d engines", len(s.Engines))
	}
	return len(c.faults) == before
}

// foreign refuses what engines of another kind have, lest it be written and do nothing.
func (c *compiler) foreign() {
	s := &c.Systems
	c.refuse("systems.clutch", s.Turbine != nil && s.Clutch != nil, "a turbine has a freewheel and no clutch")
	c.refuse("systems.governor", s.Piston != nil && s.Governor != nil, "a piston engine has its governor in piston, from hold_rpm on")
	c.refuse("systems.fadec", s.Piston != nil && s.FADEC != nil, "a piston engine has no FADEC")
	c.refuse("systems.metering", s.Piston != nil && s.Metering != nil, "a piston engine has a throttle and no metering valve")
	for i := range s.Engines {
		e, at := &s.Engines[i], fault.At("systems.engines", i)
		c.refuse(at+".fadec", s.FADEC == nil && e.FADEC != "", "this engine has no FADEC")
		c.refuse(at+".sweeps", s.FADEC == nil && len(e.Sweeps) > 0, "only a FADEC sweeps its gauges")
		c.refuse(at+".throttle", s.FADEC != nil && e.Throttle != "", "the FADEC meters the fuel")
		c.refuse(at+".bleed", s.Piston != nil && e.Bleed != "", "a piston engine has no bleed air")
		c.refuse(at+".magnetos", s.Piston == nil && len(e.Magnetos) > 0, "a turbine has no magnetos")
		c.refuse(at+".carb_heat", s.Piston == nil && e.CarbHeat != "", "a turbine has no carburettor")
		c.refuse(at+".rpm_hold", s.Piston == nil && e.RPMHold != "", "a turbine has its governor in systems.governor")
	}
}

func (c *compiler) refuse(path string, is bool, why string) {
	if is {
		c.add(path, "leave it out", "%s", why)
	}
}

// control connects what an engine is controlled by, which its kind decides.
func (c *compiler) control(at string, e *Engine, w *engineWiring, n string) {
	s := &c.Systems
	if s.FADEC == nil {
		w.starter = c.needed(at+".starter", e.Starter)
		w.throttle = c.lever(at+".throttle", e.Throttle)
	}
	switch {
	case s.Piston != nil:
		c.piston(at, e, w)
		w.typePoint = c.addPoints("eng"+n, pistonPoints)
		return
	case s.FADEC != nil:
		w.starter = c.condition(at+".starter", e.Starter)
		w.fadec = c.equipment(at+".fadec", e.FADEC)
		w.fadecPoint = c.addPoints("eng"+n, one("fadec", "The FADEC reports a fault and holds the fuel where it was."))
	}
	w.typePoint = c.addPoints("eng"+n, turbinePoints)
}

func (c *compiler) piston(at string, e *Engine, w *engineWiring) {
	if len(e.Magnetos) != len(w.magnetos) {
		c.add(at+".magnetos", `write the left one and the right one, as in ['key in ["left", "both"]', 'key in ["right", "both"]']`, "there are %d magnetos", len(e.Magnetos))
	}
	for i := range min(len(e.Magnetos), len(w.magnetos)) {
		w.magnetos[i] = c.needed(fault.At(at+".magnetos", i), e.Magnetos[i])
	}
	w.carbHeat = c.lever(at+".carb_heat", e.CarbHeat)
	w.rpmHold = c.equipment(at+".rpm_hold", e.RPMHold)
	c.belt()
}

// belt connects what tightens the belt: a motor with its switch, or a lever.
func (c *compiler) belt() {
	s, w := c.Systems.Clutch, &c.wiring
	if w.beltLever = -1; s.Lever != "" {
		c.refuse("systems.clutch.engage", s.Engage != "", "a belt with a lever has no motor")
		w.beltLever = c.lever("systems.clutch.lever", s.Lever)
	} else {
		w.engage = c.needed("systems.clutch.engage", s.Engage)
	}
	w.beltPoint = c.addPoints("clutch", one("worn", "The belt has stretched: it has to be drawn up further, and in the end it slips."))
}

// lever finds a control that has travel.
func (c *compiler) lever(path, id string) int {
	lever, ok := c.controlAt[id]
	if !ok || c.Controls[lever].Travel == nil {
		c.add(path, "write the id of a control that has travel", "%q is not a lever", id)
	}
	return lever
}

func (c *compiler) gaugeIDs() []string {
	var ids []string
	for i := range c.Gauges {
		ids = append(ids, c.Gauges[i].ID)
	}
	return ids
}

func (c *compiler) rotor() {
	r, w := &c.Systems.Rotor, &c.wiring
	w.collective = c.lever("systems.rotor.collective", r.Collective)
	w.brake = c.condition("systems.rotor.brake", r.Brake)
	w.gearboxPoint = c.addPoints("gearbox", gearboxPoints)
	if c.Systems.Airframe.Yaw != nil {
		w.tailPoint = c.addPoints("tail", one("drive", "Nothing drives the tail rotor: in the air the nose swings with the torque of the main rotor."))
	}
	if r.Brake != "" {
		w.rotorPoint = c.addPoints("rotor_brake", one("drags", "The rotor brake does not let go fully."))
	}
}

func (c *compiler) hydraulics() {
	h, w := c.Systems.Hydraulics, &c.wiring
	if h == nil {
		return
	}
	w.hydraulics = len(h.Shut)
	w.hydPoint = len(c.points)
	for i, src := range h.Shut {
		w.shut[i] = c.condition(fault.At("systems.hydraulics.shut", i), src)
		c.addPoints("hyd"+strconv.Itoa(i+1), one("leak", "Hydraulic fluid is lost: the system's pressure sinks."))
	}
	w.stirred = c.condition("systems.hydraulics.stirred", h.Stirred)
	if w.hydraulics == 2 {
		w.crossedPoint = c.addPoints("hyd_test", one("crossed", "The test shuts the one system where it should shut the other."))
	}
}

func (c *compiler) horizon() {
	h, w := c.Systems.Horizon, &c.wiring
	if h == nil {
		return
	}
	w.horizonFree = c.needed("systems.horizon.free", h.Free)
	w.horizonBus = c.bus("systems.horizon.bus", h.Bus)
	w.horizonPoint = c.addPoints("horizon", one("toppled", "The gyroscope of the standby horizon does not find upright."))
}

func (c *compiler) annunciator() {
	n, w := &c.Systems.Annunciator, &c.wiring
	w.annunciatorBus = c.bus("systems.annunciator.bus", n.Bus)
	w.lampTest = c.condition("systems.annunciator.lamp_test", n.LampTest)
	w.displayTest = c.condition("systems.annunciator.display_test", n.DisplayTest)
	if w.displayTest != 0 {
		w.displayPoint = c.addPoints("display", one("dead", "The display test does not complete its pattern."))
	}
	if n.WeakLamp == "" {
		return
	}
	i, ok := c.captionAt[n.WeakLamp]
	if !ok {
		var known []string
		for j := range c.Captions {
			known = append(known, c.Captions[j].ID)
		}
		c.unknown("systems.annunciator.weak_lamp", "caption", n.WeakLamp, known)
		return
	}
	c.weakLamp = i
	c.lampPoint = c.addPoints("lamp", one("dead", "The lamp of one caption, "+c.Captions[i].Text+", does not light, in the test or otherwise."))
}

// clashes sees to it that every failure point has a name of its own.
func (c *compiler) clashes() {
	seen := map[string]bool{}
	for _, point := range c.points {
		if seen[point.Name] {
			c.add("systems", "rename the alert, the equipment or the fact it belongs to", "two failure points are called %s", point.Name)
		}
		seen[point.Name] = true
	}
}
