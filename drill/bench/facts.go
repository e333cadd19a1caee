package bench

import (
	"cmp"
	"slices"
	"strings"

	"hornlark/drill/condition"
	"hornlark/drill/score"
)

// Fact is something of a sitting that a condition can ask about.
type Fact struct {
	Name    string `json:"name"`
	Truth   bool   `json:"truth"`   // true or false; otherwise a number
	About   string `json:"about"`   // a sentence
	Example string `json:"example"` // a condition
	of      func(*Sitting) float64
}

// Facts are what a condition over sittings of an exercise can be made of.
type Facts struct {
	List  []Fact
	scope condition.Scope
}

// identifier is a name as conditions write it: nothing but a dash has to be changed.
func identifier(name string) string { return strings.ReplaceAll(name, "-", "_") }

func truth(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

// Facts lists what can be asked of sittings of the exercise.
func (f *Forecast) Facts() *Facts {
	facts := &Facts{scope: condition.Scope{}}
	facts.whole()
	for _, name := range f.exercise.Documents().Scenario.Abnormals() {
		facts.abnormal(name)
	}
	ids := make([]string, 0, len(f.numbers))
	for id := range f.numbers {
		ids = append(ids, id)
	}
	slices.SortFunc(ids, func(a, b string) int { return cmp.Compare(f.numbers[a], f.numbers[b]) })
	for _, id := range ids {
		facts.item(id, float64(f.numbers[id]))
	}
	return facts
}

func (fs *Facts) add(isTruth bool, name, about, example string, of func(*Sitting) float64) {
	if _, taken := fs.scope[name]; taken {
		return // what was there first is meant
	}
	kind := condition.Number
	if isTruth {
		kind = condition.Switch
	}
	fs.scope[name] = condition.Name{Type: kind, Slot: len(fs.List)}
	fs.List = append(fs.List, Fact{name, isTruth, about, example, of})
}

// whole is what there is to ask of a sitting as a whole.
func (fs *Facts) whole() {
	yes := func(name, about, example string, of func(*Sitting) bool) {
		fs.add(true, name, about, example, func(s *Sitting) float64 { return truth(of(s)) })
	}
	number := func(name, about, example string, of func(*Sitting) float64) { fs.add(false, name, about, example, of) }
	count := func(is func(*InjectionOutcome) bool) func(*Sitting) float64 {
		return func(s *Sitting) float64 {
			n := 0
			for i := range s.Injections {
				if is(&s.Injections[i]) {
					n++
				}
			}
			return float64(n)
		}
	}
	yes("passed", "The stand-in met all criteria, and nothing has to be inspected.", "not passed", func(s *Sitting) bool { return s.Passed })
	yes("completed", "The sitting came to its end.", "completed and not passed", func(s *Sitting) bool { return s.Completed })
	yes("bent", "A limit was passed after which the aircraft has to be inspected.", "bent", func(s *Sitting) bool { return len(s.Inspections) > 0 })
	number("length", "How long it lasted, in seconds.", "length > 600", func(s *Sitting) float64 { return s.LengthS })
	number("index", "The index of the report, 0 to 100; -1 where there is none.", "index < 60", func(s *Sitting) float64 {
		if s.Index == nil {
			return -1
		}
		return *s.Index
	})
	number("reaction", "Median reaction to challenges, in seconds; 0 where there is none.", "reaction > 3", func(s *Sitting) float64 { return s.ReactionMS / 1000 })
	number("false_alarms", "How often nothing was wrong and the stand-in stopped the flow, or refused.", "false_alarms > 0", func(s *Sitting) float64 { return float64(s.FalseAlarms) })
	for _, outcome := range []score.Outcome{score.Right, score.Omitted, score.Wrong, score.OutOfOrder, score.Late, score.Rote} {
		number("items_"+identifier(string(outcome)), "How many items were "+strings.ReplaceAll(string(outcome), "-", " ")+".", "items_"+identifier(string(outcome))+" > 2",
			func(s *Sitting) float64 { return float64(s.Items[string(outcome)]) })
	}
	number("came", "How many abnormals and look-alikes came.", "came == 3", func(s *Sitting) float64 { return float64(len(s.Injections)) })
	number("look_alikes", "How many of these were look-alikes.", "look_alikes == 0 and came > 1", count(func(in *InjectionOutcome) bool { return in.Harmless }))
	number("noticed", "How many abnormals were noticed.", "noticed < 2", count(func(in *InjectionOutcome) bool { return in.Noticed && !in.Harmless }))
	number("handled", "How many abnormals were handled, with all that this asks for.", "handled == came", count(func(in *InjectionOutcome) bool { return in.Outcome == score.Handled }))
	number("lost", "How many abnormals got away, or were not noticed.", "lost > 1", count(func(in *InjectionOutcome) bool {
		return in.Outcome == score.Lost || in.Outcome == score.NotNoticed
	}))
	number("first_at", "When the first of what came did, in seconds; -1 if nothing came.", "first_at > 200", func(s *Sitting) float64 {
		if len(s.Injections) == 0 {
			return -1
		}
		return s.Injections[0].AtS
	})
	number("least_gap", "The shortest time from the end of one that came to the next, in seconds; -1 if there is none.", "least_gap >= 0 and least_gap < 30", func(s *Sitting) float64 { return gapOf(s, false) })
	number("most_gap", "The longest of these, in seconds; -1 if there is none.", "most_gap > 180", func(s *Sitting) float64 { return gapOf(s, true) })
}

// gapOf is the shortest or the longest gap of a sitting.
func gapOf(s *Sitting, longest bool) float64 {
	gap := -1.0
	for i := 1; i < len(s.Injections); i++ {
		if g := s.Injections[i].AtS - s.Injections[i-1].OverS; i == 1 || g > gap == longest {
			gap = g
		}
	}
	return gap
}

// abnormal is what there is to ask of one of them. Where it came more than once the first time is meant.
func (fs *Facts) abnormal(name string) {
	id := identifier(name)
	first := func(of func(*InjectionOutcome, int) float64, none float64) func(*Sitting) float64 {
		return func(s *Sitting) float64 {
			for i := range s.Injections {
				if s.Injections[i].Abnormal == name {
					return of(&s.Injections[i], i)
				}
			}
			return none
		}
	}
	fs.add(true, id, "Whether "+name+" came.", id+" and came == 2", first(func(*InjectionOutcome, int) float64 { return 1 }, 0))
	fs.add(false, id+"_times", "How often it came.", id+"_times > 1", func(s *Sitting) float64 {
		n := 0
		for i := range s.Injections {
			if s.Injections[i].Abnormal == name {
				n++
			}
		}
		return float64(n)
	})
	fs.add(false, id+"_at", "When it came the first time, in seconds of the sitting; -1 if it did not.", id+"_at > 300", first(func(in *InjectionOutcome, _ int) float64 { return in.AtS }, -1))
	fs.add(false, id+"_item", "The number of the item at which it came, as item_... have it; 0 if it did not.", id+"_item > 20",
		first(func(in *InjectionOutcome, _ int) float64 { return float64(in.number) }, 0))
	fs.add(false, id+"_place", "Whether it was the first that came (1), the second, and so on; 0 if it did not come.", id+"_place == 1", first(func(_ *InjectionOutcome, i int) float64 { return float64(i + 1) }, 0))
	fs.add(true, id+"_noticed", "Whether it was noticed.", id+" and not "+id+"_noticed", first(func(in *InjectionOutcome, _ int) float64 { return truth(in.Noticed) }, 0))
	fs.add(true, id+"_handled", "Whether it was handled; of a look-alike: left alone.", id+" and not "+id+"_handled", first(func(in *InjectionOutcome, _ int) float64 {
		return truth(in.Outcome == score.Handled || in.Outcome == score.LeftAlone)
	}, 0))
	fs.add(false, id+"_reaction", "From its onset to the first press that had to do with it, in seconds; -1 where there was none.", id+"_reaction > 5", first(func(in *InjectionOutcome, _ int) float64 {
		if in.ReactionMS == nil {
			return -1
		}
		return *in.ReactionMS / 1000
	}, -1))
}

// item is what there is to ask of an item.
func (fs *Facts) item(id string, number float64) {
	name := "item_" + identifier(id)
	fs.add(false, name, "The number of this item in the flow.", "first_at > 0 and came > 0 and "+name+" < 50", func(*Sitting) float64 { return number })
	fs.add(true, "wrong_"+identifier(id), "Whether this item was not right.", "wrong_"+identifier(id), func(s *Sitting) float64 {
		return truth(slices.ContainsFunc(s.Wrong, func(w ItemWrong) bool { return w.Item == id }))
	})
}

// Find makes a condition ready to be asked of sittings. Every error is a *condition.Error.
func (fs *Facts) Find(text string) (func(*Sitting) bool, error) {
	c, err := condition.Compile(text, fs.scope)
	if err != nil {
		return nil, err
	}
	var reads []int
	for slot := range fs.List {
		if c.Reads(slot) {
			reads = append(reads, slot)
		}
	}
	values := make([]float64, len(fs.List))
	return func(s *Sitting) bool {
		for _, slot := range reads {
			values[slot] = fs.List[slot].of(s)
		}
		return c.Holds(values)
	}, nil
}
