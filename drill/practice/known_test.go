package practice

import (
	"math"
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
// Bulletin, doi 10.1037/bul0000481). Of somebody who has practised for three weeks or four and then leaves off, half of what was known then is predicted
// to be known after a time in that band; and never more of it after a longer time. Who has practised for a week alone is taken to lose it sooner, and who
// has for six weeks to keep it longer; the published weights would have them all keep it for years.
func TestIdleTrainee(t *testing.T) {
	const month = 365.25 / 12
	half := func(w Weights, days int, minutes float64) float64 {
		k := NewKnown(w)
		for _, s := range sat(&byModel{w, map[Thing]outlook{}}, aCourse(days, minutes), 1) {
			k.Learn(&s)
		}
		known := func(months float64) (sum float64) {
			for _, thing := range k.Things() {
				sum += k.Recall(thing, k.Until.Add(time.Duration(months*month*24*float64(time.Hour))))
			}
			return sum
		}
		last := known(0)
		for months := 0.25; months < 36; months += 0.25 {
			now := known(months)
			if now > last {
				t.Fatalf("after %g months more is known than before", months)
			}
			if last = now; now <= known(0)/2 {
				return months
			}
		}
		return math.Inf(1)
	}
	for _, course := range []struct {
		days    int
		minutes float64
	}{{21, 12}, {28, 6}} {
		got, published := half(DefaultWeights, course.days, course.minutes), half(PublishedWeights, course.days, course.minutes)
		t.Logf("after %d days of %g minutes half is known after %g months; by the published weights after %g", course.days, course.minutes, got, published)
		if got < 6.5 || got > 13 {
			t.Errorf("after %d days of %g minutes half is known after %g months, want 6.5 to 13", course.days, course.minutes, got)
		}
	}
}
