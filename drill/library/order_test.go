package library

import (
	"bufio"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"

	"hornlark/drill/procedure"
	"hornlark/drill/score"
)

// systemsOf is, by procedure, where it first comes to each system that a start of a light twin goes through.
var systemsOf = map[string]map[string]string{"dunlin-start": {
	"switch positions": "levers-shut", "rotor brake": "rotor-brake", "battery": "battery", "low NR horn": "low-rotor-light", "fire tests": "fire-test-2",
	"light test": "lamp-test", "screen test": "display-test", "voltage": "start-volts", "fuel quantity": "fuel-quantity", "tank pumps": "prime",
	"fuel pressure": "fuel-pressure", "anti-collision light": "anti-collision", "frequency": "radio", "flight controls": "controls",
	"fire guard": "fire-guard", "rotor area": "rotor-area", "FADEC and gauge sweep": "fadec-2", "start of engine 1": "start-1",
	"hydraulic tests": "hyd-test-2", "start of engine 2": "start-2", "avionics": "avionics", "inverter": "inverter", "pitot heat": "pitot",
	"transfer": "transfer", "position lights": "lights", "standby horizon": "horizon", "flight setting": "selectors-flight", "torque matched": "torque",
	"autopilot and trim": "autopilot", "cabin heat": "bleed-heat", "captions": "captions", "hover check": "nr-band", "shutdown": "engines-off",
}, "dunlin-auto-start": {
	"switch positions": "levers-shut", "rotor brake": "rotor-brake", "battery": "battery", "low NR horn": "low-rotor-light", "fire tests": "fire-test-2",
	"voltage": "start-volts", "fuel quantity": "fuel-quantity", "tank pumps": "prime", "fuel pressure": "fuel-pressure",
	"anti-collision light": "anti-collision", "frequency": "radio", "cyclic and pedals": "cyclic", "FADEC": "fadecs", "rotor area": "rotor-area",
	"automatic start": "start-2", "generators": "generators", "avionics": "avionics", "inverter": "inverter", "pitot heat": "pitot",
	"transfer": "transfer", "pumps off": "prime-off", "position lights": "lights", "standby horizon": "horizon", "flight setting": "selectors-flight",
	"torque matched": "torque", "autopilot and trim": "autopilot", "cabin heat": "bleed-heat", "captions": "captions", "hover check": "nr-band",
	"shutdown": "engines-off",
}}

// What else a start of a light twin goes through, and the flow may not lose: 14 CFR 121.315 wants every item before a start, a
// take-off and a landing; which those are here is our own.
var itemsOfTheStart = strings.Fields(`breakers collective-lock-on altimeter ground-power low-rotor-horn sweep-2 sweep-1 clock display-pattern lamps
	fire-light-2 fire-light-1 transponder light-off-2 rotor-turning oil-2 tot-2 idle-2 generator-2 light-off-1 n1-1 oil-1 tot-1 idle-1 generator-1
	ext-power hyd-light-2 hyd-light-1 prime-off oil-temperature transponder-on take-off-call needles hover-captions cool-down brake rotor-stopped
	lights-off power-off`)

// The order of a flow is its own: over all its systems its rank agreement with the one it had before, by Kendall's tau and by
// Spearman's rho, is at most 0.70. The bound is ours.
func TestOrdersOfTheTwinAreItsOwn(t *testing.T) {
	for _, p := range everything(t).Procedures() {
		systems := systemsOf[p.Name]
		if systems == nil {
			continue
		}
		place := map[string]int{}
		p.Each(func(_ *procedure.Phase, it *procedure.Item) { place[it.ID] = len(place) })
		if p.Name == "dunlin-start" {
			for _, id := range itemsOfTheStart {
				if _, ok := place[id]; !ok {
					t.Errorf("the flow has no item %s", id)
				}
			}
		}
		t.Run(p.Name, func(t *testing.T) {
			orderIsItsOwn(t, orderBefore(t, p.Name), systems, place)
		})
	}
}

func orderIsItsOwn(t *testing.T, before []string, systems map[string]string, place map[string]int) {
	if len(before) != len(systems) {
		t.Fatalf("%d systems before, %d now", len(before), len(systems))
	}
	const most = 0.70
	var was, is []float64
	for rank, system := range before {
		at, ok := place[systems[system]]
		if !ok {
			t.Fatalf("the flow has no %s", system)
		}
		was, is = append(was, float64(rank)), append(is, float64(at))
	}
	tau, ok := score.TauB(was, is)
	rho := spearman(was, is)
	if !ok || tau > most || rho > most {
		t.Errorf("tau-b %.3f, rho %.3f over %d systems", tau, rho, len(was))
	}
	// Without ties tau-b is tau-a, which gonum has.
	if other := stat.Kendall(was, is, nil); math.Abs(other-tau) > 1e-12 {
		t.Errorf("tau-b is %v, and by another way %v", tau, other)
	}
	t.Logf("tau-b %.3f, rho %.3f over %d systems", tau, rho, len(was))
}

// The published value of Kendall's tau-b with ties (SciPy's tests, cross-checked there with R), and rho where it is known: 1 for
// the same order, -1 for the reverse, and 1 - 6·Σd²/(n(n²-1)) without ties.
func TestRankAgreement(t *testing.T) {
	tau, ok := score.TauB([]float64{12, 2, 1, 12, 2}, []float64{1, 4, 7, 1, 0})
	if want := -0.47140452079103173; !ok || math.Abs(tau-want) > 1e-12 {
		t.Errorf("tau-b %v, want %v", tau, want)
	}
	for _, c := range []struct {
		y    []float64
		want float64
	}{{[]float64{10, 20, 30, 40}, 1}, {[]float64{4, 3, 2, 1}, -1}, {[]float64{1, 3, 2, 4}, 1 - 6*2.0/(4*15)}, {[]float64{2, 3, 4, 1}, 1 - 6*12.0/(4*15)}} {
		if rho := spearman([]float64{1, 2, 3, 4}, c.y); math.Abs(rho-c.want) > 1e-12 {
			t.Errorf("rho of %v is %v, want %v", c.y, rho, c.want)
		}
	}
}

// spearman is the correlation of ranks; there are no ties.
func spearman(x, y []float64) float64 { return stat.Correlation(ranks(x), ranks(y), nil) }

func ranks(x []float64) []float64 {
	sorted := slices.Sorted(slices.Values(x))
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = float64(slices.Index(sorted, v))
	}
	return out
}

// orderBefore reads the systems in the order that a flow had before.
func orderBefore(t *testing.T, flow string) []string {
	t.Helper()
	f, err := os.Open("testdata/" + flow + "-before.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var list []string
	for lines := bufio.NewScanner(f); lines.Scan(); {
		if line := strings.TrimSpace(lines.Text()); line != "" && !strings.HasPrefix(line, "#") {
			list = append(list, line)
		}
	}
	return list
}
