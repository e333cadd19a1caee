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
	tailwindKt float64 // from behind; a headwind counts as none
}

// check says what is wrong with the weather.
func (w Weather) check() error {
	for _, v := range []struct {
		name               string
		value, least, most float64
	}{
		{"oat", w.OAT, -40, 55},
		{"pressure_altitude", w.Altitude, -2000, 15000},
		{"tailwind", w.Tailwind, -60, 60},
	} {
		if !(v.value >= v.least && v.value <= v.most) {
			return fmt.Errorf("weather: %s is %v; write a figure from %v to %v", v.name, v.value, v.least, v.most)
		}
	}
	return nil
}

// air works out the ratios. Pressure follows from the pressure altitude; density from the perfect-gas law.
func (w Weather) air() air {
	heightM := w.Altitude * metresPerFoot
	delta := math.Pow(1-float64(lapseKPerM*heightM)/seaLevelK, pressurePower)
	theta := (w.OAT + zeroC) / seaLevelK
	return air{degC: w.OAT, delta: delta, theta: theta, sigma: delta / theta, tailwindKt: max(w.Tailwind, 0)}
}
