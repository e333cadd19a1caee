package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// What a start without arguments leads to hangs on where it came from. The standard streams of a program that a desktop starts are the null
// device, a socket of the journal or the session's log (systemd.exec(5), StandardOutput=; sessions' start scripts, from memory).
func TestWhereAStartLeads(t *testing.T) {
	for _, c := range []struct {
		in, out, err end
		desktop      bool
		page         bool
	}{
		{endNothing, endNothing, endNothing, true, true},
		{endNothing, endLog, endLog, true, true},
		{endNothing, endNothing, endLog, true, true},
		{endNothing, endNothing, endNothing, false, false}, // a timer, a service
		{endNothing, endLog, endLog, false, false},
		{endTerminal, endTerminal, endTerminal, true, false},
		{endNothing, endTerminal, endTerminal, true, false},
		{endNothing, endNothing, endTerminal, true, false},
		{endTerminal, endNothing, endNothing, true, false},
		{endPipe, endNothing, endNothing, true, false},
		{endNothing, endPipe, endPipe, true, false},
		{endNothing, endPipe, endLog, true, false},
		{endNothing, endFile, endFile, true, false},
		{endNothing, endNothing, endFile, true, false},
		{endFile, endLog, endLog, true, false},
	} {
		if got := fromDesktop(c.in, c.out, c.err, c.desktop); got != c.page {
			t.Errorf("%+v: %v", c, got)
		}
	}
	for _, c := range []struct {
		system, set string
		want        bool
	}{
		{"linux", "", false}, {"linux", "DISPLAY", true}, {"linux", "WAYLAND_DISPLAY", true}, {"linux", "DISPLAY SSH_CONNECTION", false},
		{"darwin", "", true}, {"darwin", "SSH_TTY", false}, {"windows", "", true}, {"windows", "SSH_CLIENT", false},
	} {
		getenv := func(name string) string {
			if strings.Contains(" "+c.set+" ", " "+name+" ") {
				return "1"
			}
			return ""
		}
		if got := desktop(c.system, getenv); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

// What streams are is found out of real ones.
func TestEndsOfStreams(t *testing.T) {
	file, err := os.Create(filepath.Join(t.TempDir(), "out"))
	if err != nil {
		t.Fatal(err)
	}
	null, err := os.Open(os.DevNull)
	if err != nil {
		t.Fatal(err)
	}
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	is := map[*os.File]end{file: endFile, null: endNothing, r: endPipe, w: endPipe}
	if runtime.GOOS == "linux" {
		log, err := os.Create(filepath.Join(t.TempDir(), ".xsession-errors"))
		if err != nil {
			t.Fatal(err)
		}
		is[log] = endLog
	}
	for f, want := range is {
		if got := endOf(f); got != want {
			t.Errorf("%s is %s, want %s", f.Name(), got, want)
		}
		f.Close()
	}
	if got := endOf(file); got != endNothing {
		t.Errorf("what is closed is %s", got)
	}
}

// The program waits for a page longer at first than once one has been there.
func TestThePageGoneForGood(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		began := time.Now()
		if !watchPage(t.Context(), func() time.Duration { return time.Since(began) }, make(chan struct{})) || time.Since(began) != pageFirst {
			t.Errorf("it waits %v for the first page", time.Since(began))
		}
		came := make(chan struct{})
		close(came)
		left := time.Now().Add(5 * time.Minute)
		if !watchPage(t.Context(), func() time.Duration { return max(0, time.Since(left)) }, came) || time.Since(left) != pageGone {
			t.Errorf("it waits %v for another page", time.Since(left))
		}
	})
}

