// Package datasheet holds the model of an aircraft to its data sheet: it flies the runs of a profile by the book, measures,
// and compares with what the profile expects.
//
// The tolerances are those in which 14 CFR Part 60, Appendix D, Table D2A holds a helicopter training device to the aircraft
// that it stands for; where the table has no row they are our own. The aircraft here stand for none: a sheet says that a
// model does what its profile says of it, and no more.
package datasheet

import (
	"fmt"
	"math"

	"hornlark/drill/aircraft"
)

// Row is one figure: what was expected of it and what the model did.
type Row struct {
	Figure    string // the field, as in "light_off_s" or "nr_in_start[1]"
	What      string // what it is, in words
	Unit      string
	Stated    bool    // something is expected
	Expected  float64 // if something is
	Tolerance float64 // either side of Expected
	Source    string  // of the tolerance: TableD2A or Ours
	Taken     bool    // it could be measured
	Measured  float64 // if it could
	Why       string  // if it could not
}

// Missed reports whether the model does not do what is expected.
func (r *Row) Missed() bool {
	return r.Stated && !(r.Taken && math.Abs(r.Measured-r.Expected) <= r.Tolerance+1e-9)
}

// Sheet is what came of a profile's runs, in the order of the figures.
type Sheet []Row

// Missed is the rows that were missed.
func (s Sheet) Missed() Sheet {
	var out Sheet
	for _, r := range s {
		if r.Missed() {
			out = append(out, r)
		}
	}
	return out
}

// Fly flies the runs of a compiled profile and measures every figure that they allow, stated or not. A profile without a
// data sheet has none. It is deterministic.
func Fly(p *aircraft.Profile) (Sheet, error) {
	if p.Expected == nil {
		return nil, nil
	}
	pilot := newPilot(p)
	var sheet Sheet
	for i := range figures {
		row, ok, err := pilot.one(&figures[i])
		if err != nil {
			return nil, err
		}
		if ok {
			sheet = append(sheet, row)
		}
	}
	for i := range pointFigures {
		rows, err := pilot.many(&pointFigures[i])
		if err != nil {
			return nil, err
		}
		sheet = append(sheet, rows...)
	}
	return sheet, nil
}

// has reports whether the profile has a run.
func (p *pilot) has(run string) bool {
	_, ok := p.profile.Expected.Runs[run]
	return ok
}

// one measures a figure; false if it is none of this aircraft, or nothing is known of it.
func (p *pilot) one(fig *figure) (Row, bool, error) {
	if !fig.kind.suits(&p.profile.Systems) || !p.has(fig.run) {
		return Row{}, false, nil
	}
	f, err := p.fly(fig.run)
	if err != nil {
		return Row{}, false, err
	}
	row := Row{Figure: fig.name, What: fig.what, Unit: fig.unit, Source: fig.tolerance.source}
	if want := fig.expected(p.profile.Expected); want != nil {
		row.Stated, row.Expected, row.Tolerance = true, *want, fig.tolerance.of(*want)
	}
	switch {
	case f.never || fig.end && f.stuck != "":
		row.Why = f.stuck
	case fig.run == start && !f.cranked():
		row.Why = "no starter took hold in the run start"
	default:
		row.Measured, row.Taken = fig.measured(f)
		row.Why = f.missing(fig.run, row.Taken)
	}
	return row, true, nil
}

func (p *pilot) many(fig *points) ([]Row, error) {
	want := fig.expected(p.profile.Expected)
	if !fig.kind.suits(&p.profile.Systems) || !p.has(fig.run) || len(want) == 0 {
		return nil, nil
	}
	f, err := p.fly(fig.run)
	if err != nil {
		return nil, err
	}
	if fig.ancestors {
		f = p.whole(fig.run)
	}
	var rows []Row
	for i, point := range want {
		t := fig.tolerance(&p.profile.Systems)
		row := Row{
			Figure: fmt.Sprintf("%s[%d]", fig.name, i), What: fig.text(&p.profile.Systems, point[0]), Unit: fig.unit,
			Stated: true, Expected: point[1], Tolerance: t.of(point[1]), Source: t.source,
		}
		if !f.never {
			row.Measured, row.Taken = fig.measured(f, point[0])
		}
		row.Why = f.missing(fig.run, row.Taken)
		rows = append(rows, row)
	}
	return rows, nil
}

// whole is a run and all that it goes on from, as one.
func (p *pilot) whole(run string) *flown {
	f := *p.flown[run]
	for run = p.profile.Expected.Runs[run].From; p.has(run); run = p.profile.Expected.Runs[run].From {
		before := p.flown[run].samples
		f.samples = append(before[:len(before):len(before)], f.samples...)
	}
	return &f
}

func (f *flown) cranked() bool {
	_, ok := f.first(func(s sample) bool { return s.cranking })
	return ok
}

// missing says why a figure could not be taken.
func (f *flown) missing(run string, taken bool) string {
	switch {
	case taken:
		return ""
	case f.stuck != "":
		return f.stuck
	}
	return fmt.Sprintf("it did not come about in the run %s, which took %.0f s", run, f.last().s)
}
