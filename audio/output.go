package audio

import (
	"cmp"
	"errors"
	"io"
	"slices"
	"sync"
	"time"

	"github.com/gopxl/beep/v2"
)

// Limits and defaults of a live output.
const (
	DefaultBuffer = 40 * time.Millisecond
	MinBuffer     = 10 * time.Millisecond
	MaxBuffer     = 200 * time.Millisecond
)

// Buffers gives the sizes of buffer that a person is offered: the smallest for a quick and idle machine, the largest for a
// busy one.
func Buffers() []time.Duration {
	return []time.Duration{20 * time.Millisecond, DefaultBuffer, 100 * time.Millisecond}
}

const (
	pollEvery  = 100 * time.Millisecond
	wavBacklog = 512              // blocks that may wait for a slow disk: more than 2 s of sound
	maxLeadIn  = 10 * time.Second // of silence put in front of a WAV file
)

// NoDevice is the notice of an output that found no device.
const NoDevice = "No sound device was found; the sitting is silent."

// ErrNotBegun is the answer to a cue that is played before Begin.
var ErrNotBegun = errors.New("audio: no sitting has begun; call Begin first")

// Options say how to open an Output. The zero value is a loudspeaker with the default buffer at full level, which is what nobody
// should hear who has not set the level: see DefaultLevel.
type Options struct {
	Buffer time.Duration    // how much sound is kept ready, MinBuffer to MaxBuffer; 0 for DefaultBuffer
	Grow   bool             // a device that has run dry gets a larger buffer, up to MaxBuffer, if it can be given one
	Early  bool             // Open waits until a device that tells its own delay takes sound, and not until its clock is known
	Silent bool             // no device: frames are dropped at the nominal pace
	Level  float64          // of everything, in dB: 0 at most, -LevelRange at least; Turn never goes above it
	WAV    io.WriteSeeker   // if not nil, gets what is heard from Begin on; stays open after Close
	Clock  func() time.Time // time.Now if nil; it must not jump

	// Latency gives what the device of that name adds to what it tells of itself (a radio link, say), from calibration.
	// Nil is nothing.
	Latency func(device string) time.Duration
}

// Output is the sound of a live sitting. Its methods may be called from several goroutines.
type Output struct {
	options Options
	clock   func() time.Time
	base    time.Time // the frame clock counts from here
	release func()    // of the chatter
	reports chan Report
	wake    chan struct{} // a cue has been written into the stream
	done    chan struct{}
	ended   sync.WaitGroup
	closing sync.Once
	closed  error // of the first Close

	mu      sync.Mutex
	mix     *Mixer
	level   float64 // of the mix, dB
	tap     *tap    // that feeds the sink now
	lost    *tap    // that fed a device which has gone, and may come back
	fit     frameClock
	epoch   int           // counts the sinks and their underruns: frames before and after are not on one line
	added   time.Duration // what the device adds to what it tells of itself
	delay   time.Duration // that the device told of last; zero if it tells nothing
	begun   bool
	zero    time.Duration // Begin, since base
	waiting []request
	started []start
	notice  string
	failed  string // why there is no device, if one was wanted
	wav     *recorder
}

// request is a cue to be played or stopped, until the block that it falls into is asked for.
type request struct {
	due  time.Duration
	stop bool
	cue  Cue // of a stop, only the ID
}

// start is a cue that is in the stream and not yet reported.
type start struct {
	cue   Cue
	frame Frame
	epoch int
	onset time.Duration // as estimated when it was written, since base

	silent bool // it was written to nowhere
}

// tap is what a sink sees: a source that never ends. When another sink has taken over, it gives silence.
type tap struct {
	out    *Output
	sink   Sink
	last   time.Time // when it was last asked
	lastN  int       // for how much
	pulls  int       // how often it was asked
	polled int       // pulls at the last poll
	alive  int       // polls in a row that saw new pulls
	told   bool      // the sink knows how long its frames have to wait
}

// Stream is called by the sink.
func (t *tap) Stream(samples [][2]float64) (int, bool) {
	t.out.fill(t, samples)
	return len(samples), true
}

// Err is always nil: silence is the worst that a tap gives.
func (t *tap) Err() error { return nil }

// Begin starts a sitting whose time zero is t0, by the output's clock. Whatever sounds is faded out, and whatever
// waits is dropped.
func (o *Output) Begin(t0 time.Time) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.mix.StopAll()
	o.waiting, o.started = o.waiting[:0], o.started[:0]
	o.zero = t0.Sub(o.base)
	o.begun = true
	if o.wav != nil {
		o.wav.begin(o.frameFor(0), o.mix.Next())
	}
}

// latency is the time from a pull to the loudspeaker. The caller holds the lock.
func (o *Output) latency() time.Duration { return o.tap.sink.Latency() + o.added }

