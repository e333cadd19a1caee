package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// inProcess runs a command in the process of the test, and gives what it said on each output.
func inProcess(args ...string) (status int, out, errs string) {
	var o, e strings.Builder
	status = run(context.Background(), args, streams{in: strings.NewReader(""), out: &o, err: &e})
	return status, o.String(), e.String()
}

// draftedPlays is a scenario for a procedure that was drafted.
const draftedPlays = `name: played
title: Played
about: For a test.
procedure: drafted
policy: prompted
map: names
weather: {oat: 12, pressure_altitude: 50}
seed: 1
pass: {right: 1, omitted: 0, out_of_order: 0}
`

// A checklist in each format becomes a procedure that passes the check, and that somebody who makes no mistake gets through. The lists
// are ours, of aircraft that never existed.
func TestDraftedProceduresArePlayed(t *testing.T) {
	t.Setenv("HORNLARK_DATA", t.TempDir())
	for _, c := range []struct {
		file, profile string
		says          string
	}{
		{"dunlin.txt", "dunlin-lt", "drafted: items: 32, phases: 3; mapped: 21 set, 5 check, 1 read, 5 confirm; guessed: 3, not mapped: 0\n"},
		{"turnstone.md", "turnstone-st", "drafted: items: 23, phases: 3; mapped: 15 set, 4 check, 1 read, 3 confirm; guessed: 3, not mapped: 0\n"},
		{"whinchat.csv", "whinchat-pt", "drafted: items: 18, phases: 3; mapped: 15 set, 1 read, 2 confirm; guessed: 1, not mapped: 0\n"},
		{"long.txt", "dunlin-lt", "drafted: items: 39, phases: 4; mapped: 22 set, 8 check, 1 read, 2 confirm; guessed: 9, not mapped: 6\n"},
		{filepath.Join("lists", "dunlin.txt"), "dunlin-lt", "drafted: items: 40, phases: 4; mapped: 22 set, 5 check, 2 read, 2 callout, 6 confirm; guessed: 6, not mapped: 2\n"},
		{"odd.txt", "dunlin-lt", "drafted: items: 8, phases: 1; mapped: 4 set, 1 check, 1 confirm; guessed: 2, not mapped: 2\n"},
	} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, "scenario.yaml"), []byte(draftedPlays), 0o600); err != nil {
			t.Fatal(err)
		}
		out := filepath.Join(dir, "drafted.yaml")
		list := filepath.Join("..", "..", "drill", "draft", "testdata", c.file)
		status, _, said := inProcess("draft", "procedure", list, "--profile", c.profile, "--name", "drafted", "--out", out)
		if status != exitPassed || !strings.HasSuffix(said, c.says) {
			t.Errorf("%s: status %d\n%s", c.file, status, said)
			continue
		}
		if status, said := checked(dir); status != exitPassed {
			t.Errorf("%s: %s", c.file, said)
		}
		if status, report, said := inProcess("drill", "played", "--with", dir, "--answers", "perfect", "--virtual"); status != exitPassed || said != "" {
			t.Errorf("%s: status %d: %s\n%s", c.file, status, said, report)
		}
	}
}

