package drill_test

import (
	"slices"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/bench"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

// expecting notes between two calls of a sitting what may be said next.
type expecting struct {
	drill.Hand
	sitting      *drill.Sitting
	expected     []drill.Utterance
	named, calls int
}

func (e *expecting) Next() (time.Duration, drill.Press, bool) {
	e.expected = e.sitting.MaySay()
	e.named, e.calls = e.named+len(e.expected), e.calls+1
	return e.Hand.Next()
}

// TestWhatIsSaidWasToBeExpected goes through every built-in scenario, perfectly and with nothing done, and holds MaySay to what was
// then said: hardly anything may come that it had not named a step before.
func TestWhatIsSaidWasToBeExpected(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	hands := map[string]*scenario.Answers{"perfect": {StartFrom: scenario.Perfect}, "nothing": {}}
	said, missed, named, calls := 0, 0, 0, 0
	for i, sc := range lib.Scenarios() {
		if testing.Short() && i%4 != 0 {
			continue
		}
		for how, answers := range hands {
			setup := drilltest.Of(t, lib, sc.Name)
			if n := len(setup.Procedure.Phases); n > 1 && i%3 == 1 && how == "perfect" && sc.Policy == scenario.Prompted { // and some parts
				setup.Scenario = sc.Only(setup.Procedure, setup.Procedure.PhaseIDs()[n-2:])
			}
			ex, err := drill.Compile(setup.Documents)
			if err != nil {
				t.Fatal(err)
			}
			s := ex.Begin(setup.Seed, setup.Lead)
			hand, err := bench.NewTrainee(ex, s, answers)
			if err != nil {
				t.Fatal(err)
			}
			e := &expecting{Hand: hand, sitting: s, expected: s.MaySay()}
			err = drill.Run(s, e, drill.EstimatedLength, func(o drill.Output) error {
				if say, ok := o.(drill.Say); ok {
					said++
					if !slices.Contains(e.expected, drill.Utterance{Voice: say.Voice, Text: say.Text}) {
						missed++
						t.Logf("%s, %s: %q was not named", sc.Name, how, say.Text)
					}
				}
				return nil
			})
			if err != nil {
				t.Fatalf("%s, %s: %v", sc.Name, how, err)
			}
			named, calls = named+e.named, calls+e.calls
		}
	}
	t.Logf("%d of %d utterances had not been named; %.1f were named at a time", missed, said, float64(named)/float64(calls))
	if said < 1000 && !testing.Short() || missed*100 > said {
		t.Errorf("%d of %d utterances had not been named, want 1 in 100 at most", missed, said)
	}
}
