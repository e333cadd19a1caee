package score

import (
	"maps"
	"math"
	"slices"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Classes are the classes of cue that reactions are summed up by, in this order. Typed is a challenge that is answered in
// figures, whose time is that of typing too; call is words that come over the radio or from the ground, timed from their first
// sound; and missing is what a healthy aircraft would have shown.
var Classes = []logbook.Class{
	logbook.Speech, logbook.Typed, logbook.Horn, logbook.Caption, logbook.Gauge, logbook.Sight, logbook.Missing, logbook.Call,
}

// LapseAt is how many times the par a reaction is a lapse from. Basner and Dinges (2011) count as lapses the reactions of
// 500 ms and more to a light, about twice what a rested hand needs (the twice is from memory).
const LapseAt = 2

// ParEach is what an item that takes several controls is allowed for each beyond the first. Our own figure: an unhurried hand.
const ParEach = 500 * time.Millisecond

// The milliseconds that a reaction is longer by than the hand was: a keyboard scans and waits for its contacts to settle;
// the stamp follows the read (DEVELOPERS.md); what is seen stands on the next step of the model, then on the next frame of
// the screen, then on the next frame of the display. The keyboard's figures are common practice, without a source.
const (
	keyboardLeast = 5.0
	keyboardMost  = 25.0
	stampMost     = 3.0
	stepMost      = 20.0
	frameMost     = 50.0
	displayMost   = 17.0
)

// Uncertainty is by how much a measured reaction to a class of cue is longer than the real one, in milliseconds. A sound
// whose onset was reported back adds nothing that is known of; what is only seen may be seen late.
//
// A press that a page stamped may be early as well as late by off, in place of what a terminal adds.
func Uncertainty(class logbook.Class, off time.Duration) (least, most float64) {
	least, most = keyboardLeast, keyboardMost+stampMost
	if off > 0 {
		ms := *millis(off)
		least, most = keyboardLeast-ms, keyboardMost+ms
	}
	if !class.Sounds() {
		most += stepMost + frameMost + displayMost
	}
	return least, most
}

// samples are the reactions by class of cue.
type samples struct {
	par *scenario.Par
	by  map[logbook.Class]*sample
}

func (s *samples) of(class logbook.Class) *sample {
	if s.by[class] == nil {
		s.by[class] = &sample{par: *millis(s.par.Of(string(class)))}
	}
	return s.by[class]
}

// reactions sums up the reactions to challenges, and those to each class of cue.
func (j *judge) reactions() {
	s := &samples{j.sheet.Par, map[logbook.Class]*sample{}}
	all := &sample{}
	for i := range j.items {
		j.answering(s, all, i)
	}
	r := &j.result.Reactions
	r.Count, r.Of = all.count, len(all.times)
	r.Missed, r.Anticipated, r.Rote, r.Ahead, r.AssumedCount = all.missed, all.anticipated, all.rote, all.ahead, all.assumed
	if r.Of > 0 {
		slices.Sort(all.times)
		r.MedianMS, r.FastestMS, r.SlowestMS = median(all.times), all.fastest, all.slowest
	}
	for _, in := range j.put {
		if in.counts() {
			class, onset := j.roused(in)
			j.noticing(s.of(class), class, in, onset)
		}
	}
	r.Classes = []ClassReactions{}
	for _, class := range Classes {
		if of := s.by[class]; of != nil && len(of.times) > 0 {
			r.Classes = append(r.Classes, of.result(class))
		}
	}
}

// answering is how an item was reacted to.
func (j *judge) answering(s *samples, all *sample, i int) {
	it, track, item := &j.result.Items[i], &j.items[i], &j.sheet.Items[i]
	cue, heard := j.cues[track.challenge], item.Kind != procedure.Callout
	of := s.of(classOf(item.Kind))
	none := func(what func(*sample) *int) {
		for _, sample := range []*sample{of, all} {
			sample.none(what(sample), float64(GivenUpAt*it.LimitMS))
		}
	}
	switch {
	case track.unanswered, it.Outcome == Omitted && (j.sheet.Spoken && !track.asked || track.challenge != 0),
		it.Outcome == NotReached && j.sheet.Spoken && j.result.CutShort():
		none(func(s *sample) *int { return &s.missed })
	case it.Anticipated, track.called && track.done && !track.right && track.offset < Anticipation:
		none(func(s *sample) *int { return &s.anticipated })
	case slices.Contains(it.Marks, Rote):
		none(func(s *sample) *int { return &s.rote })
	case it.Ahead:
		none(func(s *sample) *int { return &s.ahead })
	case it.ReactionMS != nil:
		beyond := time.Duration(len(item.Controls)-1) * ParEach
		for _, sample := range []*sample{of, all} {
			sample.add(*it.ReactionMS, *millis(beyond), heard && cue.assumed, j.doubtful(heard, cue.onset, track.doneAt), track.off)
		}
	}
}

// classOf is the class of the cue that an item is answered from.
func classOf(kind procedure.Kind) logbook.Class {
	switch kind {
	case procedure.Callout:
		return logbook.Gauge
	case procedure.Read, procedure.Figure:
		return logbook.Typed
	}
	return logbook.Speech
}

// roused is the cue that an abnormal was most likely noticed by, and its class: the first, or a later one of the abnormal's
// that is harder to miss. A horn is heard wherever the eyes are, and a light is harder to miss than a pointer.
func (j *judge) roused(in *injection) (class logbook.Class, from time.Duration) {
	class, from = in.Cue, in.onset
	for _, insistent := range []logbook.Class{logbook.Horn, logbook.Caption} {
		if class == insistent {
			break
		}
		for _, number := range in.cues {
			if cue := j.cues[number]; cue.class == insistent && in.noticed && in.at-cue.onset >= Anticipation {
				return insistent, cue.onset
			}
		}
	}
	return class, from
}

// noticing is how an abnormal was reacted to, from the cue that roused.
func (j *judge) noticing(s *sample, class logbook.Class, in *injection, from time.Duration) {
	cue := j.cues[in.cue]
	switch reaction := in.at - from; {
	case !in.noticed:
		s.none(&s.missed, max(float64(LapseAt*s.par), *in.ShownMS))
	case reaction < Anticipation:
		s.none(&s.anticipated, float64(LapseAt*s.par))
	default:
		s.add(*millis(reaction), 0, class.Sounds() && class == in.Cue && (cue.assumed || !cue.reported), j.doubtful(class.Sounds(), from, in.at), in.off)
	}
}

// doubtful reports whether a reaction to a sound lies in a stretch in which the sound was not healthy.
func (j *judge) doubtful(heard bool, from, until time.Duration) bool {
	return heard && slices.ContainsFunc(j.result.Sound.Bad, func(b Stretch) bool {
		return *millis(from) <= b.UntilMS && b.FromMS <= *millis(until)
	})
}

// sample is the reactions to one class of cue.
type sample struct {
	par                                                 float64   // ms
	times                                               []float64 // ms, with what was no reaction as long as it counts for
	count, within, lapses                               int
	missed, anticipated, rote, ahead, assumed, doubtful int
	fastest, slowest                                    float64       // ms, of the reactions
	read                                                bool          // one of them came from where keys are stamped as they are read
	off                                                 time.Duration // the most that the stamp of one of the others may be off
}

// add takes a reaction in milliseconds. What it takes beyond one move of the hand is allowed on top of the par.
func (s *sample) add(ms, beyond float64, assumed, inDoubt bool, off time.Duration) {
	s.read, s.off = s.read || off == 0, max(s.off, off)
	if s.count == 0 {
		s.fastest = ms
	}
	s.fastest, s.slowest = min(s.fastest, ms), max(s.slowest, ms)
	s.count++
	s.times = append(s.times, ms)
	par := s.par + max(0, beyond)
	count(&s.within, ms <= par)
	count(&s.lapses, ms >= LapseAt*par)
	count(&s.assumed, assumed)
	count(&s.doubtful, inDoubt)
}

// none takes that there was no reaction where there should have been one, and counts it for so many milliseconds.
func (s *sample) none(of *int, ms float64) {
	*of++
	s.times = append(s.times, ms)
}

// count adds one if something is so.
func count(n *int, so bool) {
	if so {
		*n++
	}
}

func (s *sample) result(class logbook.Class) ClassReactions {
	r := ClassReactions{
		Class: class, Count: s.count, Of: len(s.times), ParMS: s.par, WithinPar: s.within, LapseMS: LapseAt * s.par, Lapses: s.lapses,
		Missed: s.missed, Anticipated: s.anticipated, Rote: s.rote, Ahead: s.ahead, Assumed: s.assumed, Doubtful: s.doubtful,
	}
	r.LeastLateMS, r.MostLateMS = Uncertainty(class, s.off)
	if least, most := Uncertainty(class, 0); s.read {
		r.LeastLateMS, r.MostLateMS = min(r.LeastLateMS, least), max(r.MostLateMS, most)
	}
	if r.Of == 0 {
		return r
	}
	slices.Sort(s.times)
	rates := make([]float64, r.Of)
	for i, ms := range s.times {
		rates[i] = 1000 / ms
	}
	tenth := int(math.Ceil(float64(r.Of) / 10))
	r.MedianMS, r.LowerQuartileMS, r.UpperQuartileMS = Quantile(s.times, 0.5), Quantile(s.times, 0.25), Quantile(s.times, 0.75)
	r.MeanPerS = mean(rates)
	r.FastestTenthMS, r.SlowestTenthMS = mean(s.times[:tenth]), mean(s.times[r.Of-tenth:])
	r.SlowestTenthPerS = mean(rates[r.Of-tenth:])
	return r
}

// median of times that are sorted and not empty.
func median(sorted []float64) float64 { return Quantile(sorted, 0.5) }

// stamped says how well the times of presses are known that a page stamped.
func (j *judge) stamped(log []logbook.Entry) {
	s := &Stamped{}
	var offs []float64
	for i := range log {
		e := &log[i]
		if e.Kind != logbook.Press || !byHand(e) {
			continue
		}
		if s.Of++; e.Length > 0 {
			offs = append(offs, *millis(e.Length))
		}
	}
	if s.Presses = len(offs); s.Presses == 0 {
		return
	}
	slices.Sort(offs)
	s.MedianOffMS, s.MostOffMS = median(offs), offs[len(offs)-1]
	j.result.Stamped = s
}

// sound says how well the times of what was heard are known.
func (j *judge) sound(log []logbook.Entry) {
	s := &j.result.Sound
	s.Bad = []Stretch{}
	s.count(log)
	bad := false
	for i := range log {
		e := &log[i]
		if n := len(s.Bad); bad {
			s.Bad[n-1].UntilMS = *millis(e.At)
		}
		switch e.Kind {
		case logbook.SoundBad:
			if !bad {
				s.Bad = append(s.Bad, Stretch{FromMS: *millis(e.At), UntilMS: *millis(e.At), Why: e.Text})
			}
			bad = true
		case logbook.SoundGood:
			bad = false
		}
	}
	for _, b := range s.Bad {
		s.BadMS += b.UntilMS - b.FromMS
	}
}

// count says what became of every sound that was asked for. A report that comes after one was taken to have been heard is what counts.
func (s *Sound) count(log []logbook.Entry) {
	asked, heard := map[int]struct{}{}, map[int]logbook.Reason{}
	for i := range log {
		switch e := &log[i]; {
		case e.Kind == logbook.Cue && e.Class.Sounds():
			asked[e.Cue] = struct{}{}
		case e.Kind == logbook.Heard:
			asked[e.Cue] = struct{}{} // a log of which nothing else is left
			if before, known := heard[e.Cue]; !known || before == logbook.Assumed {
				heard[e.Cue] = e.Why
			}
		}
	}
	missed := map[logbook.Reason]int{}
	for _, why := range heard {
		switch why {
		case "":
			s.Reported++
		case logbook.Assumed:
			s.Assumed++
		default:
			missed[why]++
		}
	}
	s.Asked, s.CalledOff = len(asked), len(asked)-len(heard)
	s.Unheard = []Unheard{}
	for _, why := range slices.Sorted(maps.Keys(missed)) {
		s.Unheard = append(s.Unheard, Unheard{why, missed[why]})
	}
}

// withinPar counts the reactions within par over all classes, and those that should have been: what came too early or not
// at all was not within.
func (r *Reactions) withinPar() (within, of int) {
	for _, c := range r.Classes {
		within += c.WithinPar
		of += c.Of
	}
	return within, of
}
