package score

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// abnormal is one that comes and goes, begun at a second, noticed by a caption and dealt with in the way of its name.
func abnormal(second int, how string) moment {
	return func(w *scribe) {
		id := fmt.Sprint("walker#", second)
		at := func(ms int, e logbook.Entry) {
			e.Injection = id
			w.at(1000*second+ms, e)
		}
		act := func(ms, n int) { at(ms, logbook.Entry{Kind: logbook.Action, Number: n}) }
		name, end := "walker", logbook.Handled
		if how == "left alone" || how == "acted on" {
			name = "passer-by"
		}
		at(-500, logbook.Entry{Kind: logbook.Inject, Abnormal: name, OK: name == "passer-by"})
		at(0, logbook.Entry{Kind: logbook.Onset, Class: logbook.Caption})
		switch how {
		case "handled":
			act(1000, 1)
			act(1500, 2)
		case "slowly":
			act(1900, 1)
			act(3000, 2)
		case "late":
			act(1000, 1)
			act(5000, 2)
		case "worse":
			act(1000, 1)
			at(1200, logbook.Entry{Kind: logbook.Worse, Text: "bad"})
			act(1500, 2)
		case "wrong first":
			act(1000, 2)
			act(1500, 1)
		case "told":
			at(1000, logbook.Entry{Kind: logbook.Told})
			act(1500, 1)
			act(2000, 2)
		case "lost":
			act(1000, 1)
			end = logbook.Lost
		case "not noticed":
			end = logbook.Lost
		case "unseen":
			w.log = w.log[:len(w.log)-1] // without its onset
			w.at(1000*second+9000, logbook.Entry{Kind: logbook.Lost, Injection: id, Why: logbook.Unseen})
			return
		case "acted on":
			at(1000, logbook.Entry{Kind: logbook.Stray, Control: "gen1"})
		}
		at(9000, logbook.Entry{Kind: end})
	}
}

// both has an abnormal and a look-alike in its sheet.
func both(ids string) *Sheet {
	sheet := sheetOf(ids)
	sheet.Abnormals["walker"], sheet.Abnormals["passer-by"] = walker(false), walker(true)
	return sheet
}

// How abnormals were handled is added up, each in every sum that it belongs to and in no other. Worked by hand.
func TestHandlingIsAddedUp(t *testing.T) {
	r := played(both(""), logbook.Complete, abnormal(10, "handled"), abnormal(30, "late"), abnormal(50, "worse"), abnormal(70, "wrong first"), abnormal(90, "told"),
		abnormal(110, "lost"), abnormal(130, "not noticed"), abnormal(150, "unseen"), abnormal(170, "left alone"), abnormal(190, "acted on"), abnormal(210, "handled"))
	want := Handling{Count: 8, Noticed: 6, Told: 1, Diagnosed: 6, MadeWorse: 1, Handled: 2, Recovered: 6, Actions: 16, Done: 13, InTime: 12, InOrder: 12}
	if r.Handling != want {
		t.Errorf("%+v\nwanted %+v", r.Handling, want)
	}
	for n, want := range map[int][3]int{0: {2, 2, 2}, 1: {2, 1, 2}, 3: {2, 2, 1}, 5: {1, 1, 1}, 6: {0, 0, 0}} { // done, in time, in order
		if in := r.Injections[n]; [3]int{in.ActionsDone, in.ActionsInTime, in.ActionsInOrder} != want {
			t.Errorf("%s: %d done, %d in time, %d in order; wanted %v", in.Outcome, in.ActionsDone, in.ActionsInTime, in.ActionsInOrder, want)
		}
	}
}

