package audio

import (
	"errors"
	"fmt"
	"math"
	"time"
)

const (
	settleSpan  = 400 * time.Millisecond // of steady pulls before the sound is called ready
	settleLimit = 4 * time.Second        // a sound server may take 2 s to find its pace
	tellLimit   = 6 * time.Second        // and more to know its delay
	settleLook  = 2 * time.Millisecond   // between two looks at how far it is
	earlyPulls  = 5                      // of a device that tells its delay, before Open returns early
	earlyAgree  = 2                      // of them are enough if they agree
	earlyTell   = 100 * time.Millisecond // of steady pulls without that, likewise
)

// Open starts the sound. A machine without sound, or one whose sound does not start within a few seconds, is no error:
// the output is then silent, keeps the pace all the same, and Notice says so. An error means that the options are
// wrong or that the WAV file cannot be written.
func Open(options Options) (*Output, error) {
	return open(options, openSpeaker)
}

func open(options Options, openDevice func(buffer time.Duration) (Sink, error)) (*Output, error) {
	if options.Buffer == 0 {
		options.Buffer = DefaultBuffer
	}
	if options.Buffer < MinBuffer || options.Buffer > MaxBuffer {
		return nil, fmt.Errorf("audio: a sound buffer of %v is out of range; give %v to %v", options.Buffer, MinBuffer, MaxBuffer)
	}
	if options.Clock == nil {
		options.Clock = time.Now
	}
	o := &Output{
		options: options,
		clock:   options.Clock,
		base:    options.Clock(),
		release: func() {},
		reports: make(chan Report, MaxCues),
		wake:    make(chan struct{}, 1),
		done:    make(chan struct{}),
		mix:     NewMixer(),
	}
	o.options.Level = min(max(options.Level, -LevelRange), 0)
	o.level = o.options.Level
	o.mix.level = slideAt(levelGain(o.level))
	if options.WAV != nil {
		wav, err := newRecorder(options.WAV)
		if err != nil {
			return nil, err
		}
		o.wav = wav
	}
	o.openSink(openDevice)
	o.ended.Go(o.run)
	return o, nil
}

// openSink starts a device, or else the silent sink.
func (o *Output) openSink(openDevice func(time.Duration) (Sink, error)) {
	if o.options.Silent {
		o.attach(newSilentSink(o.options.Buffer, o.clock))
		o.notice = "Sound is off: the sitting runs silently."
		return
	}
	if release, err := catchChatter(); err == nil {
		o.release = release
	}
	err := o.tryDevice(openDevice)
	if err == nil {
		return
	}
	o.failed = oneLine(err)
	o.notice = NoDevice
	if !errors.Is(err, ErrNoDevice) {
		o.notice = "No sound: " + o.failed + ". The sitting is silent."
	}
	o.attach(newSilentSink(o.options.Buffer, o.clock))
}

func (o *Output) tryDevice(openDevice func(time.Duration) (Sink, error)) error {
	sink, err := openDevice(o.options.Buffer)
	if err != nil {
		return err
	}
	if g, ok := sink.(grower); ok && o.options.Grow {
		g.Grow()
	}
	if err := o.attach(sink); err != nil {
		sink.Close()
		return err
	}
	if err := o.settle(sink); err != nil {
		sink.Close()
		return err
	}
	added := o.addedBy(sink) // not before its sound flows: what it is called may not have been known
	o.mu.Lock()
	o.added = added
	o.mu.Unlock()
	return nil
}

// attach makes sink the one that is heard.
func (o *Output) attach(sink Sink) error {
	o.mu.Lock()
	t := &tap{out: o, sink: sink, last: o.clock()}
	o.use(t)
	o.mu.Unlock()
	return sink.Start(t)
}

// use makes t the tap that is heard. The caller holds the lock.
func (o *Output) use(t *tap) {
	o.tap = t
	o.fit = frameClock{jumps: o.fit.jumps}
	o.epoch++
	o.delay, o.added = 0, 0
}

// addedBy is what a device adds to what it tells of itself.
func (o *Output) addedBy(sink Sink) time.Duration {
	if o.options.Latency == nil {
		return 0
	}
	return o.options.Latency(sink.Device())
}

// settle waits until the device asks for frames at a steady pace. A request or two means nothing: the library fills its
// own buffer without a device.
func (o *Output) settle(sink Sink) error {
	began, asked := o.clock(), false
	for {
		time.Sleep(settleLook)
		now := o.clock()
		o.mu.Lock()
		idle := now.Sub(o.tap.last)
		o.fit.beginAfterGap(2 * o.options.Buffer)
		ready := o.ready(now.Sub(began))
		steady := ready && o.fit.span() >= settleSpan && math.Abs(o.fit.line.slope-1) < 2*slopeLimit
		steady = steady || o.options.Early && o.flows()
		if steady {
			o.fit.jumps = 0
		}
		o.mu.Unlock()
		late := now.Sub(began) > settleLimit && (ready || idle > stallAfter)
		switch {
		case steady:
			return nil
		case idle > stallAfter && !asked:
			// No answer is none yet: a sound server may keep its driver waiting for 2 s before it finds its pace.
			if err := sink.Fault(); err != nil && !errors.Is(err, errNoAnswer) {
				return err
			}
			asked = true
		case late && idle > stallAfter:
			return fmt.Errorf("the sound device took no sound for %v", idle.Round(100*time.Millisecond))
		case late:
			return nil // it plays, if badly; Health tells
		}
	}
}

// ready says whether the device tells its delay, or does not and need not be waited for any longer. The caller holds the lock.
func (o *Output) ready(since time.Duration) bool {
	_, tells := o.tap.sink.(asker)
	return o.tap.told || !tells || since > tellLimit
}

// flows says whether a device that can tell its delay takes more than its buffer holds, and tells it; or takes sound for so long
// without that it is not waited for: what is said of onsets before it tells is less good, and Health says so. A device that tells
// nothing of itself has to show how steady it is. The caller holds the lock.
func (o *Output) flows() bool {
	_, tells := o.tap.sink.(asker)
	if !tells || o.mix.Next() <= Frames(o.tap.sink.Latency()) || o.tap.sink.Fault() != nil {
		return false
	}
	if !o.tap.told {
		return o.fit.span() >= earlyTell
	}
	return len(o.fit.pulls) >= earlyPulls || o.fit.beginWhereAgreed(earlyAgree)
}
