package sight

import (
	"image/color"
	"math"
	"testing"
)

// The worked figure that the standard's definition is quoted with: black on white is 21 to 1. Of grey #767676 on white 4.54 is
// told everywhere (from memory).
func TestContrast(t *testing.T) {
	black, white := color.RGBA{A: 255}, color.RGBA{255, 255, 255, 255}
	if got := Contrast(black, white); math.Abs(got-21) > 1e-9 || Contrast(white, black) != got {
		t.Errorf("black on white has a contrast of %v", got)
	}
	if got := Contrast(color.RGBA{0x76, 0x76, 0x76, 255}, white); math.Abs(got-4.54) > 0.005 {
		t.Errorf("grey on white has a contrast of %v", got)
	}
}

// Greys stay what they are without green cones, since each row of the matrix adds up to one; a red and a green that are far
// apart to others come together; and distances are those of L*a*b*, in which black and white are 100 apart.
func TestApart(t *testing.T) {
	for i, v := range withoutGreenCones(color.RGBA{128, 128, 128, 255}) {
		if math.Abs(v-linear(128)) > 1e-5 {
			t.Errorf("channel %d of a grey becomes %v", i, v)
		}
	}
	if got := Apart(color.RGBA{A: 255}, color.RGBA{255, 255, 255, 255}); math.Abs(got-100) > 0.01 {
		t.Errorf("black and white are %v apart", got)
	}
	if got := Apart(color.RGBA{200, 80, 0, 255}, color.RGBA{115, 130, 0, 255}); got > 15 {
		t.Errorf("a red and a green that are confused without green cones are %.1f apart", got)
	}
}
