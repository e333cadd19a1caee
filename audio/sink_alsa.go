//go:build linux && (amd64 || arm64)

package audio

import (
	"errors"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
	"syscall"
	"time"
	"unsafe"

	"github.com/gopxl/beep/v2"
)

const (
	alsaDevice   = "default"
	openDeadline = 5 * time.Second        // for a device to open: a driver can wait for its server for ever
	alsaWait     = 100 * time.Millisecond // for room in the buffer, before looking whether to stop
	alsaClose    = time.Second            // for a device that hangs to let go
	reopenEvery  = time.Second            // while the device is gone
	reopenSoon   = 200 * time.Millisecond // before a device that does not open at once counts as gone
	mostFailures = 5                      // in a row, before a device counts as gone
	ahead        = time.Second            // of sound that a device may take before its time
)

// alsaSink plays through ALSA's default device, which may be a sound server. It keeps the device's buffer full, asks the
// device with each request how long the next frame has to wait, and opens the device anew when it has gone.
type alsaSink struct {
	buffer   atomic.Int64 // as granted, ns
	wanted   atomic.Int64 // as asked for, ns
	grows    bool         // to a larger one once it has run dry
	device   atomic.Pointer[string]
	named    chan struct{} // closed once device is known
	pcm      *pcm
	stop     chan struct{}
	ended    chan struct{}
	fault    atomic.Pointer[error]
	started  bool
	closing  sync.Once
	failures int    // in a row, without a frame taken in between
	asking   Asking // of the request that is being made; touched only by the goroutine that makes it
}

// pcm is an open device.
type pcm struct {
	handle         handle
	buffer, period Frame
	name           string // as ALSA has it
}

// errDry ends a round of playing after which the device gets a larger buffer.
var errDry = errors.New("the sound device has run dry")

var errGone = errors.New("the sound device has gone")

var errSwallows = errors.New("the sound device takes sound faster than it can be heard")

// openSpeaker opens the default device with so much sound in its buffer. To find out what people call it takes as long as that, and is
// done beside it: sound can flow before.
func openSpeaker(buffer time.Duration) (Sink, error) {
	server := make(chan string, 1)
	go func() { server <- serverOutput() }()
	p, err := openPCM(buffer)
	if err != nil {
		return nil, err
	}
	s := &alsaSink{pcm: p, named: make(chan struct{}), stop: make(chan struct{}), ended: make(chan struct{})}
	s.wanted.Store(int64(buffer))
	s.buffer.Store(int64(p.buffer.Duration()))
	go func() {
		s.name(<-server, p.name)
		close(s.named)
	}()
	return s, nil
}

// name takes note of what the device is called: by the sound server, or else by ALSA.
func (s *alsaSink) name(server, alsa string) {
	name := deviceName(server, alsa)
	s.device.Store(&name)
}

// open opens the device anew. It is asked again what it is called where it may be another one.
func (s *alsaSink) open(other bool) (err error) {
	s.pcm, err = openPCM(time.Duration(s.wanted.Load()))
	if err == nil && other {
		<-s.named
		s.name(serverOutput(), s.pcm.name)
	}
	return err
}

// openPCM opens the device and gives up after openDeadline; a device that opens later is closed again.
func openPCM(buffer time.Duration) (*pcm, error) {
	if err := loadALSA(); err != nil {
		return nil, err
	}
	type opened struct {
		pcm *pcm
		err error
	}
	answer := make(chan opened)
	given := make(chan struct{})
	go func() {
		p, err := openNow(buffer)
		select {
		case answer <- opened{p, err}:
		case <-given:
			if p != nil {
				alsa.Close(p.handle)
			}
		}
	}()
	select {
	case o := <-answer:
		return o.pcm, o.err
	case <-time.After(openDeadline):
		close(given)
		return nil, fmt.Errorf("the sound device did not open within %v", openDeadline)
	}
}

func openNow(buffer time.Duration) (*pcm, error) {
	var device handle
	if rc := alsa.Open(&device, alsaDevice, alsaPlayback, alsaNonblock); rc < 0 {
		if syscall.Errno(-rc) == syscall.EBUSY {
			return nil, errors.New("another program has the sound device to itself; close that program")
		}
		return nil, ErrNoDevice
	}
	frames, period, step, rc := setUp(device, uint(Frames(buffer)))
	if rc < 0 {
		alsa.Close(device)
		if step == setRate {
			return nil, fmt.Errorf("the sound device does not take %d frames a second, and nothing converts them; choose another default device", Rate)
		}
		return nil, fmt.Errorf("the sound device refuses 16-bit stereo sound: %w", alsaError(rc))
	}
	return &pcm{handle: device, buffer: Frame(frames), period: max(1, Frame(period)), name: pcmName(device)}, nil
}

func (s *alsaSink) Start(source beep.Streamer) error {
	s.started = true
	go s.run(source)
	return nil
}

