package score

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
)

// From which moment an answer is timed, and whether it can be at all: from the end of the last words of its own challenge that were
// really spoken to their end.
func TestWhatAnAnswerIsTimedFrom(t *testing.T) {
	cue := func(ms, n int) moment {
		return on(ms, logbook.Entry{Kind: logbook.CueEnd, Cue: n, Class: logbook.Speech})
	}
	heard := func(ms, n, until int) moment {
		return on(ms, logbook.Entry{Kind: logbook.Heard, Cue: n, Until: at(until)})
	}
	unheard := func(w *scribe) {
		w.cue++
		w.add(logbook.Entry{Kind: logbook.Cue, Cue: w.cue, Class: logbook.Speech})
		w.add(logbook.Entry{Kind: logbook.Ask, Item: "a", Cue: w.cue})
	}
	ask := func(item string, ms int) moment { return func(w *scribe) { w.ask(item, ms) } }
	again := func(ms, n int, why logbook.Reason) moment {
		return on(ms, logbook.Entry{Kind: logbook.AskAgain, Item: "a", Cue: n, Why: why})
	}
	for _, c := range []struct {
		name     string
		parts    []moment
		reaction float64 // of a; negative: none
		late     bool
	}{
		{"spoken to its end", []moment{ask("a", 1000), cue(1000, 1), doneBy(1800, "a", "")}, 800, false},
		{"cut short", []moment{ask("a", 1000), cue(999, 1), doneBy(1800, "a", "")}, -1, false},
		{"another cut short", []moment{ask("a", 1000), ask("b", 1200), cue(1100, 2), doneBy(1800, "a", "")}, 800, false},
		{"never known to have been heard", []moment{unheard, doneBy(1800, "a", "")}, -1, false},
		{"cut short, and then said to have been heard", []moment{unheard, cue(500, 1), heard(600, 1, 500), doneBy(1800, "a", "")}, -1, false},
		{"cut short by a stop call with nothing wrong", []moment{ask("a", 1000), on(500, logbook.Entry{Kind: logbook.StopCall, Item: "a"}), cue(500, 1), doneBy(1800, "a", "")}, 800, false},
		{"stopped, and said again", []moment{ask("a", 1000), on(1200, logbook.Entry{Kind: logbook.StopCall, Item: "a"}), again(1300, 2, logbook.Anew), heard(1300, 2, 2300), doneBy(2500, "a", "")}, 1500, false},
		{"cut short, stopped, and said again", []moment{ask("a", 1000), cue(500, 1), on(600, logbook.Entry{Kind: logbook.StopCall, Item: "a"}), again(700, 2, logbook.Anew), heard(700, 2, 1700), doneBy(2500, "a", "")}, 800, false},
		{"a stop call of the other pilot's", []moment{ask("a", 1000), on(500, logbook.Entry{Kind: logbook.StopCall, Seat: logbook.Pilot, Item: "a"}), cue(500, 1), doneBy(1800, "a", "")}, -1, false},
		{"said again as it was not answered", []moment{ask("a", 1000), again(3000, 2, logbook.Unanswered), doneBy(4000, "a", "")}, 3000, true},
		{"answered, then another interrupted", []moment{ask("a", 1000), doneBy(1800, "a", ""), ask("b", 3000), cue(2500, 2)}, 800, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			sheet := sheetOf("ab")
			it := played(sheet, logbook.Complete, c.parts...).Items[0]
			sameMS(t, "reaction", it.ReactionMS, c.reaction)
			if it.Outcome == Late != c.late {
				t.Errorf("%s", it.Outcome)
			}
		})
	}
}

// Whoever answers over the challenge has not waited for it, whether the log says so of the answer or of what came of it.
func TestAnsweredOverTheChallenge(t *testing.T) {
	for _, c := range []struct {
		name         string
		answer, done logbook.Reason
		item         string
		want         bool
	}{
		{"after it", "", "", "a", false}, {"the answer", logbook.Over, "", "a", true}, {"the response", "", logbook.Over, "a", true},
		{"both", logbook.Over, logbook.Over, "a", true}, {"the answer to another", logbook.Over, "", "b", false},
	} {
		r := played(sheetOf("ab"), logbook.Complete, asked(1000, "a"),
			on(2500, logbook.Entry{Kind: logbook.Answer, Item: c.item, Text: logbook.Yes, Truth: logbook.Yes, Why: c.answer}),
			on(2500, logbook.Entry{Kind: logbook.Done, Item: "a", OK: true, Why: c.done}))
		if got := r.Items[0].Anticipated; got != c.want {
			t.Errorf("%s: anticipated %v", c.name, got)
		}
	}
}

