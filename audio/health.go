package audio

import (
	"fmt"
	"math"
	"strings"
	"time"
)

const (
	stallAfter = 500 * time.Millisecond // without a pull, before the device is asked what is wrong
	lostAfter  = 2 * time.Second        // without a pull, before the device is given up whatever it says
	backAfter  = 10                     // polls in a row with pulls, before a lost device is taken back
)

// When the sound is good enough for reaction times to mean something.
const (
	slopeLimit    = 0.005                // off the nominal rate
	residualLimit = 4 * time.Millisecond // standard deviation of pulls about the line
)

// watch notices a device that has gone, and one that has come back.
func (o *Output) watch() {
	o.mu.Lock()
	now := o.clock()
	t, lost := o.tap, o.lost
	back := lost != nil && lost.returned()
	idle := now.Sub(t.last)
	o.mu.Unlock()

	_, silent := t.sink.(*silentSink)
	switch {
	case back:
		o.takeBack(lost)
	case silent || idle < stallAfter:
	default:
		if err := t.sink.Fault(); err != nil {
			o.giveUp(t, oneLine(err))
		} else if idle > lostAfter {
			o.giveUp(t, fmt.Sprintf("the sound device has taken no sound for %v", idle.Round(time.Second)))
		}
	}
}

// returned says whether a tap that had been given up is being asked again, and steadily.
func (t *tap) returned() bool {
	if t.pulls == t.polled {
		t.alive = 0
		return false
	}
	t.polled = t.pulls
	t.alive++
	return t.alive >= backAfter
}

// giveUp lets the silent sink take over from t, so that the sitting goes on.
func (o *Output) giveUp(t *tap, why string) {
	o.mu.Lock()
	o.lost = t
	t.polled, t.alive = t.pulls, 0
	o.failed = why
	o.notice = "The sound has stopped; the sitting goes on silently until it is back."
	o.fit.jumps++
	o.mu.Unlock()
	o.attach(newSilentSink(o.buffer(), o.clock))
}

// takeBack returns to a device that had been given up and is asking for frames again.
func (o *Output) takeBack(t *tap) {
	added := o.addedBy(t.sink)
	o.mu.Lock()
	silent := o.tap.sink
	o.use(t)
	o.added = added
	o.lost, o.failed = nil, ""
	o.notice = "The sound is back."
	o.mu.Unlock()
	silent.Close()
}

// Health says how far onsets can be trusted.
type Health struct {
	Good      bool          // reactions to sound mean something
	Why       string        // what is wrong, as part of a sentence; empty while Good
	Slope     float64       // seconds of the clock for a second of frames; 1 at the nominal rate
	WorstGap  time.Duration // longest time between two requests of the device, over the last seconds
	Residual  time.Duration // standard deviation of the requests about the fitted line
	Underruns int           // suspected since Open: how often the device lost its place
	Buffer    time.Duration // how much sound is kept ready; more than at first if it has run dry and Options.Grow is set
	Silent    bool          // nothing is heard: by choice, or because there is no device
	Delay     time.Duration // from a request to its being heard, as the device told last; zero if it tells nothing
	Added     time.Duration // what calibration adds to that
}

// Health gives the health of the sound over the last few seconds.
func (o *Output) Health() Health {
	o.mu.Lock()
	defer o.mu.Unlock()
	_, silent := o.tap.sink.(*silentSink)
	h := Health{
		Slope:     o.fit.line.slope,
		WorstGap:  max(o.fit.worstGap(), o.clock().Sub(o.tap.last)),
		Residual:  time.Duration(o.fit.sd * float64(time.Second)),
		Underruns: o.fit.jumps,
		Buffer:    o.buffer(),
		Silent:    silent,
		Delay:     o.delay,
		Added:     o.added,
	}
	h.Why = o.ailment(h)
	h.Good = h.Why == ""
	return h
}

// ailment says what is wrong with the sound, or nothing. The caller holds the lock.
func (o *Output) ailment(h Health) string {
	switch {
	case o.failed != "":
		return "there is no sound: " + o.failed
	case h.WorstGap > 2*o.buffer():
		return fmt.Sprintf("the sound has stuttered: %d ms between two requests of the device, with %d ms in its buffer",
			h.WorstGap.Milliseconds(), o.buffer().Milliseconds())
	case !o.ready(o.clock().Sub(o.base)):
		return "the sound device does not know its own delay yet"
	case len(o.fit.pulls) < clockFew:
		return "the sound clock is settling"
	case math.Abs(h.Slope-1) > slopeLimit:
		return fmt.Sprintf("the device runs at %.1f %% of the nominal rate", 100/h.Slope)
	case h.Residual > residualLimit:
		return fmt.Sprintf("the sound clock scatters by %.1f ms", float64(h.Residual)/float64(time.Millisecond))
	}
	return ""
}

// Notice gives the one line about the sound that a person should read, or nothing if all is well.
func (o *Output) Notice() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.wav != nil {
		if err := o.wav.failure(); err != nil {
			return oneLine(err)
		}
	}
	return o.notice
}

// Device names the device that is playing.
func (o *Output) Device() string {
	o.mu.Lock()
	sink := o.tap.sink
	o.mu.Unlock()
	return sink.Device() // which may have to find out
}

// Buffer is how much sound is kept ready.
func (o *Output) Buffer() time.Duration {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.buffer()
}

// buffer is that, for whoever holds the lock.
func (o *Output) buffer() time.Duration {
	if g, ok := o.tap.sink.(grower); ok {
		return g.Buffer()
	}
	return o.options.Buffer
}

// Lead is how far ahead a cue has to be due to be heard on time: the whole buffer, and the half of it that may have
// been filled a moment ago.
func (o *Output) Lead() time.Duration {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.latency() + o.options.Buffer/2
}

// oneLine makes an error fit into a line of text: a driver may list every device that it has tried.
func oneLine(err error) string {
	const most = 140
	line := []rune(strings.Join(strings.Fields(err.Error()), " "))
	if len(line) > most {
		line = append(line[:most], '…')
	}
	return strings.TrimRight(string(line), ".")
}
