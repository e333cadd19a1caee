package score_test

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hornlark/drill"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// deskPlans gives the short flows that the transcripts of drill are made with.
func deskPlans(t *testing.T) []*drill.Plan {
	t.Helper()
	builtin, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	lib, err := builtin.With("../testdata/desk")
	if err != nil {
		t.Fatal(err)
	}
	var plans []*drill.Plan
	for _, name := range []string{"desk-quiet", "desk-walker", "desk-walker-back", "desk-drawn", "desk-passer-by", "desk-alerts"} {
		b, err := lib.Resolve(name)
		if err != nil {
			t.Fatal(err)
		}
		plans = append(plans, &drill.Plan{
			Profile: b.Profile, Procedure: b.Procedure, Scenario: b.Scenario, Abnormals: b.Abnormals, Mode: b.Scenario.Mode, Lead: 60 * time.Millisecond,
		})
	}
	return plans
}

// anyInputs draws what a trainee and a sound card might do in a quarter of a minute: keys that the flows want and others,
// pauses, sounds that are heard when they are due or later, and sound that goes bad.
func anyInputs() *rapid.Generator[[]drill.Stored] {
	keys := []drill.Key{"'", "m", "n", "0", "1", "8", "4", ",", drill.Yes, drill.Yes, drill.No, drill.Quiet, drill.SayAgain, drill.Hold, "x"}
	return rapid.Custom(func(t *rapid.T) []drill.Stored {
		var inputs []drill.Stored
		at := time.Duration(0)
		for range rapid.IntRange(0, 25).Draw(t, "inputs") {
			at += time.Duration(rapid.IntRange(0, 1200).Draw(t, "gap")) * time.Millisecond
			var e drill.Event = drill.Press{Key: rapid.SampledFrom(keys).Draw(t, "key")}
			switch n := rapid.IntRange(0, 9).Draw(t, "event"); {
			case n < 3:
				e = drill.Heard{Cue: rapid.IntRange(1, 30).Draw(t, "cue"), Onset: at, End: at + time.Second}
			case n == 3:
				e = drill.SoundHealth{Good: rapid.Bool().Draw(t, "good"), Why: "late"}
			}
			inputs = append(inputs, drill.Stored{At: at, Event: e})
		}
		return inputs
	})
}

// goThrough gives the log of a sitting with these inputs.
func goThrough(t *rapid.T, plan *drill.Plan, inputs []drill.Stored, until time.Duration) []logbook.Entry {
	var log []logbook.Entry
	err := drill.Replay(plan, inputs, until, func(o drill.Output) error {
		if l, ok := o.(drill.Log); ok {
			log = append(log, l.Entry)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return log
}

// A sitting that is gone through again scores as it did live: from the inputs as they were encoded to be kept, and from the
// inputs that its log tells of. The replay is fed its inputs where the live sitting was woken many times between them.
func TestReplayScoresAsLive(t *testing.T) {
	plans := deskPlans(t)
	rapid.Check(t, func(t *rapid.T) {
		plan := *rapid.SampledFrom(plans).Draw(t, "plan")
		plan.Seed = rapid.Uint64().Draw(t, "seed")
		if plan.Mode != scenario.Alerts {
			plan.Mode = rapid.SampledFrom([]scenario.Mode{scenario.Prompted, scenario.Recall, scenario.Watch}).Draw(t, "mode")
		}
		inputs := anyInputs().Draw(t, "inputs")
		until := 2 * time.Second
		if n := len(inputs); n > 0 {
			until += inputs[n-1].At
		}
		live := liveLog(t, &plan, inputs, until)
		kept := slices.Clone(inputs)
		for i := range kept {
			event, err := drill.DecodeEvent(drill.EncodeEvent(kept[i].Event))
			if err != nil {
				t.Fatal(err)
			}
			kept[i].Event = event
		}
		told, err := drill.InputsOf(live)
		if err != nil {
			t.Fatal(err)
		}
		sheet := score.NewSheet(plan.Procedure, plan.Scenario, plan.Abnormals, plan.Mode)
		want := score.Judge(sheet, live)
		for name, again := range map[string][]drill.Stored{"from what was kept": kept, "from the log": told} {
			if got := score.Judge(sheet, goThrough(t, &plan, again, until)); !reflect.DeepEqual(want, got) {
				t.Fatalf("%s it scores\n%+v\nand it scored\n%+v", name, got, want)
			}
		}
	})
}

// liveLog is the log of a sitting that is woken as a live one is: at its own deadlines, and sometimes in between.
func liveLog(t *rapid.T, plan *drill.Plan, inputs []drill.Stored, until time.Duration) []logbook.Entry {
	s, err := drill.New(plan)
	if err != nil {
		t.Fatal(err)
	}
	var log []logbook.Entry
	drain := func() {
		for _, o := range s.Outputs() {
			if l, ok := o.(drill.Log); ok {
				log = append(log, l.Entry)
			}
		}
	}
	advance := func(to time.Duration) {
		if err := s.Advance(to); err != nil {
			t.Fatal(err)
		}
		drain()
	}
	now := time.Duration(0)
	for _, in := range inputs {
		advance(now + (in.At-now)/3)
		advance(in.At)
		now = in.At
		if err := s.Input(in.At, in.Event); err != nil {
			t.Fatal(err)
		}
		drain()
	}
	advance(until)
	return log
}
