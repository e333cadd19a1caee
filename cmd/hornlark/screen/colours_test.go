package screen

import (
	"fmt"
	"image/color"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"hornlark/drill/aircraft"
	"hornlark/drill/drilltest/sight"
)

// lit are the two colours of a look, read from what is sent to the terminal.
type lit struct{ by, on color.RGBA }

// drawnIn reads the colours of a look out of its rendition.
func drawnIn(t testing.TB, p palette, l look) lit {
	t.Helper()
	sgr := renditions[p][l]
	rgb := func(kind string) color.RGBA {
		if m := regexp.MustCompile(`(?:^|;)` + kind + `8;2;(\d+);(\d+);(\d+)`).FindStringSubmatch(sgr); m != nil {
			part := func(i int) uint8 { n, _ := strconv.Atoi(m[i]); return uint8(n) }
			return color.RGBA{part(1), part(2), part(3), 255}
		}
		if m := regexp.MustCompile(`(?:^|;)` + kind + `8;5;(\d+)`).FindStringSubmatch(sgr); m != nil {
			n, _ := strconv.Atoi(m[1])
			return xterm256(n)
		}
		for _, parameter := range strings.Split(sgr, ";") {
			n, _ := strconv.Atoi(parameter)
			base := 10 * int(kind[0]-'0')
			if n >= base && n < base+8 {
				return xterm16[n-base]
			}
			if n >= base+60 && n < base+68 {
				return xterm16[n-base-60+8]
			}
		}
		t.Fatalf("look %d has no colour %s0 in palette %d: %q", l, kind, p, sgr)
		return color.RGBA{}
	}
	return lit{by: rgb("3"), on: rgb("4")}
}

// xterm16 are the colours that xterm has for the basic and bright ones (its manual page, resources color0 to color15; from
// memory, by their names in rgb.txt: red3, green3, yellow3, gray90, gray50 and so on).
var xterm16 = [16]color.RGBA{
	{0, 0, 0, 255}, {205, 0, 0, 255}, {0, 205, 0, 255}, {205, 205, 0, 255}, {0, 0, 238, 255}, {205, 0, 205, 255}, {0, 205, 205, 255}, {229, 229, 229, 255},
	{127, 127, 127, 255}, {255, 0, 0, 255}, {0, 255, 0, 255}, {255, 255, 0, 255}, {92, 92, 255, 255}, {255, 0, 255, 255}, {0, 255, 255, 255}, {255, 255, 255, 255},
}

// xterm256 is a colour of xterm's table of 256: a cube of 6x6x6 from 16 on, then 24 greys.
func xterm256(n int) color.RGBA {
	if n >= 232 {
		grey := uint8(8 + 10*(n-232))
		return color.RGBA{grey, grey, grey, 255}
	}
	level := func(i int) uint8 {
		if i == 0 {
			return 0
		}
		return uint8(55 + 40*i)
	}
	n -= 16
	return color.RGBA{level(n / 36), level(n / 6 % 6), level(n % 6), 255}
}

var palettes = []palette{of16, of256, ofAll}

// All text can be read: a contrast of 4.5 to 1 with the ground that we give it, in every palette (WCAG 2.1, success criterion
// 1.4.3). Parts of a scale are graphics, and have 3 to 1 (1.4.11); their characters say the same.
func TestContrast(t *testing.T) {
	graphics := []look{bandGreen, bandAmber, bandRed, onRed}
	for _, p := range palettes {
		for l := range looks {
			want := sight.Text
			if slices.Contains(graphics, l) {
				want = sight.Graphic
			}
			drawn := drawnIn(t, p, l)
			if got := sight.Contrast(drawn.by, drawn.on); got < want {
				t.Errorf("palette %d: look %d has a contrast of %.2f, want %.1f", p, l, got, want)
			}
		}
	}
}

