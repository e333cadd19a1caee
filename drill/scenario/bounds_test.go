package scenario_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/fault"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// exercise is a sound scenario with what it is checked with, all of it free to be changed.
type exercise struct {
	*scenario.Scenario
	prof      *aircraft.Profile
	proc      *procedure.Procedure
	abnormals []*scenario.Abnormal
}

func sound(t *testing.T) *exercise {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	b, err := lib.Resolve("first-start")
	if err != nil {
		t.Fatal(err)
	}
	sc := *b.Scenario
	sc.Injections = slices.Clone(sc.Injections)
	sc.Par, sc.Pass = nil, scenario.Criteria{}
	proc := *b.Procedure
	proc.Phases = slices.Clone(proc.Phases)
	for i := range proc.Phases {
		proc.Phases[i].Items = slices.Clone(proc.Phases[i].Items)
	}
	return &exercise{&sc, b.Profile, &proc, slices.Clone(b.Abnormals)}
}

func (x *exercise) check() fault.List { return x.Scenario.Check(x.prof, x.proc, x.abnormals) }

// drawn has abnormals drawn in it.
func (x *exercise) drawn() *scenario.Drawn {
	x.Injections = nil
	x.Drawn = &scenario.Drawn{
		From: []string{"hot-start"}, Count: 2, MinGap: 5 * time.Second, MeanGap: 20 * time.Second, MaxGap: time.Minute,
	}
	return x.Drawn
}

// only holds a list to one fault, at a place and with these words in it, or with an empty path to none.
func only(t *testing.T, name string, faults fault.List, path, problem string) {
	t.Helper()
	switch {
	case path == "" && problem == "":
		if len(faults) > 0 {
			t.Errorf("%s: %v; wanted nothing", name, faults.Err())
		}
	case len(faults) != 1 || faults[0].Path != path || !strings.Contains(faults[0].Problem, problem):
		t.Errorf("%s: %v; wanted %s: %s, and nothing else", name, faults.Err(), path, problem)
	}
}

