// Package drill is the trainer: a sitting, as a function of its inputs.
//
// Compile makes an Exercise of documents, once; Begin makes a Sitting of it, as often as one likes. A Sitting never reads
// a clock, opens a file, starts a goroutine or plays a sound. It is told the time with every call, says when it next wants
// to be called, and hands out what others shall carry out:
//
//	Input(at, event)   something happened
//	Advance(at)        nothing happened, time passed
//	NextDeadline()     when it wants to be called at the latest
//	Outputs()          what to say, sound, silence, and log
//
// The same exercise, seed and inputs give the same outputs, byte for byte, on every run and every platform. A live sitting
// is this core with a real clock, a keyboard and a sound card around it; a virtual one jumps from deadline to deadline
// (Run); a replay feeds it a stored log.
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
	Key   Key           // which key
	Shift bool          // with shift held: the position before instead of the next
	Seat  logbook.Seat  // who pressed it; empty is the trainee
	Began time.Duration // when it began, since the sitting began, if it has a length or came late; zero: when it arrived
	Off   time.Duration // by how much that time may be off either way, where it was stamped elsewhere and brought here; zero: it was stamped as it was read
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
	StopCall Key = "stop"      // stop, something is wrong; once more: go on
)

// Heard reports when a cue was really heard.
type Heard struct {
	Cue   int            // number of the cue
	Onset time.Duration  // when its first sample left the loudspeaker, since the sitting began
	End   time.Duration  // when its last one does; zero for a sound that goes on until it is silenced
	Why   logbook.Reason // why nobody can have heard it, and these are the times at which it would have been: Muted or NoDevice; empty: a device played it
}

// Jumped reports that the clock has jumped: the program, or the whole machine, had been stopped. Its time is that of the last moment
// before, and the sitting is held from there.
type Jumped struct{ By time.Duration }

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
func (Jumped) event()      {}
func (Instruct) event()    {}

// Output is something that a sitting wants carried out. Describe gives it in one line.
type Output interface{ Describe() string }

// Voice is who speaks.
type Voice string

// The voices.
const (
	Challenger Voice = "challenger" // reads the items
	Responder  Voice = "responder"  // echoes the response
	Crew       Voice = "crew"       // everybody else: ground crew, base, cabin, instructor
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

// Loudness is how loud everything is to be from now on: sound on or off, and by how much softer than the sitting was set to be. It is never
// louder than that.
type Loudness struct {
	Due time.Duration // since the sitting began
	On  bool
	DB  float64 // 0 at most, LeastLevel at least
}

// Log is a new entry of the log.
type Log struct{ Entry logbook.Entry }

// Ended is the last output of a sitting.
type Ended struct{ Complete bool }

// View is what there is to be seen of a sitting at one moment: all that a screen shows, and all that a stand-in for a
// trainee goes by. Nothing in it depends on an injection but through what the aircraft shows, and what the trainee did.
// Slices of the aircraft run parallel to those of the profile; all slices belong to the View, are only to be read, and are overwritten
// by the next call that fills it.
type View struct {
	At      time.Duration
	Phase   string    // title; empty where the policy does not show the place in the flow
	PhaseNo int       // from 1
	Phases  int       // zero where the place is not shown
	ItemNo  int       // items that have been dealt with
	Items   int       // zero where the place is not shown
	Asked   *Question // only to be read; nil when nothing is being asked, and where the policy shows no challenge
	Typing  bool      // a reading is being typed: digits are digits
	Typed   string    // digits typed so far
	Stopped bool      // the trainee has told the partner to stop
	Paused  bool
	Ended   bool
	Last    Response // what the last answer amounted to; nothing while feedback waits for the end

	Readings  []float64         // of each gauge, in its unit
	Bands     []aircraft.Colour // that each gauge is in
	Alive     []bool            // whether each gauge shows anything
	Lit       []bool            // captions
	Sounding  []bool            // alerts that are heard
	Silenced  []bool            // alerts whose cause remains, and which have been silenced
	Positions []int             // of the controls; for a lever, the notch
	Locked    []bool            // controls that a guard or a latch is seen to hold where they are
	Facts     []bool            // outside
	Seen      []bool            // facts that are in sight: of the others nobody can tell
	Signs     []float64         // everything that can be seen, heard and felt, by the slots of the profile's scope; for conditions
	Said      []Line            // what was said and pressed last, the oldest first, at most SaidLines

	of    *aircraft.Aircraft // whose controls, captions, alerts and facts it shows
	shows uint64             // as of which of its Shows
}

// SaidLines is how many lines of what was said and pressed a View carries.
const SaidLines = 48

// Line is something that was said, or pressed.
type Line struct {
	At   time.Duration
	Who  string // challenger, responder, crew, or the seat of who pressed
	Text string
}

// Question is what is being asked.
type Question struct {
	Item      string
	Kind      string
	Challenge string
	Spoken    time.Duration // end of the challenge: the answer is timed from here; zero while it is not known
	Within    time.Duration // time for the answer; zero: none that could be shown
	Again     bool          // asked a second time
	Fix       bool          // it has been refused, rightly: what is wrong has to be put right
}

// Response is what the last answer amounted to.
type Response struct {
	Item     string
	Text     string // the response, or what was wrong with it, in words
	Right    bool
	Late     bool          // right, and after its time
	Reaction time.Duration // zero if it has none
	At       time.Duration // when it was given
}
