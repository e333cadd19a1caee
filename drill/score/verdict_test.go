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

// A look that is answered in less than a second after its challenge was answered by rote (NTSB/AAR-89/04, page 61, as told by
// Degani and Wiener 1990, NASA CR-177549): it is not right and not within par, whatever was said. A hand needs no look.
func TestRote(t *testing.T) {
	for _, c := range []struct {
		kind procedure.Kind
		ms   int
		why  logbook.Reason
		want Outcome
		rote int
	}{
		{procedure.Check, 999, "", Rote, 1},
		{procedure.Check, 1000, "", Right, 0},
		{procedure.Confirm, 120, "", Rote, 1},
		{procedure.Read, 999, "", Rote, 1},
		{procedure.Check, -200, logbook.Over, Rote, 0}, // anticipated
		{procedure.Set, 120, "", Right, 0},
		{procedure.Figure, 999, "", Right, 0},
	} {
		sheet := sheetOf("a")
		sheet.Items[0].Kind = c.kind
		w := &scribe{}
		w.ask("a", 1000)
		w.at(1000+c.ms, logbook.Entry{Kind: logbook.Answer, Item: "a", Text: logbook.Yes, Truth: logbook.Yes, Why: c.why})
		w.add(logbook.Entry{Kind: logbook.Done, Item: "a", OK: true, Why: c.why})
		r := Judge(sheet, w.end(true))
		within := 1
		if c.want == Rote {
			within = 0
		}
		if it := r.Items[0]; it.Outcome != c.want || r.Reactions.Rote != c.rote || r.Reactions.Classes[0].WithinPar != within {
			t.Errorf("%s after %d ms: %s, %+v", c.kind, c.ms, it.Outcome, r.Reactions)
		}
	}
}

// Where items are asked, what is done before its turn is no reaction; one of a group whose turn it is may be.
func TestAhead(t *testing.T) {
	for _, c := range []struct {
		ids    string
		spoken bool
		ahead  bool
	}{{"ab", true, true}, {"(ab)", true, false}, {"ab", false, false}} {
		sheet := sheetOf(c.ids)
		sheet.Spoken = c.spoken
		w := &scribe{}
		w.ask("a", 1000)
		w.done("a", 1800, true)
		w.done("b", 2000, true)
		r := Judge(sheet, w.end(true))
		if r.Items[1].Ahead != c.ahead || r.Reactions.Ahead == 1 != c.ahead || r.Items[1].Outcome != Right || *r.Order.Figure != 100 {
			t.Errorf("%s: %+v, %+v", c.ids, r.Items[1], r.Reactions)
		}
		if c.ahead && r.Reactions.MedianMS != (800+2*5000)/2 {
			t.Errorf("median %v: what was done ahead counts as twice its 5 s", r.Reactions.MedianMS)
		}
	}
}

