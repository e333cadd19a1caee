package desk

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"hornlark/drill"
)

// Taste is how long a sound that would go on is heard when it is heard alone.
const Taste = 2 * time.Second

// feedLead is how far ahead of time cues are asked for.
const feedLead = 300 * time.Millisecond

// Relistener has what was heard in a sitting heard again, on the device of a live sitting.
type Relistener struct {
	on    *Sounder
	now   func() time.Duration // by the clock of the player, the soonest at which a cue can be heard
	heard []Sounded            // by onset

	mu      sync.Mutex
	last    int   // number of the last cue that was asked for
	playing []int // the cues that may still be heard
	stop    context.CancelFunc
	trouble error
}

// NewRelistener has what was heard heard again. now is the soonest at which a cue can be heard, by the clock of the player.
func NewRelistener(on *Sounder, now func() time.Duration, heard []Sounded) *Relistener {
	r := &Relistener{on: on, now: now, heard: slices.Clone(heard)}
	slices.SortStableFunc(r.heard, func(a, b Sounded) int { return cmp.Compare(a.At, b.At) })
	return r
}

// play asks for a cue at a time. It is called with the lock held.
func (r *Relistener) play(c *Sounded, due time.Duration) (id int, err error) {
	r.last++
	r.playing = append(r.playing, r.last)
	return r.last, r.on.CarryOut(cueAs(c.Output, r.last, due))
}

// One has one cue heard alone; of a sound that would go on, a taste.
func (r *Relistener) One(cue int) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	i := slices.IndexFunc(r.heard, func(c Sounded) bool { return c.Cue == cue })
	if i < 0 {
		return errors.New("this was called off before it could be heard")
	}
	due := r.now()
	id, err := r.play(&r.heard[i], due)
	if sound, ok := r.heard[i].Output.(drill.Sound); ok && sound.Loop {
		r.on.Player.Stop(id, due+Taste)
	}
	return err
}

// On has everything heard from a time of the sitting on, and what already sounded then.
func (r *Relistener) On(from time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	ctx, cancel := context.WithCancel(context.Background())
	r.stop = cancel
	go r.feed(ctx, from, r.now())
}

// feed asks for the cues, each a little ahead of its time; from is where in the sitting the playing began, and base when.
func (r *Relistener) feed(ctx context.Context, from, base time.Duration) {
	for i := range r.heard {
		c := &r.heard[i]
		if c.At < from && !c.sounds(from) {
			continue
		}
		due := base + max(0, c.At-from)
		select {
		case <-time.After(due - r.now() - feedLead):
		case <-ctx.Done():
			return
		}
		r.mu.Lock()
		if ctx.Err() == nil {
			id, err := r.play(c, due)
			if c.Until > 0 {
				r.on.Player.Stop(id, base+c.Until-from)
			}
			r.trouble = err
		}
		r.mu.Unlock()
	}
}

// sounds reports whether a sound that goes on by itself was to be heard at a time.
func (c *Sounded) sounds(at time.Duration) bool {
	sound, ok := c.Output.(drill.Sound)
	return ok && sound.Loop && c.At <= at && c.Until > at
}

// Quiet stops whatever is heard.
func (r *Relistener) Quiet() {
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
func (r *Relistener) Err() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.trouble
}
