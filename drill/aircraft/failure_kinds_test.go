package aircraft

import (
	"testing"
	"time"

	"hornlark/drill/condition"
)

// oneEngined is a failure point of an aircraft with one engine: where it is tried, and what has to come of it.
type oneEngined struct {
	point string
	state string     // "" is cold
	do    func(*rig) // moves, and the time that they take
	after time.Duration
	shows string // condition that has to hold then, and must not on a healthy aircraft
}

func byHand(d time.Duration) func(*rig) {
	return func(r *rig) {
		r.handPrepare()
		r.handStart(d, byTheBook())
	}
}

func moves(pairs ...string) func(*rig) {
	return func(r *rig) {
		for i := 0; i < len(pairs); i += 2 {
			r.set(pairs[i], pairs[i+1])
		}
	}
}

func also(point string) func(*rig) { return func(r *rig) { r.fail(point, 1) } }

func handPrepared(r *rig) { r.handPrepare() }

// Every failure point of the single does what it says of itself.
func TestEveryFailurePointOfTheSingle(t *testing.T) {
	const minute = time.Minute
	everyPoint(t, turnstone(t), []oneEngined{
		{"eng1.bleed_stuck", "", byHand(minute), 0, "over1 > 3"},
		{"eng1.nozzle_blocked", "", byHand(minute), 0, "over1 > 1"},
		{"eng1.no_light", "", byHand(30 * time.Second), 0, "throttle > 0 and not alight1 and tot < 50"},
		{"eng1.flameout", "hover", nil, 5 * time.Second, "eng_out and engine_out and nr < 90"},
		{"eng1.fuel_lean", "", byHand(minute), 0, "alight1 and n1 < 54"},
		{"eng1.starter_stuck", "", byHand(minute), 0, "cranking1 and not starter and starter_on"},
		{"eng1.starter_weak", "", byHand(20 * time.Second), 0, "n1 < 38"},
		{"eng1.governor_low", "hover", nil, 5 * time.Second, "nr < 90 and trq < 30"},
		{"eng1.governor_high", "hover", nil, 5 * time.Second, "nr > 103 and trq > 80"},
		{"eng1.oil_leak", "hover", nil, 20 * time.Second, "oil and oil_press < 0.6"},
		{"eng1.oil_cooler", "hover", nil, 4 * minute, "oil and oil_temp > 115"},
		{"eng1.chip", "hover", nil, time.Second, "chip"},
		{"eng1.fire", "running", nil, 5 * time.Second, "fire"},
		{"eng1.fire_false", "running", nil, time.Second, "fire"},
		{"eng1.fire_loop", "running", moves("fire_test", "test"), time.Second, "fire_test and not fire"},
		{"prime1.worn", "", handPrepared, time.Second, "feed_live and fuel_press < 0.3 and fuel_low"},
		{"filter1.blocked", "hover", nil, 5 * time.Second, "filter and fuel_press < 0.7"},
		{"gen1.failed", "running", nil, time.Second, "gen_off and load == 0"},
		{"gen1.tripped", "running", nil, time.Second, "gen_off and load == 0"},
		{"battery.weak", "", handPrepared, time.Second, "volts < 23.5"},
		{"battery.hot", "running", nil, 3 * minute, "batt_hot and batt_temp > 62"},
		{"gearbox.oil_leak", "hover", nil, 20 * time.Second, "gbx_oil and gbx_press < 0.8"},
		{"fuel.leak", "running", nil, 3 * time.Minute, "fuel < 110"},
		{"gearbox.hot", "hover", nil, 6 * minute, "gbx_hot and gbx_temp > 112"},
		{"rotor_brake.drags", "", byHand(minute), 0, "n1 > 57 and nr < 63 and brake_temp > 100"},
		{"tail.drive", "hover", nil, 3 * time.Second, "turn < -50"},
		{"hyd1.leak", "running", nil, 10 * time.Second, "hyd and hyd_press < 20 and stick_force > 0.5"},
		{"lamp.dead", "running", moves("lamp_test", "test"), time.Second, "lamp_test_on and not chip"},
		{"door.ajar", "running", nil, time.Second, "door and doors"},
		{"outside.guard_posted", "running", nil, time.Second, "not guard_posted"},
		{"outside.area_clear", "running", nil, time.Second, "not area_clear"},
		{"outside.cart_away", "running", nil, time.Second, "not cart_away"},
		{"low_nr.mute", "", handPrepared, time.Second, "rotor_low and not low_nr"},
		{"engine_out.mute", "hover", also("eng1.flameout"), 5 * time.Second, "eng_out and not engine_out"},
		{"gong.mute", "running", moves("lamp_test", "test"), 500 * time.Millisecond, "lamp_test_on and not gong"},
		{"chime.mute", "running", also("eng1.chip"), 500 * time.Millisecond, "chip and not chime"},
		{"main_bus.dead", "running", nil, time.Second, "not main_bus and not instruments_live and not pitot_live"},
		{"avionics_bus.dead", "running", nil, time.Second, "not radio_live and not transponder_live and main_bus"},
		{"instruments.failed", "running", nil, time.Second, "not instruments_live"},
		{"feed.failed", "", handPrepared, time.Second, "feed and not feed_live and fuel_low"},
		{"feed.breaker", "", handPrepared, time.Second, "feed and not feed_live and fuel_low and breaker_out"},
		{"transfer.failed", "running", nil, time.Second, "transfer and not transfer_live"},
		{"transfer.breaker", "running", nil, time.Second, "transfer and not transfer_live and breaker_out"},
		{"anticol.failed", "running", nil, time.Second, "not anticol_live"},
		{"pos_lights.failed", "running", nil, time.Second, "not pos_lights_live"},
		{"pitot.failed", "running", nil, time.Second, "pitot_off"},
		{"pitot.breaker", "running", nil, time.Second, "pitot_off and breaker_out"},
		{"radio.failed", "running", nil, time.Second, "not radio_live"},
		{"radio.breaker", "running", nil, time.Second, "not radio_live and breaker_out"},
		{"transponder.failed", "running", nil, time.Second, "not transponder_live"},
	})
}