// What a sitting comes to depends on how it ended. One that what was done in it brought to its end counts what it did not reach;
// one that was rightly refused, with nothing done wrongly before, does not; one that was broken off has no index.
func TestEnds(t *testing.T) {
	inspect := logbook.Entry{Kind: logbook.Inspect, Name: "hot", Text: "TOT went beyond 950."}
	for _, c := range []struct {
		name      string
		write     func(*scribe)
		why       logbook.Reason
		completed bool
		passed    bool
		wanted    int
		rest      Outcome // of what was not reached
		index     bool
	}{
		{"complete", func(w *scribe) { w.done("b", 2000, true); w.done("c", 3000, true) }, logbook.Complete, true, true, 3, Right, true},
		{"left out", func(w *scribe) {}, logbook.Complete, true, false, 3, Omitted, true},
		{"refused", func(w *scribe) {
			w.at(2000, logbook.Entry{Kind: logbook.Answer, Item: "b", Text: logbook.No, Truth: logbook.No})
			w.done("b", 2000, true)
		}, logbook.Refused, true, true, 2, NotAsked, true},
		{"refused, after something that nothing called for", func(w *scribe) {
			w.at(1500, logbook.Entry{Kind: logbook.Stray, Key: "w", Control: "fire_test2"})
			w.at(2000, logbook.Entry{Kind: logbook.Answer, Item: "b", Text: logbook.No, Truth: logbook.No})
			w.done("b", 2000, true)
		}, logbook.Refused, false, false, 3, NotReached, true},
		{"inspection", func(w *scribe) { w.done("b", 2000, true); w.add(inspect) }, logbook.Inspection, false, false, 3, NotReached, true},
		{"inspection at the very end", func(w *scribe) { w.done("b", 2000, true); w.done("c", 3000, true); w.add(inspect) }, logbook.Complete, true, false, 3, Right, true},
		{"held and put right", func(w *scribe) {
			w.done("b", 2000, true)
			w.add(logbook.Entry{Kind: logbook.Held, Item: "a", Name: "c", OK: true})
			w.done("c", 3000, true)
		}, logbook.Complete, true, false, 3, Right, true},
		{"held and the end", func(w *scribe) {
			w.done("b", 2000, true)
			w.add(logbook.Entry{Kind: logbook.Held, Item: "a", Name: "c"})
		}, logbook.NotRight, false, false, 3, NotReached, true},
		{"stopped", func(w *scribe) { w.done("b", 2000, true) }, logbook.Outside, false, false, 2, NotReached, false},
		{"too long", func(w *scribe) { w.done("b", 2000, true) }, logbook.TooLong, false, false, 2, NotReached, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			none := 0
			sheet := sheetOf("abc")
			sheet.Items[1].Kind = procedure.Check
			sheet.Pass.Omitted = &none
			w := &scribe{}
			w.done("a", 1000, true)
			c.write(w)
			r := Judge(sheet, w.endAs(c.why))
			if r.Completed != c.completed || r.Passed != c.passed || r.EndedWhy != c.why {
				t.Errorf("completed %v, passed %v, %q", r.Completed, r.Passed, r.EndedWhy)
			}
			if r.Order.Wanted != c.wanted || r.Items[2].Outcome != c.rest || r.Index.Value != nil != c.index {
				t.Errorf("%d wanted, c is %s, index %v", r.Order.Wanted, r.Items[2].Outcome, r.Index.Value)
			}
			if c.index && c.rest == NotReached && *r.Index.Value >= 100 {
				t.Errorf("an index of %v, and not all was reached", *r.Index.Value)
			}
		})
	}
	w := &scribe{}
	w.add(inspect)
	w.add(logbook.Entry{Kind: logbook.Held, Item: "a", Name: "b", OK: true})
	w.done("b", 1000, true)
	r := Judge(sheetOf("ab"), w.end(true))
	if !slices.Equal(r.Inspections, []string{inspect.Text}) || !slices.Equal(r.Held, []string{"a"}) {
		t.Errorf("inspections %q, held %q", r.Inspections, r.Held)
	}
	if n := r.Next; len(n) < 2 || n[0].Kind != RehearseLimit || n[1].Kind != RehearseHold || n[1].Name != "a" {
		t.Errorf("to rehearse: %+v", n)
	}
	if !slices.Contains([]Outcome{Omitted}, r.Items[0].Outcome) {
		t.Errorf("what the crew put right is %s", r.Items[0].Outcome)
	}
}

// What the crew has put right was not done by the trainee.
func TestDoneByTheCrew(t *testing.T) {
	w := &scribe{}
	w.at(1000, logbook.Entry{Kind: logbook.Done, Seat: logbook.Instructor, Item: "a", OK: true})
	if r := Judge(sheetOf("a"), w.end(true)); r.Items[0].Outcome != Omitted {
		t.Errorf("%+v", r.Items[0])
	}
}

