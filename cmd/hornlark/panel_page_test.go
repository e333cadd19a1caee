package main

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

var shots = flag.String("page.shots", "", "a folder for pictures of the pages that tests go through, for whoever wants to look at them")

// browser opens a page of a browser without a window; where there is none, the test is skipped.
func browser(t *testing.T, width, height int64, more ...chromedp.ExecAllocatorOption) context.Context {
	t.Helper()
	return browserFor(t, 90*time.Second, width, height, more...)
}

// browserFor is the same for as long.
func browserFor(t *testing.T, limit time.Duration, width, height int64, more ...chromedp.ExecAllocatorOption) context.Context {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if found, err := exec.LookPath(name); err == nil {
			path = found
			break
		}
	}
	if path == "" {
		t.Skip("there is no Chromium to open a page in; scripts/install brings it")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.WindowSize(int(width), int(height)),
		chromedp.UserDataDir(t.TempDir()))
	ctx, cancel := chromedp.NewExecAllocator(t.Context(), append(options, more...)...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, limit)
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, height, chromedp.EmulateTouch)); err != nil {
		t.Fatal(err)
	}
	return ctx
}

// paged is the program in a sitting on a page.
type paged struct {
	cmd  *exec.Cmd
	link string
	data string
	told *strings.Builder // on standard error
	out  *strings.Builder
	over chan struct{}
}

// onPage starts a sitting without a terminal, on a page.
func onPage(t *testing.T, args ...string) *paged {
	t.Helper()
	return onPageWith(t, nil, args...)
}

// onPageWith is the same with more of an environment.
func onPageWith(t *testing.T, environ []string, args ...string) *paged {
	t.Helper()
	p := &paged{data: t.TempDir(), told: &strings.Builder{}, out: &strings.Builder{}, over: make(chan struct{})}
	p.cmd = exec.Command(program(t), append([]string{"drill", "--panel"}, args...)...)
	p.cmd.Env = append(append(os.Environ(), "HORNLARK_DATA="+p.data), environ...)
	p.cmd.Stdout = p.out
	errs, err := p.cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.cmd.Process.Kill(); <-p.over })
	links := make(chan string, 1)
	go func() {
		defer close(p.over)
		for lines := bufio.NewScanner(errs); lines.Scan(); {
			fmt.Fprintln(p.told, lines.Text())
			if link, is := strings.CutPrefix(lines.Text(), "The panel: "); is {
				links <- link
			}
		}
		p.cmd.Wait()
	}()
	select {
	case p.link = <-links:
	case <-p.over:
		t.Fatalf("it has ended: %s", p.told)
	case <-time.After(30 * time.Second):
		t.Fatal("no address came")
	}
	return p
}

func shortOnPage(name string) []string {
	return []string{filepath.Join("testdata", name, "scenario.yaml"), "--with", filepath.Join("testdata", name), "--silent", "--nobody"}
}

// asksOnPage waits until that is being asked, and has been spoken.
func asksOnPage(challenge string) chromedp.Action[chromedp.Void] {
	is := until(fmt.Sprintf(`document.querySelector(".asks .challenge").textContent === %q && document.querySelector(".asks .late").textContent.includes("left")`, challenge))
	return chromedp.Steps(is, chromedp.Sleep(thinks))
}

// thinks is how long whoever sits there looks before they answer: sooner than about a second it counts as rote.
const thinks = 1400 * time.Millisecond

// until waits until something is so on the page.
func until(is string) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := chromedp.Poll[bool](is)(ctx, t)
		if err != nil {
			return fmt.Errorf("%s: %w", is, err)
		}
		return nil
	})
}

// on has the page shown in another size, by day or by night.
func on(width, height int64, scheme string) chromedp.Action[chromedp.Void] {
	return chromedp.Steps(chromedp.EmulateViewport(width, height, chromedp.EmulateTouch), chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
		})
		return err
	}))
}

// shot keeps what the page looks like, where somebody wants to look at it.
func shot(name string) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		if *shots == "" {
			return nil
		}
		png, err := chromedp.CaptureScreenshot()(ctx, t)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(*shots, name+".png"), png, 0o644)
	})
}

