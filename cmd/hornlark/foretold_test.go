package main

import (
	"math"
	"strings"
	"testing"
	"time"

	"hornlark/drill/practice"
	"hornlark/drill/score"
)

// What is said of the weights is true of them: not yet, fitted and used, fitted and not used; and what came true is counted.
func TestForetold(t *testing.T) {
	looked := practice.NewKnown(practice.DefaultWeights)
	for i := range 4 {
		looked.Learn(&practice.Sitting{Began: time.Date(2027, 3, 1+i, 19, 0, 0, 0, time.UTC), Procedure: "p", Trials: []score.Trial{
			{Kind: score.TrialItem, Name: "battery", Right: true}, {Kind: score.TrialItem, Name: "pump", Right: i != 2},
		}})
	}
	with := func(f practice.Fit) *practice.Known {
		k := looked.Clone()
		k.Fit = f
		return k
	}
	for name, test := range map[string]struct {
		known *practice.Known
		want  []string
	}{
		"not yet": {looked, []string{"those of learners in general. How kim forgets is taken from 100 looks on, on several days; so far there are 6.",
			"was said to be known, and 83 % was (95 %: 44 % to 97 %), in 6 looks"}},
		"all in one": {with(practice.Fit{Looks: 120}), []string{"is taken from 121 looks on, on several days; so far there are 6."}},
		"used": {with(practice.Fit{Looks: 214, Held: 140, Before: 0.563, After: 0.411, Used: true}), []string{
			"How kim forgets was taken from 214 looks: by that, 140 that had not been seen yet were foretold better", "(mean log loss 0.41, not 0.56)"}},
		"not used": {with(practice.Fit{Looks: 214, Held: 140, Before: 0.411, After: 0.452}), []string{
			"those of learners in general: what was taken from 214 looks of kim foretold others no better (mean log loss 0.45, not 0.41)"}},
	} {
		text := strings.Join(foretold("kim", test.known), "\n")
		for _, want := range test.want {
			if !strings.Contains(text, want) {
				t.Errorf("%s: it says\n%s\nwithout %q", name, text, want)
			}
		}
	}
	if lines := foretold("kim", practice.NewKnown(practice.DefaultWeights)); len(lines) > 0 {
		t.Errorf("before the first look it says %q", lines)
	}
	// Brier's score by its definition: of each of the six looks, what was said less what came true, squared.
	k := practice.NewKnown(practice.DefaultWeights)
	battery := k.Weights.After(practice.Memory{}, 0, practice.Good, 1)
	pump, sum := battery, 0.0
	meets := func(m *practice.Memory, g practice.Grade) {
		off := k.Weights.Recall(*m, 1)
		if g != practice.Again {
			off = 1 - off
		}
		sum += off * off
		*m = k.Weights.After(*m, 1, g, 1)
	}
	for i := 1; i < 4; i++ {
		meets(&battery, practice.Good)
		meets(&pump, map[bool]practice.Grade{true: practice.Again, false: practice.Good}[i == 2])
	}
	got := foretoldOf(looked)
	if math.Abs(got.Brier-sum/6) > 1e-12 || got.Looks != 6 || got.Fitted {
		t.Errorf("%+v, want a Brier score of %g", got, sum/6)
	}
	looks := 0
	for _, b := range got.Bins {
		looks += b.Looks
		if b.Said < b.From || b.Said > b.From+0.1 || b.Low > b.CameTrue || b.High < b.CameTrue {
			t.Errorf("a bin that does not hold together: %+v", b)
		}
	}
	// Of three looks at each of two, five were known; the parts add up but for what varies within a bin.
	if parts := got.Reliability - got.Resolution + got.Uncertainty; math.Abs(got.Uncertainty-5.0/36) > 1e-12 || math.Abs(parts-got.Brier) > 0.02 {
		t.Errorf("a Brier score of %g, and parts of %g", got.Brier, parts)
	}
	if looks != 6 {
		t.Errorf("%d looks are in the bins, want 6", looks)
	}
}
