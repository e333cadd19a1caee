package scenario

import (
	"slices"
	"time"

	"hornlark/drill/fault"
)

// Answers is a trainee on paper: what is pressed, in answer to what. With StartFrom "perfect" everything is answered
// rightly and in time, but for what LeaveOut, Swap, Ignore and Answers say; without it only Answers are given.
type Answers struct {
	About     string        `yaml:"about" is:"text"`                                                       // a sentence for whoever reads the file
	StartFrom string        `yaml:"start_from" is:"word"`                                                  // "perfect", or empty
	Reaction  time.Duration `yaml:"reaction" default:"700ms, or 1.3s where something has to be looked at"` // from the end of a challenge, or the onset of a cue
	LeaveOut  []string      `yaml:"leave_out" is:"item"`                                                   // items that are not answered
	Swap      [][]string    `yaml:"swap" is:"item"`                                                        // pairs of neighbouring items, the second of which is done before the first
	Ignore    []string      `yaml:"ignore" is:"abnormal"`                                                  // abnormals that nothing is done about
	Answers   []Answer      `yaml:"answers" size:"0..2000"`                                                // what is pressed, and in answer to what
	Acts      []Act         `yaml:"instructor" size:"0..1000"`                                             // what the instructor does meanwhile, in the order of its times
}

// Act is something that the instructor does, at a time of the sitting. What it comes to, and that it could not be done, is in the log.
type Act struct {
	At    time.Duration `yaml:"at"`                         // at this time of the sitting
	Do    string        `yaml:"do" is:"word"`               // what the instructor does
	What  string        `yaml:"what,omitempty" is:"text"`   // to or with what: an abnormal, a phase to set back to, oat, pressure_altitude, tailwind or humidity, on or off, a sentence, a remark
	To    float64       `yaml:"to,omitempty"`               // how much: of weather, fuel in kg, or of the sound in decibels, 0 at most
	Time  time.Duration `yaml:"time,omitempty"`             // of insert, when: at this running time, pauses left out; without any of these three at once
	Phase string        `yaml:"phase,omitempty" is:"phase"` // or as this phase begins
	Item  string        `yaml:"item,omitempty" is:"item"`   // or as this item is asked
}

// Deeds are what an instructor can do.
var Deeds = []string{"insert", "delete", "clear", "freeze", "release", "back", "weather", "fuel", "power", "sound", "level", "say", "remark"}

// Answer is presses in answer to one thing. Exactly one of Item, Abnormal and At says to what.
type Answer struct {
	Item     string        `yaml:"item,omitempty" is:"item"`         // once it is asked; timed from the end of the challenge
	Abnormal string        `yaml:"abnormal,omitempty" is:"abnormal"` // once its first cue begins
	At       time.Duration `yaml:"at,omitempty"`                     // at a time of the sitting
	After    time.Duration `yaml:"after,omitempty"`                  // from then to the first press; left out: the reaction
	Every    time.Duration `yaml:"every,omitempty" default:"250ms"`  // between presses
	Press    []string      `yaml:"press" is:"press" size:"1..100"`   // keys by their US QWERTY labels, as in "a", "shift+z", "enter"
}

// Perfect is the name of the answers that are all right.
const Perfect = "perfect"

// The times of a trainee on paper. Our own figures: a practised hand with nothing to look up.
const (
	DefaultReaction = 700 * time.Millisecond
	DefaultLook     = 1300 * time.Millisecond // where something has to be looked at first
	DefaultEvery    = 250 * time.Millisecond
)

// Bounds of what answers may hold.
const (
	maxAnswers = 2000
	maxPresses = 100
	maxActs    = 1000
)

// Check finds what is wrong with answers in themselves. Whether their items exist is only known once they meet a
// procedure.
func (a *Answers) Check() fault.List {
	var l fault.List
	if a.StartFrom != "" && a.StartFrom != Perfect {
		l.Add("start_from", "write perfect, or leave it out", "answers cannot start from %q", a.StartFrom)
	}
	if a.StartFrom == "" && len(a.Answers) == 0 {
		l.Add("", "write start_from: perfect, or answers:", "there are no answers")
	}
	if len(a.Answers) > maxAnswers {
		l.Add("answers", "", "there are %d answers; %d is the most", len(a.Answers), maxAnswers)
		return l
	}
	for i, pair := range a.Swap {
		if len(pair) != 2 {
			l.Add(fault.At("swap", i), "write [first, second]", "a swap is of two items, not %d", len(pair))
		}
	}
	for i := range a.Answers {
		l.Under(fault.At("answers", i), a.Answers[i].check())
	}
	if len(a.Acts) > maxActs {
		l.Add("instructor", "", "there are %d acts; %d is the most", len(a.Acts), maxActs)
		return l
	}
	for i := range a.Acts {
		l.Under(fault.At("instructor", i), a.Acts[i].check())
		if i > 0 && a.Acts[i].At < a.Acts[i-1].At {
			l.Add(fault.At("instructor", i)+".at", "write them in the order of their times", "%v comes after %v", a.Acts[i].At, a.Acts[i-1].At)
		}
	}
	return l
}

func (a *Act) check() fault.List {
	var l fault.List
	if !slices.Contains(Deeds, a.Do) {
		l.Unknown("do", "deed of an instructor", a.Do, Deeds)
	}
	if a.At < 0 || a.Time < 0 {
		l.Add("", "write a time such as 800ms or 1.5s", "a time is negative")
	}
	given := 0
	for _, so := range []bool{a.Time != 0, a.Phase != "", a.Item != ""} {
		if so {
			given++
		}
	}
	if given > 1 {
		l.Add("", "write time: or phase: or item:", "an act has one moment, not %d", given)
	}
	return l
}

func (a *Answer) check() fault.List {
	var l fault.List
	occasions := 0
	for _, given := range []bool{a.Item != "", a.Abnormal != "", a.At != 0} {
		if given {
			occasions++
		}
	}
	if occasions != 1 {
		l.Add("", "write item: or abnormal: or at:", "an answer is to one thing, not to %d", occasions)
	}
	if a.At < 0 || a.After < 0 || a.Every < 0 {
		l.Add("", "write a time such as 800ms or 1.5s", "a time is negative")
	}
	if len(a.Press) == 0 || len(a.Press) > maxPresses {
		l.Add("press", "write a list such as [a] or [shift+z, enter]", "an answer has 1 to %d presses, not %d", maxPresses, len(a.Press))
	}
	return l
}
