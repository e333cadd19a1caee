package aircraft

import "time"

// The annunciator lights the captions and sounds the alerts. It reads the indications as the crew would and knows
// nothing of what is behind them. Without its bus it shows and sounds nothing.

// captionState is one caption's.
type captionState struct {
	held    time.Duration // for how long its condition has been true
	latched bool
	called  bool // its condition, and not the lamp test, has it lit
	lit     bool
}

// Lit reports whether a caption is lit, by its condition or by the lamp test.
func (a *Aircraft) Lit(i int) bool { return a.captions[i].lit }

// lightCaptions works out which captions are lit, and whether one that the crew has to know of has just come on.
func (a *Aircraft) lightCaptions() {
	powered, testing := a.model.annunciatorOn, a.model.lampTest
	if !a.board.Stirred(watchCaptions) && !a.lighting && powered == a.powered && testing == a.testing {
		return
	}
	a.powered, a.testing, a.lighting = powered, testing, false
	newWarning, newCaution := false, false
	lamps := a.profile.lamps
	for i := range a.captions {
		s, l := &a.captions[i], &lamps[i]
		was, held := s.called, s.held
		s.called = s.judge(l, powered && a.holds(l.when), powered) && !a.lampDead(i)
		a.lighting = a.lighting || s.held > held
		if lit := s.called || testing && !a.lampDead(i); lit != s.lit {
			s.lit = lit
			a.shows++
			a.board.Put(a.profile.captionSlot+i, bit(lit))
		}
		switch {
		case s.called && !was:
			level := a.profile.Captions[i].Level
			newWarning = newWarning || level == Warning
			newCaution = newCaution || level == Caution
			a.report(Change{Kind: CaptionLit, Index: i})
		case was && !s.called:
			a.report(Change{Kind: CaptionOut, Index: i})
		}
	}
	a.lighting = a.lighting || newWarning || newCaution // which hold for one step
	a.board.Put(a.profile.newWarningSlot, bit(newWarning))
	a.board.Put(a.profile.newCautionSlot, bit(newCaution))
}

// judge applies the caption's delay and its latch to its condition.
func (s *captionState) judge(l *lamp, holds, powered bool) bool {
	if !powered {
		s.held, s.latched = 0, false
		return false
	}
	if !holds {
		s.held = 0
		return s.latched
	}
	if s.held < l.after {
		s.held += StepLength
		return s.latched
	}
	s.latched = l.latch
	return true
}

// lampDead reports whether the lamp of a caption no longer lights, for whatever reason it should.
func (a *Aircraft) lampDead(i int) bool {
	return i == a.profile.weakLamp && a.severity[a.profile.lampPoint] > 0
}

// AlertState is what an alert is doing.
type AlertState int

// The states of an alert.
const (
	Silent   AlertState = iota // its condition does not hold; the next time that it does, it sounds
	Sounding                   // heard
	Silenced                   // its condition holds, and the crew has silenced it
)

// alertState is one alert's.
type alertState struct {
	state AlertState
	held  bool          // its condition held in the step before
	left  time.Duration // of a sound that is made once
	began time.Duration // when it last began to sound; longAgo before the aircraft was made: it never has
}

// longAgo is as long ago as an alert can have begun to sound, and has if it never did.
const longAgo = time.Hour

// onceLasts is for how long an alert that sounds once counts as sounding. Its real length is that of the sound.
const onceLasts = time.Second

// AlertState is what an alert is doing.
func (a *Aircraft) AlertState(i int) AlertState { return a.alerts[i].state }

// Expected reports whether an alert, were it to sound now, would be no surprise.
func (a *Aircraft) Expected(i int) bool {
	return a.holds(a.profile.alertExpected[i])
}

// soundAlerts starts, stops and re-arms the alerts: 14 CFR 27.33(e). To a condition an alert is true while it sounds, and one
// that sounds once for as long as what it has sounded for lasts: whoever is asked about it then has heard it. How long ago one began
// to sound is to be read as well: a horn that was heard, and silenced before anybody asked, has been heard.
func (a *Aircraft) soundAlerts() {
	powered := a.model.annunciatorOn
	if !a.board.Stirred(watchAlerts) && !a.striking && powered == a.alertsOn {
		a.countAgo()
		return
	}
	a.alertsOn, a.striking = powered, false
	for i := range a.alerts {
		was := a.alerts[i].state
		holds := powered && a.severity[a.profile.mutePoint[i]] == 0 && a.holds(a.profile.alertWhen[i])
		if a.profile.Alerts[i].Once {
			a.soundOnce(i, holds)
		} else {
			a.soundWhile(i, holds)
		}
		a.alerts[i].held = holds
		a.striking = a.striking || a.alerts[i].left > 0
		if a.alerts[i].state != was {
			a.shows++
		}
		if a.alerts[i].state == Sounding && was != Sounding {
			a.alerts[i].began, a.agoUntil = a.now, a.now
		}
		a.board.Put(a.profile.alertSlot+i, bit(a.alerts[i].state == Sounding || a.profile.Alerts[i].Once && holds))
	}
	a.countAgo()
}

