package drill_test

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// quiet is the undisturbed scenario of each profile, into which its abnormals are put one by one.
var quiet = map[string]string{"dunlin-lt": "first-start-quiet", "turnstone-st": "hand-start", "whinchat-pt": "piston-start"}

// setting is where an abnormal is tried: in the flow at an item, or in alerts from a state.
type setting struct {
	during string // item of the scenario
	of     string // scenario; empty: the quiet one of the profile
	state  string // without during: state of the profile, in alerts
}

var hovering, running = setting{state: "hover"}, setting{state: "running"}

func at(item string) setting { return setting{during: item} }

// consequence is what the aircraft has to have done: a bound on one gauge's extreme, over the whole sitting.
type consequence struct {
	gauge string
	check func(score.Extreme) bool
	words string
}

func highestOver(gauge string, v float64) *consequence {
	return &consequence{gauge, func(x score.Extreme) bool { return x.Highest > v }, "goes above"}
}

func lowestUnder(gauge string, v float64) *consequence {
	return &consequence{gauge, func(x score.Extreme) bool { return x.Lowest < v }, "goes below"}
}

// abnormals says of each abnormal where it is tried, and what of the aircraft tells a hand that came in time from one
// that never did: it must hold when nothing is done, and must not when everything is. The others are told apart by
// how long the aircraft, in its trace, was not as it has to be; those that want an answer only, by their end alone.
var abnormals = map[string]struct {
	where setting
	cost  *consequence
}{
	"battery-hot":            {hovering, nil},
	"battery-low":            {setting{during: "ready", of: "auto-start"}, nil}, // elsewhere ground power is on
	"breaker-popped":         {at("transponder"), nil},
	"chip-caption":           {hovering, nil},
	"dead-lamp":              {at("lamp-test"), nil},
	"door-open":              {running, nil},
	"engine-failure":         {hovering, highestOver("trq2", 105)},
	"fadec-caution":          {hovering, nil},
	"filter-blocked":         {hovering, nil},
	"fire-false":             {at("torque"), nil},
	"fire-ground":            {at("idle-2"), nil},
	"gearbox-hot":            {hovering, highestOver("gbx_temp", 95)},
	"gearbox-oil":            {hovering, nil},
	"generator-failure":      {running, nil},
	"generator-trip":         {running, nil},
	"gong-mute":              {at("lamp-test"), nil},
	"governor-high":          {hovering, highestOver("trq2", 105)},
	"governor-low":           {hovering, nil},
	"ground-question":        {at("fadec-1"), nil},
	"guard-leaves":           {at("residual-2"), nil},
	"horizon-toppled":        {hovering, nil},
	"hot-start":              {at("start-1"), highestOver("tot1", 900)},
	"hung-start":             {at("light-off-2"), nil},
	"hydraulic-failure-1":    {hovering, nil},
	"hydraulic-failure-2":    {hovering, nil},
	"hydraulic-test-crossed": {at("hyd-test-2"), nil},
	"inverter-failure":       {hovering, nil},
	"low-fuel":               {hovering, nil},
	"low-fuel-pressure":      {at("rotor-brake"), nil},
	"low-rotor-ground":       {running, nil},
	"low-rotor-hover":        {hovering, lowestUnder("nr", 84)},
	"no-light-off":           {at("start-2"), nil},
	"oil-hot":                {hovering, highestOver("oil_temp1", 120)},
	"oil-not-rising":         {at("start-2"), nil},
	"oil-pressure-low":       {hovering, nil},
	"rotor-area":             {at("residual-2"), nil},
	"rotor-overspeed":        {running, highestOver("nr", 110)},
	"starter-stuck":          {at("start-2"), nil},
	"tail-drive":             {hovering, nil},
	// Harmless ones: left alone they end well.
	"radio-call": {at("fadec-1"), nil},
	"test-chime": {at("hyd-test-2"), nil},
	"tot-peak":   {at("start-1"), nil},

	"turnstone-battery-hot":    {hovering, nil},
	"turnstone-battery-low":    {at("avionics-off"), nil},
	"turnstone-breaker":        {at("rotor-brake"), nil},
	"turnstone-chip":           {hovering, nil},
	"turnstone-crossing":       {at("feed"), nil},
	"turnstone-door":           {at("transponder"), nil},
	"turnstone-engine-failure": {hovering, nil},
	"turnstone-filter":         {hovering, nil},
	"turnstone-fire":           {at("oil-pressure"), nil},
	"turnstone-fuel-leak":      {hovering, nil},
	"turnstone-fuel-pressure":  {at("anti-collision"), nil},
	"turnstone-gearbox":        {hovering, nil},
	"turnstone-gearbox-hot":    {hovering, nil},
	"turnstone-generator":      {hovering, nil},
	"turnstone-generator-trip": {hovering, nil},
	"turnstone-governor-high":  {hovering, nil},
	"turnstone-guard":          {at("clock"), nil},
	"turnstone-hot-start":      {at("starter"), highestOver("tot", 860)},
	"turnstone-hung-start":     {at("light-off"), nil},
	"turnstone-hydraulics":     {hovering, nil},
	"turnstone-lamp":           {at("lamp-test"), nil},
	"turnstone-low-rotor":      {hovering, lowestUnder("nr", 82)},
	"turnstone-no-light":       {at("starter"), nil},
	"turnstone-no-oil":         {at("starter"), nil},
	"turnstone-oil":            {hovering, nil},
	"turnstone-rotor-area":     {at("starter"), nil},
	"turnstone-starter-stuck":  {at("fuel-60"), nil},
	"turnstone-tail":           {hovering, nil},
	// Harmless ones.
	"turnstone-radio":      {at("feed"), nil},
	"turnstone-warm-start": {at("starter"), nil},

	"whinchat-alternator":      {hovering, nil},
	"whinchat-alternator-trip": {hovering, nil},
	"whinchat-battery-hot":     {hovering, nil},
	"whinchat-belt":            {hovering, lowestUnder("nr", 80)},
	"whinchat-breaker":         {at("altimeter"), nil},
	"whinchat-carb-ice":        {hovering, lowestUnder("nr", 90)},
	"whinchat-chip":            {hovering, nil},
	"whinchat-engine-stops":    {hovering, nil},
	"whinchat-fuel-leak":       {hovering, nil},
	"whinchat-gearbox":         {hovering, nil},
	"whinchat-governor-high":   {hovering, highestOver("nr", 105)},
	"whinchat-governor-low":    {hovering, lowestUnder("nr", 88)},
	"whinchat-horn-silent":     {at("throttle-back"), nil},
	"whinchat-low-rotor":       {hovering, lowestUnder("nr", 86)},
	"whinchat-magneto":         {at("mag-right"), nil},
	"whinchat-no-oil":          {at("starter"), nil},
	"whinchat-oil":             {hovering, nil},
	"whinchat-rotor-area":      {at("magnetos"), nil},
	"whinchat-starter-fire":    {at("oil-pressure"), nil},
	"whinchat-tail-drive":      {hovering, highestOver("turn", 90)},
	// Harmless ones.
	"whinchat-belt-settles": {hovering, nil},
	"whinchat-radio":        {at("avionics"), nil},
}

