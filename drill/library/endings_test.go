package library

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"testing"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/scenario"
)

// hand moves one control, some time after the one before; a lever goes notch by notch.
type hand struct {
	after   time.Duration
	control string
	to      string
}

// deed is what a hand does about an abnormal, if need be once the aircraft has come to where it may be done.
type deed struct {
	hand
	until string // condition; empty: at once
}

// stage is where an abnormal is tried: how the aircraft got there, and what the flow would have done next. The moments are
// those at which the scenarios of the library put it in.
type stage struct {
	state  string
	before []hand
	when   string // it is put in once this holds
	next   []hand // the flow, over the abnormal
}

const s = time.Second

var (
	cold       = []hand{{0, "ext_power", "on"}, {0, "battery", "on"}, {0, "rotor_brake", "off"}, {0, "harness", "fastened"}, {0, "doors", "closed"}}
	primed     = append(slices.Clone(cold), hand{2 * s, "fadec2", "on"}, hand{0, "fadec1", "on"}, hand{6 * s, "pump1", "on"}, hand{0, "pump2", "on"}, hand{3 * s, "lights", "flash"})
	onBattery  = append(slices.Clone(primed), hand{s, "ext_power", "off"})
	firstStart = append(slices.Clone(primed), hand{s, "lever2", "open"}, hand{notch, "start2", "pressed"})
	oneRuns    = append(slices.Clone(firstStart), hand{50 * s, "gen2", "on"})
	nextStart  = append(slices.Clone(oneRuns), hand{2 * s, "lever1", "open"}, hand{notch, "start1", "pressed"})

	turnstoneSeat   = []hand{{0, "harness", "fastened"}, {0, "doors", "closed"}, {0, "rotor_brake", "off"}}
	turnstoneCold   = append(slices.Clone(turnstoneSeat), hand{s, "battery", "on"}, hand{s, "feed", "on"}, hand{0, "valve_guard", "up"}, hand{0, "fuel_valve", "open"}, hand{0, "valve_guard", "down"})
	turnstonePrimed = append(slices.Clone(turnstoneCold), hand{2 * s, "anticol", "on"})
	turnstoneStart  = append(slices.Clone(turnstonePrimed), hand{s, "starter", "on"})
	handMetered     = []hand{{6500 * time.Millisecond, "throttle", "20"}, {5500 * time.Millisecond, "throttle", "40"}, {5500 * time.Millisecond, "throttle", "60"},
		{6 * s, "starter", "off"}}
	turnstoneLit = append(slices.Clone(turnstoneStart), handMetered[:1]...)
	turnstoneRun = append(slices.Clone(turnstoneStart), handMetered...)

	whinchatSeated = []hand{{0, "rotor_brake", "off"}, {0, "harness", "fastened"}, {0, "doors", "closed"}, {0, "battery", "on"}}
	whinchatCold   = append(slices.Clone(whinchatSeated), hand{0, "fuel_valve", "open"}, hand{s, "mixture", "rich"}, hand{0, "mag_left", "on"}, hand{0, "mag_right", "on"},
		hand{0, "anticol", "on"}, hand{0, "throttle", "5"})
	whinchatStart = append(slices.Clone(whinchatCold), hand{s, "starter", "on"})
	whinchatRunUp = []hand{{0, "speed_hold", "off"}, {0, "throttle", "25"}, {40 * s, "friction", "locked"}}
)

