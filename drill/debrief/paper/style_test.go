package paper

import (
	"fmt"
	"image/color"
	"regexp"
	"testing"

	"hornlark/drill/drilltest/sight"
)

// Black on white is enough: every colour of the style is a grey, text has the contrast that it needs on each ground, and lines theirs.
func TestGreys(t *testing.T) {
	var greys []color.RGBA
	for _, m := range regexp.MustCompile(`#([0-9a-f]{3,6})\b`).FindAllStringSubmatch(style, -1) {
		digits := m[1]
		if len(digits) == 3 {
			digits = digits[:1] + digits[:1] + digits[1:2] + digits[1:2] + digits[2:] + digits[2:]
		}
		c := color.RGBA{A: 255}
		if n, err := fmt.Sscanf(digits, "%02x%02x%02x", &c.R, &c.G, &c.B); n != 3 || err != nil || c.R != c.G || c.G != c.B {
			t.Errorf("%s is no grey", m[0])
		}
		greys = append(greys, c)
	}
	if len(greys) < 5 {
		t.Fatalf("only %d colours were found", len(greys))
	}
	variable := func(name string) color.RGBA {
		m := regexp.MustCompile(`--` + name + `: #([0-9a-f]{3})([0-9a-f]{3})?;`).FindStringSubmatch(style)
		if m == nil {
			t.Fatalf("there is no colour %s", name)
		}
		var v uint8
		fmt.Sscanf(m[1][:1]+m[1][1:2], "%02x", &v)
		return color.RGBA{v, v, v, 255}
	}
	for _, ground := range []string{"ground", "soft"} {
		if got := sight.Contrast(variable("ink"), variable(ground)); got < sight.Text {
			t.Errorf("ink on %s has a contrast of %.2f", ground, got)
		}
	}
	if got := sight.Contrast(variable("line"), variable("ground")); got < sight.Graphic {
		t.Errorf("lines have a contrast of %.2f", got)
	}
}