// A number or a time may be as small and as large as its bounds, and not beyond. Every bound of a scenario is tried on both sides.
func TestBoundsOfAScenario(t *testing.T) {
	try := func(path string, good, wrong []float64, set func(*exercise, float64)) {
		t.Helper()
		for _, v := range good {
			x := sound(t)
			set(x, v)
			only(t, fmt.Sprint(path, " ", v), x.check(), "", "")
		}
		for _, v := range wrong {
			x := sound(t)
			set(x, v)
			only(t, fmt.Sprint(path, " ", v), x.check(), path, "")
		}
	}
	within := func(path string, least, most, step float64, set func(*exercise, float64)) {
		t.Helper()
		try(path, []float64{least, most}, []float64{least - step, most + step}, set)
	}
	const fine = 1e-9
	within("weather.oat", -60, 60, fine, func(x *exercise, v float64) { x.Weather.OAT = v })
	within("weather.pressure_altitude", -2000, 20000, fine, func(x *exercise, v float64) { x.Weather.Altitude = v })
	within("weather.tailwind", -60, 60, fine, func(x *exercise, v float64) { x.Weather.Tailwind = v })
	within("weather.humidity", 0, 100, fine, func(x *exercise, v float64) { x.Weather.Humidity = v })
	try("weather.oat", nil, []float64{math.NaN()}, func(x *exercise, v float64) { x.Weather.OAT = v })
	within("drawn.count", 1, 40, 1, func(x *exercise, v float64) { x.drawn().Count = int(v) })
	within("pass.right", 0, 1, fine, func(x *exercise, v float64) { x.Pass.Right = &v })
	within("pass.handled", 0, 1, fine, func(x *exercise, v float64) { x.Pass.Handled = &v })
	within("pass.within_par", 0, 1, fine, func(x *exercise, v float64) { x.Pass.WithinPar = &v })
	whole := func(v float64) *int { n := int(v); return &n }
	within("pass.omitted", 0, 400, 1, func(x *exercise, v float64) { x.Pass.Omitted = whole(v) })
	within("pass.out_of_order", 0, 400, 1, func(x *exercise, v float64) { x.Pass.OutOfOrder = whole(v) })
	within("pass.look_alikes", 0, 400, 1, func(x *exercise, v float64) { x.Pass.LookAlikes = whole(v) })
	within("pass.false_confirms", 0, 400, 1, func(x *exercise, v float64) { x.Pass.FalseConfirms = whole(v) })
	within("questions", 0, 400, 1, func(x *exercise, v float64) {
		x.Policy, x.Injections, x.Questions = scenario.Limits, nil, int(v)
	})

	// Times, in milliseconds.
	const second, minute, hour = 1e3, 60e3, 3600e3
	ms := func(v float64) time.Duration { return time.Duration(v) * time.Millisecond }
	within("pass.reaction", 100, 3*hour, 1, func(x *exercise, v float64) { d := ms(v); x.Pass.Reaction = &d })
	within("pass.detection", 100, 3*hour, 1, func(x *exercise, v float64) { d := ms(v); x.Pass.Detection = &d })
	within("pass.red_band", 0, 3*hour, 1, func(x *exercise, v float64) { d := ms(v); x.Pass.RedBand = &d })
	within("par.horn", 100, minute, 1, func(x *exercise, v float64) { d := ms(v); x.Par = &scenario.Par{Horn: &d} })
	within("injections[0].after", 0, 3*hour, 1, func(x *exercise, v float64) { x.Injections[0].After = ms(v) })
	try("injections[0].at", []float64{1, 3 * hour}, []float64{-1, 3*hour + 1}, func(x *exercise, v float64) {
		x.Injections[0].During, x.Injections[0].At = "", ms(v)
	})
	within("drawn.min_gap", 0, hour, 1, func(x *exercise, v float64) { x.drawn().MinGap = ms(v) })
	within("drawn.window.from", 0, 3*hour, 1, func(x *exercise, v float64) { x.drawn().Window.From = ms(v) })
	// Waits that are cut off before their mean could be guessed, and none is shorter than a second.
	try("drawn.max_gap", []float64{20 * second, hour}, []float64{0, 20*second - 1, hour + 1}, func(x *exercise, v float64) { x.drawn().MaxGap = ms(v) })
	try("drawn.mean_gap", []float64{second, minute}, []float64{0, second - 1}, func(x *exercise, v float64) { x.drawn().MeanGap = ms(v) })
	// A window is open for something, after the shortest gap; without an end it is that of the sitting.
	try("drawn.window.until", []float64{0, 15*second + 1, 3 * hour}, []float64{1, 15 * second, 3*hour + 1}, func(x *exercise, v float64) {
		x.drawn().Window = scenario.Window{From: 10 * time.Second, Until: ms(v)}
	})
}