var stages = map[string]stage{
	"battery-hot":            {state: "hover"},
	"battery-low":            {before: onBattery, next: []hand{{4 * s, "lever2", "open"}, {notch, "start2", "pressed"}}},
	"breaker-popped":         {state: "running"},
	"chip-caption":           {state: "hover"},
	"dead-lamp":              {before: cold, next: []hand{{2 * s, "lamp_test", "test"}}},
	"door-open":              {state: "running", next: []hand{{8 * s, "friction", "free"}, {s, "collective", "60"}}},
	"engine-failure":         {state: "hover"},
	"fadec-caution":          {state: "hover"},
	"filter-blocked":         {state: "hover"},
	"fire-false":             {state: "running"},
	"fire-ground":            {before: oneRuns},
	"gearbox-hot":            {state: "hover"},
	"gearbox-oil":            {state: "hover"},
	"generator-failure":      {state: "running"},
	"generator-trip":         {state: "running"},
	"gong-mute":              {before: cold, next: []hand{{2 * s, "lamp_test", "test"}}},
	"governor-high":          {state: "hover"},
	"governor-low":           {state: "hover"},
	"ground-question":        {before: cold},
	"guard-leaves":           {before: primed, next: []hand{{10 * s, "lever2", "open"}, {notch, "start2", "pressed"}}},
	"horizon-toppled":        {state: "hover"},
	"hot-start":              {before: nextStart, when: "cranking1"},
	"hung-start":             {before: firstStart, when: "cranking2 and n1_2 > 30"},
	"hydraulic-failure-1":    {state: "hover"},
	"hydraulic-failure-2":    {state: "hover"},
	"hydraulic-test-crossed": {before: append(slices.Clone(oneRuns), hand{20 * s, "avionics", "all"}), next: []hand{{s, "hyd_shut", "b"}, {0, "controls", "moved"}}},
	"inverter-failure":       {state: "hover"},
	"low-fuel":               {state: "hover"},
	"low-fuel-pressure":      {before: primed, next: []hand{{10 * s, "lever2", "open"}, {notch, "start2", "pressed"}}},
	"low-rotor-ground":       {state: "running", next: []hand{{8 * s, "friction", "free"}, {s, "collective", "60"}}},
	"low-rotor-hover":        {state: "hover"},
	"no-light-off":           {before: firstStart, when: "cranking2 and n1_2 > 13"},
	"oil-hot":                {state: "hover"},
	"oil-not-rising":         {before: firstStart, when: "cranking2", next: []hand{{50 * s, "gen2", "on"}}},
	"oil-pressure-low":       {state: "hover"},
	"radio-call":             {before: cold},
	"rotor-area":             {before: primed, next: []hand{{10 * s, "lever2", "open"}, {notch, "start2", "pressed"}}},
	"rotor-overspeed":        {state: "running"},
	"starter-stuck":          {before: firstStart, when: "cranking2 and n1_2 > 47"},
	"tail-drive":             {state: "hover"},
	"test-chime":             {before: oneRuns},
	"tot-peak":               {before: nextStart, when: "cranking1"},

	"turnstone-battery-hot":    {state: "hover"},
	"turnstone-battery-low":    {before: turnstonePrimed, next: []hand{{4 * s, "starter", "on"}}},
	"turnstone-breaker":        {before: turnstoneSeat, next: []hand{{2 * s, "battery", "on"}}},
	"turnstone-chip":           {state: "hover"},
	"turnstone-crossing":       {before: turnstoneCold},
	"turnstone-door":           {state: "running", next: []hand{{8 * s, "friction", "free"}, {s, "collective", "60"}}},
	"turnstone-engine-failure": {state: "hover"},
	"turnstone-filter":         {state: "hover"},
	"turnstone-fire":           {before: turnstoneRun},
	"turnstone-fuel-leak":      {state: "hover"},
	"turnstone-fuel-pressure":  {before: turnstonePrimed, next: append([]hand{{9 * s, "starter", "on"}}, handMetered...)},
	"turnstone-gearbox":        {state: "hover"},
	"turnstone-gearbox-hot":    {state: "hover"},
	"turnstone-generator":      {state: "hover"},
	"turnstone-generator-trip": {state: "hover"},
	"turnstone-governor-high":  {state: "hover"},
	"turnstone-guard":          {before: turnstonePrimed, next: append([]hand{{9 * s, "starter", "on"}}, handMetered...)},
	"turnstone-hot-start":      {before: turnstoneStart, when: "cranking1", next: handMetered},
	"turnstone-hung-start":     {before: turnstoneLit, when: "tot > 250", next: handMetered[1:]},
	"turnstone-hydraulics":     {state: "hover"},
	"turnstone-lamp":           {before: turnstoneCold, next: []hand{{2 * s, "lamp_test", "test"}}},
	"turnstone-low-rotor":      {state: "hover"},
	"turnstone-no-light":       {before: turnstoneStart, when: "cranking1", next: handMetered},
	"turnstone-no-oil":         {before: turnstoneStart, when: "cranking1", next: handMetered},
	"turnstone-oil":            {state: "hover"},
	"turnstone-radio":          {before: turnstoneCold},
	"turnstone-rotor-area":     {before: turnstonePrimed, next: append([]hand{{9 * s, "starter", "on"}}, handMetered...)},
	"turnstone-starter-stuck":  {before: append(slices.Clone(turnstoneStart), handMetered[:3]...), next: handMetered[3:]},
	"turnstone-tail":           {state: "hover"},
	"turnstone-warm-start":     {before: turnstoneLit, next: handMetered[1:]},

	"whinchat-alternator": {state: "hover"},

	"whinchat-alternator-trip": {state: "hover"},
	"whinchat-battery-hot":     {state: "hover"},
	"whinchat-belt":            {state: "hover"},
	"whinchat-belt-settles":    {state: "hover"},
	"whinchat-breaker":         {before: whinchatSeated, next: []hand{{10 * s, "fuel_valve", "open"}, {s, "mixture", "rich"}, {s, "mag_left", "on"}, {s, "mag_right", "on"}, {s, "starter", "on"}}},
	"whinchat-carb-ice":        {state: "hover"},
	"whinchat-chip":            {state: "hover"},
	"whinchat-engine-stops":    {state: "hover"},
	"whinchat-fuel-leak":       {state: "hover"},
	"whinchat-gearbox":         {state: "hover"},
	"whinchat-governor-high":   {state: "hover"},
	"whinchat-governor-low":    {state: "hover"},
	"whinchat-horn-silent":     {state: "running", before: []hand{{0, "speed_hold", "off"}, {0, "throttle", "30"}}},
	"whinchat-low-rotor":       {state: "hover"},
	"whinchat-magneto":         {state: "running", before: whinchatRunUp, next: []hand{{s, "mag_left", "off"}}},
	"whinchat-no-oil":          {before: whinchatStart, when: "cranking1"},
	"whinchat-oil":             {state: "hover"},
	"whinchat-radio":           {before: whinchatCold},
	"whinchat-rotor-area":      {before: whinchatCold, next: []hand{{10 * s, "starter", "on"}}},
	"whinchat-starter-fire":    {before: whinchatStart, when: "cranking1"},
	"whinchat-tail-drive":      {state: "hover"},
}

