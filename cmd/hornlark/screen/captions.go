package screen

import (
	"cmp"
	"fmt"
	"slices"

	"hornlark/drill/aircraft"
)

// mostCaptionLines is how many lines lit captions may take.
const mostCaptionLines = 3

// lamp is how captions and alerts of a level are marked and lit.
func lamp(l aircraft.Level) (mark string, as look) {
	switch l {
	case aircraft.Warning:
		return "[W]", warning
	case aircraft.Caution:
		return "[C]", caution
	}
	return "[A]", advisory
}

// levels from the most urgent to the least.
var levels = []aircraft.Level{aircraft.Warning, aircraft.Caution, aircraft.Advisory}

// captionLines are the lit captions laid out.
type captionLines struct {
	pieces []captionPiece
	lines  int
	hidden int // captions that have no place
}

// captionPiece is one caption in its place.
type captionPiece struct {
	x, line int
	text    string
	as      look
}

// captions lays the lit captions out, warnings first. If the lines do not hold them all with a mark each, a mark is set
// once for all of its level that follow in a line; if even that is too much, the latest of each level come first, so
// that a new one is always seen.
func (s *sitting) captions(width, lines int) captionLines {
	var lit []int
	for i := range min(len(s.profile.Captions), len(s.view.Lit)) {
		if s.view.Lit[i] {
			lit = append(lit, i)
		}
	}
	s.sortCaptions(lit, false)
	laid := s.layCaptions(lit, width, lines, false)
	if laid.hidden > 0 {
		laid = s.layCaptions(lit, width, lines, true)
	}
	if laid.hidden > 0 {
		s.sortCaptions(lit, true)
		laid = s.layCaptions(lit, width, lines, true)
	}
	return laid
}

// sortCaptions sorts captions by level, and those of a level by their place in the profile or the latest first.
func (s *sitting) sortCaptions(lit []int, latest bool) {
	slices.SortStableFunc(lit, func(a, b int) int {
		of := s.profile.Captions
		order := cmp.Compare(slices.Index(levels, of[a].Level), slices.Index(levels, of[b].Level))
		if order == 0 && latest {
			order = cmp.Compare(s.lit[b], s.lit[a])
		}
		return order
	})
}

// layCaptions puts captions into lines; dense sets a mark only where the level or the line begins.
func (s *sitting) layCaptions(lit []int, width, lines int, dense bool) captionLines {
	const more = len("+99 more")
	laid := captionLines{lines: 1}
	x, before := 0, aircraft.Level("")
	for n, i := range lit {
		caption := &s.profile.Captions[i]
		mark, as := lamp(caption.Level)
		text := mark + " " + caption.Text
		if dense && caption.Level == before {
			text = "|" + caption.Text
			x-- // the stroke parts them, not the space
		}
		room := width
		if laid.lines == lines && n < len(lit)-1 {
			room -= more
		}
		if x > 0 && x+textWidth(text) > room {
			if laid.lines == lines {
				laid.hidden = len(lit) - n
				return laid
			}
			laid.lines++
			x, text = 0, mark+" "+caption.Text
		}
		laid.pieces = append(laid.pieces, captionPiece{x, laid.lines - 1, text, as})
		x += textWidth(text) + 1
		before = caption.Level
	}
	return laid
}

// draw shows the captions and gives the number of lines that they take.
func (l captionLines) draw(c *canvas, y int) int {
	if len(l.pieces) == 0 {
		c.text(0, y, c.width, "No caption is lit.", plain)
	}
	for _, piece := range l.pieces {
		c.text(piece.x, y+piece.line, c.width-piece.x, piece.text, piece.as)
	}
	if l.hidden > 0 {
		c.right(0, y+l.lines-1, c.width, fmt.Sprintf("+%d more", l.hidden), strong)
	}
	return l.lines
}
