// Package flac packs sound into FLAC (RFC 9639), which every browser plays, without losing anything of what it is given.
//
// A library writes the stream. Of the ways to predict a sample that the format has it chooses among the fixed ones alone; what is
// here finds the coefficients of a linear predictor for each block, which takes a quarter off the speech of a sitting.
package flac

import (
	"fmt"
	"io"
	"math"
	"math/bits"

	codec "github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"
)

// Block is how many samples are predicted alike: 85 ms at 24,000 a second, about a syllable.
const Block = 2048

const (
	width     = 16 // bits of a sample
	most      = 10 // coefficients of a predictor: more took less than 1 % off speech
	precision = 13 // bits of a coefficient, with its sign
	maxShift  = 15 // the largest that the format has for a coefficient
	maxRice   = 14 // the largest parameter; 15 means something else
	maxParts  = 4  // of a block's residual, as a power of two
)

// Writer packs one channel of 16-bit samples. It may be used by one goroutine at a time.
type Writer struct {
	enc    *codec.Encoder
	rate   uint32
	wasted uint
	block  []int32
}

// NewWriter begins a stream of total samples, so many a second, in w. wasted is how many bits at the lower end of each sample are zero, which
// are then left out.
func NewWriter(w io.Writer, rate int, total int64, wasted uint) (*Writer, error) {
	enc, err := codec.NewEncoder(w, &meta.StreamInfo{
		BlockSizeMin: Block, BlockSizeMax: Block, SampleRate: uint32(rate), NChannels: 1, BitsPerSample: width,
		NSamples: uint64(total),
	})
	if err != nil {
		return nil, fmt.Errorf("flac: %w", err)
	}
	return &Writer{enc: enc, rate: uint32(rate), wasted: wasted, block: make([]int32, 0, Block)}, nil
}

// Write adds samples.
func (w *Writer) Write(pcm []int16) error {
	for len(pcm) > 0 {
		n := min(Block-len(w.block), len(pcm))
		for _, v := range pcm[:n] {
			w.block = append(w.block, int32(v))
		}
		if pcm = pcm[n:]; len(w.block) == Block {
			if err := w.flush(); err != nil {
				return err
			}
		}
	}
	return nil
}

// Close writes what is left.
func (w *Writer) Close() error {
	if len(w.block) > 0 {
		if err := w.flush(); err != nil {
			return err
		}
	}
	if err := w.enc.Close(); err != nil {
		return fmt.Errorf("flac: %w", err)
	}
	return nil
}

// flush writes the block.
func (w *Writer) flush() error {
	n := len(w.block)
	sub := &frame.Subframe{Samples: w.block, NSamples: n, SubHeader: frame.SubHeader{Pred: frame.PredVerbatim}}
	w.plan(sub)
	err := w.enc.WriteFrame(&frame.Frame{
		Header: frame.Header{HasFixedBlockSize: true, BlockSize: uint16(n), SampleRate: w.rate, Channels: frame.ChannelsMono, BitsPerSample: width},
		// The library leaves the samples as they were.
		Subframes: []*frame.Subframe{sub},
	})
	if err != nil {
		return fmt.Errorf("flac: %w", err)
	}
	w.block = w.block[:0]
	return nil
}

// plan says how a block is to be written: as one value, if it has no other; by a predictor, if that takes fewer bits; or as it is.
func (w *Writer) plan(sub *frame.Subframe) {
	x := make([]int32, len(sub.Samples))
	same := true
	for i, v := range sub.Samples {
		x[i] = v >> w.wasted
		same = same && v == sub.Samples[0]
	}
	if same {
		sub.Pred = frame.PredConstant
		return
	}
	sub.Wasted = w.wasted
	cost := (width - int(w.wasted)) * len(x)
	for _, coeffs := range predictors(x) {
		coeffs, shift := rounded(coeffs)
		residual := residualOf(x, coeffs, shift)
		if residual == nil {
			continue
		}
		rice, bits := partition(residual, len(coeffs))
		if bits += len(coeffs)*(width-int(w.wasted)+precision) + 9; bits >= cost {
			continue
		}
		cost = bits
		sub.Pred, sub.Order, sub.Coeffs, sub.CoeffPrec, sub.CoeffShift = frame.PredFIR, len(coeffs), coeffs, precision, shift
		sub.ResidualCodingMethod, sub.RiceSubframe = frame.ResidualCodingMethodRice1, rice
	}
}

