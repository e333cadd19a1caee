package web

import (
	"encoding/json"
	"math"
	"strconv"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/inert"
)

// Scene is one View at one moment, for a page that draws it: nothing is in it that is not in the View. Its slices and strings run parallel to
// the Face; of a string, each character is one of them.
type Scene struct {
	Kind string `json:"kind"` // "scene"
	At   int64  `json:"at"`   // ms since the sitting began, as of View.At

	Phase   string `json:"phase,omitempty"`
	PhaseNo int    `json:"phase_no,omitempty"`
	Phases  int    `json:"phases,omitempty"`
	ItemNo  int    `json:"item_no,omitempty"`
	Items   int    `json:"items,omitempty"`
	Asked   *Asked `json:"asked,omitempty"`
	Typing  bool   `json:"typing,omitempty"`
	Typed   string `json:"typed,omitempty"`
	Stopped bool   `json:"stopped,omitempty"`
	Paused  bool   `json:"paused,omitempty"`
	Ended   bool   `json:"ended,omitempty"`
	Last    *Last  `json:"last,omitempty"`

	Readings  Numbers `json:"readings"`  // in the units of the gauges, two figures finer than they are shown; of a dead one 0
	Bands     string  `json:"bands"`     // g green, a amber, r red, w none of these, - dead
	Lit       string  `json:"lit"`       // 0 or 1
	Sounding  string  `json:"sounding"`  // 0 quiet, 1 sounding, 2 silenced while its cause remains
	Positions []int   `json:"positions"` // of the controls
	Locked    string  `json:"locked"`    // 0 or 1: seen to be held by a guard or a latch
	Facts     string  `json:"facts"`     // 0 or 1, - out of sight

	Said []Said `json:"said,omitempty"` // set by FillSaid alone

	face *Face
	text []byte
}

// Asked is what is being asked.
type Asked struct {
	Item      string `json:"item"`
	Kind      string `json:"what"`
	Challenge string `json:"challenge"`
	Spoken    int64  `json:"spoken,omitempty"` // ms, end of the challenge; 0 while it is not known
	Within    int64  `json:"within,omitempty"` // ms for the answer; 0: none that could be shown
	Again     bool   `json:"again,omitempty"`
	Fix       bool   `json:"fix,omitempty"`
}

// Last is what the last answer amounted to.
type Last struct {
	Text     string `json:"text"`
	Right    bool   `json:"right,omitempty"`
	Late     bool   `json:"late,omitempty"`
	Reaction int64  `json:"reaction,omitempty"` // ms; 0 if it has none
	At       int64  `json:"at"`                 // ms
}

// Said is a line of what was said and pressed.
type Said struct {
	At   int64  `json:"at"`  // ms
	Who  string `json:"who"` // challenger, responder, crew, or the seat of who pressed
	Text string `json:"text"`
}

// Numbers are figures that are written as they are shown: without an exponent, and without what nobody can see.
type Numbers []number

type number struct {
	value    float64
	decimals int
}

// MarshalJSON writes the figures.
func (n Numbers) MarshalJSON() ([]byte, error) {
	out := make([]byte, 0, 8*len(n)+2)
	out = append(out, '[')
	for i, v := range n {
		if i > 0 {
			out = append(out, ',')
		}
		out = strconv.AppendFloat(out, v.value, 'f', v.decimals, 64)
		for v.decimals > 0 && out[len(out)-1] == '0' {
			out = out[:len(out)-1]
		}
		if out[len(out)-1] == '.' {
			out = out[:len(out)-1]
		}
	}
	return append(out, ']'), nil
}

// NewScene makes a scene of an aircraft with that face; it is empty until it is filled.
func NewScene(f *Face) *Scene { return &Scene{Kind: "scene", face: f} }