// countAgo has time pass for what began to sound some time ago. A horn that has sounded has its seconds counted for an hour, and hardly
// ever does a condition say something else by them: so they are written once one may, and once somebody reads (Readings).
func (a *Aircraft) countAgo() {
	if a.now >= a.agoUntil {
		a.writeAgo()
		a.agoUntil = a.agoStays()
	}
}

// writeAgo writes how long ago each alert began to sound.
func (a *Aircraft) writeAgo() {
	a.agoAt = a.now
	for i := range a.alerts {
		if a.alerts[i].began >= a.now-longAgo { // otherwise that is what was written
			a.board.Put(a.profile.agoSlot+i, a.agoOf(i).Seconds())
		}
	}
}

// agoOf is how long ago an alert began to sound; longAgo, if it never did or it is longer ago.
func (a *Aircraft) agoOf(i int) time.Duration { return min(a.now-a.alerts[i].began, longAgo) }

// agoStays is until when, from what was written, no condition says anything else by how long ago an alert began to sound.
func (a *Aircraft) agoStays() time.Duration {
	until := a.now + longAgo
	for i := range a.alerts {
		if a.agoOf(i) == longAgo {
			continue
		}
		stays := clamp(a.board.Stays(a.profile.agoSlot+i), 0, longAgo.Seconds())
		until = min(until, a.alerts[i].began+time.Duration(stays*float64(time.Second)))
	}
	return until
}

// soundWhile has an alert sound for as long as its condition holds and nobody silences it.
func (a *Aircraft) soundWhile(i int, holds bool) {
	s := &a.alerts[i]
	switch {
	case holds && s.state == Silent:
		s.state = Sounding
		a.report(Change{Kind: AlertStarted, Index: i})
	case !holds && s.state == Sounding:
		s.state = Silent
		a.report(Change{Kind: AlertStopped, Index: i})
	case !holds:
		s.state = Silent
	}
}

// soundOnce has an alert sound once for each time that its condition comes true.
func (a *Aircraft) soundOnce(i int, holds bool) {
	s := &a.alerts[i]
	if holds && !s.held {
		s.state, s.left = Sounding, onceLasts
		a.report(Change{Kind: AlertStarted, Index: i})
		return
	}
	if s.left -= StepLength; s.left <= 0 {
		s.state, s.left = Silent, 0
	}
}

// SilenceAlerts is the silence button: it quietens every alert that sounds and can be silenced before its cause is
// corrected, and returns which. The slice is good until the next call.
func (a *Aircraft) SilenceAlerts() []int {
	a.silenced = a.silenced[:0]
	for i := range a.alerts {
		a.silence(i)
	}
	return a.silenced
}

// silence quietens one alert, if it sounds and can be silenced.
func (a *Aircraft) silence(i int) {
	if a.alerts[i].state != Sounding || !a.profile.Alerts[i].Silenced {
		return
	}
	a.alerts[i].state = Silenced
	if a.profile.Alerts[i].Once {
		a.alerts[i].state = Silent
	}
	a.shows++
	a.board.Stir(watchAlerts)
	a.board.Put(a.profile.alertSlot+i, 0)
	a.silenced = append(a.silenced, i)
	a.report(Change{Kind: AlertSilenced, Index: i})
}

// Mute quietens every alert whose own means of silencing it has just been used, and returns which. Every step does so; called
// right after a control has been moved it tells whether it was that. The slice is good until the next call.
func (a *Aircraft) Mute() []int {
	a.silenced = a.silenced[:0]
	if !a.board.Stirred(watchMutes) {
		return a.silenced
	}
	for i, mute := range a.profile.alertMute {
		now := a.holds(mute)
		if now && !a.muted[i] {
			a.silence(i)
		}
		a.muted[i] = now
	}
	return a.silenced
}
