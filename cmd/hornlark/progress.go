package main

import (
	"fmt"
	"io"
	"time"
)

const (
	progressAfter = time.Second            // that something has to take before it is worth telling how far it is
	progressEvery = 200 * time.Millisecond // between two lines about it
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
		far = fmt.Sprintf("%d of %d", done, total)
	}
	own(p.w, "\r")
	fmt.Fprintf(p.w, "%s: %s ", p.doing, far)
	own(p.w, "\x1b[K")
}

// end takes the line away.
func (p *progress) end() {
	if !p.told.IsZero() {
		own(p.w, "\r\x1b[K")
		p.told = time.Time{}
	}
}
