// Package scenario holds what a sitting puts a trainee through: which procedure, in what weather, interrupted by what
// and when, and what counts as having passed.
package scenario

import (
	"slices"
	"strings"
	"time"

	"hornlark/drill/aircraft"
)

// Help is how much the screen's keyboard map tells.
type Help string

// The degrees of help.
const (
	Names Help = "names" // keys, names and positions
	Bare  Help = "bare"  // keys and positions, without names
	None  Help = "none"  // no map at all
)

// Scenario is one exercise.
type Scenario struct {
	Name       string           `yaml:"name" is:"name"`           // short name, as on the command line
	Title      string           `yaml:"title" is:"line"`          // name on a screen
	About      string           `yaml:"about" is:"text"`          // a paragraph for the reader of a list
	Procedure  string           `yaml:"procedure" is:"procedure"` // name of the procedure that is gone through
	Profile    string           `yaml:"profile" is:"profile"`     // the profile that it is gone through on: that of the procedure, or one that is laid over it or made of it; left out: that of the procedure
	Phases     []string         `yaml:"phases" is:"phase,once"`   // ids of phases, neighbours in the procedure and in its order: only these are gone through, and all before is done already; left out: all
	Policy     PolicyName       `yaml:"policy" is:"word"`         // the way of going through it: who asks, who acts, how much is told
	Feedback   Feedback         `yaml:"feedback" is:"word"`       // empty takes the policy's
	Tell       string           `yaml:"tell" is:"tell"`           // when the crew says what is wrong: "never", "at once", or "after" and a time; left out: as the policy has it
	Map        Help             `yaml:"map" is:"word"`            // how much the screen's keyboard map tells
	Weather    aircraft.Weather `yaml:"weather"`                  // the air at the base
	State      string           `yaml:"state" is:"state"`         // state of the profile to begin in; empty is cold and dark
	Seed       uint64           `yaml:"seed"`                     // fixes what is drawn, which then is the same each time; left out: drawn anew
	Questions  int              `yaml:"questions" range:"0..400"` // of limits: how many figures are asked; left out: all
	Injections []Injection      `yaml:"injections" size:"0..40"`  // abnormals at fixed points
	Drawn      *Drawn           `yaml:"drawn"`                    // abnormals at moments that are drawn
	Par        *Par             `yaml:"par"`                      // reaction times that reactions are told beside
	Pass       Criteria         `yaml:"pass"`                     // what has to be reached
}

// Injection is an abnormal at a fixed point. Exactly one of During, When and At says which.
type Injection struct {
	Abnormal string        `yaml:"abnormal" is:"abnormal"` // name of the abnormal or look-alike
	During   string        `yaml:"during" is:"item"`       // item: once it is asked, or in recall once its turn has come
	When     string        `yaml:"when" is:"condition"`    // condition: once it holds
	At       time.Duration `yaml:"at" range:"0s..3h"`      // time of the sitting
	After    time.Duration `yaml:"after" range:"0s..3h"`   // added to any of these
}

// Drawn is abnormals at moments that cannot be guessed: the gaps between them are exponential, cut off at MaxGap, so
// that having waited tells nothing about how much longer the wait will be.
type Drawn struct {
	From    []string      `yaml:"from" is:"abnormal" size:"1..40"` // abnormals to draw from, each as likely as the next
	Count   int           `yaml:"count" range:"1..40"`             // how many at the most
	MinGap  time.Duration `yaml:"min_gap" range:"0s..1h"`          // from the end of one, or the start of the window, before a wait begins
	MeanGap time.Duration `yaml:"mean_gap" range:"1s..1h"`         // mean of the exponential before it is cut off, on top of min_gap
	MaxGap  time.Duration `yaml:"max_gap" range:"1s..1h"`          // longest wait, on top of min_gap
	Window  Window        `yaml:"window"`                          // part of the sitting in which one may begin
	Phases  []string      `yaml:"phases" is:"phase"`               // only while one of these phases runs; empty is any
}

// Window is a part of a sitting, in time since it began.
type Window struct {
	From  time.Duration `yaml:"from" range:"0s..3h"`  // when it opens
	Until time.Duration `yaml:"until" range:"0s..3h"` // when it closes; left out: the end of the sitting
}

// Criteria are what has to be reached. A field that is not set is not judged.
type Criteria struct {
	Right         *float64       `yaml:"right" range:"0..1"`            // least share of items right, 0 to 1
	Omitted       *int           `yaml:"omitted" range:"0..400"`        // most items omitted
	OutOfOrder    *int           `yaml:"out_of_order" range:"0..400"`   // most items out of order
	Handled       *float64       `yaml:"handled" range:"0..1"`          // least share of injections handled, 0 to 1
	Reaction      *time.Duration `yaml:"reaction" range:"100ms..3h"`    // longest median reaction to a challenge
	Detection     *time.Duration `yaml:"detection" range:"100ms..3h"`   // longest time to notice any abnormal
	RedBand       *time.Duration `yaml:"red_band" range:"0s..3h"`       // longest time with any gauge in its red band
	LookAlikes    *int           `yaml:"look_alikes" range:"0..400"`    // most harmless onsets acted on
	FalseConfirms *int           `yaml:"false_confirms" range:"0..400"` // most checks said to be in limits that were not
	WithinPar     *float64       `yaml:"within_par" range:"0..1"`       // least share of reactions within their par times, 0 to 1
}

