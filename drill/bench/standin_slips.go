package bench

import (
	"time"

	"hornlark/drill"
	"hornlark/drill/procedure"
	"hornlark/drill/score"
)

// slip is what goes wrong with an item.
type slip int

const (
	noSlip slip = iota
	omits
	takesNeighbour
	goesTooFar
	misreads
	answersByRote
	swaps
)

// slips is what goes wrong with the item that is dealt with, and what is pressed by mistake or to put that right.
type slips struct {
	item    int // that it was drawn for
	dealt   time.Duration
	kind    slip
	gone    bool // the slip has been made
	insists bool // it does not answer when it is asked again either
	digit   int
	wait    time.Duration
	queue   [3]drill.Press
	queued  int
	from    time.Duration
	every   time.Duration
	own     bool // something of its own doing is as it should not be
	count   [swaps + 1]int
	chances [swaps + 1]int
}

// stress is by what the chances of slips are multiplied.
func (s *standIn) stress() float64 {
	if s.mind.noticed {
		return s.Slips.Stress
	}
	return 1
}

// chance draws whether something happens.
func (s *standIn) chance(p float64) bool { return !s.rehearses && s.draw.Float64() < p }

// err draws whether a slip is made, and counts.
func (s *standIn) err(kind slip, p float64) bool {
	s.slips.chances[kind]++
	if !s.chance(min(1, float64(p*s.stress()))) {
		return false
	}
	s.slips.count[kind]++
	return true
}

// doItem goes on with the flow, with whatever goes wrong in it.
func (s *standIn) doItem() (wish, bool) {
	t := s.Trainee
	if t.at < 0 || t.at >= len(t.flow.items) {
		return wish{}, false
	}
	it := t.flow.items[t.at]
	if t.since > 0 && (s.slips.item != t.at || s.slips.dealt != t.since) {
		s.deal(it)
	}
	w, ok := t.item()
	if !ok || t.fixing {
		return w, ok
	}
	switch s.slips.kind {
	case omits:
		if t.policy.Asks == "" {
			t.next()
			return wish{}, false
		}
		if again := t.view.Asked != nil && t.view.Asked.Again; !again || s.slips.insists {
			return wish{}, false
		}
	case takesNeighbour, goesTooFar:
		if w.item && it.kind == procedure.Set && !s.slips.gone && w.press.Key != drill.Yes {
			return s.goAstray(it, w)
		}
	case misreads:
		return s.misread(it, w), true
	case answersByRote:
		w.press, w.wait = drill.Press{Key: drill.Yes}, s.slips.wait
	}
	return w, true
}

// deal draws how an item goes.
func (s *standIn) deal(it *item) {
	t, sl := s.Trainee, &s.slips
	fresh := sl.item != t.at
	sl.item, sl.dealt = t.at, t.since
	switch it.kind {
	case procedure.Callout:
		sl.wait = s.Expected.Draw(s.draw) + s.Answer.Draw(s.draw)
	case procedure.Check, procedure.Confirm:
		sl.wait = max(score.ShortestLook, s.Challenge.Draw(s.draw)+s.Dwell.Draw(s.draw)+s.Answer.Draw(s.draw)) // sooner nobody has looked
	default:
		sl.wait = s.Challenge.Draw(s.draw) + s.Key.Draw(s.draw)
	}
	if !fresh {
		return // it is asked again
	}
	sl.kind, sl.gone, sl.insists = noSlip, false, false
	omission := s.Slips.Omission
	if t.policy.Asks == "" {
		omission = s.Slips.FromMemory
	}
	if s.err(omits, omission) {
		sl.kind, sl.insists = omits, s.chance(s.Slips.Uncorrected)
		return
	}
	switch {
	case it.kind == procedure.Set:
		s.dealMove(it)
	case it.typed():
		if s.err(misreads, s.Slips.Misreading) {
			sl.kind, sl.digit = misreads, s.draw.IntN(1<<10)
		}
	case it.kind == procedure.Check || it.kind == procedure.Confirm:
		if s.err(answersByRote, s.Slips.Rote) {
			sl.kind, sl.wait = answersByRote, s.Expected.Draw(s.draw) // sooner than anybody could have looked
		} else if s.err(misreads, s.Slips.CheckReading) {
			sl.kind = misreads
		}
	}
}

// dealMove draws how a move goes.
func (s *standIn) dealMove(it *item) {
	t, sl := s.Trainee, &s.slips
	if s.err(takesNeighbour, s.Slips.WrongControl) {
		sl.kind = takesNeighbour
		return
	}
	if len(it.set) > 0 && t.flow.profile.Controls[it.set[0].control].Count() > 2 && s.err(goesTooFar, s.Slips.WrongPosition) {
		sl.kind = goesTooFar
		return
	}
	if t.policy.Asks == "" && t.at+1 < len(t.flow.items) && t.flow.items[t.at+1].kind == procedure.Set && s.err(swaps, s.Slips.Order) {
		sl.kind = swaps
		t.flow.swapped[t.at] = t.at + 1
	}
}

// goAstray presses the neighbour, or once too often, and mostly puts it right at once.
func (s *standIn) goAstray(it *item, w wish) (wish, bool) {
	t, sl := s.Trainee, &s.slips
	corrects := !s.chance(s.Slips.Uncorrected)
	controls := t.flow.profile.Controls
	control := it.set[0].control
	for _, want := range it.set {
		if t.view.Positions[want.control] != want.position {
			control = want.control
			break
		}
	}
	sl.from = w.since + w.wait - sl.every
	if sl.kind == goesTooFar {
		away := w.press.Shift
		if dist := t.view.Positions[control] - s.wanted(it, control); dist != 1 && dist != -1 {
			return w, true // not there yet
		}
		sl.gone = true
		sl.queue = [3]drill.Press{w.press, w.press, {Key: w.press.Key, Shift: !away}}
		sl.queued = 3
	} else {
		sl.gone = true
		other := control + 1
		if other == len(controls) {
			other = control - 1
		}
		sl.queue = [3]drill.Press{{Key: drill.Key(controls[other].Key)}, {Key: drill.Key(controls[other].Key), Shift: controls[other].Count() > 2}}
		sl.queued = 2
	}
	if !corrects {
		sl.queued--
		sl.own = true
	}
	return wish{press: sl.queue[0], since: sl.from, wait: sl.every}, true
}

// wanted is where an item wants a control.
func (s *standIn) wanted(it *item, control int) int {
	for _, want := range it.set {
		if want.control == control {
			return want.position
		}
	}
	return s.view.Positions[control]
}

// misread types a digit wrong, or says the opposite of what is so.
func (s *standIn) misread(it *item, w wish) wish {
	t := s.Trainee
	if !it.typed() {
		if w.press.Key == drill.Yes {
			w.press.Key = drill.No
		} else if w.press.Key == drill.No {
			w.press.Key, w.wait = drill.Yes, s.slips.wait
		}
		return w
	}
	if t.view.Typing && t.view.Typed == "" && t.reading != "" {
		digits := []byte(t.reading)
		i := s.slips.digit % len(digits)
		if digits[i] >= '0' && digits[i] <= '9' {
			digits[i] = '0' + (digits[i]-'0'+1+byte(s.slips.digit/len(digits)%9))%10
		}
		t.reading = string(digits)
		w.press = drill.Press{Key: drill.Key(digits[:1])}
	}
	return w
}

// String is the kind of slip, in words.
func (k slip) String() string {
	return [...]string{"none", "omission", "wrong control", "wrong position", "misreading", "rote", "order"}[k]
}