// run keeps the device full until Close. A device that fails is opened anew: at once if that has not just been done, for a
// server may drop a stream and take another; otherwise it has gone, and is tried again and again. One that has run dry is opened anew
// with a larger buffer: what it had has been heard by then, so nothing is lost but the time that this takes.
func (s *alsaSink) run(source beep.Streamer) {
	// The thread is not given back: it may have been given a priority that nothing else should run with.
	runtime.LockOSThread()
	defer close(s.ended)
	askRealtime(s.ended)
	var renewed time.Time
	for {
		err := s.play(source)
		alsa.Close(s.pcm.handle)
		if err == nil {
			return
		}
		if errors.Is(err, errSwallows) { // it would be the same again
			s.fault.Store(&err)
			return
		}
		before := s.wanted.Load()
		s.pcm, s.asking.Underran = nil, true
		switch {
		case errors.Is(err, errDry):
			s.wanted.Store(int64(larger(time.Duration(before))))
			if s.open(false) != nil { // it had not run dry but gone
				s.wanted.Store(before)
				err = errGone
			}
		case time.Since(renewed) > reopenEvery:
			s.open(true)
			renewed = time.Now()
		}
		if s.pcm == nil && !s.await(err) {
			return
		}
	}
}

// await tries to open a device that has gone for the reason why, until it is back or the sink is closed. Only a device that
// is not back soon is reported as gone: a busy sound server may refuse one stream and take the next.
func (s *alsaSink) await(why error) (back bool) {
	defer s.fault.Store(nil)
	for wait := reopenSoon; s.pcm == nil; wait = reopenEvery {
		select {
		case <-s.stop:
			return false
		case <-time.After(wait):
		}
		if s.open(true) != nil {
			s.fault.Store(&why)
		}
	}
	return true
}

// play keeps the device full. It gives nil when it was told to stop, and an error when the device has gone.
func (s *alsaSink) play(source beep.Streamer) error {
	p := s.pcm
	s.failures = 0
	s.buffer.Store(int64(p.buffer.Duration())) // not before the first request, with which the output learns of it
	began, taken := time.Now(), Frame(0)
	block, out := make([][2]float64, p.period), make([]int16, 2*p.period)
	for {
		select {
		case <-s.stop:
			alsa.Drop(p.handle)
			return nil
		default:
		}
		if rc := alsa.Wait(p.handle, int32(alsaWait.Milliseconds())); rc < 0 {
			if err := s.recover(rc); err != nil {
				return err
			}
		}
		if taken.Duration() > time.Since(began)+s.Latency()+ahead { // ALSA's null device, for one
			return errSwallows
		}
		var room, delay int
		if rc := alsa.AvailDelay(p.handle, &room, &delay); rc < 0 {
			if err := s.recover(rc); err != nil {
				return err
			}
			continue
		}
		for ; Frame(room) >= p.period; room -= int(p.period) {
			// The delay is that of what is queued, and more. It runs on between two periods while the queue stands still.
			queued := p.buffer - Frame(room)
			// Before the buffer has been filled once, it tells what is queued, and nothing of when that will be heard: a server may
			// take seconds to begin.
			s.asking.Delay = Frame(delay).Duration()
			s.asking.Told = Frame(delay) > 0 && Frame(delay) >= queued-p.period/2 && taken >= p.buffer/p.period*p.period
			source.Stream(block)
			s.asking.Underran = false
			for i, v := range block {
				out[2*i], out[2*i+1] = sample16(v[0]), sample16(v[1])
			}
			n := alsa.Write(p.handle, unsafe.Pointer(&out[0]), int(p.period))
			if n < 0 {
				if err := s.recover(int32(n)); err != nil {
					return err
				}
				break
			}
			delay += n
			taken += Frame(n)
			s.failures = 0
		}
	}
}

// recover goes on after an underrun or a suspension, and gives an error if the device has gone or is to be given a larger buffer.
func (s *alsaSink) recover(rc int32) error {
	if syscall.Errno(-rc) == syscall.EAGAIN {
		return nil
	}
	s.asking.Underran = true
	if wanted := s.Buffer(); s.grows && larger(wanted) > wanted {
		return errDry
	}
	if alsa.Recover(s.pcm.handle, rc, 1) == 0 {
		return nil
	}
	// A sound server's plugin gives an input/output error where a card gives an underrun. A device that is there can be
	// prepared again; one that fails at once after that has gone.
	s.failures++
	if again := alsa.Prepare(s.pcm.handle); again < 0 || s.failures > mostFailures {
		return fmt.Errorf("%w: %w", errGone, alsaError(rc))
	}
	return nil
}

// Asking tells of the request that is being made.
func (s *alsaSink) Asking() Asking { return s.asking }

func (s *alsaSink) Fault() error {
	if err := s.fault.Load(); err != nil {
		return *err
	}
	return nil
}

func (s *alsaSink) Latency() time.Duration { return time.Duration(s.buffer.Load()) }

// Grow allows the sink to go to a larger buffer once it has run dry.
func (s *alsaSink) Grow() { s.grows = true }

// Buffer is how much sound the device was last asked to keep ready.
func (s *alsaSink) Buffer() time.Duration { return time.Duration(s.wanted.Load()) }

// Device waits until it is known what the device is called, namingLimit at the most.
func (s *alsaSink) Device() string {
	<-s.named
	return *s.device.Load()
}

func (s *alsaSink) Close() error {
	s.closing.Do(func() {
		close(s.stop)
		if !s.started {
			alsa.Close(s.pcm.handle)
			return
		}
		select {
		case <-s.ended:
		case <-time.After(alsaClose):
		}
	})
	return nil
}