// Each criterion is told with what was wanted, what was reached and of how many; one that there was nothing to judge by is left out.
func TestCriteriaInWords(t *testing.T) {
	share, count, eight := 0.5, 1, 8*time.Second
	pass := scenario.Criteria{Right: &share, Omitted: &count, OutOfOrder: &count, Handled: &share, Reaction: &eight, Detection: &eight, RedBand: &eight,
		LookAlikes: &count, FalseConfirms: &count, WithinPar: &share}
	red := on(300000, logbook.Entry{Kind: logbook.Exceeded, Name: "tot", Length: 9 * time.Second})
	nr := on(300000, logbook.Entry{Kind: logbook.Exceeded, Name: "nr", Length: 2 * time.Second})
	none := []string{"items omitted: at most 1, 0 of 0 met", "done out of order: at most 1, 0 of 0 met", "confirmed though not so: at most 1, 0 of 0 met",
		"longest time in a red band: at most 8.00 s, 0.00 s of 0 met"}
	items := func(right, omitted, reaction string) []string {
		return []string{right, omitted, "done out of order: at most 1, 0 of 3 met", "confirmed though not so: at most 1, 0 of 3 met", reaction}
	}
	for _, c := range []struct {
		name, ids string
		coming    int
		why       logbook.Reason
		parts     []moment
		want      []string
	}{
		{"nothing", "", 0, logbook.Complete, nil, none},
		{"items", "abc", 0, logbook.Complete, []moment{asked(1000, "a"), doneBy(2500, "a", ""), asked(3000, "b"), doneBy(12000, "b", "")}, append(items(
			"items right: at least 50.0 %, 33.3 % of 3 not met", "items omitted: at most 1, 1 of 3 met", "median reaction: at most 8.00 s, 5.25 s of 2 met"),
			"reactions within par: at least 50.0 %, 50.0 % of 2 met", none[3])},
		{"items that are not asked are none", "abc", 0, logbook.Complete, []moment{on(500, logbook.Entry{Kind: logbook.Skip, Item: "a"}), doneBy(2500, "b", ""), doneBy(3500, "c", "")},
			[]string{"items right: at least 50.0 %, 100.0 % of 2 met", "items omitted: at most 1, 0 of 2 met", "done out of order: at most 1, 0 of 2 met", "confirmed though not so: at most 1, 0 of 2 met", none[3]}},
		{"abnormals", "", 0, logbook.Complete, []moment{abnormal(10, "handled"), abnormal(30, "slowly"), abnormal(50, "worse"), abnormal(70, "left alone"), abnormal(90, "acted on"),
			abnormal(110, "left alone"), abnormal(130, "unseen"), abnormal(150, "handled"), red, nr}, append(slices.Clone(none[:3]),
			"reactions within par: at least 50.0 %, 100.0 % of 4 met", "abnormals handled: at least 50.0 %, 75.0 % of 4 met",
			"longest time to notice: at most 8.00 s, 1.90 s of 4 met", "look-alikes acted on: at most 1, 1 of 3 met", "longest time in a red band: at most 8.00 s, 9.00 s of 2 not met")},
		{"one never noticed", "", 0, logbook.Complete, []moment{abnormal(10, "handled"), abnormal(30, "not noticed")}, append(slices.Clone(none[:3]),
			"reactions within par: at least 50.0 %, 50.0 % of 2 met", "abnormals handled: at least 50.0 %, 50.0 % of 2 met",
			"longest time to notice: at most 8.00 s, never of 2 not met", none[3])},
		{"cut short before three of four had come", "", 4, logbook.Inspection, []moment{abnormal(10, "handled")}, append(slices.Clone(none[:3]),
			"reactions within par: at least 50.0 %, 100.0 % of 1 met", "abnormals handled: at least 50.0 %, 25.0 % of 4 not met",
			"longest time to notice: at most 8.00 s, 1.00 s of 4 met", none[3])},
		{"look-alikes alone", "", 0, logbook.Complete, []moment{abnormal(10, "acted on"), abnormal(30, "acted on")}, append(slices.Clone(none[:3]),
			"look-alikes acted on: at most 1, 2 of 2 not met", none[3])},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := both(c.ids)
			sheet.Pass, sheet.Coming = pass, c.coming
			var got []string
			r := played(sheet, c.why, c.parts...)
			passed := r.Completed
			for _, x := range r.Criteria {
				met := " met"
				if !x.Met {
					met, passed = " not met", false
				}
				got = append(got, fmt.Sprintf("%s: %s, %s of %d%s", x.Name, x.Want, x.Got, x.Count, met))
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("%q\nwanted %q", got, c.want)
			}
			if r.Passed != passed {
				t.Errorf("passed: %v", r.Passed)
			}
		})
	}
}