// What makes no sense in a scenario is told by its place, and what is sound beside it is not.
func TestFaultsOfScenarios(t *testing.T) {
	no, yes := false, true
	for _, c := range []struct {
		name          string
		spoil         func(*exercise)
		path, problem string // empty: it is sound
	}{
		{"as it is", func(*exercise) {}, "", ""},
		{"another procedure", func(x *exercise) { x.Procedure = "dunlin-hover" }, "procedure", `"dunlin-hover"`},
		{"no help", func(x *exercise) { x.Map = "" }, "map", "the help of the map is missing"},
		{"help that is none", func(x *exercise) { x.Map = "much" }, "map", `"much"`},
		{"every degree of help", func(x *exercise) { x.Map = scenario.Bare }, "", ""},
		{"no map", func(x *exercise) { x.Map = scenario.None }, "", ""},
		{"a state to begin in", func(x *exercise) { x.State = x.prof.States[0].Name }, "", ""},
		{"a state that is none", func(x *exercise) { x.State = "upside-down" }, "state", `"upside-down"`},
		{"feedback of its own", func(x *exercise) { x.Feedback = scenario.AtTheEnd }, "", ""},
		{"questions of a flow", func(x *exercise) { x.Questions = 1 }, "questions", "only a scenario of limits"},
		{"limits, interrupted", func(x *exercise) { x.Policy = scenario.Limits }, "policy", "nothing interrupts"},
		{"limits, with something drawn", func(x *exercise) { x.drawn(); x.Policy = scenario.Limits }, "policy", "nothing interrupts"},
		{"limits", func(x *exercise) { x.Policy, x.Injections = scenario.Limits, nil }, "", ""},
		{"nothing wrong at all", func(x *exercise) { x.Injections = nil }, "", ""},
		{"as many injections as there may be", func(x *exercise) { x.Injections = slices.Repeat(x.Injections[:1], 40) }, "", ""},
		{"one injection more", func(x *exercise) { x.Injections = slices.Repeat(x.Injections[:1], 41) }, "injections", "41"},
		{"alerts with nothing to notice", func(x *exercise) { x.Policy, x.Injections = scenario.Alerts, nil }, "policy", "no abnormals"},
		{"alerts with something drawn", func(x *exercise) { x.drawn(); x.Policy = scenario.Alerts }, "", ""},
		{"alerts at a time", func(x *exercise) {
			x.Policy, x.Injections = scenario.Alerts, []scenario.Injection{{Abnormal: "hot-start", At: time.Second}}
		}, "", ""},
		{"alerts during an item", func(x *exercise) { x.Policy, x.Injections = scenario.Alerts, x.Injections[1:2] }, "injections[0].during", "no item is asked"},
		{"alerts in a phase", func(x *exercise) {
			x.drawn().Phases = []string{x.proc.Phases[0].ID}
			x.Policy = scenario.Alerts
		}, "drawn.phases", "no phase runs"},
		{"an injection that never comes", func(x *exercise) { x.Injections[0].During = "" }, "injections[0]", "does not say when"},
		{"an injection at two moments", func(x *exercise) { x.Injections[0].At = time.Second }, "injections[0]", "in 2 ways"},
		{"an injection at three", func(x *exercise) { x.Injections[0].At, x.Injections[0].When = time.Second, "nr > 90" }, "injections[0]", "in 3 ways"},
		{"an injection once something holds", func(x *exercise) { x.Injections[0].During, x.Injections[0].When = "", "nr > 90" }, "", ""},
		{"an injection during an item that is none", func(x *exercise) { x.Injections[0].During = "rotor-breaks" }, "injections[0].during", `"rotor-breaks"`},
		{"an injection during an item that is fitted", func(x *exercise) { x.fit("rotor-brake", &yes) }, "", ""},
		{"an injection during an item that is not", func(x *exercise) { x.fit("rotor-brake", &no) }, "injections[0].during", "not fitted"},
		{"an injection of nothing", func(x *exercise) { x.Injections[0].Abnormal = "" }, "injections[0].abnormal", "the abnormal is missing"},
		{"an abnormal that is none", func(x *exercise) { x.Injections[0].Abnormal = "hot-stop" }, "injections[0].abnormal", `"hot-stop"`},
		{"an abnormal of another aircraft", func(x *exercise) {
			other := *x.abnormals[0]
			other.Profile = "another"
			x.abnormals[0] = &other
		}, "injections[0].abnormal", "is for profile another"},
		{"nothing to draw from", func(x *exercise) { x.drawn().From = nil }, "drawn.from", "nothing to draw from"},
		{"as many to draw from as there may be", func(x *exercise) { x.drawn().From = slices.Repeat([]string{"hot-start"}, 40) }, "", ""},
		{"one more to draw from", func(x *exercise) { x.drawn().From = slices.Repeat([]string{"hot-start"}, 41) }, "drawn.from", "41"},
		{"drawn from what is none", func(x *exercise) { x.drawn().From = []string{"hot-start", "hot-stop"} }, "drawn.from[1]", `"hot-stop"`},
		{"drawn in a phase", func(x *exercise) { x.drawn().Phases = []string{x.proc.Phases[1].ID} }, "", ""},
		{"drawn in a phase that is none", func(x *exercise) { x.drawn().Phases = []string{x.proc.Phases[0].ID, "tea"} }, "drawn.phases[1]", `"tea"`},
		{"par times that give none", func(x *exercise) { x.Par = &scenario.Par{} }, "par", "no par time"},
	} {
		x := sound(t)
		c.spoil(x)
		only(t, c.name, x.check(), c.path, c.problem)
	}
}