// A reading is told with what was typed, what it was, and by how much it may be wrong.
func TestReadings(t *testing.T) {
	for _, kind := range []procedure.Kind{procedure.Read, procedure.Figure} {
		sheet := sheetOf("ab")
		sheet.Items[0].Kind, sheet.Items[0].Tolerance = kind, 10
		w := &scribe{}
		w.ask("a", 1000)
		w.at(4000, logbook.Entry{Kind: logbook.Answer, Item: "a", Text: "700", Truth: "745", Value: 744.6})
		w.done("a", 4000, false)
		w.done("b", 5000, true)
		r := Judge(sheet, w.end(true))
		if it := r.Items[0]; it.Outcome != Wrong || it.Typed != "700" || it.True != "745" || it.Tolerance == nil || *it.Tolerance != 10 {
			t.Errorf("%+v", it)
		}
		if it := r.Items[1]; it.Typed != "" || it.True != "" || it.Tolerance != nil {
			t.Errorf("%+v", it)
		}
	}
}

// Every slip is one departure, and lowers the order once: steps of one overshoot are one, and a control that was moved at
// another time than its item, which then is left out, is that omission.
func TestOneSlipIsOneDeparture(t *testing.T) {
	stray := func(ms int, control string) func(*scribe) {
		return func(w *scribe) {
			w.at(ms, logbook.Entry{Kind: logbook.Stray, Seat: logbook.Trainee, Key: "q", Control: control})
		}
	}
	over := func(ms int, item string) func(*scribe) {
		return func(w *scribe) {
			w.at(ms, logbook.Entry{Kind: logbook.Overshoot, Item: item, Control: "lever"})
		}
	}
	done := func(ms int, item string) func(*scribe) { return func(w *scribe) { w.done(item, ms, true) } }
	for _, c := range []struct {
		name   string
		write  []func(*scribe)
		kinds  []Slip
		figure float64
	}{
		{"nothing", []func(*scribe){done(1000, "a"), done(2000, "b"), done(3000, "c"), done(4000, "d")}, nil, 100},
		{"a lever one too far", []func(*scribe){done(1000, "a"), over(1100, "a"), done(2000, "b"), done(3000, "c"), done(4000, "d")}, []Slip{Overshot}, 75},
		{"a lever three too far", []func(*scribe){done(1000, "a"), over(1100, "a"), over(1200, "a"), over(1300, "a"), done(2000, "b"), done(3000, "c"), done(4000, "d")}, []Slip{Overshot}, 75},
		{"a lever twice too far", []func(*scribe){done(1000, "a"), over(1100, "a"), done(2000, "b"), over(2100, "a"), done(3000, "c"), done(4000, "d")}, []Slip{Overshot, Overshot}, 50},
		{"a generator for nothing", []func(*scribe){done(1000, "a"), stray(1500, "gen1"), done(2000, "b"), done(3000, "c"), done(4000, "d")}, []Slip{Intrusion}, 75},
		{"the control of an item that is left out", []func(*scribe){done(1000, "a"), stray(1500, "c"), done(2000, "b"), done(4000, "d")}, []Slip{Omission}, 75},
		{"its steps", []func(*scribe){done(1000, "a"), stray(1500, "c"), stray(1600, "c"), done(2000, "b"), done(4000, "d")}, []Slip{Omission}, 75},
		{"and another", []func(*scribe){done(1000, "a"), stray(1500, "c"), stray(1600, "gen1"), done(2000, "b"), done(4000, "d")}, []Slip{Intrusion, Omission}, 50},
		{"the control of an item that is done", []func(*scribe){done(1000, "a"), stray(1500, "c"), done(2000, "b"), done(3000, "c"), done(4000, "d")}, []Slip{Intrusion}, 75},
		{"two swapped", []func(*scribe){done(1000, "b"), done(2000, "a"), done(3000, "c"), done(4000, "d")}, []Slip{Reversal}, 75},
		{"more slips than items", []func(*scribe){stray(100, "x"), stray(200, "y"), stray(300, "x"), stray(400, "y"), stray(500, "x"), done(1000, "a"), done(2000, "b"), done(3000, "c"), done(4000, "d")},
			[]Slip{Intrusion, Intrusion, Intrusion, Intrusion, Intrusion}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := sheetOf("abcd")
			for i := range sheet.Items {
				sheet.Items[i].Controls = []string{sheet.Items[i].ID}
			}
			w := &scribe{}
			for _, write := range c.write {
				write(w)
			}
			o := Judge(sheet, w.end(true)).Order
			var kinds []Slip
			for _, d := range o.Deviations {
				kinds = append(kinds, d.Kind)
			}
			if !slices.Equal(kinds, c.kinds) || *o.Figure != c.figure {
				t.Errorf("%v, %v %%; wanted %v, %v %%", kinds, *o.Figure, c.kinds, c.figure)
			}
		})
	}
}

