package score

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// What to rehearse is named for what was not as it should have been, in words with counts, and for nothing else.
func TestNextInWords(t *testing.T) {
	items := func(outcomes ...Outcome) func(*Result) {
		return func(r *Result) {
			for i, o := range outcomes {
				r.Items = append(r.Items, ItemResult{ID: fmt.Sprint("i", i), Outcome: o})
			}
			r.Order.Wanted = len(outcomes)
		}
	}
	put := func(ins ...InjectionResult) func(*Result) {
		return func(r *Result) {
			for _, in := range ins {
				if in.Abnormal == "" {
					in.Abnormal = "x"
				}
				r.Injections = append(r.Injections, in)
			}
		}
	}
	class := func(within, of int) func(*Result) {
		return func(r *Result) {
			r.Reactions.Classes = []ClassReactions{{Class: logbook.Horn, WithinPar: within, Of: of, ParMS: 2500}}
		}
	}
	departure := func(kind Slip, ids ...string) Deviation {
		return Deviation{Kind: kind, Items: ids, After: "p", Before: "q"}
	}
	order := func(out, beyond int, list ...Deviation) func(*Result) {
		return func(r *Result) { r.Order = Order{OutOfOrder: out, Beyond: beyond, Wanted: 9, Deviations: list} }
	}
	for _, c := range []struct {
		name string
		set  func(*Result)
		want []string
	}{
		{"nothing", func(*Result) {}, nil},
		{"all right", items(Right, Late, OutOfOrder, NotAsked, NotReached), nil},
		{"left out", items(Right, Omitted, Omitted), []string{"item i1: left out; 2 of 3 in all"}},
		{"wrong", items(Right, Right, Wrong), []string{"item i2: answered wrongly; 1 of 3 in all"}},
		{"by rote", items(Rote, Right), []string{"item i0: answered by rote, sooner than anybody could have looked; 1 of 2 in all"}},
		{"each", items(Rote, Wrong, Omitted), []string{"item i2: left out; 1 of 3 in all", "item i1: answered wrongly; 1 of 3 in all", "item i0: answered by rote, sooner than anybody could have looked; 1 of 3 in all"}},
		{"handled, left alone, never seen, and the like", put(InjectionResult{Outcome: Handled, Diagnosis: DiagnosedRight}, InjectionResult{Outcome: LeftAlone}, InjectionResult{Outcome: Unseen},
			InjectionResult{Outcome: Stood}, InjectionResult{Outcome: Cleared}, InjectionResult{Outcome: Unended}), nil},
		{"silenced", put(InjectionResult{Outcome: Lost, SilencedOnly: true}), []string{"abnormal x: horn silenced and nothing else done, 1 of 1 times"}},
		{"not noticed", put(InjectionResult{Outcome: NotNoticed}, InjectionResult{Outcome: NotNoticed}, InjectionResult{Outcome: Handled}, InjectionResult{Outcome: NotNoticed, Abnormal: "y"}),
			[]string{"abnormal x: not noticed, 2 of 3 times", "abnormal y: not noticed, 1 of 1 times"}},
		{"not recovered", put(InjectionResult{Outcome: Lost}), []string{"abnormal x: not recovered, 1 of 1 times"}},
		{"left open", put(InjectionResult{Outcome: LeftOpen}), []string{"abnormal x: left open as the flow ended, 1 of 1 times"}},
		{"made worse", put(InjectionResult{Outcome: MadeWorse, Worse: []string{"bad"}}), []string{"abnormal x: made worse, 1 of 1 times"}},
		{"acted on", put(InjectionResult{Outcome: ActedOn}), []string{"abnormal x: acted on, though nothing was wrong, 1 of 1 times"}},
		{"late", put(InjectionResult{Outcome: HandLate}), []string{"abnormal x: an action too late, 1 of 1 times"}},
		{"wrong first", put(InjectionResult{Outcome: WrongFirst, Diagnosis: DiagnosedWrong}), []string{"abnormal x: first move was a wrong one, 1 of 1 times"}},
		{"out of order", put(InjectionResult{Outcome: OutOfOrder}), []string{"abnormal x: actions out of order, 1 of 1 times"}},
		{"told", put(InjectionResult{Outcome: ToldFirst}), []string{"abnormal x: handled only after it had been told, 1 of 1 times"}},
		{"an item of its name", func(r *Result) {
			r.Held = []string{"x"}
			put(InjectionResult{Outcome: Lost})(r)
		}, []string{"hold x: it has to be right before the flow can continue", "abnormal x: not recovered, 1 of 1 times"}},
		{"one beyond", order(0, 1, departure(TooLate, "a"), departure(TooEarly, "b"), departure(Omission, "c"), departure(Repetition, "d")), []string{"order d: 1 departures from the order of 9 items"}},
		{"one out of order", order(1, 0, departure(Reversal, "b", "a")), []string{"order b: 1 departures from the order of 9 items"}},
		{"one for nothing", order(2, 3, departure(Intrusion)), []string{"order p: 5 departures from the order of 9 items"}},
		{"only left out", order(0, 0, departure(Omission, "c")), nil},
		{"a fault missed", func(r *Result) { r.Looking = Looking{Hits: 4, Signals: 5, Noise: 7} }, []string{"looking : 1 of 5 faults missed, 0 false alarms in 7 looks at something right"}},
		{"a false alarm", func(r *Result) { r.Looking = Looking{Hits: 5, Signals: 5, Noise: 7, FalseAlarms: 1} }, []string{"looking : 0 of 5 faults missed, 1 false alarms in 7 looks at something right"}},
		{"looked well", func(r *Result) { r.Looking = Looking{Hits: 5, Signals: 5, Noise: 7} }, nil},
		{"lost the place", func(r *Result) { r.Resuming = Resuming{Lost: 1, Kept: 2, Count: 3} }, []string{"resuming : the place in the flow was lost after 1 of 3 interruptions"}},
		{"kept the place", func(r *Result) { r.Resuming = Resuming{Kept: 3, Count: 3} }, nil},
		{"slow", class(2, 3), []string{"reaction horn: 2 of 3 within par, 2.5 s"}},
		{"slow, but too few to say so", class(0, 2), nil},
		{"three quarters within par", class(3, 4), nil},
		{"just less", class(5, 7), []string{"reaction horn: 5 of 7 within par, 2.5 s"}},
		{"five", func(r *Result) { r.Inspections = []string{"a", "b", "c", "d", "e"} }, []string{"limit : a", "limit : b", "limit : c", "limit : d", "limit : e"}},
		{"six", func(r *Result) { r.Inspections = []string{"a", "b", "c", "d", "e", "f"} }, []string{"limit : a", "limit : b", "limit : c", "limit : d", "limit : e"}},
	} {
		j := &judge{sheet: &Sheet{}}
		c.set(&j.result)
		j.next()
		var got []string
		for _, n := range j.result.Next {
			got = append(got, fmt.Sprintf("%s %s: %s", n.Kind, n.Name, n.Why))
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %q\nwanted %q", c.name, got, c.want)
		}
	}
}

