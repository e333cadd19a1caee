// Package logbook is the log of a sitting: every input and every cue, in order, each in one line that can be read.
//
// The log is the only thing that a score is computed from, and records of it are never changed, so its entries are a
// contract: kinds, reasons, classes and seats are the constants of this package and nothing else, every time is a whole
// number of nanoseconds, and the contract has a version. An entry states facts (what was asked, what was pressed, what the
// aircraft showed at that moment) and leaves the judging to the score.
package logbook

import (
	"fmt"
	"strings"
	"time"
)

// Version is the version of the contract that this package writes. The first entry of a log carries it; Convert reads what
// earlier versions wrote.
const Version = 2

// Kind says what an entry records.
type Kind string

// The kinds of entry. The fields that each one fills are named beside it; all others are empty.
const (
	Begin     Kind = "begin"      // Text: scenario; Name: policy; Seed; Number: version of the log
	Phase     Kind = "phase"      // Name: phase id; Text: title
	Ask       Kind = "ask"        // Seat: who asks; Item; Text: challenge; Cue: the utterance, 0 if none was spoken; Name: kind of item
	AskAgain  Kind = "ask-again"  // Item, Text, Cue: the challenge was repeated; Why: Wanted, Anew or Unanswered
	Press     Kind = "press"      // Seat; Key: the key as it was pressed; Began, if it has a length or came late; Length: by how much its time may be off either way, if it was stamped elsewhere
	Moved     Kind = "moved"      // Seat, none for a spring; Control, Position: where a press, the crew, or its own spring put a control; Item: which had just asked the trainee for that; Why: Sprang
	Blocked   Kind = "blocked"    // Seat; Key, Control, Position: a press that moved nothing, because the control is locked where it is, or, Why: Reset, the crew was putting controls back
	Answer    Kind = "answer"     // Seat, Began; Item; Text: yes, no, or the digits that were typed; Truth: what would have been right; Value: the true reading; Why: Passing for a callout, with Onset: when the value was passed, and Length: from then to the call, below zero if that came first; Over if the challenge was still being spoken; OK: a check was refused that a healthy aircraft would pass
	Done      Kind = "done"       // Seat, Began; Item: its response has been given; OK: rightly; Why: Over if the challenge was still being spoken
	Undone    Kind = "undone"     // Item: a control was taken out of the position that the item wants
	Overshoot Kind = "overshoot"  // Item, Control, Position: the wanted position was passed, or moved away from
	Stray     Kind = "stray"      // Seat; Key, Control, Position: a press that no outstanding item wants
	Again     Kind = "again"      // Item: done a second time
	TimedOut  Kind = "timed-out"  // Item; Truth: of a check, what would have been right; no answer within twice its time, or, from memory, items beyond it were done; the sitting went on
	Fixed     Kind = "fixed"      // Item: what was rightly refused, or overshot, has been put right; OK: by the trainee
	Skip      Kind = "skip"       // Item: its condition does not hold, or it is not fitted
	Reopen    Kind = "reopen"     // Item: to be done again, an abnormal having undone it; Seat: instructor, who has set back to before it
	Held      Kind = "held"       // Item: the item that had to be right here and was not; Name: the item that it had to be right before; OK: the crew did it and the flow went on; otherwise it ends here
	Cue       Kind = "cue"        // Cue; Class; Name: id of what began; Text: the words; Onset: when it is due; OK: expected
	Heard     Kind = "heard"      // Cue, Onset, Until: when a sounding cue was really heard; Why: Assumed if nobody reported it; Muted or NoDevice if nobody can have heard it, and that is when it would have been
	CueEnd    Kind = "cue-end"    // Cue; Class; Name: what went out, stopped, or was cut short
	Silence   Kind = "silence"    // Seat; Name: the alert that was silenced, none if nothing sounded; OK: it would not sound in a healthy aircraft
	StopCall  Kind = "stop-call"  // Seat: the partner has been told to stop; Item: what was being asked
	GoOn      Kind = "go-on"      // Item: the partner goes on; Why: Wanted if the trainee told them to, Unanswered if nothing came, Answered by an act
	Inject    Kind = "inject"     // Injection; Abnormal; OK: harmless; its cause was put into the aircraft; Seat: instructor, who has inserted it
	Onset     Kind = "onset"      // Injection; Class, Name: what first differed from a healthy aircraft in the same hands; Cue: the cue of it, if it has one
	Told      Kind = "told"       // Injection; Cue: the crew has said what is wrong, as the policy has it
	Action    Kind = "action"     // Injection; Number: which of its immediate actions, from 1; Text: in words; Onset: since when it was there to be done; Why: Already if the control stood there
	Also      Kind = "also"       // Injection; Control, Position, Text: a move that is right and not asked for
	Worse     Kind = "worse"      // Injection; Control, Position; Text: a move that makes it worse; Item: which had just asked for it
	Ending    Kind = "ending"     // Injection; Text: a condition with a text that held when it was over
	Figure    Kind = "figure"     // Injection; Name: gauge; Class: Highest or Lowest or Last; Value, of that injection; Length: in its red band
	Handled   Kind = "handled"    // Injection; Item: where the checklist goes on; its actions done and its end state reached
	Lost      Kind = "lost"       // Injection; Item; Why: Timeout, Unseen, Inspection, LeftOpen, or none if its own condition says so
	Cleared   Kind = "cleared"    // Injection: a look-alike is over; Seat: instructor, who has taken it out again
	Resumed   Kind = "resumed"    // Item: the first item after an interruption; Why: AtPlace, Elsewhere or Twice; Length: since it could have been
	Prompted  Kind = "prompted"   // Item: the trainee had not resumed unprompted and was asked to
	Paused    Kind = "paused"     // Seat: the sitting was held; Why: Jumped, with no seat, and Length: by how much the clock did
	Unpaused  Kind = "unpaused"   // Seat; Length: of the pause
	Instruct  Kind = "instruct"   // Seat: instructor; Name: what was done (insert, delete, clear, say, back, weather, fuel, power, sound, level, remark; freeze and release only if they could not be); Abnormal (of back: the phase), or Text: to or with what; Value: how much; of insert, when: Onset, Item or, a phase, Text, and at once without these; of a remark, Onset: what it is about, if not now; Why: it could not be done, and changed nothing; Truth: what could have been
	Inspect   Kind = "inspect"    // Name: id of the limit; Text: in words; beyond it the aircraft has to be inspected, and the sitting ends
	Peak      Kind = "peak"       // Name: gauge; Class: Highest or Lowest; Value: its most extreme reading of the sitting
	Exceeded  Kind = "exceeded"   // Name: gauge; Length: in its red band, in the sitting
	End       Kind = "end"        // Why: how; Text: in words; OK: complete
	SoundBad  Kind = "sound-bad"  // Text: why reaction times from here on cannot be trusted
	SoundGood Kind = "sound-good" // the sound is healthy again
)

