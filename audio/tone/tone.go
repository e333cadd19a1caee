// Package tone makes the aural alerts from the figures in sounds/tones.yaml.
package tone

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"
	"time"

	"hornlark/audio"
	"hornlark/audio/form"
	"hornlark/sounds"
)

// Named gives a tone by its name. A tone that Loops is one round of it. The first call for a tone makes it, which takes some 10 ms.
func Named(name string) (audio.Sound, error) {
	set, err := builtIn()
	if err != nil {
		return audio.Sound{}, err
	}
	if err := set.has(name); err != nil {
		return audio.Sound{}, err
	}
	return set.sounds[name](), nil
}

// Known gives nil if there is a tone of this name, and otherwise an error that names those that there are. It makes none.
func Known(name string) error {
	set, err := builtIn()
	if err != nil {
		return err
	}
	return set.has(name)
}

// Names gives the names of all tones, sorted.
func Names() []string {
	set, err := builtIn()
	if err != nil {
		return nil
	}
	return slices.Clone(set.names)
}

// Loops says whether a tone goes on until it is stopped.
func Loops(name string) bool {
	set, err := builtIn()
	return err == nil && set.book.Tones[name].Loop
}

// Check says what is wrong with the text of a file of the form of sounds/tones.yaml.
func Check(data []byte) error {
	_, err := load(data)
	return err
}

// set is a book of tones with the sounds made from it, each when it is first asked for.
type set struct {
	book   book
	names  []string
	sounds map[string]func() audio.Sound
}

func (s *set) has(name string) error {
	if _, ok := s.sounds[name]; !ok {
		return fmt.Errorf("tone: there is no %q; there are %s", name, strings.Join(s.names, ", "))
	}
	return nil
}

var builtIn = sync.OnceValues(func() (*set, error) {
	data, err := sounds.Files.ReadFile(sounds.Tones)
	if err != nil {
		return nil, fmt.Errorf("tone: %w", err)
	}
	return load(data)
})

// book is the file.
type book struct {
	Timbres map[string][]partial `yaml:"timbres"`
	Tones   map[string]tone      `yaml:"tones"`
}

type tone struct {
	Timbre string        `yaml:"timbre"`
	Level  float64       `yaml:"level"`  // peak, dB of full scale
	Length time.Duration `yaml:"length"` // with the silence after the last note
	Loop   bool          `yaml:"loop"`
	Notes  []note        `yaml:"notes"`
}

type note struct {
	At    time.Duration `yaml:"at"`
	For   time.Duration `yaml:"for"`
	Pitch float64       `yaml:"pitch"` // of the fundamental, Hz
	To    float64       `yaml:"to"`    // Hz that it glides to; 0 for none
	Gain  float64       `yaml:"gain"`  // dB
	Rise  time.Duration `yaml:"rise"`  // from nothing to full, in a straight line
	Fall  time.Duration `yaml:"fall"`
	Decay time.Duration `yaml:"decay"` // to 1/e; 0 for none
}

type partial struct {
	Ratio float64 `yaml:"ratio"` // to the fundamental
	Gain  float64 `yaml:"gain"`  // dB
}

// Limits of what a file may ask for.
const (
	maxTones    = 64
	maxNotes    = 64
	maxPartials = 32
	maxLength   = 10 * time.Second
	maxLevel    = -6.0 // dB: above it the mixer's limiter would colour the tone
)

func load(data []byte) (*set, error) {
	s := &set{sounds: map[string]func() audio.Sound{}}
	if err := form.Decode(data, &s.book); err != nil {
		return nil, fmt.Errorf("tone: %s: %w", sounds.Tones, err)
	}
	if len(s.book.Tones) == 0 || len(s.book.Tones) > maxTones {
		return nil, fmt.Errorf("tone: %s: it has %d tones; give 1 to %d", sounds.Tones, len(s.book.Tones), maxTones)
	}
	s.names = slices.Sorted(maps.Keys(s.book.Tones))
	for _, name := range s.names {
		t := s.book.Tones[name]
		partials := s.book.Timbres[t.Timbre]
		if err := t.check(partials); err != nil {
			return nil, fmt.Errorf("tone: %s: %s: %w", sounds.Tones, name, err)
		}
		s.sounds[name] = sync.OnceValue(func() audio.Sound { return t.make(partials) })
	}
	return s, nil
}

