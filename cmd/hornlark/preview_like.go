package main

import (
	"errors"
	"fmt"

	"hornlark/drill/bench"
	"hornlark/drill/debrief"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
)

// likeSomebody makes a stand-in of what the records show of a trainee.
func (o *previewOptions) likeSomebody() (bench.Person, *bench.Rest, error) {
	none := bench.Person{}
	if err := record.CheckTrainee(o.like); err != nil {
		return none, nil, usageError{err}
	}
	store, err := openRecords(o.streams)
	if err != nil {
		return none, nil, err
	}
	defer store.Close()
	counted, err := countedOf(store, o.like)
	if err != nil {
		return none, nil, err
	}
	if len(counted) == 0 {
		return none, nil, usageError{fmt.Errorf("--like %s: %w", o.like, errors.Join(unknownTrainee(store, o.like)))}
	}
	sittings, err := shownBy(store, counted)
	if err != nil {
		return none, nil, err
	}
	var past []bench.Past
	for _, s := range sittings {
		policy, known := scenario.PolicyOf(scenario.PolicyName(s.Policy))
		if known && policy.Flow == scenario.Checklist && policy.Acts != "" {
			past = append(past, bench.Past{FromMemory: policy.Asks == "", Trials: s.Trials})
		}
	}
	person, rest := bench.Like(past)
	person.Name = "like " + o.like
	return person, &rest, nil
}

// likeText says on how much a stand-in rests that is like somebody.
func (p *preview) likeText() []string {
	r := p.rest
	if r == nil {
		return nil
	}
	lines := paragraph(nil, 0, fmt.Sprintf("A STAND-IN LIKE %s rests on %s with a flow", p.like, debrief.Count(r.Sittings, "sitting")))
	say := func(what string, of int, weight, factor float64) {
		text := fmt.Sprintf("%s: nothing was seen, as typical", what)
		if of > 0 {
			text = fmt.Sprintf("%s: %.2f of the typical one's, of which what was seen (%d) has a weight of %s", what, factor, of, percent(weight))
		}
		lines = paragraph(lines, 2, text)
	}
	say("times", r.Reactions, r.ReactionWeight, r.Pace)
	say("slips with items that are asked", r.Asked, r.AskedWeight, r.Slips)
	say("omissions from memory", r.FromMemory, r.MemoryWeight, r.Omissions)
	return paragraph(lines, 2, "how it looks, and what it takes things for: as typical, since sittings do not show that by themselves")
}
