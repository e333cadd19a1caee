package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/screen"
	"hornlark/cmd/hornlark/walk"
	"hornlark/drill"
)

// walk shows the sitting on the screen to be gone through moment by moment, with its sounds or silently.
func (k *keptSitting) walk(ctx context.Context, s streams, silent bool) (err error) {
	through, err := k.through()
	if err != nil {
		return err
	}
	if len(through.Moments) == 0 {
		return errors.New("nothing is known of this sitting: there is nothing to go through")
	}
	// Clips are made ready as they are asked for: here nothing is timed by them.
	settings, err := loadSoundSettings()
	if err != nil {
		fmt.Fprintln(s.err, err)
	}
	voices, err := voice.Open(settings.voices())
	if err != nil {
		return err
	}
	if err := desk.CheckTones(k.ex.Profile); err != nil {
		return err
	}
	options := settings.options()
	options.Silent, options.Grow = silent, true
	sound, err := settings.openOutput(options)
	if err != nil {
		return err
	}
	began := time.Now()
	sound.Begin(began)
	over := make(chan struct{})
	go func() { // nobody needs to know when it was heard, but the reports have to go somewhere
		for {
			select {
			case <-sound.Reports():
			case <-over:
				return
			}
		}
	}()
	soonest := func() time.Duration { return time.Since(began) + sound.Lead() }
	again := newRelistener(&desk.Sounder{Player: sound, Voices: voices}, soonest, k.sounded(through.Heard))
	defer func() {
		again.Quiet()
		close(over)
		err = errors.Join(err, sound.Close())
	}()
	return screen.Walk{Moments: through.Moments, Sound: again}.Run(ctx, screen.Options{
		Profile: k.ex.Profile, Title: titleOf(k.ex.Bundle), Policy: k.ex.Policy(), Silent: sound.Health().Silent,
	})
}

// through makes moments of the sitting.
func (k *keptSitting) through() (*walk.Walk, error) {
	return walk.Through(k.ex.Begin(k.ex.Seed, k.Lead), k.inputs, k.lasted(), k.ex.Profile, namesOf(k.ex), k.ex.Judge())
}

const (
	taste    = 2 * time.Second        // of a sound that would go on
	feedLead = 300 * time.Millisecond // how far ahead of time cues are asked for
)

// relistener has what was heard in a sitting heard again, on the device of a live sitting.
type relistener struct {
	on    *desk.Sounder
	now   func() time.Duration // by the clock of the player, the soonest at which a cue can be heard
	heard []sounded            // by onset

	mu      sync.Mutex
	last    int   // number of the last cue that was asked for
	playing []int // the cues that may still be heard
	stop    context.CancelFunc
	trouble error
}

func newRelistener(on *desk.Sounder, now func() time.Duration, heard []sounded) *relistener {
	r := &relistener{on: on, now: now, heard: slices.Clone(heard)}
	slices.SortStableFunc(r.heard, func(a, b sounded) int { return cmp.Compare(a.at, b.at) })
	return r
}

// play asks for a cue at a time. It is called with the lock held.
func (r *relistener) play(c *sounded, due time.Duration) (id int, err error) {
	r.last++
	r.playing = append(r.playing, r.last)
	return r.last, r.on.CarryOut(cueAs(c.output, r.last, due))
}

// One has one cue heard alone; of a sound that would go on, a taste.
func (r *relistener) One(cue int) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	i := slices.IndexFunc(r.heard, func(c sounded) bool { return c.id == cue })
	if i < 0 {
		return errors.New("this was called off before it could be heard")
	}
	due := r.now()
	id, err := r.play(&r.heard[i], due)
	if sound, ok := r.heard[i].output.(drill.Sound); ok && sound.Loop {
		r.on.Player.Stop(id, due+taste)
	}
	return err
}

// On has everything heard from a time of the sitting on, and what already sounded then.
func (r *relistener) On(from time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	ctx, cancel := context.WithCancel(context.Background())
	r.stop = cancel
	go r.feed(ctx, from, r.now())
}

// feed asks for the cues, each a little ahead of its time; from is where in the sitting the playing began, and base when.
func (r *relistener) feed(ctx context.Context, from, base time.Duration) {
	for i := range r.heard {
		c := &r.heard[i]
		if c.at < from && !c.sounds(from) {
			continue
		}
		due := base + max(0, c.at-from)
		select {
		case <-time.After(due - r.now() - feedLead):
		case <-ctx.Done():
			return
		}
		r.mu.Lock()
		if ctx.Err() == nil {
			id, err := r.play(c, due)
			if c.until > 0 {
				r.on.Player.Stop(id, base+c.until-from)
			}
			r.trouble = err
		}
		r.mu.Unlock()
	}
}

// sounds reports whether a sound that goes on by itself was to be heard at a time.
func (c *sounded) sounds(at time.Duration) bool {
	sound, ok := c.output.(drill.Sound)
	return ok && sound.Loop && c.at <= at && c.until > at
}

// Quiet stops whatever is heard.
func (r *relistener) Quiet() {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.stop != nil {
		r.stop()
		r.stop = nil
	}
	for _, id := range r.playing {
		r.on.Player.Stop(id, r.now())
	}
	r.playing = r.playing[:0]
}

// Err is what kept the last cue of a playing from being heard.
func (r *relistener) Err() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.trouble
}
