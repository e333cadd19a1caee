// Package audio makes everything that is heard, and knows when it was heard.
//
// One stream of frames runs for the whole sitting. A cue is written into it at an exact frame ahead of time; the
// times at which the device asks for frames, fitted against the frames asked for, say when each one is audible. So an
// onset is reported from a count of frames and never from the moment at which somebody called Play.
//
//	Mixer    cues in, frames out: ranks, ducking, limiter
//	Sink     where frames go: the loudspeaker, or nowhere at the same pace
//	Output   a live sitting: mixer, sink, frame clock, reports
//	Render   a sitting without a clock, into a WAV file
package audio

import (
	"math"
	"time"
)

// Rate is the number of frames a second, everywhere: clips are resampled once, when they are made.
const Rate = 48000

// Frame counts frames of sound: a length, or a place in a stream. One frame is 1/Rate of a second.
type Frame int64

// Frames gives the nearest whole number of frames to d.
func Frames(d time.Duration) Frame {
	return Frame(math.Round(d.Seconds() * Rate))
}

// Duration gives the time that f frames take, to the nearest nanosecond.
func (f Frame) Duration() time.Duration {
	whole, rest := f/Rate, f%Rate
	return time.Duration(whole)*time.Second + time.Duration(math.Round(float64(rest)*1e9/Rate))
}

// Sound is something to be heard, decoded: one channel of 16-bit samples at Rate. One channel, because whoever has
// only one side of a headset on must miss nothing. A Sound is shared and never changed after it has been made.
type Sound struct {
	PCM []int16
}

// Frames gives the length of the sound.
func (s Sound) Frames() Frame { return Frame(len(s.PCM)) }

// Duration gives the length of the sound; of a loop, the length of one round.
func (s Sound) Duration() time.Duration { return s.Frames().Duration() }

// Rank orders cues by how badly they need to be heard. While a cue sounds, those of every lower rank are ducked.
type Rank int

// The ranks, lowest first.
const (
	Speech Rank = iota
	Caution
	Warning
	ranks
)

// Cue is one sound at one time.
type Cue struct {
	ID    int           // number of the cue, for Stop and for its Report; unique among the cues not yet over
	Due   time.Duration // when its first sample is to be heard, since Begin
	Sound Sound
	Loop  bool // sounds until it is stopped; otherwise once
	Rank  Rank
}

// Report says when a cue was heard.
type Report struct {
	Cue   int           // its ID
	Onset time.Duration // when its first sample was audible, since Begin
	End   time.Duration // when its last one is; zero for a loop

	Silent bool // nobody can have heard it: there is no device, by choice or not, or it takes nothing; the times are when it would have been
}

// Ideal gives the report of a cue that is heard exactly when it is due, as in a sitting without a clock.
func (c Cue) Ideal() Report {
	r := Report{Cue: c.ID, Onset: c.Due}
	if !c.Loop {
		r.End = c.Due + c.Sound.Duration()
	}
	return r
}
