package aircraft

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/condition"
)

// failure is a failure point, where it is tried, and what has to come of it. Those that begin with eng1, pump1 and the
// like are tried on the other side as well, with the numbers changed.
type failure struct {
	point string
	state string             // "" is a start of the engine from cold; otherwise a state of the profile
	do    func(*rig, string) // moves, with the number of the side; nil: nothing but the start
	after time.Duration
	shows string // condition that has to hold then, and must not on a healthy aircraft
}

// beforeStart keeps a cold aircraft cold.
func beforeStart(*rig, string) {}

func move(control, position string) func(*rig, string) {
	return func(r *rig, side string) { r.set(strings.ReplaceAll(control, "1", side), position) }
}

// Every failure point does what it says of itself. A condition holds with the failure and does not without it.
func failures() []failure {
	const minute = time.Minute
	return []failure{
		{"eng1.bleed_stuck", "", nil, minute, "over1 > 10"},
		{"eng1.nozzle_blocked", "", nil, minute, "over1 > 5"},
		{"eng1.no_light", "", nil, minute, "starter_time1 > 40 and not alight1 and tot1 < 50"},
		{"eng1.fuel_lean", "", nil, minute, "alight1 and n1_1 < 60"},
		{"eng1.starter_stuck", "", nil, minute, "cranking1 and starter1 and n1_1 > 60"},
		{"eng1.starter_weak", "", nil, minute, "starter_time1 > 35"},
		{"eng1.governor_low", "hover", nil, 5 * time.Second, "trq1 < 20 and trq2 > 90 and nr < 97"},
		{"eng1.governor_high", "hover", nil, 5 * time.Second, "trq1 - trq2 > 40"},
		{"eng1.flameout", "hover", nil, 5 * time.Second, "not alight1 and eng_out1 and engine_out and nr < 97"},
		{"eng1.fadec", "hover", move("collective", "30"), 8 * time.Second, "fadec_fault1 and trq1 - trq2 > 20"},
		{"eng1.oil_leak", "hover", nil, 20 * time.Second, "oil1 and oil_press1 < 0.5"},
		{"eng1.oil_cooler", "hover", nil, 3 * minute, "oil_temp1 > 120 and oil1"},
		{"eng1.chip", "hover", nil, time.Second, "chip1"},
		{"eng1.fire", "running", nil, 5 * time.Second, "fire1 and fire_bell"},
		{"eng1.fire_false", "running", nil, time.Second, "fire1 and fire_bell"},
		{"eng1.fire_loop", "running", fireTest, time.Second, "lever1 and not fire1"},
		{"prime1.worn", "", beforeStart, 3 * time.Second, "pump1_live and fuel_press1 < 0.3 and fuel_low1"},
		{"filter1.blocked", "hover", nil, 5 * time.Second, "filter1 and fuel_press1 < 0.5"},
		{"gen1.failed", "running", nil, time.Second, "gen_off1 and load1 == 0"},
		{"gen1.tripped", "running", nil, time.Second, "gen_off1 and load1 == 0"},
		{"battery.weak", "", beforeStart, time.Second, "volts < 23"},
		{"battery.hot", "running", nil, 3 * minute, "batt_hot and batt_temp > 65"},
		{"gearbox.oil_leak", "hover", nil, 20 * time.Second, "gbx_oil and gbx_press < 1.2"},
		{"gearbox.hot", "hover", nil, 8 * minute, "gbx_hot and gbx_temp > 118"},
		{"rotor_brake.drags", "", nil, 2 * minute, "nr < 65 and brake_temp > 150"},
		{"hyd1.leak", "running", nil, 10 * time.Second, "hyd1 and hyd_press1 < 20"},
		{"hyd_test.crossed", "running", move("hyd_shut", "a"), 5 * time.Second, "hyd2 and not hyd1 and hyd_shut_on"},
		{"horizon.toppled", "hover", nil, 5 * time.Second, "horizon_flag"},
		{"display.dead", "running", move("display_test", "test"), 2 * time.Second, "display_test and not display_ok"},
		{"lamp.dead", "running", move("lamp_test", "test"), time.Second, "lamp_test_on and not hyd2"},
		{"door.ajar", "running", nil, time.Second, "door and doors"},
		{"outside.guard_posted", "running", nil, time.Second, "not guard_posted"},
		{"outside.area_clear", "running", nil, time.Second, "not area_clear"},
		{"outside.crew_clear", "running", nil, time.Second, "not crew_clear"},
		{"outside.cart_away", "running", nil, time.Second, "not cart_away"},
		{"outside.exit_clear", "hover", nil, time.Second, "not exit_clear"},
		{"fuel.leak", "hover", nil, 2 * minute, "fuel < 345"},
		{"tail.drive", "hover", nil, 3 * time.Second, "turn < -25"},
		{"low_nr.mute", "", beforeStart, time.Second, "rotor_low and not low_nr"},
		{"high_nr.mute", "hover", overspeed, 4 * time.Second, "rotor_high and not high_nr"},
		{"engine_out.mute", "hover", flameout, 5 * time.Second, "eng_out1 and not engine_out"},
		{"fire_bell.mute", "running", falseFire, time.Second, "fire1 and not fire_bell"},
		{"gong.mute", "running", move("lamp_test", "test"), 500 * time.Millisecond, "lamp_test_on and not gong"},
		{"chime.mute", "running", chip, 500 * time.Millisecond, "chip1 and not chime"},
		{"main_bus.dead", "running", nil, time.Second, "not main_bus and not instruments_live and not pump1_live"},
		{"avionics1_bus.dead", "running", nil, time.Second, "not radio_live and not transponder_live and navigation_live"},
		{"avionics2_bus.dead", "running", nil, 2 * time.Second, "not navigation_live and not trim_on and radio_live"},
		{"ac_bus.dead", "running", nil, 2 * time.Second, "ap_off and inverter_live"},
		{"instruments.failed", "running", nil, time.Second, "not instruments_live"},
		{"fadec1.failed", "", nil, 10 * time.Second, "fadec_fault1 and not cranking1"},
		{"pump1.failed", "", beforeStart, time.Second, "not pump1_live and fuel_low1"},
		{"transfer_fore.failed", "running", nil, time.Second, "not transfer_fore_live"},
		{"transfer_rear.failed", "running", nil, time.Second, "not transfer_rear_live"},
		{"flash.failed", "running", nil, time.Second, "not flash_live"},
		{"steady.failed", "running", nil, time.Second, "not steady_live"},
		{"pitot.failed", "running", nil, time.Second, "pitot_off"},
		{"inverter.failed", "running", nil, 3 * time.Second, "inverter_off and ap_off and not trim_on"},
		{"radio.failed", "running", nil, time.Second, "not radio_live"},
		{"navigation.failed", "running", nil, time.Second, "not navigation_live"},
		{"transponder.failed", "running", nil, time.Second, "not transponder_live"},
		{"pump1.breaker", "", beforeStart, time.Second, "breaker_out and not pump1_live"},
		{"transfer_fore.breaker", "running", nil, time.Second, "breaker_out and not transfer_fore_live"},
		{"transfer_rear.breaker", "running", nil, time.Second, "breaker_out and not transfer_rear_live"},
		{"pitot.breaker", "running", nil, time.Second, "breaker_out and pitot_off"},
		{"inverter.breaker", "running", nil, time.Second, "breaker_out and inverter_off"},
		{"radio.breaker", "running", nil, time.Second, "breaker_out and not radio_live"},
		{"transponder.breaker", "running", nil, time.Second, "breaker_out and not transponder_live"},
		{"autopilot.breaker", "running", nil, time.Second, "breaker_out and ap_off"},
		{"autopilot.failed", "running", nil, time.Second, "ap_off and not trim_on"},
		{"autotrim.failed", "running", nil, time.Second, "not trim_on"},
	}
}

