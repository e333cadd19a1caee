package main

import (
	"fmt"
	"sync"

	"hornlark/audio"
)

// levels turns the level of a sitting by keys, and keeps what it was turned to. It does not wait for the disk.
type levels struct {
	sound    *audio.Output
	settings *soundSettings

	saving sync.WaitGroup
	disk   sync.Mutex // one writes at a time
	mu     sync.Mutex // of what follows, and of what is kept in settings
	err    error      // why it could not be kept
}

// turn makes the sound louder or softer by a step, and says what it is now.
func (l *levels) turn(up bool) string {
	if l.sound.Health().Silent {
		return "There is no sound to be turned."
	}
	by := audio.LevelStep
	if !up {
		by = -by
	}
	before := l.sound.Turn(0)
	now := l.sound.Turn(by)
	switch {
	case now != before:
		l.keep(now)
		return fmt.Sprintf("Sound at %.0f dB.", now)
	case up:
		return fmt.Sprintf("Sound at %.0f dB, as in the sound check: no louder without \"hornlark sound\".", now)
	}
	return fmt.Sprintf("Sound at %.0f dB, the lowest: an alert has to be heard.", now)
}

// keep keeps a level for the sittings to come.
func (l *levels) keep(level float64) {
	l.mu.Lock()
	l.settings.TurnedDB = level - l.settings.most()
	l.mu.Unlock()
	l.saving.Go(func() {
		l.disk.Lock()
		defer l.disk.Unlock()
		l.mu.Lock()
		latest := *l.settings
		l.mu.Unlock()
		err := latest.save()
		l.mu.Lock()
		l.err = err
		l.mu.Unlock()
	})
}

// kept waits until the latest level is kept, and says why it is not if it could not be.
func (l *levels) kept() error {
	l.saving.Wait()
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.err != nil {
		return fmt.Errorf("the level of the sound cannot be kept: %w", l.err)
	}
	return nil
}

// notice is what somebody should know who has not set the level.
func (l *levels) notice() string {
	if l == nil || l.settings.LevelDB != nil {
		return ""
	}
	return fmt.Sprintf("Quiet to begin with, at %.0f dB: \"hornlark sound\" sets the level, PgDn and PgUp turn it.", l.settings.level())
}
