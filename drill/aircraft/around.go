package aircraft

import "fmt"

// What an instructor changes around an aircraft: the air that it stands in, what is in its tanks, and whether ground power is to be had.
// None of it is a failure. Whoever runs a healthy twin beside an aircraft changes both.

// WeatherRange is what a figure of the weather can be, by the name that it has in documents, and its unit; false if there is no such figure.
func WeatherRange(name string) (least, most float64, unit string, ok bool) {
	for _, r := range weatherRanges {
		if r.name == name {
			return r.least, r.most, r.unit, true
		}
	}
	return 0, 0, "", false
}

// WeatherFigures are the names of the figures of the weather, as documents have them.
func WeatherFigures() []string {
	var names []string
	for _, r := range weatherRanges {
		names = append(names, r.name)
	}
	return names
}

// Of is a figure of the weather by its name, 0 for one that there is not.
func (w Weather) Of(name string) float64 {
	if v := w.figure(name); v != nil {
		return *v
	}
	return 0
}

// With is the weather with one figure changed. A name that there is not changes nothing.
func (w Weather) With(name string, value float64) Weather {
	if v := w.figure(name); v != nil {
		*v = value
	}
	return w
}

func (w *Weather) figure(name string) *float64 {
	switch name {
	case "oat":
		return &w.OAT
	case "pressure_altitude":
		return &w.Altitude
	case "tailwind":
		return &w.Tailwind
	case "humidity":
		return &w.Humidity
	}
	return nil
}

// Weather is the air that the aircraft stands in.
func (a *Aircraft) Weather() Weather { return a.model.weather }

// SetWeather puts the aircraft into other air, at once: what is warm cools in it from here on. The error says which figure is out of range;
// nothing has changed then.
func (a *Aircraft) SetWeather(w Weather) error {
	if err := w.check(); err != nil {
		return err
	}
	if w == a.model.weather {
		return nil
	}
	a.model.weather, a.model.air = w, w.air()
	a.model.belt.airDegC = a.model.air.degC
	a.stirred()
	return nil
}

// FuelMost is what the tanks of the aircraft hold together, kg: what is in them at the beginning.
func (p *Profile) FuelMost() float64 {
	return p.Systems.Fuel.MainKg + float64(p.Systems.Fuel.SupplyKg*float64(len(p.Systems.Engines)))
}

// Fuel is what is in the tanks together, kg.
func (a *Aircraft) Fuel() float64 { return a.model.fuel.total() }

// SetFuel has so much in the tanks together, kg, from 0 to FuelMost: the supply tanks are filled first. An amount beyond is an error, and
// changes nothing.
func (a *Aircraft) SetFuel(kg float64) error {
	most := a.profile.FuelMost()
	if !(kg >= 0 && kg <= most) {
		return fmt.Errorf("fuel is %v kg; the tanks take 0 to %v", kg, most)
	}
	f, engines := &a.model.fuel, len(a.profile.Systems.Engines)
	each := min(a.profile.Systems.Fuel.SupplyKg, kg/float64(engines))
	f.mainKg = max(kg-float64(each*float64(engines)), 0)
	for i := range engines {
		f.supplyKg[i] = each
	}
	a.stirred()
	return nil
}

// HasGroundPower reports whether a ground power unit can be connected to the aircraft.
func (p *Profile) HasGroundPower() bool { return p.Systems.Electrical.External != nil }

// GroundPower reports whether ground power is to be had: the unit stands there, works, and is plugged in. It is, until somebody outside
// unplugs it; whether it is used is for the switch in the cockpit.
func (a *Aircraft) GroundPower() bool { return a.profile.HasGroundPower() && !a.model.elec.unplugged }

// PlugIn has somebody outside plug ground power in, or unplug it.
func (a *Aircraft) PlugIn(in bool) {
	if a.model.elec.unplugged == !in {
		return
	}
	a.model.elec.unplugged = !in
	a.stirred()
}

// stirred has everything looked at again, the machinery too.
func (a *Aircraft) stirred() {
	a.moveNeedles() // they stay where they are until the next step
	a.board.Stir(watchAll)
	a.model.elec.switched, a.model.still = true, false
	a.read()
}

// Remember takes over how far the gauges of another aircraft of its profile went: what has been seen of the one stays so of the other, which
// has been put in its place.
func (a *Aircraft) Remember(other *Aircraft) {
	for i := range a.gauges {
		a.gauges[i].peak, a.gauges[i].seen = other.gauges[i].peak, other.gauges[i].seen
		a.gauges[i].within, a.calm[i] = nowhere, nowhere
	}
}
