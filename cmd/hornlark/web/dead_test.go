package web

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"strings"
	"testing"
	"testing/fstest"
	"testing/synctest"
	"time"
)

// pipes is a listener without a network, whose time can be that of a test.
type pipes struct {
	conns chan net.Conn
	ended chan struct{}
}

func (p *pipes) Accept() (net.Conn, error) {
	select {
	case c := <-p.conns:
		return c, nil
	case <-p.ended:
		return nil, net.ErrClosed
	}
}
func (p *pipes) Close() error   { close(p.ended); return nil }
func (p *pipes) Addr() net.Addr { return &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 4700} }

// request sends a request over a connection of its own and gives the answer, the connection, and what has been read of it.
func (p *pipes) request(t *testing.T, text string) (*http.Response, net.Conn, *bufio.Reader) {
	t.Helper()
	here, there := net.Pipe()
	p.conns <- there
	if _, err := io.WriteString(here, strings.ReplaceAll(text, "\n", "\r\n")); err != nil {
		t.Fatal(err)
	}
	in := bufio.NewReader(here)
	answer, err := http.ReadResponse(in, nil)
	if err != nil {
		t.Fatal(err)
	}
	return answer, here, in
}

// comeIn enters by the code and begins a conversation, as nothing but bytes.
func (p *pipes) comeIn(t *testing.T, d *Door) (net.Conn, *bufio.Reader) {
	t.Helper()
	body := fmt.Sprintf(`{"code":%q}`, d.Code())
	answer, c, _ := p.request(t, fmt.Sprintf("POST /enter HTTP/1.1\nHost: 127.0.0.1:4700\nOrigin: http://127.0.0.1:4700\nContent-Type: application/json\nContent-Length: %d\n\n%s", len(body), body))
	var got struct{ Key string }
	if err := json.NewDecoder(answer.Body).Decode(&got); err != nil || len(answer.Cookies()) != 1 {
		t.Fatal(answer.Status, err)
	}
	c.Close()
	cookie := answer.Cookies()[0]
	answer, c, in := p.request(t, fmt.Sprintf("GET /live HTTP/1.1\nHost: 127.0.0.1:4700\nOrigin: http://127.0.0.1:4700\nCookie: %s=%s\nConnection: Upgrade\nUpgrade: websocket\nSec-WebSocket-Version: 13\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\nSec-WebSocket-Protocol: hornlark, %s\n\n", cookie.Name, cookie.Value, got.Key))
	if answer.StatusCode != http.StatusSwitchingProtocols {
		t.Fatal(answer.Status)
	}
	return c, in
}

// doorOfPipes is a door whose conversation is meet, and a way to it. Both end with the test's bubble.
func doorOfPipes(meet func(context.Context, *Guest)) (*Door, *pipes) {
	p := &pipes{make(chan net.Conn), make(chan struct{})}
	files := fstest.MapFS{"page.html": {Data: []byte("<!doctype html>")}}
	return newDoor(DoorOptions{Page: "page.html", Files: files, Meet: meet}, p, netip.MustParseAddrPort("127.0.0.1:4700")), p
}

// A laptop that was closed says nothing more, not even that it leaves: it is noticed by its silence, within the time of two pings.
func TestAClosedLaptopIsNoticed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		left := make(chan time.Duration, 1)
		d, p := doorOfPipes(func(ctx context.Context, g *Guest) {
			came := time.Now()
			for {
				if _, err := g.Read(ctx); err != nil {
					left <- time.Since(came)
					return
				}
			}
		})
		c, in := p.comeIn(t, d)
		go io.Copy(io.Discard, in) // the machine's network still takes what comes, and nobody answers
		if after := <-left; after > pingEvery+pongWithin+time.Second || after < pingEvery {
			t.Errorf("it was noticed after %v", after)
		}
		c.Close()
		d.Close("the test is over")
		synctest.Wait()
	})
}

// A page that takes nothing any more holds up its own conversation for some seconds, and nobody else.
func TestASlowPageIsDropped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		left := make(chan time.Duration, 1)
		d, p := doorOfPipes(func(ctx context.Context, g *Guest) {
			go func() {
				for {
					if _, err := g.Read(ctx); err != nil {
						return
					}
				}
			}()
			came := time.Now()
			for g.Write(ctx, []byte("what is to be seen")) == nil {
			}
			left <- time.Since(came)
		})
		c, _ := p.comeIn(t, d) // and it reads nothing
		if after := <-left; after > writeWithin+time.Second {
			t.Errorf("it was dropped after %v", after)
		}
		c.Close()
		d.Close("the test is over")
		synctest.Wait()
	})
}

// Whoever has connected and asks nothing makes room for others.
func TestWhoAsksNothingIsSentAway(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d, p := doorOfPipes(nil)
		here, there := net.Pipe()
		p.conns <- there
		io.WriteString(here, "GET / HT")
		began := time.Now()
		if _, err := io.ReadAll(here); err != nil {
			t.Error(err)
		}
		if took := time.Since(began); took > headersWithin+time.Second {
			t.Errorf("it took %v", took)
		}
		d.Close("the test is over")
		synctest.Wait()
	})
}
