package logbook

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// ErrLeftOut is returned by Convert for an entry that says nothing which the log does not say elsewhere; see there.
var ErrLeftOut = errors.New("the entry has no counterpart, and what it says is said elsewhere in the log")

// Known reports, as an error or nil, whether a log of this version can be read.
func Known(version int) error {
	if version >= 1 && version <= Version {
		return nil
	}
	return fmt.Errorf("the log is of version %d, and this program reads versions 1 to %d; use the program that wrote it, or a newer one",
		version, Version)
}

// ConvertLog reads a log, an entry of JSON each, in order. A gap in it is an error, and so is a version that is not known.
// What Convert leaves out is left out, and the rest numbered again. Beyond Convert, which sees one entry, it has from the
// rest of a log of version 1:
//
//   - the name of what an abnormal began with is that of its cue; if that is words, they are a Call: no others began one;
//   - a look-alike that was over is Cleared; version 1 called it handled;
//   - the crew that moved a control directly after the end of an abnormal is the instructor, who put it back.
func ConvertLog(version int, bodies [][]byte) ([]Entry, error) {
	if err := Known(version); err != nil {
		return nil, err
	}
	log := make([]Entry, 0, len(bodies))
	for i, body := range bodies {
		e, err := Convert(version, body)
		switch {
		case err != nil && !errors.Is(err, ErrLeftOut):
			return nil, fmt.Errorf("entry %d: %w", i+1, err)
		case e.Seq != i+1:
			return nil, fmt.Errorf("there is no entry %d", i+1)
		case err == nil:
			e.Seq = len(log) + 1
			log = append(log, e)
		}
	}
	if version == 1 {
		relate(log)
	}
	return log, nil
}

// Convert reads one entry, which is JSON, out of a log of a version: the Number of the log's Begin, where none is 1. It is
// strict: a kind, a reason, a class, a seat or a field that the version does not have is an error.
//
// Of version 1 every statement is taken over that this version can make, and no other:
//
//   - lengths were seconds in floating point, and come back as the nanoseconds that they were;
//   - a seed from 2^53 on had been rounded, and is left out;
//   - what the crew did has the seat of the other pilot (Crew is Done by them; they did no item wrongly);
//   - the call of a passing value began when it came, which may be before it was judged;
//   - the true value of a reading is known to the decimals of its gauge;
//   - a value that was passed has no gauge, and a test that showed nothing the name of its control: version 1 kept no more;
//   - the words about an ending were the same whatever had happened, and are left out;
//   - Early, before each Done that went on over an abnormal, is left out altogether: the error is ErrLeftOut, and the
//     entry has its place and time only.
func Convert(version int, body []byte) (Entry, error) {
	if err := Known(version); err != nil {
		return Entry{}, err
	}
	if version == 1 {
		var in first
		if err := strict(body, &in); err != nil {
			return Entry{}, err
		}
		return in.convert()
	}
	var e Entry
	if err := strict(body, &e); err != nil {
		return Entry{}, err
	}
	return e, e.known()
}

// strict reads one JSON object, all of it, without a field that out does not have.
func strict(body []byte, out any) error {
	in := json.NewDecoder(bytes.NewReader(body))
	in.DisallowUnknownFields()
	if err := in.Decode(out); err != nil {
		return fmt.Errorf("it cannot be read: %w", err)
	}
	if _, err := in.Token(); !errors.Is(err, io.EOF) {
		return errors.New("something follows its end")
	}
	return nil
}

