package datasheet_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/aircraft/datasheet"
	"hornlark/drill/library"
)

// changed is a copy of a built-in profile with something about it changed.
func changed(tb testing.TB, name string, change func(*aircraft.Profile)) *aircraft.Profile {
	tb.Helper()
	lib, err := library.Builtin()
	if err != nil {
		tb.Fatal(err)
	}
	built, err := lib.Profile(name)
	if err != nil {
		tb.Fatal(err)
	}
	p := *built
	s := &p.Systems
	s.Turbine, s.Governor, s.FADEC, s.Metering = clone(s.Turbine), clone(s.Governor), clone(s.FADEC), clone(s.Metering)
	s.Piston, s.Clutch, p.Expected = clone(s.Piston), clone(s.Clutch), clone(p.Expected)
	if change != nil {
		change(&p)
	}
	if faults := p.Compile(); len(faults) > 0 {
		tb.Fatal(faults)
	}
	return &p
}

func clone[T any](v *T) *T {
	if v == nil {
		return nil
	}
	c := *v
	return &c
}

func fly(tb testing.TB, p *aircraft.Profile) datasheet.Sheet {
	tb.Helper()
	sheet, err := datasheet.Fly(p)
	if err != nil {
		tb.Fatal(err)
	}
	return sheet
}

// scaled is a curve with its values multiplied.
func scaled(c aircraft.Curve, by float64) aircraft.Curve {
	out := slices.Clone(c)
	for i := range out {
		out[i][1] *= by
	}
	return out
}

// adopt expects of a profile what it does.
func adopt(p *aircraft.Profile, sheet datasheet.Sheet) {
	e := p.Expected
	into := map[string]**float64{
		"light_off_s": &e.LightOffS, "peak_tot": &e.PeakTOT, "time_to_idle_s": &e.TimeToIdleS, "idle_n1": &e.IdleN1, "idle_rpm": &e.IdleRPM,
		"idle_tot": &e.IdleTOT, "idle_nr": &e.IdleNR, "battery_sag_v": &e.BatterySagV, "oil_rise_s": &e.OilRiseS, "belt_tight_s": &e.BeltTightS,
		"time_to_flight_s": &e.TimeToFlightS, "flight_nr": &e.FlightNR, "flight_n1": &e.FlightN1, "flight_tot": &e.FlightTOT,
		"flight_trq": &e.FlightTRQ, "lift_off_droop": &e.LiftOffDroop, "hover_trq": &e.HoverTRQ, "power_loss_s": &e.PowerLossS,
		"mag_drop": &e.MagDrop, "mag_drop_s": &e.MagDropS, "rundown_s": &e.RundownS, "rundown_braked_s": &e.RundownBrakedS,
	}
	curves := map[string]*aircraft.Curve{
		"nr_in_start": &e.NRInStart, "cool_down_temp": &e.CoolDownTemp, "after_shutdown_temp": &e.AfterShutdownTemp,
	}
	for _, curve := range curves {
		*curve = slices.Clone(*curve)
	}
	for _, row := range sheet {
		name, index, ok := strings.Cut(row.Figure, "[")
		if ok {
			(*curves[name])[index[0]-'0'][1] = row.Measured
			continue
		}
		*into[name] = &row.Measured
	}
}

