package score

import (
	"slices"
	"time"

	"hornlark/drill/logbook"
)

// Instructed is something that the instructor did to a sitting. What could not be done is not among it: it has changed nothing.
type Instructed struct {
	AtMS     float64  `json:"at_ms"`               // running time
	Do       string   `json:"do"`                  // as the log names it; freeze: the sitting was held
	What     string   `json:"what,omitempty"`      // the abnormal, the phase, the figure of the weather, on or off, or the sentence
	Title    string   `json:"title,omitempty"`     // of the abnormal
	Value    *float64 `json:"value,omitempty"`     // °C, ft, kt or % of weather, kg of fuel, dB of sound
	WhenMS   *float64 `json:"when_ms,omitempty"`   // of an insertion: at this running time; without a moment: at once
	Phase    string   `json:"phase,omitempty"`     // as this phase began
	Item     string   `json:"item,omitempty"`      // as this item was asked
	LengthMS *float64 `json:"length_ms,omitempty"` // for how long the sitting was held; null if it was not released
	Again    []string `json:"again,omitempty"`     // items that were to be done again, having been set back
}

// Remark is what the instructor wrote down for the debrief.
type Remark struct {
	AtMS float64 `json:"at_ms"` // running time of what it is about
	Text string  `json:"text"`
}

// Aftermath is for how long after the instructor has changed the air, the fuel or the ground power a stop call, or a move that no item
// wanted, is put down to that: something had changed, and nobody can say that nothing was to be seen. Our own figure: as long as an abnormal
// may stay unnoticed, twice.
const Aftermath = 2 * QuietStretch

// instruct takes what the instructor did.
func (j *judge) instruct(e *logbook.Entry) {
	r := &j.result
	switch {
	case e.Kind == logbook.Paused && e.Seat == logbook.Instructor:
		r.Instructed = append(r.Instructed, Instructed{AtMS: *millis(e.At), Do: "freeze"})
	case e.Kind == logbook.Unpaused:
		if n := len(r.Instructed); n > 0 && j.frozen {
			i := n - 1
			for i > 0 && r.Instructed[i].Do != "freeze" {
				i--
			}
			r.Instructed[i].LengthMS = millis(e.Length)
		}
	}
	switch e.Kind {
	case logbook.Paused:
		j.frozen = e.Seat == logbook.Instructor
	case logbook.Unpaused:
		j.frozen = false
	case logbook.Reopen:
		if n := len(r.Instructed); e.Seat == logbook.Instructor && n > 0 {
			r.Instructed[n-1].Again = append(r.Instructed[n-1].Again, e.Item)
		}
	}
	act := ActOf(e)
	switch {
	case act == nil:
		return
	case act.Do == "remark":
		at := act.AtMS
		if act.WhenMS != nil {
			at = *act.WhenMS
		}
		r.Remarks = append(r.Remarks, Remark{AtMS: at, Text: act.What})
		return
	case act.Do == "weather", act.Do == "fuel", act.Do == "power":
		j.around = append(j.around, e.At)
	}
	if a := j.sheet.Abnormals[act.What]; a != nil && act.Do != "back" {
		act.Title = a.Title
	}
	r.Instructed = append(r.Instructed, *act)
}

// ActOf is what an entry says that the instructor did, a remark among it; nil where it says nothing of the kind, and where that could not be
// done. Titles are left out, and that the sitting was held.
func ActOf(e *logbook.Entry) *Instructed {
	if e.Kind != logbook.Instruct || e.Why != "" {
		return nil
	}
	act := &Instructed{AtMS: *millis(e.At), Do: e.Name, What: e.Text}
	switch e.Name {
	case "insert":
		act.What, act.Phase, act.Item = e.Abnormal, e.Text, e.Item
	case "delete", "clear", "back":
		act.What = e.Abnormal
	case "weather", "fuel", "level":
		value := e.Value
		act.Value = &value
	}
	if e.Onset != 0 {
		act.WhenMS = millis(e.Onset)
	}
	return act
}

// stirred reports whether the instructor has just changed something around the aircraft: see Aftermath.
func (j *judge) stirred(at time.Duration) bool {
	return slices.ContainsFunc(j.around, func(change time.Duration) bool { return at >= change && at < change+Aftermath })
}