// Abnormal is something that goes wrong, or only seems to: its cause in the aircraft, its cues, and what is to be done.
// The flight manual of the real aircraft decides what that is there; here it is a fictional one's.
type Abnormal struct {
	Name     string   `yaml:"name" is:"name"`         // short name, as scenarios name it
	Title    string   `yaml:"title" is:"line"`        // name on a screen; said where a scenario has abnormals told
	About    string   `yaml:"about" is:"text"`        // what causes it, and what is seen and heard
	Profile  string   `yaml:"profile" is:"profile"`   // the profile that it belongs to
	Harmless bool     `yaml:"harmless"`               // a look-alike: nothing is to be done
	Cause    []Cause  `yaml:"cause" size:"0..12"`     // what it changes in the aircraft
	Call     string   `yaml:"call" is:"line"`         // words that come over the radio or from the ground as it begins
	Cues     []string `yaml:"cues" is:"cue,once"`     // alerts, captions, gauges and outside facts by which it can be noticed, controls whose move shows it; or "call"
	Actions  []Action `yaml:"actions" size:"0..12"`   // immediate actions, in order
	Also     []Move   `yaml:"also" size:"0..12"`      // moves that are right as well, at any moment, and not asked for
	Worse    []Move   `yaml:"worse" size:"0..12"`     // what makes it worse
	Handled  string   `yaml:"handled" is:"condition"` // condition for it to be over, once the actions are done: the end state
	Lost     string   `yaml:"lost" is:"condition"`    // condition for it to have got away
	Ends     []Ending `yaml:"ends" size:"0..8"`       // how it can have ended, in words; where none holds the report gives the figures

	Timeout    time.Duration     `yaml:"timeout" range:"0s..10m"` // after which it has got away all the same; for a look-alike, it is over
	Afterwards aircraft.Settings `yaml:"afterwards" size:"0..16"` // controls that the crew puts back once it is over
	Motored    bool              `yaml:"motored"`                 // the crew dry-motors the engines once it is over: no fuel lies in them unburned
	Say        string            `yaml:"say" is:"line"`           // spoken by the crew once it is over: what was put right
	BackTo     string            `yaml:"back_to" is:"item"`       // item from which the flow is done again; empty: the one that was interrupted
	Reset      string            `yaml:"reset" is:"reset"`        // what the crew resets the aircraft to once it is over: a state of the profile, or "before", which is as it was when the phase of back_to began; left out: it goes on as it is
	Remains    bool              `yaml:"remains"`                 // the cause stays in the aircraft once it is over
}

// Before, as what is reset to, is the aircraft as it was when the phase began from which the flow is done again (back_to), or
// without that as it was when the abnormal was put in.
const Before = "before"

// Cause is one change in the aircraft.
type Cause struct {
	Failure string        `yaml:"failure" is:"failure"` // failure point, as the aircraft names it
	To      float64       `yaml:"to" is:"severity"`     // severity, 0 is healthy, 1 is the worst
	Over    time.Duration `yaml:"over" range:"0s..10m"` // time that it takes to get there
}

// Action is one immediate action. Exactly one of Set, Silence and Answer says what is done.
type Action struct {
	Group   string            `yaml:"group" is:"group"`       // neighbours of one group may be done in any order; any of the first group is a right first move
	Set     aircraft.Settings `yaml:"set" size:"0..16"`       // control: position, moved in this order; a lever has done it once it has passed the position
	Silence bool              `yaml:"silence"`                // the alert is silenced
	Answer  string            `yaml:"answer" is:"word"`       // "yes" or "no"
	After   string            `yaml:"after" is:"condition"`   // condition before which it is not to be done, as with a lever that is shut on the ground only
	Within  time.Duration     `yaml:"within" range:"1s..10m"` // from the onset of the first cue, or from when the condition of after came to hold
	Say     string            `yaml:"say" is:"line"`          // the action in words
}

// Move is a move that makes an abnormal worse, or that is right although nobody asks for it.
type Move struct {
	Set aircraft.Settings `yaml:"set" size:"0..16"` // control: position
	Say string            `yaml:"say" is:"line"`    // why
}

// Ending is a sentence about how an abnormal ended, and the condition under which it is true.
type Ending struct {
	When string        `yaml:"when" is:"condition"` // condition under which it is true
	For  time.Duration `yaml:"for" range:"0s..10m"` // it has held for this long without a break, at any time of the abnormal; left out: it holds as that ends
	Text string        `yaml:"text" is:"line"`      // the sentence
}

// MostEndings is how many endings an abnormal may have.
const MostEndings = 8

// Closing is what the crew says when the trainee has ended an abnormal: what was put right, and in any case that it is over.
func (a *Abnormal) Closing() string {
	if a.Say == "" {
		return "Carry on."
	}
	return a.Say
}

// Takeover is what the crew says when an abnormal is over that the trainee did not end.
func (a *Abnormal) Takeover() string {
	if a.Say == "" {
		return "Exercise: carry on."
	}
	if strings.HasPrefix(a.Say, "Exercise") {
		return a.Say // as in "Exercise reset: in the hover."
	}
	return "Exercise: " + a.Say
}

// ControlsReset is what the crew says as it puts back what somebody has moved with nothing wrong, where nothing flows; and where an
// abnormal speaks of an item from which the flow is done again, and that is not gone through.
const ControlsReset = "Exercise reset: controls as they were."

// Telling is what the crew says where a scenario has abnormals told.
func (a *Abnormal) Telling() string { return "Exercise: " + a.Title + "." }

// Abnormals names every abnormal that the scenario can inject, each once, in the order in which it names them.
func (s *Scenario) Abnormals() []string {
	var names []string
	add := func(name string) {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	for _, in := range s.Injections {
		add(in.Abnormal)
	}
	if s.Drawn != nil {
		for _, name := range s.Drawn.From {
			add(name)
		}
	}
	return names
}
