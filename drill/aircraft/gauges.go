package aircraft

import (
	"math"
	"slices"
	"time"
)

// gaugeState is one gauge's.
type gaugeState struct {
	cue    Colour        // the band that has been reported; "" is green, or that the gauge does not matter now
	better time.Duration // for how long the band has been less grave than the one reported
	armed  time.Duration // for how long the gauge has mattered
	peak   Peak
	seen   bool // peak holds something
	within span // readings of the band that it is in, while nothing counts time
}

// Peak is how far a gauge went while it mattered: while it was alive and armed.
type Peak struct {
	Highest, Lowest float64       // in the unit of the gauge
	InRed           time.Duration // model time in a red band
}

// settles is for how long a gauge has to be back in a better band before that is reported, lest a needle on the
// boundary be a cue over and over. Our own figure.
const settles = 500 * time.Millisecond

// Gauge is what a gauge shows: its reading, held to its scale; the band of that reading; and whether it shows anything.
func (a *Aircraft) Gauge(i int) (value float64, band Colour, alive bool) {
	a.moveNeedles()
	band = White
	if a.banded(i) {
		band = a.profile.Gauges[i].band(a.needles[i])
	}
	return a.needles[i], band, a.alive[i]
}

// Shown is what a gauge shows, and whether it shows anything: Gauge without the band.
func (a *Aircraft) Shown(i int) (value float64, alive bool) {
	a.moveNeedles()
	return a.needles[i], a.alive[i]
}

// Needles is Shown of every gauge. The slices belong to the aircraft and are only to be read, before it is next changed.
func (a *Aircraft) Needles() (values []float64, alive []bool) {
	a.moveNeedles()
	return a.needles, a.alive
}

// InRed reports whether a gauge is in a red band: what Gauge says of most readings without a search.
func (a *Aircraft) InRed(i int) bool {
	a.moveNeedles()
	if in := &a.profile.dials[i].unred; a.needles[i] >= in.from && a.needles[i] <= in.to {
		return false
	}
	return a.banded(i) && a.profile.Gauges[i].band(a.needles[i]) == Red
}

// banded reports whether the bands of a gauge say anything about its reading now: the pressure in the manifold of an engine that
// stands is that of the air outside, and no limit of the engine's.
func (a *Aircraft) banded(i int) bool {
	return a.always(a.profile.dials[i].banded)
}

// Legible is by how much a reading has to change for somebody to see it, in the unit of the gauge: what an answer may be off
// by, and never less than the last digit shown.
func (g *Gauge) Legible() float64 {
	digit := 1.0
	for range g.Decimals {
		digit /= 10
	}
	return max(g.Tolerance, digit)
}

// Peak is how far a gauge went since the aircraft was made; false if it never mattered.
func (a *Aircraft) Peak(i int) (Peak, bool) { return a.gauges[i].peak, a.gauges[i].seen }

// band is the colour of a reading. On the boundary of a red band it is red; otherwise a boundary belongs to the band
// that begins there.
func (g *Gauge) band(value float64) Colour {
	if len(g.Bands) == 0 {
		return White
	}
	i := len(g.Bands) - 1
	for i > 0 && value < g.Bands[i].From {
		i--
	}
	if i > 0 && value == g.Bands[i].From && g.Bands[i-1].Colour == Red {
		return Red
	}
	return g.Bands[i].Colour
}

// spans is, for each band, the readings that are in it for certain: both of its ends are left out.
func (g *Gauge) spans() []span {
	spans := make([]span, len(g.Bands))
	for i := range spans {
		spans[i] = anywhere
		if i > 0 {
			spans[i].from = math.Nextafter(g.Bands[i].From, math.Inf(1))
			spans[i-1].to = math.Nextafter(g.Bands[i].From, math.Inf(-1))
		}
	}
	return spans
}

// unred is readings that are in no red band for certain: those of the first bands in a row that are not red.
func (g *Gauge) unred() span {
	spans := g.spans()
	first := slices.IndexFunc(g.Bands, func(b Band) bool { return b.Colour != Red })
	switch {
	case len(g.Bands) == 0:
		return anywhere
	case first < 0:
		return nowhere
	}
	in := spans[first]
	for i := first + 1; i < len(spans) && g.Bands[i].Colour != Red; i++ {
		in.to = spans[i].to
	}
	return in
}

