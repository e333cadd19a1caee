package main

import (
	"context"
	"errors"
	"fmt"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/outfile"
)

// opening is the sound and the voices of a sitting, opened beside whatever else makes it ready: a device takes its time, and so do
// the documents.
type opening struct {
	settings *soundSettings
	sound    *audio.Output
	voices   *voice.Library
	wav      *outfile.File
	begun    bool // there has been a sitting, whose sound is kept
	err      error
	done     chan struct{} // closed when all of these are there, or err is
}

// beginOpening begins to open the sound as the options say. An error means that they are wrong.
func beginOpening(ctx context.Context, o *drillOptions) (*opening, error) {
	p := &opening{done: make(chan struct{})}
	var err error
	if p.settings, err = loadSoundSettings(); err != nil {
		fmt.Fprintln(o.err, err)
	}
	options := p.settings.options()
	options.Silent, options.Early, options.Grow = o.silent, true, true
	if o.wav.path != "" {
		if p.wav, err = o.wav.create(ctx, o.streams, true); err != nil {
			return nil, err
		}
		options.WAV = p.wav
	}
	spoken := make(chan error, 1)
	go func() {
		var err error
		p.voices, err = voice.Open(p.settings.voicesOf(o.scenario))
		spoken <- err
	}()
	go func() {
		defer close(p.done)
		p.sound, p.err = p.settings.openOutput(options)
		p.err = errors.Join(p.err, <-spoken)
	}()
	return p, nil
}

// wait waits until everything is open. Whoever ends the context does not have to wait for a device that takes seconds.
func (p *opening) wait(ctx context.Context) error {
	select {
	case <-p.done:
		return p.err
	case <-ctx.Done():
		return errNotBegun
	}
}

// close closes what was opened. What is not open yet is closed as soon as it is, without waiting for it.
func (p *opening) close() error {
	select {
	case <-p.done:
		return p.shut()
	default:
		go func() {
			<-p.done
			p.shut()
		}()
		return nil
	}
}

func (p *opening) shut() (err error) {
	if p.sound != nil {
		err = p.sound.Close()
	}
	switch {
	case p.wav == nil:
	case p.begun && err == nil:
		return p.wav.Keep()
	case p.begun:
		err = fmt.Errorf("%w, and has been removed; hornlark replay --wav writes it again from the records", err)
		fallthrough
	default:
		p.wav.Drop()
	}
	return err
}
