package main

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill/practice"
	"hornlark/drill/record"
	"hornlark/drill/score"
)

// knownOf gives what a trainee knows, and what each of the sittings that it comes from showed, the earliest first. Whoever does not
// need the sittings asks knowledgeOf, which does not have to read them. Of sittings without a name nothing is known: they are nobody's.
func knownOf(store *record.Store, trainee string) (*practice.Known, []practice.Sitting, error) {
	counted, err := countedOf(store, trainee)
	if err != nil {
		return nil, nil, err
	}
	sittings, err := shownBy(store, counted)
	if err != nil {
		return nil, nil, err
	}
	known, err := learntFrom(store, trainee, &practice.DefaultWeights, counted)
	return known, sittings, err
}

// knowledgeOf gives what a trainee knows.
func knowledgeOf(store *record.Store, trainee string) (*practice.Known, error) {
	return knowledgeWith(store, trainee, &practice.DefaultWeights)
}

// knowledgeWith gives what a trainee knows by those weights, or by what they come to when they are fitted to the trainee.
func knowledgeWith(store *record.Store, trainee string, w *practice.Weights) (*practice.Known, error) {
	counted, err := countedOf(store, trainee)
	if err != nil {
		return nil, err
	}
	return learntFrom(store, trainee, w, counted)
}

// latestOf gives what the latest so many sittings of a trainee showed, the earliest of them first.
func latestOf(store *record.Store, trainee string, most int) ([]practice.Sitting, error) {
	counted, err := countedOf(store, trainee)
	if err != nil {
		return nil, err
	}
	return shownBy(store, counted[max(0, len(counted)-most):])
}

// countedOf gives the sittings of a trainee that count. Those that have not been judged by the rules of today are judged first.
func countedOf(store *record.Store, trainee string) ([]record.Counted, error) {
	plans := desk.Plans{}
	return store.Counted(trainee, record.Judging{Rules: score.Rules, Version: version, Trials: func(s *record.Sitting) ([]byte, error) {
		return plans.Trials(store, s)
	}})
}

// shownBy gives what sittings showed. Trials that turn out to be damaged are drawn again the next time.
func shownBy(store *record.Store, counted []record.Counted) ([]practice.Sitting, error) {
	shown, err := store.Shown(counted)
	if err != nil {
		return nil, err
	}
	list := make([]practice.Sitting, len(shown))
	for i := range shown {
		s := &shown[i]
		trials, err := score.UnpackTrials(s.Trials)
		if err != nil {
			return nil, errors.Join(fmt.Errorf("sitting %d: what it showed is damaged, and is drawn from its log again the next time: %w", s.ID, err), store.Unread(s.ID))
		}
		list[i] = practice.Sitting{Began: s.Began, Procedure: s.Procedure, Profile: s.Profile, Policy: s.Policy, Trials: trials}
	}
	return list, nil
}

// learntFrom gives what is known from the sittings that count: from the snapshot, if those in it are the first of them as they were,
// and by the same rules and weights for learners in general; else from nothing. Either comes to the same: when weights are fitted hangs on the
// sittings alone.
func learntFrom(store *record.Store, trainee string, w *practice.Weights, counted []record.Counted) (*practice.Known, error) {
	if len(counted) == 0 {
		return practice.NewKnown(*w), nil
	}
	body, err := store.Known(trainee)
	if err != nil {
		return nil, err
	}
	known := practice.NewKnown(*w)
	if body != nil {
		snapshot, err := practice.UnpackSnapshot(body)
		if err == nil && snapshot.Rules == score.Rules && snapshot.Known.Prior == *w &&
			snapshot.Known.Count <= len(counted) && snapshot.Sittings == hashOfSittings(counted[:snapshot.Known.Count]) {
			known = snapshot.Known
		}
	}
	if known.Count == len(counted) {
		return known, nil
	}
	for added := counted[known.Count:]; len(added) > 0; {
		n := min(len(added), learntAtOnce)
		sittings, err := shownBy(store, added[:n])
		if err != nil {
			return nil, err
		}
		for i := range sittings {
			known.Learn(&sittings[i])
			if !known.FitDue() {
				continue
			}
			all, err := shownBy(store, counted[:known.Count])
			if err != nil {
				return nil, err
			}
			known.Refit(all)
		}
		added = added[n:]
	}
	snapshot := practice.Snapshot{Known: known, Rules: score.Rules, Sittings: hashOfSittings(counted)}
	store.KeepKnown(trainee, snapshot.Pack()) // what is known is known without it: it is kept the next time
	return known, nil
}

// learntAtOnce is how many sittings are held at a time to learn from them.
const learntAtOnce = 500

// hashOfSittings tells sittings in an order from others: by their uids, which say what is in them, and when they began.
func hashOfSittings(list []record.Counted) (sum [sha256.Size]byte) {
	h := sha256.New()
	var line []byte
	for i := range list {
		line = binary.AppendUvarint(line[:0], uint64(len(list[i].UID)))
		line = append(line, list[i].UID...)
		line = binary.LittleEndian.AppendUint64(line, uint64(list[i].Began.UnixNano()))
		h.Write(line)
	}
	h.Sum(sum[:0])
	return sum
}