// Every figure of the check is missed when the aircraft no longer does it: for each, a change of the model that must show in
// it, on a sheet that the unchanged model meets in every figure.
func TestEveryFigureCanBeMissed(t *testing.T) {
	type change struct {
		profile, figure string
		to              func(*aircraft.Profile)
	}
	const twin, single, trainer = "dunlin-lt", "turnstone-st", "whinchat-pt"
	changes := []change{
		{twin, "light_off_s", func(p *aircraft.Profile) { p.Systems.Turbine.LightS += 4 }},
		{twin, "peak_tot", func(p *aircraft.Profile) {
			p.Systems.FADEC.StartRise += 250
			p.Systems.FADEC.StartMaxRise += 250
			p.Systems.Turbine.Rise = scaled(p.Systems.Turbine.Rise, 1.3)
		}},
		{twin, "time_to_idle_s", func(p *aircraft.Profile) { p.Systems.FADEC.StartAccel = scaled(p.Systems.FADEC.StartAccel, 0.5) }},
		{twin, "idle_n1", func(p *aircraft.Profile) { p.Systems.Governor.IdleN1, p.Systems.Governor.IdleMaxN1 = 80, 82 }},
		{twin, "idle_tot", func(p *aircraft.Profile) { p.Systems.Turbine.Rise = scaled(p.Systems.Turbine.Rise, 1.2) }},
		{twin, "idle_nr", func(p *aircraft.Profile) { p.Systems.Rotor.Power = scaled(p.Systems.Rotor.Power, 2) }},
		{twin, "battery_sag_v", func(p *aircraft.Profile) { p.Systems.Electrical.External.Ohms *= 4 }},
		{twin, "oil_rise_s", func(p *aircraft.Profile) { p.Systems.Oil.Bar = scaled(p.Systems.Oil.Bar, 0.6) }},
		{twin, "time_to_flight_s", func(p *aircraft.Profile) { p.Systems.Governor.N2PerS /= 3 }},
		{twin, "flight_nr", func(p *aircraft.Profile) { p.Systems.Governor.FlightN2 -= 4 }},
		{twin, "flight_n1", func(p *aircraft.Profile) { p.Systems.Rotor.Power = scaled(p.Systems.Rotor.Power, 3) }},
		{twin, "flight_tot", func(p *aircraft.Profile) { p.Systems.Turbine.Rise = scaled(p.Systems.Turbine.Rise, 1.2) }},
		{twin, "flight_trq", func(p *aircraft.Profile) { p.Systems.Rotor.Power = scaled(p.Systems.Rotor.Power, 1.6) }},
		{twin, "lift_off_droop", func(p *aircraft.Profile) { p.Systems.Governor.AccelRise /= 5 }},
		{twin, "hover_trq", func(p *aircraft.Profile) { p.Systems.Rotor.Power = scaled(p.Systems.Rotor.Power, 1.2) }},
		{twin, "power_loss_s", func(p *aircraft.Profile) { p.Systems.Rotor.Inertia *= 2 }},
		{twin, "rundown_s", func(p *aircraft.Profile) { p.Systems.Rotor.Friction *= 2 }},
		{twin, "rundown_braked_s", func(p *aircraft.Profile) { p.Systems.Rotor.BrakeNm /= 3 }},
		{single, "nr_in_start", func(p *aircraft.Profile) { p.Systems.Rotor.Inertia /= 4 }},
		{single, "cool_down_temp", func(p *aircraft.Profile) { p.Systems.Turbine.Rise = scaled(p.Systems.Turbine.Rise, 1.2) }},
		{single, "after_shutdown_temp", func(p *aircraft.Profile) { p.Systems.Turbine.CoolsS *= 4 }},
		{trainer, "idle_rpm", func(p *aircraft.Profile) { p.Systems.Piston.Friction = scaled(p.Systems.Piston.Friction, 1.2) }},
		{trainer, "idle_nr", func(p *aircraft.Profile) { p.Systems.Piston.Friction = scaled(p.Systems.Piston.Friction, 1.2) }},
		{trainer, "belt_tight_s", func(p *aircraft.Profile) { p.Systems.Clutch.CarriesNm /= 1.3 }},
		{trainer, "mag_drop", func(p *aircraft.Profile) {
			// The magneto that is left sparks poorly, whichever it is.
			moves := p.Expected.Runs["magneto"].Moves
			moves[0].Fail = map[string]float64{"eng1.mag_left": 0.7, "eng1.mag_right": 0.7}
		}},
		{trainer, "mag_drop_s", func(p *aircraft.Profile) { p.Systems.Rotor.Inertia *= 6 }},
		{trainer, "cool_down_temp", func(p *aircraft.Profile) { p.Systems.Piston.HeadK *= 1.5 }},
		{trainer, "after_shutdown_temp", func(p *aircraft.Profile) { p.Systems.Piston.HeadS *= 8 }},
	}
	met := map[string]*aircraft.Expected{} // what each does, unchanged
	kept := map[string][]string{}
	for _, name := range []string{twin, single, trainer} {
		p := changed(t, name, nil)
		sheet := fly(t, p)
		adopt(p, sheet)
		met[name] = p.Expected
		for _, row := range sheet {
			figure, _, _ := strings.Cut(row.Figure, "[")
			kept[name] = append(kept[name], figure)
		}
		for _, row := range fly(t, p).Missed() {
			t.Fatalf("unchanged: %s %s", row.Figure, row.Problem())
		}
	}
	tried := map[string]bool{}
	for _, c := range changes {
		tried[c.figure] = true
		t.Run(c.profile+" "+c.figure, func(t *testing.T) {
			spoilt := changed(t, c.profile, func(q *aircraft.Profile) {
				e := *met[c.profile]
				e.Runs = copied(e.Runs)
				q.Expected = &e
				c.to(q)
			})
			sheet := fly(t, spoilt)
			if !slices.ContainsFunc(sheet.Missed(), func(r datasheet.Row) bool { return strings.HasPrefix(r.Figure, c.figure) }) {
				t.Errorf("not missed:\n%s", sheet.Text())
			}
		})
	}
	for name, figures := range kept {
		for _, figure := range figures {
			if !tried[figure] {
				t.Errorf("no change of the model is tried on %s of %s", figure, name)
			}
		}
	}
}

