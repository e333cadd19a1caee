package datasheet

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/fault"
)

// The bounds of a data sheet.
const (
	maxRuns   = 24
	maxMoves  = 64
	longest   = 20 * time.Minute // of one move
	longestIn = 3 * time.Hour    // of all runs together
)

// Check says what is wrong with the data sheet of a compiled profile, before anything is flown. Paths are those of the profile.
func Check(p *aircraft.Profile) fault.List {
	if p.Expected == nil {
		return nil
	}
	c := &checker{Profile: p}
	if w := p.Expected.Weather; w != nil && p.Compiled() {
		if _, err := aircraft.New(p, *w, ""); err != nil {
			c.faults.Add("expected.weather", "", "%v", err)
		}
	}
	c.runs()
	c.figures()
	return c.faults
}

// LongestFigure is the most seconds at which a run is held to a figure, and more than any speed in percent.
const LongestFigure = "1200"

type checker struct {
	*aircraft.Profile
	faults fault.List
}

func (c *checker) runs() {
	runs := c.Expected.Runs
	if len(runs) > maxRuns {
		c.faults.Add("expected.runs", fmt.Sprintf("stay within %d", maxRuns), "there are %d runs", len(runs))
		return
	}
	var total time.Duration
	for _, name := range slices.Sorted(maps.Keys(runs)) {
		run, at := runs[name], "expected.runs."+name
		c.faults.Name(at, name)
		if !slices.Contains(RunNames(), name) && !c.goneOnFrom(name) {
			c.faults.Add(at, fault.Suggest(name, RunNames()), "nothing is measured in a run %q, and no run goes on from it", name)
		}
		c.from(at, name, run.From)
		if len(run.Moves) == 0 || len(run.Moves) > maxMoves {
			c.faults.Add(at+".moves", fmt.Sprintf("write 1 to %d", maxMoves), "the run has %d moves", len(run.Moves))
		}
		for i := range run.Moves {
			total += c.move(fault.At(at+".moves", i), &run.Moves[i])
		}
	}
	if total > longestIn {
		c.faults.Add("expected.runs", fmt.Sprintf("stay within %v", longestIn), "the runs can take %v together", total)
	}
}

func (c *checker) goneOnFrom(name string) bool {
	for _, run := range c.Expected.Runs {
		if run.From == name {
			return true
		}
	}
	return false
}

// from checks what a run goes on from: a run or a state, and never itself.
func (c *checker) from(at, name, from string) {
	if from == "" {
		return
	}
	known := slices.Sorted(maps.Keys(c.Expected.Runs))
	if _, ok := c.Expected.Runs[from]; !ok {
		for _, s := range c.States {
			known = append(known, s.Name)
		}
		if !slices.Contains(known, from) {
			c.faults.Unknown(at+".from", "run or state", from, known)
		}
		return
	}
	for next, n := from, 0; next != ""; next, n = c.Expected.Runs[next].From, n+1 {
		if next == name || n > maxRuns {
			c.faults.Add(at+".from", "have it go on from an earlier one", "the run %s would go on from itself", name)
			return
		}
	}
}

// move checks one move and gives the longest that it can take.
func (c *checker) move(at string, m *aircraft.RunMove) time.Duration {
	for _, set := range m.Set {
		path := at + ".set." + set.Control
		i, ok := c.ControlIndex(set.Control)
		if !ok {
			c.faults.Unknown(path, "control", set.Control, c.controlIDs())
			continue
		}
		if _, ok := c.Controls[i].Index(set.Position); !ok {
			c.faults.Unknown(path, "position", set.Position, labels(&c.Controls[i]))
		}
	}
	for _, point := range slices.Sorted(maps.Keys(m.Fail)) {
		path := at + ".fail." + point
		if _, ok := c.FailureIndex(point); !ok {
			var known []string
			for _, f := range c.FailurePoints() {
				known = append(known, f.Name)
			}
			c.faults.Unknown(path, "failure point", point, known)
		}
		if severity := m.Fail[point]; !(severity >= 0 && severity <= 1) {
			c.faults.Add(path, "write 0, healthy, to 1, the worst", "a severity cannot be %v", severity)
		}
	}
	if m.Within > 0 && m.Until == "" {
		c.faults.Add(at+".within", "write what is waited for, or leave it out", "there is no until that it could bound")
	}
	if m.Until != "" {
		_, err := condition.Compile(m.Until, c.Scope())
		var e *condition.Error
		if errors.As(err, &e) {
			c.faults = append(c.faults, fault.Fault{Path: at + ".until", Column: e.Column, Problem: e.Problem, Remedy: e.Remedy})
		}
	}
	within := m.Within
	if within == 0 && m.Until != "" {
		within = defaultWithin
	}
	for field, d := range map[string]time.Duration{".wait": m.Wait, ".within": within} {
		if d > longest {
			c.faults.Add(at+field, fmt.Sprintf("write a time up to %v", longest), "a move cannot take %v", d)
			return 0
		}
	}
	return within + m.Wait
}

