package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"sync"
	"time"
)

// SiteOptions are those of a site.
type SiteOptions struct {
	// News is told what becomes of the page, in a line, where somebody reads lines meanwhile. Nil is nobody.
	News func(line string)
}

// Site is one address at which a trainee finds whatever there is at the moment: a sheet to be read and chosen from, or the panel of a
// sitting. A page that is there goes from one to the next without being opened again. What is shown is changed by one goroutine.
type Site struct {
	options SiteOptions
	door    *Door
	hub     *Hub
	chosen  chan Choice
	over    context.Context
	end     context.CancelFunc

	mu    sync.Mutex
	now   shown     // what there is; nil: nothing yet
	sheet int       // the number of the latest sheet
	alone time.Time // since when no page is there; zero: one is
}

// shown is what a page can be shown.
type shown interface {
	// greeting is what a page is told that has just come.
	greeting() [][]byte
}

// OpenSite listens for a page, at a port of this machine that is free. Whoever has opened a site closes it.
func OpenSite(ctx context.Context, o SiteOptions) (*Site, error) {
	s := &Site{options: o, hub: NewHub(), chosen: make(chan Choice, 1), alone: time.Now()}
	s.over, s.end = context.WithCancel(context.Background())
	var err error
	s.door, err = OpenDoor(ctx, DoorOptions{Page: "panel.html", Files: assets, Linked: true, Meet: s.meet})
	return s, err
}

// Link is where the page is found, by whoever comes first.
func (s *Site) Link() string { return s.door.Links()[0] }

// Door is the way in.
func (s *Site) Door() *Door { return s.door }

// Alone is how long no page has been there; 0 while one is.
func (s *Site) Alone() time.Duration {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.alone.IsZero() {
		return 0
	}
	return time.Since(s.alone)
}

// Close has the page leave once it has got all, with a reason that it shows, and listens no more.
func (s *Site) Close(why string) {
	s.hub.Close(why)
	for began := time.Now(); s.hub.Count() > 0 && time.Since(began) < goodbyeWithin; {
		time.Sleep(5 * time.Millisecond)
	}
	s.end()
	s.door.Close(why)
}

// turnTo has the page show something else.
func (s *Site) turnTo(to shown) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now = to
	for _, m := range to.greeting() {
		s.hub.Tell(m)
	}
}

// greet tells a page that has come what there is.
func (s *Site) greet(l *Line) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.now == nil {
		return
	}
	for _, m := range s.now.greeting() {
		l.Tell(m)
	}
}

// panel is the one that is shown; nil: there is none.
func (s *Site) panel() *Panel {
	s.mu.Lock()
	defer s.mu.Unlock()
	p, _ := s.now.(*Panel)
	return p
}

// meet has the conversation with a page.
func (s *Site) meet(ctx context.Context, g *Guest) {
	c := &conversation{site: s, clock: &PageClock{}, asked: map[int]time.Time{}}
	s.mu.Lock()
	s.alone = time.Time{}
	s.mu.Unlock()
	s.news("The page is there.")
	s.hub.Serve(ctx, Talk{Peer: g, Greet: s.greet, Take: c.take, Beat: c.beat, Every: c.every})
	s.mu.Lock()
	if s.hub.Count() == 0 {
		s.alone = time.Now()
	}
	s.mu.Unlock()
	select {
	case <-s.over.Done():
	case <-time.After(goneFor):
		s.left()
	}
}

// left pauses the sitting where nobody sees it any more.
func (s *Site) left() {
	p := s.panel()
	if s.hub.Count() > 0 || s.over.Err() != nil || p != nil && p.isOver() {
		return
	}
	s.door.Renew()
	held := ""
	if p != nil && p.suspend() {
		held = "; the sitting is paused"
	}
	s.news(fmt.Sprintf("The page has gone%s. Load it again, or open this one: %s", held, s.Link()))
}

func (s *Site) news(line string) {
	if s.options.News != nil {
		s.options.News(line)
	}
}

// conversation is what is known of one page while it is connected.
type conversation struct {
	site  *Site
	clock *PageClock

	mu    sync.Mutex
	beats int
	asked map[int]time.Time // when each reading of its clock was asked for that has not come yet
}

// beat asks the page for its clock.
func (c *conversation) beat(now time.Time) []byte {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.beats++
	delete(c.asked, c.beats-exchanges)
	c.asked[c.beats] = now
	return fmt.Appendf(nil, `{"kind":"clock","n":%d}`, c.beats)
}

func (c *conversation) every() time.Duration {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.beats < firstOnes {
		return firstEvery
	}
	return laterEvery
}

// heard is a message of a page. What each kind has stands beside the field.
type heard struct {
	Kind   string  `json:"kind"`
	N      int     `json:"n"`      // clock: which reading it is; choose: of which sheet
	At     float64 `json:"at"`     // clock, press: ms of the page's clock
	Step   float64 `json:"step"`   // ready: ms, in which that counts
	Key    string  `json:"key"`    // press: a drill.Key; empty: only a character of a reading; choose: that of the offer
	Shift  bool    `json:"shift"`  // press
	Char   string  `json:"char"`   // press: the character that the key sends, if it sends one
	Up     bool    `json:"up"`     // level
	Answer string  `json:"answer"` // choose: to what the offer asks
}

// take takes a message of the page.
func (c *conversation) take(l *Line, body []byte) {
	arrived := time.Now()
	var m heard
	d := json.NewDecoder(bytes.NewReader(body))
	d.DisallowUnknownFields()
	if d.Decode(&m) != nil || d.More() || !c.does(l, &m, arrived) {
		l.Close("it sends what no page of ours sends")
	}
}

// does does what a message says, and reports whether it is one.
func (c *conversation) does(l *Line, m *heard, arrived time.Time) bool {
	switch m.Kind {
	case "clock":
		c.mu.Lock()
		sent, known := c.asked[m.N]
		delete(c.asked, m.N)
		c.mu.Unlock()
		if known {
			c.clock.Read(ms(m.At), sent, arrived)
		}
		return known
	case "step":
		c.clock.Step(ms(m.Step))
		return true
	case "choose":
		c.site.choose(m)
		return true
	}
	p := c.site.panel()
	if p == nil { // it has gone on meanwhile, and the page has not heard of it yet
		p = nowhere
	}
	return p.does(c, l, m, arrived)
}

// ms is a time in milliseconds as a page gives it.
func ms(t float64) time.Duration {
	if t != t || t > 1e12 || t < -1e12 {
		return -1
	}
	return time.Duration(t * float64(time.Millisecond))
}
