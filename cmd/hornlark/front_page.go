package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"hornlark/cmd/hornlark/screen"
	"hornlark/cmd/hornlark/web"
	"hornlark/drill/debrief"
)

// The keys that the page of the first screen has beside those of the screen.
const (
	keySound = "s"
	keyQuit  = "q"
	keyBack  = "b"
)

// How long the program waits for a page before it ends.
const (
	pageFirst = 3 * time.Minute // for the first one: a browser may take long to start
	pageGone  = time.Minute     // once there is none any more
)

// errPageGone ends the program once nobody looks at its page any more.
var errPageGone = lastWord("No page has been there for a while, so the program has ended; what was sat is kept as far as it went.")

// heardOf gathers what is told while a page is up, for the next sheet. Many may tell.
type heardOf struct {
	mu   sync.Mutex
	told notices
}

func (h *heardOf) Write(p []byte) (int, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.told.Write(p)
}

func (h *heardOf) lines() []string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.told.lines()
}

// frontPage is the first screen on a page.
type frontPage struct {
	*front
	site     *site
	heard    *heardOf
	trouble  string // what is wrong with an answer
	answered string // and that answer
	asking   string // the key of the question that it was to
	sound    string
	checking context.CancelFunc // ends the sound check; nil: none is running
	checked  chan string
}

// welcomePage is the first screen for somebody who has no terminal: a page that a browser opens. What is chosen there is carried out like a
// command, on the same page. It ends by being left, and once there has been no page for a while.
func welcomePage(ctx context.Context, s streams) error {
	own := s.err
	o := &drillOptions{streams: s}
	opened, err := web.OpenSite(ctx, web.SiteOptions{News: o.pageNews()})
	if err != nil {
		err = fmt.Errorf("the page cannot be opened: %w", err)
		tellBeside("hornlark: "+err.Error(), "hornlark: "+err.Error())
		return err
	}
	p := &frontPage{site: &site{opened}, heard: &heardOf{}, checked: make(chan string, 1)}
	defer p.site.Close("Hornlark has ended; this page can be closed")
	defer p.endCheck()
	fmt.Fprintf(own, "The first screen: %s\nOpen it in a browser on this machine; the address lets in one, once.\n", opened.Link())
	browse(ctx, opened, func(line string) {
		fmt.Fprintln(own, line)
		tellBeside(line+"\n\n"+opened.Link()+"\n", line)
	})
	ctx, end := context.WithCancelCause(ctx)
	defer end(nil)
	go func() {
		if watchPage(ctx, opened.Alone, opened.Door().Came()) {
			end(errPageGone)
		}
	}()
	s.out, s.err = io.Discard, io.MultiWriter(own, p.heard)
	p.front = &front{streams: s, told: new(notices)}
	is, err := remembered()
	if err != nil {
		fmt.Fprintln(p.heard, err)
	}
	p.sit(is, is != "")
	p.sound = "not checked yet"
	go func() {
		select {
		case <-opened.Door().Came():
			p.checked <- ""
		case <-ctx.Done():
		}
	}()
	err = p.loop(ctx)
	if errors.Is(context.Cause(ctx), errPageGone) {
		fmt.Fprintln(own, errPageGone)
		return nil
	}
	return err
}

// watchPage waits until no page has been there for a while; false if the context ends before.
func watchPage(ctx context.Context, alone func() time.Duration, came <-chan struct{}) bool {
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return false
		case <-tick.C:
		}
		within := pageFirst
		select {
		case <-came:
			within = pageGone
		default:
		}
		if alone() >= within {
			return true
		}
	}
}

// loop shows the first page and carries out what is chosen, until it is left.
func (p *frontPage) loop(ctx context.Context) error {
	p.show()
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case found := <-p.checked:
			p.checkedSound(ctx, found)
			continue
		case c := <-p.site.Chosen():
			if c.Key == keyQuit {
				return nil
			}
			if err := p.choose(ctx, c); err != nil {
				return err
			}
		}
		p.show()
	}
}

// checkedSound takes what the sound check has found; nothing: the page has come, and the first one begins.
func (p *frontPage) checkedSound(ctx context.Context, found string) {
	if found == "" {
		p.check(ctx)
		return
	}
	p.sound, p.checking = found, nil
	p.site.Heard(soundLine(found))
}

// check begins a sound check, unless one is running.
func (p *frontPage) check(ctx context.Context) {
	if p.checking != nil {
		return
	}
	ctx, p.checking = context.WithCancel(ctx)
	p.sound = "checking ..."
	p.site.Heard(soundLine(p.sound))
	go func() {
		found := soundCheck(ctx)
		if found == "" {
			found = "not checked to the end"
		}
		p.checked <- found
	}()
}

// endCheck ends the sound check, so that a sitting can have the device.
func (p *frontPage) endCheck() {
	if p.checking != nil {
		p.checking()
		p.sound, p.checking = <-p.checked, nil
	}
}

func soundLine(found string) string { return "Sound check: " + found }

