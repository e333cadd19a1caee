package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"sync"
	"time"
	"unicode/utf8"

	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/screen"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/inert"
	"hornlark/drill/scenario"
)

// The pace of a panel.
const (
	livePace   = 15 * time.Millisecond  // between two views at most: every step of the aircraft has one
	quietPace  = 100 * time.Millisecond // between two while nobody is connected, and between two scenes that differ in nothing but their time
	firstEvery = 100 * time.Millisecond // between the first exchanges of the clock
	laterEvery = 300 * time.Millisecond // and between those after them, which also tell the page that the sitting is there
	firstOnes  = 16                     // that come quickly
	goneFor    = 500 * time.Millisecond // that there may be no page before the sitting is paused: one that is loaded anew is there again by then
)

// PanelOptions say what a panel shows.
type PanelOptions struct {
	Profile *aircraft.Profile
	Title   string // of the scenario
	Caution string // over this aircraft
	Policy  scenario.Policy
	Help    scenario.Help
	Layout  screen.Layout
	Silent  bool // there is no sound, and the page says so

	// Level makes the sound louder or softer by a step, and says what it is now. It is called from a goroutine of the page's. Nil is none.
	Level func(up bool) string

	// Inputs gets what is pressed on the page.
	Inputs chan<- desk.Input

	// News is told what becomes of the page, in a line, where somebody reads lines meanwhile. Nil is nobody.
	News func(line string)
}

// Panel is the page on which a running sitting is seen, and pressed. It is a desk.Watcher, and can be on several screens at once no more
// than a cockpit can: a page that is opened anew takes the place of the one before.
type Panel struct {
	options PanelOptions
	door    *Door
	hub     *Hub
	hello   hello
	ready   chan struct{}
	readied sync.Once
	over    context.Context
	end     context.CancelFunc

	mu     sync.Mutex
	begun  bool
	ended  bool
	sends  *Sends
	notice string
	silent bool
}

// hello is the first message to a page: what it needs to draw anything.
type hello struct {
	Kind    string       `json:"kind"`
	Face    *Face        `json:"face"`
	Words   screen.Words `json:"words"`
	Title   string       `json:"title"`
	Caution string       `json:"caution"`
	Keys    [][2]string  `json:"keys"` // that are the same on every aircraft: each, and what it does
	Level   bool         `json:"level"`
	Begun   bool         `json:"begun"`
	Notice  string       `json:"notice"`
	Silent  bool         `json:"silent"`
}

// OpenPanel listens for a page, at a port of this machine that is free. Whoever has opened a panel closes it.
func OpenPanel(ctx context.Context, o PanelOptions) (*Panel, error) {
	face := NewFace(o.Profile, o.Layout, o.Help)
	p := &Panel{
		options: o, hub: NewHub(), ready: make(chan struct{}), sends: NewSends(face), silent: o.Silent,
		hello: hello{
			Kind: "hello", Face: face, Words: screen.WordsOf(o.Policy, o.Layout), Title: inert.Line(o.Title), Caution: inert.Line(o.Caution),
			Keys: screen.PageKeys(o.Layout), Level: o.Level != nil,
		},
	}
	p.over, p.end = context.WithCancel(context.Background())
	var err error
	p.door, err = OpenDoor(ctx, DoorOptions{Name: "the panel", Page: "panel.html", Files: assets, Linked: true, Meet: p.meet})
	return p, err
}

// Link is where the page is found, by whoever comes first.
func (p *Panel) Link() string { return p.door.Links()[0] }

// Ready is closed once a page is there, knows the time, and whoever looks at it wants to begin.
func (p *Panel) Ready() <-chan struct{} { return p.ready }

// Begin tells the page that the sitting has begun.
func (p *Panel) Begin() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.begun = true
	p.hub.Tell([]byte(`{"kind":"begun"}`))
}

// Report has the page show the report, in lines.
func (p *Panel) Report(lines []string) {
	clean := make([]string, len(lines))
	for i, line := range lines {
		clean[i] = inert.Line(line)
	}
	p.hub.Tell(message("report", "lines", clean))
}

// Close has the page leave once it has got all, with a reason that it shows, and listens no more.
func (p *Panel) Close(why string) {
	p.mu.Lock()
	p.ended = true
	p.mu.Unlock()
	p.hub.Close(why)
	for began := time.Now(); p.hub.Count() > 0 && time.Since(began) < goodbyeWithin; {
		time.Sleep(5 * time.Millisecond)
	}
	p.end()
	p.door.Close(why)
}

// Pace is how long the panel wants between two views at most.
func (p *Panel) Pace() time.Duration {
	if p.hub.Count() == 0 {
		return quietPace
	}
	return livePace
}