// predictors gives the coefficients by which the latest samples, the last one first, predict the next with the least squares, for a few
// numbers of them: the recursion of Levinson and Durbin over the autocorrelation under a window (J. Makhoul, Proceedings of the IEEE 63,
// 1975, from memory). Every product is rounded before it is added, so that each machine finds the same.
func predictors(x []int32) [][]float64 {
	n := len(x)
	if n <= 2*most {
		return nil
	}
	windowed := make([]float64, n)
	for i, v := range x {
		u := 2*float64(i)/float64(n-1) - 1
		windowed[i] = float64(v) * (1 - float64(u*u))
	}
	var r [most + 1]float64
	for lag := range r {
		for i := lag; i < n; i++ {
			r[lag] += float64(windowed[i] * windowed[i-lag])
		}
	}
	if r[0] == 0 {
		return nil
	}
	var found [][]float64
	var a, b [most]float64
	left := r[0]
	for order := range most {
		k := r[order+1]
		for j := range order {
			k -= float64(a[j] * r[order-j])
		}
		k /= left
		b = a
		a[order] = k
		for j := range order {
			a[j] = b[j] - float64(k*b[order-1-j])
		}
		if left *= 1 - float64(k*k); !(left > 0) {
			break
		}
		if order+1 == 4 || order+1 == most {
			found = append(found, append([]float64(nil), a[:order+1]...))
		}
	}
	return found
}

// rounded makes whole numbers of coefficients, all times two to the power of shift.
func rounded(coeffs []float64) ([]int32, int32) {
	largest := 0.0
	for _, c := range coeffs {
		largest = max(largest, math.Abs(c))
	}
	const limit = 1<<(precision-1) - 1
	shift := int32(maxShift)
	for shift > 0 && math.Ldexp(largest, int(shift)) > limit {
		shift--
	}
	out := make([]int32, len(coeffs))
	for i, c := range coeffs {
		out[i] = int32(min(max(math.RoundToEven(math.Ldexp(c, int(shift))), -limit-1), limit))
	}
	return out, shift
}

// residualOf is what the prediction is off by; nil if it is off by more than the format can hold.
func residualOf(x []int32, coeffs []int32, shift int32) []int32 {
	out := make([]int32, 0, len(x)-len(coeffs))
	for i := len(coeffs); i < len(x); i++ {
		var sum int64
		for j, c := range coeffs {
			sum += int64(c) * int64(x[i-1-j])
		}
		off := int64(x[i]) - sum>>uint(shift)
		if off < -1<<24 || off > 1<<24 {
			return nil
		}
		out = append(out, int32(off))
	}
	return out
}

// partition finds into how many parts the residual of a block goes, each with the parameter of its Rice code, and how many bits that takes.
func partition(residual []int32, order int) (*frame.RiceSubframe, int) {
	size := len(residual) + order
	var best *frame.RiceSubframe
	least := math.MaxInt
	for power := 0; power <= maxParts; power++ {
		parts := 1 << power
		if size%parts != 0 || size/parts <= order {
			break
		}
		rice, cost := &frame.RiceSubframe{PartOrder: power}, 6
		rest := residual
		for part := range parts {
			n := size / parts
			if part == 0 {
				n -= order
			}
			param, took := riceOf(rest[:n])
			rest = rest[n:]
			rice.Partitions = append(rice.Partitions, frame.RicePartition{Param: param})
			cost += 4 + took
		}
		if cost < least {
			best, least = rice, cost
		}
	}
	return best, least
}

// riceOf finds the parameter of the Rice code that takes the fewest bits for some numbers, which is near the logarithm of their mean.
func riceOf(residual []int32) (param uint, cost int) {
	var sum uint64
	for _, v := range residual {
		sum += uint64(folded(v))
	}
	guess := bits.Len64(sum / uint64(max(1, len(residual))))
	cost = math.MaxInt
	for k := max(0, guess-2); k <= min(maxRice, guess+1); k++ {
		took := (k + 1) * len(residual)
		for _, v := range residual {
			took += int(folded(v) >> k)
		}
		if took < cost {
			param, cost = uint(k), took
		}
	}
	return param, cost
}

// folded puts numbers below zero between those above it.
func folded(v int32) uint32 { return uint32(v<<1) ^ uint32(v>>31) }
