package main

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// slipped is a word as it comes out when two of its letters change places.
func slipped(word string) string {
	for i := len(word) - 2; i > 0; i-- {
		if word[i] != word[i+1] {
			return word[:i] + string(word[i+1]) + string(word[i]) + word[i+2:]
		}
	}
	return word + "x"
}

// said is what a command line says, and its status.
func saidBy(args ...string) (int, string) {
	var said strings.Builder
	status := run(context.Background(), args, streams{in: strings.NewReader(""), out: &said, err: &said})
	return status, said.String()
}

// everyCommand calls f for every command that is shown.
func everyCommand(f func(path []string, c *cobra.Command)) {
	var walk func(path []string, c *cobra.Command)
	walk = func(path []string, c *cobra.Command) {
		f(path, c)
		for _, sub := range c.Commands() {
			if !sub.Hidden {
				walk(append(slices.Clone(path), sub.Name()), sub)
			}
		}
	}
	walk(nil, newRoot(streams{in: strings.NewReader("")}))
}

// Every command and every flag, with two letters that have changed places, is found by what was meant.
func TestSlipsInCommandsAndFlags(t *testing.T) {
	commands, flags := 0, 0
	everyCommand(func(path []string, c *cobra.Command) {
		if n := len(path); n > 0 && len(path[n-1]) > 3 {
			commands++
			for _, args := range [][]string{append(slices.Clone(path[:n-1]), slipped(path[n-1])), append(append([]string{"help"}, path[:n-1]...), slipped(path[n-1]))} {
				if status, said := saidBy(args...); status != exitUsage || !strings.Contains(said, `did you mean "`+path[n-1]+`"?`) {
					t.Errorf("hornlark %s: status %d: %s", strings.Join(args, " "), status, said)
				}
			}
		}
		c.LocalFlags().VisitAll(func(f *pflag.Flag) {
			if len(f.Name) < 4 || f.Hidden {
				return
			}
			flags++
			args := append(slices.Clone(path), "--"+slipped(f.Name))
			if status, said := saidBy(args...); status != exitUsage || !strings.Contains(said, "did you mean --"+f.Name+"?") {
				t.Errorf("hornlark %s: status %d: %s", strings.Join(args, " "), status, said)
			}
		})
	})
	if commands < 20 || flags < 80 {
		t.Errorf("%d commands, %d flags", commands, flags)
	}
}

// meantValues are the flags whose values are names, of each a slip and what was meant.
var meantValues = map[string][2]string{
	"profile": {"dunlin-tl", "dunlin-lt"}, "like": {"dunlin-tl", "dunlin-lt"}, "based-on": {"dunlin-tl", "dunlin-lt"}, "size": {"a55", "a5"}, "keyboard": {"qwretz", "qwertz"}, "procedure": {"dunlin-strat", "dunlin-start"}, "policy": {"recal", "recall"}, "layout": {"qwretz", "qwertz"}, "family": {"enigne", "engine"},
	"map": {"naems", "names"}, "state": {"hovr", "hover"}, "trainee": {"trianee 0", "trainee 0"}, "as": {"cvs", "csv"}, "answers": {"perfct", "perfect"}, "phase": {"cockpti", "cockpit"}, "phases": {"cockpti", "cockpit"},
	"abnormal": {"hot-strat", "hot-start"}, "failure": {"gen1.faild", "gen1.failed"}, "engine": {"flit", "flite"}, "rest": {"sst", "sat"}, "play": {"gogn", "gong"},
}

// freeValues are the flags whose values are no names: files, figures, moments and words.
var freeValues = []string{"html", "reel", "name", "out", "with", "title", "seed", "wav", "home", "at", "by", "ics", "minutes", "svg", "csv", "last", "criteria", "buffer", "latency", "level", "every", "lexicon", "rate", "help", "generate", "runs", "workers", "save", "find", "course", "most", "into", "station", "listen"}

