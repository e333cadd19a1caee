package drill_test

import (
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hornlark/drill"
)

// Whoever keeps a view and looks with it again and again, now at all and now at what a hand goes by, sees what somebody sees who looks
// for the first time, whatever is done between two looks.
func TestAKeptViewShowsWhatANewOneShows(t *testing.T) {
	plans := deskPlans(t)
	rapid.Check(t, func(t *rapid.T) {
		plan, inputs := anyPlan(plans).Draw(t, "plan"), anyInputs().Draw(t, "inputs")
		s, other := plan.begin(), plan.begin()
		var kept drill.View
		look := func() {
			var fresh drill.View
			if rapid.Bool().Draw(t, "all") {
				s.View(&kept)
				s.View(&fresh)
			} else {
				kept.Bands, kept.Locked, kept.Said = nil, nil, nil
				s.Glance(&kept)
				s.Glance(&fresh)
			}
			if !reflect.DeepEqual(kept, fresh) {
				t.Fatalf("the kept view shows\n%+v\nand a new one\n%+v", kept, fresh)
			}
		}
		for _, in := range inputs {
			if err := s.Advance(in.At); err != nil {
				t.Fatal(err)
			}
			look()
			if err := s.Input(in.At, in.Event); err != nil {
				t.Fatal(err)
			}
			look()
			if rapid.IntRange(0, 7).Draw(t, "elsewhere") == 0 { // a look at another sitting in between
				other.Glance(&kept)
			}
		}
	})
}

// A view that goes from one sitting to another shows the other, however alike what has happened in the two of them is.
func TestOneViewOfTwoSittings(t *testing.T) {
	plan := planOf(t, deskLibrary(t), "first-start-quiet")
	var kept drill.View
	for _, key := range []drill.Key{"1", "2", "3"} {
		s := plan.begin()
		if err := s.Input(time.Second, drill.Press{Key: key}); err != nil {
			t.Fatal(err)
		}
		var fresh drill.View
		s.Glance(&kept)
		s.Glance(&fresh)
		if !reflect.DeepEqual(kept, fresh) {
			t.Errorf("after %s the kept view shows\n%+v\nand a new one\n%+v", key, kept, fresh)
		}
	}
}