// Kinds, Reasons, Classes and Seats are all that an entry may have, in the order in which they are declared. They belong to
// the package and are only to be read. Typed is not among the classes: no entry has it.
var (
	Kinds = []Kind{Begin, Phase, Ask, AskAgain, Press, Moved, Blocked, Answer, Done, Undone, Overshoot, Stray, Again, TimedOut, Fixed, Skip,
		Reopen, Held, Cue, Heard, CueEnd, Silence, StopCall, GoOn, Inject, Onset, Told, Action, Also, Worse, Ending, Figure, Handled,
		Lost, Cleared, Resumed, Prompted, Paused, Unpaused, Instruct, Inspect, Peak, Exceeded, End, SoundBad, SoundGood}
	Reasons = []Reason{Wanted, Anew, Unanswered, Answered, Passing, Over, Already, Sprang, Assumed, Unseen, Timeout, Reset, LeftOpen, Inspection,
		AtPlace, Elsewhere, Twice, Complete, Refused, NotRight, Outside, TooLong, Jumped, Muted, NoDevice,
		NoSuch, NotBegun, NotWaiting, OutOfRange, Past, TooMany, TooFast, WhileHeld, NotFitted}
	Classes = []Class{Speech, Call, Echo, Horn, Caption, Gauge, Sight, Missing, Highest, Lowest, LastRead}
	Seats   = []Seat{Trainee, Partner, Pilot, Instructor}
)

// known says what of an entry is none of the constants of this package.
func (e *Entry) known() error {
	switch {
	case !slices.Contains(Kinds, e.Kind):
		return unknown("kind", string(e.Kind))
	case e.Why != "" && !slices.Contains(Reasons, e.Why):
		return unknown("reason", string(e.Why))
	case e.Class != "" && !slices.Contains(Classes, e.Class):
		return unknown("class", string(e.Class))
	case e.Seat != "" && !slices.Contains(Seats, e.Seat):
		return unknown("seat", string(e.Seat))
	}
	return nil
}

func unknown(what, name string) error {
	return fmt.Errorf("there is no %s %q; the program that wrote it may be newer", what, name)
}

// first is an entry of version 1.
type first struct {
	Seq      int           `json:"seq"`
	At       time.Duration `json:"at"`
	Kind     Kind          `json:"kind"`
	Item     string        `json:"item"`
	Control  string        `json:"control"`
	Position string        `json:"position"`
	Key      string        `json:"key"`
	Abnormal string        `json:"abnormal"` // name of the injection
	Cue      int           `json:"cue"`
	Name     string        `json:"name"`
	Text     string        `json:"text"`
	Value    float64       `json:"value"`
	OK       bool          `json:"ok"`
	Onset    time.Duration `json:"onset"`
	Until    time.Duration `json:"until"`
}

// The kinds of version 1 that there are no more, and its class.
const (
	crewOf1  Kind  = "crew"  // Item: the other pilot had done it
	earlyOf1 Kind  = "early" // Item: resumed at while the abnormal was not handled
	testOf1  Class = "test"  // a control was moved, and what should have followed did not
)