// fit says of an item whether the aircraft has what it is about.
func (x *exercise) fit(id string, fitted *bool) {
	x.proc.Each(func(_ *procedure.Phase, it *procedure.Item) {
		if it.ID == id {
			it.Fitted = fitted
		}
	})
}

// The bounds of an abnormal, and what of it is sound.
func TestBoundsOfAnAbnormal(t *testing.T) {
	_, prof := mine(t)
	points := prof.FailurePoints()
	causes := func(n int) []scenario.Cause {
		list := make([]scenario.Cause, n)
		for i := range list {
			list[i] = scenario.Cause{Failure: points[i].Name, To: 1}
		}
		return list
	}
	cause := func(to float64, over time.Duration) func(*scenario.Abnormal) {
		return func(a *scenario.Abnormal) { a.Cause = []scenario.Cause{{Failure: points[0].Name, To: to, Over: over}} }
	}
	alone := func(a *scenario.Abnormal) *scenario.Action {
		a.Actions = slices.Clone(a.Actions[2:])
		return &a.Actions[0]
	}
	const tick = time.Nanosecond
	for _, c := range []struct {
		name          string
		change        func(*scenario.Abnormal)
		path, problem string // empty: it is sound
	}{
		{"of another aircraft", func(a *scenario.Abnormal) { a.Profile = "another" }, "profile", `"another"`},
		{"the worst that a cause can be", cause(1, 10*time.Minute), "", ""},
		{"hardly a cause", cause(1e-9, 0), "", ""},
		{"no cause at all", cause(0, 0), "cause[0].to", "0 is not a severity"},
		{"less than healthy", cause(-1e-9, 0), "cause[0].to", "is not a severity"},
		{"worse than the worst", cause(1+1e-9, 0), "cause[0].to", "is not a severity"},
		{"a severity that is no number", cause(math.NaN(), 0), "cause[0].to", "NaN is not a severity"},
		{"a cause that takes too long", cause(1, 10*time.Minute+tick), "cause[0].over", "out of range"},
		{"a cause in negative time", cause(1, -tick), "cause[0].over", "out of range"},
		{"a failure that is none", func(a *scenario.Abnormal) { a.Cause = []scenario.Cause{{Failure: "gremlins", To: 1}} }, "cause[0].failure", `"gremlins"`},
		{"as many causes as there may be", func(a *scenario.Abnormal) { a.Cause = causes(12) }, "", ""},
		{"one cause more", func(a *scenario.Abnormal) { a.Cause = causes(13) }, "cause", "13 causes"},
		{"the same cause again", func(a *scenario.Abnormal) { a.Cause = append(causes(2), causes(1)...) }, "cause[2].failure", "named twice"},
		{"a cause and no words", func(a *scenario.Abnormal) { a.Call, a.Cause = "", causes(1) }, "", ""},
		{"neither cause nor words", func(a *scenario.Abnormal) { a.Call = "" }, "cause", "nothing causes it"},
		{"something harmless without a cause", func(a *scenario.Abnormal) { a.Call, a.Harmless, a.Actions = "", true, nil }, "", ""},
		{"no cues", func(a *scenario.Abnormal) { a.Cues = nil }, "cues", "no cues"},
		{"noticed by its own words", func(a *scenario.Abnormal) { a.Cues = []string{"call"} }, "", ""},
		{"noticed by everything there is", func(a *scenario.Abnormal) {
			a.Cues = []string{prof.Alerts[0].ID, prof.Captions[0].ID, prof.Gauges[0].ID, prof.Outside[0].ID, prof.Controls[0].ID}
		}, "", ""},
		{"the same cue again", func(a *scenario.Abnormal) { a.Cues = []string{"nr", "call", "nr"} }, "cues[2]", "named twice"},
		{"as many actions as there may be", func(a *scenario.Abnormal) { a.Actions = slices.Repeat(a.Actions[2:], 12) }, "", ""},
		{"one action more", func(a *scenario.Abnormal) { a.Actions = slices.Repeat(a.Actions[2:], 13) }, "actions", "13 immediate actions"},
		{"ended by no action but a state", func(a *scenario.Abnormal) { a.Actions = nil }, "", ""},
		{"ended by actions alone", func(a *scenario.Abnormal) { a.Handled = "" }, "", ""},
		{"the horn silenced", func(a *scenario.Abnormal) { x := alone(a); x.Set, x.Silence = nil, true }, "", ""},
		{"an answer of yes", func(a *scenario.Abnormal) { x := alone(a); x.Set, x.Answer = nil, "yes" }, "", ""},
		{"an answer of no", func(a *scenario.Abnormal) { x := alone(a); x.Set, x.Answer = nil, "no" }, "", ""},
		{"nothing done in an action", func(a *scenario.Abnormal) { alone(a).Set = nil }, "actions[0]", "in 0 ways"},
		{"three things done in an action", func(a *scenario.Abnormal) { x := alone(a); x.Silence, x.Answer = true, "yes" }, "actions[0]", "in 3 ways"},
		{"a move not before something holds", func(a *scenario.Abnormal) { alone(a).After = "nr < 50" }, "", ""},
		{"an answer not before something holds", func(a *scenario.Abnormal) { x := alone(a); x.Set, x.Answer, x.After = nil, "yes", "nr < 50" }, "actions[0].after", "only a move"},
		{"an action in a second", func(a *scenario.Abnormal) { alone(a).Within = time.Second }, "", ""},
		{"an action in less", func(a *scenario.Abnormal) { alone(a).Within = time.Second - tick }, "actions[0].within", "out of range"},
		{"an action in ten minutes", func(a *scenario.Abnormal) { alone(a).Within = 10 * time.Minute }, "", ""},
		{"an action in more", func(a *scenario.Abnormal) { alone(a).Within = 10*time.Minute + tick }, "actions[0].within", "out of range"},
		{"as many other moves as there may be", func(a *scenario.Abnormal) { a.Also = slices.Repeat(a.Also, 12) }, "", ""},
		{"a time in which it gets away", func(a *scenario.Abnormal) { a.Timeout = 10 * time.Minute }, "", ""},
		{"too long for it to get away", func(a *scenario.Abnormal) { a.Timeout = 10*time.Minute + tick }, "timeout", "out of range"},
		{"gone before it came", func(a *scenario.Abnormal) { a.Timeout = -tick }, "timeout", "out of range"},
		{"no time in which it gets away", func(a *scenario.Abnormal) { a.Timeout = 0 }, "", ""},
		{"something harmless that ends", func(a *scenario.Abnormal) { a.Harmless, a.Actions = true, nil }, "", ""},
		{"as many endings as there may be", func(a *scenario.Abnormal) { a.Ends = slices.Repeat(a.Ends, 4) }, "", ""},
		{"one ending more", func(a *scenario.Abnormal) { a.Ends = slices.Repeat(a.Ends[:1], 9) }, "ends", "9 endings"},
		{"an ending that holds for ten minutes", func(a *scenario.Abnormal) { a.Ends[0].For = 10 * time.Minute }, "", ""},
		{"an ending that holds for less than no time", func(a *scenario.Abnormal) { a.Ends[0].For = -tick }, "ends[0].for", "out of range"},
		{"a group of all", func(a *scenario.Abnormal) { a.Actions[2].Group = "first" }, "", ""},
		{"a group of the last two", func(a *scenario.Abnormal) { a.Actions[0].Group, a.Actions[2].Group = "", "first" }, "", ""},
		{"a group of the last one", func(a *scenario.Abnormal) { a.Actions[2].Group = "last" }, "actions[2].group", "nothing else is in group last"},
		{"a group of the first one", func(a *scenario.Abnormal) { a.Actions[1].Group = "" }, "actions[0].group", "nothing else is in group first"},
		{"reset to a state", func(a *scenario.Abnormal) { a.Reset = prof.States[0].Name }, "", ""},
		{"reset to what was before", func(a *scenario.Abnormal) { a.Reset = scenario.Before }, "", ""},
		{"left in the aircraft", func(a *scenario.Abnormal) { a.Remains = true }, "", ""},
		{"back to an item, with no procedure to look in", func(a *scenario.Abnormal) { a.BackTo = "start-1" }, "", ""},
	} {
		a, prof := mine(t)
		c.change(a)
		only(t, c.name, a.Check(prof), c.path, c.problem)
	}
}