// The parts of the index of a few sittings, by their shares. A part that had nothing to judge is left out, and what was cut short
// counts limits, looking and resuming as nothing, and what never came as not handled.
func TestPartsOfTheIndex(t *testing.T) {
	tot := on(250000, logbook.Entry{Kind: logbook.Exceeded, Name: "tot", Length: 4 * time.Second})
	resumed := on(19500, logbook.Entry{Kind: logbook.Resumed, Item: "a", Why: logbook.AtPlace, Length: at(500)})
	for _, c := range []struct {
		name, ids string
		figures   bool
		coming    int
		why       logbook.Reason
		parts     []moment
		want      map[PartName]float64
		value     float64 // negative: none
	}{
		{"nothing", "", false, 0, logbook.Complete, nil, map[PartName]float64{}, -1},
		{"two of three right", "abc", false, 0, logbook.Complete, []moment{doneBy(1000, "a", ""), doneBy(2000, "b", "")}, map[PartName]float64{PartItems: 2.0 / 3, PartOrder: 2.0 / 3}, 66.67},
		{"and one beyond", "abc", false, 0, logbook.Complete, []moment{doneBy(1000, "a", ""), stray(1500, "gen1", "q"), doneBy(2000, "b", "")}, map[PartName]float64{PartItems: 2.0 / 3, PartOrder: 1.0 / 3}, 54.17},
		{"figures have no order", "abc", true, 0, logbook.Complete, []moment{doneBy(1000, "a", ""), doneBy(2000, "b", ""), tot}, map[PartName]float64{PartItems: 2.0 / 3}, 66.67},
		{"an abnormal handled", "", false, 0, logbook.Complete, []moment{abnormal(10, "handled"), tot}, map[PartName]float64{PartHandling: 1, PartReaction: 1, PartLimits: 0.6, PartLooking: 1}, 92.73},
		{"one made worse", "", false, 0, logbook.Complete, []moment{abnormal(10, "worse")}, map[PartName]float64{PartHandling: 0.5, PartReaction: 1, PartLooking: 1}, 66.67},
		{"one handled late", "", false, 0, logbook.Complete, []moment{abnormal(10, "late")}, map[PartName]float64{PartHandling: 0.9, PartReaction: 1, PartLooking: 1}, 93.33},
		{"one told", "", false, 0, logbook.Complete, []moment{abnormal(10, "told")}, map[PartName]float64{PartHandling: 0.8, PartReaction: 0, PartLooking: 0}, 53.33},
		{"one handled and one not noticed", "", false, 0, logbook.Complete, []moment{abnormal(10, "handled"), abnormal(30, "not noticed")}, map[PartName]float64{PartHandling: 0.5, PartReaction: 0.5, PartLooking: 0.5}, 50},
		{"resumed where it had been left", "a", false, 0, logbook.Complete, []moment{abnormal(10, "handled"), resumed, doneBy(19500, "a", "")},
			map[PartName]float64{PartItems: 1, PartHandling: 1, PartOrder: 1, PartReaction: 1, PartLooking: 1, PartResuming: 1}, 100},
		{"cut short before another came", "", false, 2, logbook.Inspection, []moment{abnormal(10, "handled"), tot}, map[PartName]float64{PartHandling: 0.5, PartReaction: 1, PartLimits: 0, PartLooking: 0}, 45.45},
		{"cut short, a look-alike drawn in its place", "", false, 2, logbook.Inspection, []moment{abnormal(10, "handled"), abnormal(30, "left alone")}, map[PartName]float64{PartHandling: 1, PartReaction: 1, PartLooking: 0}, 88.89},
		{"cut short, resumed before", "a", false, 0, logbook.Inspection, []moment{abnormal(10, "handled"), resumed, doneBy(19500, "a", "")},
			map[PartName]float64{PartItems: 1, PartHandling: 1, PartOrder: 1, PartReaction: 1, PartLooking: 0, PartResuming: 0}, 88.89},
		{"broken off", "a", false, 2, logbook.Outside, []moment{abnormal(10, "handled"), doneBy(19500, "a", "")}, map[PartName]float64{PartItems: 1, PartHandling: 1, PartOrder: 1, PartReaction: 1, PartLooking: 1}, -1},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := both(c.ids)
			sheet.Figures, sheet.Coming = c.figures, c.coming
			x := played(sheet, c.why, c.parts...).Index
			if len(x.Parts) != len(c.want) {
				t.Errorf("%+v; wanted %v", x.Parts, c.want)
			}
			for _, p := range x.Parts {
				want, ok := c.want[p.Name]
				if !ok {
					t.Errorf("%s was judged", p.Name)
				}
				near(t, string(p.Name), p.Share, want, 1e-12)
			}
			sameMS(t, "index (not ms)", x.Value, c.value)
		})
	}
}

