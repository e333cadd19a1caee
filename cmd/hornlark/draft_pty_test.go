//go:build linux

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// Whoever drafts without options in a terminal is asked for what is missing: what may be written and what Enter alone means stand in the
// question, a wrong answer is asked again with what is nearest, and Ctrl-C leaves nothing behind.
func TestDraftsAskOnATerminal(t *testing.T) {
	if testing.Short() {
		t.Skip("it runs the program several times")
	}
	dir := t.TempDir()
	list, err := filepath.Abs(filepath.Join("testdata", "brief", "list.txt"))
	if err != nil {
		t.Fatal(err)
	}
	environ := []string{"HORNLARK_DATA=" + t.TempDir(), "XDG_CONFIG_HOME=" + t.TempDir()}
	in := func(name string) string { return filepath.Join(dir, name) }
	type step struct{ shows, answer string }
	for _, c := range []struct {
		args  []string
		steps []step
		file  string
		holds string
	}{
		{[]string{"draft", "procedure"}, []step{
			{"Which checklist is it, in which file?", "no-such.txt"}, {"There is no file no-such.txt.", list},
			{"Which aircraft is it for? dunlin-lt, turnstone-st, whinchat-pt", "dunlin"}, {"did you mean", "dunlin-lt"},
			{"What is it called, in a short name? [made of the file's]", "My List"}, {"is not a short name", "mine"},
			{"Write to which file? [show it here]", in("no/list.yaml")}, {"There is no folder", in("list.yaml")}, {"not mapped", ""},
		}, "list.yaml", "\nname: mine\n"},
		{[]string{"draft", "scenario"}, []step{
			{"Which procedure is gone through?", "?"}, {"whinchat-start", "dunlin-strat"}, {`did you mean "dunlin-start"?`, "dunlin-start"},
			{"In which way? prompted, recall, alerts, watch, limits [prompted]", ""},
			{"What goes wrong, each as NAME or NAME@ITEM?", "door-opn"}, {`did you mean "door-open"?`, "door-open@harnes"}, {`did you mean "harness"?`, "door-open@harness, radio-call"},
			{"What is it called", ""}, {"Write to which file?", in("scenario.yaml")},
		}, "scenario.yaml", "abnormal: door-open, during: harness"},
		{[]string{"draft", "abnormal", "--profile", "dunlin-lt"}, []step{
			{"What fails?", "gen1.faild"}, {`did you mean "gen1.failed"?`, "gen1.failed"}, {"Is it a look-alike", ""}, {"What is it called", ""}, {"Write to which file?", in("abnormal.yaml")},
		}, "abnormal.yaml", "failure: gen1.failed"},
		{[]string{"draft", "profile"}, []step{
			{"differs, all [differs]", ""}, {"Of which profile is it made?", "whinchat-pt"}, {"What is it called", ""}, {"It has to be said.", "whinchat-pt"},
			{"There is a whinchat-pt already", "mine-pt"}, {"And on a screen?", ""}, {"Write to which file?", in("profile.yaml")}, {"abnormals of whinchat-pt work on it", ""},
		}, "profile.yaml", "based_on: whinchat-pt\n"},
	} {
		cmd, term, screen := onPTY(t, environ, c.args...)
		for i, s := range c.steps {
			screen.await(t, s.shows, 20*time.Second)
			if i < len(c.steps)-1 || s.answer != "" {
				term.WriteString(s.answer + "\n")
			}
		}
		if err := cmd.Wait(); err != nil {
			t.Errorf("%v: %v\n%s", c.args, err, screen.string())
		}
		if text, err := os.ReadFile(in(c.file)); err != nil || !strings.Contains(string(text), c.holds) {
			t.Errorf("%v: %v\n%s", c.args, err, text)
		}
	}
	cmd, term, screen := onPTY(t, environ, "draft", "profile")
	screen.await(t, "differs, all", 20*time.Second)
	term.WriteString("\n")
	screen.await(t, "Of which profile", 20*time.Second)
	term.WriteString("\x03")
	if err := cmd.Wait(); err == nil || cmd.ProcessState.ExitCode() != exitStopped {
		t.Errorf("%v\n%s", err, screen.string())
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 4 {
		t.Errorf("%v, %v are there", err, left)
	}
}
