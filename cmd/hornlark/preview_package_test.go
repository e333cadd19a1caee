package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill/logbook"
)

// A course that preview writes is installed as it is, needs nothing of whoever made it, and each of its sittings is the one with the seed that
// was chosen, entry for entry.
func TestPreviewWritesACourse(t *testing.T) {
	own := t.TempDir()
	builtin, err := os.ReadFile(filepath.Join("..", "..", "drill", "library", "scenarios", "hover-alerts.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"heron.yaml":  "name: heron-lt\ntitle: Heron LT\nbased_on: dunlin-lt\nleave_out: [captions.heat_on]\n",
		"marsh.yaml":  strings.Replace(string(builtin), "name: hover-alerts", "name: marsh\nprofile: heron-lt", 1),
		"unused.yaml": "name: kite-lt\ntitle: Kite LT\nbased_on: dunlin-lt\nleave_out: [captions.trim_on]\n",
	} {
		if err := os.WriteFile(filepath.Join(own, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		scenario string
		more     []string
		files    int
	}{
		{"hover-alerts", nil, 3},
		{"marsh", []string{"--with", own, "--name", "autumn"}, 4},
	} {
		t.Run(c.scenario, func(t *testing.T) {
			t.Setenv("HORNLARK_DATA", filepath.Join(t.TempDir(), "data"))
			file := filepath.Join(t.TempDir(), "course.zip")
			status, said := saidBy(append([]string{"preview", c.scenario, "--course", "2", "--runs", "4", "--json", "--by", "Skerry Sound training", "--out", file}, c.more...)...)
			var made courseJSON
			if err := json.Unmarshal([]byte(said), &made); status != exitPassed || err != nil || made.Package != file {
				t.Fatalf("status %d (%v): %s", status, err, said)
			}
			if status, said := saidBy("course", "add", file); status != exitPassed || !strings.Contains(said, fmt.Sprintf("files: %d,", c.files)) {
				t.Fatalf("status %d: %s", status, said)
			}
			var logs [][]logbook.Entry
			for i := range made.Seeds {
				name := strings.TrimPrefix(made.Commands[i], "hornlark drill ")
				of := &drillOptions{streams: streams{err: os.Stderr}, scenario: c.scenario, virtual: true, seed: made.Seeds[i].Seed, seedSet: true, answers: "perfect", layout: "qwerty"}
				if c.more != nil {
					of.own = []string{own}
				}
				as := *of
				as.scenario, as.seedSet, as.own = name, false, nil
				var both [2][]logbook.Entry
				for k, o := range []*drillOptions{of, &as} {
					ex, err := o.exercise()
					if err != nil {
						t.Fatal(err)
					}
					if err := ex.RunVirtual(context.Background(), desk.Virtual{}); err != nil {
						t.Fatal(err)
					}
					if ex.Log[0].Text != o.scenario {
						t.Fatalf("the log begins with %+v", ex.Log[0])
					}
					ex.Log[0].Text = "" // what it is called is all that differs
					both[k] = ex.Log
				}
				if len(both[0]) < 20 || !reflect.DeepEqual(both[0], both[1]) {
					t.Errorf("%s is not the sitting of %s with the seed %d", name, c.scenario, made.Seeds[i].Seed)
				}
				logs = append(logs, both[1])
			}
			if reflect.DeepEqual(logs[0], logs[1]) {
				t.Error("its two sittings are one")
			}
		})
	}
}

// A course that could not be installed is refused before a seed is tried.
func TestPreviewRefusesACourse(t *testing.T) {
	t.Setenv("HORNLARK_DATA", filepath.Join(t.TempDir(), "data"))
	file := filepath.Join(t.TempDir(), "course.zip")
	call := []string{"preview", "hover-alerts", "--course", "2", "--runs", "20000", "--by", "Skerry Sound training", "--out", file}
	for _, c := range []struct {
		more []string
		says string
	}{
		{[]string{"--name", "Two words"}, "is not a short name"},
		{[]string{"--name", "con"}, "is the name of a device on Windows"},
		{[]string{"--by", " "}, "a course says who answers for it; add --by NAME"},
		{[]string{"--out", "-", "--json"}, "only one of --json and --out can go to the standard output"},
		{[]string{"--out", t.TempDir()}, "is a folder"},
	} {
		if status, said := saidBy(append(call[:len(call):len(call)], c.more...)...); status != exitUsage || !strings.Contains(said, c.says) {
			t.Errorf("%v: status %d: %s; want %q", c.more, status, said, c.says)
		}
	}
	for _, line := range []string{"preview hover-alerts --out course.zip", "preview hover-alerts --course 2 --name mine", "preview hover-alerts --course 2 --by me"} {
		if status, said := saidBy(strings.Fields(line)...); status != exitUsage || strings.Count(said, "\n") != 1 {
			t.Errorf("%s: status %d: %s", line, status, said)
		}
	}
	if _, err := os.Stat(file); err == nil {
		t.Error("a file was left")
	}
}