// Of neighbours in a group any may come first, and in any order; after that the order counts.
func TestGroupsOfActions(t *testing.T) {
	for _, c := range []struct {
		order   []int
		outcome Outcome
		inOrder int
		first   string
	}{
		{[]int{1, 2, 3}, Handled, 3, ""},
		{[]int{2, 1, 3}, Handled, 3, ""},
		{[]int{3, 1, 2}, WrongFirst, 2, "third"},
		{[]int{1, 3, 2}, OutOfOrder, 2, ""},
	} {
		sheet := sheetOf("")
		sheet.Abnormals["fire"] = &scenario.Abnormal{Name: "fire", Actions: []scenario.Action{
			{Group: "g", Say: "first", Within: time.Minute}, {Group: "g", Say: "second", Within: time.Minute}, {Say: "third", Within: time.Minute},
		}}
		w := &scribe{}
		w.at(1000, logbook.Entry{Kind: logbook.Inject, Injection: "fire#1", Abnormal: "fire"})
		w.add(logbook.Entry{Kind: logbook.Onset, Injection: "fire#1", Class: logbook.Horn, Name: "bell"})
		for k, n := range c.order {
			w.at(2000+1000*k, logbook.Entry{Kind: logbook.Action, Injection: "fire#1", Number: n})
		}
		w.add(logbook.Entry{Kind: logbook.Handled, Injection: "fire#1"})
		in := Judge(sheet, w.end(true)).Injections[0]
		if in.Outcome != c.outcome || in.ActionsInOrder != c.inOrder || in.FirstMove != c.first {
			t.Errorf("%v: %s, %d in order, first %q", c.order, in.Outcome, in.ActionsInOrder, in.FirstMove)
		}
	}
}

// What was let go by is told with how long it was there; what a sentence does not say, the figures do.
func TestLetGo(t *testing.T) {
	sheet := sheetOf("abcd")
	sheet.Abnormals["walker"] = walker(false)
	w := &scribe{}
	w.done("a", 1000, true)
	w.at(2000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
	w.at(3000, logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Class: logbook.Gauge, Name: "nr"})
	w.done("b", 4000, true)
	w.at(5000, logbook.Entry{Kind: logbook.Done, Seat: logbook.Pilot, Item: "of the other pilot", OK: true})
	w.at(6000, logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee})
	w.done("c", 7000, true)
	w.at(9000, logbook.Entry{Kind: logbook.Figure, Injection: "walker#1", Name: "nr", Class: logbook.Highest, Value: 101})
	w.add(logbook.Entry{Kind: logbook.Figure, Injection: "walker#1", Name: "nr", Class: logbook.Lowest, Value: 89, Length: at(1200)})
	w.add(logbook.Entry{Kind: logbook.Figure, Injection: "walker#1", Name: "nr", Class: logbook.LastRead, Value: 96})
	w.add(logbook.Entry{Kind: logbook.Lost, Injection: "walker#1", Why: logbook.Timeout})
	w.done("d", 10000, true)
	in := Judge(sheet, w.end(true)).Injections[0]
	if !slices.Equal(in.LetGo, []string{"b", "of the other pilot"}) || !slices.Equal(in.Early, []string{"c"}) || in.Ended != "" {
		t.Errorf("let go %v, early %v, ended %q", in.LetGo, in.Early, in.Ended)
	}
	sameMS(t, "shown", in.ShownMS, 6000)
	if want := []Excursion{{"nr", 101, 89, 96, 1.2}}; !slices.Equal(in.Figures, want) {
		t.Errorf("%+v; wanted %+v", in.Figures, want)
	}
	if in.Outcome != Lost || in.NoticedBy != ByStop {
		t.Errorf("%s, noticed by %s", in.Outcome, in.NoticedBy)
	}
}