// What is worth a look in a list of outcomes is what was not as it should have been.
func TestErrorsAmongOutcomes(t *testing.T) {
	errors := []Outcome{Omitted, Wrong, OutOfOrder, Late, Rote, Repeated, HandLate, MadeWorse, WrongFirst, ToldFirst, NotNoticed, Lost, LeftOpen, ActedOn, Unended}
	for _, o := range []Outcome{Right, NotAsked, NotReached, Handled, LeftAlone, Unseen, Stood, Cleared} {
		if o.IsError() {
			t.Errorf("%s is an error", o)
		}
	}
	for _, o := range errors {
		if !o.IsError() {
			t.Errorf("%s is no error", o)
		}
	}
}

// Every sound that was asked for is counted once: reported, assumed, unheard for a reason, or called off. What is seen is no sound.
func TestSoundsAreCounted(t *testing.T) {
	cue := func(n int, class logbook.Class) moment {
		return on(1000, logbook.Entry{Kind: logbook.Cue, Cue: n, Class: class})
	}
	heard := func(n int, why logbook.Reason) moment {
		return on(1100, logbook.Entry{Kind: logbook.Heard, Cue: n, Why: why})
	}
	s := played(sheetOf(""), logbook.Complete,
		cue(1, logbook.Speech), heard(1, ""),
		cue(2, logbook.Horn), heard(2, logbook.Assumed),
		cue(3, logbook.Horn), heard(3, logbook.Assumed), heard(3, ""),
		cue(4, logbook.Speech), heard(4, ""), heard(4, logbook.Muted),
		cue(5, logbook.Speech), heard(5, logbook.Muted),
		cue(6, logbook.Speech), heard(6, logbook.Muted),
		cue(7, logbook.Call), heard(7, logbook.NoDevice),
		cue(8, logbook.Speech), cue(9, logbook.Speech),
		cue(10, logbook.Caption), cue(11, logbook.Gauge),
		heard(12, ""),
	).Sound
	want := []Unheard{{logbook.Muted, 2}, {logbook.NoDevice, 1}}
	slices.SortFunc(want, func(a, b Unheard) int {
		if a.Why < b.Why {
			return -1
		}
		return 1
	})
	if s.Asked != 10 || s.Reported != 4 || s.Assumed != 1 || s.CalledOff != 2 || s.Missed() != 3 || !slices.Equal(s.Unheard, want) {
		t.Errorf("%+v", s)
	}
	s.Silence(Virtual)
	if s.Reported != 0 || s.Assumed != 0 || s.Missed() != 8 || s.Unheard[len(s.Unheard)-1] != (Unheard{Virtual, 5}) {
		t.Errorf("of a sitting without a clock: %+v", s)
	}
	n := len(s.Unheard)
	if s.Silence(Virtual); len(s.Unheard) != n {
		t.Errorf("silenced twice: %+v", s)
	}
}

