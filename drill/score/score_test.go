package score

import (
	"encoding/json"
	"math"
	"math/bits"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// at is a time of a log in milliseconds.
func at(ms int) time.Duration { return time.Duration(ms) * time.Millisecond }

// sheetOf makes a sheet of items whose ids are single letters, each a control to be set within 5 s, in their order. Letters in
// brackets share a rank.
func sheetOf(ids string) *Sheet {
	s := &Sheet{Abnormals: map[string]*scenario.Abnormal{}}
	rank, open := 0, false
	for _, r := range ids {
		switch r {
		case '(':
			rank++
			open = true
			continue
		case ')':
			open = false
			continue
		}
		if !open {
			rank++
		}
		s.Items = append(s.Items, Item{ID: string(r), Phase: "p", Kind: procedure.Set, Limit: 5 * time.Second, Rank: rank})
	}
	return s
}

// scribe writes a log as a sitting would.
type scribe struct {
	log []logbook.Entry
	now time.Duration
	cue int
}

func (w *scribe) add(e logbook.Entry) {
	e.Seq, e.At = len(w.log)+1, w.now
	w.log = append(w.log, e)
}

// ask gives a challenge whose words end at a time.
func (w *scribe) ask(item string, end int) int {
	w.cue++
	w.add(logbook.Entry{Kind: logbook.Cue, Cue: w.cue, Class: logbook.Speech, Onset: w.now})
	w.add(logbook.Entry{Kind: logbook.Ask, Item: item, Cue: w.cue})
	w.add(logbook.Entry{Kind: logbook.Heard, Cue: w.cue, Onset: w.now, Until: at(end)})
	return w.cue
}

func (w *scribe) done(item string, ms int, ok bool) {
	w.now = at(ms)
	w.add(logbook.Entry{Kind: logbook.Done, Item: item, OK: ok})
}

func (w *scribe) at(ms int, e logbook.Entry) {
	w.now = at(ms)
	w.add(e)
}

func (w *scribe) end(complete bool) []logbook.Entry {
	why := logbook.Outside
	if complete {
		why = logbook.Complete
	}
	return w.endAs(why)
}

// endAs ends the log a second later.
func (w *scribe) endAs(why logbook.Reason) []logbook.Entry {
	w.now += time.Second
	w.add(logbook.Entry{Kind: logbook.End, Why: why, OK: why == logbook.Complete || why == logbook.Refused})
	return w.log
}

func TestOutcomes(t *testing.T) {
	yes, no := logbook.Entry{Kind: logbook.Answer, Item: "a", Text: logbook.No, Truth: logbook.Yes}, logbook.Entry{Kind: logbook.Answer, Item: "a", Text: logbook.Yes, Truth: logbook.No}
	for _, c := range []struct {
		name     string
		write    func(*scribe)
		complete bool
		outcome  Outcome
		marks    []Outcome
		reaction float64 // ms; negative for none
	}{
		{"right", func(w *scribe) { w.ask("a", 1000); w.done("a", 1800, true) }, true, Right, nil, 800},
		{"wrong", func(w *scribe) { w.ask("a", 1000); w.done("a", 1800, false) }, true, Wrong, []Outcome{Wrong}, 800},
		{"in the last moment", func(w *scribe) { w.ask("a", 1000); w.done("a", 6000, true) }, true, Right, nil, 5000},
		{"late", func(w *scribe) { w.ask("a", 1000); w.done("a", 6001, true) }, true, Late, []Outcome{Late}, 5001},
		{"asked twice", func(w *scribe) {
			w.ask("a", 1000)
			w.at(6000, logbook.Entry{Kind: logbook.AskAgain, Item: "a", Cue: 2, Why: logbook.Unanswered})
			w.done("a", 7000, true)
		}, true, Late, []Outcome{Late}, 6000},
		{"said again because it was wanted", func(w *scribe) {
			w.ask("a", 1000)
			w.at(2000, logbook.Entry{Kind: logbook.AskAgain, Item: "a", Cue: 2, Why: logbook.Wanted})
			w.done("a", 4000, true)
		}, true, Right, nil, 3000},
		{"given anew after a pause", func(w *scribe) {
			w.ask("a", 1000)
			w.at(4000, logbook.Entry{Kind: logbook.AskAgain, Item: "a", Cue: 2, Why: logbook.Anew})
			w.at(4000, logbook.Entry{Kind: logbook.Heard, Cue: 2, Onset: at(4000), Until: at(5000)})
			w.done("a", 5700, true)
		}, true, Right, nil, 700},
		{"cut short, and not given anew", func(w *scribe) {
			cue := w.ask("a", 1000)
			w.at(500, logbook.Entry{Kind: logbook.CueEnd, Cue: cue, Class: logbook.Speech})
			w.done("a", 3000, true)
		}, true, Right, nil, -1},
		{"answered while it was said", func(w *scribe) {
			cue := w.ask("a", 1000)
			w.done("a", 700, true)
			w.add(logbook.Entry{Kind: logbook.CueEnd, Cue: cue, Class: logbook.Speech})
		}, true, Right, nil, -1},
		{"heard later than was assumed", func(w *scribe) {
			cue := w.ask("a", 1000)
			w.done("a", 1800, true)
			w.add(logbook.Entry{Kind: logbook.Heard, Cue: cue, Onset: at(200), Until: at(1200)})
		}, true, Right, nil, 600},
		{"timed out", func(w *scribe) { w.ask("a", 1000); w.at(11000, logbook.Entry{Kind: logbook.TimedOut, Item: "a"}) }, true, Omitted, []Outcome{Omitted}, -1},
		{"timed out and done after all", func(w *scribe) {
			w.ask("a", 1000)
			w.at(11000, logbook.Entry{Kind: logbook.TimedOut, Item: "a"})
			w.done("a", 12000, true)
		}, true, Late, []Outcome{Late}, 11000},
		{"wrong first", func(w *scribe) { w.ask("a", 1000); w.at(1500, yes); w.done("a", 2000, true) }, true, Wrong, []Outcome{Wrong}, 1000},
		{"confirmed though not so", func(w *scribe) { w.ask("a", 1000); w.at(1500, no); w.done("a", 1500, false) }, true, Wrong, []Outcome{Wrong}, 500},
		{"done twice", func(w *scribe) {
			w.ask("a", 1000)
			w.done("a", 1800, true)
			w.at(3000, logbook.Entry{Kind: logbook.Again, Item: "a"})
		}, true, Repeated, []Outcome{Repeated}, 800},
		{"overshot and brought back", func(w *scribe) {
			w.ask("a", 1000)
			w.done("a", 1800, true)
			w.at(2000, logbook.Entry{Kind: logbook.Overshoot, Item: "a"})
			w.at(2200, logbook.Entry{Kind: logbook.Fixed, Item: "a", OK: true})
		}, true, Right, nil, 800},
		{"overshot and left there", func(w *scribe) {
			w.ask("a", 1000)
			w.done("a", 1800, true)
			w.at(2000, logbook.Entry{Kind: logbook.Overshoot, Item: "a"})
		}, true, Wrong, []Outcome{Wrong}, 800},
		{"passed by before it was done", func(w *scribe) {
			w.ask("a", 1000)
			w.at(1500, logbook.Entry{Kind: logbook.Overshoot, Item: "a"})
			w.done("a", 1800, true)
		}, true, Right, nil, 800},
		{"skipped", func(w *scribe) { w.add(logbook.Entry{Kind: logbook.Skip, Item: "a"}) }, true, NotAsked, nil, -1},
		{"undone and left", func(w *scribe) { w.done("a", 500, true); w.at(900, logbook.Entry{Kind: logbook.Undone, Item: "a"}) }, true, Omitted, nil, -1},
		{"reopened and done", func(w *scribe) {
			w.ask("a", 1000)
			w.done("a", 9000, true)
			w.at(9500, logbook.Entry{Kind: logbook.Reopen, Item: "a"})
			w.now = at(10000)
			w.ask("a", 11000)
			w.done("a", 11500, true)
		}, true, Right, nil, 500},
		{"stopped before it", func(w *scribe) {}, false, NotReached, nil, -1},
		{"stopped while it was asked", func(w *scribe) { w.ask("a", 1000) }, false, NotReached, nil, -1},
		{"never done", func(w *scribe) {}, true, Omitted, nil, -1},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := &scribe{}
			c.write(w)
			it := Judge(sheetOf("a"), w.end(c.complete)).Items[0]
			if it.Outcome != c.outcome || !slices.Equal(it.Marks, c.marks) {
				t.Errorf("%s %v; wanted %s %v", it.Outcome, it.Marks, c.outcome, c.marks)
			}
			switch {
			case c.reaction < 0 && it.ReactionMS != nil:
				t.Errorf("a reaction of %v ms; wanted none", *it.ReactionMS)
			case c.reaction >= 0 && (it.ReactionMS == nil || *it.ReactionMS != c.reaction):
				t.Errorf("reaction %v; wanted %v ms", it.ReactionMS, c.reaction)
			}
		})
	}
}

