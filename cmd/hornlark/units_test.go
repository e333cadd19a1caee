package main

import (
	"testing"
	"time"

	"hornlark/drill/library"
	"hornlark/drill/practice"
	"hornlark/drill/score"
)

// What can be practised with each built-in aircraft is all of its flows, abnormals and limits: every item and every step once, in
// phases that together take as long as the whole sitting.
func TestUnitsOfTheBuiltInAircraft(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, prof := range lib.Profiles() {
		units, err := unitsOf(lib, prof.Name)
		if err != nil {
			t.Fatal(err)
		}
		seen := map[practice.Thing]bool{}
		kinds, whole, abnormals := map[practice.UnitKind]int{}, map[string]time.Duration{}, 0
		items, steps := map[string]int{}, map[string]int{}
		for _, u := range units {
			kinds[u.Kind]++
			whole[u.Of] += u.Length
			if u.Title == "" || u.Name == "" || u.Length < time.Second || len(u.Things) == 0 {
				t.Errorf("%s: unit %+v lacks something", prof.Name, u)
			}
			for _, thing := range u.Things {
				if seen[thing] {
					t.Errorf("%s: %v is in two units, or twice in one", prof.Name, thing)
				}
				seen[thing] = true
				switch thing.Kind {
				case score.TrialItem:
					items[thing.Of]++
				case score.TrialStep:
					steps[thing.Of]++
				}
			}
		}
		for _, a := range lib.Abnormals() {
			if a.Profile == prof.Name && !a.Harmless {
				abnormals++
			}
		}
		if kinds[practice.AbnormalUnit] != abnormals || kinds[practice.LimitsUnit] != 1 {
			t.Errorf("%s: units are %v, with %d abnormals in the library", prof.Name, kinds, abnormals)
		}
		for _, proc := range lib.Procedures() {
			plain := undisturbed(lib, proc)
			if proc.Profile != prof.Name || plain == nil {
				continue
			}
			if n := items[proc.Name]; n < proc.Count()*9/10 || n > proc.Count() || steps[proc.Name] != n-1 {
				t.Errorf("%s has %d items; its units have %d, and %d steps", proc.Name, proc.Count(), n, steps[proc.Name])
			}
			_, log, err := onPaper(lib, plain)
			if err != nil {
				t.Fatal(err)
			}
			if end := log[len(log)-1].At; whole[proc.Name] < end-5*time.Second || whole[proc.Name] > end {
				t.Errorf("%s takes %v, its phases %v", proc.Name, end, whole[proc.Name])
			}
		}
	}
}
