package aircraft

// airframe is where the aircraft is: on the ground, or above it. It only goes up and down.
type airframe struct {
	heightM float64
	climbMS float64
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
	kN := s.Thrust.at(m.rotor.pitchPct) * float64(share*share) * m.air.sigma
	// The aid of the ground fades as the square of the height: our own curve, which no platform rounds differently.
	far := f.heightM / s.GroundHeight
	ground := 1 + s.GroundGain/(1+float64(far*far))
	mass := s.MassKg + m.fuel.total()
	accel := kN*1000*ground/mass - gravityMS2 - float64(s.Damping*f.climbMS)
	f.climbMS += float64(accel * stepSeconds)
	f.heightM += float64(f.climbMS * stepSeconds)
	switch {
	case f.heightM <= 0:
		f.heightM, f.climbMS = 0, max(f.climbMS, 0)
	case f.heightM >= maxHeightM:
		f.heightM, f.climbMS = maxHeightM, min(f.climbMS, 0)
	}
}
