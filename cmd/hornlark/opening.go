package main

import (
	"context"
	"fmt"
	"io"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/outfile"
)

// opening is the sound and the voices of a sitting that are being opened, by the settings of the sound, and the file that gets what is heard.
type opening struct {
	*desk.Opening
	settings *soundSettings
	wav      *outfile.File // nil: none
	begun    bool          // there has been a sitting, whose sound is kept
}

// beginOpening begins to open the sound as the options say. An error means that they are wrong.
func beginOpening(ctx context.Context, o *drillOptions) (*opening, error) {
	p := &opening{}
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
	quiet := *o
	quiet.err = io.Discard
	p.Opening = desk.Open(
		func() (*audio.Output, error) { return p.settings.openOutput(options) },
		func() (*voice.Library, error) { return voice.Open(quiet.voices(p.settings)) },
	)
	return p, nil
}

// voices are the options of the voices. They are wanted beside the documents, and so these are read for them again where there are courses,
// to know of which of them the sitting is; what is wrong with the documents is an error elsewhere.
func (o *drillOptions) voices(settings *soundSettings) voice.Options {
	if !coursesThere() {
		return settings.voices()
	}
	b, err := o.bundle()
	if err != nil {
		return settings.voices()
	}
	return settings.voicesOf(b)
}

// close closes what was opened, without waiting for what is not open yet.
func (p *opening) close() error { return p.Close(p.settle) }

// settle keeps the file of a sitting once its sound is closed, or takes it away if there was none.
func (p *opening) settle(err error) error {
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
