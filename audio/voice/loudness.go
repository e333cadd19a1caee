package voice

import "math"

// biquad is a filter of second order, in transposed direct form II.
type biquad struct{ b0, b1, b2, a1, a2, z1, z2 float64 }

func (f *biquad) step(x float64) float64 {
	y := float64(f.b0*x) + f.z1
	f.z1 = float64(f.b1*x) - float64(f.a1*y) + f.z2
	f.z2 = float64(f.b2*x) - float64(f.a2*y)
	return y
}

// The two filters of ITU-R BS.1770-4 at 48 kHz, annex 1, tables 1 and 2: the head, and the low frequencies.
var (
	headFilter = biquad{b0: 1.53512485958697, b1: -2.69169618940638, b2: 1.19839281085285, a1: -1.69065929318241, a2: 0.73248077421585}
	lowFilter  = biquad{b0: 1, b1: -2, b2: 1, a1: -1.99004745483398, a2: 0.99007225036621}
)

const (
	loudBlock   = 48000 * 4 / 10 // frames of a gating block
	loudStep    = loudBlock / 4
	absoluteLim = -70.0 // LUFS
	relativeLim = -10.0 // LU
)

// Loudness gives the gated loudness of one channel at 48 kHz by ITU-R BS.1770-4, in LUFS; -Inf for silence. A sound
// that is shorter than a gating block is measured as a whole.
func Loudness(x []float64) float64 {
	head, low := headFilter, lowFilter
	squares := make([]float64, len(x)+1) // sums of squares up to each frame
	for i, v := range x {
		w := low.step(head.step(v))
		squares[i+1] = squares[i] + float64(w*w)
	}
	var blocks []float64 // mean squares
	for from := 0; from+loudBlock <= len(x); from += loudStep {
		blocks = append(blocks, (squares[from+loudBlock]-squares[from])/loudBlock)
	}
	if len(blocks) == 0 && len(x) > 0 {
		blocks = append(blocks, squares[len(x)]/float64(len(x)))
	}
	gate := meanAbove(blocks, absoluteLim)
	return level(meanOf(blocks, max(absoluteLim, gate+relativeLim)))
}

func meanAbove(blocks []float64, limit float64) float64 { return level(meanOf(blocks, limit)) }

// meanOf is the mean square of the blocks that are louder than limit.
func meanOf(blocks []float64, limit float64) float64 {
	var sum, n float64
	for _, b := range blocks {
		if level(b) > limit {
			sum, n = sum+b, n+1
		}
	}
	if n == 0 {
		return 0
	}
	return sum / n
}

func level(meanSquare float64) float64 { return -0.691 + float64(10*math.Log10(meanSquare)) }
