package desk

import (
	"cmp"
	"errors"

	"hornlark/drill/record"
	"hornlark/drill/score"
)

// Trials draws from the log of a sitting what it showed; nil if it cannot be judged.
func (p Plans) Trials(store *record.Store, s *record.Sitting) ([]byte, error) {
	ex, err := p.Exercise(store, *s)
	var unjudged *Unjudgeable
	if errors.As(err, &unjudged) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	result, err := ex.JudgeKept(store, s)
	if err != nil || result == nil {
		return nil, err
	}
	return ex.PackTrials(result), nil
}

// JudgeKept judges a sitting of the records by its log; nil if that cannot be read.
func (ex *Exercise) JudgeKept(store *record.Store, s *record.Sitting) (result *score.Result, err error) {
	ex.Log, err = store.Log(s.ID)
	var unread *record.LogError
	switch {
	case errors.As(err, &unread), err == nil && len(ex.Log) == 0:
		return nil, nil
	case err != nil:
		return nil, err
	}
	return ex.Judge(), nil
}

// DigestOf is what the records keep of a result beside it, for trends. It is also made of results that earlier rules came to.
func DigestOf(r *score.Result) record.Digest {
	d := record.Digest{Passed: r.Passed, Reactions: cmp.Or(r.Reactions.Of, r.Reactions.Count)} // earlier rules had no Of
	if d.Reactions > 0 {
		d.ReactionMS = &r.Reactions.MedianMS
	}
	for i := range r.Items {
		if r.Items[i].Outcome != score.NotAsked {
			d.Asked++
		}
		if r.Items[i].Outcome == score.Right {
			d.Right++
		}
	}
	for i := range r.Injections {
		in := &r.Injections[i]
		d.Injections = append(d.Injections, record.Injection{
			Abnormal: in.Abnormal, Harmless: in.Harmless, Outcome: string(in.Outcome), DetectionMS: in.DetectionMS, HandlingMS: in.HandlingMS,
		})
	}
	return d
}
