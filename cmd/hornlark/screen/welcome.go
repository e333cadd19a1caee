package screen

import (
	"context"
	"strings"
	"sync"
	"time"
	"unicode"

	"hornlark/drill"
)

// Choice is one thing that can be done next.
type Choice struct {
	Key  string // "enter", or a letter or digit as it is typed on the trainee's own keyboard
	Text string // what it does
	Ask  *Ask   // what is asked first; nil: nothing
}

// Ask is a question that is answered in a line.
type Ask struct {
	Prompt string
	Hint   string   // said below it
	Given  string   // stands there at first
	Known  []string // answers that Tab completes
	Must   bool     // leaving the question leaves the screen
	Check  func(answer string) error
}

// Front is what the first screen says and offers at one time.
type Front struct {
	Who     string   // who sits here
	Next    string   // what comes next, and why
	Notices []string // what has to be told once
	Choices []Choice // at most eight; "s" and "q" are taken: they check the sound again and leave
	Hints   []string // lines below the choices, such as commands to try
	Asking  string   // the key of the choice whose question stands open; empty: none
}

// Welcome is the first screen: the caution, the sound check, who sits here, and what to do next.
type Welcome struct {
	Version string
	Front   Front

	// Act is told of every choice, with the answer to its question, and gives what the screen shows then, or that the screen ends
	// with it. It is called by one goroutine alone, for "+" and "-" too, which are never choices. Nil: the screen ends with every choice.
	Act func(key, answer string) (next Front, ends bool)

	// SoundCheck plays something at a low level and says what it has found, in a few words. It runs as the screen
	// opens, unless Sound says already what it found, and again for "s"; its context ends with the screen. Nil leaves the check out.
	SoundCheck func(ctx context.Context) string
	Sound      string
}

// Chosen is how a first screen ended.
type Chosen struct {
	Key   string // of the choice; empty: the trainee has left
	Sound string // what the last sound check found
}

// Run shows the first screen until a choice ends it or the trainee leaves. Errors are those of (*Screen).Run.
func (w Welcome) Run(ctx context.Context, o Options) (Chosen, error) {
	page := &welcomePage{welcome: w, front: w.Front, sound: w.Sound}
	page.open(w.Front.Asking)
	st, err := newStage(o, page)
	if err != nil {
		return Chosen{}, err
	}
	ctx, cancel := context.WithCancel(ctx)
	checks := soundChecks{stage: st, page: page}
	chosen := ""
	ended := make(chan struct{})
	go st.guarded(func() {
		defer close(ended)
		if w.Sound == "" {
			checks.start(ctx)
		}
		for s := range st.strokes {
			key, left := page.stroke(s)
			switch {
			case left:
				st.end(nil)
				return
			case key == "s":
				checks.start(ctx)
			case key != "" && page.act(key):
				chosen = key
				st.end(nil)
				return
			}
			st.redraw()
		}
	})
	err = st.run(ctx)
	cancel()
	select {
	case <-ended:
		checks.running.Wait()
	case <-time.After(patience):
		chosen = ""
	}
	return Chosen{chosen, page.heard()}, err
}

// typed names a stroke by what the trainee has typed: on pages of text, letters count and not places.
func typed(s Stroke) string {
	switch {
	case s.Kind != Pressed && s.Kind != Other:
		return ""
	case s.Char != 0:
		return string(unicode.ToLower(s.Char))
	}
	return string(s.Press.Key)
}

// soundChecks runs one check at a time.
type soundChecks struct {
	stage   *stage
	page    *welcomePage
	running sync.WaitGroup
}

func (c *soundChecks) start(ctx context.Context) {
	check := c.page.welcome.SoundCheck
	if check == nil || !c.page.begin() {
		return
	}
	c.stage.redraw()
	c.running.Go(func() {
		defer c.stage.guard()
		c.page.found(check(ctx))
		c.stage.redraw()
	})
}

