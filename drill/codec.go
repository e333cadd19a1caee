package drill

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"hornlark/drill/logbook"
)

// stored is an event as it is kept for a replay. It goes with the version of the log (logbook.Version): what the first
// version kept is still read, since it lacks only what could not happen then.
type stored struct {
	Press  string         `json:"press,omitempty"`
	Began  time.Duration  `json:"began,omitempty"`  // ns
	Off    time.Duration  `json:"off,omitempty"`    // ns, of a press
	Heard  *int           `json:"heard,omitempty"`  // number of the cue
	Onset  time.Duration  `json:"onset,omitempty"`  // ns
	End    time.Duration  `json:"end,omitempty"`    // ns
	Why    logbook.Reason `json:"why,omitempty"`    // of what was heard
	Jumped time.Duration  `json:"jumped,omitempty"` // ns
	Sound  *SoundHealth   `json:"sound,omitempty"`
	Stop   *string        `json:"stop,omitempty"`
	Do     Instruction    `json:"do,omitempty"`
	What   string         `json:"what,omitempty"`
	When   *Moment        `json:"when,omitempty"`
	To     float64        `json:"to,omitempty"`
}

// EncodeEvent writes an event as JSON.
func EncodeEvent(e Event) []byte {
	var out stored
	switch e := e.(type) {
	case Press:
		out.Press, out.Began, out.Off = e.String(), e.Began, e.Off
	case Heard:
		out.Heard, out.Onset, out.End, out.Why = &e.Cue, e.Onset, e.End, e.Why
	case Jumped:
		out.Jumped = e.By
	case SoundHealth:
		out.Sound = &e
	case Stop:
		out.Stop = &e.Why
	case Instruct:
		e = e.kept()
		if out.Do, out.What, out.To = e.Do, e.What, e.To; e.When != (Moment{}) {
			out.When = &e.When
		}
	}
	body, err := json.Marshal(out)
	if err != nil {
		panic(err) // a struct of strings and numbers can always be written
	}
	return body
}

// pressed is a press as a sitting has kept it. Any key will do: one that no sitting knows was a stray, and is one again.
func pressed(text string) Press {
	name, shifted := strings.CutPrefix(text, "shift+")
	return Press{Key: Key(name), Shift: shifted}
}

// DecodeEvent reads what EncodeEvent wrote.
func DecodeEvent(body []byte) (Event, error) {
	var in stored
	if err := json.Unmarshal(body, &in); err != nil {
		return nil, fmt.Errorf("stored event: %w", err)
	}
	switch {
	case in.Press != "":
		press := pressed(in.Press)
		press.Began, press.Off = in.Began, in.Off
		return press, nil
	case in.Heard != nil:
		switch in.Why {
		case "", logbook.Muted, logbook.NoDevice:
		default:
			return nil, fmt.Errorf("stored event: a sound is not heard for no reason called %q", in.Why)
		}
		return Heard{Cue: *in.Heard, Onset: in.Onset, End: in.End, Why: in.Why}, nil
	case in.Jumped > 0:
		return Jumped{By: in.Jumped}, nil
	case in.Sound != nil:
		return *in.Sound, nil
	case in.Stop != nil:
		return Stop{Why: *in.Stop}, nil
	case in.Do != "":
		e := Instruct{Do: in.Do, What: in.What, To: in.To}
		if in.When != nil {
			e.When = *in.When
		}
		return e.kept(), nil
	}
	return nil, fmt.Errorf("stored event: nothing known in %q", body)
}
