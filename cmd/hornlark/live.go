package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"time"

	"hornlark/audio"
	"hornlark/audio/tone"
	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/screen"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/bench"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
)

const (
	frameGap  = 100 * time.Millisecond // between two views for the screen while nothing happens: a clock in tenths of a second
	healthGap = 500 * time.Millisecond // between two looks at the sound
	noticeFor = 8 * time.Second        // that it is told how the sound is before the keys are
	aloneFor  = 5 * time.Second        // that a held sitting with nobody at the keyboard waits for its sound
)

// live is a sitting with a real clock, a sound card and a keyboard. One goroutine owns the sitting and everything
// else here; the keys, the sound's reports and the end come to it over channels.
type live struct {
	ex      *desk.Exercise
	options *drillOptions
	sitting *drill.Sitting
	trainee *bench.Trainee // nil: the keyboard answers
	desk.Sounder
	sound    *audio.Output
	settings *soundSettings
	levels   *levels
	screen   *screen.Screen // nil without a terminal
	keep     *desk.Keeper
	soon     []voice.Phrase // that may be said next

	began        time.Time
	told         time.Duration // the latest time that the sitting was told
	healthy      bool
	silent       bool // nothing is heard, at the last look
	heardAtFirst bool // there was a device when the sitting began
	held         bool // the sitting is held because the sound has gone
	awake        *awake
	jumped       time.Duration // by how much the clock has, while the sitting is held for that
	deafTo       time.Duration // until when keys are those that had been waiting in the terminal
	heldAt       time.Time
	shown        time.Time     // when the screen last got a view
	looked       time.Time     // when the sound was last looked at
	buffer       time.Duration // of sound that was kept ready at first
	grownAt      time.Time     // when more was, for the first time; zero while no more is
	view         drill.View
	whose        string // is told where it is kept, at first
	why          error  // what ended it from outside
}

// runLive goes through the exercise on a terminal, or without one where answers are played. The sound may be being opened already;
// it is closed in any case.
func (o *drillOptions) runLive(ctx context.Context, ex *desk.Exercise, sound *opening) error {
	defer unhurried(ctx)()
	l := &live{ex: ex, options: o, healthy: true}
	if sound == nil {
		var err error
		if sound, err = beginOpening(ctx, o); err != nil {
			return err
		}
	}
	records := desk.OpeningRecords()
	err := l.ready(ctx, sound)
	if err == nil && ctx.Err() != nil {
		err = errNotBegun
	}
	if err == nil {
		l.keep, err = records()
	}
	if err != nil {
		return errors.Join(err, sound.close())
	}
	l.tellOfRecords()
	// The breath before the first words has passed while the sitting was made ready, and so has the time for which a cue has to be
	// asked for before it is due: these words are heard as soon as the device can have them.
	l.began = time.Now().Add(-drill.FirstWords - l.sound.Lead())
	l.looked = time.Now()
	if err := l.keep.Begin(l.record()); err != nil {
		return errors.Join(err, l.keep.Close(), sound.close())
	}
	l.tellOfRecords() // before there is a screen
	l.whose = o.keptFor()
	if !o.json {
		fmt.Fprintln(o.out, l.whose)
	}
	sound.begun = true
	err = l.onScreen(ctx)
	result := ex.Judge()
	kept := l.keep.End(ex, result)
	l.tellOfRecords()
	id := l.keep.ID()
	report := o.report(ex, l.account())
	if trouble := l.levels.kept(); trouble != nil {
		fmt.Fprintln(o.err, trouble)
	}
	err = errors.Join(err, sound.close(), kept)
	if err != nil {
		report.give()
		return err
	}
	if l.screen != nil {
		report.show(ctx, result, id, o.silent)
	}
	return errors.Join(l.why, report.give())
}

// record is what the records are to know of the sitting before it begins.
func (l *live) record() record.Sitting {
	s := l.ex.Record()
	s.Trainee, s.Layout, s.Version = l.options.trainee, string(l.options.keyboard()), version
	s.Started, s.Moved = recordsTime(l.began), recordsMoved()
	s.Lead, s.Buffer, s.Heard = l.sound.Lead(), l.sound.Buffer(), !l.sound.Health().Silent
	return s
}

// tellOfRecords says what is to be said about the records and has not been yet. On a screen that has to wait until it is gone.
func (l *live) tellOfRecords() {
	for _, news := range l.keep.News() {
		fmt.Fprintln(l.options.err, news)
	}
}