// Seat is who acts.
type Seat string

// The seats.
const (
	Trainee    Seat = "trainee"    // who is being trained
	Partner    Seat = "partner"    // the challenger, who reads the items
	Pilot      Seat = "pilot"      // the other pilot, who does the flow while the trainee watches
	Instructor Seat = "instructor" // who runs the sitting, and the crew when it takes over in words
)

// Reason says why, or how.
type Reason string

// The reasons. Which kinds have them is said there.
const (
	Wanted     Reason = "wanted"     // the trainee asked for it
	Anew       Reason = "anew"       // it was interrupted: no time of the trainee's
	Unanswered Reason = "unanswered" // nothing came
	Answered   Reason = "answered"   // the trainee acted
	Passing    Reason = "passing"    // the call of a value that a gauge goes through
	Over       Reason = "over"       // the challenge was still being spoken
	Already    Reason = "already"    // the control stood there
	Sprang     Reason = "sprang"     // the control returned by itself
	Assumed    Reason = "assumed"    // nobody reported it
	Unseen     Reason = "unseen"     // it never showed itself
	Timeout    Reason = "timeout"    // its time was over
	Reset      Reason = "reset"      // the crew was putting the exercise back
	LeftOpen   Reason = "left-open"  // the flow ended over it: a check was refused that ends it, or something that had to be right was not
	Inspection Reason = "inspection" // a limit was passed whose passing means an inspection
	AtPlace    Reason = "right"      // at the item that had been left
	Elsewhere  Reason = "wrong"      // at another item
	Twice      Reason = "twice"      // at one that had been done
	Complete   Reason = "complete"   // the sitting came to its end
	Refused    Reason = "refused"    // a check was rightly refused, and that ends the flow
	NotRight   Reason = "not-right"  // something that had to be right before the flow went on was not, and could not be put right
	Outside    Reason = "outside"    // whoever sat there, or the program, ended it
	TooLong    Reason = "too-long"   // it had lasted as long as a sitting may
	Jumped     Reason = "jumped"     // the clock jumped: the program or the machine had been stopped
	Muted      Reason = "muted"      // the sitting was silent by choice
	NoDevice   Reason = "no-device"  // there was no sound device, or it had gone
	NoSuch     Reason = "no-such"    // of an instruction, as all from here on: there is nothing of that name
	NotBegun   Reason = "not-begun"  // that phase has not begun
	NotWaiting Reason = "not-there"  // nothing of that name waits, or is in the aircraft
	OutOfRange Reason = "range"      // the figure, or the length of the text, is beyond what there can be
	Past       Reason = "past"       // that moment has been
	TooMany    Reason = "too-many"   // there have been as many as a sitting takes
	TooFast    Reason = "too-fast"   // too many at once
	WhileHeld  Reason = "held"       // the sitting is held
	NotFitted  Reason = "not-fitted" // this aircraft has nothing of the kind
)

