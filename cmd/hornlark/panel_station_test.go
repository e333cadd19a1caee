//go:build unix

package main

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"hornlark/drill/logbook"
)

// A trainee at a panel and an instructor at a station, each with a browser of their own: the sitting waits for both, is held and let go on from
// either side, and what the instructor does is on the panel only as far as the aircraft shows it.
func TestAPanelUnderAStation(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes a live sitting and two browsers")
	}
	instructor, trainee := browser(t, 1280, 800), browser(t, 1280, 800)
	data := filepath.Join(t.TempDir(), "data")
	t.Setenv("HORNLARK_DATA", data)
	stopped, stop := context.WithCancel(t.Context())
	var told said
	status := make(chan int, 1)
	go func() {
		status <- run(stopped, append([]string{"drill", "--panel", "--station", ":0"}, shortOnPage("page")...), streams{in: strings.NewReader(""), out: &said{}, err: &told})
	}()
	over := false
	defer func() {
		stop()
		if !over {
			<-status
		}
	}()
	address := told.await(t, `at (http://127\.0\.0\.1:\d+/)`)[1]
	code := told.await(t, `code, which works once, is (\S{4}-\S{4})\n`)[1]
	try := func(who context.Context, steps ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := chromedp.Do(who, steps...); err != nil {
			t.Fatalf("%v\n%s", err, told.String())
		}
	}
	blur := until(`!!((document.activeElement.blur(), true))`)
	state := func(is string) chromedp.Action[chromedp.Void] {
		return until(`!!(document.querySelector(".head .state")?.textContent === "` + is + `")`)
	}
	says := func(part, has string) chromedp.Action[chromedp.Void] {
		return until(`!!([...document.querySelectorAll("form.part")].some((f) => f.querySelector("h2").textContent.startsWith("` + part + `") && f.querySelector(".answer").textContent.includes("` + has + `")))`)
	}
	to := func(key string) chromedp.Action[chromedp.Void] {
		return chromedp.Steps(blur, chromedp.KeyEvent(key), until(`!!(document.activeElement.value = "", document.activeElement !== document.body)`))
	}
	held := func(is string) chromedp.Action[chromedp.Void] {
		return until(`document.querySelector(".asks .state").textContent.startsWith("Paused") === ` + is)
	}
	try(instructor, chromedp.Navigate(address), chromedp.WaitVisible("#code"), chromedp.KeyEvent(code+kb.Enter))
	link := told.await(t, `The panel: (\S+)\n`)[1]
	try(trainee, chromedp.Navigate(link), chromedp.WaitVisible("#begin"), chromedp.KeyEvent(kb.Enter), asksOnPage("Battery"))
	try(instructor, state("running"), blur, chromedp.KeyEvent("h"), state("HELD"))
	try(trainee, held("true"), shot("paused by the instructor"))
	try(instructor, to("r"), chromedp.KeyEvent("Looks about."+kb.Tab+kb.Enter), says("Remark", "Kept"), blur, chromedp.KeyEvent("h"), state("running"))
	try(trainee, held("false"), asksOnPage("Battery"), chromedp.KeyEvent("1"), asksOnPage("Low NR horn"), chromedp.KeyEvent(kb.Escape), held("true"))
	try(instructor, state("HELD"), blur, chromedp.KeyEvent("h"), state("running"))
	try(trainee, held("false"), asksOnPage("Low NR horn"), chromedp.KeyEvent(" "), chromedp.KeyEvent(kb.Enter), asksOnPage("Avionics"),
		until(`!document.body.textContent.includes("Looks about.")`), // it is for the debrief
		chromedp.Click(`.tools button:last-child`), chromedp.WaitVisible("#leave"), chromedp.Click(`#leave button[value="leave"]`), chromedp.WaitVisible("#report"),
		until(`document.getElementById("report").textContent.includes("Looks about.")`), shot("under a station"))
	if code := <-status; code != exitStopped {
		t.Errorf("status %d\n%s", code, told.String())
	}
	over = true
	log, _ := kept(t, filepath.Join(data, "hornlark.db"))
	var who []logbook.Seat
	for _, e := range log {
		if e.Kind == logbook.Paused || e.Kind == logbook.Unpaused {
			who = append(who, e.Seat)
		}
	}
	if want := []logbook.Seat{logbook.Instructor, logbook.Instructor, logbook.Trainee, logbook.Instructor}; !slices.Equal(who, want) {
		t.Errorf("held and let go on by %v, want %v", who, want)
	}
}