// Whoever has said yes to what was not so has been mistaken, even where it was put right after that; it is counted, once for each.
func TestSaidYesToWhatWasNotSo(t *testing.T) {
	yes := func(ms int, item string) moment {
		return on(ms, logbook.Entry{Kind: logbook.Answer, Item: item, Text: logbook.Yes, Truth: logbook.No})
	}
	r := played(sheetOf("ab"), logbook.Complete, asked(1000, "a"), yes(2500, "a"), yes(3000, "a"), yes(3500, ""), doneBy(4000, "a", ""), doneBy(5000, "b", ""))
	if r.Items[0].Outcome != Wrong || r.Items[1].Outcome != Right || r.False != 2 {
		t.Errorf("%s, %s, %d confirmed though not so; wanted wrong, right, and 2: an answer to somebody outside is judged elsewhere", r.Items[0].Outcome, r.Items[1].Outcome, r.False)
	}
}

// An item that timed out was missed if it had been asked and the question stood. What was interrupted, or never asked where somebody
// asks, is told apart.
func TestMissed(t *testing.T) {
	ask := func(w *scribe) { w.ask("a", 1000) }
	out := on(11000, logbook.Entry{Kind: logbook.TimedOut, Item: "a"})
	interrupted := on(500, logbook.Entry{Kind: logbook.CueEnd, Cue: 1})
	for _, c := range []struct {
		name   string
		spoken bool
		why    logbook.Reason
		parts  []moment
		missed int
	}{
		{"asked", true, logbook.Complete, []moment{ask, out}, 1},
		{"asked, and done after all", true, logbook.Complete, []moment{ask, out, doneBy(12000, "a", "")}, 1},
		{"asked and interrupted", true, logbook.Complete, []moment{ask, interrupted, out}, 0},
		{"never asked", true, logbook.Complete, nil, 1},
		{"never asked, and timed out", true, logbook.Complete, []moment{out}, 1},
		{"nobody asks", false, logbook.Complete, []moment{out}, 0},
		{"not reached, as the sitting was broken off", true, logbook.Outside, nil, 0},
		{"not reached, as it came to an inspection", true, logbook.Inspection, nil, 1},
		{"not reached, where nobody asks, as it came to an inspection", false, logbook.Inspection, nil, 0},
	} {
		sheet := sheetOf("a")
		sheet.Spoken = c.spoken
		if got := played(sheet, c.why, c.parts...).Reactions; got.Missed != c.missed || got.Of != c.missed {
			t.Errorf("%s: %d missed of %d; wanted %d", c.name, got.Missed, got.Of, c.missed)
		}
	}
}

// What a sitting that was rightly refused comes to hangs on what was to be done before the check: all of it done, and rightly.
func TestExcused(t *testing.T) {
	refuse := on(9000, logbook.Entry{Kind: logbook.Answer, Item: "c", Text: logbook.No, Truth: logbook.No})
	wrongly := on(9000, logbook.Entry{Kind: logbook.Answer, Item: "c", Text: logbook.No, Truth: logbook.Yes})
	done := doneBy(9000, "c", "")
	good := []moment{doneBy(1000, "a", ""), doneBy(2000, "b", "")}
	handled := []moment{doneBy(1000, "a", ""), doneBy(2000, "b", ""), shows(logbook.Caption, "light", false), act(11000, 1), act(11500, 2)}
	end := over(12000, logbook.Handled, "")
	for _, c := range []struct {
		name, ids string
		parts     []moment
		completed bool
		rest      Outcome // of d, which comes after the check
	}{
		{"all right", "abcd", append(good, refuse, done), true, NotAsked},
		{"refused at once", "cabd", []moment{refuse, done}, true, NotAsked},
		{"refused, though it was so", "abcd", append(good, wrongly, done), true, Omitted},
		{"no check refused", "abcd", good, true, Omitted},
		{"one not done", "abcd", []moment{doneBy(1000, "a", ""), refuse, done}, false, NotReached},
		{"one not wanted", "abcd", []moment{doneBy(1000, "a", ""), on(1500, logbook.Entry{Kind: logbook.Skip, Item: "b"}), refuse, done}, true, NotAsked},
		{"one done wrongly", "abcd", []moment{doneBy(1000, "a", ""), on(2000, logbook.Entry{Kind: logbook.Done, Item: "b"}), refuse, done}, false, NotReached},
		{"one wrong before it was right", "abcd", []moment{doneBy(1000, "a", ""), on(1500, logbook.Entry{Kind: logbook.Answer, Item: "b", Text: logbook.No, Truth: logbook.Yes}), doneBy(2000, "b", ""), refuse, done}, false, NotReached},
		{"one of its group not done", "a(bc)d", []moment{doneBy(1000, "a", ""), refuse, done}, true, NotAsked},
		{"one after it done wrongly", "abcd", append(good, on(8000, logbook.Entry{Kind: logbook.Done, Item: "d"}), refuse, done), true, Wrong},
		{"something for nothing", "abcd", append(good, stray(8000, "gen1", "q"), refuse, done), false, NotReached},
		{"an abnormal handled", "abcd", append(handled, end, refuse, done), true, NotAsked},
		{"an abnormal made worse", "abcd", append(handled, worse(11700), end, refuse, done), false, NotReached},
	} {
		sheet := sheetOf(c.ids)
		index := slices.IndexFunc(sheet.Items, func(it Item) bool { return it.ID == "c" })
		sheet.Items[index].Kind = procedure.Check
		r := played(sheet, logbook.Refused, c.parts...)
		if b := r.Items[slices.IndexFunc(sheet.Items, func(it Item) bool { return it.ID == "b" })]; c.ids == "a(bc)d" && b.Outcome != NotAsked {
			t.Errorf("%s: what might as well have come after it is %s", c.name, b.Outcome)
		}
		d := r.Items[slices.IndexFunc(sheet.Items, func(it Item) bool { return it.ID == "d" })]
		if r.Completed != c.completed || d.Outcome != c.rest {
			t.Errorf("%s: completed %v, d %s; wanted %v, %s", c.name, r.Completed, d.Outcome, c.completed, c.rest)
		}
	}
}

