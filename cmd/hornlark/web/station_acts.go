package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
	"hornlark/drill/logbook"
)

// Bounds on what waits.
const (
	mostWaiting = 32 // acts that the sitting has not answered
	mostMaking  = 2  // sentences of which clips are being made
)

// asking is a message of the instructor's page.
type asking struct {
	Kind string            `json:"kind"` // do, voice or handover
	ID   int               `json:"id"`   // is given back with the answer
	Do   drill.Instruction `json:"do"`
	What string            `json:"what"`
	When struct {
		At    int64  `json:"at"` // ms of running time
		Phase string `json:"phase"`
		Item  string `json:"item"`
	} `json:"when"`
	To float64 `json:"to"`
}

// answered is what has come of one of them.
type answered struct {
	Kind string `json:"kind"` // answer
	ID   int    `json:"id"`
	Done bool   `json:"done"`
	Why  string `json:"why,omitempty"` // it was not done; or what is to be known although it was
}

// readAsking reads a message. It takes nothing that the page does not send: the error is for whoever reads it there.
func readAsking(m []byte) (a asking, err error) {
	in := json.NewDecoder(bytes.NewReader(m))
	in.DisallowUnknownFields()
	if err := in.Decode(&a); err != nil {
		return asking{}, fmt.Errorf("that message is not one of this page: %w", err)
	}
	if in.More() {
		return asking{}, fmt.Errorf("that message is not one of this page: there is more than one")
	}
	return a, nil
}

// take takes a message of the page.
func (s *Station) take(ctx context.Context, l *Line, m []byte) {
	at := time.Now()
	a, err := readAsking(m)
	answer := func(done bool, why string) { l.Tell(encoded(answered{"answer", a.ID, done, why})) }
	if err != nil {
		answer(false, err.Error())
		return
	}
	switch a.Kind {
	case "do":
		s.do(ctx, a, at, answer)
	case "voice":
		l.Tell(encoded(voiced{"voice", a.ID, s.voiceOf(a.What)}))
	case "handover":
		l.Tell(encoded(handover{"code", a.ID, s.door.Renew(), s.door.Addresses()}))
	default:
		answer(false, "there is nothing of that kind to be done")
	}
}

// do has the sitting do something, and the page told what has come of it.
func (s *Station) do(ctx context.Context, a asking, at time.Time, answer func(done bool, why string)) {
	s.mu.Lock()
	about := s.about
	s.mu.Unlock()
	if about.Inputs == nil {
		answer(false, "the sitting has not begun")
		return
	}
	e := drill.Instruct{
		Do: a.Do, What: a.What, To: a.To,
		When: drill.Moment{At: time.Duration(clampMS(a.When.At)) * time.Millisecond, Phase: a.When.Phase, Item: a.When.Item},
	}
	if a.Do != drill.SayOut || about.Voices == nil || about.Voices.Ready(string(drill.Crew), a.What) || about.Voices.Engine() == "" {
		s.hand(about.Inputs, e, at, answer)
		return
	}
	if len([]rune(a.What)) > drill.MaxSaid { // it is refused: no clip is to be made of it
		s.hand(about.Inputs, e, at, answer)
		return
	}
	if s.making.Add(1) > mostMaking {
		s.making.Add(-1)
		answer(false, "a clip of the sentence before is still being made")
		return
	}
	go func() {
		defer s.making.Add(-1)
		about.Voices.Make(ctx, string(drill.Crew), a.What)
		s.hand(about.Inputs, e, time.Now(), answer)
	}()
}

// clampMS keeps a time from becoming another one when it is counted in nanoseconds.
func clampMS(ms int64) int64 {
	const most = int64(1000 * time.Hour / time.Millisecond)
	return min(max(ms, -most), most)
}

// hand puts what the instructor does to the sitting, with whatever the trainee does.
func (s *Station) hand(inputs chan<- desk.Input, e drill.Instruct, at time.Time, answer func(done bool, why string)) {
	if s.waiting.Add(1) > mostWaiting {
		s.waiting.Add(-1)
		answer(false, "the sitting has not done yet what was asked before")
		return
	}
	select {
	case inputs <- desk.Input{At: at, Event: e, Asker: &act{s, e, answer}}:
	default:
		s.waiting.Add(-1)
		answer(false, "the sitting has not done yet what was asked before")
	}
}

// act is something that the instructor does, until it is known what has come of it.
type act struct {
	station *Station
	event   drill.Instruct
	answer  func(done bool, why string)
}

// Told tells the page what has come of it.
func (a *act) Told(log []logbook.Entry) {
	a.station.waiting.Add(-1)
	done, why := outcome(a.event.Do, log)
	if done && a.event.Do == drill.SayOut {
		why = a.station.voiceOf(a.event.What)
	}
	a.answer(done, why)
}

// outcome is what has come of something that the instructor did, by what the log has of it.
func outcome(do drill.Instruction, log []logbook.Entry) (done bool, why string) {
	for i := range log {
		e := &log[i]
		switch {
		case e.Seat != logbook.Instructor:
		case e.Kind == logbook.Paused && do == drill.Freeze, e.Kind == logbook.Unpaused && do == drill.Release:
			return true, ""
		case e.Kind == logbook.Instruct && e.Name == string(do):
			return e.Why == "", refusal(e)
		}
	}
	return false, "it was not taken: the sitting is over, too much was asked at once, or the clock of the machine has jumped"
}

// refusal says why something could not be done; empty if it could.
func refusal(e *logbook.Entry) string {
	could := strings.TrimSpace(e.Truth)
	with := func(before string) string {
		if could == "" {
			return ""
		}
		return before + could
	}
	switch e.Why {
	case "":
		return ""
	case logbook.NoSuch:
		return "there is nothing of that name" + with("; there is: ")
	case logbook.NotBegun:
		return "that phase has not begun"
	case logbook.NotWaiting:
		if e.Name == string(drill.Clear) {
			return "nothing of that name is in the aircraft"
		}
		return "nothing of that name is still to come"
	case logbook.OutOfRange:
		return "that is out of range" + with(": write ")
	case logbook.Past:
		return "that moment has been"
	case logbook.TooMany:
		return "there have been as many as a sitting takes" + with(": ")
	case logbook.TooFast:
		return "that is too much at once; wait some seconds"
	case logbook.WhileHeld:
		return "the sitting is held: release it first"
	case logbook.NotFitted:
		return "this aircraft has none"
	case logbook.Already:
		return "it is so already"
	}
	return "it cannot be done: " + string(e.Why) + with(", ")
}

// voiceOf says whether a sentence would be heard.
func (s *Station) voiceOf(text string) string {
	s.mu.Lock()
	voices, there := s.about.Voices, s.hello != nil
	s.mu.Unlock()
	switch {
	case !there, strings.TrimSpace(text) == "":
		return ""
	case voices == nil:
		return "the sitting makes no sound: it is shown, and not heard"
	case voices.Ready(string(drill.Crew), text):
		return "there is a clip of it"
	case voices.Engine() != "":
		return "a clip of it is made before it is said, by " + voices.Engine()
	}
	return "there is no clip of it and no speech engine to make one: it is shown, and not heard"
}
