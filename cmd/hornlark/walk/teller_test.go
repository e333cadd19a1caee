package walk_test

import (
	"fmt"
	"testing"
	"time"

	"hornlark/cmd/hornlark/walk"
	"hornlark/drill"
	"hornlark/drill/debrief"
	"hornlark/drill/drilltest"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// What is told while a sitting goes on is in the end what is told of it afterwards, but for what only its result tells.
func TestTellingComesToTheWalk(t *testing.T) {
	for _, name := range []string{"first-start", "hover-alerts", "watch-start", "recall-start", "limits"} {
		s := drilltest.Through(t, name, &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"low-rotor-hover"}}, nil, nil)
		names := debrief.Names{Gauges: map[string]string{"nr": "ROTOR"}}
		until := s.Log[len(s.Log)-1].At
		want, err := walk.Through(s.Exercise.Begin(s.Seed, s.Lead), drill.InputsOf(s.Log), until, s.Profile, names, &score.Result{})
		if err != nil {
			t.Fatal(err)
		}
		teller, told, view := walk.NewTeller(s.Profile, names), []walk.Moment(nil), drill.View{}
		again := s.Exercise.Begin(s.Seed, s.Lead)
		err = again.Replay(drill.InputsOf(s.Log), until, func(o drill.Output) error {
			if l, ok := o.(drill.Log); ok {
				again.View(&view)
				from, news := teller.Tell(&l.Entry, &view)
				if from > len(told) {
					return fmt.Errorf("moment %d is told after %d", from, len(told))
				}
				told = append(told[:from], news...)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		// Both are sorted by running time, of which the moments of a walk keep nothing.
		if len(told) != len(want.Moments) {
			t.Fatalf("%s: %d moments were told of, and there are %d", name, len(told), len(want.Moments))
		}
		line := func(m walk.Moment) string {
			return fmt.Sprint(m.At.Round(time.Millisecond), " ", m.Kind, " ", m.Text, " ", m.Slip)
		}
		for i := range told {
			if line(told[i]) != line(want.Moments[i]) {
				t.Errorf("%s: moment %d is %q, and was told as %q", name, i, line(want.Moments[i]), line(told[i]))
				break
			}
		}
	}
}
