package drill_test

import (
	"testing"

	"hornlark/drill/drilltest"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// An abnormal that is still open as a refusal or a hold ends the flow has an outcome of its own: it is told apart from one whose
// time was over, and from one that nobody noticed, and counts as not handled.
func TestLeftOpen(t *testing.T) {
	frost := "held-frost" // the refusal of the air ends it
	for _, c := range []struct {
		way     string
		flow    string
		during  string
		answers []scenario.Answer
		ended   logbook.Reason
		want    score.Outcome
	}{
		{"refused, and noticed", frost, "air", []scenario.Answer{
			{Abnormal: "walker", After: 300e6, Press: []string{"stop", "stop"}}, {Item: "air", After: 1500e6, Press: []string{"backspace"}}}, logbook.Refused, score.LeftOpen},
		{"refused, and hardly there", frost, "air", []scenario.Answer{{Item: "air", Press: []string{"backspace"}}}, logbook.Refused, score.LeftOpen},
		{"refused, and not noticed", frost, "doors", nil, logbook.Refused, score.NotNoticed},
		{"held, and noticed", "desk-held", "other", []scenario.Answer{
			{Abnormal: "walker", After: 300e6, Press: []string{"stop", "stop"}}, {Item: "other", After: 1500e6, Press: []string{"enter"}}}, logbook.NotRight, score.LeftOpen},
	} {
		setup := drilltest.Of(t, deskLibrary(t), c.flow)
		sc := *setup.Scenario
		sc.Injections = []scenario.Injection{{Abnormal: "walker", During: c.during}}
		all := 1.0
		sc.Pass = scenario.Criteria{Handled: &all}
		setup.Scenario = &sc
		s := setup.Through(t, &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"walker"}, Answers: c.answers}, nil)
		var lost logbook.Entry
		for _, e := range s.Log {
			if e.Kind == logbook.Lost {
				lost = e
			}
		}
		if s.Result.EndedWhy != c.ended || lost.Why != logbook.LeftOpen {
			t.Errorf("%s: the flow ended %q, and it was lost %q", c.way, s.Result.EndedWhy, lost.Why)
		}
		if in := s.Result.Injections[0]; in.Outcome != c.want || s.Result.Handling.Count != 1 || s.Result.Handling.Handled != 0 || s.Result.Passed {
			t.Errorf("%s: %s, %d of %d handled, passed %v", c.way, in.Outcome, s.Result.Handling.Handled, s.Result.Handling.Count, s.Result.Passed)
		}
	}
}
