package logbook

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

// held is a sitting with pauses: what happened when, on the clock that never stops.
type held struct {
	clock  Clock
	pauses []pause // from and length
	end    time.Duration
}

// anyHeld makes a sitting with pauses of any whole number of nanoseconds from 1 ns to 2 minutes.
func anyHeld() *rapid.Generator[*held] {
	return rapid.Custom(func(t *rapid.T) *held {
		h := &held{}
		span := rapid.Int64Range(1, int64(2*time.Minute))
		for range rapid.IntRange(0, 8).Draw(t, "pauses") {
			from := h.end + time.Duration(span.Draw(t, "run"))
			length := time.Duration(span.Draw(t, "pause"))
			h.clock.Hold(from)
			if got := h.clock.Release(from + length); got != length {
				t.Fatalf("a pause of %d ns lasted %d", length, got)
			}
			h.pauses = append(h.pauses, pause{from: from, length: length})
			h.end = from + length
		}
		return h
	})
}

// running is the running time by its definition: what has passed outside the pauses.
func (h *held) running(at time.Duration) time.Duration {
	out := at
	for _, p := range h.pauses {
		out -= max(0, min(at-p.from, p.length))
	}
	return out
}

// After the pauses the two times are each other's, to the nanosecond.
func TestClockThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := anyHeld().Draw(t, "sitting")
		at := h.end + time.Duration(rapid.Int64Range(0, int64(3*time.Hour)).Draw(t, "after"))
		running := h.clock.Running(at)
		if want := h.running(at); running != want {
			t.Fatalf("%d is running time %d; wanted %d", at, running, want)
		}
		if back := h.clock.Callers(running); back != at {
			t.Fatalf("%d came back as %d", at, back)
		}
	})
}

// A moment before, in or between pauses keeps the running time that it had then, also while a pause lasts.
func TestClockLookingBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := anyHeld().Draw(t, "sitting")
		at := time.Duration(rapid.Int64Range(0, int64(h.end)).Draw(t, "at"))
		want := h.running(at)
		if got := h.clock.Running(at); got != want {
			t.Fatalf("%d is running time %d; wanted %d", at, got, want)
		}
		// The callers' time of a running time is the latest that has it: the end of a pause, or the moment itself.
		if when := h.clock.When(want); when < at || h.running(when) != want || h.running(when+1) == want {
			t.Fatalf("running time %d was at %d; %d has it too", want, when, at)
		}
		h.clock.Hold(h.end + 5)
		if got := h.clock.Running(at); got != want {
			t.Fatalf("held, %d is running time %d; wanted %d", at, got, want)
		}
		if got, want := h.clock.Running(h.end+time.Hour), h.running(h.end+5); got != want {
			t.Fatalf("in the pause it is %d; wanted %d", got, want)
		}
	})
}

// A log with pauses, followed entry by entry, gives the times at which the callers called.
func TestClockFollowsALog(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var clock, follow Clock
		var log []Entry
		var called []time.Duration
		at := time.Duration(0)
		note := func(e Entry) { log, called = append(log, e), append(called, at) }
		for range rapid.IntRange(1, 30).Draw(t, "entries") {
			at += time.Duration(rapid.Int64Range(0, int64(2*time.Minute)).Draw(t, "wait"))
			if rapid.Bool().Draw(t, "press") {
				note(Entry{Kind: Press, At: clock.Running(at)})
				continue
			}
			clock.Hold(at)
			note(Entry{Kind: Paused, At: clock.Running(at)})
			at += time.Duration(rapid.Int64Range(1, int64(2*time.Minute)).Draw(t, "pause"))
			length := clock.Release(at)
			note(Entry{Kind: Unpaused, At: clock.Running(at), Length: length})
		}
		for i := range log {
			if got := follow.Follow(&log[i]); got != called[i] {
				t.Fatalf("entry %d, %s: %d; it was called at %d", i+1, log[i].Describe(), got, called[i])
			}
		}
		if again := follow.Running(at); again != clock.Running(at) {
			t.Fatalf("afterwards %d is running time %d; wanted %d", at, again, clock.Running(at))
		}
	})
}
