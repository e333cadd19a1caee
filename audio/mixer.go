package audio

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// What the mixer does to sounds that meet.
const (
	// RampTime is how long a fade takes: a stopped cue, a duck, a change of level. 20 to 30 ms neither clicks nor
	// startles: R. D. Patterson, Guidelines for Auditory Warning Systems on Civil Aircraft (CAA Paper 82017, 1982),
	// from memory.
	RampTime = 25 * time.Millisecond

	// DuckDB is how far a cue is turned down while one of a higher rank sounds, in dB. An alert has to stand 13 dB
	// above what masks it in some third of an octave (ISO 7731:2003, danger signals); the alerts are made louder than
	// speech to begin with, and the rest comes from here.
	DuckDB = 10.0

	// PeakDB is a level that the sum never reaches, in dB of full scale, whatever plays together.
	PeakDB = -3.0

	// MaxCues is how many cues can wait or sound at one time.
	MaxCues = 256
)

// LevelRange is how far the whole output can be turned down, in dB. Whoever sits there cannot turn it off: an alert may
// be quiet but not inaudible (MIL-STD-1472E 5.3.6.2 to 5.3.6.4). An instructor can: 14 CFR Part 60, Appendix D, Table D3A, 10.h.
const LevelRange = 40.0

// DefaultLevel is the level of the sound, in dB, until somebody has set it: the volume of the machine is not known then. What it comes
// to is measured by TestNothingIsLouderThanTheSoundCheck of the program.
const DefaultLevel = -24.0

// LevelStep is how far one press of a key turns the level, in dB: a change that is heard and not startling. Ours.
const LevelStep = 3.0

// Why a cue is refused.
var (
	ErrTooMany   = fmt.Errorf("audio: more than %d cues are waiting or sounding; stop some first", MaxCues)
	ErrDuplicate = errors.New("audio: a cue with this number is waiting or sounding already; give each cue its own number")
	ErrEmpty     = errors.New("audio: the sound is empty; a cue needs at least one sample")
)

const (
	rampFrames = Frame(Rate * int64(RampTime) / int64(time.Second))
	never      = Frame(math.MaxInt64)
	gone       = math.MinInt // number of a part that only fades out
)

var duckGain = math.Pow(10, -DuckDB/20)

// A Mixer adds cues up into one stream that never ends. It is a beep.Streamer. The samples depend only on which cue
// was put at which frame, never on the sizes of the blocks that are asked for. It is not safe for use by several
// goroutines at once.
type Mixer struct {
	next   Frame  // that the next call of Stream begins with
	parts  []part // waiting or sounding
	duck   [ranks]slide
	level  slide
	gain   float64 // that the level goes to while the output is on
	off    bool
	rank   Rank // the highest that is sounding
	silent bool // nothing is sounding
}

// part is one cue in the mix.
type part struct {
	id    int
	pcm   []int16
	loop  bool
	rank  Rank
	start Frame
	stop  Frame // where its fade begins, or never
}

// end is the frame after the last one that is heard of p.
func (p *part) end() Frame {
	end := never
	if !p.loop {
		end = p.start + Frame(len(p.pcm))
	}
	if p.stop != never {
		end = min(end, p.stop+rampFrames)
	}
	return end
}

// slide is a gain on its way to another one, a step a frame.
type slide struct{ now, to, step float64 }

func slideAt(gain float64) slide { return slide{now: gain, to: gain} }

// turn makes the gain arrive at to in RampTime from now.
func (s *slide) turn(to float64) {
	if to == s.to {
		return
	}
	s.to, s.step = to, (to-s.now)/float64(rampFrames)
}

func (s *slide) advance() {
	if s.now == s.to {
		return
	}
	s.now += s.step
	if (s.step > 0) == (s.now > s.to) {
		s.now = s.to
	}
}

// NewMixer gives a mixer with nothing in it, at a level of 0 dB.
func NewMixer() *Mixer {
	m := &Mixer{level: slideAt(1), gain: 1, silent: true}
	for r := range m.duck {
		m.duck[r] = slideAt(1)
	}
	return m
}

// Next gives the frame that the next call of Stream begins with.
func (m *Mixer) Next() Frame { return m.next }

// Add puts a cue into the mix, its first sample at frame start, or at the next frame if start is past. It gives the
// frame at which the cue really starts. c.Due is not looked at.
func (m *Mixer) Add(c Cue, start Frame) (Frame, error) {
	switch {
	case len(c.Sound.PCM) == 0:
		return 0, ErrEmpty
	case len(m.parts) >= MaxCues:
		return 0, ErrTooMany
	case m.find(c.ID) >= 0:
		return 0, ErrDuplicate
	}
	start = max(start, m.next)
	rank := min(max(c.Rank, Speech), Warning)
	m.parts = append(m.parts, part{id: c.ID, pcm: c.Sound.PCM, loop: c.Loop, rank: rank, start: start, stop: never})
	return start, nil
}

