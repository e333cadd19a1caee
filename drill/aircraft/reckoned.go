package aircraft

import "math"

// reckoned is what the equations of the model would make of a profile's figures again at every step. Each is made by the very
// expression that an equation would have, so that no digit of what follows from it hangs on where it is made.
type reckoned struct {
	equipmentS  []float64 // what each equipment conducts, S
	horizonS    float64   // the same of the standby horizon
	batteryCool float64   // shares: see share
	hydBuilds   float64
	spins       float64
	probes      float64
	gearboxWarm float64
	oilWarm     float64
	oilStands   float64
	chargeAs    float64 // of a full battery, A s
	pumpKg      float64 // what one transfer pump moves into one tank in a step
	fullKgS     float64 // fuel flow of an engine at full power
	rotorRadS   float64 // at 100 %
	ratedNm     float64 // of a turbine, at the speed of the rotor
	ratedW      float64 // of a turbine
	brakeStopJ  float64 // in the rotor at 100 %
}

// reckon makes it of figures that are sound.
func reckon(s *Systems) reckoned {
	const secondsPerHour = 3600
	b, r := &s.Electrical.Battery, &s.Rotor
	k := reckoned{
		batteryCool: share(b.CoolsS), gearboxWarm: share(s.Gearbox.WarmS),
		oilWarm: share(s.Oil.WarmS), oilStands: share(float64(s.Oil.WarmS * standingOil)), chargeAs: b.CapacityAh * secondsPerHour,
		pumpKg: s.Fuel.TransferKg * stepSeconds / float64(len(s.Engines)), fullKgS: s.fullKgS(), rotorRadS: r.RPM * (2 * math.Pi / 60),
	}
	for i := range s.Electrical.Equipment {
		k.equipmentS = append(k.equipmentS, s.Electrical.Equipment[i].Amps/ratedVolts)
	}
	if s.Horizon != nil {
		k.horizonS, k.spins = s.Horizon.Amps/ratedVolts, share(s.Horizon.SpinS)
	}
	if s.Hydraulics != nil {
		k.hydBuilds = share(s.Hydraulics.BuildsS)
	}
	if t := s.Turbine; t != nil {
		k.probes, k.ratedNm, k.ratedW = share(t.GasS), t.ratedNm(k.rotorRadS), t.ratedNm(1)
	}
	k.brakeStopJ = float64(r.Inertia*k.rotorRadS*k.rotorRadS) / 2
	return k
}

// share is what of the way to its target a first-order system with a time constant in seconds goes in a step. The step is taken
// backwards (implicit Euler): it cannot overshoot, however short the time constant.
func share(seconds float64) float64 { return stepSeconds / (seconds + stepSeconds) }

// follow moves a value by a share of the way to its target.
func follow(value, target, share float64) float64 { return value + float64((target-value)*share) }

// lag is follow with a time constant.
func lag(value, target, seconds float64) float64 { return follow(value, target, share(seconds)) }

// finger is a place on a curve: the one that it was last read at. What a curve is read at mostly stays, or moves within the same
// two points.
type finger struct {
	x, y float64
	to   int // of the points, the one at the right; 0: it is not known
}

// on reads a curve, like Curve.at. Most are read more than once at the same place, which costs no call.
func (f *finger) on(c Curve, x float64) float64 {
	if x != f.x || f.to == 0 {
		f.move(c, x)
	}
	return f.y
}

// move takes the finger to another place.
func (f *finger) move(c Curve, x float64) {
	if i := f.to; i > 0 && x > c[i-1][0] {
		switch {
		case i == len(c):
			f.x = x // it is beyond the last point, as before
			return
		case x < c[i][0]:
			f.x, f.y = x, between(&c[i-1], &c[i], x)
			return
		}
	}
	f.x, f.y, f.to = x, c.at(x), max(c.right(x), 1)
}
