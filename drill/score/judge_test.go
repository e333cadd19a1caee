package score

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// The ten reaction times of TestReactionsOfAWorkedSet, with the measures of Basner and Dinges (2011), Sleep 34(5):581-591,
// worked by hand of the nine that are no false start: the mean of the reciprocals is 3.49802 per second, and not 2.98, the
// reciprocal of the mean; lapses are from 500 ms, here twice a par of 250 ms; the share of what was neither lapse nor false
// start is 0.70. With the false start, which they leave out and we count as twice the limit of 5 s, there are ten.
func TestClassOfAWorkedSet(t *testing.T) {
	for _, c := range []struct {
		par            time.Duration
		within, lapses int
	}{
		{250 * time.Millisecond, 4, 2},            // lapses from 500 ms
		{177500 * time.Microsecond, 0, 3},         // from 355 ms: Basner, Mollicone and Dinges (2011), Acta Astronautica 69:949-959
		{260 * time.Millisecond, 4, 2},            // from 520 ms: the boundary is a lapse
		{260*time.Millisecond + 1000_000/2, 4, 1}, // and just under it is none
		{640 * time.Millisecond, 9, 0},            // the par itself is within
		{639999 * time.Microsecond, 8, 0},         // just over it is not
	} {
		valid := classOf10(t, c.par, []int{210, 250, 310, 520, 180, 640, 275, 230, 405})
		got := classOf10(t, c.par, []int{210, 250, 95, 310, 520, 180, 640, 275, 230, 405})
		if valid.Count != 9 || valid.Of != 9 || got.Count != 9 || got.Of != 10 || got.Anticipated != 1 {
			t.Errorf("%+v, %+v", valid, got)
		}
		for _, x := range []ClassReactions{valid, got} {
			if x.Class != logbook.Speech || x.WithinPar != c.within || x.Lapses != c.lapses || x.Missed != 0 {
				t.Errorf("par %v: %+v; wanted %d within and %d lapses", c.par, x, c.within, c.lapses)
			}
		}
		near(t, "median", valid.MedianMS, 275, 0)
		near(t, "lower quartile", valid.LowerQuartileMS, 230, 0)
		near(t, "upper quartile", valid.UpperQuartileMS, 405, 0)
		near(t, "mean reciprocal", valid.MeanPerS, 3.498018801993271, 1e-12)
		near(t, "fastest tenth", valid.FastestTenthMS, 180, 0)
		near(t, "slowest tenth", valid.SlowestTenthMS, 640, 0)
		near(t, "slowest tenth, reciprocal", valid.SlowestTenthPerS, 1.5625, 1e-12)
		near(t, "median with the false start", got.MedianMS, 292.5, 0)
		near(t, "mean reciprocal with the false start", got.MeanPerS, (9*3.498018801993271+0.1)/10, 1e-12)
		near(t, "slowest tenth with the false start", got.SlowestTenthMS, 10000, 0)
		if c.lapses == 2 {
			near(t, "neither lapse nor false start", 1-float64(got.Lapses+got.Anticipated)/float64(got.Count+got.Anticipated), 0.70, 1e-12)
		}
	}
}

// classOf10 is what so many reactions to challenges come to, in milliseconds.
func classOf10(t *testing.T, par time.Duration, times []int) ClassReactions {
	t.Helper()
	ids := "abcdefghij"[:len(times)]
	sheet := sheetOf(ids)
	sheet.Par = &scenario.Par{Speech: &par}
	w := &scribe{}
	for i, rt := range times {
		w.now = at(10000 * i)
		w.ask(ids[i:i+1], 10000*i+1000)
		w.done(ids[i:i+1], 10000*i+1000+rt, true)
	}
	classes := Judge(sheet, w.end(true)).Reactions.Classes
	if len(classes) != 1 {
		t.Fatalf("%+v", classes)
	}
	return classes[0]
}

// The tenth is rounded up, so that eleven reactions have two in it.
func TestTenths(t *testing.T) {
	s := &sample{par: 1000}
	for ms := 1100.0; ms >= 100; ms -= 100 {
		s.add(ms, 0, false, false, 0)
	}
	r := s.result(logbook.Horn)
	near(t, "fastest tenth", r.FastestTenthMS, 150, 0)
	near(t, "slowest tenth", r.SlowestTenthMS, 1050, 0)
}

