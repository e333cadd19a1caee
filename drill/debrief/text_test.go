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
		Completed: true,
		Items: []score.ItemResult{
			{ID: "brake", Outcome: score.Right, ReactionMS: ms(700), LimitMS: 5000},
			{ID: "harness", Outcome: score.Omitted, LimitMS: 5000},
			{ID: "doors", Outcome: score.Wrong, ReactionMS: ms(1500), LimitMS: 5000},
			{ID: "cabin", Outcome: score.Late, ReactionMS: ms(6250), LimitMS: 5000},
			{ID: "guard", Outcome: score.OutOfOrder, LimitMS: 6000},
			{ID: "battery", Outcome: score.OutOfOrder, Anticipated: true, LimitMS: 5000},
			{ID: "beacon", Outcome: score.Repeated, ReactionMS: ms(900), LimitMS: 6000},
			{ID: "heat", Outcome: score.NotAsked, LimitMS: 5000},
			{ID: "pump", Outcome: score.NotReached, LimitMS: 5000},
		},
		Order: score.Order{Deviations: []score.Deviation{
			{Kind: "reversal", Items: []string{"battery", "guard"}, After: "cabin"},
			{Kind: "jump-forward", Items: []string{"pump"}},
			{Kind: "jump-back", Items: []string{"brake"}, After: "beacon"},
			{Kind: score.Omission, Items: []string{"harness"}, After: "brake", Before: "doors"},
			{Kind: score.Repetition, Items: []string{"beacon"}, After: "beacon"},
			{Kind: score.Intrusion, Items: []string{}, Control: "fire_test2", After: "doors", Before: "cabin"},
			{Kind: score.TooEarly, Items: []string{"battery"}, After: "cabin", Before: "guard"},
			{Kind: score.TooLate, Items: []string{"cabin"}, After: "doors", Before: "battery"},
			{Kind: score.PlaceLosing, Items: []string{"lights"}, SeenAs: score.Omission, After: "heat", Before: "pump"},
		}, Wanted: 7, InPlace: 4, Figure: ms(400.0 / 7), TauB: ms(0.6), TauCount: 6},
		Injections: []score.InjectionResult{
			{
				Abnormal: "hot-start", Title: "Hot start of engine 2", Cue: "gauge", Outcome: score.HandLate, DetectionMS: ms(2500), HandlingMS: ms(4020),
				Actions: []score.ActionResult{
					{Say: "Selector 2 off", DoneMS: ms(2500), LimitMS: 2000, Late: true},
					{Say: "Fuel cut 2 closed", DoneMS: ms(4000), LimitMS: 6000},
					{Say: "Prime 2 off", DoneMS: ms(0), LimitMS: 6000, Already: true},
				},
				Worse: []string{"The other engine was shut down."}, Early: []string{"oil-2"}, Resumed: "wrong", ResumeMS: ms(1500), Ended: "It cooled.",
				Diagnosis: score.DiagnosedRight, DiagnosisMS: ms(2500), WentOnAt: "lights", ShouldHaveBeen: "heat", ResumeRightMS: ms(6000),
				Costs: []score.Cost{{Gauge: "tot2", AsWas: score.Toll{Highest: 905, Lowest: 700, RedS: 3.5}, AtHalf: score.Toll{Highest: 840, Lowest: 700}}},
			},
			{Abnormal: "low-rotor", Cue: "horn", Outcome: score.Lost, Actions: []score.ActionResult{{Say: "Lower the collective", LimitMS: 1500}}, Resumed: "prompted", Ended: "It sank.",
				DetectionMS: ms(900), SilencedMS: ms(900), SilencedOnly: true, Diagnosis: score.NoMove},
			{Abnormal: "generator", Title: "Generator", Cue: "caption", Outcome: score.Handled, DetectionMS: ms(1000), HandlingMS: ms(3000), Diagnosis: score.DiagnosedWrong, FirstMove: "gen1",
				Actions: []score.ActionResult{{Say: "Generator off", DoneMS: ms(2000), LimitMS: 5000, OutOfOrder: true}}},
			{Abnormal: "passer-by", Title: "Somebody passes", Harmless: true, Outcome: score.LeftAlone, Ended: "He passed."},
		},
		Reactions: score.Reactions{Count: 4, MedianMS: 1200, FastestMS: 700, SlowestMS: 6250, Anticipated: 1, AssumedCount: 2, Classes: []score.ClassReactions{
			{Class: "speech", Count: 4, MedianMS: 1200, LowerQuartileMS: 850, UpperQuartileMS: 2687.5, MeanPerS: 0.84, FastestTenthMS: 700, SlowestTenthMS: 6250,
				ParMS: 2000, WithinPar: 3, LapseMS: 4000, Lapses: 1, Missed: 1, Anticipated: 1, Doubtful: 2, LeastLateMS: 5, MostLateMS: 28},
			{Class: "gauge", ParMS: 4000, Missed: 1, LeastLateMS: 5, MostLateMS: 115},
		}},
		Sound:    score.Sound{Reported: 5, Assumed: 2, Bad: []score.Stretch{{FromMS: 2000, UntilMS: 4500, Why: "it was late"}}, BadMS: 2500},
		Handling: score.Handling{Count: 3, Noticed: 3, Diagnosed: 1, Actions: 5, Done: 4, InTime: 3, InOrder: 3, MadeWorse: 1, Recovered: 2, SilencedOnly: 1},
		Looking:  score.Looking{Signals: 7, Hits: 4, Noise: 8, FalseAlarms: 1, Sensitivity: ms(1.19), Criterion: ms(0.42), Words: "says yes too easily: what is wrong gets by"},
		Resuming: score.Resuming{Count: 2, Lost: 2, Prompted: 1, LagCount: 1, LagMS: ms(6000)},
		Index:    score.Index{Value: ms(41.5), Parts: []score.Part{{Name: "items", Weight: 30, Share: 0.125, Count: 8}, {Name: "order", Weight: 20, Share: 4.0 / 7, Count: 7}}},
		Next: []score.Rehearse{{Kind: "abnormal", Name: "low-rotor", Why: "horn silenced and nothing else done, 1 of 1 times"}, {Kind: "abnormal", Name: "hot-start", Why: "made worse, 1 of 1 times"},
			{Kind: "item", Name: "harness", Why: "left out; 1 of 8 in all"}, {Kind: "looking", Why: "3 of 7 that were wrong got by"}},
		Criteria: []score.Criterion{{Name: "items right", Want: "at least 90.0 %", Got: "12.5 %", Count: 8}, {Name: "items omitted", Want: "at most 1", Got: "1", Met: true, Count: 8}},
		Extremes: []score.Extreme{{Gauge: "tot2", Highest: 905, Lowest: 12, RedS: 3.5}, {Gauge: "nr", Highest: 101, Lowest: 0}},
	}
}

