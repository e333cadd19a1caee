package page

import (
	"fmt"
	"image/color"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"hornlark/drill/drilltest/sight"
)

// Text can be read on the ground that it stands on: on a light page, on a dark one and on paper. The colours are those of the
// style sheet's three sets; what is fainter than the rest is as faint as it says.
func TestColoursOfThePages(t *testing.T) {
	sets := regexp.MustCompile(`:root \{([^}]*)\}`).FindAllStringSubmatch(style, -1)
	if len(sets) != 3 {
		t.Fatalf("the style sheet has %d sets of colours, want those of a light page, a dark one and paper", len(sets))
	}
	for i, set := range sets {
		colours := map[string]color.RGBA{}
		for _, m := range regexp.MustCompile(`--(\w+): *#([0-9a-f]{3,6})`).FindAllStringSubmatch(set[1], -1) {
			colours[m[1]] = hex(t, m[2])
		}
		for _, ground := range []string{"ground", "soft"} {
			for _, ink := range []string{"ink", "mark"} {
				if got := sight.Contrast(colours[ink], colours[ground]); got < sight.Text {
					t.Errorf("set %d: %s on %s has a contrast of %.2f", i, ink, ground, got)
				}
			}
			if m := regexp.MustCompile(`\.id \{[^}]*opacity: (\.?[0-9.]+)`).FindStringSubmatch(style); m == nil {
				t.Error("nothing says how faint an id is")
			} else if share, err := strconv.ParseFloat(m[1], 64); err != nil {
				t.Error(err)
			} else {
				for _, ink := range []string{"ink", "mark"} {
					if got := sight.Contrast(through(colours[ink], colours[ground], share), colours[ground]); got < sight.Text {
						t.Errorf("set %d: a faint %s on %s has a contrast of %.2f", i, ink, ground, got)
					}
				}
			}
		}
	}
}

// through is a colour that lets some of the ground be seen through it.
func through(c, ground color.RGBA, share float64) color.RGBA {
	mix := func(a, b uint8) uint8 { return uint8(float64(float64(a)*share) + float64(float64(b)*(1-share))) }
	return color.RGBA{mix(c.R, ground.R), mix(c.G, ground.G), mix(c.B, ground.B), 255}
}

func hex(t *testing.T, digits string) color.RGBA {
	t.Helper()
	if len(digits) == 3 {
		digits = strings.Join([]string{digits[:1], digits[:1], digits[1:2], digits[1:2], digits[2:], digits[2:]}, "")
	}
	var c color.RGBA
	if n, err := fmt.Sscanf(digits, "%02x%02x%02x", &c.R, &c.G, &c.B); n != 3 || err != nil {
		t.Fatalf("%q is no colour: %v", digits, err)
	}
	c.A = 255
	return c
}
