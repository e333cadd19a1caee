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

// ShortestLook is the time from the end of a challenge below which nobody has looked: the answer was given by rote. In the
// accident of NTSB/AAR-89/04 every challenge was answered rightly by rote, less than a second after it (there on page 61, as
// told by Degani and Wiener 1990, NASA CR-177549). It holds for whatever is answered by looking; a hand on a switch, the call
// of a passing value and a figure from memory need no look.
const ShortestLook = time.Second

// GivenUpAt is how many times its limit an item that was not answered counts as having taken: it times out then.
const GivenUpAt = 2

// Judge gives the result of a log.
func Judge(sheet *Sheet, log []logbook.Entry) *Result {
	j := &judge{sheet: sheet, items: make([]track, len(sheet.Items)), index: map[string]int{}, cues: map[int]heard{}}
	for i, it := range sheet.Items {
		j.index[it.ID] = i
	}
	r := &j.result
	r.Rules = Rules
	r.Jumps = []Jump{}
	r.LogEvents = len(log)
	r.Trusted = true
	r.Extremes, r.Inspections, r.Held = []Extreme{}, []string{}, []string{}
	for i := range log {
		j.number = i
		j.take(&log[i])
	}
	j.itemResults()
	j.injections()
	j.sound(log)
	j.stamped(log)
	j.reactions()
	j.deviations()
	j.looking()
	j.resuming()
	j.criteria()
	j.grade()
	j.next()
	return r
}

// judge goes through a log once.
type judge struct {
	sheet    *Sheet
	index    map[string]int // of items, by id
	items    []track
	cues     map[int]heard
	number   int           // of the entry that is taken
	now      time.Duration // of the entry that is taken
	press    logbook.Entry // the last press
	sequence []step        // items as they stand done, in the order in which they were
	dones    int           // how many times an item has been done, less those that were taken back
	extra    []slip        // what was done beyond that
	looks    []look
	stops    []stop
	awaited  []window // times in which an answer was waited for
	refused  int      // the last item that was rightly refused, and from 1; 0: none
	put      []*injection
	lastOver *injection      // the injection that ended last; nil: none has
	frozen   bool            // the instructor holds the sitting
	around   []time.Duration // when the instructor changed something around the aircraft
	result   Result
}

// step is one thing that was done.
type step struct {
	item   int           // -1: none
	number int           // of its entry in the log
	at     time.Duration // of the sitting
}

// slip is something that was done beyond what was wanted: again, too far, or for nothing.
type slip struct {
	step
	kind    Slip
	control string // of what no item wanted: the control, or the key
	undone  bool   // something done ahead of its turn was taken back
	dones   int    // how many times an item had been done by then
}

// heard is when a cue was really to be heard.
type heard struct {
	onset, until time.Duration
	class        logbook.Class
	reported     bool
	assumed      bool
}

// track is what the log has said of one item so far.
type track struct {
	asked      bool
	challenge  int // cue from whose end the answer is timed; 0 if there is none
	again      bool
	held       bool // the challenge was stopped for nothing: its time runs on
	timedOut   bool
	gaveUp     step // when it timed out
	unanswered bool // it timed out although its challenge had been given, and not been interrupted
	skipped    bool
	done       bool
	right      bool
	mistaken   bool // said something wrong on the way
	over       bool // answered while the challenge was still being spoken
	ahead      bool // done before anybody had asked for it
	resumed    bool // resumed unprompted after an interruption
	doneAt     time.Duration
	off        time.Duration // by how much that may be off, where a page stamped it
	called     bool          // a callout was made
	offset     time.Duration // of a callout: from the passing to the call
	repeats    int
	overshoots int
	astray     bool // overshot, and neither brought back nor left yet
	away       bool // overshot when it was done, and not brought back
	typed      string
	truth      string
	setBack    bool // the instructor has set back to before it
}

func (j *judge) item(id string) *track {
	if i, ok := j.index[id]; ok {
		return &j.items[i]
	}
	return &track{}
}

// byHand reports whether the trainee did it. Where an entry names no seat, the trainee is the only one who could have.
func byHand(e *logbook.Entry) bool { return e.Seat == logbook.Trainee || e.Seat == "" }

// when is the moment at which an act began. What a press came to has no length of its own.
func (j *judge) when(e *logbook.Entry) time.Duration {
	if e.Began == 0 && j.press.At == e.At {
		return j.press.When()
	}
	return e.When()
}

