package main

import (
	"errors"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"hornlark/cmd/hornlark/screen"
	"hornlark/drill/practice"
)

// lines are what is told, line by line, to whoever waits for one that begins in some way.
type lines struct {
	mu   sync.Mutex
	text strings.Builder
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

func (l *lines) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// after gives what follows on the line that begins so, once it is there.
func (l *lines) after(t *testing.T, begin string) string {
	t.Helper()
	for range 1500 {
		if _, rest, is := strings.Cut("\n"+l.String(), "\n"+begin); is {
			if line, _, whole := strings.Cut(rest, "\n"); whole {
				return line
			}
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Fatalf("no line begins with %q:\n%s", begin, l)
	return ""
}

// An evening of two sittings on one page: what is practised, each of them with its report, and what has changed; opened once.
func TestAnEveningOnAPage(t *testing.T) {
	if testing.Short() || runtime.GOOS == "windows" {
		t.Skip("it takes live sittings and a browser")
	}
	settled(t)
	t.Setenv("HORNLARK_DATA", t.TempDir())
	told, out := &lines{}, &lines{}
	o := &tonightOptions{
		drillOptions: drillOptions{
			streams: streams{in: strings.NewReader(""), out: out, err: told}, layout: string(screen.QWERTY), silent: true, panel: true, nobody: true, seed: 7, seedSet: true,
		},
		minutes: 1, limits: true,
	}
	evening := &session{options: o, at: recordsNow()}
	if err := evening.open(); err != nil {
		t.Fatal(err)
	}
	one := evening.choice.Legs[0] // two of it, of one question each
	one.Questions, one.Units, one.Why = 1, one.Units[:1], one.Why[:1]
	evening.choice.Legs = []practice.Leg{one, one}
	ctx := browser(t, 1280, 800)
	ended := make(chan error, 1)
	go func() { ended <- evening.held(t.Context()) }()
	link := told.after(t, "The panel: ")
	answer := chromedp.Steps(
		until(`document.querySelector(".asks .late").textContent.includes("left")`), chromedp.Sleep(thinks), chromedp.KeyEvent("4"), chromedp.KeyEvent(kb.Enter),
	)
	heading := func(text string) chromedp.Action[chromedp.Void] {
		return chromedp.Steps(chromedp.WaitVisible("#sheet"), until(`document.querySelector("#sheet h2").textContent.includes("`+text+`")`))
	}
	err := chromedp.Do(ctx,
		chromedp.Navigate(link), heading("Tonight"), shot("tonight"),
		chromedp.Click("#sheet .offers button"),
		chromedp.WaitVisible("#begin"), until(`document.querySelector("#before").textContent.startsWith("1 of 2")`), shot("first-of-two"),
		chromedp.KeyEvent(kb.Enter), answer,
		heading("limits"), until(`document.querySelector("#sheet pre").textContent.includes("REHEARSE NEXT")`), shot("between"), accessible(t, "a report"),
		chromedp.KeyEvent(kb.Enter),
		chromedp.WaitVisible("#begin"), until(`document.querySelector("#before").textContent.startsWith("2 of 2")`),
		chromedp.KeyEvent(kb.Enter), answer,
		heading("limits"), chromedp.KeyEvent(kb.Enter),
		heading("Tonight"), until(`document.querySelector("#sheet pre").textContent.includes("will be known")`), shot("after"),
		chromedp.KeyEvent(kb.Enter),
	)
	if err != nil {
		chromedp.Do(ctx, shot("failed"))
		t.Fatalf("%v\n%s\n%s", err, told, out)
	}
	select {
	case err = <-ended:
	case <-time.After(10 * time.Second):
		t.Fatal("it does not end")
	}
	if !errors.Is(err, errNotPassed) || len(evening.sat) != 2 {
		t.Errorf("it ends with %v after %d sittings\n%s", err, len(evening.sat), told)
	}
	if got := strings.Count(told.String(), "The panel:"); got != 1 {
		t.Errorf("%d addresses were told", got)
	}
	if err := chromedp.Do(ctx, until(`document.querySelector("#link").textContent.includes("the evening is over")`)); err != nil {
		t.Error(err)
	}
}
