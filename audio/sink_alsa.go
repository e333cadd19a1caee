//go:build linux && cgo

package audio

/*
#cgo pkg-config: alsa
#include <alsa/asoundlib.h>

// ALSA and its plugins explain every failure on standard error, in the middle of a screen. What matters comes back as an
// error number anyway.
static void hush(const char *file, int line, const char *function, int err, const char *fmt, ...) {}

static void hushALSA(void) { snd_lib_error_set_handler(hush); }

// setUp asks for 16-bit frames of two channels at exactly rate, in a buffer of about buffer frames, and gives what was
// granted. step is the call that failed, for the message.
static int setUp(snd_pcm_t *pcm, unsigned rate, snd_pcm_uframes_t *buffer, snd_pcm_uframes_t *period, int *step) {
	snd_pcm_hw_params_t *hw;
	snd_pcm_sw_params_t *sw;
	int err;
	snd_pcm_hw_params_alloca(&hw);
	snd_pcm_sw_params_alloca(&sw);
	*step = 0;
	if ((err = snd_pcm_hw_params_any(pcm, hw)) < 0) return err;
	if ((err = snd_pcm_hw_params_set_rate_resample(pcm, hw, 1)) < 0) return err;
	if ((err = snd_pcm_hw_params_set_access(pcm, hw, SND_PCM_ACCESS_RW_INTERLEAVED)) < 0) return err;
	if ((err = snd_pcm_hw_params_set_format(pcm, hw, SND_PCM_FORMAT_S16)) < 0) return err;
	if ((err = snd_pcm_hw_params_set_channels(pcm, hw, 2)) < 0) return err;
	*step = 1;
	if ((err = snd_pcm_hw_params_set_rate(pcm, hw, rate, 0)) < 0) return err;
	*step = 2;
	if ((err = snd_pcm_hw_params_set_buffer_size_near(pcm, hw, buffer)) < 0) return err;
	*period = *buffer / 3; // each period costs a round through the sound server, and too few of them leave no room for delay
	if ((err = snd_pcm_hw_params_set_period_size_near(pcm, hw, period, 0)) < 0) return err;
	if ((err = snd_pcm_hw_params(pcm, hw)) < 0) return err;
	if ((err = snd_pcm_hw_params_get_buffer_size(hw, buffer)) < 0) return err;
	if ((err = snd_pcm_hw_params_get_period_size(hw, period, 0)) < 0) return err;
	if ((err = snd_pcm_sw_params_current(pcm, sw)) < 0) return err;
	if ((err = snd_pcm_sw_params_set_start_threshold(pcm, sw, *buffer / *period * *period)) < 0) return err;
	if ((err = snd_pcm_sw_params_set_avail_min(pcm, sw, *period)) < 0) return err;
	return snd_pcm_sw_params(pcm, sw);
}

static const char *nameOf(snd_pcm_t *pcm) {
	snd_pcm_info_t *info;
	snd_pcm_info_alloca(&info);
	if (snd_pcm_info(pcm, info) < 0) return "";
	return snd_pcm_info_get_name(info);
}
*/
import "C"

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
	buffer   time.Duration // as granted
	wanted   time.Duration
	device   atomic.Pointer[string]
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
	handle         *C.snd_pcm_t
	buffer, period Frame
	name           string
}

var hushOnce sync.Once

var errSwallows = errors.New("the sound device takes sound faster than it can be heard")

// openSpeaker opens the default device with so much sound in its buffer.
func openSpeaker(buffer time.Duration) (Sink, error) {
	p, err := openPCM(buffer)
	if err != nil {
		return nil, err
	}
	s := &alsaSink{
		buffer: p.buffer.Duration(), wanted: buffer, pcm: p,
		stop: make(chan struct{}), ended: make(chan struct{}),
	}
	s.device.Store(&p.name)
	return s, nil
}

// openPCM opens the device and gives up after openDeadline; a device that opens later is closed again.
func openPCM(buffer time.Duration) (*pcm, error) {
	hushOnce.Do(func() { C.hushALSA() })
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
				C.snd_pcm_close(p.handle)
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
	name := C.CString(alsaDevice)
	defer C.free(unsafe.Pointer(name))
	var handle *C.snd_pcm_t
	if rc := C.snd_pcm_open(&handle, name, C.SND_PCM_STREAM_PLAYBACK, C.SND_PCM_NONBLOCK); rc < 0 {
		if syscall.Errno(-rc) == syscall.EBUSY {
			return nil, errors.New("another program has the sound device to itself; close that program")
		}
		return nil, ErrNoDevice
	}
	frames, period, step := C.snd_pcm_uframes_t(Frames(buffer)), C.snd_pcm_uframes_t(0), C.int(0)
	if rc := C.setUp(handle, Rate, &frames, &period, &step); rc < 0 {
		C.snd_pcm_close(handle)
		if step == 1 {
			return nil, fmt.Errorf("the sound device does not take %d frames a second, and nothing converts them; choose another default device", Rate)
		}
		return nil, fmt.Errorf("the sound device refuses 16-bit stereo sound: %w", alsaError(rc))
	}
	p := &pcm{handle: handle, buffer: Frame(frames), period: max(1, Frame(period))}
	p.name = describeDevice(C.GoString(C.nameOf(handle)))
	return p, nil
}

