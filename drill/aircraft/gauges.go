package aircraft

import "time"

// gaugeState is one gauge's.
type gaugeState struct {
	shown  float64 // what the needle points at
	alive  bool
	cue    Colour        // the band that has been reported; "" is green, or that the gauge does not matter now
	better time.Duration // for how long the band has been less grave than the one reported
	armed  time.Duration // for how long the gauge has mattered
	peak   Peak
	seen   bool // peak holds something
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
	s, band := &a.gauges[i], White
	if a.banded(i) {
		band = a.profile.Gauges[i].band(s.shown)
	}
	return s.shown, band, s.alive
}

// Shown is what a gauge shows, and whether it shows anything: Gauge without the band.
func (a *Aircraft) Shown(i int) (value float64, alive bool) {
	return a.gauges[i].shown, a.gauges[i].alive
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

// showGauges moves the needles, and reports those that leave their green band while that matters.
func (a *Aircraft) showGauges() {
	dials := a.profile.dials
	for i := range a.gauges {
		s, d := &a.gauges[i], &dials[i]
		reading := clamp(a.board.Readings[d.slot], d.low, d.high)
		s.alive = a.always(d.shown)
		s.shown = a.needle(d, reading)
		band, armed := Green, s.matters(a.always(d.armed))
		if armed {
			if a.always(d.banded) {
				band = a.profile.Gauges[i].band(reading)
			}
			s.count(reading, band)
		}
		if s.moves(band, armed) {
			a.report(Change{Kind: BandChanged, Index: i, Colour: band})
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
	if !s.alive || !armed {
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
