package web

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"log"
	"mime"
	"net"
	"net/http"
	"net/netip"
	"path"
	"strings"
	"sync"
	"time"

	"github.com/coder/websocket"
	"golang.org/x/time/rate"
)

// DoorOptions say what a door leads to.
type DoorOptions struct {
	Address string // where it listens, as somebody wrote it; see CheckAddress. Empty is Loopback
	Page    string // the name of its page among Files
	Files   fs.FS  // what anybody may have who finds the door; nothing in it is of a sitting
	Linked  bool   // the code is part of the address that is handed over, and long; otherwise somebody types it
	Guests  int    // conversations at once; from one more on the oldest ends. Zero is 1

	// Meet has a conversation with a page that has been let in, in a goroutine of its own. It is over when Meet returns, and Meet has to return once
	// ctx has ended. It has to read (Guest.Read) for as long as it goes on, since that is how it is found out that nobody is there any more.
	Meet func(ctx context.Context, g *Guest)
}

// Door is the way in to a page of a running sitting. It lets in who knows the code, once; from then on the page that has used it, by a
// cookie and by a key that only pages of this very address can read, since browsers hand cookies to every port of a machine. All that is
// not of that page is refused with a line that says why, and costs next to nothing.
type Door struct {
	options  DoorOptions
	listener net.Listener
	at       netip.AddrPort
	server   *http.Server
	cookie   string // name of the cookie: another one for each door, since those of all ports of a machine lie together
	ended    context.Context
	end      context.CancelFunc
	guests   sync.WaitGroup

	tries    *tries
	requests *rate.Limiter
	lives    *rate.Limiter

	mu      sync.Mutex
	code    string   // that lets in the next one; empty: it has been used
	handed  string   // that lets in a browser that it has been handed to; empty: none does
	pass    string   // the cookie of whoever is let in; empty: nobody is
	key     string   // and the key
	present []*Guest // the oldest first
	shut    bool     // nobody comes in any more
	came    chan struct{}
}

// OpenDoor begins to listen. Whoever has opened a door closes it.
func OpenDoor(ctx context.Context, o DoorOptions) (*Door, error) {
	if o.Address == "" {
		o.Address = Loopback
	}
	a, err := parseAddress(o.Address)
	if err != nil {
		return nil, err
	}
	l, err := a.listen(ctx)
	if err != nil {
		return nil, err
	}
	return newDoor(o, l, l.Addr().(*net.TCPAddr).AddrPort()), nil
}

// newDoor is a door in front of a listener, which is reached at an address.
func newDoor(o DoorOptions, l net.Listener, at netip.AddrPort) *Door {
	o.Guests = max(o.Guests, 1)
	d := &Door{
		options: o, listener: newPaced(l), at: at, cookie: "hornlark-" + strings.ToLower(newCode(8)),
		tries: newTries(), requests: requestRate.limiter(), lives: liveRate.limiter(), came: make(chan struct{}),
	}
	d.Renew()
	d.ended, d.end = context.WithCancel(context.Background())
	d.server = &http.Server{
		Handler: d, ReadHeaderTimeout: headersWithin, ReadTimeout: answerWithin, WriteTimeout: answerWithin, IdleTimeout: idleFor, MaxHeaderBytes: maxHeaders,
		ErrorLog:    log.New(io.Discard, "", 0), // what a stranger does wrong is not for the trainee's screen
		BaseContext: func(net.Listener) context.Context { return d.ended },
	}
	go d.server.Serve(d.listener)
	return d
}

// Close has everybody leave, with a reason that their page shows, and listens no more. It waits a second for their answers, and for no more.
func (d *Door) Close(why string) {
	d.mu.Lock()
	d.shut = true
	for _, g := range d.present {
		go g.Close(why)
	}
	d.mu.Unlock()
	gone := make(chan struct{})
	go func() { d.guests.Wait(); close(gone) }()
	select {
	case <-gone:
	case <-time.After(goodbyeWithin):
	}
	d.end()
	d.server.Close()
}

// Addresses are where the page is found.
func (d *Door) Addresses() []string { return reached(d.at, net.InterfaceAddrs) }

// Links are the same with the code that has not been used, for whoever opens one: a browser keeps what follows # to itself.
func (d *Door) Links() []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	var out []string
	for _, address := range d.Addresses() {
		out = append(out, address+"#"+d.code)
	}
	return out
}

