package desk

import (
	"context"
	"errors"
	"time"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/drill"
	"hornlark/drill/bench"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
)

const (
	stageGap  = 250 * time.Millisecond // between two looks of the instructor behind the scenes
	frameGap  = 100 * time.Millisecond // between two views for those who look on while nothing happens: a clock in tenths of a second
	healthGap = 500 * time.Millisecond // between two looks at the sound
	noticeFor = 8 * time.Second        // that it is told how the sound is before the keys are
	aloneFor  = 5 * time.Second        // that a held sitting with nobody at the keyboard waits for its sound
)

// Early is why a sitting did not come to its end, as it is told: a line of its own.
type Early string

// What ends a sitting early, or keeps it from beginning.
const (
	NotBegun   = Early("Stopped before the sitting had begun; nothing was kept.")
	EndedEarly = Early("Stopped before the end of the sitting; it is kept as far as it went.")
)

func (e Early) Error() string { return string(e) }

// Sound is what a live sitting is heard on; an audio.Output is one. Its times count from Begin.
type Sound interface {
	Player

	// Begin says when the sitting began, by the clock of the sitting.
	Begin(at time.Time)

	// Reports says of every cue when it was heard.
	Reports() <-chan audio.Report

	// Lead is how far ahead of time a cue has to be asked for.
	Lead() time.Duration

	// Buffer is how much sound is kept ready.
	Buffer() time.Duration

	// Health says how far reports can be trusted.
	Health() audio.Health

	// Notice is what is to be known of the sound, in a sentence, and Device what plays it.
	Notice() string
	Device() string
}

// Records are where a live sitting is kept as it goes on; a Keeper is one. They must not make it wait.
type Records interface {
	// Begin begins to keep it. An error means that it cannot begin.
	Begin(record.Sitting) error

	// Entry and Input keep what is new.
	Entry(logbook.Entry)
	Input(at time.Duration, e drill.Event)

	// Trouble is what the trainee should know of the records; empty: nothing.
	Trouble() string
}

// Watcher looks on as a sitting goes on: a screen, a page. It is called from the goroutine of the sitting, and must not make it wait.
type Watcher interface {
	// Update has it show a view, which is only lent: it is filled anew as soon as Update has returned.
	Update(*drill.View)

	// Notice has it show one line that is not of the sitting; empty: none any more.
	Notice(text string)

	// Silent tells it whether anything is heard.
	Silent(bool)
}

// Paced is a watcher that is shown views at a pace of its own: a page whose needles move wants more of them than a terminal can draw.
type Paced interface {
	Watcher

	// Pace is how long it is left without a view at the most, as long as the sitting is not held. It is asked each time.
	Pace() time.Duration
}

// watching is a watcher, and when it last got a view.
type watching struct {
	Watcher
	shown time.Time
}

// pace is how long the watcher is left without a view.
func (w *watching) pace() time.Duration {
	if p, ok := w.Watcher.(Paced); ok {
		return p.Pace()
	}
	return frameGap
}

// Instructor looks on from behind the scenes as well. It is called like a Watcher.
type Instructor interface {
	Watcher

	// Present reports whether anybody looks on there. If not, there is no Update and no Behind.
	Present() bool

	// Logged gets each new entry of the log, with what was to be seen then.
	Logged(*logbook.Entry, *drill.View)

	// Behind has it show what goes on behind the scenes; it is only lent.
	Behind(*drill.Stage)
}

// Means are what a live sitting needs before it begins.
type Means struct {
	Clock  Clock
	Sound  Sound
	Voices *voice.Library
	Silent bool // nothing is to be heard, by choice
	Mute   bool // nor to be written: no clip is made

	// Hint is what the trainee is told at first, where there is nothing to be said of the sound; nil: nothing.
	Hint func() string
}

// Live is a sitting with a clock, something to be heard on, and somebody to answer. One goroutine, that of Drive, owns the sitting and
// everything else here; what is done, the reports of the sound and the end come to it over channels.
type Live struct {
	clock    Clock
	sound    Sound
	sounder  Sounder
	muted    bool // nothing is to be heard, by choice
	hint     func() string
	ex       *Exercise
	sitting  *drill.Sitting
	trainee  *bench.Trainee // nil: somebody answers
	keep     Records
	watchers []watching
	soon     []voice.Phrase // that may be said next

	began        time.Time
	told         time.Duration // the latest time that the sitting was told
	healthy      bool
	silent       bool // nothing is heard, at the last look
	heardAtFirst bool // there was a device when the sitting began
	held         bool // the sitting is held because the sound has gone
	awake        *awake
	jumped       time.Duration // by how much the clock has, while the sitting is held for that
	deafTo       time.Duration // until when what is done is what had been waiting to be read
	uncertainty  time.Duration // the largest of an input
	heldAt       time.Time
	looked       time.Time     // when the sound was last looked at
	buffer       time.Duration // of sound that was kept ready at first
	grownAt      time.Time     // when more was, for the first time; zero while no more is
	view         drill.View
	why          error // what ended it from outside

	instructor Instructor // nil: there is none
	stage      drill.Stage
	staged     time.Time // when the instructor last got it
	watched    time.Time // and a view
	asker      Asker     // of the last input; nil: nobody wants to know what has come of it
}

