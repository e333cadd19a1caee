package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"hornlark/drill/library"
)

// readable is one of the pages that tell how documents are written and what commands there are.
type readable struct {
	name, text string
}

func pages(t *testing.T) []readable {
	t.Helper()
	var list []readable
	for _, name := range []string{"README.md", "DEVELOPERS.md"} {
		text, err := os.ReadFile(filepath.Join("..", "..", name))
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, readable{name, string(text)})
	}
	return list
}

// checked runs the real check on a file and gives what it said.
func checked(path string) (status int, out string) {
	var said strings.Builder
	status = run(context.Background(), []string{"check", path}, streams{in: strings.NewReader(""), out: &said, err: &said})
	return status, said.String()
}

// fenced finds the YAML examples of a page, which stand in fences.
var fenced = regexp.MustCompile("(?s)```yaml\n(.*?)```")

// fragment finds the fields that a page shows in the middle of a sentence, as in `par: {horn: 1500ms}`.
var fragment = regexp.MustCompile("`([a-z_]+): ?([\\[{][^`]*[\\]}])`")

// host is a document that a field can be shown in: a scenario that is nothing but sound.
const host = `name: host
title: A host
about: For one field that a page shows.
procedure: dunlin-start
policy: prompted
map: names
weather: {oat: 12, pressure_altitude: 50}
`

// overlayHost is one for what only a profile has that is laid over another one.
const overlayHost = "name: host-lt\ntitle: A host\nbased_on: dunlin-lt\n"

// Every example of the README and of DEVELOPERS.md is accepted by the real check: documents and answers in fences, and the
// fields that stand in a sentence.
func TestExamplesOfThePagesAreAccepted(t *testing.T) {
	found := 0
	for _, p := range pages(t) {
		var examples []string
		for _, m := range fenced.FindAllStringSubmatch(p.text, -1) {
			examples = append(examples, m[1])
		}
		for _, m := range fragment.FindAllStringSubmatch(p.text, -1) {
			field := m[1] + ": " + m[2] + "\n"
			in := host
			if m[1] == "leave_out" {
				in = overlayHost
			}
			examples = append(examples, in+field)
		}
		for i, text := range examples {
			path := filepath.Join(t.TempDir(), fmt.Sprintf("example-%d.yaml", i))
			if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
			if status, out := checked(path); status != exitPassed || !strings.Contains(out, "nothing is wrong") {
				t.Errorf("%s: status %d: %s\n%s", p.name, status, out, text)
			}
			found++
		}
		if fences := strings.Count(p.text, "```"); fences%2 != 0 {
			t.Errorf("%s: a fence is not closed", p.name)
		}
	}
	if found < 3 {
		t.Errorf("only %d examples were found", found)
	}
}

// An example of answers plays as well: the trainee of the README leaves out what it says.
func TestAnswersOfTheReadmePlay(t *testing.T) {
	readme := pages(t)[0].text
	m := fenced.FindStringSubmatch(readme)
	if m == nil {
		t.Fatal("the README shows no answers")
	}
	path := filepath.Join(t.TempDir(), "forgetful.yaml")
	if err := os.WriteFile(path, []byte(m[1]), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv("HORNLARK_DATA", t.TempDir())
	var out, errs strings.Builder
	status := run(context.Background(), []string{"drill", "first-start", "--answers", path, "--virtual", "--seed", "7", "--json"},
		streams{in: strings.NewReader(""), out: &out, err: &errs})
	if status == exitUsage || errs.Len() > 0 {
		t.Fatalf("status %d: %s", status, errs.String())
	}
	var result struct {
		Items []struct{ ID, Outcome string }
	}
	if err := json.Unmarshal([]byte(out.String()), &result); err != nil {
		t.Fatal(err)
	}
	left := regexp.MustCompile(`leave_out: \[([a-z0-9-]+)\]`).FindStringSubmatch(m[1])
	if left == nil {
		t.Fatal("the answers leave nothing out")
	}
	for _, it := range result.Items {
		if it.ID == left[1] && it.Outcome == "omitted" {
			return
		}
	}
	t.Errorf("%s is not among what was left out", left[1])
}

// command finds the command lines of a page, which are indented.
var command = regexp.MustCompile(`(?m)^    hornlark( [^\n]*)?$`)

// Every command line that a page shows is one of the program: its command, and all of its options.
func TestCommandsOfThePagesExist(t *testing.T) {
	found := 0
	for _, p := range pages(t) {
		for _, m := range command.FindAllStringSubmatch(p.text, -1) {
			line, _, _ := strings.Cut(m[1], "  ") // what follows is what it does
			for _, args := range variants(line) {
				found++
				root := newRoot(streams{in: strings.NewReader("")})
				c, rest, err := root.Find(args)
				if err == nil {
					err = c.ParseFlags(rest)
				}
				if err != nil || len(args) > 0 && args[0] != "completion" && c == root {
					t.Errorf("%s: hornlark %s: %v", p.name, line, err)
				}
			}
		}
	}
	if found < 10 {
		t.Errorf("only %d command lines were found", found)
	}
}

// variants is the command lines that one line of a table stands for: "export, import" are two.
func variants(line string) [][]string {
	words := strings.Fields(line)
	if len(words) == 0 {
		return [][]string{nil}
	}
	if first, ok := strings.CutSuffix(words[0], ","); ok {
		return [][]string{{first}, words[1:]}
	}
	return [][]string{words}
}

// named finds the files that a page names, by their path or beside their folder's.
var named = regexp.MustCompile(`[\w.-]+(?:/[\w.-]+)*/?`)

// Every file and folder that a page names below one of the folders of the project exists, and check accepts those that are
// documents.
func TestFilesOfThePagesAreAccepted(t *testing.T) {
	top, err := os.ReadDir(filepath.Join("..", ".."))
	if err != nil {
		t.Fatal(err)
	}
	var folders []string
	for _, e := range top {
		if e.IsDir() && !strings.HasPrefix(e.Name(), ".") {
			folders = append(folders, e.Name())
		}
	}
	found := 0
	for _, p := range pages(t) {
		for _, name := range named.FindAllString(p.text, -1) {
			first, _, within := strings.Cut(name, "/")
			if !within || !slices.Contains(folders, first) {
				continue
			}
			name = strings.TrimRight(name, "./")
			path := filepath.Join("..", "..", filepath.FromSlash(name))
			if _, err := os.Stat(path); err != nil {
				t.Errorf("%s names %s: %v", p.name, name, err)
				continue
			}
			found++
			if strings.HasSuffix(name, ".yaml") {
				if status, out := checked(path); status != exitPassed {
					t.Errorf("%s names %s: %s", p.name, name, out)
				}
			}
		}
	}
	if found < 5 {
		t.Errorf("only %d files were found", found)
	}
}

// Every scenario, and every aircraft, that is built in stands in the tables of the README, and no other does.
func TestTablesOfTheReadme(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	var want []string
	for _, s := range lib.Scenarios() {
		want = append(want, s.Name)
	}
	for _, p := range lib.Profiles() {
		want = append(want, p.Name)
	}
	slices.Sort(want)
	var have []string
	for _, line := range strings.Split(pages(t)[0].text, "\n") {
		if !strings.HasPrefix(line, "| `") {
			continue
		}
		first, _, _ := strings.Cut(line[2:], "|")
		for _, name := range regexp.MustCompile("`([a-z0-9-]+)`").FindAllStringSubmatch(first, -1) {
			have = append(have, name[1])
		}
	}
	slices.Sort(have)
	if !slices.Equal(have, want) {
		t.Errorf("the README has\n%v, built in is\n%v", have, want)
	}
}