// Somebody without green cones tells apart the bands of a scale, the readings in them, and lit captions, in every palette. The characters and marks say the same without any colour.
func TestColoursAreToldApartWithoutGreen(t *testing.T) {
	for _, p := range palettes {
		differ := func(what string, colours ...color.RGBA) {
			for i := range colours {
				for j := range i {
					if got := sight.Apart(colours[i], colours[j]); got < sight.Enough {
						t.Errorf("palette %d: %s: %v and %v are %.1f apart, want %.1f", p, what, colours[i], colours[j], got, sight.Enough)
					}
				}
			}
		}
		by := func(l look) color.RGBA { return drawnIn(t, p, l).by }
		on := func(l look) color.RGBA { return drawnIn(t, p, l).on }
		differ("bands", by(bandGreen), by(bandAmber), by(bandRed))
		differ("bands with the reading in one", by(bandGreen), by(inAmber), by(onRed))
		differ("readings", by(inGreen), by(inAmber), on(inRed))
		differ("captions", on(warning), on(caution), on(advisory), on(unlit))
	}
}

// Marks and bands have the colours of 14 CFR 27.1322 and 27.1549: red, amber (yellow), green, and white for the rest.
func TestColoursAreThoseOfTheRegulation(t *testing.T) {
	hue := func(c color.RGBA) string {
		r, g, b := float64(c.R), float64(c.G), float64(c.B)
		switch {
		case r > 200 && g > 200 && b > 200:
			return "white"
		case r > 2*g && r > 2*b:
			return "red"
		case r >= g && g > 2*b:
			return "amber"
		case g > 1.2*r && g > 1.2*b:
			return "green"
		}
		return fmt.Sprint(c)
	}
	for _, p := range palettes {
		for level, want := range map[aircraft.Level]string{aircraft.Warning: "red", aircraft.Caution: "amber", aircraft.Advisory: "white"} {
			if _, as := lamp(level); hue(drawnIn(t, p, as).on) != want {
				t.Errorf("palette %d: a %s is lit %s, want %s", p, level, hue(drawnIn(t, p, as).on), want)
			}
		}
		for band, want := range map[aircraft.Colour]string{aircraft.Red: "red", aircraft.Amber: "amber", aircraft.Green: "green"} {
			_, reading := bandMark(band)
			seen := drawnIn(t, p, reading).by
			if band == aircraft.Red {
				seen = drawnIn(t, p, reading).on
			}
			_, dim := bandChar(band)
			for what, c := range map[string]color.RGBA{
				"band": drawnIn(t, p, dim).by, "band with the reading in it": drawnIn(t, p, lightOf(band)).by, "reading": seen,
			} {
				if hue(c) != want {
					t.Errorf("palette %d: a %s %s is drawn %s", p, band, what, hue(c))
				}
			}
		}
	}
	chars := map[rune]aircraft.Colour{}
	for _, band := range []aircraft.Colour{aircraft.Red, aircraft.Amber, aircraft.Green, aircraft.White} {
		char, _ := bandChar(band)
		if other, taken := chars[char]; taken {
			t.Errorf("%s and %s bands are drawn alike", band, other)
		}
		chars[char] = band
	}
}

// Where all is well nothing is bright: the only light on a scale is its needle, and no caption's window is lit.
func TestADarkCockpitIsAHealthyOne(t *testing.T) {
	p := twin(t)
	for _, size := range [][2]int{{80, 24}, {140, 45}} {
		c := newCanvas(size[0], size[1])
		s := showing(t, options(p), running(p))
		s.lay(c)
		for i, cell := range c.cells {
			switch cell.look {
			case warning, caution, advisory, inAmber, inRed, onRed:
				t.Errorf("%v: column %d of line %d is drawn as %d", size, i%c.width, i/c.width, cell.look)
			}
		}
		read(p, &s.view, "nr", 93.2)
		s.lay(c)
		if !slices.ContainsFunc(c.cells, func(at cell) bool { return at.look == onRed }) {
			t.Errorf("%v: the band that NR is in is not bright", size)
		}
	}
}
