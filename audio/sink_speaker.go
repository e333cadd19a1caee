//go:build darwin || windows || (cgo && !(linux && (amd64 || arm64)))

package audio

import (
	"errors"
	"fmt"
	"runtime"
	"sync"
	"time"

	"github.com/gopxl/beep/v2"
	"github.com/gopxl/beep/v2/speaker"
)

const (
	speakerDeadline = 5 * time.Second        // for the driver to open a device
	faultDeadline   = 500 * time.Millisecond // for it to say what is wrong
)

// theSpeaker is the process's one loudspeaker: the library below can be opened once and never closed.
var theSpeaker struct {
	sync.Mutex
	opened chan struct{} // closed when speaker.Init has returned; nil before it was called
	buffer time.Duration // that it was opened with
	err    error         // of speaker.Init
}

// speakerSink plays through the default device.
type speakerSink struct {
	buffer time.Duration
}

// openSpeaker opens the default device with so much sound in its buffers, or finds it open with what it was opened
// with. It gives up after speakerDeadline: a driver can wait for its server for ever.
func openSpeaker(buffer time.Duration) (Sink, error) {
	theSpeaker.Lock()
	if theSpeaker.opened == nil {
		theSpeaker.opened = make(chan struct{})
		theSpeaker.buffer = buffer
		go func() {
			theSpeaker.err = speaker.Init(Rate, int(Frames(buffer)))
			close(theSpeaker.opened)
		}()
	}
	opened, granted := theSpeaker.opened, theSpeaker.buffer
	theSpeaker.Unlock()

	select {
	case <-opened:
	case <-time.After(speakerDeadline):
		return nil, fmt.Errorf("the sound device did not open within %v", speakerDeadline)
	}
	if theSpeaker.err != nil {
		return nil, theSpeaker.err
	}
	return &speakerSink{buffer: granted}, nil
}

func (s *speakerSink) Start(source beep.Streamer) error {
	speaker.Play(source)
	return nil
}

// Fault asks the driver for the error that it has kept to itself. The only call that gives it is Suspend, which costs
// a running device its buffer: so it is asked only when frames have stopped flowing.
func (s *speakerSink) Fault() error {
	answer := make(chan error, 1)
	go func() {
		if err := speaker.Suspend(); err != nil {
			answer <- err
			return
		}
		answer <- speaker.Resume()
	}()
	select {
	case err := <-answer:
		return innermost(err)
	case <-time.After(faultDeadline):
		return errNoAnswer
	}
}

// innermost takes off what the libraries between here and the driver have put around its error.
func innermost(err error) error {
	for {
		inner := errors.Unwrap(err)
		if inner == nil {
			return err
		}
		err = inner
	}
}

// Latency is the whole of the buffers: the library keeps them full. Recordings of a sound server without hardware came
// 1 to 2 ms earlier at 20 ms and up to 2 ms later at 40 and 100 ms, differently each time that the device was opened.
// What a converter, a cable or a radio link adds cannot be seen from here.
func (s *speakerSink) Latency() time.Duration { return s.buffer }

func (s *speakerSink) Device() string {
	switch runtime.GOOS {
	case "windows":
		return "default device (WASAPI)"
	case "darwin":
		return "default device (Core Audio)"
	}
	return "default device (ALSA)"
}

func (s *speakerSink) Close() error {
	speaker.Clear()
	return nil
}

// Way says how sound gets to the loudspeaker on this machine.
func Way() (string, error) { return "the system's own", nil }