// Nothing is both handled and never noticed.
func TestHandledIsNoticed(t *testing.T) {
	for _, o := range []Outcome{Handled, HandLate, WrongFirst, OutOfOrder} {
		for seed := range 200 {
			sheet := sheetOf("")
			sheet.Abnormals["walker"] = walker(false)
			w := &scribe{}
			w.at(1000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
			w.add(logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Class: logbook.Caption})
			kinds := []logbook.Kind{logbook.StopCall, logbook.Told, logbook.Action, logbook.Action, logbook.Also, logbook.Stray}
			for k, kind := range kinds {
				if seed>>k&1 == 1 {
					w.at(1000+(k+seed/64)*1000, logbook.Entry{Kind: kind, Injection: "walker#1", Number: k - 1, Control: "gen1"})
				}
			}
			w.add(logbook.Entry{Kind: logbook.Handled, Injection: "walker#1"})
			if in := Judge(sheet, w.end(true)).Injections[0]; in.Outcome == o && in.DetectionMS == nil {
				t.Fatalf("%d: %+v", seed, in)
			}
		}
	}
}

// Time in red bands costs, second by second, but for what an abnormal that was handled brought with it.
func TestLimitsOfTheIndex(t *testing.T) {
	for _, c := range []struct {
		name    string
		handled bool
		red     []time.Duration // of tot and nr
		share   float64
	}{
		{"none", false, []time.Duration{0, 0}, 1},
		{"a second", false, []time.Duration{time.Second, 0}, 0.9},
		{"a second of each", false, []time.Duration{time.Second, time.Second}, 0.8},
		{"all the time", false, []time.Duration{time.Hour, 0}, 0},
		{"with an abnormal that was handled", true, []time.Duration{3 * time.Second, 0}, 1},
		{"and longer", true, []time.Duration{5 * time.Second, 0}, 0.8},
		{"and of another gauge", true, []time.Duration{3 * time.Second, time.Second}, 0.9},
	} {
		sheet := sheetOf("")
		sheet.Abnormals["walker"] = walker(false)
		w := &scribe{}
		w.at(1000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
		w.add(logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Class: logbook.Caption})
		w.at(2000, logbook.Entry{Kind: logbook.Action, Injection: "walker#1", Number: 1})
		w.add(logbook.Entry{Kind: logbook.Action, Injection: "walker#1", Number: 2})
		w.add(logbook.Entry{Kind: logbook.Figure, Injection: "walker#1", Name: "tot", Class: logbook.Highest, Value: 900, Length: 3 * time.Second})
		end := logbook.Lost
		if c.handled {
			end = logbook.Handled
		}
		w.add(logbook.Entry{Kind: end, Injection: "walker#1"})
		for i, gauge := range []string{"tot", "nr"} {
			w.add(logbook.Entry{Kind: logbook.Peak, Name: gauge, Class: logbook.Highest, Value: 900})
			w.add(logbook.Entry{Kind: logbook.Exceeded, Name: gauge, Length: c.red[i]})
		}
		found := false
		for _, p := range Judge(sheet, w.end(true)).Index.Parts {
			if p.Name == PartLimits {
				found = true
				near(t, c.name, p.Share, c.share, 1e-12)
			}
		}
		if !found {
			t.Errorf("%s: no such part", c.name)
		}
	}
}

