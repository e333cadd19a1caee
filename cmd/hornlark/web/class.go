package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"time"

	"github.com/coder/websocket"

	"hornlark/drill/inert"
)

// MostPlaces is how many sittings a class has at most.
const MostPlaces = 12

// Bounds on what a class takes from a station.
const (
	stationWithin  = 5 * time.Second // that it may take to answer
	stationMessage = 4 << 20         // bytes of a message of it
	mostLines      = 20_000          // of a timeline: a sitting has some thousand
	glanceEvery    = time.Second     // between two views of a sitting that is not looked at
	triesEvery     = 2 * time.Second // between two tries to reach one
)

// Class is one page for the stations of several sittings. It goes to each of them as a page of it would, and hands on what they tell, so that
// the browser talks to nobody but the class, and each sitting lets in nobody but whoever has its code.
type Class struct {
	door   *Door
	hub    *Hub
	client *http.Client
	over   context.Context
	end    context.CancelFunc
	going  sync.WaitGroup

	mu     sync.Mutex
	places []*place
	looked int // number of the sitting that is looked at
}

// place is one sitting of a class.
type place struct {
	class   *Class
	number  int
	address string // http://HOST:PORT

	mu     sync.Mutex
	state  string // in words
	wants  bool   // a code has to be entered
	code   string // that has been, and not been used yet
	cookie string
	key    string
	conn   *websocket.Conn // nil while it is not connected
	wake   chan struct{}
	latest map[string]json.RawMessage // by its kind: what a page that comes is told
	lines  []json.RawMessage
	seen   time.Time // when the page last got a view
}