// showGauges reports the gauges that leave their green band while that matters, and keeps their extremes. Most readings are among
// those of which the last look has found that they bring nothing new, or nothing but a new extreme.
func (a *Aircraft) showGauges() {
	a.moved = true
	stirred := a.board.Stirred(watchGauges)
	readings, scales := a.board.Readings, a.profile.scales[:len(a.calm)]
	for i := range a.calm {
		calm, reading := &a.calm[i], readings[scales[i].slot]
		if !stirred && reading >= calm.from && reading <= calm.to {
			continue
		}
		s, d := &a.gauges[i], &a.profile.dials[i]
		reading = clamp(reading, d.low, d.high)
		if stirred || !(reading >= s.within.from && reading <= s.within.to) {
			a.showGauge(i, d, reading)
			continue
		}
		s.peak.Highest, s.peak.Lowest = max(s.peak.Highest, reading), min(s.peak.Lowest, reading)
		a.calm[i] = s.calm(d)
	}
}

func (a *Aircraft) showGauge(i int, d *dial, reading float64) {
	s := &a.gauges[i]
	a.alive[i] = a.always(d.shown)
	band, armed, banded := Green, s.matters(a.alive[i] && a.always(d.armed)), false
	if armed {
		if banded = a.always(d.banded); banded {
			band = a.profile.Gauges[i].band(reading)
		}
		s.count(reading, band)
	}
	if s.moves(band, armed) {
		a.report(Change{Kind: BandChanged, Index: i, Colour: band})
	}
	switch {
	case !armed && s.armed == 0:
		s.within, a.calm[i] = anywhere, anywhere
	case !armed, band == Red, gravity(band) != gravity(s.cue): // time is counted
		s.within, a.calm[i] = nowhere, nowhere
	default:
		s.within = anywhere
		if banded {
			s.within = d.band(reading)
		}
		a.calm[i] = s.calm(d)
	}
}

// band is the readings that are in the same band for certain; none if it is on a boundary.
func (d *dial) band(reading float64) span {
	for i := len(d.bands) - 1; i >= 0; i-- {
		if reading >= d.bands[i].from {
			if reading <= d.bands[i].to {
				return d.bands[i]
			}
			return nowhere
		}
	}
	return anywhere // it has none
}

// calm is which readings will bring nothing new as long as none of the gauge's conditions changes: those of the same band that are no
// extremes.
func (s *gaugeState) calm(d *dial) span {
	calm := span{max(s.within.from, s.peak.Lowest), min(s.within.to, s.peak.Highest)}
	// Beyond the ends of the scale a reading is held to them.
	if calm.from == d.low {
		calm.from = anywhere.from
	}
	if calm.to == d.high {
		calm.to = anywhere.to
	}
	return calm
}

// moveNeedles moves the needles to where they belong since the last step. Nobody looks at most steps, least of all of a healthy twin,
// so it is done once somebody does.
func (a *Aircraft) moveNeedles() {
	if !a.moved {
		return
	}
	a.moved = false
	readings, scales := a.board.Readings, a.profile.scales[:len(a.needles)]
	for i := range a.needles {
		s := &scales[i]
		a.needles[i] = clamp(readings[s.slot], s.low, s.high)
	}
	if a.model.displayPattern || a.model.sweeps() {
		for i := range a.needles {
			a.needles[i] = a.needle(&a.profile.dials[i], a.needles[i])
		}
	}
}

// needle is where the needle of a gauge stands: at its reading, unless something is being tested.
func (a *Aircraft) needle(d *dial, reading float64) float64 {
	if a.model.displayPattern {
		return d.high
	}
	swept := 0.0
	if d.fadec >= 0 {
		swept = float64((d.high - d.low) * a.model.sweep(d.fadec))
	}
	return min(reading+swept, d.high)
}

// grace is for how long a gauge that has just come to matter may still be on its way to where it belongs. Our own
// figure.
const grace = 2 * time.Second

// matters reports whether the gauge has been alive and armed for long enough to be held to its green band.
func (s *gaugeState) matters(armed bool) bool {
	if !armed {
		s.armed = 0
		return false
	}
	s.armed = min(s.armed+StepLength, grace)
	return s.armed == grace
}

// count keeps the extremes.
func (s *gaugeState) count(reading float64, band Colour) {
	if !s.seen {
		s.peak, s.seen = Peak{Highest: reading, Lowest: reading}, true
	}
	s.peak.Highest = max(s.peak.Highest, reading)
	s.peak.Lowest = min(s.peak.Lowest, reading)
	if band == Red {
		s.peak.InRed += StepLength
	}
}

// moves decides whether a band is worth a report: at once if it is graver than the last one reported, otherwise after
// it has settled.
func (s *gaugeState) moves(band Colour, armed bool) bool {
	if gravity(band) == gravity(s.cue) {
		s.better = 0
		return false
	}
	if armed && gravity(band) < gravity(s.cue) && s.better < settles {
		s.better += StepLength
		return false
	}
	s.cue, s.better = band, 0
	return true
}

func gravity(c Colour) int {
	switch c {
	case Red:
		return 2
	case Amber:
		return 1
	}
	return 0
}