// An item that takes several controls is allowed half a second more for each beyond the first.
func TestParOfSeveralControls(t *testing.T) {
	sheet := sheetOf("a")
	sheet.Items[0].Controls = []string{"x", "y", "z"}
	for ms, within := range map[int]int{3000: 1, 3001: 0} {
		w := &scribe{}
		w.ask("a", 1000)
		w.done("a", 1000+ms, true)
		if got := Judge(sheet, w.end(true)).Reactions.Classes[0].WithinPar; got != within {
			t.Errorf("%d ms: %d within par; wanted %d", ms, got, within)
		}
	}
}

// What an item is answered from tells the class: a typed one takes the typing too, a callout is timed from its gauge, and what
// was never answered is missed.
func TestClassesOfItems(t *testing.T) {
	sheet := sheetOf("abcd")
	sheet.Items[1].Kind, sheet.Items[2].Kind = procedure.Read, procedure.Callout
	w := &scribe{}
	w.ask("a", 1000)
	w.done("a", 1700, true)
	w.ask("b", 3000)
	w.done("b", 6000, true)
	w.ask("c", 8000)
	w.at(9400, logbook.Entry{Kind: logbook.Answer, Item: "c", Why: logbook.Passing, Onset: at(9000)})
	w.done("c", 9400, true)
	w.ask("d", 11000)
	w.at(20000, logbook.Entry{Kind: logbook.TimedOut, Item: "d"})
	want := map[logbook.Class][3]int{"speech": {1, 1, (700 + 2*5000) / 2}, "typed": {1, 0, 3000}, "gauge": {1, 0, 400}} // count, missed, median: what was missed counts as twice its 5 s
	classes := Judge(sheet, w.end(true)).Reactions.Classes
	if len(classes) != len(want) {
		t.Fatalf("%+v", classes)
	}
	for _, c := range classes {
		if got := [3]int{c.Count, c.Missed, int(c.MedianMS)}; got != want[c.Class] {
			t.Errorf("%s: %v; wanted %v", c.Class, got, want[c.Class])
		}
	}
}

// An abnormal is reacted to from its first cue, or from a horn or a light of its that came later and is harder to miss.
func TestClassesOfAbnormals(t *testing.T) {
	for _, c := range []struct {
		name  string
		first logbook.Class
		later map[int]logbook.Class // when, and of which class
		press int                   // 0: none
		class logbook.Class
		ms    float64 // negative: missed
	}{
		{"a gauge", "gauge", nil, 12500, "gauge", 2500},
		{"a gauge, then a horn", "gauge", map[int]logbook.Class{11000: "horn"}, 12500, "horn", 1500},
		{"a gauge, then a light", "gauge", map[int]logbook.Class{11000: "caption"}, 12500, "caption", 1500},
		{"a horn, then a light", "horn", map[int]logbook.Class{11000: "caption"}, 12500, "horn", 2500},
		{"a horn too late to have roused", "gauge", map[int]logbook.Class{12401: "horn"}, 12500, "gauge", 2500},
		{"a horn just in time", "gauge", map[int]logbook.Class{12400: "horn"}, 12500, "horn", 100},
		{"words over the radio", "call", nil, 12500, "call", 2500},
		{"never noticed", "horn", nil, 0, "horn", -1},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := sheetOf("")
			sheet.Abnormals["walker"] = walker(false)
			sheet.Abnormals["walker"].Cues = []string{"it"}
			w := &scribe{}
			w.at(9000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
			w.at(10000, logbook.Entry{Kind: logbook.Cue, Cue: 1, Class: c.first, Name: "it", Onset: at(10000)})
			w.add(logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Cue: 1, Class: c.first, Name: "it"})
			for ms, class := range c.later {
				w.at(ms, logbook.Entry{Kind: logbook.Cue, Cue: 2, Class: logbook.Horn, Name: "another", Onset: at(10000)})
				w.at(ms, logbook.Entry{Kind: logbook.Cue, Cue: 3, Class: class, Name: "it", Onset: at(ms)})
			}
			if c.press > 0 {
				w.at(c.press, logbook.Entry{Kind: logbook.Action, Number: 1})
			}
			w.at(20000, logbook.Entry{Kind: logbook.Lost})
			classes := Judge(sheet, w.end(true)).Reactions.Classes
			if len(classes) != 1 || classes[0].Class != c.class {
				t.Fatalf("%+v; wanted %s", classes, c.class)
			}
			switch got := classes[0]; {
			case c.ms < 0 && (got.Missed != 1 || got.Count != 0):
				t.Errorf("%+v; wanted it missed", got)
			case c.ms >= 0 && (got.Count != 1 || got.MedianMS != c.ms):
				t.Errorf("%+v; wanted %v ms", got, c.ms)
			}
		})
	}
}

