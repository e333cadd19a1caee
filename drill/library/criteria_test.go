package library

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"hornlark/drill/practice"
)

// Criteria are read strictly, and checked like any other file: what is wrong is said with its place and what to write instead.
func TestCriteria(t *testing.T) {
	lib, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "mine.yaml")
	for name, c := range map[string]struct{ text, want string }{
		"all of it":     {"passes_in_a_row: 3\ndays_apart: 2\nsurprises: 2\nwithin_days: 14\nrecall: 0.85\nshown: 0.5\nnoticed: 0.9\nhandled: 0.8\ndetection: 6s\nwithin_par: 0.7\nparts: [dunlin-start, limits]\n", ""},
		"least":         {"passes_in_a_row: 1\n", ""},
		"a field":       {"passes_in_a_row: 3\nday_apart: 2\n", `:2:1: there is no field "day_apart" here; did you mean "days_apart"?`},
		"none at all":   {"passes_in_a_row: 0\n", ":1:18: 0 passes in a row cannot be asked for; write 1 to 50"},
		"a percentage":  {"passes_in_a_row: 3\nhandled: 80\n", ":2:10: 80 is no share; write a share from 0 to 1, as in 0.85"},
		"no number":     {"passes_in_a_row: three\n", ":1:18: \"three\" is not a whole number; write one like 3"},
		"surprises":     {"passes_in_a_row: 1\nsurprises: 2\n", ":2:12: of 1 passes 2 cannot be surprises; write 0 up to passes_in_a_row"},
		"half a pass":   {"passes_in_a_row: 2.5\n", ":1:18: \"2.5\" is not a whole number; write one like 3"},
		"empty":         {"passes_in_a_row: 3\nrecall:\n", ":2:8: a number is wanted here, not nothing; write one like 12 or 0.5, without a unit"},
		"a time":        {"passes_in_a_row: 3\ndetection: 6\n", `:2:12: the time "6" has no unit; write 6s for seconds, or 6m for minutes`},
		"too long":      {"passes_in_a_row: 3\ndetection: 1h\n", ":2:12: nobody can be asked to notice in 1h0m0s; write a time up to 10m0s, as in 6s"},
		"a procedure":   {"passes_in_a_row: 3\nparts:\n  - dunlin-start\n  - dunlin-strat\n", `:4:5: there is no procedure "dunlin-strat"; did you mean "dunlin-start"?`},
		"twice":         {"passes_in_a_row: 3\nparts: [limits, limits]\n", `:2:17: "limits" stands there twice; name each once`},
		"two things":    {"passes_in_a_row: 3\nprocedure: dunlin-start\n", ":1:1: the file has fields of a scenario and of a criteria; "},
		"a misspelling": {"passes_in_a_rwo: 3\n", `:1:1: there is no field "passes_in_a_rwo" here; did you mean "passes_in_a_row"?`},
	} {
		if err := os.WriteFile(file, []byte(c.text), 0o600); err != nil {
			t.Fatal(err)
		}
		checked := lib.Check(file)
		if len(checked) != 1 {
			t.Fatalf("%s: %v", name, checked)
		}
		said := ""
		if err := checked[0].Problems.Err(); err != nil {
			said = strings.TrimPrefix(err.Error(), file)
		}
		if c.want == "" && (said != "" || checked[0].Kind != Criteria) || !strings.HasPrefix(said, c.want) {
			t.Errorf("%s: %s %q, want %q", name, checked[0].Kind, said, c.want)
		}
		read, err := lib.ReadCriteria(file)
		if (err == nil) != (c.want == "") || err == nil && read.InARow == 0 {
			t.Errorf("%s: read as %+v, %v", name, read, err)
		}
		if err != nil && name != "two things" && name != "a misspelling" && err.Error() != file+said {
			t.Errorf("%s: read %q, checked %q", name, err, said)
		}
	}
	if _, err := lib.ReadCriteria(filepath.Join(t.TempDir(), "none.yaml")); err == nil || !strings.Contains(err.Error(), "cannot be read") {
		t.Errorf("no file: %v", err)
	}
	if err := os.WriteFile(file, []byte("days_apart: 2\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := lib.ReadCriteria(file); err == nil || !strings.HasSuffix(err.Error(), ":1:1: passes_in_a_row is missing; write 1 to 50") {
		t.Errorf("without passes: %v", err)
	}
}

// What stands in a file is what is asked for, and what does not stand there is not.
func TestCriteriaAreTaken(t *testing.T) {
	lib, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "mine.yaml")
	if err := os.WriteFile(file, []byte("passes_in_a_row: 4\nwithin_days: 0\nrecall: 0.7\ndetection: 6500ms\nparts: [limits]\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	within, recall, detection := 0, 0.7, 6500*time.Millisecond
	want := &practice.Criteria{InARow: 4, WithinDays: &within, Recall: &recall, Detection: &detection, Parts: []string{"limits"}}
	if got, err := lib.ReadCriteria(file); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, %v; want %+v", got, err, want)
	}
}
