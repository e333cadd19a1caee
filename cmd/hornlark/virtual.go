package main

import (
	"context"
	"fmt"
	"time"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/outfile"
	"hornlark/drill"
	"hornlark/drill/score"
)

// virtualLead stands in for the sound device's: with it a virtual sitting takes as long as a live one.
const virtualLead = 60 * time.Millisecond

// runVirtual goes through the exercise without a clock.
func (o *drillOptions) runVirtual(ctx context.Context, ex *exercise) error {
	var wav *outfile.File
	if to := &o.wav; to.path != "" {
		var err error
		if wav, err = to.create(ctx, o.streams, true); err != nil {
			return err
		}
		defer wav.Drop()
	}
	voices, err := voice.Open(voice.Options{})
	if err != nil {
		return err
	}
	sitting, trainee, err := ex.sitting(virtualLead)
	if err != nil {
		return err
	}
	ex.unheard = score.Virtual
	take := ex.keepLog
	if wav != nil {
		settings, err := loadSoundSettings()
		if err != nil {
			fmt.Fprintln(o.err, err)
		}
		file, err := newWAV(wav, voices, settings.level())
		if err != nil {
			return err
		}
		take = func(out drill.Output) error {
			ex.keepLog(out)
			return file.take(out)
		}
	}
	length := func(v drill.Voice, text string) time.Duration { return voices.Duration(string(v), text) }
	if err := drill.Run(sitting, trainee, length, whileWanted(ctx, take)); err != nil {
		return err
	}
	if notice := voices.Notice(); notice != "" {
		fmt.Fprintln(o.err, notice)
	}
	return o.report(ex, "").give()
}

// whileWanted goes on with what a sitting gives until the context ends.
func whileWanted(ctx context.Context, take func(drill.Output) error) func(drill.Output) error {
	return func(o drill.Output) error {
		if err := context.Cause(ctx); err != nil {
			return err
		}
		return take(o)
	}
}

// keepLog keeps the entries of the log for the score.
func (ex *exercise) keepLog(o drill.Output) error {
	if l, ok := o.(drill.Log); ok {
		ex.log = append(ex.log, l.Entry)
	}
	return nil
}

// wavFile is the sound of a virtual sitting.
type wavFile struct {
	file   *outfile.File
	render *audio.Render
	desk.Sounder
}

// newWAV begins the file. Its level is that of sittings: it is heard with the same headphones.
func newWAV(file *outfile.File, voices *voice.Library, level float64) (*wavFile, error) {
	render, err := audio.NewRender(file, level)
	if err != nil {
		return nil, err
	}
	w := &wavFile{file: file, render: render}
	w.Sounder = desk.Sounder{Player: render, Voices: voices}
	return w, nil
}

// take writes the file up to the moment of an output, and then carries it out. An output is due a lead after the
// sitting asked for it, so nothing that is asked for later can lie before what has been written.
func (w *wavFile) take(o drill.Output) error {
	var due time.Duration
	switch o := o.(type) {
	case drill.Say:
		due = o.Due
	case drill.Sound:
		due = o.Due
	case drill.Hush:
		due = o.Due
	case drill.Log:
		return w.render.AdvanceTo(o.Entry.At - virtualLead)
	case drill.Ended:
		return w.close()
	}
	if err := w.render.AdvanceTo(due - virtualLead); err != nil {
		return err
	}
	return w.CarryOut(o)
}

// close completes the file.
func (w *wavFile) close() error {
	if err := w.render.Close(); err != nil {
		return err
	}
	return w.file.Keep()
}
