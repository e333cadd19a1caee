package main

import (
	"context"
	"fmt"
	"os"
	"time"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/drill"
)

// virtualLead stands in for the sound device's: with it a virtual sitting takes as long as a live one.
const virtualLead = 60 * time.Millisecond

// runVirtual goes through the exercise without a clock.
func (ex *exercise) runVirtual(ctx context.Context) error {
	voices, err := voice.Open(voice.Options{})
	if err != nil {
		return err
	}
	sitting, trainee, err := ex.sitting(virtualLead)
	if err != nil {
		return err
	}
	take := ex.keepLog
	if ex.options.wav != "" {
		settings, err := loadSoundSettings()
		if err != nil {
			fmt.Fprintln(ex.options.err, err)
		}
		file, err := newWAV(ex.options.wav, voices, settings.level())
		if err != nil {
			return err
		}
		defer file.abandon()
		take = func(o drill.Output) error {
			ex.keepLog(o)
			return file.take(o)
		}
	}
	length := func(v drill.Voice, text string) time.Duration { return voices.Duration(string(v), text) }
	if err := drill.Run(sitting, trainee, length, whileWanted(ctx, take)); err != nil {
		return err
	}
	if notice := voices.Notice(); notice != "" {
		fmt.Fprintln(ex.options.err, notice)
	}
	return ex.report("")
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
	path   string
	file   *os.File
	render *audio.Render
	sounder
	done bool
}

// newWAV begins the file. Its level is that of sittings: it is heard with the same headphones.
func newWAV(path string, voices *voice.Library, level float64) (*wavFile, error) {
	file, err := os.Create(path)
	if err != nil {
		return nil, usageError{fmt.Errorf("the sound cannot be written: %w", err)}
	}
	render, err := audio.NewRender(file, level)
	if err != nil {
		file.Close()
		return nil, err
	}
	w := &wavFile{path: path, file: file, render: render}
	w.sounder = sounder{player: render, voices: voices}
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
	return w.carryOut(o)
}

// close completes the file.
func (w *wavFile) close() error {
	w.done = true
	if err := w.render.Close(); err != nil {
		return fmt.Errorf("%s: %w", w.path, err)
	}
	return w.file.Close()
}

// abandon closes a file that was not completed.
func (w *wavFile) abandon() {
	if !w.done {
		w.close()
	}
}