// Fill makes it what there is to be seen in a view of that aircraft, without what was said. It takes nothing over that belongs to the view.
func (s *Scene) Fill(v *drill.View) {
	*s = Scene{
		Kind: "scene", At: v.At.Milliseconds(), Phase: inert.Line(v.Phase), PhaseNo: v.PhaseNo, Phases: v.Phases, ItemNo: v.ItemNo, Items: v.Items,
		Typing: v.Typing, Typed: inert.Line(v.Typed), Stopped: v.Stopped, Paused: v.Paused, Ended: v.Ended,
		Readings: s.Readings[:0], Positions: s.Positions[:0], face: s.face, text: s.text,
	}
	if q := v.Asked; q != nil {
		s.Asked = &Asked{inert.Line(q.Item), q.Kind, inert.Line(q.Challenge), millis(q.Spoken), q.Within.Milliseconds(), q.Again, q.Fix}
	}
	if r := v.Last; r != (drill.Response{}) {
		text := r.Text
		if text == "" {
			text = r.Item
		}
		s.Last = &Last{inert.Line(text), r.Right, r.Late, r.Reaction.Milliseconds(), r.At.Milliseconds()}
	}
	s.fillAircraft(v)
}

// millis is a time in milliseconds; one that is known is never 0.
func millis(d time.Duration) int64 {
	if d > 0 {
		return max(1, d.Milliseconds())
	}
	return 0
}

func (s *Scene) fillAircraft(v *drill.View) {
	s.Bands = s.each(len(v.Readings), func(i int) byte {
		value := v.Readings[i]
		if !v.Alive[i] || math.IsNaN(value) || math.IsInf(value, 0) {
			s.Readings = append(s.Readings, number{})
			return '-'
		}
		s.Readings = append(s.Readings, number{value, s.face.Gauges[i].Decimals + 2})
		return band(v.Bands[i])
	})
	s.Lit = s.flags(v.Lit)
	s.Sounding = s.each(len(v.Sounding), func(i int) byte {
		switch {
		case v.Sounding[i]:
			return '1'
		case v.Silenced[i]:
			return '2'
		}
		return '0'
	})
	if len(s.face.Controls) > 0 {
		s.Positions, s.Locked = append(s.Positions, v.Positions...), s.flags(v.Locked)
	}
	s.Facts = s.each(len(v.Facts), func(i int) byte {
		if !v.Seen[i] {
			return '-'
		}
		return flag(v.Facts[i])
	})
}

// FillSaid adds what was said and pressed last, at most so many lines.
func (s *Scene) FillSaid(v *drill.View, most int) { s.Said = saidOf(v, most) }

func saidOf(v *drill.View, most int) []Said {
	lines := v.Said[max(0, len(v.Said)-most):]
	out := make([]Said, len(lines))
	for i, line := range lines {
		out[i] = Said{line.At.Milliseconds(), line.Who, inert.Line(line.Text)}
	}
	return out
}

// Veil takes the aircraft out of the scene: what it shows while its time stands still is not to be studied.
func (s *Scene) Veil() {
	s.Readings, s.Bands, s.Lit, s.Sounding, s.Positions, s.Locked, s.Facts = s.Readings[:0], "", "", "", s.Positions[:0], "", ""
}

// each is a character for each of n things.
func (s *Scene) each(n int, of func(int) byte) string {
	s.text = s.text[:0]
	for i := range n {
		s.text = append(s.text, of(i))
	}
	return string(s.text)
}

func (s *Scene) flags(of []bool) string {
	return s.each(len(of), func(i int) byte { return flag(of[i]) })
}

func flag(is bool) byte {
	if is {
		return '1'
	}
	return '0'
}

func band(c aircraft.Colour) byte {
	switch c {
	case aircraft.Green:
		return 'g'
	case aircraft.Amber:
		return 'a'
	case aircraft.Red:
		return 'r'
	}
	return 'w'
}

// JSON is the scene as it goes to a page.
func (s *Scene) JSON() []byte {
	body, err := json.Marshal(s)
	if err != nil {
		panic(err) // a struct of strings and finite numbers can always be written
	}
	return body
}