// Under 100 ms a press was under way before the challenge had ended: Basner and Dinges (2011), Sleep 34(5):581-591.
func TestAnticipation(t *testing.T) {
	for _, c := range []struct {
		us     time.Duration // after the end of the challenge
		false_ bool
	}{{-200000, true}, {0, true}, {99000, true}, {99999, true}, {100000, false}, {101000, false}} {
		w := &scribe{}
		w.ask("a", 1000)
		w.now = at(1000) + c.us*time.Microsecond
		w.add(logbook.Entry{Kind: logbook.Done, Item: "a", OK: true})
		r := Judge(sheetOf("a"), w.end(true))
		if got := r.Items[0].Anticipated; got != c.false_ || (r.Items[0].ReactionMS == nil) != c.false_ {
			t.Errorf("%d us: anticipated %v, reaction %v", c.us, got, r.Items[0].ReactionMS)
		}
		wantCount, wantAnticipated := 1, 0
		if c.false_ {
			wantCount, wantAnticipated = 0, 1
		}
		if r.Reactions.Count != wantCount || r.Reactions.Anticipated != wantAnticipated {
			t.Errorf("%d us: %+v", c.us, r.Reactions)
		}
		if r.Items[0].Outcome != Right {
			t.Errorf("%d us: %s; an early answer that is right is right", c.us, r.Items[0].Outcome)
		}
	}
}

// A set of ten reaction times: worked by hand from the definitions of Basner and Dinges (2011). One of them is a false
// start, which counts as twice its limit; the median is between the fifth and the sixth of 180 210 230 250 275 310 405 520 640.
func TestReactionsOfAWorkedSet(t *testing.T) {
	ids := "abcdefghij"
	w := &scribe{}
	for i, rt := range []int{210, 250, 95, 310, 520, 180, 640, 275, 230, 405} {
		w.now = at(10000 * i)
		w.ask(ids[i:i+1], 10000*i+1000)
		w.done(ids[i:i+1], 10000*i+1000+rt, true)
	}
	got := Judge(sheetOf(ids), w.end(true)).Reactions
	want := Reactions{Count: 9, Of: 10, MedianMS: 292.5, FastestMS: 180, SlowestMS: 640, Anticipated: 1}
	got.Classes = nil
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%+v; wanted %+v", got, want)
	}
}

