package drill

import (
	"slices"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
)

// cue is one thing that the trainee could hear or see begin.
type cue struct {
	class    logbook.Class
	id       string        // alert, caption, gauge or fact; empty for speech
	asked    time.Duration // when it was asked for, or seen
	onset    time.Duration // when it is due, or when it was really heard
	sounding bool          // it goes on, and can be hushed; a single stroke of a gong rings out
	alert    int           // index of the alert, for a horn
}

// newCue numbers a cue and logs it. One that sounds is due a lead ahead of now; one that is seen is seen now.
func (s *Sitting) newCue(c cue, text string, expected bool) int {
	c.asked, c.onset = s.now, s.now
	if c.class.Sounds() {
		c.onset += s.lead
	}
	s.cues = append(s.cues, c)
	number := len(s.cues)
	s.log(logbook.Entry{Kind: logbook.Cue, Cue: number, Class: c.class, Name: c.id, Text: text, Onset: c.onset, OK: expected})
	return number
}

func (s *Sitting) cue(number int) *cue { return &s.cues[number-1] }

// say asks for words at once. Whatever was being said is cut short: there is one pair of ears.
func (s *Sitting) say(voice Voice, class logbook.Class, text string) int {
	s.hushSpeech()
	number := s.newCue(cue{class: class, sounding: true}, text, true)
	due := s.cue(number).onset
	s.speech = speech{cue: number, voice: voice, words: text, due: due, busy: true}
	s.out = append(s.out, Say{Cue: number, Due: s.clock.Callers(due), Voice: voice, Text: text})
	s.note(string(voice), text)
	return number
}

// speech is what is being said at the moment, and what has to be said after it.
type speech struct {
	cue   int
	voice Voice
	words string
	due   time.Duration
	busy  bool
	known bool          // its end is known
	end   time.Duration // running time
}

const (
	// reportWait is how long a report of what was really heard is waited for. After it the words are taken to have
	// begun when they were due and to last as long as Estimate says, so that a sitting goes on without any sound.
	reportWait = 500 * time.Millisecond

	// breath is the pause between one utterance and the next.
	breath = 300 * time.Millisecond
)

// Estimate is how long words take to say where nobody can tell: 156 words a minute, the middle one of the three rates
// that Simpson and Marchionda-Frost (1984) tried with helicopter pilots (the figure is from memory), at five letters
// and a space to the word.
func Estimate(words string) time.Duration {
	const perLetter = time.Minute / 156 / 6
	return max(400*time.Millisecond, time.Duration(len(words)+1)*perLetter)
}

func (s *Sitting) tickSpeech() {
	sp := &s.speech
	if !sp.busy {
		return
	}
	if !sp.known && s.now >= sp.due+reportWait {
		s.speechHeard(sp.due, sp.due+Estimate(sp.words), logbook.Assumed)
	}
	if sp.known && s.now >= sp.end {
		sp.busy = false
		s.cue(sp.cue).sounding = false
	}
}

// quietFor reports whether nothing has been said for a breath.
func (s *Sitting) quietFor() bool { return !s.speech.busy && s.now >= s.speech.end+breath }

// heard takes the report of when a cue really sounded.
func (s *Sitting) heard(h Heard) {
	if h.Cue < 1 || h.Cue > len(s.cues) {
		return
	}
	onset, end := s.clock.Running(h.Onset), time.Duration(0)
	if h.End > 0 {
		end = s.clock.Running(h.End)
	}
	if h.Why == "" && s.station.muted(onset) {
		h.Why = logbook.Muted
	}
	if s.speech.busy && s.speech.cue == h.Cue {
		if end < onset { // a report without an end: words do not go on for ever
			end = onset + Estimate(s.speech.words)
		}
		s.speechHeard(onset, end, h.Why)
		return
	}
	s.cue(h.Cue).onset = onset
	s.log(logbook.Entry{Kind: logbook.Heard, Cue: h.Cue, Onset: onset, Until: end, Why: h.Why})
}

func (s *Sitting) speechHeard(onset, end time.Duration, how logbook.Reason) {
	sp := &s.speech
	sp.known, sp.end = true, end
	s.cue(sp.cue).onset = onset
	s.log(logbook.Entry{Kind: logbook.Heard, Cue: sp.cue, Onset: onset, Until: end, Why: how})
	s.challengeHeard(sp.cue, end)
}