func (c *checker) controlIDs() []string {
	ids := make([]string, len(c.Controls))
	for i := range c.Controls {
		ids[i] = c.Controls[i].ID
	}
	slices.Sort(ids)
	return ids
}

func labels(ctl *aircraft.Control) []string {
	out := make([]string, ctl.Count())
	for i := range out {
		out[i] = ctl.Label(i)
	}
	return out
}

// figures checks that every figure that is stated is one of this kind of aircraft, in its range, and can be measured.
func (c *checker) figures() {
	e := c.Expected
	stated := map[string]bool{}
	for i := range figures {
		f := &figures[i]
		if f.expected(e) == nil {
			continue
		}
		stated[f.name] = stated[f.name] || c.suits(f.name, f.kind, f.run)
	}
	for i := range pointFigures {
		f := &pointFigures[i]
		if len(f.expected(e)) == 0 {
			continue
		}
		stated[f.name] = c.suits(f.name, f.kind, f.run)
	}
	for _, name := range slices.Sorted(maps.Keys(stated)) {
		if !stated[name] {
			c.faults.Add("expected."+name, "leave it out", "%s is no figure of an aircraft with this kind of engine", name)
		}
	}
	c.ranges()
	if e.OilRiseS != nil && newPilot(c.Profile).greenOil() == 0 {
		c.faults.Add("expected.oil_rise_s", "give the gauge one, or leave the figure out", "no oil pressure gauge has a green band above 0")
	}
}

// suits reports whether a figure is one of this aircraft, and notes that its run is missing.
func (c *checker) suits(name string, k kind, run string) bool {
	if !k.suits(&c.Systems) {
		return false
	}
	if _, ok := c.Expected.Runs[run]; !ok {
		c.faults.Add("expected."+name, fmt.Sprintf("write how it is flown in expected.runs.%s", run), "%s is measured in the run %q, which is not there", name, run)
	}
	return true
}

// ranges holds every number to the range in its tag.
func (c *checker) ranges() {
	v := reflect.ValueOf(c.Expected).Elem()
	for i := range v.NumField() {
		field, tag := v.Field(i), v.Type().Field(i).Tag
		from, to, ok := strings.Cut(tag.Get("range"), "..")
		if !ok {
			continue
		}
		path := "expected." + tag.Get("yaml")
		switch value := field.Interface().(type) {
		case *float64:
			if value != nil {
				c.inRange(path, *value, from, to)
			}
		case aircraft.Curve:
			if len(value) > aircraft.MaxPoints {
				c.faults.Add(path, fmt.Sprintf("stay within %d", aircraft.MaxPoints), "there are %d points", len(value))
			}
			for j, point := range value {
				c.inRange(fault.At(path, j)+"[0]", point[0], "0", LongestFigure)
				c.inRange(fault.At(path, j)+"[1]", point[1], from, to)
			}
		}
	}
}

func (c *checker) inRange(path string, value float64, from, to string) {
	least, errFrom := strconv.ParseFloat(from, 64)
	most, errTo := strconv.ParseFloat(to, 64)
	if errFrom != nil || errTo != nil || math.IsNaN(value) || value < least || value > most {
		c.faults.Add(path, fmt.Sprintf("write a figure from %s to %s", from, to), "%v is out of range", value)
	}
}
