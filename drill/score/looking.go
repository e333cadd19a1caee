package score

import (
	"fmt"

	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
)

// looked takes the answer to a check or a confirmation: a look that told what was wrong from what was not, or did not.
// What was never answered is no look.
func (j *judge) looked(e *logbook.Entry) {
	i, ok := j.index[e.Item]
	if !ok || j.sheet.Items[i].Kind != procedure.Check && j.sheet.Items[i].Kind != procedure.Confirm {
		return
	}
	switch e.Name {
	case "no":
		j.result.Looking.signal(e.Text == "no")
	case "yes":
		j.result.Looking.noise(e.Text == "no")
	}
}

func (l *Looking) signal(found bool) {
	l.Signals++
	if found {
		l.Hits++
	}
}

func (l *Looking) noise(taken bool) {
	l.Noise++
	if taken {
		l.FalseAlarms++
	}
}

// looking adds the injections to the looks, and says what they come to.
func (j *judge) looking() {
	l := &j.result.Looking
	for _, in := range j.incident {
		switch {
		case in.wrongs():
			l.signal(in.DetectionMS != nil)
		case in.Outcome == LeftAlone, in.Outcome == ActedOn:
			l.noise(in.Outcome == ActedOn)
		}
	}
	if l.Signals > 0 && l.Noise > 0 {
		sensitivity, criterion := Detect(l.Hits, l.Signals, l.FalseAlarms, l.Noise)
		l.Sensitivity, l.Criterion = &sensitivity, &criterion
	}
	l.Words = l.words()
}

// The leaning that is worth a word, and the looks of either kind below which it may be chance. Our own figures.
const (
	leaning  = 0.3
	fewLooks = 5
)

// words is what the looking comes to for somebody who flies. A leaning is only told where there are errors of its kind: the
// correction alone moves the criterion of somebody who made none, where there was much more of one kind than of the other.
func (l *Looking) words() string {
	missed := l.Signals - l.Hits
	var text string
	switch {
	case l.Sensitivity == nil && l.Signals > 0:
		return fmt.Sprintf("nothing in limits was asked about, so a leaning cannot be told (%d of %d found)", l.Hits, l.Signals)
	case l.Sensitivity == nil && l.Noise > 0:
		return fmt.Sprintf("nothing was wrong, so looking cannot be told from answering (%d looks, %d refused)", l.Noise, l.FalseAlarms)
	case l.Sensitivity == nil:
		return ""
	case missed == 0 && l.FalseAlarms == 0:
		text = "told everything that was wrong from what was not"
	case *l.Criterion >= leaning && missed > 0:
		text = "says yes too easily: what is wrong gets by"
	case *l.Criterion <= -leaning && l.FalseAlarms > 0:
		text = "says no too easily: sees faults where there are none"
	case missed > 0 && l.FalseAlarms > 0:
		text = "errs both ways: look at the gauge before the answer"
	case missed > 0:
		text = "lets something wrong get by now and then"
	default:
		text = "sees a fault now and then where there is none"
	}
	if l.Signals < fewLooks || l.Noise < fewLooks {
		text += "; too few to be sure"
	}
	return text
}
