package aircraft

// Curve is a function given by points, x then y, with straight lines between them. Beyond its ends it is level.
type Curve [][2]float64

// at is the value of the curve at x; an empty curve is 0 everywhere.
func (c Curve) at(x float64) float64 {
	if len(c) == 0 {
		return 0
	}
	switch i := c.right(x); {
	case x <= c[0][0]:
		return c[0][1]
	case i < len(c):
		return between(&c[i-1], &c[i], x)
	}
	return c[len(c)-1][1]
}

// right is the first point, from the second on, that lies to the right of x; beyond the last one it is their number.
func (c Curve) right(x float64) int {
	for i := 1; i < len(c); i++ {
		if x < c[i][0] {
			return i
		}
	}
	return len(c)
}

// between is what a straight line from one point to another is at x.
func between(a, b *[2]float64, x float64) float64 {
	return a[1] + float64((b[1]-a[1])*((x-a[0])/(b[0]-a[0])))
}

// MaxPoints is how many points a curve may have.
const MaxPoints = 16
