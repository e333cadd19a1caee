package main

import (
	"errors"
	"sync"
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
	mute   bool // nobody hears it: silence that lasts as long does
}

// stillness is what is played instead of a clip that nobody hears, as long as the longest of them.
var stillness = sync.OnceValue(func() audio.Sound { return audio.Sound{PCM: make([]int16, audio.Rate*60)} })

// clip gives the clip of a phrase, or silence of its length.
func (s *sounder) clip(who, text string) (audio.Sound, error) {
	if !s.mute {
		return s.voices.Clip(who, text)
	}
	length := audio.Frames(s.voices.Duration(who, text))
	still := stillness()
	return audio.Sound{PCM: still.PCM[:max(1, min(length, still.Frames()))]}, nil
}

// carryOut plays or stops what an output asks for. A phrase without a voice stays text, and is no error.
func (s *sounder) carryOut(o drill.Output) error {
	switch o := o.(type) {
	case drill.Say:
		clip, err := s.clip(string(o.Voice), o.Text)
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