// ready makes the sitting, once the sound and the voices are there, and begins to make its clips.
func (l *live) ready(ctx context.Context, sound *opening) (err error) {
	if err := l.take(ctx, sound); err != nil {
		return err
	}
	if l.sitting, l.trainee, err = l.ex.Sit(l.sound.Lead()); err != nil {
		return err
	}
	l.lookAhead()
	return nil
}

// take waits for the sound and the voices, and has what is still missing of these made.
func (l *live) take(ctx context.Context, o *opening) error {
	if err := desk.CheckTones(l.ex.Profile); err != nil {
		return err
	}
	if err := o.wait(ctx); err != nil {
		return err
	}
	l.sound, l.Voices, l.settings = o.sound, o.voices, o.settings
	l.levels = &levels{sound: o.sound, settings: o.settings}
	l.silent, l.buffer = o.sound.Health().Silent, o.sound.Buffer()
	l.heardAtFirst = !l.silent
	l.Sounder = desk.Sounder{Player: o.sound, Voices: o.voices, Mute: l.options.silent && l.options.wav.path == ""}
	if l.Mute {
		return nil
	}
	making := l.options.progress("making the voices ready")
	defer making.end()
	if o.voices.Prepare(ctx, l.ex.Phrases(), making.at) != nil {
		return errNotBegun
	}
	return nil
}

// lookAhead has made ready what may be said next.
func (l *live) lookAhead() {
	if l.Mute {
		return
	}
	l.soon = l.soon[:0]
	for _, u := range l.sitting.MaySay() {
		l.soon = append(l.soon, voice.Phrase{Voice: string(u.Voice), Text: u.Text})
	}
	l.Voices.Ahead(l.soon)
}

// What is left to be done once a sitting has begun, a little at a time: the sound has to be fed meanwhile.
const (
	tonesFrom   = 300 * time.Millisecond // after the beginning, when the first words are on their way
	tonesEvery  = 50 * time.Millisecond  // between two of them
	memoryAfter = 2 * time.Second        // that is given back
)

// How much memory there may be beyond what is used, %, before it is looked for what is not. With the usual 100 doing so took a fifth of
// the processor until the first words are heard; with 400 the program held 10 MB more meanwhile.
const (
	startingRoom = 200
	sittingRoom  = 40 // a sitting makes little that is thrown away
)

// settleIn makes the tones of the alerts, so that no horn has to wait for its own, and gives back the memory that reading the documents
// took, with those that the sitting does not use.
func settleIn(p *aircraft.Profile) {
	time.Sleep(tonesFrom)
	for i := range p.Alerts {
		tone.Named(p.Alerts[i].Tone) // that there are all of them has been looked at
		time.Sleep(tonesEvery)
	}
	time.Sleep(memoryAfter)
	debug.SetGCPercent(sittingRoom)
	library.Release()
	debug.FreeOSMemory()
}

// onScreen runs the sitting, on a screen if there is a terminal.
func (l *live) onScreen(ctx context.Context) error {
	if !l.options.terminal {
		return l.drive(ctx, nil, nil)
	}
	var err error
	l.screen, err = screen.New(screen.Options{
		Profile: l.ex.Profile, Title: titleOf(l.ex.Bundle), Policy: l.ex.Policy(), Help: l.ex.Scenario.Map, Layout: l.options.keyboard(),
		Silent: l.options.silent, Level: l.levels.turn,
	})
	if err != nil {
		return err
	}
	ended := make(chan error, 1)
	go func() { ended <- l.screen.Run(ctx) }()
	err = l.drive(ctx, l.screen.Strokes(), ended)
	l.screen.Stop()
	<-l.screen.Done()
	return err
}

