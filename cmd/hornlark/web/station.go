package web

import (
	"bytes"
	"context"
	"sync"
	"sync/atomic"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/screen"
	"hornlark/cmd/hornlark/walk"
	"hornlark/drill"
	"hornlark/drill/debrief"
	"hornlark/drill/inert"
	"hornlark/drill/logbook"
)

// Station is the instructor's page of one running sitting: what the trainee sees, what goes on behind it, and what can be done about it. It
// is a desk.Instructor. One page is connected at a time (see Door).
//
// Its lock is never held while the hub is called: a page that comes is greeted by what lies here, under the lock of the hub.
type Station struct {
	door  *Door
	hub   *Hub
	talks sync.WaitGroup // conversations

	mu     sync.Mutex
	about  About
	hello  []byte // about the sitting; nil until there is one
	teller *walk.Teller
	told   []event // the timeline
	scene  *Scene
	shown  []byte // the latest scene
	items  []byte // the latest checklist
	behind []byte // the latest of what else goes on behind the scenes, but for its time
	stage  []byte // and with it
	notice string
	silent bool

	waiting atomic.Int32 // acts that the sitting has not answered
	making  atomic.Int32 // sentences of which clips are being made
}

// About is what a station has to know of a sitting before it begins.
type About struct {
	Ex      *desk.Exercise
	Title   string            // of the scenario, with the part of it that is gone through
	Trainee string            // empty: nobody is named
	Names   debrief.Names     // what things are called
	Layout  screen.Layout     // of the trainee's keyboard
	Inputs  chan<- desk.Input // of the sitting
	Voices  Voices            // nil where nothing is heard
}

// Voices say sentences; a voice.Library does.
type Voices interface {
	// Ready reports whether a phrase has a clip that needs no engine any more.
	Ready(voice, text string) bool

	// Engine names the speech engine, or is empty if there is none.
	Engine() string

	// Make has an engine make the clip of a phrase that has none yet.
	Make(ctx context.Context, voice, text string)
}

// event is a line of the timeline.
type event struct {
	At   int64  `json:"at"` // ms, as the clock of the sitting shows it
	Kind string `json:"kind,omitempty"`
	Text string `json:"text"`
	Slip bool   `json:"slip,omitempty"`
}

// momentKinds are what the moments of a walk are called in messages.
var momentKinds = map[walk.Kind]string{walk.Phase: "phase", walk.Asked: "asked", walk.Abnormal: "abnormal", walk.Over: "over"}

// OpenStation opens the way to a station at an address, as somebody wrote it. The sitting may come later.
func OpenStation(ctx context.Context, address string) (*Station, error) {
	s := &Station{hub: NewHub()}
	door, err := OpenDoor(ctx, DoorOptions{Address: address, Page: "station.html", Files: assets, Meet: s.meet})
	if err != nil {
		return nil, err
	}
	s.door = door
	return s, nil
}

// Door is the way in.
func (s *Station) Door() *Door { return s.door }

// Attach has the station go with a sitting.
func (s *Station) Attach(a About) {
	face := NewFace(a.Ex.Profile, a.Layout, "")
	hello := encoded(helloOf(&a, face))
	s.mu.Lock()
	s.about, s.hello = a, hello
	s.scene, s.teller = NewScene(face), walk.NewTeller(a.Ex.Profile, a.Names)
	s.mu.Unlock()
	s.hub.Tell(hello)
}

// Close ends the station once its page has been sent what is left, with a reason that it shows.
func (s *Station) Close(why string) {
	s.hub.Close(why)
	gone := make(chan struct{})
	go func() { s.talks.Wait(); close(gone) }()
	select {
	case <-gone:
	case <-time.After(goodbyeWithin): // a page that is not there any more does not say so
	}
	s.door.Close(why)
}

// Present reports whether a page is connected.
func (s *Station) Present() bool { return s.hub.Count() > 0 }

// Update shows what the trainee sees.
func (s *Station) Update(v *drill.View) {
	s.scene.Fill(v)
	s.scene.FillSaid(v, 12)
	shown := s.scene.JSON()
	s.mu.Lock()
	s.shown = shown
	s.mu.Unlock()
	s.hub.Scene(shown)
}

// Behind shows what goes on behind the scenes, as far as it has changed.
func (s *Station) Behind(b *drill.Stage) {
	items, stage := encoded(itemsOf(b)), s.stageOf(b)
	behind := encoded(stage)
	stage.At = b.At.Milliseconds()
	timed := encoded(stage)
	s.mu.Lock()
	news, more := !bytes.Equal(s.items, items), !bytes.Equal(s.behind, behind)
	s.items, s.behind, s.stage = items, behind, timed
	s.mu.Unlock()
	if news {
		s.hub.Tell(items)
	}
	if more {
		s.hub.Tell(timed)
	}
}

// Logged adds to the timeline.
func (s *Station) Logged(e *logbook.Entry, v *drill.View) {
	s.mu.Lock()
	from, moments := s.teller.Tell(e, v)
	s.told = s.told[:from]
	for _, m := range moments {
		s.told = append(s.told, event{m.At.Milliseconds(), momentKinds[m.Kind], inert.Line(m.Text), m.Slip})
	}
	var news []byte
	if len(moments) > 0 {
		news = encoded(linesOf(from, s.told[from:]))
	}
	s.mu.Unlock()
	if news != nil {
		s.hub.Tell(news)
	}
}

// Notice shows a line that is not of the sitting.
func (s *Station) Notice(text string) { s.tell(func() { s.notice = inert.Line(text) }) }

// Silent shows whether anything is heard.
func (s *Station) Silent(silent bool) { s.tell(func() { s.silent = silent }) }

// tell tells what is around the sitting, if something has changed it.
func (s *Station) tell(change func()) {
	s.mu.Lock()
	before := s.around()
	change()
	now := s.around()
	s.mu.Unlock()
	if before != now {
		s.hub.Tell(encoded(now))
	}
}

func (s *Station) around() aroundMessage { return aroundMessage{"around", s.notice, s.silent} }

// meet has the conversation with a page.
func (s *Station) meet(ctx context.Context, g *Guest) {
	s.talks.Add(1)
	defer s.talks.Done()
	s.hub.Serve(ctx, Talk{Peer: g, Greet: s.greet, Take: func(l *Line, m []byte) { s.take(ctx, l, m) }})
}

// greet gives a page that has come all that there is.
func (s *Station) greet(l *Line) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.hello == nil {
		l.Tell([]byte(`{"kind":"wait"}`))
		return
	}
	l.Tell(s.hello)
	l.Tell(encoded(s.around()))
	l.Tell(encoded(linesOf(0, s.told)))
	for _, part := range [][]byte{s.items, s.stage} {
		if part != nil {
			l.Tell(part)
		}
	}
	if s.shown != nil {
		l.Scene(s.shown)
	}
}