// frameFor gives the frame that is heard at t since Begin. The caller holds the lock.
func (o *Output) frameFor(t time.Duration) Frame {
	return o.fit.frameAt(o.zero + t - o.latency())
}

// Play has a cue heard when it is due, or as soon as may be if that is nearer than Lead. When it was really heard
// comes through Reports.
func (o *Output) Play(c Cue) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	switch {
	case !o.begun:
		return ErrNotBegun
	case len(c.Sound.PCM) == 0:
		return ErrEmpty
	case len(o.waiting)+len(o.started)+len(o.mix.parts) >= MaxCues:
		return ErrTooMany
	case o.mix.find(c.ID) >= 0 || o.isWaiting(c.ID):
		return ErrDuplicate
	}
	o.request(request{due: c.Due, cue: c})
	return nil
}

func (o *Output) isWaiting(id int) bool {
	return slices.ContainsFunc(o.waiting, func(r request) bool { return !r.stop && r.cue.ID == id })
}

// Stop fades a cue out at due, or as soon as may be if that is nearer than Lead; one that would not have begun by then
// is cancelled, and never reported. A number that no cue has is ignored.
func (o *Output) Stop(id int, due time.Duration) {
	o.mu.Lock()
	defer o.mu.Unlock()
	cancelled := func(r request) bool { return !r.stop && r.cue.ID == id && r.due >= due }
	if slices.ContainsFunc(o.waiting, cancelled) {
		o.waiting = slices.DeleteFunc(o.waiting, cancelled)
		return
	}
	again := slices.ContainsFunc(o.waiting, func(r request) bool { return r.stop && r.cue.ID == id })
	if !again && (o.isWaiting(id) || o.mix.find(id) >= 0) {
		o.request(request{due: due, stop: true, cue: Cue{ID: id}})
	}
}

// request queues r in the order of due times. The caller holds the lock.
func (o *Output) request(r request) {
	i, _ := slices.BinarySearchFunc(o.waiting, r, func(a, b request) int {
		if a.due <= b.due {
			return -1
		}
		return 1
	})
	o.waiting = slices.Insert(o.waiting, i, r)
}

// fill gives the sink behind t its frames.
func (o *Output) fill(t *tap, samples [][2]float64) {
	now := o.clock()
	o.mu.Lock()
	defer o.mu.Unlock()
	again := t.continues(now, len(samples))
	t.pulls++
	if t != o.tap {
		clear(samples)
		return
	}
	if s, ok := t.sink.(asker); ok {
		o.noteAsking(now, s)
	} else if !again {
		o.fit.note(now.Sub(o.base), o.mix.Next())
	}
	o.carryOut(Frame(len(samples)))
	o.mix.Stream(samples)
	if o.wav != nil {
		o.wav.record(samples, o.mix.Next())
	}
	t.last = o.clock()
}

// noteAsking notes a request of a device that says how long its frames have to wait: as if it had been made exactly
// Latency before they are heard, however full the buffer really was. The caller holds the lock.
func (o *Output) noteAsking(now time.Time, s asker) {
	asking, t := s.Asking(), o.tap
	if asking.Underran {
		t.told = false
		o.fit = frameClock{jumps: o.fit.jumps + 1}
		o.epoch++ // what the device had before, it has played by its old time
	}
	if asking.Told && !t.told { // what was noted without knowing is not on one line with what is known
		t.told = true
		o.fit = frameClock{jumps: o.fit.jumps}
	}
	if t.told && !asking.Told {
		return
	}
	at := now.Sub(o.base)
	if asking.Told {
		o.delay = asking.Delay
		at += asking.Delay - t.sink.Latency()
	}
	jumps := o.fit.jumps
	o.fit.note(at, o.mix.Next())
	o.fit.jumps = jumps // such a device tells of its underruns: that it corrects itself is none
}

// continues says whether a call only goes on with one request of the device: beep's mixer hands it on in chunks.
func (t *tap) continues(now time.Time, n int) bool {
	const chunk = 512
	again := t.lastN == chunk && now.Sub(t.last) < time.Millisecond
	t.last, t.lastN = now, n
	return again
}

// carryOut hands the requests that fall into the next n frames to the mixer. The caller holds the lock.
func (o *Output) carryOut(n Frame) {
	if !o.begun {
		return
	}
	end := o.mix.Next() + n
	done := 0
	for _, r := range o.waiting {
		at := o.frameFor(r.due)
		if at >= end {
			break
		}
		done++
		if r.stop {
			if !o.mix.Stop(r.cue.ID, at) {
				o.started = slices.DeleteFunc(o.started, func(s start) bool { return s.cue.ID == r.cue.ID })
			}
			continue
		}
		frame, err := o.mix.Add(r.cue, at)
		if err != nil {
			continue // Play has looked for every reason that there is
		}
		o.started = append(o.started, start{cue: r.cue, frame: frame, epoch: o.epoch, onset: o.heard(frame), silent: o.mute()})
		select {
		case o.wake <- struct{}{}:
		default:
		}
	}
	o.waiting = slices.Delete(o.waiting, 0, done)
}

