package aircraft

import (
	"fmt"
	"math"
)

// The International Standard Atmosphere below 11 km: ICAO Doc 7488/3.
const (
	seaLevelK     = 288.15  // K
	lapseKPerM    = 0.0065  // K/m
	pressurePower = 5.25588 // g0 / (R L)
	metresPerFoot = 0.3048
	zeroC         = 273.15
)

// air is the outside air, as ratios to the standard one at sea level.
type air struct {
	degC       float64
	delta      float64 // pressure
	theta      float64 // absolute temperature
	sigma      float64 // density
	flow       float64 // air that an engine takes in at the same N1
	rise       float64 // temperature rise that it needs for the same N1: thin and warm air cost efficiency
	tailwindKt float64 // from behind; a headwind counts as none
	humidity   float64 // relative, %
}

// check says what is wrong with the weather.
func (w Weather) check() error {
	for _, r := range weatherRanges {
		if v := w.Of(r.name); !(v >= r.least && v <= r.most) {
			return fmt.Errorf("weather: %s is %v; write a figure from %v to %v", r.name, v, r.least, r.most)
		}
	}
	return nil
}

// weatherRanges are the figures of the weather, by their names in documents, and what the model answers for.
var weatherRanges = []struct {
	name        string
	least, most float64
	unit        string
}{
	{"oat", -40, 55, "°C"},
	{"pressure_altitude", -2000, 15000, "ft"},
	{"tailwind", -60, 60, "kt"},
	{"humidity", 0, 100, "%"},
}

// air works out the ratios. Pressure follows from the pressure altitude; density from the perfect-gas law.
func (w Weather) air() air {
	heightM := w.Altitude * metresPerFoot
	delta := power(1-float64(lapseKPerM*heightM)/seaLevelK, pressurePower)
	theta := (w.OAT + zeroC) / seaLevelK
	tailwind := max(w.Tailwind, 0)
	return air{
		degC: w.OAT, delta: delta, theta: theta, sigma: delta / theta, tailwindKt: tailwind, humidity: w.Humidity,
		flow: delta / math.Sqrt(theta),
		// Our own law, after common practice: a quarter power of pressure, and 0.4 % for each knot from behind.
		rise: math.Sqrt(theta) / math.Sqrt(math.Sqrt(delta)) * (1 + float64(0.004*tailwind)),
	}
}

// power is x to the power p, for x near 1. The one of the standard library may differ in its last digit from platform to
// platform, and would take the log of a sitting with it; sums, products and square roots do not.
func power(x, p float64) float64 {
	// ln x = 2 (u + u³/3 + u⁵/5 + …) with u = (x-1)/(x+1); |u| < 0.1 leaves nothing of the terms beyond.
	u := (x - 1) / (x + 1)
	square, term, ln := float64(u*u), u, 0.0
	for n := 1.0; n < 20; n += 2 {
		ln += term / n
		term = float64(term * square)
	}
	exponent := float64(2 * ln * p)
	sum, part := 1.0, 1.0
	for n := 1.0; n < 25; n++ {
		part = float64(part*exponent) / n
		sum += part
	}
	return sum
}
