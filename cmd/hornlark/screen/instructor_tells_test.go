package screen_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/bench"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

// Nobody tells of what the instructor does either: a sitting into which they have put an abnormal, at once or for a chosen moment, out of which
// they have taken one that was to come, in which they have written remarks and tried what cannot be done, is shown, said and sounded as the
// same sitting without any of it, up to the first difference in the aircraft.
func TestNobodyTellsOfTheInstructor(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		scenario string
		policy   scenario.PolicyName
	}{
		{"first-start", scenario.Prompted}, {"first-start-quiet", scenario.Recall}, {"watch-start", scenario.Watch},
		{"hand-start-early", scenario.Prompted}, {"turnstone-alerts", scenario.Alerts}, {"piston-start-busy", scenario.Recall},
	} {
		t.Run(c.scenario, func(t *testing.T) {
			t.Parallel()
			ex := compileOf(t, drilltest.Of(t, lib, c.scenario), c.policy, injectionsOf(drilltest.Of(t, lib, c.scenario).Scenario))
			var inserted, deleted told
			for seed := range uint64(max(1, *tellSeeds/2)) {
				inserted.add(instructed(t, ex, seed+1, nil, insertions(ex, seed)))
				if first := firstFixed(ex); first != "" {
					deleted.add(instructed(t, ex, seed+1, busywork(drill.Instruct{Do: drill.Delete, What: first}), nil))
				}
			}
			t.Log("inserted:", inserted)
			t.Log("deleted:", deleted)
			if inserted.steps == 0 || firstFixed(ex) != "" && deleted.shown == 0 {
				t.Error("nothing was compared")
			}
		})
	}
}

// instructed compares two sittings of an exercise that differ in what the instructor does.
func instructed(t *testing.T, ex *drill.Exercise, seed uint64, without, with []drill.Stored) told {
	a, b := begin(ex, seed), begin(ex, seed)
	a.acts, b.acts = without, with
	hand, err := bench.NewTrainee(ex, a.sitting, &scenario.Answers{StartFrom: scenario.Perfect, Reaction: time.Second + time.Duration(seed)*100*time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	c := comparison{t: t, a: a, b: b, hand: hand, either: true}
	c.run()
	if c.wrong != "" {
		t.Errorf("seed %d: %s", seed, c.wrong)
	}
	c.sum.sittings++
	return c.sum
}

// busywork is an act among others that change nothing in the aircraft.
func busywork(act drill.Instruct) []drill.Stored {
	return []drill.Stored{
		{At: 200 * time.Millisecond, Event: act},
		{At: 700 * time.Millisecond, Event: drill.Instruct{Do: drill.Remark, What: "Sits well."}},
		{At: 710 * time.Millisecond, Event: drill.Instruct{Do: drill.SetFuel, To: 1e9}},
		{At: 3 * time.Second, Event: drill.Instruct{Do: drill.Clear}},
		{At: 3 * time.Second, Event: drill.Instruct{Do: drill.SetBack, What: "no such phase"}},
		{At: 9 * time.Second, Event: drill.Instruct{Do: drill.Remark, What: "Looks at the map.", When: drill.Moment{At: 5 * time.Second}}},
		{At: 12 * time.Second, Event: drill.Instruct{Do: drill.Release}},
	}
}

// insertions put in one of all abnormals, at once, at a time, as an item is asked or as a phase begins.
func insertions(ex *drill.Exercise, seed uint64) []drill.Stored {
	draw := rand.New(rand.NewPCG(seed, 0x696e73))
	all := ex.CanInsert()
	act := drill.Instruct{Do: drill.Insert, What: all[draw.IntN(len(all))]}
	phases := ex.Procedure(seed).PhaseIDs()
	switch kind := draw.IntN(4); {
	case kind == 0, ex.Policy().Flow == scenario.Nothing:
		act.When.At = time.Duration(5+draw.IntN(40)) * time.Second
	case kind == 1:
		act.When.Phase = phases[1+draw.IntN(len(phases)-1)]
	case kind == 2:
		items := ex.Procedure(seed).Phases[0].Items
		act.When.Item = items[len(items)/2].ID
	}
	return busywork(act)
}

// firstFixed is the first injection of a scenario at a fixed point, by its own name; empty if it has none.
func firstFixed(ex *drill.Exercise) string {
	if sc := ex.Documents().Scenario; len(sc.Injections) > 0 {
		return sc.Injections[0].Abnormal + "#1"
	}
	return ""
}
