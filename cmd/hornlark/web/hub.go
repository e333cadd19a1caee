package web

import (
	"context"
	"sync"
	"time"
)

// Peer is a page at the other end of a conversation; a Guest is one.
type Peer interface {
	// Read gives the next message of the page; an error is the end.
	Read(ctx context.Context) ([]byte, error)

	// Write sends a message, and may wait for a page that does not take it, until the context ends.
	Write(ctx context.Context, message []byte) error

	// Close ends the conversation, with a reason of at most 120 bytes that the page shows.
	Close(why string)
}

// mailbox is how many messages wait for a page that does not take them. Nothing but words and answers waits there, some of them in a second.
const mailbox = 256

// Hub has many pages told the same. Whoever tells never waits for a page: of scenes that come faster than a page takes them the newest counts,
// and a page that leaves too much else lying is sent away.
type Hub struct {
	mu    sync.Mutex
	lines map[*Line]bool
	shut  string // why there are none any more; empty: there may be
}

// Line is the way to one page.
type Line struct {
	wake   chan struct{}
	mu     sync.Mutex
	open   bool // it has been greeted, so that what all are told is for it too
	scene  []byte
	queue  [][]byte
	closed string // why it is to end
	later  bool   // once what waits has been sent
}

// NewHub makes a hub that nobody is connected to.
func NewHub() *Hub { return &Hub{lines: map[*Line]bool{}} }

// Count is how many pages are connected.
func (h *Hub) Count() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.lines)
}

// Scene has every page shown a scene, unless a newer one is there before it is sent. The message must not be changed afterwards.
func (h *Hub) Scene(message []byte) { h.each(func(l *Line) { l.all(l.Scene, message) }) }

// Tell tells every page something. The message must not be changed afterwards.
func (h *Hub) Tell(message []byte) { h.each(func(l *Line) { l.all(l.Tell, message) }) }

// Close has every page leave once what waits for it has been sent, and lets in no other.
func (h *Hub) Close(why string) {
	h.mu.Lock()
	h.shut = why
	h.mu.Unlock()
	h.each(func(l *Line) { l.end(why, true) })
}

func (h *Hub) each(do func(*Line)) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for l := range h.lines {
		do(l)
	}
}

// all hands on what everybody is told, once this page has been greeted.
func (l *Line) all(as func([]byte), message []byte) {
	l.mu.Lock()
	open := l.open
	l.mu.Unlock()
	if open {
		as(message)
	}
}

// Scene shows this page a scene.
func (l *Line) Scene(message []byte) {
	l.mu.Lock()
	l.open, l.scene = true, message
	l.mu.Unlock()
	l.poke()
}

// Tell tells this page something.
func (l *Line) Tell(message []byte) {
	l.mu.Lock()
	l.open = true
	full := len(l.queue) >= mailbox
	if !full {
		l.queue = append(l.queue, message)
	}
	l.mu.Unlock()
	if full {
		l.end("this page does not take what it is sent", false)
		return
	}
	l.poke()
}

// Close has this page leave at once.
func (l *Line) Close(why string) { l.end(why, false) }

func (l *Line) end(why string, later bool) {
	l.mu.Lock()
	if l.closed == "" {
		l.closed, l.later = why, later
	}
	l.mu.Unlock()
	l.poke()
}

func (l *Line) poke() {
	select {
	case l.wake <- struct{}{}:
	default:
	}
}

// next is what is to be sent now: words before the scene that they may have led to. why is set once it is to end.
func (l *Line) next() (message []byte, why string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	switch {
	case l.closed != "" && !l.later:
		return nil, l.closed
	case len(l.queue) > 0:
		message, l.queue = l.queue[0], l.queue[1:]
		return message, ""
	case l.scene != nil:
		message, l.scene = l.scene, nil
		return message, ""
	}
	return nil, l.closed
}

// Talk is one conversation.
type Talk struct {
	Peer  Peer
	Greet func(*Line)                // as the page has come: what everybody is told is for it too from the first thing on that this tells it
	Take  func(*Line, []byte)        // with each message of the page
	Beat  func(now time.Time) []byte // gives what is sent again and again, made as it is sent; nil: nothing
	Every func() time.Duration       // between two of those
}

// Serve has the conversation until it ends, from either side or with the context.
func (h *Hub) Serve(ctx context.Context, t Talk) {
	l := &Line{wake: make(chan struct{}, 1)}
	h.mu.Lock()
	if h.shut != "" {
		h.mu.Unlock()
		t.Peer.Close(h.shut)
		return
	}
	h.lines[l] = true
	h.mu.Unlock()
	if t.Greet != nil {
		t.Greet(l)
	}
	l.mu.Lock()
	l.open = true
	l.mu.Unlock()
	ctx, cancel := context.WithCancel(ctx)
	written := make(chan struct{})
	go func() {
		defer close(written)
		defer cancel()
		l.write(ctx, t)
	}()
	for {
		message, err := t.Peer.Read(ctx)
		if err != nil {
			break
		}
		if t.Take != nil {
			t.Take(l, message)
		}
	}
	cancel()
	<-written
	h.mu.Lock()
	delete(h.lines, l)
	h.mu.Unlock()
}

// write sends what there is to be sent, until the page is gone or is to go.
func (l *Line) write(ctx context.Context, t Talk) {
	beat := time.NewTimer(0)
	defer beat.Stop()
	if t.Beat == nil {
		beat.Stop()
	}
	for {
		message, why := l.next()
		switch {
		case message != nil:
		case why != "":
			t.Peer.Close(why)
			return
		default:
			select {
			case <-ctx.Done():
				return
			case <-l.wake:
				continue
			case <-beat.C:
				message = t.Beat(time.Now())
				beat.Reset(t.Every())
			}
		}
		if t.Peer.Write(ctx, message) != nil {
			return
		}
	}
}