// OpenClass opens a page at an address, as somebody wrote it. Whoever has opened a class closes it.
func OpenClass(ctx context.Context, address string) (*Class, error) {
	c := &Class{hub: NewHub(), client: &http.Client{
		Timeout: stationWithin, Transport: &http.Transport{}, // no proxy: what is meant is that very address
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
	c.over, c.end = context.WithCancel(context.Background())
	var err error
	c.door, err = OpenDoor(ctx, DoorOptions{Address: address, Page: "class.html", Files: assets, Linked: true, Meet: c.meet})
	if err != nil {
		c.end()
		return nil, err
	}
	return c, nil
}

// Door is the way in.
func (c *Class) Door() *Door { return c.door }

// Close leaves all sittings, which go on, and closes the page.
func (c *Class) Close(why string) {
	c.end()
	c.hub.Close(why)
	c.door.Close(why)
	c.going.Wait()
}

// ParsePlace reads where a station is: an address with a port, or the whole of what a browser is given, with or without the code.
func ParsePlace(written string) (address, code string, err error) {
	rest := strings.TrimPrefix(written, "http://")
	rest, code, _ = strings.Cut(rest, "#")
	at, err := parseAddress(strings.TrimSuffix(rest, "/"))
	switch {
	case err != nil:
		return "", "", err
	case at.port == 0, at.host.IsUnspecified():
		return "", "", fmt.Errorf("%q is not where a station can be reached: write the address and the port that its terminal shows, as 192.168.1.7:4700", written)
	case len(code) > 64:
		return "", "", fmt.Errorf("the code in %.80q is too long", written)
	}
	return "http://" + netip.AddrPortFrom(at.host, at.port).String(), code, nil
}

// Add takes a sitting into the class, or uses the code for one that is there. An error says what is wrong with the address, or that there are
// too many.
func (c *Class) Add(written, code string) error {
	address, linked, err := ParsePlace(written)
	if err != nil {
		return err
	}
	if code == "" {
		code = linked
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.over.Err() != nil {
		return context.Canceled
	}
	for _, p := range c.places {
		if p.address == address {
			p.use(code)
			return nil
		}
	}
	if len(c.places) == MostPlaces {
		return fmt.Errorf("a class has %d sittings at most", MostPlaces)
	}
	p := &place{class: c, number: len(c.places) + 1, address: address, code: code, state: "connecting", wake: make(chan struct{}, 1), latest: map[string]json.RawMessage{}}
	c.places = append(c.places, p)
	c.going.Go(func() { p.attend(c.over) })
	return nil
}

// use has a code tried.
func (p *place) use(code string) {
	p.mu.Lock()
	p.code = code
	p.mu.Unlock()
	select {
	case p.wake <- struct{}{}:
	default:
	}
}

// attend is connected to the station of a sitting, again and again, until the class is over.
func (p *place) attend(ctx context.Context) {
	for ctx.Err() == nil {
		err := p.visit(ctx)
		wait := triesEvery
		var closed websocket.CloseError
		if errors.As(err, &closed) && closed.Code == websocket.StatusPolicyViolation {
			p.say(inert.Line(closed.Reason), true)
			wait = time.Hour
		} else if refused := (*turnedAway)(nil); errors.As(err, &refused) {
			p.say(inert.Line(refused.why), true)
			wait = time.Hour // until a code is entered
		} else if ctx.Err() == nil {
			p.say("it cannot be reached; it is tried again", false)
		}
		again := time.NewTimer(wait)
		select {
		case <-ctx.Done():
		case <-p.wake:
		case <-again.C:
		}
		again.Stop()
	}
}

// turnedAway is that a station has refused something, and why.
type turnedAway struct{ why string }

func (r *turnedAway) Error() string { return r.why }

// say tells the page how it is with a sitting.
func (p *place) say(state string, wants bool) {
	p.mu.Lock()
	p.state, p.wants = state, wants
	p.mu.Unlock()
	p.class.hub.Tell(encoded(p.told()))
}

// visit enters, if it has a code, and hands on what the station tells until the conversation ends.
func (p *place) visit(ctx context.Context) error {
	if err := p.enter(ctx); err != nil {
		return err
	}
	p.mu.Lock()
	key, cookie := p.key, p.cookie
	p.mu.Unlock()
	if key == "" {
		return &turnedAway{"enter the code that its terminal shows"}
	}
	within, cancel := context.WithTimeout(ctx, stationWithin)
	conn, answer, err := websocket.Dial(within, strings.Replace(p.address, "http", "ws", 1)+"/live", &websocket.DialOptions{
		HTTPClient: &http.Client{Transport: p.class.client.Transport}, Subprotocols: []string{liveProtocol, key},
		HTTPHeader: http.Header{"Origin": {p.address}, "Cookie": {cookie}},
	})
	cancel()
	if answer != nil && answer.StatusCode == http.StatusUnauthorized {
		return &turnedAway{"somebody else has come in by a new code, or it is another sitting: enter its code"}
	}
	if err != nil {
		return err
	}
	defer conn.CloseNow()
	conn.SetReadLimit(stationMessage)
	p.mu.Lock()
	p.conn = conn
	p.mu.Unlock()
	defer func() {
		p.mu.Lock()
		p.conn = nil
		p.mu.Unlock()
	}()
	p.say("connected", false)
	for {
		_, body, err := conn.Read(ctx)
		if err != nil {
			return err
		}
		p.hear(body)
	}
}

// enter uses the code, if there is one that has not been used.
func (p *place) enter(ctx context.Context) error {
	p.mu.Lock()
	code := p.code
	p.code = ""
	p.mu.Unlock()
	if code == "" {
		return nil
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, p.address+"/enter", strings.NewReader(string(encoded(map[string]string{"code": code}))))
	if err != nil {
		return err
	}
	r.Header.Set("Origin", p.address)
	r.Header.Set("Content-Type", "application/json")
	answer, err := p.class.client.Do(r)
	if err != nil {
		var failed *url.Error
		if errors.As(err, &failed) && ctx.Err() == nil {
			p.mu.Lock()
			p.code = code // it has not been seen by anybody
			p.mu.Unlock()
		}
		return err
	}
	defer answer.Body.Close()
	var got struct{ Key, Why string }
	body := json.NewDecoder(http.MaxBytesReader(nil, answer.Body, maxBody))
	if body.Decode(&got) != nil || answer.StatusCode != http.StatusOK || got.Key == "" || len(answer.Cookies()) != 1 {
		if got.Why == "" {
			got.Why = "what answers there is no station of ours"
		}
		return &turnedAway{got.Why}
	}
	cookie := answer.Cookies()[0]
	p.mu.Lock()
	p.key, p.cookie = got.Key, cookie.Name+"="+cookie.Value
	p.mu.Unlock()
	return nil
}

// hear takes a message of the station: it is kept for a page that comes, and handed on to one that is there.
func (p *place) hear(body []byte) {
	var m struct {
		Kind  string            `json:"kind"`
		From  int               `json:"from"`
		Lines []json.RawMessage `json:"lines"`
	}
	if json.Unmarshal(body, &m) != nil {
		return // no station of ours says that
	}
	now, looked := time.Now(), p.class.lookedAt() == p.number
	p.mu.Lock()
	hand := true
	switch m.Kind {
	case "scene":
		hand = looked || now.Sub(p.seen) >= glanceEvery
		if hand {
			p.seen = now
		}
		p.latest[m.Kind] = body
	case "hello":
		p.latest, p.lines = map[string]json.RawMessage{m.Kind: body}, nil
	case "around", "items", "stage":
		p.latest[m.Kind] = body
	case "lines":
		if m.From < 0 || m.From > len(p.lines) || len(p.lines)+len(m.Lines) > mostLines {
			hand = false
			break
		}
		p.lines = append(p.lines[:m.From], m.Lines...)
	}
	p.mu.Unlock()
	if hand {
		p.class.hub.Tell(encoded(fromPlace{"from", p.number, body}))
	}
}

func (c *Class) lookedAt() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.looked
}

// fromPlace is a message of one of the stations.
type fromPlace struct {
	Kind string          `json:"kind"` // from
	N    int             `json:"n"`
	M    json.RawMessage `json:"m"`
}

// placeTold is how it is with a sitting.
type placeTold struct {
	Kind      string `json:"kind"` // place
	N         int    `json:"n"`
	Address   string `json:"address"`
	State     string `json:"state"`
	Connected bool   `json:"connected"`
	Wants     bool   `json:"wants"` // a code
}

func (p *place) told() placeTold {
	p.mu.Lock()
	defer p.mu.Unlock()
	return placeTold{"place", p.number, p.address, p.state, p.state == "connected", p.wants}
}

// meet has the conversation with the page.
func (c *Class) meet(ctx context.Context, g *Guest) {
	c.hub.Serve(ctx, Talk{Peer: g, Greet: c.greet, Take: c.take})
}

// greet tells a page that has come all that there is.
func (c *Class) greet(l *Line) {
	c.mu.Lock()
	places := append([]*place(nil), c.places...)
	c.mu.Unlock()
	l.Tell(encoded(map[string]any{"kind": "class", "most": MostPlaces}))
	for _, p := range places {
		l.Tell(encoded(p.told()))
		p.mu.Lock()
		for _, kind := range []string{"hello", "around"} {
			if m := p.latest[kind]; m != nil {
				l.Tell(encoded(fromPlace{"from", p.number, m}))
			}
		}
		l.Tell(encoded(fromPlace{"from", p.number, encoded(map[string]any{"kind": "lines", "from": 0, "lines": append([]json.RawMessage{}, p.lines...)})}))
		for _, kind := range []string{"items", "stage", "scene"} {
			if m := p.latest[kind]; m != nil {
				l.Tell(encoded(fromPlace{"from", p.number, m}))
			}
		}
		p.mu.Unlock()
	}
}

// toClass is a message of the page of a class.
type toClass struct {
	Kind    string          `json:"kind"` // to, look or add
	N       int             `json:"n"`    // to, look: the number of a sitting
	M       json.RawMessage `json:"m"`    // to: what its station is to be sent
	Address string          `json:"address"`
	Code    string          `json:"code"`
}

// take takes a message of the page.
func (c *Class) take(l *Line, body []byte) {
	var m toClass
	refuse := func(why string) { l.Tell(encoded(map[string]string{"kind": "refused", "why": why})) }
	in := json.NewDecoder(strings.NewReader(string(body)))
	in.DisallowUnknownFields()
	if err := in.Decode(&m); err != nil || in.More() {
		refuse("that message is not one of this page")
		return
	}
	switch m.Kind {
	case "add":
		if err := c.Add(m.Address, m.Code); err != nil {
			refuse(err.Error())
		}
	case "look":
		c.mu.Lock()
		c.looked = m.N
		c.mu.Unlock()
	case "to":
		c.mu.Lock()
		var p *place
		if m.N >= 1 && m.N <= len(c.places) {
			p = c.places[m.N-1]
		}
		c.mu.Unlock()
		if p == nil || !p.send(c.over, m.M) {
			var asked struct {
				ID int `json:"id"`
			}
			_ = json.Unmarshal(m.M, &asked) // without a number nobody waits for an answer
			l.Tell(encoded(fromPlace{"from", m.N, encoded(answered{"answer", asked.ID, false, "that sitting is not connected"})}))
		}
	default:
		refuse("there is nothing of that kind to be done")
	}
}

// send sends a station a message, and reports whether it could.
func (p *place) send(ctx context.Context, m []byte) bool {
	p.mu.Lock()
	conn := p.conn
	p.mu.Unlock()
	if conn == nil || len(m) == 0 {
		return false
	}
	within, cancel := context.WithTimeout(ctx, writeWithin)
	defer cancel()
	return conn.Write(within, websocket.MessageText, m) == nil
}
