package main

import (
	"context"
	"fmt"

	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/outfile"
	"hornlark/drill/score"
)

// runVirtual goes through the exercise without a clock.
func (o *drillOptions) runVirtual(ctx context.Context, ex *desk.Exercise) error {
	var wav *outfile.File
	if to := &o.wav; to.path != "" {
		var err error
		if wav, err = to.create(ctx, o.streams, true); err != nil {
			return err
		}
		defer wav.Drop()
	}
	voices, err := voice.Open(voicesWith(ex.Bundle))
	if err != nil {
		return err
	}
	ex.Unheard = score.Virtual
	virtual := desk.Virtual{Length: desk.Spoken(voices)}
	if wav != nil {
		settings, err := loadSoundSettings()
		if err != nil {
			fmt.Fprintln(o.err, err)
		}
		file, err := desk.NewWAV(wav, voices, settings.level())
		if err != nil {
			return err
		}
		virtual.Take = file.Take
	}
	if err := ex.RunVirtual(ctx, virtual); err != nil {
		return err
	}
	if notice := voices.Notice(); notice != "" {
		fmt.Fprintln(o.err, notice)
	}
	return o.report(ex, "").give()
}