// convert says what an entry of version 1 does in the words of this one. What it has in a field that its kind did not fill
// was not written by version 1, but says nothing either.
func (in *first) convert() (Entry, error) {
	e := Entry{Seq: in.Seq, At: in.At, Kind: in.Kind, Item: in.Item}
	var err error
	switch in.Kind {
	case Begin:
		e.Item, e.Name, e.Text, e.Number = "", in.Name, in.Text, Version
		e.Seed, err = in.seed()
	case Phase, SoundBad, SoundGood:
		e.Item, e.Name, e.Text = "", in.Name, in.Text
	case Ask:
		e.Text, e.Cue, e.Name = in.Text, in.Cue, in.Name
		if in.Cue != 0 {
			e.Seat = Partner
		}
	case AskAgain:
		e.Text, e.Cue = in.Text, in.Cue
		e.Why, err = in.reason(Unanswered, Wanted, Anew)
	case Press:
		e.Seat, e.Key = Trainee, in.Key
	case Moved:
		e.Control, e.Position = in.Control, in.Position
		err = in.mover(&e)
	case Answer:
		e.Seat, e.Text = Trainee, in.Text
		err = in.answer(&e)
		e.OK = e.Text == No && e.Truth == No // what it was refused for was not told apart
	case Done:
		e.Seat, e.OK = Trainee, in.OK
	case crewOf1:
		e.Kind, e.Seat, e.OK = Done, Pilot, true
	case Stray:
		e.Seat, e.Key, e.Control, e.Position = Trainee, in.Key, in.Control, in.Position
	case Overshoot:
		e.Control, e.Position = in.Control, in.Position
	case Fixed:
		e.OK = in.OK
	case Undone, Again, TimedOut, Skip, Reopen, Prompted:
	case Cue:
		err = in.cue(&e)
	case Heard:
		e.Cue, e.Onset, e.Until = in.Cue, in.Onset, in.Until
		e.Why, err = in.reason("", Assumed)
	case CueEnd:
		e.Cue, e.Name = in.Cue, in.Text
		e.Class, err = in.class()
	case Silence:
		e.Seat = Trainee
		if in.Text != "nothing" {
			e.Name, e.OK = in.Text, true // neither was a horn that sounds in any aircraft
		}
	case Inject:
		e.Injection, e.Abnormal, e.OK = in.Abnormal, in.Name, in.OK
	case Onset:
		e.Injection, e.Cue = in.Abnormal, in.Cue
		e.Class, err = in.class()
	case Action:
		e.Injection, e.Text = in.Abnormal, in.Text
		err = in.action(&e)
	case Worse:
		e.Injection, e.Control, e.Position, e.Text = in.Abnormal, in.Control, in.Position, in.Text
	case Handled:
		e.Injection = in.Abnormal
	case Lost:
		e.Injection = in.Abnormal
		err = in.lost(&e)
	case earlyOf1:
		return Entry{Seq: in.Seq, At: in.At}, ErrLeftOut
	case Resumed:
		err = in.resumed(&e)
	case Paused:
		e.Seat = Trainee
	case Unpaused:
		e.Seat = Trainee
		e.Length, err = in.length()
	case Peak:
		err = in.peak(&e)
	case Exceeded:
		e.Name = in.Name
		e.Length, err = in.length()
	case End:
		e.Text, e.OK, e.Why = in.Text, in.OK, in.end()
	default:
		return Entry{}, unknown("kind", string(in.Kind))
	}
	if err != nil {
		return Entry{}, fmt.Errorf("%s: %w", in.Kind, err)
	}
	return e, nil
}

// peak takes an extreme. A number that JSON does not have had been put into the text.
func (in *first) peak(e *Entry) error {
	end, number, found := strings.Cut(in.Text, " (value ")
	e.Name, e.Value, e.Class = in.Name, in.Value, Class(end)
	if found {
		value, err := strconv.ParseFloat(strings.TrimSuffix(number, ")"), 64)
		if err != nil {
			return fmt.Errorf("%q is no reading", number)
		}
		e.Value = value
	}
	if e.Class != Highest && e.Class != Lowest {
		return unknown("class", end)
	}
	return nil
}

// seed is the seed, as far as floating point has kept it.
func (in *first) seed() (uint64, error) {
	const exact = 1 << 53
	switch {
	case in.Value < 0 || in.Value != math.Trunc(in.Value):
		return 0, fmt.Errorf("%g is no seed", in.Value)
	case in.Value >= exact:
		return 0, nil
	}
	return uint64(in.Value), nil
}

// length is the value as a length of time. Seconds in floating point are within a small part of a nanosecond of what they
// stood for, below or above it.
func (in *first) length() (time.Duration, error) {
	ns := math.Round(float64(in.Value * 1e9))
	if !(ns >= 0 && ns < 1<<53) {
		return 0, fmt.Errorf("%g s is no length of time", in.Value)
	}
	return time.Duration(ns), nil
}

// reason is the name as one of the reasons that the kind may have; without a name it is none.
func (in *first) reason(none Reason, some ...Reason) (Reason, error) {
	switch why := Reason(in.Name); {
	case in.Name == "":
		return none, nil
	case slices.Contains(some, why):
		return why, nil
	}
	return "", unknown("reason", in.Name)
}

// class is the name as a class of cue.
func (in *first) class() (Class, error) {
	switch c := Class(in.Name); c {
	case Speech, Echo, Horn, Caption, Gauge, Sight:
		return c, nil
	case testOf1:
		return Missing, nil
	}
	return "", unknown("class", in.Name)
}

