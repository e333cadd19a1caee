package web

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// page is the far end of a conversation, in a test: it takes a message whenever the test says so.
type page struct {
	takes  chan struct{} // one for each message that it takes; closed: all
	got    chan string
	closed chan string
	sends  chan string
}

func newPage(takesAll bool) *page {
	p := &page{takes: make(chan struct{}, 1000), got: make(chan string, 1000), closed: make(chan string, 4), sends: make(chan string)}
	if takesAll {
		close(p.takes)
	}
	return p
}

func (p *page) Read(ctx context.Context) ([]byte, error) {
	select {
	case text := <-p.sends:
		return []byte(text), nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

func (p *page) Write(ctx context.Context, message []byte) error {
	select {
	case <-p.takes:
		p.got <- string(message)
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (p *page) Close(why string) { p.closed <- why }

// all is what the page has got so far.
func (p *page) all() []string {
	var out []string
	for {
		select {
		case text := <-p.got:
			out = append(out, text)
		default:
			return out
		}
	}
}

// serve has a conversation in the background, and gives a way to wait for its end.
func serve(ctx context.Context, h *Hub, t Talk) (over <-chan struct{}) {
	done := make(chan struct{})
	go func() { defer close(done); h.Serve(ctx, t) }()
	synctest.Wait()
	return done
}

// Pages that take everything get everything in order; one that takes nothing holds up nobody, and gets the newest scene once it takes again.
func TestAHubWaitsForNobody(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		h := NewHub()
		quick, slow := newPage(true), newPage(false)
		greet := func(l *Line) { l.Tell([]byte("welcome")) }
		a := serve(ctx, h, Talk{Peer: quick, Greet: greet})
		b := serve(ctx, h, Talk{Peer: slow, Greet: greet})
		began := time.Now()
		for i := range 100 {
			h.Scene(fmt.Appendf(nil, "scene %d", i))
			if i%10 == 0 {
				h.Tell(fmt.Appendf(nil, "word %d", i))
			}
			synctest.Wait()
		}
		if waited := time.Since(began); waited != 0 {
			t.Errorf("whoever told waited for %v", waited)
		}
		got := quick.all()
		if len(got) != 111 || got[0] != "welcome" || got[110] != "scene 99" {
			t.Errorf("the page that takes all got %d messages: %q", len(got), got)
		}
		close(slow.takes)
		synctest.Wait()
		want := "welcome"
		for i := 0; i < 100; i += 10 {
			want += fmt.Sprintf(" word %d", i)
		}
		if got := strings.Join(slow.all(), " "); got != want+" scene 99" {
			t.Errorf("the slow page got %q", got)
		}
		if h.Count() != 2 {
			t.Errorf("%d pages are connected", h.Count())
		}
		cancel()
		<-a
		<-b
		if h.Count() != 0 {
			t.Errorf("%d pages are connected after the end", h.Count())
		}
	})
}

// A page that leaves everything lying is sent away with a line that says so, and the others go on.
func TestADeadPageIsSentAway(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := NewHub()
		dead, other := newPage(false), newPage(true)
		over := serve(t.Context(), h, Talk{Peer: dead})
		serve(t.Context(), h, Talk{Peer: other})
		for i := range mailbox + 2 { // one of them has been taken out to be sent
			h.Tell(fmt.Appendf(nil, "%d", i))
			synctest.Wait()
		}
		dead.takes <- struct{}{} // what was being sent has to be given up for
		<-over
		if why := <-dead.closed; why != "this page does not take what it is sent" {
			t.Errorf("it was sent away since %q", why)
		}
		if got := other.all(); len(got) != mailbox+2 || h.Count() != 1 {
			t.Errorf("the other got %d messages, and %d are connected", len(got), h.Count())
		}
		h.Close("the sitting is over")
		synctest.Wait()
		if why := <-other.closed; why != "the sitting is over" {
			t.Errorf("the other was sent away since %q", why)
		}
		late := newPage(true)
		<-serve(t.Context(), h, Talk{Peer: late, Greet: func(*Line) { t.Error("it was greeted after the end") }})
		if why := <-late.closed; why != "the sitting is over" {
			t.Errorf("who came after the end was told %q", why)
		}
	})
}

// The end waits for what has been told, so that the last words arrive.
func TestTheLastWordsArrive(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, p := NewHub(), newPage(false)
		over := serve(t.Context(), h, Talk{Peer: p})
		h.Tell([]byte("the report"))
		h.Close("over")
		synctest.Wait()
		close(p.takes)
		<-over
		if got := p.all(); len(got) != 1 || got[0] != "the report" || <-p.closed != "over" {
			t.Errorf("it got %q", got)
		}
	})
}

// What is sent again and again is made as it is sent, and what the page answers is taken.
func TestAConversationBeats(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, p := NewHub(), newPage(true)
		beats := 0
		var taken []string
		serve(t.Context(), h, Talk{
			Peer: p, Beat: func(now time.Time) []byte { beats++; return fmt.Appendf(nil, "%d", now.UnixMilli()) },
			Every: func() time.Duration { return 250 * time.Millisecond },
			Take:  func(_ *Line, m []byte) { taken = append(taken, string(m)) },
		})
		began := time.Now()
		time.Sleep(time.Second + time.Millisecond)
		p.sends <- "answer"
		synctest.Wait()
		if got := p.all(); beats != 5 || len(got) != 5 || got[1] != fmt.Sprint(began.Add(250*time.Millisecond).UnixMilli()) {
			t.Errorf("%d beats: %q", beats, got)
		}
		if len(taken) != 1 || taken[0] != "answer" {
			t.Errorf("it took %q", taken)
		}
	})
}
