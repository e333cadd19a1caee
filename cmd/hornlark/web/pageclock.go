package web

import (
	"sync"
	"time"
)

// What is taken of the clocks of a page and of this machine.
const (
	exchanges    = 64                     // of the page's clock that are remembered: a minute of them
	clockDrift   = 600e-6                 // by which part of itself the one may part from the other: NTP slews by 500 ppm at the most (RFC 5905, 11.3), quartz clocks err by 50 each
	coarsest     = 200 * time.Millisecond // that a page's clock may be: a browser that hides from being recognised counts in 100 ms
	unknownOff   = time.Second            // by which a press may be late that is stamped on arrival, where nothing is known of the way
	longestWay   = 10 * time.Second       // that an exchange may take and count: anything longer says nothing that is wanted
	staleAfter   = 5 * time.Second        // that a press may be on its way; one that says it was longer is stamped on arrival
	rounding     = time.Microsecond       // of all that is reckoned here
	arrivalNoise = time.Millisecond       // by which a stamp on arrival is late beyond the way
)

// exchange is one reading of a page's clock: taken at some moment between two of ours.
type exchange struct {
	sent, back time.Time
	page       time.Duration // since the page's time origin
}

// off is by how much the middle between the two may be off from the moment at which the page's clock was read.
func (e *exchange) off() time.Duration { return e.back.Sub(e.sent) / 2 }

func (e *exchange) middle() time.Time { return e.sent.Add(e.off()) }

// PageClock turns the time stamps of a page's events (DOM, 2.2: timeStamp, which High Resolution Time has on the clock of
// performance.now()) into times of the clock of the sitting.
//
// The page's clock is read again and again. A reading was taken between the moment at which it was asked for and that at which the answer was
// there, so that the middle of the two is wrong by half the way there and back at the most, whatever way took longer. From then on the two
// clocks may part by the drift of both. What a press is stamped by is the exchange that comes out best for it, and what is stated as its
// uncertainty is a bound and not an estimate: half the way, the drift since, and twice the step in which the page counts, since both times
// that are compared have been rounded. What the keyboard, the touch screen and the operating system took before the browser made the
// event is not in it.
type PageClock struct {
	mu   sync.Mutex
	kept []exchange    // the latest
	step time.Duration // in which the page counts
}

// Step says in which steps the page's clock counts.
func (c *PageClock) Step(step time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.step = min(max(step, 0), coarsest)
}

// Read takes in that the page's clock showed that at some moment between two.
func (c *PageClock) Read(page time.Duration, sent, back time.Time) {
	way := back.Sub(sent)
	if way < 0 || way > longestWay || page < 0 {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	e := exchange{sent, back, page}
	if len(c.kept) > 0 {
		// One of the clocks has jumped where the two cannot both be so: that of a machine that slept, say.
		if at, off := c.best(page); e.middle().Sub(at).Abs() > e.off()+off {
			c.kept = c.kept[:0]
		}
	}
	if len(c.kept) == exchanges {
		c.kept = append(c.kept[:0], c.kept[1:]...)
	}
	c.kept = append(c.kept, e)
}

// late is by how much a stamp on arrival is taken to be off: the longest way there and back of late, though nothing bounds it.
func (c *PageClock) late() time.Duration {
	if len(c.kept) == 0 {
		return unknownOff
	}
	var longest time.Duration
	for i := range c.kept {
		longest = max(longest, 2*c.kept[i].off())
	}
	return longest + arrivalNoise
}

// At is when an event of the page happened that has that time stamp and has arrived now, and by how much that may be off either way. One that
// cannot be, before the page was there, after it has arrived, or longer ago than anything takes, is stamped on arrival.
func (c *PageClock) At(page time.Duration, arrived time.Time) (at time.Time, off time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	late := c.late()
	if len(c.kept) == 0 || page < 0 {
		return arrived, late
	}
	at, off = c.best(page)
	switch {
	case at.Add(-off).After(arrived), arrived.Sub(at) > staleAfter+off, off > late:
		return arrived, late
	case at.After(arrived):
		return arrived, off // it cannot have happened later, and the true time is no further from here than from there
	}
	return at, off
}

// best is what the exchange that is best for it makes of a time of the page.
func (c *PageClock) best(page time.Duration) (at time.Time, off time.Duration) {
	for i := range c.kept {
		e := &c.kept[i]
		apart := page - e.page
		mine := e.off() + time.Duration(float64(apart.Abs())*clockDrift/(1-clockDrift)) + 2*c.step + rounding
		if i == 0 || mine < off {
			at, off = e.middle().Add(apart), mine
		}
	}
	return at, off
}
