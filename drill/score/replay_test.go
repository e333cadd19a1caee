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

// lead is how far ahead of time sounds are asked for.
const lead = 60 * time.Millisecond

// deskExercises gives the short flows that the transcripts of drill are made with, by every policy that has a flow and by their own.
func deskExercises(t *testing.T) []*drill.Exercise {
	t.Helper()
	builtin, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	lib, err := builtin.With("../testdata/desk")
	if err != nil {
		t.Fatal(err)
	}
	var exercises []*drill.Exercise
	for _, name := range []string{"desk-quiet", "desk-walker", "desk-walker-back", "desk-drawn", "desk-passer-by", "desk-alerts"} {
		b, err := lib.Resolve(name)
		if err != nil {
			t.Fatal(err)
		}
		policies := []scenario.PolicyName{scenario.Prompted, scenario.Recall, scenario.Watch}
		if b.Scenario.Policy == scenario.Alerts {
			policies = []scenario.PolicyName{scenario.Alerts}
		}
		for _, policy := range policies {
			ex, err := drill.Compile(drill.Documents{
				Profile: b.Profile, Procedure: b.Procedure, Scenario: b.Scenario, Abnormals: b.Abnormals, Policy: policy,
			})
			if err != nil {
				t.Fatal(err)
			}
			exercises = append(exercises, ex)
		}
	}
	return exercises
}

// anyInputs draws what a trainee and a sound card might do in a quarter of a minute: keys that the flows want and others,
// stop calls, pauses, sounds that are heard when they are due or later, and sound that goes bad.
func anyInputs() *rapid.Generator[[]drill.Stored] {
	keys := []drill.Key{"'", "m", "n", "0", "1", "8", "4", ",", drill.Yes, drill.Yes, drill.No, drill.Quiet, drill.SayAgain, drill.Hold, "stop", "x"}
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

// A sitting that is gone through again scores as it did live: from the inputs as they were encoded to be kept, and from the
// inputs that its log tells of. The replay is fed its inputs where the live sitting was woken many times between them.
func TestReplayScoresAsLive(t *testing.T) {
	exercises := deskExercises(t)
	rapid.Check(t, func(t *rapid.T) {
		ex := rapid.SampledFrom(exercises).Draw(t, "exercise")
		seed := rapid.Uint64().Draw(t, "seed")
		inputs := anyInputs().Draw(t, "inputs")
		until := 2 * time.Second
		if n := len(inputs); n > 0 {
			until += inputs[n-1].At
		}
		live := logOf(t, ex.Begin(seed, lead), inputs, until, true)
		kept := slices.Clone(inputs)
		for i := range kept {
			event, err := drill.DecodeEvent(drill.EncodeEvent(kept[i].Event))
			if err != nil {
				t.Fatal(err)
			}
			kept[i].Event = event
		}
		told := drill.InputsOf(live)
		want := score.Judge(ex.Sheet(seed), live)
		for name, again := range map[string][]drill.Stored{"from what was kept": kept, "from the log": told} {
			if got := score.Judge(ex.Sheet(seed), logOf(t, ex.Begin(seed, lead), again, until, false)); !reflect.DeepEqual(want, got) {
				t.Fatalf("%s it scores\n%+v\nand it scored\n%+v", name, got, want)
			}
		}
	})
}

// logOf is the log of a sitting with these inputs. One that is woken is so as a live one is: in between as well.
func logOf(t *rapid.T, s *drill.Sitting, inputs []drill.Stored, until time.Duration, woken bool) []logbook.Entry {
	var log []logbook.Entry
	do := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range s.Outputs() {
			if l, ok := o.(drill.Log); ok {
				log = append(log, l.Entry)
			}
		}
	}
	now := time.Duration(0)
	for _, in := range inputs {
		if woken {
			do(s.Advance(now + (in.At-now)/3))
			do(s.Advance(in.At))
		}
		now = in.At
		do(s.Input(in.At, in.Event))
	}
	do(s.Advance(until))
	return log
}
