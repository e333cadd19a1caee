package desk

import "time"

// Clock is the time by which a live sitting goes.
type Clock interface {
	// Now is the present, with a reading that nothing sets. Presses are stamped by the same clock, and so is the sound.
	Now() time.Time

	// Timer makes a timer, which has not been set.
	Timer() Timer

	// Asleep is how long the machine has slept since it was started, of which Now may know nothing.
	Asleep() time.Duration
}

// Timer wakes whoever waits for its channel.
type Timer interface {
	C() <-chan time.Time

	// Reset has it wake once, after so long, and not when it would have otherwise.
	Reset(time.Duration)

	// Stop has it wake nobody any more.
	Stop()
}

// MachineClock is the clock of the machine.
type MachineClock struct{}

// Now is the present.
func (MachineClock) Now() time.Time { return time.Now() }

// Timer makes a timer.
func (MachineClock) Timer() Timer {
	t := time.NewTimer(time.Hour)
	t.Stop()
	return machineTimer{t}
}

// Asleep is how long the machine has been suspended, as far as it says so.
func (MachineClock) Asleep() time.Duration { return asleep() }

type machineTimer struct{ t *time.Timer }

func (m machineTimer) C() <-chan time.Time   { return m.t.C }
func (m machineTimer) Reset(d time.Duration) { m.t.Reset(d) }
func (m machineTimer) Stop()                 { m.t.Stop() }
