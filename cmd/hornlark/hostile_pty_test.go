//go:build unix

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/creack/pty"

	"hornlark/drill/inert"
)

// sequence is one control sequence of ECMA-48 (5.4, 8.3), or an operating system command or another string up to its end, or an escape of two
// characters.
var sequence = regexp.MustCompile("^\x1b(?:\\[[0-?]*[ -/]*[@-~]|[\\]PX^_][^\x07\x1b]*(?:\x07|\x1b\\\\)|[ -/]*[0-~])")

// shapeOf is a sequence without its figures.
func shapeOf(s string) string { return regexp.MustCompile(`[0-9]+`).ReplaceAllString(s, "N") }

// drawn goes through what a program wrote on a terminal: texts, in which nothing may act, and sequences, by their kinds.
func drawn(out string) (kinds map[string]int, texts []string, wrong string) {
	kinds = map[string]int{}
	var text strings.Builder
	for len(out) > 0 {
		r, n := utf8.DecodeRuneInString(out)
		switch {
		case r == 0x1b:
			found := sequence.FindString(out)
			if found == "" {
				return kinds, texts, fmt.Sprintf("no whole sequence: %.40q", out)
			}
			kinds[shapeOf(found)]++
			n = len(found)
			texts = append(texts, text.String())
			text.Reset()
		case r == utf8.RuneError && n == 1:
			return kinds, texts, fmt.Sprintf("a byte that is no UTF-8: %.40q", out)
		case strings.ContainsRune("\r\n\b\t", r):
			kinds[string(r)]++
		case inert.Acts(r):
			return kinds, texts, fmt.Sprintf("%U: %.40q", r, out)
		default:
			text.WriteRune(r)
		}
		out = out[n:]
	}
	return kinds, append(texts, text.String()), ""
}

// ours are the sequences that our drawing makes: moving (CUP, CUU to CUB, CHA, VPA, HPA), erasing (ED, EL, ECH), repeating (REP), colours (SGR), what
// a terminal can be asked to do (DECSET, DECRST) and which of it it can (DECRQM). Nothing names windows, links, writes clipboards or asks for answers that
// somebody could mistake for keys.
var ours = regexp.MustCompile("^(?:[\r\n\b\t]|\x1b\\[(?:N(?:;N)*)?m|\x1b\\[(?:N?(?:;N)?)[HABCDEFGdKJXPLMbST`a]|\x1b\\[\\?N(?:;N)*[hl]|\x1b\\[\\?N\\$p|\x1b\\[[>=<]?N?(?:;N)?u|\x1b\\[>N(?:;N)?m|\x1b[78=>M])$")

// marked is in what is hostile, and in nothing that we draw.
var marked = []string{"\x1b[5;31m", "\x1b[77;77H", "\x1b]", "\x1bc", "\u202e", "\u009b", "\a"}

const hostileMarks = "q\x1b[5;31mq\x1b[77;77H\x1b]0;title\a\x1b]8;;x\x1b\\\x1b]52;c;eA==\a\x1bc\u009b5mq\u202eq\u2066\u200b\ufeffq\x00q"

// looksDrawn holds what a terminal got to what we draw.
func looksDrawn(t *testing.T, of, out string) {
	t.Helper()
	kinds, _, wrong := drawn(out)
	if wrong != "" {
		t.Errorf("%s: %s", of, wrong)
	}
	for kind := range kinds {
		if !ours.MatchString(kind) {
			t.Errorf("%s: the terminal got %q", of, kind)
		}
	}
	for _, mark := range marked {
		if strings.Contains(out, mark) {
			t.Errorf("%s: the terminal got %q", of, mark)
		}
	}
}

