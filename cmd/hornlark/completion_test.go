package main

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"hornlark/drill/library"
)

// completed is what a shell is offered, without what stands behind the names.
func completed(t *testing.T, args ...string) []string {
	t.Helper()
	var out, errs bytes.Buffer
	if status := run(t.Context(), append([]string{"__complete"}, args...), streams{in: strings.NewReader(""), out: &out, err: &errs}); status != exitPassed {
		t.Errorf("%q: status %d: %s", args, status, &errs)
	}
	var names []string
	for line := range strings.Lines(out.String()) {
		if name, _, _ := strings.Cut(strings.TrimSpace(line), "\t"); name != "" && !strings.HasPrefix(name, ":") {
			names = append(names, name)
		}
	}
	return names
}

// What is completed tells nobody what will come, and makes nothing: of all commands and their options only those name abnormals that
// reveal, or write documents.
func TestCompletionTellsNothing(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	t.Setenv("HORNLARK_DATA", data)
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	var secret []string
	for _, a := range lib.Abnormals() {
		secret = append(secret, a.Name)
	}
	may := []string{"hornlark draft scenario --abnormal"}
	lines := 0
	var walk func(c *cobra.Command)
	walk = func(c *cobra.Command) {
		path := strings.Fields(c.CommandPath())[1:]
		look := func(what string, args ...string) {
			lines++
			for _, name := range completed(t, args...) {
				if slices.Contains(secret, name) && !slices.Contains(may, what) {
					t.Errorf("%s offers %s", what, name)
				}
			}
		}
		look(c.CommandPath(), append(slices.Clone(path), "")...)
		c.Flags().VisitAll(func(f *pflag.Flag) {
			if f.Value.Type() != "bool" {
				look(c.CommandPath()+" --"+f.Name, append(slices.Clone(path), "--"+f.Name, "")...)
			}
		})
		for _, sub := range c.Commands() {
			walk(sub)
		}
	}
	walk(newRoot(streams{in: strings.NewReader("")}))
	if lines < 60 {
		t.Errorf("only %d were tried", lines)
	}
	if names := completed(t, "show", "--reveal", "hot"); !slices.Contains(names, "hot-start") {
		t.Errorf("to whom it is revealed %q is offered", names)
	}
	if names := completed(t, "draft", "scenario", "--abnormal", "hot"); !slices.Contains(names, "hot-start") {
		t.Errorf("whoever writes a scenario is offered %q", names)
	}
	if _, err := os.Stat(data); !os.IsNotExist(err) {
		t.Errorf("a folder for records was made: %v", err)
	}
}

// What has a few values offers them, and what is a number or a date no files.
func TestCompletionOfOptions(t *testing.T) {
	t.Setenv("HORNLARK_DATA", filepath.Join(t.TempDir(), "data"))
	for line, want := range map[string]string{
		"paper procedure":                     "turnstone-start",
		"paper keyboard":                      "whinchat-pt",
		"paper key":                           "first-start",
		"paper keyboard dunlin-lt --keyboard": "dvorak",
		"paper procedure dunlin-start --size": "a4",
		"preview":                             "cold-morning",
		"drill first-start --phases":          "start-2",
		"drill hand-start --phases":           "seat",
		"drill --phases start-2,":             "start-2,start-1",
		"drill --answers":                     "perfect",
		"tonight --profile":                   "dunlin-lt",
		"tonight --phase":                     "start-1",
		"plan --rest":                         "sun",
		"plan --rest sat,":                    "sat,sun",
		"sound --play":                        "loudest",
		"voice render --engine":               "flite",
		"draft scenario --procedure dunlin-start --state": "running",
		"draft abnormal --profile dunlin-lt --failure":    "gen1.failed",
		"course": "pack",
	} {
		args := append(strings.Fields(line), "")
		if strings.HasSuffix(line, ",") {
			args = args[:len(args)-1]
		}
		if names := completed(t, args...); !slices.Contains(names, want) {
			t.Errorf("%s: %.200q are offered, want %q among them", line, names, want)
		}
	}
	if names := completed(t, "drill", "hand-start", "--phases", ""); slices.Contains(names, "start-2") {
		t.Error("phases of another procedure are offered")
	}
	for _, args := range [][]string{{"drill", "--seed", ""}, {"plan", "--by", ""}, {"progress", "--last", ""}, {"debrief", ""}, {"tonight", "--trainee", ""}} {
		var out bytes.Buffer
		run(t.Context(), append([]string{"__complete"}, args...), streams{in: strings.NewReader(""), out: &out, err: &out})
		// 4 is no files, and 36 no files with an order of its own (ShellCompDirective, cobra).
		if first, _, _ := strings.Cut(out.String(), "\n"); first != ":4" && first != ":36" {
			t.Errorf("%q: %q", args, out.String())
		}
	}
}
