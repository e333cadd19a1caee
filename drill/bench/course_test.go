package bench_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"hornlark/drill/bench"
	"hornlark/drill/condition"
	"hornlark/drill/score"
)

func coming(pairs ...any) []bench.InjectionOutcome {
	var list []bench.InjectionOutcome
	for i := 0; i < len(pairs); i += 2 {
		list = append(list, bench.InjectionOutcome{Abnormal: pairs[i].(string), AtS: float64(pairs[i+1].(int))})
	}
	return list
}

// How different surprises are: worked by hand from what Distance says of itself.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		name string
		a, b []bench.InjectionOutcome
		want float64
	}{
		{"nothing and nothing", nil, nil, 0},
		{"the same", coming("a", 10, "b", 90), coming("a", 10, "b", 90), 0},
		{"a minute later", coming("a", 10), coming("a", 70), 0.125},
		{"ten minutes later", coming("a", 10), coming("a", 610), 0.25},
		{"in the other order", coming("a", 10, "b", 90), coming("b", 10, "a", 90), 0.125},
		{"nothing in common, at the same moments", coming("a", 10), coming("b", 10), 0.75},
		{"nothing at all in common", coming("a", 10), coming("b", 610), 1},
		{"one and nothing", coming("a", 10), nil, 1},
		{"one of two", coming("a", 10, "b", 90), coming("a", 10), 0.25 + 0.125 + 0.125},
		{"twice the same", coming("a", 10, "a", 90), coming("a", 10, "b", 90), 1.0/3 + 0.125},
	} {
		if got, back := bench.Distance(c.a, c.b), bench.Distance(c.b, c.a); math.Abs(got-c.want) > 1e-12 || back != got {
			t.Errorf("%s: %v, and back %v; wanted %v", c.name, got, back, c.want)
		}
	}
}

// A course is of those that are about as hard as most, and of them the most different ones are taken.
func TestCourse(t *testing.T) {
	var list []bench.Candidate
	for i := range 12 {
		c := bench.Candidate{Seed: uint64(i + 1), Expected: 80, Injections: coming("a", 100)}
		switch {
		case i < 3:
			c.Expected = 40 // far harder, and quite different: not for this
			c.Injections = coming("x", 500, "y", 600)
		case i == 6:
			c.Injections = coming("b", 400)
		case i == 8:
			c.Injections = coming("c", 700, "d", 800)
		}
		list = append(list, c)
	}
	course, err := bench.MakeCourse(list, 3)
	if err != nil {
		t.Fatal(err)
	}
	got := map[uint64]bool{}
	for _, s := range course.Seeds {
		got[s.Seed] = true
	}
	// Of 12 the 6 nearest to the median are 4 to 9: the first of them, and the two that are different.
	if len(got) != 3 || !got[4] || !got[7] || !got[9] || course.Spread != 0 || course.Least != 80 || course.Distance != 1 {
		t.Errorf("%+v", course)
	}
	if course.AllSpread < 10 {
		t.Errorf("all candidates: %v", course.AllSpread)
	}
	if _, err := bench.MakeCourse(list[:5], 3); err == nil || !strings.Contains(err.Error(), "6 at least") {
		t.Errorf("too few: %v", err)
	}
	if _, err := bench.MakeCourse([]bench.Candidate{list[3], list[4], list[5], list[7]}, 2); err == nil || !strings.Contains(err.Error(), "nothing in the scenario is drawn") {
		t.Errorf("all alike: %v", err)
	}
}

// What is expected of a seed is the mean of its sittings, with its standard error: 60, 80 and 100 are 80 with an error of 20/sqrt(3).
func TestExpectedOfASeed(t *testing.T) {
	var c bench.Candidate
	for _, v := range []float64{60, 80, 100} {
		c.Take(&bench.Sitting{Seed: 7, Index: &v})
	}
	if c.Seed != 7 || c.Expected != 80 || math.Abs(c.Error-20/math.Sqrt(3)) > 1e-12 {
		t.Errorf("%+v", c)
	}
	c.Take(&bench.Sitting{Seed: 7})
	if c.Expected != 60 {
		t.Errorf("with one that came to nothing: %v", c.Expected)
	}
}

// Every example of what can be asked compiles, and is answered as what is listed beside it says.
func TestFacts(t *testing.T) {
	f := forecast(t, "desk-walker", person(t, "typical"))
	facts := f.Facts()
	reaction, index := 2500.0, 71.0
	s := &bench.Sitting{
		Passed: true, Completed: true, LengthS: 200, Index: &index, ReactionMS: 1900, Items: map[string]int{"right": 9, "late": 2},
		Wrong: []bench.ItemWrong{{Item: "brake", Outcome: score.Late}},
		Injections: []bench.InjectionOutcome{
			{Abnormal: "radio-call", Harmless: true, AtS: 20, OverS: 28, Outcome: score.LeftAlone},
			{Abnormal: "walker", AtS: 60, OverS: 70, Outcome: score.Handled, Noticed: true, Shown: true, ReactionMS: &reaction},
			{Abnormal: "walker", AtS: 75, OverS: 90, Outcome: score.Lost, Shown: true},
		},
	}
	for _, fact := range facts.List {
		if _, err := facts.Find(fact.Example); err != nil {
			t.Errorf("%s: %q: %v", fact.Name, fact.Example, err)
		}
		if fact.About == "" {
			t.Errorf("%s is not explained", fact.Name)
		}
	}
	for text, want := range map[string]bool{
		"passed": true, "not completed": false, "bent": false, "length == 200": true, "index > 70 and index < 72": true, "reaction == 1.9": true,
		"items_late == 2 and items_right == 9 and items_wrong == 0": true, "came == 3 and look_alikes == 1 and noticed == 1 and handled == 1 and lost == 1": true,
		"first_at == 20": true, "least_gap == 5 and most_gap == 32": true, "walker and walker_times == 2 and walker_at == 60": true,
		"walker_place == 2 and walker_noticed and walker_handled and walker_reaction == 2.5": true, "wrong_brake and not wrong_guard": true,
		"item_guard > item_brake": true, "false_alarms > 0": false,
	} {
		holds, err := facts.Find(text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if holds(s) != want {
			t.Errorf("%q: %v", text, !want)
		}
	}
	empty := &bench.Sitting{}
	for _, text := range []string{"first_at == -1", "least_gap == -1", "index == -1", "walker_at == -1 and not walker and walker_item == 0 and walker_place == 0"} {
		if holds, err := facts.Find(text); err != nil || !holds(empty) {
			t.Errorf("%q of a sitting in which nothing comes: %v", text, err)
		}
	}
	var wrong *condition.Error
	if _, err := facts.Find("wlaker"); !errors.As(err, &wrong) || !strings.Contains(err.Error(), "did you mean walker") {
		t.Errorf("%v", err)
	}
}