func (in *first) mover(e *Entry) error {
	switch in.Name {
	case "":
		e.Seat = Trainee
	case "spring":
		e.Why = Sprang
	case "crew":
		e.Seat = Pilot
	default:
		return unknown("seat", in.Name)
	}
	return nil
}

// answer takes the truth of an answer, which is a yes or a no, the digits of a reading, or, for a passing value, how long
// after it the call came.
func (in *first) answer(e *Entry) error {
	switch in.Name {
	case "passing":
		after, err := time.ParseDuration(in.Text)
		if err != nil {
			return fmt.Errorf("%q is no length of time", in.Text)
		}
		e.Text, e.Why, e.Onset, e.Length = "", Passing, in.Onset, after
		if called := in.Onset + after; called != in.At {
			e.Began = called
		}
	case Yes, No:
		e.Truth = in.Name
	default:
		value, err := strconv.ParseFloat(in.Name, 64)
		if err != nil {
			return fmt.Errorf("%q is no truth of an answer", in.Name)
		}
		e.Truth, e.Value = in.Name, value
	}
	return nil
}

// cue takes what began: words, a thing by its id, a gauge and its band, the item whose value was passed, or the control that
// was tried.
func (in *first) cue(e *Entry) (err error) {
	e.Cue, e.Onset, e.OK = in.Cue, in.Onset, in.OK
	e.Class, err = in.class()
	switch {
	case e.Class == Speech, e.Class == Echo, e.Class == Gauge && in.OK:
		e.Text = in.Text
	case e.Class == Gauge:
		e.Name, e.Text, _ = strings.Cut(in.Text, " ")
	default:
		e.Name = in.Text
	}
	return err
}

// action takes the number of an action, which an abnormal has few of.
func (in *first) action(e *Entry) (err error) {
	if in.Value != math.Trunc(in.Value) || in.Value < 1 || in.Value > 1000 {
		return fmt.Errorf("%g is not the number of an action", in.Value)
	}
	e.Number = int(in.Value)
	e.Why, err = in.reason("", Already)
	return err
}

func (in *first) resumed(e *Entry) (err error) {
	if in.Name == "" {
		return unknown("reason", "")
	}
	if e.Why, err = in.reason("", AtPlace, Elsewhere, Twice); err == nil {
		e.Length, err = in.length()
	}
	return err
}

func (in *first) lost(e *Entry) error {
	switch in.Name {
	case "":
	case "unseen":
		e.Why = Unseen
	case "time":
		e.Why = Timeout
	default:
		return unknown("reason", in.Name)
	}
	return nil
}

// tooLongOf1 are the words in which version 1 ended a sitting that had lasted too long.
const tooLongOf1 = "a sitting may last three hours at the most"

func (in *first) end() Reason {
	switch {
	case in.OK:
		return Complete
	case in.Text == tooLongOf1:
		return TooLong
	}
	return Outside
}

// relate adds to a log of version 1 what an entry has only with others.
func relate(log []Entry) {
	putBack := false // the entry before was the end of an abnormal, or a control that was put back after it
	harmless, cues := map[string]bool{}, map[int]*Entry{}
	for i := range log {
		e := &log[i]
		putBack = putBack && e.Kind == Moved && e.Seat == Pilot
		switch e.Kind {
		case Inject:
			harmless[e.Injection] = e.OK
		case Cue:
			cues[e.Cue] = e
		case CueEnd:
			if c := cues[e.Cue]; c != nil {
				e.Class = c.Class
			}
		case Onset:
			if c := cues[e.Cue]; c != nil {
				if c.Class == Speech {
					c.Class, e.Class = Call, Call
				}
				e.Name = c.Name
			}
		case Handled, Lost:
			putBack = true
			if e.Kind == Handled && harmless[e.Injection] {
				e.Kind = Cleared
			}
		case Moved:
			if putBack {
				e.Seat = Instructor
			}
		}
	}
}