// Quiet time is cut into whole stretches of half a minute; waiting for an answer is none of it, nor is what an injection showed.
// A stop call in a stretch is a false alarm of that one, two are no more than one, and one in what is left over counts by itself.
func TestQuietStretches(t *testing.T) {
	stop := func(ms int) func(*scribe) {
		return func(w *scribe) { w.at(ms, logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee, Item: "a"}) }
	}
	for _, c := range []struct {
		name              string
		write             []func(*scribe)
		end               int
		stretches, alarms int
		noise             int
	}{
		{"short", nil, 29999, 0, 0, 0},
		{"one", nil, 30000, 1, 0, 1},
		{"three", nil, 100000, 3, 0, 3},
		{"a stop call", []func(*scribe){stop(45000)}, 100000, 3, 1, 3},
		{"two in one", []func(*scribe){stop(45000), stop(50000)}, 100000, 3, 1, 3},
		{"two in two", []func(*scribe){stop(45000), stop(60000)}, 100000, 3, 2, 3},
		{"in what is left over", []func(*scribe){stop(95000)}, 100000, 3, 1, 4},
		{"waiting", []func(*scribe){func(w *scribe) { w.now = at(10000); w.ask("a", 12000); w.done("a", 60000, true) }}, 100000, 1, 0, 1},
		{"an abnormal", []func(*scribe){func(w *scribe) {
			w.at(20000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
			w.at(31000, logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Class: logbook.Gauge})
			w.at(60000, logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee})
			w.at(70500, logbook.Entry{Kind: logbook.Lost, Injection: "walker#1"})
		}}, 100000, 1, 0, 1},
		{"stopped over a check that is not so", []func(*scribe){stop(45000), func(w *scribe) {
			w.at(46000, logbook.Entry{Kind: logbook.Answer, Item: "a", Text: logbook.No, Truth: logbook.No})
		}}, 100000, 3, 0, 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := sheetOf("a")
			sheet.Items[0].Kind, sheet.Spoken = procedure.Check, true
			sheet.Abnormals["walker"] = walker(false)
			w := &scribe{}
			for _, write := range c.write {
				write(w)
			}
			w.at(c.end-1000, logbook.Entry{Kind: logbook.Phase})
			l := Judge(sheet, w.end(true)).Looking
			if l.QuietStretches != c.stretches || l.FalseAlarms != c.alarms || l.Noise != c.noise {
				t.Errorf("%+v; wanted %d stretches, %d of %d", l, c.stretches, c.alarms, c.noise)
			}
			sheet.Figures = true
			if l := Judge(sheet, w.log).Looking; l.QuietStretches != 0 || l.FalseAlarms != 0 {
				t.Errorf("of figures asked without an aircraft: %+v", l)
			}
		})
	}
}

