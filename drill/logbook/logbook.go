// Package logbook is the log of a sitting: every input and every cue, in order, each in one line that can be read.
//
// The log is the only thing that a score is computed from. An entry therefore states facts (what was asked, what was
// pressed, what the aircraft showed at that moment) and leaves the judging to the score.
package logbook

import (
	"fmt"
	"strings"
	"time"
)

// Kind says what an entry records.
type Kind string

// The kinds of entry. The fields that each one fills are named beside it; all others are empty.
const (
	Begin     Kind = "begin"      // Text: scenario; Name: mode; Value: seed
	Phase     Kind = "phase"      // Name: phase id
	Ask       Kind = "ask"        // Item; Text: challenge; Cue: the utterance, if one was spoken; Name: kind of item
	AskAgain  Kind = "ask-again"  // Item, Text, Cue: the challenge was repeated; Name: wanted if the trainee asked for it, anew if it had been interrupted, empty for want of an answer
	Press     Kind = "press"      // Key: the key as it was pressed
	Moved     Kind = "moved"      // Control, Position: where a press, or its own spring, put a control
	Answer    Kind = "answer"     // Item; Text: yes, no, or the digits that were typed; Name: truth, the answer that was right
	Done      Kind = "done"       // Item: its response has been given; OK: rightly
	Undone    Kind = "undone"     // Item: a control was taken out of the position that the item wants
	Overshoot Kind = "overshoot"  // Item, Control, Position: the wanted position was passed, or moved away from
	Stray     Kind = "stray"      // Key, Control: a press that no outstanding item wants
	Crew      Kind = "crew"       // Item: the other pilot has done it
	Again     Kind = "again"      // Item: done a second time
	TimedOut  Kind = "timed-out"  // Item: no answer within twice its time; the sitting went on
	Fixed     Kind = "fixed"      // Item: what it rightly refused, or overshot, has been put right; OK: by the trainee
	Skip      Kind = "skip"       // Item: its condition does not hold, or it is not fitted
	Reopen    Kind = "reopen"     // Item: to be done again, an abnormal having undone it
	Cue       Kind = "cue"        // Cue; Name: class of cue; Text: what began: id, or words; Onset: when it is due; OK: expected
	Heard     Kind = "heard"      // Cue, Onset, Until: when a sounding cue was really heard; Name: "assumed" if nobody reported it
	CueEnd    Kind = "cue-end"    // Cue: what went out, stopped, or was cut short
	Silence   Kind = "silence"    // Text: what was silenced, or "nothing"
	Inject    Kind = "inject"     // Abnormal: its cause was put into the aircraft
	Onset     Kind = "onset"      // Abnormal, Cue: the first of its cues began; the checklist is suspended
	Action    Kind = "action"     // Abnormal; Value: which of its immediate actions, from 1
	Worse     Kind = "worse"      // Abnormal, Control, Position: an action that makes it worse
	Handled   Kind = "handled"    // Abnormal; Item: where the checklist goes on
	Lost      Kind = "lost"       // Abnormal; Text: how it ended; Item: where the checklist goes on
	Early     Kind = "early"      // Item: the checklist was gone on with while the abnormal was not handled
	Resumed   Kind = "resumed"    // Item: the first item after an abnormal; Name: right, wrong or twice
	Prompted  Kind = "prompted"   // Item: the trainee had not gone on by himself and was asked to
	Paused    Kind = "paused"     // the sitting was held
	Unpaused  Kind = "unpaused"   // Value: seconds that the pause lasted
	Peak      Kind = "peak"       // Name: gauge; Value: its most extreme reading; Text: highest or lowest, of the sitting
	Exceeded  Kind = "exceeded"   // Name: gauge; Value: seconds that it spent in its red band
	End       Kind = "end"        // Text: complete, or why not; OK: complete
	SoundBad  Kind = "sound-bad"  // Text: why reaction times from here on cannot be trusted
	SoundGood Kind = "sound-good" // the sound is healthy again
)

// Entry is one line of the log.
type Entry struct {
	Seq      int           `json:"seq"`                // from 1, without gaps
	At       time.Duration `json:"at"`                 // since the sitting began, ns
	Kind     Kind          `json:"kind"`               // what the entry records
	Item     string        `json:"item,omitempty"`     // id of a procedure's item
	Control  string        `json:"control,omitempty"`  // id of a control
	Position string        `json:"position,omitempty"` // position of that control
	Key      string        `json:"key,omitempty"`      // the key, by its QWERTY label, as in "shift+a"
	Abnormal string        `json:"abnormal,omitempty"` // injection, as in "hot-start#1"
	Cue      int           `json:"cue,omitempty"`      // number of the cue, from 1
	Name     string        `json:"name,omitempty"`     // see the kind
	Text     string        `json:"text,omitempty"`     // see the kind
	Value    float64       `json:"value,omitempty"`    // see the kind
	OK       bool          `json:"ok,omitempty"`       // see the kind
	Onset    time.Duration `json:"onset,omitempty"`    // when a cue begins, since the sitting began, ns
	Until    time.Duration `json:"until,omitempty"`    // when a spoken cue ends, since the sitting began, ns
}

// Describe gives the entry in one line, the same on the screen, in a transcript and in a test.
func (e Entry) Describe() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%9.3f %-10s", e.At.Seconds(), e.Kind)
	word := func(name, value string) {
		if value != "" {
			fmt.Fprintf(&b, " %s=%s", name, value)
		}
	}
	word("item", e.Item)
	word("control", e.Control)
	word("position", e.Position)
	word("key", e.Key)
	word("abnormal", e.Abnormal)
	if e.Cue != 0 {
		fmt.Fprintf(&b, " cue=%d", e.Cue)
	}
	word("name", e.Name)
	if e.Value != 0 {
		fmt.Fprintf(&b, " value=%.6g", e.Value)
	}
	if e.OK {
		b.WriteString(" ok")
	}
	if e.Onset != 0 {
		fmt.Fprintf(&b, " onset=%.3f", e.Onset.Seconds())
	}
	if e.Until != 0 {
		fmt.Fprintf(&b, " until=%.3f", e.Until.Seconds())
	}
	if e.Text != "" {
		fmt.Fprintf(&b, " %q", e.Text)
	}
	return b.String()
}
