package bench_test

import (
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

// desk is the setup of a short flow of the transcripts.
func desk(t testing.TB, name string) drilltest.Setup {
	t.Helper()
	builtin, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	lib, err := builtin.With("../testdata/desk")
	if err != nil {
		t.Fatal(err)
	}
	return drilltest.Of(t, lib, name)
}

// Answers that cannot be given are refused in words that say which and why.
func TestAnswersThatCannotBeGiven(t *testing.T) {
	ex, err := drill.Compile(desk(t, "desk-quiet").Documents)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		answers scenario.Answers
		says    []string
	}{
		{scenario.Answers{LeaveOut: []string{"nowhere"}}, []string{`no item "nowhere"`}},
		{scenario.Answers{Swap: [][]string{{"brake", "nowhere"}}}, []string{`no item "nowhere"`}},
		{scenario.Answers{Swap: [][]string{{"brake"}}}, []string{"pairs"}},
		{scenario.Answers{Swap: [][]string{{"lights", "guard"}}}, []string{"guard", "in words"}},
		{scenario.Answers{Swap: [][]string{{"fuel", "pump"}}}, []string{"pump", "fuel", "digits"}},
		{scenario.Answers{Answers: []scenario.Answer{{Item: "nowhere", Press: []string{"a"}}}}, []string{`no item "nowhere"`}},
		{scenario.Answers{Answers: []scenario.Answer{{Item: "brake", Press: []string{"F1"}}}}, []string{`no key "F1"`, "shift+a"}},
	} {
		_, err := bench.NewTrainee(ex, ex.Begin(1, 0), &c.answers)
		for _, word := range c.says {
			if err == nil || !strings.Contains(err.Error(), word) {
				t.Errorf("%+v: %v; wanted it to say %q", c.answers, err, word)
			}
		}
	}
}

// Listed answers alone are given when their occasion comes, and nothing else is.
func TestListedAnswersAlone(t *testing.T) {
	s := desk(t, "desk-walker").Through(t, &scenario.Answers{Answers: []scenario.Answer{
		{Item: "brake", After: 2 * time.Second, Press: []string{"'"}},
		{Abnormal: "walker", After: 1500 * time.Millisecond, Every: 400 * time.Millisecond, Press: []string{",", "0"}},
		{At: 100 * time.Second, Press: []string{"stop"}},
	}}, nil)
	var brake, onset time.Duration
	presses := map[string]time.Duration{}
	for _, e := range s.Log {
		switch e.Kind {
		case logbook.Heard:
			if e.Cue == 1 {
				brake = e.Until
			}
		case logbook.Onset:
			onset = e.At
		case logbook.Press:
			presses[e.Key] = e.At
		}
	}
	for key, want := range map[string]time.Duration{
		"'": brake + 2*time.Second, ",": onset + 1500*time.Millisecond, "0": onset + 1900*time.Millisecond, "stop": 100 * time.Second,
	} {
		if presses[key] != want {
			t.Errorf("%s at %v; wanted %v", key, presses[key], want)
		}
	}
	if len(presses) != 4 {
		t.Errorf("pressed %v", presses)
	}
}

// What is left out, swapped and ignored is just that; everything else is right.
func TestPerfectBut(t *testing.T) {
	s := desk(t, "desk-walker").Through(t, &scenario.Answers{
		StartFrom: scenario.Perfect, LeaveOut: []string{"pump"}, Swap: [][]string{{"brake", "lights"}}, Ignore: []string{"walker"}, Reaction: 900 * time.Millisecond,
	}, nil)
	done := map[string]int{}
	for _, e := range s.Log {
		switch e.Kind {
		case logbook.Done:
			done[e.Item] = len(done) + 1
		case logbook.Action, logbook.StopCall, logbook.Handled:
			t.Errorf("ignored, and yet: %s", e.Describe())
		}
	}
	if done["pump"] != 0 || done["lights"] != 1 || done["brake"] != 2 || len(done) != 10 { // without the pump there is no pressure to call
		t.Errorf("done in the order %v", done)
	}
}

// It goes by what a person sees: on the same sitting with an injection that it is to ignore, it presses the same until something of
// that shows.
func TestTraineeSeesNoInjection(t *testing.T) {
	presses := func(name string) (list []time.Duration, onset time.Duration) {
		s := desk(t, name).Through(t, &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"walker"}}, nil)
		for _, e := range s.Log {
			switch e.Kind {
			case logbook.Press:
				list = append(list, e.At)
			case logbook.Onset:
				onset = e.At
			}
		}
		return list, onset
	}
	without, _ := presses("desk-quiet")
	with, onset := presses("desk-walker")
	same := 0
	for i := 0; i < len(without) && without[i] <= onset; i++ {
		if i >= len(with) || with[i] != without[i] {
			t.Fatalf("press %d at %v; without the injection at %v", i+1, with[i], without[i])
		}
		same++
	}
	if onset == 0 || same < 4 {
		t.Errorf("only %d presses until the onset at %v", same, onset)
	}
}

// A partner whom it has stopped is told to go on once nothing is left to wait for.
func TestTraineeHasThePartnerGoOn(t *testing.T) {
	s := desk(t, "desk-quiet").Through(t, &scenario.Answers{
		StartFrom: scenario.Perfect, Answers: []scenario.Answer{{At: 2 * time.Second, Press: []string{"stop"}}},
	}, nil)
	for _, e := range s.Log {
		if e.Kind == logbook.GoOn {
			if e.Why == logbook.Unanswered || e.At > 4*time.Second {
				t.Errorf("%s", e.Describe())
			}
			return
		}
	}
	t.Error("the partner never went on")
}