// Update shows a view. What is sent, and when, hangs on what there is to be seen and on the time of the sitting alone.
func (p *Panel) Update(v *drill.View) {
	if p.hub.Count() == 0 {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	said, scene := p.sends.Of(v)
	if said != nil {
		p.hub.Tell(said)
	}
	if scene != nil {
		p.hub.Scene(scene)
	}
}

// Notice has the page show a line that is not of the sitting.
func (p *Panel) Notice(text string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if text != p.notice {
		p.notice = text
		p.hub.Tell(message("notice", "text", inert.Line(text)))
	}
}

// Silent tells the page whether anything is heard.
func (p *Panel) Silent(silent bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if silent != p.silent {
		p.silent = silent
		p.hub.Tell(message("silent", "is", silent))
	}
}

// message is a message with one thing in it.
func message(kind, name string, value any) []byte {
	body, err := json.Marshal(map[string]any{"kind": kind, name: value})
	if err != nil {
		panic(err) // strings, flags and lines can always be written
	}
	return body
}

// greet tells a page that has come what there is.
func (p *Panel) greet(l *Line) {
	p.mu.Lock()
	defer p.mu.Unlock()
	h := p.hello
	h.Begun, h.Notice, h.Silent = p.begun, inert.Line(p.notice), p.silent
	body, err := json.Marshal(h)
	if err != nil {
		panic(err) // a profile that has been compiled has finite figures alone
	}
	l.Tell(body)
	p.sends.Anew() // so that the next view is sent whatever was before
}

// meet has the conversation with a page.
func (p *Panel) meet(ctx context.Context, g *Guest) {
	c := &conversation{panel: p, clock: &PageClock{}, asked: map[int]time.Time{}}
	p.news("The page is there.")
	p.hub.Serve(ctx, Talk{Peer: g, Greet: p.greet, Take: c.take, Beat: c.beat, Every: c.every})
	select {
	case <-p.over.Done():
	case <-time.After(goneFor):
		p.left()
	}
}

// left pauses the sitting where nobody sees it any more.
func (p *Panel) left() {
	p.mu.Lock()
	began, ended := p.begun, p.ended
	p.mu.Unlock()
	if p.hub.Count() > 0 || ended {
		return
	}
	p.door.Renew()
	held := ""
	if began {
		held = "; the sitting is paused"
		p.act(desk.Input{At: time.Now(), Deed: desk.Suspends})
	}
	p.news(fmt.Sprintf("The page has gone%s. Load it again, or open this one: %s", held, p.Link()))
}

func (p *Panel) news(line string) {
	if p.options.News != nil {
		p.options.News(line)
	}
}

// act hands on what is done on the page, while there is a sitting.
func (p *Panel) act(in desk.Input) {
	p.mu.Lock()
	goes := p.begun && !p.ended
	p.mu.Unlock()
	if !goes {
		return
	}
	select {
	case p.options.Inputs <- in:
	case <-p.over.Done():
	}
}

// conversation is what is known of one page while it is connected.
type conversation struct {
	panel *Panel
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
	Kind  string  `json:"kind"`
	N     int     `json:"n"`     // clock: which reading it is
	At    float64 `json:"at"`    // clock, press: ms of the page's clock
	Step  float64 `json:"step"`  // ready: ms, in which that counts
	Key   string  `json:"key"`   // press: a drill.Key; empty: only a character of a reading
	Shift bool    `json:"shift"` // press
	Char  string  `json:"char"`  // press: the character that the key sends, if it sends one
	Up    bool    `json:"up"`    // level
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
	p := c.panel
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
	case "ready":
		p.readied.Do(func() { close(p.ready) })
	case "press":
		return c.press(m, arrived)
	case "level":
		if p.options.Level != nil {
			l.Tell(message("level", "text", inert.Line(p.options.Level(m.Up))))
		}
	case "leave":
		p.act(desk.Input{At: arrived, Deed: desk.Leaves})
	default:
		return false
	}
	return true
}

// press hands a press on, with the time at which it happened.
func (c *conversation) press(m *heard, arrived time.Time) bool {
	press := drill.Press{}
	if m.Key != "" {
		var err error
		name := m.Key
		if press, err = drill.ParsePress(name); err != nil {
			return false
		}
		press.Shift = m.Shift && len(m.Key) == 1
	}
	char, size := utf8.DecodeRuneInString(m.Char)
	if size != len(m.Char) {
		return false
	}
	if m.Char == "" {
		char = 0
	}
	in := desk.Input{}
	event, reading := screen.Struck(press, char)
	in.Event, in.Reading = event, reading
	in.At, in.Uncertainty = c.clock.At(ms(m.At), arrived)
	c.panel.act(in)
	return true
}

// ms is a time in milliseconds as a page gives it.
func ms(t float64) time.Duration {
	if t != t || t > 1e12 || t < -1e12 {
		return -1
	}
	return time.Duration(t * float64(time.Millisecond))
}