// Stretches in which the sound was not healthy are told with their ends, and how many reactions lie in them.
func TestSound(t *testing.T) {
	sheet := sheetOf("ab")
	w := &scribe{}
	w.ask("a", 1000)
	w.done("a", 1700, true)
	w.at(2000, logbook.Entry{Kind: logbook.SoundBad, Text: "late"})
	w.ask("b", 3000)
	w.done("b", 3700, true)
	w.at(4500, logbook.Entry{Kind: logbook.SoundGood})
	w.at(6000, logbook.Entry{Kind: logbook.SoundBad, Text: "gone"})
	r := Judge(sheet, w.end(true)) // one second later
	want := []Stretch{{2000, 4500, "late"}, {6000, 7000, "gone"}}
	if s := r.Sound; len(s.Bad) != 2 || s.Bad[0] != want[0] || s.Bad[1] != want[1] || s.BadMS != 3500 || s.Reported != 2 {
		t.Errorf("%+v; wanted %+v", s, want)
	}
	if got := r.Reactions.Classes[0].Doubtful; got != 1 || r.Trusted {
		t.Errorf("%d doubtful, trusted %v; wanted one, and not", got, r.Trusted)
	}
}

func TestUncertainty(t *testing.T) {
	heard, heardMost := Uncertainty(logbook.Horn, 0)
	seen, seenMost := Uncertainty(logbook.Gauge, 0)
	if heard != 5 || heardMost != 28 || seen != 5 || seenMost != 115 {
		t.Errorf("horn %v to %v, gauge %v to %v", heard, heardMost, seen, seenMost)
	}
	if least, most := Uncertainty(logbook.Horn, 8*time.Millisecond); least != -3 || most != 33 {
		t.Errorf("by a page to within 8 ms: %v to %v", least, most)
	}
}

// A press that a page stamped is timed from its own moment, and its class says by how much that may be off; the result says how many there were.
func TestPressesThatAPageStamped(t *testing.T) {
	for _, c := range []struct {
		name                         string
		first, second                time.Duration // by how much the presses are off; zero: a terminal's
		presses                      int
		median, mostOff, least, most float64
	}{
		{"a terminal", 0, 0, 0, 0, 0, 5, 28},
		{"a page", 2 * time.Millisecond, 6 * time.Millisecond, 2, 4, 6, -1, 31},
		{"both", 0, time.Millisecond, 1, 1, 1, 4, 28},
	} {
		w := &scribe{}
		press := func(item string, ms int, off time.Duration) {
			began := time.Duration(0)
			if off > 0 {
				began = at(ms - 12) // it was on its way for so long
			}
			w.at(ms, logbook.Entry{Kind: logbook.Press, Seat: logbook.Trainee, Key: "1", Began: began, Length: off})
			w.at(ms, logbook.Entry{Kind: logbook.Done, Seat: logbook.Trainee, Began: began, Item: item, OK: true})
		}
		w.ask("one", 500)
		press("one", 1500, c.first)
		w.ask("two", 2500)
		press("two", 3500, c.second)
		sheet := &Sheet{Spoken: true, Items: []Item{{ID: "one", Kind: procedure.Set, Limit: 5 * time.Second}, {ID: "two", Kind: procedure.Set, Limit: 5 * time.Second}}}
		r := Judge(sheet, w.log)
		got := Stamped{}
		if r.Stamped != nil {
			got = *r.Stamped
		}
		if got.Presses != c.presses || got.MedianOffMS != c.median || got.MostOffMS != c.mostOff {
			t.Errorf("%s: %+v", c.name, got)
		}
		classes := r.Reactions.Classes
		if len(classes) != 1 || classes[0].LeastLateMS != c.least || classes[0].MostLateMS != c.most {
			t.Errorf("%s: %+v", c.name, classes)
		}
		want := 1000.0
		if c.second > 0 {
			want -= 12
		}
		if got := r.Items[1].ReactionMS; got == nil || *got != want {
			t.Errorf("%s: it took %v, and not %v ms", c.name, got, want)
		}
	}
}