// A reaction lies in a stretch of bad sound if any of it does, its ends included.
func TestReactionsInBadSound(t *testing.T) {
	for _, c := range []struct {
		from, to, bad, good int
		doubtful            int
	}{
		{3000, 3700, 1000, 2999, 0}, {3000, 3700, 1000, 3000, 1}, {3000, 3700, 3200, 3300, 1}, {3000, 3700, 1000, 9000, 1}, {3000, 3700, 3700, 9000, 1}, {3000, 3700, 3701, 9000, 0},
	} {
		w := &scribe{}
		events := map[int][]func(){}
		add := func(ms int, f func()) { events[ms] = append(events[ms], f) }
		add(c.bad, func() { w.at(c.bad, logbook.Entry{Kind: logbook.SoundBad}) })
		add(c.from, func() { w.now = at(c.from); w.ask("a", c.from) })
		add(c.to, func() { w.done("a", c.to, true) })
		add(c.good, func() { w.at(c.good, logbook.Entry{Kind: logbook.SoundGood}) })
		for ms := 0; ms <= 9000; ms++ {
			for _, f := range events[ms] {
				f()
			}
		}
		r := Judge(sheetOf("a"), w.end(true))
		if got := r.Reactions.Classes[0].Doubtful; got != c.doubtful || r.Sound.BadMS != float64(c.good-c.bad) || r.Trusted {
			t.Errorf("%+v: %d doubtful, %v ms bad", c, got, r.Sound.BadMS)
		}
	}
	if !Judge(sheetOf("a"), nil).Trusted {
		t.Error("sound of which nothing bad is known is not trusted")
	}
}

