//go:build unix

package main

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"hornlark/drill/logbook"
)

// Whatever is pressed on the panel, and by whichever way, is the press that a keyboard would have made.
func TestEveryWayToPressOnThePanel(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes a live sitting and a browser")
	}
	ctx := browser(t, 1280, 800)
	p := onPage(t, "first-start", "--silent", "--nobody")
	if err := chromedp.Do(ctx, chromedp.Navigate(p.link), chromedp.WaitVisible("#begin"), chromedp.Tap("#begin"), chromedp.WaitVisible(".control button.next")); err != nil {
		t.Fatal(err)
	}
	hands := &pageKeys{ctx: ctx, dialed: map[string]int{}}
	keys, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`[...document.querySelectorAll(".control button.next")].map((b) => b.dataset.key)`))
	if err != nil || len(keys) < 30 {
		t.Fatalf("%v; there are %d controls", err, len(keys))
	}
	var want []string
	for round := range 2 {
		for i, key := range keys {
			if shift := (i+round)%2 == 0; shift {
				key = "shift+" + key
			}
			want = append(want, key)
			if _, err := hands.Write([]byte(onTheWire(t, key))); err != nil {
				t.Fatal(err)
			}
		}
	}
	time.Sleep(300 * time.Millisecond)
	log, _ := kept(t, filepath.Join(p.data, "hornlark.db"))
	var got []string
	for _, e := range log {
		if e.Kind == logbook.Press {
			got = append(got, e.Key)
		}
	}
	t.Logf("%v", hands.dialed)
	if !slices.Equal(got, want) {
		t.Errorf("pressed was\n%s\nwant\n%s", strings.Join(got, " "), strings.Join(want, " "))
	}
}
