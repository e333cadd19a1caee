package drill_test

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// whole is a sitting that has been gone through.
type whole struct {
	plan   *drill.Plan
	log    []logbook.Entry
	inputs []drill.Stored
	result *score.Result
}

// goThrough plays a built-in scenario virtually.
func goThrough(t *testing.T, name string, answers *scenario.Answers, change func(*drill.Plan)) *whole {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	b, err := lib.Resolve(name)
	if err != nil {
		t.Fatal(err)
	}
	w := &whole{plan: &drill.Plan{
		Profile: b.Profile, Procedure: b.Procedure, Scenario: b.Scenario, Abnormals: lib.Abnormals(),
		Mode: b.Scenario.Mode, Seed: 7, Lead: 60 * time.Millisecond,
	}}
	if change != nil {
		change(w.plan)
	}
	s, err := drill.New(w.plan)
	if err != nil {
		t.Fatal(err)
	}
	trainee, err := drill.NewTrainee(s, answers)
	if err != nil {
		t.Fatal(err)
	}
	err = drill.Run(s, trainee, drill.EstimatedLength, func(o drill.Output) error {
		if l, ok := o.(drill.Log); ok {
			w.log = append(w.log, l.Entry)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	w.result = score.Judge(score.NewSheet(w.plan.Procedure, w.plan.Scenario, w.plan.Abnormals, w.plan.Mode), w.log)
	return w
}

func perfect() *scenario.Answers { return &scenario.Answers{StartFrom: scenario.Perfect} }

// items gives the ids of the items with an outcome.
func (w *whole) items(o score.Outcome) []string {
	var ids []string
	for _, it := range w.result.Items {
		if it.Outcome == o {
			ids = append(ids, it.ID)
		}
	}
	return ids
}

func TestPerfectFirstStart(t *testing.T) {
	w := goThrough(t, "first-start", perfect(), nil)
	if !w.result.Completed || !w.result.Passed {
		t.Fatalf("completed %v, passed %v; wanted both: %+v", w.result.Completed, w.result.Passed, w.result.Criteria)
	}
	right, asked := len(w.items(score.Right)), len(w.result.Items)-len(w.items(score.NotAsked))
	if right < 55 || right != asked {
		t.Errorf("%d of %d items right; wanted all of at least 55", right, asked)
	}
	var names []string
	for _, in := range w.result.Injections {
		names = append(names, in.Abnormal)
		if in.Outcome != score.Handled || in.Resumed != "right" {
			t.Errorf("%s: %s, resumed %q; wanted handled and right", in.Abnormal, in.Outcome, in.Resumed)
		}
	}
	if want := []string{"low-fuel-pressure", "hot-start", "low-rotor-hover"}; !slices.Equal(names, want) {
		t.Errorf("injections %v; wanted %v", names, want)
	}
}

func TestOneLeftOutAndTwoSwapped(t *testing.T) {
	answers := perfect()
	answers.LeaveOut = []string{"anti-collision"}
	answers.Swap = [][]string{{"avionics", "inverter"}}
	w := goThrough(t, "first-start", answers, nil)
	if got := w.items(score.Omitted); !slices.Equal(got, []string{"anti-collision"}) {
		t.Errorf("omitted %v", got)
	}
	if got := w.items(score.OutOfOrder); !slices.Equal(got, []string{"avionics", "inverter"}) {
		t.Errorf("out of order %v", got)
	}
	d := w.result.Order.Deviations
	if len(d) != 1 || d[0].Kind != "reversal" || !slices.Equal(d[0].Items, []string{"inverter", "avionics"}) {
		t.Errorf("deviations %+v; wanted one reversal", d)
	}
	for _, o := range []score.Outcome{score.Wrong, score.Late, score.Repeated, score.NotReached} {
		if got := w.items(o); len(got) > 0 && !slices.Equal(got, []string{"fuel-done"}) {
			t.Errorf("%s: %v; wanted nothing else to be reported", o, got)
		}
	}
	if w.result.Passed {
		t.Error("passed with an item left out and two swapped")
	}
}

// A perfect trainee passes every built-in scenario, and each ends with everything asked for answered.
func TestEveryScenarioCanBePassed(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, sc := range lib.Scenarios() {
		t.Run(sc.Name, func(t *testing.T) {
			w := goThrough(t, sc.Name, perfect(), nil)
			if !w.result.Passed {
				t.Errorf("not passed: %+v", w.result.Criteria)
			}
		})
	}
}

// The same plan and inputs give the same log, byte for byte; so does a replay from the inputs, and it scores the same.
func TestSameAgainAndReplayed(t *testing.T) {
	for _, name := range []string{"first-start", "cold-morning", "hover-alerts", "recall-start"} {
		t.Run(name, func(t *testing.T) {
			first, second := goThrough(t, name, perfect(), nil), goThrough(t, name, perfect(), nil)
			same(t, "log of a second run", first.log, second.log)
			same(t, "score of a second run", first.result, second.result)

			var inputs []drill.Stored
			for _, e := range first.log {
				switch e.Kind {
				case logbook.Press:
					p, err := drill.ParsePress(e.Key)
					if err != nil {
						t.Fatal(err)
					}
					inputs = append(inputs, drill.Stored{At: e.At, Event: p})
				case logbook.Heard:
					if e.Name == "" {
						inputs = append(inputs, drill.Stored{At: e.At, Event: drill.Heard{Cue: e.Cue, Onset: e.Onset, End: e.Until}})
					}
				}
			}
			var log []logbook.Entry
			err := drill.Replay(first.plan, inputs, first.log[len(first.log)-1].At, func(o drill.Output) error {
				if l, ok := o.(drill.Log); ok {
					log = append(log, l.Entry)
				}
				return nil
			})
			if err != nil {
				t.Fatal(err)
			}
			same(t, "replayed log", first.log, log)
		})
	}
}

func same(t *testing.T, what string, a, b any) {
	t.Helper()
	x, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	y, err := json.Marshal(b)
	if err != nil {
		t.Fatal(err)
	}
	if string(x) != string(y) {
		t.Errorf("%s differs", what)
	}
}

// What a late hand costs is the aircraft's own answer: with half the delay a hot start stays cooler.
func TestHalfTheDelayCostsLess(t *testing.T) {
	answers := perfect()
	answers.Answers = []scenario.Answer{{Abnormal: "hot-start", After: 6 * time.Second, Press: []string{"s", "]"}}}
	// The selector goes back to off by way of shift: from idle, the position before.
	answers.Answers[0].Press = []string{"shift+s", "]"}
	w := goThrough(t, "first-start", answers, nil)
	var inputs []drill.Stored
	for _, e := range w.log {
		if e.Kind == logbook.Press {
			p, err := drill.ParsePress(e.Key)
			if err != nil {
				t.Fatal(err)
			}
			inputs = append(inputs, drill.Stored{At: e.At, Event: p})
		}
		if e.Kind == logbook.Heard && e.Name == "" {
			inputs = append(inputs, drill.Stored{At: e.At, Event: drill.Heard{Cue: e.Cue, Onset: e.Onset, End: e.Until}})
		}
	}
	as, moved, err := drill.Costs(w.plan, inputs, w.log, "hot-start#2", 0.5)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(as, func(c drill.Cost) bool { return c.Gauge == "tot2" })
	if i < 0 {
		t.Fatalf("TOT 2 cost nothing: %+v", as)
	}
	if !(moved[i].Highest < as[i].Highest && moved[i].InRed < as[i].InRed) {
		t.Errorf("half the delay: %+v; as it was: %+v", moved[i], as[i])
	}
}
