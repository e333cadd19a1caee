//go:build unix

package main

import (
	"testing"

	"github.com/chromedp/chromedp"
	"golang.org/x/sys/unix"
)

// A page that hears nothing any more says so, and shows nothing as alive; once the sitting is there again, so is what it shows, without a hand.
// What is loaded anew is let in again.
func TestAPageThatIsCutOff(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes a live sitting and a browser")
	}
	t.Parallel()
	ctx := browser(t, 1280, 800)
	p := onPage(t, shortOnPage("page")...)
	const (
		alive = `document.querySelector("#link").hidden && document.querySelector(".lamp") !== null && document.querySelector(".instrument.green") !== null`
		none  = `document.querySelector(".instrument:not(.dead)") === null && document.querySelector(".lamp.lit") === null && document.querySelector(".sound:not([hidden])") === null`
		said  = `!document.querySelector("#link").hidden && document.querySelector("#link").textContent.includes("not alive") && ` + none
	)
	err := chromedp.Do(ctx,
		chromedp.Navigate(p.link), chromedp.WaitVisible("#begin"), chromedp.Click("#begin"),
		asksOnPage("Battery"), chromedp.KeyEvent("1"), until(alive),
	)
	if err != nil {
		t.Fatalf("%v\n%s", err, p.told)
	}
	if err := p.cmd.Process.Signal(unix.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	err = chromedp.Do(ctx, until(said), shot("silent"))
	p.cmd.Process.Signal(unix.SIGCONT)
	if err != nil {
		t.Fatal(err)
	}
	// It was stopped for more than a second or not: then it is paused, or goes on.
	paused := `document.querySelector(".asks .state").textContent.startsWith("Paused")`
	back := `document.querySelector("#link").hidden && (` + paused + ` || ` + alive + `)`
	if err := chromedp.Do(ctx, until(back), chromedp.Reload(), until(back)); err != nil {
		t.Fatalf("%v\n%s", err, p.told)
	}
	p.cmd.Process.Kill()
	lost := `document.querySelector("#link").classList.contains("bad") && document.querySelector("#link").textContent.startsWith("Not connected") && ` + none
	if err := chromedp.Do(ctx, until(lost), shot("lost")); err != nil {
		t.Fatal(err)
	}
}
