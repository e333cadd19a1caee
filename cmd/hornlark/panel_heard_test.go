//go:build unix

package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"hornlark/audio/soundtest"
	"hornlark/drill/logbook"
)

// pageKeys is a hand at a page: what it is told to write as a terminal would send it, it presses there, by each way that there is in turn.
type pageKeys struct {
	ctx    context.Context
	n      int
	dialed map[string]int // by which way
}

// Write presses one key.
func (p *pageKeys) Write(bytes []byte) (int, error) {
	named := map[string]string{"\r": "enter", "\x7f": "backspace", " ": "space", "\t": "tab", "\x1b": "esc", "`": "stop"}
	text := string(bytes)
	key, back := named[text], false
	if key == "" {
		const lower, upper = "1234567890-=[];',./", "!@#$%^&*()_+{}:\"<>?" // of a US keyboard
		key = text
		if i := strings.Index(upper, text); i >= 0 {
			key, back = lower[i:i+1], true
		} else if low := strings.ToLower(text); low != text {
			key, back = low, true
		}
	}
	button := fmt.Sprintf(`.answer[data-key="%s"]`, key)
	if named[text] == "" {
		button = fmt.Sprintf(`.control button[data-key="%s"].next`, key)
		if back {
			button = fmt.Sprintf(`.control button[data-key="%s"].back`, key)
		}
	}
	there, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](fmt.Sprintf(
		`(() => { const pad = document.querySelector(".pad"); const b = document.querySelector(%q); return !!b && (pad.hidden || b.classList.contains("answer")) })()`, button)))
	if err != nil {
		return 0, err
	}
	p.n++
	way := p.n % 3
	if !there { // figures of a reading, and the position before where a switch has only two: by key
		way = 0
	}
	switch way {
	case 1:
		p.dialed["touch"]++
		err = chromedp.Do(p.ctx, chromedp.Tap(button))
	case 2:
		p.dialed["mouse"]++
		err = chromedp.Do(p.ctx, chromedp.Click(button))
	default:
		p.dialed["keys"]++
		if text == "\x7f" {
			text = kb.Backspace
		}
		err = chromedp.Do(p.ctx, chromedp.KeyEvent(text))
	}
	return len(bytes), err
}

// Whole sittings are sat on the panel in a browser, by keys, by touch and by a mouse, and what came out of the sound server is held against
// the log.
func TestAWholeSittingOnThePanelIsHeardAsLogged(t *testing.T) {
	if os.Getenv("HORNLARK_WHOLE") == "" {
		t.Skip("takes eight minutes; set HORNLARK_WHOLE=1")
	}
	for _, test := range []struct {
		name    string
		args    []string
		handled int
		horns   int
	}{
		{"hover", briefly("hover"), 1, 0},
		{"first start", []string{"first-start"}, 3, 1},
	} {
		t.Run(test.name, func(t *testing.T) {
			server := soundtest.Start(t)
			keys := rehearsed(t, test.args)
			ctx := browserFor(t, 12*time.Minute, 1280, 800)
			hands := &pageKeys{ctx: ctx, dialed: map[string]int{}}
			record := server.Record(t)
			p := onPageWith(t, append(server.Env(), atLevel(t, 0)), append(test.args, "--trainee", "kim")...)
			err := chromedp.Do(ctx, chromedp.Navigate(p.link), chromedp.WaitVisible("#begin"), chromedp.Tap("#begin"))
			if err != nil {
				t.Fatal(err)
			}
			path := filepath.Join(p.data, "hornlark.db")
			keys.answer(t, path, hands)
			awaitEnd(t, path, time.Minute)
			recording := record.Stop(t)
			if err := chromedp.Do(ctx, chromedp.WaitVisible("#report"), shot("whole "+test.name)); err != nil {
				t.Error(err)
			}
			<-p.over
			log, began := kept(t, path)
			if code := p.cmd.ProcessState.ExitCode(); code != exitPassed {
				t.Errorf("status %d: %s", code, shortcomings(t, test.args[0], log))
				for _, e := range log {
					switch e.Kind {
					case logbook.Ask, logbook.Press, logbook.Moved, logbook.Answer, logbook.Done, logbook.Stray, logbook.Overshoot, logbook.TimedOut:
						t.Log(e.Describe())
					}
				}
			}
			used := p.cmd.ProcessState.UserTime() + p.cmd.ProcessState.SystemTime()
			t.Logf("pressed by %v; it used %.1f %% of one core", hands.dialed, 100*used.Seconds()/lasted(log).Seconds())
			if late := heardAsLogged(t, recording, log, began, test.handled, test.horns); len(late) > 0 {
				t.Error(late)
			}
		})
	}
}

// lasted is how long a sitting was.
func lasted(log []logbook.Entry) time.Duration { return log[len(log)-1].At }