// What the flow goes back to has to be an item of one of the procedures at least.
func TestBackToAnItemOfAProcedure(t *testing.T) {
	x := sound(t)
	a, prof := mine(t)
	other := &procedure.Procedure{Name: "other"}
	a.BackTo = "start-1"
	only(t, "an item of the second", a.Check(prof, other, x.proc), "", "")
	only(t, "an item of neither", a.Check(prof, other), "back_to", `"start-1"`)
	a.BackTo = ""
	only(t, "no item", a.Check(prof, other), "", "")
}

// Answers are held to the same: what they answer, when, and with how many presses.
func TestFaultsOfAnswers(t *testing.T) {
	one := scenario.Answer{Item: "start-1", Press: []string{"a"}}
	with := func(change func(*scenario.Answer)) scenario.Answers {
		a := one
		change(&a)
		return scenario.Answers{Answers: []scenario.Answer{one, a}}
	}
	presses := func(n int) []string { return slices.Repeat([]string{"a"}, n) }
	for _, c := range []struct {
		name          string
		answers       scenario.Answers
		path, problem string // empty: they are sound
	}{
		{"perfect", scenario.Answers{StartFrom: scenario.Perfect}, "", ""},
		{"perfect, but for one", scenario.Answers{StartFrom: scenario.Perfect, Answers: []scenario.Answer{one}}, "", ""},
		{"one answer", scenario.Answers{Answers: []scenario.Answer{one}}, "", ""},
		{"none", scenario.Answers{}, "", "there are no answers"},
		{"from something else", scenario.Answers{StartFrom: "good"}, "start_from", `"good"`},
		{"as many as there may be", scenario.Answers{Answers: slices.Repeat([]scenario.Answer{one}, 2000)}, "", ""},
		{"one more", scenario.Answers{Answers: slices.Repeat([]scenario.Answer{one}, 2001)}, "answers", "2001 answers"},
		{"a swap", scenario.Answers{StartFrom: scenario.Perfect, Swap: [][]string{{"a", "b"}}}, "", ""},
		{"a swap of three", scenario.Answers{StartFrom: scenario.Perfect, Swap: [][]string{{"a", "b"}, {"a", "b", "c"}}}, "swap[1]", "not 3"},
		{"to an abnormal", with(func(a *scenario.Answer) { a.Item, a.Abnormal = "", "hot-start" }), "", ""},
		{"at a time", with(func(a *scenario.Answer) { a.Item, a.At = "", 1 }), "", ""},
		{"to nothing", with(func(a *scenario.Answer) { a.Item = "" }), "answers[1]", "not to 0"},
		{"to two things", with(func(a *scenario.Answer) { a.Abnormal = "hot-start" }), "answers[1]", "not to 2"},
		{"to three things", with(func(a *scenario.Answer) { a.Abnormal, a.At = "hot-start", 1 }), "answers[1]", "not to 3"},
		{"at a negative time", with(func(a *scenario.Answer) { a.Item, a.At = "", -1 }), "answers[1]", "negative"},
		{"after a negative time", with(func(a *scenario.Answer) { a.After = -1 }), "answers[1]", "negative"},
		{"every negative time", with(func(a *scenario.Answer) { a.Every = -1 }), "answers[1]", "negative"},
		{"after a time, every so often", with(func(a *scenario.Answer) { a.After, a.Every = 1, 1 }), "", ""},
		{"without a press", with(func(a *scenario.Answer) { a.Press = nil }), "answers[1].press", "not 0"},
		{"as many presses as there may be", with(func(a *scenario.Answer) { a.Press = presses(100) }), "", ""},
		{"one press more", with(func(a *scenario.Answer) { a.Press = presses(101) }), "answers[1].press", "not 101"},
	} {
		only(t, c.name, c.answers.Check(), c.path, c.problem)
	}
}

