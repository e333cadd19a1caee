package main

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// openRecords opens the records for a command about them.
func openRecords(s streams) (*record.Store, error) {
	path, err := record.DefaultPath()
	if err != nil {
		return nil, fmt.Errorf("there is no place for the records: %w; set HORNLARK_DATA to a folder", err)
	}
	store, err := record.Open(path)
	if err != nil {
		return nil, err
	}
	store.Tell(func(notice string) { fmt.Fprintln(s.err, notice) })
	return store, nil
}

// errNoRecords is for a command that has nothing to work on.
var errNoRecords = errors.New("there are no sittings in the records yet; hornlark drill makes one")

// sittingOf finds the sitting that the arguments name by its number, or the latest one.
func sittingOf(store *record.Store, args []string) (record.Sitting, error) {
	filter := record.Filter{Limit: 1}
	if len(args) > 0 {
		id, err := strconv.ParseInt(args[0], 10, 64)
		if err != nil || id < 1 {
			return record.Sitting{}, usageError{fmt.Errorf("%q is not the number of a sitting; hornlark progress lists them", args[0])}
		}
		filter.ID = id
	}
	found, err := store.Sittings(filter)
	switch {
	case err != nil:
		return record.Sitting{}, err
	case len(found) == 1:
		return found[0], nil
	case filter.ID != 0:
		return record.Sitting{}, fmt.Errorf("there is no sitting %d; hornlark progress lists them", filter.ID)
	}
	return record.Sitting{}, errNoRecords
}

// keptSitting is a sitting out of the records, made ready to be judged and gone through again.
type keptSitting struct {
	record.Sitting
	ex     *desk.Exercise
	inputs []drill.Stored
}

// withKept opens the records, finds the sitting that the arguments name, or the latest one, and does something with it.
func withKept(s streams, args []string, do func(*keptSitting) error) error {
	store, err := openRecords(s)
	if err != nil {
		return err
	}
	defer store.Close()
	k, err := keptBy(store, args)
	if err != nil {
		return err
	}
	return do(k)
}

func keptBy(store *record.Store, args []string) (*keptSitting, error) {
	sitting, err := sittingOf(store, args)
	if err != nil {
		return nil, err
	}
	return loadKept(store, sitting)
}

// planCache has the exercises of documents that several sittings went by, so that they are read and compiled once.
type planCache map[planKey]*desk.Exercise

type planKey struct{ plan, policy string }

// plansHeld bounds how many there are: a school has some dozens.
const plansHeld = 64

// exercise gives one for a sitting: what it goes by, with its own seed and nothing else of its own.
func (c planCache) exercise(store *record.Store, sitting record.Sitting) (*desk.Exercise, error) {
	key := planKey{sitting.Plan, sitting.Policy}
	known, ok := c[key]
	if !ok {
		fresh, err := exerciseOf(store, sitting)
		if err != nil {
			return nil, err
		}
		if len(c) >= plansHeld {
			clear(c)
		}
		c[key], known = fresh, fresh
	}
	own := *known
	own.Seed = sitting.Seed
	return &own, nil
}

// loadKept takes a sitting out of the records, with the documents that it went by and not those of today.
func loadKept(store *record.Store, sitting record.Sitting) (*keptSitting, error) {
	return planCache{}.load(store, sitting)
}

// aboutSitting says which sitting an error is of.
func aboutSitting(s record.Sitting, err error) error { return fmt.Errorf("sitting %d: %w", s.ID, err) }

// exerciseOf reads and compiles the documents of a sitting.
func exerciseOf(store *record.Store, sitting record.Sitting) (*desk.Exercise, error) {
	about := func(err error) error { return &unjudgeable{aboutSitting(sitting, err)} }
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
	ex, err := desk.NewExercise(bundle, scenario.PolicyName(sitting.Policy), sitting.Seed)
	if err != nil {
		return nil, about(fmt.Errorf("this version cannot take its documents: %w", err))
	}
	return ex, nil
}

// load takes a sitting out of the records, as loadKept does.
func (c planCache) load(store *record.Store, sitting record.Sitting) (k *keptSitting, err error) {
	k = &keptSitting{Sitting: sitting}
	about := func(err error) error { return aboutSitting(sitting, err) }
	if k.ex, err = c.exercise(store, sitting); err != nil {
		return nil, err
	}
	k.ex.Lead = sitting.Lead
	if k.ex.Log, err = store.Log(sitting.ID); err != nil {
		return nil, about(err)
	}
	if !sitting.Heard && !slices.ContainsFunc(k.ex.Log, saysUnheard) {
		k.ex.Unheard = score.Unknown
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
		k.inputs = append(k.inputs, drill.Stored{At: in.At, Event: event})
	}
	return k, nil
}

// saysUnheard reports whether an entry says of a sound that nobody can have heard it. Earlier versions did not.
func saysUnheard(e logbook.Entry) bool {
	return e.Kind == logbook.Heard && (e.Why == logbook.Muted || e.Why == logbook.NoDevice)
}

// clockTime gives an instant as the clock on the wall showed it, if that could be right.
func clockTime(t time.Time) string {
	if record.Undated(t) {
		return "date not known"
	}
	return t.Local().Format("2006-01-02 15:04")
}

// someone is a trainee's name, or what stands for none.
func someone(trainee string) string {
	if trainee == "" {
		return "(no name)"
	}
	return trainee
}

// lasted is how long the sitting lasted, pauses included, as far as is known.
func (k *keptSitting) lasted() time.Duration {
	var clock logbook.Clock
	var last time.Duration
	for i := range k.ex.Log {
		last = max(last, clock.Follow(&k.ex.Log[i]))
	}
	if n := len(k.inputs); n > 0 {
		return max(last, k.inputs[n-1].At)
	}
	return last
}

// digestOf is what the records keep of a result beside it, for trends. It is also made of results that earlier rules came to.
func digestOf(r *score.Result) record.Digest {
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
