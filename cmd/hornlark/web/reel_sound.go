package web

import (
	"bytes"
	"context"
	"time"

	"hornlark/audio"
	"hornlark/audio/flac"
	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
)

// How the sound of a reel is packed. Speech ends below 8 kHz and the tones below 6, so half of the frames say all of it. Two bits are left out
// at the lower end: what they held is 50 dB below speech at this level, and below what the coder of the clips left out.
const (
	reelRate   = audio.Rate / 2
	reelWasted = 2
)

// SoundOf mixes the sitting as it was heard, without its pauses, and packs it. Every cue is at its own onset, ducked and ranked as in the
// sitting, with a click for each key. It is never louder than a sitting is before anybody has set a level: whose headphones these will be,
// nobody knows. each is called with how far it is; its error, or the end of the context, ends it.
func SoundOf(ctx context.Context, k *desk.Kept, tape *Tape, voices *voice.Library, each func(at time.Duration)) ([]byte, error) {
	var out bytes.Buffer
	length := audio.Frames(tape.Length + desk.Tail)
	pack, err := flac.NewWriter(&out, reelRate, int64(length+1)/2, reelWasted)
	if err != nil {
		return nil, err
	}
	half := halver{}
	var done, given audio.Frame
	take := func(pcm []int16) error {
		if err := context.Cause(ctx); err != nil {
			return err
		}
		done += audio.Frame(len(pcm))
		if each != nil {
			each(done.Duration())
		}
		made := half.take(pcm)
		given += audio.Frame(len(made))
		return pack.Write(made)
	}
	if err := k.RenderAt(audio.RenderTo(take, audio.DefaultLevel), voices, tape.Heard, tape.Running); err != nil {
		return nil, err
	}
	// What the filter still holds.
	rest := half.take(make([]int16, len(halfBand)))
	if err := pack.Write(rest[:min(audio.Frame(len(rest)), (length+1)/2-given)]); err != nil {
		return nil, err
	}
	if err := pack.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// halfBand is a filter that lets through what half of the frames can hold: a sine over its argument under a window of Blackman, in parts of
// 2^15, for every other frame beside the middle one, which has a half. Its other figures are nothing.
var halfBand = [...]int32{-2, 28, -106, 288, -661, 1392, -3012, 10265, 10265, -3012, 1392, -661, 288, -106, 28, -2}

// halver leaves every other frame out. What comes out at a time is what went in then: the filter looks as far ahead as it looks back.
type halver struct {
	held []int16 // frames that are still looked at
	made bool    // the silence before the first frame is in held
}

const reach = len(halfBand) - 1 // frames on either side of the middle

func (h *halver) take(pcm []int16) []int16 {
	if !h.made {
		h.held, h.made = make([]int16, reach), true
	}
	h.held = append(h.held, pcm...)
	var out []int16
	for at := reach; at+reach < len(h.held); at += 2 {
		sum := int32(h.held[at]) << 14
		for i, c := range halfBand {
			sum += c * int32(h.held[at-reach+2*i])
		}
		v := (sum + 1<<(14+reelWasted)) >> (15 + reelWasted) << reelWasted
		out = append(out, int16(min(max(v, -32768), 32767)))
	}
	used := 2 * len(out)
	h.held = append(h.held[:0], h.held[used:]...)
	return out
}
