package audio

import (
	"math"
	"time"
)

const (
	clockWindow = 4 * time.Second        // of pulls that the fit looks at
	clockPulls  = 512                    // it looks at most at this many
	clockFew    = 8                      // fewer than this fix no slope: the nominal rate is taken
	clockGap    = 250 * time.Millisecond // after so long without a pull the device has lost its place

	// A device that has stalled or dropped frames goes on at the old rate but at another place. So many pulls in a
	// row, all that far off on the same side, are not jitter: the old ones are forgotten.
	jumpPulls = 6
	jumpBy    = 3 * time.Millisecond

	// agreeWithin is how far apart pulls of a device that has found its pace are, from the nominal rate.
	agreeWithin = time.Millisecond
)

// frameClock tells when a frame was, or will be, pulled: a straight line through the last pulls, by least squares,
// without those that are out by more than the rest (a pull is late now and then, and says nothing about the frame).
type frameClock struct {
	pulls []pull // oldest first
	line  line
	sd    float64 // of the pulls about the line, s
	off   int     // pulls in a row that were off; negative for early ones
	jumps int     // how often the line had to be begun anew
}

// pull is one request of the device for frames.
type pull struct {
	at    time.Duration // since the clock's base
	frame Frame         // first frame that was asked for
}

// line gives time from frames: at + slope*(f-frame)/Rate.
type line struct {
	frame Frame
	at    float64 // s
	slope float64 // 1 for a device that keeps the nominal rate
}

// note adds a pull and fits the line anew.
func (c *frameClock) note(at time.Duration, frame Frame) {
	if n := len(c.pulls); n > 0 && at-c.pulls[n-1].at > clockGap {
		c.forget(n)
	}
	c.watchForJump(at, frame)
	c.pulls = append(c.pulls, pull{at, frame})
	drop := max(0, len(c.pulls)-clockPulls)
	for drop < len(c.pulls)-1 && at-c.pulls[drop].at > clockWindow {
		drop++
	}
	c.pulls = append(c.pulls[:0], c.pulls[drop:]...)
	c.fit()
}

func (c *frameClock) watchForJump(at time.Duration, frame Frame) {
	if len(c.pulls) < clockFew {
		c.off = 0
		return
	}
	late := at - c.timeOf(frame)
	by := max(jumpBy, time.Duration(4*c.sd*float64(time.Second)))
	switch {
	case late > by:
		c.off = max(c.off, 0) + 1
	case late < -by:
		c.off = min(c.off, 0) - 1
	default:
		c.off = 0
	}
	if c.off == jumpPulls || c.off == -jumpPulls {
		c.forget(len(c.pulls) - jumpPulls + 1)
	}
}

// forget drops the n oldest pulls, because the device has lost its place since.
func (c *frameClock) forget(n int) {
	c.pulls = append(c.pulls[:0], c.pulls[n:]...)
	c.off = 0
	c.jumps++
}

// beginAfterGap leaves out the pulls before the last gap that is longer than limit: a device that is starting up fills its
// buffer and only then finds its pace.
func (c *frameClock) beginAfterGap(limit time.Duration) {
	for i := len(c.pulls) - 1; i > 0; i-- {
		if c.pulls[i].at-c.pulls[i-1].at > limit {
			c.pulls = append(c.pulls[:0], c.pulls[i:]...)
			c.fit()
			return
		}
	}
}

// beginWhereAgreed says whether the last n pulls agree, with each other and with the nominal rate. Those before them are then left
// out: a server that has only just begun to play does not know its delay to the millisecond.
func (c *frameClock) beginWhereAgreed(n int) bool {
	from := len(c.pulls) - n
	if from < 0 {
		return false
	}
	low, high := time.Duration(math.MaxInt64), time.Duration(math.MinInt64)
	for _, p := range c.pulls[from:] {
		begin := p.at - p.frame.Duration()
		low, high = min(low, begin), max(high, begin)
	}
	if high-low > agreeWithin {
		return false
	}
	c.pulls = append(c.pulls[:0], c.pulls[from:]...)
	c.fit()
	return true
}

func (c *frameClock) fit() {
	c.line, c.sd = fitLine(c.pulls, math.Inf(1), line{})
	if len(c.pulls) >= clockFew {
		c.line, c.sd = fitLine(c.pulls, 2.5*c.sd, c.line)
	}
}

// fitLine fits the pulls that lie within tolerance seconds of the line about, and gives the fit and the standard
// deviation of those pulls about it.
func fitLine(pulls []pull, tolerance float64, about line) (line, float64) {
	origin := pulls[len(pulls)-1]
	var n, sx, sy, sxx, sxy float64
	each := func(do func(x, y float64)) {
		for _, p := range pulls {
			if math.Abs(p.at.Seconds()-about.secondsOf(p.frame)) <= tolerance || math.IsInf(tolerance, 1) {
				do(float64(p.frame-origin.frame)/Rate, (p.at - origin.at).Seconds())
			}
		}
	}
	each(func(x, y float64) {
		n, sx, sy = n+1, sx+x, sy+y
		sxx += float64(x * x)
		sxy += float64(x * y)
	})
	if n == 0 {
		return about, 0
	}
	mx, my := sx/n, sy/n
	slope := 1.0
	if spread := sxx - float64(n*mx*mx); len(pulls) >= clockFew && spread > 0 {
		slope = (sxy - float64(n*mx*my)) / spread
	}
	at := my - float64(slope*mx) // relative to the origin
	var ss float64
	each(func(x, y float64) {
		d := y - at - float64(slope*x)
		ss += float64(d * d)
	})
	return line{origin.frame, at + origin.at.Seconds(), slope}, math.Sqrt(ss / n)
}

func (l line) secondsOf(f Frame) float64 {
	return l.at + float64(l.slope*float64(f-l.frame))/Rate
}

// timeOf gives when frame f was or will be pulled, since the clock's base.
func (c *frameClock) timeOf(f Frame) time.Duration {
	return time.Duration(math.Round(c.line.secondsOf(f) * 1e9))
}

// frameAt gives the frame that is nearest to being pulled at t.
func (c *frameClock) frameAt(t time.Duration) Frame {
	slope := c.line.slope
	if slope <= 0 {
		slope = 1
	}
	return c.line.frame + Frame(math.Round((t.Seconds()-c.line.at)*Rate/slope))
}

// span is how much time the pulls of the fit cover.
func (c *frameClock) span() time.Duration {
	if len(c.pulls) == 0 {
		return 0
	}
	return c.pulls[len(c.pulls)-1].at - c.pulls[0].at
}

// worstGap is the longest time between two pulls of the fit.
func (c *frameClock) worstGap() time.Duration {
	var worst time.Duration
	for i := 1; i < len(c.pulls); i++ {
		worst = max(worst, c.pulls[i].at-c.pulls[i-1].at)
	}
	return worst
}
