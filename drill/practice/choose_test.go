package practice

import (
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hornlark/drill/score"
)

var evening = time.Date(2027, 3, 1, 19, 0, 0, 0, time.UTC)

// someUnits makes procedures of phases of items, limits, and what may come in between.
func someUnits(t *rapid.T) *Evening {
	e := &Evening{
		Main: "p0", At: evening, Watches: rapid.IntRange(0, 2).Draw(t, "watches"),
		Time: time.Duration(rapid.IntRange(1, 40).Draw(t, "minutes")) * time.Minute, Seed: rapid.Uint64().Draw(t, "seed"),
	}
	var spots []Place
	for p := range rapid.IntRange(1, 2).Draw(t, "procedures") {
		of, last := fmt.Sprint("p", p), ""
		for ph := range rapid.IntRange(1, 7).Draw(t, "phases") {
			u := Unit{Kind: PhaseUnit, Of: of, Name: fmt.Sprint("ph", ph), Title: fmt.Sprint("Phase ", ph)}
			for i := range rapid.IntRange(1, 8).Draw(t, "items") {
				id := fmt.Sprintf("%s-%d-%d", of, ph, i)
				u.Things = append(u.Things, Thing{score.TrialItem, of, id})
				if last != "" {
					u.Things = append(u.Things, Thing{score.TrialStep, of, score.StepName(last, id)})
				}
				spots = append(spots, Place{Of: of, Phase: u.Name, Item: id, Loose: i%2 == 0})
				last = id
			}
			u.Length = time.Duration(rapid.IntRange(10, 300).Draw(t, "length")) * time.Second
			e.Units = append(e.Units, u)
		}
	}
	limits := Unit{Kind: LimitsUnit, Of: "a", Name: "a", Title: "Limits", Length: 3 * time.Minute}
	for i := range rapid.IntRange(0, 12).Draw(t, "limits") {
		limits.Things = append(limits.Things, Thing{score.TrialFigure, "a", fmt.Sprint("f", i)})
	}
	e.Units = append(e.Units, limits)
	for i := range rapid.IntRange(0, 8).Draw(t, "surprises") {
		s := Surprise{Name: fmt.Sprint("s", i), Harmless: rapid.Bool().Draw(t, "harmless")}
		if !s.Harmless {
			s.Things = []Thing{{score.TrialNotice, "a", s.Name}, {score.TrialActions, "a", s.Name}}
		}
		for range rapid.IntRange(0, 3).Draw(t, "places") {
			s.Places = append(s.Places, rapid.SampledFrom(spots).Draw(t, "place"))
		}
		for w := range e.Watches {
			if rapid.Bool().Draw(t, "in watch") {
				s.Watches = append(s.Watches, w)
			}
		}
		e.Surprises = append(e.Surprises, s)
	}
	return e
}

// all is everything there is to be known.
func (e *Evening) all() (list []Thing) {
	for _, u := range e.Units {
		list = append(list, u.Things...)
	}
	for _, s := range e.Surprises {
		list = append(list, s.Things...)
	}
	return list
}

// someKnown makes a record of some of what there is.
func someKnown(t *rapid.T, e *Evening) *Known {
	k := NewKnown(DefaultWeights)
	share := rapid.IntRange(0, 10).Draw(t, "share met")
	for _, thing := range e.all() {
		if rapid.IntRange(1, 10).Draw(t, "met") > share {
			continue
		}
		k.States[thing] = &State{
			Memory: Memory{Stability: rapid.Float64Range(LeastStability, 400).Draw(t, "stability"), Difficulty: rapid.Float64Range(1, 10).Draw(t, "difficulty")},
			Last:   evening.Add(-time.Duration(rapid.IntRange(0, 100*24).Draw(t, "hours")) * time.Hour),
			Met:    rapid.IntRange(1, 9).Draw(t, "times"),
		}
	}
	return k
}

