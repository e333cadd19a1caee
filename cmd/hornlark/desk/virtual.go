package desk

import (
	"context"
	"io"
	"time"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/drill"
)

// VirtualLead stands in for the sound device's: with it a virtual sitting takes as long as a live one.
const VirtualLead = 60 * time.Millisecond

// Virtual is what there is to a sitting without a clock beside its exercise and its answers.
type Virtual struct {
	Length drill.Length             // of phrases; nil: estimated
	Begun  func(*drill.Sitting)     // is given the sitting before anything has happened; nil: nobody
	Take   func(drill.Output) error // gets every output, in order, once its entry is in the log of the exercise; nil: nobody
}

// Spoken gives the lengths of phrases as voices say them.
func Spoken(voices *voice.Library) drill.Length {
	return func(v drill.Voice, text string) time.Duration { return voices.Duration(string(v), text) }
}

// RunVirtual goes through the exercise with its answers, as fast as it goes, until it ends or the context does, whose cause is the error
// then. Other errors are those of the answers and of Take.
func (ex *Exercise) RunVirtual(ctx context.Context, v Virtual) error {
	sitting, trainee, err := ex.Sit(VirtualLead)
	if err != nil {
		return err
	}
	if v.Begun != nil {
		v.Begun(sitting)
	}
	length := v.Length
	if length == nil {
		length = drill.EstimatedLength
	}
	var hand drill.Hand
	if trainee != nil {
		hand = trainee
	}
	return drill.Run(sitting, hand, length, func(o drill.Output) error {
		if err := context.Cause(ctx); err != nil {
			return err
		}
		ex.Take(o)
		if v.Take == nil {
			return nil
		}
		return v.Take(o)
	})
}

// File is where the sound of a sitting is written. It has its name once it is kept.
type File interface {
	io.WriteSeeker

	// Keep completes the file.
	Keep() error

	// Drop takes away a file that has not been kept.
	Drop()
}

// WAV is the sound of a virtual sitting, written to a file.
type WAV struct {
	file   File
	render *audio.Render
	Sounder
}

// NewWAV begins the file, at the level in dB of live sittings: it is heard with the same headphones.
func NewWAV(file File, voices *voice.Library, level float64) (*WAV, error) {
	render, err := audio.NewRender(file, level)
	if err != nil {
		return nil, err
	}
	return &WAV{file: file, render: render, Sounder: Sounder{Player: render, Voices: voices}}, nil
}

// Take writes the file up to the moment of an output, and then carries it out; the last one keeps it. An output is due a lead after the
// sitting asked for it, so nothing that is asked for later can lie before what has been written.
func (w *WAV) Take(o drill.Output) error {
	var due time.Duration
	switch o := o.(type) {
	case drill.Say:
		due = o.Due
	case drill.Sound:
		due = o.Due
	case drill.Hush:
		due = o.Due
	case drill.Loudness:
		due = o.Due
	case drill.Log:
		return w.render.AdvanceTo(o.Entry.At - VirtualLead)
	case drill.Ended:
		return w.close()
	}
	if err := w.render.AdvanceTo(due - VirtualLead); err != nil {
		return err
	}
	return w.CarryOut(o)
}

// close completes the file.
func (w *WAV) close() error {
	if err := w.render.Close(); err != nil {
		return err
	}
	return w.file.Keep()
}