// From a double click, which has no terminal, to a sitting that has begun, and out again: what the desktop's opener is handed leads there.
func TestADoubleClick(t *testing.T) {
	if testing.Short() || runtime.GOOS != "linux" {
		t.Skip("it takes a browser, and a desktop's opener that is put in its place")
	}
	ctx := browser(t, 1280, 800)
	folder := t.TempDir()
	handed := filepath.Join(folder, "handed")
	script := fmt.Sprintf("#!/bin/sh\nprintf '%%s\\n' \"$*\" > %[1]s.new && mv %[1]s.new %[1]s\n", handed)
	if err := os.WriteFile(filepath.Join(folder, "xdg-open"), []byte(script), 0o755); err != nil {
		t.Fatal(err)
	}
	told, err := os.Create(filepath.Join(folder, ".xsession-errors"))
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program(t))
	apart(cmd)
	cmd.Stderr = told
	cmd.Env = append(os.Environ(), noSound(folder)...)
	for name, value := range map[string]string{
		"PATH": folder + ":" + os.Getenv("PATH"), "DISPLAY": ":0", "SSH_CONNECTION": "", "SSH_CLIENT": "", "SSH_TTY": "", "HORNLARK_DATA": filepath.Join(folder, "data"),
		"XDG_CONFIG_HOME": filepath.Join(folder, "settings"),
	} {
		cmd.Env = append(cmd.Env, name+"="+value)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	over := make(chan error, 1)
	go func() { over <- cmd.Wait() }()
	t.Cleanup(func() { cmd.Process.Kill() })
	said := func() string {
		text, _ := os.ReadFile(told.Name())
		return string(text)
	}
	link := ""
	for range 1500 {
		if text, err := os.ReadFile(handed); err == nil {
			link = strings.TrimSpace(string(text))
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if !strings.HasPrefix(link, "http://127.0.0.1:") || strings.Contains(said(), link) {
		t.Fatalf("%q was handed over, and told was\n%s", link, said())
	}
	err = chromedp.Do(ctx,
		chromedp.Navigate(link),
		chromedp.WaitVisible("#answer"), until(`document.activeElement.id === "answer"`), shot("who"), accessible(t, "who sits here"),
		chromedp.SendKeys("#answer", "kim"), chromedp.KeyEvent(kb.Enter),
		until(`document.querySelector("#sheet .who")?.textContent === "kim sits here."`), shot("front"), accessible(t, "the first page"),
		chromedp.KeyEvent("+"),
		until(`document.querySelector("#sheet .offers button").textContent.includes("20 min")`),
		chromedp.KeyEvent("d"), chromedp.WaitVisible("#answer"), shot("day"), accessible(t, "a question"), chromedp.KeyEvent(kb.Escape),
		chromedp.KeyEvent("f"), chromedp.WaitVisible("#begin"),
		chromedp.Click("#back"), // and back from there
		chromedp.WaitVisible("#sheet .offers"),
		chromedp.KeyEvent(kb.Enter), chromedp.WaitVisible("#begin"),
		until(`document.querySelector("#before").textContent.startsWith("1 of ")`), shot("begin"),
		chromedp.KeyEvent(kb.Enter),
		until(`document.querySelector(".asks .challenge").textContent !== ""`), shot("begun"),
		chromedp.Click(".tools button:last-child"), chromedp.WaitVisible("#leave"), chromedp.Click("#leave button[value=leave]"),
		until(`document.querySelector("#sheet pre")?.textContent.includes("RESULT")`),
		chromedp.Click("#sheet .offers button"),
		until(`document.querySelector("#sheet .who") !== null`), shot("ended"),
	)
	if err != nil {
		chromedp.Do(ctx, shot("failed"))
		t.Fatalf("%v\n%s", err, said())
	}
	err = chromedp.Do(ctx, until(`document.querySelector("#sheet .who") !== null`), chromedp.KeyEvent("q"), until(`document.querySelector("#link").textContent.includes("can be closed")`))
	if err != nil {
		t.Fatalf("%v\n%s", err, said())
	}
	select {
	case err := <-over:
		if err != nil {
			t.Errorf("it ends with %v\n%s", err, said())
		}
	case <-time.After(20 * time.Second):
		t.Fatal("it does not end")
	}
}

// The key of the page turns it on and off for what comes next, is remembered, and is offered where there is a browser alone.
func TestThePageFromTheFirstScreen(t *testing.T) {
	f, _ := fronted(t, "kim")
	offered := func() (text string) {
		front := f.front()
		for _, c := range front.Choices {
			if c.Key == keyPage {
				text = c.Text
			}
		}
		if n := len(front.Choices); n > 8 || len([]rune(text)) > 68 {
			t.Errorf("%d choices, and %q", n, text)
		}
		return text
	}
	if text := offered(); text != "" {
		t.Errorf("without a browser it offers %q", text)
	}
	f.browser = true
	before := offered()
	for _, on := range []bool{true, false} {
		if _, ends := f.act(keyPage, ""); ends || prefersPage() != on {
			t.Errorf("ends %v, remembered %v, want %v", ends, prefersPage(), on)
		}
		if o := f.drill(); o.panel != on || o.open != on {
			t.Errorf("a sitting is begun with panel %v, open %v", o.panel, o.open)
		}
		if on == (offered() == before) {
			t.Errorf("turned %v it offers %q", on, offered())
		}
	}
}