func TestAssumedReactionsAreCounted(t *testing.T) {
	w := &scribe{}
	w.ask("a", 1000)
	w.log[len(w.log)-1].Why = logbook.Assumed
	w.done("a", 1500, true)
	w.now = at(2000)
	w.ask("b", 3000)
	w.done("b", 3500, true)
	if r := Judge(sheetOf("ab"), w.end(true)).Reactions; r.Count != 2 || r.AssumedCount != 1 {
		t.Errorf("%+v; wanted two, one of them assumed", r)
	}
}

// A callout is timed from the passing of its value. One made by watching the value come is right, and no reaction.
func TestCalloutReactions(t *testing.T) {
	for _, c := range []struct {
		off  int // ms
		want float64
	}{{400, 400}, {100, 100}, {99, -1}, {0, -1}, {-620, -1}} {
		sheet := sheetOf("a")
		sheet.Items[0].Kind = procedure.Callout
		w := &scribe{}
		w.ask("a", 1000)
		w.at(20000, logbook.Entry{Kind: logbook.Answer, Item: "a", Why: logbook.Passing, Onset: at(20000 - c.off)})
		w.done("a", 20000, true)
		it := Judge(sheet, w.end(true)).Items[0]
		if it.Outcome != Right || it.Anticipated {
			t.Errorf("%d: %s, anticipated %v", c.off, it.Outcome, it.Anticipated)
		}
		if (it.ReactionMS == nil) != (c.want < 0) || it.ReactionMS != nil && *it.ReactionMS != c.want {
			t.Errorf("%d: reaction %v; wanted %v", c.off, it.ReactionMS, c.want)
		}
	}
}

func TestMedian(t *testing.T) {
	for _, c := range []struct {
		times []float64
		want  float64
	}{{[]float64{7}, 7}, {[]float64{1, 3}, 2}, {[]float64{1, 3, 100}, 3}, {[]float64{1, 3, 5, 100}, 4}} {
		if got := median(c.times); got != c.want {
			t.Errorf("median of %v is %v; wanted %v", c.times, got, c.want)
		}
	}
}

// doneInOrder is the log of items done in an order, each asked in turn.
func doneInOrder(order string) []logbook.Entry {
	w := &scribe{}
	for i, r := range order {
		w.done(string(r), 1000*(i+1), true)
	}
	return w.end(true)
}

// Each kind of slip on a b c d e f is named as itself and nothing else. The kinds are those that can be seen in a
// sequence: Hollnagel (1993), Int. J. Man-Machine Studies 39(1):1-32; the fixtures are the ones commonly used for edit
// distances.
func TestOrderNamesEachSlip(t *testing.T) {
	dev := func(kind Slip, after, before string, items ...string) Deviation {
		return Deviation{Kind: kind, Items: items, After: after, Before: before}
	}
	for _, c := range []struct {
		name, ids, done string
		deviations      []Deviation
		omitted         []string
		misplaced       []string
	}{
		{"in order", "abcdef", "abcdef", nil, nil, nil},
		{"d omitted", "abcdef", "abcef", nil, []string{"d"}, nil},
		{"first omitted", "abcdef", "bcdef", nil, []string{"a"}, nil},
		{"last omitted", "abcdef", "abcde", nil, []string{"f"}, nil},
		{"c and d swapped", "abcdef", "abdcef", []Deviation{dev(Reversal, "b", "e", "d", "c")}, nil, []string{"d"}},
		{"a and b swapped", "abcdef", "bacdef", []Deviation{dev(Reversal, "", "c", "b", "a")}, nil, []string{"b"}},
		{"e and f swapped", "abcdef", "abcdfe", []Deviation{dev(Reversal, "d", "", "f", "e")}, nil, []string{"f"}},
		{"two swaps", "abcdef", "bacdfe", []Deviation{dev(Reversal, "", "c", "b", "a"), dev(Reversal, "d", "", "f", "e")}, nil, []string{"b", "f"}},
		{"last first", "abcdef", "fabcde", []Deviation{dev(JumpForward, "", "a", "f")}, nil, []string{"f"}},
		{"first last", "abcdef", "bcdefa", []Deviation{dev(JumpBack, "f", "", "a")}, nil, []string{"a"}},
		{"b after d", "abcdef", "acdbef", []Deviation{dev(JumpBack, "d", "e", "b")}, nil, []string{"b"}},
		{"e after b", "abcdef", "abecdf", []Deviation{dev(JumpForward, "b", "c", "e")}, nil, []string{"e"}},
		{"swapped in a group", "a(bcd)ef", "adbcef", nil, nil, nil},
		{"out of its group", "a(bcd)ef", "abcedf", []Deviation{dev(Reversal, "c", "f", "e", "d")}, nil, []string{"e"}},
		{"a group last", "(ab)cde", "cdeab", []Deviation{dev(JumpBack, "e", "b", "a"), dev(JumpBack, "a", "", "b")}, nil, []string{"a", "b"}},
		{"omitted in a group", "a(bcd)ef", "adbef", nil, []string{"c"}, nil},
		{"one omitted and two swapped", "abcdef", "acbef", []Deviation{dev(Reversal, "a", "e", "c", "b")}, []string{"d"}, []string{"c"}},
		{"nothing done", "abc", "", nil, []string{"a", "b", "c"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			log := doneInOrder(c.done)
			for i := range log { // what is left out has been asked and timed out
				log[i].Seq = i + 1
			}
			var late []logbook.Entry
			for _, id := range c.omitted {
				late = append(late, logbook.Entry{Kind: logbook.TimedOut, Item: id})
			}
			r := Judge(sheetOf(c.ids), append(late, log...))
			if r.Order.OutOfOrder != len(c.misplaced) || r.Order.InPlace != r.Order.Wanted-len(c.misplaced)-len(c.omitted) {
				t.Errorf("%d out of order, %d of %d in place", r.Order.OutOfOrder, r.Order.InPlace, r.Order.Wanted)
			}
			got := slices.DeleteFunc(r.Order.Deviations, func(d Deviation) bool { return d.Kind == Omission })
			if !slices.EqualFunc(got, c.deviations, sameDeviation) {
				t.Errorf("deviations %+v; wanted %+v", got, c.deviations)
			}
			if !slices.Equal(r.Order.Omitted, c.omitted) {
				t.Errorf("omitted %v; wanted %v", r.Order.Omitted, c.omitted)
			}
			for _, it := range r.Items {
				want := Right
				switch {
				case slices.Contains(c.omitted, it.ID):
					want = Omitted
				case slices.Contains(c.misplaced, it.ID):
					want = OutOfOrder
				}
				if it.Outcome != want {
					t.Errorf("%s is %s; wanted %s", it.ID, it.Outcome, want)
				}
			}
		})
	}
}

