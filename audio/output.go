package audio

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
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
	pollEvery   = 100 * time.Millisecond
	settleSpan  = 400 * time.Millisecond // of steady pulls before the sound is called ready
	settleLimit = 4 * time.Second        // a sound server may take 2 s to find its pace
	tellLimit   = 6 * time.Second        // and more to know its delay
	stallAfter  = 500 * time.Millisecond // without a pull, before the device is asked what is wrong
	lostAfter   = 2 * time.Second        // without a pull, before the device is given up whatever it says
	backAfter   = 10                     // polls in a row with pulls, before a lost device is taken back
	wavBacklog  = 512                    // blocks that may wait for a slow disk: more than 2 s of sound
	maxLeadIn   = 10 * time.Second       // of silence put in front of a WAV file
)

// When the sound is good enough for reaction times to mean something.
const (
	slopeLimit    = 0.005                // off the nominal rate
	residualLimit = 4 * time.Millisecond // standard deviation of pulls about the line
)

// NoDevice is the notice of an output that found no device.
const NoDevice = "No sound device was found; the sitting is silent."

// ErrNotBegun is the answer to a cue that is played before Begin.
var ErrNotBegun = errors.New("audio: no sitting has begun; call Begin first")

// Options say how to open an Output. The zero value is a loudspeaker with the default buffer at full level.
type Options struct {
	Buffer time.Duration    // how much sound is kept ready, MinBuffer to MaxBuffer; 0 for DefaultBuffer
	Silent bool             // no device: frames are dropped at the nominal pace
	Level  float64          // of everything, in dB: 0 at most, -LevelRange at least
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
	tap     *tap // that feeds the sink now
	lost    *tap // that fed a device which has gone, and may come back
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
	o.mix.level = slideAt(levelGain(options.Level))
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
	if err := o.attach(sink); err != nil {
		sink.Close()
		return err
	}
	if err := o.settle(sink); err != nil {
		sink.Close()
		return err
	}
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
	if _, silent := t.sink.(*silentSink); !silent && o.options.Latency != nil {
		o.added = o.options.Latency(t.sink.Device())
	}
}

// settle waits until the device asks for frames at a steady pace. A request or two means nothing: the library fills its
// own buffer without a device.
func (o *Output) settle(sink Sink) error {
	began, asked := o.clock(), false
	for {
		time.Sleep(10 * time.Millisecond)
		now := o.clock()
		o.mu.Lock()
		idle := now.Sub(o.tap.last)
		o.fit.beginAfterGap(2 * o.options.Buffer)
		_, tells := sink.(asker)
		ready := o.tap.told || !tells || now.Sub(began) > tellLimit
		steady := ready && o.fit.span() >= settleSpan && math.Abs(o.fit.line.slope-1) < 2*slopeLimit
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
		o.started = append(o.started, start{cue: r.cue, frame: frame, epoch: o.epoch, onset: o.heard(frame)})
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
	r := Report{Cue: s.cue.ID, Onset: s.onset - o.zero}
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
	o.attach(newSilentSink(o.options.Buffer, o.clock))
}

// takeBack returns to a device that had been given up and is asking for frames again.
func (o *Output) takeBack(t *tap) {
	o.mu.Lock()
	silent := o.tap.sink
	o.use(t)
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
	case h.WorstGap > 2*o.options.Buffer:
		return fmt.Sprintf("the sound has stuttered: %d ms between two requests of the device, with %d ms in its buffer",
			h.WorstGap.Milliseconds(), o.options.Buffer.Milliseconds())
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
	defer o.mu.Unlock()
	return o.tap.sink.Device()
}

// Buffer is how much sound is kept ready.
func (o *Output) Buffer() time.Duration { return o.options.Buffer }

// Lead is how far ahead a cue has to be due to be heard on time: the whole buffer, and the half of it that may have
// been filled a moment ago.
func (o *Output) Lead() time.Duration {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.latency() + o.options.Buffer/2
}

// SetLevel turns everything to db: 0 at most, -LevelRange at least.
func (o *Output) SetLevel(db float64) {
	o.mu.Lock()
	defer o.mu.Unlock()
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

// oneLine makes an error fit into a line of text: a driver may list every device that it has tried.
func oneLine(err error) string {
	const most = 140
	line := []rune(strings.Join(strings.Fields(err.Error()), " "))
	if len(line) > most {
		line = append(line[:most], '…')
	}
	return strings.TrimRight(string(line), ".")
}

var _ beep.Streamer = (*tap)(nil)