// How many abnormals may come: those that are put in and do something, and as many as may be drawn. Figures have none.
func TestAbnormalsToCome(t *testing.T) {
	sc := &scenario.Scenario{Injections: []scenario.Injection{{Abnormal: "walker"}, {Abnormal: "passer-by"}, {Abnormal: "walker"}, {Abnormal: "nobody knows it"}}}
	proc := &procedure.Procedure{Phases: []procedure.Phase{{ID: "p", Items: []procedure.Item{
		{ID: "a", Read: "tot"}, {ID: "b", Group: "g", Confirm: "true"}, {ID: "c", Group: "g", Confirm: "true"}, {ID: "d", Group: "h", Confirm: "true"}, {ID: "e", Confirm: "true"}, {ID: "f", Confirm: "true"},
	}}}}
	alike := walker(true)
	alike.Name = "passer-by"
	for _, p := range scenario.Policies() {
		for drawn, want := range map[int]int{0: 2, 3: 5} {
			sc.Drawn = nil
			if drawn > 0 {
				sc.Drawn = &scenario.Drawn{Count: drawn}
			}
			if p.Flow == scenario.Figures {
				want = 0
			}
			sheet := NewSheet(proc, sc, []*scenario.Abnormal{walker(false), alike}, p, nil)
			if sheet.Coming != want {
				t.Errorf("%s, %d drawn: %d to come; wanted %d", p.Name, drawn, sheet.Coming, want)
			}
			var ranks []int
			for _, it := range sheet.Items {
				ranks = append(ranks, it.Rank)
			}
			if len(ranks) > 0 && (!slices.Equal(ranks, []int{1, 2, 2, 3, 4, 5}) || sheet.Items[0].Tolerance != 0) {
				t.Errorf("%s: %v", p.Name, ranks)
			}
		}
	}
}

// The explanation of the index gives each part with the weight that it has, a hundred in all, and the words that reports use.
func TestFormulaOfTheIndexInWords(t *testing.T) {
	sum := 0.0
	for name, weight := range map[PartName]float64{
		PartItems: weightItems, PartHandling: weightHandling, PartOrder: weightOrder, PartReaction: weightReaction,
		PartLimits: weightLimits, PartLooking: weightLooking, PartResuming: weightResuming,
	} {
		sum += weight
		if line := fmt.Sprintf("\n  %-8s %3g  ", name, weight); !strings.Contains(IndexFormula, line) {
			t.Errorf("it has no line that begins with %q", line)
		}
	}
	if sum != 100 {
		t.Errorf("the weights come to %g", sum)
	}
	for _, words := range []string{"faults found, no false alarm, no stop call with nothing wrong", "An incomplete sitting has no index."} {
		if !strings.Contains(IndexFormula, words) {
			t.Errorf("it does not say %q", words)
		}
	}
}

