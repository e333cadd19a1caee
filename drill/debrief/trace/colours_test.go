package trace

import (
	"image/color"
	"testing"

	"hornlark/drill/aircraft"
	"hornlark/drill/drilltest/sight"
)

// Curves, lines and words can be read on every band, and bands are told apart without green cones. What a band is stands beside
// it in words, too.
func TestColoursOfThePlot(t *testing.T) {
	white := color.RGBA{255, 255, 255, 255}
	rgba := func(c color.Color) color.RGBA { return color.RGBAModel.Convert(c).(color.RGBA) }
	grounds := map[aircraft.Colour]color.RGBA{"": white}
	for band, m := range meanings {
		grounds[band] = rgba(m.ground)
	}
	for band, ground := range grounds {
		for i, curve := range curves {
			if got := sight.Contrast(rgba(curve.Color), ground); got < sight.Text {
				t.Errorf("curve %d on the %s band has a contrast of %.2f", i, band, got)
			}
		}
		for name, line := range map[string]color.Color{"phase": phaseLine.Color, "onset": onsetLine.Color, "end": endLine.Color} {
			if got := sight.Contrast(rgba(line), ground); got < sight.Graphic {
				t.Errorf("the line of an %s on the %s band has a contrast of %.2f", name, band, got)
			}
		}
		for other := range grounds {
			if other >= band || band == aircraft.White || other == aircraft.White || band == "" || other == "" {
				continue // a white band means nothing that a ground without one does not
			}
			if got := sight.Apart(ground, grounds[other]); got < sight.Enough {
				t.Errorf("the %s band and the %s one are %.1f apart, want %.1f", band, other, got, sight.Enough)
			}
		}
	}
	for name, line := range map[string]color.Color{"a key": strokeLine.Color, "a departure": crossLine.Color, "an alert": barLine.Color, "speech": speechLine.Color} {
		if got := sight.Contrast(rgba(line), white); got < sight.Graphic {
			t.Errorf("the mark of %s has a contrast of %.2f", name, got)
		}
	}
}
