package web_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"github.com/coder/websocket"
	xwebsocket "golang.org/x/net/websocket"

	"hornlark/cmd/hornlark/web"
)

// page is what lies behind the doors of these tests.
var page = fstest.MapFS{
	"page.html": {Data: []byte("<!doctype html><title>A page</title>")}, "page.js": {Data: []byte("export {}")}, "secret.txt": {Data: []byte("no")},
}

// opened is a door that answers each message with itself, for a test.
func opened(t *testing.T, o web.DoorOptions) *web.Door {
	t.Helper()
	o.Page, o.Files = "page.html", page
	if o.Meet == nil {
		o.Meet = echo
	}
	d, err := web.OpenDoor(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { d.Close("the test is over") })
	return d
}

func echo(ctx context.Context, g *web.Guest) {
	for {
		message, err := g.Read(ctx)
		if err != nil || g.Write(ctx, message) != nil {
			return
		}
	}
}

// host is the host and port of a door, and origin that of its pages.
func host(d *web.Door) string {
	return strings.Trim(strings.TrimPrefix(d.Addresses()[0], "http://"), "/")
}
func origin(d *web.Door) string { return "http://" + host(d) }

// browser is a page that has come in.
type browser struct {
	door        *web.Door
	cookie, key string
}

// ask sends a request as the page of a door sends it, changed by with.
func ask(t *testing.T, d *web.Door, method, path, body string, with func(*http.Request)) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, origin(d)+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Origin", origin(d))
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	if with != nil {
		with(r)
	}
	answer, err := http.DefaultTransport.RoundTrip(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer, string(text)
}

// enter comes in by a code.
func enter(t *testing.T, d *web.Door, code string) *browser {
	t.Helper()
	answer, text := ask(t, d, "POST", "/enter", fmt.Sprintf(`{"code": %q}`, code), nil)
	var got struct{ Key string }
	if answer.StatusCode != http.StatusOK || json.Unmarshal([]byte(text), &got) != nil || got.Key == "" {
		t.Fatalf("status %d: %s", answer.StatusCode, text)
	}
	c := answer.Cookies()
	if len(c) != 1 || !c[0].HttpOnly || c[0].SameSite != http.SameSiteStrictMode || c[0].Path != "/" {
		t.Fatalf("cookies: %v", c)
	}
	return &browser{d, c[0].Name + "=" + c[0].Value, got.Key}
}

// talk begins a conversation.
func (b *browser) talk(ctx context.Context) (*websocket.Conn, *http.Response, error) {
	return websocket.Dial(ctx, "ws://"+host(b.door)+"/live", &websocket.DialOptions{
		HTTPHeader: http.Header{"Cookie": {b.cookie}, "Origin": {origin(b.door)}}, Subprotocols: []string{"hornlark", b.key},
	})
}

func TestAddresses(t *testing.T) {
	for _, good := range []string{":0", ":4700", "127.0.0.1:4700", "0.0.0.0:4700", "[::1]:0", "[::]:80", "localhost:4700", "192.168.1.7:4700"} {
		if err := web.CheckAddress(good); err != nil {
			t.Errorf("%s: %v", good, err)
		}
	}
	for bad, says := range map[string]string{
		"": "not an address", "4700": "no colon", "127.0.0.1": "not an address", ":": "no port", ":65536": "no port", ":-1": "no port", ":http": "no port",
		"example.org:80": "in figures", "300.0.0.1:80": "in figures", "\x1b[2J:80": `\x1b`, "[::1]": "not an address",
	} {
		if err := web.CheckAddress(bad); err == nil || !strings.Contains(err.Error(), says) || !strings.Contains(err.Error(), "write :4700") {
			t.Errorf("%q: %v; that %q was wanted", bad, err, says)
		}
	}
}