func overspeed(r *rig, _ string) {
	r.fail("eng1.governor_high", 1)
	r.fail("eng2.governor_high", 1)
}

func fireTest(r *rig, side string) { r.set("fire_test", "bay "+side) }

func flameout(r *rig, _ string)  { r.fail("eng1.flameout", 1) }
func falseFire(r *rig, _ string) { r.fail("eng1.fire_false", 1) }
func chip(r *rig, _ string)      { r.fail("eng1.chip", 1) }

func TestEveryFailurePointDoesWhatItSays(t *testing.T) {
	p := dunlin(t)
	tried := map[string]bool{}
	for _, f := range failures() {
		for _, side := range []string{"1", "2"} {
			point, shows := f.point, f.shows
			if side == "2" {
				point, shows = otherSide(p, point), swapSides(shows)
				if point == f.point {
					continue
				}
			}
			tried[point] = true
			t.Run(point, func(t *testing.T) {
				cond, err := condition.Compile(shows, p.Scope())
				if err != nil {
					t.Fatal(err)
				}
				for _, severity := range []float64{0, 1} {
					r := newRig(t, p, fairWeather, f.state)
					r.fail(point, severity)
					if f.state == "" {
						r.prepare()
					}
					switch {
					case f.do != nil:
						f.do(r, side)
					case f.state == "":
						r.light(side)
					}
					r.run(f.after)
					if got := cond.Holds(r.Readings()); got != (severity == 1) {
						t.Errorf("severity %v: %s is %v\n%s", severity, shows, got, r.dump())
					}
				}
			})
		}
	}
	for _, point := range p.FailurePoints() {
		if !tried[point.Name] {
			t.Errorf("%s (%s) is not tried", point.Name, point.About)
		}
		if point.About == "" || !strings.HasSuffix(point.About, ".") {
			t.Errorf("%s says of itself: %q", point.Name, point.About)
		}
	}
}