func sameDeviation(a, b Deviation) bool {
	return a.Kind == b.Kind && slices.Equal(a.Items, b.Items) && a.After == b.After && a.Before == b.Before
}

// A full reversal of six keeps one of them: five are out of place, the fewest that explain it.
func TestFullReversal(t *testing.T) {
	r := Judge(sheetOf("abcdef"), doneInOrder("fedcba"))
	if n := len(r.Order.Deviations); n != 5 {
		t.Errorf("%d deviations; wanted 5: %+v", n, r.Order.Deviations)
	}
}

// longestByTrying is the length of the longest subsequence that never falls, by trying every one.
func longestByTrying(ranks []int) int {
	best := 0
	for set := range 1 << len(ranks) {
		last, ok := math.MinInt, true
		for k, rank := range ranks {
			if set>>k&1 == 1 {
				ok = ok && rank >= last
				last = rank
			}
		}
		if ok {
			best = max(best, bits.OnesCount(uint(set)))
		}
	}
	return best
}

func TestLongestRise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ranks := rapid.SliceOfN(rapid.IntRange(0, 8), 0, 12).Draw(t, "ranks")
		kept := longestRise(ranks)
		last, n := math.MinInt, 0
		for k, rank := range ranks {
			if !kept[k] {
				continue
			}
			if rank < last {
				t.Fatalf("%v: what was kept falls at %d", ranks, k)
			}
			last = rank
			n++
		}
		if want := longestByTrying(ranks); n != want {
			t.Fatalf("%v: kept %d; %d can be kept", ranks, n, want)
		}
	})
}

// Swapping two neighbours, or moving one item, of any procedure is named as that.
func TestOneSlipIsOneDeviation(t *testing.T) {
	const ids = "abcdefghijkl"
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, len(ids)).Draw(t, "items")
		from, to := rapid.IntRange(0, n-1).Draw(t, "from"), rapid.IntRange(0, n-1).Draw(t, "to")
		moved := []rune(ids[:n])
		r := moved[from]
		moved = slices.Insert(slices.Delete(moved, from, from+1), to, r)
		d := Judge(sheetOf(ids[:n]), doneInOrder(string(moved))).Order.Deviations
		switch {
		case from == to:
			if len(d) != 0 {
				t.Fatalf("%s: %+v", string(moved), d)
			}
		case from-to == 1 || to-from == 1:
			if len(d) != 1 || d[0].Kind != Reversal {
				t.Fatalf("%s: %+v; wanted one reversal", string(moved), d)
			}
		default:
			want := JumpForward
			if from < to {
				want = JumpBack
			}
			if len(d) != 1 || d[0].Kind != want || d[0].Items[0] != string(r) {
				t.Fatalf("%s: %+v; wanted %s of %c", string(moved), d, want, r)
			}
		}
	})
}

func TestCriteria(t *testing.T) {
	share := func(v float64) *float64 { return &v }
	most := func(v int) *int { return &v }
	within := func(v time.Duration) *time.Duration { return &v }
	for _, c := range []struct {
		name string
		pass scenario.Criteria
		met  bool
	}{
		{"none", scenario.Criteria{}, true},
		{"half right, and half is enough", scenario.Criteria{Right: share(0.5)}, true},
		{"half right, and more is wanted", scenario.Criteria{Right: share(0.51)}, false},
		{"one omitted, and one may be", scenario.Criteria{Omitted: most(1)}, true},
		{"one omitted, and none may be", scenario.Criteria{Omitted: most(0)}, false},
		{"none out of order", scenario.Criteria{OutOfOrder: most(0)}, true},
		{"one false, and none may be", scenario.Criteria{FalseConfirms: most(0)}, false},
		{"one false, and one may be", scenario.Criteria{FalseConfirms: most(1)}, true},
		{"median of 800 ms", scenario.Criteria{Reaction: within(800 * time.Millisecond)}, true},
		{"median over 799 ms", scenario.Criteria{Reaction: within(799 * time.Millisecond)}, false},
		{"3 s in the red, and 3 s may be", scenario.Criteria{RedBand: within(3 * time.Second)}, true},
		{"3 s in the red, and 2 s may be", scenario.Criteria{RedBand: within(2 * time.Second)}, false},
		{"nothing was injected, so nothing is judged", scenario.Criteria{Handled: share(1), Detection: within(time.Second), LookAlikes: most(0)}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := sheetOf("abcd?")
			sheet.Pass = c.pass
			w := &scribe{}
			w.ask("a", 1000)
			w.done("a", 1700, true)
			w.now = at(2000)
			w.ask("b", 3000)
			w.done("b", 3900, true)
			w.at(5000, logbook.Entry{Kind: logbook.Answer, Item: "c", Text: logbook.Yes, Truth: logbook.No})
			w.done("c", 5000, false)
			w.at(9000, logbook.Entry{Kind: logbook.TimedOut, Item: "d"})
			w.add(logbook.Entry{Kind: logbook.Skip, Item: "?"})
			w.add(logbook.Entry{Kind: logbook.Peak, Name: "tot1", Value: 900, Class: logbook.Highest})
			w.add(logbook.Entry{Kind: logbook.Peak, Name: "tot1", Value: 12, Class: logbook.Lowest})
			w.add(logbook.Entry{Kind: logbook.Exceeded, Name: "tot1", Length: 3 * time.Second})
			r := Judge(sheet, w.end(true))
			if r.Passed != c.met {
				t.Errorf("passed %v; wanted %v: %+v", r.Passed, c.met, r.Criteria)
			}
			if Judge(sheet, w.log[:len(w.log)-1]).Passed {
				t.Error("passed without having ended")
			}
		})
	}
}