// A sitting whose counts are those of a published example: 20 of 25 signals found and 10 of 25 of the noise taken for one
// (Stanislaw and Todorov 1999, Behavior Research Methods, Instruments & Computers 31(1):137-149; that these are the sample data
// of the paper is from memory), with the log-linear correction of Hautus (1995), same journal 27:46-51: d' 1.04450, c -0.27885.
// The signals are 20 checks that were not so, four of them let by, and five abnormals, one of them never noticed; the noise is
// 10 checks that were so, six of them refused, five look-alikes, two of them acted on, and ten quiet stretches, stop called in two.
func TestLookingOfAWorkedSitting(t *testing.T) {
	sheet := sheetOf("a")
	sheet.Items[0].Kind, sheet.Spoken = procedure.Check, true
	sheet.Abnormals["walker"], sheet.Abnormals["passer-by"] = walker(false), walker(true)
	w := &scribe{}
	look := func(n int, truth, said string) {
		for range n {
			w.add(logbook.Entry{Kind: logbook.Answer, Item: "a", Text: said, Truth: truth})
		}
	}
	look(16, logbook.No, logbook.No)
	look(4, logbook.No, logbook.Yes)
	look(4, logbook.Yes, logbook.Yes)
	look(6, logbook.Yes, logbook.No)
	put := func(n int, name string, stop bool) {
		for k := range n {
			id := fmt.Sprint(name, len(w.log), k)
			w.add(logbook.Entry{Kind: logbook.Inject, Injection: id, Abnormal: name, OK: name == "passer-by"})
			w.add(logbook.Entry{Kind: logbook.Onset, Injection: id, Class: logbook.Caption})
			w.now += time.Second
			if stop {
				w.add(logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee})
			}
			w.add(logbook.Entry{Kind: logbook.Lost, Injection: id, Why: logbook.Timeout})
		}
	}
	put(4, "walker", true)
	put(1, "walker", false)
	put(2, "passer-by", true)
	put(3, "passer-by", false)
	for k := range 10 {
		w.now += QuietStretch / 2
		if k < 2 {
			w.add(logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee})
		}
		w.now += QuietStretch / 2
	}
	l := Judge(sheet, w.end(true)).Looking
	if l.Signals != 25 || l.Hits != 20 || l.Noise != 25 || l.FalseAlarms != 10 || l.QuietStretches != 10 {
		t.Fatalf("%+v", l)
	}
	near(t, "d'", *l.Sensitivity, 1.04450, 1e-5)
	near(t, "c", *l.Criterion, -0.27885, 1e-5)
}

// The sheet has what the policy gives the trainee to do.
func TestNewSheet(t *testing.T) {
	proc := &procedure.Procedure{Phases: []procedure.Phase{{ID: "p", Items: []procedure.Item{
		{ID: "a", Set: aircraft.Put("y", "on", "x", "on"), Group: "g"}, {ID: "b", Check: "true", Group: "g"}, {ID: "c", Read: "tot", Group: "h"}, {ID: "d", Confirm: "true"},
	}}}}
	sc := &scenario.Scenario{}
	for _, p := range scenario.Policies() {
		sheet := NewSheet(proc, sc, []*scenario.Abnormal{walker(false)}, p, func(gauge string) float64 { return float64(len(gauge)) })
		want := 4
		if p.Name == scenario.Alerts || p.Name == scenario.Watch {
			want = 0
		}
		if len(sheet.Items) != want || sheet.Spoken != (p.Name != scenario.Recall && p.Name != scenario.Alerts) || sheet.Figures != (p.Name == scenario.Limits) || sheet.Abnormals["walker"] == nil {
			t.Errorf("%s: %+v", p.Name, sheet)
		}
		if want > 0 {
			ranks := []int{sheet.Items[0].Rank, sheet.Items[1].Rank, sheet.Items[2].Rank, sheet.Items[3].Rank}
			if !slices.Equal(ranks, []int{1, 1, 2, 3}) || sheet.Items[2].Tolerance != 3 || !slices.Equal(sheet.Items[0].Controls, []string{"x", "y"}) {
				t.Errorf("%s: %+v", p.Name, sheet.Items)
			}
		}
	}
}

// Of a sitting that was ended over an abnormal nothing says that all was well in it.
func TestLookingOfASittingEndedOverAFault(t *testing.T) {
	sheet := sheetOf("a")
	sheet.Abnormals["walker"] = walker(false)
	w := &scribe{}
	w.at(40000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
	w.at(41000, logbook.Entry{Kind: logbook.Cue, Cue: 1, Class: logbook.Horn, Name: "low_nr", Onset: at(41000)})
	w.add(logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Cue: 1, Class: logbook.Horn, Name: "low_nr"})
	w.at(43000, logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Trainee})
	l := Judge(sheet, w.end(false)).Looking
	if l.Noise == 0 || l.Signals != 0 {
		t.Fatalf("%+v", l)
	}
	if !strings.Contains(l.Words, "no fault was brought to its end") {
		t.Errorf("it says %q", l.Words)
	}
}
