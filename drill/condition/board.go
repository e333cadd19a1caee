package condition

import (
	"math"
	"slices"
)

// Asked is a condition of a Set, by its number. The zero value is none.
type Asked int32

// Set is conditions that are asked over and over of the readings of a Board. It is filled with Add, and from then on only to be
// read, and may be shared by boards.
type Set struct {
	conditions []*Condition // that of Asked(n) is at n-1
	slots      []figures
}

// figures is what conditions hold a reading against.
type figures struct {
	from  []float64 // where each stretch begins in which all conditions say the same of the reading, upwards
	every bool      // a condition reckons with the reading itself, and every change of it matters
	asked []Asked   // the conditions that hang on the reading
	watch Watch     // who watches any of them
}

// Watch is who goes by conditions of a set, a bit each: a Board keeps for each whether any of theirs may say something else by now,
// so that whoever has nothing to look at does not look.
type Watch uint16

// Watched has conditions of the set watched, like Add only while it is being filled.
func (s *Set) Watched(by Watch, conditions ...Asked) {
	for _, a := range conditions {
		if a == 0 {
			continue
		}
		for slot := range s.conditions[a-1].reads {
			s.slots[slot].watch |= by
		}
	}
}

// NewSet makes a set without conditions, for readings in so many slots.
func NewSet(slots int) *Set { return &Set{slots: make([]figures, slots)} }

// Add puts a condition into the set.
func (s *Set) Add(c *Condition) Asked {
	s.conditions = append(s.conditions, c)
	asked := Asked(len(s.conditions))
	for slot := range c.reads {
		s.slots[slot].asked = append(s.slots[slot].asked, asked)
	}
	for i := range c.looks {
		l := &c.looks[i]
		if l.other == nil {
			s.slots[l.slot].split(l.low, math.Nextafter(l.high, math.Inf(1)))
			continue
		}
		for slot := range c.reads {
			s.slots[slot].every = true
		}
	}
	return asked
}

// Condition is one of the set; nil for none.
func (s *Set) Condition(a Asked) *Condition {
	if a == 0 {
		return nil
	}
	return s.conditions[a-1]
}

// split begins a stretch at each of some figures.
func (f *figures) split(at ...float64) {
	for _, figure := range at {
		if i, there := slices.BinarySearch(f.from, figure); !there {
			f.from = slices.Insert(f.from, i, figure)
		}
	}
}

// stretch is the one that a reading lies in. What is no number lies in none.
func (f *figures) stretch(reading float64) stretch {
	in := stretch{math.Inf(-1), math.Inf(1)}
	for _, from := range f.from {
		if reading < from {
			in.high = math.Nextafter(from, math.Inf(-1))
			break
		}
		in.low = from
	}
	return in
}

// Board is readings, and what the conditions of a set say of them. A condition is worked out anew only once a reading that it
// hangs on has passed a figure that it is held against: a hundred conditions asked fifty times a second mostly say what they said.
type Board struct {
	// Readings are to be changed with Put, or else with a call of Changed afterwards.
	Readings []float64
	set      *Set
	within   []stretch // that each reading lay in when it was last looked at
	answers  []answer  // by Asked
	stirred  Watch
}

// stretch is readings of which all conditions say the same, its ends included.
type stretch struct{ low, high float64 }

// answer is what a condition said when it was last worked out.
type answer uint8

const (
	stale answer = iota // worked out when it is next asked
	no
	yes
)

// NewBoard makes a board with all readings at zero.
func NewBoard(s *Set) Board {
	b := Board{
		Readings: make([]float64, len(s.slots)), set: s, answers: make([]answer, len(s.conditions)+1),
		within: make([]stretch, len(s.slots)), stirred: ^Watch(0),
	}
	for slot := range s.slots {
		b.place(slot)
	}
	return b
}

// Clone makes a board that goes on by itself.
func (b *Board) Clone() Board {
	c := *b
	c.Readings, c.within, c.answers = slices.Clone(b.Readings), slices.Clone(b.within), slices.Clone(b.answers)
	return c
}

// Put sets a reading.
func (b *Board) Put(slot int, reading float64) {
	b.Readings[slot] = reading
	if in := &b.within[slot]; !(reading >= in.low && reading <= in.high) {
		b.passed(slot)
	}
}

// Changed follows readings that have been written by somebody else: those of the slots from one to before another.
func (b *Board) Changed(from, to int) {
	readings := b.Readings[from:to]
	within := b.within[from:to][:len(readings)]
	for i := range within {
		if in := &within[i]; !(readings[i] >= in.low && readings[i] <= in.high) {
			b.passed(from + i)
		}
	}
}

// Stays is up to where a reading can rise without a condition saying anything else: whoever knows when it will be there need not write it
// before. A reading that a condition reckons with cannot.
func (b *Board) Stays(slot int) float64 { return b.within[slot].high }

// Stirred reports whether conditions that somebody watches may say something else than when this was last asked for them: a
// reading has passed a figure that one of them is held against, or Stir was called. All are stirred on a new board.
func (b *Board) Stirred(by Watch) bool {
	if b.stirred&by == 0 {
		return false
	}
	b.stirred &^= by
	return true
}

// Stir has somebody look again for a reason of the caller's.
func (b *Board) Stir(by Watch) { b.stirred |= by }

// passed is called when a reading has left its stretch.
func (b *Board) passed(slot int) {
	b.place(slot)
	b.stirred |= b.set.slots[slot].watch
	for _, asked := range b.set.slots[slot].asked {
		b.answers[asked] = stale
	}
}

// place finds the stretch that a reading lies in. One that is reckoned with lies in none, so that every change of it counts.
func (b *Board) place(slot int) {
	f := &b.set.slots[slot]
	b.within[slot] = f.stretch(b.Readings[slot])
	if f.every {
		b.within[slot] = stretch{math.Inf(1), math.Inf(-1)}
	}
}

// Holds reports whether a condition of the set is true of the readings as they are; none never is.
func (b *Board) Holds(a Asked) bool {
	if b.answers[a] == stale {
		b.work(a)
	}
	return b.answers[a] == yes
}

func (b *Board) work(a Asked) {
	b.answers[a] = no
	if a != 0 && b.set.conditions[a-1].Holds(b.Readings) {
		b.answers[a] = yes
	}
}