// meantArgs is what else a command needs before it looks at such a flag.
var meantArgs = map[string]string{
	"draft abnormal": "--profile dunlin-lt --failure gen1.failed", "draft procedure": "LIST --profile dunlin-lt", "draft profile": "--name mine", "draft scenario": "--procedure dunlin-start",
	"drill": "first-start --answers perfect --virtual", "trace": "first-start --answers perfect --csv -", "list": "failures --profile dunlin-lt", "show": "first-start", "plan": "--by 2027-03-12 --profile dunlin-lt --trainee kim",
	"ready": "--profile dunlin-lt --trainee trainee@0", "tonight": "--profile dunlin-lt --trainee kim --answers perfect --virtual", "voice render": "", "export": "--as csv", "sound": "", "progress": "", "preview": "first-start --runs 1", "paper key": "first-start --out -", "paper keyboard": "dunlin-lt --out -", "paper procedure": "dunlin-start --out -",
}

// unlike are slips for which a command has other values than the others.
var unlike = map[string][2]string{"draft procedure --as": {"markdwn", "markdown"}, "tonight --trainee": {}, "drill --trainee": {}, "plan --trainee": {}, "ready --trainee": {}, "preview --trainee": {"typcial", "typical"}, "preview --like": {"trianee 0", "trainee 0"}}

// Every flag whose values are names says what was probably meant by one with a slip in it, in every command that has it.
func TestSlipsInValues(t *testing.T) {
	t.Setenv("HORNLARK_DATA", t.TempDir())
	list := filepath.Join(t.TempDir(), "list.txt")
	if err := os.WriteFile(list, []byte("CABIN\nDoors ... ALL CLOSED\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	keepMany(t, os.Getenv("HORNLARK_DATA"), "piston-limits", 1, 1)
	tried := 0
	everyCommand(func(path []string, c *cobra.Command) {
		c.LocalFlags().VisitAll(func(f *pflag.Flag) {
			if f.Hidden || f.Value.Type() == "bool" || slices.Contains(freeValues, f.Name) {
				return
			}
			command := strings.Join(path, " ")
			slip, known := meantValues[f.Name]
			if other, ok := unlike[command+" --"+f.Name]; ok {
				slip = other
			}
			needs, said := meantArgs[command]
			if !known || !said {
				t.Errorf("%s --%s: say in this test by which slip in a value it is tried, and what else it needs", command, f.Name)
				return
			}
			if slip[0] == "" {
				return // whatever is given is somebody new
			}
			args := slices.Clone(path)
			var words []string
			for _, word := range strings.Fields(needs) {
				words = append(words, strings.NewReplacer("LIST", list, "@", " ").Replace(word))
			}
			if i := slices.Index(words, "--"+f.Name); i >= 0 {
				words = slices.Delete(words, i, i+2)
			}
			args = append(append(args, words...), "--"+f.Name, slip[0])
			tried++
			if status, out := saidBy(args...); status == exitPassed || !strings.Contains(out, "did you mean") || !strings.Contains(out, slip[1]) {
				t.Errorf("hornlark %s: status %d: %s", strings.Join(args, " "), status, out)
			}
		})
	})
	if tried < 30 {
		t.Errorf("%d flags were tried", tried)
	}
}

// What is named without a flag is found as well: scenarios, what is shown, kinds of documents, lists, trainees, sheets.
func TestSlipsInNames(t *testing.T) {
	t.Setenv("HORNLARK_DATA", t.TempDir())
	keepMany(t, os.Getenv("HORNLARK_DATA"), "piston-limits", 1, 1)
	for _, c := range []struct{ line, meant string }{
		{"drill frist-start --answers perfect --virtual", "first-start"}, {"trace frist-start --answers perfect --csv -", "first-start"}, {"show frist-start", "first-start"}, {"show dunlin-strat", "dunlin-start"},
		{"show dunlin-tl", "dunlin-lt"}, {"show hot-strat --reveal", "hot-start"}, {"list feilds", "fields"}, {"list failuers --profile dunlin-lt", "failures"}, {"list fields profiel", "profile"},
		{"list fields criteira", "criteria"}, {"check --sheet dunlin-tl", "dunlin-lt"}, {"forget trianee@0 --yes", "trainee 0"},
	} {
		args := strings.Fields(c.line)
		for i := range args {
			args[i] = strings.ReplaceAll(args[i], "@", " ")
		}
		if status, said := saidBy(args...); status == exitPassed || !strings.Contains(said, "did you mean") || !strings.Contains(said, c.meant) {
			t.Errorf("hornlark %s: status %d: %s", c.line, status, said)
		}
	}
}