// How an abnormal was handled: noticed by what, what the first move was, and whether the horn was only silenced.
func TestHandling(t *testing.T) {
	entry := func(ms int, e logbook.Entry) func(*scribe) { return func(w *scribe) { w.at(ms, e) } }
	act := func(ms, n int) func(*scribe) {
		return entry(ms, logbook.Entry{Kind: logbook.Action, Injection: "walker#1", Number: n})
	}
	moved := func(ms int) func(*scribe) {
		return entry(ms, logbook.Entry{Kind: logbook.Moved, Seat: logbook.Trainee, Control: "collective", Position: "50"})
	}
	silence := entry(10600, logbook.Entry{Kind: logbook.Silence, Name: "low_nr", OK: true})
	handled := entry(14000, logbook.Entry{Kind: logbook.Handled})
	lost := entry(30000, logbook.Entry{Kind: logbook.Lost, Why: logbook.Timeout})
	worse := entry(11000, logbook.Entry{Kind: logbook.Worse, Control: "collective", Text: "bad"})
	for _, c := range []struct {
		name      string
		write     []func(*scribe)
		by        Notice
		diagnosis Diagnosis
		first     string
		silenced  bool
		order     int // actions in order
		points    float64
	}{
		{"well", []func(*scribe){act(11000, 1), act(12000, 2), handled}, ByAction, DiagnosedRight, "", false, 2, 1},
		{"in the wrong order", []func(*scribe){act(11000, 2), act(11500, 1), handled}, ByAction, DiagnosedWrong, "second", false, 1, 0.7},
		{"one late", []func(*scribe){act(11000, 1), act(14001, 2), entry(14500, logbook.Entry{Kind: logbook.Handled})}, ByAction, DiagnosedRight, "", false, 2, 0.9},
		{"the lever on its way", []func(*scribe){moved(11000), act(11500, 1), act(12000, 2), handled}, ByMove, DiagnosedRight, "", false, 2, 1},
		{"the lever the wrong way", []func(*scribe){moved(11000), worse, act(11500, 1), act(12000, 2), handled}, ByMove, DiagnosedWrong, "collective", false, 2, 0.4},
		{"something else first", []func(*scribe){entry(10500, logbook.Entry{Kind: logbook.Stray, Control: "gen1"}), act(11000, 1), act(12000, 2), handled}, ByAction, DiagnosedWrong, "gen1", false, 2, 0.8},
		{"the flow, once stop had been called", []func(*scribe){entry(10300, logbook.Entry{Kind: logbook.StopCall}), entry(10500, logbook.Entry{Kind: logbook.Done, Item: "a", OK: true}), act(11000, 1), act(12000, 2), handled}, ByStop, DiagnosedWrong, "a", false, 2, 0.8},
		{"the flow over it", []func(*scribe){entry(10500, logbook.Entry{Kind: logbook.Done, Item: "a", OK: true}), act(11000, 1), act(12000, 2), handled}, ByAction, DiagnosedRight, "", false, 2, 1},
		{"pressed beside it", []func(*scribe){act(11000, 1), entry(11500, logbook.Entry{Kind: logbook.Stray, Control: "gen1"}), act(12000, 2), handled}, ByAction, DiagnosedRight, "", false, 2, 0.9},
		{"a press that was under way", []func(*scribe){entry(10099, logbook.Entry{Kind: logbook.Stray, Control: "gen1"}), act(11000, 1), act(12000, 2), handled}, ByAction, DiagnosedRight, "", false, 2, 1},
		{"a press that was not", []func(*scribe){entry(10100, logbook.Entry{Kind: logbook.Stray, Control: "gen1"}), act(11000, 1), act(12000, 2), handled}, ByAction, DiagnosedWrong, "gen1", false, 2, 0.8},
		{"silenced, then done", []func(*scribe){silence, act(11000, 1), act(12000, 2), handled}, BySilence, DiagnosedRight, "", false, 2, 1},
		{"silenced and no more", []func(*scribe){silence, lost}, BySilence, NoMove, "", true, 0, 0},
		{"silenced, and another thing done", []func(*scribe){silence, entry(11000, logbook.Entry{Kind: logbook.Stray, Control: "gen1"}), lost}, BySilence, DiagnosedWrong, "gen1", true, 0, 0},
		{"silenced, one done, and lost", []func(*scribe){silence, act(11000, 1), lost}, BySilence, DiagnosedRight, "", false, 1, 0.6},
		{"nothing", []func(*scribe){lost}, "", NoMove, "", false, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := sheetOf("a")
			ab := walker(false)
			ab.Actions[0].Set = aircraft.Put("collective", "30")
			sheet.Abnormals["walker"] = ab
			w := &scribe{}
			w.at(9000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
			w.at(10000, logbook.Entry{Kind: logbook.Cue, Cue: 1, Class: logbook.Horn, Name: "low_nr", Onset: at(10000)})
			w.add(logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Cue: 1, Class: logbook.Horn, Name: "low_nr"})
			for _, f := range c.write {
				f(w)
			}
			r := Judge(sheet, w.end(true))
			in := r.Injections[0]
			if in.NoticedBy != c.by || in.Diagnosis != c.diagnosis || in.FirstMove != c.first || in.SilencedOnly != c.silenced || in.ActionsInOrder != c.order {
				t.Errorf("%+v", in)
			}
			if h := r.Handling; h.Count != 1 || h.Actions != 2 || h.SilencedOnly == 1 != c.silenced || h.InOrder != c.order {
				t.Errorf("%+v", h)
			}
			if slices.ContainsFunc(r.Order.Deviations, func(d Deviation) bool { return d.Kind == Intrusion }) {
				t.Errorf("what was done about it is said to be an intrusion into the flow: %+v", r.Order.Deviations)
			}
			for _, p := range r.Index.Parts {
				if p.Name == PartHandling {
					near(t, "share of handling", p.Share, c.points, 1e-12)
				}
			}
		})
	}
}

