package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"hornlark/audio"
	"hornlark/cmd/hornlark/desk"
)

// The calibration. People tap along steadily with clicks that come about so often: with a spread of some 4 % of the gap, and
// ahead of the click by some tens of milliseconds. B. H. Repp, Psychonomic Bulletin & Review 12 (2005), from memory.
const (
	tapGap    = 800 * time.Millisecond // between two clicks
	tapClicks = 30
	tapWarmUp = 5                      // clicks at the beginning that do not count
	tapFew    = 15                     // taps that are needed
	tapEarly  = 200 * time.Millisecond // a tap may be so far ahead of its click; the window for it is a tapGap long
	tapSpread = 40 * time.Millisecond  // more than this is not tapping along
	earlyFrom = 20                     // ms by which most people tap ahead of a beat
	earlyTo   = 80
)

// tapResult is what tapping has shown.
type tapResult struct {
	Median time.Duration // of the taps after the onsets that the device reported; negative if they were before
	Spread time.Duration // standard deviation, from the median absolute deviation
	Taps   int
}

// uncertainty is the standard error of the median of so many normal values.
func (r tapResult) uncertainty() time.Duration {
	return time.Duration(1.2533 * float64(r.Spread) / math.Sqrt(float64(r.Taps)))
}

// judgeTaps finds how far taps lie from clicks, or says why that cannot be told. Both are since the same moment.
func judgeTaps(onsets, taps []time.Duration) (tapResult, error) {
	var off []time.Duration
	for i, onset := range onsets {
		if i < tapWarmUp {
			continue
		}
		j := slices.IndexFunc(taps, func(tap time.Duration) bool { return tap >= onset-tapEarly && tap < onset-tapEarly+tapGap })
		if j >= 0 {
			off = append(off, taps[j]-onset)
		}
	}
	if len(off) < tapFew {
		return tapResult{}, fmt.Errorf("there were %d taps that count, and %d are needed: tap once for each click", len(off), tapFew)
	}
	middle := middleOf(off)
	away := make([]time.Duration, len(off))
	for i, d := range off {
		away[i] = (d - middle).Abs()
	}
	r := tapResult{Median: middle, Spread: time.Duration(1.4826 * float64(middleOf(away))), Taps: len(off)}
	if r.Spread > tapSpread {
		return r, fmt.Errorf("the taps are spread by %d ms, and more than %d ms tell nothing: try again, or give the delay with --latency",
			r.Spread.Milliseconds(), tapSpread.Milliseconds())
	}
	return r, nil
}

func middleOf(list []time.Duration) time.Duration {
	list = slices.Sorted(slices.Values(list))
	n := len(list)
	return (list[(n-1)/2] + list[n/2]) / 2
}

// describe says what was measured, and what it holds besides the device.
func (r tapResult) describe(device string) string {
	return fmt.Sprintf(`%s: your taps came %d ms after the clicks, by the time that the device reports for them
(median of %d taps; spread %d ms, so the median is good to about %d ms). That is the sum of three things that cannot be told
apart from here: what the device adds without telling of it, what the keyboard adds (some 5 to 25 ms), and how far
ahead of a beat you tap (most people are %d to %d ms early, which makes the figure smaller).
`, device, r.Median.Milliseconds(), r.Taps, r.Spread.Milliseconds(), max(1, r.uncertainty().Milliseconds()), earlyFrom, earlyTo)
}

// errTapsLeft ends a calibration that the user left.
var errTapsLeft = errors.New("the calibration was left; nothing has been changed")

// calibrate is the calibration within a check: that it comes to nothing does not end the check.
func (c *hearing) calibrate(ctx context.Context, keys <-chan keyStroke) error {
	if err := c.tapAlong(ctx, keys); err != nil && ctx.Err() == nil {
		fmt.Fprintln(c.streams.out, err)
	}
	return ctx.Err()
}

// tapAlong plays clicks, takes the taps, and keeps the delay that they come to if the user agrees.
func (c *hearing) tapAlong(ctx context.Context, keys <-chan keyStroke) error {
	device, w := c.out.Device(), c.streams.out
	fmt.Fprintf(w, "Tap the space bar together with each of %d clicks; the first %d are for finding in. q leaves.\n", tapClicks, tapWarmUp)
	onsets, taps, err := c.clicksAndTaps(ctx, keys)
	if err != nil {
		return err
	}
	r, err := judgeTaps(onsets, taps)
	if err != nil {
		return err
	}
	fmt.Fprint(w, r.describe(device))
	if r.Median <= 0 {
		fmt.Fprintln(w, "No delay can be seen: nothing has to be added, and nothing has been changed.")
		return nil
	}
	fmt.Fprintf(w, "Enter keeps %d ms for this device, any other key drops it.\n", r.Median.Milliseconds())
	select {
	case <-ctx.Done():
		return context.Cause(ctx)
	case k, open := <-keys:
		if !open || k.key != '\r' && k.key != '\n' {
			return errTapsLeft
		}
	}
	c.settings.put(deviceDelay{
		Device: device, LatencyMS: math.Round(10*milliseconds(r.Median)) / 10, How: byTaps,
		SpreadMS: math.Round(10*milliseconds(r.Spread)) / 10, Taps: r.Taps,
	})
	if err := c.settings.save(); err != nil {
		return err
	}
	fmt.Fprintln(w, "Kept. Sittings reckon with it from now on.")
	return nil
}

// clicksAndTaps plays the clicks and collects when they were heard and when keys were pressed. What an earlier calibration
// adds is taken off: it is what is being measured.
func (c *hearing) clicksAndTaps(ctx context.Context, keys <-chan keyStroke) (onsets, taps []time.Duration, err error) {
	click := desk.NewClick()
	first := c.cue + 1
	begin := time.Since(c.began) + c.out.Lead() + tapGap
	for i := range tapClicks {
		c.cue++
		due := begin + time.Duration(i)*tapGap
		if err := c.out.Play(audio.Cue{ID: c.cue, Due: due, Sound: click, Rank: audio.Speech}); err != nil {
			return nil, nil, err
		}
	}
	defer func() {
		for id := first; id <= c.cue; id++ {
			c.out.Stop(id, 0)
		}
	}()
	over := time.After(c.out.Lead() + (tapClicks+1)*tapGap)
	for {
		select {
		case <-ctx.Done():
			return nil, nil, context.Cause(ctx)
		case <-over:
			if h := c.out.Health(); !h.Good {
				return nil, nil, fmt.Errorf("the sound is not good enough to calibrate by: %s", h.Why)
			}
			return onsets, taps, nil
		case r := <-c.out.Reports():
			if r.Cue >= first {
				onsets = append(onsets, r.Onset-c.out.Health().Added)
			}
		case k, open := <-keys:
			if !open || leaves(k.key) {
				return nil, nil, errTapsLeft
			}
			taps = append(taps, k.at.Sub(c.began))
		}
	}
}
