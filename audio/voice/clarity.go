package voice

import (
	"math"
	"slices"

	"hornlark/audio"
)

// How speech is made to carry through the noise of a cabin. High-pass filtering followed by rapid compression raises the
// consonants, which tell words apart, against the vowels, which are merely loud: R. J. Niederjohn and J. H. Grotelueschen,
// IEEE Transactions on Acoustics, Speech and Signal Processing 24 (1976), from memory. Theirs is drastic; these figures are
// our own and gentler, found by having every clip heard by a speech recogniser.
const (
	lowCutHz     = 500.0 // below it 12 dB an octave are taken away: there the cabin is loudest, and words hold least
	presenceHz   = 2000.0
	presenceDB   = 8.0   // that are added above presenceHz
	squeezePower = 0.5   // half of the range in dB is left
	squeezeRange = 24.0  // dB below the loudest moment in which it works; what lies below is not raised further
	squeezeFall  = 0.015 // s in which the measured level falls to 1/e, short enough for single sounds of speech
)

// clarify makes speech at audio.Rate carry through noise. It changes loudness: that is set afterwards.
func clarify(x []float64) []float64 {
	cut, shelf := highPass(lowCutHz), highShelf(presenceHz, presenceDB)
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = shelf.step(cut.step(v))
	}
	levels := follow(y)
	loudest := peak(levels)
	if loudest == 0 {
		return y
	}
	floor := loudest * math.Pow(10, -squeezeRange/20)
	for i := range y {
		y[i] *= math.Pow(max(levels[i], floor)/loudest, -squeezePower)
	}
	return y
}

// follow gives the level of x at each moment: it rises at once and falls slowly, forwards and backwards, so that a sound
// that sets in suddenly does not find the gain of the silence before it.
func follow(x []float64) []float64 {
	levels := trail(x)
	slices.Reverse(x)
	before := trail(x)
	slices.Reverse(x)
	for i := range levels {
		levels[i] = max(levels[i], before[len(before)-1-i])
	}
	return levels
}

// trail gives the level of x after each moment.
func trail(x []float64) []float64 {
	keep := math.Exp(-1 / (squeezeFall * audio.Rate))
	levels := make([]float64, len(x))
	level := 0.0
	for i, v := range x {
		level = max(math.Abs(v), float64(keep*level))
		levels[i] = level
	}
	return levels
}

// highPass is a Butterworth filter of second order, and highShelf a shelf of slope 1: Audio EQ Cookbook, W3C Working Group
// Note (2021), with its names.
func highPass(hz float64) biquad {
	sin, cos := math.Sincos(2 * math.Pi * hz / audio.Rate)
	alpha := sin / math.Sqrt2
	return normalised((1+cos)/2, -(1 + cos), (1+cos)/2, 1+alpha, -2*cos, 1-alpha)
}

func highShelf(hz, db float64) biquad {
	sin, cos := math.Sincos(2 * math.Pi * hz / audio.Rate)
	a := math.Pow(10, db/40)
	s := math.Sqrt(a) * sin * math.Sqrt2 // 2 sqrt(A) alpha
	up, down := a+1, a-1
	return normalised(
		a*(up+float64(down*cos)+s), -2*a*(down+float64(up*cos)), a*(up+float64(down*cos)-s),
		up-float64(down*cos)+s, 2*(down-float64(up*cos)), up-float64(down*cos)-s)
}

func normalised(b0, b1, b2, a0, a1, a2 float64) biquad {
	return biquad{b0: b0 / a0, b1: b1 / a0, b2: b2 / a0, a1: a1 / a0, a2: a2 / a0}
}