// off is by how much that moment may be off, where it was stamped elsewhere.
func (j *judge) off(e *logbook.Entry) time.Duration {
	if j.press.At == e.At {
		return j.press.Length
	}
	return 0
}

// take is one entry. What an entry means for the injections is in injection.go.
func (j *judge) take(e *logbook.Entry) {
	j.now = max(j.now, e.At)
	it := j.item(e.Item)
	switch e.Kind {
	case logbook.Press:
		j.press = *e
	case logbook.Cue:
		j.cues[e.Cue] = heard{onset: e.Onset, class: e.Class}
	case logbook.Heard:
		j.cues[e.Cue] = heard{e.Onset, e.Until, j.cues[e.Cue].class, true, e.Why == logbook.Assumed}
	case logbook.Ask:
		it.asked, it.challenge, it.again = true, e.Cue, false
	case logbook.AskAgain:
		it.askedAgain(e)
	case logbook.CueEnd:
		if h := j.cues[e.Cue]; h.until == 0 || e.At < h.until {
			j.untime(func(it *track) bool { return it.challenge == e.Cue && !it.held })
		}
	case logbook.Answer:
		j.answered(it, e)
	case logbook.Done:
		j.done(it, e)
	case logbook.Undone:
		j.takeBack(e.Item, it)
		j.dones--
		j.undone(e)
	case logbook.Reopen:
		j.takeBack(e.Item, it)
		*it = track{mistaken: it.mistaken, overshoots: it.overshoots, repeats: it.repeats, setBack: it.setBack || e.Seat == logbook.Instructor}
	case logbook.Again:
		it.repeats++
		j.beyond(e, Repetition)
	case logbook.Overshoot:
		j.overshot(it, e)
	case logbook.Fixed:
		it.astray = false
		it.away = it.away && !e.OK
	case logbook.TimedOut:
		j.timedOut(it, e)
	case logbook.Skip:
		it.skipped = true
	case logbook.Stray:
		j.stray(e)
	case logbook.StopCall:
		j.stopped(it, e)
	case logbook.Resumed:
		it.resumed = true
	case logbook.SoundBad:
		j.result.Trusted = false
	case logbook.Paused:
		if e.Why == logbook.Jumped {
			j.result.Jumps = append(j.result.Jumps, Jump{AtMS: *millis(e.At), LengthMS: *millis(e.Length)})
		}
	case logbook.Peak, logbook.Exceeded:
		j.extreme(e)
	case logbook.Held:
		if !slices.Contains(j.result.Held, e.Item) { // a flow that has gone back is held to it anew
			j.result.Held = append(j.result.Held, e.Item)
		}
	case logbook.Inspect:
		j.result.Inspections = append(j.result.Inspections, cmp.Or(e.Text, e.Name))
	case logbook.End:
		j.result.EndedWhy = e.Why
		j.result.Completed = e.Why == logbook.Complete || e.Why == logbook.Refused && j.excused()
	}
	j.instruct(e)
	j.takeInjections(e)
}

// passedOver reports whether the item done last comes after this one.
func (j *judge) passedOver(i int) bool {
	n := len(j.sequence)
	return n > 0 && j.sheet.Items[j.sequence[n-1].item].Rank > j.sheet.Items[i].Rank
}

// ended reports whether the sitting came to an end of its own: it went through, a check was rightly refused, or what had been
// done would not let it go on. Anything else broke it off.
func (r *Result) ended() bool { return r.Completed || r.CutShort() }

// CutShort reports whether the sitting ended because of what had been done in it: what was not reached then counts as not done.
func (r *Result) CutShort() bool {
	return r.EndedWhy == logbook.Inspection || r.EndedWhy == logbook.NotRight || r.EndedWhy == logbook.Refused && !r.Completed
}

// excused reports whether a check that was rightly refused was not so for a reason other than the trainee: all that was to be
// done before it had been done rightly and in its order, nothing beside that, and nothing that went wrong had been made worse.
func (j *judge) excused() bool {
	var ranks []int // of what was done before it
	for _, s := range j.sequence {
		if rank := j.sheet.Items[s.item].Rank; j.refused > 0 && rank < j.sheet.Items[j.refused-1].Rank {
			ranks = append(ranks, rank)
		}
	}
	if !slices.IsSorted(ranks) {
		return false // what was out of place may be why it was not so
	}
	if len(j.extra) > 0 || slices.ContainsFunc(j.put, func(in *injection) bool { return len(in.Worse) > 0 }) {
		return false
	}
	for i := range j.items {
		it := &j.items[i]
		if before := j.refused > 0 && j.sheet.Items[i].Rank < j.sheet.Items[j.refused-1].Rank; before && !it.skipped && (!it.done || !it.right || it.mistaken) {
			return false
		}
	}
	return true
}

