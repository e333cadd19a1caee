package bench_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/bench"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// Answers may say what an instructor does meanwhile, and when: it is done at its time, also while the sitting is held, and logged with its
// seat. A replay from the log goes the same way.
func TestAnInstructorInAnswers(t *testing.T) {
	answers := &scenario.Answers{StartFrom: scenario.Perfect, Acts: []scenario.Act{
		{At: 2 * time.Second, Do: "insert", What: "walker", Item: "doors"},
		{At: 3 * time.Second, Do: "weather", What: "oat", To: 31},
		{At: 5 * time.Second, Do: "freeze"},
		{At: 8 * time.Second, Do: "remark", What: "Sits well."},
		{At: 65 * time.Second, Do: "release"},
		{At: 70 * time.Second, Do: "fuel", To: 1e6},
		{At: time.Hour, Do: "say", What: "Nobody is there any more."},
	}}
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	lib, err = lib.With("../testdata/desk")
	if err != nil {
		t.Fatal(err)
	}
	setup := drilltest.Of(t, lib, "desk-quiet")
	ex, err := drill.Compile(setup.Documents)
	if err != nil {
		t.Fatal(err)
	}
	s := setup.On(t, ex, answers, nil)
	var got []string
	var clock logbook.Clock
	for i := range s.Log {
		e := &s.Log[i]
		at := clock.Follow(e)
		if e.Seat == logbook.Instructor && e.Kind != logbook.Moved {
			got = append(got, strings.TrimSpace(strings.Join([]string{at.String(), string(e.Kind), e.Name, string(e.Why)}, " ")))
		}
	}
	want := []string{"2s instruct insert", "3s instruct weather", "5s paused", "5s instruct remark", "1m5s unpaused", "1m10s instruct fuel range"}
	if got = slices.DeleteFunc(got, func(line string) bool { return strings.Contains(line, "inject") }); !slices.Equal(got, want) {
		t.Errorf("%q; wanted %q", got, want)
	}
	if len(s.Result.Injections) != 1 || !s.Result.Injections[0].Inserted || len(s.Result.Instructed) != 3 || len(s.Result.Remarks) != 1 {
		t.Errorf("%+v, %+v, %+v", s.Result.Injections, s.Result.Instructed, s.Result.Remarks)
	}
	var again []logbook.Entry
	if err := ex.Begin(setup.Seed, setup.Lead).Replay(drill.InputsOf(s.Log), time.Hour, func(o drill.Output) error {
		if l, ok := o.(drill.Log); ok {
			again = append(again, l.Entry)
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(again, s.Log) {
		t.Error("it does not come to the same again")
	}
	for _, c := range []struct {
		act  scenario.Act
		says string
	}{
		{scenario.Act{Do: "insert", What: "wlaker"}, `no abnormal "wlaker" can be put into this scenario; there are `},
		{scenario.Act{Do: "insert", What: "walker", Phase: "lief"}, `no phase "lief" is gone through; there are cold, live`},
		{scenario.Act{Do: "back", What: "rundown"}, `no phase "rundown" is gone through`},
		{scenario.Act{Do: "insert", What: "walker", Item: "dors"}, `"dors"`},
	} {
		_, err := bench.NewTrainee(ex, ex.Begin(1, 0), &scenario.Answers{Acts: []scenario.Act{c.act}})
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: %v; wanted %s", c.act, err, c.says)
		}
	}
}

// What an instructor does by answers is all that a sitting takes, under the same names.
func TestDeedsAreInstructions(t *testing.T) {
	if len(scenario.Deeds) != len(drill.Instructions) {
		t.Errorf("%v, and %v", scenario.Deeds, drill.Instructions)
	}
	for _, do := range drill.Instructions {
		if !slices.Contains(scenario.Deeds, string(do)) {
			t.Errorf("answers know no %s", do)
		}
	}
}
