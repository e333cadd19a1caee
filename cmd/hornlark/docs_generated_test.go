package main

import (
	"flag"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"hornlark/drill/aircraft/datasheet"
	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

var rewrite = flag.Bool("rewrite", false, "write the data sheets of DEVELOPERS.md anew")

// The data sheets of DEVELOPERS.md lie between these two lines.
const (
	sheetsBegin = "<!-- data sheets: go test ./cmd/hornlark -run DataSheetsOfThePage -rewrite -->"
	sheetsEnd   = "<!-- end of the data sheets -->"
)

// The data sheets of all built-in aircraft stand in DEVELOPERS.md with what was measured, as it is today.
func TestDataSheetsOfThePage(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	var want strings.Builder
	for _, p := range lib.Profiles() {
		sheet, err := datasheet.Fly(p)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&want, "\n**%s** (`%s`)\n\n%s", p.Title, p.Name, sheet.Markdown())
	}
	want.WriteString("\n")
	path := filepath.Join("..", "..", "DEVELOPERS.md")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, began := strings.Cut(string(text), sheetsBegin+"\n")
	have, after, ended := strings.Cut(rest, sheetsEnd)
	if !began || !ended {
		t.Fatalf("DEVELOPERS.md has no place for the data sheets, between %s and %s", sheetsBegin, sheetsEnd)
	}
	if *rewrite {
		if err := os.WriteFile(path, []byte(before+sheetsBegin+"\n"+want.String()+sheetsEnd+after), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if have != want.String() {
		t.Errorf("the data sheets of DEVELOPERS.md are not those of today: write them anew with -rewrite, and look at what has changed")
	}
}

// Every built-in aircraft states what it does, in every figure that can be measured of it, and its model does it.
func TestBuiltInSheetsAreMet(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range lib.Profiles() {
		sheet, err := datasheet.Fly(p)
		if err != nil {
			t.Fatal(err)
		}
		stated := map[string]bool{}
		for _, row := range sheet {
			figure, _, _ := strings.Cut(row.Figure, "[")
			stated[figure] = true
			if !row.Stated || row.Missed() {
				t.Errorf("%s: %s: %s", p.Name, row.Figure, row.Verdict())
			}
		}
		want := []string{
			"light_off_s", "time_to_idle_s", "idle_nr", "battery_sag_v", "oil_rise_s", "time_to_flight_s", "flight_nr", "lift_off_droop", "hover_trq",
			"power_loss_s", "rundown_s", "rundown_braked_s", "cool_down_temp", "after_shutdown_temp",
		}
		if p.Systems.Piston != nil {
			want = append(want, "idle_rpm", "belt_tight_s", "mag_drop", "mag_drop_s")
		} else {
			want = append(want, "peak_tot", "idle_n1", "idle_tot", "nr_in_start")
		}
		for _, figure := range want {
			if !stated[figure] {
				t.Errorf("%s says nothing of %s", p.Name, figure)
			}
		}
	}
}

// check accepts every document that is built in, as it would accept a user's own copy of it.
func TestBuiltInFilesAreAccepted(t *testing.T) {
	folder := filepath.Join("..", "..", "drill", "library")
	if status, said := saidBy("check", "--quiet", folder); status != exitPassed || said != "" {
		t.Errorf("status %d: %s", status, said)
	}
	lib, err := openLibrary(nil)
	if err != nil {
		t.Fatal(err)
	}
	checked := map[string]bool{}
	for _, c := range lib.Check(folder) {
		checked[c.File] = true
	}
	files := 0
	err = filepath.WalkDir(folder, func(path string, entry os.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".yaml") {
			return err
		}
		if files++; !checked[path] {
			t.Errorf("%s was not checked", path)
		}
		return nil
	})
	if err != nil || files < 50 {
		t.Errorf("%d files (%v)", files, err)
	}
}

// kindsOfFailure is what has to be at the bottom of an abnormal that stands in a row of the table, by the beginning of its first
// cell: failure points of the aircraft.
var kindsOfFailure = map[string]string{
	"4.f Engine failure":           `^eng\d\.(flameout|starved|stopped|seized|cylinder|fuel_lean)`,
	"4.f Fuel governing":           `^(eng\d\.(governor_(low|high)|fuel_lean)|eng\d\.fadec)`,
	"4.f Directional control":      `^tail\.`,
	"4.f Hydraulic":                `^hyd`,
	"4.f Stability augmentation":   `^(autopilot|autotrim|inverter)`,
	"1.b Abnormal start, hot":      `^(eng\d\.(nozzle_blocked|bleed_stuck|starter_weak)|battery\.weak)`,
	"1.b Abnormal start, hung":     `^(eng\d\.(fuel_lean|starter_weak|bleed_stuck)|battery\.weak)`,
	"1.b Abnormal start, no light": `^eng\d\.no_light`,
}

// The table of 14 CFR Part 60, Appendix D, Table D3A, 1.b and 4.f (edition of 1 January 2019, from memory of its wording) names every
// built-in abnormal and procedure, and nothing that does not exist; and what stands in a row of failures is caused by such.
func TestTableOfPart60(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	text := pages(t)[1].text
	_, rest, ok := strings.Cut(text, "\n## What is trained, by Part 60\n")
	if !ok {
		t.Fatal("DEVELOPERS.md has no such table")
	}
	rest, _, _ = strings.Cut(rest, "\n## ")
	abnormals, procedures := map[string]bool{}, map[string]bool{}
	for _, a := range lib.Abnormals() {
		abnormals[a.Name] = false
	}
	for _, p := range lib.Procedures() {
		procedures[p.Name] = false
	}
	rows := map[string]int{}
	for _, line := range strings.Split(rest, "\n") {
		cells := strings.Split(strings.Trim(line, "| "), " | ")
		if !strings.HasPrefix(line, "| ") || len(cells) < 2 || cells[0] == "Table D3A" {
			continue
		}
		named := regexp.MustCompile("`([a-z0-9-]+)`").FindAllStringSubmatch(strings.Join(cells[1:], " "), -1)
		if len(named) == 0 {
			t.Errorf("%s: nothing is named", cells[0])
		}
		rows[strings.Fields(cells[0])[0]]++
		for _, m := range named {
			_, abnormal := abnormals[m[1]]
			_, procedure := procedures[m[1]]
			switch {
			case abnormal:
				abnormals[m[1]] = true
			case procedure:
				procedures[m[1]] = true
				continue
			default:
				t.Errorf("%s: there is no procedure or abnormal %s", cells[0], m[1])
				continue
			}
			for row, causes := range kindsOfFailure {
				if !strings.HasPrefix(cells[0], row) {
					continue
				}
				a, err := lib.Abnormal(m[1])
				if err != nil {
					t.Fatal(err)
				}
				if !slices.ContainsFunc(causesOf(a), regexp.MustCompile(causes).MatchString) {
					t.Errorf("%s: %s is caused by %v", cells[0], m[1], causesOf(a))
				}
			}
		}
	}
	for row := range kindsOfFailure {
		if !strings.Contains(rest, "\n| "+row) {
			t.Errorf("there is no row %q", row)
		}
	}
	if rows["1.b"] < 6 || rows["4.f"] < 5 {
		t.Errorf("rows: %v", rows)
	}
	for _, all := range []map[string]bool{abnormals, procedures} {
		for _, name := range slices.Sorted(maps.Keys(all)) {
			if !all[name] {
				t.Errorf("%s is not in the table", name)
			}
		}
	}
}

// causesOf is the failure points behind an abnormal.
func causesOf(a *scenario.Abnormal) []string {
	var points []string
	for _, c := range a.Cause {
		points = append(points, c.Failure)
	}
	return points
}