// trial is one abnormal, tried from one moment on in many ways.
type trial struct {
	*testing.T
	prof  *aircraft.Profile
	ab    *scenario.Abnormal
	stage stage
	start *aircraft.Aircraft // as it is put in
	conds map[string]*condition.Condition
}

// came is what an abnormal came to.
type came struct {
	how         string // handled, lost, time, unseen
	ending      int    // -1: none
	after       time.Duration
	shown       time.Duration // from its being put in to its onset
	by          string        // what showed it
	loud        time.Duration // from its onset to the first caption, alert, band or fact
	figures     string
	inspections []string
}

func newTrial(t *testing.T, lib *Library, ab *scenario.Abnormal) *trial {
	t.Helper()
	prof := lib.profiles[ab.Profile].doc
	tr := &trial{T: t, prof: prof, ab: ab, stage: stages[ab.Name], conds: map[string]*condition.Condition{}}
	craft, err := aircraft.New(prof, aircraft.Weather{OAT: 12, Altitude: 50, Humidity: 90}, tr.stage.state)
	if err != nil {
		t.Fatal(err)
	}
	tr.start = craft
	var queue hands
	queue.add(tr, tr.stage.before)
	for queue.left() {
		queue.step(tr, craft)
		craft.Step()
	}
	for limit := craft.Now() + 2*time.Minute; tr.stage.when != "" && !tr.holds(tr.stage.when, craft.Readings()); craft.Step() {
		if craft.Now() > limit {
			t.Fatalf("%s: %s never holds", ab.Name, tr.stage.when)
		}
	}
	craft.Drain(func(aircraft.Change) {})
	return tr
}

