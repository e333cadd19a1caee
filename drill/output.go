package drill

import "fmt"

// Describe gives the words, who says them, and when.
func (o Say) Describe() string {
	return fmt.Sprintf("%9.3f say        cue=%d voice=%s %q", o.Due.Seconds(), o.Cue, o.Voice, o.Text)
}

// Describe gives the alert, its tone, and when it starts.
func (o Sound) Describe() string {
	how := "once"
	if o.Loop {
		how = "on"
	}
	return fmt.Sprintf("%9.3f sound      cue=%d alert=%s tone=%s level=%s %s", o.Due.Seconds(), o.Cue, o.Alert, o.Tone, o.Level, how)
}

// Describe gives the cue that stops.
func (o Hush) Describe() string {
	return fmt.Sprintf("%9.3f hush       cue=%d", o.Due.Seconds(), o.Cue)
}

// Describe says how loud it is to be, and from when on.
func (o Loudness) Describe() string {
	if !o.On {
		return fmt.Sprintf("%9.3f loudness   off", o.Due.Seconds())
	}
	return fmt.Sprintf("%9.3f loudness   %g dB", o.Due.Seconds(), o.DB)
}

// Describe gives the entry.
func (o Log) Describe() string { return o.Entry.Describe() }

// Describe says how the sitting ended.
func (o Ended) Describe() string {
	if o.Complete {
		return "ended, complete"
	}
	return "ended, incomplete"
}
