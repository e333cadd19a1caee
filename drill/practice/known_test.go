package practice

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"hornlark/drill/score"
)

var day0 = time.Date(2027, 1, 4, 19, 0, 0, 0, time.UTC)

func ms(v float64) *float64 { return &v }

// TestGrades: how well something was known, as an instructor would put it.
func TestGrades(t *testing.T) {
	for name, test := range map[string]struct {
		trial  score.Trial
		grade  Grade
		weight float64
	}{
		"right and quick, unasked":     {score.Trial{Right: true, ReactionMS: ms(900), ParMS: 2000}, Easy, foundWeight},
		"right within par":             {score.Trial{Right: true, ReactionMS: ms(1500), ParMS: 2000}, Good, foundWeight},
		"right without a time":         {score.Trial{Right: true}, Good, foundWeight},
		"right and slow":               {score.Trial{Right: true, Slow: true, ReactionMS: ms(4500), ParMS: 2000}, Hard, foundWeight},
		"right after it was told":      {score.Trial{Right: true, Told: true}, Good, toldWeight},
		"quick after it was told":      {score.Trial{Right: true, Told: true, ReactionMS: ms(500), ParMS: 2000}, Good, toldWeight},
		"wrong":                        {score.Trial{}, Again, foundWeight},
		"wrong although it was told":   {score.Trial{Told: true}, Again, foundWeight},
		"wrong, and quick about it":    {score.Trial{ReactionMS: ms(300), ParMS: 2000}, Again, foundWeight},
		"half of par is still quick":   {score.Trial{Right: true, ReactionMS: ms(1000), ParMS: 2000}, Easy, foundWeight},
		"just over half is in time":    {score.Trial{Right: true, ReactionMS: ms(1000.1), ParMS: 2000}, Good, foundWeight},
		"quick counts only if a right": {score.Trial{Right: true, Slow: true, ReactionMS: ms(500), ParMS: 2000}, Hard, foundWeight},
	} {
		if g, w := GradeOf(&test.trial); g != test.grade || w != test.weight {
			t.Errorf("%s: grade %d with weight %g, want %d with %g", name, g, w, test.grade, test.weight)
		}
	}
}

// drawnTrial is a trial of one thing with a random outcome.
func drawnTrial(r *rapid.T) score.Trial {
	t := score.Trial{
		Kind: score.TrialItem, Name: "battery", Right: rapid.Bool().Draw(r, "right"), Told: rapid.Bool().Draw(r, "told"),
		Slow: rapid.Bool().Draw(r, "slow"), ParMS: 2000,
	}
	if rapid.Bool().Draw(r, "timed") {
		t.ReactionMS = ms(rapid.Float64Range(100, 8000).Draw(r, "reaction"))
	}
	return t
}

// TestWorseIsNeverKnownBetter: a trial that was wrong, slower or told leaves no more behind than the same one right, in time or found, whatever
// came before, at any later moment, by whatever weights may have been fitted.
func TestWorseIsNeverKnownBetter(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		var fit place
		for i := range fit {
			fit[i] = rapid.IntRange(-mostSteps, mostSteps).Draw(r, "fit")
		}
		weights := fit.weights(&DefaultWeights)
		k := NewKnown(weights)
		at := day0
		for range rapid.IntRange(0, 8).Draw(r, "before") {
			k.Learn(&Sitting{Began: at, Procedure: "p", Trials: []score.Trial{drawnTrial(r)}})
			at = at.Add(time.Duration(rapid.Float64Range(0, 60*24).Draw(r, "hours") * float64(time.Hour)))
		}
		good := drawnTrial(r)
		good.Right = true
		worse := good
		switch rapid.SampledFrom([]string{"wrong", "slow", "told", "slower"}).Draw(r, "how") {
		case "wrong":
			worse.Right = false
		case "slow":
			worse.Slow = true
		case "told":
			worse.Told = true
		case "slower":
			if worse.ReactionMS != nil {
				worse.ReactionMS = ms(*worse.ReactionMS * 1.7)
			}
		}
		later := at.Add(time.Duration(rapid.Float64Range(0, 400*24).Draw(r, "later") * float64(time.Hour)))
		of := func(last score.Trial) float64 {
			mine := NewKnown(weights)
			for thing, st := range k.States {
				copied := *st
				mine.States[thing] = &copied
			}
			mine.Until = k.Until
			mine.Learn(&Sitting{Began: at, Procedure: "p", Trials: []score.Trial{last}})
			return mine.Recall(Thing{score.TrialItem, "p", "battery"}, later)
		}
		if better, poorer := of(good), of(worse); poorer > better+1e-9 {
			r.Fatalf("known with %.4f after it went worse, with %.4f after it went well", poorer, better)
		}
	})
}

// TestIdleTrainee: half of what was gained is gone after 6.5 months by accuracy and after 13 by speed (Tatel and Ackerman, Psychological
// Bulletin, doi 10.1037/bul0000481). What was done right once, and what was right after some hard work, is predicted to have fallen to half in that band.
func TestIdleTrainee(t *testing.T) {
	const month = 365.25 / 12
	once := DefaultWeights.After(Memory{}, 0, Good, 1)
	if half := DefaultWeights.Lasts(once, 0.5) / month; half < 6.5 || half > 13 {
		t.Errorf("what was right once has fallen to half after %.1f months, want 6.5 to 13", half)
	}
}