// A "no" to what is so is a false alarm, a "yes" to what is not a miss; and what that comes to is said in words.
func TestLooking(t *testing.T) {
	for _, c := range []struct {
		name                      string
		hits, misses, rejects, fa int
		says                      string
	}{
		{"all right", 6, 0, 10, 0, "found every fault"},
		{"few", 2, 0, 3, 0, "too few to be sure"},
		{"yes to everything", 0, 6, 10, 0, "says yes too easily"},
		{"no to everything", 6, 0, 0, 10, "says no too easily"},
		{"both ways", 5, 3, 5, 3, "errs both ways"},
		{"more false alarms than misses", 19, 1, 15, 5, "says no too easily"},
		{"one false alarm, much more of it", 6, 0, 30, 1, "a fault now and then where there is none"},
		{"nothing wrong", 0, 0, 8, 0, "nothing was wrong"},
		{"nothing right", 5, 1, 0, 0, "5 of 6 found"},
		{"nothing", 0, 0, 0, 0, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := &scribe{}
			answers := func(n int, truth, said string) {
				for range n {
					w.add(logbook.Entry{Kind: logbook.Answer, Item: "a", Text: said, Truth: truth})
				}
			}
			answers(c.hits, "no", "no")
			answers(c.misses, "no", "yes")
			answers(c.rejects, "yes", "yes")
			answers(c.fa, "yes", "no")
			w.add(logbook.Entry{Kind: logbook.Answer, Item: "b", Text: logbook.No, Truth: logbook.Yes}) // a set is no look
			sheet := sheetOf("ab")
			sheet.Items[0].Kind = procedure.Check
			l := Judge(sheet, w.end(true)).Looking
			if l.Signals != c.hits+c.misses || l.Hits != c.hits || l.Noise != c.rejects+c.fa || l.FalseAlarms != c.fa {
				t.Errorf("%+v", l)
			}
			if !strings.Contains(l.Words, c.says) || c.says == "" && l.Words != "" {
				t.Errorf("says %q; wanted %q", l.Words, c.says)
			}
			if both := l.Signals > 0 && l.Noise > 0; (l.Sensitivity != nil) != both || (l.Criterion != nil) != both {
				t.Errorf("d' %v, c %v", l.Sensitivity, l.Criterion)
			}
		})
	}
}

