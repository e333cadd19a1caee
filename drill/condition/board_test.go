package condition_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"hornlark/drill/condition"
)

// boardConditions are of every kind: against a figure, a position, each other, and reckoned with.
var boardConditions = []string{
	"nr < 95", "nr <= 95", "nr > 95", "nr >= 95", "nr == 95", "nr != 95", "95 > nr", "nr < tot1", "nr + 1 < tot1 * 2", "1 / nr > 3", "-nr == 0",
	"battery", "not battery", "not (battery or low_nr)", `battery == "off"`, `engine1 == "idle"`, `engine1 != "idle"`, `engine1 in ["off", "flight"]`,
	"nr < 95 and battery or tot1 > 700 and not low_nr", "nr < 95 and (battery or tot1 >= 700) and count == 3", "true", "not true or count > 2",
	"nr < 0 or nr > 0", "tot1 >= 0 and tot1 <= 0",
}

// boardFigures are what readings are put to: what the conditions hold them against, what lies right beside it, and what is no number at all.
var boardFigures = []float64{
	0, math.Copysign(0, -1), 1, 2, 3, 4, 94, 95, 96, 700, math.Nextafter(95, 0), math.Nextafter(95, 100), math.Nextafter(700, 0), math.Nextafter(700, 800),
	math.SmallestNonzeroFloat64, -math.SmallestNonzeroFloat64, math.Inf(1), math.Inf(-1), math.NaN(), -1,
}

// Whatever the readings become, however they are put on a board, and whichever of its conditions is asked when: it says what the
// condition itself says of them; and so does a clone, which goes its own way.
func TestBoardSaysWhatTheConditionsSay(t *testing.T) {
	set := condition.NewSet(len(scope))
	var asked []condition.Asked
	for _, src := range boardConditions {
		c, err := condition.Compile(src, scope)
		if err != nil {
			t.Fatal(err)
		}
		asked = append(asked, set.Add(c))
	}
	rapid.Check(t, func(t *rapid.T) {
		boards := []condition.Board{condition.NewBoard(set)}
		slot, figure := rapid.IntRange(0, len(scope)-1), rapid.SampledFrom(boardFigures)
		for range rapid.IntRange(1, 60).Draw(t, "steps") {
			b := &boards[rapid.IntRange(0, len(boards)-1).Draw(t, "board")]
			switch rapid.IntRange(0, 4).Draw(t, "what") {
			case 0:
				b.Put(slot.Draw(t, "slot"), figure.Draw(t, "figure"))
			case 1:
				from := slot.Draw(t, "from")
				to := rapid.IntRange(from, len(scope)).Draw(t, "to")
				for i := from; i < to; i++ {
					b.Readings[i] = figure.Draw(t, "figure")
				}
				b.Changed(from, to)
			case 2:
				if len(boards) < 3 {
					boards = append(boards, b.Clone())
				}
			default:
				a := rapid.SampledFrom(asked).Draw(t, "asked")
				c := set.Condition(a)
				if got, want := b.Holds(a), c.Holds(b.Readings); got != want {
					t.Fatalf("%s is %v on the board and %v of %v", c, got, want, b.Readings)
				}
			}
		}
		for i := range boards {
			for _, a := range asked {
				if c := set.Condition(a); boards[i].Holds(a) != c.Holds(boards[i].Readings) {
					t.Fatalf("%s is wrong of %v", c, boards[i].Readings)
				}
			}
		}
	})
	none := condition.NewBoard(set)
	if none.Holds(0) || set.Condition(0) != nil {
		t.Error("no condition at all holds")
	}
}

// Nothing that a board does takes from the heap.
func TestBoardDoesNotAllocate(t *testing.T) {
	set := condition.NewSet(len(scope))
	c, err := condition.Compile("nr < 95 and battery", scope)
	if err != nil {
		t.Fatal(err)
	}
	a, b, nr := set.Add(c), condition.NewBoard(set), 90.0
	if n := testing.AllocsPerRun(100, func() { nr++; b.Put(scope["nr"].Slot, nr); b.Changed(0, len(scope)); b.Holds(a) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

// Whoever watches conditions is told to look whenever one of theirs says something else than when they last looked, however the
// readings came to be what they are; and is not told when no reading has changed.
func TestWhoeverWatchesIsTold(t *testing.T) {
	set := condition.NewSet(len(scope))
	watched := map[condition.Watch][]condition.Asked{}
	for i, src := range boardConditions {
		c, err := condition.Compile(src, scope)
		if err != nil {
			t.Fatal(err)
		}
		by := condition.Watch(1) << (i % 3)
		watched[by] = append(watched[by], set.Add(c))
		set.Watched(by, watched[by][len(watched[by])-1], 0)
	}
	rapid.Check(t, func(t *rapid.T) {
		b := condition.NewBoard(set)
		said := map[condition.Asked]bool{}
		slot, figure := rapid.IntRange(0, len(scope)-1), rapid.SampledFrom(boardFigures)
		for n := range rapid.IntRange(1, 60).Draw(t, "steps") {
			if n > 0 {
				b.Put(slot.Draw(t, "slot"), figure.Draw(t, "figure"))
			}
			by := condition.Watch(1) << rapid.IntRange(0, 2).Draw(t, "by")
			told := b.Stirred(by)
			for _, a := range watched[by] {
				if now := b.Holds(a); now != said[a] && !told {
					t.Fatalf("%s has become %v, and nobody is told", set.Condition(a), now)
				} else {
					said[a] = now
				}
			}
			if n == 0 && !told {
				t.Fatal("a new board has been looked at by nobody")
			}
			if b.Stirred(by) {
				t.Fatal("told again, and nothing has changed")
			}
			if b.Stir(by); !b.Stirred(by) {
				t.Fatal("stirred, and not told")
			}
		}
	})
}
