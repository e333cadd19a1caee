package aircraft

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
)

// Setting is a control and the position that it is put into.
type Setting struct {
	Control  string // id
	Position string // as the control calls it; of a lever, the number
}

// Settings is several controls that are moved one after the other, in the order in which they are written: a guard is opened
// before what it guards is moved. Each control is there once. A document has it as a mapping, as in {battery: "on"}.
type Settings []Setting

// Put makes settings of controls and positions in turn, as in Put("guard", "open", "cut", "closed").
func Put(pairs ...string) Settings {
	if len(pairs)%2 != 0 {
		panic(fmt.Sprintf("aircraft: a position is missing in %q", pairs))
	}
	var s Settings
	for i := 0; i < len(pairs); i += 2 {
		s = append(s, Setting{Control: pairs[i], Position: pairs[i+1]})
	}
	return s
}

// Of is the position that a control is put into; false if it is not moved.
func (s Settings) Of(control string) (position string, moved bool) {
	i := slices.IndexFunc(s, func(one Setting) bool { return one.Control == control })
	if i < 0 {
		return "", false
	}
	return s[i].Position, true
}

// Controls is the ids of what is moved, in order.
func (s Settings) Controls() []string {
	var ids []string
	for _, one := range s {
		ids = append(ids, one.Control)
	}
	return ids
}

// MarshalJSON writes the settings as an object, its members in their order.
func (s Settings) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, one := range s {
		if i > 0 {
			b.WriteByte(',')
		}
		for _, part := range []string{one.Control, one.Position} {
			text, err := json.Marshal(part)
			if err != nil {
				return nil, err
			}
			b.Write(text)
			b.WriteByte(':')
		}
		b.Truncate(b.Len() - 1)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}