// Nothing but the loopback is listened at unless it is asked for, and then it is said what that means.
func TestOnlyThisMachineUnlessAskedOtherwise(t *testing.T) {
	for _, address := range []string{"", ":0", "127.0.0.1:0", "localhost:0"} {
		d := opened(t, web.DoorOptions{Address: address})
		if d.Warning() != "" || !strings.HasPrefix(d.Addresses()[0], "http://127.0.0.1:") {
			t.Errorf("%q: %v, %s", address, d.Addresses(), d.Warning())
		}
	}
	d := opened(t, web.DoorOptions{Address: "0.0.0.0:0"})
	if d.Warning() != web.Insecure {
		t.Errorf("every network: %q", d.Warning())
	}
	_, port, _ := net.SplitHostPort(host(d))
	if _, err := web.OpenDoor(t.Context(), web.DoorOptions{Address: ":" + port}); err == nil || !strings.Contains(err.Error(), "in use") {
		t.Errorf("the same port again: %v", err)
	}
	if _, err := web.OpenDoor(t.Context(), web.DoorOptions{Address: "192.0.2.1:0"}); err == nil || !strings.Contains(err.Error(), "has no address") {
		t.Errorf("an address of documentation (RFC 5737): %v", err)
	}
}

// Whatever is not of its own page is refused with a line, and nothing of it reaches the sitting.
func TestHostileRequests(t *testing.T) {
	met := atomic.Int32{}
	d := opened(t, web.DoorOptions{Meet: func(ctx context.Context, g *web.Guest) { met.Add(1); echo(ctx, g) }})
	in := enter(t, d, d.Code())
	set := func(pairs ...string) func(*http.Request) {
		return func(r *http.Request) {
			for i := 0; i < len(pairs); i += 2 {
				if r.Header.Set(pairs[i], pairs[i+1]); pairs[i+1] == "" {
					r.Header.Del(pairs[i])
				}
				if pairs[i] == "Host" {
					r.Host = pairs[i+1]
				}
			}
		}
	}
	live := []string{"Upgrade", "websocket", "Connection", "Upgrade", "Sec-WebSocket-Version", "13", "Sec-WebSocket-Key", "dGhlIHNhbXBsZSBub25jZQ=="}
	talking := func(pairs ...string) func(*http.Request) {
		all := append([]string{"Cookie", in.cookie, "Sec-WebSocket-Protocol", "hornlark, " + in.key}, live...)
		return set(append(all, pairs...)...)
	}
	name, _, _ := strings.Cut(in.cookie, "=")
	for _, c := range []struct {
		what, method, path, body string
		with                     func(*http.Request)
		status                   int
		why                      string
	}{
		{"a name that points here", "GET", "/", "", set("Host", "rebound.example:80", "Origin", ""), 421, "in figures"},
		{"the same, to enter", "POST", "/enter", `{"code":"A"}`, set("Host", "rebound.example", "Origin", "http://rebound.example"), 421, "in figures"},
		{"an address of elsewhere as host", "GET", "/", "", set("Host", "192.0.2.7", "Origin", ""), 421, "in figures"},
		{"a host that is none", "GET", "/", "", set("Host", "127.0.0.1:x", "Origin", ""), 421, "in figures"},
		{"a page from elsewhere", "POST", "/enter", `{"code":"A"}`, set("Origin", "http://evil.example"), 403, "elsewhere"},
		{"a page of another port", "POST", "/enter", `{"code":"A"}`, set("Origin", "http://127.0.0.1:1"), 403, "elsewhere"},
		{"a page without origin", "POST", "/enter", `{"code":"A"}`, set("Origin", "null"), 403, "elsewhere"},
		{"no page", "POST", "/enter", `{"code":"A"}`, set("Origin", ""), 403, "own page"},
		{"a frame of elsewhere", "GET", "/page.js", "", set("Origin", "", "Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "no-cors"), 403, "elsewhere"},
		{"a page of the same machine", "GET", "/known", "", set("Origin", "", "Sec-Fetch-Site", "same-site", "Sec-Fetch-Mode", "no-cors"), 403, "elsewhere"},
		{"a form", "POST", "/enter", `code=A`, set("Content-Type", "application/x-www-form-urlencoded"), 415, "own page"},
		{"a form that pretends", "POST", "/enter", `{"code":"A"}`, set("Content-Type", "text/plain"), 415, "own page"},
		{"a file of the folder", "GET", "/secret.txt", "", nil, 404, "no such page"},
		{"a way out", "GET", "/..%2f..%2fetc/passwd", "", nil, 404, "no such page"},
		{"no file", "GET", "/nothing.html", "", nil, 404, "no such page"},
		{"a deed to look", "DELETE", "/", "", nil, 405, "cannot be done"},
		{"entering by looking", "GET", "/enter", "", nil, 405, "cannot be done"},
		{"a trace", "TRACE", "/", "", nil, 405, "cannot be done"},
		{"no cookie", "GET", "/known", "", set("Hornlark-Key", in.key), 401, "code"},
		{"no key", "GET", "/known", "", set("Cookie", in.cookie), 401, "code"},
		{"another cookie", "GET", "/known", "", set("Cookie", name+"=AAAA", "Hornlark-Key", in.key), 401, "code"},
		{"another key", "GET", "/known", "", set("Cookie", in.cookie, "Hornlark-Key", strings.ToLower(in.key)), 401, "code"},
		{"no cookie, to talk", "GET", "/live", "", talking("Cookie", ""), 401, "code"},
		{"no key, to talk", "GET", "/live", "", talking("Sec-WebSocket-Protocol", "hornlark"), 401, "code"},
		{"no origin, to talk", "GET", "/live", "", talking("Origin", ""), 403, "own page"},
		{"from elsewhere, to talk", "GET", "/live", "", talking("Origin", "http://evil.example"), 403, "elsewhere"},
		{"no upgrade", "GET", "/live", "", talking("Upgrade", ""), 426, ""},
		{"its own page", "GET", "/known", "", set("Cookie", in.cookie, "Hornlark-Key", in.key), 204, ""},
		{"its own page by a tunnel", "GET", "/known", "", set("Host", "localhost:8080", "Origin", "http://localhost:8080", "Cookie", in.cookie, "Hornlark-Key", in.key), 204, ""},
		{"a link from elsewhere", "GET", "/", "", set("Origin", "", "Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "navigate"), 200, ""},
	} {
		answer, text := ask(t, d, c.method, c.path, c.body, c.with)
		if answer.StatusCode != c.status || !strings.Contains(text, c.why) {
			t.Errorf("%s: status %d, %s; wanted %d, %q", c.what, answer.StatusCode, text, c.status, c.why)
		}
		for name, part := range map[string]string{
			"Content-Security-Policy": "default-src 'none'; script-src 'self'", "X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY",
			"Referrer-Policy": "no-referrer", "Cache-Control": "no-store", "Cross-Origin-Resource-Policy": "same-origin",
		} {
			if !strings.Contains(answer.Header.Get(name), part) {
				t.Errorf("%s: %s is %q", c.what, name, answer.Header.Get(name))
			}
		}
		if strings.Contains(answer.Header.Get("Content-Security-Policy"), "unsafe") || answer.Header.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: headers %v", c.what, answer.Header)
		}
	}
	if met.Load() != 0 {
		t.Errorf("%d of them were let in", met.Load())
	}
}

// Bytes that are no request, or are far too many, or never end, are refused, and the door goes on.
func TestHostileBytes(t *testing.T) {
	d := opened(t, web.DoorOptions{})
	send := func(bytes string) (status string) {
		t.Helper()
		c, err := net.Dial("tcp", host(d))
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		c.SetDeadline(time.Now().Add(20 * time.Second))
		go io.WriteString(c, bytes)
		line, _ := bufio.NewReader(c).ReadString('\n')
		return strings.TrimSpace(line)
	}
	head := "Host: " + host(d) + "\r\nOrigin: " + origin(d) + "\r\n"
	for what, c := range map[string]struct{ bytes, status string }{
		"noise":                  {"\x00\xff\x16\x03\x01 nothing\r\n\r\n", "400"},
		"a head without end":     {"GET / HTTP/1.1\r\n" + head + "X: " + strings.Repeat("a", 1<<20) + "\r\n\r\n", "431"},
		"two hosts":              {"GET / HTTP/1.1\r\n" + head + "Host: b\r\n\r\n", "400"},
		"no host":                {"GET / HTTP/1.1\r\n\r\n", "400"},
		"a body without end":     {"POST /enter HTTP/1.1\r\n" + head + "Content-Type: application/json\r\nContent-Length: 9000000\r\n\r\n" + `{"code":"` + strings.Repeat("A", 9000), "400"},
		"a body that is no JSON": {"POST /enter HTTP/1.1\r\n" + head + "Content-Type: application/json\r\nContent-Length: 4\r\n\r\n\x00\x01{[", "400"},
		"a field too many":       {"POST /enter HTTP/1.1\r\n" + head + "Content-Type: application/json\r\nContent-Length: 23\r\n\r\n" + `{"code":"A","more":"B"}`, "400"},
		"two lengths":            {"POST /enter HTTP/1.1\r\n" + head + "Content-Length: 4\r\nContent-Length: 5\r\n\r\n{}", "400"},
		"a whole address":        {"GET http://evil.example/ HTTP/1.1\r\n" + head + "\r\n", "421"},
		"another protocol":       {"CONNECT evil.example:80 HTTP/1.1\r\n" + head + "\r\n", "4"},
	} {
		if got := send(c.bytes); !strings.HasPrefix(got, "HTTP/1.1 "+c.status) {
			t.Errorf("%s: %q; %s was wanted", what, got, c.status)
		}
	}
	enter(t, d, d.Code())
}

// A code lets in one page and no other. Who is in can hand over, and is told.
func TestACodeIsUsedOnce(t *testing.T) {
	d := opened(t, web.DoorOptions{})
	code := d.Code()
	if len(code) != len("ABCD-EFGH") || d.Code() != code || !strings.HasSuffix(d.Links()[0], "/#"+strings.ReplaceAll(code, "-", "")) {
		t.Errorf("code %q, links %v", code, d.Links())
	}
	first := enter(t, d, strings.ToLower(strings.ReplaceAll(code, "-", " ")))
	c, _, err := first.talk(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	select {
	case <-d.Came():
	case <-time.After(10 * time.Second):
		t.Fatal("nobody came")
	}
	if answer, text := ask(t, d, "POST", "/enter", fmt.Sprintf(`{"code": %q}`, code), nil); answer.StatusCode != http.StatusForbidden || !strings.Contains(text, "has been used") {
		t.Errorf("a second instructor: status %d, %s", answer.StatusCode, text)
	}
	if d.Code() != "" {
		t.Errorf("the code is still %s", d.Code())
	}
	next := d.Renew()
	if next == code {
		t.Error("the new code is the old one")
	}
	second := enter(t, d, next)
	if _, _, err = c.Read(shortly(t)); websocket.CloseStatus(err) != websocket.StatusPolicyViolation || !strings.Contains(err.Error(), "somebody else has come in") {
		t.Errorf("whoever was in: %v", err)
	}
	if _, answer, err := first.talk(t.Context()); err == nil || answer.StatusCode != http.StatusUnauthorized {
		t.Errorf("whoever was in comes back: %v", err)
	}
	if _, _, err := second.talk(t.Context()); err != nil {
		t.Errorf("whoever took over: %v", err)
	}
}

// The same page once more takes the place of what is left of it, as when a laptop wakes up. With room for several they stand beside one another.
func TestTheSamePageAgain(t *testing.T) {
	d := opened(t, web.DoorOptions{})
	b := enter(t, d, d.Code())
	first, _, err := b.talk(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	said(t, first, "there") // it has begun, and not only been agreed upon
	second, _, err := b.talk(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := first.Read(shortly(t)); err == nil || !strings.Contains(err.Error(), "opened once more") {
		t.Errorf("the first: %v", err)
	}
	said(t, second, "still there")
	several := opened(t, web.DoorOptions{Guests: 3, Linked: true})
	if len(several.Code()) < 26 {
		t.Errorf("the code of a link is %q", several.Code())
	}
	b = enter(t, several, several.Code())
	for range 3 {
		c, _, err := b.talk(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		defer said(t, c, "beside each other")
	}
}

// shortly is a time within which a machine that others load answers.
func shortly(t *testing.T) context.Context {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	t.Cleanup(cancel)
	return ctx
}

// said sends a text and wants it back.
func said(t *testing.T, c *websocket.Conn, text string) {
	t.Helper()
	if err := c.Write(t.Context(), websocket.MessageText, []byte(text)); err != nil {
		t.Error(err)
	}
	if _, got, err := c.Read(shortly(t)); err != nil || string(got) != text {
		t.Errorf("%q, %v", got, err)
	}
}

// A second library of the protocol says the same as the first.
func TestAnotherClientOfTheProtocol(t *testing.T) {
	d := opened(t, web.DoorOptions{})
	b := enter(t, d, d.Code())
	config, err := xwebsocket.NewConfig("ws://"+host(d)+"/live", origin(d))
	if err != nil {
		t.Fatal(err)
	}
	config.Header.Set("Cookie", b.cookie)
	config.Protocol = []string{"hornlark", b.key}
	c, err := config.DialContext(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	var got string
	if err := xwebsocket.Message.Send(c, `{"kind":"hello"}`); err != nil {
		t.Fatal(err)
	}
	if err := xwebsocket.Message.Receive(c, &got); err != nil || got != `{"kind":"hello"}` {
		t.Errorf("%q, %v", got, err)
	}
}

// Messages that no page of ours sends end the conversation with a reason.
func TestHostileMessages(t *testing.T) {
	d := opened(t, web.DoorOptions{Guests: 4})
	b := enter(t, d, d.Code())
	for what, c := range map[string]struct {
		kind   websocket.MessageType
		bytes  string
		times  int
		status websocket.StatusCode
		why    string
	}{
		"binary":        {websocket.MessageBinary, "abc", 1, websocket.StatusPolicyViolation, "not text"},
		"oversize":      {websocket.MessageText, strings.Repeat("a", web.MaxMessage+1), 1, websocket.StatusMessageTooBig, ""},
		"far oversize":  {websocket.MessageText, strings.Repeat("a", 8<<20), 1, websocket.StatusMessageTooBig, ""},
		"too many":      {websocket.MessageText, "a", 400, websocket.StatusPolicyViolation, "too many"},
		"as many as is": {websocket.MessageText, strings.Repeat("a", web.MaxMessage), 1, -1, ""},
	} {
		conn, _, err := b.talk(t.Context())
		if err != nil {
			t.Fatal(what, err)
		}
		conn.SetReadLimit(1 << 20)
		go func() {
			for range c.times {
				if conn.Write(t.Context(), c.kind, []byte(c.bytes)) != nil {
					return
				}
			}
		}()
		for err = nil; err == nil; {
			ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
			_, _, err = conn.Read(ctx)
			cancel()
			if c.status < 0 && err == nil {
				break
			}
		}
		if c.status < 0 && err != nil || c.status > 0 && (websocket.CloseStatus(err) != c.status || !strings.Contains(err.Error(), c.why)) {
			t.Errorf("%s: %v", what, err)
		}
		conn.CloseNow()
	}
}

// A storm of connections is bounded, one of reconnects too, and who is in stays in.
func TestStorms(t *testing.T) {
	d := opened(t, web.DoorOptions{Guests: 2})
	b := enter(t, d, d.Code())
	c, _, err := b.talk(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for range 200 { // none of them ever says anything
		if idle, err := net.DialTimeout("tcp", host(d), time.Second); err == nil {
			defer idle.Close()
		}
	}
	said(t, c, "in the middle of a storm")
	storm := opened(t, web.DoorOptions{})
	b = enter(t, storm, storm.Code())
	var refused atomic.Int32
	var all sync.WaitGroup
	for range 40 {
		all.Go(func() {
			ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
			defer cancel()
			if conn, answer, err := b.talk(ctx); err == nil {
				conn.CloseNow()
			} else if answer != nil && answer.StatusCode == http.StatusTooManyRequests {
				refused.Add(1)
			}
		})
	}
	all.Wait()
	if refused.Load() < 20 {
		t.Errorf("only %d of 40 reconnects were refused", refused.Load())
	}
}

// The end of a sitting is the end of its page: who is in is told why, and nobody listens any more.
func TestTheDoorCloses(t *testing.T) {
	d := opened(t, web.DoorOptions{})
	b := enter(t, d, d.Code())
	c, _, err := b.talk(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	said(t, c, "there") // it has begun, and not only been agreed upon
	closed := make(chan struct{})
	go func() { d.Close("the sitting is over"); close(closed) }()
	if _, _, err := c.Read(shortly(t)); err == nil || !strings.Contains(err.Error(), "the sitting is over") {
		t.Errorf("who was in: %v", err)
	}
	<-closed
	if _, err := net.Dial("tcp", host(d)); err == nil {
		t.Error("somebody listens still")
	}
}