// drive is the loop of the sitting. It ends with the sitting; an end from outside is put to the sitting first, so that
// the log has it.
func (l *live) drive(ctx context.Context, strokes <-chan screen.Stroke, ended <-chan error) error {
	if l.screen != nil {
		defer l.screen.Guard()
	}
	l.sound.Begin(l.began)
	go settleIn(l.ex.Profile)
	l.awake = newAwake(asleep)
	l.awake.last = l.now()
	timer := time.NewTimer(0)
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
		case <-timer.C:
			if err = slept(); err == nil {
				err = l.turn()
			}
		case report := <-l.sound.Reports():
			if err = slept(); err != nil {
				return err
			}
			err = l.put(l.now(), drill.Heard{Cue: report.Cue, Onset: report.Onset, End: report.End, Why: l.unheard(report)})
		case stroke, ok := <-strokes:
			if !ok {
				strokes = nil // the screen says why it ended
				continue
			}
			if err = slept(); err == nil {
				err = l.stroke(stroke)
			}
		case why := <-ended:
			ended = nil
			l.why = errors.Join(errEndedEarly, why)
			err = l.put(l.now(), drill.Stop{Why: "the screen was closed"})
		case <-ctx.Done():
			l.why = errEndedEarly
			err = l.put(l.now(), drill.Stop{Why: "stopped from outside"})
		}
		if err != nil {
			return err
		}
	}
}

// stayAwake holds the sitting if the clock has jumped, from the last moment before. Nothing that happened meanwhile is timed. Without
// anybody at the keyboard it goes on by itself.
func (l *live) stayAwake(wait time.Duration) error {
	now := l.now()
	by, since := l.awake.look(now, wait)
	if by == 0 && l.jumped == 0 {
		return nil
	}
	l.sitting.View(&l.view)
	if l.jumped > 0 && !l.view.Paused {
		l.jumped = 0
		l.notice("")
	}
	if by == 0 {
		return nil
	}
	l.deafTo = now + deafFor
	if l.view.Paused || l.view.Ended {
		return nil
	}
	if err := l.put(since, drill.Jumped{By: by}); err != nil {
		return err
	}
	if l.trainee != nil {
		return l.put(now, drill.Press{Key: drill.Hold})
	}
	l.jumped = by
	l.notice(l.jumpNotice())
	return nil
}

// jumpNotice says why the sitting is held, where the clock has jumped.
func (l *live) jumpNotice() string {
	if l.jumped == 0 {
		return ""
	}
	return fmt.Sprintf("The clock jumped by %.0f s: the program or the machine had been stopped. The sitting is held; Esc goes on.", l.jumped.Seconds())
}

// unheard is why nobody can have heard a sound that was reported.
func (l *live) unheard(r audio.Report) logbook.Reason {
	switch {
	case !r.Silent:
		return ""
	case l.options.silent:
		return logbook.Muted
	}
	return logbook.NoDevice
}

func (l *live) now() time.Duration { return time.Since(l.began) }

// untilNext is how long nothing needs to be done, if nothing happens.
func (l *live) untilNext() time.Duration {
	next := l.now() + frameGap
	if at, ok := l.sitting.NextDeadline(); ok {
		next = min(next, at)
	}
	if at, ok := l.nextAnswer(); ok {
		next = min(next, at)
	}
	return next - l.now()
}

func (l *live) nextAnswer() (time.Duration, bool) {
	if l.trainee == nil {
		return 0, false
	}
	at, _, ok := l.trainee.Next()
	return at, ok
}

// turn does whatever has come due, in order. The sitting is told its own deadlines and not the time at which the timer
// woke, so that a key that was read a moment ago keeps its own time.
func (l *live) turn() error {
	if err := l.lookAtSound(); err != nil {
		return err
	}
	now := l.now()
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
func (l *live) put(at time.Duration, e drill.Event) error {
	l.told = max(l.told, at)
	l.keep.Input(l.told, e)
	return l.sitting.Input(l.told, e)
}

func (l *live) stroke(s screen.Stroke) error {
	at := s.At.Sub(l.began)
	if at < l.deafTo && (s.Kind == screen.Pressed || s.Kind == screen.Other) {
		return nil
	}
	switch s.Kind {
	case screen.Interrupt:
		l.why = errEndedEarly
		return l.put(at, drill.Stop{Why: "stopped by the trainee"})
	case screen.Suspended:
		if l.sitting.View(&l.view); !l.view.Paused {
			return l.put(at, drill.Press{Key: drill.Hold})
		}
	case screen.Pressed, screen.Other:
		press := s.Press
		switch {
		case s.AsksForKeys(l.view.Typing):
			press = drill.Press{Key: drill.Hold} // the screen of a held sitting is that of the keys
		case l.view.Typing:
			press = s.Reading()
		}
		if press.Key == "" || l.trainee != nil && press.Key != drill.Hold {
			return nil
		}
		return l.put(at, press)
	}
	return nil
}

// carryOutAll carries out what the sitting wants, and reports whether it is over. The log comes first: it must not wait
// for a sound that takes its time.
func (l *live) carryOutAll() (over bool, err error) {
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
		default:
			if err := l.CarryOut(o); err != nil {
				l.notice(err.Error())
			}
		}
	}
	if len(outputs) > 0 {
		l.lookAhead()
		l.sitting.View(&l.view)
		l.show(true) // what has begun to be seen is timed from now
	}
	return over, nil
}