// What has been reached exactly has been reached.
func TestCriteriaAtTheirBounds(t *testing.T) {
	r := func(n float64) *float64 { return &n }
	i := func(n int) *int { return &n }
	d := func(ms int) *time.Duration { d := at(ms); return &d }
	for name, c := range map[string]struct{ good, wrong scenario.Criteria }{
		"right":     {scenario.Criteria{Right: r(0.5)}, scenario.Criteria{Right: r(0.51)}},
		"omitted":   {scenario.Criteria{Omitted: i(1)}, scenario.Criteria{Omitted: i(0)}},
		"reaction":  {scenario.Criteria{Reaction: d(1500)}, scenario.Criteria{Reaction: d(1499)}},
		"handled":   {scenario.Criteria{Handled: r(1)}, scenario.Criteria{Handled: r(1.01)}},
		"detection": {scenario.Criteria{Detection: d(1000)}, scenario.Criteria{Detection: d(999)}},
		"red band":  {scenario.Criteria{RedBand: d(2000)}, scenario.Criteria{RedBand: d(1999)}},
	} {
		for want, pass := range map[bool]scenario.Criteria{true: c.good, false: c.wrong} {
			sheet := both("ab")
			sheet.Pass = pass
			res := played(sheet, logbook.Complete, asked(1000, "a"), doneBy(2500, "a", ""), abnormal(10, "handled"), on(30000, logbook.Entry{Kind: logbook.Exceeded, Name: "nr", Length: 2 * time.Second}))
			if res.Passed != want {
				t.Errorf("%s: passed %v: %+v", name, res.Passed, res.Criteria)
			}
		}
	}
}

// Actions are counted in the first press that did them, and timed from the onset; what there is none of is not done.
func TestActions(t *testing.T) {
	moved := func(ms int) moment {
		return on(ms, logbook.Entry{Kind: logbook.Moved, Seat: logbook.Trainee, Control: "collective"})
	}
	for _, c := range []struct {
		name  string
		parts []moment
		by    Notice
		first float64 // ms from the onset to the first action; negative: none
		done  [2]float64
		late  bool // the first
	}{
		{"none", nil, "", -1, [2]float64{-1, -1}, false},
		{"both", []moment{act(11000, 1), act(12000, 2)}, ByAction, 1000, [2]float64{1000, 2000}, false},
		{"both, and the first once more", []moment{act(11000, 1), act(12000, 2), act(13000, 1)}, ByAction, 1000, [2]float64{1000, 2000}, false},
		{"one that stood right, and was done all the same", []moment{already(1), act(11000, 1)}, ByAction, 1000, [2]float64{1000, -1}, false},
		{"one that stood right", []moment{already(1)}, "", -1, [2]float64{0, -1}, false},
		{"one that was done, and stood right", []moment{act(11000, 1), on(12000, logbook.Entry{Kind: logbook.Action, Injection: "walker#1", Number: 1, Why: logbook.Already})}, ByAction, 1000, [2]float64{1000, -1}, false},
		{"in the last moment", []moment{act(12000, 1)}, ByAction, 2000, [2]float64{2000, -1}, false},
		{"late", []moment{act(12001, 1)}, ByAction, 2001, [2]float64{2001, -1}, true},
		{"one that it does not have", []moment{act(11000, 0), act(11000, 3), act(11000, -1)}, "", -1, [2]float64{-1, -1}, false},
		{"moved into place", []moment{moved(11000), act(11000, 1)}, ByAction, 1000, [2]float64{1000, -1}, false},
		{"moved, and then into place", []moment{moved(11000), act(11500, 1)}, ByMove, 1500, [2]float64{1500, -1}, false},
		{"the horn silenced as it says", []moment{silence(11000, "low_nr"), act(11000, 1)}, BySilence, 1000, [2]float64{1000, -1}, false},
		{"asked for only later", []moment{on(13000, logbook.Entry{Kind: logbook.Action, Injection: "walker#1", Number: 1, Onset: at(12500)})}, ByAction, 500, [2]float64{500, -1}, false},
		{"before it was asked for", []moment{on(13000, logbook.Entry{Kind: logbook.Action, Injection: "walker#1", Number: 1, Onset: at(13500)})}, ByAction, 0, [2]float64{0, -1}, false},
	} {
		in := played(sheetOf(""), logbook.Complete, append([]moment{shows(logbook.Horn, "low_nr", false)}, c.parts...)...).Injections[0]
		if in.NoticedBy != c.by || in.Actions[0].Late != c.late {
			t.Errorf("%s: noticed by %q, %+v", c.name, in.NoticedBy, in.Actions)
		}
		sameMS(t, c.name+": diagnosis", in.DiagnosisMS, c.first)
		for k, want := range c.done {
			sameMS(t, c.name+": action", in.Actions[k].DoneMS, want)
		}
	}
	sheet := sheetOf("")
	sheet.Abnormals["walker"] = &scenario.Abnormal{Name: "walker", Actions: []scenario.Action{{Say: "whenever"}}}
	if in := played(sheet, logbook.Complete, shows(logbook.Horn, "low_nr", false), act(900000, 1)).Injections[0]; in.Actions[0].Late {
		t.Error("an action without a time is late")
	}
	unknown := on(9000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "nobody knows it", OK: true})
	shown := on(10000, logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Class: logbook.Caption})
	if in := played(sheetOf(""), logbook.Complete, unknown, shown, stray(11000, "gen1", "q"), over(12000, logbook.Handled, "")).Injections[0]; in.Outcome != ActedOn || in.Title != "" {
		t.Errorf("one that nobody knows: %+v", in)
	}
}