// Every failure point of the piston trainer does what it says of itself.
func TestEveryFailurePointOfTheTrainer(t *testing.T) {
	const minute = time.Minute
	fires := func(r *rig) { r.fires() }
	cranks := moves("battery", "on", "starter", "on")
	everyPoint(t, whinchat(t), []oneEngined{
		{"eng1.cylinder", "hover", nil, 6 * time.Second, "alight1 and nr < 90 and manifold > 27"},
		{"eng1.mag_left", "running", moves("mag_right", "off"), 5 * time.Second, "not alight1"},
		{"eng1.mag_right", "running", moves("mag_left", "off"), 5 * time.Second, "not alight1"},
		{"eng1.moist", "hover", moves("carb_heat", "0"), minute, "ice1 > 20"},
		{"eng1.carb_heat", "hover", nil, 15 * time.Second, "carb_temp < 3"},
		{"eng1.starved", "hover", nil, 3 * time.Second, "not alight1 and nr < 80"},
		{"eng1.fuel_lean", "hover", nil, 10 * time.Second, "alight1 and nr < 96"},
		{"eng1.starter_stuck", "", fires, 0, "cranking1 and not starter and starter_on"},
		{"eng1.starter_weak", "", cranks, 2 * time.Second, "rpm < 6.5"},
		{"eng1.governor_low", "hover", nil, 5 * time.Second, "nr < 92"},
		{"eng1.governor_high", "hover", nil, 5 * time.Second, "nr > 104 and rotor_high"},
		{"eng1.oil_leak", "hover", nil, 20 * time.Second, "oil and oil_press < 0.6"},
		{"eng1.oil_cooler", "hover", nil, 5 * minute, "oil_temp > 104"},
		{"eng1.chip", "hover", nil, time.Second, "chip"},
		{"eng1.fire", "running", nil, 5 * time.Second, "fire"},
		{"eng1.fire_false", "running", nil, time.Second, "fire"},
		{"eng1.fire_loop", "running", also("eng1.fire"), 5 * time.Second, "not fire"},
		{"clutch.worn", "hover", nil, 4 * time.Second, "belt_slack and belt < 60 and nr < 93 and rpm > 97"},
		{"filter1.blocked", "hover", nil, 5 * time.Second, "fuel_press1 < 0.05 and not alight1"},
		{"gen1.failed", "running", nil, time.Second, "alternator_off and load == 0"},
		{"gen1.tripped", "running", nil, time.Second, "alternator_off and load == 0"},
		{"battery.weak", "", moves("battery", "on"), time.Second, "volts < 23.5"},
		{"battery.hot", "running", nil, 3 * minute, "batt_temp > 65"},
		{"gearbox.oil_leak", "hover", nil, 20 * time.Second, "gbx_press < 0.5"},
		{"gearbox.hot", "hover", nil, 8 * minute, "gbx_hot and gbx_temp > 108"},
		{"tail.drive", "hover", nil, 2 * time.Second, "turn > 30"},
		{"fuel.leak", "hover", nil, minute, "fuel < 61"},
		{"rotor_brake.drags", "running", nil, 15 * time.Second, "manifold > 16"},
		{"lamp.dead", "running", moves("lamp_test", "test"), time.Second, "lamp_test_on and not belt_slack"},
		{"door.ajar", "running", nil, time.Second, "door and doors"},
		{"outside.area_clear", "running", nil, time.Second, "not area_clear"},
		{"low_nr.mute", "running", moves("speed_hold", "off", "throttle", "0"), 6 * time.Second, "rotor_low and not low_nr"},
		{"gong.mute", "running", moves("lamp_test", "test"), 500 * time.Millisecond, "lamp_test_on and not gong"},
		{"chime.mute", "running", also("eng1.chip"), 500 * time.Millisecond, "chip and not chime"},
		{"main_bus.dead", "running", nil, time.Second, "not main_bus and not instruments_live"},
		{"avionics_bus.dead", "running", nil, time.Second, "not radio_live and main_bus"},
		{"instruments.failed", "running", nil, time.Second, "not instruments_live"},
		{"speed_hold.failed", "running", nil, time.Second, "speed_hold and hold_off"},
		{"anticol.failed", "running", nil, time.Second, "not anticol_live"},
		{"pos_lights.failed", "running", nil, time.Second, "not pos_lights_live"},
		{"radio.failed", "running", nil, time.Second, "not radio_live"},
		{"speed_hold.breaker", "running", nil, time.Second, "speed_hold and hold_off and breaker_out"},
		{"anticol.breaker", "running", nil, time.Second, "not anticol_live and breaker_out"},
		{"pos_lights.breaker", "running", nil, time.Second, "not pos_lights_live and breaker_out"},
		{"radio.breaker", "running", nil, time.Second, "not radio_live and breaker_out"},
	})
}

func everyPoint(t *testing.T, p *Profile, table []oneEngined) {
	tried := map[string]bool{}
	for _, f := range table {
		tried[f.point] = true
		t.Run(f.point, func(t *testing.T) {
			cond, err := condition.Compile(f.shows, p.Scope())
			if err != nil {
				t.Fatal(err)
			}
			for _, severity := range []float64{0, 1} {
				r := newRig(t, p, fairWeather, f.state)
				r.fail(f.point, severity)
				if f.do != nil {
					f.do(r)
				}
				r.run(f.after)
				if got := cond.Holds(r.Readings()); got != (severity == 1) {
					t.Errorf("severity %v: %s is %v\n%s", severity, f.shows, got, r.dump())
				}
			}
		})
	}
	for _, point := range p.FailurePoints() {
		if !tried[point.Name] {
			t.Errorf("%s (%s) is not tried", point.Name, point.About)
		}
	}
}