func (tr *trial) holds(src string, readings []float64) bool {
	if src == "" {
		return false
	}
	c := tr.conds[src]
	if c == nil {
		var err error
		if c, err = condition.Compile(src, scenario.Scope(tr.prof)); err != nil {
			tr.Fatal(err)
		}
		tr.conds[src] = c
	}
	return c.Holds(readings)
}

// hands moves controls when their time has come, in 250 ms a notch.
type hands struct {
	moves []timed
	now   time.Duration
}

// timed is one notch of a move.
type timed struct {
	at                time.Duration // since it began
	control, position int
	until             string
}

const notch = 250 * time.Millisecond

func (h *hands) add(tr *trial, list []hand) {
	var deeds []deed
	for _, move := range list {
		deeds = append(deeds, deed{hand: move})
	}
	h.addDeeds(tr, deeds)
}

func (h *hands) addDeeds(tr *trial, list []deed) {
	at, stood := h.now, map[int]int{}
	for _, move := range list {
		at += move.after
		c, ok := tr.prof.ControlIndex(move.control)
		if !ok {
			tr.Fatalf("%s has no control %s", tr.prof.Name, move.control)
		}
		to, ok := tr.prof.Controls[c].Index(move.to)
		if !ok {
			tr.Fatalf("%s has no position %s", move.control, move.to)
		}
		from, moved := stood[c]
		if !moved {
			from = tr.start.Position(c)
		}
		stood[c] = to
		for from != to && tr.prof.Controls[c].Travel != nil {
			from += sign(to - from)
			h.moves = append(h.moves, timed{at, c, from, move.until})
			at += notch
		}
		if tr.prof.Controls[c].Travel == nil {
			h.moves = append(h.moves, timed{at, c, to, move.until})
		}
	}
}

func sign(n int) int {
	if n < 0 {
		return -1
	}
	return 1
}

func (h *hands) left() bool { return len(h.moves) > 0 }

// step does what is due; what has to wait for the aircraft holds up what comes after it.
func (h *hands) step(tr *trial, crafts ...*aircraft.Aircraft) {
	for len(h.moves) > 0 && h.moves[0].at <= h.now {
		if until := h.moves[0].until; until != "" && !tr.holds(until, crafts[0].Readings()) {
			for i := range h.moves {
				h.moves[i].at += aircraft.StepLength
			}
			break
		}
		for _, c := range crafts {
			c.Move(h.moves[0].control, h.moves[0].position)
		}
		h.moves = h.moves[1:]
	}
	h.now += aircraft.StepLength
}

// difference is the first thing that two aircraft of the profile show differently, or "".
func (tr *trial) difference(a, b *aircraft.Aircraft) string {
	for i := range tr.prof.Captions {
		if a.Lit(i) != b.Lit(i) {
			return tr.prof.Captions[i].ID
		}
	}
	for i := range tr.prof.Alerts {
		if a.AlertState(i) != b.AlertState(i) {
			return tr.prof.Alerts[i].ID
		}
	}
	for i := range tr.prof.Outside {
		if a.Fact(i) != b.Fact(i) {
			return tr.prof.Outside[i].ID
		}
	}
	for i := range tr.prof.Gauges {
		va, ba, la := a.Gauge(i)
		vb, bb, lb := b.Gauge(i)
		if la != lb || la && (ba != bb || max(va-vb, vb-va) > tr.prof.Gauges[i].Tolerance) {
			return tr.prof.Gauges[i].ID
		}
	}
	return ""
}

