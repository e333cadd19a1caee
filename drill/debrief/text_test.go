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
		}},
		Injections: []score.InjectionResult{
			{
				Abnormal: "hot-start", Title: "Hot start of engine 2", Cue: "gauge", Outcome: score.HandLate, DetectionMS: ms(2500), HandlingMS: ms(4020),
				Actions: []score.ActionResult{
					{Say: "Selector 2 off", DoneMS: ms(2500), LimitMS: 2000, Late: true},
					{Say: "Fuel cut 2 closed", DoneMS: ms(4000), LimitMS: 6000},
					{Say: "Prime 2 off", DoneMS: ms(0), LimitMS: 6000, Already: true},
				},
				Worse: []string{"The other engine was shut down."}, Early: []string{"oil-2"}, Resumed: "wrong", ResumeMS: ms(1500), Ended: "It cooled.",
			},
			{Abnormal: "low-rotor", Cue: "horn", Outcome: score.Lost, Actions: []score.ActionResult{{Say: "Lower the collective", LimitMS: 1500}}, Resumed: "prompted", Ended: "It sank."},
			{Abnormal: "passer-by", Title: "Somebody passes", Harmless: true, Outcome: score.LeftAlone, Ended: "He passed."},
		},
		Reactions: score.Reactions{Count: 4, MedianMS: 1200, FastestMS: 700, SlowestMS: 6250, Anticipated: 1, AssumedCount: 2},
		Criteria:  []score.Criterion{{Name: "items right", Want: "at least 90.0 %", Got: "12.5 %", Count: 8}, {Name: "items omitted", Want: "at most 1", Got: "1", Met: true, Count: 8}},
		Extremes:  []score.Extreme{{Gauge: "tot2", Highest: 905, Lowest: 12, RedS: 3.5}, {Gauge: "nr", Highest: 101, Lowest: 0}},
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
		"! Hot start of engine 2: late\n",
		"first cue: gauge; noticed after 2.50 s, over after 4.02 s\n",
		"! Selector 2 off: late, 2.50 s of 2 s\n",
		"Fuel cut 2 closed: 4.00 s of 6 s\n",
		"Prime 2 off: stood so already\n",
		"! made it worse: The other engine was shut down.\n",
		"! the flow was gone on with too soon: oil-2\n",
		"It cooled.\n",
		"! went on at the wrong item after 1.50 s\n",
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