func copied(runs map[string]aircraft.Run) map[string]aircraft.Run {
	out := map[string]aircraft.Run{}
	for name, run := range runs {
		run.Moves = slices.Clone(run.Moves)
		out[name] = run
	}
	return out
}

// The tolerances are those of 14 CFR Part 60, Appendix D, Table D2A, 1.a.1 and 1.a.2 (edition of 1 January 2019): light-off
// 10 % or 1 s; gas temperature 30 °C in the start, 20 °C when steady; rotor speed 3 and 1.5 %; gas generator 2 % when steady;
// torque 3 % when steady; rotor speed with a step of collective 1.5 %.
func TestTolerancesOfTheTable(t *testing.T) {
	p := changed(t, "turnstone-st", nil)
	adopt(p, fly(t, p))
	table := map[string]float64{
		"peak_tot": 30, "idle_n1": 2, "idle_tot": 20, "idle_nr": 1.5, "flight_nr": 1.5, "flight_n1": 2, "flight_tot": 20, "flight_trq": 3,
		"lift_off_droop": 1.5, "nr_in_start": 3, "hover_trq": 3, "cool_down_temp": 30, "after_shutdown_temp": 30,
	}
	seen := map[string]bool{}
	for _, row := range fly(t, p) {
		figure, _, _ := strings.Cut(row.Figure, "[")
		want, ok := table[figure]
		if figure == "light_off_s" {
			want, ok = math.Max(1, 0.1*row.Expected), true
		}
		seen[figure] = true
		if !ok {
			if row.Source != datasheet.Ours {
				t.Errorf("%s: there is no row for it, and it names %s", row.Figure, row.Source)
			}
			continue
		}
		if row.Source != datasheet.TableD2A || row.Tolerance != want {
			t.Errorf("%s: ±%v (%s), want ±%v of the table", row.Figure, row.Tolerance, row.Source, want)
		}
	}
	for figure := range table {
		if !seen[figure] {
			t.Errorf("%s was not measured", figure)
		}
	}
}