// show gives the screen a view, not more often than it can be looked at unless it has to be now.
func (l *live) show(now bool) {
	if l.screen == nil || !now && time.Since(l.shown) < frameGap {
		return
	}
	l.shown = time.Now()
	l.sitting.View(&l.view)
	l.screen.Update(&l.view)
}

// lookAtSound tells the sitting when the sound stops or starts to be good enough to be timed by, and holds it when the
// device goes: the trainee decides whether to go on without.
func (l *live) lookAtSound() error {
	if time.Since(l.looked) < healthGap || l.options.silent {
		return nil
	}
	l.looked = time.Now()
	h := l.sound.Health()
	if h.Buffer > l.buffer && l.grownAt.IsZero() {
		l.grownAt = time.Now()
	}
	if l.screen != nil {
		l.screen.Silent(h.Silent)
	}
	if h.Good != l.healthy {
		l.healthy = h.Good
		if err := l.put(l.now(), drill.SoundHealth{Good: h.Good, Why: h.Why}); err != nil {
			return err
		}
	}
	l.sitting.View(&l.view)
	l.held = l.held && l.view.Paused
	if gone := h.Silent && !l.silent; gone && l.screen != nil && !l.view.Paused {
		l.held, l.heldAt = true, time.Now()
		if err := l.put(l.now(), drill.Press{Key: drill.Hold}); err != nil {
			return err
		}
	}
	if alone := l.held && l.trainee != nil; alone && (!h.Silent || time.Since(l.heldAt) > aloneFor) {
		if err := l.put(l.now(), drill.Press{Key: drill.Hold}); err != nil {
			return err
		}
	}
	l.silent = h.Silent
	l.notice(cmp.Or(l.jumpNotice(), l.keep.Trouble(), l.soundNotice(h), l.Voices.Notice()))
	return nil
}

// soundNotice is what the trainee should know about the sound, or nothing.
func (l *live) soundNotice(h audio.Health) string {
	switch {
	case l.held && h.Silent:
		return "The sound device has gone: the sitting is paused. Esc resumes it silently."
	case l.held:
		return "The sound is back. Esc resumes."
	case !l.grownAt.IsZero() && !h.Silent:
		// Told once. That reactions cannot be timed for some seconds after each stutter is in the log.
		if time.Since(l.grownAt) < noticeFor {
			return fmt.Sprintf("A stutter of the sound: from now on %d ms of it are kept ready.", h.Buffer.Milliseconds())
		}
		return ""
	case !h.Good && !h.Silent:
		return "Reactions to sounds cannot be timed at present: " + h.Why
	case l.now() < noticeFor:
		return cmp.Or(l.sound.Notice(), l.levels.notice(), l.whose)
	}
	return "" // that the sitting is silent stands above; the line is wanted for the keys
}

func (l *live) notice(text string) {
	if l.screen != nil {
		l.screen.Notice(text)
	}
}

// account says what was heard and how well its times are known.
func (l *live) account() string {
	switch h := l.sound.Health(); {
	case l.options.silent:
		return "The sitting was silent by choice; times are from when a challenge would have ended."
	case h.Silent && l.heardAtFirst:
		return "The sound device went away during the sitting and did not come back; from then on nothing was heard."
	case h.Silent:
		return l.sound.Notice()
	default:
		device := l.sound.Device()
		if added := l.settings.describe(device); added != "" {
			device += ", " + added
		}
		text := fmt.Sprintf("Sound: %s; its clock scattered by %.1f ms; a keyboard adds some milliseconds of its own, typically 5 to 25.",
			device, milliseconds(h.Residual))
		if !l.grownAt.IsZero() {
			text += fmt.Sprintf(" It stuttered, and kept %d ms ready from then on instead of %d.", h.Buffer.Milliseconds(), l.buffer.Milliseconds())
		}
		return text
	}
}