// What could not be mapped is told of with what comes nearest, and stands in the document as a comment.
func TestDraftTellsWhatIsNotMapped(t *testing.T) {
	list := filepath.Join(t.TempDir(), "list.txt")
	if err := os.WriteFile(list, []byte("Battery switch .... armd\nTurbo pump ..... stowed\nNR ..... 300 %\nRotor mast ... greased\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	status, document, said := inProcess("draft", "procedure", list, "--profile", "dunlin-lt")
	if status != exitPassed {
		t.Fatalf("status %d: %s", status, said)
	}
	for _, want := range []string{
		list + `:1: "Battery switch … armd": battery has no position "armd", only off, on`,
		list + `:2: "Turbo pump … stowed": pump1 has no position "stowed", only off, on`,
		list + `:4: "Rotor mast … greased": nothing of the Dunlin LT answers to it; nearest: control nr_select (ROTOR SPEED: ground, flight)`,
		list + `:3: "NR … 300 %": nr goes from 0 to 120 %`,
	} {
		if !strings.Contains(said, want) {
			t.Errorf("%s\nis not in\n%s", want, said)
		}
	}
	if n := strings.Count(document, `confirm: "true"`); n != 4 || strings.Count(document, "# Line ") != 4 {
		t.Errorf("%d are confirmed\n%s", n, document)
	}
}

func TestDraftRefuses(t *testing.T) {
	dir := t.TempDir()
	list := filepath.Join("testdata", "brief", "list.txt")
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"procedure"}, "accepts 1 arg"},
		{[]string{"procedure", list}, "add --profile"},
		{[]string{"procedure", list, "--profile", "dunlin"}, `no profile "dunlin"`},
		{[]string{"procedure", list, "--profile", "dunlin-lt", "--as", "markdwn"}, `did you mean "markdown"?`},
		{[]string{"procedure", list, "--profile", "dunlin-lt", "--name", "My List"}, "not a short name"},
		{[]string{"procedure", dir, "--profile", "dunlin-lt"}, "is not a file"},
		{[]string{"procedure", filepath.Join(dir, "no.txt"), "--profile", "dunlin-lt"}, "check the path"},
		{[]string{"procedure", "-", "--profile", "dunlin-lt"}, "no line of a checklist"},
		{[]string{"proceedure", list}, "unknown command"},
	} {
		if status, out, said := inProcess(append([]string{"draft"}, c.args...)...); status != exitUsage || !strings.Contains(said, c.says) || out != "" {
			t.Errorf("%v: status %d: %s%s", c.args, status, out, said)
		}
	}
}

// From a checklist to a sitting: three commands.
func TestFromAChecklistToASitting(t *testing.T) {
	t.Setenv("HORNLARK_DATA", t.TempDir())
	dir := t.TempDir()
	list := filepath.Join("testdata", "brief", "list.txt")
	for _, args := range [][]string{
		{"draft", "procedure", list, "--profile", "dunlin-lt", "--out", filepath.Join(dir, "cabin.yaml"), "--name", "cabin"},
		{"draft", "scenario", "--procedure", "cabin", "--with", dir, "--abnormal", "door-open@harness", "--name", "monday", "--out", filepath.Join(dir, "monday.yaml")},
		{"draft", "abnormal", "--profile", "dunlin-lt", "--failure", "door.ajar", "--out", filepath.Join(dir, "door.yaml")},
		{"check", dir},
		{"drill", "monday", "--with", dir, "--answers", "perfect", "--virtual", "--seed", "1"},
	} {
		if status, out, said := inProcess(args...); status != exitPassed && args[0] != "drill" || status == exitUsage {
			t.Fatalf("%v: status %d\n%s%s", args, status, out, said)
		}
	}
}

// checklistSection is the section of the README about a checklist of one's own, and its commands.
var (
	checklistSection = regexp.MustCompile(`(?s)### Your own checklist\n(.*?)\n### `)
	commandRow       = regexp.MustCompile(`(?m)^    hornlark (.*)$`)
)

// The commands of the README lead from a checklist to a sitting as they stand there. The sitting itself needs a terminal: it is played.
func TestCommandsOfTheReadmeLeadToASitting(t *testing.T) {
	readme := pages(t)[0].text
	list, err := os.ReadFile(filepath.Join("..", "..", "drill", "draft", "testdata", "lists", "dunlin.txt"))
	if err != nil {
		t.Fatal(err)
	}
	t.Setenv("HORNLARK_DATA", t.TempDir())
	t.Chdir(t.TempDir())
	if err := errors.Join(os.WriteFile("list.txt", list, 0o600), os.Mkdir("my", 0o700)); err != nil {
		t.Fatal(err)
	}
	section := checklistSection.FindStringSubmatch(readme)
	if section == nil {
		t.Fatal("there is no such section")
	}
	commands := commandRow.FindAllStringSubmatch(section[1], -1)
	if n := len(commands); n < 5 || n >= 10 {
		t.Errorf("%d commands are shown", n)
	}
	for i, command := range commands {
		args := strings.Fields(command[1])
		if args[0] == "voice" { // which takes a speech engine
			continue
		}
		if i == len(commands)-1 {
			if status, _, said := inProcess(args...); status != exitUsage || !strings.Contains(said, "there is no terminal") {
				t.Errorf("%s: status %d: %s", command[1], status, said)
			}
			continue
		}
		status, out, said := inProcess(args...)
		if status != exitPassed {
			t.Errorf("%s: status %d\n%s%s", command[1], status, out, said)
		}
		if args[1] == "procedure" && !strings.HasSuffix(said, "guessed: 6, not mapped: 2\n") {
			t.Error(said)
		}
	}
}

