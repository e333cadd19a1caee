package datasheet

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
)

// sample is what matters of an aircraft after one step. N1 and temperature are of the engine that was started first; of a
// piston engine they are the crankshaft's and the heads'.
type sample struct {
	s                                      float64 // since the beginning of the run
	n1, nr, trq, degC, volts, oilBar, belt float64
	alight, cranking                       bool
}

// flown is what was seen in a run.
type flown struct {
	samples     []sample // the first is from before the first move
	from        int      // the sample at which time begins to count
	greenOilBar float64
	stuck       string // why the run did not come to its end; "" if it did
	never       bool   // it did not even begin, since one before it is stuck
	aircraft    *aircraft.Aircraft
	each        func() // instead of taking samples
}

func (f *flown) before() sample { return f.samples[max(f.from-1, 0)] }
func (f *flown) last() sample   { return f.samples[len(f.samples)-1] }

// first is when something first was so, in seconds.
func (f *flown) first(so func(sample) bool) (float64, bool) {
	for _, s := range f.samples[f.from:] {
		if so(s) {
			return s.s - f.samples[f.from].s, true
		}
	}
	return 0, false
}

// most is the highest that something was.
func (f *flown) most(value func(sample) float64) float64 {
	best := value(f.samples[f.from])
	for _, s := range f.samples[f.from:] {
		best = max(best, value(s))
	}
	return best
}

// pilot flies the runs of a profile, each once.
type pilot struct {
	profile *aircraft.Profile
	weather aircraft.Weather
	engine  int // the one that was started first
	slots   map[string]int
	flown   map[string]*flown
}

// standardDay is the standard atmosphere at sea level: ICAO Doc 7488.
var standardDay = aircraft.Weather{OAT: 15}

func newPilot(p *aircraft.Profile) *pilot {
	w := standardDay
	if p.Expected.Weather != nil {
		w = *p.Expected.Weather
	}
	return &pilot{profile: p, weather: w, slots: map[string]int{}, flown: map[string]*flown{}}
}

// fly flies a run, and first those that it goes on from.
func (p *pilot) fly(name string) (*flown, error) {
	if f := p.flown[name]; f != nil {
		return f, nil
	}
	run := p.profile.Expected.Runs[name]
	f := &flown{}
	if _, ok := p.profile.Expected.Runs[run.From]; ok {
		before, err := p.fly(run.From)
		if err != nil {
			return nil, err
		}
		f.stuck, f.never = before.stuck, before.stuck != ""
		f.aircraft = before.aircraft.Clone()
	} else {
		a, err := aircraft.New(p.profile, p.weather, run.From)
		if err != nil {
			return nil, err
		}
		f.aircraft = a
	}
	if name == start {
		p.engine = p.firstStarted(f.aircraft, run)
	}
	f.greenOilBar = p.greenOil()
	f.samples = append(f.samples, p.look(f, 0))
	for i, m := range run.Moves {
		if f.stuck != "" {
			break
		}
		if err := p.move(f, m); err != nil {
			return nil, err
		}
		if f.stuck != "" {
			f.stuck = fmt.Sprintf("the run %s stood still at its move %d: %s", name, i+1, f.stuck)
		}
	}
	if name == start {
		f.from = max(slices.IndexFunc(f.samples, func(s sample) bool { return s.cranking }), 0)
	}
	p.flown[name] = f
	return f, nil
}

// defaultWithin is how long a condition may take where nothing is said.
const defaultWithin = time.Minute

// move makes one move and waits as long as it says.
func (p *pilot) move(f *flown, m aircraft.RunMove) error {
	a := f.aircraft
	for _, set := range m.Set {
		control, _ := p.profile.ControlIndex(set.Control)
		c := &p.profile.Controls[control]
		position, _ := c.Index(set.Position)
		if a.Locked(control) && a.Position(control) != position {
			f.stuck = fmt.Sprintf("%s is locked (%s)", set.Control, c.Locked)
			return nil
		}
		a.Move(control, position)
	}
	for _, point := range slices.Sorted(maps.Keys(m.Fail)) {
		i, _ := p.profile.FailureIndex(point)
		a.Fail(i, m.Fail[point])
	}
	if m.Until != "" {
		until, err := condition.Compile(m.Until, p.profile.Scope())
		if err != nil {
			return err
		}
		within := m.Within
		if within == 0 {
			within = defaultWithin
		}
		for end := a.Now() + within; !until.Holds(a.Readings()); {
			if a.Now() >= end {
				f.stuck = fmt.Sprintf("%q did not come true within %v", m.Until, within)
				return nil
			}
			p.step(f)
		}
	}
	for end := a.Now() + m.Wait; a.Now() < end; {
		p.step(f)
	}
	return nil
}

func (p *pilot) step(f *flown) {
	f.aircraft.Step()
	f.aircraft.Drain(func(aircraft.Change) {})
	if f.each != nil {
		f.each()
		return
	}
	f.samples = append(f.samples, p.look(f, len(f.samples)))
}

// look takes down what the aircraft shows; n is the number of steps since the beginning of the run.
func (p *pilot) look(f *flown, n int) sample {
	a, s := f.aircraft, &p.profile.Systems
	out := sample{
		s: float64(n) * aircraft.StepLength.Seconds(), nr: p.read(a, "nr"), volts: p.read(a, "volts"), oilBar: p.ofEngine(a, "oil_press"),
		alight: p.ofEngine(a, "alight") != 0, cranking: p.ofEngine(a, "cranking") != 0,
	}
	if s.Piston != nil {
		out.n1, out.degC, out.trq = p.ofEngine(a, "rpm"), p.ofEngine(a, "head_temp"), p.ofEngine(a, "power")
	} else {
		out.n1, out.degC, out.trq = p.ofEngine(a, "n1_"), p.ofEngine(a, "tot"), p.ofEngine(a, "trq")
	}
	if s.Clutch != nil {
		out.belt = p.read(a, "belt_tension")
	}
	return out
}

func (p *pilot) ofEngine(a *aircraft.Aircraft, name string) float64 {
	return p.read(a, name+strconv.Itoa(p.engine+1))
}

func (p *pilot) read(a *aircraft.Aircraft, name string) float64 {
	slot, ok := p.slots[name]
	if !ok {
		slot = p.profile.Scope()[name].Slot
		p.slots[name] = slot
	}
	return a.Readings()[slot]
}

// firstStarted is the engine whose starter takes hold first in a run; the first one if none does. The run is flown for it on an
// aircraft that is then dropped.
func (p *pilot) firstStarted(a *aircraft.Aircraft, run aircraft.Run) int {
	first := -1
	ahead := &flown{aircraft: a.Clone()}
	ahead.each = func() {
		for i := range p.profile.Systems.Engines {
			if first < 0 && p.read(ahead.aircraft, "cranking"+strconv.Itoa(i+1)) != 0 {
				first = i
			}
		}
	}
	for _, m := range run.Moves {
		if err := p.move(ahead, m); err != nil || ahead.stuck != "" || first >= 0 {
			break
		}
	}
	return max(first, 0)
}

// greenOil is where the green band of the oil pressure gauge begins, bar; 0 if there is no such gauge.
func (p *pilot) greenOil() float64 {
	want := p.profile.Scope()["oil_press"+strconv.Itoa(p.engine+1)].Slot
	for i, g := range p.profile.Gauges {
		if p.profile.GaugeSlot(i) != want {
			continue
		}
		for _, b := range g.Bands {
			if b.Colour == aircraft.Green {
				return b.From
			}
		}
	}
	return 0
}