// Where the sitting was cut short, an item is left out if one that comes after it was done, and was not reached otherwise.
func TestLeftOutAsTheSittingWasCutShort(t *testing.T) {
	for _, c := range []struct{ ids, done, want string }{
		{"abc", "", "not-reached not-reached not-reached"},
		{"abc", "a", "right not-reached not-reached"},
		{"abc", "b", "omitted right not-reached"},
		{"(ab)c", "b", "not-reached right not-reached"},
		{"(ab)c", "c", "omitted omitted right"},
	} {
		var parts []moment
		for k, r := range c.done {
			parts = append(parts, doneBy(1000*(k+1), string(r), ""))
		}
		var got []string
		for _, it := range played(sheetOf(c.ids), logbook.Inspection, parts...).Items {
			got = append(got, string(it.Outcome))
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s, %q done: %s; wanted %s", c.ids, c.done, s, c.want)
		}
	}
}

// Whatever is done beyond what was wanted is one departure for each slip: steps of one move are one, and so is what was put back;
// something else done between makes another of it.
func TestSlipsBeyond(t *testing.T) {
	overshoot := func(ms int) moment {
		return on(ms, logbook.Entry{Kind: logbook.Overshoot, Item: "a", Control: "lever"})
	}
	fixed := func(ms int) moment { return on(ms, logbook.Entry{Kind: logbook.Fixed, Item: "a", OK: true}) }
	again := func(ms int) moment { return on(ms, logbook.Entry{Kind: logbook.Again, Item: "a"}) }
	undone := func(ms int, item string) moment { return on(ms, logbook.Entry{Kind: logbook.Undone, Item: item}) }
	a, b, c, d := doneBy(1000, "a", ""), doneBy(5000, "b", ""), doneBy(6000, "c", ""), doneBy(7000, "d", "")
	for _, test := range []struct {
		name  string
		parts []moment
		want  string
	}{
		{"none", []moment{a, b, c, d}, ""},
		{"past it and on", []moment{a, overshoot(1500), overshoot(1600), b, c, d}, "overshoot a"},
		{"past it, back, and past it again", []moment{a, overshoot(1500), fixed(1600), overshoot(1700), fixed(1800), b, c, d}, "overshoot a, overshoot a"},
		{"past it, another done, and past it", []moment{a, overshoot(1500), b, overshoot(5500), c, d}, "overshoot a, overshoot a"},
		{"done again", []moment{a, again(1500), b, c, d}, "repetition a"},
		{"done again and again", []moment{a, again(1500), again(1600), b, c, d}, "repetition a, repetition a"},
		{"moved away and put back", []moment{a, stray(1500, "lever", "q"), again(1600), b, c, d}, "repetition a"},
		{"moved away in steps and put back", []moment{a, stray(1500, "lever", "q"), stray(1550, "lever", "q"), again(1600), b, c, d}, "repetition a"},
		{"another moved, and done again", []moment{a, stray(1500, "gen1", "q"), again(1600), b, c, d}, "intrusion gen1, repetition a"},
		{"moved away, another done, and put back", []moment{a, stray(1500, "lever", "q"), b, again(5500), c, d}, "intrusion lever, repetition a"},
		{"moved away, and then past it", []moment{a, stray(1500, "lever", "q"), overshoot(1600), b, c, d}, "intrusion lever, overshoot a"},
		{"past it, and done again", []moment{a, overshoot(1500), again(1600), b, c, d}, "overshoot a, repetition a"},
		{"an answer that nobody asked for", []moment{a, stray(1500, "", "enter"), b, stray(5500, "", "backspace"), c, d}, "intrusion enter, intrusion backspace"},
		{"a key that does nothing", []moment{a, stray(1500, "", "."), b, c, d}, ""},
		// The lever has to be at 1, 2 and 3 for a, b and c, is taken to 3 at once, and back to 1.
		{"beyond what was asked for, and back", []moment{a, doneBy(1100, "b", ""), undone(1200, "b"), doneBy(1200, "c", ""), undone(1300, "c"), doneBy(1300, "b", ""), undone(1400, "b"), b, c, d}, "overshoot a"},
		{"the same twice, with another done between", []moment{a, doneBy(1100, "b", ""), undone(1200, "b"), d, doneBy(7100, "b", ""), doneBy(7150, "c", ""), undone(7200, "c"), doneBy(7300, "c", "")}, "overshoot a, jump-forward d, overshoot b"},
		{"another taken back", []moment{a, doneBy(1100, "d", ""), undone(1200, "d"), b, c, d}, "overshoot d"},
	} {
		t.Run(test.name, func(t *testing.T) {
			sheet := sheetOf("abcd")
			for i := range 3 {
				sheet.Items[i].Controls = []string{"lever"}
			}
			sheet.Items[3].Controls = []string{"other"}
			r := played(sheet, logbook.Complete, test.parts...)
			var got []string
			for _, d := range r.Order.Deviations {
				what := d.Control // of what no item wanted
				if len(d.Items) > 0 {
					what = strings.Join(d.Items, " ")
				}
				got = append(got, fmt.Sprint(d.Kind, " ", what))
			}
			if s := strings.Join(got, ", "); s != test.want {
				t.Errorf("%s; wanted %s", s, test.want)
			}
		})
	}
}