// Warning is what has to be known of where it listens; empty: only this machine can reach it.
func (d *Door) Warning() string {
	if d.at.Addr().IsLoopback() {
		return ""
	}
	return Insecure
}

// Code is what lets in the next one, as it is written down; empty once it has been used.
func (d *Door) Code() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return shownCode(d.code)
}

// Renew makes another code, and gives it as it is written down. Who comes in by it takes the place of who is in.
func (d *Door) Renew() string {
	length := typedCode
	if d.options.Linked {
		length = linkedCode
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.code = newCode(length)
	return shownCode(d.code)
}

// Came is closed once a conversation has begun for the first time.
func (d *Door) Came() <-chan struct{} { return d.came }

// ServeHTTP answers whatever comes to the door.
func (d *Door) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if !d.requests.Allow() {
		w.Header().Set("Connection", "close")
		refuse(w, http.StatusTooManyRequests, "there are too many requests; wait a second")
		return
	}
	d.guard(w.Header(), r)
	if status, why := d.stranger(r); why != "" {
		refuse(w, status, why)
		return
	}
	switch r.URL.Path {
	case "/enter":
		d.enter(w, r)
	case "/known":
		if status, why := d.stands(r, r.Header.Get("Hornlark-Key")); why != "" {
			refuse(w, status, why)
			return
		}
		w.WriteHeader(http.StatusNoContent)
	case "/live":
		d.live(w, r)
	case "/favicon.ico": // browsers ask, and complain
		w.WriteHeader(http.StatusNoContent)
	default:
		d.file(w, r)
	}
}

// guard sets what a browser is to hold to: nothing but what this door serves, nothing kept, in nobody's frame.
func (d *Door) guard(h http.Header, r *http.Request) {
	talk := "'self'"
	if at, err := netip.ParseAddrPort(r.Host); err == nil {
		talk += " ws://" + at.String() // older browsers do not count it as 'self'
	}
	h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src "+talk+
		"; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
	h.Set("Cache-Control", "no-store")
}

// stranger says what is wrong with a request whoever makes it; empty: nothing.
func (d *Door) stranger(r *http.Request) (status int, why string) {
	if !d.ours(r.Host) {
		// A name that somebody has pointed at this machine would make their page one of ours.
		return http.StatusMisdirectedRequest, "this is reached by its address in figures, as the terminal shows it"
	}
	if origin := r.Header.Get("Origin"); origin != "" && !strings.EqualFold(origin, "http://"+r.Host) {
		return http.StatusForbidden, "a page from elsewhere asked for this"
	}
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
	default: // a link may lead here from elsewhere, and nothing else
		if r.Header.Get("Sec-Fetch-Mode") != "navigate" || r.Method != http.MethodGet {
			return http.StatusForbidden, "a page from elsewhere asked for this"
		}
	}
	want := http.MethodGet
	if r.URL.Path == "/enter" {
		want = http.MethodPost
	}
	if r.Method != want && !(want == http.MethodGet && r.Method == http.MethodHead) {
		return http.StatusMethodNotAllowed, "that cannot be done here"
	}
	return 0, ""
}

// ours reports whether a request was meant for this door: by an address in figures or as localhost, of this machine if it listens to that
// alone. The port may be another one, that of a tunnel.
func (d *Door) ours(host string) bool {
	name, port, err := net.SplitHostPort(host)
	if err != nil {
		name, port = host, "80"
	}
	if strings.Trim(port, "0123456789") != "" || port == "" {
		return false
	}
	if strings.EqualFold(name, "localhost") {
		return true
	}
	at, err := netip.ParseAddr(strings.Trim(name, "[]"))
	return err == nil && at.Zone() == "" && (at.Unmap().IsLoopback() || !d.at.Addr().IsLoopback())
}

