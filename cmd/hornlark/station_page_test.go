package main

import (
	"context"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// An instructor with a browser and nothing but keys: enters, holds, inserts, is asked once more before something is taken out, has a sentence
// said, keeps a remark, and is told what cannot be done beside where it was asked. Somebody else's checker finds nothing wrong with the page,
// light and dark, and on a tablet either way up.
func TestAStationByKeys(t *testing.T) {
	if testing.Short() || runtime.GOOS == "windows" {
		t.Skip("it takes a live sitting and a browser")
	}
	ctx := browser(t, 1280, 800)
	home := t.TempDir()
	t.Setenv("HORNLARK_DATA", filepath.Join(home, "data"))
	stopped, stop := context.WithCancel(t.Context())
	var told said
	status := make(chan int, 1)
	go func() {
		status <- run(stopped, []string{"drill", "first-start", "--answers", "perfect", "--silent", "--trainee", "kim", "--seed", "7", "--station", ":0"},
			streams{in: strings.NewReader(""), out: &said{}, err: &told})
	}()
	defer func() { stop(); <-status }()
	address := told.await(t, `at (http://127\.0\.0\.1:\d+/)`)[1]
	code := told.await(t, `code, which works once, is (\S{4}-\S{4})\n`)[1]

	says := func(part, has string) chromedp.Action[chromedp.Void] {
		return until(`!!([...document.querySelectorAll("form.part")].some((f) => f.querySelector("h2").textContent.startsWith("` + part + `") && f.querySelector(".answer").textContent.includes("` + has + `")))`)
	}
	state := func(is string) chromedp.Action[chromedp.Void] {
		return until(`!!(document.querySelector(".head .state")?.textContent === "` + is + `")`)
	}
	blur := until(`!!((document.activeElement.blur(), true))`)
	// to goes to a field by its key. This browser's hand sends the letter once more by itself, and the field would have it.
	to := func(key string) chromedp.Action[chromedp.Void] {
		return chromedp.Steps(blur, chromedp.KeyEvent(key), until(`!!(document.activeElement.value = "", document.activeElement !== document.body)`))
	}
	err := chromedp.Do(ctx,
		chromedp.Navigate(address),
		chromedp.WaitVisible("#code"),
		chromedp.KeyEvent("AAAA-AAAA"+kb.Enter),
		until(`!!(document.getElementById("gate-why").textContent.includes("not the code"))`),
		shot("station-gate"),
		chromedp.KeyEvent(code+kb.Enter), until(`!!document.querySelector(".station > p.caution")?.textContent.startsWith("Training aid")`), // what was wrong is selected, and written over
		state("running"),
		blur,
		chromedp.KeyEvent("h"), state("HELD"),
		until(`!!(document.querySelector(".head .hold").textContent === "Release")`),
		to("s"), chromedp.KeyEvent("Hold position."+kb.Enter), says("Say", "release it first"),
		blur, chromedp.KeyEvent("h"), state("running"),
		to("s"), chromedp.KeyEvent("Hold position."+kb.Enter), says("Say", "shown, and not heard"),
		to("r"), chromedp.KeyEvent("Quick hands."+kb.Tab+kb.Enter), says("Remark", "Kept"),
		blur, chromedp.KeyEvent("i"), chromedp.KeyEvent(kb.Tab+kb.Tab+kb.Enter), says("Abnormal", "Inserted"),
		until(`!!(document.querySelector(".injection.active button, .injection.showing button"))`),
		shot("station-inserted"),
		until(`!!((document.querySelector(".injection.active button, .injection.showing button").focus(), true))`),
		chromedp.KeyEvent(kb.Enter), until(`!!(document.querySelector("dialog[open]"))`),
		chromedp.KeyEvent(kb.Enter), // leaves it: nothing is done by one key twice
		until(`!!(!document.querySelector("dialog") && document.querySelector(".injection.active, .injection.showing"))`),
		chromedp.KeyEvent(kb.Enter), until(`!!(document.querySelector("dialog[open]"))`),
		until(`!!((document.querySelector("dialog .danger").focus(), true))`), chromedp.KeyEvent(kb.Enter),
		says("Abnormal", "Taken out"),
		blur, chromedp.KeyEvent("2"), until(`!!(document.querySelector(".checklist").offsetParent && document.querySelectorAll(".checklist .item").length > 100)`),
		shot("station-checklist"),
		blur, chromedp.KeyEvent("3"), until(`!!(document.querySelector(".events").offsetParent && document.querySelector(".events").textContent.includes("Quick hands."))`),
		shot("station-timeline"),
		blur, chromedp.KeyEvent("?"), until(`!!(document.querySelector("dialog[open] kbd"))`), shot("station-keys"), chromedp.KeyEvent(kb.Escape),
	)
	if err != nil {
		t.Fatalf("%v\n%s", err, told.String())
	}
	usableByAll(t, ctx, "the timeline")
	if err := chromedp.Do(ctx, chromedp.KeyEvent("1"), on(800, 1280, "dark"), shot("station-portrait")); err != nil {
		t.Fatal(err)
	}
	if wide := evaluate[float64](t, ctx, `document.documentElement.scrollWidth - innerWidth`); wide > 0 {
		t.Errorf("on a tablet held upright the page is %v pixels too wide", wide)
	}
	usableByAll(t, ctx, "what can be done, upright and dark")
	// Loaded again it is let in again, and has what was before.
	if err := chromedp.Do(ctx, chromedp.Reload(), state("running"), chromedp.KeyEvent("3"), until(`!!(document.querySelector(".events")?.textContent.includes("Quick hands."))`)); err != nil {
		t.Errorf("loaded again: %v", err)
	}

	// It hands over to the page of a class, which takes its place.
	var class said
	ended := make(chan int, 1)
	go func() {
		ended <- run(stopped, []string{"station"}, streams{in: strings.NewReader(""), out: &class, err: &class})
	}()
	defer func() { stop(); <-ended }()
	link := class.await(t, `class: (http://127\.0\.0\.1:\d+/#\w{26})\n`)[1]
	if err := chromedp.Do(ctx, chromedp.KeyEvent("1"), until(`!!([...document.querySelectorAll("form.part button")].find((b) => b.textContent === "Make a code")?.click(), true)`),
		until(`!!document.querySelector(".code strong")`)); err != nil {
		t.Fatal(err)
	}
	next := evaluate[string](t, ctx, `document.querySelector(".code strong").textContent`)
	err = chromedp.Do(ctx, chromedp.Navigate(link), chromedp.WaitVisible("#add-address"),
		chromedp.Click("#add-address"), chromedp.KeyEvent(strings.TrimPrefix(address, "http://")+kb.Tab+next+kb.Enter),
		until(`document.querySelector(".tile .title")?.textContent === "kim" && / item \d+ of 108$/.test(document.querySelector(".tile .where").textContent)`),
		until(`!!([...document.querySelectorAll("button")].find((b) => b.textContent === "Hold all").click(), true)`),
		until(`document.querySelector(".tile .state").textContent === "HELD"`), on(1280, 800, "light"), shot("class"))
	if err != nil {
		t.Fatalf("the class: %v", err)
	}
	usableByAll(t, ctx, "the class")
}

// usableByAll has axe-core say whether everybody can use the page as it is.
func usableByAll(t *testing.T, ctx context.Context, what string) {
	t.Helper()
	axe, err := os.ReadFile(filepath.Join(os.Getenv("HORNLARK_NODE_MODULES"), "axe-core", "axe.min.js"))
	if os.Getenv("HORNLARK_NODE_MODULES") == "" || err != nil {
		t.Log("nobody else judged the page: take dist/validators away, and scripts/install brings those who do")
		return
	}
	for _, v := range evaluate[[]string](t, ctx, string(axe)+`;
		axe.run().then(({ violations }) => violations.map((v) => v.id + ": " + v.nodes.map((n) => n.target.join(" ") + " " + n.failureSummary).join(", ")))`) {
		t.Errorf("axe-core, %s: %s", what, v)
	}
}
