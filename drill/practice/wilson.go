package practice

import "math"

// Share is how many of some were so, with the interval in which the true share lies with 95 % confidence, see Wilson.
type Share struct {
	Count int     `json:"count"`
	Of    int     `json:"of"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// ShareOf is so many of some.
func ShareOf(count, of int) Share {
	low, high := Wilson(count, of)
	return Share{count, of, low, high}
}

// Value is the share itself, 0 to 1; 0 of none.
func (s Share) Value() float64 {
	if s.Of == 0 {
		return 0
	}
	return float64(s.Count) / float64(s.Of)
}

// z95 is the 97.5th percentile of the standard normal distribution.
const z95 = 1.959963984540054

// Wilson is the score interval of a share of count in of, with 95 % confidence (Wilson 1927, JASA 22:209-212). Of none it is 0 to 1:
// nothing is known.
func Wilson(count, of int) (low, high float64) {
	if of <= 0 {
		return 0, 1
	}
	n, p := float64(of), float64(count)/float64(of)
	const zz = z95 * z95
	scale := 1 + zz/n
	middle := (p + zz/(2*n)) / scale
	half := z95 / scale * math.Sqrt(float64(p*(1-p)/n)+zz/(4*n*n))
	low, high = max(0, middle-half), min(1, middle+half)
	if count == 0 {
		low = 0
	}
	if count == of {
		high = 1
	}
	return low, high
}
