package scenario

import (
	"fmt"
	"slices"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/fault"
	"hornlark/drill/procedure"
)

// The bounds of a scenario.
const (
	MaxInjections = 40
	MaxLength     = 3 * time.Hour // of a sitting, and so of anything that is timed in one
	MaxWait       = time.Hour     // between two drawn injections
	MinMeanGap    = time.Second
)

// The weather that a model is asked to answer for. Our own figures, wide of what a helicopter is certified for.
const (
	minOAT, maxOAT           = -60, 60     // degrees Celsius
	minAltitude, maxAltitude = -2000, 20e3 // feet
	maxWind                  = 60          // knots, from either side
)

// Check finds everything that is wrong with the scenario as an exercise with the procedure on the profile, both found
// sound before. The abnormals are all that it could name; more than that does no harm.
func (s *Scenario) Check(prof *aircraft.Profile, proc *procedure.Procedure, abnormals []*Abnormal) fault.List {
	c := checker{prof: prof, proc: proc, abnormals: abnormals, only: s.Phases}
	c.faults.Name("name", s.Name)
	c.faults.Line("title", "title", s.Title)
	if s.Procedure != proc.Name {
		c.faults.Unknown("procedure", "procedure", s.Procedure, []string{proc.Name})
	}
	c.policy(s)
	c.part(s)
	c.oneOf("map", "help of the map", string(s.Map), []string{string(Names), string(Bare), string(None)})
	c.weather(s.Weather)
	if states := stateNames(prof); s.State != "" && !slices.Contains(states, s.State) {
		c.faults.Unknown("state", "state", s.State, states)
	}
	c.questions(s)
	c.injections(s)
	if s.Drawn != nil {
		c.drawn(s)
	}
	c.par(s.Par)
	c.criteria(&s.Pass)
	return c.faults
}

// checker collects the faults of one scenario or one abnormal.
type checker struct {
	prof      *aircraft.Profile
	proc      *procedure.Procedure
	abnormals []*Abnormal
	only      []string // phases that are gone through; empty is all
	faults    fault.List
}

func (c *checker) oneOf(path, what, written string, known []string) {
	switch {
	case written == "":
		c.faults.Add(path, fault.Suggest("", known), "the %s is missing", what)
	case !slices.Contains(known, written):
		c.faults.Unknown(path, what, written, known)
	}
}

func (c *checker) condition(path, src string) {
	condition.Check(&c.faults, path, src, c.prof.Scope())
}

// within notes a number outside of what makes sense. A number that is no number is outside too.
func (c *checker) within(path, unit string, x, least, most float64) {
	if !(x >= least && x <= most) {
		c.faults.Add(path, fmt.Sprintf("write a number from %g to %g%s", least, most, unit), "%g%s is out of range", x, unit)
	}
}

// between notes a time outside of what makes sense.
func (c *checker) between(path string, d, least, most time.Duration) {
	if d < least || d > most {
		c.faults.Add(path, fmt.Sprintf("write a time from %v to %v", least, most), "%v is out of range", d)
	}
}

func (c *checker) weather(w aircraft.Weather) {
	c.within("weather.oat", " degrees", w.OAT, minOAT, maxOAT)
	c.within("weather.pressure_altitude", " feet", w.Altitude, minAltitude, maxAltitude)
	c.within("weather.tailwind", " knots", w.Tailwind, -maxWind, maxWind)
	c.within("weather.humidity", " %", w.Humidity, 0, 100)
}

func (c *checker) questions(s *Scenario) {
	switch {
	case s.Questions < 0 || s.Questions > procedure.MaxItems:
		c.faults.Add("questions", fmt.Sprintf("write a number from 0 to %d", procedure.MaxItems), "%d figures cannot be asked", s.Questions)
	case s.Questions > 0 && flowOf(s.Policy) != Figures:
		c.faults.Add("questions", "leave it out, or write policy: limits", "only a scenario of limits has questions")
	case flowOf(s.Policy) == Figures && (len(s.Injections) > 0 || s.Drawn != nil):
		c.faults.Add("policy", "leave injections and drawn out", "nothing interrupts a scenario of limits")
	}
}

func (c *checker) injections(s *Scenario) {
	if len(s.Injections) > MaxInjections {
		c.faults.Add("injections", fmt.Sprintf("stay within %d", MaxInjections), "there are %d injections", len(s.Injections))
	}
	if flowOf(s.Policy) == Nothing && len(s.Injections) == 0 && s.Drawn == nil {
		c.faults.Add("policy", "name some in drawn or in injections", "a scenario of alerts has no abnormals")
	}
	for i := range s.Injections[:min(len(s.Injections), MaxInjections)] {
		c.injection(fault.At("injections", i), &s.Injections[i], s.Policy)
	}
}

func (c *checker) injection(path string, in *Injection, policy PolicyName) {
	at := func(field string) string { return fault.Join(path, field) }
	c.abnormal(at("abnormal"), in.Abnormal)
	points := 0
	for _, given := range []bool{in.During != "", in.When != "", in.At != 0} {
		if given {
			points++
		}
	}
	switch {
	case points == 0:
		c.faults.Add(path, "write during and an item, when and a condition, or at and a time", "the injection does not say when it comes")
	case points > 1:
		c.faults.Add(path, "keep one of during, when and at", "the injection says in %d ways when it comes", points)
	}
	if in.During != "" {
		c.during(at("during"), in.During, policy)
	}
	c.condition(at("when"), in.When)
	c.between(at("at"), in.At, 0, MaxLength)
	c.between(at("after"), in.After, 0, MaxLength)
}

