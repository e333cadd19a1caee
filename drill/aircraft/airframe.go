package aircraft

import "math"

// airframe is where the aircraft is: on the ground, or above it. It only goes up and down.
type airframe struct {
	heightM float64
	climbMS float64
	aloft   bool    // it has been airborne since it last touched down
	sankMS  float64 // how fast it sank as it last touched down
	turnDS  float64 // how fast its nose swings, °/s; to the right is above zero

	thrustOn finger
}

const (
	gravityMS2 = 9.80665
	maxHeightM = 500 // where the hover practice ends; the aircraft climbs no further
	airborneM  = 0.15
)

func (f *airframe) airborne() bool { return f.heightM > airborneM }

// stepAirframe lets thrust, which goes with the square of NR and with density, lift the mass. Near the ground the same
// thrust costs less, which is why a hover settles at a height.
func (m *model) stepAirframe() {
	s, f := &m.profile.Systems.Airframe, &m.airframe
	share := m.rotor.nrPct / 100
	kN := f.thrustOn.on(s.Thrust, m.rotor.pitchPct) * float64(share*share) * m.air.sigma
	// The aid of the ground fades as the square of the height: our own curve, which no platform rounds differently.
	far := f.heightM / s.GroundHeight
	ground := 1 + s.GroundGain/(1+float64(far*far))
	mass := s.MassKg + m.fuel.total()
	cushion := 1.0
	if f.climbMS < 0 {
		cushion = m.cushion(kN * 1000 / (mass * gravityMS2))
	}
	accel := kN*1000*ground/mass - gravityMS2 - float64(s.Damping*cushion*f.climbMS)
	f.climbMS += float64(accel * stepSeconds)
	f.heightM += float64(f.climbMS * stepSeconds)
	switch {
	case f.heightM <= 0:
		if f.aloft {
			f.aloft, f.sankMS = false, max(-f.climbMS, 0)
		}
		f.heightM, f.climbMS = 0, max(f.climbMS, 0)
	case f.heightM >= maxHeightM:
		f.heightM, f.climbMS = maxHeightM, min(f.climbMS, 0)
	}
	f.aloft = f.aloft || f.airborne()
}

// The cushion of air between rotor and ground, which is pressed together by one that sinks: how many times more it holds against
// sinking at the ground, and at what share of the ground effect's height half of that is left. A hand eases a lever down, and
// stops it, and eases it on; the notches of a key cannot. The cushion stands for that: with it a lever that is lowered notch by
// notch sets the aircraft down, and one that is let fall drops it. Our own figures.
const (
	cushionGain  = 8
	cushionShare = 0.5
	cushionMS    = 1 // m/s, from which on it is pressed for all that it holds
)

// cushion is by how much more a sinking aircraft is damped here than far from the ground. It is made of the air that the rotor
// sends down, share being its thrust as a share of the weight, and what hardly sinks hardly presses it.
func (m *model) cushion(share float64) float64 {
	f := &m.airframe
	far := f.heightM / (cushionShare * m.profile.Systems.Airframe.GroundHeight)
	pressed := clamp(-f.climbMS/cushionMS, 0, 1)
	return 1 + float64(cushionGain*pressed*min(share, 1))/(1+float64(far*far))
}

// skidsStopS is the time constant with which skids on the ground stop a nose that swings, seconds. Our own figure.
const skidsStopS = 0.3

// stepYaw swings the nose with the torque that the engines drive the rotor with, as far as no tail rotor holds against it.
// Freewheels pass on none: a rotor that turns by itself leaves the nose alone.
func (m *model) stepYaw(a *Aircraft) {
	s, f := m.profile.Systems.Airframe.Yaw, &m.airframe
	if s == nil {
		return
	}
	if !f.airborne() {
		f.turnDS = lag(f.turnDS, 0, skidsStopS)
		return
	}
	const degrees = 180 / math.Pi
	accel := float64(degrees * m.rotor.drivenNm * a.severity[m.profile.wiring.tailPoint] / s.Inertia)
	if s.Left {
		accel = -accel
	}
	f.turnDS += float64((accel - float64(s.Damping*f.turnDS)) * stepSeconds)
}
