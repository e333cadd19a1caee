package desk

import (
	"cmp"
	"fmt"

	"hornlark/audio"
	"hornlark/drill"
	"hornlark/drill/logbook"
)

// lookAtSound tells the sitting when the sound stops or starts to be good enough to be timed by, and holds it when the
// device goes: the trainee decides whether to go on without.
func (l *Live) lookAtSound() error {
	if l.since(l.looked) < healthGap || l.muted {
		return nil
	}
	l.looked = l.clock.Now()
	h := l.sound.Health()
	if h.Buffer > l.buffer && l.grownAt.IsZero() {
		l.grownAt = l.clock.Now()
	}
	for _, w := range l.watchers {
		w.Silent(h.Silent)
	}
	if l.instructor != nil {
		l.instructor.Silent(h.Silent)
	}
	if h.Good != l.healthy {
		l.healthy = h.Good
		if err := l.put(l.now(), drill.SoundHealth{Good: h.Good, Why: h.Why}); err != nil {
			return err
		}
	}
	l.sitting.View(&l.view)
	l.held = l.held && l.view.Paused
	if gone := h.Silent && !l.silent; gone && len(l.watchers) > 0 && !l.view.Paused {
		l.held, l.heldAt = true, l.clock.Now()
		if err := l.put(l.now(), drill.Press{Key: drill.Hold}); err != nil {
			return err
		}
	}
	if alone := l.held && l.trainee != nil; alone && (!h.Silent || l.since(l.heldAt) > aloneFor) {
		if err := l.put(l.now(), drill.Press{Key: drill.Hold}); err != nil {
			return err
		}
	}
	l.silent = h.Silent
	l.notice(cmp.Or(l.jumpNotice(), l.keep.Trouble(), l.soundNotice(h), l.sounder.Voices.Notice()))
	return nil
}

// soundNotice is what the trainee should know about the sound, or nothing.
func (l *Live) soundNotice(h audio.Health) string {
	switch {
	case l.held && h.Silent:
		return "The sound device has gone: the sitting is paused. Esc resumes it silently."
	case l.held:
		return "The sound is back. Esc resumes."
	case !l.grownAt.IsZero() && !h.Silent:
		// Told once. That reactions cannot be timed for some seconds after each stutter is in the log.
		if l.since(l.grownAt) < noticeFor {
			return fmt.Sprintf("A stutter of the sound: from now on %d ms of it are kept ready.", h.Buffer.Milliseconds())
		}
		return ""
	case !h.Good && !h.Silent:
		return "Reactions to sounds cannot be timed at present: " + h.Why
	case l.now() < noticeFor:
		if told := l.sound.Notice(); told != "" || l.hint == nil {
			return told
		}
		return l.hint()
	}
	return "" // that the sitting is silent stands above; the line is wanted for the keys
}

// unheard is why nobody can have heard a sound that was reported.
func (l *Live) unheard(r audio.Report) logbook.Reason {
	switch {
	case !r.Silent:
		return ""
	case l.muted:
		return logbook.Muted
	}
	return logbook.NoDevice
}

// Account says what was heard and how well its times are known. describe is what is known of a device, as part of a sentence; empty: nothing.
func (l *Live) Account(describe func(device string) string) string {
	switch h := l.sound.Health(); {
	case l.muted:
		return "The sitting was silent by choice; times are from when a challenge would have ended."
	case h.Silent && l.heardAtFirst:
		return "The sound device went away during the sitting and did not come back; from then on nothing was heard."
	case h.Silent:
		return l.sound.Notice()
	default:
		device := l.sound.Device()
		if added := describe(device); added != "" {
			device += ", " + added
		}
		text := fmt.Sprintf("Sound: %s; its clock scattered by %.1f ms; a keyboard adds some milliseconds of its own, typically 5 to 25.",
			device, float64(h.Residual.Microseconds())/1000)
		if !l.grownAt.IsZero() {
			text += fmt.Sprintf(" It stuttered, and kept %d ms ready from then on instead of %d.", h.Buffer.Milliseconds(), l.buffer.Milliseconds())
		}
		return text
	}
}