// What a scenario or an abnormal is asked for with is looked at before it is written.
func TestDraftSkeletonsRefuse(t *testing.T) {
	scenario, abnormal, profile := []string{"draft", "scenario"}, []string{"draft", "abnormal"}, []string{"draft", "profile"}
	for _, c := range []struct {
		of   []string
		args string
		says string
	}{
		{scenario, "", "add --procedure"},
		{scenario, "--procedure dunlin-strat", `did you mean "dunlin-start"?`},
		{scenario, "--procedure dunlin-start --policy recal", `did you mean "recall"?`},
		{scenario, "--procedure dunlin-start --map non", `did you mean "none"?`},
		{scenario, "--procedure dunlin-start --state hovr", `did you mean "hover"?`},
		{scenario, "--procedure dunlin-start --abnormal hot-strat", `did you mean "hot-start"?`},
		{scenario, "--procedure dunlin-start --abnormal turnstone-fire", "no abnormal for dunlin-lt"},
		{scenario, "--procedure dunlin-start --abnormal hot-start@start-3", "no item of dunlin-start"},
		{scenario, "--procedure dunlin-start --policy limits --abnormal hot-start", "nothing interrupts"},
		{scenario, "--procedure dunlin-hover --policy alerts --abnormal hot-start@needles", "no item is asked"},
		{scenario, "--procedure dunlin-start --name X", "not a short name"},
		{profile, "", "add --based-on"},
		{profile, "--like dunlin-lt", "add --name"},
		{profile, "--like dunlin-tl --name mine", `did you mean "dunlin-lt"?`},
		{profile, "--like dunlin-lt --name whinchat-pt", "a profile whinchat-pt already"},
		{profile, "--like dunlin-lt --name Mine", "not a short name"},
		{profile, "--like dunlin-lt --name mine --title " + strings.Repeat("x", 130), "130 characters"},
		{abnormal, "", "add --profile"},
		{abnormal, "--profile dunlin-lt", "add --failure"},
		{abnormal, "--profile dunlin-lt --failure gen1.faild", `did you mean "gen1.failed"?`},
		{abnormal, "--profile dunlin-tl --failure gen1.failed", `did you mean "dunlin-lt"?`},
	} {
		args := append(append([]string(nil), c.of...), strings.Fields(c.args)...)
		if status, out, said := inProcess(args...); status != exitUsage || !strings.Contains(said, c.says) || out != "" {
			t.Errorf("%v: status %d: %s%s", args, status, out, said)
		}
	}
}

// Alerts are nothing without something that goes wrong: all of the aircraft is drawn from, as far as there is room.
func TestDraftedAlertsHaveAbnormals(t *testing.T) {
	status, out, said := inProcess("draft", "scenario", "--procedure", "turnstone-hover", "--policy", "alerts", "--state", "hover")
	if status != exitPassed || !strings.Contains(out, "  from: [turnstone-") {
		t.Errorf("status %d: %s%s", status, out, said)
	}
}

// A profile that is made of a built-in one passes the check, which flies it, and a checklist can be laid on it.
func TestDraftedProfilesFly(t *testing.T) {
	for _, like := range []string{"dunlin-lt", "turnstone-st", "whinchat-pt"} {
		dir := t.TempDir()
		path := filepath.Join(dir, "mine.yaml")
		if status, _, said := inProcess("draft", "profile", "--like", like, "--name", "mine", "--title", "Mine ST", "--out", path); status != exitPassed || !strings.HasPrefix(said, "mine: ") {
			t.Fatalf("%s: status %d: %s", like, status, said)
		}
		if status, said := checked(path); status != exitPassed {
			t.Errorf("%s: %s", like, said)
		}
		status, out, said := inProcess("draft", "procedure", filepath.Join("testdata", "brief", "list.txt"), "--profile", "mine", "--with", dir)
		if status != exitPassed || !strings.Contains(out, "profile: mine\n") || !strings.Contains(said, "mapped: 2 set") {
			t.Errorf("%s: status %d: %s%s", like, status, said, out)
		}
	}
}
