package main

import (
	"fmt"
	"io"
	"strings"
	"time"
)

const (
	progressAfter = time.Second            // that something has to take before it is worth telling how far it is
	progressEvery = 200 * time.Millisecond // between two lines about it
	barWidth      = 20
	leftAfter     = 3 * time.Second // from which on the time that is left is told
)

// progress tells on standard error how far something is, on one line that is written over, if that is a terminal and if it takes
// longer than a second.
type progress struct {
	w           io.Writer // nil: nobody is told
	doing       string
	began, told time.Time
	now         func() time.Time
}

// progress begins to tell. doing says what is being done.
func (s *streams) progress(doing string) *progress {
	p := &progress{doing: doing, began: time.Now(), now: time.Now}
	if s.watched {
		p.w = s.err
	}
	return p
}

// at tells how far it is; a total of 0 is not known.
func (p *progress) at(done, total int) {
	now := p.now()
	if p.w == nil || now.Sub(p.began) < progressAfter || now.Sub(p.told) < progressEvery {
		return
	}
	p.told = now
	far := fmt.Sprint(done)
	if total > 0 {
		far = fmt.Sprintf("%s %d of %d%s", bar(done, total), done, total, left(now.Sub(p.began), done, total))
	}
	own(p.w, "\r")
	fmt.Fprintf(p.w, "%s: %s ", p.doing, far)
	own(p.w, "\x1b[K")
}

// bar is how much is done of the whole.
func bar(done, total int) string {
	full := min(max(0, barWidth*done/total), barWidth)
	return "[" + strings.Repeat("=", full) + strings.Repeat(".", barWidth-full) + "]"
}

// left is how long the rest takes if it goes on as so far; nothing while that is no more than a guess.
func left(took time.Duration, done, total int) string {
	if done <= 0 || done >= total || took < leftAfter {
		return ""
	}
	rest := time.Duration(float64(took) * float64(total-done) / float64(done)).Round(time.Second)
	return fmt.Sprintf(", %v left", max(rest, time.Second))
}

// end takes the line away.
func (p *progress) end() {
	if !p.told.IsZero() {
		own(p.w, "\r\x1b[K")
		p.told = time.Time{}
	}
}
