// Package sight computes how well colours can be read, and told apart, for the tests of whatever draws.
package sight

import (
	"image/color"
	"math"
)

// linear is a channel without the display's curve (sRGB, IEC 61966-2-1).
func linear(v uint8) float64 {
	s := float64(v) / 255
	if s <= 0.04045 {
		return s / 12.92
	}
	return math.Pow((s+0.055)/1.055, 2.4)
}

// Contrast is the contrast ratio of WCAG 2.1, from 1 to 21.
func Contrast(a, b color.RGBA) float64 {
	luminance := func(c color.RGBA) float64 {
		return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
	}
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

// Text and Graphic are the contrasts that text and graphics need at least (WCAG 2.1, success criteria 1.4.3 and 1.4.11).
const (
	Text    = 4.5
	Graphic = 3
)

// withoutGreenCones is what somebody with deuteranopia sees of a colour, linear (Machado, Oliveira and Fernandes 2009, the
// authors' table for severity 1.0).
func withoutGreenCones(c color.RGBA) [3]float64 {
	in := [3]float64{linear(c.R), linear(c.G), linear(c.B)}
	matrix := [3][3]float64{{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}}
	var out [3]float64
	for i, row := range matrix {
		out[i] = min(1, max(0, row[0]*in[0]+row[1]*in[1]+row[2]*in[2]))
	}
	return out
}

// Apart is how different two colours are to somebody with deuteranopia: the distance in CIE 1976 L*a*b* under D65.
func Apart(a, b color.RGBA) float64 {
	lab := func(c [3]float64) [3]float64 {
		f := func(t float64) float64 {
			if t > 216.0/24389 {
				return math.Cbrt(t)
			}
			return (24389.0/27*t + 16) / 116
		}
		x := f((0.4124564*c[0] + 0.3575761*c[1] + 0.1804375*c[2]) / 0.95047)
		y := f(0.2126729*c[0] + 0.7151522*c[1] + 0.0721750*c[2])
		z := f((0.0193339*c[0] + 0.1191920*c[1] + 0.9503041*c[2]) / 1.08883)
		return [3]float64{116*y - 16, 500 * (x - y), 200 * (y - z)}
	}
	p, q := lab(withoutGreenCones(a)), lab(withoutGreenCones(b))
	return math.Sqrt((p[0]-q[0])*(p[0]-q[0]) + (p[1]-q[1])*(p[1]-q[1]) + (p[2]-q[2])*(p[2]-q[2]))
}

// Enough is how far apart colours have to be that mean different things: our own figure, four times the 2.3 that are just
// noticed (Mahy, Van Eycken and Oosterlinck 1994, from memory).
const Enough = 4 * 2.3