func alsaError[T ~int32 | ~int64](rc T) error {
	return errors.New(C.GoString(C.snd_strerror(C.int(rc))))
}

func (s *alsaSink) Start(source beep.Streamer) error {
	s.started = true
	go s.run(source)
	return nil
}

// run keeps the device full until Close. A device that fails is opened anew: at once if that has not just been done, for a
// server may drop a stream and take another; otherwise it has gone, and is tried again and again.
func (s *alsaSink) run(source beep.Streamer) {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	defer close(s.ended)
	var renewed time.Time
	for {
		err := s.play(source)
		C.snd_pcm_close(s.pcm.handle)
		if err == nil {
			return
		}
		if errors.Is(err, errSwallows) { // it would be the same again
			s.fault.Store(&err)
			return
		}
		s.pcm, s.asking.Underran = nil, true
		if time.Since(renewed) > reopenEvery {
			s.pcm, _ = openPCM(s.wanted)
			renewed = time.Now()
		}
		if s.pcm == nil && !s.await(err) {
			return
		}
		s.device.Store(&s.pcm.name)
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
		if s.pcm, _ = openPCM(s.wanted); s.pcm == nil {
			s.fault.Store(&why)
		}
	}
	return true
}

// play keeps the device full. It gives nil when it was told to stop, and an error when the device has gone.
func (s *alsaSink) play(source beep.Streamer) error {
	p := s.pcm
	s.failures = 0
	began, taken := time.Now(), Frame(0)
	block, out := make([][2]float64, p.period), make([]int16, 2*p.period)
	for {
		select {
		case <-s.stop:
			C.snd_pcm_drop(p.handle)
			return nil
		default:
		}
		if rc := C.snd_pcm_wait(p.handle, C.int(alsaWait.Milliseconds())); rc < 0 {
			if err := s.recover(int(rc)); err != nil {
				return err
			}
		}
		if taken.Duration() > time.Since(began)+s.buffer+ahead { // ALSA's null device, for one
			return errSwallows
		}
		var room, delay C.snd_pcm_sframes_t
		if rc := C.snd_pcm_avail_delay(p.handle, &room, &delay); rc < 0 {
			if err := s.recover(int(rc)); err != nil {
				return err
			}
			continue
		}
		for ; Frame(room) >= p.period; room -= C.snd_pcm_sframes_t(p.period) {
			// The delay is that of what is queued, and more. It runs on between two periods while the queue stands still.
			queued := p.buffer - Frame(room)
			s.asking.Delay, s.asking.Told = Frame(delay).Duration(), Frame(delay) > 0 && Frame(delay) >= queued-p.period/2
			source.Stream(block)
			s.asking.Underran = false
			for i, v := range block {
				out[2*i], out[2*i+1] = sample16(v[0]), sample16(v[1])
			}
			n := C.snd_pcm_writei(p.handle, unsafe.Pointer(&out[0]), C.snd_pcm_uframes_t(p.period))
			if n < 0 {
				if err := s.recover(int(n)); err != nil {
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

// recover goes on after an underrun or a suspension, and gives an error if the device has gone.
func (s *alsaSink) recover(rc int) error {
	if syscall.Errno(-rc) == syscall.EAGAIN {
		return nil
	}
	s.asking.Underran = true
	if C.snd_pcm_recover(s.pcm.handle, C.int(rc), 1) == 0 {
		return nil
	}
	// A sound server's plugin gives an input/output error where a card gives an underrun. A device that is there can be
	// prepared again; one that fails at once after that has gone.
	s.failures++
	if again := C.snd_pcm_prepare(s.pcm.handle); again < 0 || s.failures > mostFailures {
		return fmt.Errorf("the sound device has gone: %w", alsaError(C.int(rc)))
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

func (s *alsaSink) Latency() time.Duration { return s.buffer }

func (s *alsaSink) Device() string { return *s.device.Load() }

func (s *alsaSink) Close() error {
	s.closing.Do(func() {
		close(s.stop)
		if !s.started {
			C.snd_pcm_close(s.pcm.handle)
			return
		}
		select {
		case <-s.ended:
		case <-time.After(alsaClose):
		}
	})
	return nil
}
