package aircraft

import (
	"strconv"
	"strings"
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
		{"tot1", 759.9, Green}, {"tot1", 760, Amber}, {"tot1", 869.9, Amber}, {"tot1", 870, Red}, {"tot1", 5000, Red},
		{"nr", 86.9, Red}, {"nr", 87, Red}, {"nr", 87.1, Amber}, {"nr", 95, Green}, {"nr", 100, Green}, {"nr", 104, Amber}, {"nr", 109, Red},
		{"volts", 16, Red}, {"volts", 16.1, Amber}, {"volts", 24, Green}, {"volts", 29.2, Red}, {"volts", -1, Red},
		{"oat", 12, White},
	} {
		i, _ := p.GaugeIndex(test.gauge)
		if got := p.Gauges[i].band(test.value); got != test.want {
			t.Errorf("%s at %v is %s, want %s", test.gauge, test.value, got, test.want)
		}
	}
}

// Every gauge with limits has a green band, and red only at its ends: between the limits nothing is forbidden.
func TestMarkings(t *testing.T) {
	for _, name := range everyProfile(t) {
		for _, g := range profileOf(t, name).Gauges {
			green := false
			for i, b := range g.Bands {
				green = green || b.Colour == Green
				if b.Colour == Red && i > 0 && i < len(g.Bands)-1 {
					t.Errorf("%s, %s: red from %v to %v, within the limits", name, g.ID, b.From, b.To)
				}
			}
			if len(g.Bands) > 0 && !green {
				t.Errorf("%s, %s is nowhere green", name, g.ID)
			}
		}
	}
}

