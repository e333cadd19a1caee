// Package drill is the trainer: a sitting, as a function of its inputs.
//
// A Sitting never reads a clock, opens a file, starts a goroutine or plays a sound. It is told the time with every
// call, says when it next wants to be called, and hands out what others shall carry out:
//
//	Input(at, event)   something happened
//	Advance(at)        nothing happened, time passed
//	NextDeadline()     when it wants to be called at the latest
//	Outputs()          what to say, sound, silence, and log
//
// The same plan and the same inputs give the same outputs, byte for byte, on every run and every platform. A live
// sitting is this core with a real clock, a keyboard and a sound card around it; a virtual one jumps from deadline to
// deadline (Run); a replay feeds it a stored log.
package drill

import (
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
)

// Event is something that happens to a sitting.
type Event interface{ event() }

// Press is one key, by the place that it has on the keyboard.
type Press struct {
	Key   Key  // which key
	Shift bool // with shift held: the position before instead of the next
}

// Key names a key by its label on a US QWERTY keyboard ("1", "q", ";"), or by what it does.
type Key string

// The keys that are the same on every profile.
const (
	Yes      Key = "enter"     // in limits, confirmed; passing the value now; end of a reading
	No       Key = "backspace" // out of limits, not confirmed; while a reading is typed: takes a digit back
	Quiet    Key = "space"     // silence the horn
	SayAgain Key = "tab"       // say the challenge again
	Hold     Key = "esc"       // pause, and go on
)

// Heard reports when a cue was really heard.
type Heard struct {
	Cue   int           // number of the cue
	Onset time.Duration // when its first sample left the loudspeaker, since the sitting began
	End   time.Duration // when its last one does; zero for a sound that goes on until it is silenced
}

// SoundHealth reports that the sound clock can no longer be trusted, or can again.
type SoundHealth struct {
	Good bool
	Why  string
}

// Stop ends the sitting before its time.
type Stop struct{ Why string }

func (Press) event()       {}
func (Heard) event()       {}
func (SoundHealth) event() {}
func (Stop) event()        {}

// Output is something that a sitting wants carried out. Describe gives it in one line.
type Output interface{ Describe() string }

// Voice is who speaks.
type Voice string

// The voices.
const (
	Challenger Voice = "challenger" // reads the items
	Responder  Voice = "responder"  // echoes the response
	Crew       Voice = "crew"       // everybody else: ground crew, base, cabin
)

// Say is a phrase to be spoken.
type Say struct {
	Cue   int           // number of the cue, to be reported back with Heard
	Due   time.Duration // when its first sample is wanted, since the sitting began
	Voice Voice
	Text  string
}

// Sound is a tone to be started.
type Sound struct {
	Cue   int
	Due   time.Duration
	Alert string         // id of the alert in the profile
	Tone  string         // of the sounds
	Level aircraft.Level // a warning is heard over a caution, and both over speech
	Loop  bool           // until it is silenced; otherwise once
}

// Hush stops a cue that is sounding, or cancels it if it has not begun.
type Hush struct {
	Cue int
	Due time.Duration
}

// Log is a new entry of the log.
type Log struct{ Entry logbook.Entry }

// Ended is the last output of a sitting.
type Ended struct{ Complete bool }

// View is what a screen shows of a sitting at one moment. Slices run parallel to those of the profile; they belong to
// the View and are overwritten by the next call that fills it.
type View struct {
	At       time.Duration
	Phase    string // title
	PhaseNo  int    // from 1
	Phases   int
	ItemNo   int // items that have been dealt with
	Items    int
	Asked    *Question // nil when nothing is being asked, and always in recall and alerts
	Typing   bool      // a reading is being typed: digits are digits
	Typed    string    // digits typed so far
	Abnormal bool      // an abnormal has been noticed as begun: the checklist is suspended
	Resuming bool      // it is over, and the flow has to be gone on with unprompted
	Paused   bool
	Ended    bool
	Last     Response // what the last press amounted to

	Readings  []float64         // of each gauge, in its unit
	Bands     []aircraft.Colour // that each gauge is in
	Alive     []bool            // whether each gauge shows anything
	Lit       []bool            // captions
	Sounding  []bool            // alerts that are heard
	Silenced  []bool            // alerts whose cause remains, and which have been silenced
	Positions []int             // of the controls; for a lever, the notch
	Facts     []bool            // outside
	Recent    []string          // the newest lines of the log, oldest first, at most RecentLines
}

// RecentLines is how many lines of the log a View carries.
const RecentLines = 32

// Question is what is being asked.
type Question struct {
	Item      string
	Kind      string
	Challenge string
	Look      []string      // ids to look at
	Spoken    time.Duration // end of the challenge: the answer is timed from here; zero while it is not known
	Within    time.Duration // time for the answer
	Again     bool          // asked a second time
}

// Response is what the last press that mattered amounted to.
type Response struct {
	Item     string
	Text     string // the response, or what was wrong with it, in words
	Right    bool
	Reaction time.Duration // zero if it has none
	At       time.Duration // when it was given
}
