package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// sampleValue is something that a flag takes.
func sampleValue(f *pflag.Flag) string {
	switch f.Value.Type() {
	case "bool":
		return "true"
	case "duration":
		return "20ms"
	case "int", "uint64", "float64":
		return "2"
	}
	return "sample"
}

// Any two flags of a group of which only one may be given are a mistake in the call: both are named, and what to do.
func TestExclusiveFlags(t *testing.T) {
	t.Setenv("HORNLARK_DATA", filepath.Join(t.TempDir(), "data"))
	pairs := 0
	everyCommand(func(path []string, c *cobra.Command) {
		for _, group := range exclusiveGroups(c) {
			for i, first := range group {
				for _, second := range group[i+1:] {
					pairs++
					args := slices.Clone(path)
					for _, name := range []string{second, first} {
						args = append(args, "--"+name+"="+sampleValue(c.Flags().Lookup(name)))
					}
					if strings.Contains(c.Use, "SCENARIO") {
						args = append(args, "cold-morning")
					}
					status, said := saidBy(args...)
					if status != exitUsage || strings.Count(said, "\n") != 1 || !strings.Contains(said, "cannot be given together; choose one of --"+strings.Join(group, ", --")+"\n") {
						t.Errorf("hornlark %s: status %d: %s", strings.Join(args, " "), status, said)
					}
				}
			}
		}
	})
	if pairs < 14 { // 6 of sound, 3 of debrief, 3 and 1 of preview, 1 of draft profile
		t.Errorf("%d pairs were tried", pairs)
	}
	if _, err := os.Stat(os.Getenv("HORNLARK_DATA")); err == nil {
		t.Error("something was made, though the call was wrong")
	}
}

// The groups of the other kinds, which no command has yet, are mistakes in the call as well.
func TestOtherGroupsOfFlags(t *testing.T) {
	for _, c := range []struct {
		name string
		mark func(*cobra.Command)
		want string
	}{
		{"needed", func(c *cobra.Command) { must(c.MarkFlagRequired("two")) }, `required flag(s) "two" not set; see: try --help`},
		{"together", func(c *cobra.Command) { c.MarkFlagsRequiredTogether("one", "two") }, "missing [two]; see: try --help"},
		{"one of them", func(c *cobra.Command) { c.MarkFlagsOneRequired("two", "three") }, "is required; see: try --help"},
	} {
		t.Run(c.name, func(t *testing.T) {
			try := &cobra.Command{Use: "try", PersistentPreRunE: func(c *cobra.Command, _ []string) error { return checkGroups(c) }, Run: func(*cobra.Command, []string) {}, SilenceErrors: true, SilenceUsage: true}
			for _, name := range []string{"one", "two", "three"} {
				try.Flags().Bool(name, false, "")
			}
			c.mark(try)
			try.SetArgs([]string{"--one"})
			err := try.Execute()
			if _, usage := err.(usageError); !usage || !strings.HasSuffix(err.Error(), c.want) {
				t.Errorf("%v; want a usageError that ends with %q", err, c.want)
			}
		})
	}
}

// What excludes each other and is no group of flags, because an argument or a value has a part in it.
func TestExclusiveArguments(t *testing.T) {
	t.Setenv("HORNLARK_DATA", filepath.Join(t.TempDir(), "data"))
	for _, line := range []string{
		"drill --answers perfect --virtual --trainee kim --nobody", "trainee kim --nobody", "forget kim --nameless", "trace first-start --answers perfect --csv - --svg -",
		"preview first-start --svg - --html -", "preview first-start --save same --html same", "preview first-start --facts --html -", "preview first-start --most 3", "check --quiet --strict testdata/short",
	} {
		if status, said := saidBy(strings.Fields(line)...); status != exitUsage || !strings.HasPrefix(said, "hornlark: ") {
			t.Errorf("hornlark %s: status %d: %s", line, status, said)
		}
	}
}