// unlooked is, of abnormals that a check shows before anything else does, those checks: who does nothing about it says yes to
// them.
var unlooked = map[string][]string{
	"dead-lamp": {"lamps"}, "turnstone-lamp": {"lamps"}, "turnstone-breaker": {"breakers"}, "gong-mute": {"lamps"}, "hydraulic-test-crossed": {"hyd-light-2", "hyd-light-1"}, "whinchat-magneto": {"mag-right-drop"},
	"whinchat-breaker": {"breakers"}, "whinchat-horn-silent": {"horn-check"},
}

// unlookedAt is yes to them, after as long as a look takes.
func unlookedAt(ab *scenario.Abnormal) (answers []scenario.Answer) {
	for _, item := range unlooked[ab.Name] {
		answers = append(answers, scenario.Answer{Item: item, After: scenario.DefaultLook, Press: []string{"enter"}})
	}
	return answers
}

// met is a sitting with one abnormal, and when the aircraft was as it has to be for the abnormal to be over.
type met struct {
	*whole
	asWanted map[time.Duration]bool // of each step
	told     bool                   // the aircraft can show it at all
}

// trial is the exercise in which one abnormal is met; it is sat many times.
type trial struct {
	drilltest.Setup
	*drill.Exercise
	ab     *scenario.Abnormal
	wanted *condition.Condition // nil: the aircraft cannot show it
}

// tryOut makes an exercise of the quiet scenario with one abnormal in it.
func tryOut(t *testing.T, lib *library.Library, ab *scenario.Abnormal) *trial {
	t.Helper()
	where := abnormals[ab.Name].where
	tr := &trial{Setup: drilltest.Of(t, lib, cmp.Or(where.of, quiet[ab.Profile])), ab: ab}
	sc := *tr.Scenario
	sc.Injections = []scenario.Injection{{Abnormal: ab.Name, During: where.during, After: 200 * time.Millisecond}}
	every := 1.0
	sc.Pass.Handled = &every
	if where.during == "" {
		sc.State, tr.Setup.Policy = where.state, scenario.Alerts
		sc.Injections[0].At = 2 * time.Second
	}
	tr.Scenario = &sc
	tr.Exercise = compiled(t, tr.Setup.Documents).Exercise
	if src := overWhen(ab); src != "" {
		var err error
		if tr.wanted, err = condition.Compile(src, tr.Profile.Scope()); err != nil {
			t.Fatal(err)
		}
	}
	return tr
}