func (t tone) check(partials []partial) error {
	switch {
	case len(partials) == 0:
		return fmt.Errorf("there is no timbre %q with partials; add one under timbres", t.Timbre)
	case len(partials) > maxPartials:
		return fmt.Errorf("timbre %q has %d partials; give at most %d", t.Timbre, len(partials), maxPartials)
	case !(t.Level <= maxLevel && t.Level >= -audio.LevelRange):
		return fmt.Errorf("level %g is out of range; give %g to %g dB", t.Level, -audio.LevelRange, maxLevel)
	case t.Length <= 0 || t.Length > maxLength:
		return fmt.Errorf("length %v is out of range; give up to %v", t.Length, maxLength)
	case len(t.Notes) == 0 || len(t.Notes) > maxNotes:
		return fmt.Errorf("it has %d notes; give 1 to %d", len(t.Notes), maxNotes)
	}
	for _, p := range partials {
		if !(p.Ratio >= 1 && p.Ratio <= 64) || !(p.Gain <= 0 && p.Gain >= -60) {
			return fmt.Errorf("timbre %q: a partial has ratio %g and gain %g; give a ratio of 1 to 64 and a gain of -60 to 0 dB", t.Timbre, p.Ratio, p.Gain)
		}
	}
	for i, n := range t.Notes {
		if err := n.check(t.Length, partials); err != nil {
			return fmt.Errorf("notes[%d]: %w", i, err)
		}
	}
	return nil
}

func (n note) check(length time.Duration, partials []partial) error {
	switch {
	case n.At < 0 || n.For <= 0 || n.At+n.For > length:
		return fmt.Errorf("it runs from %v for %v, outside the tone; keep it within %v", n.At, n.For, length)
	case n.Rise < 0 || n.Fall < 0 || n.Decay < 0 || n.Rise+n.Fall > n.For:
		return errors.New("rise and fall do not fit into it; make it longer")
	case !(n.Gain <= 0 && n.Gain >= -60):
		return fmt.Errorf("gain %g is out of range; give -60 to 0 dB", n.Gain)
	}
	top := max(n.Pitch, n.To)
	for _, p := range partials {
		if !(n.Pitch > 0 && n.To >= 0) || !(float64(p.Ratio*top) < audio.Rate/2) {
			return fmt.Errorf("pitch %g to %g Hz with a partial at %g times that is out of range; stay between 0 and %d Hz", n.Pitch, n.To, p.Ratio, audio.Rate/2)
		}
	}
	return nil
}

// make adds the notes up and brings their peak to the tone's level.
func (t tone) make(partials []partial) audio.Sound {
	sum := make([]float64, audio.Frames(t.Length))
	for _, n := range t.Notes {
		n.add(sum, partials)
	}
	var peak float64
	for _, v := range sum {
		peak = max(peak, math.Abs(v))
	}
	scale := 0.0
	if peak > 0 {
		scale = decibels(t.Level) / peak
	}
	pcm := make([]int16, len(sum))
	for i, v := range sum {
		pcm[i] = int16(math.Round(float64(v*scale) * 32767))
	}
	return audio.Sound{PCM: pcm}
}

// add adds the note to what sounds already.
func (n note) add(sum []float64, partials []partial) {
	first := int(audio.Frames(n.At))
	count := min(int(audio.Frames(n.For)), len(sum)-first)
	gain := decibels(n.Gain)
	amplitudes, offsets := make([]float64, len(partials)), make([]float64, len(partials))
	for k, p := range partials {
		amplitudes[k] = decibels(p.Gain)
		// Phases that grow as the square of the partial's number keep the peak low: M. R. Schroeder, IEEE
		// Transactions on Information Theory 16 (1970), from memory.
		offsets[k] = float64(k*k) / float64(2*len(partials))
	}
	for i := range count {
		at := float64(i) / audio.Rate
		phase := n.cycles(at)
		var v float64
		for k, p := range partials {
			turns := float64(p.Ratio*phase) + offsets[k]
			turns -= math.Floor(turns) // the same as the rest after a division, in a quarter of the time of all of this
			v += float64(amplitudes[k] * math.Sin(2*math.Pi*turns))
		}
		sum[first+i] += float64(v * gain * n.envelope(at))
	}
}

// cycles gives how often the fundamental has gone round after at seconds of a glide that is straight in Hz.
func (n note) cycles(at float64) float64 {
	if n.To == 0 {
		return n.Pitch * at
	}
	return float64(n.Pitch*at) + float64((n.To-n.Pitch)*at*at)/(2*n.For.Seconds())
}

// envelope gives the amplitude of the note after at seconds.
func (n note) envelope(at float64) float64 {
	e := 1.0
	if rise := n.Rise.Seconds(); at < rise {
		e = at / rise
	}
	if left := n.For.Seconds() - at; left < n.Fall.Seconds() {
		e *= left / n.Fall.Seconds()
	}
	if n.Decay > 0 {
		e *= math.Exp(-at / n.Decay.Seconds())
	}
	return e
}

func decibels(db float64) float64 { return math.Pow(10, db/20) }
