package main

import (
	"strings"
	"testing"
	"time"

	"hornlark/drill/library"
	"hornlark/drill/practice"
	"hornlark/drill/score"
)

// metAll is somebody who has met everything that can be practised, days ago.
func metAll(e *evening, at time.Time, stability float64) *practice.Known {
	k := practice.NewKnown(practice.DefaultWeights)
	meet := func(things []practice.Thing) {
		for _, t := range things {
			k.States[t] = &practice.State{Memory: practice.Memory{Stability: stability, Difficulty: 5}, Last: at.AddDate(0, 0, -4), Met: 3, Right: 3}
		}
	}
	for i := range e.units {
		meet(e.units[i].Things)
	}
	for i := range e.surprises {
		meet(e.surprises[i].Things)
	}
	return k
}

// Whatever is drawn for the built-in aircraft makes sound scenarios, what comes shows, and one without a mistake handles it. What is said before is
// the same for every draw, and has no title of an abnormal in it.
func TestEveningsOfTheBuiltInAircraft(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2027, 3, 1, 19, 0, 0, 0, time.UTC)
	seeds := uint64(12)
	if testing.Short() {
		seeds = 2
	}
	for _, prof := range lib.Profiles() {
		e, err := openEvening(lib, prof.Name)
		if err != nil {
			t.Fatal(err)
		}
		said, came := "", 0
		for seed := range seeds {
			s := &session{evening: e, options: &tonightOptions{minutes: 25}, known: metAll(e, at, 3), at: at, names: e.namesOf()}
			s.choice = e.choose(s.known, practice.Wish{}, 25*time.Minute, at, seed)
			before := s.before()
			if said == "" {
				said = before
			}
			if before != said {
				t.Fatalf("%s: another draw says something else before:\n%s\n%s", prof.Name, said, before)
			}
			for _, a := range e.abnormals {
				if strings.Contains(before, a.Title) || strings.Contains(before, a.Name) && a.Name != "radio-call" {
					t.Fatalf("%s: %s is named before:\n%s", prof.Name, a.Name, before)
				}
			}
			for i := range s.choice.Legs {
				leg := &s.choice.Legs[i]
				bundle, err := lib.Bundle(e.made(leg, ""))
				if err != nil {
					t.Fatalf("%s, seed %d: %v", prof.Name, seed, err)
				}
				result := perfectly(t, bundle, leg.Seed)
				for _, in := range result.Injections {
					came++
					switch in.Outcome {
					case score.Handled, score.LeftAlone, score.Unseen, score.Unended:
					default:
						t.Errorf("%s, seed %d, %s: %s is %s", prof.Name, seed, bundle.Scenario.Name, in.Abnormal, in.Outcome)
					}
					if in.Outcome == score.Unseen {
						t.Errorf("%s, seed %d, %s: %s never shows", prof.Name, seed, bundle.Scenario.Name, in.Abnormal)
					}
				}
			}
		}
		if came < int(seeds) {
			t.Errorf("%s: only %d came in %d evenings", prof.Name, came, seeds)
		}
	}
}

// perfectly goes through a scenario without a mistake.
func perfectly(t *testing.T, bundle *library.Bundle, seed uint64) *score.Result {
	t.Helper()
	o := &drillOptions{bundled: bundle, seed: seed, seedSet: true, answers: "perfect", virtual: true, layout: "qwerty"}
	ex, err := o.exercise()
	if err != nil {
		t.Fatalf("%s: %v", bundle.Scenario.Name, err)
	}
	if err := ex.onPaper(); err != nil {
		t.Fatalf("%s: %v", bundle.Scenario.Name, err)
	}
	return ex.judge()
}

// Every abnormal with something wrong in the aircraft is of a family.
func TestEveryAbnormalHasAFamily(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range lib.Abnormals() {
		found := len(a.Cause) == 0
		for _, name := range familyNames() {
			found = found || inFamily(a, name)
		}
		if !found {
			t.Errorf("%s is of no family", a.Name)
		}
	}
}