func (s *Sitting) hushSpeech() {
	if sp := &s.speech; sp.busy {
		s.hush(sp.cue)
		if !sp.known || s.now < sp.end {
			s.cutShort(sp.cue)
		}
		sp.busy, sp.known, sp.end = false, true, s.now
	}
}

// hush stops a cue that sounds.
func (s *Sitting) hush(number int) {
	c := s.cue(number)
	if !c.sounding {
		return
	}
	c.sounding = false
	s.log(logbook.Entry{Kind: logbook.CueEnd, Cue: number, Class: c.class, Name: c.id})
	s.out = append(s.out, Hush{Cue: number, Due: s.clock.Callers(s.now)})
}

func (s *Sitting) hushAll() {
	s.hushSpeech()
	for i := range s.cues {
		s.hush(i + 1)
	}
}

// resound starts again every alert that goes on sounding after a pause.
func (s *Sitting) resound() {
	for i := range s.profile().Alerts {
		if s.craft.AlertState(i) == aircraft.Sounding && !s.profile().Alerts[i].Once {
			s.sound(i)
		}
	}
}

// soundOn sounds what the aircraft has been sounding since before the sitting began.
func (s *Sitting) soundOn() {
	for i := range s.profile().Alerts {
		heard := slices.ContainsFunc(s.cues, func(c cue) bool { return c.class == logbook.Horn && c.alert == i })
		if s.craft.AlertState(i) == aircraft.Sounding && !s.profile().Alerts[i].Once && !heard {
			s.sound(i)
		}
	}
}

// sound starts an alert.
func (s *Sitting) sound(alert int) int {
	a := &s.profile().Alerts[alert]
	s.warned(a.Level)
	number := s.newCue(cue{class: logbook.Horn, id: a.ID, sounding: !a.Once, alert: alert}, "", s.noSurprise(alert))
	s.out = append(s.out, Sound{
		Cue: number, Due: s.clock.Callers(s.cue(number).onset),
		Alert: a.ID, Tone: a.Tone, Level: a.Level, Loop: !a.Once,
	})
	return number
}

// noSurprise reports whether an alert is none: the profile says so, or the item that is being done makes it.
func (s *Sitting) noSurprise(alert int) bool {
	return s.craft.Expected(alert) || s.flow.expects(s.profile().Alerts[alert].ID)
}

// changed turns what the aircraft did into cues.
func (s *Sitting) changed(c aircraft.Change) {
	p := s.profile()
	switch c.Kind {
	case aircraft.CaptionLit:
		s.newCue(cue{class: logbook.Caption, id: p.Captions[c.Index].ID}, "", false)
	case aircraft.CaptionOut:
		s.wentOut(logbook.Caption, p.Captions[c.Index].ID)
	case aircraft.AlertStarted:
		s.sound(c.Index)
	case aircraft.AlertStopped, aircraft.AlertSilenced:
		s.hushAlert(c.Index)
	case aircraft.BandChanged:
		if c.Colour == aircraft.Green {
			s.wentOut(logbook.Gauge, p.Gauges[c.Index].ID)
			return
		}
		s.newCue(cue{class: logbook.Gauge, id: p.Gauges[c.Index].ID}, string(c.Colour), false)
	case aircraft.FactChanged:
		s.newCue(cue{class: logbook.Sight, id: p.Outside[c.Index].ID}, "", false)
	case aircraft.ControlSprang:
		control := &p.Controls[c.Index]
		s.log(logbook.Entry{Kind: logbook.Moved, Control: control.ID, Position: control.Label(0), Why: logbook.Sprang})
	case aircraft.InspectionDue:
		if !s.ended {
			s.inspect(c.Index)
		}
	}
}

// wentOut logs that something that was seen is no longer to be seen.
func (s *Sitting) wentOut(class logbook.Class, id string) {
	for i, c := range slices.Backward(s.cues) {
		if c.class == class && c.id == id {
			s.log(logbook.Entry{Kind: logbook.CueEnd, Cue: i + 1, Class: class, Name: id})
			return
		}
	}
}

func (s *Sitting) hushAlert(alert int) {
	for i, c := range slices.Backward(s.cues) {
		if c.class == logbook.Horn && c.alert == alert && c.sounding {
			s.hush(i + 1)
			return
		}
	}
}