// An abnormal that was noticed is a hit, one that was not a miss; a look-alike that was acted on is a false alarm.
func TestLookingAtInjections(t *testing.T) {
	sheet := sheetOf("")
	sheet.Abnormals["walker"], sheet.Abnormals["passer-by"] = walker(false), walker(true)
	w := &scribe{}
	put := func(name string, harmless bool, then ...logbook.Entry) {
		w.now += time.Second
		w.add(logbook.Entry{Kind: logbook.Inject, Injection: fmt.Sprint(name, len(w.log)), Abnormal: name, OK: harmless})
		w.add(logbook.Entry{Kind: logbook.Onset, Class: logbook.Caption})
		w.now += time.Second
		for _, e := range then {
			w.add(e)
		}
	}
	put("walker", false, logbook.Entry{Kind: logbook.Action, Number: 1}, logbook.Entry{Kind: logbook.Action, Number: 2}, logbook.Entry{Kind: logbook.Handled})
	put("walker", false, logbook.Entry{Kind: logbook.Lost})
	put("walker", false, logbook.Entry{Kind: logbook.Lost, Why: logbook.Unseen})
	put("passer-by", true, logbook.Entry{Kind: logbook.Handled})
	put("passer-by", true, logbook.Entry{Kind: logbook.Stray, Control: "gen1"}, logbook.Entry{Kind: logbook.Handled})
	l := Judge(sheet, w.end(true)).Looking
	if l.Signals != 2 || l.Hits != 1 || l.Noise != 2 || l.FalseAlarms != 1 {
		t.Errorf("%+v", l)
	}
}

// The flow is resumed at the right item or not, and the lag is that to the first right one.
func TestResuming(t *testing.T) {
	resumed := func(ms int, item string, how logbook.Reason, seconds float64) func(*scribe) {
		return func(w *scribe) {
			w.at(ms, logbook.Entry{Kind: logbook.Resumed, Item: item, Why: how, Length: time.Duration(seconds * float64(time.Second))})
			if how != logbook.Twice {
				w.done(item, ms, true)
			}
		}
	}
	for _, c := range []struct {
		name  string
		write []func(*scribe)
		want  Resuming
		lag   float64 // ms; negative: none
		went  string
	}{
		{"right", []func(*scribe){resumed(21500, "b", "right", 1.5)}, Resuming{Count: 1, Kept: 1, LagCount: 1}, 1500, ""},
		{"wrong, then right", []func(*scribe){resumed(21500, "c", "wrong", 1.5), func(w *scribe) { w.done("b", 24000, true) }}, Resuming{Count: 1, Lost: 1, LagCount: 1}, 4000, "c"},
		{"wrong and never right", []func(*scribe){resumed(21500, "c", "wrong", 1.5)}, Resuming{Count: 1, Lost: 1}, -1, "c"},
		{"twice, then right", []func(*scribe){resumed(21500, "a", "twice", 1.5), func(w *scribe) { w.done("b", 22000, true) }}, Resuming{Count: 1, Lost: 1, LagCount: 1}, 2000, "a"},
		{"prompted", []func(*scribe){func(w *scribe) {
			w.at(31000, logbook.Entry{Kind: logbook.Prompted, Item: "b"})
			w.done("b", 33000, true)
		}}, Resuming{Count: 1, Lost: 1, Prompted: 1}, -1, ""},
		{"not resumed", nil, Resuming{}, -1, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := sheetOf("abc")
			sheet.Abnormals["walker"] = walker(false)
			w := &scribe{}
			w.done("a", 5000, true)
			w.at(9000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
			w.at(10000, logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Class: logbook.Caption})
			w.at(20000, logbook.Entry{Kind: logbook.Handled, Item: "b"})
			for _, f := range c.write {
				f(w)
			}
			r := Judge(sheet, w.end(true))
			sameMS(t, "lag", r.Resuming.LagMS, c.lag)
			r.Resuming.LagMS = nil
			if r.Resuming != c.want || r.Injections[0].WentOnAt != c.went {
				t.Errorf("%+v, went on at %q; wanted %+v, %q", r.Resuming, r.Injections[0].WentOnAt, c.want, c.went)
			}
		})
	}
}