// walker is an abnormal with two actions, and one that makes it worse.
func walker(harmless bool) *scenario.Abnormal {
	return &scenario.Abnormal{
		Name: "walker", Title: "Somebody walks", Harmless: harmless, Cues: []string{"low_nr"},
		Actions: []scenario.Action{{Say: "first", Within: 2 * time.Second}, {Say: "second", Within: 4 * time.Second}},
	}
}

func TestInjections(t *testing.T) {
	act := func(ms, n int, how logbook.Reason) func(*scribe) {
		return func(w *scribe) {
			w.at(ms, logbook.Entry{Kind: logbook.Action, Injection: "walker#1", Number: n, Why: how})
		}
	}
	entry := func(ms int, e logbook.Entry) func(*scribe) { return func(w *scribe) { w.at(ms, e) } }
	handled := func(ms int) func(*scribe) {
		return entry(ms, logbook.Entry{Kind: logbook.Handled, Injection: "walker#1"})
	}
	lost := func(ms int, why logbook.Reason) func(*scribe) {
		return entry(ms, logbook.Entry{Kind: logbook.Lost, Injection: "walker#1", Why: why})
	}
	stop := func(ms int) func(*scribe) { return entry(ms, logbook.Entry{Kind: logbook.StopCall}) }
	told := func(ms int) func(*scribe) { return entry(ms, logbook.Entry{Kind: logbook.Told, Injection: "walker#1"}) }
	stray := entry(11000, logbook.Entry{Kind: logbook.Stray, Key: "q", Control: "fire_test1"})
	for _, c := range []struct {
		name      string
		harmless  bool
		unseen    bool
		write     []func(*scribe)
		outcome   Outcome
		detection float64 // ms; negative for none
		handling  float64
		resumed   Resumption
	}{
		{"in time", false, false, []func(*scribe){act(11000, 1, ""), act(12500, 2, ""), handled(12520)}, Handled, 1000, 2520, ""},
		{"in the last moment", false, false, []func(*scribe){act(12000, 1, ""), act(14000, 2, ""), handled(14020)}, Handled, 2000, 4020, ""},
		{"late", false, false, []func(*scribe){act(12001, 1, ""), act(12500, 2, ""), handled(12520)}, HandLate, 2001, 2520, ""},
		{"in the wrong order", false, false, []func(*scribe){act(11000, 2, ""), act(11500, 1, ""), handled(11520)}, WrongFirst, 1000, 1520, ""},
		{"one stood so already", false, false, []func(*scribe){act(10000, 1, logbook.Already), act(13000, 2, ""), handled(13020)}, Handled, 3000, 3020, ""},
		{"everything stood so already", false, false, []func(*scribe){act(10000, 1, logbook.Already), act(10000, 2, logbook.Already), handled(10000)}, Stood, -1, -1, ""},
		{"nothing done", false, false, []func(*scribe){lost(30000, logbook.Timeout)}, NotNoticed, -1, -1, ""},
		{"one done and lost", false, false, []func(*scribe){act(11000, 1, ""), lost(30000, logbook.Timeout)}, Lost, 1000, -1, ""},
		{"silenced first", false, false, []func(*scribe){entry(10600, logbook.Entry{Kind: logbook.Silence, Name: "low_nr", OK: true}), act(11000, 1, ""), act(11100, 2, ""), handled(11120)}, Handled, 600, 1120, ""},
		{"silenced nothing", false, false, []func(*scribe){entry(10600, logbook.Entry{Kind: logbook.Silence}), lost(30000, logbook.Timeout)}, NotNoticed, -1, -1, ""},
		{"silenced what sounds in any aircraft", false, false, []func(*scribe){entry(10600, logbook.Entry{Kind: logbook.Silence, Name: "low_nr"}), lost(30000, logbook.Timeout)}, NotNoticed, -1, -1, ""},
		{"a check refused for another reason", false, false, []func(*scribe){entry(10800, logbook.Entry{Kind: logbook.Answer, Item: "a", Text: logbook.No, Truth: logbook.No}), lost(30000, logbook.Timeout)}, NotNoticed, -1, -1, ""},
		{"made worse", false, false, []func(*scribe){entry(10700, logbook.Entry{Kind: logbook.Worse, Injection: "walker#1", Text: "bad"}), act(11000, 1, ""), act(11100, 2, ""), handled(11120)}, MadeWorse, 700, 1120, ""},
		{"unseen", false, true, []func(*scribe){lost(130000, logbook.Unseen)}, Unseen, -1, -1, ""},
		{"the sitting ended first", false, false, []func(*scribe){act(11000, 1, "")}, Unended, 1000, -1, ""},
		{"left alone", true, false, []func(*scribe){handled(20000)}, LeftAlone, -1, -1, ""},
		{"acted on", true, false, []func(*scribe){stray, handled(20000)}, ActedOn, -1, -1, ""},
		{"a key without a control is no act", true, false, []func(*scribe){entry(11000, logbook.Entry{Kind: logbook.Stray, Key: "."}), handled(20000)}, LeftAlone, -1, -1, ""},
		{"a horn of the flow's own silenced is no act", true, false, []func(*scribe){entry(11000, logbook.Entry{Kind: logbook.Silence, Name: "low_nr"}), handled(20000)}, LeftAlone, -1, -1, ""},
		{"acted on once it was over", true, false, []func(*scribe){handled(10500), stray}, LeftAlone, -1, -1, ""},
		{"resumed right", false, false, []func(*scribe){act(11000, 1, ""), act(11500, 2, ""), handled(11520), entry(13000, logbook.Entry{Kind: logbook.Resumed, Item: "a", Why: logbook.AtPlace, Length: at(1500)})}, Handled, 1000, 1520, "right"},
		{"resumed wrong", false, false, []func(*scribe){lost(20000, ""), entry(23000, logbook.Entry{Kind: logbook.Resumed, Item: "a", Why: logbook.Elsewhere, Length: at(1500)})}, NotNoticed, -1, -1, "wrong"},
		{"prompted, then resumed", false, false, []func(*scribe){lost(20000, ""), entry(33000, logbook.Entry{Kind: logbook.Prompted, Item: "a"}), entry(34000, logbook.Entry{Kind: logbook.Resumed, Item: "a", Why: logbook.AtPlace, Length: at(1000)})}, NotNoticed, -1, -1, "prompted"},
		{"another thing first", false, false, []func(*scribe){stray, act(11500, 1, ""), act(11600, 2, ""), handled(11620)}, WrongFirst, 1500, 1620, ""},
		{"another thing first, and late", false, false, []func(*scribe){stray, act(12500, 1, ""), act(12600, 2, ""), handled(12620)}, HandLate, 2500, 2620, ""},
		{"right as well, first", false, false, []func(*scribe){entry(10900, logbook.Entry{Kind: logbook.Also, Injection: "walker#1", Control: "pedals"}), act(11500, 1, ""), act(11600, 2, ""), handled(11620)}, Handled, 900, 1620, ""},
		{"stop called first", false, false, []func(*scribe){stop(10700), act(11500, 1, ""), act(11600, 2, ""), handled(11620)}, Handled, 700, 1620, ""},
		{"stop called and nothing done", false, false, []func(*scribe){stop(10700), lost(30000, logbook.Timeout)}, Lost, 700, -1, ""},
		{"a check rightly refused", false, false, []func(*scribe){entry(10800, logbook.Entry{Kind: logbook.Answer, Item: "a", Text: logbook.No, Truth: logbook.No, OK: true}), act(11500, 1, ""), act(11600, 2, ""), handled(11620)}, Handled, 800, 1620, ""},
		{"a check wrongly refused", false, false, []func(*scribe){entry(10800, logbook.Entry{Kind: logbook.Answer, Item: "a", Text: logbook.No, Truth: logbook.Yes}), lost(30000, logbook.Timeout)}, NotNoticed, -1, -1, ""},
		{"a press that had begun before", false, false, []func(*scribe){entry(11500, logbook.Entry{Kind: logbook.Press, Began: at(11100)}), act(11500, 1, ""), act(11600, 2, ""), handled(11620)}, Handled, 1100, 1620, ""},
		{"moved by the crew", false, false, []func(*scribe){entry(11500, logbook.Entry{Kind: logbook.Moved, Seat: logbook.Instructor, Control: "lever"}), lost(30000, logbook.Timeout)}, NotNoticed, -1, -1, ""},
		{"silenced by the other pilot", false, false, []func(*scribe){entry(10600, logbook.Entry{Kind: logbook.Silence, Seat: logbook.Pilot, Name: "low_nr", OK: true}), lost(30000, logbook.Timeout)}, NotNoticed, -1, -1, ""},
		{"told, then handled", false, false, []func(*scribe){told(10500), act(11500, 1, ""), act(11600, 2, ""), handled(11620)}, ToldFirst, -1, 1620, ""},
		{"told, then made worse", false, false, []func(*scribe){told(10500), entry(10700, logbook.Entry{Kind: logbook.Worse, Injection: "walker#1", Text: "bad"}), act(11500, 1, ""), act(11600, 2, ""), handled(11620)}, MadeWorse, -1, 1620, ""},
		{"told, and nothing done", false, false, []func(*scribe){told(10500), lost(30000, logbook.Timeout)}, Lost, -1, -1, ""},
		{"noticed before it was told", false, false, []func(*scribe){stop(10400), told(10500), act(11500, 1, ""), act(11600, 2, ""), handled(11620)}, Handled, 400, 1620, ""},
		{"over by itself", false, false, []func(*scribe){act(10000, 1, logbook.Already), handled(20000)}, NotNoticed, -1, -1, ""},
		{"taken out again", false, false, []func(*scribe){act(11000, 1, ""), entry(12000, logbook.Entry{Kind: logbook.Cleared, Injection: "walker#1"})}, Cleared, 1000, -1, ""},
		{"gone through over it", false, false, []func(*scribe){entry(25000, logbook.Entry{Kind: logbook.Done, Item: "a", OK: true})}, NotNoticed, -1, -1, ""},
		{"the sitting ended as it began", false, false, nil, Unended, -1, -1, ""},
		{"stop called over a look-alike", true, false, []func(*scribe){stop(10700), handled(20000)}, ActedOn, 700, -1, ""},
		{"a look-alike that is taken out", true, false, []func(*scribe){entry(20000, logbook.Entry{Kind: logbook.Cleared, Injection: "walker#1"})}, LeftAlone, -1, -1, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := sheetOf("a")
			sheet.Abnormals["walker"] = walker(c.harmless)
			w := &scribe{cue: 1}
			w.at(9000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker", OK: c.harmless})
			if !c.unseen {
				w.at(10000, logbook.Entry{Kind: logbook.Cue, Cue: 1, Class: logbook.Sight, Name: "walker", Onset: at(10000)})
				w.at(10000, logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Cue: 1, Class: logbook.Sight, Name: "walker"})
			}
			for _, f := range c.write {
				f(w)
			}
			r := Judge(sheet, w.end(true))
			if len(r.Injections) != 1 {
				t.Fatalf("%d injections", len(r.Injections))
			}
			in := r.Injections[0]
			if in.Outcome != c.outcome || in.Resumed != c.resumed {
				t.Errorf("%s, resumed %q; wanted %s, %q", in.Outcome, in.Resumed, c.outcome, c.resumed)
			}
			sameMS(t, "detection", in.DetectionMS, c.detection)
			sameMS(t, "handling", in.HandlingMS, c.handling)
		})
	}
}

