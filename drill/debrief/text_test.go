package debrief_test

import (
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"

	"hornlark/drill/debrief"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

func ms(v float64) *float64 { return &v }

// slips is the result of a sitting in which a bit of everything went wrong.
func slips() *score.Result {
	return &score.Result{
		Completed: true, EndedWhy: logbook.Complete,
		Items: []score.ItemResult{
			{ID: "brake", Outcome: score.Right, ReactionMS: ms(700), LimitMS: 5000},
			{ID: "harness", Outcome: score.Omitted, LimitMS: 5000},
			{ID: "doors", Outcome: score.Wrong, ReactionMS: ms(1500), LimitMS: 5000},
			{ID: "cabin", Outcome: score.Late, ReactionMS: ms(6250), LimitMS: 5000},
			{ID: "guard", Outcome: score.OutOfOrder, LimitMS: 6000},
			{ID: "battery", Outcome: score.OutOfOrder, Anticipated: true, LimitMS: 5000},
			{ID: "beacon", Outcome: score.Repeated, ReactionMS: ms(900), LimitMS: 6000},
			{ID: "tot-2", Outcome: score.Wrong, ReactionMS: ms(4100), LimitMS: 12000, Typed: "700", True: "745", Tolerance: ms(10)},
			{ID: "oil-2", Outcome: score.Rote, Marks: []score.Outcome{score.Rote}, ReactionMS: ms(400), LimitMS: 6000},
			{ID: "heat", Outcome: score.NotAsked, LimitMS: 5000},
			{ID: "pump", Outcome: score.NotReached, LimitMS: 5000},
		},
		Order: score.Order{Deviations: []score.Deviation{
			{Kind: score.Reversal, Items: []string{"battery", "guard"}, After: "cabin"},
			{Kind: score.JumpForward, Items: []string{"pump"}},
			{Kind: score.JumpBack, Items: []string{"brake"}, After: "beacon"},
			{Kind: score.Omission, Items: []string{"harness"}, After: "brake", Before: "doors"},
			{Kind: score.Repetition, Items: []string{"beacon"}, After: "beacon"},
			{Kind: score.Intrusion, Items: []string{}, Control: "fire_test2", After: "doors", Before: "cabin"},
			{Kind: score.Overshot, Items: []string{"throttle"}, Control: "throttle", After: "doors", Before: "cabin"},
			{Kind: score.TooEarly, Items: []string{"battery"}, After: "cabin", Before: "guard"},
			{Kind: score.TooLate, Items: []string{"cabin"}, After: "doors", Before: "battery"},
			{Kind: score.PlaceLosing, Items: []string{"lights"}, SeenAs: score.Omission, After: "heat", Before: "pump"},
		}, Wanted: 7, InPlace: 4, OutOfOrder: 3, Beyond: 3, Figure: ms(100.0 / 7), TauB: ms(0.6), TauCount: 6},
		Injections: []score.InjectionResult{
			{
				Abnormal: "hot-start", Title: "Hot start of engine 2", Cue: "gauge", Outcome: score.HandLate, DetectionMS: ms(2500), HandlingMS: ms(4020),
				Actions: []score.ActionResult{
					{Say: "Selector 2 off", DoneMS: ms(2500), LimitMS: 2000, Late: true},
					{Say: "Fuel cut 2 closed", DoneMS: ms(4000), LimitMS: 6000},
					{Say: "Prime 2 off", DoneMS: ms(0), LimitMS: 6000, Already: true},
				},
				Worse: []string{"The other engine was shut down."}, Early: []string{"oil-2"}, Resumed: score.ResumedWrong, ResumeMS: ms(1500), Ended: "It cooled.", NoticedBy: score.ByStop, LetGo: []string{"cabin", "guard"}, Beside: 2,
				Figures:   []score.Excursion{{Gauge: "tot2", Highest: 905, Lowest: 12, Last: 500, RedS: 3.5}},
				Diagnosis: score.DiagnosedRight, DiagnosisMS: ms(2500), WentOnAt: "lights", ShouldHaveBeen: "heat", ResumeRightMS: ms(6000),
				Costs: []score.Cost{{Gauge: "tot2", AsWas: score.Toll{Highest: 905, Lowest: 700, RedS: 3.5}, AtHalf: score.Toll{Highest: 840, Lowest: 700}}},
			},
			{Abnormal: "low-rotor", Cue: "horn", Outcome: score.Lost, Actions: []score.ActionResult{{Say: "Lower the collective", LimitMS: 1500}}, Resumed: score.ResumedPrompted, Figures: []score.Excursion{{Gauge: "nr", Highest: 101, Lowest: 89, Last: 96, RedS: 1.2}, {Gauge: "n2", Highest: 100, Lowest: 99, Last: 100}},
				DetectionMS: ms(900), NoticedBy: score.BySilence, SilencedMS: ms(900), SilencedOnly: true, Diagnosis: score.NoMove},
			{Abnormal: "generator", Title: "Generator", Cue: "caption", Outcome: score.WrongFirst, DetectionMS: ms(1000), HandlingMS: ms(3000), Diagnosis: score.DiagnosedWrong, FirstMove: "gen1",
				Actions: []score.ActionResult{{Say: "Generator off", DoneMS: ms(2000), LimitMS: 5000, OutOfOrder: true}}},
			{Abnormal: "fuel", Title: "Fuel pressure", Cue: "gauge", Outcome: score.NotNoticed, ShownMS: ms(30000), Diagnosis: score.NoMove},
			{Abnormal: "oil", Title: "Oil", Cue: "gauge", Outcome: score.ToldFirst, ToldMS: ms(10000), HandlingMS: ms(14000), Diagnosis: score.DiagnosedRight, DiagnosisMS: ms(12000)},
			{Abnormal: "passer-by", Title: "Somebody passes", Harmless: true, Outcome: score.LeftAlone},
		},
		Reactions: score.Reactions{Count: 4, Of: 7, MedianMS: 1200, FastestMS: 700, SlowestMS: 6250, Anticipated: 1, Rote: 1, Missed: 1, AssumedCount: 2, Classes: []score.ClassReactions{
			{Class: logbook.Speech, Count: 4, Of: 7, Rote: 1, MedianMS: 1200, LowerQuartileMS: 850, UpperQuartileMS: 2687.5, MeanPerS: 0.84, FastestTenthMS: 700, SlowestTenthMS: 6250,
				ParMS: 2000, WithinPar: 3, LapseMS: 4000, Lapses: 1, Missed: 1, Anticipated: 1, Doubtful: 2, LeastLateMS: 5, MostLateMS: 28},
			{Class: logbook.Gauge, Of: 1, MedianMS: 8000, LowerQuartileMS: 8000, UpperQuartileMS: 8000, MeanPerS: 0.125, FastestTenthMS: 8000, SlowestTenthMS: 8000, ParMS: 4000, Missed: 1, LeastLateMS: 5, MostLateMS: 115},
		}},
		Sound:    score.Sound{Asked: 7, Reported: 5, Assumed: 2, Bad: []score.Stretch{{FromMS: 2000, UntilMS: 4500, Why: "it was late"}}, BadMS: 2500},
		Handling: score.Handling{Count: 5, Noticed: 3, Told: 1, Diagnosed: 1, Actions: 5, Done: 4, InTime: 3, InOrder: 3, MadeWorse: 1, Recovered: 3, Handled: 1, SilencedOnly: 1},
		Looking:  score.Looking{Signals: 7, Hits: 4, Noise: 8, FalseAlarms: 1, QuietStretches: 3, Sensitivity: ms(1.19), Criterion: ms(0.42), Words: "says yes too easily: misses faults"},
		Resuming: score.Resuming{Count: 2, Lost: 2, Prompted: 1, LagCount: 1, LagMS: ms(6000)},
		Index:    score.Index{Value: ms(41.5), Parts: []score.Part{{Name: score.PartItems, Weight: 30, Share: 0.125, Count: 8}, {Name: score.PartOrder, Weight: 20, Share: 4.0 / 7, Count: 7}}},
		Next: []score.Rehearse{{Kind: score.RehearseAbnormal, Name: "low-rotor", Why: "horn silenced and nothing else done, 1 of 1 times"}, {Kind: score.RehearseAbnormal, Name: "hot-start", Why: "made worse, 1 of 1 times"},
			{Kind: score.RehearseItem, Name: "harness", Why: "left out; 1 of 8 in all"}, {Kind: score.RehearseLooking, Why: "3 of 7 faults missed"}},
		Criteria: []score.Criterion{{Name: "items right", Want: "at least 90.0 %", Got: "12.5 %", Count: 8}, {Name: "items omitted", Want: "at most 1", Got: "1", Met: true, Count: 8}},
		Extremes: []score.Extreme{{Gauge: "tot2", Highest: 905, Lowest: 12, RedS: 3.5}, {Gauge: "nr", Highest: 101, Lowest: 0}},
	}
}

var head = debrief.Head{Scenario: "first-start", Title: "First start", Trainee: "Kim", Policy: "prompted", Seed: 7, Date: "2026-11-25 07:40", Sound: "Times are known to 2 ms.",
	Names: debrief.Names{Gauges: map[string]string{"nr": "NR"}, Units: map[string]string{"nr": "%"}, Controls: map[string]string{"throttle": "Twist grip", "fire_test2": "Fire test 2"}}}

// What came from a page states its own uncertainty.
func TestPressesOfAPage(t *testing.T) {
	r := slips()
	before := strings.Join(debrief.Certainty(head, r), " ")
	r.Stamped = &score.Stamped{Presses: 31, Of: 40, MedianOffMS: 0.86, MostOffMS: 12.34}
	after := strings.Join(debrief.Certainty(head, r), " ")
	want := "31 of 40 presses came from a page, whose stamps are known to within 12.3 ms either way (half of them to within 0.9 ms)"
	if strings.Contains(before, "page") || !strings.Contains(after, want) {
		t.Errorf("it says %q, and of a terminal %q", after, before)
	}
}

func TestText(t *testing.T) {
	text := strings.Join(debrief.Text(head, slips(), 80), "\n")
	for _, part := range []string{
		"First start\nscenario first-start, policy prompted, seed 7, trainee Kim, 2026-11-25 07:40\n",
		"NOT PASSED: see the criteria marked with !\n",
		"! items right: 12.5 %, wanted at least 90.0 % (of 8)\n",
		"items omitted: 1, wanted at most 1 (of 8)\n",
		"11 items: 1 right, 2 wrong, 1 late, 1 omitted, 2 out-of-order, 1 rote, 1\nrepeated, 1 not-reached, 1 not-asked.\n",
		"  ! wrong        tot-2                    4.10 s of 12 s; typed 700, it was 745\n                                          (within 10)\n",
		"  ! rote         oil-2                    0.40 s, too soon to have looked\n",
		"  ! omitted      harness",
		"  ! wrong        doors                    1.50 s of 5 s\n",
		"  ! late         cabin                    6.25 s of 5 s\n",
		"  ! out-of-order battery                  before the challenge was over\n",
		"  ! repeated     beacon                   0.90 s of 6 s\n",
		"! reversal: battery before guard, after cabin\n",
		"! jump forward: pump was done too soon, at the beginning\n",
		"! jump back: brake was done only after beacon\n",
		"! omission: harness was left out, after brake and before doors\n",
		"! repetition: beacon was done again, after beacon\n",
		"! overshoot: throttle was moved past its position with Twist grip, after doors\n  and before cabin\n",
		"! intrusion: Fire test 2 was not called for, after doors and before cabin\n",
		"! too early: battery, after cabin and before guard\n",
		"! too late: cabin, after doors and before battery\n",
		"! place lost after an interruption: lights, seen as omission, after heat and\n  before pump\n",
		"Index 41.5 of 100: items 12 % of 8, order 57 % of 7.\n",
		"  order     4 of 7 items done in place, and 3 further departures; tau-b 0.60 of\n            6\n",
		"  abnormals of 5: 3 noticed, 1 told, 1 diagnosed, 1 made worse, 3 recovered, 1\n            handled\n",
		"  actions   of 5: 4 done, 3 in time, 3 in order; ! horn silenced without acting:\n            1\n",
		"  reaction  speech 1.20 s of 7, gauge 8.00 s of 1 (medians)\n",
		"  looking   says yes too easily: misses faults\n",
		"  resuming  place kept 0 of 2 times, right item after 6.00 s (median of 1)\n",
		"  1. abnormal low-rotor: horn silenced and nothing else done, 1 of 1 times\n",
		"REHEARSE NEXT, ALL OF IT ",
		"  4. looking: 3 of 7 faults missed\n",
		"diagnosed: the first move was a right one, first action after 2.50 s\n",
		"cost in tot2: 700 to 905, 3.5 s red; at half the delay 700 to 840, 0.0 s\n      red\n",
		"! the horn was silenced after 0.90 s, and nothing done about its cause\n",
		"! no control was moved\n",
		"! the first move was a wrong one: gen1\n",
		"! Generator off: out of order, 2.00 s of 5 s\n",
		"  speech     7  1.20  0.85  2.69  0.84  0.70  6.25  2.00      3     1    1     2\n",
		"  gauge      1  8.00  8.00  8.00  0.12  8.00  8.00  4.00      0     0    1     0\n",
		"! Not steady from 2.0 s to 4.5 s: it was late\n",
		"! Reactions in these stretches: 2.\n",
		"7 sounds asked for; 5 reported as heard by the",
		"a reaction to a sound 5 to 28 ms longer than it was",
		"one to a light or a gauge 5 to 115 ms longer",
		"Faults judged: 7, found 4. Looks at something right: 8, false alarms 1.\n",
		"Sensitivity d' 1.19 (0 is guessing), criterion c +0.42",
		"Among the latter, stretches of 30 s in which nothing was wrong: 3.\n",
		"! Hot start of engine 2: handled late\n",
		"first cue: gauge; noticed after 2.50 s by a stop call, over after 4.02 s\n",
		"! items done while it went unnoticed: cabin, guard\n",
		"! other presses, called for by nothing: 2\n",
		"NR: lowest 89 %, highest 101 %, in red 1.2 s, ended at 96 %\n",
		"n2: lowest 99, highest 100, ended at 100\n",
		"! Fuel pressure: not noticed\n      first cue: gauge; not noticed in the 30.00 s that it was there\n",
		"! Oil: handled only after it had been told\n      first cue: gauge; told after 10.00 s, over after 14.00 s\n",
		"! Selector 2 off: late, 2.50 s of 2 s\n",
		"Fuel cut 2 closed: 4.00 s of 6 s\n",
		"Prime 2 off: already set\n",
		"! made it worse: The other engine was shut down.\n",
		"! the flow was resumed too soon: oil-2\n",
		"It cooled.\n",
		"! resumed at the wrong item after 1.50 s: lights, and heat only after\n      6.00 s\n",
		"! low-rotor: not recovered\n",
		"! Lower the collective: not done\n",
		"! had to be asked to resume\n",
		"Somebody passes: left alone\n",
		"median 1.20 s of 7.\n",
		"Fastest 0.70 s, slowest 6.25 s, of 4.\n",
		"twice their time: 3 (1 not answered,\n1 before the challenge was over, 1 too soon to have looked).\n",
		"as no sound was reported: 2.\n",
		"! The sound was not steady all the time",
		"Times are known to 2 ms.\n",
		"  ! tot2            3.5 s in its red band, lowest 12, highest 905\n",
	} {
		if !strings.Contains(text, part) {
			t.Errorf("the report does not say %q:\n%s", part, text)
		}
	}
	for _, not := range []string{"brake  ", "heat  ", "! nr", "! items omitted", "! Somebody passes", "PASSED: every", "tot2: lowest"} {
		if strings.Contains(text, not) {
			t.Errorf("the report says %q:\n%s", not, text)
		}
	}
}

// The essentials stand on the first screen of 24 lines, however much went wrong: the verdict, the index, a line for each
// thing that was judged, and what to rehearse.
func TestEssentialsFitOneScreen(t *testing.T) {
	r := slips()
	for len(r.Criteria) < 9 {
		r.Criteria = append(r.Criteria, score.Criterion{Name: "items omitted", Want: "at most 1", Got: "2", Count: 8})
	}
	screen := strings.Join(debrief.Text(head, r, 80)[:24], "\n")
	for _, part := range []string{
		"NOT PASSED", "! items right", "! and 5 more, below", "Index 41.5 of 100", "\n  order ", "\n  abnormals ", "\n  actions ", "\n  reaction ",
		"\n  looking ", "\n  resuming ", "\n  1. ", "\n  2. ", "\n  3. ",
	} {
		if !strings.Contains(screen, part) {
			t.Errorf("the first screen does not say %q:\n%s", part, screen)
		}
	}
}

// Things are called what the trainee knows them by wherever there is a name for them.
func TestTextNamesThings(t *testing.T) {
	h := head
	h.Names.Items = map[string]string{"harness": "Harness", "cabin": "Cabin lights", "heat": "Cabin heat", "lights": "Lights", "battery": "Battery", "brake": "Rotor brake", "doors": "Doors"}
	text := strings.Join(debrief.Text(h, slips(), 100), "\n")
	for _, part := range []string{
		"  ! omitted      Harness\n", "! omission: Harness was left out, after Rotor brake and before Doors\n", "! reversal: Battery before guard, after Cabin lights\n",
		"unnoticed: Cabin lights, guard\n", "! resumed at the wrong item after 1.50 s: Lights, and Cabin heat only after 6.00 s\n",
	} {
		if !strings.Contains(text, part) {
			t.Errorf("the report does not say %q:\n%s", part, text)
		}
	}
}

// A report says what was asked for, what was heard, what was not, and why; and claims nothing else. Text and table alike.
func TestWhatIsClaimedAsHeard(t *testing.T) {
	silent := func(why logbook.Reason, s score.Sound) score.Sound {
		s.Silence(why)
		return s
	}
	for _, c := range []struct {
		name        string
		sound       score.Sound
		says, table string // the sentence, and the columns of the table
	}{
		{"a good device", score.Sound{Asked: 7, Reported: 7}, "All of the 7 sounds were reported as heard by the sound device.", "7,7,,0"},
		{"silent by choice", score.Sound{Asked: 7, Unheard: []score.Unheard{{Why: logbook.Muted, Count: 7}}}, "None of the 7 sounds was heard: the sitting was silent by choice.", "7,0,muted:7,0"},
		{"no device", score.Sound{Asked: 1, Unheard: []score.Unheard{{Why: logbook.NoDevice, Count: 1}}}, "The one sound was not heard: there was no sound device, or it had gone.", "1,0,no-device:1,0"},
		{"a device that went", score.Sound{Asked: 7, Reported: 4, Unheard: []score.Unheard{{Why: logbook.NoDevice, Count: 3}}},
			"! 7 sounds asked for; 4 reported as heard by the sound device; 3 not heard: there was no sound device, or it had gone.", "7,4,no-device:3,0"},
		{"no report", score.Sound{Asked: 7, Reported: 5, Assumed: 2}, "7 sounds asked for; 5 reported as heard by the sound device; 2 taken to have been heard when due, as nobody reported them.", "7,5,,0"},
		{"called off", score.Sound{Asked: 3, Reported: 2, CalledOff: 1}, "3 sounds asked for; 2 reported as heard by the sound device; 1 called off before they began.", "3,2,,0"},
		{"virtual", silent(score.Virtual, score.Sound{Asked: 7, Reported: 7}), "None of the 7 sounds was heard: the sitting was virtual, without a clock or a sound.", "7,0,virtual:7,0"},
		{"virtual, with one called off", silent(score.Virtual, score.Sound{Asked: 7, Reported: 6, CalledOff: 1}),
			"! 7 sounds asked for; 0 reported as heard by the sound device; 6 not heard: the sitting was virtual, without a clock or a sound; 1 called off before they began.", "7,0,virtual:6,0"},
		{"of an earlier version", silent(score.Unknown, score.Sound{Asked: 2, Reported: 1, Assumed: 1}),
			"None of the 2 sounds was heard: an earlier version kept the sitting, and not whether there was a sound device.", "2,0,unknown:2,0"},
		{"no sound asked for", score.Sound{}, "", "0,0,,0"},
	} {
		r := slips()
		r.Sound = c.sound
		text := strings.Join(strings.Fields(strings.Join(debrief.Text(head, r, 80), " ")), " ")
		if c.says != "" && !strings.Contains(text, c.says) {
			t.Errorf("%s: it does not say %q:\n%s", c.name, c.says, text)
		}
		if claims := strings.Contains(text, "reported as heard"); claims != strings.Contains(c.says, "reported as heard") {
			t.Errorf("%s: it claims something as heard:\n%s", c.name, text)
		}
		var b strings.Builder
		table := debrief.NewTable(&b)
		table.Add(&debrief.Sitting{Result: r})
		if err := table.Close(); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(b.String(), ","+c.table+",") {
			t.Errorf("%s: the table does not have %s:\n%s", c.name, c.table, b.String())
		}
	}
}

// A clock that jumped is told of, with what was done about it.
func TestAJumpIsTold(t *testing.T) {
	r := slips()
	r.Jumps = []score.Jump{{AtMS: 34500, LengthMS: 12300}}
	text := strings.Join(strings.Fields(strings.Join(debrief.Text(head, r, 80), " ")), " ")
	if want := "! At 34.5 s the clock jumped by 12.3 s: the program or the machine had been stopped. The sitting was held from before it"; !strings.Contains(text, want) {
		t.Errorf("it does not say %q:\n%s", want, text)
	}
}

func TestTextOfPassedAndOfStopped(t *testing.T) {
	r := &score.Result{Completed: true, Passed: true, Trusted: true, Criteria: []score.Criterion{{Name: "items right", Met: true}}}
	if text := strings.Join(debrief.Text(head, r, 80), "\n"); !strings.Contains(text, "\nPASSED: every criterion was met.") || strings.Contains(text, "!") {
		t.Errorf("of a sitting that was passed it says:\n%s", text)
	}
	r = &score.Result{Trusted: true}
	if text := strings.Join(debrief.Text(head, r, 80), "\n"); !strings.Contains(text, "NOT PASSED: incomplete") || !strings.Contains(text, "ended before it was complete") {
		t.Errorf("of a sitting that was stopped it says:\n%s", text)
	}
}

// Every report carries the caution, in whole, and says nothing by colour.
func TestEveryReportIsCautious(t *testing.T) {
	for _, width := range []int{0, 60, 80, 145} {
		lines := debrief.Text(debrief.Head{}, &score.Result{}, width)
		joined := strings.Join(strings.Fields(strings.Join(lines, " ")), " ")
		if !strings.Contains(joined, debrief.Caution) {
			t.Errorf("width %d: no caution in %q", width, joined)
		}
	}
	for _, must := range []string{"not approved for operational use", "approved flight manual", "qualified instructor", "fictional"} {
		if !strings.Contains(strings.ToLower(debrief.Caution), must) {
			t.Errorf("the caution does not say %q", must)
		}
	}
}

// Whatever a log says, the report of its result keeps to its width, whose least is 80 here, and has no control characters.
func TestTextKeepsToItsWidth(t *testing.T) {
	kinds := []logbook.Kind{logbook.Ask, logbook.Done, logbook.TimedOut, logbook.Again, logbook.Inject, logbook.Onset, logbook.Action, logbook.Worse,
		logbook.Handled, logbook.Lost, logbook.Resumed, logbook.Prompted, logbook.Exceeded, logbook.End, logbook.SoundBad, logbook.Ending, logbook.Figure,
		logbook.Told, logbook.StopCall, logbook.Silence, logbook.Held, logbook.Inspect, logbook.Overshoot, logbook.Stray, logbook.Cleared, logbook.Answer}
	entry := rapid.Custom(func(t *rapid.T) logbook.Entry {
		return logbook.Entry{
			Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), At: time.Duration(rapid.Int64Range(0, int64(3*time.Hour)).Draw(t, "at")),
			Item: rapid.SampledFrom([]string{"brake", "low-rotor-light", "selectors-off"}).Draw(t, "item"),
			Name: rapid.SampledFrom([]string{"low_nr", "tot2"}).Draw(t, "name"), Injection: "hot-start#1", Abnormal: "hot-start", Control: "gen1",
			Why:   rapid.SampledFrom([]logbook.Reason{"", logbook.AtPlace, logbook.Twice, logbook.Elsewhere, logbook.Complete, logbook.Inspection, logbook.NotRight}).Draw(t, "why"),
			Truth: rapid.SampledFrom([]string{"", logbook.Yes, logbook.No, "745.5"}).Draw(t, "truth"), Length: time.Duration(rapid.Int64Range(0, int64(time.Hour)).Draw(t, "length")),
			Class: rapid.SampledFrom([]logbook.Class{logbook.Horn, logbook.Gauge, logbook.Highest, logbook.Missing}).Draw(t, "class"), Number: 1,
			Text: rapid.SampledFrom([]string{"", "The flow went on towards a start with no fuel pressure behind it, and that took a long while to find out."}).Draw(t, "text"),
			Cue:  1, Value: rapid.Float64Range(0, 10000).Draw(t, "value"), OK: rapid.Bool().Draw(t, "ok"),
		}
	})
	one := 1.0
	sheet := &score.Sheet{
		Abnormals: map[string]*scenario.Abnormal{"hot-start": {Title: "Hot start", Actions: []scenario.Action{{Say: "Selector 2 off", Within: time.Second}}}},
		Pass:      scenario.Criteria{Right: &one, Handled: &one},
	}
	for i, id := range []string{"brake", "low-rotor-light", "selectors-off"} {
		sheet.Items = append(sheet.Items, score.Item{ID: id, Kind: procedure.Check, Limit: 6 * time.Second, Rank: i})
	}
	rapid.Check(t, func(t *rapid.T) {
		r := score.Judge(sheet, rapid.SliceOfN(entry, 0, 30).Draw(t, "log"))
		width := rapid.IntRange(80, 150).Draw(t, "width")
		for _, line := range debrief.Text(head, r, width) {
			if utf8.RuneCountInString(line) > width {
				t.Fatalf("%d characters in %q", utf8.RuneCountInString(line), line)
			}
			if strings.HasSuffix(line, " ") {
				t.Fatalf("blanks at the end of %q", line)
			}
			if slices.ContainsFunc([]rune(line), func(r rune) bool { return r < ' ' }) {
				t.Fatalf("control characters in %q", line)
			}
		}
	})
}
