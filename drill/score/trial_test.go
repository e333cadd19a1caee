package score_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"hornlark/drill/drilltest"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

func ms(v float64) *float64 { return &v }

// line is a trial in a line that an instructor can read.
func line(t score.Trial) string {
	s := fmt.Sprintf("%s %s", t.Kind, t.Name)
	for _, w := range []struct {
		so  bool
		say string
	}{{t.Right, " right"}, {!t.Right, " wrong"}, {t.Slow, " slow"}, {t.Told, " told"}} {
		if w.so {
			s += w.say
		}
	}
	if t.ReactionMS != nil {
		s += fmt.Sprintf(" %.0f of %.0f", *t.ReactionMS, t.ParMS)
	}
	return s
}

// TestTrialsOfItems: what an item shows of whether it was known. The par of a spoken challenge is 2 s, and from twice that it was slow.
func TestTrialsOfItems(t *testing.T) {
	item := func(outcome score.Outcome, change func(*score.ItemResult)) score.ItemResult {
		it := score.ItemResult{ID: "x", Outcome: outcome}
		if outcome != score.Right {
			it.Marks = []score.Outcome{outcome}
		}
		if change != nil {
			change(&it)
		}
		return it
	}
	after := func(v float64) func(*score.ItemResult) { return func(it *score.ItemResult) { it.ReactionMS = ms(v) } }
	for name, test := range map[string]struct {
		it   score.ItemResult
		want string
	}{
		"in its time":                {item(score.Right, after(1200)), "item x right 1200 of 2000"},
		"just before it is a lapse":  {item(score.Right, after(3999)), "item x right 3999 of 2000"},
		"a lapse":                    {item(score.Right, after(4000)), "item x right slow 4000 of 2000"},
		"with nothing to time":       {item(score.Right, nil), "item x right"},
		"after its time":             {item(score.Late, after(1200)), "item x right slow 1200 of 2000"},
		"left out":                   {item(score.Omitted, nil), "item x wrong"},
		"answered wrongly":           {item(score.Wrong, after(900)), "item x wrong"},
		"answered without a look":    {item(score.Rote, after(300)), "item x wrong"},
		"done twice":                 {item(score.Repeated, after(900)), "item x right 900 of 2000"},
		"out of its place":           {item(score.OutOfOrder, after(900)), "item x right 900 of 2000"},
		"out of its place and wrong": {item(score.OutOfOrder, func(it *score.ItemResult) { it.Marks = append(it.Marks, score.Wrong) }), "item x wrong"},
		"answered over the words":    {item(score.Right, func(it *score.ItemResult) { it.Anticipated, it.ReactionMS = true, ms(50) }), "item x right slow"},
		"done before it was asked":   {item(score.Right, func(it *score.ItemResult) { it.Ahead, it.ReactionMS = true, ms(50) }), "item x right"},
		"past its position and back": {item(score.Right, func(it *score.ItemResult) { it.Overshoots, it.ReactionMS = 1, ms(900) }), "item x right slow 900 of 2000"},
		"not asked":                  {item(score.NotAsked, nil), ""},
		"not reached":                {item(score.NotReached, nil), ""},
	} {
		sheet := &score.Sheet{Items: []score.Item{{ID: "x", Kind: procedure.Set, Controls: []string{"a"}}}, Spoken: true}
		var got string
		if list := score.Trials(&score.Result{Items: []score.ItemResult{test.it}}, sheet); len(list) > 0 {
			got = line(list[0])
		}
		if got != test.want {
			t.Errorf("%s: %q, want %q", name, got, test.want)
		}
	}
	sheet := &score.Sheet{Items: []score.Item{{ID: "x", Kind: procedure.Set, Controls: []string{"a", "b", "c"}}}}
	if list := score.Trials(&score.Result{Items: []score.ItemResult{item(score.Right, after(2500))}}, sheet); list[0].ParMS != 3000 {
		t.Errorf("three controls have a par of %g ms, want 2 s and half a second for each beyond the first", list[0].ParMS)
	}
}