func (c *checker) during(path, id string, policy PolicyName) {
	it, known := c.item(id)
	switch {
	case it == nil:
		c.faults.Unknown(path, "item", id, known)
	case it.Fitted != nil && !*it.Fitted:
		c.faults.Add(path, "choose an item that is asked", "item %s is not fitted", id)
	case flowOf(policy) == Nothing:
		c.faults.Add(path, "write when and a condition, or at and a time", "in a scenario of alerts no item is asked")
	default:
		c.goneThrough(path, c.phaseOf(id))
	}
}

// phaseOf is the phase of an item, or empty.
func (c *checker) phaseOf(item string) (phase string) {
	c.proc.Each(func(ph *procedure.Phase, it *procedure.Item) {
		if it.ID == item {
			phase = ph.ID
		}
	})
	return phase
}

// item finds an item of the procedure, and names them all.
func (c *checker) item(id string) (found *procedure.Item, known []string) {
	c.proc.Each(func(_ *procedure.Phase, it *procedure.Item) {
		known = append(known, it.ID)
		if it.ID == id {
			found = it
		}
	})
	return found, known
}

func (c *checker) abnormal(path, name string) {
	known := make([]string, len(c.abnormals))
	for i, a := range c.abnormals {
		known[i] = a.Name
	}
	i := slices.Index(known, name)
	switch {
	case name == "":
		c.faults.Add(path, fault.Suggest("", known), "the abnormal is missing")
	case i < 0:
		c.faults.Unknown(path, "abnormal", name, known)
	case c.abnormals[i].Profile != c.prof.Name:
		c.faults.Add(path, "choose one that is for "+c.prof.Name, "abnormal %s is for profile %s", name, c.abnormals[i].Profile)
	}
}

func (c *checker) drawn(s *Scenario) {
	d := s.Drawn
	if len(d.From) == 0 {
		c.faults.Add("drawn.from", "name at least one abnormal", "there is nothing to draw from")
	}
	if len(d.From) > MaxInjections {
		c.faults.Add("drawn.from", fmt.Sprintf("stay within %d", MaxInjections), "there are %d abnormals to draw from", len(d.From))
	}
	for i, name := range d.From[:min(len(d.From), MaxInjections)] {
		c.abnormal(fault.At("drawn.from", i), name)
	}
	c.within("drawn.count", "", float64(d.Count), 1, MaxInjections)
	c.gaps(d)
	if d.Window.Until != 0 && d.Window.Until <= d.Window.From+d.MinGap {
		c.faults.Add("drawn.window.until", "write a later time, or leave it out for the end of the sitting",
			"the window closes at %v, before anything can be drawn", d.Window.Until)
	}
	c.between("drawn.window.from", d.Window.From, 0, MaxLength)
	c.between("drawn.window.until", d.Window.Until, 0, MaxLength)
	c.phases(s)
}

func (c *checker) gaps(d *Drawn) {
	c.between("drawn.min_gap", d.MinGap, 0, MaxWait)
	c.between("drawn.mean_gap", d.MeanGap, MinMeanGap, MaxWait)
	c.between("drawn.max_gap", d.MaxGap, MinMeanGap, MaxWait)
	if d.MaxGap > 0 && d.MaxGap < d.MeanGap {
		c.faults.Add("drawn.max_gap", fmt.Sprintf("write at least mean_gap, %v; twice as much or more is better", d.MeanGap),
			"cut off at %v, the waits could be guessed", d.MaxGap)
	}
}

func (c *checker) phases(s *Scenario) {
	if flowOf(s.Policy) == Nothing && len(s.Drawn.Phases) > 0 {
		c.faults.Add("drawn.phases", "leave them out", "in a scenario of alerts no phase runs")
		return
	}
	known := c.proc.PhaseIDs()
	for i, id := range s.Drawn.Phases {
		if !slices.Contains(known, id) {
			c.faults.Unknown(fault.At("drawn.phases", i), "phase", id, known)
			continue
		}
		c.goneThrough(fault.At("drawn.phases", i), id)
	}
}

func (c *checker) criteria(p *Criteria) {
	for _, share := range []struct {
		path  string
		least *float64
	}{{"pass.right", p.Right}, {"pass.handled", p.Handled}, {"pass.within_par", p.WithinPar}} {
		if share.least != nil {
			c.within(share.path, "", *share.least, 0, 1)
		}
	}
	for _, number := range []struct {
		path string
		most *int
	}{
		{"pass.omitted", p.Omitted}, {"pass.out_of_order", p.OutOfOrder},
		{"pass.look_alikes", p.LookAlikes}, {"pass.false_confirms", p.FalseConfirms},
	} {
		if number.most != nil {
			c.within(number.path, "", float64(*number.most), 0, procedure.MaxItems)
		}
	}
	for _, limit := range []struct {
		path    string
		longest *time.Duration
		least   time.Duration
	}{{"pass.reaction", p.Reaction, 100 * time.Millisecond}, {"pass.detection", p.Detection, 100 * time.Millisecond}, {"pass.red_band", p.RedBand, 0}} {
		if limit.longest != nil {
			c.between(limit.path, *limit.longest, limit.least, MaxLength)
		}
	}
}

func stateNames(p *aircraft.Profile) []string {
	names := make([]string, len(p.States))
	for i := range p.States {
		names[i] = p.States[i].Name
	}
	return names
}