// A trainee on paper is a practised hand: neither so quick that nobody could have reacted (Basner and Dinges 2011, below 100 ms) or
// looked (NTSB/AAR-89/04, less than a second), nor beyond the par times where a scenario sets none.
func TestTimesOfATraineeOnPaper(t *testing.T) {
	for name, c := range map[string]struct{ got, least, most time.Duration }{
		"reaction": {scenario.DefaultReaction, 100 * time.Millisecond, min(scenario.ParSpeech, scenario.ParHorn)},
		"look":     {scenario.DefaultLook, time.Second, scenario.ParSpeech},
		"presses":  {scenario.DefaultEvery, 100 * time.Millisecond, scenario.DefaultReaction},
	} {
		if c.got < c.least || c.got > c.most {
			t.Errorf("%s: %v; wanted %v to %v", name, c.got, c.least, c.most)
		}
	}
}

// The par times where a scenario sets none are those that the documentation gives.
func TestParTimes(t *testing.T) {
	var none *scenario.Par
	for class, want := range map[string]time.Duration{
		"speech": 2 * time.Second, "horn": 2 * time.Second, "caption": 3 * time.Second, "gauge": 4 * time.Second, "typed": 6 * time.Second,
	} {
		if got := none.Of(class); got != want {
			t.Errorf("%s: %v; wanted %v", class, got, want)
		}
	}
}