// TestTrialsOfInjections: what an abnormal shows of whether it is noticed, and of whether its actions are known. The par of a caption
// is 3 s.
func TestTrialsOfInjections(t *testing.T) {
	two := make([]score.ActionResult, 2)
	for name, test := range map[string]struct {
		in   score.InjectionResult
		want []string
	}{
		"handled": {score.InjectionResult{Outcome: score.Handled, DetectionMS: ms(2000), ActionsInTime: 2, ActionsInOrder: 2},
			[]string{"notice fire right 2000 of 3000", "actions fire right"}},
		"noticed late": {score.InjectionResult{Outcome: score.Handled, DetectionMS: ms(6000), ActionsInTime: 2, ActionsInOrder: 2},
			[]string{"notice fire right slow 6000 of 3000", "actions fire right"}},
		"an action late": {score.InjectionResult{Outcome: score.HandLate, DetectionMS: ms(2000), ActionsInTime: 1, ActionsInOrder: 2},
			[]string{"notice fire right 2000 of 3000", "actions fire right slow"}},
		"told, then all right": {score.InjectionResult{Outcome: score.ToldFirst, ToldMS: ms(9000), ActionsInTime: 2, ActionsInOrder: 2},
			[]string{"notice fire wrong", "actions fire right told"}},
		"told, and in another order": {score.InjectionResult{Outcome: score.ToldFirst, ToldMS: ms(9000), ActionsInTime: 2, ActionsInOrder: 1},
			[]string{"notice fire wrong", "actions fire wrong told"}},
		"made worse": {score.InjectionResult{Outcome: score.MadeWorse, DetectionMS: ms(2000), ActionsInTime: 2, ActionsInOrder: 2},
			[]string{"notice fire right 2000 of 3000", "actions fire wrong"}},
		"a wrong first move": {score.InjectionResult{Outcome: score.WrongFirst, DetectionMS: ms(2000), ActionsInTime: 2, ActionsInOrder: 2},
			[]string{"notice fire right 2000 of 3000", "actions fire wrong"}},
		"in another order": {score.InjectionResult{Outcome: score.OutOfOrder, DetectionMS: ms(2000), ActionsInTime: 2, ActionsInOrder: 1},
			[]string{"notice fire right 2000 of 3000", "actions fire wrong"}},
		"lost": {score.InjectionResult{Outcome: score.Lost, DetectionMS: ms(2000)},
			[]string{"notice fire right 2000 of 3000", "actions fire wrong"}},
		"not noticed":               {score.InjectionResult{Outcome: score.NotNoticed}, []string{"notice fire wrong"}},
		"the flow ended over it":    {score.InjectionResult{Outcome: score.LeftOpen, DetectionMS: ms(2000)}, []string{"notice fire right 2000 of 3000"}},
		"never seen":                {score.InjectionResult{Outcome: score.Unseen}, nil},
		"taken out again":           {score.InjectionResult{Outcome: score.Cleared, DetectionMS: ms(2000)}, nil},
		"the sitting ended first":   {score.InjectionResult{Outcome: score.Unended}, nil},
		"everything stood right":    {score.InjectionResult{Outcome: score.Stood}, nil},
		"a look-alike, left alone":  {score.InjectionResult{Outcome: score.LeftAlone, Harmless: true}, nil},
		"a look-alike, acted on":    {score.InjectionResult{Outcome: score.ActedOn, Harmless: true, DetectionMS: ms(900)}, nil},
		"nothing to do but to stop": {score.InjectionResult{Outcome: score.Handled, DetectionMS: ms(2000), Actions: []score.ActionResult{}}, []string{"notice fire right 2000 of 3000"}},
	} {
		test.in.Abnormal, test.in.Cue = "fire", logbook.Caption
		if test.in.Actions == nil {
			test.in.Actions = two
		}
		var got []string
		for _, trial := range score.Trials(&score.Result{Injections: []score.InjectionResult{test.in}}, &score.Sheet{}) {
			got = append(got, line(trial))
		}
		if !slices.Equal(got, test.want) {
			t.Errorf("%s: %q, want %q", name, got, test.want)
		}
	}
}

// TestTrialsOfASitting: a flow gone through from memory by somebody who leaves one item out and swaps two others shows just that; the same
// flow gone through to the end shows that everything was known. Challenges tell what comes next, so there a step was told.
func TestTrialsOfASitting(t *testing.T) {
	trials := func(name string, a *scenario.Answers) (list []score.Trial, order []string) {
		s := drilltest.Through(t, name, a, nil, nil)
		sheet := s.Exercise.Sheet(s.Seed)
		for i := range s.Result.Items {
			if s.Result.Items[i].Outcome != score.NotAsked {
				order = append(order, s.Result.Items[i].ID)
			}
		}
		for _, trial := range score.Trials(s.Result, sheet) {
			if trial.Kind != score.TrialNotice && trial.Kind != score.TrialActions {
				list = append(list, trial)
			}
		}
		return list, order
	}
	for _, name := range []string{"piston-start", "piston-recall"} {
		list, order := trials(name, &scenario.Answers{StartFrom: scenario.Perfect, Reaction: time.Second})
		if want := 2*len(order) - 1; len(list) != want {
			t.Errorf("%s: %d trials of %d items, want one of each and of each step between: %d", name, len(list), len(order), want)
		}
		for _, trial := range list {
			if !trial.Right || trial.Slow || trial.Told != (trial.Kind == score.TrialStep && name == "piston-start") {
				t.Errorf("%s: %s, gone through to the end without a slip", name, line(trial))
			}
		}
	}
	_, order := trials("piston-recall", &scenario.Answers{StartFrom: scenario.Perfect})
	const out = "transponder" // nothing waits for it
	before := slices.Index(order, out) - 1
	if before < 0 {
		t.Fatalf("%s is no item of %q", out, order)
	}
	list, _ := trials("piston-recall", &scenario.Answers{StartFrom: scenario.Perfect, LeaveOut: []string{out}})
	var wrong []string
	for _, trial := range list {
		if !trial.Right {
			wrong = append(wrong, line(trial))
		}
	}
	want := []string{"item " + out + " wrong", "step " + score.StepName(order[before], out) + " wrong"}
	if !slices.Equal(wrong, want) {
		t.Errorf("with %s left out these were wrong: %q, want %q", out, wrong, want)
	}

	limits, questions := trials("piston-limits", &scenario.Answers{StartFrom: scenario.Perfect})
	if len(limits) != len(questions) || slices.ContainsFunc(limits, func(t score.Trial) bool { return t.Kind != score.TrialFigure || !t.Right || t.Told }) {
		t.Errorf("figures that were asked for: %d of %d, want each once, right, and none told", len(limits), len(questions))
	}
}