// Class is what kind of thing a cue is, or which end of a scale.
type Class string

// The classes of cue.
const (
	Speech   Class = "speech"  // a challenge, or words that say what is put right
	Call     Class = "call"    // words from outside: radio, ground, cabin
	Echo     Class = "echo"    // the response, spoken back
	Horn     Class = "horn"    // an aural alert
	Caption  Class = "caption" // a light
	Gauge    Class = "gauge"   // a gauge left its green band, or shows what a healthy aircraft's would not
	Sight    Class = "outside" // something through the window
	Missing  Class = "missing" // what a healthy aircraft would have shown did not come
	Typed    Class = "typed"   // a challenge that is answered in figures; of reactions, never of a cue
	Highest  Class = "highest" // reading
	Lowest   Class = "lowest"  // reading
	LastRead Class = "last"    // reading
)

// Sounds reports whether a class of cue is heard, rather than seen.
func (c Class) Sounds() bool {
	return c == Speech || c == Call || c == Echo || c == Horn || c == Typed
}

// Yes and No are the spoken answers, as Text and Truth of an Answer have them.
const (
	Yes = "yes"
	No  = "no"
)

// Entry is one line of the log. Every time is in nanoseconds.
type Entry struct {
	Seq       int           `json:"seq"`                   // from 1, without gaps
	At        time.Duration `json:"at"`                    // since the sitting began, pauses left out
	Kind      Kind          `json:"kind"`                  // what the entry records
	Seat      Seat          `json:"seat,omitempty"`        // who acted
	Began     time.Duration `json:"began,omitempty"`       // when an act that has a length began: an utterance, a held key
	Why       Reason        `json:"why,omitempty"`         // see the kind
	Class     Class         `json:"class,omitempty"`       // see the kind
	Item      string        `json:"item,omitempty"`        // id of a procedure's item
	Control   string        `json:"control,omitempty"`     // id of a control
	Position  string        `json:"position,omitempty"`    // position of that control
	Key       string        `json:"key,omitempty"`         // the key, by its QWERTY label, as in "shift+a"
	Injection string        `json:"injection,omitempty"`   // one of this sitting, as in "hot-start#1"
	Abnormal  string        `json:"abnormal,omitempty"`    // name of an abnormal
	Cue       int           `json:"cue,omitempty"`         // number of the cue, from 1
	Name      string        `json:"name,omitempty"`        // see the kind
	Truth     string        `json:"truth,omitempty"`       // see the kind
	Text      string        `json:"text,omitempty"`        // see the kind
	Number    int           `json:"number,omitempty"`      // see the kind
	Value     float64       `json:"value,omitempty"`       // a reading, in the unit of its gauge
	Length    time.Duration `json:"length,omitempty"`      // see the kind
	Seed      uint64        `json:"seed,string,omitempty"` // see the kind
	OK        bool          `json:"ok,omitempty"`          // see the kind
	Onset     time.Duration `json:"onset,omitempty"`       // when a cue begins, since the sitting began
	Until     time.Duration `json:"until,omitempty"`       // when a spoken cue ends, since the sitting began
}

// When is when an act began: what counts for a reaction.
func (e *Entry) When() time.Duration {
	if e.Began != 0 {
		return e.Began
	}
	return e.At
}

// Describe gives the entry in one line, the same in a transcript and in a test.
func (e Entry) Describe() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%9.3f %-10s", e.At.Seconds(), e.Kind)
	word := func(name, value string) {
		if value != "" {
			fmt.Fprintf(&b, " %s=%s", name, value)
		}
	}
	span := func(name string, d time.Duration) {
		if d != 0 {
			fmt.Fprintf(&b, " %s=%.3f", name, d.Seconds())
		}
	}
	if e.Seat != Trainee { // whose acts most of them are
		word("seat", string(e.Seat))
	}
	span("began", e.Began)
	word("item", e.Item)
	word("control", e.Control)
	word("position", e.Position)
	word("key", e.Key)
	word("injection", e.Injection)
	word("abnormal", e.Abnormal)
	if e.Cue != 0 {
		fmt.Fprintf(&b, " cue=%d", e.Cue)
	}
	word("class", string(e.Class))
	word("name", e.Name)
	word("why", string(e.Why))
	word("truth", e.Truth)
	if e.Number != 0 {
		fmt.Fprintf(&b, " number=%d", e.Number)
	}
	if e.Value != 0 {
		fmt.Fprintf(&b, " value=%.6g", e.Value)
	}
	if e.Seed != 0 {
		fmt.Fprintf(&b, " seed=%d", e.Seed)
	}
	span("length", e.Length)
	if e.OK {
		b.WriteString(" ok")
	}
	span("onset", e.Onset)
	span("until", e.Until)
	if e.Text != "" {
		fmt.Fprintf(&b, " %q", e.Text)
	}
	return b.String()
}
