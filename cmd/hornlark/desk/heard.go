package desk

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"time"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/drill"
)

// audible is something that is heard at a time.
type audible struct {
	at   time.Duration
	does func() error
}

// Tail is how long the sound of a kept sitting goes on after the last thing in it.
const Tail = time.Second

// Render writes the sitting as it was heard to a file, and completes it: every cue at its own onset, and a click for each key. heard is what
// the sitting asked for when it was gone through again.
func (k *Kept) Render(to *audio.Render, voices *voice.Library, heard []drill.Output) error {
	return k.RenderAt(to, voices, heard, func(at time.Duration) time.Duration { return at })
}

// RenderAt does the same with another time: when is the place in the file of a time of the sitting, and never runs back.
func (k *Kept) RenderAt(to *audio.Render, voices *voice.Library, heard []drill.Output, when func(time.Duration) time.Duration) (err error) {
	for _, m := range k.moments(&Sounder{Player: to, Voices: voices}, heard, when) {
		if err = to.AdvanceTo(m.at); err == nil {
			err = m.does()
		}
		if err != nil {
			break
		}
	}
	if err == nil {
		err = to.AdvanceTo(when(k.Lasted()) + Tail)
	}
	return errors.Join(err, to.Close())
}

// Sounded is a cue that was heard.
type Sounded struct {
	Cue    int           // its number
	At     time.Duration // its onset, or when it was due if nobody reported one
	Until  time.Duration // when it was called off; zero if it was not
	Output drill.Output  // a Say or a Sound
}

// Sounded gives the cues that were heard, in the order in which they were asked for. A cue that nobody heard begin was due
// all the same, unless it was called off before.
func (k *Kept) Sounded(heard []drill.Output) []Sounded {
	onset, quiet := map[int]time.Duration{}, map[int]time.Duration{}
	for _, in := range k.Inputs {
		if h, ok := in.Event.(drill.Heard); ok {
			onset[h.Cue] = h.Onset
		}
	}
	for _, o := range heard {
		if h, ok := o.(drill.Hush); ok {
			quiet[h.Cue] = h.Due
		}
	}
	var list []Sounded
	for _, o := range heard {
		var c Sounded
		switch o := o.(type) {
		case drill.Say:
			c = Sounded{Cue: o.Cue, At: o.Due, Output: o}
		case drill.Sound:
			c = Sounded{Cue: o.Cue, At: o.Due, Output: o}
		default:
			continue
		}
		if at, ok := onset[c.Cue]; ok {
			c.At = at
		}
		c.At = max(0, c.At)
		end, hushed := quiet[c.Cue]
		if hushed && end <= c.At {
			continue
		}
		c.Until = end
		list = append(list, c)
	}
	return list
}

// cueAs gives a cue another number and another time.
func cueAs(o drill.Output, id int, due time.Duration) drill.Output {
	switch o := o.(type) {
	case drill.Say:
		o.Cue, o.Due = id, due
		return o
	case drill.Sound:
		o.Cue, o.Due = id, due
		return o
	}
	return o
}

// moments puts all that is heard in the order in which it was, at its place in the file.
func (k *Kept) moments(on *Sounder, heard []drill.Output, when func(time.Duration) time.Duration) []audible {
	var list []audible
	for _, c := range k.Sounded(heard) {
		at := when(c.At)
		list = append(list, audible{at, func() error { return on.CarryOut(cueAs(c.Output, c.Cue, at)) }})
	}
	for _, o := range heard {
		switch o := o.(type) {
		case drill.Hush:
			o.Due = when(o.Due)
			list = append(list, audible{o.Due, func() error { return on.CarryOut(o) }})
		case drill.Loudness:
			o.Due = when(o.Due)
			list = append(list, audible{o.Due, func() error { return on.CarryOut(o) }})
		}
	}
	click := NewClick()
	for i, in := range k.Inputs {
		if _, ok := in.Event.(drill.Press); ok {
			cue := audio.Cue{ID: -1 - i, Due: when(in.At), Sound: click, Rank: audio.Speech}
			list = append(list, audible{cue.Due, func() error { return on.Player.Play(cue) }})
		}
	}
	slices.SortStableFunc(list, func(a, b audible) int { return cmp.Compare(a.at, b.at) })
	return list
}

// NewClick makes the sound of a key: a knock of 1.8 kHz that is over within 12 ms. Our own figures: short, and above the
// pitches of the alerts, so that nobody takes it for one.
func NewClick() audio.Sound {
	const pitch, length, decay, peak = 1800, 0.012, 0.002, 6000
	pcm := make([]int16, int(length*audio.Rate))
	for i := range pcm {
		t := float64(i) / audio.Rate
		pcm[i] = int16(peak * math.Exp(-t/decay) * math.Sin(2*math.Pi*pitch*t))
	}
	return audio.Sound{PCM: pcm}
}
