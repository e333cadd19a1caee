package voice

import (
	"errors"
	"math"

	"hornlark/audio"
)

// What every clip is brought to.
const (
	// LoudnessLUFS is the loudness of every clip, by ITU-R BS.1770-4. The value is that of EBU R 128.
	LoudnessLUFS = -23.0

	trimDB   = -42.0             // of the peak: anything quieter at either end is silence
	edge     = audio.Rate / 1000 // frames kept before and after, and faded
	peakMost = 0.5               // -6 dB: single peaks that would go above are bent; the mixer's limiter never touches one
	peakKnee = 0.35              // from here on they are bent
	maxClip  = 60 * audio.Rate   // frames
	minClip  = audio.Rate / 50   // frames
	sincHalf = 32                // zero crossings either side of the resampler's window
)

var errNoSpeech = errors.New("the speech engine gave nothing that can be heard")

// finish makes a clip from what an engine gave: one channel at rate frames a second, full scale 1.
func finish(x []float64, rate int) (audio.Sound, error) {
	if rate < 4000 || rate > 384000 || len(x) > 60*rate {
		return audio.Sound{}, errors.New("the speech engine gave a sound of a kind that cannot be used")
	}
	x = clarify(trim(resample(x, rate, audio.Rate)))
	if len(x) < minClip {
		return audio.Sound{}, errNoSpeech
	}
	gain := math.Pow(10, (LoudnessLUFS-Loudness(x))/20)
	pcm := make([]int16, len(x))
	for i, v := range x {
		pcm[i] = int16(math.Round(bend(float64(v*gain)) * 32767))
	}
	return audio.Sound{PCM: pcm}, nil
}

// bend leaves what is below peakKnee alone and brings what is above it towards peakMost, which it never reaches.
func bend(v float64) float64 {
	a := math.Abs(v)
	if a <= peakKnee {
		return v
	}
	u := (a - peakKnee) / (peakMost - peakKnee)
	return math.Copysign(peakKnee+float64((peakMost-peakKnee)*(u/(1+u))), v)
}

func peak(x []float64) float64 {
	var most float64
	for _, v := range x {
		most = max(most, math.Abs(v))
	}
	return most
}

// trim cuts the silence off both ends, so that the first sample is the onset: all but a millisecond, which is faded.
func trim(x []float64) []float64 {
	floor := peak(x) * math.Pow(10, trimDB/20)
	if floor == 0 {
		return nil
	}
	from, to := 0, len(x)
	for math.Abs(x[from]) < floor {
		from++
	}
	for math.Abs(x[to-1]) < floor {
		to--
	}
	head, tail := min(edge, from), min(edge, len(x)-to)
	y := append([]float64(nil), x[from-head:to+tail]...)
	for i := range head {
		y[i] *= float64(i) / float64(head)
	}
	for i := range tail {
		y[len(y)-1-i] *= float64(i) / float64(tail)
	}
	return y
}

// resample brings x from one rate to another with a windowed sinc that passes what both rates can carry.
func resample(x []float64, from, to int) []float64 {
	if from == to || len(x) == 0 {
		return x
	}
	common := gcd(from, to)
	step, phases := from/common, to/common // output frame i lies at i*step/phases frames of x
	cutoff := min(1, float64(to)/float64(from))
	reach := int(math.Ceil(sincHalf / cutoff))
	taps := make([][]float64, phases) // for each phase, from reach frames before the centre on
	for p := range taps {
		taps[p] = make([]float64, 2*reach+1)
		for k := range taps[p] {
			d := float64(k-reach) - float64(p)/float64(phases)
			taps[p][k] = cutoff * sinc(cutoff*d) * kaiser(d/float64(reach))
		}
	}
	y := make([]float64, len(x)*phases/step)
	for i := range y {
		centre, phase := i*step/phases, i*step%phases
		var sum float64
		for k := max(0, centre-reach); k <= min(len(x)-1, centre+reach); k++ {
			sum += float64(x[k] * taps[phase][k-centre+reach])
		}
		y[i] = sum
	}
	return y
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// kaiser is the window of J. F. Kaiser with beta 9: side lobes about 90 dB down. u runs from -1 to 1.
func kaiser(u float64) float64 {
	const beta = 9
	if u < -1 || u > 1 {
		return 0
	}
	return bessel0(beta*math.Sqrt(1-float64(u*u))) / bessel0Beta
}

var bessel0Beta = bessel0(9)

// bessel0 is the modified Bessel function of order zero, by its series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-12*sum; k++ {
		term *= x * x / (4 * k * k)
		sum += term
	}
	return sum
}
