package drill_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/bench"
	"hornlark/drill/condition"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// move is what somebody does about an abnormal, some time after what they did before: controls are put into positions, or a key
// is pressed.
type move struct {
	after time.Duration
	set   aircraft.Settings
	key   drill.Key // without set
	until string    // condition of the aircraft that it waits for; empty: none
}

// meddler goes through the flow as if nothing were wrong, and beside that does as it is told about the one abnormal that comes.
type meddler struct {
	*bench.Trainee
	sitting *drill.Sitting
	view    drill.View
	moves   []move
	since   time.Duration // the onset, or the last move that was done; zero: nothing shows yet
	mine    bool          // what Next gave was a move
}

func (m *meddler) Take(o drill.Output) {
	m.Trainee.Take(o)
	if l, ok := o.(drill.Log); ok && l.Entry.Kind == logbook.Onset {
		m.since = l.Entry.At
	}
}

func (m *meddler) Next() (time.Duration, drill.Press, bool) {
	flowAt, flow, ok := m.Trainee.Next()
	m.mine = false
	if m.since == 0 {
		return flowAt, flow, ok
	}
	m.sitting.View(&m.view)
	for len(m.moves) > 0 {
		press, open := m.toward(&m.moves[0])
		if !open {
			m.moves = m.moves[1:]
			continue
		}
		if !m.may(m.moves[0].until) {
			return flowAt, flow, ok
		}
		at := max(m.view.At, m.since+m.moves[0].after)
		if ok && flowAt < at {
			return flowAt, flow, ok
		}
		m.mine = true
		return at, press, true
	}
	return flowAt, flow, ok
}

// may reports whether what a move waits for holds.
func (m *meddler) may(until string) bool {
	if until == "" {
		return true
	}
	c, err := condition.Compile(until, m.sitting.Documents().Profile.Scope())
	return err == nil && c.Holds(m.view.Signs)
}

// toward is the next press of a move; false if it has been done.
func (m *meddler) toward(mv *move) (drill.Press, bool) {
	if mv.set == nil {
		return drill.Press{Key: mv.key}, mv.key != ""
	}
	profile := m.sitting.Documents().Profile
	for _, one := range mv.set {
		i, _ := profile.ControlIndex(one.Control)
		c := &profile.Controls[i]
		want, _ := c.Index(one.Position)
		if at := m.view.Positions[i]; at != want {
			return drill.Press{Key: drill.Key(c.Key), Shift: at > want && c.Count() > 2}, true
		}
	}
	return drill.Press{}, false
}

func (m *meddler) Pressed(at time.Duration) {
	if !m.mine {
		m.Trainee.Pressed(at)
		return
	}
	m.since = at
	m.moves[0].after = scenario.DefaultEvery
	if m.moves[0].set == nil {
		m.moves = m.moves[1:]
	}
}

// acting is the immediate actions, the first of them so long after what was before.
func acting(after time.Duration, actions []scenario.Action) []move {
	var moves []move
	for _, a := range actions {
		m := move{after: scenario.DefaultReaction, set: a.Set, until: a.After}
		switch {
		case a.Silence:
			m.key = drill.Quiet
		case a.Answer == logbook.Yes:
			m.key = drill.Yes
		case a.Answer == logbook.No:
			m.key = drill.No
		}
		moves = append(moves, m)
	}
	if len(moves) > 0 {
		moves[0].after = after
	}
	return moves
}

// ways is how an abnormal is met, the likeliest first: ignored, late, half, backwards, and with what makes it worse, or is right as well.
func ways(ab *scenario.Abnormal) (list []way) {
	add := func(moves []move, format string, args ...any) {
		list = append(list, way{fmt.Sprintf(format, args...), moves})
	}
	const s = time.Second
	add(nil, "ignored")
	for _, late := range []time.Duration{s, 2 * s, 5 * s, 8 * s, 12 * s, 15 * s, 20 * s, 30 * s, 45 * s} {
		add(acting(late, ab.Actions), "after %v", late)
	}
	back := slices.Clone(ab.Actions)
	slices.Reverse(back)
	add(acting(s, back), "backwards")
	add(acting(s, ab.Actions[:len(ab.Actions)/2]), "half")
	for k := range ab.Actions {
		add(acting(s, slices.Delete(slices.Clone(ab.Actions), k, k+1)), "without action %d", k+1)
	}
	for i, a := range ab.Actions {
		if a.After != "" {
			add([]move{{after: s, set: a.Set}}, "action %d too early", i+1)
		}
	}
	for i, w := range ab.Worse {
		worse := move{after: s, set: w.Set}
		add([]move{worse}, "worse %d", i+1)
		for _, late := range []time.Duration{s, 5 * s, 12 * s} {
			add(append([]move{worse}, acting(late, ab.Actions)...), "worse %d, right after %v", i+1, late)
		}
	}
	for i, m := range ab.Also {
		also := move{after: s, set: m.Set}
		add([]move{also}, "also %d", i+1)
		add(append([]move{also}, acting(s, ab.Actions)...), "also %d, then right", i+1)
	}
	return list
}

// way is one way in which an abnormal is met.
type way struct {
	name  string
	moves []move
}

// ended goes through a sitting and gives the sentence about its end. With unlooked, checks that show it are said yes to.
func (tr *trial) ended(t *testing.T, moves []move, unlooked bool) string {
	t.Helper()
	sitting := tr.Begin(tr.Seed, tr.Lead)
	answers := perfect()
	answers.Ignore = []string{tr.ab.Name}
	if unlooked {
		answers.Answers = unlookedAt(tr.ab)
	}
	trainee, err := bench.NewTrainee(tr.Exercise, sitting, answers)
	if err != nil {
		t.Fatal(err)
	}
	text := ""
	err = drill.Run(sitting, &meddler{Trainee: trainee, sitting: sitting, moves: slices.Clone(moves)}, drill.EstimatedLength, func(o drill.Output) error {
		if l, ok := o.(drill.Log); ok && l.Entry.Kind == logbook.Ending {
			text = l.Entry.Text
			return errSeen // what comes after it is of no interest here
		}
		return nil
	})
	if err != nil && !errors.Is(err, errSeen) {
		t.Fatal(err)
	}
	return text
}

// errSeen ends a sitting of which enough has been seen.
var errSeen = errors.New("seen")

// Every sentence about how an abnormal ended is reached in a sitting, by way of its condition: what nothing leads to would
// never be said, and might not be true.
func TestEveryEndingIsReached(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	texts, sittings := 0, 0
	for i, ab := range lib.Abnormals() {
		if len(ab.Ends) == 0 || testing.Short() && i%12 != 0 {
			continue
		}
		tr := tryOut(t, lib, ab)
		open := map[string]bool{}
		for _, end := range ab.Ends {
			open[end.Text] = true
		}
		texts += len(open)
		for _, e := range tr.meet(t, perfect()).Log {
			if e.Kind == logbook.Ending {
				delete(open, e.Text)
			}
		}
		for _, w := range ways(ab) {
			if len(open) == 0 {
				break
			}
			sittings++
			delete(open, tr.ended(t, w.moves, false))
			if len(unlooked[ab.Name]) > 0 {
				delete(open, tr.ended(t, w.moves, true))
			}
		}
		for text := range open {
			t.Errorf("%s: nothing leads to %q", ab.Name, text)
		}
	}
	t.Logf("%d sentences, %d sittings", texts, sittings)
}