// enter lets in who knows the code.
func (d *Door) enter(w http.ResponseWriter, r *http.Request) {
	if r.Header.Get("Origin") == "" {
		refuse(w, http.StatusForbidden, "only its own page can enter")
		return
	}
	if kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type")); kind != "application/json" {
		refuse(w, http.StatusUnsupportedMediaType, "only its own page can enter")
		return
	}
	ok, after := d.tries.may(r.RemoteAddr)
	if !ok {
		seconds := int(after.Seconds()) + 1
		w.Header().Set("Retry-After", fmt.Sprint(seconds))
		refuse(w, http.StatusTooManyRequests, fmt.Sprintf("too many codes were tried; try again in %d s", seconds))
		return
	}
	var asked struct{ Code string }
	body := json.NewDecoder(http.MaxBytesReader(w, r.Body, maxBody))
	body.DisallowUnknownFields()
	if body.Decode(&asked) != nil {
		refuse(w, http.StatusBadRequest, "only its own page can enter")
		return
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if why := d.lets(r, meantCode(asked.Code)); why != "" {
		refuse(w, http.StatusForbidden, why)
		return
	}
	d.code, d.handed, d.pass, d.key = "", "", newCode(linkedCode), newCode(linkedCode)
	for _, g := range d.present {
		go g.Close("somebody else has come in by a new code")
	}
	d.present = nil
	http.SetCookie(w, &http.Cookie{Name: d.cookie, Value: d.pass, Path: "/", MaxAge: 12 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	w.Header().Set("Content-Type", "application/json")
	json.NewEncoder(w).Encode(map[string]string{"key": d.key})
}

// stands says why a request is not of the page that has been let in; empty: it is.
func (d *Door) stands(r *http.Request, key string) (status int, why string) {
	d.mu.Lock()
	pass, want := d.pass, d.key
	d.mu.Unlock()
	cookie, err := r.Cookie(d.cookie)
	if pass == "" || err != nil || !same(cookie.Value, pass) || !same(key, want) {
		return http.StatusUnauthorized, "enter the code first"
	}
	return 0, ""
}

// liveProtocol is the name of the protocol of the conversation; beside it the page sends its key, as a protocol that is not chosen.
const liveProtocol = "hornlark"

// live begins a conversation.
func (d *Door) live(w http.ResponseWriter, r *http.Request) {
	if r.Header.Get("Origin") == "" {
		refuse(w, http.StatusForbidden, "only its own page can talk")
		return
	}
	protocols := strings.Split(r.Header.Get("Sec-WebSocket-Protocol"), ",")
	if status, why := d.stands(r, strings.TrimSpace(protocols[len(protocols)-1])); why != "" {
		refuse(w, status, why)
		return
	}
	if !d.lives.Allow() {
		refuse(w, http.StatusTooManyRequests, "this was connected too often; wait some seconds")
		return
	}
	c, err := websocket.Accept(w, r, &websocket.AcceptOptions{Subprotocols: []string{liveProtocol}})
	if err != nil {
		return // the library has answered
	}
	ctx, cancel := context.WithCancel(d.ended)
	g := &Guest{conn: c, end: cancel, messages: messageRate.limiter()}
	defer g.Close("the conversation is over")
	if !d.receive(g) {
		return
	}
	defer d.leave(g)
	c.SetReadLimit(MaxMessage)
	go g.watch(ctx)
	d.options.Meet(ctx, g)
}

// receive counts a guest in. Who comes last is most likely the one who is there: of too many the first ones leave.
func (d *Door) receive(g *Guest) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.shut {
		return false
	}
	d.guests.Add(1)
	for len(d.present) >= d.options.Guests {
		go d.present[0].Close("this page was opened once more, and goes on there")
		d.present = d.present[1:]
	}
	d.present = append(d.present[:len(d.present):len(d.present)], g)
	select {
	case <-d.came:
	default:
		close(d.came)
	}
	return true
}

// leave counts a guest out.
func (d *Door) leave(g *Guest) {
	d.mu.Lock()
	defer d.mu.Unlock()
	defer d.guests.Done()
	var rest []*Guest
	for _, other := range d.present {
		if other != g {
			rest = append(rest, other)
		}
	}
	d.present = rest
}

// file serves what anybody may have.
func (d *Door) file(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(path.Clean(r.URL.Path), "/")
	if name == "" {
		name = d.options.Page
	}
	content, err := fs.ReadFile(d.options.Files, name)
	kind := kinds[path.Ext(name)]
	if err != nil || kind == "" {
		refuse(w, http.StatusNotFound, "there is no such page")
		return
	}
	w.Header().Set("Content-Type", kind)
	w.Write(content)
}

// kinds are what files can be.
var kinds = map[string]string{
	".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".svg": "image/svg+xml",
}

// refuse says why something is not done, as a page can show it.
func refuse(w http.ResponseWriter, status int, why string) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	json.NewEncoder(w).Encode(map[string]string{"why": why})
}
