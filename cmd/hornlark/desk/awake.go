package desk

import (
	"fmt"
	"time"

	"hornlark/drill"
)

const (
	jumpLimit = time.Second            // that a wake-up may be late before the clock has jumped
	deafFor   = 300 * time.Millisecond // after a jump: keys that are read then had been waiting in the terminal
)

// awake notices that the clock has jumped: that the program was stopped, or slept with the machine, for longer than a machine that
// is only busy would let it wait.
type awake struct {
	last   time.Duration        // when it last looked
	slept  time.Duration        // of the machine, until then
	asleep func() time.Duration // how long the machine has slept since it was started, of which the clock may know nothing
}

func newAwake(asleep func() time.Duration) *awake { return &awake{slept: asleep(), asleep: asleep} }

// look gives by how much the clock has jumped since the last look, where a wait of so long was wanted, and when that look was; nothing
// has jumped: 0.
func (a *awake) look(now, wait time.Duration) (by, since time.Duration) {
	slept := a.asleep()
	since = a.last
	late := max(0, now-a.last-max(0, wait))
	// Where the clock goes on while the machine sleeps, one of these is in the other.
	by = max(late, slept-a.slept)
	a.last, a.slept = now, slept
	if by < jumpLimit {
		return 0, since
	}
	return by, since
}

// stayAwake holds the sitting if the clock has jumped, from the last moment before. Nothing that happened meanwhile is timed. Without
// anybody at the keyboard it goes on by itself.
func (l *Live) stayAwake(wait time.Duration) error {
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
func (l *Live) jumpNotice() string {
	if l.jumped == 0 {
		return ""
	}
	return fmt.Sprintf("The clock jumped by %.0f s: the program or the machine had been stopped. The sitting is held; Esc goes on.", l.jumped.Seconds())
}