// The index of a sitting, worked by hand from its formula.
func TestIndexOfAWorkedSitting(t *testing.T) {
	sheet := sheetOf("abcd")
	sheet.Items[0].Kind, sheet.Items[1].Kind = procedure.Check, procedure.Check
	sheet.Abnormals["walker"] = walker(false)
	w := &scribe{}
	w.ask("a", 1000)
	w.at(2700, logbook.Entry{Kind: logbook.Answer, Item: "a", Text: logbook.Yes, Truth: logbook.Yes})
	w.done("a", 2700, true)
	w.ask("b", 3000) // slow: 2.5 s, and the par is 2
	w.at(5500, logbook.Entry{Kind: logbook.Answer, Item: "b", Text: logbook.Yes, Truth: logbook.No})
	w.done("b", 5500, false)
	w.ask("c", 7000)
	w.at(17000, logbook.Entry{Kind: logbook.TimedOut, Item: "c"})
	w.at(18000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
	w.at(19000, logbook.Entry{Kind: logbook.Onset, Class: logbook.Caption})
	w.at(20000, logbook.Entry{Kind: logbook.Action, Number: 1})
	w.at(22000, logbook.Entry{Kind: logbook.Lost, Item: "d"})
	w.at(24000, logbook.Entry{Kind: logbook.Resumed, Item: "d", Why: logbook.AtPlace, Length: 2 * time.Second})
	w.done("d", 24000, true)
	w.at(25000, logbook.Entry{Kind: logbook.Stray, Control: "gen1"})
	w.add(logbook.Entry{Kind: logbook.Peak, Name: "tot1", Class: logbook.Highest, Value: 900})
	w.add(logbook.Entry{Kind: logbook.Exceeded, Name: "tot1", Length: at(2500)})
	r := Judge(sheet, w.end(true))
	// items 2 of 4; handling: noticed, first move right, 1 of 2 in time and in order, not recovered: 3/5;
	// order 3 of 4 less the intrusion; reaction: a and the caption of a, b, c and the caption; limits: 2.5 s of 10;
	// looking: a of a, b, and the abnormal: 2 of 3; resuming 1 of 1.
	want := (25*0.5 + 30*0.6 + 15*0.5 + 10*0.5 + 10*0.75 + 5*2.0/3 + 5*1) / 100 * 100
	if r.Index.Value == nil {
		t.Fatal("no index")
	}
	near(t, "index", *r.Index.Value, want, 0.005)
	if len(r.Index.Parts) != 7 {
		t.Errorf("%+v", r.Index.Parts)
	}
	if stopped := Judge(sheet, w.log[:len(w.log)-1]); stopped.Index.Value != nil {
		t.Errorf("an incomplete sitting has index %v", *stopped.Index.Value)
	}
	if empty := Judge(sheetOf(""), nil); empty.Index.Value != nil || len(empty.Index.Parts) > 0 {
		t.Errorf("nothing was judged, and the index is %+v", empty.Index)
	}
	var kinds []string
	for _, n := range r.Next {
		kinds = append(kinds, string(n.Kind)+" "+n.Name)
	}
	if got, want := strings.Join(kinds, ", "), "abnormal walker, item c, item b, order d, looking "; got != want {
		t.Errorf("to rehearse: %q; wanted %q", got, want)
	}
}

// What got away comes before what was only late, each abnormal is named once, and there are five things at the most.
func TestNextIsOrderedAndBounded(t *testing.T) {
	r := &Result{Injections: []InjectionResult{
		{Abnormal: "late", Outcome: HandLate}, {Abnormal: "gone", Outcome: Lost}, {Abnormal: "gone", Outcome: Handled},
		{Abnormal: "horn", Outcome: Lost, SilencedOnly: true}, {Abnormal: "worse", Outcome: Handled, Worse: []string{"x"}},
		{Abnormal: "alike", Outcome: ActedOn, Harmless: true}, {Abnormal: "fine", Outcome: Handled},
	}}
	j := &judge{sheet: &Sheet{}, result: *r}
	j.next()
	var got []string
	for _, n := range j.result.Next {
		got = append(got, n.Name+": "+n.Why)
	}
	want := []string{
		"horn: horn silenced and nothing else done, 1 of 1 times", "gone: not recovered, 1 of 2 times", "worse: made worse, 1 of 1 times",
		"alike: acted on, though nothing was wrong, 1 of 1 times", "late: an action too late, 1 of 1 times",
	}
	if !slices.Equal(got, want) {
		t.Errorf("%q\nwanted %q", got, want)
	}
}
