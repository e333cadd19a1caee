package audio

import (
	"io"
	"time"
)

// Render is a sitting without a clock: what would be heard goes into a WAV file, or elsewhere, and every cue is heard when it is due.
// Frame 0 of the file is time 0 of the sitting. The same calls give the same file, byte for byte.
type Render struct {
	mix   *Mixer
	level float64 // dB
	write func([]int16) error
	close func() error
	block [][2]float64
	pcm   []int16
}

const renderBlock = 4096

// NewRender begins a WAV file in w, at a level of db (0 at most). w stays open after Close: it belongs to the caller.
func NewRender(w io.WriteSeeker, db float64) (*Render, error) {
	wav, err := newWAVWriter(w)
	if err != nil {
		return nil, err
	}
	return newRender(wav.write, wav.close, db), nil
}

// RenderTo has whoever takes samples get them instead of a file, in order and as many at a time as it comes.
func RenderTo(take func([]int16) error, db float64) *Render {
	return newRender(take, func() error { return nil }, db)
}

func newRender(write func([]int16) error, end func() error, db float64) *Render {
	r := &Render{mix: NewMixer(), write: write, close: end, block: make([][2]float64, renderBlock), pcm: make([]int16, renderBlock)}
	r.level = min(db, 0)
	r.mix.level, r.mix.gain = slideAt(levelGain(db)), levelGain(db)
	return r
}

// Play puts a cue into the file at the time at which it is due, or at once if that is past.
func (r *Render) Play(c Cue) error {
	_, err := r.mix.Add(c, Frames(c.Due))
	return err
}

// Stop fades a cue out at due, or at once if that is past; one that would not have begun by then is cancelled.
func (r *Render) Stop(id int, due time.Duration) { r.mix.Stop(id, Frames(due)) }

// Lower has everything from here on written by db below the level of the file, 0 at most, or not at all.
func (r *Render) Lower(on bool, db float64) {
	r.mix.SetLevel(r.level + min(db, 0))
	r.mix.SetOff(!on)
}

// AdvanceTo writes the file as far as time t.
func (r *Render) AdvanceTo(t time.Duration) error {
	for to := Frames(t); r.mix.Next() < to; {
		n := min(to-r.mix.Next(), renderBlock)
		r.mix.Stream(r.block[:n])
		for i, v := range r.block[:n] {
			r.pcm[i] = sample16(v[0])
		}
		if err := r.write(r.pcm[:n]); err != nil {
			return err
		}
	}
	return nil
}

// Close completes the file.
func (r *Render) Close() error { return r.close() }
