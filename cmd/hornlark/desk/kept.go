package desk

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"hornlark/drill"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// Kept is a sitting out of the records, made ready to be judged and gone through again.
type Kept struct {
	record.Sitting
	Ex     *Exercise
	Inputs []drill.Stored // in their order
}

// Lasted is how long the sitting lasted, pauses included, as far as is known.
func (k *Kept) Lasted() time.Duration {
	var clock logbook.Clock
	var last time.Duration
	for i := range k.Ex.Log {
		last = max(last, clock.Follow(&k.Ex.Log[i]))
	}
	if n := len(k.Inputs); n > 0 {
		return max(last, k.Inputs[n-1].At)
	}
	return last
}

// Plans has the exercises of documents that several sittings went by, so that they are read and compiled once.
type Plans map[planKey]*Exercise

type planKey struct{ plan, policy string }

// PlansHeld bounds how many there are: a school has some dozens.
const PlansHeld = 64

// Exercise gives one for a sitting: what it goes by, with its own seed and nothing else of its own.
func (p Plans) Exercise(store *record.Store, sitting record.Sitting) (*Exercise, error) {
	key := planKey{sitting.Plan, sitting.Policy}
	known, ok := p[key]
	if !ok {
		fresh, err := exerciseOf(store, sitting)
		if err != nil {
			return nil, err
		}
		if len(p) >= PlansHeld {
			clear(p)
		}
		p[key], known = fresh, fresh
	}
	own := *known
	own.Seed = sitting.Seed
	return &own, nil
}

// Load takes a sitting out of the records, with the documents that it went by and not those of today. The error may be an Unjudgeable.
func Load(store *record.Store, sitting record.Sitting) (*Kept, error) {
	return Plans{}.Load(store, sitting)
}

// aboutSitting says which sitting an error is of.
func aboutSitting(s record.Sitting, err error) error { return fmt.Errorf("sitting %d: %w", s.ID, err) }

// exerciseOf reads and compiles the documents of a sitting.
func exerciseOf(store *record.Store, sitting record.Sitting) (*Exercise, error) {
	about := func(err error) error { return &Unjudgeable{aboutSitting(sitting, err)} }
	documents, err := store.Documents(sitting.Plan)
	switch {
	case err != nil:
		return nil, err
	case documents == nil:
		return nil, about(errors.New("its documents are not in the records: an early version kept it, or they were damaged; it cannot be judged again"))
	}
	bundle, err := library.Unpack(documents)
	if err != nil {
		return nil, about(fmt.Errorf("this version cannot take its documents: %w", err))
	}
	ex, err := NewExercise(bundle, scenario.PolicyName(sitting.Policy), sitting.Seed)
	if err != nil {
		return nil, about(fmt.Errorf("this version cannot take its documents: %w", err))
	}
	return ex, nil
}

// Load takes a sitting out of the records, as the function of that name does.
func (p Plans) Load(store *record.Store, sitting record.Sitting) (k *Kept, err error) {
	k = &Kept{Sitting: sitting}
	about := func(err error) error { return aboutSitting(sitting, err) }
	if k.Ex, err = p.Exercise(store, sitting); err != nil {
		return nil, err
	}
	k.Ex.Lead = sitting.Lead
	if k.Ex.Log, err = store.Log(sitting.ID); err != nil {
		return nil, about(err)
	}
	if !sitting.Heard && !slices.ContainsFunc(k.Ex.Log, saysUnheard) {
		k.Ex.Unheard = score.Unknown
	}
	inputs, err := store.Inputs(sitting.ID)
	if err != nil {
		return nil, about(err)
	}
	for i, in := range inputs {
		event, err := drill.DecodeEvent(in.Body)
		if err != nil {
			return nil, about(fmt.Errorf("input %d: %w", i+1, err))
		}
		k.Inputs = append(k.Inputs, drill.Stored{At: in.At, Event: event})
	}
	return k, nil
}

// saysUnheard reports whether an entry says of a sound that nobody can have heard it. Earlier versions did not.
func saysUnheard(e logbook.Entry) bool {
	return e.Kind == logbook.Heard && (e.Why == logbook.Muted || e.Why == logbook.NoDevice)
}

// Unjudgeable is why a sitting cannot be judged by this version: its documents are missing, or in a form that it does not take.
type Unjudgeable struct{ error }

// Unwrap gives what is missing or wrong.
func (u *Unjudgeable) Unwrap() error { return u.error }