// Stop fades a cue out from frame at, or from the next frame if that is past; one that would not have begun by then
// is cancelled. It says whether anything is, was or will be heard of the cue.
func (m *Mixer) Stop(id int, at Frame) bool {
	i := m.find(id)
	if i < 0 {
		return false
	}
	at = max(at, m.next)
	p := &m.parts[i]
	if p.start >= at {
		m.parts = append(m.parts[:i], m.parts[i+1:]...)
		return false
	}
	p.stop = min(p.stop, at)
	return true
}

// StopAll fades out everything that sounds and cancels everything that waits. The numbers are free at once.
func (m *Mixer) StopAll() {
	kept := m.parts[:0]
	for _, p := range m.parts {
		if p.start < m.next {
			p.id, p.stop = gone, min(p.stop, m.next)
			kept = append(kept, p)
		}
	}
	m.parts = kept
}

// SetLevel turns the whole output to db, 0 at most and -LevelRange at least.
func (m *Mixer) SetLevel(db float64) {
	m.gain = levelGain(db)
	m.turn()
}

// SetOff turns the whole output off, or on again at its level.
func (m *Mixer) SetOff(off bool) {
	m.off = off
	m.turn()
}

func (m *Mixer) turn() {
	if m.off {
		m.level.turn(0)
		return
	}
	m.level.turn(m.gain)
}

func levelGain(db float64) float64 {
	return math.Pow(10, min(max(db, -LevelRange), 0)/20)
}

func (m *Mixer) find(id int) int {
	for i := range m.parts {
		if m.parts[i].id == id {
			return i
		}
	}
	return -1
}

// Stream fills samples with the next frames of the mix, the same in both ears.
func (m *Mixer) Stream(samples [][2]float64) (int, bool) {
	for rest := samples; len(rest) > 0; {
		m.settle()
		n := m.steady(Frame(len(rest)))
		m.mix(rest[:n])
		m.next += n
		rest = rest[n:]
	}
	return len(samples), true
}

// Err is always nil: a mixer does not fail.
func (m *Mixer) Err() error { return nil }

// settle drops the parts that are over and turns the ducks to what sounds now.
func (m *Mixer) settle() {
	kept := m.parts[:0]
	m.silent, m.rank = true, Speech
	for _, p := range m.parts {
		if p.end() <= m.next {
			continue
		}
		kept = append(kept, p)
		if p.start <= m.next {
			m.silent, m.rank = false, max(m.rank, p.rank)
		}
	}
	clear(m.parts[len(kept):])
	m.parts = kept
	for r := range m.duck {
		to := 1.0
		if Rank(r) < m.rank {
			to = duckGain
		}
		m.duck[r].turn(to)
	}
}

// steady says for how many of the next n frames the same parts sound.
func (m *Mixer) steady(n Frame) Frame {
	for i := range m.parts {
		p := &m.parts[i]
		if p.start > m.next {
			n = min(n, p.start-m.next)
		} else {
			n = min(n, p.end()-m.next)
		}
	}
	return n
}

// mix writes frames during which the same parts sound.
func (m *Mixer) mix(out [][2]float64) {
	if m.silent && m.steadyGains() {
		clear(out)
		return
	}
	for i := range out {
		at := m.next + Frame(i)
		for r := range m.duck {
			m.duck[r].advance()
		}
		m.level.advance()
		var sum float64
		if !m.silent {
			sum = m.sum(at)
		}
		v := limit(float64(sum * m.level.now))
		out[i] = [2]float64{v, v}
	}
}

// steadyGains says that no gain is on its way to another.
func (m *Mixer) steadyGains() bool {
	for _, s := range m.duck {
		if s.now != s.to {
			return false
		}
	}
	return m.level.now == m.level.to
}

func (m *Mixer) sum(at Frame) float64 {
	var sum float64
	for i := range m.parts {
		p := &m.parts[i]
		if at < p.start {
			continue
		}
		pos := at - p.start
		if p.loop {
			pos %= Frame(len(p.pcm))
		}
		v := float64(p.pcm[pos]) / 32768
		if at >= p.stop {
			v *= 1 - float64(at-p.stop)/float64(rampFrames)
		}
		sum += float64(v * m.duck[p.rank].now)
	}
	return sum
}

// The limiter leaves everything below its knee alone and bends what is above towards a ceiling just below PeakDB that
// it never reaches. It has no memory, so that it cannot pump, and a slope without a corner.
const (
	limitKnee    = 0.5  // -6 dB
	limitCeiling = 0.70 // -3.1 dB
)

func limit(x float64) float64 {
	a := math.Abs(x)
	if a <= limitKnee {
		return x
	}
	u := (a - limitKnee) / (limitCeiling - limitKnee)
	return math.Copysign(limitKnee+float64((limitCeiling-limitKnee)*(u/(1+u))), x)
}
