package desk

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

// Player is what cues are played on: the sound of a live sitting, or the file of one without a clock.
type Player interface {
	// Play has a cue heard when it is due.
	Play(audio.Cue) error

	// Stop ends the cue of that number at a time, or calls it off.
	Stop(id int, due time.Duration)
}

// Lowered is a Player that an instructor can turn down and off.
type Lowered interface {
	// Lower has everything heard by db below the level that was set, 0 at most, or not at all.
	Lower(on bool, db float64)
}

// Sounder carries out what a sitting wants to be heard.
type Sounder struct {
	Player Player
	Voices *voice.Library
	Mute   bool // nobody hears it: silence that lasts as long does
}

// stillness is what is played instead of a clip that nobody hears, as long as the longest of them.
var stillness = sync.OnceValue(func() audio.Sound { return audio.Sound{PCM: make([]int16, audio.Rate*60)} })

// clip gives the clip of a phrase, or silence of its length.
func (s *Sounder) clip(who, text string) (audio.Sound, error) {
	if !s.Mute {
		return s.Voices.Clip(who, text)
	}
	length := audio.Frames(s.Voices.Duration(who, text))
	still := stillness()
	return audio.Sound{PCM: still.PCM[:max(1, min(length, still.Frames()))]}, nil
}

// CarryOut plays or stops what an output asks for. A phrase without a voice stays text, and is no error.
func (s *Sounder) CarryOut(o drill.Output) error {
	switch o := o.(type) {
	case drill.Say:
		clip, err := s.clip(string(o.Voice), o.Text)
		if errors.Is(err, voice.ErrNoVoice) {
			return nil
		}
		if err != nil {
			return err
		}
		return s.Player.Play(audio.Cue{ID: o.Cue, Due: o.Due, Sound: clip, Rank: audio.Speech})
	case drill.Sound:
		sound, err := tone.Named(o.Tone)
		if err != nil {
			return err
		}
		return s.Player.Play(audio.Cue{ID: o.Cue, Due: o.Due, Sound: sound, Loop: o.Loop, Rank: rankOf(o.Level)})
	case drill.Hush:
		s.Player.Stop(o.Cue, o.Due)
	case drill.Loudness:
		if player, ok := s.Player.(Lowered); ok {
			player.Lower(o.On, o.DB)
		}
	}
	return nil
}

// CheckTones looks whether there is a tone for every alert of a profile. The error is of the first that has none.
func CheckTones(p *aircraft.Profile) error {
	for i := range p.Alerts {
		if err := tone.Known(p.Alerts[i].Tone); err != nil {
			return err
		}
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