var head = debrief.Head{Scenario: "first-start", Title: "First start", Trainee: "Kim", Mode: "prompted", Seed: 7, Date: "2026-11-25 07:40", Sound: "Times are known to 2 ms."}

func TestText(t *testing.T) {
	text := strings.Join(debrief.Text(head, slips(), 80), "\n")
	for _, part := range []string{
		"First start\nscenario first-start, mode prompted, seed 7, trainee Kim, 2026-11-25 07:40\n",
		"NOT PASSED: see the criteria marked with !\n",
		"! items right: 12.5 %, wanted at least 90.0 % (of 8)\n",
		"items omitted: 1, wanted at most 1 (of 8)\n",
		"9 items: 1 right, 1 wrong, 1 late, 1 omitted, 2 out-of-order, 1 repeated, 1\nnot-reached, 1 not-asked.\n",
		"  ! omitted      harness",
		"  ! wrong        doors                    1.50 s of 5 s\n",
		"  ! late         cabin                    6.25 s of 5 s\n",
		"  ! out-of-order battery                  before the challenge was over\n",
		"  ! repeated     beacon                   0.90 s of 6 s\n",
		"! reversal: battery before guard, after cabin\n",
		"! jump forward: pump was done too soon, at the beginning\n",
		"! jump back: brake was only done after beacon\n",
		"! omission: harness was left out, after brake and before doors\n",
		"! repetition: beacon was done again, after beacon\n",
		"! intrusion: nothing called for fire_test2, after doors and before cabin\n",
		"! too early: battery, after cabin and before guard\n",
		"! too late: cabin, after doors and before battery\n",
		"! place lost after an interruption: lights, seen as omission, after heat and\n  before pump\n",
		"Index 41.5 of 100: items 12 % of 8, order 57 % of 7.\n",
		"  order     4 of 7 items done in their place; tau-b 0.60 of 6\n",
		"  abnormals of 3: 3 noticed, 1 diagnosed, 1 made worse, 2 recovered\n",
		"  actions   of 5: 4 done, 3 in time, 3 in order; ! horn silenced without acting:\n            1\n",
		"  reaction  speech 1.20 s of 4 (medians)\n",
		"  looking   says yes too easily: what is wrong gets by\n",
		"  resuming  place kept 0 of 2 times, right item after 6.00 s (median of 1)\n",
		"  1. abnormal low-rotor: horn silenced and nothing else done, 1 of 1 times\n",
		"REHEARSE NEXT, ALL OF IT ",
		"  4. looking: 3 of 7 that were wrong got by\n",
		"diagnosed: the first move belonged to it, first action after 2.50 s\n",
		"cost in tot2: 700 to 905, 3.5 s red; at half the delay 700 to 840, 0.0 s\n      red\n",
		"! the horn was silenced after 0.90 s, and nothing done about what it meant\n",
		"! nothing was moved\n",
		"! the first move was another one: gen1\n",
		"! Generator off: out of order, 2.00 s of 5 s\n",
		"  speech     4  1.20  0.85  2.69  0.84  0.70  6.25  2.00      3     1    1     1\n",
		"  gauge      0     -     -     -     -     -     -     -      0     0    1     0\n",
		"! Not healthy from 2.0 s to 4.5 s: it was late\n",
		"! Reactions in these stretches: 2.\n",
		"Of 7 sounds, 5 were reported as heard",
		"a reaction to a sound 5 to 28 ms longer than it was",
		"one to a light or a gauge 5 to 115 ms longer",
		"Of 7 that were wrong, 4 were found; of 8 that were not, 1 were taken for wrong.\n",
		"Sensitivity d' 1.19 (0 is guessing), criterion c +0.42",
		"! Hot start of engine 2: late\n",
		"first cue: gauge; noticed after 2.50 s, over after 4.02 s\n",
		"! Selector 2 off: late, 2.50 s of 2 s\n",
		"Fuel cut 2 closed: 4.00 s of 6 s\n",
		"Prime 2 off: stood so already\n",
		"! made it worse: The other engine was shut down.\n",
		"! the flow was gone on with too soon: oil-2\n",
		"It cooled.\n",
		"! went on at the wrong item after 1.50 s: lights, and heat only after 6.00\n      s\n",
		"! low-rotor: lost\n",
		"! Lower the collective: not done\n",
		"! had to be asked to go on\n",
		"Somebody passes: left-alone\n",
		"median 1.20 s, fastest 0.70 s, slowest\n6.25 s, of 4.\n",
		"no reactions: 1.\n",
		"nothing having been heard: 2.\n",
		"! The sound was not healthy all the time",
		"Times are known to 2 ms.\n",
		"  ! tot2            3.5 s in its red band, between 12 and 905\n",
	} {
		if !strings.Contains(text, part) {
			t.Errorf("the report does not say %q:\n%s", part, text)
		}
	}
	for _, not := range []string{"brake  ", "heat  ", "! nr", "! items omitted", "! Somebody passes", "PASSED: every"} {
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

func TestTextOfPassedAndOfStopped(t *testing.T) {
	r := &score.Result{Completed: true, Passed: true, Trusted: true}
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
		logbook.Handled, logbook.Lost, logbook.Early, logbook.Resumed, logbook.Prompted, logbook.Exceeded, logbook.End, logbook.SoundBad}
	entry := rapid.Custom(func(t *rapid.T) logbook.Entry {
		return logbook.Entry{
			Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), At: time.Duration(rapid.Int64Range(0, int64(3*time.Hour)).Draw(t, "at")),
			Item: rapid.SampledFrom([]string{"brake", "low-rotor-light", "selectors-off"}).Draw(t, "item"),
			Name: rapid.SampledFrom([]string{"hot-start", "right", "twice", "tot2"}).Draw(t, "name"),
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