// taken is the units that a choice goes through.
func (c *Choice) taken() (list []int) {
	for i := range c.Legs {
		list = append(list, c.Legs[i].Units...)
	}
	return list
}

// The minutes are kept to, nothing is chosen or comes twice, legs are neighbouring phases of one procedure which is not broken into more of them than
// needed, what comes is in the leg, and a phase that is new is undisturbed and comes after one that is not.
func TestChoiceHoldsTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := someUnits(t)
		k := someKnown(t, e)
		c := Choose(k, e)
		if !reflect.DeepEqual(c, Choose(k.Clone(), e)) {
			t.Fatal("the same comes to another choice")
		}
		sum, units, came := time.Duration(0), map[int]bool{}, map[int]bool{}
		for _, l := range c.Legs {
			sum += l.Length
			items := map[string]bool{}
			met := true
			for n, i := range l.Units {
				if units[i] {
					t.Fatalf("unit %d is chosen twice", i)
				}
				units[i] = true
				if n > 0 && (i != l.Units[n-1]+1 || e.Units[i].Of != e.Units[i-1].Of) {
					t.Fatalf("units %v are no neighbours", l.Units)
				}
				met = met && slices.ContainsFunc(e.Units[i].Things, func(th Thing) bool { return k.States[th] != nil })
			}
			for _, in := range l.Surprises {
				s := &e.Surprises[in.Surprise]
				switch l.Kind {
				case LimitsUnit:
					t.Fatal("something comes while limits are asked")
				case AbnormalUnit:
					if !slices.Contains(s.Watches, l.Watch) {
						t.Fatalf("%s does not come in watch %d", s.Name, l.Watch)
					}
				case PhaseUnit:
					p := s.Places[in.Place]
					if !met || came[in.Surprise] || items[p.Item] ||
						!slices.ContainsFunc(l.Units, func(i int) bool { return e.Units[i].Name == p.Phase && e.Units[i].Of == p.Of }) {
						t.Fatalf("%s comes where it should not, at %+v", s.Name, p)
					}
					came[in.Surprise], items[p.Item] = true, true
				}
			}
		}
		if sum != c.Takes || sum > e.Time {
			t.Fatalf("%v are taken of %v, and %v said", sum, e.Time, c.Takes)
		}
		for i := range units {
			next := i + 1
			if units[next] && e.Units[i].Of == e.Units[next].Of && e.Units[next].Kind == PhaseUnit &&
				!slices.ContainsFunc(c.Legs, func(l Leg) bool { return slices.Contains(l.Units, i) && slices.Contains(l.Units, next) }) {
				t.Fatalf("units %d and %d are gone through by themselves", i, next)
			}
		}
	})
}

// What is gone through does not hang on what is drawn, nor on which abnormals are known: nothing that is said before can tell of them.
func TestChoiceTellsNothing(t *testing.T) {
	said := func(c *Choice) *Choice {
		open := &Choice{First: c.First, Takes: c.Takes}
		for _, l := range c.Legs {
			l.Watch, l.Surprises, l.Seed = 0, nil, 0
			open.Legs = append(open.Legs, l)
		}
		return open
	}
	rapid.Check(t, func(t *rapid.T) {
		e := someUnits(t)
		k := someKnown(t, e)
		before := said(Choose(k, e))
		e.Seed++
		if after := said(Choose(k, e)); !reflect.DeepEqual(before, after) {
			t.Fatalf("another draw changes what is said:\n%+v\n%+v", before, after)
		}
		// The same abnormals known as well as before, but each as another was.
		var wrong []*Surprise
		for i := range e.Surprises {
			if s := &e.Surprises[i]; !s.Harmless && len(s.Watches) == e.Watches {
				wrong = append(wrong, s)
			}
		}
		if len(wrong) < 2 {
			return
		}
		swapped := k.Clone()
		for n := range wrong[0].Things {
			a, b := wrong[0].Things[n], wrong[1].Things[n]
			delete(swapped.States, a)
			delete(swapped.States, b)
			if st := k.States[b]; st != nil {
				swapped.States[a] = st
			}
			if st := k.States[a]; st != nil {
				swapped.States[b] = st
			}
		}
		if after := said(Choose(swapped, e)); !reflect.DeepEqual(before, after) {
			t.Fatalf("another abnormal in need changes what is said:\n%+v\n%+v", before, after)
		}
	})
}