// The lag of resuming is that to the first time that the right item was done, by the trainee.
func TestLagOfResuming(t *testing.T) {
	wrong := on(21500, logbook.Entry{Kind: logbook.Resumed, Item: "c", Why: logbook.Elsewhere, Length: at(1500)})
	for _, c := range []struct {
		name  string
		parts []moment
		lag   float64
	}{
		{"once", []moment{doneBy(24000, "b", "")}, 4000},
		{"twice", []moment{doneBy(24000, "b", ""), doneBy(30000, "b", "")}, 4000},
		{"by the other pilot first", []moment{doneBy(23000, "b", logbook.Pilot), doneBy(24000, "b", "")}, 4000},
		{"another first", []moment{doneBy(23000, "a", ""), doneBy(24000, "b", "")}, 4000},
		{"never", nil, -1},
		{"resumed twice", []moment{on(22000, logbook.Entry{Kind: logbook.Resumed, Item: "b", Why: logbook.AtPlace, Length: at(2000)}), doneBy(24000, "b", "")}, 4000},
		{"prompted after all", []moment{on(22000, logbook.Entry{Kind: logbook.Prompted, Item: "a"}), doneBy(24000, "b", "")}, 4000},
	} {
		parts := append([]moment{shows(logbook.Caption, "light", false), on(20000, logbook.Entry{Kind: logbook.Lost, Injection: "walker#1", Item: "b"}), wrong}, c.parts...)
		r := played(sheetOf("abc"), logbook.Complete, parts...)
		sameMS(t, c.name, r.Resuming.LagMS, c.lag)
		if in := r.Injections[0]; in.Resumed != ResumedWrong || in.ShouldHaveBeen != "b" || in.WentOnAt != "c" {
			t.Errorf("%s: %+v", c.name, in)
		}
	}
	// Of two that are over, the flow is resumed after the one that ended last.
	second := func(w *scribe) {
		w.at(9500, logbook.Entry{Kind: logbook.Inject, Injection: "walker#2", Abnormal: "walker"})
		w.at(10500, logbook.Entry{Kind: logbook.Onset, Injection: "walker#2", Class: logbook.Caption})
	}
	end := func(ms int, id string) moment {
		return on(ms, logbook.Entry{Kind: logbook.Lost, Injection: id, Item: "b"})
	}
	for _, c := range []struct {
		name  string
		parts []moment
		want  [2]Resumption
	}{
		{"the second ended last", []moment{end(20000, "walker#1"), end(21000, "walker#2")}, [2]Resumption{"", ResumedWrong}},
		{"the first ended last", []moment{end(20000, "walker#2"), end(21000, "walker#1")}, [2]Resumption{ResumedWrong, ""}},
		{"both at once", []moment{end(21000, "walker#1"), end(21000, "walker#2")}, [2]Resumption{"", ResumedWrong}},
		{"the second is not over", []moment{end(21000, "walker#1")}, [2]Resumption{ResumedWrong, ""}},
		{"the first is not over", []moment{end(21000, "walker#2")}, [2]Resumption{"", ResumedWrong}},
		{"neither is over", nil, [2]Resumption{}},
	} {
		r := played(sheetOf("abc"), logbook.Complete, append([]moment{shows(logbook.Caption, "light", false), second}, append(c.parts, wrong)...)...)
		if got := [2]Resumption{r.Injections[0].Resumed, r.Injections[1].Resumed}; got != c.want {
			t.Errorf("%s: %q; wanted %q", c.name, got, c.want)
		}
	}
}