// A sound that was reported is known; one that was not, or was only taken to have been heard, is assumed, and so is what was noticed by
// it. What is seen is neither. What was not noticed counts for as long as it showed, and for twice its par at least.
func TestReactionsToAbnormals(t *testing.T) {
	report := func(why logbook.Reason) moment {
		return on(10100, logbook.Entry{Kind: logbook.Heard, Cue: 1, Onset: at(10000), Why: why})
	}
	lost := func(ms int) moment { return over(ms, logbook.Lost, logbook.Timeout) }
	later := on(10500, logbook.Entry{Kind: logbook.Cue, Cue: 2, Class: logbook.Horn, Name: "low_nr", Onset: at(10500)})
	for _, c := range []struct {
		name    string
		class   logbook.Class
		parts   []moment
		assumed int
		ms      float64
	}{
		{"a horn, reported", logbook.Horn, []moment{report(""), act(12000, 1), lost(20000)}, 0, 2000},
		{"a horn, assumed", logbook.Horn, []moment{report(logbook.Assumed), act(12000, 1), lost(20000)}, 1, 2000},
		{"a horn of which nothing is known", logbook.Horn, []moment{act(12000, 1), lost(20000)}, 1, 2000},
		{"a light", logbook.Caption, []moment{act(12000, 1), lost(20000)}, 0, 2000},
		{"a light, then a horn", logbook.Caption, []moment{later, act(12000, 1), lost(20000)}, 0, 1500},
		{"not noticed for long", logbook.Caption, []moment{lost(20000)}, 0, 10000},
		{"not noticed for a moment", logbook.Caption, []moment{lost(12000)}, 0, 6000},
	} {
		r := played(sheetOf(""), logbook.Complete, append([]moment{shows(c.class, "light", false)}, c.parts...)...).Reactions
		if len(r.Classes) != 1 || r.Classes[0].Assumed != c.assumed || r.Classes[0].MedianMS != c.ms {
			t.Errorf("%s: %+v", c.name, r.Classes)
		}
	}
	if r := played(sheetOf("a"), logbook.Outside).Reactions; len(r.Classes) != 0 {
		t.Errorf("nothing was reacted to: %+v", r.Classes)
	}
	for ms, anticipated := range map[int]int{99: 1, 100: 0} {
		sheet := sheetOf("a")
		sheet.Items[0].Kind = procedure.Callout
		r := played(sheet, logbook.Complete, asked(1000, "a"), on(9000+ms, logbook.Entry{Kind: logbook.Answer, Item: "a", Why: logbook.Passing, Onset: at(9000)}),
			on(9000+ms, logbook.Entry{Kind: logbook.Done, Item: "a"})).Reactions
		if r.Anticipated != anticipated || r.Count != 1-anticipated {
			t.Errorf("called out wrongly after %d ms: %+v", ms, r)
		}
	}
}

// An abnormal with nothing to do but to notice it is handled in full by whoever does.
func TestPointsWithNothingToDo(t *testing.T) {
	sheet := sheetOf("")
	sheet.Abnormals["walker"] = &scenario.Abnormal{Name: "walker", Title: "Nothing to do", Handled: "nr > 97"}
	for _, p := range played(sheet, logbook.Complete, shows(logbook.Caption, "light", false), stopCall(11000), over(20000, logbook.Handled, "")).Index.Parts {
		if p.Name == PartHandling && p.Share != 1 {
			t.Errorf("a share of %v", p.Share)
		}
	}
}

// Of neighbours that were swapped neither step was known, whatever came before; the steps between others were.
func TestStepsOfASwap(t *testing.T) {
	sheet := sheetOf("abcd")
	r := Judge(sheet, doneInOrder("acbd"))
	var wrong []string
	for _, trial := range Trials(r, sheet) {
		if trial.Kind == TrialStep && !trial.Right {
			wrong = append(wrong, trial.Name)
		}
	}
	if want := []string{StepName("a", "b"), StepName("b", "c")}; !slices.Equal(wrong, want) {
		t.Errorf("%q; wanted %q", wrong, want)
	}
}