// accessible has the page looked at by axe-core, where that is there, by the rules of WCAG 2.2 up to AA and its best practices.
func accessible(t *testing.T, what string) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		modules := os.Getenv("HORNLARK_NODE_MODULES")
		axe, err := os.ReadFile(filepath.Join(modules, "axe-core", "axe.min.js"))
		if modules == "" || err != nil {
			t.Logf("%s: there is no axe-core: scripts/install brings it, once dist/validators has been taken away", what)
			return nil
		}
		if _, err := chromedp.Evaluate[any](string(axe)+"; null")(ctx, target); err != nil {
			return err
		}
		found, err := chromedp.Evaluate[[]string](`axe.run(document, {resultTypes: ["violations"]}).then((r) => r.violations.flatMap((v) =>
			v.nodes.map((n) => v.id + ": " + v.help + ": " + n.html.slice(0, 120) + " " + (n.any[0]?.message ?? ""))))`, chromedp.EvalAwaitPromise)(ctx, target)
		for _, violation := range found {
			t.Errorf("%s: %s", what, violation)
		}
		return err
	})
}

// A whole sitting on a page and nothing else: begun, answered by keys, by touch and by a mouse, and told of at its end.
func TestASittingOnAPage(t *testing.T) {
	if testing.Short() || runtime.GOOS == "windows" {
		t.Skip("it takes a live sitting and a browser")
	}
	t.Parallel()
	ctx := browser(t, 1280, 800)
	p := onPage(t, shortOnPage("page")...)
	err := chromedp.Do(ctx,
		chromedp.Navigate(p.link),
		chromedp.WaitVisible("#begin"),
		shot("card"),
		accessible(t, "before it begins"),
		chromedp.KeyEvent(kb.Enter),
		asksOnPage("Battery"),
		chromedp.KeyEvent("1"),
		asksOnPage("Low NR horn"),
		shot("horn"),
		accessible(t, "with lights on"),
		chromedp.KeyEvent(" "),
		chromedp.KeyEvent(kb.Enter),
		asksOnPage("Avionics"),
		chromedp.Tap(".zone-overhead button[data-key='6'].next"),
		asksOnPage("State the fuel quantity"),
		chromedp.WaitVisible(".pad"),
		shot("reading"),
		accessible(t, "as a reading is typed"),
		on(390, 844, "dark"), shot("phone"), accessible(t, "on a phone, dark"),
		on(800, 1280, "dark"), shot("tablet"),
		chromedp.KeyEvent(kb.Escape), until(`document.querySelector(".asks .state").textContent.startsWith("Paused")`),
		shot("paused"), accessible(t, "paused"),
		chromedp.KeyEvent(kb.Escape), until(`document.querySelector(".instrument.green") !== null`),
		on(1280, 800, "light"),
	)
	if err != nil {
		t.Fatalf("%v\n%s", err, p.told)
	}
	figure, err := chromedp.Run(ctx, chromedp.Evaluate[string](
		`[...document.querySelectorAll(".instrument")].find((i) => i.querySelector(".name").textContent === "FUEL").querySelector(".figure").textContent`))
	if err != nil || len(figure) != 3 {
		t.Fatalf("%v; the fuel reads %q", err, figure)
	}
	err = chromedp.Do(ctx,
		chromedp.Tap(fmt.Sprintf(".pad .digit[data-char='%s']", figure[:1])),
		chromedp.KeyEvent(figure[1:]),
		chromedp.KeyEvent(kb.Enter),
		asksOnPage("Rotor brake"),
		chromedp.Click(".zone-console button[data-key=\"'\"]"),
		chromedp.WaitVisible("#report"),
		shot("report"),
		accessible(t, "with the report"),
	)
	if err != nil {
		t.Fatalf("%v\n%s", err, p.told)
	}
	report, err := chromedp.Run(ctx, chromedp.TextContent("#report"))
	if err != nil {
		t.Fatal(err)
	}
	<-p.over
	if code := p.cmd.ProcessState.ExitCode(); code != 0 {
		t.Errorf("status %d\n%s%s", code, p.told, p.out)
	}
	if report == "" || !strings.HasSuffix(strings.TrimSpace(p.out.String()), strings.TrimSpace(report)) {
		t.Errorf("the page reports\n%s\nand printed was\n%s", report, p.out)
	}
}