func sameMS(t *testing.T, what string, got *float64, want float64) {
	t.Helper()
	switch {
	case want < 0 && got != nil:
		t.Errorf("%s after %v ms; wanted none", what, *got)
	case want >= 0 && got == nil:
		t.Errorf("no %s; wanted %v ms", what, want)
	case want >= 0 && *got != want:
		t.Errorf("%s after %v ms; wanted %v", what, *got, want)
	}
}

// A horn is noticed from when it was really heard. Another sound of the same moment, reported later, says nothing of it.
func TestDetectionFromWhatWasHeard(t *testing.T) {
	sheet := sheetOf("")
	sheet.Abnormals["walker"] = walker(false)
	w := &scribe{}
	w.at(9000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
	w.at(10000, logbook.Entry{Kind: logbook.Cue, Cue: 1, Class: logbook.Horn, Name: "low_nr", Onset: at(10060)})
	w.add(logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Cue: 1, Class: logbook.Horn, Name: "low_nr"})
	w.add(logbook.Entry{Kind: logbook.Cue, Cue: 2, Class: logbook.Horn, Name: "low_nr", Onset: at(10060)})
	w.at(10085, logbook.Entry{Kind: logbook.Heard, Cue: 1, Onset: at(10085)})
	w.at(10700, logbook.Entry{Kind: logbook.Heard, Cue: 2, Onset: at(10700)})
	w.at(11085, logbook.Entry{Kind: logbook.Action, Injection: "walker#1", Number: 1})
	sameMS(t, "detection", Judge(sheet, w.end(true)).Injections[0].DetectionMS, 1000)
}

