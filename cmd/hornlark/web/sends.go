package web

import (
	"bytes"
	"slices"
	"strconv"

	"hornlark/drill"
)

// Sends is what a panel is sent of a sitting: whether something is sent for a view, and what, hangs on that view and on those before it, and so on
// what there was to be seen, and on nothing else.
type Sends struct {
	scene *Scene
	shown []byte // the latest scene, without its time
	sent  int64  // its time, ms
	said  []drill.Line
	anew  bool
}

// NewSends begins with nothing sent.
func NewSends(f *Face) *Sends { return &Sends{scene: NewScene(f), anew: true} }

// Anew has the next view sent whatever was before it.
func (s *Sends) Anew() { s.anew = true }

// sceneHead is how a scene begins.
const sceneHead = `{"kind":"scene","at":`

// Of gives the messages that a view comes to: what was said and pressed, if that is new, and the scene, unless it differs from the one before in
// its time alone, and that by little. What an aircraft shows whose time stands still is not among it.
func (s *Sends) Of(v *drill.View) (said, scene []byte) {
	if s.anew || !slices.Equal(v.Said, s.said) {
		s.said = append(s.said[:0], v.Said...)
		said = message("said", "lines", saidOf(v, drill.SaidLines))
	}
	s.scene.Fill(v)
	if v.Paused && !v.Ended {
		s.scene.Veil()
	}
	at := s.scene.At
	s.scene.At = 0
	body := s.scene.JSON()[len(sceneHead)+1:]
	same := !s.anew && bytes.Equal(body, s.shown) && at >= s.sent && at < s.sent+quietPace.Milliseconds() && !v.Paused
	s.anew = false
	if same {
		return said, nil
	}
	s.shown, s.sent = body, at
	return said, append(strconv.AppendInt([]byte(sceneHead), at, 10), body...)
}
