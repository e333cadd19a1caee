package drill_test

import (
	"strings"
	"testing"

	"hornlark/drill"
	"hornlark/drill/scenario"
)

// Answers that cannot be given are refused in words that say which and why.
func TestAnswersThatCannotBeGiven(t *testing.T) {
	plan := planOf(t, deskLibrary(t), "desk-quiet")
	for _, c := range []struct {
		answers scenario.Answers
		says    []string
	}{
		{scenario.Answers{LeaveOut: []string{"nowhere"}}, []string{`no item "nowhere"`}},
		{scenario.Answers{Swap: [][]string{{"brake", "nowhere"}}}, []string{`no item "nowhere"`}},
		{scenario.Answers{Swap: [][]string{{"brake"}}}, []string{"pairs"}},
		{scenario.Answers{Swap: [][]string{{"cabin", "guard"}}}, []string{"guard", "in words"}},
		{scenario.Answers{Swap: [][]string{{"fuel", "pump"}}}, []string{"pump", "fuel", "digits"}},
		{scenario.Answers{Answers: []scenario.Answer{{Item: "nowhere", Press: []string{"a"}}}}, []string{`no item "nowhere"`}},
		{scenario.Answers{Answers: []scenario.Answer{{Item: "brake", Press: []string{"F1"}}}}, []string{`no key "F1"`, "shift+a"}},
	} {
		s, err := drill.New(plan)
		if err != nil {
			t.Fatal(err)
		}
		_, err = drill.NewTrainee(s, &c.answers)
		for _, word := range c.says {
			if err == nil || !strings.Contains(err.Error(), word) {
				t.Errorf("%+v: %v; wanted it to say %q", c.answers, err, word)
			}
		}
	}
}
