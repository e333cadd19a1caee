package web

import (
	"context"
	"encoding/json"
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

	// Before stands over the title until the sitting begins: which one of several it is.
	Before string

	// Leave is what a way out before the sitting begins is called; empty: there is none on the page.
	Leave string

	// News is told what becomes of the page, in a line, where somebody reads lines meanwhile. Nil is nobody. A site has its own.
	News func(line string)
}

// Panel is the page on which a running sitting is seen, and pressed. It is a desk.Watcher, and can be on several screens at once no more
// than a cockpit can: a page that is opened anew takes the place of the one before.
type Panel struct {
	options PanelOptions
	site    *Site
	owner   bool // of the site: nothing else is shown on it
	hub     *Hub
	hello   hello
	ready   chan struct{}
	readied sync.Once
	left    chan struct{}
	leaves  sync.Once
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
	Before  string       `json:"before"`
	Leave   string       `json:"leave"`
	Begun   bool         `json:"begun"`
	Notice  string       `json:"notice"`
	Silent  bool         `json:"silent"`
}

// OpenPanel listens for a page that shows nothing but this panel. Whoever has opened a panel closes it.
func OpenPanel(ctx context.Context, o PanelOptions) (*Panel, error) {
	site, err := OpenSite(ctx, SiteOptions{News: o.News})
	if err != nil {
		return nil, err
	}
	p := site.Panel(o)
	p.owner = true
	return p, nil
}

// Panel has the page show the panel of a sitting. Whoever has opened a panel closes it.
func (s *Site) Panel(o PanelOptions) *Panel {
	face := NewFace(o.Profile, o.Layout, o.Help)
	p := &Panel{
		options: o, site: s, hub: s.hub, ready: make(chan struct{}), left: make(chan struct{}), sends: NewSends(face), silent: o.Silent,
		hello: hello{
			Kind: "hello", Face: face, Words: screen.WordsOf(o.Policy, o.Layout), Title: inert.Line(o.Title), Caution: inert.Line(o.Caution),
			Keys: screen.PageKeys(o.Layout), Level: o.Level != nil, Before: inert.Line(o.Before), Leave: inert.Line(o.Leave),
		},
	}
	p.over, p.end = context.WithCancel(context.Background())
	s.turnTo(p)
	return p
}

// Link is where the page is found, by whoever comes first.
func (p *Panel) Link() string { return p.site.Link() }

// Ready is closed once a page is there, knows the time, and whoever looks at it wants to begin.
func (p *Panel) Ready() <-chan struct{} { return p.ready }

// Site is where the panel is shown.
func (p *Panel) Site() *Site { return p.site }

// Left is closed once whoever looks at the page leaves before the sitting has begun.
func (p *Panel) Left() <-chan struct{} { return p.left }

// Begin tells the page that the sitting has begun.
func (p *Panel) Begin() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.begun = true
	p.hub.Tell([]byte(`{"kind":"begun"}`))
}

// Report has the page show the report, in lines.
func (p *Panel) Report(lines []string) {
	p.hub.Tell(message("report", "lines", clean(lines)))
}

// Close ends the panel. Where nothing else is shown on its site, the page leaves once it has got all, with a reason that it shows; otherwise it
// shows what it showed last until there is something else.
func (p *Panel) Close(why string) {
	p.mu.Lock()
	p.ended = true
	p.mu.Unlock()
	p.end()
	if p.owner {
		p.site.Close(why)
	}
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

// greeting is what a page is told that has come: what there is.
func (p *Panel) greeting() [][]byte {
	p.mu.Lock()
	defer p.mu.Unlock()
	h := p.hello
	h.Begun, h.Notice, h.Silent = p.begun, inert.Line(p.notice), p.silent
	body, err := json.Marshal(h)
	if err != nil {
		panic(err) // a profile that has been compiled has finite figures alone
	}
	p.sends.Anew() // so that the next view is sent whatever was before
	return [][]byte{body}
}

// isOver reports whether the sitting has ended.
func (p *Panel) isOver() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.ended
}

// suspend pauses the sitting, and reports whether there is one.
func (p *Panel) suspend() bool {
	p.mu.Lock()
	begun := p.begun
	p.mu.Unlock()
	if begun {
		p.act(desk.Input{At: time.Now(), Deed: desk.Suspends})
	}
	return begun
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

// nowhere is the panel of no sitting: what belongs to a panel and comes too late.
var nowhere = &Panel{ended: true, ready: make(chan struct{}), left: make(chan struct{})}

// does does what a message of a page says that is about a sitting, and reports whether it is one.
func (p *Panel) does(c *conversation, l *Line, m *heard, arrived time.Time) bool {
	switch m.Kind {
	case "ready":
		p.readied.Do(func() { close(p.ready) })
	case "press":
		return p.press(c.clock, m, arrived)
	case "level":
		if p.options.Level != nil {
			l.Tell(message("level", "text", inert.Line(p.options.Level(m.Up))))
		}
	case "leave":
		p.mu.Lock()
		before := !p.begun
		p.mu.Unlock()
		if before {
			p.leaves.Do(func() { close(p.left) })
			break
		}
		p.act(desk.Input{At: arrived, Deed: desk.Leaves})
	default:
		return false
	}
	return true
}

// press hands a press on, with the time at which it happened.
func (p *Panel) press(clock *PageClock, m *heard, arrived time.Time) bool {
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
	in.At, in.Uncertainty = clock.At(ms(m.At), arrived)
	p.act(in)
	return true
}