// welcomePage draws the first screen.
type welcomePage struct {
	welcome Welcome

	mu       sync.Mutex
	front    Front
	asked    *Ask   // the question that stands open; nil: none
	askedFor string // the key of its choice
	answer   []rune
	trouble  string // what is wrong with the answer
	sound    string
	checking bool
}

// open opens the question of a choice, if it has one.
func (p *welcomePage) open(key string) {
	p.asked, p.askedFor, p.trouble = nil, "", ""
	for i := range p.front.Choices {
		if c := &p.front.Choices[i]; key != "" && c.Key == key && c.Ask != nil {
			p.asked, p.askedFor, p.answer = c.Ask, key, []rune(c.Ask.Given)
		}
	}
}

// stroke takes a key. It gives that of a choice once it is made, its question answered, and whether the trainee leaves.
func (p *welcomePage) stroke(s Stroke) (key string, left bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if s.Kind == Interrupt {
		return "", true
	}
	if p.asked != nil {
		return p.line(s)
	}
	switch key = typed(s); key {
	case "q", string(drill.Hold):
		return "", true
	case "s":
		return key, false
	case "+", "=":
		return "+", false
	case "-":
		return key, false
	}
	for _, c := range p.front.Choices {
		if c.Key != key || key == "" {
			continue
		}
		if c.Ask == nil {
			return key, false
		}
		p.open(key)
	}
	return "", false
}

// line takes a key of an answer.
func (p *welcomePage) line(s Stroke) (key string, left bool) {
	p.trouble = ""
	switch {
	case s.Kind != Pressed && s.Kind != Other:
	case s.Char >= ' ' && len(p.answer) < longestAnswer:
		p.answer = append(p.answer, s.Char)
	case s.Char != 0:
	case s.Press.Key == drill.Quiet && len(p.answer) < longestAnswer:
		p.answer = append(p.answer, ' ')
	case s.Press.Key == drill.No:
		p.answer = p.answer[:max(0, len(p.answer)-1)]
	case s.Press.Key == drill.SayAgain:
		p.complete()
	case s.Press.Key == drill.Hold && p.asked.Must:
		return "", true
	case s.Press.Key == drill.Hold:
		p.asked = nil
	case s.Press.Key == drill.Yes:
		if p.asked.Check != nil {
			if err := p.asked.Check(p.given()); err != nil {
				p.trouble = err.Error()
				return "", false
			}
		}
		return p.askedFor, false
	}
	return "", false
}

// longestAnswer is how many characters are taken of an answer.
const longestAnswer = 200

func (p *welcomePage) given() string { return strings.TrimSpace(string(p.answer)) }

// complete goes on with what all known answers that begin like this one have in common.
func (p *welcomePage) complete() {
	begun, common, found := string(p.answer), "", false
	for _, known := range p.asked.Known {
		switch {
		case !strings.HasPrefix(known, begun):
		case !found:
			common, found = known, true
		default:
			for !strings.HasPrefix(known, common) {
				r := []rune(common)
				common = string(r[:len(r)-1])
			}
		}
	}
	if found {
		p.answer = []rune(common)
	}
}

// act has a choice carried out, and reports whether the screen ends with it.
func (p *welcomePage) act(key string) (ends bool) {
	act := p.welcome.Act
	if act == nil {
		return key != "+" && key != "-"
	}
	p.mu.Lock()
	answer := ""
	if p.asked != nil {
		answer = p.given()
	}
	p.mu.Unlock()
	front, ends := act(key, answer) // the page can be drawn meanwhile
	p.mu.Lock()
	defer p.mu.Unlock()
	p.front = front
	p.open(front.Asking)
	return ends
}

// begin notes that a check is running; false if one is already.
func (p *welcomePage) begin() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.checking {
		return false
	}
	p.checking, p.sound = true, "checking ..."
	return true
}

func (p *welcomePage) found(sound string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.checking, p.sound = false, sound
}

// heard is what the last check found that has come to its end.
func (p *welcomePage) heard() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.checking {
		return "not checked to the end"
	}
	return p.sound
}

