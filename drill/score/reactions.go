package score

import (
	"math"
	"slices"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Classes are the classes of cue that reactions are summed up by, in this order. The first five are those of the log;
// typed is a challenge that is answered in figures, whose time is that of typing too, and call is words that come over the
// radio or from the ground, timed from their first sound.
var Classes = []string{"speech", "typed", "horn", "caption", "gauge", "outside", "test", "call"}

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
func Uncertainty(class string) (least, most float64) {
	least, most = keyboardLeast, keyboardMost+stampMost
	if !sounds(class) {
		most += stepMost + frameMost + displayMost
	}
	return least, most
}

// sounds reports whether a class of cue is heard.
func sounds(class string) bool {
	return class == "speech" || class == "typed" || class == "horn" || class == "call"
}

// samples are the reactions by class of cue.
type samples struct {
	par *scenario.Par
	by  map[string]*sample
}

func (s *samples) of(class string) *sample {
	if s.by[class] == nil {
		s.by[class] = &sample{par: *millis(s.par.Of(class))}
	}
	return s.by[class]
}

// reactions sums up the reactions to challenges, and those to each class of cue.
func (j *judge) reactions() {
	s := &samples{j.sheet.Par, map[string]*sample{}}
	var times []float64
	for i := range j.items {
		j.answering(s, i)
		if ms := j.result.Items[i].ReactionMS; ms != nil {
			times = append(times, *ms)
		}
	}
	r := &j.result.Reactions
	if r.Count = len(times); r.Count > 0 {
		slices.Sort(times)
		r.FastestMS, r.SlowestMS, r.MedianMS = times[0], times[len(times)-1], median(times)
	}
	for _, in := range j.incident {
		if in.wrongs() {
			class, onset := j.roused(in)
			j.noticing(s.of(class), class, in, onset)
		}
	}
	r.Classes = []ClassReactions{}
	for _, class := range Classes {
		if of := s.by[class]; of != nil && len(of.times)+of.missed+of.anticipated > 0 {
			r.Classes = append(r.Classes, of.result(class))
		}
	}
}

// answering is how an item was reacted to.
func (j *judge) answering(s *samples, i int) {
	it, track, item := &j.result.Items[i], &j.items[i], &j.sheet.Items[i]
	cue, heard := j.cues[track.challenge], item.Kind != procedure.Callout
	of := s.of(classOf(item.Kind))
	switch {
	case it.Anticipated:
		j.result.Reactions.Anticipated++
		of.anticipated++
	case it.ReactionMS != nil:
		count(&j.result.Reactions.AssumedCount, cue.assumed)
		beyond := time.Duration(item.Moves-1) * ParEach
		of.add(*it.ReactionMS, *millis(beyond), heard && cue.assumed, j.doubtful(heard, cue.onset, track.doneAt))
	case it.Outcome == Omitted && track.unanswered:
		of.missed++
	}
}

// classOf is the class of the cue that an item is answered from.
func classOf(kind procedure.Kind) string {
	switch kind {
	case procedure.Callout:
		return "gauge"
	case procedure.Read, procedure.Figure:
		return "typed"
	}
	return "speech"
}

// roused is the cue that an abnormal was most likely noticed by, and its class: the first, or a later one of the abnormal's
// that is harder to miss. A horn is heard wherever the eyes are, and a light is harder to miss than a pointer.
func (j *judge) roused(in *incident) (class string, from time.Duration) {
	class, from = in.Cue, in.onset
	for _, insistent := range []string{"horn", "caption"} {
		if class == insistent {
			break
		}
		for _, number := range in.cues {
			if cue := j.cues[number]; cue.class == insistent && in.noticed && in.at-cue.onset >= Anticipation {
				return insistent, cue.onset
			}
		}
	}
	if class == "speech" {
		class = "call"
	}
	return class, from
}

// noticing is how an abnormal was reacted to, from the cue that roused.
func (j *judge) noticing(s *sample, class string, in *incident, from time.Duration) {
	cue := j.cues[in.cue]
	switch reaction := in.at - from; {
	case !in.noticed:
		s.missed++
	case reaction < Anticipation:
		s.anticipated++
	default:
		s.add(*millis(reaction), 0, sounds(class) && class == in.Cue && (cue.assumed || !cue.reported), j.doubtful(sounds(class), from, in.at))
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
	par                                    float64   // ms
	times                                  []float64 // ms
	within, lapses                         int
	missed, anticipated, assumed, doubtful int
}

// add takes a reaction in milliseconds. What it takes beyond one move of the hand is allowed on top of the par.
func (s *sample) add(ms, beyond float64, assumed, inDoubt bool) {
	s.times = append(s.times, ms)
	par := s.par + max(0, beyond)
	count(&s.within, ms <= par)
	count(&s.lapses, ms >= LapseAt*par)
	count(&s.assumed, assumed)
	count(&s.doubtful, inDoubt)
}

// count adds one if something is so.
func count(n *int, so bool) {
	if so {
		*n++
	}
}

func (s *sample) result(class string) ClassReactions {
	r := ClassReactions{
		Class: class, Count: len(s.times), ParMS: s.par, WithinPar: s.within, LapseMS: LapseAt * s.par, Lapses: s.lapses,
		Missed: s.missed, Anticipated: s.anticipated, Assumed: s.assumed, Doubtful: s.doubtful,
	}
	r.LeastLateMS, r.MostLateMS = Uncertainty(class)
	if r.Count == 0 {
		return r
	}
	slices.Sort(s.times)
	rates := make([]float64, r.Count)
	for i, ms := range s.times {
		rates[i] = 1000 / ms
	}
	tenth := int(math.Ceil(float64(r.Count) / 10))
	r.MedianMS, r.LowerQuartileMS, r.UpperQuartileMS = Quantile(s.times, 0.5), Quantile(s.times, 0.25), Quantile(s.times, 0.75)
	r.MeanPerS = mean(rates)
	r.FastestTenthMS, r.SlowestTenthMS = mean(s.times[:tenth]), mean(s.times[r.Count-tenth:])
	r.SlowestTenthPerS = mean(rates[r.Count-tenth:])
	return r
}

// median of times that are sorted and not empty.
func median(sorted []float64) float64 { return Quantile(sorted, 0.5) }

// sound says how well the times of what was heard are known.
func (j *judge) sound(log []logbook.Entry) {
	s := &j.result.Sound
	s.Bad = []Stretch{}
	bad := false
	for i := range log {
		e := &log[i]
		if e.Kind == logbook.Heard {
			if e.Name == "assumed" {
				s.Assumed++
			} else {
				s.Reported++
			}
		}
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

// withinPar counts the reactions within par over all classes, and those that should have been: what came too early or not
// at all was not within.
func (r *Reactions) withinPar() (within, of int) {
	for _, c := range r.Classes {
		within += c.WithinPar
		of += c.Count + c.Missed + c.Anticipated
	}
	return within, of
}
