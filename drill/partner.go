package drill

import (
	"cmp"
	"slices"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
)

// partner is the challenger, who reads the items. They know what has been said, what has been pressed, and which tones
// sound; of the aircraft they have the picture that everybody has, and nothing of what is in it and not known yet. They
// go on with the checklist until the trainee stops them.
type partner struct {
	stopped bool          // told to stop, by the stop call, by a refusal, or by an act that has to do with what is wrong
	since   time.Duration // when the trainee last did anything, once they have been stopped
	quiet   time.Duration // says nothing until then: after a tone, or words from outside
}

const (
	// patience is how long the partner waits, once they have been stopped, for anything to happen.
	patience = 20 * time.Second

	// moment is how long they wait after a warning tone has cut them short.
	moment = 2 * time.Second

	// replyTime is how long they leave for a reply to words from outside.
	replyTime = 6 * time.Second

	// lingering is how long the sitting goes on after the last item, whatever is in the aircraft.
	lingering = 3 * time.Second
)

// tickFlow gives the next challenge when it is time, and loses patience with one that is not answered.
func (s *Sitting) tickFlow() {
	f := &s.flow
	if len(f.items) == 0 || s.ended {
		return
	}
	if f.turn < 0 {
		s.turnTo(0)
		s.soundOn()
	}
	it := f.current()
	switch {
	case s.ended:
	case it == nil:
		s.tickLast()
	case s.partner.stopped:
		s.tickPassing(it)
		s.tickStopped()
	case f.cut:
		s.tickPassing(it)
		if s.mayAsk() {
			s.askAnew(logbook.Anew)
		}
	case f.resuming:
		s.tickPassing(it)
		s.tickResume(it)
	case f.fixing:
		s.tickFix(it)
	case !f.asked:
		if s.ready(it) {
			s.ask(it)
		}
	case s.policy.Acts == logbook.Pilot:
		s.tickPassing(it)
		s.tickPilot(it)
	default:
		s.tickPassing(it)
		s.tickPatience(it)
	}
}

// tickLast ends the sitting after its last item, or once the crew has spoken after a refusal that ends it. Somebody who is dealing
// with something is left to it.
func (s *Sitting) tickLast() {
	if s.flow.refused != "" {
		if s.quietFor() {
			s.end(logbook.Refused, s.flow.refused)
		}
		return
	}
	if s.quietFor() && s.now >= s.flow.since+lingering && !s.busy() {
		s.end(logbook.Complete, "complete")
	}
}

// mayAsk reports whether the partner may speak.
func (s *Sitting) mayAsk() bool { return s.quietFor() && s.now >= s.partner.quiet }

// ready reports whether an item can be asked now: the aircraft, as it is taken to be, has come to where it makes sense, or
// that has taken too long; and nobody is speaking.
func (s *Sitting) ready(it *item) bool {
	if s.policy.Asks != "" && !s.mayAsk() {
		return false
	}
	return it.after == nil || it.after.Holds(s.expected().Readings()) || s.now >= s.flow.since+cmp.Or(it.Wait, waitMost)
}

// ask gives the challenge. Where nobody asks nothing is said: the time for remembering begins.
func (s *Sitting) ask(it *item) {
	f := &s.flow
	f.asked, f.again, f.known, f.timed, f.cut, f.spoken = true, false, 0, false, false, 0
	f.passing = passing{}
	entry := logbook.Entry{Kind: logbook.Ask, Seat: s.policy.Asks, Item: it.ID, Text: it.Challenge, Name: string(it.kind)}
	if s.policy.Asks == "" {
		f.timed, f.from, f.spoken = true, s.now, s.now
		s.log(entry) // a reading that somebody has begun to type goes on
	} else {
		f.typed, f.typing = "", it.typed() && s.waits()
		f.cue = s.say(Challenger, logbook.Speech, it.Challenge)
		entry.Cue = f.cue
		s.log(entry)
	}
	s.injections.asked(s, f.turn)
}

// askAnew repeats the challenge that is open, if one is, or what the crew said has to be put right. The answer is timed
// from its end.
func (s *Sitting) askAnew(why logbook.Reason) {
	f := &s.flow
	it := f.current()
	if it == nil || !f.asked || s.policy.Asks == "" || s.partner.stopped {
		return
	}
	if f.fixing {
		s.sayFix(it)
		return
	}
	f.cue = s.say(Challenger, logbook.Speech, it.Challenge)
	if f.known = 0; why == logbook.Unanswered {
		f.known = f.from
	}
	f.timed, f.cut, f.spoken = false, false, 0
	s.log(logbook.Entry{Kind: logbook.AskAgain, Item: it.ID, Cue: f.cue, Text: it.Challenge, Why: why})
}

// sayAgain repeats the challenge for the trainee. The answer stays timed from the end of the first one, if that was heard
// to its end: asking costs time.
func (s *Sitting) sayAgain() {
	f := &s.flow
	it := f.current()
	if it == nil || !f.asked || s.policy.Asks == "" {
		return
	}
	if f.fixing {
		s.sayFix(it)
		return
	}
	cue := s.say(Challenger, logbook.Speech, it.Challenge)
	if f.cut = false; !f.timed {
		f.cue = cue
	}
	s.log(logbook.Entry{Kind: logbook.AskAgain, Item: it.ID, Cue: cue, Text: it.Challenge, Why: logbook.Wanted})
}

