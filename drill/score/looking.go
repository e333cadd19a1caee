package score

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
)

// QuietStretch is how long a stretch is in which nothing shows that would have to be noticed: a stop call in it is a false
// alarm, and one without is as much noise rightly left alone as a check that was so. Our own figure: about as long as an
// abnormal may go unnoticed.
const QuietStretch = 30 * time.Second

// look is the answer to a check or a confirmation.
type look struct {
	cue    int // challenge that it is timed from; 0: none
	at     time.Duration
	signal bool // it was not so
	no     bool // it was refused
	rote   bool // over the challenge
}

// stop is a stop call with nothing to be seen.
type stop struct {
	at   time.Duration
	item string // that was being asked
}

// window is a time in which an answer was waited for, from the end of a challenge.
type window struct {
	cue   int
	until time.Duration
}

// looked takes the answer to a check or a confirmation: a look that told what was wrong from what was not, or did not.
func (j *judge) looked(it *track, e *logbook.Entry) {
	i, ok := j.index[e.Item]
	if !ok || j.sheet.Items[i].Kind != procedure.Check && j.sheet.Items[i].Kind != procedure.Confirm || e.Truth != logbook.Yes && e.Truth != logbook.No {
		return
	}
	l := look{cue: it.challenge, at: j.when(e), signal: e.Truth == logbook.No, no: e.Text == logbook.No, rote: e.Why == logbook.Over}
	j.looks = append(j.looks, l)
	if l.signal {
		// Whoever called stop over what was not so has seen it.
		j.stops = slices.DeleteFunc(j.stops, func(s stop) bool { return s.item == e.Item })
	}
	if l.signal && l.no {
		j.refused = i + 1
	}
}

// unlooked takes a check that was given up: what was wrong there got by, where the log knows that it was. Where nobody asks, the
// flow has gone on by then, and what is so no longer may have been so in its turn.
func (j *judge) unlooked(e *logbook.Entry) {
	if e.Truth == logbook.No && j.sheet.Spoken {
		j.looks = append(j.looks, look{signal: true})
	}
}

// stopped takes a stop call. While something goes wrong that is how it was noticed, or a look-alike taken for it; otherwise
// nothing was to be seen, and the time for the item that was being asked runs on. It is no false alarm where the instructor has just
// changed something around the aircraft.
func (j *judge) stopped(it *track, e *logbook.Entry) {
	if j.sheet.Figures || !byHand(e) || slices.ContainsFunc(j.put, (*injection).showing) {
		return
	}
	it.held = it.asked && it.challenge != 0
	if !j.stirred(e.At) {
		j.stops = append(j.stops, stop{j.when(e), e.Item})
	}
}

func (l *Looking) signal(found bool) {
	l.Signals++
	if found {
		l.Hits++
	}
}

// share is the part of the looks that were right, and how many there were. Quiet stretches in which nothing was called are not
// among them: a sitting that drags on has more of these.
func (l *Looking) share() (right, of int) {
	return l.Hits + l.Noise - l.FalseAlarms - l.left, l.Signals + l.Noise - l.left
}

func (l *Looking) noise(taken bool) {
	l.Noise++
	if taken {
		l.FalseAlarms++
	}
}

// looking adds up the looks, the injections and the quiet stretches, and says what they come to.
func (j *judge) looking() {
	l := &j.result.Looking
	for _, look := range j.looks {
		switch {
		case look.signal:
			l.signal(look.no)
		case look.no || !j.byRote(&look): // a yes by rote is no look
			l.noise(look.no)
		}
	}
	for _, in := range j.put {
		switch {
		case in.counts():
			l.signal(in.noticed)
		case in.Outcome == Unended:
			l.unended = true
		case in.Outcome == LeftAlone, in.Outcome == ActedOn:
			l.noise(in.Outcome == ActedOn)
		}
	}
	if !j.sheet.Figures {
		j.quiet()
	}
	if l.Signals > 0 && l.Noise > 0 {
		sensitivity, criterion := Detect(l.Hits, l.Signals, l.FalseAlarms, l.Noise)
		l.Sensitivity, l.Criterion = &sensitivity, &criterion
	}
	l.Words = l.words()
}

// byRote reports whether an answer came sooner than anybody could have looked.
func (j *judge) byRote(l *look) bool {
	h, ok := j.cues[l.cue]
	return l.rote || ok && h.until != 0 && l.at-h.until < ShortestLook
}

