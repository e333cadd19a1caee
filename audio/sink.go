package audio

import (
	"errors"
	"sync"
	"time"

	"github.com/gopxl/beep/v2"
)

// Sink is where frames go. It asks its source for them at its own pace.
type Sink interface {
	// Start makes the sink ask source for frames, from a goroutine of its own, until Close. It returns within a few
	// seconds whatever the device does. A nil error does not mean that frames are flowing: only being asked shows that.
	Start(source beep.Streamer) error

	// Fault says what has become of the device, or nil if nothing is known to be wrong. It returns within a second, with
	// errNoAnswer if the driver is busy with the device.
	Fault() error

	// Latency is the time from asking for a frame to its being audible, as far as the sink knows its device.
	Latency() time.Duration

	// Device names the device for people.
	Device() string

	// Close stops asking. The device itself may stay open.
	Close() error
}

// Asking is what a sink knows of the request for frames that it is making.
type Asking struct {
	Delay    time.Duration // until the first frame that is asked for is audible, as the device says
	Told     bool          // it says something that can be so: a server may take seconds to know its own delay
	Underran bool          // the device has run dry since the request before
}

// asker is a sink that knows more of its requests than the times at which it makes them. Asking is called while the
// source is being asked for frames.
type asker interface{ Asking() Asking }

// grower is a sink that can go to a larger buffer once it has run dry.
type grower interface {
	// Grow allows it to. It is called before Start.
	Grow()

	// Buffer is how much sound it is asked to keep ready at present.
	Buffer() time.Duration
}

// larger gives the next larger size of buffer, or the same if there is none.
func larger(buffer time.Duration) time.Duration {
	for _, b := range append(Buffers(), MaxBuffer) {
		if b > buffer {
			return b
		}
	}
	return buffer
}

// ErrNoDevice means that the machine has no sound device, or none that can be opened.
var ErrNoDevice = errors.New("no sound device was found")

var errNoAnswer = errors.New("the sound device does not answer")

// silentBlock is how many frames the silent sink asks for at a time.
const silentBlock = Rate / 100

// silentSink asks for frames at the nominal pace and drops them.
type silentSink struct {
	buffer time.Duration
	clock  func() time.Time
	stop   chan struct{}
	ended  sync.WaitGroup
}

func newSilentSink(buffer time.Duration, clock func() time.Time) *silentSink {
	return &silentSink{buffer: buffer, clock: clock, stop: make(chan struct{})}
}

func (s *silentSink) Start(source beep.Streamer) error {
	s.ended.Go(func() { s.run(source) })
	return nil
}

func (s *silentSink) run(source beep.Streamer) {
	const period = time.Second * silentBlock / Rate
	tick := time.NewTicker(period)
	defer tick.Stop()
	block := make([][2]float64, silentBlock)
	due := s.clock()
	for {
		select {
		case <-s.stop:
			return
		case <-tick.C:
		}
		now := s.clock()
		if now.Sub(due) > 4*s.buffer { // the machine slept: a device would have lost these frames too
			due = now
		}
		for ; !due.After(now); due = due.Add(period) {
			source.Stream(block)
		}
	}
}

func (s *silentSink) Fault() error           { return nil }
func (s *silentSink) Latency() time.Duration { return s.buffer }
func (s *silentSink) Device() string         { return "none (silent)" }

func (s *silentSink) Close() error {
	close(s.stop)
	s.ended.Wait()
	return nil
}
