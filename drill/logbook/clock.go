package logbook

import "time"

// Clock converts between the two times of a sitting: that of the callers, which never stops, and the running time of the
// log, which leaves the pauses out. It is the only place that does; both are whole nanoseconds, so nothing is lost.
type Clock struct {
	pauses []pause
	held   time.Duration // all pauses that are over
	from   time.Duration // callers' time at which the present pause began
	paused bool
}

// pause is one that is over.
type pause struct {
	from   time.Duration // callers' time
	length time.Duration
	before time.Duration // all pauses before it
}

// Hold begins a pause, at a callers' time.
func (c *Clock) Hold(at time.Duration) { c.from, c.paused = at, true }

// Release ends the pause, at a callers' time, and gives its length.
func (c *Clock) Release(at time.Duration) time.Duration {
	length := at - c.from
	c.Skip(c.from, length)
	c.paused = false
	return length
}

// Skip adds a pause of a known length that began at a callers' time.
func (c *Clock) Skip(from, length time.Duration) {
	c.pauses = append(c.pauses, pause{from, length, c.held})
	c.held += length
}

// Running is the running time at a callers' time. What lies within a pause is taken as of when that began; what lies before
// pauses that are over keeps the place that it had then.
func (c *Clock) Running(at time.Duration) time.Duration {
	if c.paused && at > c.from {
		at = c.from
	}
	for i := len(c.pauses) - 1; i >= 0; i-- {
		p := c.pauses[i]
		if at >= p.from+p.length {
			return at - p.before - p.length
		}
		if at >= p.from {
			return p.from - p.before
		}
	}
	return at
}

// Callers is the callers' time at a running time, as of now: pauses that are over are added.
func (c *Clock) Callers(running time.Duration) time.Duration { return running + c.held }

// When is the callers' time at which a running time was: pauses that came later are left out.
func (c *Clock) When(running time.Duration) time.Duration {
	for i := len(c.pauses) - 1; i >= 0; i-- {
		if p := c.pauses[i]; running >= p.from-p.before {
			return running + p.before + p.length
		}
	}
	return running
}

// Follow keeps a clock in step with a log: it takes one entry after the other, and gives the callers' time of each.
func (c *Clock) Follow(e *Entry) time.Duration {
	at := c.Callers(e.At)
	if e.Kind == Unpaused {
		c.Skip(at, e.Length)
		at += e.Length
	}
	return at
}
