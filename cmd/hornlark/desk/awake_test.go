package desk

import (
	"testing"
	"time"
)

// A busy machine is no jump; a stopped program and a suspended machine are, whichever of the clocks has gone on.
func TestJumpsOfTheClock(t *testing.T) {
	const ms = time.Millisecond
	for _, c := range []struct {
		name              string
		now, wait, asleep time.Duration // since the last look, and of the machine
		want              time.Duration
	}{
		{"on time", 100 * ms, 100 * ms, 0, 0},
		{"early, for a key", 10 * ms, 100 * ms, 0, 0},
		{"a busy machine", 1090 * ms, 100 * ms, 0, 0},
		{"stopped", 5100 * ms, 100 * ms, 0, 5000 * ms},
		{"stopped while it was at work", 5000 * ms, 0, 0, 5000 * ms},
		{"a long wait", 60000 * ms, 60000 * ms, 0, 0},
		{"suspended, on a clock that stands", 100 * ms, 100 * ms, 3600 * time.Second, 3600 * time.Second},
		{"suspended, on a clock that goes on", 3600100 * ms, 100 * ms, 3600 * time.Second, 3600 * time.Second},
		{"suspended for a moment", 100 * ms, 100 * ms, 900 * ms, 0},
		{"a wait that was over", 1100 * ms, -100 * ms, 0, 1100 * ms},
	} {
		slept := 7 * time.Hour
		a := newAwake(func() time.Duration { return slept })
		if by, _ := a.look(10*time.Second, 10*time.Second); by != 0 {
			t.Fatal("it begins with a jump")
		}
		slept += c.asleep
		if by, since := a.look(10*time.Second+c.now, c.wait); by != c.want || since != 10*time.Second {
			t.Errorf("%s: a jump of %v since %v; wanted %v", c.name, by, since, c.want)
		}
		if by, _ := a.look(10*time.Second+c.now+50*ms, 50*ms); by != 0 {
			t.Errorf("%s: it jumps once more", c.name)
		}
	}
}