// A place that was lost after an interruption is one departure with what is seen of it: what was left out or done after others, or done
// again at that moment. What has nothing to do with it stays a departure of its own.
func TestPlaceThatWasLost(t *testing.T) {
	resumed := func(ms int, item string, how logbook.Reason) moment {
		return on(ms, logbook.Entry{Kind: logbook.Resumed, Item: item, Why: how, Length: at(1000)})
	}
	again := func(ms int, item string) moment { return on(ms, logbook.Entry{Kind: logbook.Again, Item: item}) }
	d := func(from int, ids string) []moment {
		var list []moment
		for k, r := range ids {
			list = append(list, doneBy(from+1000*k, string(r), ""))
		}
		return list
	}
	start := append(d(1000, "ab"), shows(logbook.Caption, "light", false), on(20000, logbook.Entry{Kind: logbook.Lost, Injection: "walker#1", Item: "c"}))
	wrong := func(item string) []moment { return []moment{resumed(22000, item, logbook.Elsewhere)} }
	for _, c := range []struct {
		name   string
		parts  []moment
		want   string
		figure float64
	}{
		{"kept", append([]moment{resumed(22000, "c", logbook.AtPlace)}, d(22000, "cdefgh")...), "", 100},
		{"one left out", append(wrong("d"), d(22000, "defgh")...), "place-losing d seen as omission", 87.5},
		{"one done after the next", append(wrong("d"), d(22000, "dcefgh")...), "place-losing d seen as reversal", 87.5},
		{"three left out", append(wrong("f"), d(22000, "fgh")...), "place-losing f seen as omission", 62.5},
		{"one left out, and another later on", append(wrong("d"), d(22000, "defh")...), "place-losing d seen as omission; omission g", 75},
		{"one left out, and others swapped later on", append(wrong("d"), d(22000, "deghf")...), "place-losing d seen as omission; jump-back f", 75},
		{"one left out, and one done again later on", append(wrong("d"), append(d(22000, "defgh"), again(30000, "h"))...), "place-losing d seen as omission; repetition h", 75},
		{"one left out, and something for nothing", append(wrong("d"), append(d(22000, "defgh"), stray(30000, "gen1", "q"))...), "place-losing d seen as omission; intrusion gen1", 75},
		{"one left out, and one too far", append(wrong("d"), append(d(22000, "defgh"), on(30000, logbook.Entry{Kind: logbook.Overshoot, Item: "d"}))...), "place-losing d seen as omission; overshoot d", 75},
		{"one before it left out as well", append(append(d(1000, "b")[:1:1], start[2:]...), append(wrong("d"), d(22000, "defgh")...)...), "place-losing d seen as omission; omission a", 75},
		{"the last one again", append([]moment{resumed(22000, "b", logbook.Twice), again(22000, "b")}, d(23000, "cdefgh")...), "place-losing b seen as repetition", 87.5},
		{"the last one again, and once more later on", append([]moment{resumed(22000, "b", logbook.Twice), again(22000, "b")}, append(d(23000, "cdefgh"), again(30000, "b"))...),
			"place-losing b seen as repetition; repetition b", 75},
		{"the last one again, and one left out", append([]moment{resumed(22000, "b", logbook.Twice), again(22000, "b")}, d(23000, "cdefg")...), "place-losing b seen as repetition; omission h", 75},
		{"prompted", append([]moment{on(30000, logbook.Entry{Kind: logbook.Prompted, Item: "c"})}, d(31000, "cdefgh")...), "place-losing c", 87.5},
		{"prompted, and one left out", append([]moment{on(30000, logbook.Entry{Kind: logbook.Prompted, Item: "c"})}, d(31000, "defgh")...), "place-losing c; omission c", 75},
		{"prompted, and the first left out", append(slices.Clone(start[1:]), append([]moment{on(30000, logbook.Entry{Kind: logbook.Prompted, Item: "c"})}, d(31000, "cdefgh")...)...), "place-losing c; omission a", 75},
		{"one left out, and the one instead done again later on", append(wrong("d"), append(d(22000, "defgh"), again(30000, "d"))...), "place-losing d seen as omission; repetition d", 75},
		{"one left out, and the one instead late", append(wrong("d"), append([]moment{on(22100, logbook.Entry{Kind: logbook.TimedOut, Item: "d"})}, d(22200, "defgh")...)...), "place-losing d seen as omission; too-late d", 87.5},
		{"two places lost, one after the other", append(wrong("d"), on(22000, logbook.Entry{Kind: logbook.Done, Item: "d", OK: true}),
			on(23000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#2", Abnormal: "walker"}), on(23500, logbook.Entry{Kind: logbook.Onset, Injection: "walker#2", Class: logbook.Caption}),
			on(33000, logbook.Entry{Kind: logbook.Lost, Injection: "walker#2", Item: "c"}), resumed(35000, "f", logbook.Elsewhere),
			doneBy(35000, "f", ""), doneBy(36000, "g", ""), doneBy(37000, "h", "")), "place-losing d seen as omission; place-losing f seen as omission", 75},
		{"resumed where nobody knows", append(wrong("?"), d(22000, "cdefgh")...), "place-losing ?", 87.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			parts := c.parts
			if c.name != "one before it left out as well" && c.name != "prompted, and the first left out" {
				parts = append(slices.Clone(start), c.parts...)
			}
			o := played(sheetOf("abcdefgh"), logbook.Complete, parts...).Order
			var got []string
			for _, d := range o.Deviations {
				s := fmt.Sprint(d.Kind, " ", strings.Join(d.Items, " "), d.Control)
				if d.SeenAs != "" {
					s += fmt.Sprint(" seen as ", d.SeenAs)
				}
				got = append(got, s)
			}
			if s := strings.Join(got, "; "); s != c.want || *o.Figure != c.figure {
				t.Errorf("%s, %v %%; wanted %s, %v %%", s, *o.Figure, c.want, c.figure)
			}
		})
	}
}

