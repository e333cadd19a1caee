package desk

import (
	"encoding/json"
	"time"

	"hornlark/audio/voice"
	"hornlark/drill"
	"hornlark/drill/bench"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// Exercise is a sitting that is ready to begin, and what it takes to judge it once it has been sat.
type Exercise struct {
	*library.Bundle
	*drill.Exercise
	Documents json.RawMessage // the bundle, packed
	Seed      uint64
	Answers   *scenario.Answers // that are played; nil: somebody answers

	Lead    time.Duration   // how far ahead of time sounds were asked for
	Unheard logbook.Reason  // why nothing of it can have been heard; empty: the log says so of each sound
	Log     []logbook.Entry // as far as it has gone
}

// NewExercise makes the documents ready for one sitting. An empty policy is the scenario's. The error says what is wrong with them.
func NewExercise(b *library.Bundle, policy scenario.PolicyName, seed uint64) (*Exercise, error) {
	compiled, err := drill.Compile(drill.Documents{
		Profile: b.Profile, Procedure: b.Procedure, Scenario: b.Scenario, Abnormals: b.Abnormals, Policy: policy,
	})
	if err != nil {
		return nil, err
	}
	return &Exercise{Bundle: b, Exercise: compiled, Documents: b.Pack(), Seed: seed}, nil
}

// PolicyName is the name of the policy by which the sitting goes.
func (ex *Exercise) PolicyName() string { return string(ex.Policy().Name) }

// Procedure is what the sitting goes through: that of the documents, or one made of the limits of the aircraft.
func (ex *Exercise) Procedure() *procedure.Procedure { return ex.Exercise.Procedure(ex.Seed) }

// Phrases is everything that may be said.
func (ex *Exercise) Phrases() []voice.Phrase {
	goesThrough := *ex.Bundle
	if ex.Policy().Flow == scenario.Figures {
		goesThrough.Procedure = ex.Procedure()
	}
	var list []voice.Phrase
	for _, p := range goesThrough.Phrases() {
		list = append(list, voice.Phrase{Voice: p.Voice, Text: p.Text})
	}
	return list
}

// AnswersError says what is wrong with answers that were to be played.
type AnswersError struct{ error }

// Unwrap gives what is wrong.
func (e AnswersError) Unwrap() error { return e.error }

// Sit makes the sitting, whose sounds are asked for by that lead ahead of time, and the trainee on paper; nil if somebody answers. The error
// is an AnswersError.
func (ex *Exercise) Sit(lead time.Duration) (*drill.Sitting, *bench.Trainee, error) {
	ex.Lead = lead
	s := ex.Begin(ex.Seed, lead)
	if ex.Answers == nil {
		return s, nil, nil
	}
	trainee, err := bench.NewTrainee(ex.Exercise, s, ex.Answers)
	if err != nil {
		return nil, nil, AnswersError{err}
	}
	return s, trainee, nil
}

// Take keeps the entries of the log for the score. Its error is always nil.
func (ex *Exercise) Take(o drill.Output) error {
	if l, ok := o.(drill.Log); ok {
		ex.Log = append(ex.Log, l.Entry)
	}
	return nil
}

// Judge scores what has been logged, and claims nothing as heard that nobody can have heard.
func (ex *Exercise) Judge() *score.Result {
	result := score.Judge(ex.Sheet(ex.Seed), ex.Log)
	if ex.Unheard != "" {
		result.Sound.Silence(ex.Unheard)
	}
	return result
}

// PackTrials gives what a sitting with that result showed of each thing to know, as the records keep it.
func (ex *Exercise) PackTrials(result *score.Result) []byte {
	return score.PackTrials(score.Trials(result, ex.Sheet(ex.Seed)))
}