// The words for the looking at the bounds of what they are said of. d' and c are given, as they are of other counts.
func TestWordsOfTheLooking(t *testing.T) {
	const few = "; too few to be sure"
	for _, c := range []struct {
		hits, signals, alarms, noise int
		criterion                    float64
		want                         string
	}{
		{5, 5, 0, 5, 0, "found every fault, with no false alarm"},
		{4, 4, 0, 5, 0, "found every fault, with no false alarm" + few},
		{5, 5, 0, 4, 0, "found every fault, with no false alarm" + few},
		{4, 5, 0, 5, 0.3, "says yes too easily: misses faults"},
		{4, 5, 0, 5, 0.299, "misses a fault now and then"},
		{5, 5, 1, 5, 0.9, "sees a fault now and then where there is none"},
		{5, 5, 1, 5, -0.3, "says no too easily: sees faults where there are none"},
		{5, 5, 1, 5, -0.299, "sees a fault now and then where there is none"},
		{4, 5, 0, 5, -0.9, "misses a fault now and then"},
		{4, 5, 1, 5, 0, "errs both ways: look at the gauge before the answer"},
		{4, 5, 1, 5, 0.3, "says yes too easily: misses faults"},
		{4, 5, 1, 5, -0.3, "says no too easily: sees faults where there are none"},
	} {
		sensitivity := 1.0
		l := Looking{Hits: c.hits, Signals: c.signals, FalseAlarms: c.alarms, Noise: c.noise, Sensitivity: &sensitivity, Criterion: &c.criterion}
		if got := l.words(); got != c.want {
			t.Errorf("%+v: %q", c, got)
		}
	}
}

// A look is an answer to a check or a confirmation after a second at least, or a "no" at any time: what was answered yes by rote says
// nothing of looking, unless something was wrong.
func TestLooksByRote(t *testing.T) {
	for _, c := range []struct {
		name        string
		kind        procedure.Kind
		ms          int
		why         logbook.Reason
		said, truth string
		signals     int
		noise       int
	}{
		{"a look", procedure.Check, 1000, "", logbook.Yes, logbook.Yes, 0, 1},
		{"by rote", procedure.Check, 999, "", logbook.Yes, logbook.Yes, 0, 0},
		{"over the challenge", procedure.Check, 1000, logbook.Over, logbook.Yes, logbook.Yes, 0, 0},
		{"no, by rote", procedure.Check, 999, "", logbook.No, logbook.Yes, 0, 1},
		{"by rote, and it was not so", procedure.Check, 999, "", logbook.Yes, logbook.No, 1, 0},
		{"a confirmation", procedure.Confirm, 1000, "", logbook.Yes, logbook.Yes, 0, 1},
		{"a callout", procedure.Callout, 1000, "", logbook.Yes, logbook.Yes, 0, 0},
		{"a check of which nobody knows", procedure.Check, 1000, "", logbook.Yes, "", 0, 0},
	} {
		sheet := sheetOf("a")
		sheet.Items[0].Kind = c.kind
		l := played(sheet, logbook.Complete, asked(1000, "a"), on(1000+c.ms, logbook.Entry{Kind: logbook.Answer, Item: "a", Why: c.why, Text: c.said, Truth: c.truth})).Looking
		if l.Signals != c.signals || l.Noise != c.noise {
			t.Errorf("%s: %+v", c.name, l)
		}
	}
	for _, c := range []struct {
		spoken bool
		truth  string
		missed int
	}{{true, logbook.No, 1}, {true, logbook.Yes, 0}, {true, "", 0}, {false, logbook.No, 0}} {
		sheet := sheetOf("a")
		sheet.Items[0].Kind, sheet.Spoken = procedure.Check, c.spoken
		l := played(sheet, logbook.Complete, asked(1000, "a"), on(11000, logbook.Entry{Kind: logbook.TimedOut, Item: "a", Truth: c.truth})).Looking
		if l.Signals != c.missed || l.Hits != 0 || l.Noise != 0 {
			t.Errorf("given up, asked %v, %q: %+v", c.spoken, c.truth, l)
		}
	}
}