// otherSide is the same failure point on side 2, or the point itself if it has no sides.
func otherSide(p *Profile, point string) string {
	system, part, _ := strings.Cut(point, ".")
	mirrored := swapSides(system) + "." + part
	if _, ok := p.FailureIndex(mirrored); ok {
		return mirrored
	}
	return point
}

// swapSides changes the trailing 1 of names into 2, and the other way round.
func swapSides(s string) string {
	words := strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" ()", r) })
	for _, word := range words {
		base := strings.TrimSuffix(strings.TrimSuffix(word, "_live"), "_x")
		if base == "" || strings.Trim(base, "0123456789.") == "" {
			continue
		}
		last := base[len(base)-1]
		if last != '1' && last != '2' {
			continue
		}
		swapped := base[:len(base)-1] + string('1'+'2'-last) + strings.TrimPrefix(word, base)
		s = replaceWord(s, word, "\x00"+swapped)
	}
	return strings.ReplaceAll(s, "\x00", "")
}

// replaceWord replaces a whole word that has not been replaced yet.
func replaceWord(s, word, with string) string {
	parts := strings.SplitAfter(s, " ")
	for i, part := range parts {
		if strings.Trim(part, " ()") == word {
			parts[i] = strings.Replace(part, word, with, 1)
		}
	}
	return strings.Join(parts, "")
}

// dump gives every reading that is not zero, for a test that has failed.
func (r *rig) dump() string {
	var lines []string
	for name := range r.profile.scope {
		if v := r.read(name); v != 0 {
			lines = append(lines, fmt.Sprintf("%s %.2f", name, v))
		}
	}
	slices.Sort(lines)
	return strings.Join(lines, ", ")
}

// A failure that is put right is no failure: the aircraft that had it for a moment ends where one that never had it does.
func TestFailuresCanBePutRight(t *testing.T) {
	p := dunlin(t)
	for _, point := range []string{"gen1.failed", "gen1.tripped", "hyd1.leak", "inverter.failed", "eng1.oil_leak", "filter1.blocked", "door.ajar", "outside.area_clear", "pitot.failed"} {
		r := newRig(t, p, fairWeather, "running")
		r.fail(point, 1)
		r.run(2 * time.Second)
		r.fail(point, 0)
		r.run(30 * time.Second)
		for i := range p.Captions {
			if p.Captions[i].Level != Advisory && r.Lit(i) {
				t.Errorf("%s: %s stays lit", point, p.Captions[i].ID)
			}
		}
	}
}

// Cutting the fuel ends a fire; the lever alone does not.
func TestFireLivesOnFuel(t *testing.T) {
	r := newRig(t, dunlin(t), fairWeather, "running")
	r.fail("eng1.fire", 1)
	r.run(5 * time.Second)
	r.set("lever1", "shut")
	r.run(20 * time.Second)
	if !r.is("fire1") {
		t.Error("goes out though it is fed")
	}
	r.set("cut1", "closed")
	r.until(30*time.Second, func() bool { return !r.is("fire1") }, "fire out")
}

// Faults that are mirror images leave traces that are mirror images.
func TestMirroredFaultsLeaveMirroredTraces(t *testing.T) {
	p := dunlin(t)
	for _, f := range []struct {
		part     string
		severity float64
	}{
		{"eng1.flameout", 1}, {"eng1.governor_low", 0.7}, {"eng1.governor_high", 0.6}, {"eng1.oil_leak", 0.5}, {"eng1.oil_cooler", 1}, {"eng1.fadec", 1},
		{"filter1.blocked", 0.8}, {"gen1.failed", 1}, {"hyd1.leak", 0.7}, {"eng1.fire", 0.9}, {"eng1.bleed_stuck", 0.4}, {"eng1.nozzle_blocked", 0.5},
	} {
		left, right := symmetric(t, p), symmetric(t, p)
		left.fail(f.part, f.severity)
		right.fail(otherSide(p, f.part), f.severity)
		for range int(20 * time.Second / StepLength) {
			left.Step()
			right.Step()
			for name := range p.scope {
				mirror := swapSides(name)
				if _, ok := p.scope[mirror]; !ok {
					t.Fatalf("%s has no mirror image %s", name, mirror)
				}
				if a, b := left.read(name), right.read(mirror); a-b > 1e-6 || b-a > 1e-6 {
					t.Fatalf("%s: after %v %s is %v, and mirrored %v", f.part, left.now, name, a, b)
				}
			}
		}
	}
}

// symmetric is a twin in the hover that no side of has been started first.
func symmetric(t *testing.T, p *Profile) *rig {
	r := newRig(t, p, fairWeather, "hover")
	m := &r.model
	m.engines[1] = m.engines[0]
	m.fuel.supplyKg[1], m.fuel.pressBar[1] = m.fuel.supplyKg[0], m.fuel.pressBar[0]
	m.rotor.driving[1] = m.rotor.driving[0]
	m.hyd.pressBar[1] = m.hyd.pressBar[0]
	r.run(time.Second)
	return r
}