// The edge of a tolerance is in it, and what is beyond is not.
func TestMissedByAHair(t *testing.T) {
	row := datasheet.Row{Stated: true, Taken: true, Expected: 100, Tolerance: 1.5, Measured: 101.5}
	if row.Missed() {
		t.Error("the edge is missed")
	}
	for _, v := range []float64{101.501, 98.499, math.NaN()} {
		if row.Measured = v; !row.Missed() {
			t.Errorf("%v is met", v)
		}
	}
	if row.Measured, row.Taken = 100, false; !row.Missed() {
		t.Error("what was not measured is met")
	}
	if row.Stated = false; row.Missed() {
		t.Error("what is not stated is missed")
	}
}

// A run that stands still says so, and everything after it is missed and not measured from where it stood.
func TestRunThatStandsStill(t *testing.T) {
	p := changed(t, "turnstone-st", func(p *aircraft.Profile) {
		p.Expected.Runs = copied(p.Expected.Runs)
		run := p.Expected.Runs["start"]
		run.Moves = append(run.Moves, aircraft.RunMove{Until: "n1 > 105", Within: 5 * time.Second})
		p.Expected.Runs["start"] = run
	})
	for _, row := range fly(t, p) {
		switch {
		case row.Figure == "light_off_s":
			if !row.Taken {
				t.Errorf("it lit before the run stood still: %s", row.Why)
			}
		case row.Taken && (strings.HasPrefix(row.Figure, "flight") || strings.HasPrefix(row.Figure, "idle") || row.Figure == "power_loss_s"):
			t.Errorf("%s was measured as %v", row.Figure, row.Measured)
		case !row.Taken && !strings.Contains(row.Why, "n1 > 105"):
			t.Errorf("%s: %s", row.Figure, row.Why)
		}
	}
}

// A hand that cannot move a control does not get on, here as little as in the cockpit.
func TestLockedControlsStopARun(t *testing.T) {
	p := changed(t, "turnstone-st", func(p *aircraft.Profile) {
		p.Controls = slices.Clone(p.Controls)
		i := slices.IndexFunc(p.Controls, func(c aircraft.Control) bool { return c.ID == "collective" })
		p.Controls[i].Locked = "nr > 90"
	})
	for _, row := range fly(t, p) {
		switch row.Figure {
		case "flight_nr":
			if !row.Taken {
				t.Errorf("%s: %s", row.Figure, row.Why)
			}
		case "lift_off_droop", "hover_trq", "power_loss_s":
			if row.Taken || !strings.Contains(row.Why, "collective is locked (nr > 90)") {
				t.Errorf("%s: taken %v, %q", row.Figure, row.Taken, row.Why)
			}
		}
	}
}

// The figures are of the engine that is started first, whichever that is.
func TestEngineThatIsStartedFirst(t *testing.T) {
	weak := func(engine string) datasheet.Sheet {
		p := changed(t, "dunlin-lt", func(p *aircraft.Profile) {
			p.Expected.Runs = copied(p.Expected.Runs)
			moves := p.Expected.Runs["start"].Moves
			moves[0].Fail = map[string]float64{engine + ".fuel_lean": 1}
		})
		return fly(t, p)
	}
	sheet := fly(t, changed(t, "dunlin-lt", nil))
	same := 0
	for _, engine := range []string{"eng1", "eng2"} {
		if peak := weak(engine)[1]; peak.Figure != "peak_tot" {
			t.Fatal(peak.Figure)
		} else if peak == sheet[1] {
			same++
		}
	}
	if same != 1 {
		t.Errorf("what is wrong with one engine shows in the figures of %d", 2-same)
	}
}

