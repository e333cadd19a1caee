package aircraft

import (
	"math"
	"testing"
)

// The standard atmosphere: ICAO Doc 7488/3, table 1 (geopotential altitude), from memory.
func TestAirAgainstICAOTable(t *testing.T) {
	for _, row := range []struct{ metres, kelvin, hPa, density float64 }{
		{-500, 291.400, 1074.78, 1.28490},
		{0, 288.150, 1013.25, 1.22500},
		{1000, 281.650, 898.746, 1.11164},
		{2000, 275.150, 794.952, 1.00649},
		{3000, 268.650, 701.085, 0.909122},
		{4000, 262.150, 616.402, 0.819129},
	} {
		a := Weather{OAT: row.kelvin - zeroC, Altitude: row.metres / metresPerFoot}.air()
		if got := 1013.25 * a.delta; math.Abs(got-row.hPa) > 0.02 {
			t.Errorf("%v m: %.3f hPa, want %v", row.metres, got, row.hPa)
		}
		if got := 1.225 * a.sigma; math.Abs(got-row.density) > 2e-5 {
			t.Errorf("%v m: %.6f kg/m³, want %v", row.metres, got, row.density)
		}
	}
}

// The power function is our own, for the sake of the same digits everywhere; the library's is the reference.
func TestPower(t *testing.T) {
	for x := 0.7; x < 1.3; x += 0.01 {
		if got, want := power(x, pressurePower), math.Pow(x, pressurePower); math.Abs(got-want) > 1e-12 {
			t.Errorf("%v: %v, want %v", x, got, want)
		}
	}
}

func TestWeatherIsBounded(t *testing.T) {
	p := dunlin(t)
	for _, w := range []Weather{
		{OAT: 80}, {OAT: -80}, {OAT: math.NaN()}, {Altitude: 40000}, {Altitude: math.Inf(-1)}, {Tailwind: 200}, {Tailwind: math.NaN()},
	} {
		if _, err := New(p, w, ""); err == nil {
			t.Errorf("%+v is taken", w)
		}
	}
}