func (it *track) askedAgain(e *logbook.Entry) {
	switch {
	case it.held:
	case e.Why == logbook.Unanswered:
		it.again = true
	case e.Why == logbook.Anew || it.challenge == 0:
		it.challenge = e.Cue
	}
}

func (j *judge) answered(it *track, e *logbook.Entry) {
	j.looked(it, e)
	it.over = it.over || e.Why == logbook.Over
	if i, ok := j.index[e.Item]; ok {
		if kind := j.sheet.Items[i].Kind; kind == procedure.Read || kind == procedure.Figure {
			it.typed, it.truth = e.Text, e.Truth
			return
		}
	}
	switch {
	case e.Why == logbook.Passing:
		it.offset, it.called = e.When()-e.Onset, true
	case e.Text == logbook.Yes && e.Truth == logbook.No:
		if e.Item != "" { // an answer to somebody outside is judged with what it belongs to
			j.result.False++
		}
		it.mistaken = true
	case e.Text == logbook.No && e.Truth == logbook.Yes:
		it.mistaken = true
	}
}

// done takes that an item has been given its response. What the crew has put right was not done by the trainee.
func (j *judge) done(it *track, e *logbook.Entry) {
	i, ok := j.index[e.Item]
	if !ok || !byHand(e) {
		return
	}
	j.takeBack(e.Item, it)
	it.done, it.right, it.doneAt, it.off = true, e.OK, j.when(e), j.off(e)
	it.over = it.over || e.Why == logbook.Over
	it.ahead = j.sheet.Spoken && !it.resumed && !j.turnOf(j.sheet.Items[i].Rank)
	j.sequence = append(j.sequence, step{item: i, number: j.number, at: e.At})
	j.dones++
	for k := range j.items {
		if k != i {
			j.items[k].astray = false
		}
	}
	j.await(it, e.At)
}

// turnOf reports whether an item of a rank has been asked for: those that share it may be done in any order.
func (j *judge) turnOf(rank int) bool {
	for i := range j.items {
		if j.sheet.Items[i].Rank == rank && j.items[i].asked {
			return true
		}
	}
	return false
}

func (j *judge) timedOut(it *track, e *logbook.Entry) {
	it.timedOut = true
	it.gaveUp = step{number: j.number, at: e.At}
	it.unanswered = it.asked && it.challenge != 0
	j.unlooked(e)
	j.await(it, e.At)
}