// Whoever resumes at one of a group has passed what comes before the group, and nothing of it.
func TestPlaceThatWasLostInAGroup(t *testing.T) {
	o := played(sheetOf("abc(de)f"), logbook.Complete, doneBy(1000, "a", ""), doneBy(2000, "b", ""), shows(logbook.Caption, "light", false),
		on(20000, logbook.Entry{Kind: logbook.Lost, Injection: "walker#1", Item: "c"}), on(22000, logbook.Entry{Kind: logbook.Resumed, Item: "d", Why: logbook.Elsewhere}),
		doneBy(22000, "d", ""), doneBy(23000, "f", "")).Order
	if len(o.Deviations) != 2 || o.Deviations[0].Kind != PlaceLosing || o.Deviations[1].Kind != Omission || o.Deviations[1].Items[0] != "e" {
		t.Errorf("%+v; wanted the place lost at d, with c left out, and e left out", o.Deviations)
	}
}

// A callout that is not right came too late or too early, by which side of the passing it was on.
func TestCalloutsTooEarlyAndTooLate(t *testing.T) {
	for offset, want := range map[int]Slip{-1: TooEarly, 0: TooLate, 900: TooLate} {
		sheet := sheetOf("ab")
		sheet.Items[0].Kind = procedure.Callout
		o := played(sheet, logbook.Complete, on(20000, logbook.Entry{Kind: logbook.Answer, Item: "a", Why: logbook.Passing, Onset: at(20000 - offset)}),
			on(20000, logbook.Entry{Kind: logbook.Done, Item: "a"}), doneBy(21000, "b", "")).Order
		if len(o.Deviations) != 1 || o.Deviations[0].Kind != want {
			t.Errorf("%d ms: %+v; wanted %s", offset, o.Deviations, want)
		}
	}
	// What is out of its place is not early or late as well.
	o := played(sheetOf("ab"), logbook.Complete, doneBy(1000, "b", ""), asked(2000, "a"), doneBy(9000, "a", "")).Order
	if len(o.Deviations) != 2 {
		t.Errorf("%+v; wanted the swap, and a late a", o.Deviations)
	}
	o = played(sheetOf("ab"), logbook.Complete, asked(1000, "b"), doneBy(9000, "b", ""), doneBy(10000, "a", "")).Order
	if len(o.Deviations) != 1 || o.Deviations[0].Kind != Reversal {
		t.Errorf("%+v; wanted the swap alone", o.Deviations)
	}
}