// choose carries out what was chosen. An error ends the program.
func (p *frontPage) choose(ctx context.Context, c web.Choice) error {
	p.trouble, p.asking = "", ""
	answer := strings.TrimSpace(c.Answer)
	if c.Key == keySound {
		p.check(ctx)
		return nil
	}
	for _, offered := range p.front.front().Choices {
		if offered.Key == c.Key && offered.Ask != nil && offered.Ask.Check != nil {
			if err := offered.Ask.Check(answer); err != nil {
				p.trouble, p.asking, p.answered = err.Error(), c.Key, answer
				return nil
			}
		}
	}
	if _, ends := p.act(c.Key, answer); !ends {
		return nil
	}
	var err error
	switch c.Key {
	case keyTonight, keyLimits:
		p.endCheck()
		o := p.tonight(c.Key == keyLimits)
		o.panel, o.site = true, p.site
		err = tonight(ctx, o)
		p.sit(p.trainee, p.settled)
	case keyWhole:
		p.endCheck()
		o := p.drill()
		o.scenario, o.panel, o.site = suggested, true, p.site
		p.site.wait("The whole first start")
		err = drillRun(ctx, &o)
		p.sit(p.trainee, p.settled)
	case keyDay:
		o := &planOptions{streams: p.quiet(), trainee: p.trainee, by: p.aim.By, at: planAt, minutes: p.aim.evening(), rest: p.aim.Rest}
		var plan *laidOut
		if plan, err = o.layOut(); err == nil {
			lines := plan.text()
			err = p.site.read(ctx, web.Sheet{Title: lines[0], Lines: lines[1:]}, "Back to the first page")
		}
	case keySittings:
		err = p.readSittings(ctx)
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if told := err == nil || errors.Is(err, errNotPassed) || errors.Is(err, errStopped) || errors.Is(err, errNotBegun) || errors.Is(err, errEveningLeft); !told {
		fmt.Fprintln(p.heard, err)
	}
	return nil
}

// mostShown is how many sittings are offered to be read, the latest.
const mostShown = 30

// readSittings shows the sittings, and the report on those that are picked.
func (p *frontPage) readSittings(ctx context.Context) error {
	s := web.Sheet{Title: "Sittings of " + someone(p.trainee), Offers: []web.Offer{{Key: keyBack, Text: "Back to the first page"}}}
	for _, is := range slices.Backward(p.sittings[max(0, len(p.sittings)-mostShown):]) {
		l := lineOf(is)
		s.Offers = append(s.Offers, web.Offer{Key: "sitting " + strconv.FormatInt(l.ID, 10), Text: fmt.Sprintf("%s: %s, %s", l.Started, l.Scenario, l.Verdict)})
	}
	for {
		p.site.Show(s)
		var c web.Choice
		select {
		case c = <-p.site.Chosen():
		case <-ctx.Done():
			return ctx.Err()
		}
		id, is := strings.CutPrefix(c.Key, "sitting ")
		if !is {
			return nil
		}
		err := withKept(p.quiet(), []string{id}, func(k *keptSitting) error {
			text := k.report(p.quiet()).text(k.Ex.Judge())
			return p.site.read(ctx, web.Sheet{Title: titleOf(k.Ex.Bundle), Lines: text[1:]}, "Back to the sittings")
		})
		if err != nil {
			return err
		}
	}
}

// show shows the first page as it is now.
func (p *frontPage) show() {
	f := p.front.front()
	f.Notices = append(f.Notices, p.heard.lines()...)
	p.site.Show(p.sheet(&f))
}

// sheet is the first page. Until somebody has said who sits here nothing else is asked.
func (p *frontPage) sheet(f *screen.Front) web.Sheet {
	s := web.Sheet{
		Title: "Hornlark", Caution: "Not for flight. " + debrief.Caution, Notices: f.Notices, Sound: soundLine(p.sound), Who: f.Who, Text: []string{f.Next}, Asking: f.Asking,
	}
	if p.trouble != "" {
		s.Asking, s.Trouble = p.asking, p.trouble
	}
	for _, c := range f.Choices {
		o := web.Offer{Key: c.Key, Text: upperFirst(c.Text)}
		if c.Ask != nil {
			o.Ask = &web.Ask{Prompt: c.Ask.Prompt, Hint: c.Ask.Hint, Given: c.Ask.Given, Known: c.Ask.Known, Day: c.Key == keyDay}
			if p.trouble != "" && p.asking == c.Key {
				o.Ask.Given = p.answered
			}
		}
		if f.Asking == "" || f.Asking == c.Key {
			s.Offers = append(s.Offers, o)
		}
	}
	if f.Asking == "" {
		s.Offers = append(s.Offers, web.Offer{Key: keyMore, Text: "More minutes", Small: true}, web.Offer{Key: keyLess, Text: "Fewer minutes", Small: true})
	} else {
		s.Who, s.Text = "", nil
	}
	s.Offers = append(s.Offers, web.Offer{Key: keySound, Text: "Check the sound again", Small: true}, web.Offer{Key: keyQuit, Text: "Quit", Small: true})
	return s
}