// await notes that an item was waited for until a moment.
func (j *judge) await(it *track, until time.Duration) {
	if it.challenge != 0 || !j.sheet.Spoken {
		j.awaited = append(j.awaited, window{cue: it.challenge, until: until})
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

// overshot takes that a position was passed, or moved away from. Steps of one move are one slip, until something else is done.
func (j *judge) overshot(it *track, e *logbook.Entry) {
	it.overshoots++
	it.away = it.done
	if !it.astray {
		j.beyond(e, Overshot)
	}
	it.astray = true
}

// undone takes that something done ahead of its turn was taken back: a control went beyond what had been asked for, and came
// back. All of one way back is one slip, with the item that it comes back to.
func (j *judge) undone(e *logbook.Entry) {
	i, ok := j.index[e.Item]
	if !ok {
		return
	}
	item := i
	for k := len(j.sequence) - 1; k >= 0; k-- {
		if done := j.sequence[k].item; j.share(done, i) {
			item = done
			break
		}
	}
	s := slip{step{item, j.number, e.At}, Overshot, "", true, j.dones}
	if n := len(j.extra); n > 0 && j.extra[n-1].undone && j.extra[n-1].dones == j.dones {
		j.extra[n-1] = s
		return
	}
	j.extra = append(j.extra, s)
}

// share reports whether two items move the same control.
func (j *judge) share(a, b int) bool {
	return slices.ContainsFunc(j.sheet.Items[a].Controls, func(control string) bool { return slices.Contains(j.sheet.Items[b].Controls, control) })
}

// beyond notes a slip with an item. Putting back what was moved away just before is the same slip.
func (j *judge) beyond(e *logbook.Entry, kind Slip) {
	i, ok := j.index[e.Item]
	if !ok {
		return
	}
	for n := len(j.extra); kind == Repetition && n > 0 && j.extra[n-1].kind == Intrusion &&
		j.extra[n-1].dones == j.dones && slices.Contains(j.sheet.Items[i].Controls, j.extra[n-1].control); n-- {
		j.extra = j.extra[:n-1]
	}
	j.extra = append(j.extra, slip{step: step{i, j.number, e.At}, kind: kind, control: e.Control})
}

// stray takes a press that no item wanted. While something goes wrong it belongs to that; a key that does nothing is no
// action.
func (j *judge) stray(e *logbook.Entry) {
	j.result.Strays++
	if slices.ContainsFunc(j.put, (*injection).showing) || e.Control == "" && !answers[e.Key] || e.Control != "" && j.stirred(e.At) {
		return
	}
	j.extra = append(j.extra, slip{step: step{-1, j.number, e.At}, kind: Intrusion, control: cmp.Or(e.Control, e.Key), dones: j.dones})
}

// answers are the keys that say something without moving a control.
var answers = map[string]bool{"enter": true, "backspace": true}

func (j *judge) extreme(e *logbook.Entry) {
	x := &j.result.Extremes
	if n := len(*x); n == 0 || (*x)[n-1].Gauge != e.Name {
		*x = append(*x, Extreme{Gauge: e.Name})
	}
	last := &(*x)[len(*x)-1]
	switch {
	case e.Kind == logbook.Exceeded:
		last.RedS = e.Length.Seconds()
	case e.Class == logbook.Highest:
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
	switch {
	case !it.done:
		return 0, false
	case j.sheet.Items[i].Kind == procedure.Callout:
		return it.offset, it.called && it.offset >= Anticipation
	case !it.asked:
		return 0, false
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
		r := j.itemResult(i, misplaced[i])
		if r.Outcome == Omitted {
			order.Omitted = append(order.Omitted, r.ID)
		}
		if j.wanted(r.Outcome) {
			order.Wanted++
		}
		j.result.Items = append(j.result.Items, r)
	}
}

func (j *judge) itemResult(i int, misplaced bool) ItemResult {
	it, item := &j.items[i], &j.sheet.Items[i]
	r := ItemResult{
		ID: item.ID, Phase: item.Phase, LimitMS: *millis(item.Limit), Overshoots: it.overshoots,
		Typed: it.typed, True: it.truth, Ahead: it.done && it.ahead, SetBack: it.setBack,
	}
	if r.True != "" {
		r.Tolerance = &item.Tolerance
	}
	reaction, measured := j.reaction(i)
	early := it.done && item.Kind != procedure.Callout && (measured && reaction < Anticipation || it.over)
	rote := it.done && item.Kind.Looked() && (measured && reaction < ShortestLook || it.over)
	r.Anticipated = early
	if measured && !early {
		r.ReactionMS = millis(reaction)
	}
	slow := measured && reaction > item.Limit && item.Kind != procedure.Callout
	r.Marks = it.marks(misplaced, slow, rote)
	r.Outcome = j.outcome(i, r.Marks)
	return r
}

// wanted reports whether an item was to be done: all but those that were not asked, and, where the sitting was broken off,
// those that it never came to.
func (j *judge) wanted(o Outcome) bool {
	return o != NotAsked && (o != NotReached || j.result.CutShort())
}

// share is a part of a whole in percent.
func share(part, whole int) *float64 {
	percent := 100 * float64(part) / float64(whole)
	return &percent
}

// marks is all that is to be said against an item, the gravest first.
func (it *track) marks(misplaced, slow, rote bool) []Outcome {
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
	mark(Rote, rote)
	mark(Repeated, it.repeats > 0)
	return m
}

func (j *judge) outcome(i int, marks []Outcome) Outcome {
	it, r := &j.items[i], &j.result
	switch {
	case len(marks) > 0:
		return marks[0]
	case it.done:
		return Right
	case it.skipped:
		return NotAsked
	case r.EndedWhy == logbook.Refused && r.Completed && j.refused > 0 && j.sheet.Items[i].Rank >= j.sheet.Items[j.refused-1].Rank:
		return NotAsked // the flow ended there, as it should
	case r.Completed, slices.Contains(r.Held, j.sheet.Items[i].ID), r.CutShort() && j.passedOver(i):
		return Omitted
	}
	return NotReached
}