// Kendall's tau-b worked by hand: of the pairs p agree, q do not, and x and y are tied in one sample alone; what is tied in both
// counts for nothing.
func TestTauBOfTies(t *testing.T) {
	for _, c := range []struct {
		x, y       []float64
		p, q, a, b float64
	}{
		{[]float64{1, 2, 3}, []float64{1, 2, 3}, 3, 0, 0, 0},
		{[]float64{1, 2, 3}, []float64{3, 2, 1}, 0, 3, 0, 0},
		{[]float64{1, 1, 2, 3}, []float64{1, 2, 2, 3}, 4, 0, 1, 1},
		{[]float64{1, 1, 2, 3}, []float64{3, 2, 2, 1}, 0, 4, 1, 1},
		{[]float64{1, 1, 2}, []float64{1, 1, 2}, 2, 0, 0, 0},
		{[]float64{1, 1, 2}, []float64{1, 2, 3}, 2, 0, 1, 0},
		{[]float64{1, 2, 3}, []float64{1, 1, 2}, 2, 0, 0, 1},
		{[]float64{1, 1, 1, 2}, []float64{1, 2, 2, 2}, 1, 0, 2, 2},
		{[]float64{3, 1, 2}, []float64{2, 1, 3}, 2, 1, 0, 0},
	} {
		got, ok := TauB(c.x, c.y)
		if want := (c.p - c.q) / math.Sqrt((c.p+c.q+c.a)*(c.p+c.q+c.b)); !ok || math.Abs(got-want) > 1e-15 {
			t.Errorf("%v, %v: %v, %v; wanted %v", c.x, c.y, got, ok, want)
		}
	}
	for _, x := range [][]float64{nil, {1}, {2, 2, 2}} {
		if got, ok := TauB(x, slices.Clone(x)); ok || got != 0 {
			t.Errorf("%v: %v, %v", x, got, ok)
		}
	}
}

