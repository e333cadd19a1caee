package desk

import (
	"context"
	"errors"

	"hornlark/audio"
	"hornlark/audio/voice"
)

// Opening is the sound and the voices of a sitting, opened beside whatever else makes it ready: a device takes its time, and so do
// the documents.
type Opening struct {
	Sound  *audio.Output  // once Wait has given nil
	Voices *voice.Library // likewise

	err  error
	done chan struct{} // closed when both are there, or err is
}

// Open begins to open both.
func Open(sound func() (*audio.Output, error), voices func() (*voice.Library, error)) *Opening {
	p := &Opening{done: make(chan struct{})}
	spoken := make(chan error, 1)
	go func() {
		var err error
		p.Voices, err = voices()
		spoken <- err
	}()
	go func() {
		defer close(p.done)
		p.Sound, p.err = sound()
		p.err = errors.Join(p.err, <-spoken)
	}()
	return p
}

// Wait waits until everything is open. Whoever ends the context does not have to wait for a device that takes seconds: NotBegun.
func (p *Opening) Wait(ctx context.Context) error {
	select {
	case <-p.done:
		return p.err
	case <-ctx.Done():
		return NotBegun
	}
}

// Close closes what was opened. What is not open yet is closed as soon as it is, without waiting for it. after is called once the sound is
// closed, with the error of that; what it gives is what Close gives, if it has waited.
func (p *Opening) Close(after func(error) error) error {
	select {
	case <-p.done:
		return p.shut(after)
	default:
		go func() {
			<-p.done
			p.shut(after)
		}()
		return nil
	}
}

func (p *Opening) shut(after func(error) error) (err error) {
	if p.Sound != nil {
		err = p.Sound.Close()
	}
	return after(err)
}
