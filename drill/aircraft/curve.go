package aircraft

// Curve is a function given by points, x then y, with straight lines between them. Beyond its ends it is level.
type Curve [][2]float64

// at is the value of the curve at x; an empty curve is 0 everywhere.
func (c Curve) at(x float64) float64 {
	if len(c) == 0 {
		return 0
	}
	if x <= c[0][0] {
		return c[0][1]
	}
	for i := 1; i < len(c); i++ {
		if x < c[i][0] {
			a, b := c[i-1], c[i]
			return a[1] + float64((b[1]-a[1])*((x-a[0])/(b[0]-a[0])))
		}
	}
	return c[len(c)-1][1]
}

// MaxPoints is how many points a curve may have.
const MaxPoints = 16