// Ready makes a sitting of an exercise, once everything that may be said has a clip; progress is told how far that is. The error is that of
// answers, or NotBegun if the context ends meanwhile.
func Ready(ctx context.Context, ex *Exercise, m Means, progress func(done, total int)) (l *Live, err error) {
	l = &Live{
		clock: m.Clock, sound: m.Sound, sounder: Sounder{Player: m.Sound, Voices: m.Voices, Mute: m.Mute}, muted: m.Silent, hint: m.Hint,
		ex: ex, healthy: true,
	}
	l.silent, l.buffer = m.Sound.Health().Silent, m.Sound.Buffer()
	l.heardAtFirst = !l.silent
	if !m.Mute && m.Voices.Prepare(ctx, ex.Phrases(), progress) != nil {
		return nil, NotBegun
	}
	if l.sitting, l.trainee, err = ex.Sit(m.Sound.Lead()); err != nil {
		return nil, err
	}
	l.lookAhead()
	return l, nil
}

// Begin begins the sitting, and to keep it. about gives what the records are to know of one that began then, beside what it goes by.
func (l *Live) Begin(keep Records, about func(began time.Time) record.Sitting) error {
	// The breath before the first words has passed while the sitting was made ready, and so has the time for which a cue has to be
	// asked for before it is due: these words are heard as soon as the device can have them.
	l.began = l.clock.Now().Add(-drill.FirstWords - l.sound.Lead())
	l.looked = l.clock.Now()
	l.keep = keep
	s := about(l.began)
	s.Lead, s.Buffer, s.Heard = l.sound.Lead(), l.sound.Buffer(), !l.sound.Health().Silent
	return keep.Begin(s)
}

// lookAhead has made ready what may be said next.
func (l *Live) lookAhead() {
	if l.sounder.Mute {
		return
	}
	l.soon = l.soon[:0]
	for _, u := range l.sitting.MaySay() {
		l.soon = append(l.soon, voice.Phrase{Voice: string(u.Voice), Text: u.Text})
	}
	l.sounder.Voices.Ahead(l.soon)
}

// Around is who takes part in a live sitting.
type Around struct {
	Inputs   <-chan Input // of everybody who does anything; nil: nobody does. It is never closed
	Ended    <-chan error // gets why, once there is nobody any more to show the sitting to; nil: that cannot be
	Watchers []Watcher    // all are shown the same; with any, somebody can let a held sitting go on

	Instructor Instructor // nil: there is none
}

// Drive is the loop of a sitting that has begun. It ends with the sitting; an end from outside, by the context or by what is around it, is
// put to the sitting first, so that the log has it, and is told by Why. The error is what kept the sitting from going on.
func (l *Live) Drive(ctx context.Context, around Around) error {
	for _, w := range around.Watchers {
		l.watchers = append(l.watchers, watching{Watcher: w})
	}
	l.instructor = around.Instructor
	ended := around.Ended
	l.sound.Begin(l.began)
	go settleIn(l.ex.Profile)
	l.awake = newAwake(l.clock.Asleep)
	l.awake.last = l.now()
	timer := l.clock.Timer()
	defer timer.Stop()
	for {
		over, err := l.carryOutAll()
		if over || err != nil {
			return err
		}
		l.show(false)
		if err := l.stayAwake(0); err != nil {
			return err
		}
		wait := l.untilNext()
		timer.Reset(wait)
		// What has come meanwhile is taken after the hold that a jump of the clock leads to.
		slept := func() error { return l.stayAwake(wait) }
		select {
		case <-timer.C():
			if err = slept(); err == nil {
				err = l.turn()
			}
		case report := <-l.sound.Reports():
			if err = slept(); err != nil {
				return err
			}
			err = l.put(l.now(), drill.Heard{Cue: report.Cue, Onset: report.Onset, End: report.End, Why: l.unheard(report)})
		case in := <-around.Inputs:
			if err = slept(); err == nil {
				err = l.take(in)
			}
		case why := <-ended:
			ended = nil
			l.why = errors.Join(EndedEarly, why)
			err = l.put(l.now(), drill.Stop{Why: "the screen was closed"})
		case <-ctx.Done():
			l.why = EndedEarly
			err = l.put(l.now(), drill.Stop{Why: "stopped from outside"})
		}
		if err != nil {
			return err
		}
	}
}