// To know something worse never makes it less in need, and what was never met is most in need.
func TestWorseKnownIsMoreInNeed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := NewKnown(DefaultWeights)
		thing := Thing{score.TrialItem, "p", "i"}
		st := &State{
			Memory: Memory{Stability: rapid.Float64Range(LeastStability, MostStability).Draw(t, "stability"), Difficulty: rapid.Float64Range(1, 10).Draw(t, "difficulty")},
			Last:   evening.Add(-time.Duration(rapid.IntRange(0, 3000).Draw(t, "hours")) * time.Hour),
		}
		n := newNeeds(k, evening, nil)
		unmet := n.of(thing)
		k.States[thing] = st
		better := n.of(thing)
		st.Stability = max(LeastStability, st.Stability*rapid.Float64Range(0, 1).Draw(t, "of it"))
		if rapid.Bool().Draw(t, "harder") {
			st.Difficulty = rapid.Float64Range(st.Difficulty, 10).Draw(t, "difficulty now")
		}
		if worse := n.of(thing); worse < better || worse > unmet || better <= 0 {
			t.Fatalf("need %v, known worse %v, never met %v", better, worse, unmet)
		}
	})
}

// What is chosen is still chosen if something of it is known worse: a unit by what it is, an abnormal by any draw.
func TestWorseKnownIsNoLessLikely(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := someUnits(t)
		k := someKnown(t, e)
		if len(k.States) == 0 {
			return
		}
		thing := rapid.SampledFrom(k.Things()).Draw(t, "thing")
		before := Choose(k, e)
		k.States[thing].Stability = max(LeastStability, k.States[thing].Stability*rapid.Float64Range(0, 1).Draw(t, "of it"))
		after := Choose(k, e)
		for _, i := range before.taken() {
			u := &e.Units[i]
			if u.Kind == PhaseUnit && slices.Contains(u.Things, thing) && !slices.Contains(after.taken(), i) {
				t.Fatalf("%s of %s is no longer chosen, and %v of it is known worse", u.Name, u.Of, thing)
			}
		}
		comes := func(c *Choice) bool {
			for i := range c.Legs {
				for _, in := range c.Legs[i].Surprises {
					if slices.Contains(e.Surprises[in.Surprise].Things, thing) {
						return true
					}
				}
			}
			return false
		}
		if comes(before) && len(before.Legs) == len(after.Legs) && !comes(after) {
			t.Fatalf("%v no longer comes, and is known worse", thing)
		}
	})
}