// span is a part of the running time.
type span struct{ from, to time.Duration }

// quiet counts the quiet stretches: between one injection that showed and the next, the time in which no answer was waited
// for, cut into whole stretches. Waiting is left out so that being slow gains no stretch. A stop call in what is left over
// counts as a stretch of its own.
func (j *judge) quiet() {
	l := &j.result.Looking
	waits, shown := j.waits(), j.shown()
	from := time.Duration(0)
	for _, until := range append(shown, span{j.now, j.now}) {
		l.QuietStretches += l.stretches(span{from, until.from}, waits, j.stops)
		from = max(from, until.to)
	}
}

// stretches counts those of one gap and the false alarms in them.
func (l *Looking) stretches(gap span, waits []span, stops []stop) int {
	whole := int(quietIn(gap, waits) / QuietStretch)
	alarmed := make([]bool, whole)
	over := 0
	for _, s := range stops {
		if s.at < gap.from || s.at >= gap.to {
			continue
		}
		if n := int(quietIn(span{gap.from, s.at}, waits) / QuietStretch); n < whole {
			alarmed[n] = true
		} else {
			over++
		}
	}
	for _, alarm := range alarmed {
		l.noise(alarm)
		count(&l.left, !alarm)
	}
	for range over {
		l.noise(true)
	}
	return whole
}

// quietIn is how much of a gap is left once what was waited for, in order, is taken out of it.
func quietIn(gap span, waits []span) time.Duration {
	left, from := time.Duration(0), gap.from
	for _, w := range waits {
		left += max(0, min(gap.to, w.from)-from)
		from = max(from, w.to)
	}
	return left + max(0, gap.to-from)
}

// waits are the times in which an answer was waited for, in order. Where nobody asks, it is all that the
// trainee took from one item to the next.
func (j *judge) waits() []span {
	var all []span
	last := time.Duration(0)
	for _, w := range j.awaited {
		from := j.cues[w.cue].until
		if !j.sheet.Spoken {
			from, last = last, w.until
		}
		if from == 0 && j.sheet.Spoken {
			continue // nobody has heard the challenge
		}
		all = append(all, span{from, max(from, w.until)})
	}
	return inOrder(all)
}

// shown are the times in which an injection showed itself, in order.
func (j *judge) shown() []span {
	var all []span
	for _, in := range j.put {
		if in.open {
			all = append(all, span{in.shown, max(in.shown, in.over)})
		}
	}
	return inOrder(all)
}

// inOrder sorts spans by when they began.
func inOrder(all []span) []span {
	slices.SortStableFunc(all, func(a, b span) int { return cmp.Compare(a.from, b.from) })
	return all
}

// The leaning that is worth a word, and the looks of either kind below which it may be chance. Our own figures.
const (
	leaning  = 0.3
	fewLooks = 5
)

// words is what the looking comes to for somebody who flies. A leaning is only told where there are errors of its kind: the
// correction alone moves the criterion of somebody who made none, where there was much more of one kind than of the other.
func (l *Looking) words() string {
	missed := l.Signals - l.Hits
	var text string
	switch {
	case l.Sensitivity == nil && l.Signals > 0:
		return fmt.Sprintf("nothing in limits was asked about, so a tendency cannot be told (%d of %d found)", l.Hits, l.Signals)
	case l.Sensitivity == nil && l.Noise > 0 && !l.unended:
		return fmt.Sprintf("nothing was wrong, so looking cannot be told from answering (%d looks, %d refused)", l.Noise, l.FalseAlarms)
	case l.Sensitivity == nil && l.Noise > 0:
		return fmt.Sprintf("no fault was brought to its end, so looking cannot be told from answering (%d looks, %d refused)", l.Noise, l.FalseAlarms)
	case l.Sensitivity == nil:
		return ""
	case missed == 0 && l.FalseAlarms == 0:
		text = "found every fault, with no false alarm"
	case *l.Criterion >= leaning && missed > 0:
		text = "says yes too easily: misses faults"
	case *l.Criterion <= -leaning && l.FalseAlarms > 0:
		text = "says no too easily: sees faults where there are none"
	case missed > 0 && l.FalseAlarms > 0:
		text = "errs both ways: look at the gauge before the answer"
	case missed > 0:
		text = "misses a fault now and then"
	default:
		text = "sees a fault now and then where there is none"
	}
	if l.Signals < fewLooks || l.Noise < fewLooks {
		text += "; too few to be sure"
	}
	return text
}