// Whatever stands in a user's documents, in records that somebody has spoilt and in arguments: what a real terminal gets is text in which nothing
// acts, and the sequences of our own drawing. Documents with what acts in them do not come as far as the screen; in what else they may say
// nothing acts.
func TestHostileTextsOnATerminal(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes live sittings")
	}
	t.Parallel()
	d := newDesk(t)
	profile, err := os.ReadFile(filepath.Join("..", "..", "drill", "library", "profiles", "dunlin-lt.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	documents := func(name, text string) string {
		folder := filepath.Join(d.dir, name)
		quoted := inYAML(text)
		own := strings.Replace(string(profile), "name: dunlin-lt\n", "name: mine-lt\n", 1)
		own = regexp.MustCompile(`(?m)^title: .*$`).ReplaceAllString(own, "title: "+strings.ReplaceAll(quoted, "$", "$$"))
		own = regexp.MustCompile(`((?:label): )("[^"]*"|[^,}\n]+)`).ReplaceAllString(own, "${1}"+strings.ReplaceAll(quoted, "$", "$$"))
		for file, body := range map[string]string{
			"profile.yaml": own,
			"procedure.yaml": "name: mine\ntitle: " + quoted + "\nabout: " + quoted + "\nprofile: mine-lt\nphases:\n  - id: cabin\n    title: " + quoted +
				"\n    items:\n      - {id: doors, challenge: " + quoted + ", response: " + quoted + ", set: {doors: closed}}\n",
			"scenario.yaml": "name: mine\ntitle: " + quoted + "\nabout: " + quoted + "\nprocedure: mine\npolicy: prompted\nmap: names\nweather: {oat: 12, pressure_altitude: 50}\nseed: 1\npass: {right: 1}\n",
		} {
			if err := os.MkdirAll(folder, 0o700); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(folder, file), []byte(body), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		return folder
	}
	n := 0
	on := func(of string, keys string, args ...string) (out string, status int) {
		t.Helper()
		n++
		cmd := d.command(t.Context(), args...)
		cmd.Env = append(cmd.Env, "TERM=xterm-256color")
		term, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 40, Cols: 120})
		if err != nil {
			t.Fatal(err)
		}
		defer term.Close()
		screen := &shown{ended: make(chan struct{})}
		go screen.take(term)
		ended := make(chan struct{})
		if keys != "" {
			go func() { // each key again until the program ends: it may not have come as far
				for i := 0; ; i++ {
					select {
					case <-ended:
						return
					case <-time.After(700 * time.Millisecond):
						term.Write([]byte{keys[min(i, len(keys)-1)]})
					}
				}
			}()
		}
		kill := time.AfterFunc(time.Minute, func() {
			t.Errorf("%s: it did not end", of)
			cmd.Process.Kill()
		})
		cmd.Wait()
		kill.Stop()
		close(ended)
		looksDrawn(t, of, screen.all(t))
		return screen.string(), cmd.ProcessState.ExitCode()
	}
	altogether := "\x1b[?1049h"
	for name, text := range map[string]string{
		"markup": `<b>&"'` + "`$(x)", "formula": "=cmd|' /C calc'!A0", "two lines": "one\ntwo", "wide": "漢字かな" + strings.Repeat("\u0301", 8) + "e", "long": strings.Repeat("W", 300),
	} {
		folder := documents(name, text)
		out, status := on(name, "q", "drill", "mine", "--with", folder, "--answers", "perfect", "--silent")
		if status == exitUsage && name != "two lines" && name != "long" {
			t.Errorf("%s: refused: %.600s", name, out)
		}
		if status != exitUsage && !strings.Contains(out, altogether) {
			t.Errorf("%s: there was no screen: %.300q", name, out)
		}
	}
	folder := documents("marks", hostileMarks)
	out, status := on("documents", "", "drill", "mine", "--with", folder, "--answers", "perfect", "--silent")
	if status != exitUsage || strings.Contains(out, altogether) || !strings.Contains(out, "cannot be shown") && !strings.Contains(out, "control character") {
		t.Errorf("status %d: %.600q", status, out)
	}
	line := "x\nhornlark: all is well"
	argument := strings.ReplaceAll(hostileMarks, "\x00", "")
	for _, text := range []string{argument, line, "a\tb\rc"} {
		for _, args := range [][]string{
			{text}, {"--" + text}, {"drill", text}, {"show", text}, {"check", text}, {"drill", "--with", text}, {"drill", "--answers", text}, {"drill", "--policy", text}, {"drill", "--trainee", text},
			{"debrief", text}, {"debrief", "1", "--html", "no/" + text}, {"debrief", "1", "--reel", "no/" + text}, {"export", "--as", text}, {"export", "--out", "no/" + text + "/x"}, {"import", text}, {"sound", "--level", text}, {"help", text}, {"voice", "render", text},
		} {
			out, status := on(fmt.Sprintf("%q", args), "", args...)
			if status == exitPassed && args[0] != "help" && args[0] != "voice" {
				t.Errorf("%q: status 0", args)
			}
			if text == line && strings.Contains(out, "\nhornlark: all is well") {
				t.Errorf("%q: a name makes a line of its own: %q", args, out)
			}
		}
		was := d.data
		d.data = filepath.Join(d.dir, "file-"+strings.NewReplacer("/", "_").Replace(text))
		os.WriteFile(d.data, nil, 0o600)
		d.data += "/x"
		for _, args := range [][]string{{"debrief"}, {"progress"}, {"export"}} {
			if out, _ := on(fmt.Sprintf("HORNLARK_DATA=%q %q", d.data, args), "", args...); text == line && strings.Contains(out, "\nhornlark: all is well") {
				t.Errorf("%q: a folder's name makes a line of its own: %q", args, out)
			}
		}
		d.data = was
	}
	for _, plan := range []bool{false, true} {
		was := d.data
		d.data = filepath.Join(d.dir, fmt.Sprintf("spoilt-%v", plan))
		if err := os.CopyFS(d.data, os.DirFS(was)); err != nil {
			t.Fatal(err)
		}
		spoil(t, filepath.Join(d.data, "hornlark.db"), argument, plan)
		on("walk", "jjq", "debrief", "1", "--walk")
		on("debrief", "q", "debrief", "1")
		on("progress", "q", "progress")
		on("forget", "n\r", "forget", "nobody")
		d.data = was
	}
	t.Logf("%d commands on a terminal", n)
}