// Quiet is what is left between abnormals once waiting for answers is taken out: what was waited for at once is taken out once, in
// whatever order the answers came. A stop call belongs to the stretch in which it came.
func TestQuietTimeOfOverlaps(t *testing.T) {
	wait := func(item string, from int) moment { return func(w *scribe) { w.now = at(from); w.ask(item, from) } }
	walk := func(id string, from, to int) []moment {
		return []moment{
			on(from-10, logbook.Entry{Kind: logbook.Inject, Injection: id, Abnormal: "walker"}), on(from, logbook.Entry{Kind: logbook.Onset, Injection: id, Class: logbook.Gauge}),
			on(to, logbook.Entry{Kind: logbook.Lost, Injection: id}),
		}
	}
	late := on(60000, logbook.Entry{Kind: logbook.Onset, Injection: "one", Class: logbook.Gauge})
	nested := []moment{
		on(20000, logbook.Entry{Kind: logbook.Inject, Injection: "one", Abnormal: "walker"}), on(20000, logbook.Entry{Kind: logbook.Inject, Injection: "two", Abnormal: "walker"}),
		on(25000, logbook.Entry{Kind: logbook.Onset, Injection: "two", Class: logbook.Gauge}), late, on(70000, logbook.Entry{Kind: logbook.Lost, Injection: "one"}),
		on(90000, logbook.Entry{Kind: logbook.Lost, Injection: "two"}),
	}
	unheard := on(10000, logbook.Entry{Kind: logbook.Ask, Item: "a", Cue: 9})
	for _, c := range []struct {
		name              string
		parts             []moment
		end               int
		stretches, alarms int
	}{
		{"two waits, the later answered first", []moment{wait("a", 12000), wait("b", 32000), doneBy(40000, "b", ""), doneBy(50000, "a", "")}, 97999, 1, 0},
		{"the same and longer", []moment{wait("a", 12000), wait("b", 32000), doneBy(40000, "b", ""), doneBy(50000, "a", "")}, 98000, 2, 0},
		{"two waits, the earlier answered first", []moment{wait("a", 12000), wait("b", 32000), doneBy(40000, "a", ""), doneBy(50000, "b", "")}, 97999, 1, 0},
		{"two waits apart", []moment{wait("a", 12000), doneBy(22000, "a", ""), wait("b", 42000), doneBy(52000, "b", "")}, 79999, 1, 0},
		{"two waits apart, and longer", []moment{wait("a", 12000), doneBy(22000, "a", ""), wait("b", 42000), doneBy(52000, "b", "")}, 80000, 2, 0},
		{"answered before the challenge had ended", []moment{func(w *scribe) { w.now = at(10000); w.ask("a", 12000) }, doneBy(11000, "a", "")}, 59999, 1, 0},
		{"asked, and never heard", []moment{unheard, doneBy(40000, "a", "")}, 60000, 2, 0},
		{"an abnormal across a wait", append(walk("one", 20000, 40000), doneBy(50000, "a", "")), 80000, 1, 0},
		{"two abnormals, one within the other", nested, 120000, 1, 0},
		{"two abnormals, one within the other, a moment less", nested, 119999, 0, 0},
		{"two abnormals apart", append(walk("one", 30000, 40000), walk("two", 70000, 80000)...), 110000, 3, 0},
		{"two abnormals apart, a moment less each", append(walk("one", 29999, 40000), walk("two", 69999, 80000)...), 109999, 0, 0},
		{"stopped between two", append(append(walk("one", 30000, 40000), stopCall(45000)), walk("two", 70000, 80000)...), 110000, 3, 1},
		{"stopped as one ended", append(walk("one", 30000, 40000), stopCall(40000)), 70000, 2, 1},
		{"stopped as one began", append([]moment{stopCall(30000)}, walk("one", 30000, 40000)...), 70000, 2, 0},
		{"stopped at the very beginning", append([]moment{stopCall(0)}, walk("one", 30000, 40000)...), 70000, 2, 1},
		{"stopped in each gap", append(append([]moment{stopCall(15000)}, walk("one", 30000, 40000)...), stopCall(45000)), 70000, 2, 2},
		{"stopped as the sitting ended", []moment{stopCall(60000)}, 60000, 2, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := sheetOf("ab")
			sheet.Spoken = true
			parts := append(slices.Clone(c.parts), func(w *scribe) { w.now = at(c.end) - time.Second })
			if l := played(sheet, logbook.Complete, parts...).Looking; l.QuietStretches != c.stretches || l.FalseAlarms != c.alarms {
				t.Errorf("%d stretches, %d alarms; wanted %d, %d", l.QuietStretches, l.FalseAlarms, c.stretches, c.alarms)
			}
		})
	}
	// Where nobody asks, it is all that was taken from one item to the next.
	recall := []moment{doneBy(10000, "a", ""), doneBy(50000, "b", "")}
	for end, stretches := range map[int]int{79999: 0, 80000: 1, 110000: 2} {
		parts := append(slices.Clone(recall), func(w *scribe) { w.now = at(end) - time.Second })
		if l := played(sheetOf("ab"), logbook.Complete, parts...).Looking; l.QuietStretches != stretches {
			t.Errorf("from memory, %d ms: %d stretches; wanted %d", end, l.QuietStretches, stretches)
		}
	}
}

// A stop call with nothing wrong is a false alarm of the trainee's, and of nobody else; nobody calls stop over figures.
func TestStopCallsThatCount(t *testing.T) {
	for _, c := range []struct {
		name    string
		figures bool
		seat    logbook.Seat
		alarms  int
	}{{"the trainee's", false, logbook.Trainee, 1}, {"of whom the log does not say", false, "", 1}, {"the other pilot's", false, logbook.Pilot, 0}, {"over figures", true, logbook.Trainee, 0}} {
		sheet := sheetOf("a")
		sheet.Figures = c.figures
		r := played(sheet, logbook.Complete, asked(1000, "a"), on(1200, logbook.Entry{Kind: logbook.StopCall, Seat: c.seat, Item: "a"}),
			on(1300, logbook.Entry{Kind: logbook.CueEnd, Cue: 1}), doneBy(2500, "a", ""))
		if r.Looking.FalseAlarms != c.alarms {
			t.Errorf("%s: %+v", c.name, r.Looking)
		}
	}
}
