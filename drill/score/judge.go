package score

import (
	"cmp"
	"slices"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
)

// Anticipation is the reaction below which a press was under way before the challenge had ended: Basner and Dinges
// (2011), Sleep 34(5):581-591, count anything under it as a false start.
const Anticipation = 100 * time.Millisecond

// Judge gives the result of a log.
func Judge(sheet *Sheet, log []logbook.Entry) *Result {
	j := &judge{sheet: sheet, items: make([]track, len(sheet.Items)), index: map[string]int{}, cues: map[int]heard{}}
	for i, it := range sheet.Items {
		j.index[it.ID] = i
	}
	j.result.Rules = Rules
	j.result.LogEvents = len(log)
	j.result.Trusted = true
	j.result.Extremes = []Extreme{}
	for i := range log {
		j.number = i
		j.take(&log[i])
	}
	j.itemResults()
	j.injections()
	j.sound(log)
	j.reactions()
	j.deviations()
	j.looking()
	j.resuming()
	j.criteria()
	j.grade()
	j.next()
	return &j.result
}

// judge goes through a log once.
type judge struct {
	sheet    *Sheet
	index    map[string]int // of items, by id
	items    []track
	cues     map[int]heard
	number   int    // of the entry that is taken
	sequence []step // items as they stand done, in the order in which they were
	extra    []step // what was done beyond that: again, or for nothing
	open     *incident
	incident []*incident
	result   Result
}

// step is one thing that was done.
type step struct {
	item   int           // -1: none
	number int           // of its entry in the log
	at     time.Duration // of the sitting
	what   string        // of what no item wanted: the control, or the key
}

// heard is when a cue was really to be heard.
type heard struct {
	onset, until time.Duration
	class        string
	reported     bool
	assumed      bool
}

// track is what the log has said of one item so far.
type track struct {
	asked      bool
	challenge  int // cue from whose end the answer is timed; 0 if there is none
	again      bool
	timedOut   bool
	gaveUp     step // when it timed out
	unanswered bool // it timed out although its challenge had been given, and not been interrupted
	skipped    bool
	done       bool
	right      bool
	mistaken   bool // said something wrong on the way
	doneAt     time.Duration
	called     bool          // a callout was made
	offset     time.Duration // of a callout: from the passing to the call
	repeats    int
	overshoots int
	away       bool // overshot when it was done, and not brought back
}

func (j *judge) item(id string) *track {
	if i, ok := j.index[id]; ok {
		return &j.items[i]
	}
	return &track{}
}

// take is one entry. What an entry means for the injections is in incident.go.
func (j *judge) take(e *logbook.Entry) {
	it := j.item(e.Item)
	switch e.Kind {
	case logbook.Cue:
		j.cues[e.Cue] = heard{onset: e.Onset, class: e.Name}
	case logbook.Heard:
		j.cues[e.Cue] = heard{e.Onset, e.Until, j.cues[e.Cue].class, true, e.Name == "assumed"}
	case logbook.Ask:
		it.asked, it.challenge, it.again = true, e.Cue, false
	case logbook.AskAgain:
		switch {
		case e.Name == "":
			it.again = true
		case e.Name == "anew" || it.challenge == 0:
			it.challenge = e.Cue
		}
	case logbook.CueEnd:
		if h := j.cues[e.Cue]; h.until == 0 || e.At < h.until {
			j.untime(func(it *track) bool { return it.challenge == e.Cue })
		}
	case logbook.Answer:
		j.answered(it, e)
	case logbook.Done:
		if i, ok := j.index[e.Item]; ok {
			j.takeBack(e.Item, it)
			it.done, it.right, it.doneAt = true, e.OK, e.At
			j.sequence = append(j.sequence, step{item: i, number: j.number, at: e.At})
		}
	case logbook.Undone:
		j.takeBack(e.Item, it)
	case logbook.Reopen:
		j.takeBack(e.Item, it)
		*it = track{mistaken: it.mistaken, overshoots: it.overshoots, repeats: it.repeats}
	case logbook.Again:
		it.repeats++
		if i, ok := j.index[e.Item]; ok {
			j.extra = append(j.extra, step{item: i, number: j.number, at: e.At})
		}
	case logbook.Overshoot:
		it.overshoots++
		it.away = it.done
	case logbook.Fixed:
		it.away = false
	case logbook.TimedOut:
		it.timedOut = true
		it.gaveUp = step{number: j.number, at: e.At}
		it.unanswered = it.asked && it.challenge != 0
	case logbook.Skip:
		it.skipped = true
	case logbook.Stray:
		j.result.Strays++
		j.stray(e)
	case logbook.SoundBad:
		j.result.Trusted = false
	case logbook.Peak, logbook.Exceeded:
		j.extreme(e)
	case logbook.End:
		j.result.Completed = e.OK
	}
	j.takeIncident(e)
}