// How the first screen is laid out. With few lines nothing stands apart that need not.
const (
	welcomeRoomy  = 30 // lines from which on there are empty ones
	welcomeWidest = 90 // columns of text
	soundLines    = 2
	nextLines     = 3
)

func (p *welcomePage) draw(c *canvas) {
	p.mu.Lock()
	defer p.mu.Unlock()
	const x = 2
	width := min(c.width-2*x, welcomeWidest)
	last := c.height - 2 // the keys stand below it
	y, gap := 0, 0
	if c.height >= welcomeRoomy {
		y, gap = 1, 1
	}
	para := func(text string, most int, l look) {
		for i, line := range wrap(text, width) {
			if i < most && y <= last {
				c.text(x, y, width, line, l)
				y++
			}
		}
	}
	n := c.text(x, y, width, "HORNLARK", strong)
	c.text(x+n+2, y, width-n-2, strings.TrimSpace("challenge and response for helicopter procedures  "+p.welcome.Version), plain)
	y += 1 + gap
	c.text(x, y, width, " NOT FOR FLIGHT ", caution)
	y++
	para(Caution, c.height, plain)
	y += gap
	if p.welcome.SoundCheck != nil {
		n := c.text(x, y, width, "Sound check:", strong)
		for i, line := range wrap(p.sound, width-n-1) {
			if i < soundLines {
				c.text(x+n+1, y+i, width-n-1, line, plain)
			}
		}
		y += soundLines
	}
	y += gap
	for _, notice := range p.front.Notices {
		para(notice, nextLines, caution)
	}
	if p.asked != nil {
		p.drawAsked(c, x, y, width)
	} else {
		c.text(x, y, width, p.front.Who, strong)
		from := y
		y++
		para(p.front.Next, nextLines, plain)
		y = from
	}
	y += 1 + nextLines + gap
	for _, choice := range p.front.Choices {
		if y > last {
			break
		}
		key, text := keycap, plain
		if p.asked != nil { // they are no keys while something is typed
			key, text = faint, faint
		}
		n := c.text(x, y, 9, " "+keyName(choice.Key)+" ", key)
		c.text(x+max(n+1, 8), y, width-max(n+1, 8), choice.Text, text)
		y++
	}
	y += gap
	for _, hint := range p.front.Hints {
		if y < last {
			c.text(x, y, width, hint, faint)
			y++
		}
	}
	p.drawFoot(c)
}

// drawAsked draws the question that stands open, the end of what has been typed, and what is wrong with it.
func (p *welcomePage) drawAsked(c *canvas, x, y, width int) {
	n := 1 + c.text(x, y, width, p.asked.Prompt, strong)
	answer := p.answer
	for len(answer) > 0 && textWidth(string(answer)) > width-n-1 {
		answer = answer[1:]
	}
	n += c.text(x+n, y, width-n-1, string(answer), plain)
	c.text(x+n, y, 1, " ", keycap) // where the next character goes
	lines := wrap(p.asked.Hint, width)
	l := plain
	if p.trouble != "" {
		lines, l = wrap(p.trouble, width), inAmber
	}
	for i, line := range lines {
		if i < nextLines {
			c.text(x, y+1+i, width, line, l)
		}
	}
}

// drawFoot draws the keys that are always there.
func (p *welcomePage) drawFoot(c *canvas) {
	var keys []string
	switch leave := "back"; {
	case p.asked != nil:
		if keys = []string{"Enter", "take it"}; len(p.asked.Known) > 0 {
			keys = append(keys, "Tab", "complete")
		}
		if p.asked.Must {
			leave = "leave"
		}
		keys = append(keys, "Esc", leave)
	default:
		if p.welcome.Act != nil {
			keys = append(keys, "+ -", "minutes")
		}
		if p.welcome.SoundCheck != nil {
			keys = append(keys, "s", "check the sound again")
		}
		keys = append(keys, "q", "leave")
	}
	drawKeys(c, c.height-1, keys...)
}

// keyName is what is printed on a key.
func keyName(key string) string {
	if key == string(drill.Yes) {
		return "Enter"
	}
	return key
}