// loud reports whether anything but a pointer within its band shows the difference.
func (tr *trial) loud(a, b *aircraft.Aircraft) bool {
	for i := range tr.prof.Gauges {
		_, ba, la := a.Gauge(i)
		_, bb, lb := b.Gauge(i)
		if la != lb || la && ba != bb {
			return true
		}
	}
	for i := range tr.prof.Captions {
		if a.Lit(i) != b.Lit(i) {
			return true
		}
	}
	for i := range tr.prof.Alerts {
		if a.AlertState(i) != b.AlertState(i) {
			return true
		}
	}
	for i := range tr.prof.Outside {
		if a.Fact(i) != b.Fact(i) {
			return true
		}
	}
	return false
}

// inspected reports whether a limit has been passed since the abnormal was put in.
func (tr *trial) inspected(a *aircraft.Aircraft) bool {
	for i := range tr.prof.Inspections {
		if a.InspectionDue(i) && !tr.start.InspectionDue(i) {
			return true
		}
	}
	return false
}

// try puts the abnormal in, does the moves from the onset on, answers if it is asked to, and sees what it comes to.
func (tr *trial) try(moves []deed, answers string, flow bool) came {
	ill, well := tr.start.Clone(), tr.start.Clone()
	var flowing, acting hands // the flow goes on until it shows, or until something is done about it
	planned := 0
	flowing.add(tr, tr.stage.next)
	last, begun := scenario.NewLasting(tr.prof), time.Duration(-1)
	first, loud := "", time.Duration(-1)
	did := make([]bool, len(tr.ab.Actions))
	stood := make([]int, len(tr.prof.Controls))
	longest := make([]time.Duration, len(tr.ab.Ends))
	running := make([]time.Duration, len(tr.ab.Ends))
	answered := map[string]bool{}
	var readings []float64
	hardest := 0.0
	climb, height := tr.prof.Scope()["climb"].Slot, tr.prof.Scope()["height"].Slot
	finish := func(how string, after time.Duration) came {
		c := came{how: how, ending: -1, after: after, shown: begun, by: first, loud: loud}
		for i, e := range tr.ab.Ends {
			if e.For > 0 && longest[i] >= e.For || e.For == 0 && tr.holds(e.When, readings) {
				c.ending = i
				break
			}
		}
		for i := range tr.prof.Inspections {
			if ill.InspectionDue(i) && !tr.start.InspectionDue(i) {
				c.inspections = append(c.inspections, tr.prof.Inspections[i].ID)
			}
		}
		for i := range tr.prof.Gauges {
			g := &tr.prof.Gauges[i]
			if readings != nil && (slices.Contains(tr.ab.Cues, g.ID) || g.ID == "nr") {
				n := tr.prof.Slots() + 2*i
				c.figures += fmt.Sprintf(" %s %.4g..%.4g now %.4g;", g.ID, readings[n+1], readings[n], readings[tr.prof.GaugeSlot(i)])
			}
		}
		c.figures += fmt.Sprintf(" height %.2f hardest %.1f", ill.Readings()[height], hardest)
		return c
	}
	for now := time.Duration(0); ; now += aircraft.StepLength {
		for _, cause := range tr.ab.Cause {
			point, _ := tr.prof.FailureIndex(cause.Failure)
			share := 1.0
			if now < cause.Over {
				share = float64(now) / float64(cause.Over)
			}
			ill.Fail(point, cause.To*share)
		}
		if begun < 0 || flow && len(acting.moves) == planned {
			flowing.step(tr, ill, well)
		}
		if begun >= 0 {
			acting.step(tr, ill, well)
		}
		ill.Step()
		well.Step()
		if r := ill.Readings(); r[height] < 0.5 {
			hardest = min(hardest, r[climb])
		}
		if shown := tr.difference(ill, well); begun < 0 && (tr.ab.Call != "" || shown != "") {
			begun, first = now, shown
			for c := range stood {
				stood[c] = ill.Position(c)
			}
			acting.addDeeds(&trial{T: tr.T, prof: tr.prof, start: ill}, moves)
			planned = len(acting.moves)
		}
		if begun < 0 {
			if now > 2*time.Minute {
				return finish("unseen", now)
			}
			continue
		}
		since := now - begun
		if loud < 0 && tr.loud(ill, well) {
			loud = since
		}
		readings = last.Since(ill.Readings(), since.Seconds())
		if since > time.Second && answers != "" {
			answered[answers] = true
		}
		for i, a := range tr.ab.Actions {
			did[i] = did[i] || answered[a.Answer] && a.Answer != "" || len(a.Set) > 0 && tr.reached(a.Set, ill, stood) && (a.After == "" || tr.holds(a.After, readings))
		}
		for i, e := range tr.ab.Ends {
			if !tr.holds(e.When, readings) {
				running[i] = 0
				continue
			}
			running[i] += aircraft.StepLength
			longest[i] = max(longest[i], running[i])
		}
		timeout := tr.ab.Timeout
		if timeout == 0 {
			timeout = 2 * time.Minute
		}
		switch {
		case tr.ab.Harmless:
			if since >= timeout {
				return finish("handled", since)
			}
		case tr.holds(tr.ab.Lost, readings):
			return finish("lost", since)
		case tr.inspected(ill):
			return finish("inspected", since)
		case !slices.Contains(did, false) && (tr.ab.Handled == "" || tr.holds(tr.ab.Handled, readings)):
			return finish("handled", since)
		case since >= timeout:
			return finish("time", since)
		}
	}
}

