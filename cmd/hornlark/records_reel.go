package main

import (
	"context"
	"fmt"
	"time"

	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/screen"
	"hornlark/cmd/hornlark/web"
)

// reel writes the sitting as a page that moves.
func (k *keptSitting) reel(ctx context.Context, s streams, to *output) error {
	file, err := to.create(ctx, s, false)
	if err != nil {
		return err
	}
	defer file.Drop()
	if err := desk.CheckTones(k.Ex.Profile); err != nil {
		return err
	}
	voices, err := voice.Open(voicesWith(k.Ex.Bundle))
	if err != nil {
		return err
	}
	result := k.Ex.Judge()
	r := k.report(s)
	r.weigh(result)
	layout, err := screen.ParseLayout(k.Layout)
	if err != nil { // records may come from elsewhere, or be damaged
		layout = screen.QWERTY
	}
	shown := s.progress("writing the sitting")
	page := web.Reel{
		Kept: k.Kept, Head: r.head(), Result: result, Voices: voices, Layout: layout,
		Progress: func(at, of time.Duration) { shown.at(int(at.Seconds()), int(of.Seconds())) },
	}
	err = page.Write(ctx, file)
	shown.end()
	if err != nil {
		return err
	}
	if err := file.Keep(); err != nil {
		return err
	}
	if notice := voices.Notice(); notice != "" {
		fmt.Fprintln(s.err, notice)
	}
	return nil
}