// Presses that nothing wanted are counted, and so is how often the position of an item was passed.
func TestCountsOfPresses(t *testing.T) {
	past := on(1500, logbook.Entry{Kind: logbook.Overshoot, Item: "a"})
	r := played(sheetOf("ab"), logbook.Complete, doneBy(1000, "a", ""), past, past, past, stray(1600, "gen1", "q"), stray(1700, "", "."), doneBy(2000, "b", ""))
	if r.Strays != 2 || r.Items[0].Overshoots != 3 || r.Items[1].Overshoots != 0 {
		t.Errorf("%d strays, %d and %d overshoots; wanted 2, 3 and 0", r.Strays, r.Items[0].Overshoots, r.Items[1].Overshoots)
	}
}

// Jumps of the clock are told with their moment and their length; a pause that somebody asked for is none.
func TestJumps(t *testing.T) {
	r := played(sheetOf("a"), logbook.Complete, on(1000, logbook.Entry{Kind: logbook.Paused}),
		on(2000, logbook.Entry{Kind: logbook.Paused, Why: logbook.Jumped, Length: 90 * time.Second}))
	if want := []Jump{{2000, 90000}}; !slices.Equal(r.Jumps, want) {
		t.Errorf("%+v; wanted %+v", r.Jumps, want)
	}
}

// How far each gauge went, and how long it was in its red band.
func TestExtremes(t *testing.T) {
	peak := func(gauge string, class logbook.Class, v float64) moment {
		return on(1000, logbook.Entry{Kind: logbook.Peak, Name: gauge, Class: class, Value: v})
	}
	r := played(sheetOf("a"), logbook.Complete, peak("tot", logbook.Highest, 900), peak("tot", logbook.Lowest, 12),
		on(1000, logbook.Entry{Kind: logbook.Exceeded, Name: "tot", Length: at(2500)}), peak("nr", logbook.Highest, 104), peak("nr", logbook.Lowest, 91))
	if want := []Extreme{{"tot", 900, 12, 2.5}, {"nr", 104, 91, 0}}; !slices.Equal(r.Extremes, want) {
		t.Errorf("%+v; wanted %+v", r.Extremes, want)
	}
}