// reached reports whether every control is where the action wants it; a lever may have gone further.
func (tr *trial) reached(set aircraft.Settings, craft *aircraft.Aircraft, stood []int) bool {
	for _, one := range set {
		c, _ := tr.prof.ControlIndex(one.Control)
		want, _ := tr.prof.Controls[c].Index(one.Position)
		at := craft.Position(c)
		if at == want {
			continue
		}
		if tr.prof.Controls[c].Travel == nil || stood[c] == want || (stood[c] > want) != (at < want) {
			return false
		}
	}
	return true
}

// act is the moves of actions, the first after a time.
func act(after time.Duration, actions ...scenario.Action) (moves []deed) {
	for _, a := range actions {
		for _, move := range putting(after, a.Set) {
			move.until = a.After
			moves = append(moves, move)
		}
		after = 500 * time.Millisecond
	}
	return moves
}

// inTime is the moves of the actions, each so late that it is only just done within its time.
func (tr *trial) inTime() (moves []deed) {
	var now time.Duration
	at := map[int]int{}
	for _, a := range tr.ab.Actions {
		begin := a.Within - 200*time.Millisecond
		for _, one := range a.Set {
			c, _ := tr.prof.ControlIndex(one.Control)
			to, _ := tr.prof.Controls[c].Index(one.Position)
			if _, moved := at[c]; !moved {
				at[c] = tr.start.Position(c)
			} else {
				begin = max(begin, now+notch) // one that is moved again has to have been where it was
			}
			if a.After != "" {
				begin = now + notch // its time runs from when it may be done
			}
			travel := time.Duration(0)
			if tr.prof.Controls[c].Travel != nil {
				travel = time.Duration(max(at[c]-to, to-at[c])) * notch
			}
			at[c] = to
			moves = append(moves, deed{hand{max(begin-travel-now, 0), one.Control, one.Position}, a.After})
			now = max(begin, now+travel)
		}
	}
	return moves
}

func putting(after time.Duration, set aircraft.Settings) (moves []deed) {
	for _, one := range set {
		moves = append(moves, deed{hand: hand{after, one.Control, one.Position}})
		after = notch
	}
	return moves
}