// meet goes through a sitting of it.
func (tr *trial) meet(t *testing.T, answers *scenario.Answers) *met {
	t.Helper()
	m := &met{asWanted: map[time.Duration]bool{}, told: tr.wanted != nil}
	m.whole = &whole{tr.On(t, tr.Exercise, answers, func(at time.Duration, craft *aircraft.Aircraft) {
		m.asWanted[at] = m.told && tr.wanted.Holds(craft.Readings())
	})}
	return m
}

// overWhen is the condition under which an abnormal is over: its own, or that the hand has been to every control that its
// actions name. It is empty if the actions are answers only, of which the aircraft shows nothing.
func overWhen(ab *scenario.Abnormal) string {
	if ab.Handled != "" {
		return ab.Handled
	}
	var parts []string
	for _, a := range ab.Actions {
		for _, one := range a.Set {
			control, position := one.Control, one.Position
			if _, err := strconv.ParseFloat(position, 64); err == nil {
				parts = append(parts, control+" == "+position)
				continue
			}
			parts = append(parts, fmt.Sprintf("%s == %q", control, position))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return parts[len(parts)-1] // the last of them; a switch that springs back is no longer where the first one put it
}

// stoodAtOnset reports whether the aircraft was as it has to be in the end as it began: then only acts tell the two apart.
func (m *met) stoodAtOnset() bool {
	i := slices.IndexFunc(m.Log, func(e logbook.Entry) bool { return e.Kind == logbook.Onset })
	return i >= 0 && m.asWanted[m.Log[i].At]
}

// stood is for how long, between the onset of the abnormal and its end, the aircraft was not as it has to be.
func (m *met) stood() time.Duration {
	var from, to, sum time.Duration
	for _, e := range m.Log {
		switch e.Kind {
		case logbook.Onset:
			from = e.At
		case logbook.Handled, logbook.Lost, logbook.Cleared:
			to = e.At
		}
	}
	for at, so := range m.asWanted {
		if !so && at > from && at < to {
			sum += aircraft.StepLength
		}
	}
	return sum
}

// the gives what became of the abnormal.
func (w *whole) the(t *testing.T, name string) score.InjectionResult {
	t.Helper()
	for _, in := range w.Result.Injections {
		if in.Abnormal == name {
			return in
		}
	}
	t.Fatalf("%s never came", name)
	return score.InjectionResult{}
}

func (w *whole) holds(c *consequence) bool {
	for _, x := range w.Result.Extremes {
		if x.Gauge == c.gauge {
			return c.check(x)
		}
	}
	return false
}

// Every abnormal is met twice: by somebody who does what has to be done, and by somebody who does nothing about it. The first
// handles it, and passes no limit that means an inspection. With the second it gets away, noticed or not, and where the aircraft
// can tell the two apart it does.
func TestEveryAbnormalHandledAndNot(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for i, ab := range lib.Abnormals() {
		if testing.Short() && i%4 != 0 {
			continue
		}
		tr := tryOut(t, lib, ab)
		cost := abnormals[ab.Name].cost
		var inTime time.Duration
		t.Run(ab.Name+"/in time", func(t *testing.T) {
			w := tr.meet(t, perfect())
			want := score.Handled
			if ab.Harmless {
				want = score.LeftAlone
			}
			if in := w.the(t, ab.Name); in.Outcome != want {
				t.Errorf("%s; wanted %s: %+v", in.Outcome, want, in)
			}
			if len(w.Result.Inspections) > 0 {
				t.Errorf("to be inspected: %v", w.Result.Inspections)
			}
			inTime = w.stood()
			if cost != nil && w.holds(cost) {
				t.Errorf("%s %s its bound though it was handled", cost.gauge, cost.words)
			}
		})
		if ab.Harmless {
			continue
		}
		t.Run(ab.Name+"/not at all", func(t *testing.T) {
			answers := perfect()
			answers.Ignore, answers.Answers = []string{ab.Name}, unlookedAt(ab)
			w := tr.meet(t, answers)
			in := w.the(t, ab.Name)
			want := score.NotNoticed // unless going on with the flow had to do with it: the horn silenced, a check refused, a move for the worse
			if in.NoticedBy != "" {
				want = score.Lost
			}
			if in.Outcome != want {
				t.Errorf("%s; wanted %s: %+v", in.Outcome, want, in)
			}
			if w.Result.Passed {
				t.Error("passed all the same")
			}
			// A limit that was passed tells the two apart as well, and ends the sitting.
			if stood := w.stood(); cost == nil && len(w.Result.Inspections) == 0 && w.told && !w.stoodAtOnset() && stood < inTime+inTime/4+time.Second {
				t.Errorf("the aircraft was not as it has to be (%s) for %v, and for %v though it was handled", overWhen(ab), stood, inTime)
			}
			if cost != nil && !w.holds(cost) {
				t.Errorf("%s never %s its bound though nothing was done", cost.gauge, cost.words)
			}
		})
	}
}
