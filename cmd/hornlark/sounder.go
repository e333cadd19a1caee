package main

import (
	"context"
	"errors"
	"time"

	"hornlark/audio"
	"hornlark/audio/tone"
	"hornlark/audio/voice"
	"hornlark/drill"
	"hornlark/drill/aircraft"
)

// player is what cues are played on: the sound of a live sitting, or the file of one without a clock.
type player interface {
	Play(audio.Cue) error
	Stop(id int, due time.Duration)
}

// sounder carries out what a sitting wants to be heard.
type sounder struct {
	player player
	voices *voice.Library
}

// carryOut plays or stops what an output asks for. A phrase without a voice stays text, and is no error.
func (s *sounder) carryOut(o drill.Output) error {
	switch o := o.(type) {
	case drill.Say:
		clip, err := s.voices.Clip(string(o.Voice), o.Text)
		if errors.Is(err, voice.ErrNoVoice) {
			return nil
		}
		if err != nil {
			return err
		}
		return s.player.Play(audio.Cue{ID: o.Cue, Due: o.Due, Sound: clip, Rank: audio.Speech})
	case drill.Sound:
		sound, err := tone.Named(o.Tone)
		if err != nil {
			return err
		}
		return s.player.Play(audio.Cue{ID: o.Cue, Due: o.Due, Sound: sound, Loop: o.Loop, Rank: rankOf(o.Level)})
	case drill.Hush:
		s.player.Stop(o.Cue, o.Due)
	}
	return nil
}

// rankOf puts alerts above speech, and warnings above everything.
func rankOf(level aircraft.Level) audio.Rank {
	if level == aircraft.Warning {
		return audio.Warning
	}
	return audio.Caution
}

// playOnce plays one sound to its end.
func playOnce(ctx context.Context, out *audio.Output, sound audio.Sound) error {
	out.Begin(time.Now())
	if err := out.Play(audio.Cue{ID: 1, Due: out.Lead(), Sound: sound}); err != nil {
		return err
	}
	select {
	case <-time.After(out.Lead() + sound.Duration()):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