// ways is everything that the abnormal is met with.
func (tr *trial) ways() map[string]came {
	ab := tr.ab
	out := map[string]came{}
	answer := ""
	for _, a := range ab.Actions {
		if a.Answer != "" {
			answer = a.Answer
		}
	}
	out["perfect"] = tr.try(act(700*time.Millisecond, ab.Actions...), answer, false)
	if !ab.Harmless {
		out["just in time"] = tr.try(tr.inTime(), answer, false)
	}
	for _, flow := range []bool{false, true} {
		if flow && tr.stage.next == nil {
			continue
		}
		over := ""
		if flow {
			over = ", flow goes on"
		}
		out["ignored"+over] = tr.try(nil, "", flow)
		if ab.Harmless {
			continue
		}
		for _, late := range []int{3, 6, 9, 12, 15, 20, 30, 45} {
			out["late "+strconv.Itoa(late)+over] = tr.try(act(time.Duration(late)*s, ab.Actions...), "", flow)
		}
		for k := range ab.Actions {
			out[fmt.Sprintf("without action %d%s", k+1, over)] = tr.try(act(s, slices.Delete(slices.Clone(ab.Actions), k, k+1)...), "", flow)
		}
		for k, a := range ab.Actions {
			if a.After != "" { // before its moment
				out[fmt.Sprintf("action %d too early%s", k+1, over)] = tr.try(putting(s, a.Set), "", flow)
			}
		}
		back := slices.Clone(ab.Actions)
		slices.Reverse(back)
		out["backwards"+over] = tr.try(act(s, back...), answer, flow)
		for i, w := range ab.Worse {
			out[fmt.Sprintf("worse %d%s", i+1, over)] = tr.try(putting(s, w.Set), "", flow)
			for _, late := range []int{1, 5, 12} {
				out[fmt.Sprintf("worse %d, right after %d%s", i+1, late, over)] = tr.try(append(putting(s, w.Set), act(time.Duration(late)*s, ab.Actions...)...), "", flow)
			}
		}
		for i, m := range ab.Also {
			out[fmt.Sprintf("also %d%s", i+1, over)] = tr.try(putting(s, m.Set), "", flow)
			out[fmt.Sprintf("also %d, then right%s", i+1, over)] = tr.try(append(putting(s, m.Set), act(s, ab.Actions...)...), answer, flow)
		}
	}
	return out
}

// Every ending is reached by the aircraft itself, in one of the ways in which its abnormal can be met, and what is done
// rightly and at once is handled without anything that has to be inspected.
func TestEndingsAreReached(t *testing.T) {
	lib := everything(t)
	for _, ab := range lib.Abnormals() {
		t.Run(ab.Name, func(t *testing.T) {
			t.Parallel()
			tr := newTrial(t, lib, ab)
			ways := tr.ways()
			t.Logf("shown after %v by %s, loud after %v", ways["ignored"].shown, ways["ignored"].by, ways["ignored"].loud)
			reached := map[int]bool{}
			for _, name := range slices.Sorted(maps.Keys(ways)) {
				c := ways[name]
				reached[c.ending] = true
				text := ""
				if c.ending >= 0 {
					text = ab.Ends[c.ending].Text
				}
				t.Logf("%-32s %-9s %6.2fs%s %v | %s", name, c.how, c.after.Seconds(), c.figures, c.inspections, text)
			}
			if c := ways["perfect"]; c.how != "handled" || len(c.inspections) > 0 {
				t.Errorf("done rightly and at once: %s %v", c.how, c.inspections)
			}
			if c := ways["just in time"]; !ab.Harmless && (c.how != "handled" || len(c.inspections) > 0) {
				t.Errorf("done rightly and only just in time: %s %v", c.how, c.inspections)
			}
			if c := ways["ignored"]; !ab.Harmless && c.how == "handled" {
				t.Errorf("ignored, and handled all the same")
			}
			for i, e := range ab.Ends {
				if !reached[i] {
					t.Errorf("nothing leads to %q", e.Text)
				}
			}
		})
	}
}