// Why is what ended the sitting from outside: EndedEarly, and what led to that; nil if it came to its end by itself.
func (l *Live) Why() error { return l.why }

// Uncertainty is the largest of an input so far.
func (l *Live) Uncertainty() time.Duration { return l.uncertainty }

func (l *Live) now() time.Duration { return l.since(l.began) }

func (l *Live) since(t time.Time) time.Duration { return l.clock.Now().Sub(t) }

// untilNext is how long nothing needs to be done, if nothing happens.
func (l *Live) untilNext() time.Duration {
	next := l.now() + frameGap
	if at, ok := l.sitting.NextDeadline(); ok {
		next = min(next, at)
	}
	if at, ok := l.nextAnswer(); ok {
		next = min(next, at)
	}
	if at, _, ok := l.nextAct(); ok {
		next = min(next, at)
	}
	return next - l.now()
}

func (l *Live) nextAnswer() (time.Duration, bool) {
	if l.trainee == nil {
		return 0, false
	}
	at, _, ok := l.trainee.Next()
	return at, ok
}

// nextAct is what the instructor does by the answers that are played.
func (l *Live) nextAct() (time.Duration, drill.Instruct, bool) {
	if l.trainee == nil {
		return 0, drill.Instruct{}, false
	}
	return l.trainee.NextAct()
}

// turn does whatever has come due, in order. The sitting is told its own deadlines and not the time at which the timer
// woke, so that a key that was read a moment ago keeps its own time.
func (l *Live) turn() error {
	if err := l.lookAtSound(); err != nil {
		return err
	}
	now := l.now()
	if at, act, will := l.nextAct(); will && at <= now {
		if deadline, ok := l.sitting.NextDeadline(); !ok || at <= deadline {
			l.trainee.Acted()
			return l.put(at, act)
		}
	}
	if l.trainee != nil {
		deadline, ok := l.sitting.NextDeadline()
		if at, press, will := l.trainee.Next(); will && at <= now && (!ok || at <= deadline) {
			l.trainee.Pressed(at)
			return l.put(at, press)
		}
	}
	if at, ok := l.sitting.NextDeadline(); ok && at <= now {
		l.told = max(l.told, at)
		return l.sitting.Advance(l.told)
	}
	return nil
}

// put tells the sitting of an event, and keeps it for the replay. An event that is a hair older than what the sitting
// has been told already is taken as of then.
func (l *Live) put(at time.Duration, e drill.Event) error {
	l.told = max(l.told, at)
	l.keep.Input(l.told, e)
	return l.sitting.Input(l.told, e)
}

// carryOutAll carries out what the sitting wants, and reports whether it is over. The log comes first: it must not wait
// for a sound that takes its time.
func (l *Live) carryOutAll() (over bool, err error) {
	outputs := l.sitting.Outputs()
	for _, o := range outputs {
		if o, ok := o.(drill.Log); ok {
			l.ex.Take(o)
			l.keep.Entry(o.Entry)
		}
		if l.trainee != nil {
			l.trainee.Take(o)
		}
	}
	for _, o := range outputs {
		switch o := o.(type) {
		case drill.Log:
		case drill.Ended:
			over = true
		case drill.Loudness:
			if err := l.sounder.CarryOut(o); err != nil {
				l.notice(err.Error())
			}
			l.notice(turnedOff(o.On))
		default:
			if err := l.sounder.CarryOut(o); err != nil {
				l.notice(err.Error())
			}
		}
	}
	if len(outputs) > 0 {
		l.lookAhead()
		l.sitting.View(&l.view)
		l.show(true) // what has begun to be seen is timed from now
	}
	l.behind(outputs)
	return over, nil
}

// show gives the watchers a view, each not more often than it wants one unless it has to be now.
func (l *Live) show(now bool) {
	filled := false
	for i := range l.watchers {
		w := &l.watchers[i]
		if !now && l.since(w.shown) < w.pace() {
			continue
		}
		if !filled {
			l.sitting.View(&l.view)
			filled = true
		}
		w.shown = l.clock.Now()
		w.Update(&l.view)
	}
}

// turnedOff is what the trainee is told while nothing is heard because the instructor wants it so.
func turnedOff(on bool) string {
	if on {
		return ""
	}
	return "The instructor has turned the sound off."
}

// notice has the watchers show a line.
func (l *Live) notice(text string) {
	for _, w := range l.watchers {
		w.Notice(text)
	}
	if l.instructor != nil {
		l.instructor.Notice(text)
	}
}