// The wait before something that is drawn is the inverse of the distribution function of an exponential that is cut off, as
// computed with the logarithm and the exponential of the standard library, to the microsecond that it is rounded to.
func TestGapAgainstItsFormula(t *testing.T) {
	for _, d := range []scenario.Drawn{
		{MinGap: 5 * time.Second, MeanGap: 20 * time.Second, MaxGap: time.Minute},
		{MeanGap: time.Second, MaxGap: time.Second},
		{MeanGap: time.Second, MaxGap: time.Hour},
		{MinGap: time.Hour, MeanGap: time.Hour, MaxGap: time.Hour},
	} {
		mean, cut := float64(d.MeanGap), float64(d.MaxGap)
		for n := range 1001 {
			u := float64(n) / 1001
			want := d.MinGap + time.Duration(-mean*math.Log(1-u*(1-math.Exp(-cut/mean))))
			if got := d.Gap(u); (got-want).Abs() > time.Microsecond || got != got.Round(time.Microsecond) {
				t.Fatalf("%+v at %v: %v; wanted %v", d, u, got, want)
			}
		}
		if first := d.Gap(0); first != d.MinGap {
			t.Errorf("%+v: the shortest wait is %v", d, first)
		}
		if last := d.Gap(math.Nextafter(1, 0)); last > d.MinGap+d.MaxGap {
			t.Errorf("%+v: the longest wait is %v", d, last)
		}
	}
}

// Each abnormal that a scenario may bring is named once, those at fixed moments first.
func TestAbnormalsOfAScenario(t *testing.T) {
	s := scenario.Scenario{Injections: []scenario.Injection{{Abnormal: "b"}, {Abnormal: "a"}, {Abnormal: "b"}}}
	if got := s.Abnormals(); !slices.Equal(got, []string{"b", "a"}) {
		t.Errorf("%q", got)
	}
	s.Drawn = &scenario.Drawn{From: []string{"c", "a", "c"}}
	if got := s.Abnormals(); !slices.Equal(got, []string{"b", "a", "c"}) {
		t.Errorf("%q", got)
	}
}

// Where the crew resets the aircraft it says so in its own words.
func TestWordsOfAReset(t *testing.T) {
	a := &scenario.Abnormal{Say: "Exercise reset: in the hover."}
	if got := a.Takeover(); got != a.Say {
		t.Errorf("%q", got)
	}
}
