//go:build linux

package main

import (
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"golang.org/x/sys/unix"

	"hornlark/drill/logbook"
)

// A page beside a terminal: the sitting waits for the page, and from then on both show it and both press, each by its own stamp; what is pressed
// at the one is seen at the other. Where the page goes, the sitting is paused, and the terminal goes on with it.
func TestAPageBesideATerminal(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes a live sitting and a browser")
	}
	t.Parallel()
	ctx := browser(t, 1280, 800)
	data := t.TempDir()
	cmd, term, screen := onPTY(t, []string{"HORNLARK_DATA=" + data}, append([]string{"drill", "--panel"}, shortOnPage("page")...)...)
	screen.await(t, "The sitting begins", 30*time.Second)
	link := regexp.MustCompile(`http://127\.0\.0\.1:\d+/#\w+`).FindString(screen.string())
	if link == "" || strings.Contains(screen.string(), "Battery") {
		t.Fatalf("it did not wait for the page: %q", screen.string())
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(link), chromedp.WaitVisible("#begin"), chromedp.Click("#begin"), asksOnPage("Battery")); err != nil {
		t.Fatal(err)
	}
	screen.await(t, "Battery", 10*time.Second)
	term.WriteString("1")
	if err := chromedp.Do(ctx, until(`document.querySelector('.next[data-key="1"] .position').textContent === "on"`), chromedp.KeyEvent("2"), until(`document.querySelector('.next[data-key="2"] .position').textContent === "on"`)); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatal(err)
	}
	screen.await(t, "PAUSED", 10*time.Second)
	term.WriteString("\x1b")
	time.Sleep(time.Second)
	cmd.Process.Signal(unix.SIGTERM)
	cmd.Wait()
	log, _ := kept(t, filepath.Join(data, "hornlark.db"))
	stamped := map[string]bool{} // by a page
	resumed := false
	for _, e := range log {
		switch e.Kind {
		case logbook.Press:
			stamped[e.Key] = e.Length > 0
		case logbook.Unpaused:
			resumed = true
		}
	}
	if page, ok := stamped["2"]; !ok || !page {
		t.Error("the press of the page is not kept as one")
	}
	if page, ok := stamped["1"]; !ok || page || !resumed {
		t.Errorf("the press of the terminal: kept %v, as one of a page %v; resumed there: %v", ok, page, resumed)
	}
}