// Whether a leg has nothing wrong in it, and how much of what comes is harmless, is the same for everybody: of 4,000 draws for one who knows all abnormals
// and one who knows none, the shares are those that are said, within five standard deviations.
func TestQuietAlikeForEverybody(t *testing.T) {
	e := &Evening{Main: "p", Watches: 0, Time: time.Hour, At: evening}
	u := Unit{Kind: PhaseUnit, Of: "p", Name: "ph", Length: time.Minute}
	good, bad := NewKnown(DefaultWeights), NewKnown(DefaultWeights)
	for i := range 10 {
		thing := Thing{score.TrialItem, "p", fmt.Sprint("i", i)}
		u.Things = append(u.Things, thing)
		good.States[thing] = &State{Memory: Memory{50, 5}, Last: evening.AddDate(0, 0, -1), Met: 3}
		bad.States[thing] = good.States[thing]
		s := Surprise{Name: fmt.Sprint("s", i), Harmless: i < 5, Places: []Place{{Of: "p", Phase: "ph", Item: thing.Name}}}
		if !s.Harmless {
			s.Things = []Thing{{score.TrialNotice, "a", s.Name}}
			good.States[s.Things[0]] = &State{Memory: Memory{2000, 5}, Last: evening.AddDate(0, 0, -1), Met: 9}
		}
		e.Surprises = append(e.Surprises, s)
	}
	e.Units = []Unit{u}
	const draws = 4000
	for name, k := range map[string]*Known{"all known": good, "none known": bad} {
		wrong, alike := 0, 0
		for seed := range uint64(draws) {
			e.Seed = seed
			for _, in := range Choose(k, e).Legs[0].Surprises {
				if e.Surprises[in.Surprise].Harmless {
					alike++
				} else {
					wrong++
				}
			}
		}
		// One may come: a look-alike in a third of the legs, something wrong in the rest of those that are not quiet. Five standard deviations are 0.04.
		if share := float64(alike) / draws; share < lookAlikeShare-0.04 || share > lookAlikeShare+0.04 {
			t.Errorf("%s: look-alikes in %.3f of the legs", name, share)
		}
		want := (1 - lookAlikeShare) * (1 - QuietShare)
		if share := float64(wrong) / draws; share < want-0.04 || share > want+0.04 {
			t.Errorf("%s: something wrong in %.3f of the legs, and should be in %.3f", name, share, want)
		}
	}
}

// The first evening begins where the flow begins, is undisturbed, and asks no limits.
func TestFirstEvening(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := someUnits(t)
		c := Choose(NewKnown(DefaultWeights), e)
		if !c.First {
			t.Fatal("it is not told that it is the first")
		}
		if len(c.Legs) > 1 {
			t.Fatalf("%d legs", len(c.Legs))
		}
		for _, l := range c.Legs {
			if l.Kind != PhaseUnit || l.Units[0] != 0 || len(l.Surprises) > 0 || l.Recall {
				t.Fatalf("it begins with %+v", l)
			}
		}
	})
}

// BenchmarkChoose chooses from what 1,000,000 trials of 2,000 things have left.
func BenchmarkChoose(b *testing.B) {
	e, k := million()
	for b.Loop() {
		if c := Choose(k, e); len(c.Legs) == 0 {
			b.Fatal("nothing is chosen")
		}
	}
}

// million is 1,000,000 trials of 2,000 things over a year of sittings: phases of ten items, and abnormals.
func million() (*Evening, *Known) {
	e := &Evening{Main: "p0", At: evening, Watches: 1, Time: 30 * time.Minute}
	for p := range 10 {
		of, last := fmt.Sprint("p", p), ""
		for ph := range 9 {
			u := Unit{Kind: PhaseUnit, Of: of, Name: fmt.Sprint("ph", ph), Length: time.Minute}
			for i := range 10 {
				id := fmt.Sprintf("%d-%d", ph, i)
				u.Things = append(u.Things, Thing{score.TrialItem, of, id})
				if last != "" {
					u.Things = append(u.Things, Thing{score.TrialStep, of, score.StepName(last, id)})
				}
				last = id
			}
			e.Units = append(e.Units, u)
		}
	}
	for i := range 105 {
		s := Surprise{Name: fmt.Sprint("s", i), Watches: []int{0}, Places: []Place{{Of: "p0", Phase: "ph1", Item: "1-1"}}}
		s.Things = []Thing{{score.TrialNotice, "a", s.Name}, {score.TrialActions, "a", s.Name}}
		e.Surprises = append(e.Surprises, s)
	}
	k := NewKnown(DefaultWeights)
	things := e.all()
	for i := range 500 {
		s := &Sitting{Began: evening.Add(time.Duration(i-500) * 17 * time.Hour), Profile: "a"}
		for n, thing := range things {
			s.Procedure = thing.Of
			t := score.Trial{Kind: thing.Kind, Name: thing.Name, Right: (i*7+n*13)%5 != 0, Told: i%2 == 0}
			one := *s
			one.Trials = []score.Trial{t}
			k.Learn(&one)
		}
	}
	return e, k
}