func TestInjectionCriteria(t *testing.T) {
	handledAll, eight := 1.0, 8*time.Second
	none := 0
	for _, c := range []struct {
		name   string
		write  func(*scribe)
		passed bool
	}{
		{"handled", func(w *scribe) {
			w.at(2000, logbook.Entry{Kind: logbook.Action, Number: 1})
			w.at(2500, logbook.Entry{Kind: logbook.Action, Number: 2})
			w.at(3000, logbook.Entry{Kind: logbook.Handled})
		}, true},
		{"handled late", func(w *scribe) {
			w.at(2000, logbook.Entry{Kind: logbook.Action, Number: 1})
			w.at(5001, logbook.Entry{Kind: logbook.Action, Number: 2})
			w.at(5500, logbook.Entry{Kind: logbook.Handled})
		}, false},
		{"made worse", func(w *scribe) {
			w.at(2000, logbook.Entry{Kind: logbook.Action, Number: 1})
			w.at(2200, logbook.Entry{Kind: logbook.Worse, Text: "bad"})
			w.at(2500, logbook.Entry{Kind: logbook.Action, Number: 2})
			w.at(3000, logbook.Entry{Kind: logbook.Handled})
		}, false},
		{"another thing first", func(w *scribe) {
			w.at(1500, logbook.Entry{Kind: logbook.Stray, Control: "gen1"})
			w.at(2000, logbook.Entry{Kind: logbook.Action, Number: 1})
			w.at(2500, logbook.Entry{Kind: logbook.Action, Number: 2})
			w.at(3000, logbook.Entry{Kind: logbook.Handled})
		}, false},
		{"told", func(w *scribe) {
			w.at(1500, logbook.Entry{Kind: logbook.Told})
			w.at(2000, logbook.Entry{Kind: logbook.Action, Number: 1})
			w.at(2500, logbook.Entry{Kind: logbook.Action, Number: 2})
			w.at(3000, logbook.Entry{Kind: logbook.Handled})
		}, false},
		{"noticed too late", func(w *scribe) {
			w.at(9001, logbook.Entry{Kind: logbook.Action, Number: 1})
			w.at(9100, logbook.Entry{Kind: logbook.Action, Number: 2})
			w.at(9500, logbook.Entry{Kind: logbook.Handled})
		}, false},
		{"never noticed", func(w *scribe) { w.at(9500, logbook.Entry{Kind: logbook.Lost}) }, false},
		{"nothing to notice", func(w *scribe) {
			w.at(1000, logbook.Entry{Kind: logbook.Action, Number: 1, Why: logbook.Already})
			w.at(1000, logbook.Entry{Kind: logbook.Action, Number: 2, Why: logbook.Already})
			w.at(1000, logbook.Entry{Kind: logbook.Handled})
		}, true},
		{"unseen", func(w *scribe) { w.at(9500, logbook.Entry{Kind: logbook.Lost, Why: logbook.Unseen}) }, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := sheetOf("")
			sheet.Abnormals["walker"] = walker(false)
			sheet.Pass = scenario.Criteria{Handled: &handledAll, Detection: &eight, LookAlikes: &none}
			w := &scribe{}
			w.at(1000, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
			w.add(logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Class: logbook.Caption, Name: "light"})
			c.write(w)
			if r := Judge(sheet, w.end(true)); r.Passed != c.passed {
				t.Errorf("passed %v; wanted %v: %+v", r.Passed, c.passed, r.Criteria)
			}
		})
	}
}

