package practice

import (
	"cmp"
	"slices"
	"time"

	"hornlark/drill/score"
)

// Thing is one thing to know.
type Thing struct {
	Kind score.TrialKind `json:"kind"`
	Of   string          `json:"of"`   // the procedure of an item or a step; the profile of everything else
	Name string          `json:"name"` // see score.Trial
}

// compare puts things in an order that hangs on nothing else.
func (t Thing) compare(other Thing) int {
	return cmp.Or(cmp.Compare(t.Of, other.Of), cmp.Compare(t.Kind, other.Kind), cmp.Compare(t.Name, other.Name))
}

// OfTrial names what a trial was of, in a sitting with that procedure and profile.
func OfTrial(trial *score.Trial, procedure, profile string) Thing {
	t := Thing{Kind: trial.Kind, Of: profile, Name: trial.Name}
	if t.Kind == score.TrialItem || t.Kind == score.TrialStep {
		t.Of = procedure
	}
	return t
}

// Sitting is what one sitting showed of what a trainee knows.
type Sitting struct {
	Began     time.Time
	Procedure string
	Profile   string
	Policy    string
	Trials    []score.Trial
}

// What was told leaves less behind than what was found: how much of the full change, 0 to 1. Our own estimates; that what comes from
// memory is kept better than what is read again is the testing effect (Roediger and Karpicke 2006, from memory).
const (
	foundWeight = 1.0
	toldWeight  = 0.3
)

// GradeOf is the grade of a trial, and how much it counts, 0 to 1. A step that was asked for by a challenge and then done is no proof that it was
// known, and one that was told and still wrong is proof enough that it was not.
func GradeOf(t *score.Trial) (g Grade, weight float64) {
	weight = foundWeight
	if t.Told && t.Right {
		weight = toldWeight
	}
	switch {
	case !t.Right:
		return Again, weight
	case t.Slow:
		return Hard, weight
	case !t.Told && t.ReactionMS != nil && *t.ReactionMS <= t.ParMS/2:
		return Easy, weight
	}
	return Good, weight
}

// State is what is known of one thing.
type State struct {
	Memory
	Last   time.Time // when it was last met
	Met    int       // how often
	Right  int       // of them
	Recent []bool    // whether it was right, the latest last, RecentMost at the most
}

// RecentMost is how many of the latest trials a state holds.
const RecentMost = 8

// Known is what is known of everything that a trainee has met. It is rebuilt from the sittings at any time, and always comes to the same.
type Known struct {
	Prior   Weights // for learners in general: those that it began with
	Weights Weights // those that it goes by: the same, or fitted to the trainee
	Fit     Fit
	States  map[Thing]*State
	Until   time.Time   // when the latest of the sittings began that are in it
	Count   int         // of them
	Said    Calibration // what was said before each look, by the weights of the time
}

// NewKnown is what is known of a trainee who has not sat yet.
func NewKnown(w Weights) *Known { return &Known{Prior: w, Weights: w, States: map[Thing]*State{}} }

// Clone is the same, to learn on without changing it.
func (k *Known) Clone() *Known {
	clone := *k
	clone.States = make(map[Thing]*State, len(k.States))
	for t, st := range k.States {
		own := *st
		own.Recent = slices.Clone(st.Recent)
		clone.States[t] = &own
	}
	return &clone
}

// Learn takes in a sitting. Sittings are taken in as they began, the earliest first; one that began before the latest is counted as if it had begun
// with it, since what was learnt in between cannot be undone: whoever takes in older ones (an import) builds anew.
func (k *Known) Learn(s *Sitting) {
	at := s.Began
	if at.Before(k.Until) {
		at = k.Until
	}
	w := k.Weights.ready()
	for i := range s.Trials {
		t := &s.Trials[i]
		thing := OfTrial(t, s.Procedure, s.Profile)
		st := k.States[thing]
		if st == nil {
			st = &State{}
			k.States[thing] = st
		}
		days := st.since(at)
		if isLook(st.Met > 0, t.Told, days) {
			k.Said.Add(w.recall(st.Memory, days), t.Right)
		}
		g, weight := GradeOf(t)
		st.Memory = w.after(st.Memory, days, g, weight)
		st.Last, st.Met = at, st.Met+1
		if t.Right {
			st.Right++
		}
		if len(st.Recent) == RecentMost {
			st.Recent = slices.Delete(st.Recent, 0, 1)
		}
		st.Recent = append(st.Recent, t.Right)
	}
	k.Until, k.Count = at, k.Count+1
}

// Recall is the probability, 0 to 1, that a thing is known at a moment; 0 for what was never met.
func (k *Known) Recall(t Thing, at time.Time) float64 {
	st := k.States[t]
	if st == nil {
		return 0
	}
	return k.Weights.Recall(st.Memory, st.since(at))
}

// Things gives everything that was met, in an order that hangs on nothing else.
func (k *Known) Things() []Thing {
	list := make([]Thing, 0, len(k.States))
	for t := range k.States {
		list = append(list, t)
	}
	slices.SortFunc(list, Thing.compare)
	return list
}

// since is how many days lie between the last time and a moment; never less than none.
func (s *State) since(at time.Time) float64 {
	if s.Last.IsZero() {
		return 0
	}
	return daysSince(s.Last, at)
}

func daysSince(last, at time.Time) float64 { return max(0, at.Sub(last).Hours()/24) }