// heard gives when frame f is audible, since base. The caller holds the lock.
func (o *Output) heard(f Frame) time.Duration { return o.fit.timeOf(f) + o.latency() }

// Reports gives a report for each cue soon after its onset was heard. It is closed by Close. A reader that does not
// keep up delays reports and, in the end, makes Play refuse cues; none is lost.
func (o *Output) Reports() <-chan Report { return o.reports }

// run reports onsets and watches the device.
func (o *Output) run() {
	defer close(o.reports)
	poll := time.NewTicker(pollEvery)
	defer poll.Stop()
	onset := time.NewTimer(0)
	defer onset.Stop()
	for {
		select {
		case <-o.done:
			return
		case <-poll.C:
			o.watch()
		case <-onset.C:
		case <-o.wake:
		}
		if wait, any := o.report(); any {
			onset.Reset(max(wait, 0))
		}
	}
}

// report sends the reports of the onsets that are past, and says how long to wait for the next one.
func (o *Output) report() (wait time.Duration, any bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	now := o.clock().Sub(o.base)
	kept := o.started[:0]
	for _, s := range o.started {
		if s.epoch == o.epoch {
			s.onset = o.heard(s.frame)
		}
		if s.onset <= now && o.send(s) {
			continue
		}
		kept = append(kept, s)
		if s.onset > now && (!any || s.onset-now < wait) {
			wait, any = s.onset-now, true
		}
	}
	clear(o.started[len(kept):])
	o.started = kept
	return wait, any
}

// send reports s unless the channel is full; then it is tried again at the next poll.
func (o *Output) send(s start) bool {
	r := Report{Cue: s.cue.ID, Onset: s.onset - o.zero, Silent: s.silent || o.mute() || o.stalled()}
	if !s.cue.Loop {
		length := s.cue.Sound.Duration()
		if s.epoch == o.epoch {
			length = o.fit.timeOf(s.frame+s.cue.Sound.Frames()) - o.fit.timeOf(s.frame)
		}
		r.End = r.Onset + length
	}
	select {
	case o.reports <- r:
		return true
	default:
		return false
	}
}

// mute reports whether the frames go nowhere. The caller holds the lock.
func (o *Output) mute() bool {
	_, silent := o.tap.sink.(*silentSink)
	return silent
}

// stalled reports whether the device takes nothing any more, though it has not been given up yet. The caller holds the lock.
func (o *Output) stalled() bool { return o.clock().Sub(o.tap.last) > stallAfter }

// SetLevel turns everything to db: 0 at most, -LevelRange at least. Turn can go up to it from then on.
func (o *Output) SetLevel(db float64) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.options.Level = min(max(db, -LevelRange), 0)
	o.turnTo(o.options.Level)
}

// Turn makes everything louder by so many dB, or softer if it is negative, and gives the level that this comes to. It never goes
// above the level that the output was opened with, or that SetLevel has set, nor below -LevelRange.
func (o *Output) Turn(by float64) float64 {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.turnTo(min(max(o.level+by, -LevelRange), o.options.Level))
	return o.level
}

// Lower has everything heard by db below the level that the output was opened with, or that SetLevel has set, or not at all. It is never
// louder than that, nor softer than -LevelRange.
func (o *Output) Lower(on bool, db float64) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.turnTo(max(o.options.Level+min(db, 0), -LevelRange))
	o.mix.SetOff(!on)
}

// turnTo has the level glide to db. The caller holds the lock.
func (o *Output) turnTo(db float64) {
	o.level = db
	o.mix.SetLevel(db)
}

// Close ends the sound and completes the WAV file. The error is that of the WAV file, if it had to end early. Further
// calls only give the error again.
func (o *Output) Close() error {
	o.closing.Do(func() { o.closed = o.shut() })
	return o.closed
}

func (o *Output) shut() error {
	close(o.done)
	o.ended.Wait()
	o.mu.Lock()
	taps := []*tap{o.tap}
	if o.lost != nil {
		taps = append(taps, o.lost)
	}
	o.tap = &tap{out: o, sink: o.tap.sink, last: o.tap.last} // whoever asks from now on gets silence
	wav := o.wav
	o.wav = nil
	o.mu.Unlock()
	var err error
	for _, t := range taps {
		err = cmp.Or(err, t.sink.Close())
	}
	o.release()
	if wav != nil {
		err = cmp.Or(wav.close(), err)
	}
	return err
}

var _ beep.Streamer = (*tap)(nil)