func (j *judge) answered(it *track, e *logbook.Entry) {
	j.looked(e)
	switch {
	case e.Name == "passing":
		it.offset, _ = time.ParseDuration(e.Text)
		it.called = true
	case e.Text == "yes" && e.Name == "no":
		j.result.False++
		it.mistaken = true
	case e.Text == "no" && e.Name == "yes":
		it.mistaken = true
	}
}

// untime takes every open challenge of which that is so as not given: an answer to it is no reaction.
func (j *judge) untime(so func(*track) bool) {
	for i := range j.items {
		if it := &j.items[i]; it.asked && !it.done && so(it) {
			it.challenge = 0
		}
	}
}

func (j *judge) takeBack(id string, it *track) {
	it.done = false
	if i, ok := j.index[id]; ok {
		j.sequence = slices.DeleteFunc(j.sequence, func(s step) bool { return s.item == i })
	}
}

// stray takes a press that no item wanted. While something goes wrong it belongs to that; a key that does nothing is no
// action.
func (j *judge) stray(e *logbook.Entry) {
	if j.open.busy() || e.Control == "" && e.Key != "enter" && e.Key != "backspace" {
		return
	}
	j.extra = append(j.extra, step{item: -1, number: j.number, at: e.At, what: cmp.Or(e.Control, e.Key)})
}

func (j *judge) extreme(e *logbook.Entry) {
	x := &j.result.Extremes
	if n := len(*x); n == 0 || (*x)[n-1].Gauge != e.Name {
		*x = append(*x, Extreme{Gauge: e.Name})
	}
	last := &(*x)[len(*x)-1]
	switch {
	case e.Kind == logbook.Exceeded:
		last.RedS = e.Value
	case e.Text == "highest":
		last.Highest = e.Value
	default:
		last.Lowest = e.Value
	}
}

// reaction is the time from the end of the challenge to the answer, or from the passing of a value to its call; false if
// there is none to speak of. A call that comes sooner than a hand can react was made by watching the value come, which is
// what a callout is about.
func (j *judge) reaction(i int) (time.Duration, bool) {
	it := &j.items[i]
	if !it.done || !it.asked {
		return 0, false
	}
	if j.sheet.Items[i].Kind == procedure.Callout {
		return it.offset, it.offset >= Anticipation
	}
	h, ok := j.cues[it.challenge]
	if !ok || h.until == 0 {
		return 0, false
	}
	return it.doneAt - h.until, true
}

// itemResults gives every item its outcome.
func (j *judge) itemResults() {
	misplaced := j.order()
	order := &j.result.Order
	j.result.Items = make([]ItemResult, 0, len(j.items))
	for i := range j.items {
		it, item := &j.items[i], &j.sheet.Items[i]
		r := ItemResult{ID: item.ID, Phase: item.Phase, LimitMS: *millis(item.Limit), Overshoots: it.overshoots}
		reaction, measured := j.reaction(i)
		if measured {
			r.Anticipated = reaction < Anticipation
			if !r.Anticipated {
				r.ReactionMS = millis(reaction)
			}
		}
		r.Marks = it.marks(misplaced[i], measured && reaction > item.Limit && item.Kind != procedure.Callout)
		r.Outcome = j.outcome(it, r.Marks)
		if r.Outcome == Omitted {
			j.result.Order.Omitted = append(j.result.Order.Omitted, item.ID)
		}
		if r.Outcome != NotAsked && r.Outcome != NotReached {
			order.Wanted++
		}
		j.result.Items = append(j.result.Items, r)
	}
	if order.Wanted > 0 {
		order.Figure = share(order.InPlace, order.Wanted)
	}
}

// share is a part of a whole in percent.
func share(part, whole int) *float64 {
	percent := 100 * float64(part) / float64(whole)
	return &percent
}

// marks is all that is to be said against an item, the gravest first.
func (it *track) marks(misplaced, slow bool) []Outcome {
	var m []Outcome
	mark := func(o Outcome, yes bool) {
		if yes {
			m = append(m, o)
		}
	}
	mark(Omitted, it.timedOut && !it.done)
	mark(Wrong, it.done && (!it.right || it.away) || it.mistaken)
	mark(OutOfOrder, misplaced)
	mark(Late, it.done && (slow || it.again || it.timedOut))
	mark(Repeated, it.repeats > 0)
	return m
}

func (j *judge) outcome(it *track, marks []Outcome) Outcome {
	switch {
	case len(marks) > 0:
		return marks[0]
	case it.done:
		return Right
	case it.skipped:
		return NotAsked
	case j.result.Completed:
		return Omitted
	}
	return NotReached
}