// cutShort takes note that an utterance has been cut short; if it was a challenge that is still open, nobody can be
// expected to have understood it.
func (s *Sitting) cutShort(cue int) {
	f := &s.flow
	if f.asked && f.cue == cue && f.state[f.turn].stage == pending {
		f.cut, f.timed, f.spoken = true, false, 0
	}
}

// challengeHeard starts the time for the answer: from the end of the challenge.
func (s *Sitting) challengeHeard(cue int, end time.Duration) {
	f := &s.flow
	if !f.asked || f.cue != cue {
		return
	}
	f.spoken = cmp.Or(f.spoken, end)
	if !f.timed { // a value that is to be called may have been passed while the challenge was being spoken
		f.timed, f.from = true, end
	}
}

// overChallenge reports whether the challenge that is open has not been spoken to its end.
func (s *Sitting) overChallenge() bool {
	f := &s.flow
	return f.asked && s.policy.Asks != "" && !f.resuming && f.known == 0 && (!f.timed || s.now < f.from)
}

// tickPatience repeats a challenge once and then goes on without its answer.
func (s *Sitting) tickPatience(it *item) {
	f := &s.flow
	from, limit := f.from, it.Limit()
	if it.kind == procedure.Callout {
		if f.passing.expected {
			from = f.passing.expectedAt
		} else {
			limit = max(limit, cmp.Or(it.Wait, waitMost))
		}
	}
	if s.policy.Asks == "" && it.kind != procedure.Callout {
		limit = max(2*limit, recallWithin)
	}
	if !f.timed || s.now < from+limit {
		return
	}
	if s.waits() && !f.again && it.kind != procedure.Callout {
		f.again = true
		s.askAnew(logbook.Unanswered)
		return
	}
	s.giveUp(f.turn)
	s.respond(it, "not done: "+it.Challenge+", "+it.Response, false, 0)
	s.turnTo(f.turn)
}

// giveUp takes an item as left out. It may still be done, late.
func (s *Sitting) giveUp(i int) {
	it, state := s.flow.items[i], &s.flow.state[i]
	entry := logbook.Entry{Kind: logbook.TimedOut, Item: it.ID}
	s.flow.put(i, omitted)
	if it.truth != nil {
		truth := it.truth.Holds(s.craft.Readings())
		state.wasNot, entry.Truth = !truth, word(truth)
	}
	s.log(entry)
}

// warned cuts the partner short as a warning tone begins, expected or not. After a moment they say it again, and go on.
func (s *Sitting) warned(level aircraft.Level) {
	if level != aircraft.Warning || s.policy.Asks == "" {
		return
	}
	s.partner.quiet = max(s.partner.quiet, s.now+moment)
	if s.speech.busy && s.speech.voice != Crew {
		s.hushSpeech()
	}
}

// stopCall has the partner stop, or go on again.
func (s *Sitting) stopCall(seat logbook.Seat) {
	if s.partner.stopped {
		s.goOn(logbook.Wanted)
		return
	}
	entry := logbook.Entry{Kind: logbook.StopCall, Seat: seat}
	if it := s.flow.current(); it != nil && s.flow.asked {
		entry.Item = it.ID
	}
	s.log(entry)
	s.noticed()
	s.stopPartner()
}

// stopPartner has the partner fall silent in the middle of a word.
func (s *Sitting) stopPartner() {
	if s.partner.stopped {
		return
	}
	if s.speech.busy && s.speech.voice != Crew {
		s.hushSpeech()
	}
	f := &s.flow
	s.partner.stopped, s.partner.since = true, s.now
	f.typing, f.typed = false, ""
}

// goOn has the partner go on.
func (s *Sitting) goOn(why logbook.Reason) {
	if !s.partner.stopped {
		return
	}
	s.partner.stopped = false
	entry := logbook.Entry{Kind: logbook.GoOn, Why: why}
	if it := s.flow.current(); it != nil {
		entry.Item = it.ID
		s.flow.typing = s.flow.asked && it.typed() && s.waits()
		s.flow.cut = s.flow.asked && s.policy.Asks != ""
		if s.policy.Asks == "" && s.flow.timed {
			s.flow.from = s.now
		}
	}
	s.log(entry)
}

// tickStopped waits for the trainee, and goes on when nothing comes. Where all has been done about what is wrong and the aircraft
// has only to come to its end, as a hot engine that is being motored, nobody goes on over it.
func (s *Sitting) tickStopped() {
	if in := s.injections.showing(); in != nil && in.noticed && !slices.Contains(in.did, false) {
		return
	}
	if s.now >= s.partner.since+patience && s.quietFor() {
		s.goOn(logbook.Unanswered)
	}
}

// waits reports whether each item is asked and waited for, one after the other.
func (s *Sitting) waits() bool { return s.policy.Waits && s.policy.Acts == logbook.Trainee }