// 14 CFR 27.1305 (powerplant instruments), paragraphs as in the text of law.lawstack.com and aviation-regulations.com, both
// seen; 27.33(e) seen; 27.1195 from memory. Left out, since the aircraft have nothing of the kind: (i) oil quantity, which
// is looked at from outside, (p) powerplant ice protection, and the rest that belongs to it. The piston trainer has a wet
// sump, a tank above the engine and so no pump, and a gearbox lubricated by splashing, without pressure.
func TestRequiredInstruments(t *testing.T) {
	for _, rule := range []struct{ profile, rule, gauges, captions string }{
		{"dunlin-lt", "(c) fuel pressure for each pump-fed engine", "fuel_press1 fuel_press2", ""},
		{"dunlin-lt", "(d) fuel quantity", "fuel", ""},
		{"dunlin-lt", "(f), (g) gearbox oil temperature and pressure warning", "gbx_temp gbx_press", "gbx_oil"},
		{"dunlin-lt", "(h) oil pressure for each engine", "oil_press1 oil_press2", ""},
		{"dunlin-lt", "(j) oil temperature for each engine", "oil_temp1 oil_temp2", ""},
		{"dunlin-lt", "(k) speed of each engine and of the rotor", "n2_1 n2_2 n1_1 n1_2 nr", ""},
		{"dunlin-lt", "(l) low fuel", "", "fuel_qty"},
		{"dunlin-lt", "(m) failure of a fuel pump", "", "fuel_low1 fuel_low2"},
		{"dunlin-lt", "(n) gas temperature for each turbine", "tot1 tot2", ""},
		{"dunlin-lt", "(o) torque for each turbine", "trq1 trq2", ""},
		{"dunlin-lt", "(q) fuel filter", "", "filter1 filter2"},
		{"dunlin-lt", "27.33(e) low rotor speed", "", "rotor_low"},
		{"dunlin-lt", "27.1195 fire, for each engine", "", "fire1 fire2"},

		{"turnstone-st", "(c) fuel pressure for each pump-fed engine", "fuel_press", ""},
		{"turnstone-st", "(d) fuel quantity", "fuel", ""},
		{"turnstone-st", "(f), (g) gearbox oil temperature and pressure warning", "gbx_temp gbx_press", "gbx_oil"},
		{"turnstone-st", "(h) oil pressure", "oil_press", ""},
		{"turnstone-st", "(j) oil temperature", "oil_temp", ""},
		{"turnstone-st", "(k) speed of the engine and of the rotor", "n2 n1 nr", ""},
		{"turnstone-st", "(l) low fuel", "", "fuel_qty"},
		{"turnstone-st", "(m) failure of a fuel pump", "", "fuel_low"},
		{"turnstone-st", "(n) gas temperature", "tot", ""},
		{"turnstone-st", "(o) torque", "trq", ""},
		{"turnstone-st", "(q) fuel filter", "", "filter"},
		{"turnstone-st", "27.33(e) low rotor speed, a single engine", "", "rotor_low"},
		{"turnstone-st", "27.1195 fire", "", "fire"},

		{"whinchat-pt", "(a) carburettor air temperature, its heater gives more than 60 °F", "carb_temp", ""},
		{"whinchat-pt", "(b) cylinder head temperature of an air-cooled engine", "head_temp", ""},
		{"whinchat-pt", "(d) fuel quantity", "fuel", ""},
		{"whinchat-pt", "(e) manifold pressure", "manifold", ""},
		{"whinchat-pt", "(f), (g) gearbox oil temperature and pressure warning", "gbx_temp gbx_press", "gbx_hot gbx_oil"},
		{"whinchat-pt", "(h) oil pressure", "oil_press", ""},
		{"whinchat-pt", "(j) oil temperature", "oil_temp", ""},
		{"whinchat-pt", "(k) tachometers of the engine and of the rotor", "rpm nr", ""},
		{"whinchat-pt", "(l) low fuel", "", "fuel_qty"},
		{"whinchat-pt", "27.33(e) low rotor speed, a single engine", "", "rotor_low"},
	} {
		p := profileOf(t, rule.profile)
		for _, id := range strings.Fields(rule.gauges) {
			if i, ok := p.GaugeIndex(id); !ok || len(p.Gauges[i].Bands) == 0 {
				t.Errorf("%s, %s: no gauge %s with limits", rule.profile, rule.rule, id)
			}
		}
		for _, id := range strings.Fields(rule.captions) {
			if _, ok := p.CaptionIndex(id); !ok {
				t.Errorf("%s, %s: no caption %s", rule.profile, rule.rule, id)
			}
		}
	}
	// (a) asks for the gauge from a heat rise of 60 °F, which is 33.3 K.
	if rise := whinchat(t).Systems.Piston.CarbHeatK; rise < 60/1.8 {
		t.Errorf("the carburettor heat gives %v K and would not need a gauge", rise)
	}
}

// (l) of the same: the low-fuel warning leaves about ten minutes.
func TestLowFuelLeavesTenMinutes(t *testing.T) {
	for _, test := range []struct {
		profile      string
		main, supply float64
	}{{"dunlin-lt", 10, 36}, {"turnstone-st", 0, 26}, {"whinchat-pt", 0, 8}} {
		p := profileOf(t, test.profile)
		p.Systems.Fuel.MainKg, p.Systems.Fuel.SupplyKg = test.main, test.supply
		if faults := p.Compile(); len(faults) > 0 {
			t.Fatal(faults)
		}
		r := newRig(t, p, fairWeather, "hover")
		r.until(time.Hour, func() bool { return r.is("fuel_qty") }, "caption")
		lit := r.now
		r.until(time.Hour, func() bool {
			for n := range p.Systems.Engines {
				if !r.is("alight" + strconv.Itoa(n+1)) {
					return true
				}
			}
			return false
		}, "dry tank")
		if left := r.now - lit; left < 10*time.Minute || left > 20*time.Minute {
			t.Errorf("%s: %v from the caption to the first dry engine", test.profile, left)
		}
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
		if r.read("nr") <= 87 {
			red += StepLength
		}
	})
	peak, known := r.Peak(nr)
	if !known || peak.Lowest != lowest || peak.InRed != red || red == 0 || peak.Highest < 100 {
		t.Errorf("%+v; lowest %v, red %v", peak, lowest, red)
	}
}
