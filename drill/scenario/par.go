package scenario

import (
	"fmt"
	"time"

	"hornlark/drill/fault"
)

// Par is the reaction times that reactions are told beside, by class of cue. A class that is not set takes its default.
type Par struct {
	Speech  *time.Duration `yaml:"speech" range:"100ms..1m" default:"2s"`  // from the end of a challenge
	Horn    *time.Duration `yaml:"horn" range:"100ms..1m" default:"2s"`    // from the first sound of an alert
	Caption *time.Duration `yaml:"caption" range:"100ms..1m" default:"3s"` // from a light coming on
	Gauge   *time.Duration `yaml:"gauge" range:"100ms..1m" default:"4s"`   // from a pointer leaving its green band, or passing a value that is called
	Typed   *time.Duration `yaml:"typed" range:"100ms..1m" default:"6s"`   // from the end of a challenge to the end of a figure that is typed
}

// The par times where a scenario sets none: those of a practised hand. Our own figures: a horn is heard wherever the eyes
// are, a light has to be seen and read, and a pointer has to be looked for; a figure has to be found and then typed.
const (
	ParSpeech  = 2 * time.Second
	ParHorn    = 2 * time.Second
	ParCaption = 3 * time.Second
	ParGauge   = 4 * time.Second
	ParTyped   = 6 * time.Second
)

// Shortest and longest par time. Below the first nobody reacts; see score.Anticipation.
const (
	minPar = 100 * time.Millisecond
	maxPar = time.Minute
)

// Of is the par time for a class of cue, as the log has it. What has no par of its own takes that of a gauge: it has to be looked
// for, or thought about, just as long.
func (p *Par) Of(class string) time.Duration {
	for _, of := range p.classes() {
		if of.name == class {
			return of.time()
		}
	}
	return p.Of("gauge")
}

// parOf is the par of one class: what the scenario says, if it says anything, and the default.
type parOf struct {
	name     string
	set      *time.Duration
	standard time.Duration
}

func (of parOf) time() time.Duration {
	if of.set != nil {
		return *of.set
	}
	return of.standard
}

func (p *Par) classes() []parOf {
	if p == nil {
		p = &Par{}
	}
	return []parOf{
		{"speech", p.Speech, ParSpeech}, {"horn", p.Horn, ParHorn}, {"caption", p.Caption, ParCaption}, {"gauge", p.Gauge, ParGauge},
		{"typed", p.Typed, ParTyped},
	}
}

func (c *checker) par(p *Par) {
	for _, of := range p.classes() {
		if of.set != nil {
			c.between(fault.Join("par", of.name), *of.set, minPar, maxPar)
		}
	}
	if p != nil && *p == (Par{}) {
		c.faults.Add("par", fmt.Sprintf("write times as in {horn: %v}, or leave it out", ParHorn), "no par time is given")
	}
}