// What makes no sense on a sheet is refused, each at its place.
func TestFaultsOfASheet(t *testing.T) {
	one := func(v float64) *float64 { return &v }
	for _, c := range []struct {
		name, path, says string
		change           func(*aircraft.Expected)
	}{
		{"another engine's figure", "expected.mag_drop", "no figure", func(e *aircraft.Expected) { e.MagDrop = one(3) }},
		{"no run for it", "expected.power_loss_s", "not there", func(e *aircraft.Expected) { delete(e.Runs, "power_loss") }},
		{"a run for nothing", "expected.runs.lift-of", "nothing is measured", func(e *aircraft.Expected) { e.Runs["lift-of"] = e.Runs["flight"] }},
		{"from itself", "expected.runs.start.from", "from itself", func(e *aircraft.Expected) {
			e.Runs["start"] = aircraft.Run{From: "flight", Moves: e.Runs["start"].Moves}
		}},
		{"from nowhere", "expected.runs.flight.from", "no run or state", func(e *aircraft.Expected) {
			e.Runs["flight"] = aircraft.Run{From: "strat", Moves: e.Runs["flight"].Moves}
		}},
		{"no such control", "expected.runs.power_loss.moves[0].set.starer", "no control", func(e *aircraft.Expected) {
			e.Runs["power_loss"].Moves[0].Set = aircraft.Settings{{Control: "starer", Position: "on"}}
		}},
		{"no such position", "expected.runs.power_loss.moves[0].set.starter", "no position", func(e *aircraft.Expected) {
			e.Runs["power_loss"].Moves[0].Set = aircraft.Settings{{Control: "starter", Position: "up"}}
		}},
		{"no such failure", "expected.runs.power_loss.moves[0].fail.eng1.flame", "no failure point", func(e *aircraft.Expected) {
			e.Runs["power_loss"].Moves[0].Fail = map[string]float64{"eng1.flame": 1}
		}},
		{"too severe", "expected.runs.power_loss.moves[0].fail.eng1.flameout", "severity", func(e *aircraft.Expected) {
			e.Runs["power_loss"].Moves[0].Fail = map[string]float64{"eng1.flameout": 2}
		}},
		{"no condition", "expected.runs.power_loss.moves[0].until", "nrr", func(e *aircraft.Expected) { e.Runs["power_loss"].Moves[0].Until = "nrr < 3" }},
		{"a bound for nothing", "expected.runs.power_loss.moves[0].within", "no until", func(e *aircraft.Expected) { e.Runs["power_loss"].Moves[0].Within = time.Second }},
		{"too long", "expected.runs.power_loss.moves[0].wait", "cannot take", func(e *aircraft.Expected) { e.Runs["power_loss"].Moves[0].Wait = time.Hour }},
		{"no moves", "expected.runs.power_loss.moves", "0 moves", func(e *aircraft.Expected) { e.Runs["power_loss"] = aircraft.Run{From: "flight"} }},
		{"out of range", "expected.peak_tot", "out of range", func(e *aircraft.Expected) { e.PeakTOT = one(5000) }},
		{"a point out of range", "expected.nr_in_start[0][1]", "out of range", func(e *aircraft.Expected) { e.NRInStart = aircraft.Curve{{30, 500}} }},
		{"weather", "expected.weather", "oat", func(e *aircraft.Expected) { e.Weather = &aircraft.Weather{OAT: 90} }},
	} {
		p := changed(t, "turnstone-st", func(p *aircraft.Profile) {
			p.Expected.Runs = copied(p.Expected.Runs)
			c.change(p.Expected)
		})
		faults := datasheet.Check(p)
		found := false
		for _, f := range faults {
			found = found || f.Path == c.path && strings.Contains(f.Error(), c.says)
		}
		if !found {
			t.Errorf("%s: want %s … %s, got %v", c.name, c.path, c.says, faults)
		}
	}
	if faults := datasheet.Check(changed(t, "turnstone-st", nil)); len(faults) > 0 {
		t.Error(faults)
	}
}

// Two flights of one profile are one.
func TestFlightsAreTheSame(t *testing.T) {
	p := changed(t, "dunlin-lt", nil)
	if first, second := fly(t, p).Text(), fly(t, p).Text(); first != second {
		t.Errorf("%s\n%s", first, second)
	}
}
