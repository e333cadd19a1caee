package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/screen"
	"hornlark/cmd/hornlark/walk"
)

// walk shows the sitting on the screen to be gone through moment by moment, with its sounds or silently.
func (k *keptSitting) walk(ctx context.Context, s streams, silent bool) (err error) {
	through, err := k.through()
	if err != nil {
		return err
	}
	if len(through.Moments) == 0 {
		return errors.New("nothing is known of this sitting: there is nothing to go through")
	}
	// Clips are made ready as they are asked for: here nothing is timed by them.
	settings, err := loadSoundSettings()
	if err != nil {
		fmt.Fprintln(s.err, err)
	}
	voices, err := voice.Open(settings.voicesOf(k.Ex.Bundle))
	if err != nil {
		return err
	}
	if err := desk.CheckTones(k.Ex.Profile); err != nil {
		return err
	}
	options := settings.options()
	options.Silent, options.Grow = silent, true
	sound, err := settings.openOutput(options)
	if err != nil {
		return err
	}
	began := time.Now()
	sound.Begin(began)
	over := make(chan struct{})
	go func() { // nobody needs to know when it was heard, but the reports have to go somewhere
		for {
			select {
			case <-sound.Reports():
			case <-over:
				return
			}
		}
	}()
	soonest := func() time.Duration { return time.Since(began) + sound.Lead() }
	again := desk.NewRelistener(&desk.Sounder{Player: sound, Voices: voices}, soonest, k.Sounded(through.Heard))
	defer func() {
		again.Quiet()
		close(over)
		err = errors.Join(err, sound.Close())
	}()
	return screen.Walk{Moments: through.Moments, Sound: again}.Run(ctx, screen.Options{
		Profile: k.Ex.Profile, Title: titleOf(k.Ex.Bundle), Policy: k.Ex.Policy(), Silent: sound.Health().Silent,
	})
}

// through makes moments of the sitting.
func (k *keptSitting) through() (*walk.Walk, error) {
	return walk.Through(k.Begin(), k.Inputs, k.Lasted(), k.Ex.Profile, namesOf(k.Ex), k.Ex.Judge())
}