// An interrupted item that is resumed unprompted has no reaction, and is not late: nobody asked for it then.
func TestInterruptedItemHasNoReaction(t *testing.T) {
	sheet := sheetOf("a")
	sheet.Abnormals["walker"] = walker(false)
	w := &scribe{}
	w.ask("a", 1000)
	w.at(1500, logbook.Entry{Kind: logbook.Inject, Injection: "walker#1", Abnormal: "walker"})
	w.add(logbook.Entry{Kind: logbook.Onset, Injection: "walker#1", Class: logbook.Caption, Name: "light"})
	w.at(9000, logbook.Entry{Kind: logbook.Handled})
	w.at(10000, logbook.Entry{Kind: logbook.Resumed, Item: "a", Why: logbook.AtPlace, Length: at(1000)})
	w.done("a", 10000, true)
	it := Judge(sheet, w.end(true)).Items[0]
	if it.Outcome != Right || it.ReactionMS != nil || it.Anticipated {
		t.Errorf("%+v", it)
	}
}

// Whatever a log says, of items and injections that nobody knows or in any order, judging it does not panic, and the
// result can be written as JSON.
func TestAnyLogCanBeJudged(t *testing.T) {
	kinds := []logbook.Kind{logbook.Begin, logbook.Ask, logbook.AskAgain, logbook.Answer, logbook.Done, logbook.Undone, logbook.Overshoot, logbook.Stray,
		logbook.Again, logbook.TimedOut, logbook.Fixed, logbook.Skip, logbook.Reopen, logbook.Cue, logbook.Heard, logbook.CueEnd, logbook.Silence,
		logbook.Inject, logbook.Onset, logbook.Action, logbook.Worse, logbook.Handled, logbook.Lost, logbook.Cleared, logbook.Told, logbook.Also, logbook.Ending, logbook.Figure, logbook.Moved,
		logbook.StopCall, logbook.GoOn, logbook.Held, logbook.Inspect, logbook.Press, logbook.Resumed, logbook.Prompted,
		logbook.Paused, logbook.Unpaused, logbook.Peak, logbook.Exceeded, logbook.End, logbook.SoundBad, logbook.SoundGood, "unheard-of"}
	reasons := []logbook.Reason{"", logbook.Wanted, logbook.Anew, logbook.Unanswered, logbook.Passing, logbook.Over, logbook.Already, logbook.Assumed, logbook.Unseen,
		logbook.Timeout, logbook.Inspection, logbook.AtPlace, logbook.Elsewhere, logbook.Twice, logbook.Complete, logbook.Refused, logbook.NotRight, logbook.Outside}
	classes := []logbook.Class{"", logbook.Speech, logbook.Call, logbook.Horn, logbook.Caption, logbook.Gauge, logbook.Missing, logbook.Highest, logbook.LastRead}
	seats := []logbook.Seat{"", logbook.Trainee, logbook.Partner, logbook.Pilot, logbook.Instructor}
	entries := rapid.Custom(func(t *rapid.T) logbook.Entry {
		return logbook.Entry{
			Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), At: time.Duration(rapid.Int64Range(0, int64(time.Hour)).Draw(t, "at")),
			Item: rapid.SampledFrom([]string{"a", "b", "c", "nowhere", ""}).Draw(t, "item"),
			Name: rapid.SampledFrom([]string{"", "walker", "low_nr", "tot1"}).Draw(t, "name"), Abnormal: rapid.SampledFrom([]string{"", "walker"}).Draw(t, "abnormal"),
			Injection: rapid.SampledFrom([]string{"", "walker#1", "walker#2"}).Draw(t, "injection"), Control: rapid.SampledFrom([]string{"", "gen1"}).Draw(t, "control"),
			Why: rapid.SampledFrom(reasons).Draw(t, "why"), Class: rapid.SampledFrom(classes).Draw(t, "class"), Seat: rapid.SampledFrom(seats).Draw(t, "seat"),
			Text: rapid.SampledFrom([]string{"", logbook.Yes, logbook.No, "745"}).Draw(t, "text"), Truth: rapid.SampledFrom([]string{"", logbook.Yes, logbook.No, "745"}).Draw(t, "truth"),
			Number: rapid.IntRange(-1, 4).Draw(t, "number"), Length: time.Duration(rapid.Int64Range(0, int64(time.Minute)).Draw(t, "length")),
			Cue: rapid.IntRange(-1, 5).Draw(t, "cue"), Value: rapid.Float64Range(-10, 10).Draw(t, "value"), OK: rapid.Bool().Draw(t, "ok"),
			Onset: time.Duration(rapid.Int64Range(0, int64(time.Hour)).Draw(t, "onset")), Until: time.Duration(rapid.Int64Range(0, int64(time.Hour)).Draw(t, "until")),
		}
	})
	one, none := 1.0, 0
	rapid.Check(t, func(t *rapid.T) {
		sheet := sheetOf(rapid.SampledFrom([]string{"", "a", "abc", "a(bc)"}).Draw(t, "items"))
		sheet.Abnormals["walker"] = walker(false)
		sheet.Pass = scenario.Criteria{Right: &one, Omitted: &none, Handled: &one}
		log := rapid.SliceOfN(entries, 0, 60).Draw(t, "log")
		r := Judge(sheet, log)
		if _, err := json.Marshal(r); err != nil {
			t.Fatal(err)
		}
		if len(r.Items) != len(sheet.Items) || r.LogEvents != len(log) {
			t.Fatalf("%d items of %d, %d entries of %d", len(r.Items), len(sheet.Items), r.LogEvents, len(log))
		}
		if again := Judge(sheet, log); !reflect.DeepEqual(r, again) {
			t.Fatal("judged again it is another result")
		}
	})
}
