package aircraft

import (
	"testing"
	"time"
)

// Markings: 14 CFR 27.1549 (Amdt 27-51): red at each limit, green for the normal range, yellow for precaution. A reading on
// the limit is at the limit, and so red.
func TestBandOfAReading(t *testing.T) {
	p := dunlin(t)
	for _, test := range []struct {
		gauge string
		value float64
		want  Colour
	}{
		{"tot1", 749.9, Green}, {"tot1", 750, Amber}, {"tot1", 819.9, Amber}, {"tot1", 820, Red}, {"tot1", 5000, Red},
		{"nr", 89.9, Red}, {"nr", 90, Red}, {"nr", 90.1, Amber}, {"nr", 97, Green}, {"nr", 100, Green}, {"nr", 104, Amber}, {"nr", 108, Red},
		{"volts", 18, Red}, {"volts", 18.1, Amber}, {"volts", 24, Green}, {"volts", 29.5, Red}, {"volts", -1, Red},
		{"oat", 12, White},
	} {
		i, _ := p.GaugeIndex(test.gauge)
		if got := p.Gauges[i].band(test.value); got != test.want {
			t.Errorf("%s at %v is %s, want %s", test.gauge, test.value, got, test.want)
		}
	}
}

// Every gauge with limits has a green band, and red only at its ends: between the limits nothing is forbidden.
func TestMarkingsOfTheTwin(t *testing.T) {
	for _, g := range dunlin(t).Gauges {
		green := false
		for i, b := range g.Bands {
			green = green || b.Colour == Green
			if b.Colour == Red && i > 0 && i < len(g.Bands)-1 {
				t.Errorf("%s: red from %v to %v, within the limits", g.ID, b.From, b.To)
			}
		}
		if len(g.Bands) > 0 && !green {
			t.Errorf("%s is nowhere green", g.ID)
		}
	}
}

// 14 CFR 27.1305 (powerplant instruments), as far as it concerns a turbine helicopter with pump-fed engines; (c), (k), (l),
// (m) and (n) seen in the current text; (d), (g), (h), (o) and 27.1195 from memory.
func TestRequiredInstruments(t *testing.T) {
	p := dunlin(t)
	for rule, ids := range map[string][]string{
		"(c) fuel pressure for each pump-fed engine": {"fuel_press1", "fuel_press2"},
		"(d) fuel quantity":                          {"fuel"},
		"(g) oil pressure for each engine":           {"oil_press1", "oil_press2"},
		"(h) oil temperature for each engine":        {"oil_temp1", "oil_temp2"},
		"(k) speed of each engine and of the rotor":  {"n2_1", "n2_2", "nr"},
		"(n) gas temperature for each turbine":       {"tot1", "tot2"},
		"(o) gas producer speed":                     {"n1_1", "n1_2"},
	} {
		for _, id := range ids {
			i, ok := p.GaugeIndex(id)
			if !ok || len(p.Gauges[i].Bands) == 0 {
				t.Errorf("%s: no gauge %s with limits", rule, id)
			}
		}
	}
	for rule, ids := range map[string][]string{
		"(l) low fuel":                  {"fuel_qty"},
		"(m) failure of a fuel pump":    {"fuel_low1", "fuel_low2"},
		"27.33(e) low rotor speed":      {"rotor_low"},
		"27.1195 fire, for each engine": {"fire1", "fire2"},
	} {
		for _, id := range ids {
			if _, ok := p.CaptionIndex(id); !ok {
				t.Errorf("%s: no caption %s", rule, id)
			}
		}
	}
}

// (l) of the same: the low-fuel warning leaves about ten minutes.
func TestLowFuelLeavesTenMinutes(t *testing.T) {
	p := dunlin(t)
	p.Systems.Fuel.MainKg = 10
	if faults := p.Compile(); len(faults) > 0 {
		t.Fatal(faults)
	}
	r := newRig(t, p, fairWeather, "hover")
	r.until(time.Hour, func() bool { return r.is("fuel_qty") }, "caption")
	lit := r.now
	r.until(time.Hour, func() bool { return !r.is("alight1") || !r.is("alight2") }, "dry tank")
	if left := r.now - lit; left < 10*time.Minute || left > 20*time.Minute {
		t.Errorf("%v from the caption to the first dry engine", left)
	}
}

func TestPeakAndTimeInRed(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "hover")
	nr, _ := r.profile.GaugeIndex("nr")
	if _, known := r.Peak(nr); known {
		t.Error("what it took to get into the hover is reported")
	}
	r.fail("eng1.governor_low", 0.8)
	r.fail("eng2.governor_low", 0.8)
	lowest, red := 200.0, time.Duration(0)
	r.run(10*time.Second, func() {
		lowest = min(lowest, r.read("nr"))
		if r.read("nr") <= 90 {
			red += StepLength
		}
	})
	peak, known := r.Peak(nr)
	if !known || peak.Lowest != lowest || peak.InRed != red || red == 0 || peak.Highest < 100 {
		t.Errorf("%+v; lowest %v, red %v", peak, lowest, red)
	}
}
